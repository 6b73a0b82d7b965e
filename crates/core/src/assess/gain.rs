//! The gain of the last day, from the real interval between two readings.

use jiff::Timestamp;

use super::Reading;
use crate::record::{Taken, hours_between};
use crate::units::Grams;

/// A day's gain is read from two weighings at least and at most this far apart.
const HOURS_APART: (f64, f64) = (12.0, 72.0);

/// Growth between two readings, scaled to 24 hours by the real interval.
#[derive(Debug, Clone)]
pub struct Gain {
    pub per_day: Grams,
    /// In percent of the earlier weight, a day.
    pub percent_per_day: f64,
    pub from: Timestamp,
    pub hours: f64,
    pub change: Grams,
    /// One reading was taken before and the other after a feed: a full stomach is as much as
    /// a day's gain.
    pub is_mixed_pair: bool,
}

/// The gain up to the last reading, from the reading nearest to 24 h before it.
///
/// Like is compared with like where a like reading lies 12 to 36 h back.
#[must_use]
pub fn last_day(readings: &[Reading]) -> Option<Gain> {
    let (last, earlier) = readings.split_last()?;
    let candidates: Vec<(f64, bool, &Reading)> = earlier
        .iter()
        .map(|r| (hours_between(r.at, last.at).get(), is_mixed(r.taken, last.taken), r))
        .filter(|(hours, ..)| *hours >= HOURS_APART.0 && *hours <= HOURS_APART.1)
        .collect();
    let (hours, is_mixed_pair, from) = candidates.into_iter().min_by(|a, b| {
        let key = |c: &(f64, bool, &Reading)| (c.1 && c.0 <= 36.0, (c.0 - 24.0).abs());
        let ((mixed_a, far_a), (mixed_b, far_b)) = (key(a), key(b));
        mixed_a.cmp(&mixed_b).then(far_a.total_cmp(&far_b))
    })?;
    let change = last.weight - from.weight;
    let days = hours / 24.0;
    Some(Gain {
        per_day: change / days,
        percent_per_day: change / from.weight * 100.0 / days,
        from: from.at,
        hours,
        change,
        is_mixed_pair,
    })
}

fn is_mixed(a: Taken, b: Taken) -> bool {
    matches!((a, b), (Taken::BeforeFeed, Taken::AfterFeed) | (Taken::AfterFeed, Taken::BeforeFeed))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::WeightUnit;

    fn reading(hours: i64, grams: f64, taken: Taken) -> Reading {
        let at = Timestamp::from_second(1_790_000_000 + hours * 3600).unwrap();
        Reading { at, weight: Grams::of(grams), taken, unit: WeightUnit::Gram, typed: grams.to_string() }
    }

    #[test]
    fn gain_divides_by_the_real_interval() {
        let readings = [reading(0, 300.0, Taken::Unknown), reading(30, 330.0, Taken::Unknown)];
        let gain = last_day(&readings).unwrap();
        assert!((gain.per_day.get() - 24.0).abs() < 1e-9, "30 g in 30 h is 24 g a day");
        assert!((gain.percent_per_day - 8.0).abs() < 1e-9);
    }

    #[test]
    fn like_is_compared_with_like() {
        let readings = [
            reading(0, 300.0, Taken::BeforeFeed),
            reading(2, 311.0, Taken::AfterFeed),
            reading(26, 320.0, Taken::BeforeFeed),
        ];
        let gain = last_day(&readings).unwrap();
        assert!(!gain.is_mixed_pair);
        assert!((gain.hours - 26.0).abs() < 1e-9);
    }

    #[test]
    fn two_readings_close_together_give_no_daily_gain() {
        assert!(last_day(&[reading(0, 300.0, Taken::Unknown), reading(6, 306.0, Taken::Unknown)]).is_none());
    }
}
