//! What is in a milk: energy, density and water, from its composition or its label.
//!
//! One energy convention throughout: metabolisable, 4 kcal per g protein, 9 per g fat and
//! 4 per g carbohydrate (`references::ENERGY_CONVENTION`). Gross energy is never mixed in.

use crate::record::{LabelSolids, Milk, MilkKind, PowderRecipe, Word};
use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, KcalPerMl, Millilitres};

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
const PARTIAL_DENSITY: Sourced<[f64; 5]> = Sourced::new([0.9982, 1.40, 0.918, 1.78, 1.85], &source::MILK_DENSITY);
/// Metabolisable energy, kcal per g: protein, fat, carbohydrate.
const ENERGY: Sourced<[f64; 3]> = Sourced::new([4.0, 9.0, 4.0], &source::ENERGY_CONVENTION);
/// Above the first the milk is called strong, above the second too strong.
const TOO_STRONG: Sourced<(f64, f64)> = Sourced::new((1.4, 1.6), &source::MILK_TOO_STRONG);

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

/// Energy of 100 g of a powder from its label, in kcal; carbohydrate is what is left over.
#[must_use]
pub fn powder_kcal_per_100g(solids: LabelSolids) -> f64 {
    let [p, f, c] = ENERGY.value;
    p * solids.protein + f * solids.fat + c * carbohydrate(solids)
}

/// Nitrogen-free extract: 100 - moisture - protein - fat - fibre - ash.
fn carbohydrate(solids: LabelSolids) -> f64 {
    100.0 - solids.moisture - solids.protein - solids.fat - solids.fibre - solids.ash
}

/// mL that one gram of a powder adds to the water it is mixed into.
#[must_use]
pub fn powder_ml_per_g(solids: Option<LabelSolids>) -> f64 {
    match solids {
        Some(s) => {
            let parts = [s.moisture, s.protein, s.fat, carbohydrate(s), s.ash + s.fibre];
            parts.iter().zip(PARTIAL_DENSITY.value).map(|(g, density)| g / density).sum::<f64>() / 100.0
        }
        // Dried whole milk and a label of a real replacer lie at 0.752 and 0.761 (milk handbook section 7).
        None => POWDER_ML_PER_G.value,
    }
}

const POWDER_ML_PER_G: Sourced<f64> = Sourced::new(0.755, &source::MILK_DENSITY);

/// The volume that a recipe makes.
#[must_use]
pub fn mixed_volume(recipe: PowderRecipe, solids: Option<LabelSolids>) -> Millilitres {
    recipe.water + Millilitres::of(recipe.powder.get() * powder_ml_per_g(solids))
}

/// The strength of a milk as it is fed.
#[derive(Debug, Clone, Copy)]
pub struct Strength {
    pub kcal_per_ml: KcalPerMl,
    /// mL of water in each mL.
    pub water_per_ml: f64,
    /// Where the figure comes from, in words.
    pub basis: &'static str,
    pub source: &'static Source,
}

/// How strong a milk is: by its label, else from the powder's analysis and ratio, else from
/// the published composition of its kind. None when none of these is known.
#[must_use]
pub fn strength(milk: &Milk) -> Option<Strength> {
    let mixed = milk.recipe.zip(milk.solids).map(|(recipe, solids)| {
        let volume = mixed_volume(recipe, Some(solids)).get();
        let kcal = recipe.powder.get() * powder_kcal_per_100g(solids) / 100.0;
        let water = recipe.water.get() + recipe.powder.get() * solids.moisture / 100.0;
        (kcal / volume, water / volume)
    });
    if let Some(label) = milk.label_strength {
        // Dry matter of milk carries about as much energy in any milk as in a bitch's.
        let kcal_per_g_dry = BITCH.value.kcal_per_100g() / (100.0 - BITCH.value.water);
        let water_per_ml = mixed.map_or((1.03 - label.get() / kcal_per_g_dry).clamp(0.5, 1.0), |m| m.1);
        return Some(Strength { kcal_per_ml: label, water_per_ml, basis: "label", source: &source::ENERGY_CONVENTION });
    }
    if let Some((kcal, water_per_ml)) = mixed {
        return Some(Strength {
            kcal_per_ml: KcalPerMl::new(kcal).ok()?,
            water_per_ml,
            basis: "worked out from the label's analysis and ratio",
            source: &source::ENERGY_CONVENTION,
        });
    }
    let known = match milk.kind {
        MilkKind::Bitch => BITCH,
        MilkKind::Goat => GOAT,
        MilkKind::Cow => COW,
        _ => return None,
    };
    Some(Strength {
        kcal_per_ml: KcalPerMl::of(known.value.kcal_per_ml()),
        water_per_ml: known.value.water_per_ml(),
        basis: "published composition",
        source: known.source,
    })
}

