//! One milk in three measures: by weight, by volume and by energy.

use super::composition::{BITCH, Composition, PARTIAL_DENSITY};
use super::foods::{Food, Nutrients, by_id};
use super::strength::powder_composition;
use crate::record::{LabelMore, LabelSolids, Milk, MilkKind, PowderRecipe};
use crate::references::{self as source, Sourced};
use crate::units::Grams;

/// Calcium and phosphorus of bitch's milk, mg in 100 g.
pub const BITCH_MINERALS: Sourced<(f64, f64)> = Sourced::new((169.0, 106.0), &source::BITCH_MINERALS);

/// Bitch's milk, with everything that is compared.
#[must_use]
pub fn bitch() -> Nutrients {
    let (calcium, phosphorus) = BITCH_MINERALS.value;
    Nutrients {
        composition: BITCH.value,
        lactose: BITCH.value.carbohydrate,
        calcium_mg: Some(calcium),
        phosphorus_mg: Some(phosphorus),
    }
}

/// Amounts of the parts in some measure of a milk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    pub kcal: f64,
    pub water_g: f64,
    pub protein_g: f64,
    pub fat_g: f64,
    pub carbohydrate_g: f64,
    pub lactose_g: f64,
    pub calcium_mg: Option<f64>,
    pub phosphorus_mg: Option<f64>,
}

impl Nutrients {
    /// The parts of 100 g.
    #[must_use]
    pub fn in_100g(self) -> Parts {
        let c = self.composition;
        Parts {
            kcal: c.kcal_per_100g(),
            water_g: c.water,
            protein_g: c.protein,
            fat_g: c.fat,
            carbohydrate_g: c.carbohydrate,
            lactose_g: self.lactose,
            calcium_mg: self.calcium_mg,
            phosphorus_mg: self.phosphorus_mg,
        }
    }

    /// The parts of 100 mL.
    #[must_use]
    pub fn in_100ml(self) -> Parts {
        self.in_100g().times(self.composition.density())
    }

    /// The parts of 100 kcal; None where there is no energy.
    #[must_use]
    pub fn in_100kcal(self) -> Option<Parts> {
        let by_weight = self.in_100g();
        (by_weight.kcal > 0.0).then(|| by_weight.times(100.0 / by_weight.kcal))
    }

    /// Calcium for each part of phosphorus.
    #[must_use]
    pub fn calcium_to_phosphorus(self) -> Option<f64> {
        match (self.calcium_mg, self.phosphorus_mg) {
            (Some(calcium), Some(phosphorus)) if phosphorus > 0.0 => Some(calcium / phosphorus),
            _ => None,
        }
    }

    /// A mix by weight; a mineral that one of the parts does not state is not known of the mix.
    #[must_use]
    pub fn mixed(parts: &[(Grams, Nutrients)]) -> Option<Nutrients> {
        let whole: f64 = parts.iter().map(|(g, _)| g.get()).sum();
        if whole <= 0.0 {
            return None;
        }
        let sum = |of: fn(&Nutrients) -> f64| parts.iter().map(|(g, n)| g.get() * of(n)).sum::<f64>() / whole;
        let known = |of: fn(&Nutrients) -> Option<f64>| {
            let each: Option<Vec<f64>> = parts.iter().map(|(g, n)| Some(g.get() * of(n)?)).collect();
            each.map(|each| each.iter().sum::<f64>() / whole)
        };
        Some(Nutrients {
            composition: Composition {
                water: sum(|n| n.composition.water),
                protein: sum(|n| n.composition.protein),
                fat: sum(|n| n.composition.fat),
                carbohydrate: sum(|n| n.composition.carbohydrate),
            },
            lactose: sum(|n| n.lactose),
            calcium_mg: known(|n| n.calcium_mg),
            phosphorus_mg: known(|n| n.phosphorus_mg),
        })
    }

    /// What a label's analysis says. All carbohydrate counts as lactose where it does not tell.
    #[must_use]
    pub fn of_label(solids: LabelSolids, more: LabelMore) -> Nutrients {
        let composition = powder_composition(solids);
        let mg = |percent: f64| percent * 1000.0;
        Nutrients {
            composition,
            lactose: more.lactose.unwrap_or(composition.carbohydrate),
            calcium_mg: more.calcium.map(mg),
            phosphorus_mg: more.phosphorus.map(mg),
        }
    }

    /// A milk of the household as it is fed: by its label, else by the published figures of its kind.
    #[must_use]
    pub fn of_milk(milk: &Milk) -> Option<Nutrients> {
        match (milk.solids, milk.recipe) {
            (Some(solids), Some(recipe)) => Self::of_powder(recipe, solids, milk.more),
            (Some(solids), None) if milk.kind.is_fed_as_it_is() => Some(Self::of_label(solids, milk.more)),
            _ => match milk.kind {
                MilkKind::Goat => by_id("goat_milk").map(|f| f.per_100g),
                MilkKind::Cow => by_id("cow_milk").map(|f| f.per_100g),
                MilkKind::Bitch => Some(bitch()),
                _ => None,
            },
        }
    }

