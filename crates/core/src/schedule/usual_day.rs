//! A day that can be repeated: the optimum on a cycle of 24 h, by the clock.
//!
//! It holds for every day of a week: a carer is there in a quarter of an hour only when that is
//! so on all of its days, and asleep when that is so on one of them. Where no day does for the
//! whole week, there is one for working days and one for weekends. It answers how the days
//! would go if nothing changed; what to do today comes from the plan with dates, which knows
//! the last feeds, the clocks and the nights before. Pups at an interval that a vet ordered are
//! left out: their times follow from their last feed.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::Shift;
use super::household::{self, Fed, Grid, SLOTS_PER_DAY, Wishes};
use super::optimum::optimum;
use super::plan::{Figures, LitterPlan, Start, groupings, litter_plan};
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, WeeklyHours, hours_after};

/// Days of the week, Monday is 0, with their name.
type Days = (&'static str, std::ops::Range<usize>);
const WEEK: Days = ("every day", 0..7);
const WORKING_DAYS: Days = ("Monday to Friday", 0..5);
const WEEKEND: Days = ("Saturday and Sunday", 5..7);

/// The repeating day.
#[derive(Debug, Clone)]
pub struct UsualDay {
    pub days: &'static str,
    pub rounds: Vec<UsualRound>,
    pub figures: Figures,
}

/// A round of every day, by the clock.
#[derive(Debug, Clone)]
pub struct UsualRound {
    /// Minutes after midnight.
    pub at: usize,
    /// May be past midnight.
    pub until: usize,
    /// In the assessment.
    pub pups: Vec<usize>,
    pub staff: Vec<Shift>,
}

/// The best day that can be repeated all week; else those for working days and for weekends, or
/// nothing when no such day keeps every limit.
#[must_use]
pub fn usual_days(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
) -> Vec<UsualDay> {
    let of = |days: &Days| best(facts, assessment, needs, now, days);
    match of(&WEEK) {
        Some(day) => vec![day],
        None => [WORKING_DAYS, WEEKEND].iter().filter_map(of).collect(),
    }
}

fn best(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    days: &Days,
) -> Option<UsualDay> {
    let wishes = Wishes::default();
    let pups = household::fed_pups(facts, assessment, needs, now, &wishes);
    if pups.is_empty() {
        return None;
    }
    let grid = Grid { slots: SLOTS_PER_DAY, ..Grid::new(&pups, now) };
    let mut helpers = household::helpers(facts, &grid, now, &wishes);
    for (helper, carer) in helpers.iter_mut().zip(household::planned_carers(facts)) {
        helper.there = on_days(carer.available.as_ref(), true, days, |of| of.iter().all(|is_in| *is_in));
        helper.asleep = on_days(carer.sleeps.as_ref(), false, days, |of| of.iter().any(|is_in| *is_in));
        helper.woken_before = 0;
    }
    let mut start = Start { grid, pups, first: Vec::new(), ordered: Vec::new(), helpers };
    // On a cycle nobody has waited yet.
    start.pups.iter_mut().for_each(|f| f.last = None);
    let mut best: Option<LitterPlan> = None;
    for (order, split) in groupings(&start.grid, &start.pups) {
        let mut problem = start.problem(facts, &order, split, &wishes);
        problem.is_cyclic = true;
        for class in &mut problem.classes {
            class.since_oldest = 1;
            class.earliest = 0;
        }
        let Some(plan) = optimum(&problem) else { continue };
        if best.as_ref().is_none_or(|b| plan.price < b.plan.price) {
            best = litter_plan(facts, &start, problem, plan, &order, split, &wishes).or(best);
        }
    }
    best.map(|plan| day(&plan, days.0))
}

/// A quarter of an hour counts by what it is on each of the days.
fn on_days(hours: Option<&WeeklyHours>, unsaid: bool, days: &Days, of_days: fn(&[bool]) -> bool) -> Vec<bool> {
    let Some(hours) = hours else { return vec![unsaid; SLOTS_PER_DAY] };
    // Only the clock counts, so any week will do, in a zone whose clocks never change: the one
    // after Monday, 5 January 1970.
    let monday = hours_after(Timestamp::UNIX_EPOCH, 4.0 * 24.0);
    (0..SLOTS_PER_DAY)
        .map(|slot| {
            let at = |day: usize| hours_after(monday, household::hours(slot + day * SLOTS_PER_DAY));
            let is_in: Vec<bool> = days.1.clone().map(|day| hours.contains(at(day), &TimeZone::UTC)).collect();
            of_days(&is_in)
        })
        .collect()
}

fn day(plan: &LitterPlan, days: &'static str) -> UsualDay {
    let rounds = plan.plan.visits.iter().map(|visit| {
        let classes = plan.classes.iter().take(if visit.is_full { 2 } else { 1 });
        let mut pups: Vec<usize> = classes.flatten().map(|f: &Fed| f.index).collect();
        pups.sort_unstable();
        let minutes = usize::try_from(visit.choice.duration_s.div_euclid(60)).expect("minutes of a round");
        let at = visit.slot * (24 * 60 / SLOTS_PER_DAY);
        UsualRound { at, until: at + minutes, pups, staff: plan.staff(visit) }
    });
    UsualDay { days, rounds: rounds.collect(), figures: plan.figures() }
}
