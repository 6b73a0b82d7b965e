//! Why no plan exists, and what each concession that makes one would cost.
//!
//! A concession is a wish under which the problem is solved again ([`super::concede`]): it
//! counts when that gives a plan, and its price is the objective of that plan. A reason counts
//! when lifting it alone gives a plan.

use jiff::Timestamp;

use super::concede::{self, Lift, Offer};
use super::household::{self, Fed, Grid, VISITOR, Way, Wishes};
use super::ordered::Ordered;
use super::plan::{LitterPlan, best, start};
use super::problem::Problem;
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, PupId};
use crate::report::clock::{clock, date_and_clock};

/// Why the carers as they are can keep no plan.
#[derive(Debug, Clone, Default)]
pub struct Trouble {
    pub because: Vec<String>,
    /// Each makes a plan possible; the cheapest first.
    pub concessions: Vec<String>,
}

/// A plan in which someone from outside comes as seldom as can be; where even that is not
/// enough, with as many rounds as it takes.
#[must_use]
pub fn with_a_visitor(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Option<LitterPlan> {
    let visitor = Wishes { visitor: true, ..wishes.clone() };
    let taught = Wishes { visitor_may_tube: true, ..visitor.clone() };
    let often = Wishes { most_rounds: Some(concede::ROUNDS_WITHOUT_LIMIT), ..visitor.clone() };
    let both = Wishes { visitor_may_tube: true, ..often.clone() };
    [visitor, taught, often, both].iter().find_map(|wishes| best(facts, assessment, needs, now, wishes))
}

/// The reasons and the concessions.
#[must_use]
pub fn why_none(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Trouble {
    let start = start(facts, assessment, needs, now, wishes);
    let all: Vec<&Fed> = start.pups.iter().collect();
    let problem = start.problem(facts, &all, None, wishes);
    let id = |fed: &Fed| &assessment.pups[fed.index].pup.id;
    let offers = concede::offers(facts, assessment, needs, now, wishes);
    let alone = |lift: Lift| offers.iter().any(|o| o.lifts == [lift]);

    let mut because = holes(facts, &start.grid, &problem);
    if alone(Lift::Milk) {
        let limited: Vec<&PupId> = start.pups.iter().filter(|f| f.longest < f.longest_by_age).map(id).collect();
        because.push(format!(
            "the milk is too thin for {}: the stomach holds its share of too short a time",
            names(&limited)
        ));
    }
    if alone(Lift::Taught) {
        let tube: Vec<&PupId> = start.pups.iter().filter(|f| f.way == Way::TubeOnly).map(id).collect();
        because.push(format!(
            "{}: no bottle may be given, and no carer whom a vet taught to feed by tube is there in time",
            names(&tube)
        ));
    }
    if alone(Lift::Rounds) {
        because.push(format!(
            "at most {} rounds a day are too few for gaps of at most {} h",
            problem.most_rounds.unwrap_or_default(),
            household::hours(problem.weak().longest)
        ));
    }
    if because.is_empty() {
        let what = match problem.most_rounds {
            Some(most) => format!("no {most} rounds a day fit into the carers' hours with every gap kept"),
            None => "the rounds take longer than the carers are there: it needs one more carer, or a tube by a carer whom a vet taught".into(),
        };
        because.push(what);
    }
    let mut concessions: Vec<String> = offers.iter().map(|o| words(facts, o)).collect();
    if concessions.is_empty() {
        concessions.push(
            "no single concession and no two together are enough: ask the vet and other helpers, and feed each pup before its longest gap is over".into(),
        );
    }
    Trouble { because, concessions }
}

/// Rounds that a vet ordered and for which nobody is there.
pub fn add_nobody_for_ordered(
    facts: &Facts,
    assessment: &Assessment,
    ordered: &[Ordered],
    trouble: &mut Option<Trouble>,
) {
    let alone: Vec<&Ordered> = ordered.iter().filter(|o| o.carer.is_none()).collect();
    if alone.is_empty() {
        return;
    }
    let rounds: Vec<String> = alone
        .iter()
        .flat_map(|o| &o.rounds)
        .map(|r| {
            let pups: Vec<&PupId> = r.feeds.iter().map(|f| &assessment.pups[f.pup].pup.id).collect();
            format!("{} ({})", date_and_clock(r.at, &facts.litter.zone), names(&pups))
        })
        .collect();
    let trouble = trouble.get_or_insert_default();
    trouble.because.push(format!("at times that a vet ordered nobody is there who can feed: {}", rounds.join("; ")));
    trouble.concessions.push(format!("{VISITOR} at these times, or ask the vet whether others will do"));
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

/// A concession with what the plan under it costs.
fn words(facts: &Facts, offer: &Offer) -> String {
    let each: Vec<String> = offer.lifts.iter().map(|lift| lift_words(facts, *lift, offer)).collect();
    let figures = offer.plan.figures();
    let minutes = concede::minutes_a_day(&offer.plan);
    format!(
        "{}; then {} of work a day and {}",
        each.join(", and "),
        match (minutes / 60, minutes % 60) {
            (0, minutes) => format!("{minutes} min"),
            (hours, minutes) => format!("{hours} h {minutes} min"),
        },
        match figures.wake_ups {
            0 => "nobody is woken".into(),
            1 => "1 wake-up in 2 days".to_owned(),
            n => format!("{n} wake-ups in 2 days"),
        }
    )
}

fn lift_words(facts: &Facts, lift: Lift, offer: &Offer) -> String {
    match lift {
        Lift::Milk => {
            format!("a milk at least {:.2} times as strong as the one in use", offer.wishes.milk_factor.unwrap_or(1.0))
        }
        Lift::Taught => "carers whom a vet taught to feed by tube, at the times when now there is none".into(),
        Lift::ByTube => {
            "feeding by tube in the rounds of a carer whom a vet taught (wants_tube), with a bottle round a day".into()
        }
        Lift::Rounds => format!("{} rounds a day", offer.wishes.most_rounds.unwrap_or_default()),
        Lift::Visitor => visits(facts, &offer.plan),
        Lift::TaughtVisitor => format!("{}, taught by a vet to feed by tube", visits(facts, &offer.plan)),
    }
}

fn visits(facts: &Facts, plan: &LitterPlan) -> String {
    let visits: Vec<String> = concede::visits(plan)
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
