//! Handing a pup back to its dam: less by hand in steps, each proved by the scale.

use crate::limits;
use crate::references::{self as source, Source, Sourced};
use crate::units::Kcal;

/// Each step takes this share of the first amount away, and lasts so many hours.
const STEP: Sourced<(f64, f64)> = Sourced::new((0.25, 24.0), &source::HAND_BACK);
/// By so much of a step the amounts of a day may stay behind it.
const MISSED: f64 = 0.2;
/// Weighings after each step, h.
const WEIGH_AFTER_H: Sourced<[f64; 2]> = Sourced::new([12.0, 24.0], &source::HAND_BACK);

/// One step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandBackStep {
    /// Hours from the beginning.
    pub from_h: f64,
    /// Share of the first amount.
    pub share: f64,
    /// Energy by hand of the day that begins then.
    pub by_hand: Kcal,
    /// When to weigh, hours from the beginning.
    pub weigh_at_h: [f64; 2],
}

/// The plan, with the rules that end it.
#[derive(Debug, Clone)]
pub struct HandBack {
    pub steps: Vec<HandBackStep>,
    /// Gain that must hold through every step, percent of the weight a day.
    pub least_gain_percent: f64,
    pub success: String,
    pub stop: String,
    pub source: &'static Source,
}

/// Steps from the first amount down to none, beginning with the next one below what was `held` in the last
/// day. The least gain is the published one for the age.
///
/// Begins only for a pup that gains at least that and is not under a setback: the caller asks.
#[must_use]
pub fn hand_back(first: Kcal, held: Kcal, least_gain_percent: f64) -> HandBack {
    let (share, hours) = STEP.value;
    // Amounts are rounded down and a day slides: a little less than a step counts as that step.
    let steps_held = (held / first / share - MISSED).ceil().clamp(0.0, 1.0 / share);
    let mut left = (steps_held - 1.0).max(0.0) * share;
    let mut steps = Vec::new();
    let mut from_h = 0.0;
    while left > -1e-9 {
        let weigh_at_h = WEIGH_AFTER_H.value.map(|after| from_h + after);
        steps.push(HandBackStep { from_h, share: left.max(0.0), by_hand: first * left.max(0.0), weigh_at_h });
        left -= share;
        from_h += hours;
    }
    let gain = crate::units::number(least_gain_percent, 1, false);
    HandBack {
        steps,
        least_gain_percent,
        success: format!("it gains at least {gain} % a day through two days without a top-up"),
        stop: format!(
            "a gain below {gain} % a day, any loss, or a sign of illness: back to the last amount at which it gained, and weigh again after {} h",
            limits::WEIGH_FLAGGED_EVERY_H.value
        ),
        source: STEP.source,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn handing_back_goes_in_quarters() {
        let plan = hand_back(Kcal::of(40.0), Kcal::of(40.0), 5.0);
        let energy: Vec<f64> = plan.steps.iter().map(|s| s.by_hand.get()).collect();
        assert_eq!(energy, [30.0, 20.0, 10.0, 0.0]);
        let from: Vec<f64> = plan.steps.iter().map(|s| s.from_h).collect();
        assert_eq!(from, [0.0, 24.0, 48.0, 72.0]);
        assert_eq!(plan.steps[1].weigh_at_h, [36.0, 48.0]);
        // It goes on from what was held in the last day; 29 of 40 is three quarters, rounded down.
        let next = |held: f64| hand_back(Kcal::of(40.0), Kcal::of(held), 5.0).steps[0].by_hand.get();
        for (held, expected) in [(35.0, 30.0), (30.0, 20.0), (29.0, 20.0), (20.0, 10.0), (10.0, 0.0), (0.0, 0.0)] {
            assert_eq!(next(held), expected, "{held} held");
        }
        assert_eq!(hand_back(Kcal::of(40.0), Kcal::of(0.0), 5.0).steps.len(), 1, "stopped at once");
    }
}
