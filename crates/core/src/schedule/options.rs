//! What other plans would cost: the non-dominated ones, and what sleeping through a feed does.

use jiff::Timestamp;

use super::household::{self, Grid, Wishes, hours};
use super::pareto::work_against_sleep;
use super::plan::{Figures, LitterPlan, best, groupings, in_step, litter_plan};
use crate::assess::{Assessment, PupAssessment};
use crate::finding::Standing;
use crate::limits;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, PupId, hours_after, hours_between};
use crate::schedule::Round;

/// Plans of which none is better than another in hands-on time, wake-ups, longest gap and pups
/// fed by tube together; least work first. Every limit holds in each of them.
///
/// Tube-fed: none, half and all that may be; longest gap: each half hour from the usual gap to
/// the limit. For each pair every plan between work and sleep is found.
#[must_use]
pub fn trade_offs(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
) -> Vec<LitterPlan> {
    let mut found: Vec<(Figures, LitterPlan)> = Vec::new();
    for wishes in sweep(facts, assessment, needs) {
        let pups = household::fed_pups(facts, assessment, needs, &wishes);
        let grid = Grid::new(&pups, now);
        let Some((pups, first)) = in_step(facts, &grid, pups, now, &wishes) else { continue };
        for (order, split) in groupings(&pups) {
            let problem = household::problem(facts, &grid, &order, split, now, &wishes);
            for plan in work_against_sleep(&problem) {
                let plan = litter_plan(facts, &grid, problem.clone(), plan, &order, split, &wishes);
                let plan = plan.map(|p| LitterPlan { first: first.clone(), ..p });
                found.extend(plan.map(|p| (p.figures(), p)));
            }
        }
    }
    let all: Vec<Figures> = found.iter().map(|(f, _)| *f).collect();
    let mut kept: Vec<(Figures, LitterPlan)> = Vec::new();
    for (figures, plan) in found {
        let is_new = kept.iter().all(|(k, _)| !is_as_good(k, &figures));
        if is_new && !all.iter().any(|other| is_as_good(other, &figures) && !is_as_good(&figures, other)) {
            kept.push((figures, plan));
        }
    }
    kept.sort_by_key(|(f, _)| (f.tube_fed, f.hands_on_s, f.wake_ups));
    kept.into_iter().map(|(_, plan)| plan).collect()
}

fn is_as_good(a: &Figures, b: &Figures) -> bool {
    a.hands_on_s <= b.hands_on_s
        && a.wake_ups <= b.wake_ups
        && a.longest_gap <= b.longest_gap
        && a.tube_fed <= b.tube_fed
}

fn sweep(facts: &Facts, assessment: &Assessment, needs: &[Result<Need, NoneNeeded>]) -> Vec<Wishes> {
    let pups = household::fed_pups(facts, assessment, needs, &Wishes::default());
    let has_taught = facts.carers.iter().any(|c| c.tube_taught_by_vet);
    let most = pups.iter().filter(|f| household::may_tube(&assessment.pups[f.index])).count();
    let mut tubes = if has_taught { vec![0, most / 2, most] } else { vec![0] };
    tubes.dedup();
    let from = pups.iter().map(|f| f.usual.min(f.longest_by_age)).min().unwrap_or(0);
    let to = pups.iter().map(|f| f.longest_by_age).max().unwrap_or(0);
    let gaps: Vec<usize> = (from..=to).filter(|s| (to - s).is_multiple_of(2)).collect();
    tubes
        .into_iter()
        .flat_map(|tube| {
            gaps.iter().map(move |gap| Wishes {
                longest_h: Some(hours(*gap)),
                tube_fed: Some(tube),
                ..Wishes::default()
            })
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
    let pups = household::fed_pups(facts, assessment, needs, &wishes);
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
