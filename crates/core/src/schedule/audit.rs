//! Reads a finished plan against the constraints again, without the graph that made it.
//!
//! A plan that breaks one is never used, whatever the solver said.

use super::problem::{Class, MOST_CARERS, Plan, Problem, members};

/// The objective of a plan, or the constraint that it breaks.
///
/// # Errors
/// The broken constraint in words.
pub fn objective(problem: &Problem, plan: &Plan) -> Result<i64, String> {
    let mut price = 0;
    let mut woken = [0i64; MOST_CARERS];
    let mut free_from = 0;
    for visit in &plan.visits {
        let choice = &visit.choice;
        if problem.closed[visit.slot] {
            return Err(format!("a round at slot {}, which is closed", visit.slot));
        }
        if visit.slot < free_from {
            return Err(format!("the round at slot {} begins before the last one is over", visit.slot));
        }
        free_from = visit.slot + choice.slots;
        price += choice.price;
        let touched =
            |days: &[bool], beyond: bool| -> Vec<bool> {
                (visit.slot..free_from)
                    .map(|s| {
                        if problem.is_cyclic { days[s % problem.slots] } else { days.get(s).copied().unwrap_or(beyond) }
                    })
                    .collect()
            };
        for k in members(choice.carers) {
            let helper = &problem.helpers[k];
            if touched(&helper.there, true).contains(&false) {
                return Err(format!("carer {k} is away at slot {}", visit.slot));
            }
            if touched(&helper.asleep, false).contains(&true) {
                let before = i64::from(helper.woken_before) + woken[k];
                price += helper.wake_price + problem.fairness * before;
                woken[k] += 1;
            }
        }
    }
    if let (true, Some(first)) = (problem.is_cyclic, plan.visits.first())
        && free_from > first.slot + problem.slots
    {
        return Err("the last round runs into the first one of the next day".into());
    }
    let all: Vec<usize> = plan.visits.iter().map(|v| v.slot).collect();
    let full: Vec<usize> = plan.visits.iter().filter(|v| v.is_full).map(|v| v.slot).collect();
    price += gaps(problem, problem.weak(), &all)?;
    if let Some(strong) = problem.strong() {
        price += gaps(problem, strong, &full)?;
    }
    for day in 0..problem.slots.div_ceil(problem.slots_per_day) {
        let of_day: Vec<_> = plan.visits.iter().filter(|v| v.slot / problem.slots_per_day == day).collect();
        if problem.most_rounds.is_some_and(|most| of_day.len() > most) {
            return Err(format!("too many rounds on day {day}"));
        }
        let is_whole = (day + 1) * problem.slots_per_day <= problem.slots;
        let kept = of_day.iter().filter(|v| problem.keeps_the_suck(v.is_full, v.choice.is_bottle)).count();
        if is_whole && kept < problem.suck_rounds() {
            return Err(format!("too few bottle rounds on day {day}"));
        }
    }
    Ok(price)
}

/// The price of a class's gaps, each within its limits.
fn gaps(problem: &Problem, class: &Class, slots: &[usize]) -> Result<i64, String> {
    let (Some(first), Some(last)) = (slots.first(), slots.last()) else { return Err("no round at all".into()) };
    let mut price = 0;
    for pair in slots.windows(2) {
        price += gap(class, pair[1] - pair[0], true)?;
    }
    if problem.is_cyclic {
        return Ok(price + gap(class, first + problem.slots - last, true)?);
    }
    if *first < class.earliest {
        return Err("the first round is too soon".into());
    }
    if *first > class.first_deadline() {
        return Err("the first round is too late".into());
    }
    Ok(price + class.gap_price(first + class.since_oldest) + gap(class, problem.slots - last, false)?)
}

fn gap(class: &Class, slots: usize, is_between_feeds: bool) -> Result<i64, String> {
    if slots > class.longest || (is_between_feeds && slots < class.shortest) {
        return Err(format!("a gap of {slots} slots, allowed {} to {}", class.shortest, class.longest));
    }
    Ok(class.gap_price(slots))
}
