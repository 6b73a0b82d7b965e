//! The temperature of the box against its target by age, and what else happened to the pups.

use jiff::Timestamp;

use super::Cite;
use super::build::cite;
use crate::assess::is_cold;
use crate::limits;
use crate::record::{CheckKind, Facts, PupId, hours_after, hours_between};
use crate::references as source;
use crate::units::Celsius;

/// Readings that are kept: the newest ones. A sensor that is written down every hour fills eight days.
const MOST: usize = 200;

/// A reading against the target of its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    Below,
    Within,
    Above,
    /// No pup was born yet, or the litter is past five weeks.
    NoTarget,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    pub at: Timestamp,
    pub temperature: Celsius,
    pub target: Option<(Celsius, Celsius)>,
    pub against: Against,
}

/// The target from one time to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetStep {
    pub from: Timestamp,
    pub to: Timestamp,
    pub low: Celsius,
    pub high: Celsius,
}

/// What happened to a pup.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    pub at: Timestamp,
    pub pup: PupId,
    pub what: What,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    Born,
    /// Its rectal temperature was too low to feed it.
    Cold(Celsius),
}

/// The box over time.
#[derive(Debug, Clone)]
pub struct BoxReport {
    /// In order of time; the newest [`MOST`].
    pub readings: Vec<Reading>,
    /// From the birth to now, but not before the first reading that is kept or a day ago.
    pub targets: Vec<TargetStep>,
    pub events: Vec<Event>,
    /// The target now; none before the birth.
    pub target: Option<(Celsius, Celsius)>,
    /// The newest reading is too old to count, or there is none.
    pub is_old: bool,
    /// Two readings further apart than this have an unknown time between them, hours.
    pub gap_h: f64,
    pub rule: Cite,
}

/// The box of a litter at a time.
#[must_use]
pub fn box_temperature(facts: &Facts, now: Timestamp) -> BoxReport {
    let born = facts.litter.whelped_at.filter(|at| *at <= now);
    let target_at = |at: Timestamp| {
        let age = hours_between(born?, at).get();
        (0.0..limits::BOX_TARGET_UNTIL_H.value).contains(&age).then(|| limits::box_target(age).value)
    };
    let all: Vec<Reading> = facts
        .checks_of(None, CheckKind::BoxTemperature)
        .filter(|c| c.at <= now)
        .filter_map(|c| {
            let temperature = c.temperature()?;
            let target = target_at(c.at);
            let against = match target {
                None => Against::NoTarget,
                Some((low, _)) if temperature < low => Against::Below,
                Some((_, high)) if temperature > high => Against::Above,
                Some(_) => Against::Within,
            };
            Some(Reading { at: c.at, temperature, target, against })
        })
        .collect();
    let readings = all[all.len().saturating_sub(MOST)..].to_vec();
    let a_day_ago = hours_after(now, -limits::BOX_READING_H.value);
    let start = readings.first().map_or(a_day_ago, |r| r.at.min(a_day_ago));
    let is_shown = |at: Timestamp| at >= start && at <= now;
    let births = facts.pups.iter().map(|p| Event { at: p.born_at, pup: p.id.clone(), what: What::Born });
    let cold = facts.pups.iter().flat_map(|p| {
        facts.checks_of(Some(&p.id), CheckKind::RectalTemperature).filter_map(move |c| {
            let t = c.temperature()?;
            let age = hours_between(p.born_at, c.at).get();
            is_cold(age, t).then(|| Event { at: c.at, pup: p.id.clone(), what: What::Cold(t) })
        })
    });
    let mut events: Vec<Event> = births.chain(cold).filter(|e| is_shown(e.at)).collect();
    events.sort_by_key(|e| e.at);
    BoxReport {
        is_old: readings.last().is_none_or(|r| hours_between(r.at, now).get() > limits::BOX_READING_H.value),
        readings,
        targets: born.map_or_else(Vec::new, |born| targets(born, start, now)),
        events,
        target: target_at(now),
        gap_h: limits::BOX_READING_H.value,
        rule: cite(&source::BOX_TEMPERATURE),
    }
}

/// The steps of the target between two times; days with one target are one step.
fn targets(born: Timestamp, start: Timestamp, now: Timestamp) -> Vec<TargetStep> {
    let mut steps: Vec<TargetStep> = Vec::new();
    let mut age = 0.0;
    while age < limits::BOX_TARGET_UNTIL_H.value {
        let (low, high) = limits::box_target(age).value;
        let from = hours_after(born, age).max(start);
        let to = hours_after(born, age + 24.0).min(now);
        if from < to {
            match steps.last_mut() {
                Some(last) if (last.low, last.high) == (low, high) => last.to = to,
                _ => steps.push(TargetStep { from, to, low, high }),
            }
        }
        age += 24.0;
    }
    steps
}
