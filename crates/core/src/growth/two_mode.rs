//! Two beliefs, one per way of growing, weighed against each other by every reading
//! (interacting multiple models; Blom & Bar-Shalom 1988, citation from memory).

use super::kalman::{Belief, Expected, Tails};
use super::model::Step;

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
    pub fn p(&self) -> [f64; 2] {
        [1.0 - self.p_faltering, self.p_faltering]
    }

    /// Mixes the two beliefs by the chance of a switch, then moves each by its own step.
    pub fn predict(&self, steps: &[Step; 2], switch: &[[f64; 2]; 2]) -> Self {
        let p = self.p();
        let arrive = |to: usize| {
            let from = [p[0] * switch[0][to], p[1] * switch[1][to]];
            let mixed = Belief::merge(from.into_iter().zip(&self.beliefs));
            (from[0] + from[1], mixed.predict(&steps[to]))
        };
        let (_, normal) = arrive(0);
        let (p_faltering, faltering) = arrive(1);
        Self { beliefs: [normal, faltering], p_faltering }
    }

    pub fn expect(&self, reading_var: f64) -> [Expected; 2] {
        [self.beliefs[0].expect(reading_var), self.beliefs[1].expect(reading_var)]
    }

    /// Log density of a reading over both modes.
    pub fn log_density(&self, log_reading: f64, reading_var: f64, tails: Tails) -> f64 {
        let p = self.p();
        let each = self.expect(reading_var).map(|e| e.log_density(log_reading, tails));
        let best = each[0].max(each[1]);
        best + (p[0] * (each[0] - best).exp() + p[1] * (each[1] - best).exp()).ln()
    }

    /// Corrects both beliefs and returns the log density of the reading with the result.
    pub fn observe(&self, log_reading: f64, reading_var: f64, tails: Tails) -> (Self, f64) {
        let p = self.p();
        let each = self.expect(reading_var).map(|e| e.log_density(log_reading, tails));
        let best = each[0].max(each[1]);
        let w = [p[0] * (each[0] - best).exp(), p[1] * (each[1] - best).exp()];
        let total = w[0] + w[1];
        let next = Self {
            beliefs: self.beliefs.map(|b| b.observe(log_reading, reading_var)),
            // Neither mode is ever ruled out for good.
            p_faltering: (w[1] / total).clamp(1e-12, 1.0 - 1e-12),
        };
        (next, best + total.ln())
    }

    /// One pair of beliefs with the moments of a weighted set of pairs.
    pub fn average(weights: &[f64], all: &[TwoMode]) -> Self {
        let p_faltering = weights.iter().zip(all).map(|(w, m)| w * m.p_faltering).sum();
        let beliefs =
            [0, 1].map(|mode| Belief::merge(weights.iter().zip(all).map(|(w, m)| (w * m.p()[mode], &m.beliefs[mode]))));
        Self { beliefs, p_faltering }
    }

    /// Lets the weight be anything again, after a surprising reading was confirmed.
    pub fn reopen(&mut self, var: f64) {
        for b in &mut self.beliefs {
            b.cov[(0, 0)] += var;
        }
    }
}