    /// A powder of this label, mixed by this recipe.
    fn of_powder(recipe: PowderRecipe, solids: LabelSolids, more: LabelMore) -> Option<Nutrients> {
        let powder = Self::of_label(solids, more);
        // Tap water brings some milligrams at most.
        let water = Nutrients {
            composition: Composition { water: 100.0, protein: 0.0, fat: 0.0, carbohydrate: 0.0 },
            lactose: 0.0,
            calcium_mg: Some(0.0),
            phosphorus_mg: Some(0.0),
        };
        Self::mixed(&[(recipe.powder, powder), (Grams::of(recipe.water.get() * PARTIAL_DENSITY.value[0]), water)])
    }
}

impl Parts {
    fn times(self, k: f64) -> Self {
        Self {
            kcal: self.kcal * k,
            water_g: self.water_g * k,
            protein_g: self.protein_g * k,
            fat_g: self.fat_g * k,
            carbohydrate_g: self.carbohydrate_g * k,
            lactose_g: self.lactose_g * k,
            calcium_mg: self.calcium_mg.map(|x| x * k),
            phosphorus_mg: self.phosphorus_mg.map(|x| x * k),
        }
    }
}

/// A household recipe: what it makes.
#[derive(Debug, Clone, Copy)]
pub struct Recipe {
    pub nutrients: Nutrients,
    pub volume_ml: f64,
    pub kcal: f64,
    /// With the food table's own energy factors, for comparison with printed recipes only.
    pub table_kcal: Option<f64>,
}

