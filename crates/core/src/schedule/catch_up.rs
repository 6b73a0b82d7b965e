//! Pups that are out of step: some were fed so lately that the others cannot wait for them,
//! because a round was broken off, or a pup came from another home.
//!
//! Where two groups are out of step the plan itself brings them together: the pups that were
//! fed first are its weak class ([`groupings`](super::plan::groupings)). Where that has no plan
//! one round before it is tried at every slot, for every number of pups that have waited
//! longest, by everyone who can do it, each with the best plan after it: the cheapest of all
//! is an optimum of plans with one such round. Only what is still out of step then gets rounds
//! as soon as may be.

use super::household::{self, Fed, Wishes};
use super::plan::{LitterPlan, Start, best_of_groupings};
use super::problem::{Choice, Problem, Visit, members};
use crate::limits;
use crate::record::{Facts, hours_after};

/// Rounds of the last resort are this many at most.
const MOST_CATCH_UPS: usize = 4;

/// A round for some pups only, before all of them can be fed together.
#[derive(Debug, Clone)]
pub struct CatchUp {
    pub visit: Visit,
    /// In the assessment.
    pub pups: Vec<usize>,
}

/// The cheapest plan with one round before it for some of the pups.
#[must_use]
pub fn one_before(facts: &Facts, start: &Start, wishes: &Wishes) -> Option<LitterPlan> {
    let grid = &start.grid;
    // Where not even a litter in step has a plan, no round before it can help.
    let has_plan = |ago_h: f64| best_of_groupings(facts, &start.in_step(ago_h), wishes).is_some();
    if !has_plan(limits::SHORTEST_GAP_H.value) && !has_plan(0.0) {
        return None;
    }
    let mut by_deadline: Vec<&Fed> = start.pups.iter().collect();
    by_deadline.sort_by_key(|f| (grid.deadline(f), f.index));
    let mut best: Option<(i64, LitterPlan)> = None;
    for count in 1..by_deadline.len() {
        if grid.deadline(by_deadline[count - 1]) == grid.deadline(by_deadline[count]) {
            continue;
        }
        let hurried = &by_deadline[..count];
        if !grid.fits(hurried.iter().copied()) {
            continue;
        }
        let problem = start.problem(facts, hurried, None, wishes);
        let class = problem.weak();
        let choices = problem.choices();
        let in_time = choices[1].iter().enumerate().take(class.first_deadline() + 1).skip(class.earliest);
        for (slot, choices) in in_time {
            for choice in choices {
                let waiting = class.gap_price(slot + class.since_oldest);
                let price = waiting + choice.price + wake_price(&problem, choice);
                if best.as_ref().is_some_and(|(least, _)| price >= *least) {
                    continue;
                }
                let after = start.after(slot, *choice, hurried);
                let Some(plan) = best_of_groupings(facts, &after, wishes) else { continue };
                let whole = price + plan.plan.price;
                if best.as_ref().is_none_or(|(least, _)| whole < *least) {
                    best = Some((whole, plan));
                }
            }
        }
    }
    best.map(|(_, plan)| plan)
}

fn wake_price(problem: &Problem, choice: &Choice) -> i64 {
    let of = |k: usize| {
        let helper = &problem.helpers[k];
        helper.wake_price + problem.fairness * i64::from(helper.woken_before)
    };
    members(choice.woken).map(of).sum()
}

/// Rounds for whoever cannot wait, one after another and each as soon as may be, until all can
/// be fed together. None when nobody is there for that.
#[must_use]
pub fn as_soon_as_may_be(facts: &Facts, mut start: Start, wishes: &Wishes) -> Option<Start> {
    for _ in 0..MOST_CATCH_UPS {
        let grid = &start.grid;
        let together = start.pups.iter().map(|f| grid.earliest(f)).max().unwrap_or(0);
        let hurried: Vec<&Fed> = start.pups.iter().filter(|f| grid.deadline(f) < together).collect();
        let Some(deadline) = hurried.iter().map(|f| grid.deadline(f)).min() else { break };
        let from = hurried.iter().map(|f| grid.earliest(f)).max().unwrap_or(0).max(start.free_from());
        // Whoever may be fed then joins in.
        let joining = |slot: usize| start.pups.iter().filter(|f| grid.earliest(f) <= slot).collect::<Vec<&Fed>>();
        let (slot, choice) = (from..=deadline.max(from)).find_map(|slot| {
            let choices = start.problem(facts, &joining(slot), None, wishes).choices();
            choices[1][slot].iter().min_by_key(|c| (c.woken.count_ones(), c.price)).map(|c| (slot, *c))
        })?;
        start = start.after(slot, choice, &joining(slot));
    }
    Some(start)
}

impl Start {
    /// The first slot after the rounds before the plan.
    fn free_from(&self) -> usize {
        self.first.iter().map(|f| f.visit.slot + f.visit.choice.slots).max().unwrap_or(0)
    }

    /// The same litter as if all of it had been fed some hours ago.
    fn in_step(&self, ago_h: f64) -> Start {
        let mut in_step = self.clone();
        for pup in &mut in_step.pups {
            pup.last = Some(hours_after(self.grid.origin, -ago_h));
            pup.short = 0;
        }
        in_step
    }

    /// How the pups stand when a round has fed some of them.
    fn after(&self, slot: usize, choice: Choice, pups: &[&Fed]) -> Start {
        let fed: Vec<usize> = pups.iter().map(|f| f.index).collect();
        let mut after = self.clone();
        for pup in after.pups.iter_mut().filter(|f| fed.contains(&f.index)) {
            pup.last = Some(self.grid.at(slot));
            pup.short = 0;
        }
        members(choice.woken).for_each(|k| after.helpers[k].woken_before += 1);
        after.first.push(CatchUp { visit: Visit { slot, is_full: true, choice }, pups: fed });
        after
    }

    /// The problem of some pups, after the rounds before the plan.
    #[must_use]
    pub fn problem(&self, facts: &Facts, pups: &[&Fed], weak: Option<usize>, wishes: &Wishes) -> Problem {
        let mut problem = household::problem(facts, &self.grid, self.helpers.clone(), pups, weak, wishes);
        problem.closed[..self.free_from().min(self.grid.slots)].fill(true);
        problem
    }
}
