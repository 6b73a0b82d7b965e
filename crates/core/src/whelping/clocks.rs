//! The clocks of the birth: since when something goes on, and when a vet is rung.

use jiff::Timestamp;

use crate::finding::Level;
use crate::record::{CheckKind as K, Facts, Word as W, hours_after, hours_between};
use crate::references::{self as source, Source, Sourced};

/// Strong straining without a pup, minutes: watch, vet now.
pub const STRAINING_MIN: Sourced<(f64, f64)> = Sourced::new((20.0, 30.0), &source::LABOUR_STRAINING);
/// Time since the last pup, hours: watch, vet now.
pub const GAP_H: Sourced<(f64, f64)> = Sourced::new((2.0, 4.0), &source::LABOUR_GAP);
/// Weak, occasional straining without a pup, hours until vet now.
pub const WEAK_STRAINING_H: Sourced<f64> = Sourced::new(4.0, &source::LABOUR_WEAK);
/// Green discharge without a pup, hours until vet now.
pub const GREEN_H: Sourced<f64> = Sourced::new(2.0, &source::LABOUR_GREEN);

/// A published limit of the birth, as it stands on the page before anything has begun.
#[derive(Debug, Clone, Copy)]
pub struct LabourLimit {
    pub code: &'static str,
    pub what: &'static str,
    /// Hours until it is watched; none: from the beginning.
    pub watch_h: Option<f64>,
    /// Hours until the vet is rung.
    pub vet_h: f64,
    pub source: &'static Source,
}

/// Every clock with its limits.
pub const LABOUR_LIMITS: [LabourLimit; 4] = [
    LabourLimit {
        code: "straining",
        what: "strong straining without a pup",
        watch_h: Some(STRAINING_MIN.value.0 / 60.0),
        vet_h: STRAINING_MIN.value.1 / 60.0,
        source: STRAINING_MIN.source,
    },
    LabourLimit {
        code: "weak-straining",
        what: "weak straining without a pup",
        watch_h: None,
        vet_h: WEAK_STRAINING_H.value,
        source: WEAK_STRAINING_H.source,
    },
    LabourLimit {
        code: "pup-gap",
        what: "since the last pup, with more inside",
        watch_h: Some(GAP_H.value.0),
        vet_h: GAP_H.value.1,
        source: GAP_H.source,
    },
    LabourLimit {
        code: "green-discharge",
        what: "dark green discharge between pups (before the first pup: at once)",
        watch_h: None,
        vet_h: GREEN_H.value,
        source: GREEN_H.source,
    },
];

/// One clock that runs.
#[derive(Debug, Clone, Copy)]
pub struct Clock {
    pub limit: &'static LabourLimit,
    pub since: Timestamp,
    /// When the vet is rung if it still runs.
    pub vet_at: Timestamp,
}

impl Clock {
    /// Hours that it has run.
    #[must_use]
    pub fn hours(&self, now: Timestamp) -> f64 {
        hours_between(self.since, now).get()
    }

    /// What it asks for by now; a limit that is met counts as reached.
    #[must_use]
    pub fn level(&self, now: Timestamp) -> Option<Level> {
        let hours = self.hours(now);
        if hours >= self.limit.vet_h {
            return Some(Level::VetNow);
        }
        self.limit.watch_h.filter(|watch| hours >= *watch).map(|_| Level::KeepWatch)
    }
}

/// The clocks that run while the dam is in labour, in the order of [`LABOUR_LIMITS`].
///
/// A pup ends a bout of straining and green discharge; rest ends a bout; a strong bout that
/// weakens goes on as one bout of straining for the discharge rule only.
#[must_use]
pub fn clocks(facts: &Facts) -> Vec<Clock> {
    let last_pup = last_pup(facts);
    let since = [
        bout(facts, &[W::Strong]),
        bout(facts, &[W::Weak]),
        last_pup.filter(|_| more_inside(facts)),
        green_since(facts),
    ];
    LABOUR_LIMITS
        .iter()
        .zip(since)
        .filter_map(|(limit, since)| {
            let since = since?;
            let is_at_once = limit.code == "green-discharge" && last_pup.is_none();
            let vet_at = if is_at_once { since } else { hours_after(since, limit.vet_h) };
            Some(Clock { limit, since, vet_at })
        })
        .collect()
}

/// When the last pup of this dam was born.
pub(crate) fn last_pup(facts: &Facts) -> Option<Timestamp> {
    facts.pups.iter().filter(|p| p.joined_at.is_none()).map(|p| p.born_at).max()
}

/// More pups may be inside: fewer are born than were counted, or nobody counted.
pub(crate) fn more_inside(facts: &Facts) -> bool {
    let born = facts.pups.iter().filter(|p| p.joined_at.is_none()).count();
    facts.litter.expected_pups.is_none_or(|n| usize::try_from(n).is_ok_and(|n| born < n))
}

/// From when checks of straining and discharge count: the last pup, or the end of an earlier labour.
fn counts_from(facts: &Facts) -> Timestamp {
    let over = facts.checks_of(None, K::Labour).rfind(|c| c.is(W::Over)).map_or(Timestamp::MIN, |c| c.at);
    last_pup(facts).unwrap_or(over)
}

/// The first check of the bout of straining that goes on.
pub(crate) fn bout(facts: &Facts, strengths: &[W]) -> Option<Timestamp> {
    let from = counts_from(facts);
    let mut start = None;
    for check in facts.checks_of(None, K::Straining).filter(|c| c.at >= from) {
        start = if strengths.iter().any(|w| check.is(*w)) { start.or(Some(check.at)) } else { None };
    }
    start
}

fn green_since(facts: &Facts) -> Option<Timestamp> {
    let check = facts.latest(None, K::DamDischarge).filter(|c| c.is(W::DarkGreen))?;
    let from = counts_from(facts);
    let first = facts.checks_of(None, K::DamDischarge).find(|c| c.is(W::DarkGreen) && c.at >= from);
    Some(first.map_or(check.at, |c| c.at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_labour_table() {
        // Care handbook section 11 (Jutkowitz 2005, Box 2) with section 15's stricter watch.
        let rows: Vec<(&str, Option<f64>, f64)> = LABOUR_LIMITS.iter().map(|l| (l.code, l.watch_h, l.vet_h)).collect();
        assert_eq!(
            rows,
            [
                ("straining", Some(20.0 / 60.0), 0.5),
                ("weak-straining", None, 4.0),
                ("pup-gap", Some(2.0), 4.0),
                ("green-discharge", None, 2.0),
            ]
        );
    }
}
