//! The dam as plain data: the energy she needs, the milk she is expected to give against what the
//! litter seems to get, each pup's share, and turns at the teat.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::{cite, finding_line};
use super::clock::iso;
use super::{Cite, FindingLine, Line, SCHEMA_VERSION, Said};
use crate::assess::PupAssessment;
use crate::dam::{self, dam_energy, expected_yield};
use crate::intake::{self, Intake, NoEstimate, in_ml};
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, hours_after, hours_between};
use crate::top_up;
use crate::units::{Grams, Kcal, number};

/// JSON Schema of [`DamReport`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(DamReport).to_value()
}

/// What a pup gets from its dam, or why that is not estimated.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct FromDam {
    pub estimate: Option<Milk>,
    pub not_estimated_because: Option<String>,
}

/// Milk of a day as a distribution: middle and the ends of the 90 % interval.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Milk {
    pub ml_per_day: f64,
    pub low_ml_per_day: f64,
    pub high_ml_per_day: f64,
    pub kcal_per_day: f64,
    pub low_kcal_per_day: f64,
    pub high_kcal_per_day: f64,
    /// Half of the interval as a share of the middle.
    pub sure_to_percent: f64,
    pub weighed_nursings_in_24_h: usize,
    /// Energy given by hand in the last 24 h, which the estimate rests on.
    pub by_hand_kcal_in_24_h: f64,
    /// The same in one sentence.
    pub shown: String,
    /// What would make it surer.
    pub surer: String,
    pub source: Cite,
}

/// Handing a pup back to its dam. Shares only: an amount leaves through a feed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HandBackLine {
    pub steps: Vec<HandBackStepLine>,
    pub success: String,
    pub stop: String,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HandBackStepLine {
    pub from: String,
    /// Share of the top-up from which the steps go down; 0 is none by hand.
    pub share_percent: f64,
    pub weigh_at: Vec<String>,
}

/// The dam and what she gives.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DamReport {
    pub schema_version: u32,
    pub program_version: String,
    pub litter: String,
    pub at: String,
    pub time_zone: String,
    /// Set when the litter is invented.
    pub example_note: Option<String>,
    pub dam: Option<String>,
    /// Whether she feeds the litter, in one sentence.
    pub feeds: String,
    pub weight_g: Option<f64>,
    pub pups_nursing: usize,
    pub litter_age_days: Option<f64>,
    /// Findings about her and the whole litter.
    pub findings: Vec<FindingLine>,
    /// Energy and milk by week; empty while her weight or the day of the birth is not known.
    pub weeks: Vec<WeekLine>,
    /// What must be said of the figures.
    pub notes: Vec<Said>,
    /// Expected against seeming milk; null while either is not known.
    pub milk: Option<LitterMilk>,
    pub pups: Vec<PupMilk>,
    /// Teats that give milk, as somebody counted them.
    pub working_teats: Option<u32>,
    /// Turns at the teat; null where every pup has a teat of its own, or the teats were not counted.
    pub turns: Option<super::teats::TurnsLine>,
    /// Facts that would help and are not there.
    pub missing: Vec<String>,
}

/// One week of nursing, for this dam and so many pups.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WeekLine {
    pub week: u32,
    pub is_this_week: bool,
    /// Energy that she needs in a day.
    pub energy_kcal_per_day: f64,
    /// Milk of a day: what is expected, and the range of nine dams in ten.
    pub milk_ml_per_day: f64,
    pub low_ml_per_day: f64,
    pub high_ml_per_day: f64,
}

