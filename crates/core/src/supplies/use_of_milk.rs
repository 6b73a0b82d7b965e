//! What one pup uses: milk from its first hand feed to its last, by the need of each day.

use crate::limits;
use crate::milk;
use crate::mix::until_weaned::gain;
use crate::need::{energy_per_100g, fewest_feeds};
use crate::record::{EnergyChoice, Milk, MilkKind, PowderRecipe};
use crate::references::{self as source, Sourced};
use crate::units::{Grams, KcalPerMl, Millilitres};

/// A powder without a label: kcal per g, and kcal per mL as it is mixed.
pub(super) const UNLABELLED: Sourced<(f64, f64)> = Sourced::new((4.876, 1.0), &source::SUPPLY_POWDER);

/// The milk that is planned with.
#[derive(Debug, Clone, PartialEq)]
pub struct FedMilk {
    /// None: no milk of the household is known.
    pub name: Option<String>,
    pub kcal_per_ml: KcalPerMl,
    /// Grams of powder in each mL; none for a milk that is bought as it is fed.
    pub powder_g_per_ml: Option<f64>,
}

impl Default for FedMilk {
    fn default() -> Self {
        let (kcal_per_g, kcal_per_ml) = UNLABELLED.value;
        Self { name: None, kcal_per_ml: KcalPerMl::of(kcal_per_ml), powder_g_per_ml: Some(kcal_per_ml / kcal_per_g) }
    }
}

impl FedMilk {
    /// As its label says; none where its strength is not known or it is no milk for pups.
    #[must_use]
    pub fn of(milk: &Milk) -> Option<Self> {
        if milk::refused(milk).is_some() {
            return None;
        }
        let strength = milk::strength(milk)?;
        let of_one = |recipe| milk::powder_and_water(recipe, milk.solids, Millilitres::of(1.0)).0.get();
        let is_powder = milk.kind == MilkKind::PuppyPowder;
        // A powder whose ratio is not known is taken for one without a label.
        let unlabelled = is_powder.then(|| strength.kcal_per_ml.get() / UNLABELLED.value.0);
        Some(Self {
            name: Some(milk.id.clone()),
            kcal_per_ml: strength.kcal_per_ml,
            powder_g_per_ml: milk.recipe.map(of_one).or(unlabelled),
        })
    }

    /// A powder by what is typed of its label: strength, ratio, or both.
    #[must_use]
    pub fn of_label(kcal_per_ml: Option<KcalPerMl>, recipe: Option<PowderRecipe>) -> Self {
        let per_ml = recipe.map(|r| milk::powder_and_water(r, None, Millilitres::of(1.0)).0.get());
        let (kcal_per_g, usual) = UNLABELLED.value;
        let kcal_per_ml = kcal_per_ml.unwrap_or(KcalPerMl::of(per_ml.map_or(usual, |g| g * kcal_per_g)));
        Self { name: None, kcal_per_ml, powder_g_per_ml: Some(per_ml.unwrap_or(kcal_per_ml.get() / kcal_per_g)) }
    }

    /// What is bought for so many mL: g of powder, or the mL themselves.
    #[must_use]
    pub fn bought(&self, ml: f64) -> f64 {
        ml * self.powder_g_per_ml.unwrap_or(1.0)
    }
}

/// How a pup grows.
#[derive(Debug, Clone, Copy)]
pub struct Growth {
    pub birth: Grams,
    pub adult: Option<Grams>,
    /// From 0 (the published slow gain) over the usual one to 1 (fast), as a chance.
    pub rank: f64,
}

impl Growth {
    fn after_day(&self, weight: Grams, age_h: f64) -> Grams {
        weight + gain(self.adult, weight, age_h, |band| triangular(band, self.rank))
    }
}

/// The value at this chance of a triangular distribution.
fn triangular((low, usual, high): (f64, f64, f64), chance: f64) -> f64 {
    let width = high - low;
    let turn = (usual - low) / width;
    if chance < turn {
        low + (chance * width * (usual - low)).sqrt()
    } else {
        high - ((1.0 - chance) * width * (high - usual)).sqrt()
    }
}

/// The days of hand-feeding, and how.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    /// Age in days; a part of a day counts as that part.
    pub from: f64,
    pub until: f64,
    /// The part of the need that comes from us.
    pub share: f64,
    /// mL that stay behind at each feed.
    pub left_behind_ml: f64,
}

/// What a pup uses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    pub ml: f64,
    pub weight_at_start: Grams,
    pub weight_at_end: Grams,
}

