//! Five phones that weigh, feed, check, look and send again, for a fixed number of rounds, new facts in
//! every one: no fact is lost, and the program holds no more memory than the book is large.
//!
//! `WHELPWARD_SOAK` sets the rounds of each phone; 24 when it is not set. The rule by which growth is
//! judged: when all is written, a program that was just started goes on with the same book, and the same
//! phones go on in the same way for an eighth of the rounds. It holds what the book, the pages and the saves
//! need, and nothing older. The median of the resident memory of the old program in as many last rounds may
//! be a tenth and 4 MB above that of the new one. So it does not matter that a larger book takes more, nor
//! that the memory goes up and down between two looks.

use std::ops::Range;
use std::sync::Mutex;

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::{FactId, FactJson, Values};

use crate::phone::{Dice, Phone, Program, STARTS, Until, made, new_book_of, projection, time};

const PHONES: u64 = 5;
const NAMES: [&str; 10] = ["Ash", "Birch", "Cedar", "Dogwood", "Elm", "Fir", "Gorse", "Hazel", "Ivy", "Juniper"];
/// A weighing, a feed, a check of one pup.
const A_ROUND: usize = 3;
/// Between two rounds of one phone. The phones stand a fifth of it apart and each at another pup, so that no
/// two entries ask whether they are the same.
const ROUND_MINUTES: i64 = 120;

/// The litter of the long run.
struct Litter {
    id: FactId,
    pups: Vec<FactId>,
    born: Timestamp,
}

impl Litter {
    /// What one phone writes in one round.
    fn facts(&self, phone: u64, round: usize) -> [FactJson; A_ROUND] {
        let minutes = ROUND_MINUTES * i64::try_from(round).unwrap()
            + ROUND_MINUTES / i64::try_from(PHONES).unwrap() * i64::try_from(phone).unwrap();
        let at = self.born + SignedDuration::from_mins(24 * 60 + minutes);
        let place = usize::try_from(phone).unwrap() + round;
        let pup = self.pups[place % self.pups.len()];
        // As fast as a pup that doubles its weight in a week.
        let grams = (310 + minutes * 45 / (24 * 60)).to_string();
        let bodies = [
            ("weighing", "weighed_at", [("weight", grams.as_str()), ("unit", "g")]),
            ("feed", "fed_at", [("method", "bottle"), ("taken_ml", "5.5")]),
            ("check", "checked_at", [("kind", "suck"), ("value", "strong")]),
        ];
        let mut number = (u128::from(phone) << 64) | ((round * A_ROUND) as u128);
        bodies.map(|(kind, time_key, pairs)| {
            let mut body: Values = pairs.into_iter().map(|(k, v)| (k.to_owned(), v.into())).collect();
            body.insert(time_key.into(), at.to_string().into());
            number += 1;
            made(phone, FactId::from_parts(at, number), self.id, kind, Some(pup.to_string()), body, at)
        })
    }
}