/// The milk of the whole litter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LitterMilk {
    pub expected_ml_per_day: f64,
    pub expected_low_ml_per_day: f64,
    pub expected_high_ml_per_day: f64,
    pub seeming_ml_per_day: f64,
    pub seeming_low_ml_per_day: f64,
    pub seeming_high_ml_per_day: f64,
    /// below, within or above the expected range.
    pub against: String,
    pub says: String,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PupMilk {
    pub pup: String,
    pub from_dam: FromDam,
    /// How sure it would be after more weighed nursings; empty where there is no estimate.
    pub after_weighing: Vec<AfterWeighing>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AfterWeighing {
    pub more_nursings: usize,
    pub sure_to_percent: f64,
}

/// Standard deviations from the middle to an end of a 90 % interval of a normal.
const NINETY: f64 = 1.645;

/// The estimate of one pup.
#[must_use]
pub(super) fn from_dam(intake: &Result<Intake, NoEstimate>) -> FromDam {
    match intake {
        Ok(intake) => FromDam { estimate: Some(milk(intake)), not_estimated_because: None },
        Err(why) => FromDam { estimate: None, not_estimated_because: Some(why.words().into()) },
    }
}

/// The plan that is under way, or the one step of a top-up that has just ended.
pub(super) fn handed_back(
    pup: &PupAssessment,
    need: &Result<Need, NoneNeeded>,
    intake: &Result<Intake, NoEstimate>,
    now: Timestamp,
    zone: &TimeZone,
) -> Option<HandBackLine> {
    let plan = match need {
        Ok(need) => need.hand_back.clone()?,
        Err(NoneNeeded::WellAndGaining | NoneNeeded::WithTheDam | NoneNeeded::DamIsEnough) => {
            top_up::stopped(pup, intake.as_ref().ok()?)?
        }
        Err(_) => return None,
    };
    let at = |hours: f64| iso(hours_after(now, hours), zone);
    let steps = plan.steps.iter().map(|step| HandBackStepLine {
        from: at(step.from_h),
        share_percent: step.share * 100.0,
        weigh_at: step.weigh_at_h.iter().map(|h| at(*h)).collect(),
    });
    Some(HandBackLine { steps: steps.collect(), success: plan.success, stop: plan.stop, source: cite(plan.source) })
}

fn milk(intake: &Intake) -> Milk {
    let quantile = |p: f64| in_ml(intake.milk.quantile_g(p));
    let (middle, low, high) = (quantile(0.5), quantile(0.05), quantile(0.95));
    let kcal = |p: f64| intake.milk.quantile_kcal(p).round();
    let weighed = match intake.weighed_nursings {
        0 => "no weighed nursing in 24 h".to_owned(),
        1 => "one weighed nursing in 24 h".to_owned(),
        n => format!("{n} weighed nursings in 24 h"),
    };
    Milk {
        ml_per_day: middle.get(),
        low_ml_per_day: low.get(),
        high_ml_per_day: high.get(),
        kcal_per_day: kcal(0.5),
        low_kcal_per_day: kcal(0.05),
        high_kcal_per_day: kcal(0.95),
        sure_to_percent: percent_of(NINETY * intake.milk.sd_g(), intake.milk.mean_g()),
        weighed_nursings_in_24_h: intake.weighed_nursings,
        by_hand_kcal_in_24_h: intake.by_hand.get().round(),
        shown: format!(
            "about {middle} of milk a day from the dam ({} to {high}), {}; {weighed}",
            number(low.get(), 0, false),
            Kcal::of(kcal(0.5))
        ),
        surer: if intake.is_measured() {
            "To be surer: weigh four more nursings before and after.".into()
        } else {
            "To be surer: weigh four nursings before and after today.".into()
        },
        source: cite(intake::ESTIMATE),
    }
}

fn percent_of(part: f64, whole: f64) -> f64 {
    (100.0 * part / whole.max(1e-9)).round()
}

/// The dam, from the facts known at `now`.
#[must_use]
pub fn dam(facts: &Facts, now: Timestamp) -> DamReport {
    let line = Line::run(facts, now);
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let age_days = facts.litter.whelped_at.map(|born| hours_between(born, now).get() / 24.0).filter(|d| *d >= 0.0);
    let nursing = nursing(&line);
    let mut missing = Vec::new();
    if facts.dam.weight.is_none() {
        missing.push("the dam's weight: without it neither her need nor her milk can be reckoned".to_owned());
    }
    if facts.dam.working_teats.is_none() && nursing > 0 {
        missing.push("how many of her teats give milk (working_teats): count them".to_owned());
    }
    let mut notes = Vec::new();
    let weeks = match (facts.dam.weight, age_days) {
        (Some(weight), Some(days)) if nursing > 0 => weeks(weight, nursing, days, &mut notes),
        _ => Vec::new(),
    };
    DamReport {
        schema_version: SCHEMA_VERSION,
        program_version: env!("CARGO_PKG_VERSION").into(),
        litter: facts.litter.name.clone(),
        at: iso(now, zone),
        time_zone: zone.iana_name().unwrap_or("UTC").into(),
        example_note: facts.litter.example.as_ref().map(|e| e.note.clone()),
        dam: facts.dam.name.clone(),
        feeds: line.assessment.dam_feeds.why.into(),
        weight_g: facts.dam.weight.map(Grams::get),
        pups_nursing: nursing,
        litter_age_days: age_days,
        findings: findings(&line, zone),
        milk: facts.dam.weight.zip(age_days).and_then(|(weight, days)| litter_milk(&line, weight, nursing, days)),
        weeks,
        notes,
        working_teats: facts.dam.working_teats,
        turns: age_days.and_then(|days| super::teats::turns_line(facts, &line, days, now)),
        pups: line.assessment.pups.iter().zip(&line.intakes).map(|(pup, i)| pup_milk(&pup.pup.id.0, i)).collect(),
        missing,
    }
}

/// Pups that get milk from her.
fn nursing(line: &Line) -> usize {
    line.intakes.iter().filter(|i| is_nursing(i)).count()
}

pub(super) fn is_nursing(intake: &Result<Intake, NoEstimate>) -> bool {
    !matches!(intake, Err(NoEstimate::HandFed | NoEstimate::SolidFood))
}

fn findings(line: &Line, zone: &TimeZone) -> Vec<FindingLine> {
    let of_her = |code: &str| code.starts_with("dam") || code.starts_with("litter");
    line.assessment.litter_findings.iter().filter(|f| of_her(f.code)).map(|f| finding_line(f, zone)).collect()
}

fn weeks(weight: Grams, pups: usize, age_days: f64, notes: &mut Vec<Said>) -> Vec<WeekLine> {
    let now = dam_energy(weight, pups, age_days);
    let said = |text: &str, source| Said { text: text.into(), source: cite(source) };
    if now.is_at_least {
        notes.push(said(
            "More than eight pups nurse; the published equation ends there, so she needs more than it says.",
            now.source,
        ));
    }
    if now.is_past_published {
        notes.push(said("After week 4 nothing is published; she needs less as the pups eat.", now.source));
    }
    notes.push(said("Her energy is metabolisable, in a day, for this litter.", now.source));
    let milk = expected_yield(weight, pups, age_days);
    notes.push(said("The milk is reckoned from a published formula of her weight and the litter's size.", milk.source));
    notes.push(said(
        "That formula was right for one breed that was measured and far too high for another: about three quarters of \
         it is expected, in a wide range.",
        milk.spread_source,
    ));
    (1..=4)
        .map(|week| {
            let day = f64::from(week) * 7.0 - 3.5;
            let milk = expected_yield(weight, pups, day);
            WeekLine {
                week,
                is_this_week: dam::week(age_days) + 1 == week as usize && !now.is_past_published,
                energy_kcal_per_day: dam_energy(weight, pups, day).day.get().round(),
                milk_ml_per_day: in_ml(milk.mean_g).get(),
                low_ml_per_day: in_ml(milk.low_g).get(),
                high_ml_per_day: in_ml(milk.high_g).get(),
            }
        })
        .collect()
}

/// Only where every nursing pup has an estimate. The pups are taken as independent of each other.
fn litter_milk(line: &Line, weight: Grams, nursing: usize, age_days: f64) -> Option<LitterMilk> {
    let known: Vec<&Intake> = line.intakes.iter().flatten().collect();
    if nursing == 0 || known.len() < nursing {
        return None;
    }
    let expected = expected_yield(weight, nursing, age_days);
    // What the growth and the weighings say by themselves, before they were held to the yield.
    let mean: f64 = known.iter().map(|i| i.unheld.0).sum();
    let half = NINETY * known.iter().map(|i| i.unheld.1.powi(2)).sum::<f64>().sqrt();
    let (low, high) = ((mean - half).max(0.0), mean + half);
    let against = match mean {
        m if m < expected.low_g => "below",
        m if m > expected.high_g => "above",
        _ => "within",
    };
    let range = |low: f64, high: f64| format!("{} to {}", number(in_ml(low).get(), 0, false), in_ml(high));
    let mut says = format!(
        "the litter seems to get about {} a day ({}); of such a dam {} are expected: {against} the range",
        in_ml(mean),
        range(low, high),
        range(expected.low_g, expected.high_g)
    );
    if against == "below" {
        says.push_str(". Look at her glands, appetite and temperature; ask the vet; which pups need a top-up?");
    }
    Some(LitterMilk {
        expected_ml_per_day: in_ml(expected.mean_g).get(),
        expected_low_ml_per_day: in_ml(expected.low_g).get(),
        expected_high_ml_per_day: in_ml(expected.high_g).get(),
        seeming_ml_per_day: in_ml(mean).get(),
        seeming_low_ml_per_day: in_ml(low).get(),
        seeming_high_ml_per_day: in_ml(high).get(),
        against: against.into(),
        says,
        source: cite(expected.spread_source),
    })
}

fn pup_milk(pup: &str, intake: &Result<Intake, NoEstimate>) -> PupMilk {
    let after = |intake: &Intake| {
        // More that is weighed never makes it less sure than the litter's yield already does.
        let (mean, now) = (intake.milk.mean_g(), intake.milk.sd_g());
        intake.surer().map(|(more_nursings, sd)| AfterWeighing {
            more_nursings,
            sure_to_percent: percent_of(NINETY * sd.min(now), mean),
        })
    };
    PupMilk {
        pup: pup.into(),
        from_dam: from_dam(intake),
        after_weighing: intake.as_ref().map(|i| after(i).to_vec()).unwrap_or_default(),
    }
}
