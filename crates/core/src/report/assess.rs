//! What the growth model makes of each weighing, as plain data.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::signed;
use super::clock::iso;
use crate::assess::{Step, floor_words, follow};
use crate::growth;
use crate::record::{Facts, WeightUnit};
use crate::units::Grams;

/// JSON Schema of [`AssessLine`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(AssessLine).to_value()
}

/// One weighing, judged with what was known then and nothing later.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AssessLine {
    pub folder: String,
    pub pup: String,
    pub at: String,
    pub reading_g: f64,
    #[serde(flatten)]
    pub growth: GrowthLine,
    /// Set when the reading is probably a slip; the estimate then rests on the ones before it.
    pub doubt: Option<AssessDoubt>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AssessDoubt {
    pub cause: String,
    /// What was meant, were the cause right.
    pub meant_g: Option<f64>,
    /// Else the published limits act on it at once: a loss that no slip explains.
    pub is_held_back: bool,
}

/// The model's estimate after a weighing. Proved on simulated litters only, no field data.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GrowthLine {
    /// The weight behind the readings.
    pub weight_g: f64,
    pub weight_sd_g: f64,
    pub gain_g_per_day: f64,
    pub gain_sd_g_per_day: f64,
    /// Chance that the pup is faltering.
    pub p_faltering: f64,
    pub score: f64,
    /// Warning at this score would give so many false alarms per pup and week; null while the
    /// score is silent (before 24 h and after 28 days of age).
    pub false_alarms_per_pup_week: Option<f64>,
    /// By the weights alone: the score at the stated rate of false alarms, and the published limits
    /// on loss. doing well, keep watch, needs help or ring the vet.
    pub standing: String,
    pub whole_litter_slow: bool,
    pub is_enough_data: bool,
    pub weigh_again_in_h: Option<f64>,
    /// Why it stands so.
    pub says: Vec<String>,
    /// The true weight in the hours to come.
    pub forecasts: Vec<ForecastLine>,
    /// The same in the litter's unit.
    pub shown: GrowthShown,
}

/// The estimate as it is shown to a person.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GrowthShown {
    pub weight: String,
    /// With its sign.
    pub gain_per_day: String,
    /// Standard deviation of the same.
    pub give_or_take: String,
    pub percent_per_day: f64,
    /// 24 h after the weighing: middle, and the ends of the 90 % interval.
    pub in_24_h: [String; 3],
}

/// Quantiles of the true weight some hours after the weighing.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ForecastLine {
    pub hours: f64,
    pub p05_g: f64,
    pub p25_g: f64,
    pub median_g: f64,
    pub p75_g: f64,
    pub p95_g: f64,
}

/// Every weighing of a litter up to a time, oldest first, each with what was known then.
pub fn replay(facts: &Facts, folder: &str, asked: Asked, mut each: impl FnMut(AssessLine)) {
    let known;
    let facts = match asked.until {
        Some(until) => {
            known = facts.known_at(until);
            &known
        }
        None => facts,
    };
    follow(facts, asked.until, asked.false_alarms, |_, step| {
        if !step.is_birth {
            each(line(facts, folder, &step));
        }
    });
}

/// What is asked of [`replay`] and [`latest`].
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Stated rate of false alarms per pup and week.
    pub false_alarms: f64,
    /// Later facts are left out.
    pub until: Option<Timestamp>,
}

/// The last weighing of each pup that is here, the birth weight when there is no other.
#[must_use]
pub fn latest(facts: &Facts, folder: &str, asked: Asked) -> Vec<AssessLine> {
    let facts = &asked.until.map_or_else(|| facts.clone(), |until| facts.known_at(until));
    let mut last: Vec<Option<Step<'_>>> = facts.pups.iter().map(|_| None).collect();
    follow(facts, asked.until, asked.false_alarms, |pup, step| last[pup] = Some(step));
    let is_here = |step: &Step<'_>| asked.until.is_none_or(|at| step.pup.is_here(at));
    last.iter().flatten().filter(|step| is_here(step)).map(|step| line(facts, folder, step)).collect()
}

fn line(facts: &Facts, folder: &str, step: &Step<'_>) -> AssessLine {
    let judged = &step.judged;
    let mut growth = growth_line(judged, facts.litter.weight_unit);
    let crossed = judged.crossed.into_iter().flatten();
    let limits = crossed.map(|floor| floor_words(floor, step.pup, &step.reading, judged.highest_g));
    growth.says = limits.chain(growth.says).collect();
    AssessLine {
        folder: folder.into(),
        pup: step.pup.id.0.clone(),
        at: iso(step.reading.at, &facts.litter.zone),
        reading_g: step.reading.weight.get(),
        growth,
        doubt: step.suspicion.as_ref().map(|suspicion| AssessDoubt {
            cause: suspicion.words(),
            meant_g: judged.doubt.and_then(|d| d.meant_g),
            is_held_back: !judged.counts_at_once,
        }),
    }
}

/// The estimate of one assessment, in the household's unit where it speaks.
#[must_use]
pub fn growth_line(judged: &growth::Assessment, unit: WeightUnit) -> GrowthLine {
    let forecasts = judged.forecasts().map(|f| {
        let [p05_g, p25_g, median_g, p75_g, p95_g] = f.grams_at([0.05, 0.25, 0.5, 0.75, 0.95]);
        ForecastLine { hours: f.hours, p05_g, p25_g, median_g, p75_g, p95_g }
    });
    let shown = |grams: f64| unit.print(Grams::of(grams.round()));
    let day = &forecasts[1];
    GrowthLine {
        weight_g: judged.weight_g,
        weight_sd_g: judged.weight_g * judged.weight_log_sd,
        gain_g_per_day: judged.gain_g_per_day,
        gain_sd_g_per_day: judged.gain_sd_g_per_day,
        p_faltering: judged.p_faltering,
        score: judged.score,
        false_alarms_per_pup_week: judged.false_alarm_rate,
        standing: judged.standing.words().into(),
        whole_litter_slow: judged.whole_litter_slow,
        is_enough_data: judged.enough_data,
        weigh_again_in_h: judged.weigh_again_in_hours,
        says: judged.sentences(unit),
        shown: GrowthShown {
            weight: shown(judged.weight_g),
            gain_per_day: signed(Grams::of(judged.gain_g_per_day.round()), unit),
            give_or_take: unit.print(Grams::of(judged.gain_sd_g_per_day.ceil())),
            percent_per_day: judged.gain_g_per_day / judged.weight_g * 100.0,
            in_24_h: [shown(day.median_g), shown(day.p05_g), shown(day.p95_g)],
        },
        forecasts: forecasts.into(),
    }
}
