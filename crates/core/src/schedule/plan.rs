//! From a litter to its best plan: grouping, the optimum, and rounds with names and amounts.

use jiff::Timestamp;

use super::audit;
use super::household::{self, Fed, Grid, Way, Wishes};
use super::optimum::optimum;
use super::problem::{Plan, Problem, Visit, members};
use super::work::share_out;
use super::{PlannedFeed, Round, Shift};
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, hours_after};

/// Pups that are out of step are brought together by a few rounds at most.
const MOST_CATCH_UPS: usize = 4;
/// Someone from outside the household, in a plan that needs one.
pub const VISITOR: &str = "someone more";

/// A plan of a litter, with what it was made from.
#[derive(Debug, Clone)]
pub struct LitterPlan {
    pub grid: Grid,
    pub problem: Problem,
    pub plan: Plan,
    /// Pups by class, weak first.
    pub classes: Vec<Vec<Fed>>,
    pub carers: Vec<String>,
    /// Rounds before those of the plan, which bring the pups into step.
    pub first: Vec<CatchUp>,
}

/// Ways to group the pups: all together, or those with shorter gaps apart. The weak come first.
#[must_use]
pub fn groupings(pups: &[Fed]) -> Vec<(Vec<&Fed>, Option<usize>)> {
    let mut by_gap: Vec<&Fed> = pups.iter().collect();
    by_gap.sort_by_key(|f| (f.longest, f.index));
    let splits = (1..by_gap.len()).filter(|i| by_gap[i - 1].longest < by_gap[*i].longest);
    std::iter::once(None).chain(splits.map(Some)).map(|split| (by_gap.clone(), split)).collect()
}

/// The best plan over all groupings, or none when no grouping has one.
#[must_use]
pub fn best(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    let pups = household::fed_pups(facts, assessment, needs, wishes);
    if pups.is_empty() {
        return None;
    }
    let grid = Grid::new(&pups, now);
    let (pups, first) = in_step(facts, &grid, pups, now, wishes)?;
    let mut best: Option<LitterPlan> = None;
    for (order, split) in groupings(&pups) {
        let problem = household::problem(facts, &grid, &order, split, now, wishes);
        let Some(plan) = optimum(&problem) else { continue };
        if best.as_ref().is_none_or(|b| plan.price < b.plan.price) {
            best = litter_plan(facts, &grid, problem, plan, &order, split, wishes);
        }
    }
    best.map(|plan| LitterPlan { first, ..plan })
}

/// A round for some pups only, before all of them can be fed together.
#[derive(Debug, Clone)]
pub struct CatchUp {
    pub visit: Visit,
    /// In the assessment.
    pub pups: Vec<usize>,
}

/// Rounds that bring the pups into step: when some were fed so lately that the others cannot
/// wait for them (a round that was broken off), the others are fed first, as soon as may be.
/// None when nobody is there for that.
#[must_use]
pub fn in_step(
    facts: &Facts,
    grid: &Grid,
    mut pups: Vec<Fed>,
    now: Timestamp,
    wishes: &Wishes,
) -> Option<(Vec<Fed>, Vec<CatchUp>)> {
    let mut first: Vec<CatchUp> = Vec::new();
    let mut free_from = 0;
    for _ in 0..MOST_CATCH_UPS {
        let together = pups.iter().map(|f| grid.earliest(f)).max().unwrap_or(0);
        let hurried: Vec<&Fed> = pups.iter().filter(|f| grid.deadline(f) < together).collect();
        let Some(deadline) = hurried.iter().map(|f| grid.deadline(f)).min() else { break };
        let from = hurried.iter().map(|f| grid.earliest(f)).max().unwrap_or(0).max(free_from);
        // Whoever may be fed then joins in.
        let joining = |slot: usize| pups.iter().filter(|f| grid.earliest(f) <= slot).collect::<Vec<&Fed>>();
        let (slot, choice) = (from..=deadline.max(from)).find_map(|slot| {
            let problem = household::problem(facts, grid, &joining(slot), None, now, wishes);
            let choices = problem.choices();
            choices[1][slot].iter().min_by_key(|c| (c.woken.count_ones(), c.price)).map(|c| (slot, *c))
        })?;
        let fed: Vec<usize> = joining(slot).iter().map(|f| f.index).collect();
        for pup in pups.iter_mut().filter(|f| fed.contains(&f.index)) {
            pup.last = Some(grid.at(slot));
        }
        free_from = slot + choice.slots;
        first.push(CatchUp { visit: Visit { slot, is_full: true, choice }, pups: fed });
    }
    Some((pups, first))
}