/// Milk that one pup uses, with what stays in bottle and teat, before anything is thrown away.
///
/// Formula: sum over days of min(energy(age) · share, ceiling) · weight / strength + feeds(age) · left behind.
/// Units:   weight g, age days -> mL
/// Source:  the energy table of `need`, `limits::ENERGY_CEILING`, `limits::usual_feeds`
/// Valid:   birth to day 35, the last day for which milk is planned
#[must_use]
pub fn used(energy: EnergyChoice, kcal_per_ml: KcalPerMl, growth: &Growth, stretch: &Stretch) -> Used {
    let mut weight = growth.birth;
    let mut used = Used { ml: 0.0, weight_at_start: weight, weight_at_end: weight };
    let mut has_begun = false;
    let mut day = 0.0;
    while day < stretch.until {
        let age_h = day * 24.0;
        let part = ((day + 1.0).min(stretch.until) - stretch.from.max(day)).max(0.0);
        if part > 0.0 {
            if !has_begun {
                used.weight_at_start = weight;
                has_begun = true;
            }
            used.weight_at_end = weight;
            let need = energy_per_100g(energy, age_h).value.min(limits::ENERGY_CEILING.value) * weight;
            let fed = need * stretch.share / kcal_per_ml;
            let stomach = limits::stomach_limit(age_h, weight);
            let feeds = limits::usual_feeds(age_h).value.max(fewest_feeds(fed, stomach.volume, stomach.is_exclusive));
            used.ml += part * (fed.get() + f64::from(feeds) * stretch.left_behind_ml);
        }
        weight = growth.after_day(weight, age_h);
        day += 1.0;
    }
    used
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::GAIN_WEEK_ONE;
    use crate::record::{EnergyTable, LabelMore, LabelSolids};

    #[test]
    fn an_unlabelled_powder_is_that_of_the_handbook() {
        // Milk handbook section 7: label X, 10 g + 40 mL water is 1.02 kcal per mL; 487.6 kcal in 100 g.
        let label_x = Milk {
            id: "x".into(),
            kind: MilkKind::PuppyPowder,
            in_use: true,
            label_strength: None,
            recipe: Some(PowderRecipe { powder: Grams::of(10.0), water: Millilitres::of(40.0), scoop: None }),
            solids: Some(LabelSolids { protein: 30.0, fat: 26.0, fibre: 0.1, ash: 6.5, moisture: 4.0 }),
            more: LabelMore::default(),
            water_temperature: None,
            keeps: None,
            contains: Vec::new(),
            price_per_kg: None,
        };
        let mixed = FedMilk::of(&label_x).unwrap();
        assert!((mixed.kcal_per_ml.get() - 1.02).abs() < 0.006);
        // A gram gives the same energy however it is mixed.
        let per_g = |m: &FedMilk| m.kcal_per_ml.get() / m.powder_g_per_ml.unwrap();
        assert!((per_g(&mixed) / per_g(&FedMilk::default()) - 1.0).abs() < 0.001);
        // The same powder by what is typed of its label, and one whose ratio is not known.
        let typed = FedMilk::of_label(None, label_x.recipe);
        assert!((typed.kcal_per_ml.get() / mixed.kcal_per_ml.get() - 1.0).abs() < 0.005);
        let no_ratio = Milk { recipe: None, label_strength: Some(KcalPerMl::of(1.0)), ..label_x.clone() };
        assert_eq!(FedMilk::of(&no_ratio).unwrap().powder_g_per_ml, FedMilk::default().powder_g_per_ml);
        let honey = Milk { contains: vec![crate::record::Word::Honey], ..label_x };
        assert_eq!(FedMilk::of(&honey), None);
    }

    #[test]
    fn a_first_day_by_hand_is_a_hand_calculation() {
        // 400 g at 15 kcal per 100 g and 1 kcal per mL: 60 mL; 8 feeds leave 1 mL each behind.
        let energy = EnergyChoice { table: EnergyTable::Steps, from_day_seven: None };
        let growth = Growth { birth: Grams::of(400.0), adult: None, rank: 0.5 };
        let whole = Stretch { from: 0.0, until: 1.0, share: 1.0, left_behind_ml: 1.0 };
        let of = |stretch| used(energy, KcalPerMl::of(1.0), &growth, &stretch).ml;
        assert!((of(whole) - 68.0).abs() < 1e-9);
        assert!((of(Stretch { from: 0.5, ..whole }) - 34.0).abs() < 1e-9);
        assert!((of(Stretch { share: 0.5, left_behind_ml: 0.0, ..whole }) - 30.0).abs() < 1e-9);
        assert_eq!(of(Stretch { from: 1.0, ..whole }), 0.0);
    }

    #[test]
    fn the_gain_lies_within_the_published_band() {
        let (low, usual, high) = GAIN_WEEK_ONE.value;
        let of = |chance| triangular((low, usual, high), chance);
        assert!((of(0.0) - low).abs() < 1e-12 && (of(1.0) - high).abs() < 1e-12);
        assert!((of((usual - low) / (high - low)) - usual).abs() < 1e-12);
        assert!(of(0.2) < of(0.5) && of(0.5) < of(0.8));
    }
}
