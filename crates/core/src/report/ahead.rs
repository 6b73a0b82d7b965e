//! What an open page needs to go on for twelve hours while the program cannot be reached: the
//! plan, the limits and the gates, as data.
//!
//! Who reads it compares, refuses, records and makes smaller. An amount that is not in it is not
//! known: nothing here lets anyone work out a new one. The rules of today's report hold; where a
//! limit changes with age, each value stands with the time from which it counts.

use jiff::Timestamp;
use serde::Serialize;

use super::build::round_line;
use super::clock::iso;
use super::{Line, RoundLine};
use crate::assess::{PupAssessment, SignLine, sign_lines};
use crate::growth::floors::LOSS_TEN;
use crate::guide::LATE_H;
use crate::limits;
use crate::record::{Facts, hours_after, hours_between};
use crate::units::Grams;

/// The span of the plan (our own, usability O-5).
pub const AHEAD_H: f64 = 12.0;
/// A limit that changes with age is looked at so often within the span.
const STEP_H: f64 = 0.25;

/// A weight outside `last × [1 − 0.05 − 0.05 d, 1 + 0.05 + 0.12 d]` is asked about, `d` being the
/// days since, at most 3, and never less than 5 g to either side (our own, usability S-5). Coarser
/// than the growth model, which looks again when the entry arrives.
const BAND: (f64, f64, f64) = (0.05, 0.05, 0.12);
const BAND_DAYS: f64 = 3.0;
const BAND_LEAST_G: f64 = 5.0;

/// Twelve hours of a litter.
#[derive(Debug, Clone, Serialize)]
pub struct Ahead {
    pub at: String,
    pub until: String,
    /// The milk in use, which feeds are written down with.
    pub milk: Option<String>,
    pub rounds: Vec<RoundLine>,
    /// Feeds that were due before now.
    pub overdue: Vec<Overdue>,
    /// A feed that nobody acknowledged is late after this time.
    pub late_after_h: f64,
    pub pups: Vec<PupAhead>,
    /// What a recorded word means, and what it forbids.
    pub signs: Vec<SignLine>,
    /// What is given within this time counts as one feed.
    pub one_feed_h: f64,
    /// Rectal temperatures below these: vet now, and do not wait.
    pub vet_now_below_c: [f64; 2],
    /// Marks of a syringe: below the first amount the first step, from it on the second.
    pub marks_ml: [f64; 3],
}

#[derive(Debug, Clone, Serialize)]
pub struct Overdue {
    pub pup: String,
    pub since: String,
}

/// One pup that is here.
#[derive(Debug, Clone, Serialize)]
pub struct PupAhead {
    pub pup: String,
    pub last_weight_g: Option<f64>,
    /// In the litter's unit.
    pub last_weight: Option<String>,
    pub weighed_at: Option<String>,
    /// Weights outside are asked about.
    pub band: Vec<BandFrom>,
    /// At this weight a tenth is lost: vet now.
    pub vet_now_at_g: Option<f64>,
    pub fed_at: Option<String>,
    pub limits: Vec<LimitsFrom>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BandFrom {
    pub from: String,
    pub low_g: f64,
    pub high_g: f64,
}

/// Limits of a pup's age, from a time on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitsFrom {
    pub from: String,
    pub no_milk_below_c: f64,
    pub hot_above_c: f64,
    pub stomach_ml_per_kg: f64,
    /// The amount stays below the stomach limit, not at it.
    pub is_exclusive: bool,
}

