//! How the weighed recipe does when each food's figures differ from the table.

use super::chance::{Numbers, draw};
use super::targets::{CALCIUM_RATIO, Rule};
use crate::milk::composition::Composition;
use crate::milk::foods::{Food, Nutrients};
use crate::units::Grams;

/// What a simulation says.
#[derive(Debug, Clone)]
pub(super) struct Sure {
    /// For each rule; none for amounts, which the scale decides.
    pub chances: Vec<Option<f64>>,
    pub kcal_per_ml: (f64, f64),
}

/// Figures of a food that vary apart: protein, fat, carbohydrate with its lactose, calcium, phosphorus.
const FIGURES: usize = 5;

pub(super) fn simulate(foods: &[Food], grams: &[f64], rules: &[Rule], draws: u32, seed: u64) -> Sure {
    let used: Vec<(usize, &Food, f64)> =
        foods.iter().zip(grams).filter(|(_, g)| **g > 0.0).enumerate().map(|(i, (f, g))| (i, f, *g)).collect();
    let deviation: Vec<f64> = used
        .iter()
        .flat_map(|(_, food, _)| [if food.kind.is_pure() { 0.0 } else { super::FOOD_VARIES.value }; FIGURES])
        .collect();
    let mut numbers = Numbers::from_seed(seed);
    let mut factors = vec![1.0; deviation.len()];
    let mut held = vec![0u32; rules.len()];
    let mut strengths = Vec::with_capacity(draws as usize);
    let mut mix: Vec<(Grams, Nutrients)> = used.iter().map(|(_, f, g)| (Grams::of(*g), f.per_100g)).collect();
    for _ in 0..draws {
        draw(&mut numbers, &deviation, &mut factors);
        for (i, food, _) in &used {
            mix[*i].1 = varied(food, &factors[i * FIGURES..]);
        }
        let Some(n) = Nutrients::mixed(&mix) else { break };
        for (held, rule) in held.iter_mut().zip(rules) {
            *held += u32::from(holds(rule, &n) != Some(false));
        }
        strengths.push(n.composition.kcal_per_ml());
    }
    strengths.sort_by(f64::total_cmp);
    let percentile = |p: usize| strengths.get(strengths.len() * p / 100).copied().unwrap_or(f64::NAN);
    Sure {
        chances: rules
            .iter()
            .zip(held)
            .map(|(rule, held)| holds(rule, &mix[0].1).map(|_| f64::from(held) / f64::from(draws.max(1))))
            .collect(),
        kcal_per_ml: (percentile(5), percentile(95)),
    }
}

fn varied(food: &Food, factors: &[f64]) -> Nutrients {
    let n = food.per_100g;
    let c = n.composition;
    let (protein, fat, carbohydrate) = (c.protein * factors[0], c.fat * factors[1], c.carbohydrate * factors[2]);
    // What dry matter gains, water loses.
    let water = (c.water + c.protein + c.fat + c.carbohydrate - protein - fat - carbohydrate).max(0.0);
    Nutrients {
        composition: Composition { water, protein, fat, carbohydrate },
        lactose: n.lactose * factors[2],
        calcium_mg: n.calcium_mg.map(|m| m * factors[3]),
        phosphorus_mg: n.phosphorus_mg.map(|m| m * factors[4]),
    }
}

/// Whether a rule about nutrients holds; None for a rule about amounts.
fn holds(rule: &Rule, n: &Nutrients) -> Option<bool> {
    let (calcium, phosphorus) = (n.calcium_mg.unwrap_or(0.0), n.phosphorus_mg.unwrap_or(0.0));
    match rule {
        Rule::Lactose { most_g } => Some(n.lactose <= *most_g),
        Rule::DryMatter { most_g } => Some(100.0 - n.composition.water <= *most_g),
        Rule::CalciumLeast => Some(calcium >= CALCIUM_RATIO.value.0 * phosphorus),
        Rule::CalciumMost => Some(calcium <= CALCIUM_RATIO.value.1 * phosphorus),
        Rule::MostOf { .. }
        | Rule::MostOfKind { .. }
        | Rule::LeastOf { .. }
        | Rule::Stock { .. }
        | Rule::Budget { .. } => None,
    }
}
