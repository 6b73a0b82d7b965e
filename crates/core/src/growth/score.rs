//! One number from several weak signs, and how often a healthy pup reaches it.

use super::fitted::{MEANS, THRESHOLD, WEIGHTS};
use super::noise::Level;

pub const SIGNS: usize = 7;

/// The signs that the score adds up, in this order in every array of length `SIGNS`.
///
/// Tried and dropped because the fit gave them no weight beside these: raw gain since the
/// last reading and since a day ago, the smoothed rate alone, the mates' raw gain, a loss
/// since a day ago, being under birth weight (the published limits cover that one).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Log-odds of faltering from the two-mode filter.
    Filter,
    /// Readings kept coming in below expectation (no weight in the last fit, some in others).
    BelowExpectation,
    /// Gain since about two and a half days ago, against what was expected.
    Days,
    /// Log-odds of faltering of the litter-mates.
    Mates,
    /// Smoothed growth rate, against the litter-mates (nothing when ahead of them).
    BehindMates,
    /// First days after birth.
    Young,
    Age,
}

pub const ALL: [Sign; SIGNS] =
    [Sign::Filter, Sign::BelowExpectation, Sign::Days, Sign::Mates, Sign::BehindMates, Sign::Young, Sign::Age];

pub type Signs = [f64; SIGNS];

/// CUSUM: slack, the most that one reading may add and the most in all, in standard
/// deviations.
const SLACK: f64 = 0.5;
const MOST: f64 = 3.5;
const FULL: f64 = 12.0;

/// One-sided CUSUM of how far readings fall short of normal growth.
pub fn shortfall(sum: f64, short: f64) -> f64 {
    (sum + short.min(MOST) - SLACK).clamp(0.0, FULL)
}

/// What each sign adds, compared with a healthy pup.
pub fn parts(signs: &Signs) -> [f64; SIGNS] {
    std::array::from_fn(|i| WEIGHTS[i] * (signs[i] - MEANS[i]))
}

pub fn score(signs: &Signs) -> f64 {
    parts(signs).iter().sum()
}

/// What the threshold depends on: learned noise, scale and rhythm of the household.
pub const CIRCUMSTANCES: usize = 5;
pub type Circumstances = [f64; CIRCUMSTANCES];

pub fn circumstances(level: Level, scale_var: f64, gap_hours: f64) -> Circumstances {
    [
        1.0,
        (level.reading / 0.016).ln(),
        level.wander.ln(),
        (gap_hours.clamp(4.0, 48.0) / 12.0).ln(),
        (1.0 + scale_var / level.reading.powi(2)).ln(),
    ]
}

/// False alarms per pup-week that come from warning at this score in these circumstances.
///
/// The fitted threshold at a rate is `base . c - slope . c ln(rate)`; this is its inverse.
pub fn false_alarm_rate(score: f64, c: &Circumstances) -> f64 {
    let at_one = dot(&THRESHOLD[0], c);
    let slope = dot(&THRESHOLD[1], c).max(0.05);
    ((at_one - score) / slope).exp().min(14.0)
}

fn dot(a: &Circumstances, b: &Circumstances) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