/// Something to say of a milk, each time that it is planned with.
#[derive(Debug, Clone)]
pub struct MilkNote {
    pub says: String,
    pub source: &'static Source,
}

/// What must be said of this milk.
#[must_use]
pub fn notes(milk: &Milk, strength: Option<Strength>) -> Vec<MilkNote> {
    let mut notes = Vec::new();
    let mut note = |says: String, source| notes.push(MilkNote { says, source });
    match milk.kind {
        MilkKind::Goat | MilkKind::GoatPowder => note(
            "Goat's milk is about as thin and as sugary as cow's milk: nearly the same lactose, half the energy of bitch's milk.".into(),
            GOAT.source,
        ),
        MilkKind::Cow => note(
            "Cow's milk is thin and sugary: half the energy and over twice the lactose of bitch's milk for the same energy. Use a milk replacer for puppies.".into(),
            COW.source,
        ),
        MilkKind::HomeBlend => note(
            "Home blend: a stop-gap until a milk replacer for puppies is in the house; not a complete food; beyond 48 h ask a vet.".into(),
            &source::STOP_GAP,
        ),
        _ => {}
    }
    if let Some(strength) = strength {
        let kcal = strength.kcal_per_ml.get();
        let (strong, too_strong) = TOO_STRONG.value;
        if kcal > strong {
            let much = if kcal > too_strong { "far " } else { "" };
            note(
                format!(
                    "At {} it is {much}stronger than bitch's milk: was the label's ratio by volume and not by weight?",
                    strength.kcal_per_ml
                ),
                TOO_STRONG.source,
            );
        }
    }
    notes
}

/// Why a milk is not planned with, if it is left out: raw egg, raw milk, honey.
#[must_use]
pub fn refused(milk: &Milk) -> Option<MilkNote> {
    let bad: Vec<String> = milk
        .contains
        .iter()
        .filter(|w| matches!(w, Word::RawEgg | Word::RawMilk | Word::Honey))
        .map(|w| w.text().replace('_', " "))
        .collect();
    (!bad.is_empty()).then(|| MilkNote {
        says: format!("{} holds {}: no amount is planned with it", milk.id, bad.join(", ")),
        source: &source::STOP_GAP,
    })
}

/// Powder and water for a volume, by the label's ratio.
#[must_use]
pub fn powder_and_water(
    recipe: PowderRecipe,
    solids: Option<LabelSolids>,
    volume: Millilitres,
) -> (Grams, Millilitres) {
    let share = volume / mixed_volume(recipe, solids);
    (recipe.powder * share, recipe.water * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn label_x() -> LabelSolids {
        LabelSolids { protein: 30.0, fat: 26.0, fibre: 0.1, ash: 6.5, moisture: 4.0 }
    }

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

    #[test]
    fn published_by_weight_trap() {
        // Handbook milk.md checks 5 and 9 and section 7 (label X: 10 g + 20 mL by weight, read).
        assert!((powder_kcal_per_100g(label_x()) - 487.6).abs() < 0.05);
        let mixed = |water: f64| {
            let recipe = PowderRecipe { powder: Grams::of(10.0), water: Millilitres::of(water), scoop: None };
            let milk = Milk {
                id: "x".into(),
                kind: MilkKind::PuppyPowder,
                in_use: true,
                label_strength: None,
                recipe: Some(recipe),
                solids: Some(label_x()),
                water_temperature: None,
                keeps: None,
                contains: Vec::new(),
            };
            (mixed_volume(recipe, Some(label_x())).get(), milk)
        };
        let (volume, milk) = mixed(20.0);
        assert!((volume - 27.609).abs() < 5e-4);
        let by_weight = strength(&milk).unwrap();
        assert!((by_weight.kcal_per_ml.get() - 1.7661).abs() < 5e-5);
        assert!(notes(&milk, Some(by_weight)).iter().any(|n| n.says.contains("far stronger")));
        for (water, kcal) in [(25.0, 1.50), (30.0, 1.30), (35.0, 1.14), (40.0, 1.02)] {
            let (_, milk) = mixed(water);
            assert!((strength(&milk).unwrap().kcal_per_ml.get() - kcal).abs() < 0.006, "{water} mL");
        }
    }

    #[test]
    fn a_home_blend_carries_its_heading() {
        let blend = Milk {
            id: "blend".into(),
            kind: MilkKind::HomeBlend,
            in_use: true,
            label_strength: Some(KcalPerMl::of(1.2)),
            recipe: None,
            solids: None,
            water_temperature: None,
            keeps: None,
            contains: vec![Word::CookedEgg],
        };
        assert!(notes(&blend, strength(&blend))[0].says.contains("not a complete food; beyond 48 h ask a vet"));
        assert!(refused(&blend).is_none());
        assert!(refused(&Milk { contains: vec![Word::Honey], ..blend }).is_some());
    }
}
