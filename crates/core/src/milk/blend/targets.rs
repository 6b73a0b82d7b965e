//! What a blend aims at, by stage of lactation, and the limits that it keeps.

use super::program::{Goal, Limit, Program, WHOLE};
use crate::milk::composition::BITCH;
use crate::milk::foods::{Food, Kind, Nutrients};
use crate::milk::profile::BITCH_MINERALS;
use crate::references::{self as source, Sourced};
use crate::units::{Grams, number};

/// Which bitch's milk a blend aims at. Two tables are never averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// The mean of days 7 to 37.
    Mature,
    /// Day 21, where protein is lowest, from another herd.
    Day21,
}

/// Targets in 100 g.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Targets {
    pub protein_g: f64,
    pub fat_g: f64,
    pub lactose_g: f64,
    pub calcium_mg: f64,
    pub phosphorus_mg: f64,
}

/// g per L of day 21, as printed: protein, lipid, middle of the lactose range.
const DAY_21_PER_LITRE: Sourced<[f64; 3]> = Sourced::new([68.4, 112.5, 37.1], &source::BITCH_DAY_21);
/// Lactose above the target by this factor, and dry matter in percent, are the most.
const MOST: Sourced<(f64, f64)> = Sourced::new((1.15, 26.0), &source::BLEND_LIMITS);
/// All foods of a kind together, in percent of the weight.
const MOST_OF_KIND: Sourced<[(Kind, f64, &str); 2]> =
    Sourced::new([(Kind::Fat, 5.0, "oil and butter"), (Kind::Curd, 20.0, "curd")], &source::BLEND_LIMITS);
/// Calcium for each part of phosphorus: least and most.
pub const CALCIUM_RATIO: Sourced<(f64, f64)> = Sourced::new((1.2, 2.0), &source::CALCIUM_RATIO);

/// What a goal is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    Energy,
    Protein,
    Fat,
    Lactose,
    Calcium,
    Phosphorus,
}

/// Each goal with the weights of a miss below and above.
const WEIGHTS: Sourced<[(Aim, f64, f64); 6]> = Sourced::new(
    [
        (Aim::Energy, 1.0, 1.0),
        (Aim::Protein, 1.5, 1.0),
        (Aim::Fat, 1.0, 1.0),
        (Aim::Lactose, 0.5, 1.5),
        (Aim::Calcium, 0.5, 0.5),
        (Aim::Phosphorus, 0.25, 0.25),
    ],
    &source::BLEND_WEIGHTS,
);

impl Aim {
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Energy => "energy",
            Self::Protein => "protein",
            Self::Fat => "fat",
            Self::Lactose => "lactose",
            Self::Calcium => "calcium",
            Self::Phosphorus => "phosphorus",
        }
    }

    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Energy => "kcal",
            Self::Protein | Self::Fat | Self::Lactose => "g",
            Self::Calcium | Self::Phosphorus => "mg",
        }
    }

    /// Of 100 g; a mineral that is not known counts as none.
    #[must_use]
    pub fn of(self, n: &Nutrients) -> f64 {
        match self {
            Self::Energy => n.composition.kcal_per_100g(),
            Self::Protein => n.composition.protein,
            Self::Fat => n.composition.fat,
            Self::Lactose => n.lactose,
            Self::Calcium => n.calcium_mg.unwrap_or(0.0),
            Self::Phosphorus => n.phosphorus_mg.unwrap_or(0.0),
        }
    }

    #[must_use]
    pub fn target(self, t: &Targets) -> f64 {
        match self {
            Self::Energy => 4.0 * t.protein_g + 9.0 * t.fat_g + 4.0 * t.lactose_g,
            Self::Protein => t.protein_g,
            Self::Fat => t.fat_g,
            Self::Lactose => t.lactose_g,
            Self::Calcium => t.calcium_mg,
            Self::Phosphorus => t.phosphorus_mg,
        }
    }
}

