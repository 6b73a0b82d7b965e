//! How much milk a litter will take until its pups eat solid food: an estimate, for the purse.
//!
//! Each pup grows from today's weight by the published gains, slow, usual or fast, and takes
//! the share of its need that we give today. It counts to day 35 as if nothing else were eaten;
//! weaning food makes it less.

use crate::assess::{Assessment, GAIN_WEEK_ONE, GAIN_WEEKS_TWO_TO_FOUR, LATER_G_PER_KG};
use crate::limits::PLANNED_UNTIL_H;
use crate::need::{Need, NoneNeeded, Why, energy_per_100g};
use crate::record::Facts;
use crate::references::{self as source, Source};
use crate::units::{Grams, KcalPerMl};

/// Millilitres for slow, usual and fast growth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UntilWeaned {
    pub ml: [f64; 3],
    /// How many pups are fed by us and counted.
    pub pups: usize,
    pub source: &'static Source,
}

/// None when no pup is fed by hand.
#[must_use]
pub fn until_weaned(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    strength: KcalPerMl,
) -> Option<UntilWeaned> {
    let mut ml = [0.0; 3];
    let mut pups = 0;
    for (pup, need) in assessment.pups.iter().zip(needs) {
        let Ok(need) = need else { continue };
        let share = match need.why {
            // Easing in is over in three days.
            Why::Whole => 1.0,
            Why::TopUp => need.by_hand / need.day,
        };
        pups += 1;
        for (growth, sum) in ml.iter_mut().enumerate() {
            *sum += share * kcal_of_pup(facts, need.weight, pup.age.get(), growth) / strength.get();
        }
    }
    (pups > 0).then_some(UntilWeaned { ml, pups, source: &source::UNTIL_WEANED })
}

/// Energy from now to the last planned day; growth 0 slow, 1 usual, 2 fast.
fn kcal_of_pup(facts: &Facts, weight: Grams, age_h: f64, growth: usize) -> f64 {
    let mut weight = weight;
    let mut age_h = age_h;
    let mut kcal = 0.0;
    while age_h < PLANNED_UNTIL_H.value {
        let day = ((PLANNED_UNTIL_H.value - age_h) / 24.0).min(1.0);
        kcal += day * (energy_per_100g(facts.litter.energy, age_h).value * weight).get();
        let adult = facts.litter.expected_adult_weight;
        weight = weight + gain(adult, weight, age_h, |(low, usual, high)| [low, usual, high][growth]);
        age_h += 24.0;
    }
    kcal
}

/// What a pup gains in the day that follows: a figure picked between slow, usual and fast.
pub(crate) fn gain(adult: Option<Grams>, weight: Grams, age_h: f64, pick: impl Fn((f64, f64, f64)) -> f64) -> Grams {
    let percent = |band| weight * (pick(band) / 100.0);
    match (age_h / 24.0, adult) {
        (days, _) if days < 7.0 => percent(GAIN_WEEK_ONE.value),
        (days, Some(adult)) if days >= 28.0 => Grams::of(LATER_G_PER_KG.value * adult.get() / 1000.0),
        _ => percent(GAIN_WEEKS_TWO_TO_FOUR.value),
    }
}
