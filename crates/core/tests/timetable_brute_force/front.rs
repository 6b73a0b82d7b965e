//! The set of plans worth a thought against all plans of small problems.

use std::collections::BTreeSet;

use whelpward_core::schedule::audit;
use whelpward_core::schedule::pareto::{Variant, front};
use whelpward_core::schedule::problem::Problem;

use crate::enumerator::{Dice, Round, enumerate, instance, price, rounds};

/// Pups by tube, hands-on time, wake-ups, longest gap.
type Figures = (usize, i64, u32, usize);

/// The longest of all gaps: of each class between feeds, to the end, and since the feed before
/// the plan unless the first round is at once.
fn longest_gap(problem: &Problem, chosen: &[Round]) -> usize {
    let mut longest = 0;
    for (index, class) in problem.classes.iter().enumerate() {
        let mut last: Option<usize> = None;
        for round in chosen.iter().filter(|r| index == 0 || r.is_full) {
            let gap = match last {
                Some(last) => round.slot - last,
                None if round.slot == 0 => 0,
                None => round.slot + class.since_oldest,
            };
            longest = longest.max(gap);
            last = Some(round.slot);
        }
        longest = longest.max(problem.slots - last.unwrap_or(0));
    }
    longest
}

fn of_all_plans(variants: &[Variant], enough: usize) -> BTreeSet<Figures> {
    let mut all = BTreeSet::new();
    for Variant { tube_fed, problem } in variants {
        enumerate(problem, &rounds(problem), 0, &mut Vec::new(), &mut |chosen| {
            if price(problem, chosen).is_some() {
                let work = chosen.iter().map(|r| r.price).sum();
                let wakes = chosen.iter().map(|r| r.woken.count_ones()).sum();
                all.insert((*tube_fed, work, wakes, longest_gap(problem, chosen).max(enough)));
            }
        });
    }
    let is_as_good = |a: &Figures, b: &Figures| a.0 <= b.0 && a.1 <= b.1 && a.2 <= b.2 && a.3 <= b.3;
    all.iter().filter(|b| !all.iter().any(|a| a != *b && is_as_good(a, b))).copied().collect()
}

#[test]
fn the_front_is_what_enumeration_finds() {
    let mut dice = Dice(7_331);
    let (mut several, mut by_tube) = (0, 0);
    for case in 0..320 {
        let mut base = instance(&mut dice);
        base.is_cyclic = false;
        // Work is what is compared, so nobody is paid for coming.
        base.helpers.iter_mut().for_each(|h| h.round_price = 0);
        let mut variants = vec![Variant { tube_fed: 0, problem: base.clone() }];
        if base.slots == 8 || (base.slots == 9 && dice.one_in(2)) {
            variants[0].problem.suck_rounds = 1;
            for (tube_fed, class) in [(1, 0), (2, base.classes.len() - 1)] {
                let mut problem = variants[variants.len() - 1].problem.clone();
                if problem.classes[class].bottle > 0 {
                    problem.classes[class].bottle -= 1;
                    problem.classes[class].tube += 1;
                    variants.push(Variant { tube_fed, problem });
                }
            }
        }
        // Often no gap is short enough that a shorter one would be no better.
        let enough = if dice.one_in(3) { 3 } else { 0 };
        let expected = of_all_plans(&variants, enough);
        let found = front(&variants, enough);
        let figures: Vec<Figures> = found
            .iter()
            .map(|f| (f.figures.tube_fed, f.figures.work_s, f.figures.wake_ups, f.figures.longest_gap))
            .collect();
        assert_eq!(figures, expected.iter().copied().collect::<Vec<_>>(), "case {case}: {variants:#?}");
        for f in &found {
            let price = audit::objective(&variants[f.variant].problem, &f.plan);
            assert!(price.is_ok(), "case {case}: {price:?}");
        }
        several += usize::from(found.len() > 1);
        by_tube += usize::from(figures.iter().any(|f| f.0 > 0));
    }
    assert!(several > 60 && by_tube > 10, "{several} fronts of several plans, {by_tube} with tubes");
}
