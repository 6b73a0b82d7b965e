//! Powder and water as a kitchen can measure them, and what strength that really gives.

use super::LARGEST_RATIO_ERROR;
use crate::limits;
use crate::milk::{self, powder_ml_per_g};
use crate::record::{Milk, PowderRecipe};
use crate::units::{Grams, KcalPerMl, Millilitres};

/// What the powder is measured with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// A scale that shows this step.
    Scale(Grams),
    /// Level scoops of this weight, whole or half.
    Scoop(Grams),
}

impl Measure {
    fn step(self) -> f64 {
        match self {
            Self::Scale(step) => step.get(),
            Self::Scoop(scoop) => scoop.get() / 2.0,
        }
    }
}

/// A mix in measurable amounts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portion {
    pub powder: Grams,
    pub scoops: Option<f64>,
    pub water: Millilitres,
    pub volume: Millilitres,
    /// Really obtained with these amounts; never above the label's.
    pub strength: Option<KcalPerMl>,
    /// The water is this much above the label's ratio, percent.
    pub thinner_percent: f64,
    /// So little as was wanted cannot be measured within a twentieth of the label: this is the
    /// smallest batch that can, and a part of it is used.
    pub is_more_than_wanted: bool,
}

/// At least the wanted volume: the powder goes up to the next step, the water follows the
/// powder that is really there and goes up to the next mark, so the mix is never stronger
/// than the label; and never so little that the steps of scale and syringe alone would change
/// the ratio by more than a twentieth.
#[must_use]
pub fn portion(milk: &Milk, recipe: PowderRecipe, wanted: Millilitres, measure: Measure) -> Portion {
    let (exact, _) = milk::powder_and_water(recipe, milk.solids, wanted);
    // A thousandth of a step is not worth another step.
    let fewest = (exact.get() / measure.step() - 1e-3).ceil().max(1.0);
    let mut steps = fewest;
    while ratio_error(recipe, measure, steps) > LARGEST_RATIO_ERROR.value + 1e-12 {
        steps += 1.0;
    }
    let powder = Grams::of(steps * measure.step());
    let (by_label, water) = water_for(recipe, powder);
    let volume = water + Millilitres::of(powder.get() * powder_ml_per_g(milk.solids));
    Portion {
        powder,
        scoops: match measure {
            Measure::Scale(_) => recipe.scoop.map(|scoop| powder / scoop),
            Measure::Scoop(scoop) => Some(powder / scoop),
        },
        water,
        volume,
        strength: kcal_per_g(milk, recipe).map(|kcal| KcalPerMl::of(kcal * powder.get() / volume.get())),
        thinner_percent: 100.0 * (water / by_label - 1.0),
        is_more_than_wanted: steps > fewest,
    }
}

/// By the label, and at the next mark of the syringe.
fn water_for(recipe: PowderRecipe, powder: Grams) -> (Millilitres, Millilitres) {
    let by_label = recipe.water * (powder / recipe.powder);
    let mark = limits::syringe_step(by_label);
    (by_label, Millilitres::of((by_label.get() / mark - 1e-9).ceil() * mark))
}

/// How far off the label so many steps of powder may be: half a step of the scale, or the water.
fn ratio_error(recipe: PowderRecipe, measure: Measure, steps: f64) -> f64 {
    let (by_label, water) = water_for(recipe, Grams::of(steps * measure.step()));
    let half_step = match measure {
        Measure::Scale(_) => 0.5 / steps,
        Measure::Scoop(_) => 0.0,
    };
    half_step.max(water / by_label - 1.0)
}

/// Energy of a gram of the powder: by the label's strength, else by its analysis.
fn kcal_per_g(milk: &Milk, recipe: PowderRecipe) -> Option<f64> {
    match milk.label_strength {
        Some(label) => Some(label.get() * milk::mixed_volume(recipe, milk.solids).get() / recipe.powder.get()),
        None => milk.solids.map(|s| milk::powder_kcal_per_100g(s) / 100.0),
    }
}

