//! The decided limits of advice, as data: each value beside its source, in one module.
//!
//! Limits bind advice and plans, never the record. They are enforced in one place,
//! [`crate::guide::checked`], after all planning.

use crate::references as source;
use crate::references::Sourced;
use crate::units::{Celsius, Grams, KcalPer100g, Millilitres, MlPerKg};

/// Stomach of a pup under 24 h of age; an amount must stay strictly below it.
pub const STOMACH_FIRST_DAY: Sourced<MlPerKg> = Sourced::new(MlPerKg::of(20.0), &source::STOMACH_FIRST_DAY);
/// Stomach from 24 h of age on; an amount may reach it.
pub const STOMACH: Sourced<MlPerKg> = Sourced::new(MlPerKg::of(40.0), &source::STOMACH);
/// Above this a recorded feed is marked as too large.
pub const STOMACH_GRADE: Sourced<MlPerKg> = Sourced::new(MlPerKg::of(50.0), &source::STOMACH_GRADE);
/// The first day's stomach limit ends at this age.
pub const FIRST_DAY_H: Sourced<f64> = Sourced::new(24.0, &source::STOMACH_FIRST_DAY);

/// Most energy given by hand in any 24 h, unless a vet set another.
pub const ENERGY_CEILING: Sourced<KcalPer100g> = Sourced::new(KcalPer100g::of(26.0), &source::ENERGY_CEILING);
/// Least water in a day, counting the water in the milk.
pub const WATER_FLOOR: Sourced<MlPerKg> = Sourced::new(MlPerKg::of(120.0), &source::WATER_FLOOR);
/// The water floor counts from day 4; earlier it is a note.
pub const WATER_FLOOR_FROM_H: Sourced<f64> = Sourced::new(72.0, &source::WATER_FLOOR);

/// What is given within this time counts as one feed.
pub const SHORTEST_GAP_H: Sourced<f64> = Sourced::new(2.0, &source::SHORTEST_GAP);
/// Under this weight a pup in week 1 is fed more often.
pub const FED_OFTEN_BELOW: Sourced<Grams> = Sourced::new(Grams::of(200.0), &source::LONGEST_GAP);

/// Skipping a feed is never offered under this age and weight, nor for a pup that is not doing well.
pub const SKIP_FLOOR: Sourced<(f64, Grams)> = Sourced::new((14.0 * 24.0, Grams::of(200.0)), &source::SKIP_FLOOR);

/// Until intake is measured, the largest share of the day's energy that a top-up may be.
pub const TOP_UP_SHARE: Sourced<f64> = Sourced::new(0.5, &source::TOP_UP_SHARE);
/// Weighed nursings in 24 h before the dam's milk is counted.
pub const WEIGHED_NURSINGS: Sourced<usize> = Sourced::new(4, &source::MEASURED_NURSING);

/// A rectal reading in range clears the gate for this long.
pub const WARM_CLEARANCE_H: Sourced<f64> = Sourced::new(2.0, &source::WARM_CLEARANCE);
/// Unknown is not warm: in this time the amount is shown only "after you have checked".
pub const CHECK_FIRST_UNTIL_H: Sourced<f64> = Sourced::new(14.0 * 24.0, &source::WARM_CLEARANCE);
/// A cold pup is looked at again after this time.
pub const COLD_RECHECK_H: Sourced<f64> = Sourced::new(0.5, &source::COLD_RECHECK);
/// A small pup that cannot be fed for this long: vet now.
pub const COLD_SMALL_PUP_H: Sourced<f64> = Sourced::new(1.0, &source::COLD_RECHECK);
/// What counts as a small pup there.
pub const SMALL_PUP: Sourced<Grams> = Sourced::new(Grams::of(300.0), &source::COLD_RECHECK);
/// Below this: vet now.
pub const GUT_STOPS: Sourced<Celsius> = Sourced::new(Celsius::of(34.4), &source::GUT_STOPS);
/// Below this: vet now, do not wait.
pub const COLD_URGENT: Sourced<Celsius> = Sourced::new(Celsius::of(32.2), &source::COLD_URGENT);
/// Rewarming, °C an hour: the limit, and the alarm.
pub const REWARM_C_PER_H: Sourced<(f64, f64)> = Sourced::new((1.0, 2.0), &source::REWARM);
/// Mixed milk above this is refused.
pub const MILK_TOO_HOT: Sourced<Celsius> = Sourced::new(Celsius::of(40.0), &source::FEED_TOO_HOT);
/// The temperature at which milk is fed.
pub const FEED_TEMPERATURE: Sourced<(Celsius, Celsius)> =
    Sourced::new((Celsius::of(37.0), Celsius::of(38.0)), &source::FEED_TEMPERATURE);

