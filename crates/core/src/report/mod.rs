//! Step 7, *report*: everything as plain data, with units in the names.
//!
//! No layout and no HTML. Amounts enter only through [`Feed::from_checked`], so no report
//! can hold one that has not passed the limits.

mod ahead;
pub mod assess;
mod board;
pub mod box_temperature;
mod build;
pub mod calendar;
pub mod clock;
pub mod dam;
mod equipment;
pub mod milk;
mod red_flags;
pub mod stages;
pub mod supplies;
pub mod teats;
mod texts;
pub mod timetable;

use schemars::JsonSchema;
use serde::Serialize;

pub use ahead::{AHEAD_H, Ahead, BandFrom, LimitsFrom, Overdue, PupAhead, ahead};
pub use board::{BoardLine, board};
pub use build::{Line, cite, no_milk, today};
pub use clock::clock;
pub use equipment::{Equipment, TubeLine, equipment};
pub use red_flags::{FirstSteps, RedFlags, red_flags};

/// Version of this shape; it grows, and changes its number when a name changes its meaning.
pub const SCHEMA_VERSION: u32 = 1;

/// JSON Schema of [`Today`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Today).to_value()
}

/// What to do now, for which pup, and why.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Today {
    pub schema_version: u32,
    pub program_version: String,
    pub litter: String,
    /// The time that this answers for, with the litter's offset.
    pub at: String,
    pub time_zone: String,
    /// Set when the litter is invented.
    pub example_note: Option<String>,
    /// How the answer is to be taken.
    pub caution: String,
    pub litter_age_days: Option<u32>,
    pub pups_born: usize,
    pub pups_stillborn: usize,
    pub pups_here: usize,
    /// The dam's part in one sentence.
    pub dam: String,
    pub vets: Vec<VetLine>,
    pub do_now: Vec<Action>,
    /// What to do when a vet does not answer; set whenever something is to be done.
    pub if_no_answer: Option<Said>,
    pub pups: Vec<PupLine>,
    pub batch: Option<BatchLine>,
    /// What must be said of the milk in use.
    pub milk_notes: Vec<Said>,
    /// Why no amount is planned at all, if so.
    pub no_amounts_because: Option<String>,
    pub rounds: Vec<RoundLine>,
    pub weigh_next: Vec<WeighLine>,
    /// Worming, vaccination, chip and the like that are due or late; never urgent.
    pub dates: Vec<stages::DateLine>,
    pub shortfalls: Vec<ShortfallLine>,
    /// Set when the carers' hours allow no timetable.
    pub timetable_trouble: Option<TroubleLine>,
    pub doubts: Vec<DoubtLine>,
    pub missing: Vec<String>,
    pub clock_change: Option<String>,
    /// How to feed, shown whenever something is to be fed.
    pub how_to_feed: Vec<Said>,
    /// Recorded feeds of the last 24 h above the published stomach volume.
    pub large_feeds: Vec<PupSentence>,
}

/// Where something comes from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Cite {
    pub key: String,
    /// As it is shown, with its status where it is not published.
    pub source: String,
    /// published, reported second-hand, common practice or assumption.
    pub status: String,
}

/// A sentence with its source.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Said {
    pub text: String,
    pub source: Cite,
}

/// What a pup gets less than it needs, or what must be said of its plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShortfallLine {
    pub pup: String,
    /// feeds, water, eased in, limits, setback, rounding or dam.
    pub kind: String,
    pub text: String,
    /// Energy missing from the plan of the next 24 h.
    pub missing_kcal: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PupSentence {
    pub pup: String,
    pub text: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct VetLine {
    pub name: String,
    pub phone: String,
    pub hours: Option<String>,
}

/// One thing to do, most urgent first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Action {
    /// vet now, vet today, needs help, keep watch, feed now, withheld or weigh now.
    pub kind: String,
    /// Whom it is about: the pups, the dam, the box or the birth.
    pub about: String,
    /// Empty when it is about the dam, the box or the birth.
    pub pups: Vec<String>,
    pub code: String,
    /// What was noticed, with its numbers.
    pub because: String,
    pub what_to_do: String,
    pub since: Option<String>,
    pub source: Option<Cite>,
    pub feeds: Vec<Feed>,
}

/// An amount for one pup at one time, within every limit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Feed {
    pub pup: String,
    pub at: String,
    pub amount_ml: f64,
    /// The stomach limit at that age and weight.
    pub at_most_ml: f64,
    /// bottle or tube.
    pub method: String,
    /// Carers whom a vet taught, when the method is tube.
    pub tube_carers: Vec<String>,
    /// What must be true before it is given; empty when nothing is open.
    pub only_after: Vec<String>,
    pub weight_g: f64,
    pub weighed_at: String,
    /// The vet whose order this follows.
    pub ordered_by: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Withheld {
    pub pup: String,
    pub because: String,
}

