//! The milk that each pup gets from its dam: estimated from its growth, from what was given by
//! hand and from weighed nursings, and held to what the dam can yield.
//!
//! A distribution, never one number. What it ignores: upkeep and cost are not learned from
//! litter-mates; a pup with diarrhoea breaks the balance that the growth part rests on. Nothing is
//! estimated before 48 h of age, for a pup fed wholly by hand, or once solid food has begun.

mod energetics;
mod hand_back;
mod posterior;
mod weighed;

use jiff::Timestamp;

use crate::assess::{Assessment, PupAssessment};
use crate::dam;
use crate::finding::{Finding, Level};
use crate::limits;
use crate::milk::{self, BITCH, Strength};
use crate::record::{Facts, Method, PupId, Rearing, hours_after, hours_between};
use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, Kcal, KcalPerMl, Millilitres};

pub use energetics::{Energetics, energetics, taken_at};
pub use hand_back::{HandBack, HandBackStep, hand_back};
pub use posterior::{Beliefs, Posterior, Seen, apart, posterior, within_yield};
pub use weighed::{nursed_words, unlikely};

/// Milk of a day as a share of the pup's weight, before anything is seen: mean and SD, and the most.
const BEFORE: Sourced<[f64; 3]> = Sourced::new([0.15, 0.08, 0.6], &source::INTAKE_BEFORE);
/// SD of the logarithm of the energy in the dam's milk.
const STRENGTH_LOG_SD: Sourced<f64> = Sourced::new(0.085, &source::MILK_STRENGTH_SPREAD);
/// Nursings a day in weeks 1 to 4, and the SD of the logarithm.
const NURSINGS: Sourced<([f64; 4], f64)> = Sourced::new(([12.0, 8.0, 6.0, 6.0], 0.25), &source::NURSINGS_A_DAY);
/// SD between nursings as a share; g per kg and hour lost to the air; hours of a nursing; chance
/// that a pup soils, and the share of its weight that this is; SD of a reading of the scale, g.
const WEIGHED: Sourced<[f64; 6]> = Sourced::new([0.4, 2.0, 25.0 / 60.0, 0.1, 0.01, 0.8], &source::NURSING_WEIGHED);
/// Nothing is estimated before this age.
pub const FROM_H: Sourced<f64> = Sourced::new(48.0, &source::NO_INTAKE_EARLY);
/// So many standard deviations apart, growth and weighing disagree.
const DISAGREE: Sourced<f64> = Sourced::new(2.0, &source::INTAKE_DISAGREES);
/// The top-up is enough with this chance.
pub const TOP_UP_CHANCE: Sourced<f64> = Sourced::new(0.6, &source::TOP_UP_QUANTILE);

/// Why there is no estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoEstimate {
    FirstTwoDays,
    HandFed,
    SolidFood,
    NeverWeighed,
    /// Neither a gain that can be judged nor a weighed nursing.
    NothingSeen,
}

impl NoEstimate {
    /// The reason in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::FirstTwoDays => "under 48 h old: a gain is mostly water, nothing is estimated",
            Self::HandFed => "fed wholly by hand",
            Self::SolidFood => "over 35 days old: it eats solid food",
            Self::NeverWeighed => "weigh it first",
            Self::NothingSeen => "too few weighings to judge the gain, and no weighed nursing in 24 h",
        }
    }
}

/// What one pup gets from its dam.
#[derive(Debug, Clone)]
pub struct Intake {
    pub pup: PupId,
    pub weight: Grams,
    pub milk: Posterior,
    /// Energy given by hand in the last 24 h.
    pub by_hand: Kcal,
    /// The most of any of the last days, each 24 h.
    pub most_by_hand: Kcal,
    pub weighed_nursings: usize,
    /// Gain and its SD that went in, g a day.
    pub gain: Option<(f64, f64)>,
    /// Means by growth alone and by weighing alone, g a day, where they disagree.
    pub disagree: Option<[f64; 2]>,
    /// Mean and SD before the litter was held to the dam's yield, g a day.
    pub unheld: (f64, f64),
    believed: Beliefs,
    seen: Seen,
}

