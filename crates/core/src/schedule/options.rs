//! What other plans would cost: the non-dominated ones, and what sleeping through a feed does.

use jiff::Timestamp;

use super::household::{self, Fed, Way, Wishes, hours, may_tube, planned_carers};
use super::pareto::{Variant, front};
use super::plan::{LitterPlan, best, groupings, litter_plan, start};
use crate::assess::{Assessment, PupAssessment};
use crate::finding::Standing;
use crate::limits;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, PupId, hours_after, hours_between};
use crate::schedule::Round;

/// Plans of which none is better than another in hands-on time, wake-ups, longest gap and pups
/// fed by tube together; fewest by tube first. Every limit holds in each of them.
///
/// Any number of the pups that may be tube-fed is tried, those with the shortest gaps first;
/// for each number and each grouping of the pups the set of plans is complete.
#[must_use]
pub fn trade_offs(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
) -> Vec<LitterPlan> {
    let has_taught = planned_carers(facts).iter().any(|c| c.tube_taught_by_vet);
    let usual = household::fed_pups(facts, assessment, needs, now, &Wishes::default());
    let can = usual.iter().filter(|f| f.way != Way::TubeOnly && may_tube(&assessment.pups[f.index])).count();
    let mut variants = Vec::new();
    let mut made_from = Vec::new();
    for tube_fed in 0..=if has_taught { can } else { 0 } {
        let wishes = Wishes { tube_fed: Some(tube_fed), ..Wishes::default() };
        let start = start(facts, assessment, needs, now, &wishes);
        if start.pups.is_empty() {
            continue;
        }
        for (order, split) in groupings(&start.grid, &start.pups) {
            let problem = start.problem(facts, &order, split, &wishes);
            variants.push(Variant { tube_fed, problem });
            let order: Vec<Fed> = order.into_iter().cloned().collect();
            made_from.push((start.clone(), order, split, wishes.clone()));
        }
    }
    // More rounds than the usual number are nothing that a household would choose.
    let enough = usual.iter().map(|f| f.usual.min(f.longest)).min().unwrap_or(0);
    front(&variants, enough)
        .into_iter()
        .filter_map(|found| {
            let (start, order, split, wishes) = &made_from[found.variant];
            let order: Vec<&Fed> = order.iter().collect();
            let problem = variants[found.variant].problem.clone();
            litter_plan(facts, start, problem, found.plan, &order, *split, wishes)
        })
        .collect()
}

/// Whether a feed may be slept through.
#[derive(Debug, Clone)]
pub enum SleepThrough {
    /// Below the floor of age, weight or standing: never offered.
    NotOffered(Vec<(PupId, String)>),
    /// No plan without it keeps every gap.
    NoPlan { longest_h: f64 },
    /// The wish under which everyone is still fed in time.
    Allowed(Wishes),
    /// No round is planned near that time.
    NothingThere,
}

/// What happens if a round of the plan is left out and the others move as they may.
#[must_use]
pub fn sleep_through(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    rounds: &[Round],
    now: Timestamp,
    at: Timestamp,
) -> SleepThrough {
    let distance = |r: &Round| hours_between(r.at, at).get().abs();
    let Some(index) = (0..rounds.len()).min_by(|a, b| distance(&rounds[*a]).total_cmp(&distance(&rounds[*b]))) else {
        return SleepThrough::NothingThere;
    };
    let round = &rounds[index];
    if distance(round) > 1.0 {
        return SleepThrough::NothingThere;
    }
    let below: Vec<(PupId, String)> = round
        .feeds
        .iter()
        .map(|feed| &assessment.pups[feed.pup])
        .filter_map(|pup| Some((pup.pup.id.clone(), below_the_floor(pup)?)))
        .collect();
    if !below.is_empty() {
        return SleepThrough::NotOffered(below);
    }
    // Half of the way to its neighbours stays free of rounds.
    let half_to = |other: Option<&Round>| other.map_or(1.0, |o| hours_between(o.at, round.at).get().abs() / 2.0);
    let from = hours_after(round.at, -half_to(index.checked_sub(1).and_then(|i| rounds.get(i))));
    let to = hours_after(round.at, half_to(rounds.get(index + 1)));
    let wishes = Wishes { sleep_through: Some((from, to)), ..Wishes::default() };
    if best(facts, assessment, needs, now, &wishes).is_some() {
        return SleepThrough::Allowed(wishes);
    }
    let pups = household::fed_pups(facts, assessment, needs, now, &wishes);
    SleepThrough::NoPlan { longest_h: hours(pups.iter().map(|f| f.longest).min().unwrap_or(0)) }
}

/// Why skipping is never offered for a pup, if so.
#[must_use]
pub fn below_the_floor(pup: &PupAssessment) -> Option<String> {
    let (age_h, weight) = limits::SKIP_FLOOR.value;
    if pup.age.get() < age_h {
        return Some(format!("under {} days old", age_h / 24.0));
    }
    if pup.latest().is_none_or(|l| l.weight < weight) {
        return Some(format!("under {weight}"));
    }
    (pup.standing != Standing::DoingWell).then(|| format!("its standing is \"{}\"", pup.standing.words()))
}
