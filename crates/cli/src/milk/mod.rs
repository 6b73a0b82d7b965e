//! `whelpward milk`: compare, blend, mix, and the list of foods.

mod ask;
mod text;

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use jiff::Timestamp;
use serde_json::to_string_pretty;
use whelpward_core::milk::blend::{Request, Stage};
use whelpward_core::milk::foods;
use whelpward_core::record::{Facts, MilkKind, PupId};
use whelpward_core::report::milk::{self as report, CompareRequest, MixRequest};
use whelpward_core::units::{Celsius, Grams, Millilitres};

use crate::folder;
use ask::{checked, list};

#[derive(Subcommand)]
pub enum Milk {
    /// Milks, foods and recipes beside bitch's milk
    Compare(Box<Compare>),
    /// The best blend of what is in the kitchen, what it misses and what limits it
    Blend(Box<Blend>),
    /// Powder and water for this round or the next hours, label and heat
    Mix(Box<Mix>),
    /// The foods that the program knows, with their ids
    Foods {
        /// A litter folder, for its foods.csv
        folder: Option<PathBuf>,
    },
}

#[derive(Args)]
pub struct Compare {
    /// A litter folder: its milks are compared
    folder: Option<PathBuf>,
    /// Foods by id, as in `goat_milk,cow_milk` (`whelpward milk foods` lists them)
    #[arg(long, value_delimiter = ',')]
    food: Vec<String>,
    /// A recipe, as in `cow_milk=118mL,egg_yolk=17g`
    #[arg(long)]
    recipe: Option<String>,
    /// What the page of the recipe says of its strength, kcal per mL
    #[arg(long, requires = "recipe")]
    stated_kcal_per_ml: Option<String>,
    /// Weight of the pup in g; the lightest pup of the folder when left out
    #[arg(long)]
    weight_g: Option<String>,
    /// Age of the pup in days
    #[arg(long)]
    day: Option<u32>,
    /// Answer for this time instead of now
    #[arg(long)]
    at: Option<Timestamp>,
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum Aim {
    /// Mean of days 7 to 37
    Mature,
    /// Day 21, another herd
    Day21,
}

#[derive(Args)]
pub struct Blend {
    /// A litter folder: its foods.csv gives own foods, stock and prices
    folder: Option<PathBuf>,
    /// Foods to blend, by id; all with stock or an own label when left out
    #[arg(long, value_delimiter = ',')]
    with: Vec<String>,
    /// How much, in mL
    #[arg(long, default_value = "200")]
    ml: String,
    /// Which bitch's milk to aim at
    #[arg(long, value_enum, default_value = "mature")]
    aim: Aim,
    /// Age of the pups in days
    #[arg(long)]
    day: Option<u32>,
    /// 0: least total miss; 1: no nutrient far off
    #[arg(long, default_value = "0.5")]
    spread: String,
    /// Use at most this many foods, water counted
    #[arg(long)]
    at_most: Option<usize>,
    /// The step of the kitchen scale, in g
    #[arg(long, default_value = "1")]
    step_g: String,
    /// Largest share of a food in percent, as in `egg_yolk=12`
    #[arg(long, value_delimiter = ',')]
    most: Vec<String>,
    /// Least share of a food in percent
    #[arg(long, value_delimiter = ',')]
    least: Vec<String>,
    /// What is in the house in g, as in `cream=200`
    #[arg(long, value_delimiter = ',')]
    have: Vec<String>,
    /// Price of a kilogram, as in `cream=6.40`
    #[arg(long, value_delimiter = ',')]
    price: Vec<String>,
    /// The most that the whole may cost, in the money of the prices
    #[arg(long)]
    budget: Option<String>,
    /// Draws of the simulation
    #[arg(long, default_value_t = 2000, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    draws: u32,
    /// Seed of the simulation
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[arg(long)]
    json: bool,
}

#[derive(Args)]
pub struct Mix {
    /// A litter folder
    folder: PathBuf,
    /// Answer for this time instead of now
    #[arg(long)]
    at: Option<Timestamp>,
    /// For all rounds of the next hours; for the next round when left out
    #[arg(long)]
    hours: Option<String>,
    /// Mix this volume instead
    #[arg(long, conflicts_with = "hours")]
    ml: Option<String>,
    /// The step of the kitchen scale, in g; that of the litter when left out
    #[arg(long)]
    step_g: Option<String>,
    /// Measure by level scoops
    #[arg(long)]
    scoops: bool,
    /// Temperature of the hot water
    #[arg(long)]
    hot_c: Option<String>,
    /// Temperature of the cold water
    #[arg(long)]
    cold_c: Option<String>,
    /// Temperature of a water bath for milk from the refrigerator
    #[arg(long)]
    bath_c: Option<String>,
    /// Check a mix that was made: its powder in g
    #[arg(long, requires = "made_water_ml")]
    made_powder_g: Option<String>,
    /// Check a mix that was made: its water in mL
    #[arg(long, requires = "made_powder_g")]
    made_water_ml: Option<String>,
    /// Thin the milk of this pup after loose stool
    #[arg(long, value_name = "PUP")]
    thin: Option<String>,
    #[arg(long)]
    json: bool,
}

pub fn run(command: &Milk) -> Result<String, String> {
    // A refusal as JSON stays as it is.
    answer(command).map_err(|why| if why.starts_with('{') { why } else { text::message(&why) })
}

fn answer(command: &Milk) -> Result<String, String> {
    match command {
        Milk::Compare(ask) => compare(ask),
        Milk::Blend(ask) => blend(ask),
        Milk::Mix(ask) => mix(ask),
        Milk::Foods { folder } => {
            let facts = folder.as_deref().map(folder::read).transpose()?;
            Ok(text::foods(&foods::shelf(own(facts.as_ref()))))
        }
    }
}

fn own(facts: Option<&Facts>) -> &[whelpward_core::record::ShelfFood] {
    facts.map_or(&[], |f| f.foods.as_slice())
}

fn now(facts: &Facts, at: Option<Timestamp>) -> Timestamp {
    at.or(facts.litter.example.as_ref().map(|e| e.at)).unwrap_or_else(Timestamp::now)
}

fn json<T: serde::Serialize>(report: &T) -> Result<String, String> {
    to_string_pretty(report).map(|t| t + "\n").map_err(|e| e.to_string())
}

fn compare(ask: &Compare) -> Result<String, String> {
    let facts = ask.folder.as_deref().map(folder::read).transpose()?;
    let shelf = foods::shelf(own(facts.as_ref()));
    let (pup, weight, age_h) = pup(ask, facts.as_ref())?;
    let mut foods = list(&shelf, &ask.food)?;
    let milks = facts.as_ref().map_or_else(Vec::new, |f| f.milks.clone());
    if foods.is_empty() && milks.is_empty() && ask.recipe.is_none() {
        foods = list(&shelf, &["cow_milk", "goat_milk", "evaporated_milk"].map(str::to_owned))?;
    }
    let stated =
        ask.stated_kcal_per_ml.as_deref().map(|t| checked("--stated-kcal-per-ml", t, 0.05, 3.0)).transpose()?;
    let recipes = ask.recipe.as_deref().map(|text| ask::recipe(&shelf, text, stated)).transpose()?;
    let report = report::compare(&CompareRequest {
        milks,
        foods,
        recipes: recipes.into_iter().collect(),
        pup,
        weight,
        age_h,
        energy: facts.as_ref().map(|f| f.litter.energy),
    });
    if ask.json { json(&report) } else { Ok(text::compare(&report)) }
}

/// The pup that is asked for, else the lightest one of the folder, else an example.
fn pup(ask: &Compare, facts: Option<&Facts>) -> Result<(Option<PupId>, Grams, f64), String> {
    let weight = ask.weight_g.as_deref().map(|t| checked("--weight-g", t, 30.0, 25_000.0)).transpose()?;
    let given = (weight.and_then(|g| Grams::new(g).ok()), ask.day.map(|d| f64::from(d) * 24.0));
    let of_folder = facts.and_then(|facts| report::lightest(facts, now(facts, ask.at)));
    let is_asked = given.0.is_some() || given.1.is_some();
    let (pup, (weight, age_h)) =
        of_folder.map_or((None, report::EXAMPLE_PUP), |(pup, weight, age)| (Some(pup), (weight, age)));
    Ok((pup.filter(|_| !is_asked), given.0.unwrap_or(weight), given.1.unwrap_or(age_h)))
}

fn blend(ask: &Blend) -> Result<String, String> {
    let facts = ask.folder.as_deref().map(folder::read).transpose()?;
    let mut shelf = foods::shelf(own(facts.as_ref()));
    for (food, percent) in ask::pairs(&shelf, "--most", &ask.most, 0.0, 100.0)? {
        shelf[food].most_percent = Some(percent);
    }
    for (food, grams) in ask::pairs(&shelf, "--have", &ask.have, 0.0, 100_000.0)? {
        shelf[food].stock = Grams::new(grams.max(1.0)).ok();
    }
    for (food, price) in ask::pairs(&shelf, "--price", &ask.price, 0.0, 10_000.0)? {
        shelf[food].price_per_kg = Some(price);
    }
    let mut foods = list(&shelf, &ask.with)?;
    if foods.is_empty() {
        foods = shelf.iter().filter(|f| f.stock.is_some() || f.kind == foods::Kind::Label).cloned().collect();
    }
    if foods.is_empty() {
        return Err("which foods are in the house?\nhint: --with goat_milk,cream,egg_yolk (`whelpward milk foods` lists them), or foods.csv with stock_g".into());
    }
    let least = ask::pairs(&shelf, "--least", &ask.least, 0.0, 100.0)?;
    let request = Request {
        least: least.into_iter().map(|(i, percent)| (shelf[i].id.clone(), percent)).collect(),
        foods,
        others: foods::built_in().to_vec(),
        volume: volume("--ml", &ask.ml)?,
        stage: match ask.aim {
            Aim::Mature => Stage::Mature,
            Aim::Day21 => Stage::Day21,
        },
        spread: checked("--spread", &ask.spread, 0.0, 1.0)?,
        at_most: ask.at_most,
        step: grams("--step-g", &ask.step_g, 50.0)?,
        draws: ask.draws,
        seed: ask.seed,
        budget: ask.budget.as_deref().map(|t| checked("--budget", t, 0.01, 100_000.0)).transpose()?,
        replacer: facts
            .as_ref()
            .and_then(|f| f.milks.iter().find(|m| matches!(m.kind, MilkKind::PuppyPowder | MilkKind::PuppyReady)))
            .map(|m| m.id.clone()),
        day: ask.day,
    };
    match report::blend(&request) {
        Ok(report) if ask.json => json(&report),
        Ok(report) => Ok(text::blend(&report)),
        Err(none) if ask.json => Err(to_string_pretty(&none).unwrap_or(none.because)),
        Err(none) => Err(text::no_blend(&none)),
    }
}

fn mix(ask: &Mix) -> Result<String, String> {
    let facts = folder::read(&ask.folder)?;
    let celsius = |name: &str, text: &Option<String>| {
        text.as_deref().map(|t| Celsius::new(checked(name, t, 0.0, 100.0)?).map_err(|e| e.to_string())).transpose()
    };
    let request = MixRequest {
        hours: ask.hours.as_deref().map(|t| checked("--hours", t, 0.5, 48.0)).transpose()?,
        volume: ask.ml.as_deref().map(|t| volume("--ml", t)).transpose()?,
        scale_step: ask.step_g.as_deref().map(|t| grams("--step-g", t, 50.0)).transpose()?,
        by_scoop: ask.scoops,
        hot: celsius("--hot-c", &ask.hot_c)?,
        cold: celsius("--cold-c", &ask.cold_c)?,
        bath: celsius("--bath-c", &ask.bath_c)?,
        made: match (&ask.made_powder_g, &ask.made_water_ml) {
            (Some(powder), Some(water)) => {
                Some((grams("--made-powder-g", powder, 2000.0)?, volume("--made-water-ml", water)?))
            }
            _ => None,
        },
        thin_for: ask.thin.clone().map(PupId),
    };
    let report = report::mix(&facts, now(&facts, ask.at), &request)?;
    if ask.json { json(&report) } else { Ok(text::mix(&report, &facts.litter.zone)) }
}

fn volume(name: &str, text: &str) -> Result<Millilitres, String> {
    Millilitres::new(checked(name, text, 1.0, 5_000.0)?).map_err(|e| format!("{name}: {e}"))
}

fn grams(name: &str, text: &str, most: f64) -> Result<Grams, String> {
    ask::grams(checked(name, text, 0.01, most)?).map_err(|e| format!("{name}: {e}"))
}
