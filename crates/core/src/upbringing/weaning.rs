//! From milk to food: when to begin, what to mix, how many meals, how much milk falls away, and
//! the gain that allows the next step.
//!
//! The steps go by age, inside the published weeks (3 to 4 for the first food, 6 to 7 for the
//! last milk); a pup that does not gain stays on its step. Milk is never taken away here: shares
//! and energy are shown beside the plan, and amounts of milk come from the checked feeds alone.

use jiff::Timestamp;
use jiff::civil::Date;

use super::energy::{self, Equation};
use super::{View, day, said};
use crate::assess::{Assessment, GAIN_WEEKS_TWO_TO_FOUR, LATER_G_PER_KG, PupAssessment, Reading};
use crate::finding::Standing;
use crate::need::energy_per_100g;
use crate::record::{DoneKind, Facts, PupId, hours_between};
use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, Kcal};

/// One step from milk to food.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// Day of age from which it is usual.
    pub from_day: i64,
    pub mix: &'static str,
    /// Fewest and most meals a day.
    pub meals: (u32, u32),
    /// The part of its energy that still comes from milk, in percent.
    pub milk_percent: u32,
}

const fn step(from_day: i64, mix: &'static str, meals: (u32, u32), milk_percent: u32) -> Step {
    Step { from_day, mix, meals, milk_percent }
}

/// The steps. Mixes and meals lie inside what is published; the share of milk is our own.
pub const STEPS: Sourced<[Step; 6]> = Sourced::new(
    [
        step(21, "1 part dry food soaked soft in 3 parts warm water, a taste on a flat dish", (1, 2), 90),
        step(28, "1 part dry food to 2 parts water", (3, 4), 70),
        step(35, "1 part dry food to 1 part water", (4, 4), 40),
        step(42, "dry food only dampened", (4, 4), 15),
        step(49, "dry food, weaned", (4, 4), 0),
        step(56, "dry food", (3, 4), 0),
    ],
    &source::WEAN_STEPS,
);
/// First day for pups without a dam, and for pups beside her.
const START: Sourced<(i64, i64)> = Sourced::new((21, 25), &source::WEAN_START_DAY);
/// What stays true at every step.
pub const RULES: Sourced<[&str; 6]> = Sourced::new(
    [
        "Fresh water in a low bowl all the time, as milk falls away.",
        "20 minutes a meal, then the dish is lifted and washed.",
        "Less water week by week; canned food is begun with 2 parts food to 1 part water.",
        "The litter eats together until 6 weeks at the least; see that each gets to the dish.",
        "Loose stool: fewer meals of soft food, and go on with milk; loose stool as in the checks goes first.",
        "A new food is mixed in over days; only one thing changes at a time.",
    ],
    &source::WEAN_RULES,
);

/// Signs of readiness.
const READY: [DoneKind; 3] = [DoneKind::Walks, DoneKind::Laps, DoneKind::FirstTeeth];
/// The gain is taken between weighings that are this many days apart.
const GAIN_OVER_DAYS: Sourced<(f64, f64)> = Sourced::new((2.0, 15.0), &source::WEAN_GAIN);
/// A weight older than this says nothing of the change of food, nor of the energy of a day.
const NEWEST_DAYS: Sourced<f64> = Sourced::new(8.0, &source::WEAN_GAIN);

/// Whether a pup gains as it should while its food changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GainCheck {
    Enough(String),
    TooLittle(String),
    NotKnown(String),
}

/// One pup on its way from milk to food.
#[derive(Debug, Clone)]
pub struct Weaning {
    pub pup: PupId,
    pub age_days: i64,
    /// The first day on which food may be offered.
    pub start_on: Date,
    pub start_source: &'static Source,
    /// Signs of readiness with the day on which each was seen.
    pub ready: Vec<(DoneKind, Option<Date>)>,
    pub has_begun_on: Option<Date>,
    pub eats_by_itself_on: Option<Date>,
    pub weaned_on: Option<Date>,
    /// By age, the first one until food was begun; none before the first day.
    pub step: Option<Step>,
    pub next_step_on: Option<Date>,
    pub gain: GainCheck,
    pub energy: Option<DayOfEnergy>,
}

