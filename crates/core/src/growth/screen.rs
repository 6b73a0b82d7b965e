//! Slips of the finger and swapped pups, found before a reading is believed.

use super::kalman::Expected;

/// Share of readings that are slips, and how far (in log weight) slips scatter.
/// The share is an assumption; within a factor of three it moves the edge little.
const SLIPS: f64 = 0.01;
const SLIP_SCALE: f64 = 0.6;
/// Share of pairs in a session that were written down crosswise (assumption).
const SWAPS: f64 = 0.006;
/// A reading as far as this is not odd.
const FITS: f64 = 2.0;
const ODD: f64 = 2.5;

/// Why a reading may be wrong, in the order in which causes are tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    Tenfold,
    Digit,
    Transposed,
    Unit,
    WrongPup(usize),
    Tare,
    Unexplained,
}

/// A reading that is held back until it is weighed again, with what it may have been.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    pub cause: Cause,
    /// Corrected readings in grams that would fit, best cause first.
    pub candidates: Vec<(Cause, f64)>,
}

/// The chance that a reading is real, from the density that the filter gives it and the
/// density of slips (Cauchy about the expected weight).
pub fn p_real(density: f64, off: f64) -> f64 {
    let real = (1.0 - SLIPS) * density;
    let slip = SLIPS / (std::f64::consts::PI * SLIP_SCALE * (1.0 + (off / SLIP_SCALE).powi(2)));
    real / (real + slip)
}

/// Whether two readings fit better crosswise: `a` and `b` as expected, `ya` and `yb` as
/// written down.
pub fn swapped(a: Expected, ya: f64, b: Expected, yb: f64) -> bool {
    let log_fit = |e: Expected, y: f64| -0.5 * e.z(y).powi(2);
    let odd = a.z(ya).abs() > ODD || b.z(yb).abs() > ODD;
    let gain = log_fit(a, yb) + log_fit(b, ya) - log_fit(a, ya) - log_fit(b, yb);
    odd && gain > (1.0 / SWAPS).ln() + 1.0 && a.z(yb).abs() < ODD && b.z(ya).abs() < ODD
}

/// Lists what a doubtful reading may have been meant to be.
pub fn doubt(grams: f64, expected: Expected, mates: &[(usize, Expected)], tare_g: Option<f64>) -> Doubt {
    let fits = |g: f64| g > 0.0 && expected.z(g.ln()).abs() < FITS;
    let mut candidates = Vec::new();
    let mut add = |cause: Cause, g: f64| {
        if fits(g) && !candidates.iter().any(|&(_, other)| other == g) {
            candidates.push((cause, g));
        }
    };
    for factor in [0.1, 10.0] {
        add(Cause::Tenfold, grams * factor);
    }
    let digits = format!("{grams:.0}").into_bytes();
    let number = |d: &[u8]| d.iter().fold(0.0, |n, c| n * 10.0 + f64::from(c - b'0'));
    for at in 0..digits.len() {
        let mut fewer = digits.clone();
        fewer.remove(at);
        add(Cause::Digit, number(&fewer));
        let mut more = digits.clone();
        more.insert(at, digits[at]);
        add(Cause::Digit, number(&more));
    }
    for at in 1..digits.len() {
        let mut other = digits.clone();
        other.swap(at - 1, at);
        add(Cause::Transposed, number(&other));
    }
    // Grams in an ounce and in a pound (exact by definition, here to six digits).
    for factor in [28.3495, 1.0 / 28.3495, 453.592, 1.0 / 453.592] {
        add(Cause::Unit, grams * factor);
    }
    let typed = candidates.first().map(|&(cause, _)| cause);
    let wrong_pup = mates
        .iter()
        .filter(|(_, e)| e.z(grams.ln()).abs() < FITS)
        .min_by(|a, b| a.1.z(grams.ln()).abs().total_cmp(&b.1.z(grams.ln()).abs()))
        .map(|&(mate, _)| Cause::WrongPup(mate));
    let tare = tare_g.filter(|tare| (grams - expected.log_weight.exp() - tare).abs() <= 3.0);
    if let Some(tare) = tare {
        candidates.push((Cause::Tare, grams - tare));
    }
    let tare = tare.map(|_| Cause::Tare);
    let cause = typed.or(wrong_pup).or(tare).unwrap_or(Cause::Unexplained);
    Doubt { cause, candidates }
}
