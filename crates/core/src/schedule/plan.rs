//! From a litter to its best plan: grouping, the optimum, and rounds with names and amounts.

use jiff::Timestamp;

use super::audit;
use super::catch_up::{self, CatchUp};
use super::household::{self, Fed, Grid, Way, Wishes};
use super::optimum::{self, optimum};
use super::ordered::{self, Ordered};
use super::problem::{Helper, Plan, Problem, Visit, members};
use super::work::share_out;
use super::{PlannedFeed, Round, Shift};
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, hours_after};

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
    /// Rounds beside it, at intervals that a vet ordered.
    pub ordered: Vec<Ordered>,
}

/// Where a plan begins: the pups as they stand, and what is settled before it.
#[derive(Debug, Clone)]
pub struct Start {
    pub grid: Grid,
    pub pups: Vec<Fed>,
    /// Rounds that bring the pups into step.
    pub first: Vec<CatchUp>,
    /// Rounds that a vet ordered; the plan is made around them.
    pub ordered: Vec<Ordered>,
    /// The carers, busy while they are on those.
    pub helpers: Vec<Helper>,
}

/// Ways to group the pups: all together, or those with shorter gaps apart, or, where they are out
/// of step, those that must be fed first. The weak class comes first.
#[must_use]
pub fn groupings<'f>(grid: &Grid, pups: &'f [Fed]) -> Vec<(Vec<&'f Fed>, Option<usize>)> {
    fn splits(pups: &[Fed], key: impl Fn(&Fed) -> usize) -> Vec<(Vec<&Fed>, Option<usize>)> {
        let mut order: Vec<&Fed> = pups.iter().collect();
        order.sort_by_key(|f| (key(f), f.index));
        let cuts = (1..order.len()).filter(|i| key(order[i - 1]) < key(order[*i]));
        cuts.map(|cut| (order.clone(), Some(cut))).collect()
    }
    let mut all: Vec<(Vec<&Fed>, Option<usize>)> = vec![(pups.iter().collect(), None)];
    all.extend(splits(pups, |f| f.longest));
    if !grid.fits(pups) {
        all.extend(splits(pups, |f| grid.deadline(f)));
    }
    // A class whose pups are out of step among themselves has no plan.
    let fits = |(order, split): &(Vec<&Fed>, Option<usize>)| {
        let (weak, strong) = order.split_at(split.unwrap_or(order.len()));
        grid.fits(weak.iter().copied()) && grid.fits(strong.iter().copied())
    };
    all.retain(fits);
    all
}

/// The best plan of a household, or none when no plan keeps every limit.
///
/// A feed that was short brings the next one forward where the carers can keep that; where they
/// cannot, it counts like a whole one.
#[must_use]
pub fn best(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    let mut start = start(facts, assessment, needs, now, wishes);
    let plan = best_from(facts, &start, wishes);
    if plan.is_some() || start.pups.iter().all(|f| f.short == 0) {
        return plan;
    }
    start.pups.iter_mut().for_each(|f| f.short = 0);
    best_from(facts, &start, wishes)
}

fn best_from(facts: &Facts, start: &Start, wishes: &Wishes) -> Option<LitterPlan> {
    if start.pups.is_empty() {
        return None;
    }
    let plan = best_of_groupings(facts, start, wishes);
    if plan.is_some() || start.grid.fits(&start.pups) {
        return plan;
    }
    catch_up::one_before(facts, start, wishes).or_else(|| {
        let start = catch_up::as_soon_as_may_be(facts, start.clone(), wishes)?;
        best_of_groupings(facts, &start, wishes)
    })
}