/// The second weighing, after the one at birth.
pub const WEIGH_SECOND_AT_H: Sourced<f64> = Sourced::new(12.0, &source::WEIGH_OFTEN);
/// Time between weighings of a pup that is doing well beside its dam.
pub const WEIGH_EVERY_H: Sourced<f64> = Sourced::new(24.0, &source::WEIGH_OFTEN);
/// Time between weighings of a pup that is flagged or fed by hand.
pub const WEIGH_FLAGGED_EVERY_H: Sourced<f64> = Sourced::new(12.0, &source::WEIGH_FLAGGED);

/// After it is too old for a new amount, a weight still carries the last amount for this long.
pub const STALE_GRACE_H: Sourced<f64> = Sourced::new(24.0, &source::STALE_WEIGHT);
/// An unwell pup under this age is always vet now.
pub const UNWELL_NEWBORN_H: Sourced<f64> = Sourced::new(48.0, &source::UNWELL_UNDER_48H);
/// Loose stool under this age or weight: vet today first.
pub const LOOSE_STOOL_SMALL: Sourced<(f64, Grams)> = Sourced::new((14.0 * 24.0, Grams::of(500.0)), &source::STOOL_OURS);
/// Thinned milk is given no longer than this.
pub const DILUTED_FOR_H: Sourced<f64> = Sourced::new(24.0, &source::STOOL_OURS);
/// Colostrum is to be seen within this time.
pub const COLOSTRUM_H: Sourced<f64> = Sourced::new(12.0, &source::COLOSTRUM);
/// Amounts of milk are planned up to this age; later a pup eats solid food.
pub const PLANNED_UNTIL_H: Sourced<f64> = Sourced::new(35.0 * 24.0, &source::ENERGY_STEPS);

/// The largest feed for a weight at an age.
#[derive(Debug, Clone, Copy)]
pub struct StomachLimit {
    pub volume: Millilitres,
    /// The amount must stay below the volume, not reach it.
    pub is_exclusive: bool,
    pub rule: Sourced<MlPerKg>,
}

/// What the stomach holds: strictly below 20 mL per kg before 24 h of age, then at most 40.
#[must_use]
pub fn stomach_limit(age_h: f64, weight: Grams) -> StomachLimit {
    let is_exclusive = age_h < FIRST_DAY_H.value;
    let rule = if is_exclusive { STOMACH_FIRST_DAY } else { STOMACH };
    StomachLimit { volume: rule.value * weight, is_exclusive, rule }
}

/// Rectal temperature below which a pup gets no milk: 35.0 °C on days 0-6, 36.0 °C later.
#[must_use]
pub fn cold_below(age_h: f64) -> Sourced<Celsius> {
    if age_h < 7.0 * 24.0 {
        Sourced::new(Celsius::of(35.0), &source::COLD_WEEK_ONE)
    } else {
        Sourced::new(Celsius::of(36.0), &source::COLD_LATER)
    }
}

/// On days 21-30 a pup below this is watched, and fed if it is active and sucks.
#[must_use]
pub fn cool_below(age_h: f64) -> Option<Sourced<Celsius>> {
    let days = 21.0 * 24.0..31.0 * 24.0;
    days.contains(&age_h).then(|| Sourced::new(Celsius::of(37.0), &source::COOL_WATCH))
}

