//! Five phones that weigh, feed, look and send again, for a fixed number of rounds: no fact is lost
//! and the program's memory does not grow.
//!
//! `WHELPWARD_SOAK` sets the rounds of each phone; 24 when it is not set. The rule: the phones first
//! write all their facts and look at every page some times (the warm-up, a quarter of the rounds);
//! from then on nothing new is written, and the median of the resident memory in the last quarter
//! is at most 5 % and 4 MB above that of the quarter after the warm-up.

use std::sync::Mutex;

use crate::phone::{Dice, Phone, Program, Until, facts_of, new_book, projection};

const PHONES: u64 = 5;
const FACTS: u64 = 40;

/// Resident memory in kB.
fn resident(process: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let line = status.lines().find(|l| l.starts_with("VmRSS:")).expect("a line of the resident memory");
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

fn median(samples: &[u64]) -> u64 {
    let mut sorted = samples.to_vec();
    sorted.sort_unstable();
    sorted[sorted.len() / 2]
}

#[cfg(target_os = "linux")]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn five_phones_for_long_lose_nothing_and_the_program_does_not_grow() {
    let rounds: usize = std::env::var("WHELPWARD_SOAK").ok().and_then(|n| n.parse().ok()).unwrap_or(24).max(8);
    let folder = tempfile::tempdir().unwrap();
    let (litter, pups) = new_book(folder.path()).await;
    let program = Program::start(folder.path());
    let (port, process) = (program.port, program.id());
    let samples: Mutex<Vec<(usize, u64)>> = Mutex::default();
    std::thread::scope(|scope| {
        for number in 0..PHONES {
            let (samples, pups) = (&samples, &pups);
            scope.spawn(move || {
                let phone = Phone::new(port);
                let facts = facts_of(number, FACTS, litter, pups);
                let mut dice = Dice::new(number);
                for round in 0..rounds {
                    // The facts once; from then on the same ones again, as after lost answers.
                    let mut part: Vec<_> = facts.iter().collect();
                    dice.shuffle(&mut part);
                    let until = if round == 0 { part.len() } else { 6 };
                    for fact in &part[..until] {
                        let (status, body) = phone.put(fact, Until::Answered).expect("an answer");
                        assert_eq!(status, 200, "{body}");
                    }
                    for page in ["now", "weigh", "feed", "ahead", "litter", "live?poll=yes"] {
                        let (status, body) = phone.get(&format!("/litter/{litter}/{page}")).expect("a page");
                        assert_eq!(status, 200, "{page}: {body}");
                    }
                    samples.lock().unwrap().push((round, resident(process)));
                }
            });
        }
    });
    let samples = samples.into_inner().unwrap();
    let quarter = |n: usize| {
        let rounds = rounds * n / 4..rounds * (n + 1) / 4;
        median(&samples.iter().filter(|(r, _)| rounds.contains(r)).map(|(_, kb)| *kb).collect::<Vec<_>>())
    };
    let quarters: Vec<u64> = (0..4).map(quarter).collect();
    println!(
        "{PHONES} phones, {rounds} rounds, {} facts; median resident memory by quarter, kB: {quarters:?}",
        PHONES * FACTS
    );
    assert!(quarters[3] <= quarters[1] * 105 / 100 + 4096, "it grows: {quarters:?} kB");
    drop(program);
    let text = projection(folder.path(), litter).await;
    for number in 0..PHONES {
        for fact in facts_of(number, FACTS, litter, &pups) {
            assert_eq!(text.matches(&format!("\n{} [", fact.id)).count(), 1, "{} is there once", fact.id);
        }
    }
}