/// A mix as it was made, against the label.
///
/// # Errors
/// Words, when powder to water differs from the label by more than a twentieth.
pub fn check_ratio(recipe: PowderRecipe, powder: Grams, water: Millilitres) -> Result<f64, String> {
    let label = recipe.powder.get() / recipe.water.get();
    let made = powder.get() / water.get();
    let off = made / label - 1.0;
    if off.abs() <= LARGEST_RATIO_ERROR.value + 1e-12 {
        return Ok(100.0 * off);
    }
    let word = if off > 0.0 { "stronger" } else { "thinner" };
    let right = recipe.water * (powder / recipe.powder);
    let advice = if off > 0.0 {
        format!("add water up to {right}")
    } else {
        format!("it needs {} powder for {water}", recipe.powder * (water / recipe.water))
    };
    Err(format!(
        "{powder} powder with {water} is {} % {word} than the label's {} with {}: {advice}. \
         Does the label count by weight or by scoops?",
        crate::units::number(100.0 * off.abs(), 0, false),
        recipe.powder,
        recipe.water
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{LabelMore, LabelSolids, MilkKind};

    fn powder(recipe: PowderRecipe, label: Option<f64>) -> Milk {
        Milk {
            id: "powder".into(),
            kind: MilkKind::PuppyPowder,
            in_use: true,
            label_strength: label.map(KcalPerMl::of),
            recipe: Some(recipe),
            // Label X of the handbook (read).
            solids: Some(LabelSolids { protein: 30.0, fat: 26.0, fibre: 0.1, ash: 6.5, moisture: 4.0 }),
            more: LabelMore::default(),
            water_temperature: None,
            keeps: None,
            contains: Vec::new(),
            price_per_kg: None,
        }
    }

    fn by_weight(water: f64) -> PowderRecipe {
        PowderRecipe { powder: Grams::of(10.0), water: Millilitres::of(water), scoop: Some(Grams::of(7.5)) }
    }

    #[test]
    fn published_mix_in_whole_steps() {
        // Handbook milk.md section 7: label X, 10 g + 40 mL gives 1.02 kcal per mL and 47.609 mL.
        let recipe = by_weight(40.0);
        let p = portion(&powder(recipe, None), recipe, Millilitres::of(47.609), Measure::Scale(Grams::of(1.0)));
        assert_eq!((p.powder.get(), p.water.get()), (10.0, 40.0));
        assert!((p.strength.unwrap().get() - 1.02).abs() < 0.006 && (p.volume.get() - 47.609).abs() < 1e-3);
    }

    #[test]
    fn a_portion_is_never_stronger_than_the_label_and_never_too_small() {
        for water in [20.0, 27.3, 40.0] {
            let recipe = by_weight(water);
            let milk = powder(recipe, None);
            let label = milk::strength(&milk).unwrap().kcal_per_ml.get();
            for wanted in 1..300 {
                for measure in
                    [Measure::Scale(Grams::of(0.1)), Measure::Scale(Grams::of(1.0)), Measure::Scoop(Grams::of(7.5))]
                {
                    let p = portion(&milk, recipe, Millilitres::of(f64::from(wanted)), measure);
                    assert!(p.volume.get() >= f64::from(wanted) - 0.05);
                    assert!(p.strength.unwrap().get() <= label + 1e-9);
                    // A twentieth at most, for half a step of the scale and for the water.
                    assert!(p.strength.unwrap().get() >= label / 1.05 - 1e-9);
                    if let Measure::Scale(step) = measure {
                        assert!(step / p.powder <= 0.1 + 1e-9);
                    }
                }
            }
        }
    }

    #[test]
    fn the_smallest_batch_that_can_be_measured() {
        // Usability S-11 (our own): within a twentieth of the label. A scale of 1 g errs by half a gram:
        // 10 g and their 20 mL of water, whatever less is wanted; 11 g and 22 mL for 28 mL.
        let recipe = by_weight(20.0);
        let of = |ml: f64| portion(&powder(recipe, None), recipe, Millilitres::of(ml), Measure::Scale(Grams::of(1.0)));
        let small = of(15.0);
        assert_eq!((small.powder.get(), small.water.get(), small.is_more_than_wanted), (10.0, 20.0, true));
        let enough = of(28.0);
        assert_eq!((enough.powder.get(), enough.water.get(), enough.is_more_than_wanted), (11.0, 22.0, false));
    }

    #[test]
    fn scoops_come_in_halves() {
        let recipe = by_weight(20.0);
        // 100 mL need 36.2 g: 4.83 scoops of 7.5 g, so 5.
        let p = portion(&powder(recipe, None), recipe, Millilitres::of(100.0), Measure::Scoop(Grams::of(7.5)));
        assert_eq!((p.scoops, p.powder.get(), p.water.get()), (Some(5.0), 37.5, 75.0));
    }

    #[test]
    fn published_scoop_volume() {
        // Handbook milk.md check 10: 14.787 mL x 0.541 g per mL = 8.000 g; 1:2 with water: 35.59 mL, 1.1223
        // kcal per mL (dried whole milk, the table's 26.32 / 26.71 / 38.42, water 2.47, rest 6.08).
        let scoop = Grams::of(14.787 * 0.541);
        assert!((scoop.get() - 8.0).abs() < 5e-4);
        let recipe = PowderRecipe { powder: scoop, water: Millilitres::of(2.0 * 14.787), scoop: Some(scoop) };
        let dried = LabelSolids { protein: 26.32, fat: 26.71, fibre: 0.0, ash: 6.08, moisture: 2.47 };
        let milk = Milk { solids: Some(dried), ..powder(recipe, None) };
        let volume = milk::mixed_volume(recipe, milk.solids);
        assert!((volume.get() - 35.59).abs() < 5e-3, "{volume}");
        assert!((milk::strength(&milk).unwrap().kcal_per_ml.get() - 1.1223).abs() < 5e-4);
    }

    #[test]
    fn a_ratio_off_the_label_is_refused() {
        let recipe = by_weight(40.0);
        let check = |powder: f64, water: f64| check_ratio(recipe, Grams::of(powder), Millilitres::of(water));
        assert!(check(20.0, 80.0).is_ok_and(|off| off.abs() < 1e-9));
        assert!(check(20.0, 80.0 / 1.05).is_ok(), "five per cent is allowed");
        assert!(check(20.0, 80.0 / 1.051).unwrap_err().contains("stronger than the label"));
        assert!(check(20.0, 80.0 / 0.95).is_ok());
        assert!(check(20.0, 80.0 / 0.949).unwrap_err().contains("thinner than the label"));
        assert!(check(10.0, 20.0).unwrap_err().contains("add water up to 40"));
    }
}
