//! Slips of the finger and swapped pups, found before a reading is believed.
//!
//! This is the only screening: what is odd is decided by the filter's own expectation, and the
//! likely cause is looked for among the digits as they were typed.

use super::kalman::Expected;
use crate::units::{GRAMS_PER_OUNCE, GRAMS_PER_POUND, Grams, WeightUnit};

/// Share of readings that are slips, and how far (in log weight) slips scatter.
/// The share is an assumption; within a factor of three it moves the edge little.
const SLIPS: f64 = 0.01;
const SLIP_SCALE: f64 = 0.6;
/// Share of pairs in a session that were written down crosswise (assumption).
const SWAPS: f64 = 0.006;
/// A reading as far as this is not odd.
const FITS: f64 = 2.0;
const ODD: f64 = 2.5;
/// A reading this close to a mate's last weight may be the mate's.
const AS_MATE: f64 = 0.02;
/// No living pup loses more than this share between two weighings (own judgement): a slip.
const MOST_LOST: f64 = 1.0 / 3.0;
/// A towel or bowl is recognised within this many grams.
const TARE_WITHIN_G: f64 = 3.0;

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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    pub cause: Cause,
    /// What was meant in grams, were the cause right.
    pub meant_g: Option<f64>,
}

impl Doubt {
    /// A loss that may be true, so that the published limits act on it at once.
    pub fn may_be_a_loss(&self, grams: f64, last_g: f64, expected: Expected) -> bool {
        let is_loss = grams.ln() < expected.log_weight;
        self.cause == Cause::Unexplained && is_loss && grams >= (1.0 - MOST_LOST) * last_g
    }
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

/// A litter-mate that was not weighed in this session yet.
#[derive(Clone, Copy, Debug)]
pub struct Mate {
    pub pup: usize,
    pub expected: Expected,
    pub last_g: f64,
}

/// Finds what a doubtful reading may have been meant to be: the first cause that fits.
pub fn doubt(
    grams: f64,
    written: Option<(&str, WeightUnit)>,
    expected: Expected,
    mates: &[Mate],
    tare_g: Option<f64>,
) -> Doubt {
    let fits = |g: &f64| *g > 0.0 && g.is_finite() && expected.z(g.ln()).abs() < FITS;
    let meant = |cause: Cause, g: f64| Doubt { cause, meant_g: Some(g) };
    if let Some(g) = [grams * 10.0, grams / 10.0].into_iter().find(fits) {
        return meant(Cause::Tenfold, g);
    }
    let shown = grams.to_string();
    let (text, unit) = written.unwrap_or((&shown, WeightUnit::Gram));
    let typed = |texts: Vec<String>| texts.iter().filter_map(|t| unit.parse(t).ok()).map(Grams::get).find(fits);
    if let Some(g) = typed(one_digit_changed(text)) {
        return meant(Cause::Digit, g);
    }
    if let Some(g) = typed(neighbours_exchanged(text)) {
        return meant(Cause::Transposed, g);
    }
    let units = [grams * GRAMS_PER_OUNCE, grams / GRAMS_PER_OUNCE, grams * GRAMS_PER_POUND, grams / GRAMS_PER_POUND];
    if let Some(g) = units.into_iter().find(fits) {
        return meant(Cause::Unit, g);
    }
    let is_mates = |m: &&Mate| (grams / m.last_g - 1.0).abs() <= AS_MATE || m.expected.z(grams.ln()).abs() < FITS;
    let off = |m: &Mate| m.expected.z(grams.ln()).abs();
    if let Some(mate) = mates.iter().filter(is_mates).min_by(|a, b| off(a).total_cmp(&off(b))) {
        return Doubt { cause: Cause::WrongPup(mate.pup), meant_g: None };
    }
    if let Some(tare) = tare_g.filter(|tare| (grams - expected.log_weight.exp() - tare).abs() <= TARE_WITHIN_G) {
        return meant(Cause::Tare, grams - tare);
    }
    Doubt { cause: Cause::Unexplained, meant_g: None }
}

/// Texts with one digit left out, or with one more digit anywhere, which is seldom a doubled one.
fn one_digit_changed(typed: &str) -> Vec<String> {
    let mut texts = Vec::new();
    for (i, _) in typed.char_indices().filter(|(_, c)| c.is_ascii_digit()) {
        let (before, after) = typed.split_at(i);
        texts.push(format!("{before}{}", &after[1..]));
    }
    let doubled = |before: &str, digit: char| before.ends_with(digit);
    let mut any = Vec::new();
    for at in 0..=typed.len() {
        let Some((before, after)) = typed.split_at_checked(at) else { continue };
        let beside_digit =
            before.ends_with(|c: char| c.is_ascii_digit()) || after.starts_with(|c: char| c.is_ascii_digit());
        for digit in ('0'..='9').filter(|d| beside_digit && (*d != '0' || !before.is_empty())) {
            let text = format!("{before}{digit}{after}");
            if doubled(before, digit) { texts.push(text) } else { any.push(text) }
        }
    }
    texts.extend(any);
    texts
}

/// Texts with two neighbouring digits exchanged.
fn neighbours_exchanged(typed: &str) -> Vec<String> {
    let chars: Vec<char> = typed.chars().collect();
    (1..chars.len())
        .filter(|&i| chars[i].is_ascii_digit() && chars[i - 1].is_ascii_digit() && chars[i] != chars[i - 1])
        .map(|i| {
            let mut swapped = chars.clone();
            swapped.swap(i - 1, i);
            swapped.into_iter().collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_varied_one_at_a_time() {
        assert!(one_digit_changed("254").contains(&"24".to_owned()));
        assert!(one_digit_changed("254").contains(&"2554".to_owned()));
        assert!(one_digit_changed("54").contains(&"254".to_owned()));
        assert!(!one_digit_changed("54").contains(&"054".to_owned()));
        assert_eq!(neighbours_exchanged("254"), ["524", "245"]);
    }

    #[test]
    fn digits_are_varied_in_the_unit_that_was_typed() {
        // 14.1 oz is 399.7 g; 41.1 oz has its first digits exchanged, 1165 g as typed.
        let expected = Expected { log_weight: 400.0_f64.ln(), var: 0.0004 };
        let found = doubt(41.1 * GRAMS_PER_OUNCE, Some(("41.1", WeightUnit::Ounce)), expected, &[], None);
        assert_eq!(found.cause, Cause::Transposed);
        assert!((found.meant_g.unwrap() - 14.1 * GRAMS_PER_OUNCE).abs() <= 0.0005, "to the milligram");
    }
}