impl Intake {
    /// So many nursings were weighed that the dam's milk counts as measured.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        self.weighed_nursings >= limits::WEIGHED_NURSINGS.value
    }

    /// Energy by hand that makes up a day's need with the stated chance, kcal: the need less a low
    /// quantile of what comes from the dam now. No amount to give: it knows neither the stomach nor
    /// the caps, and the need must be that of the gain that is wanted. In week 1 the step table lies
    /// below it ([`taken_at`]), and would cut the top-up of a pup that gains on it.
    #[must_use]
    pub fn top_up_for(&self, day: Kcal) -> Kcal {
        (day - Kcal::of(self.milk.quantile_kcal(1.0 - TOP_UP_CHANCE.value))).max(Kcal::of(0.0))
    }

    /// The SD after four and eight more weighed nursings, were each as large as is expected, g a day.
    #[must_use]
    pub fn surer(&self) -> [(usize, f64); 2] {
        let usual = (self.milk.mean_g() / self.believed.nursings.0 - self.believed.evaporated_g).max(0.0);
        [4, 8].map(|more| {
            let mut seen = self.seen.clone();
            seen.nursed_g.extend(std::iter::repeat_n(usual, more));
            (more, posterior(&self.believed, &seen).sd_g())
        })
    }

    /// What was believed before anything was seen.
    #[must_use]
    pub fn believed(&self) -> &Beliefs {
        &self.believed
    }
}

/// What is believed of a pup's milk by its weight, age and the scale, before anything is seen.
///
/// Units: kg, days, g.
#[must_use]
pub fn beliefs(weight_kg: f64, age_days: f64, scale_step_g: f64) -> Beliefs {
    let [mean, sd, most] = BEFORE.value.map(|share| share * weight_kg * 1000.0);
    let [spread, air, hours, chance, soil, reading_sd] = WEIGHED.value;
    let body = energetics(age_days);
    let (by_week, log_sd) = NURSINGS.value;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "weeks 0 to 3")]
    let week = ((age_days / 7.0).max(0.0) as usize).min(3);
    Beliefs {
        milk: (mean, sd),
        most_g: most,
        upkeep: body.upkeep,
        cost: body.cost,
        strength: (BITCH.value.kcal_per_100g() / 100.0, STRENGTH_LOG_SD.value),
        nursings: (by_week[week], log_sd),
        spread,
        evaporated_g: air * weight_kg * hours,
        soiled: (chance, soil * weight_kg * 1000.0),
        difference_sd_g: (2.0 * (reading_sd.powi(2) + scale_step_g.powi(2) / 12.0)).sqrt(),
    }
}

/// The estimate of each pup, in the order of the assessment. `in_use` is the milk given by hand.
#[must_use]
pub fn of_litter(
    facts: &Facts,
    assessment: &Assessment,
    in_use: Option<&Strength>,
    now: Timestamp,
) -> Vec<Result<Intake, NoEstimate>> {
    let mut all: Vec<_> = assessment.pups.iter().map(|pup| of_pup(facts, assessment, pup, in_use, now)).collect();
    hold_to_yield(facts, assessment, &mut all, now);
    all
}

/// Notes on the pups whose growth and weighed nursings do not go together. A note changes no standing:
/// a model alone neither alarms nor takes a top-up away.
#[must_use]
pub fn notes(intakes: &[Result<Intake, NoEstimate>]) -> Vec<Option<Finding>> {
    intakes.iter().map(|intake| note(intake.as_ref().ok()?)).collect()
}

fn note(intake: &Intake) -> Option<Finding> {
    let [growth, weighed] = intake.disagree?.map(|g| in_ml(g).to_string());
    Some(
        Finding::of_pup(&intake.pup, "milk-disagrees", Level::Note, DISAGREE.source)
            .says(format!(
                "by its growth it gets about {growth} of milk a day from the dam, by the weighed nursings about {weighed}"
            ))
            .action(
                "Look at stool, gums and belly; weigh before and after again on the same scale; \
                 was every feed by hand written down?",
            ),
    )
}

