//! Why no plan exists, and the cheapest concession that makes one.
//!
//! Each possible reason is lifted alone and the problem is solved again; a reason counts when
//! that gives a plan. Concessions are measured in minutes of someone from outside: a carer
//! from outside at a price above all others makes the optimum call for as few visits as can be.

use jiff::Timestamp;

use super::household::{self, Fed, Grid, Way, Wishes, slots_up};
use super::optimum::optimum;
use super::plan::{LitterPlan, VISITOR, best, in_step};
use super::problem::Problem;
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, PupId};
use crate::report::clock::{clock, date_and_clock};

/// Why the carers as they are can keep no plan.
#[derive(Debug, Clone)]
pub struct Trouble {
    pub because: Vec<String>,
    /// Each makes a plan possible; the cheapest first.
    pub concessions: Vec<String>,
}

/// A plan in which someone from outside comes as seldom as can be.
#[must_use]
pub fn with_a_visitor(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    let visitor = Wishes { visitor: true, ..wishes.clone() };
    best(facts, assessment, needs, now, &visitor)
        .or_else(|| best(facts, assessment, needs, now, &Wishes { visitor_may_tube: true, ..visitor }))
}

/// The reasons, found by lifting one at a time.
#[must_use]
pub fn why_none(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Trouble {
    let pups = household::fed_pups(facts, assessment, needs, wishes);
    let grid = Grid::new(&pups, now);
    let pups = in_step(facts, &grid, pups.clone(), now, wishes).map_or(pups, |(pups, _)| pups);
    let all: Vec<&Fed> = pups.iter().collect();
    let problem = household::problem(facts, &grid, &all, None, now, wishes);
    let id = |fed: &Fed| &assessment.pups[fed.index].pup.id;
    let mut because = holes(facts, &grid, &problem);
    let mut concessions = Vec::new();
    if let Some(factor) = milk_factor(facts, &grid, &pups, now, wishes) {
        let limited: Vec<&PupId> = pups.iter().filter(|f| f.longest < f.longest_by_age).map(id).collect();
        because.push(format!(
            "the milk is too thin for {}: the stomach holds its share of too short a time",
            names(&limited)
        ));
        concessions.push(format!("a milk at least {factor:.2} times as strong as the one in use"));
    }
    if optimum(&all_taught(&problem)).is_some() {
        let tube: Vec<&PupId> = pups.iter().filter(|f| f.way == Way::TubeOnly).map(id).collect();
        because.push(format!(
            "{}: no bottle may be given, and no carer whom a vet taught to feed by tube is there in time",
            names(&tube)
        ));
        concessions.push("a carer whom a vet taught to feed by tube, at the times when now there is none".into());
    }
    let by_tube = Wishes { tube_fed: Some(usize::MAX), ..wishes.clone() };
    if wishes.tube_fed.is_none()
        && best(facts, assessment, needs, now, &by_tube).is_some_and(|p| p.figures().tube_fed > 0)
    {
        concessions.push(
            "feeding by tube in the rounds of a carer whom a vet taught (wants_tube), with a bottle round a day".into(),
        );
    }
    if let Some(plan) = with_a_visitor(facts, assessment, needs, now, wishes) {
        concessions.push(visits(facts, &plan));
        if because.is_empty() {
            because.push("the rounds take longer than the carers are there: it needs one more carer, or a tube by a carer whom a vet taught".into());
        }
    }
    if because.is_empty() {
        because.push("no times keep every gap; ask for help and feed each pup before its longest gap is over".into());
    }
    Trouble { because, concessions }
}

/// Stretches in which no round can be, longer than some pup may wait.
fn holes(facts: &Facts, grid: &Grid, problem: &Problem) -> Vec<String> {
    let zone = &facts.litter.zone;
    let choices = problem.choices();
    let longest = problem.weak().longest;
    let mut said = Vec::new();
    let mut slot = 0;
    while slot < problem.slots {
        let begin = slot;
        while slot < problem.slots && choices[1][slot].is_empty() {
            slot += 1;
        }
        let allowed = if begin == 0 { problem.weak().first_deadline() } else { longest - 1 };
        if slot - begin > allowed {
            let nobody = (begin..slot).filter(|s| problem.helpers.iter().all(|h| !h.there[*s])).count();
            let what = if nobody > 0 { "hole in cover" } else { "a round does not fit into anyone's hours" };
            said.push(format!(
                "{what}: no round can begin from {} to {}, and the longest gap allowed is {} h",
                date_and_clock(grid.at(begin), zone),
                clock(grid.at(slot), zone),
                household::hours(longest)
            ));
        }
        slot = slot.max(begin) + 1;
    }
    said
}

/// How much stronger the milk must be, when that alone makes a plan; to a twentieth.
fn milk_factor(facts: &Facts, grid: &Grid, pups: &[Fed], now: Timestamp, wishes: &Wishes) -> Option<f64> {
    if pups.iter().all(|f| f.longest >= f.longest_by_age) {
        return None;
    }
    (21..=60).map(|twentieths| f64::from(twentieths) / 20.0).find(|factor| {
        let stronger: Vec<Fed> = pups
            .iter()
            .map(|f| Fed { longest: slots_up(household::hours(f.longest) * factor).min(f.longest_by_age), ..f.clone() })
            .collect();
        let all: Vec<&Fed> = stronger.iter().collect();
        optimum(&household::problem(facts, grid, &all, None, now, wishes)).is_some()
    })
}

/// The same problem if a vet had taught everyone.
fn all_taught(problem: &Problem) -> Problem {
    let mut taught = problem.clone();
    taught.helpers.iter_mut().for_each(|h| h.may_tube = true);
    taught
}

fn visits(facts: &Facts, plan: &LitterPlan) -> String {
    let outside = u8::try_from(plan.carers.len() - 1).expect("at most four carers");
    let visits: Vec<String> = plan
        .first
        .iter()
        .map(|f| &f.visit)
        .chain(&plan.plan.visits)
        .filter(|v| v.choice.carers >> outside & 1 == 1)
        .map(|v| {
            let minutes = v.choice.duration_s.div_euclid(60);
            format!("{} ({minutes} min)", date_and_clock(plan.grid.at(v.slot), &facts.litter.zone))
        })
        .collect();
    format!("{VISITOR} to feed at {}", visits.join("; "))
}

fn names(pups: &[&PupId]) -> String {
    pups.iter().map(|p| p.0.as_str()).collect::<Vec<_>>().join(", ")
}
