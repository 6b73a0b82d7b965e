//! The milk that a dam is expected to give, as a range: the published formula is right for one
//! breed that was measured and 80 % too high for another.

use crate::references::{self as source, Source, Sourced};
use crate::units::Grams;

/// Litres to day 45 for each kg of dam: up to 8 kg, under 25 kg, from 25 kg on.
const BY_WEIGHT: Sourced<[f64; 3]> = Sourced::new([1.6, 1.8, 2.0], &source::DAM_YIELD);
/// The weights at which that changes, kg.
const STEPS_KG: Sourced<[f64; 2]> = Sourced::new([8.0, 25.0], &source::DAM_YIELD);
/// Litres for each kg of dam and each pup above four, or less below.
const BY_PUP: Sourced<f64> = Sourced::new(0.1, &source::DAM_YIELD);
/// The day of most milk, as a share of the total.
const PEAK: Sourced<f64> = Sourced::new(0.04, &source::DAM_YIELD);
/// SD of the logarithm of the true yield about the formula, and its median against it.
const SPREAD: Sourced<(f64, f64)> = Sourced::new((0.75, 0.35), &source::DAM_YIELD_SPREAD);

/// Expected milk of a day.
#[derive(Debug, Clone, Copy)]
pub struct Yield {
    /// By the published formula, g a day.
    pub formula_g: f64,
    /// What we expect: middle and SD, g a day.
    pub mean_g: f64,
    pub sd_g: f64,
    /// Nine of ten dams, by our spread.
    pub low_g: f64,
    pub high_g: f64,
    pub source: &'static Source,
    pub spread_source: &'static Source,
}

/// Litres from the birth to day 45: `W k + (pups - 4) 0.1 W`.
///
/// Units: kg, pups -> L. Source: row `dam-yield`; its steps at 8 and 25 kg are in the source.
#[must_use]
pub fn total_yield_l(kg: f64, pups: usize) -> f64 {
    let [small, large] = STEPS_KG.value;
    let [a, b, c] = BY_WEIGHT.value;
    let k = if kg <= small {
        a
    } else if kg < large {
        b
    } else {
        c
    };
    #[expect(clippy::cast_precision_loss, reason = "at most 25 pups")]
    let pups = pups as f64;
    kg * k + (pups - 4.0) * BY_PUP.value * kg
}

/// The milk of a day: the formula's peak, by the published factor of the week, with our spread.
///
/// Units: g, nursing pups, age of the litter in days -> g a day (a mL counted as a g).
#[must_use]
pub fn expected_yield(weight: Grams, pups: usize, age_days: f64) -> Yield {
    let peak_g = total_yield_l(weight.get() / 1000.0, pups) * PEAK.value * 1000.0;
    let formula_g = peak_g * super::week_factor(age_days) / super::energy::WEEKS.value[3];
    let (median, log_sd) = SPREAD.value;
    let middle = formula_g * median;
    let at = |z: f64| middle * (log_sd * z).exp();
    let variance = log_sd * log_sd;
    let mean_g = middle * (variance / 2.0).exp();
    Yield {
        formula_g,
        mean_g,
        sd_g: mean_g * variance.exp_m1().sqrt(),
        low_g: at(-1.645),
        high_g: at(1.645),
        source: BY_WEIGHT.source,
        spread_source: SPREAD.source,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_total_yield() {
        // Feeding handbook section 6, W8 (Small Animal Clinical Nutrition, Table 15-8): 30 kg, 8 pups.
        assert!((total_yield_l(30.0, 8) - 72.0).abs() < 1e-9);
        assert!((total_yield_l(30.0, 8) * PEAK.value - 2.88).abs() < 1e-9);
        // Section 9: 12.7 kg, 6 pups 25.4 L; two pups at 10 kg 16 L.
        assert!((total_yield_l(12.7, 6) - 25.4).abs() < 1e-9);
        assert!((total_yield_l(10.0, 2) - 16.0).abs() < 1e-9);
        // Its steps, as in the source: peak at four pups.
        for (kg, peak) in [(8.0, 0.512), (8.1, 0.583), (24.9, 1.79), (25.0, 2.00)] {
            assert!((total_yield_l(kg, 4) * PEAK.value - peak).abs() < 0.004, "{kg}");
        }
    }

    #[test]
    fn published_yields_lie_in_the_range() {
        // Oftedal 1984: beagles (12.7 kg, 6 pups) 964 and 1054 g a day in weeks 3 and 4; the formula
        // alone is within a tenth. Rüsse 1961: 1700 g from a shepherd of 35 kg with 6 pups, weeks 3-4.
        let beagle = |days: f64| expected_yield(Grams::of(12_700.0), 6, days);
        for (days, measured) in [(19.0, 964.0), (26.0, 1054.0)] {
            let ours = beagle(days);
            assert!((ours.formula_g / measured - 1.0).abs() < 0.1, "{} against {measured}", ours.formula_g);
            assert!(ours.low_g < measured && measured < ours.high_g);
        }
        let large = expected_yield(Grams::of(35_000.0), 6, 24.0);
        assert!((large.formula_g / 1700.0 - 1.8).abs() < 0.05, "80 % too high: {}", large.formula_g);
        assert!(large.low_g < 1700.0 && 1700.0 < large.high_g, "{} to {}", large.low_g, large.high_g);
    }
}
