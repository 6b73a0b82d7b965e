//! Two beliefs, one per way of growing, weighed against each other by every reading
//! (interacting multiple models; Blom & Bar-Shalom 1988, citation from memory).

use super::kalman::{Belief, Expected, TRIANGLE, Tails, place};
use super::model::Step;
use super::noise::POINTS;

/// Switching rates per day: a healthy pup starts to falter, a faltering pup recovers
/// (assumption: about a fifth of pups falter once in three weeks, for four days).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Switching {
    pub starts: f64,
    pub ends: f64,
}

pub const SWITCHING: Switching = Switching { starts: 0.012, ends: 0.25 };

impl Switching {
    /// `[from][to]` over a gap in days, with 0 normal and 1 faltering.
    pub fn over(&self, gap: f64) -> [[f64; 2]; 2] {
        let start = 1.0 - (-self.starts * gap).exp();
        let end = 1.0 - (-self.ends * gap).exp();
        [[1.0 - start, start], [end, 1.0 - end]]
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoMode {
    /// Normal, then faltering.
    pub beliefs: [Belief; 2],
    pub p_faltering: f64,
}

impl TwoMode {
    #[inline(always)]
    pub fn p(&self) -> [f64; 2] {
        [1.0 - self.p_faltering, self.p_faltering]
    }

    /// Mixes the two beliefs by the chance of a switch, then moves each by its own step with so many
    /// times its wander.
    #[inline(always)]
    pub fn predict(&self, steps: &[Step; 2], switch: &[[f64; 2]; 2], times: f64) -> Self {
        let p = self.p();
        let [a, b] = &self.beliefs;
        let arrive = |to: usize| {
            let from = [p[0] * switch[0][to], p[1] * switch[1][to]];
            let total = from[0] + from[1];
            (total, a.mixed(from[0] / total, b, from[1] / total).predict(&steps[to], times))
        };
        let (_, normal) = arrive(0);
        let (p_faltering, faltering) = arrive(1);
        Self { beliefs: [normal, faltering], p_faltering }
    }

    #[inline(always)]
    pub fn expect(&self, reading_var: f64) -> [Expected; 2] {
        [self.beliefs[0].expect(reading_var), self.beliefs[1].expect(reading_var)]
    }

    /// Density of a reading over both modes.
    #[inline(always)]
    pub fn density(&self, log_reading: f64, reading_var: f64, tails: Tails) -> f64 {
        let (p, each) = (self.p(), self.expect(reading_var));
        p[0] * each[0].density(log_reading, tails) + p[1] * each[1].density(log_reading, tails)
    }

    /// Corrects both beliefs, and which of them is believed.
    #[inline(always)]
    pub fn observe(&self, log_reading: f64, reading_var: f64, tails: Tails) -> Self {
        let (p, each) = (self.p(), self.expect(reading_var));
        let w = [p[0] * each[0].density(log_reading, tails), p[1] * each[1].density(log_reading, tails)];
        Self {
            beliefs: [
                self.beliefs[0].observe(log_reading, reading_var),
                self.beliefs[1].observe(log_reading, reading_var),
            ],
            // Neither mode is ever ruled out for good.
            p_faltering: (w[1] / (w[0] + w[1])).clamp(1e-12, 1.0 - 1e-12),
        }
    }

    /// Both beliefs as one.
    pub fn merged(&self) -> Belief {
        let p = self.p();
        self.beliefs[0].mixed(p[0], &self.beliefs[1], p[1])
    }

    /// Mean and SD of a linear form of the state over both modes.
    pub fn form(&self, row: &[f64; 4]) -> (f64, f64) {
        let (mean, var) = self.merged().form(row);
        (mean, var.sqrt())
    }
}

/// Numbers of one belief, and of one pair of them.
const OF_ONE: usize = 4 + TRIANGLE;
const NUMBERS: usize = 2 * OF_ONE + 1;

/// The filter at every point of the grid of noise levels. Each number stands beside the same number
/// of the other points, so that the processor moves several points at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Bank {
    numbers: [[f64; POINTS]; NUMBERS],
}

impl Bank {
    #[inline(always)]
    pub fn of(point: impl Fn(usize) -> TwoMode) -> Self {
        let mut bank = Self { numbers: [[0.0; POINTS]; NUMBERS] };
        for i in 0..POINTS {
            bank.put(i, &point(i));
        }
        bank
    }