impl Stage {
    #[must_use]
    pub fn targets(self) -> Sourced<Targets> {
        let (calcium_mg, phosphorus_mg) = BITCH_MINERALS.value;
        let (protein_g, fat_g, lactose_g, source) = match self {
            Self::Mature => (BITCH.value.protein, BITCH.value.fat, BITCH.value.carbohydrate, BITCH.source),
            Self::Day21 => {
                let [protein, fat, lactose] = DAY_21_PER_LITRE.value.map(|g| g / 10.0 / BITCH.value.density());
                (protein, fat, lactose, DAY_21_PER_LITRE.source)
            }
        };
        Sourced::new(Targets { protein_g, fat_g, lactose_g, calcium_mg, phosphorus_mg }, source)
    }

    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Mature => "bitch's milk, mean of days 7 to 37",
            Self::Day21 => "bitch's milk of day 21 (another herd)",
        }
    }
}

/// A hard limit of a blend.
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    Lactose {
        most_g: f64,
    },
    DryMatter {
        most_g: f64,
    },
    CalciumLeast,
    CalciumMost,
    /// A food's largest share, percent of the weight.
    MostOf {
        food: usize,
        percent: f64,
    },
    /// The largest share of all foods of a kind together.
    MostOfKind {
        kind: Kind,
        percent: f64,
        words: &'static str,
    },
    /// A food that must be used.
    LeastOf {
        food: usize,
        percent: f64,
    },
    /// What is in the house, for this much blend.
    Stock {
        food: usize,
        has: Grams,
        blend: Grams,
    },
    /// What this much blend may cost.
    Budget {
        most: f64,
        blend: Grams,
    },
}

impl Rule {
    /// The limit in words.
    #[must_use]
    pub fn words(&self, foods: &[Food]) -> String {
        let (least, most) = CALCIUM_RATIO.value;
        match self {
            Self::Lactose { most_g } => format!("lactose at most {} g in 100 g", number(*most_g, 2, false)),
            Self::DryMatter { most_g } => format!("dry matter at most {} g in 100 g", number(*most_g, 1, false)),
            Self::CalciumLeast => format!("calcium at least {least} times phosphorus"),
            Self::CalciumMost => format!("calcium at most {most} times phosphorus"),
            Self::MostOf { food, percent } => {
                format!("{} at most {} % of the blend", foods[*food].id, number(*percent, 1, false))
            }
            Self::MostOfKind { percent, words, .. } => {
                format!("{words} at most {} % of the blend", number(*percent, 1, false))
            }
            Self::LeastOf { food, percent } => {
                format!("{} at least {} % of the blend", foods[*food].id, number(*percent, 1, false))
            }
            Self::Stock { food, has, .. } => format!("only {has} of {} in the house", foods[*food].id),
            Self::Budget { most, .. } => format!("at most {} of your money for all of it", number(*most, 2, false)),
        }
    }

    /// From a figure of 100 g, as the programme counts, to the figure in the words.
    #[must_use]
    pub fn of_the_whole(&self) -> f64 {
        match self {
            Self::LeastOf { .. } => -1.0,
            Self::Stock { blend, .. } | Self::Budget { blend, .. } => blend.get() / WHOLE,
            _ => 1.0,
        }
    }