/// Top of the normal rectal temperature for the age.
#[must_use]
pub fn hot_above(age_h: f64) -> Sourced<Celsius> {
    let top = match age_h / 24.0 {
        days if days < 7.0 => 37.2,
        days if days < 28.0 => 37.8,
        _ => 38.3,
    };
    Sourced::new(Celsius::of(top), &source::NORMAL_TEMPERATURE)
}

/// A reading of the box counts as long.
pub const BOX_READING_H: Sourced<f64> = Sourced::new(24.0, &source::BOX_READING);
/// The box has a target until this age of the litter.
pub const BOX_TARGET_UNTIL_H: Sourced<f64> = Sourced::new(35.0 * 24.0, &source::BOX_READING);

/// Target of the box by the age of the litter.
#[must_use]
pub fn box_target(age_h: f64) -> Sourced<(Celsius, Celsius)> {
    let (low, high) = match age_h / 24.0 {
        days if days < 7.0 => (29.0, 32.0),
        days if days < 14.0 => (27.0, 29.0),
        days if days < 28.0 => (24.0, 27.0),
        _ => (21.0, 24.0),
    };
    Sourced::new((Celsius::of(low), Celsius::of(high)), &source::BOX_TEMPERATURE)
}

/// Outer size of a feeding tube, in French gauge: 5 up to 300 g, 8 above. Exactly 300 g is left
/// open by the source; the smaller is our choice.
#[must_use]
pub fn tube_size_fr(weight: Grams) -> Sourced<u32> {
    Sourced::new(if weight.get() > 300.0 { 8 } else { 5 }, &source::TUBE_SIZE)
}

/// The longest time between two hand feeds.
#[must_use]
pub fn longest_gap_h(age_h: f64, weight: Grams, is_weak: bool) -> Sourced<f64> {
    let hours = match age_h / 24.0 {
        days if days < 7.0 && (weight < FED_OFTEN_BELOW.value || is_weak) => 3.0,
        days if days < 14.0 => 4.0,
        days if days < 21.0 => 6.0,
        _ => 8.0,
    };
    Sourced::new(hours, &source::LONGEST_GAP)
}

/// Usual hand feeds a day in weeks 1 to 4; the last holds on.
#[must_use]
pub fn usual_feeds(age_h: f64) -> Sourced<u32> {
    let feeds = match age_h / 24.0 {
        days if days < 7.0 => 8,
        days if days < 14.0 => 6,
        days if days < 21.0 => 5,
        _ => 4,
    };
    Sourced::new(feeds, &source::FEEDS_PER_DAY)
}

/// Hours after which a weight is too old for a new amount.
#[must_use]
pub fn stale_after_h(age_h: f64) -> Sourced<f64> {
    Sourced::new(if age_h < 7.0 * 24.0 { 24.0 } else { 48.0 }, &source::STALE_WEIGHT)
}

/// Rounds an amount down to a mark of an oral syringe: 0.1 mL below 5 mL, 0.5 mL from 5 mL up.
#[must_use]
pub fn round_down_to_mark(amount: Millilitres) -> Millilitres {
    let step = syringe_step(amount);
    // The small term keeps 4.2 from becoming 4.1 because it is held as 4.199 999…
    Millilitres::of(((amount.get() / step + 1e-9).floor() * step * 10.0).round() / 10.0)
}

/// The distance between two marks at this amount.
#[must_use]
pub fn syringe_step(amount: Millilitres) -> f64 {
    if amount.get() < 5.0 { 0.1 } else { 0.5 }
}