    /// Every point through one function of its number and its filter.
    #[inline(always)]
    pub fn map(&self, step: impl Fn(usize, TwoMode) -> TwoMode) -> Self {
        Self::of(|i| step(i, self.point(i)))
    }

    #[inline(always)]
    pub fn point(&self, i: usize) -> TwoMode {
        let belief = |start: usize| Belief {
            mean: std::array::from_fn(|n| self.numbers[start + n][i]),
            cov: std::array::from_fn(|n| self.numbers[start + 4 + n][i]),
        };
        TwoMode { beliefs: [belief(0), belief(OF_ONE)], p_faltering: self.numbers[NUMBERS - 1][i] }
    }

    #[inline(always)]
    fn put(&mut self, i: usize, filter: &TwoMode) {
        for (mode, belief) in filter.beliefs.iter().enumerate() {
            for n in 0..4 {
                self.numbers[mode * OF_ONE + n][i] = belief.mean[n];
            }
            for n in 0..TRIANGLE {
                self.numbers[mode * OF_ONE + 4 + n][i] = belief.cov[n];
            }
        }
        self.numbers[NUMBERS - 1][i] = filter.p_faltering;
    }

    /// One pair of beliefs with the moments of all, by the weight of each point.
    pub fn average(&self, weights: &[f64; POINTS]) -> TwoMode {
        let falters = &self.numbers[NUMBERS - 1];
        let belief = |start: usize, shares: &[f64; POINTS]| {
            let of = &self.numbers[start..start + OF_ONE];
            let total: f64 = shares.iter().sum();
            let mean: [f64; 4] = std::array::from_fn(|n| dot(shares, &of[n]) / total);
            let apart: [[f64; POINTS]; 4] = std::array::from_fn(|n| of[n].map(|m| m - mean[n]));
            let mut cov = [0.0; TRIANGLE];
            for j in 0..4 {
                for i in 0..=j {
                    let at = place(i, j);
                    let spread = std::array::from_fn(|k| of[4 + at][k] + apart[i][k] * apart[j][k]);
                    cov[at] = dot(shares, &spread) / total;
                }
            }
            Belief { mean, cov }
        };
        TwoMode {
            beliefs: [
                belief(0, &std::array::from_fn(|i| weights[i] * (1.0 - falters[i]))),
                belief(OF_ONE, &std::array::from_fn(|i| weights[i] * falters[i])),
            ],
            p_faltering: dot(weights, falters),
        }
    }

    /// What a reading was expected to be, by the weight of each point: over both modes, and of a pup
    /// that grows normally. `var` is that of the reading itself.
    pub fn expect(&self, weights: &[f64; POINTS], var: f64) -> (Expected, Expected) {
        let mode = |start: usize, p: &[f64; POINTS]| {
            let (means, vars) = (&self.numbers[start], &self.numbers[start + 4]);
            let total: f64 = p.iter().sum();
            let mean = p.iter().zip(means).map(|(p, m)| p * m).sum::<f64>() / total;
            let spread = |i: usize| p[i] * (vars[i] + (means[i] - mean).powi(2));
            (total, mean, (0..POINTS).map(spread).sum::<f64>() / total)
        };
        let falters = &self.numbers[NUMBERS - 1];
        let (p, mean, own) = mode(0, &std::array::from_fn(|i| weights[i] * (1.0 - falters[i])));
        let (q, slow, slow_own) = mode(OF_ONE, &std::array::from_fn(|i| weights[i] * falters[i]));
        let both = Expected {
            log_weight: p * mean + q * slow,
            var: p * own + q * slow_own + p * q * (mean - slow).powi(2) + var,
        };
        (both, Expected { log_weight: mean, var: own + var })
    }
}

/// In four sums, which the processor adds side by side.
fn dot(a: &[f64; POINTS], b: &[f64; POINTS]) -> f64 {
    const SIDE_BY_SIDE: usize = 4;
    const { assert!(POINTS.is_multiple_of(SIDE_BY_SIDE)) };
    let mut sums = [0.0; SIDE_BY_SIDE];
    for (a, b) in a.chunks_exact(SIDE_BY_SIDE).zip(b.chunks_exact(SIDE_BY_SIDE)) {
        for i in 0..SIDE_BY_SIDE {
            sums[i] += a[i] * b[i];
        }
    }
    sums.iter().sum()
}