/// Resident memory in kB.
fn resident(process: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let line = status.lines().find(|l| l.starts_with("VmRSS:")).expect("a line of the resident memory");
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

fn median(samples: impl Iterator<Item = u64>) -> u64 {
    let mut sorted: Vec<u64> = samples.collect();
    sorted.sort_unstable();
    sorted[sorted.len() / 2]
}

/// The phones' rounds at one program; gives the resident memory after each with the number of the round.
fn rounds_at(program: &Program, litter: &Litter, rounds: Range<usize>) -> Vec<(usize, u64)> {
    // One look first: five phones at a program that has read nothing yet make it read the book five times.
    let (status, body) = Phone::new(program.port).get(&format!("/litter/{}/now", litter.id)).expect("a page");
    assert_eq!(status, 200, "{body}");
    let samples: Mutex<Vec<(usize, u64)>> = Mutex::default();
    std::thread::scope(|scope| {
        for number in 0..PHONES {
            let (samples, rounds) = (&samples, rounds.clone());
            scope.spawn(move || {
                let phone = Phone::new(program.port);
                let mut dice = Dice::new(number);
                let put = |fact: &FactJson, expected: &str| {
                    let (status, body) = phone.put(fact, Until::Answered).expect("an answer");
                    assert_eq!(status, 200, "{body}");
                    assert!(body.contains(&format!("\"result\":\"{expected}\"")), "{body}");
                };
                for round in rounds {
                    litter.facts(number, round).iter().for_each(|fact| put(fact, "saved"));
                    // Some of the older ones again, as after lost answers.
                    for _ in 0..2 {
                        let again = usize::try_from(dice.below(round as u64 + 1)).unwrap();
                        litter.facts(number, again).iter().for_each(|fact| put(fact, "already_there"));
                    }
                    for page in ["now", "weigh", "feed", "ahead", "litter", "live?poll=yes"] {
                        let (status, body) = phone.get(&format!("/litter/{}/{page}", litter.id)).expect("a page");
                        assert_eq!(status, 200, "{page}: {body}");
                    }
                    samples.lock().unwrap().push((round, resident(program.id())));
                }
            });
        }
    });
    samples.into_inner().unwrap()
}

/// The middle of what was held in these rounds, in kB.
fn held(samples: &[(usize, u64)], rounds: &Range<usize>) -> u64 {
    median(samples.iter().filter(|(round, _)| rounds.contains(round)).map(|(_, kb)| *kb))
}

/// The rule, in kB: what the old program holds against what a new one holds with the same book.
fn is_within(old: u64, new: u64) -> bool {
    old <= new * 110 / 100 + 4 * 1024
}

#[cfg(target_os = "linux")]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn five_phones_that_write_for_long_lose_nothing_and_the_program_holds_only_the_book() {
    let rounds: usize = std::env::var("WHELPWARD_SOAK").ok().and_then(|n| n.parse().ok()).unwrap_or(24).max(8);
    let folder = tempfile::tempdir().unwrap();
    let after = (rounds / 8).max(4);
    // Born so long ago that every entry lies in the past.
    let hours = 48 + ROUND_MINUTES / 60 * i64::try_from(rounds + after).unwrap();
    let born = time(STARTS) - SignedDuration::from_hours(hours);
    let (id, pups) = new_book_of(folder.path(), &NAMES, born).await;
    let litter = Litter { id, pups, born };

    let program = Program::start(folder.path());
    let samples = rounds_at(&program, &litter, 0..rounds);
    drop(program);
    let quarters = [0, 1, 2, 3].map(|n| held(&samples, &(rounds * n / 4..rounds * (n + 1) / 4)));
    let old = held(&samples, &(rounds - after..rounds));

    let program = Program::start(folder.path());
    let all = rounds + after;
    let new = held(&rounds_at(&program, &litter, rounds..all), &(rounds..all));
    drop(program);

    let facts = usize::try_from(PHONES).unwrap() * A_ROUND * rounds;
    // Half the facts come between the middles of the second and the fourth quarter.
    let a_fact = (quarters[3].saturating_sub(quarters[1])) * 1024 / (facts as u64 / 2).max(1);
    println!(
        "{PHONES} phones, {rounds} rounds, {facts} facts; median resident memory while they wrote, by quarter, kB: \
         {quarters:?}, {a_fact} bytes for each fact from the second quarter on; at the end {old} kB, \
         a new program that goes on {new} kB"
    );
    assert!(is_within(old, new), "it grows: {quarters:?}, at the end {old} kB, and a new program holds {new} kB");

    let text = projection(folder.path(), litter.id).await;
    for number in 0..PHONES {
        for fact in (0..all).flat_map(|round| litter.facts(number, round)) {
            assert_eq!(text.matches(&format!("\n{} [", fact.id)).count(), 1, "{} is there once", fact.id);
        }
    }
}

#[test]
fn the_rule_lets_a_larger_book_through_and_no_leak() {
    assert!(is_within(60_000, 60_000) && is_within(70_000, 60_000));
    assert!(!is_within(71_000, 60_000));
}
