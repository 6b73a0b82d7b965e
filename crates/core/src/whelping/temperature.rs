//! The dam's temperature in the last days: has it dropped, and what does that say?

use jiff::Timestamp;

use crate::record::{CheckKind, Facts, Word, hours_after, hours_between};
use crate::references::{self as source, Sourced};
use crate::units::Celsius;

/// At or below this the temperature has dropped.
pub const DROPPED: Sourced<Celsius> = Sourced::new(Celsius::of(37.2), &source::TEMPERATURE_DROP);
/// From the drop to the first straining, hours, in about 80 % of dams.
const BIRTH_AFTER_H: Sourced<[f64; 2]> = Sourced::new([12.0, 24.0], &source::TEMPERATURE_DROP);
/// At or above this it is back to normal.
const BACK: Sourced<Celsius> = Sourced::new(Celsius::of(37.8), &source::TEMPERATURE_BACK);
/// So long after a drop without labour: ring the vet.
const NO_LABOUR_H: Sourced<f64> = Sourced::new(24.0, &source::TEMPERATURE_NO_LABOUR);

/// A single low reading may be a slip: it is measured again within this time, in hours.
const AGAIN_WITHIN_H: Sourced<f64> = Sourced::new(1.0, &source::TEMPERATURE_TWICE);

/// The readings before the birth, and what they say.
#[derive(Debug, Clone)]
pub struct Strip {
    /// Oldest first.
    pub readings: Vec<(Timestamp, Celsius)>,
    pub lowest: Option<(Timestamp, Celsius)>,
    /// A low reading that nothing followed yet: to be measured again, no drop so far.
    pub low_once_at: Option<Timestamp>,
    /// The first reading of the latest drop, once the one after it was low too.
    pub dropped_at: Option<Timestamp>,
    /// When straining begins after the drop in about 80 % of dams.
    pub birth_between: Option<[Timestamp; 2]>,
    /// Back to normal after the drop.
    pub back_at: Option<Timestamp>,
    /// From this time on without labour: ring the vet.
    pub ring_from: Option<Timestamp>,
}

impl Strip {
    /// The vet is to be rung: the temperature dropped, and no labour came in time.
    #[must_use]
    pub fn is_overdue(&self, now: Timestamp) -> bool {
        self.ring_from.is_some_and(|from| from <= now)
    }

    /// By when a single low reading is to be measured again.
    #[must_use]
    pub fn measure_again_by(&self) -> Option<Timestamp> {
        self.low_once_at.map(|at| hours_after(at, AGAIN_WITHIN_H.value))
    }

    /// A single low reading was never measured again, for as long as a drop may go without labour.
    #[must_use]
    pub fn is_left_open(&self, now: Timestamp) -> bool {
        self.low_once_at.is_some_and(|at| hours_between(at, now).get() >= NO_LABOUR_H.value)
    }

    /// Hours since the drop.
    #[must_use]
    pub fn hours_since_drop(&self, now: Timestamp) -> Option<f64> {
        self.dropped_at.map(|at| hours_between(at, now).get())
    }
}

/// The strip of a dam that is still expecting: none once a pup is born or labour is written down,
/// and none without a reading.
///
/// A drop is never waited for: 35 % of dams show none above 0.6 °C (dvm360, gestation in the bitch).
#[must_use]
pub fn strip(facts: &Facts, now: Timestamp) -> Option<Strip> {
    let has_own_pup = facts.pups.iter().any(|p| p.joined_at.is_none() && p.born_at <= now);
    let is_in_labour = facts.latest(None, CheckKind::Labour).is_some_and(|c| c.is(Word::Begun) && c.at <= now);
    if has_own_pup || is_in_labour {
        return None;
    }
    let readings: Vec<(Timestamp, Celsius)> = facts
        .checks_of(None, CheckKind::DamTemperature)
        .filter(|c| c.at <= now)
        .filter_map(|c| Some((c.at, c.temperature()?)))
        .collect();
    (!readings.is_empty()).then(|| of_readings(readings))
}

