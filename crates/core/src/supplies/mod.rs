//! What to have in the house before the birth: milk, bottles, teats, tubes, syringes, and how
//! sure each quantity is.
//!
//! A seeded simulation of many litters: pups born, pups lost, who is fed by hand, how long, how
//! much. What one pup takes in a day comes from the same energy table, stomach limit and strength
//! of milk as everywhere else. Its answer is quantiles, each with the error of the simulation, and
//! never a mean: most litters need nothing, a few need very much. Every assumption is a row with
//! its source that a household may set, and that its own closed litters move.
//!
//! What it leaves out: solid food before the last day of milk (so it errs to too much), and any
//! link between the litters of one dam. Valid for litters of 1 to 25 pups.

mod assumptions;
mod litter_size;
mod own_litters;
mod quantiles;
mod simulate;
mod use_of_milk;

pub use assumptions::{Assumed, Assumptions, Basis, CannotSet};
pub use litter_size::{LARGEST, chances_of_size, has_published_size, published_size};
pub use own_litters::{OwnLitter, Rate, Size};
pub use quantiles::{Quantile, quantile, ranks};
pub use simulate::{Draw, SYRINGES_ML, simulate};
pub use use_of_milk::{FedMilk, Growth, Stretch, used};

use crate::growth::priors::SizeClass;
use crate::record::{EnergyChoice, EnergyTable, Facts, Milk, MilkKind};
use crate::units::Grams;

/// What is known of a litter that is not born yet.
#[derive(Debug, Clone)]
pub struct Expected {
    pub breed: Option<String>,
    /// Of the grown dog; the dam's weight will do.
    pub adult: Option<Grams>,
    pub dam: Option<Grams>,
    /// Pups counted on an x-ray or scan.
    pub counted: Option<u32>,
    pub working_teats: Option<u32>,
    pub energy: EnergyChoice,
    pub milk: FedMilk,
}

impl Expected {
    /// Of a litter of which nothing is known.
    #[must_use]
    pub fn unknown() -> Self {
        Self {
            breed: None,
            adult: None,
            dam: None,
            counted: None,
            working_teats: None,
            energy: EnergyChoice { table: EnergyTable::Steps, from_day_seven: None },
            milk: FedMilk::default(),
        }
    }

    /// What the facts say of the litter, with the household's milk replacer: the one in use, else the
    /// first. Plain milks and home blends are a stop-gap and nothing to stock.
    #[must_use]
    pub fn of(facts: &Facts) -> Self {
        let is_replacer = |m: &&Milk| matches!(m.kind, MilkKind::PuppyPowder | MilkKind::PuppyReady);
        let milk = facts.milk_in_use().filter(is_replacer).or_else(|| facts.milks.iter().find(is_replacer));
        Self {
            breed: facts.litter.breed.clone(),
            adult: facts.litter.expected_adult_weight,
            dam: facts.dam.weight,
            counted: facts.litter.expected_pups,
            working_teats: facts.dam.working_teats,
            energy: facts.litter.energy,
            milk: milk.and_then(FedMilk::of).unwrap_or_default(),
        }
    }

    /// Whether another litter is of the same kind of dog: the same breed, or where one names none,
    /// the same size.
    #[must_use]
    pub fn is_like(&self, other: &Facts) -> bool {
        let theirs = Self::of(other);
        if let (Some(one), Some(two)) = (&self.breed, &theirs.breed) {
            return one.trim().eq_ignore_ascii_case(two.trim());
        }
        let class = |e: &Self| e.adult_or_dam().map(|g| SizeClass::of_adult(g.get() / 1000.0));
        class(self).is_some() && class(self) == class(&theirs)
    }

    /// The weight of the grown dog as far as it is known.
    #[must_use]
    pub fn adult_or_dam(&self) -> Option<Grams> {
        self.adult.or(self.dam)
    }
}