    /// The limit as a row of the programme.
    #[must_use]
    pub fn row(&self, foods: &[Food]) -> Limit {
        let of = |take: fn(&Nutrients) -> f64| foods.iter().map(|f| take(&f.per_100g) / WHOLE).collect::<Vec<f64>>();
        let calcium = of(|n| n.calcium_mg.unwrap_or(0.0));
        let phosphorus = of(|n| n.phosphorus_mg.unwrap_or(0.0));
        let ratio = |calcium_times: f64, phosphorus_times: f64| {
            calcium.iter().zip(&phosphorus).map(|(c, p)| calcium_times * c + phosphorus_times * p).collect::<Vec<f64>>()
        };
        let one =
            |food: usize, sign: f64| (0..foods.len()).map(|j| if j == food { sign } else { 0.0 }).collect::<Vec<f64>>();
        let (takes, most) = match self {
            Self::Lactose { most_g } => (of(|n| n.lactose), *most_g),
            Self::DryMatter { most_g } => (of(|n| 100.0 - n.composition.water), *most_g),
            Self::CalciumLeast => (ratio(-1.0, CALCIUM_RATIO.value.0), 0.0),
            Self::CalciumMost => (ratio(1.0, -CALCIUM_RATIO.value.1), 0.0),
            Self::MostOf { food, percent } => (one(*food, 1.0), *percent),
            Self::MostOfKind { kind, percent, .. } => {
                (foods.iter().map(|f| f64::from(f.kind == *kind)).collect(), *percent)
            }
            Self::LeastOf { food, percent } => (one(*food, -1.0), -percent),
            Self::Stock { food, has, blend } => (one(*food, 1.0), WHOLE * (*has / *blend)),
            Self::Budget { most, blend } => {
                (foods.iter().map(|f| f.price_per_kg.unwrap_or(0.0) / 1000.0).collect(), WHOLE * most / blend.get())
            }
        };
        Limit { takes, most }
    }

    /// What a food of 100 g of the blend adds to the limit, for a food that is not in it.
    #[must_use]
    pub fn takes_of(&self, food: &Food) -> f64 {
        match self {
            Self::MostOf { .. } | Self::LeastOf { .. } | Self::Stock { .. } => 0.0,
            _ => self.row(std::slice::from_ref(food)).takes[0],
        }
    }
}

/// The limits that every blend keeps, and those of its foods.
#[must_use]
pub fn rules(foods: &[Food], targets: &Targets, blend: Grams) -> Vec<Rule> {
    let (lactose_times, dry_matter) = MOST.value;
    let mut rules = vec![
        Rule::Lactose { most_g: lactose_times * targets.lactose_g },
        Rule::DryMatter { most_g: dry_matter },
        Rule::CalciumLeast,
        Rule::CalciumMost,
    ];
    // Also for a kind that is not there: a food that would help is held to it.
    rules.extend(MOST_OF_KIND.value.map(|(kind, percent, words)| Rule::MostOfKind { kind, percent, words }));
    for (food, f) in foods.iter().enumerate() {
        rules.extend(f.most_percent.map(|percent| Rule::MostOf { food, percent }));
        rules.extend(f.stock.map(|has| Rule::Stock { food, has, blend }));
    }
    rules
}

/// The goals, each as shares of its target.
#[must_use]
pub fn goals(foods: &[Food], targets: &Targets) -> Vec<Goal> {
    WEIGHTS.value.iter().map(|(aim, under, over)| goal(foods, targets, *aim, *under, *over)).collect()
}

/// One goal.
#[must_use]
pub fn goal(foods: &[Food], targets: &Targets, aim: Aim, under: f64, over: f64) -> Goal {
    let target = aim.target(targets);
    Goal { gives: foods.iter().map(|f| aim.of(&f.per_100g) / WHOLE / target).collect(), under, over }
}

/// The order of the goals.
#[must_use]
pub fn aims() -> [Aim; 6] {
    WEIGHTS.value.map(|(aim, ..)| aim)
}