/// Works out a recipe; volumes of the parts add up.
#[must_use]
pub fn recipe(parts: &[(Grams, &Food)]) -> Option<Recipe> {
    let nutrients = Nutrients::mixed(&parts.iter().map(|(g, food)| (*g, food.per_100g)).collect::<Vec<_>>())?;
    let weight: f64 = parts.iter().map(|(g, _)| g.get()).sum();
    Some(Recipe {
        nutrients,
        volume_ml: parts.iter().map(|(g, food)| g.get() / food.density()).sum(),
        kcal: weight * nutrients.composition.kcal_per_100g() / 100.0,
        table_kcal: parts.iter().map(|(g, food)| Some(g.get() * food.table_kcal? / 100.0)).sum(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::milk::LABEL_ENERGY_OFF;
    use crate::units::Millilitres;

    #[test]
    fn a_labelled_powder_is_compared_with_its_minerals() {
        // By hand: label X, 10 g + 40 mL; 1.1 % calcium, 0.7 % phosphorus, 20 % lactose. The mix weighs
        // 10 + 40 x 0.9982 = 49.928 g and holds 110 mg, 70 mg, 2 g.
        let solids = LabelSolids { protein: 30.0, fat: 26.0, fibre: 0.1, ash: 6.5, moisture: 4.0 };
        let more = LabelMore { lactose: Some(20.0), calcium: Some(1.1), phosphorus: Some(0.7) };
        let recipe = PowderRecipe { powder: Grams::of(10.0), water: Millilitres::of(40.0), scoop: None };
        let n = Nutrients::of_powder(recipe, solids, more).unwrap();
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-3, "{a} {b}");
        close(n.calcium_mg.unwrap(), 110.0 / 0.49928);
        close(n.phosphorus_mg.unwrap(), 70.0 / 0.49928);
        close(n.lactose, 2.0 / 0.49928);
        close(n.calcium_to_phosphorus().unwrap(), 1.1 / 0.7);
        let unsaid = Nutrients::of_powder(recipe, solids, LabelMore::default()).unwrap();
        assert_eq!((unsaid.calcium_mg, unsaid.phosphorus_mg), (None, None), "not stated is not zero");
        close(unsaid.lactose, 3.34 / 0.49928);
    }

    #[test]
    fn published_per_energy() {
        // Handbook milk.md check 3 and section 6: parts of 100 kcal (4/9/4).
        let bitch = bitch().in_100kcal().unwrap();
        let close = |a: f64, b: f64, within: f64| assert!((a - b).abs() < within, "{a} {b}");
        close(bitch.protein_g, 5.766, 5e-4);
        close(bitch.fat_g, 7.252, 5e-4);
        close(bitch.lactose_g, 2.918, 5e-4);
        for (id, protein, fat, lactose, calcium, phosphorus, ratio) in [
            ("cow_milk", 5.41, 5.30, 7.67, 204.0, 167.0, 1.22),
            ("goat_milk", 5.14, 5.97, 6.42, 193.0, 160.0, 1.21),
            ("evaporated_milk", 5.03, 5.58, 7.41, 193.0, 150.0, 1.29),
            ("cream", 0.82, 10.38, 0.82, 19.0, 17.0, 1.14),
            ("egg_yolk", 5.01, 8.38, 0.0, 41.0, 123.0, 0.33),
        ] {
            let food = by_id(id).unwrap().per_100g;
            let parts = food.in_100kcal().unwrap();
            close(parts.protein_g, protein, 0.006);
            close(parts.fat_g, fat, 0.006);
            close(parts.lactose_g, lactose, 0.006);
            close(parts.calcium_mg.unwrap(), calcium, 0.6);
            close(parts.phosphorus_mg.unwrap(), phosphorus, 0.6);
            close(food.calcium_to_phosphorus().unwrap(), ratio, 0.006);
        }
    }

    /// US measures in mL; a yolk weighs 17 g. Evaporated goat's milk is taken as cow's.
    const CUP: f64 = 236.588;
    const TBSP: f64 = 14.787;
    const TSP: f64 = 4.929;
    const YOLK: f64 = 17.0;

    fn made(parts: &[(&str, f64)], yolks: f64) -> Recipe {
        let mut weighed: Vec<(Grams, &Food)> = parts
            .iter()
            .map(|(id, ml)| {
                let food = by_id(id).unwrap();
                (food.weight_of(Millilitres::of(*ml)), food)
            })
            .collect();
        weighed.push((Grams::of(YOLK * yolks), by_id("egg_yolk").unwrap()));
        recipe(&weighed).unwrap()
    }

    #[test]
    fn published_recipes() {
        // Handbook milk.md section 5: kcal, mL, kcal per mL with the table's factors and with
        // 4/9/4, stated kcal per mL (or kcal per batch) and whether it is more than 15 % off.
        let evaporated = |water: f64, yogurt: f64| {
            made(&[("evaporated_milk", 300.0), ("water", water), ("yogurt", yogurt), ("corn_syrup", TSP)], 1.0)
        };
        let rows = [
            (
                "R1",
                made(&[("cow_milk", CUP / 2.0), ("water", CUP / 2.0), ("corn_oil", TSP)], 1.0),
                169.3,
                258.0,
                0.656,
                0.653,
                0.75,
                false,
            ),
            ("R2", made(&[("cow_milk", 237.0), ("corn_oil", 15.0)], 3.0), 435.5, 301.5, 1.444, 1.438, 1.25, true),
            ("R3", made(&[("cow_milk", 2.0 * CUP), ("water", 2.0 * CUP)], 2.0), 407.2, 979.4, 0.416, 0.411, 1.2, true),
            ("R4", evaporated(90.0, TBSP), 512.4, 426.2, 1.202, 1.215, 280.0 / 426.2, true),
            ("R5", evaporated(0.0, TBSP), 512.4, 336.2, 1.524, 1.541, 350.0 / 336.2, true),
            ("R6", evaporated(240.0, TBSP), 512.4, 576.2, 0.889, 0.899, 0.845, false),
            ("R7", evaporated(60.0, TSP), 506.1, 386.4, 1.310, 1.324, 0.845, true),
        ];
        for (name, recipe, kcal, volume, per_ml, ours_per_ml, stated, is_flagged) in rows {
            let close = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 0.01, "{name}: {a} against {b}");
            let table = recipe.table_kcal.unwrap();
            close(table, kcal);
            close(recipe.volume_ml, volume);
            close(table / recipe.volume_ml, per_ml);
            close(recipe.kcal / recipe.volume_ml, ours_per_ml);
            let off = (stated - table / recipe.volume_ml).abs() / stated;
            assert_eq!(off > LABEL_ENERGY_OFF.value, is_flagged, "{name}: {off}");
        }
    }

    #[test]
    fn published_recipe_parts() {
        // Handbook milk.md section 5, protein, fat and carbohydrate of 100 g of R1 and R6.
        let r1 = made(&[("cow_milk", CUP / 2.0), ("water", CUP / 2.0), ("corn_oil", TSP)], 1.0).nutrients.composition;
        let r6 = made(&[("evaporated_milk", 300.0), ("water", 240.0), ("yogurt", TBSP), ("corn_syrup", TSP)], 1.0)
            .nutrients
            .composition;
        for (c, protein, fat, carbohydrate) in [(r1, 2.56, 4.95, 2.39), (r6, 4.18, 4.88, 6.49)] {
            for (ours, printed) in [(c.protein, protein), (c.fat, fat), (c.carbohydrate, carbohydrate)] {
                assert!((ours / printed - 1.0).abs() < 0.01, "{ours} {printed}");
            }
        }
    }

    #[test]
    fn an_unstated_mineral_is_not_zero() {
        let goat = by_id("goat_milk").unwrap().per_100g;
        let unknown = Nutrients { calcium_mg: None, ..goat };
        let mix = Nutrients::mixed(&[(Grams::of(50.0), goat), (Grams::of(50.0), unknown)]).unwrap();
        assert_eq!(mix.calcium_mg, None);
        assert!((mix.phosphorus_mg.unwrap() - 111.0).abs() < 1e-9);
    }
}