/// A plan with its pups and carers; none when the audit finds it broken.
#[must_use]
pub fn litter_plan(
    facts: &Facts,
    grid: &Grid,
    problem: Problem,
    plan: Plan,
    order: &[&Fed],
    split: Option<usize>,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    audit::objective(&problem, &plan).ok()?;
    let (weak, strong) = order.split_at(split.unwrap_or(order.len()));
    let classes = [weak, strong].into_iter().filter(|c| !c.is_empty());
    let mut carers: Vec<String> = household::planned_carers(facts).iter().map(|c| c.name.clone()).collect();
    if wishes.visitor {
        carers.truncate(problem.helpers.len() - 1);
        carers.push(VISITOR.into());
    }
    Some(LitterPlan {
        grid: grid.clone(),
        problem,
        plan,
        classes: classes.map(|c| c.iter().map(|f| (*f).clone()).collect()).collect(),
        carers,
        first: Vec::new(),
    })
}

impl LitterPlan {
    /// Slots at which a class is fed.
    fn slots_of(&self, class: usize) -> Vec<usize> {
        self.plan.visits.iter().filter(|v| v.is_full || class == 0).map(|v| v.slot).collect()
    }

    /// The rounds with amounts before any limit: each amount follows the gap to the next feed,
    /// so a long night is prepared for and a missed feed is never made up.
    #[must_use]
    pub fn rounds(&self, assessment: &Assessment, needs: &[Result<Need, NoneNeeded>]) -> Vec<Round> {
        let visits: Vec<&Visit> = self.first.iter().map(|f| &f.visit).chain(&self.plan.visits).collect();
        let mut rounds: Vec<Round> = visits.iter().map(|v| self.empty_round(v)).collect();
        for (class, pups) in self.classes.iter().enumerate() {
            for fed in pups {
                let Ok(need) = &needs[fed.index] else { continue };
                let leaves = assessment.pups[fed.index].pup.left.map(|l| l.at);
                let mine = self.visits_of(fed.index, class);
                for (i, visit) in mine.iter().enumerate() {
                    let slot = visits[*visit].slot;
                    if leaves.is_some_and(|at| at <= self.grid.at(slot)) {
                        break;
                    }
                    let gap = mine.get(i + 1).map_or(fed.usual.min(fed.longest), |next| visits[*next].slot - slot);
                    let share = need.by_hand_volume * (household::hours(gap) / 24.0);
                    let is_bottle = visits[*visit].choice.is_bottle;
                    rounds[*visit].feeds.push(PlannedFeed {
                        pup: fed.index,
                        amount: need.order.as_ref().and_then(|o| o.per_feed).unwrap_or(share),
                        covers_h: household::hours(gap),
                        by_tube: fed.way == Way::TubeOnly || (fed.way == Way::Tube && !is_bottle),
                    });
                }
            }
        }
        for round in &mut rounds {
            round.feeds.sort_by_key(|f| f.pup);
        }
        rounds
    }

    /// Which of all rounds feed a pup, the catching up before the plan.
    fn visits_of(&self, pup: usize, class: usize) -> Vec<usize> {
        let before = self.first.len();
        let early = (0..before).filter(|i| self.first[*i].pups.contains(&pup));
        let planned = self.plan.visits.iter().enumerate().filter(|(_, v)| v.is_full || class == 0);
        early.chain(planned.map(|(i, _)| i + before)).collect()
    }

    fn empty_round(&self, visit: &Visit) -> Round {
        let choice = &visit.choice;
        let helping = self.problem.helping(choice.carers);
        let shares = share_out(self.problem.feeds(visit.is_full, choice.is_bottle), &helping).unwrap_or_default();
        let staff = members(choice.carers)
            .zip(shares)
            .map(|(k, share)| Shift {
                carer: self.carers[k].clone(),
                bottles: share.bottles,
                tubes: share.tubes,
                is_woken: choice.woken >> k & 1 == 1,
            })
            .collect();
        let minutes = u32::try_from(choice.duration_s.div_euclid(60)).expect("minutes of a round");
        let at = self.grid.at(visit.slot);
        Round { at, until: hours_after(at, f64::from(minutes) / 60.0), feeds: Vec::new(), staff }
    }

    /// Hands-on minutes in all, wake-ups, and the longest gap of any pup in slots.
    #[must_use]
    pub fn figures(&self) -> Figures {
        let visits: Vec<&Visit> = self.first.iter().map(|f| &f.visit).chain(&self.plan.visits).collect();
        let gaps = |slots: &[usize]| slots.windows(2).map(|w| w[1] - w[0]).max().unwrap_or(0);
        let longest = (0..self.classes.len()).map(|class| gaps(&self.slots_of(class))).max().unwrap_or(0);
        Figures {
            rounds: visits.len(),
            hands_on_s: visits.iter().map(|v| v.choice.hands_on_s).sum(),
            wake_ups: visits.iter().map(|v| v.choice.woken.count_ones()).sum(),
            longest_gap: longest,
            tube_fed: self.classes.iter().flatten().filter(|f| f.way == Way::Tube).count(),
        }
    }
}

/// What a plan costs, over its whole length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figures {
    pub rounds: usize,
    pub hands_on_s: i64,
    pub wake_ups: u32,
    pub longest_gap: usize,
    pub tube_fed: usize,
}
