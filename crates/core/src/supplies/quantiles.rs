//! Quantiles of a simulation with the error of the simulation itself.

use statrs::distribution::{Binomial, DiscreteCDF};

/// One quantile, with the 95 % interval in which that of endless draws would lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Chance that the interval misses.
const MISSES: f64 = 0.05;

/// Ranks, from 1, of the quantile and of both ends of its interval among so many sorted draws.
///
/// How many of `n` draws lie below the true quantile is binomial(n, p), whatever is drawn: the ends
/// are its 2.5 % point and one above its 97.5 % point (order statistics, no normal approximation).
///
/// # Panics
/// A share that is not between 0 and 1.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "ranks of at most some hundred thousand draws"
)]
pub fn ranks(p: f64, n: usize) -> [usize; 3] {
    let below = Binomial::new(p, n as u64).expect("a chance between 0 and 1");
    let low = below.inverse_cdf(MISSES / 2.0) as usize;
    let high = below.inverse_cdf(1.0 - MISSES / 2.0) as usize + 1;
    let middle = (p * n as f64 - 1e-9).ceil() as usize;
    [middle.clamp(1, n), low.clamp(1, n), high.clamp(1, n)]
}

/// The quantile of sorted draws: the smallest draw that at least the share `p` does not exceed.
///
/// # Panics
/// No draw at all, or a share that is not between 0 and 1.
#[must_use]
pub fn quantile(sorted: &[f64], p: f64) -> Quantile {
    let [value, low, high] = ranks(p, sorted.len()).map(|rank| sorted[rank - 1]);
    Quantile { value, low, high }
}
