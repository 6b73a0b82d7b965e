//! What 100 g of a milk holds, and what follows from it: energy, density, water.

use crate::references::{self as source, Sourced};

/// Grams in 100 g of a milk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composition {
    pub water: f64,
    pub protein: f64,
    pub fat: f64,
    pub carbohydrate: f64,
}

/// Mature bitch's milk, days 7 to 37.
pub const BITCH: Sourced<Composition> =
    Sourced::new(Composition { water: 77.3, protein: 7.53, fat: 9.47, carbohydrate: 3.81 }, &source::BITCH_MILK);
/// Goat's milk, fluid.
pub const GOAT: Sourced<Composition> =
    Sourced::new(Composition { water: 87.0, protein: 3.56, fat: 4.14, carbohydrate: 4.45 }, &source::GOAT_MILK);
/// Cow's milk, whole.
pub const COW: Sourced<Composition> =
    Sourced::new(Composition { water: 88.1, protein: 3.27, fat: 3.20, carbohydrate: 4.63 }, &source::COW_MILK);

/// Densities of the parts of milk, g per mL: water, protein, fat, carbohydrate, rest.
pub const PARTIAL_DENSITY: Sourced<[f64; 5]> = Sourced::new([0.9982, 1.40, 0.918, 1.78, 1.85], &source::MILK_DENSITY);
/// Metabolisable energy, kcal per g: protein, fat, carbohydrate.
pub(super) const ENERGY: Sourced<[f64; 3]> = Sourced::new([4.0, 9.0, 4.0], &source::ENERGY_CONVENTION);
/// Stated energy may differ from its parts by this share.
pub const LABEL_ENERGY_OFF: Sourced<f64> = Sourced::new(0.15, &source::LABEL_ENERGY);

impl Composition {
    /// Metabolisable energy of 100 g in kcal: 4 × protein + 9 × fat + 4 × carbohydrate.
    #[must_use]
    pub fn kcal_per_100g(self) -> f64 {
        let [p, f, c] = ENERGY.value;
        p * self.protein + f * self.fat + c * self.carbohydrate
    }

    /// g per mL at 20 °C, from the partial densities of water and solids.
    #[must_use]
    pub fn density(self) -> f64 {
        let rest = 100.0 - self.water - self.protein - self.fat - self.carbohydrate;
        let parts = [self.water, self.protein, self.fat, self.carbohydrate, rest];
        100.0 / parts.iter().zip(PARTIAL_DENSITY.value).map(|(g, density)| g / density).sum::<f64>()
    }

    #[must_use]
    pub fn kcal_per_ml(self) -> f64 {
        self.kcal_per_100g() * self.density() / 100.0
    }

    /// mL of water in each mL of milk.
    #[must_use]
    pub fn water_per_ml(self) -> f64 {
        self.water / 100.0 * self.density()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_milk_energy() {
        // Handbook milk.md checks 1 and 2 (FEDIAF 4/9/4 on Oftedal, USDA rows, read).
        let check = |c: Composition, expected: f64| assert!((c.kcal_per_100g() - expected).abs() < 0.006, "{expected}");
        check(BITCH.value, 130.59);
        check(GOAT.value, 69.30);
        check(COW.value, 60.40);
        check(Composition { water: 74.0, protein: 6.81, fat: 7.56, carbohydrate: 10.04 }, 135.44);
    }

    #[test]
    fn published_density() {
        // Handbook milk.md checks 7 and 8; USDA cup weights (read): cow and goat 1.031, within 0.3 %.
        assert!((BITCH.value.density() - 1.038_47).abs() < 5e-5);
        assert!((COW.value.density() - 1.0297).abs() < 5e-5);
        assert!((GOAT.value.density() - 1.0291).abs() < 5e-5);
        assert!((BITCH.value.kcal_per_ml() - 1.356).abs() < 1e-3);
        for milk in [COW, GOAT] {
            assert!((milk.value.density() / (244.0 / 236.588) - 1.0).abs() < 0.003);
        }
    }
}
