//! How noisy this household is, learned from its own readings.
//!
//! The same filter runs at every point of a small grid of noise levels. All pups of a
//! household vote with the likelihood of each reading, so that a week of one litter is
//! enough to tell a coarse scale from a fine one. Everything shown is the average over the
//! grid by these votes.

use crate::record::Taken;

/// Noise of one reading, relative to the weight, before the scale's own part (stomach,
/// bladder, a pup that moves).
const READING: [f64; 4] = [0.0095, 0.0140, 0.0205, 0.0300];
/// Wander of the growth rate, against the standing value of the model.
const WANDER: [f64; 3] = [0.65, 1.0, 1.55];
pub const POINTS: usize = READING.len() * WANDER.len();

/// Before any reading: centre and log-SD (assumption: gut fill 1.6 %, from a stomach of
/// 2-4 mL per 100 g that is full or empty).
const READING_PRIOR: (f64, f64) = (0.016, 0.45);
const WANDER_PRIOR: (f64, f64) = (1.0, 0.40);

/// Noise of the scale itself in grams, besides its step (assumption).
const SCALE_SD_G: f64 = 0.8;

/// How far a reading is off the weight with half a feed inside: half of 2 mL/100 g.
pub fn shift(taken: Taken) -> f64 {
    match taken {
        Taken::Unknown => 0.0,
        Taken::BeforeFeed => -0.010,
        Taken::AfterFeed => 0.010,
    }
}

/// A known state of the stomach halves the noise of a reading.
fn share(taken: Taken) -> f64 {
    if taken == Taken::Unknown { 1.0 } else { 0.5 }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    pub reading: f64,
    pub wander: f64,
}

impl Level {
    /// Variance of the log of one reading, of which the scale has its share.
    pub fn reading_var(&self, taken: Taken, scale_var: f64) -> f64 {
        (self.reading * share(taken)).powi(2) + scale_var
    }
}

/// Share of the scale and its step in the variance of the log of a reading.
pub fn scale_var(weight_g: f64, scale_step_g: f64) -> f64 {
    (SCALE_SD_G.powi(2) + scale_step_g.powi(2) / 12.0) / weight_g.powi(2)
}

pub fn levels() -> [Level; POINTS] {
    std::array::from_fn(|i| Level { reading: READING[i / WANDER.len()], wander: WANDER[i % WANDER.len()] })
}

/// What is known of a household's noise. Keep it from one litter to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learned {
    log_votes: [f64; POINTS],
    /// Weight of each grid point by these votes, and the level in the middle of them.
    weights: [f64; POINTS],
    level: Level,
}

impl Default for Learned {
    fn default() -> Self {
        let off = |x: f64, (centre, sd): (f64, f64)| ((x / centre).ln() / sd).powi(2);
        Self::counted(levels().map(|l| -0.5 * (off(l.reading, READING_PRIOR) + off(l.wander, WANDER_PRIOR))))
    }
}

impl Learned {
    fn counted(log_votes: [f64; POINTS]) -> Self {
        let best = log_votes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let raw = log_votes.map(|v| (v - best).exp());
        let total: f64 = raw.iter().sum();
        let weights = raw.map(|w| w / total);
        // The geometric mean needs one logarithm for each row and column of the grid.
        let row = |i: usize| (0..WANDER.len()).map(|j| weights[i * WANDER.len() + j]).sum::<f64>();
        let column = |j: usize| (0..READING.len()).map(|i| weights[i * WANDER.len() + j]).sum::<f64>();
        let reading: f64 = (0..READING.len()).map(|i| row(i) * READING[i].ln()).sum();
        let wander: f64 = (0..WANDER.len()).map(|j| column(j) * WANDER[j].ln()).sum();
        Self { log_votes, weights, level: Level { reading: reading.exp(), wander: wander.exp() } }
    }

    pub fn vote(&mut self, log_likelihoods: &[f64; POINTS]) {
        *self = Self::counted(std::array::from_fn(|i| self.log_votes[i] + log_likelihoods[i]));
    }

    /// Weight of each grid point; they sum to one.
    pub fn weights(&self) -> [f64; POINTS] {
        self.weights
    }

    /// The level in the middle of what is still plausible (geometric mean).
    pub fn level(&self) -> Level {
        self.level
    }
}
