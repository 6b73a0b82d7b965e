//! A normal belief about the state, moved and corrected by the Kalman recursion.

use nalgebra::{Matrix4, Vector4};

use super::model::Step;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    pub mean: Vector4<f64>,
    pub cov: Matrix4<f64>,
}

/// What a reading was expected to be, before it was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    pub log_weight: f64,
    /// Variance of the reading, its own noise included.
    pub var: f64,
}

impl Expected {
    pub fn z(&self, log_reading: f64) -> f64 {
        (log_reading - self.log_weight) / self.var.sqrt()
    }

    /// The normal density of a reading.
    pub fn density(&self, log_reading: f64) -> f64 {
        const ROOT_TAU: f64 = 2.506_628_274_631_000_2;
        (-0.5 * self.z(log_reading).powi(2)).exp() / (ROOT_TAU * self.var.sqrt())
    }

    pub fn log_density(&self, log_reading: f64, tails: Tails) -> f64 {
        tails.log_density(self.z(log_reading)) - 0.5 * self.var.ln()
    }
}

/// How surprising a far reading is, when it votes on the mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Tails {
    /// Student t with 6 degrees of freedom, scaled to unit variance.
    #[default]
    Heavy,
    Gaussian,
    /// Gaussian, but no reading counts as further off than five standard deviations: for
    /// judging how large the noise is.
    Clipped,
}

impl Tails {
    fn log_density(self, z: f64) -> f64 {
        // ln Gamma(3.5) - ln Gamma(3) - 0.5 ln(4 pi): with 6 degrees of freedom and unit
        // variance the t density is Gamma(3.5) / (Gamma(3) sqrt(4 pi)) (1 + z^2 / 4)^-3.5.
        const T6: f64 = -0.757_685_701_697_516_5;
        const LN_SQRT_TAU: f64 = 0.918_938_533_204_672_8;
        match self {
            Tails::Heavy => T6 - 3.5 * (z * z / 4.0).ln_1p(),
            Tails::Gaussian => -LN_SQRT_TAU - 0.5 * z * z,
            Tails::Clipped => -LN_SQRT_TAU - 0.5 * (z * z).min(25.0),
        }
    }
}

impl Belief {
    /// `F m + shift` and `F P F' + Q`. Only the rows of the weight and the wander of `F` differ from
    /// those of the unit matrix, so most products are left out.
    pub fn predict(&self, step: &Step) -> Self {
        let f = &step.f;
        let (f01, f02, f03, f21, f22) = (f[(0, 1)], f[(0, 2)], f[(0, 3)], f[(2, 1)], f[(2, 2)]);
        let weight = |row: Vector4<f64>| row[0] + f01 * row[1] + f02 * row[2] + f03 * row[3];
        let wander = |row: Vector4<f64>| f21 * row[1] + f22 * row[2];
        let (m, p) = (self.mean, &self.cov);
        let mean = Vector4::new(weight(m), m[1], wander(m), m[3]) + step.shift;
        // Columns of F P, then of F P F'; the covariance is symmetric.
        let half: [Vector4<f64>; 4] = std::array::from_fn(|j| {
            let column = p.column(j).into_owned();
            Vector4::new(weight(column), column[1], wander(column), column[3])
        });
        let all = half[0] + half[1] * f01 + half[2] * f02 + half[3] * f03;
        let cov = Matrix4::from_columns(&[all, half[1], half[1] * f21 + half[2] * f22, half[3]]) + step.q;
        Self { mean, cov }
    }

    pub fn expect(&self, reading_var: f64) -> Expected {
        Expected { log_weight: self.mean[0], var: self.cov[(0, 0)] + reading_var }
    }

    /// Corrects by a reading of the log weight. This is the Joseph form written out for a reading of
    /// the first state alone, so that the covariance stays symmetric and positive.
    pub fn observe(&self, log_reading: f64, reading_var: f64) -> Self {
        let expected = self.expect(reading_var);
        let with_weight = self.cov.column(0).into_owned();
        let gain = with_weight / expected.var;
        let mut cov = self.cov;
        for j in 0..4 {
            for i in 0..4 {
                cov[(i, j)] += gain[i] * gain[j] * expected.var - gain[i] * with_weight[j] - with_weight[i] * gain[j];
            }
        }
        Self { mean: self.mean + gain * (log_reading - expected.log_weight), cov }
    }

    /// One normal with the mean and covariance of a weighted mixture.
    pub fn merge<'a>(parts: impl Iterator<Item = (f64, &'a Belief)> + Clone) -> Self {
        let total: f64 = parts.clone().map(|(w, _)| w).sum();
        let mut mean = Vector4::zeros();
        for (w, part) in parts.clone() {
            mean += part.mean * (w / total);
        }
        let mut cov = Matrix4::zeros();
        for (w, part) in parts {
            let apart = part.mean - mean;
            cov += (part.cov + apart * apart.transpose()) * (w / total);
        }
        Self { mean, cov }
    }
}