/// The pups as they stand at `now`, with the rounds that a vet ordered.
#[must_use]
pub fn start(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Start {
    let pups = household::fed_pups(facts, assessment, needs, now, wishes);
    let grid = Grid::new(&pups, now);
    let rounds = super::ordered_rounds(facts, assessment, needs, now);
    let ordered = ordered::staffed(facts, assessment, rounds, &grid, now, wishes);
    let mut helpers = household::helpers(facts, &grid, now, wishes);
    for round in &ordered {
        round.keep_free(&mut helpers);
    }
    Start { grid, pups, first: Vec::new(), ordered, helpers }
}

/// Whether [`best`] finds a plan.
#[must_use]
pub fn is_possible(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> bool {
    let start = start(facts, assessment, needs, now, wishes);
    let has_plan = |start: &Start| {
        let mut groupings = groupings(&start.grid, &start.pups).into_iter();
        groupings.any(|(order, split)| optimum::is_possible(&start.problem(facts, &order, split, wishes)))
    };
    !start.pups.is_empty()
        && (has_plan(&start)
            || (!start.grid.fits(&start.pups) && best(facts, assessment, needs, now, wishes).is_some()))
}

/// The best plan from a start over all groupings.
#[must_use]
pub fn best_of_groupings(facts: &Facts, start: &Start, wishes: &Wishes) -> Option<LitterPlan> {
    let mut best: Option<LitterPlan> = None;
    for (order, split) in groupings(&start.grid, &start.pups) {
        let problem = start.problem(facts, &order, split, wishes);
        let Some(plan) = optimum(&problem) else { continue };
        if best.as_ref().is_none_or(|b| plan.price < b.plan.price) {
            best = litter_plan(facts, start, problem, plan, &order, split, wishes).or(best);
        }
    }
    best
}

/// A plan with its pups and carers; none when the audit finds it broken.
#[must_use]
pub fn litter_plan(
    facts: &Facts,
    start: &Start,
    problem: Problem,
    plan: Plan,
    order: &[&Fed],
    split: Option<usize>,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    audit::objective(&problem, &plan).ok()?;
    let (weak, strong) = order.split_at(split.unwrap_or(order.len()));
    let classes = [weak, strong].into_iter().filter(|c| !c.is_empty());
    Some(LitterPlan {
        grid: start.grid.clone(),
        problem,
        plan,
        classes: classes.map(|c| c.iter().map(|f| (*f).clone()).collect()).collect(),
        carers: household::names(facts, wishes),
        first: start.first.clone(),
        ordered: start.ordered.clone(),
    })
}

impl LitterPlan {
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
                        by_tube: match fed.way {
                            Way::Bottle => false,
                            Way::Tube => !is_bottle,
                            Way::TubeOnly | Way::TubeAndDam => true,
                        },
                    });
                }
            }
        }
        for round in &mut rounds {
            round.feeds.sort_by_key(|f| f.pup);
        }
        super::merged(rounds, self.ordered.iter().flat_map(|o| o.rounds.clone()).collect())
    }

    /// Which of all rounds feed a pup, the catching up before the plan.
    fn visits_of(&self, pup: usize, class: usize) -> Vec<usize> {
        let before = self.first.len();
        let early = (0..before).filter(|i| self.first[*i].pups.contains(&pup));
        let planned = self.plan.visits.iter().enumerate().filter(|(_, v)| v.is_full || class == 0);
        early.chain(planned.map(|(i, _)| i + before)).collect()
    }

    /// Who does a round, and how much of it.
    #[must_use]
    pub fn staff(&self, visit: &Visit) -> Vec<Shift> {
        let choice = &visit.choice;
        let helping = self.problem.helping(choice.carers);
        let shares = share_out(self.problem.feeds(visit.is_full, choice.is_bottle), &helping).unwrap_or_default();
        members(choice.carers)
            .zip(shares)
            .map(|(k, share)| Shift {
                carer: self.carers[k].clone(),
                bottles: share.bottles,
                tubes: share.tubes,
                is_woken: choice.woken >> k & 1 == 1,
            })
            .collect()
    }

    fn empty_round(&self, visit: &Visit) -> Round {
        let minutes = u32::try_from(visit.choice.duration_s.div_euclid(60)).expect("minutes of a round");
        let at = self.grid.at(visit.slot);
        Round { at, until: hours_after(at, f64::from(minutes) / 60.0), feeds: Vec::new(), staff: self.staff(visit) }
    }

    /// Hands-on minutes in all, wake-ups, and the longest gap of any pup in slots.
    #[must_use]
    pub fn figures(&self) -> Figures {
        let visits: Vec<&Visit> = self.first.iter().map(|f| &f.visit).chain(&self.plan.visits).collect();
        let ordered = ordered::figures(&self.ordered);
        Figures {
            rounds: visits.len() + ordered.rounds,
            hands_on_s: visits.iter().map(|v| v.choice.hands_on_s).sum::<i64>() + ordered.hands_on_s,
            wake_ups: visits.iter().map(|v| v.choice.woken.count_ones()).sum::<u32>() + ordered.wake_ups,
            longest_gap: self.problem.longest_gap(&self.plan.visits),
            tube_fed: self.classes.iter().flatten().filter(|f| matches!(f.way, Way::Tube | Way::TubeAndDam)).count(),
        }
    }
}

/// What a plan costs, over its whole length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Figures {
    pub rounds: usize,
    pub hands_on_s: i64,
    pub wake_ups: u32,
    pub longest_gap: usize,
    pub tube_fed: usize,
}