/// The volume of so many grams of bitch's milk.
#[must_use]
pub fn in_ml(grams: f64) -> Millilitres {
    Millilitres::of((grams / BITCH.value.density()).round())
}

/// The pups' milk together is what the dam yields; only where every nursing pup has an estimate.
fn hold_to_yield(facts: &Facts, assessment: &Assessment, all: &mut [Result<Intake, NoEstimate>], now: Timestamp) {
    let (Some(weight), Some(born)) = (facts.dam.weight, facts.litter.whelped_at) else { return };
    let is_whole = all.iter().all(|pup| matches!(pup, Ok(_) | Err(NoEstimate::HandFed)));
    let nursing = all.iter().filter(|pup| pup.is_ok()).count();
    if !is_whole || nursing == 0 || !assessment.dam_feeds.is_feeding {
        return;
    }
    let expected = dam::expected_yield(weight, nursing, hours_between(born, now).get() / 24.0);
    let before: Vec<Posterior> = all.iter().flatten().map(|i| i.milk.clone()).collect();
    let held = within_yield(&before, (expected.mean_g, expected.sd_g));
    for (intake, milk) in all.iter_mut().flatten().zip(held) {
        intake.milk = milk;
    }
}

fn of_pup(
    facts: &Facts,
    assessment: &Assessment,
    pup: &PupAssessment,
    in_use: Option<&Strength>,
    now: Timestamp,
) -> Result<Intake, NoEstimate> {
    let age_h = pup.age.get();
    if !assessment.dam_feeds.is_feeding || pup.pup.rearing == Rearing::HandFed {
        return Err(NoEstimate::HandFed);
    }
    if age_h < FROM_H.value {
        return Err(NoEstimate::FirstTwoDays);
    }
    if age_h >= limits::PLANNED_UNTIL_H.value {
        return Err(NoEstimate::SolidFood);
    }
    let latest = pup.latest().ok_or(NoEstimate::NeverWeighed)?;
    let gain = pup
        .growth
        .as_ref()
        .filter(|g| g.enough_data && g.hours_from_birth >= FROM_H.value)
        .map(|g| (g.gain_g_per_day, g.gain_sd_g_per_day));
    let nursed = |is_soiled: bool| -> Vec<f64> {
        let weighed = facts.feeds.iter().filter(|f| {
            f.pup == pup.pup.id && f.method == Method::Nursing && !f.maybe_the_same && f.is_soiled == is_soiled
        });
        let lately = weighed.filter(|f| hours_between(f.at, now).get() <= 24.0);
        lately.filter_map(|f| f.nursed.map(Grams::get)).collect()
    };
    let (nursed_g, floors_g) = (nursed(false), nursed(true));
    if gain.is_none() && nursed_g.is_empty() {
        return Err(NoEstimate::NothingSeen);
    }
    let weight_kg = latest.weight.get() / 1000.0;
    let believed = beliefs(weight_kg, age_h / 24.0, facts.litter.scale_step.get());
    let by_day: [Kcal; REMEMBERED_DAYS] =
        std::array::from_fn(|day| by_hand(facts, &pup.pup.id, in_use, hours_after(now, -24.0 * days(day))));
    let by_hand = by_day[0];
    let seen = Seen { weight_kg, gain, by_hand_kcal: by_hand.get(), nursed_g, floors_g };
    let milk = posterior(&believed, &seen);
    Ok(Intake {
        pup: pup.pup.id.clone(),
        weight: latest.weight,
        by_hand,
        most_by_hand: by_day.into_iter().fold(by_hand, Kcal::max),
        weighed_nursings: seen.nursed_g.len(),
        gain,
        disagree: disagree(&believed, &seen),
        unheld: (milk.mean_g(), milk.sd_g()),
        milk,
        believed,
        seen,
    })
}

/// As long as handing back takes, and a day.
const REMEMBERED_DAYS: usize = 5;

#[expect(clippy::cast_precision_loss, reason = "at most five days")]
fn days(count: usize) -> f64 {
    count as f64
}

