//! The true weight in the hours to come, as a mixture of going on and faltering.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

use super::model::{ExpectedGain, FALTERING, NORMAL, Step};
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
            ahead = ahead.predict(&steps(day + gone, STRIDE, gain), &SWITCHING.over(STRIDE), wander);
            gone += STRIDE;
        }
        let p = ahead.p();
        let part = |i: usize| {
            let b = &ahead.beliefs[i];
            (p[i], b.mean[0], b.cov[0])
        };
        Forecast { hours, parts: [part(0), part(1)] }
    })
}

/// The steps of both modes.
pub fn steps(from: f64, gap: f64, gain: ExpectedGain) -> [Step; 2] {
    [NORMAL, FALTERING].map(|mode| Step::new(mode, gain, from, gap))
}

impl Forecast {
    /// Chance that the log weight is below `x`.
    pub fn below(&self, x: f64) -> f64 {
        let unit = Normal::standard();
        self.parts.iter().map(|&(w, mean, var)| w * unit.cdf((x - mean) / var.sqrt())).sum()
    }

    /// The log weight below which the pup is with chance `p`: Newton's steps, with a halving of the
    /// bracket wherever a step leaves it or gains too little.
    pub fn log_quantile(&self, p: f64) -> f64 {
        let unit = Normal::standard();
        let spread = self.parts.iter().map(|part| part.2.sqrt()).fold(0.0, f64::max);
        let mean = |pick: fn(f64, f64) -> f64| pick(self.parts[0].1, self.parts[1].1);
        let mut low = mean(f64::min) - 9.0 * spread;
        let mut high = mean(f64::max) + 9.0 * spread;
        let likelier = self.parts[usize::from(self.parts[1].0 > self.parts[0].0)];
        let mut x = likelier.1 + likelier.2.sqrt() * unit.inverse_cdf(p);
        let mut last_off = f64::INFINITY;
        // Each round halves either the bracket or the miss.
        for _ in 0..100 {
            let off = self.below(x) - p;
            if off < 0.0 {
                low = x;
            } else {
                high = x;
            }
            let density: f64 =
                self.parts.iter().map(|&(w, mean, var)| w / var.sqrt() * unit.pdf((x - mean) / var.sqrt())).sum();
            let next = x - off / density;
            let is_good = next > low && next < high && off.abs() < 0.5 * last_off;
            last_off = off.abs();
            let next = if is_good { next } else { 0.5 * (low + high) };
            // Less than this does not show in grams.
            if (next - x).abs() < 1e-10 {
                return next;
            }
            x = next;
        }
        x
    }

    pub fn grams(&self, p: f64) -> f64 {
        self.log_quantile(p).exp()
    }

    /// Weights in grams at several chances.
    pub fn grams_at<const N: usize>(&self, chances: [f64; N]) -> [f64; N] {
        chances.map(|p| self.grams(p))
    }

    /// The forecast of what a scale will show, given the variance of a reading.
    pub fn of_reading(&self, reading_var: f64) -> Self {
        Self { parts: self.parts.map(|(w, mean, var)| (w, mean, var + reading_var)), ..*self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever the two parts look like, the chance of lying below the quantile is the one asked for.
    #[test]
    fn quantiles_are_the_inverse_of_the_chance_below() {
        for (weight, apart, sd) in
            [(0.0, 0.0, 0.01), (0.3, 0.4, 0.02), (0.5, 2.0, 0.05), (0.97, 0.2, 0.3), (0.02, 1.0, 0.01)]
        {
            let forecast =
                Forecast { hours: 24.0, parts: [(1.0 - weight, 6.0, 0.0004), (weight, 6.0 - apart, sd * sd)] };
            for p in [0.05, 0.25, 0.5, 0.75, 0.95] {
                let below = forecast.below(forecast.log_quantile(p));
                assert!((below - p).abs() < 1e-6, "{weight} {apart} {sd}: {below} for {p}");
            }
        }
    }
}
