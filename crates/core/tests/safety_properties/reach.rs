//! A property that never meets its case proves nothing: the invented litters reach every gate.

use std::collections::BTreeMap;

use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::generate::{any_litter, fed_litter};
use super::litter::{DAY, H, Litter};
use super::oracle::{Seen, ask};

fn count(seen: &Seen<'_>, counts: &mut BTreeMap<String, u32>) {
    let mut hit = |what: &str| *counts.entry(what.into()).or_default() += 1;
    for planned in &seen.feeds {
        hit(&planned.feed.method);
        hit(if seen.age_at(planned) < 24 * H { "fed on the first day" } else { "fed later" });
        for condition in &planned.feed.only_after {
            hit(condition.split(' ').next().unwrap_or_default());
        }
        if planned.feed.ordered_by.is_some() {
            hit("ordered by a vet");
        }
        if seen.age_at(planned) >= 21 * DAY {
            hit("fed from day 21 on");
        }
    }
    for finding in seen.findings() {
        hit(&finding.code);
    }
    hit(&seen.line.standing);
    hit(&seen.line.warmth);
    if let Some(why) = &seen.line.no_feed_because {
        hit(why.split([':', ',', '(']).next().unwrap_or_default());
    }
}

#[test]
fn the_invented_litters_reach_every_gate() {
    let mut runner = TestRunner::new_with_rng(Config::default(), TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let mut counts = BTreeMap::new();
    let mut add = |litter: Litter| {
        let case = ask(&litter);
        for seen in case.pups() {
            count(&seen, &mut counts);
        }
        let mut hit = |what: &str| *counts.entry(what.into()).or_default() += 1;
        if case.today.timetable_trouble.is_some() {
            hit("no plan with these hours");
        } else if case.today.rounds.iter().any(|r| !r.carers.is_empty()) {
            hit("fitted to the carers");
        }
    };
    for _ in 0..400 {
        add(any_litter().new_tree(&mut runner).expect("a litter").current());
        add(fed_litter().new_tree(&mut runner).expect("a litter").current());
    }
    let wanted = [
        "fitted to the carers",
        "no plan with these hours",
        "bottle",
        "tube",
        "fed on the first day",
        "fed later",
        "fed from day 21 on",
        "ordered by a vet",
        "warm",
        "sucking",
        "weigh",
        "palate",
        "doing well",
        "keep watch",
        "needs help",
        "ring the vet",
        "not known",
        "cold",
        "hot",
        "NO MILK",
        "NO BOTTLE",
        "weigh first",
        "nothing now",
        "leave it to its mother",
        "lost-10",
        "doubtful-weight",
        "milk-at-nose",
        "loose-stool",
        "warming-too-fast",
        "colostrum",
        "very-light-at-birth",
    ];
    let thin: Vec<_> = wanted.iter().filter(|w| counts.get(**w).copied().unwrap_or(0) < 3).collect();
    assert!(thin.is_empty(), "too seldom: {thin:?} in {counts:#?}");
}