fn of_readings(readings: Vec<(Timestamp, Celsius)>) -> Strip {
    let lowest = readings.iter().copied().min_by_key(|(at, t)| (t.millidegrees(), *at));
    let mut dropped_at = None;
    let mut back_at = None;
    let mut low_once_at: Option<Timestamp> = None;
    for (at, temperature) in &readings {
        if temperature.millidegrees() <= DROPPED.value.millidegrees() {
            // A second drop after a return starts anew; a third reading of the same drop does not.
            let goes_on = dropped_at.is_some() && back_at.is_none();
            match low_once_at {
                _ if goes_on => {}
                Some(first) => (dropped_at, back_at, low_once_at) = (Some(first), None, None),
                None => low_once_at = Some(*at),
            }
        } else {
            low_once_at = None;
            if dropped_at.is_some() && temperature.millidegrees() >= BACK.value.millidegrees() {
                back_at = back_at.or(Some(*at));
            }
        }
    }
    let late = dropped_at.map(|at| hours_after(at, NO_LABOUR_H.value));
    let ring_from = match (late, back_at) {
        (Some(late), Some(back)) => Some(late.min(back)),
        (late, _) => late,
    };
    Strip {
        lowest,
        low_once_at,
        dropped_at,
        birth_between: dropped_at.map(|at| BIRTH_AFTER_H.value.map(|h| hours_after(at, h))),
        back_at,
        ring_from,
        readings,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hours: f64) -> Timestamp {
        hours_after("2026-03-01T00:00:00Z".parse().unwrap(), hours)
    }

    fn of(readings: &[(f64, f64)]) -> Strip {
        of_readings(readings.iter().map(|(h, c)| (at(*h), Celsius::of(*c))).collect())
    }

    #[test]
    fn published_temperature_drop() {
        // Care handbook section 11: to 37.2 °C (99 °F) or less, 12 to 24 h before straining.
        let strip = of(&[(0.0, 38.2), (12.0, 37.3), (24.0, 37.2), (30.0, 36.9)]);
        assert_eq!(strip.dropped_at, Some(at(24.0)), "37.2 counts, 37.3 does not");
        assert_eq!(strip.birth_between, Some([at(36.0), at(48.0)]));
        assert_eq!(strip.lowest.map(|l| l.1.get()), Some(36.9));
        // 99 °F is 37.2 °C (section 14, check 8).
        assert_eq!(Celsius::from_fahrenheit(99.0).map(|c| (c.get() * 10.0).round() / 10.0), Ok(37.2));
    }

    #[test]
    fn published_limit_after_the_drop() {
        // Section 11: 24 h after the drop without labour; section 13, W1.
        let strip = of(&[(0.0, 38.2), (24.0, 37.0), (24.5, 37.1)]);
        assert!(!strip.is_overdue(at(47.9)) && strip.is_overdue(at(48.0)));
        // Jutkowitz 2005, Box 2: back to normal (37.8 °C, 100 °F) and no labour.
        let back = of(&[(0.0, 38.2), (24.0, 37.0), (25.0, 37.0), (36.0, 37.7), (40.0, 37.8)]);
        assert_eq!(back.back_at, Some(at(40.0)));
        assert!(!back.is_overdue(at(39.9)) && back.is_overdue(at(40.0)));
        // A single low reading after the return is measured again before it is a second drop.
        let again = of(&[(0.0, 37.0), (1.0, 37.0), (10.0, 38.0), (20.0, 37.2)]);
        assert_eq!((again.dropped_at, again.low_once_at), (Some(at(0.0)), Some(at(20.0))));
        // Without a drop there is nothing to be late for.
        assert!(!of(&[(0.0, 38.2), (24.0, 37.5)]).is_overdue(at(500.0)));
    }

    #[test]
    fn a_single_low_reading_is_measured_again_first() {
        // Ours: 37.2 counts, 37.3 does not; one low reading is no drop.
        let once = of(&[(0.0, 38.2), (24.0, 37.2)]);
        assert_eq!((once.dropped_at, once.ring_from, once.low_once_at), (None, None, Some(at(24.0))));
        assert_eq!(once.measure_again_by(), Some(at(25.0)));
        assert!(!once.is_left_open(at(47.9)) && once.is_left_open(at(48.0)));
        // Confirmed: the drop began with the first of the two, however late the second came.
        let twice = of(&[(0.0, 38.2), (24.0, 37.2), (31.0, 37.2)]);
        assert_eq!((twice.dropped_at, twice.low_once_at), (Some(at(24.0)), None));
        assert_eq!(twice.ring_from, Some(at(48.0)));
        // Not confirmed: it was a slip, and nothing is left of it.
        let slip = of(&[(0.0, 38.2), (24.0, 37.2), (24.5, 37.3)]);
        assert_eq!((slip.dropped_at, slip.low_once_at), (None, None));
        assert!(!slip.is_left_open(at(500.0)));
    }
}