/// A carer's part in a round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ShiftLine {
    pub carer: String,
    /// Pups that this carer feeds by bottle, and by tube.
    pub bottles: u32,
    pub tubes: u32,
    /// The round breaks this carer's protected sleep.
    pub is_woken: bool,
}

/// Why the carers' hours allow no timetable that keeps every gap.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TroubleLine {
    pub because: Vec<String>,
    /// Each alone makes a timetable possible.
    pub what_would_help: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RoundLine {
    pub at: String,
    /// When it is over; null when nobody's hours are written down.
    pub until: Option<String>,
    /// Who does it; empty when nobody's hours are written down.
    pub carers: Vec<ShiftLine>,
    pub feeds: Vec<Feed>,
    pub withheld: Vec<Withheld>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WeighLine {
    pub pup: String,
    pub at: String,
}

/// One pup's state.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PupLine {
    pub pup: String,
    pub sex: String,
    pub marks: String,
    pub age_h: f64,
    /// doing well, keep watch, needs help or ring the vet.
    pub standing: String,
    pub weight_g: Option<f64>,
    /// The weight in the litter's unit.
    pub weight: Option<String>,
    pub weighed_at: Option<String>,
    pub birth_weight_g: Option<f64>,
    /// normal, low, very low, no published threshold or not weighed.
    pub birth_band: String,
    pub change_from_birth_percent: Option<f64>,
    pub gain: Option<GainLine>,
    /// What the growth model makes of the latest weighing that counts.
    pub growth: Option<assess::GrowthLine>,
    /// warm, not known, cool, cold or hot.
    pub warmth: String,
    pub next_feed: Option<Feed>,
    /// Why there is no next feed.
    pub no_feed_because: Option<String>,
    pub findings: Vec<FindingLine>,
    pub need: Option<NeedLine>,
    /// The milk that it gets from its dam.
    pub from_dam: dam::FromDam,
    /// The steps back to the dam, where the top-up is on its way down or has just ended.
    pub hand_back: Option<dam::HandBackLine>,
}

/// The plain difference of two weighings, on which the published rules rest.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GainLine {
    /// Per day, in the litter's unit, with its sign.
    pub shown: String,
    pub g_per_day: f64,
    pub percent_per_day: f64,
    pub change_g: f64,
    pub hours: f64,
    pub is_mixed_pair: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FindingLine {
    pub code: String,
    /// note, keep watch, needs help, vet today or vet now.
    pub level: String,
    pub because: String,
    pub what_to_do: String,
    pub since: Option<String>,
    pub source: Cite,
}

/// The need of a day with its working.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NeedLine {
    /// whole or top-up.
    pub by_hand: String,
    pub energy_kcal_per_100g_day: f64,
    pub day_kcal: f64,
    pub by_hand_kcal: f64,
    pub by_hand_ml: f64,
    pub fewest_feeds_per_day: u32,
    pub feeds_per_day: u32,
    pub water_ml_per_kg_day: Option<f64>,
    pub is_eased_in: bool,
    pub working: Vec<TermLine>,
    pub other_published_energy: Vec<OtherEnergy>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TermLine {
    pub what: String,
    pub value: String,
    pub source: Option<Cite>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OtherEnergy {
    pub name: String,
    pub kcal_per_100g_day: f64,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BatchLine {
    pub milk: String,
    pub for_round_at: String,
    pub fed_ml: f64,
    pub stays_in_the_kit_ml: f64,
    /// For the pups and the kit.
    pub wanted_ml: f64,
    /// What is made or poured.
    pub volume_ml: f64,
    /// Really obtained with these amounts.
    pub strength_kcal_per_ml: f64,
    /// What the amounts are planned with.
    pub label_strength_kcal_per_ml: f64,
    pub powder: Option<PowderLine>,
    pub mixing_temperature_c: f64,
    /// Mixed hotter than a pup may be fed: cool it first.
    pub must_cool: bool,
    pub feed_at_c: [f64; 2],
    pub throw_away_leftovers_at: String,
    pub throw_away_refrigerated_at: String,
    pub sources: Vec<Cite>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PowderLine {
    pub powder_g: f64,
    pub water_ml: f64,
    pub hot_water_ml: f64,
    pub cold_water_ml: f64,
    pub hot_water_c: f64,
    pub cold_water_c: f64,
    pub scoops: Option<f64>,
    /// The smallest batch that can be weighed well on this scale; a part is used.
    pub is_more_than_wanted: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DoubtLine {
    pub pup: String,
    pub at: String,
    pub reading_g: f64,
    pub reading: String,
    pub suspicion: String,
    pub meant_g: Option<f64>,
    pub is_held_back: bool,
    pub is_settled: bool,
}
