//! The optimiser against an enumerator that was written from the formulas of the module
//! documentation alone: it tries every set of slots, kind of round and staffing.

mod enumerator;
mod front;

use enumerator::{Dice, enumerate, instance, price, rounds};
use whelpward_core::schedule::audit;
use whelpward_core::schedule::optimum::optimum;
use whelpward_core::schedule::problem::{Class, Helper, Problem};

/// The least price of all plans.
fn least(problem: &Problem) -> Option<i64> {
    let mut best: Option<i64> = None;
    enumerate(problem, &rounds(problem), 0, &mut Vec::new(), &mut |chosen| {
        if let Some(value) = price(problem, chosen) {
            best = Some(best.map_or(value, |b| b.min(value)));
        }
    });
    best
}

#[test]
fn the_optimum_is_what_enumeration_finds() {
    let mut dice = Dice(20_261_125);
    let (mut possible, mut two, mut tubes, mut limited) = (0, 0, 0, 0);
    for case in 0..1000 {
        let mut problem = instance(&mut dice);
        if case % 5 == 0 {
            problem.most_rounds = Some(dice.size(1, 4));
        }
        let best = least(&problem);
        let plan = optimum(&problem);
        assert_eq!(plan.as_ref().map(|p| p.price), best, "case {case}: {problem:#?}");
        if let Some(plan) = plan {
            assert_eq!(audit::objective(&problem, &plan), Ok(plan.price), "case {case}: {problem:#?}");
            possible += 1;
            two += usize::from(problem.classes.len() == 2);
            tubes += usize::from(problem.classes.iter().any(|c| c.tube > 0));
            limited += usize::from(problem.most_rounds.is_some());
        }
    }
    let is_enough = possible > 400 && two > 100 && tubes > 50 && limited > 50;
    assert!(is_enough, "too few plans to compare: {possible} {two} {tubes} {limited}");
}

/// Long nights and dear fairness: the way that is cheapest so far is often not the best one,
/// because whom it has woken counts later.
#[test]
fn who_was_woken_before_is_never_forgotten() {
    let mut dice = Dice(505);
    let (mut possible, mut shared) = (0, 0);
    for case in 0..300 {
        let slots = 12;
        let class = Class {
            bottle: 1,
            tube: 0,
            tube_only: 0,
            shortest: 2,
            longest: dice.size(3, 4),
            usual: 3,
            excess_price: dice.price(0, 200),
            since_oldest: 1,
            earliest: dice.size(0, 1),
        };
        let helper = |dice: &mut Dice| Helper {
            there: (0..slots).map(|_| dice.roll(5) < 3).collect(),
            asleep: (0..slots).map(|_| !dice.one_in(6)).collect(),
            wake_price: dice.price(500, 2500),
            woken_before: dice.count(0, 1),
            may_tube: false,
            at_once: 1,
            bottle_s: 300,
            tube_s: 30,
            round_price: 0,
        };
        let helpers = vec![helper(&mut dice), helper(&mut dice)];
        let problem = Problem {
            slots,
            is_cyclic: false,
            slots_per_day: slots,
            slot_s: 900,
            classes: vec![class],
            helpers,
            set_up_s: 60,
            clean_up_s: 60,
            fairness: dice.price(1500, 4000),
            suck_rounds: 0,
            most_rounds: None,
            closed: vec![false; slots],
        };
        let best = least(&problem);
        let plan = optimum(&problem);
        assert_eq!(plan.as_ref().map(|p| p.price), best, "case {case}: {problem:#?}");
        if let Some(plan) = plan {
            possible += 1;
            shared += usize::from(plan.visits.iter().fold(0, |woken, v| woken | v.choice.woken) == 3);
        }
    }
    assert!(possible > 100 && shared > 50, "{possible} plans, {shared} of them wake both");
}