/// The next twelve hours from the facts known at `now`.
#[must_use]
pub fn ahead(facts: &Facts, now: Timestamp) -> Ahead {
    let line = Line::run(facts, now);
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let until = hours_after(now, AHEAD_H);
    let overdue = line.assessment.pups.iter().zip(&line.timetable.overdue_since).filter_map(|(pup, since)| {
        let since = (*since)?;
        Some(Overdue { pup: pup.pup.id.0.clone(), since: iso(since, zone) })
    });
    let [cool, cold] = [limits::GUT_STOPS, limits::COLD_URGENT].map(|limit| limit.value.get());
    let coarse_from = 5.0;
    Ahead {
        at: iso(now, zone),
        until: iso(until, zone),
        milk: facts.milk_in_use().map(|m| m.id.clone()),
        rounds: line.guide.rounds.iter().filter(|r| r.at <= until).map(|r| round_line(r, zone)).collect(),
        overdue: overdue.collect(),
        late_after_h: LATE_H,
        pups: line.assessment.pups.iter().map(|pup| pup_ahead(facts, pup, now)).collect(),
        signs: sign_lines(),
        one_feed_h: limits::SHORTEST_GAP_H.value,
        vet_now_below_c: [cool, cold],
        marks_ml: [
            coarse_from,
            limits::syringe_step(crate::units::Millilitres::of(0.0)),
            limits::syringe_step(crate::units::Millilitres::of(coarse_from)),
        ],
    }
}

fn pup_ahead(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> PupAhead {
    let zone = &facts.litter.zone;
    let latest = pup.latest();
    let mut band: Vec<BandFrom> = Vec::new();
    let mut ages: Vec<LimitsFrom> = Vec::new();
    let mut hours = 0.0;
    while hours <= AHEAD_H {
        let at = hours_after(now, hours);
        if let Some(last) = latest {
            let (low, high) = band_at(last.weight, hours_between(last.at, at).get());
            // Wider as time goes by; it is written down when it has moved by a gram.
            let is_new = band.last().is_none_or(|b| (b.low_g - low).abs() >= 1.0 || (b.high_g - high).abs() >= 1.0);
            if is_new {
                band.push(BandFrom { from: iso(at, zone), low_g: low, high_g: high });
            }
        }
        let age = hours_between(pup.pup.born_at, at).get();
        let stomach = limits::stomach_limit(age, Grams::of(1000.0));
        let here = LimitsFrom {
            from: iso(at, zone),
            no_milk_below_c: limits::cold_below(age).value.get(),
            hot_above_c: limits::hot_above(age).value.get(),
            stomach_ml_per_kg: stomach.rule.value.get(),
            is_exclusive: stomach.is_exclusive,
        };
        if ages.last().is_none_or(|last| LimitsFrom { from: here.from.clone(), ..last.clone() } != here) {
            ages.push(here);
        }
        hours += STEP_H;
    }
    PupAhead {
        pup: pup.pup.id.0.clone(),
        last_weight_g: latest.map(|l| l.weight.get()),
        last_weight: latest.map(|l| facts.litter.weight_unit.print(l.weight)),
        weighed_at: latest.map(|l| iso(l.at, zone)),
        band,
        vet_now_at_g: tenth_lost_at(pup, now),
        fed_at: facts.hand_feeds(&pup.pup.id).map(|f| f.at).max().map(|at| iso(at, zone)),
        limits: ages,
    }
}

fn band_at(last: Grams, hours_since: f64) -> (f64, f64) {
    let days = (hours_since / 24.0).clamp(0.0, BAND_DAYS);
    let (at_once, down, up) = BAND;
    let least = (last.get() - BAND_LEAST_G).min(last.get() * (1.0 - at_once - down * days));
    let most = (last.get() + BAND_LEAST_G).max(last.get() * (1.0 + at_once + up * days));
    // Outwards to a tenth, so that rounding asks nobody; 360 may be held as 359.999 999…
    ((least.max(0.0) * 10.0 + 1e-6).floor() / 10.0, (most * 10.0 - 1e-6).ceil() / 10.0)
}

/// A tenth under the birth weight or under the highest weight of two days, whichever is more.
fn tenth_lost_at(pup: &PupAssessment, now: Timestamp) -> Option<f64> {
    let lately = pup.readings.iter().filter(|r| hours_between(r.at, now).get() <= 48.0).map(|r| r.weight);
    let from = lately.chain(pup.pup.birth_weight).map(Grams::milligrams).max()?;
    let lost = from * (100 - LOSS_TEN.value) / 100;
    Some(Grams::of(thousandth(lost)).get())
}

#[expect(clippy::cast_precision_loss, reason = "weights of pups are far below 2^53")]
fn thousandth(mg: i64) -> f64 {
    mg as f64 / 1000.0
}
