//! Any order of arrival, and anything arriving twice, gives the same litter.

use std::sync::Arc;

use whelpward_core::book::{Fact, Kind, fold};

use crate::build::*;

/// A small generator of numbers of our own (`SplitMix64`), so that a seed names a case for ever.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u32) -> u32 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        u32::try_from((z ^ (z >> 31)) % u64::from(below)).unwrap()
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.roll(u32::try_from(i + 1).unwrap()) as usize);
        }
    }
}

/// Facts as several careless people would write them down: corrections of corrections, on
/// several devices at once, withdrawals, answers, names twice, things that do not read.
fn random_facts(dice: &mut Dice) -> Vec<Fact> {
    let mut facts = Vec::new();
    if dice.roll(20) > 0 {
        facts.push(litter());
    }
    let names = ["Ash", "Yarrow", "Ash", "Bramble"];
    for n in 1..=2 + dice.roll(2) {
        facts.push(pup(n, names[dice.roll(4) as usize]));
    }
    facts.push(carer(5, "Robin"));
    facts.push(carer(6, ["Robin", "Sam"][dice.roll(2) as usize]));
    let how_many = 10 + dice.roll(30);
    for n in 10..10 + how_many {
        let pup_n = 1 + dice.roll(4);
        let at = format!("{:02}:{:02}", 6 + dice.roll(2), dice.roll(60));
        let amount = (290 + dice.roll(20)).to_string();
        let mut fact = match dice.roll(14) {
            0..=3 => weighing(n, pup_n, &at, &amount),
            4..=6 => feed(n, pup_n, &at, &(5 + dice.roll(10)).to_string()),
            7 => milk(n, ["powder", "goat"][dice.roll(2) as usize], dice.roll(2) == 0),
            8 => pup(n, names[dice.roll(4) as usize]),
            9 => fact(n, Kind::Leaving, Some(pup_n), &[("left_at", &clock(&at)), ("left_why", "gone_home")]),
            10 => answer(
                n,
                ["same_feed", "two_feeds"][dice.roll(2) as usize],
                10 + dice.roll(how_many),
                10 + dice.roll(how_many),
            ),
            11 => carer(n, ["Robin", "Sam"][dice.roll(2) as usize]).with("tube_taught_by_vet", dice.roll(2) == 0),
            12 => fact(
                n,
                Kind::Check,
                Some(pup_n),
                &[("checked_at", &clock(&at)), ("kind", "rectal_temperature_c"), ("value", "36")],
            ),
            _ => void(n, dice.roll(10 + how_many)),
        };
        fact.device = ["phone", "laptop"][dice.roll(2) as usize].into();
        fact.carer = [None, Some("Robin"), Some("Sam")][dice.roll(3) as usize].map(Into::into);
        if fact.kind != Kind::Void && dice.roll(3) == 0 {
            // Mostly of its own kind, sometimes of another or of none; also rings and forward.
            let same: Vec<_> = facts.iter().filter(|f| f.kind == fact.kind).map(|f| f.id).collect();
            fact.supersedes = match dice.roll(8) {
                0 => Some(id(dice.roll(12 + how_many))),
                _ if same.is_empty() => None,
                _ => Some(same[dice.roll(u32::try_from(same.len()).unwrap()) as usize]),
            };
        }
        facts.push(fact);
    }
    facts
}

#[test]
#[expect(clippy::disallowed_methods, reason = "the core reads no environment; its tests are told how long to run")]
fn shuffled_and_duplicated_arrival_gives_an_equal_litter() {
    let sets: u64 = std::env::var("WHELPWARD_SHUFFLES").ok().and_then(|n| n.parse().ok()).unwrap_or(100);
    let (mut corrected, mut withdrawn, mut asked, mut refused_some, mut blank) = (0, 0, 0, 0, 0);
    for seed in 0..sets {
        let mut dice = Dice(seed);
        let facts: Vec<Arc<Fact>> = random_facts(&mut dice).into_iter().map(Arc::new).collect();
        let folded = fold(&facts);
        corrected += u32::from(facts.iter().any(|f| f.supersedes.is_some()));
        withdrawn += u32::from(facts.iter().any(|f| f.voids.is_some()));
        asked += u32::from(!folded.questions.is_empty());
        refused_some += u32::from(!folded.refused.is_empty());
        blank += u32::from(folded.facts.is_none());
        let expected = picture(&folded);
        for _ in 0..3 {
            let mut arrived = facts.clone();
            for _ in 0..dice.roll(10) {
                // Again, by another way: only the receipt differs.
                let mut again = Fact::clone(&facts[dice.roll(u32::try_from(facts.len()).unwrap()) as usize]);
                again.receipt.seq = i64::from(dice.roll(1000));
                again.receipt.is_late = true;
                arrived.push(Arc::new(again));
            }
            dice.shuffle(&mut arrived);
            assert_eq!(picture(&fold(&arrived)), expected, "seed {seed}");
        }
    }
    // The sets are of the kind that was meant.
    let most = u32::try_from(sets).unwrap() * 6 / 10;
    assert!(
        corrected > most && withdrawn > most && asked > most && refused_some > most,
        "{corrected} {withdrawn} {asked} {refused_some}"
    );
    assert!(blank * 2 < u32::try_from(sets).unwrap(), "{blank} without a litter");
    println!(
        "{sets} sets: {corrected} with corrections, {withdrawn} with withdrawals, {asked} with questions, {refused_some} with refusals, {blank} without a litter"
    );
}

#[test]
fn no_fact_that_does_not_concern_it_changes_an_entry() {
    // Facts arrive one after the other: a weighing that stands alone stays as it is whatever
    // else comes, as long as nobody corrects, withdraws or repeats it.
    for seed in 0..50 {
        let mut dice = Dice(1_000_000 + seed);
        let mut facts = random_facts(&mut dice);
        facts.retain(|f| {
            f.kind != Kind::Litter && f.id != id(1) && f.supersedes != Some(id(1)) && f.voids != Some(id(1))
        });
        facts.retain(|f| f.kind != Kind::Void && f.kind != Kind::Leaving);
        facts.extend([litter(), pup(1, "Heron"), weighing(9000, 1, "23:00", "333")]);
        let folded = fold_all(facts);
        let there =
            folded.facts.iter().flat_map(|f| &f.weighings).any(|w| w.pup.0 == "Heron" && w.weight.get() == 333.0);
        assert!(there, "seed {seed}");
    }
}