/// Energy given by hand in the 24 h up to a time; one feed that was written twice counts once.
fn by_hand(facts: &Facts, pup: &PupId, in_use: Option<&Strength>, now: Timestamp) -> Kcal {
    let usual = in_use.map_or(KcalPerMl::of(BITCH.value.kcal_per_ml()), |s| s.kcal_per_ml);
    facts
        .hand_feeds(pup)
        .filter(|f| !f.maybe_the_same && (0.0..24.0).contains(&hours_between(f.at, now).get()))
        .filter_map(|f| {
            let own = f.milk.as_ref().and_then(|id| facts.milks.iter().find(|m| &m.id == id));
            Some(own.and_then(milk::strength).map_or(usual, |s| s.kcal_per_ml) * f.at_most()?)
        })
        .sum()
}

fn disagree(believed: &Beliefs, seen: &Seen) -> Option<[f64; 2]> {
    if seen.gain.is_none() || seen.nursed_g.len() < 2 {
        return None;
    }
    let alone = apart(believed, seen);
    let [growth, weighed] = [alone[0].mean_g(), alone[1].mean_g()];
    let sd = alone[0].sd_g().hypot(alone[1].sd_g());
    ((growth - weighed).abs() > DISAGREE.value * sd).then_some([growth, weighed])
}

/// The row of the estimate as a whole.
pub const ESTIMATE: &Source = &source::ENERGETICS;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_intakes_lie_in_what_is_believed() {
        // Oftedal 1984: 17.0 % of 941 g at day 19, 14.6 % of 1199 g at day 26; earlier work 10 to 14 %.
        // Before anything is seen each lies well inside the middle nine tenths.
        for (kg, days, share) in [(0.941, 19.0, 0.170), (1.199, 26.0, 0.146), (0.3, 5.0, 0.10), (0.4, 8.0, 0.14)] {
            let before = posterior(&beliefs(kg, days, 1.0), &Seen { weight_kg: kg, ..Seen::default() });
            let chance = before.chance_at_most(share * kg * 1000.0);
            assert!((0.2..0.8).contains(&chance), "{share} of {kg} kg: {chance}");
        }
        // With the gain that went with it, the measured milk lies inside the middle half or near it.
        for (kg, days, milk) in [(0.941, 19.0, 160.0), (1.199, 26.0, 175.0)] {
            let seen = Seen { weight_kg: kg, gain: Some((36.8, 4.0)), ..Seen::default() };
            let after = posterior(&beliefs(kg, days, 1.0), &seen);
            assert!((0.15..0.85).contains(&after.chance_at_most(milk)), "{}", after.chance_at_most(milk));
        }
    }

    #[test]
    fn nursings_by_week() {
        // Feeding handbook section 10: 12, 8, 6 sucklings a day in weeks 1, 2 and 3 to 4.
        for (days, expected) in [(3.0, 12.0), (7.0, 8.0), (14.0, 6.0), (27.0, 6.0)] {
            assert_eq!(beliefs(0.5, days, 1.0).nursings.0, expected);
        }
    }

    #[test]
    fn a_coarse_scale_says_less() {
        let sd = |step: f64| {
            let seen = Seen { weight_kg: 0.3, nursed_g: vec![4.0; 6], ..Seen::default() };
            posterior(&beliefs(0.3, 4.0, step), &seen).sd_g()
        };
        assert!(sd(0.1) < sd(1.0) && sd(1.0) < sd(5.0), "{} {} {}", sd(0.1), sd(1.0), sd(5.0));
    }

    #[test]
    fn growth_and_weighing_that_disagree_are_spoken_of() {
        let seen = |nursed: f64| Seen {
            weight_kg: 0.4,
            gain: Some((30.0, 3.0)),
            nursed_g: vec![nursed; 8],
            ..Seen::default()
        };
        let believed = beliefs(0.4, 8.0, 1.0);
        assert_eq!(disagree(&believed, &seen(9.0)), None);
        let [growth, weighed] = disagree(&believed, &seen(0.5)).expect("a pup that grows on nothing");
        assert!(growth > 3.0 * weighed, "{growth} {weighed}");
    }
}