/// The programme of a blend.
#[must_use]
pub fn program(foods: &[Food], targets: &Targets, rules: &[Rule], spread: f64) -> Program {
    Program {
        foods: foods.len(),
        goals: goals(foods, targets),
        limits: rules.iter().map(|r| r.row(foods)).collect(),
        spread,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::milk::foods::by_id;
    use crate::units::Grams;

    #[test]
    fn published_bitch_targets() {
        // Handbook milk.md section 1c and rows 11-13, 19 and 15 of section 1a.
        let mature = Stage::Mature.targets().value;
        assert_eq!((mature.protein_g, mature.fat_g, mature.lactose_g), (7.53, 9.47, 3.81));
        assert!((mature.calcium_mg - 175.7 / 1.038_47).abs() < 0.5, "1757 mg per L by weight");
        assert!((mature.calcium_mg / mature.phosphorus_mg - 1.6).abs() < 0.01);
        let day_21 = Stage::Day21.targets().value;
        // 68.4, 112.5 and the middle of 34.0-40.2 g per L over 1.03847 kg per L, by hand.
        for (ours, by_hand) in [(day_21.protein_g, 6.5866), (day_21.fat_g, 10.8332), (day_21.lactose_g, 3.5725)] {
            assert!((ours - by_hand).abs() < 5e-4, "{ours} {by_hand}");
        }
        assert!((Aim::Energy.target(&mature) - 130.59).abs() < 1e-9);
    }

    /// The handbook's blends: five goals, weights 1, 1, 1, 0.5, 0.25 both ways, least total miss.
    fn handbook(ids: &[&str], yolk_and_calcium: bool) -> (Vec<Food>, Program) {
        let foods: Vec<Food> = ids
            .iter()
            .map(|id| {
                let mut food = by_id(id).unwrap().clone();
                if *id == "water" {
                    // The handbook's water holds nothing; ours 3 mg calcium.
                    food.per_100g.calcium_mg = Some(0.0);
                }
                food
            })
            .collect();
        let targets = Stage::Mature.targets().value;
        let goals =
            [(Aim::Protein, 1.0), (Aim::Fat, 1.0), (Aim::Lactose, 1.0), (Aim::Calcium, 0.5), (Aim::Phosphorus, 0.25)]
                .map(|(aim, w)| goal(&foods, &targets, aim, w, w));
        let mut rules = Vec::new();
        if yolk_and_calcium {
            rules.push(Rule::CalciumLeast);
            rules
                .extend(foods.iter().position(|f| f.id == "egg_yolk").map(|food| Rule::MostOf { food, percent: 12.0 }));
        }
        let limits = rules.iter().map(|r| r.row(&foods)).collect();
        let program = Program { foods: foods.len(), goals: goals.into(), limits, spread: 0.0 };
        (foods, program)
    }

    #[test]
    fn published_blends() {
        // Handbook milk.md, Blend LP, L0 to L4: unique solutions by HiGHS.
        let check = |ids: &[&str], limited: bool, grams: &[f64], objective: f64, kcal: f64, ratio: f64| {
            let (foods, program) = handbook(ids, limited);
            let point = program.solve().unwrap();
            assert!((point.objective - objective).abs() < 1e-6, "{ids:?}: {}", point.objective);
            for (ours, printed) in point.grams.iter().zip(grams) {
                assert!((ours - printed).abs() < 6e-4, "{ids:?}: {:?}", point.grams);
            }
            let parts: Vec<_> = point.grams.iter().zip(&foods).map(|(g, f)| (Grams::of(*g), f.per_100g)).collect();
            let blend = Nutrients::mixed(&parts).unwrap();
            assert!((blend.composition.kcal_per_100g() - kcal).abs() < 0.06, "{ids:?}");
            assert!((blend.calcium_to_phosphorus().unwrap() - ratio).abs() < 0.006, "{ids:?}");
        };
        check(&["goat_milk"], false, &[100.0], 1.373_376, 69.3, 1.21);
        let l2 = ["goat_milk", "cream", "egg_yolk", "calcium_carbonate", "water"];
        check(&l2, true, &[79.612, 8.285, 12.0, 0.103, 0.0], 0.428_143, 122.0, 1.21);
        let l3 = ["goat_milk", "cream", "whey_protein", "water"];
        check(&l3, false, &[65.416, 18.482, 5.985, 10.116], 0.254_530, 130.6, 0.79);
        let l4 = ["goat_milk", "cream", "egg_yolk", "whey_protein", "calcium_carbonate", "water"];
        check(&l4, true, &[65.416, 18.482, 0.0, 5.985, 0.167, 9.949], 0.209_570, 130.6, 1.20);
    }
}
