//! A normal belief about the state, moved and corrected by the Kalman recursion.

use super::model::Step;

/// Numbers in the triangle of a symmetric matrix of four rows.
pub const TRIANGLE: usize = 10;
/// Where `(i, j)` and `(j, i)` stand in the triangle.
pub const fn place(i: usize, j: usize) -> usize {
    if i > j { i * (i + 1) / 2 + j } else { j * (j + 1) / 2 + i }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    pub mean: [f64; 4],
    /// The covariance, column by column down to the diagonal ([`place`]).
    pub cov: [f64; TRIANGLE],
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

    /// The density of a reading. With Gaussian tails it is zero beyond 38 standard deviations.
    #[inline(always)]
    pub fn density(&self, log_reading: f64, tails: Tails) -> f64 {
        const ROOT_TAU: f64 = 2.506_628_274_631_000_2;
        // With 6 degrees of freedom and unit variance the t density is
        // Gamma(3.5) / (Gamma(3) sqrt(4 pi)) (1 + z^2 / 4)^-3.5; the first part is 15/32.
        const T6: f64 = 15.0 / 32.0;
        let off = log_reading - self.log_weight;
        let z2 = off * off / self.var;
        match tails {
            Tails::Heavy => {
                let base = 1.0 + z2 / 4.0;
                T6 / (base * base * base * (base * self.var).sqrt())
            }
            Tails::Gaussian => (-0.5 * z2).exp() / (ROOT_TAU * self.var.sqrt()),
            Tails::Clipped => (-0.5 * z2.min(25.0)).exp() / (ROOT_TAU * self.var.sqrt()),
        }
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

impl Belief {
    /// `F m + shift` and `F P F' + times^2 Q`, with so many times the wander of the step. Only the
    /// rows of the weight and the wander of `F` differ from those of the unit matrix.
    #[inline(always)]
    pub fn predict(&self, step: &Step, times: f64) -> Self {
        let [_, to_b, to_u, to_d] = step.f[0];
        let [_, from_b, from_u, _] = step.f[2];
        let [m_l, m_b, m_u, m_d] = self.mean;
        let [ll, lb, bb, lu, bu, uu, ld, bd, ud, dd] = self.cov;
        // The row of the weight of F P.
        let weight = |of: [f64; 4]| of[0] + to_b * of[1] + to_u * of[2] + to_d * of[3];
        let (w_l, w_b, w_u, w_d) =
            (weight([ll, lb, lu, ld]), weight([lb, bb, bu, bd]), weight([lu, bu, uu, ud]), weight([ld, bd, ud, dd]));
        // The row of the wander of F P.
        let (v_b, v_u, v_d) = (from_b * bb + from_u * bu, from_b * bu + from_u * uu, from_b * bd + from_u * ud);
        let more = times * times;
        Self {
            mean: [
                weight([m_l, m_b, m_u, m_d]) + step.shift[0],
                m_b + step.shift[1],
                from_b * m_b + from_u * m_u + step.shift[2],
                m_d + step.shift[3],
            ],
            cov: [
                weight([w_l, w_b, w_u, w_d]) + more * step.q[0][0],
                w_b,
                bb,
                from_b * w_b + from_u * w_u + more * step.q[0][2],
                v_b,
                from_b * v_b + from_u * v_u + more * step.q[2][2],
                w_d,
                bd,
                v_d,
                dd,
            ],
        }
    }

    #[inline(always)]
    pub fn expect(&self, reading_var: f64) -> Expected {
        Expected { log_weight: self.mean[0], var: self.cov[0] + reading_var }
    }

    /// Corrects by a reading of the log weight, which is the first state alone: `P - c c' / var`,
    /// with `c` the first column of `P`. Its own row is written as a product of positive numbers, so
    /// that the variance of the weight cannot become negative.
    #[inline(always)]
    pub fn observe(&self, log_reading: f64, reading_var: f64) -> Self {
        let Expected { log_weight, var } = self.expect(reading_var);
        let [ll, lb, bb, lu, bu, uu, ld, bd, ud, dd] = self.cov;
        let (off, left) = ((log_reading - log_weight) / var, reading_var / var);
        let (gain_b, gain_u, gain_d) = (lb / var, lu / var, ld / var);
        let [m_l, m_b, m_u, m_d] = self.mean;
        Self {
            mean: [m_l + ll * off, m_b + lb * off, m_u + lu * off, m_d + ld * off],
            cov: [
                ll * left,
                lb * left,
                bb - gain_b * lb,
                lu * left,
                bu - gain_b * lu,
                uu - gain_u * lu,
                ld * left,
                bd - gain_b * ld,
                ud - gain_u * ld,
                dd - gain_d * ld,
            ],
        }
    }

    /// One normal with the mean and covariance of a mixture of two; the weights add up to one.
    #[inline(always)]
    pub fn mixed(&self, weight: f64, other: &Self, other_weight: f64) -> Self {
        let apart: [f64; 4] = std::array::from_fn(|i| self.mean[i] - other.mean[i]);
        let between = weight * other_weight;
        let mut cov = [0.0; TRIANGLE];
        for j in 0..4 {
            for i in 0..=j {
                let at = place(i, j);
                cov[at] = weight * self.cov[at] + other_weight * other.cov[at] + between * apart[i] * apart[j];
            }
        }
        Self { mean: std::array::from_fn(|i| weight * self.mean[i] + other_weight * other.mean[i]), cov }
    }

    /// Mean and variance of a linear form of the state.
    pub fn form(&self, row: &[f64; 4]) -> (f64, f64) {
        let mean = (0..4).map(|i| row[i] * self.mean[i]).sum();
        let var = (0..4).map(|i| row[i] * (0..4).map(|j| row[j] * self.cov[place(i, j)]).sum::<f64>()).sum();
        (mean, var)
    }
}