/// The largest mark that the stomach limit allows.
#[must_use]
pub fn largest_mark(limit: StomachLimit) -> Millilitres {
    let mark = round_down_to_mark(limit.volume);
    if limit.is_exclusive && mark >= limit.volume { round_down_to_mark(mark - Millilitres::of(0.05)) } else { mark }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grams(g: f64) -> Grams {
        Grams::of(g)
    }

    #[test]
    fn published_feed_caps() {
        // Handbook care.md section 14, checks 5 and 6 (rows SAIM p 1023 and FUR2021, read).
        let later = stomach_limit(30.0, grams(250.0));
        assert_eq!((later.volume.get(), later.is_exclusive), (10.0, false));
        let first_day = stomach_limit(10.0, grams(250.0));
        assert_eq!((first_day.volume.get(), first_day.is_exclusive), (5.0, true));
        assert!(largest_mark(first_day).get() < 5.0, "5 mL is the exclusive ceiling");
        assert_eq!(largest_mark(later).get(), 10.0);
        // Handbook growth.md check 16: 150 g gives 6 mL.
        assert_eq!(stomach_limit(48.0, grams(150.0)).volume.get(), 6.0);
    }

    #[test]
    fn stomach_limit_doubles_at_24_hours() {
        assert_eq!(stomach_limit(23.99, grams(300.0)).volume.get(), 6.0);
        assert_eq!(stomach_limit(24.0, grams(300.0)).volume.get(), 12.0);
    }

    #[test]
    fn cold_limits_by_age() {
        // Handbook care.md section 14 checks 9 and 10: day 3 at 35.0 is ok, day 7 takes the stricter line.
        let check = |days: f64, expected: f64| assert_eq!(cold_below(days * 24.0).value.get(), expected);
        check(0.0, 35.0);
        check(3.0, 35.0);
        check(6.99, 35.0);
        check(7.0, 36.0);
        check(20.99, 36.0);
        check(21.0, 36.0);
    }

    #[test]
    fn cool_at_day_21_is_a_watch() {
        assert!(cool_below(20.9 * 24.0).is_none());
        assert_eq!(cool_below(21.0 * 24.0).map(|s| s.value.get()), Some(37.0));
        assert!(cool_below(31.0 * 24.0).is_none());
    }

    #[test]
    fn box_targets_by_week() {
        // Handbook growth.md section 6, sensor default.
        let check = |days: f64, low: f64, high: f64| {
            let (l, h) = box_target(days * 24.0).value;
            assert_eq!((l.get(), h.get()), (low, high));
        };
        check(6.9, 29.0, 32.0);
        check(7.0, 27.0, 29.0);
        check(14.0, 24.0, 27.0);
        check(28.0, 21.0, 24.0);
    }

    #[test]
    fn longest_gap_by_age() {
        // Handbook feeding.md section 5, last paragraph.
        let check = |days: f64, g: f64, weak: bool, hours: f64| {
            assert_eq!(longest_gap_h(days * 24.0, grams(g), weak).value, hours);
        };
        check(6.9, 199.0, false, 3.0);
        check(6.9, 200.0, false, 4.0);
        check(6.9, 400.0, true, 3.0);
        check(7.0, 150.0, false, 4.0);
        check(14.0, 400.0, false, 6.0);
        check(21.0, 900.0, false, 8.0);
    }

    #[test]
    fn amounts_round_down_to_a_syringe_mark() {
        let check = |ml: f64, expected: f64| assert_eq!(round_down_to_mark(Millilitres::of(ml)).get(), expected);
        check(4.2, 4.2);
        check(4.29, 4.2);
        check(4.99, 4.9);
        check(5.0, 5.0);
        check(9.33, 9.0);
        check(9.5, 9.5);
        check(0.09, 0.0);
    }

    #[test]
    fn more_weight_never_gives_a_smaller_stomach_limit() {
        for age in [0.0, 23.9, 24.0, 500.0] {
            let mut last = Millilitres::of(0.0);
            for g in 30..3000 {
                let mark = largest_mark(stomach_limit(age, grams(f64::from(g))));
                assert!(mark >= last);
                last = mark;
            }
        }
    }
}