/// Energy of a day and how it is shared; none without a weight or an adult weight.
#[derive(Debug, Clone)]
pub struct DayOfEnergy {
    pub weight: Grams,
    pub whole: Sourced<Kcal>,
    /// The part that milk still gives at this step, and the part that has fallen away.
    pub milk: Kcal,
    pub food: Kcal,
    /// The same day by the other published equations.
    pub others: Vec<(&'static str, Sourced<Kcal>)>,
    /// The equation is used below the ages that it was made from.
    pub is_before_the_study: bool,
}

/// Each pup that is here, in the order of the assessment.
#[must_use]
pub fn weaning(facts: &Facts, assessment: &Assessment, now: Timestamp) -> Vec<Weaning> {
    let today = day(now, &facts.litter.zone);
    assessment.pups.iter().map(|pup| of_pup(facts, pup, today)).collect()
}

fn of_pup(facts: &Facts, assessed: &PupAssessment, today: Date) -> Weaning {
    let view = View::of(facts, &assessed.pup, today);
    let age_days = view.age_days();
    let first = |kind| view.days_of(kind).first().copied();
    let start = if assessed.is_hand_fed { START.value.0 } else { START.value.1 };
    let has_begun_on = first(DoneKind::FirstFood);
    let by_age = STEPS.value.iter().rfind(|s| s.from_day <= age_days);
    // However old it is, a pup begins with the first step.
    let step = if has_begun_on.is_some() { by_age } else { by_age.and(STEPS.value.first()) };
    let step = step.filter(|_| start <= age_days || has_begun_on.is_some()).copied();
    let next = STEPS.value.iter().find(|s| s.from_day > age_days);
    Weaning {
        pup: view.pup.id.clone(),
        age_days,
        start_on: view.at_age(start),
        start_source: START.source,
        ready: READY.iter().map(|kind| (*kind, first(*kind))).collect(),
        has_begun_on,
        eats_by_itself_on: first(DoneKind::EatsByItself),
        weaned_on: first(DoneKind::Weaned),
        step,
        next_step_on: next.map(|s| view.at_age(s.from_day)),
        gain: gain_check(facts, assessed),
        energy: energy_of_a_day(facts, assessed, age_days, step),
    }
}

/// The adult weight that is expected: as entered, else the dam's, which is the accepted stand-in.
#[must_use]
pub fn adult_weight(facts: &Facts) -> Option<Sourced<Grams>> {
    facts.litter.expected_adult_weight.or(facts.dam.weight).map(|w| Sourced::new(w, &source::ADULT_WEIGHT))
}

fn energy_of_a_day(facts: &Facts, assessed: &PupAssessment, age_days: i64, step: Option<Step>) -> Option<DayOfEnergy> {
    let latest = assessed.latest()?;
    if weighed_ago(assessed, latest) > NEWEST_DAYS.value {
        return None;
    }
    let weight = latest.weight;
    let by = |equation: Equation, adult| Sourced::new(equation.of_a_day(weight, adult), equation.source());
    let (whole, others) = if age_days < energy::FROM_DAY.value {
        let per_100g = energy_per_100g(facts.litter.energy, assessed.age.get());
        (Sourced::new(per_100g.value * weight, per_100g.source), Vec::new())
    } else {
        let adult = adult_weight(facts)?.value;
        let others = [Equation::Fediaf, Equation::Nrc].map(|e| (e.name(), by(e, adult)));
        (by(Equation::Klein, adult), others.to_vec())
    };
    let milk = whole.value * (f64::from(step.map_or(100, |s| s.milk_percent)) / 100.0);
    let is_before_the_study = (energy::FROM_DAY.value..56).contains(&age_days);
    Some(DayOfEnergy { weight, whole, milk, food: whole.value - milk, others, is_before_the_study })
}

/// Days since a weighing.
fn weighed_ago(assessed: &PupAssessment, reading: &Reading) -> f64 {
    (assessed.age.get() - hours_between(assessed.pup.born_at, reading.at).get()) / 24.0
}

/// Looks at the gain between the newest weighing and an earlier one, against the published floor
/// for the age: 3.5 % a day in weeks 2 to 4, later 2 g a day for each kg of adult weight.
#[must_use]
pub fn gain_check(facts: &Facts, assessed: &PupAssessment) -> GainCheck {
    let Some(latest) = assessed.latest() else { return GainCheck::NotKnown("not weighed yet".into()) };
    let days = |from, to| hours_between(from, to).get() / 24.0;
    if weighed_ago(assessed, latest) > NEWEST_DAYS.value {
        return GainCheck::NotKnown("not weighed for more than a week: weigh it first".into());
    }
    let (least, most) = GAIN_OVER_DAYS.value;
    let earlier = assessed.readings.iter().rfind(|r| (least..=most).contains(&days(r.at, latest.at)));
    let Some(earlier) = earlier else {
        return GainCheck::NotKnown("two weighings 2 to 15 days apart are needed".into());
    };
    let per_day = (latest.weight - earlier.weight).get() / days(earlier.at, latest.at);
    let unit = facts.litter.weight_unit;
    let weight = |grams: f64| unit.print(Grams::of(grams.abs()));
    if per_day <= 0.0 {
        return GainCheck::TooLittle(format!("lost {} a day since the weighing before", weight(per_day)));
    }
    let age_days = days(assessed.pup.born_at, latest.at);
    let floor = if age_days < 28.0 {
        Some(earlier.weight.get() * GAIN_WEEKS_TWO_TO_FOUR.value.0 / 100.0)
    } else {
        adult_weight(facts).map(|adult| adult.value.get() / 1000.0 * LATER_G_PER_KG.value)
    };
    match floor {
        Some(floor) if per_day < floor => GainCheck::TooLittle(format!(
            "gains {} a day, less than the published least of {}",
            weight(per_day),
            weight(floor)
        )),
        Some(floor) => {
            GainCheck::Enough(format!("gains {} a day (published least {})", weight(per_day), weight(floor)))
        }
        None => {
            GainCheck::Enough(format!("gains {} a day; no adult weight is on record to compare with", weight(per_day)))
        }
    }
}

impl Weaning {
    /// What to do about the food today, in one sentence.
    #[must_use]
    pub fn advice(&self, standing: Standing) -> String {
        if self.weaned_on.is_some() {
            return "Weaned: food and water.".into();
        }
        let Some(step) = self.step else {
            return format!("Milk only until {}.", said(self.start_on));
        };
        if standing > Standing::KeepWatch {
            return "Not doing well: change nothing of its food now, and see to what stands first.".into();
        }
        let meals = match step.meals {
            (a, b) if a == b => format!("{a} meals a day"),
            (a, b) => format!("{a} to {b} meals a day"),
        };
        let hold = match &self.gain {
            GainCheck::TooLittle(says) if self.has_begun_on.is_some() => {
                format!(" It {says}: stay on the step it eats well, give milk as before, and weigh it again tomorrow.")
            }
            GainCheck::NotKnown(says) => format!(" Before the next step: {says}."),
            _ => String::new(),
        };
        let ready = if self.has_begun_on.is_none() { self.readiness() } else { String::new() };
        let is_last = step.milk_percent == 0 && self.eats_by_itself_on.is_none();
        let eats = if is_last {
            " The last milk falls away when it eats by itself: that is not written down yet."
        } else {
            ""
        };
        format!("{}; {meals}.{ready}{eats}{hold}", step.mix)
    }
}

impl Weaning {
    /// The signs that a pup is ready for its first food, seen and not seen.
    fn readiness(&self) -> String {
        let unseen: Vec<&str> =
            self.ready.iter().filter(|(_, on)| on.is_none()).map(|(kind, _)| ready_word(*kind)).collect();
        if unseen.is_empty() {
            return " It walks, laps and has teeth: it is ready to begin.".into();
        }
        format!(" Begin when it {}; write down the first food.", unseen.join(", "))
    }
}

const fn ready_word(kind: DoneKind) -> &'static str {
    match kind {
        DoneKind::Walks => "walks",
        DoneKind::Laps => "laps",
        _ => "has its first teeth",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_lie_inside_the_published_weeks() {
        // Feeding handbook section 7: first food at 3 to 4 weeks, weaned at 6 to 7, 3 to 4 meals,
        // 1 part dry food to 3 of water first, 80 to 90 % from solids when nearly weaned.
        let steps = STEPS.value;
        assert_eq!(steps[0].from_day, 21);
        assert!(steps[0].mix.contains("3 parts"));
        let weaned = steps.iter().find(|s| s.milk_percent == 0).unwrap();
        assert!((42..=49).contains(&weaned.from_day));
        let last_with_milk = steps.iter().rfind(|s| s.milk_percent > 0).unwrap();
        assert!((10..=20).contains(&last_with_milk.milk_percent));
        assert!(steps.windows(2).all(|w| w[0].from_day < w[1].from_day && w[0].milk_percent >= w[1].milk_percent));
        assert!(steps[1..].iter().all(|s| s.meals.0 >= 3 && s.meals.1 <= 4));
        assert!((21..=28).contains(&START.value.0) && (21..=28).contains(&START.value.1));
    }
}
