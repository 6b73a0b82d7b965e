//! How strong a milk is as it is fed, and what must be said of it.

use super::blend::NOT_COVERED;
use super::compare::TOO_THIN;
use super::composition::{BITCH, COW, Composition, ENERGY, GOAT, LABEL_ENERGY_OFF, PARTIAL_DENSITY};
use crate::record::{LabelSolids, Milk, MilkKind, PowderRecipe, Word};
use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, KcalPerMl, Millilitres, number};

/// Above the first the milk is called strong, above the second too strong.
pub const TOO_STRONG: Sourced<(f64, f64)> = Sourced::new((1.4, 1.6), &source::MILK_TOO_STRONG);

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

/// The parts of 100 g of a powder.
#[must_use]
pub fn powder_composition(solids: LabelSolids) -> Composition {
    Composition { water: solids.moisture, protein: solids.protein, fat: solids.fat, carbohydrate: carbohydrate(solids) }
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
    let mixed = by_analysis(milk);
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
            basis: if milk.recipe.is_some() {
                "worked out from the label's analysis and ratio"
            } else {
                "worked out from the label's analysis"
            },
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

/// Strength by the label's analysis, and by the ratio of a powder: kcal and mL of water in each mL.
fn by_analysis(milk: &Milk) -> Option<(f64, f64)> {
    let solids = milk.solids?;
    if milk.kind.is_fed_as_it_is() && milk.recipe.is_none() {
        let as_fed = powder_composition(solids);
        return Some((as_fed.kcal_per_ml(), as_fed.water_per_ml()));
    }
    let recipe = milk.recipe?;
    let volume = mixed_volume(recipe, Some(solids)).get();
    let kcal = recipe.powder.get() * powder_kcal_per_100g(solids) / 100.0;
    let water = recipe.water.get() + recipe.powder.get() * solids.moisture / 100.0;
    Some((kcal / volume, water / volume))
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
        MilkKind::HomeBlend => {
            note(
                "Home blend: a stop-gap until a milk replacer for puppies is in the house; not a complete food; beyond 48 h ask a vet.".into(),
                &source::STOP_GAP,
            );
            note(NOT_COVERED.into(), &source::NOT_COVERED);
        }
        _ => {}
    }
    if let (Some(label), Some((parts, _))) = (milk.label_strength, by_analysis(milk))
        && (label.get() / parts - 1.0).abs() > LABEL_ENERGY_OFF.value
    {
        let says = if milk.recipe.is_some() {
            format!(
                "The label says {label}, its analysis and ratio give {}: is the ratio by weight or by volume? Ask before mixing.",
                KcalPerMl::of(parts)
            )
        } else {
            format!(
                "The label says {label}, its analysis gives {}: is one of them of the powder, or of 100 g?",
                KcalPerMl::of(parts)
            )
        };
        note(says, LABEL_ENERGY_OFF.source);
    }
    if let Some(strength) = strength {
        let kcal = strength.kcal_per_ml.get();
        let (strong, too_strong) = TOO_STRONG.value;
        // Of plain milk it is said above.
        let is_plain = matches!(milk.kind, MilkKind::Goat | MilkKind::GoatPowder | MilkKind::Cow);
        if kcal < TOO_THIN.value && !is_plain {
            note(
                format!(
                    "At {} it is thin: {} % of bitch's milk. It takes more feeds; was a ratio by weight taken by volume?",
                    strength.kcal_per_ml,
                    number(100.0 * kcal / BITCH.value.kcal_per_ml(), 0, false)
                ),
                TOO_THIN.source,
            );
        }
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
    use crate::record::LabelMore;

    fn label_x() -> LabelSolids {
        LabelSolids { protein: 30.0, fat: 26.0, fibre: 0.1, ash: 6.5, moisture: 4.0 }
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
                more: LabelMore::default(),
                water_temperature: None,
                keeps: None,
                contains: Vec::new(),
                price_per_kg: None,
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
            more: LabelMore::default(),
            water_temperature: None,
            keeps: None,
            contains: vec![Word::CookedEgg],
            price_per_kg: None,
        };
        assert!(notes(&blend, strength(&blend))[0].says.contains("not a complete food; beyond 48 h ask a vet"));
        assert!(refused(&blend).is_none());
        assert!(refused(&Milk { contains: vec![Word::Honey], ..blend }).is_some());
    }
}
