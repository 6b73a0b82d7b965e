//! The true weight in the hours to come, as a mixture of going on and faltering.

use nalgebra::Vector4;
use statrs::distribution::{ContinuousCDF, Normal};

use super::model::{ExpectedGain, FALTERING, Mode, NORMAL, Step};
use super::two_mode::{SWITCHING, TwoMode};

pub const HOURS: [f64; 4] = [12.0, 24.0, 48.0, 72.0];
/// The modes may switch once in each step of this many days.
const STRIDE: f64 = 0.5;

/// Two normals in log weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// Hours from the reading.
    pub hours: f64,
    /// Weight, mean and variance of each part.
    pub parts: [(f64, f64, f64); 2],
}

/// Forecasts from a belief at `day`, with `wander` times the usual wander.
pub fn forecasts(now: &TwoMode, day: f64, gain: ExpectedGain, wander: f64) -> [Forecast; 4] {
    let mut ahead = *now;
    let mut gone = 0.0;
    HOURS.map(|hours| {
        while gone < hours / 24.0 - 1e-9 {
            let steps = steps(day + gone, STRIDE, gain, wander);
            ahead = ahead.predict(&steps, &SWITCHING.over(STRIDE));
            gone += STRIDE;
        }
        let p = ahead.p();
        let part = |i: usize| {
            let b = &ahead.beliefs[i];
            (p[i], b.mean[0], b.cov[(0, 0)])
        };
        Forecast { hours, parts: [part(0), part(1)] }
    })
}

/// The steps of both modes with a scaled wander.
pub fn steps(from: f64, gap: f64, gain: ExpectedGain, wander: f64) -> [Step; 2] {
    [NORMAL, FALTERING].map(|mode| {
        let mode = Mode { wander: mode.wander * wander, ..mode };
        Step::new(mode, gain, from, gap)
    })
}

impl Forecast {
    /// Chance that the log weight is below `x`.
    pub fn below(&self, x: f64) -> f64 {
        let unit = Normal::standard();
        self.parts.iter().map(|&(w, mean, var)| w * unit.cdf((x - mean) / var.sqrt())).sum()
    }

    /// The log weight below which the pup is with chance `p`.
    pub fn log_quantile(&self, p: f64) -> f64 {
        let spread = self.parts.iter().map(|part| part.2.sqrt()).fold(0.0, f64::max);
        let mean = |pick: fn(f64, f64) -> f64| pick(self.parts[0].1, self.parts[1].1);
        let mut low = mean(f64::min) - 9.0 * spread;
        let mut high = mean(f64::max) + 9.0 * spread;
        // Each round halves the bracket: 40 leave nothing that shows in grams.
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if self.below(middle) < p { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    pub fn grams(&self, p: f64) -> f64 {
        self.log_quantile(p).exp()
    }

    /// The forecast of what a scale will show, given the variance of a reading.
    pub fn of_reading(&self, reading_var: f64) -> Self {
        Self { parts: self.parts.map(|(w, mean, var)| (w, mean, var + reading_var)), ..*self }
    }
}

/// Mean and SD of a linear form of the state over both modes.
pub fn moments(now: &TwoMode, row: &Vector4<f64>) -> (f64, f64) {
    let p = now.p();
    let each = now.beliefs.map(|b| (row.dot(&b.mean), (row.transpose() * b.cov * row)[0]));
    let mean = p[0] * each[0].0 + p[1] * each[1].0;
    let var: f64 = (0..2).map(|i| p[i] * (each[i].1 + (each[i].0 - mean).powi(2))).sum();
    (mean, var.sqrt())
}
