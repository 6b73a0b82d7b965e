//! Energy of a growing dog after the milk weeks, by three published equations.
//!
//! Metabolisable kcal a day from body weight `W` and expected adult weight `A`, with p = W/A:
//! one household's pups need less than the oldest equation says, so the newest study of pet dogs
//! stands first and the other two beside it; two are never averaged.

use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, Kcal};

/// `(1.063 - 0.565 p)` MJ per kg^0.75.
const KLEIN_MJ: Sourced<(f64, f64)> = Sourced::new((1.063, 0.565), &source::GROWTH_ENERGY_KLEIN);
const KCAL_PER_MJ: f64 = 1000.0 / 4.184;
/// kcal per kg^0.75 below p 0.5, below 0.8, and after.
const FEDIAF: Sourced<[f64; 3]> = Sourced::new([210.0, 175.0, 140.0], &source::GROWTH_ENERGY_FEDIAF);
/// 130 x 3.2 x (exp(-0.87 p) - 0.1) kcal per kg^0.75.
const NRC: Sourced<[f64; 4]> = Sourced::new([130.0, 3.2, 0.87, 0.1], &source::GROWTH_ENERGY_NRC);
/// The equations are for pups that have left the milk; the first weeks follow the energy table.
pub const FROM_DAY: Sourced<i64> = Sourced::new(28, &source::GROWTH_ENERGY_FROM);

/// A published equation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Equation {
    /// 493 pet dogs from 8 weeks on; the one that is shown first.
    Klein,
    Fediaf,
    Nrc,
}

impl Equation {
    pub const ALL: [Self; 3] = [Self::Klein, Self::Fediaf, Self::Nrc];

    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Klein => "pet dogs, 2019",
            Self::Fediaf => "FEDIAF 2021",
            Self::Nrc => "NRC 2006",
        }
    }

    #[must_use]
    pub fn source(self) -> &'static Source {
        match self {
            Self::Klein => KLEIN_MJ.source,
            Self::Fediaf => FEDIAF.source,
            Self::Nrc => NRC.source,
        }
    }

    /// kcal a day. Valid from weaning to adult weight; above it as at adult weight.
    ///
    /// Formulas: the constants above, times `W^0.75` with W in kg.
    #[must_use]
    pub fn of_a_day(self, weight: Grams, adult: Grams) -> Kcal {
        let kg = weight.get() / 1000.0;
        let p = (weight / adult).min(1.0);
        let per_metabolic_kg = match self {
            Self::Klein => (KLEIN_MJ.value.0 - KLEIN_MJ.value.1 * p) * KCAL_PER_MJ,
            // The sides at exactly 0.5 and 0.8 are not printed: the lower step, against overfeeding.
            Self::Fediaf if p < 0.5 => FEDIAF.value[0],
            Self::Fediaf if p < 0.8 => FEDIAF.value[1],
            Self::Fediaf => FEDIAF.value[2],
            Self::Nrc => {
                let [base, factor, rate, less] = NRC.value;
                base * factor * ((-rate * p).exp() - less)
            }
        };
        Kcal::of(per_metabolic_kg * kg.powf(0.75))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kcal(equation: Equation, kg: f64, adult_kg: f64) -> f64 {
        equation.of_a_day(Grams::of(kg * 1000.0), Grams::of(adult_kg * 1000.0)).get()
    }

    #[test]
    fn published_growth_energy() {
        // Feeding handbook section 8, worked from the printed equations by hand, to 0.5 kcal.
        for (kg, adult, nrc, fediaf, klein) in [
            (0.5, 2.5, 183.1, 124.9, 135.0),
            (1.0, 5.0, 308.0, 210.0, 227.1),
            (5.0, 25.0, 1029.7, 702.2, 759.2),
            (6.0, 35.0, 1214.4, 805.1, 885.2),
            (5.0, 10.0, 761.2, 585.1, 623.7),
        ] {
            for (equation, expected) in [(Equation::Nrc, nrc), (Equation::Fediaf, fediaf), (Equation::Klein, klein)] {
                let got = kcal(equation, kg, adult);
                assert!((got - expected).abs() <= 0.5, "{equation:?} {kg} of {adult}: {got}, not {expected}");
            }
        }
    }

    #[test]
    fn published_multiples_of_the_oldest_equation() {
        // Section 6, W12: the multiples of 130 kcal as printed by Richardson et al. 2010, to one decimal.
        let printed = [(0.15, 2.5), (0.30, 2.1), (0.43, 1.9), (0.60, 1.6), (0.71, 1.4), (0.80, 1.3), (1.00, 1.0)];
        for (p, multiple) in printed {
            let got = kcal(Equation::Nrc, p * 10.0, 10.0) / (p * 10.0).powf(0.75) / 130.0;
            assert!((got - multiple).abs() < 0.05, "p {p}: {got}, not {multiple}");
        }
    }

    #[test]
    fn a_step_belongs_to_its_lower_side() {
        let per = |p: f64| kcal(Equation::Fediaf, p * 10.0, 10.0) / (p * 10.0).powf(0.75);
        assert!((per(0.499) - 210.0).abs() < 1e-9 && (per(0.5) - 175.0).abs() < 1e-9);
        assert!((per(0.799) - 175.0).abs() < 1e-9 && (per(0.8) - 140.0).abs() < 1e-9);
    }
}
