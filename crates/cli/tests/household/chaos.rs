//! The program ended at every step of a run, with requests sent twice and out of order: in the end
//! the book reads as if nothing had happened (usability O-14).
//!
//! `WHELPWARD_CHAOS` sets the number of facts, and of kills; 16 when it is not set, 200 in the
//! stated size.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use whelpward_core::book::FactJson;

use crate::phone::{Dice, Phone, Program, Until, facts_of, new_book, projection};

/// Facts of one window come in any order.
const WINDOW: usize = 8;

fn is_saved(answer: Option<(u16, String)>, asked: usize) -> bool {
    let Some((status, body)) = answer else { return false };
    assert_eq!(status, 200, "{body}");
    body.matches("\"result\":\"saved\"").count() + body.matches("\"result\":\"already_there\"").count() == asked
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_book_whose_program_was_killed_at_every_step_reads_like_one_that_was_left_alone() {
    let steps: u64 = std::env::var("WHELPWARD_CHAOS").ok().and_then(|n| n.parse().ok()).unwrap_or(16);
    let mut dice = Dice::new(20_261_126);

    let calm = tempfile::tempdir().unwrap();
    let (litter, pups) = new_book(calm.path()).await;
    let program = Program::start(calm.path());
    let phone = Phone::new(program.port);
    for fact in &facts_of(1, steps, litter, &pups) {
        assert!(is_saved(phone.put(fact, Until::Answered), 1));
    }
    drop(program);
    let expected = projection(calm.path(), litter).await;
    assert!(expected.lines().count() > 50, "a projection of something");

    let wild = tempfile::tempdir().unwrap();
    let (litter, pups) = new_book(wild.path()).await;
    let facts = facts_of(1, steps, litter, &pups);
    let mut program = Program::start(wild.path());
    let mut phone = Phone::new(program.port);
    let mut waiting: Vec<&FactJson> = facts.iter().collect();
    let mut acknowledged: BTreeSet<&str> = BTreeSet::new();
    let (mut kills, mut cut, mut twice) = (0, 0, 0);
    while !waiting.is_empty() || kills < steps {
        // A window of what waits, shuffled; where all is acknowledged, something is sent once more.
        let window = WINDOW.min(waiting.len());
        dice.shuffle(&mut waiting[..window]);
        let nth = usize::try_from(dice.below(facts.len() as u64)).unwrap();
        let fact = waiting.first().copied().unwrap_or(&facts[nth]);
        let until = [Until::Half, Until::Sent, Until::Answered][usize::try_from(dice.below(3)).unwrap()];
        // Killed while the request is on its way: before, in the middle or after, as it falls.
        let (wait, is_batch) = (Duration::from_micros(dice.below(6000)), dice.below(3) == 0 && window > 1);
        let is_ended = AtomicBool::new(false);
        let answer = std::thread::scope(|scope| {
            let (program, is_ended) = (&mut program, &is_ended);
            let killer = (kills < steps).then(|| {
                scope.spawn(move || {
                    std::thread::sleep(wait);
                    program.kill();
                    is_ended.store(true, Ordering::SeqCst);
                })
            });
            let until = if killer.is_some() { until } else { Until::Answered };
            let answer = if is_batch { phone.batch(&waiting[..window], until) } else { phone.put(fact, until) };
            if until != Until::Answered {
                cut += 1;
            }
            if let Some(killer) = killer {
                killer.join().unwrap();
            }
            answer
        });
        let sent: Vec<&FactJson> = if is_batch { waiting[..window].to_vec() } else { vec![fact] };
        if is_saved(answer, sent.len()) {
            acknowledged.extend(sent.iter().map(|f| f.id.as_str()));
            waiting.retain(|f| !acknowledged.contains(f.id.as_str()));
        }
        if is_ended.load(Ordering::SeqCst) {
            kills += 1;
            program = Program::start(wild.path());
            phone = phone.moved(program.port);
        }
        // A phone that heard nothing sends again; sometimes one that did hear does too.
        if dice.below(4) == 0 {
            twice += 1;
            assert!(is_saved(phone.put(&facts[nth], Until::Answered), 1), "the same fact again is the same fact");
            acknowledged.insert(facts[nth].id.as_str());
            waiting.retain(|f| f.id != facts[nth].id);
        }
    }
    drop(program);
    assert_eq!(acknowledged.len(), facts.len());
    let found = projection(wild.path(), litter).await;
    println!(
        "{steps} facts, {kills} kills, {cut} requests cut short, {twice} sent again: {} bytes compared",
        found.len()
    );
    assert!(found == expected, "the projections differ");
}
