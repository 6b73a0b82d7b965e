//! The best blend of what is in the kitchen, what it misses, what limits it and how sure it is.
//!
//! A macro match only, for the hours until a milk replacer for puppies is in the house. The
//! heading and the exclusions of the safety rules are part of every [`Blend`].

pub mod chance;
pub mod explain;
pub mod program;
mod robust;
pub mod search;
pub mod targets;

use super::compare::TOO_THIN;
use super::foods::{Food, Nutrients};
use super::strength::{MilkNote, TOO_STRONG};
use crate::references::{self as source, Sourced};
use crate::units::{Grams, KcalPerMl, Millilitres};
use program::{Failure, Point, Program, WHOLE};
use search::{Ask, Found};
pub use targets::{Aim, Rule, Stage, Targets};

/// Stands above every blend.
pub const HEADING: &str = "A stop-gap until a milk replacer for puppies is in the house; not a complete food; \
     beyond 48 h ask a vet.";
/// What no blend here covers.
pub const NOT_COVERED: &str = "Not counted and not covered: vitamins, iron, sodium, taurine, arginine, linoleic acid and DHA, \
     and the protection of first milk. A match of energy, protein, fat, lactose, calcium and phosphorus only.";
/// Misses of a food's figures from pack to pack, as a share (standard deviation).
pub const FOOD_VARIES: Sourced<f64> = Sourced::new(0.10, &source::FOOD_VARIES);
/// A blend with more curd than this is spoken of, percent.
const MUCH_CURD: Sourced<f64> = Sourced::new(10.0, &source::BLEND_LIMITS);
/// How far the search goes through all foods that were named: some hundredths of a second.
const NODES_FOR_ALL: usize = 200;
/// Another food is named only when it takes this share off the misses.
const WORTH_NAMING: f64 = 0.05;

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Request {
    /// Water is added when it is not among them.
    pub foods: Vec<Food>,
    /// Foods that could be bought; the most useful one is named.
    pub others: Vec<Food>,
    pub volume: Millilitres,
    pub stage: Stage,
    /// 0: least total miss; 1: no nutrient far off.
    pub spread: f64,
    pub at_most: Option<usize>,
    /// The step of the scale.
    pub step: Grams,
    /// Foods that must be used, by id, in percent.
    pub least: Vec<(String, f64)>,
    /// The most that the whole may cost; every food then needs a price.
    pub budget: Option<f64>,
    /// Draws of the simulation, and its seed.
    pub draws: u32,
    pub seed: u64,
    /// Id of a milk replacer for puppies that is on the shelf.
    pub replacer: Option<String>,
    /// Age of the pups, for what must be said.
    pub day: Option<u32>,
}

/// One food of a recipe.
#[derive(Debug, Clone)]
pub struct Part {
    pub food: Food,
    /// In 100 g of the exact blend.
    pub exact_g: f64,
    /// To weigh.
    pub weigh: Grams,
}

/// How far a nutrient is from its target, in 100 g.
#[derive(Debug, Clone, Copy)]
pub struct Reached {
    pub aim: Aim,
    pub got: f64,
    pub target: f64,
}

impl Reached {
    /// Percent above (or below) the target.
    #[must_use]
    pub fn off_percent(&self) -> f64 {
        100.0 * (self.got / self.target - 1.0)
    }
}

/// A limit as it holds.
#[derive(Debug, Clone)]
pub struct Held {
    pub words: String,
    /// What it costs: none when it does not hold the blend back.
    pub price: Option<HoldsBack>,
    /// How likely it holds when foods vary; none for amounts, which are weighed.
    pub chance: Option<f64>,
}

/// The misses with and without a limit.
#[derive(Debug, Clone, Copy)]
pub struct HoldsBack {
    pub without: f64,
    pub for_each_unit: f64,
}

/// A blend.
#[derive(Debug, Clone)]
pub struct Blend {
    pub parts: Vec<Part>,
    /// Of the weighed amounts.
    pub nutrients: Nutrients,
    pub volume: Millilitres,
    /// The weighted misses: of the exact blend and of the weighed one.
    pub exact_misses: f64,
    pub misses: f64,
    /// False: the scale's step is too coarse; the amounts are exact ones to 0.1 g.
    pub is_weighable: bool,
    /// No whole steps of these foods come closer; false where the search ended early.
    pub is_proven: bool,
    pub reached: Vec<Reached>,
    pub limits: Vec<Held>,
    /// The food that would help most, and the misses with it.
    pub would_help: Option<(Food, f64)>,
    /// 5th and 95th percentile of the strength when foods vary.
    pub strength_range: (f64, f64),
    pub cost: Option<f64>,
    pub notes: Vec<MilkNote>,
    pub stage: Stage,
}

/// Why there is no blend.
#[derive(Debug, Clone, PartialEq)]
pub enum NoBlend {
    /// A food that no blend holds, or one with unknown minerals; in words.
    Refused(String),
    /// These limits cannot be kept together: in words, with what each would have to allow.
    Conflict(Vec<(String, Option<f64>)>),
    /// A defect: the solver's answer did not stand its check.
    Unsound(String),
}

/// The best blend.
///
/// # Errors
/// [`NoBlend`].
pub fn blend(request: &Request) -> Result<Blend, NoBlend> {
    let foods = foods(request)?;
    let targets = request.stage.targets();
    let mut notes = notes_before(request);
    let guess = Grams::of(request.volume.get() * super::composition::BITCH.value.density());
    let exact = Exact::find(request, &foods, &targets.value, guess)?;
    // Stock and budget count for what is really weighed.
    let steps = whole_steps(&foods, &exact.best.grams, request);
    let whole = request.step.get() * f64::from(steps);
    let exact = Exact::find(request, &foods, &targets.value, Grams::of(whole))?;
    let Exact { program, rules, best } = &exact;
    let sound = |failure| no_blend(failure, program, rules, &foods);

    let weighed = weigh(program, best, steps, request, &mut notes);
    let is_weighable = weighed.is_some();
    let is_proven = weighed.as_ref().is_none_or(|w| w.is_proven);
    let (grams, misses) = match weighed {
        // The product of step and count, without the last digits of floating point.
        Some(w) => (w.steps.iter().map(|s| tidy(s * request.step.get())).collect(), w.point.objective),
        None => {
            (best.grams.iter().map(|g| (g / WHOLE * whole * 10.0).round() / 10.0).collect::<Vec<_>>(), best.objective)
        }
    };
    let made: Vec<(Grams, Nutrients)> = grams.iter().zip(&foods).map(|(g, f)| (Grams::of(*g), f.per_100g)).collect();
    let nutrients = Nutrients::mixed(&made).ok_or_else(|| NoBlend::Unsound("an empty recipe".into()))?;
    let total: f64 = grams.iter().sum();

    let prices = explain::prices(program, request.at_most, best).map_err(sound)?;
    let sure = robust::simulate(&foods, &grams, rules, request.draws, request.seed);
    let mut limits: Vec<Held> = rules
        .iter()
        .enumerate()
        .map(|(i, rule)| Held {
            words: rule.words(&foods),
            price: prices
                .iter()
                .find(|p| p.limit == i)
                .map(|p| HoldsBack { without: p.without, for_each_unit: p.for_each_unit }),
            chance: sure.chances[i],
        })
        .collect();
    limits.extend(request.at_most.map(|most| few_foods(program, most, best)).transpose().map_err(sound)?);
    notes_after(&foods, &grams, &nutrients, &mut notes);
    Ok(Blend {
        reached: targets::aims()
            .map(|aim| Reached { aim, got: aim.of(&nutrients), target: aim.target(&targets.value) })
            .into(),
        limits,
        would_help: would_help(program, best, rules, request, &targets.value).map_err(sound)?,
        strength_range: sure.kcal_per_ml,
        cost: cost(&foods, &grams),
        volume: Millilitres::of(total / nutrients.composition.density()),
        exact_misses: best.objective,
        misses,
        is_weighable,
        is_proven,
        nutrients,
        notes,
        stage: request.stage,
        parts: foods
            .iter()
            .zip(best.grams.iter().zip(&grams))
            .filter(|(_, (exact, weigh))| **exact > 0.0 || **weigh > 0.0)
            .map(|(food, (exact, weigh))| Part { food: food.clone(), exact_g: *exact, weigh: Grams::of(*weigh) })
            .collect(),
    })
}

/// The programme for a weight of blend, and its best point.
struct Exact {
    program: Program,
    rules: Vec<Rule>,
    best: Point,
}

impl Exact {
    fn find(request: &Request, foods: &[Food], targets: &Targets, whole: Grams) -> Result<Self, NoBlend> {
        let mut rules = targets::rules(foods, targets, whole);
        for (id, percent) in &request.least {
            let food = foods
                .iter()
                .position(|f| &f.id == id)
                .ok_or_else(|| NoBlend::Refused(format!("{id} must be used, but is not among the foods")))?;
            rules.push(Rule::LeastOf { food, percent: *percent });
        }
        rules.extend(request.budget.map(|most| Rule::Budget { most, blend: whole }));
        let program = targets::program(foods, targets, &rules, request.spread);
        match search::best(&program, Ask::of_foods(request.at_most)) {
            Ok(found) => Ok(Self { program, rules, best: found.point }),
            Err(failure) => Err(no_blend(failure, &program, &rules, foods)),
        }
    }
}

fn tidy(grams: f64) -> f64 {
    (grams * 1e6).round() / 1e6
}

/// How few foods hold the blend back.
fn few_foods(program: &Program, most: usize, best: &Point) -> Result<Held, Failure> {
    let without = program.solve()?.objective;
    let one_more = search::best(program, Ask::of_foods(Some(most + 1)))?.point.objective;
    let gain = best.objective - without;
    Ok(Held {
        words: format!("at most {most} foods, water counted"),
        price: (gain > explain::NOTICEABLE).then_some(HoldsBack { without, for_each_unit: best.objective - one_more }),
        chance: None,
    })
}

/// Price of the amounts, where each food that costs something has a price.
fn cost(foods: &[Food], grams: &[f64]) -> Option<f64> {
    foods
        .iter()
        .zip(grams)
        .filter(|(food, g)| **g > 0.0 && food.id != "water")
        .map(|(food, g)| Some(food.price_per_kg? * g / 1000.0))
        .sum()
}

fn foods(request: &Request) -> Result<Vec<Food>, NoBlend> {
    let mut foods: Vec<Food> = Vec::new();
    for food in &request.foods {
        if let Some(what) = food.kind.left_out() {
            return Err(NoBlend::Refused(format!(
                "{} is {what}: raw egg, raw milk and honey are left out of every blend",
                food.id
            )));
        }
        if food.per_100g.calcium_mg.is_none() || food.per_100g.phosphorus_mg.is_none() {
            return Err(NoBlend::Refused(format!(
                "calcium and phosphorus of {} are not known: add calcium_g and phosphorus_g from its label to foods.csv",
                food.id
            )));
        }
        if request.budget.is_some() && food.price_per_kg.is_none() && food.kind != super::foods::Kind::Water {
            return Err(NoBlend::Refused(format!(
                "a budget needs the price of every food: what does a kilogram of {} cost?",
                food.id
            )));
        }
        if !foods.iter().any(|f| f.id == food.id) {
            foods.push(food.clone());
        }
    }
    if foods.is_empty() {
        return Err(NoBlend::Refused("no food was named".into()));
    }
    if !foods.iter().any(|f| f.id == "water") {
        foods.extend(super::foods::by_id("water").cloned());
    }
    Ok(foods)
}

fn no_blend(failure: Failure, program: &Program, rules: &[Rule], foods: &[Food]) -> NoBlend {
    let named = || -> Result<Vec<(String, Option<f64>)>, Failure> {
        if program.is_feasible()? {
            // Only the number of foods stands in the way.
            return Ok(Vec::new());
        }
        let conflict = explain::conflict(program)?;
        let alone =
            Program { limits: conflict.iter().map(|i| program.limits[*i].clone()).collect(), ..program.clone() };
        conflict
            .iter()
            .enumerate()
            .map(|(at, i)| {
                let is_ratio = matches!(rules[*i], Rule::CalciumLeast | Rule::CalciumMost);
                let least = if is_ratio { None } else { explain::least_that_works(&alone, at)? };
                Ok((rules[*i].words(foods), least.map(|l| l * rules[*i].of_the_whole())))
            })
            .collect()
    };
    match failure {
        Failure::Unsound(why) => NoBlend::Unsound(why),
        Failure::Infeasible => match named() {
            Ok(conflict) if conflict.is_empty() => {
                NoBlend::Refused("so few foods cannot keep the limits together; allow one food more".into())
            }
            Ok(conflict) => NoBlend::Conflict(conflict),
            Err(failure) => NoBlend::Unsound(format!("{failure:?}")),
        },
    }
}

/// How many steps of the scale the wanted volume of this blend weighs.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "5 L in steps of 0.01 g are 6e5")]
fn whole_steps(foods: &[Food], grams: &[f64], request: &Request) -> u32 {
    let parts: Vec<_> = grams.iter().zip(foods).map(|(g, f)| (Grams::of(*g), f.per_100g)).collect();
    let density = Nutrients::mixed(&parts).map_or(1.0, |n| n.composition.density());
    // A thousandth of a step is not worth another step.
    (density * request.volume.get() / request.step.get() - 1e-3).ceil().max(1.0) as u32
}

/// The best whole steps of the foods of the exact blend. A pinch that the scale cannot weigh is
/// tried without, too.
fn weigh(program: &Program, exact: &Point, steps: u32, request: &Request, notes: &mut Vec<MilkNote>) -> Option<Found> {
    let ask = |steps, nodes| Ask { foods: request.at_most, steps: Some(steps), close: search::CLOSE, nodes };
    let of = |point: &Point, steps: u32| {
        let its_foods = only(program, |j| point.grams[j] > 0.0);
        search::best(&its_foods, ask(steps, search::MOST_NODES)).ok()
    };
    // All foods that were named, as far as a few moments go; and those of the exact blend, to the end.
    let all = search::best(program, ask(steps, NODES_FOR_ALL)).ok();
    let same = of(exact, steps).map(|found| Found { is_proven: false, ..found });
    let pinch = WHOLE / f64::from(steps);
    let is_pinch = |j: usize| exact.grams[j] > 0.0 && exact.grams[j] < pinch;
    let found = [all, same]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.point.objective.total_cmp(&b.point.objective).then(b.is_proven.cmp(&a.is_proven)));
    let left_out = found.as_ref().is_some_and(|f| (0..program.foods).any(|j| is_pinch(j) && f.steps[j] == 0.0));
    if found.is_none() || left_out {
        // Twice, three times … the volume in the same steps.
        let larger = [2, 3, 5, 10].into_iter().find(|k| {
            of(exact, steps * k).is_some_and(|f| {
                found.as_ref().is_none_or(|_| (0..program.foods).all(|j| !is_pinch(j) || f.steps[j] > 0.0))
            })
        });
        let advice = match larger {
            Some(k) => format!(
                "; {} at once would do, thrown away after 24 h, or a scale of 0.1 g",
                Millilitres::of(request.volume.get() * f64::from(k))
            ),
            None => "; a scale of 0.1 g is needed".into(),
        };
        let what = if left_out {
            "The best blend needs a pinch that a scale of this step cannot weigh, so it was left out"
        } else {
            "A scale of this step cannot weigh this blend within the limits"
        };
        notes.push(MilkNote { says: format!("{what} ({}){advice}.", request.step), source: &source::BLEND_LIMITS });
    }
    found
}

/// The programme with some of its foods only.
fn only(program: &Program, keeps: impl Fn(usize) -> bool) -> Program {
    let mut fewer = program.clone();
    for out in (0..program.foods).filter(|j| !keeps(*j)) {
        let takes = (0..program.foods).map(|j| f64::from(j == out)).collect();
        fewer.limits.push(program::Limit { takes, most: 0.0 });
    }
    fewer
}

fn would_help(
    program: &Program,
    best: &Point,
    rules: &[Rule],
    request: &Request,
    targets: &Targets,
) -> Result<Option<(Food, f64)>, Failure> {
    let mut found: Option<(&Food, f64)> = None;
    for food in request.others.iter().filter(|f| {
        f.kind.left_out().is_none() && f.per_100g.calcium_mg.is_some() && f.per_100g.phosphorus_mg.is_some()
    }) {
        let is_unpriced = request.budget.is_some() && food.price_per_kg.is_none();
        if is_unpriced || request.foods.iter().any(|f| f.id == food.id) {
            continue;
        }
        let gives: Vec<f64> =
            targets::aims().iter().map(|aim| aim.of(&food.per_100g) / WHOLE / aim.target(targets)).collect();
        let takes: Vec<f64> = rules.iter().map(|r| r.takes_of(food)).collect();
        let mut more = explain::with_food(program, &gives, &takes);
        if let Some(percent) = food.most_percent {
            let takes = (0..more.foods).map(|j| f64::from(j + 1 == more.foods)).collect();
            more.limits.push(program::Limit { takes, most: percent });
        }
        // Any number of foods can only do better: most candidates are out already.
        let is_out = |misses: f64| found.is_some_and(|(_, least)| misses >= least - 1e-9);
        let misses = more.solve()?.objective;
        if is_out(misses) {
            continue;
        }
        let misses = match request.at_most {
            Some(_) => search::best(&more, Ask::of_foods(request.at_most))?.point.objective,
            None => misses,
        };
        if !is_out(misses) {
            found = Some((food, misses));
        }
    }
    Ok(found.filter(|(_, misses)| best.objective - misses > WORTH_NAMING).map(|(food, misses)| (food.clone(), misses)))
}

fn notes_before(request: &Request) -> Vec<MilkNote> {
    let mut notes = Vec::new();
    let mut note = |says: String, source| notes.push(MilkNote { says, source });
    if let Some(replacer) = &request.replacer {
        note(
            format!(
                "{replacer} is a milk replacer for puppies and is on the shelf: if it is in date, use it and not this blend."
            ),
            &source::STOP_GAP,
        );
    }
    if request.day.is_some_and(|d| d < 3) {
        note("First milk cannot be made in a kitchen: what protects a newborn is not in it. Colostrum from the dam or another bitch comes first; the aim here is mature milk.".into(), &source::COLOSTRUM);
    }
    if request.day.is_some_and(|d| (3..7).contains(&d)) {
        note(
            "Between first milk and day 7 no table of bitch's milk by day was read: the aim is the mean of days 7 to 37.".into(),
            &source::BITCH_MILK,
        );
    }
    if request.day.is_some_and(|d| d > 37) {
        note(
            "Beyond day 37 no bitch's milk was measured in that table, and pups of this age eat solid food.".into(),
            &source::BITCH_MILK,
        );
    }
    note(NOT_COVERED.into(), &source::NOT_COVERED);
    notes
}

fn notes_after(foods: &[Food], grams: &[f64], nutrients: &Nutrients, notes: &mut Vec<MilkNote>) {
    let mut note = |says: String, source| notes.push(MilkNote { says, source });
    let total: f64 = grams.iter().sum();
    let used = |id: &str| foods.iter().zip(grams).any(|(f, g)| f.id == id && *g > 0.0);
    let share =
        |kind| foods.iter().zip(grams).filter(|(f, _)| f.kind == kind).map(|(_, g)| 100.0 * g / total).sum::<f64>();
    if share(super::foods::Kind::Curd) > MUCH_CURD.value {
        note(
            "Much curd carries salt, and it must be so fine that it passes the teat: blend and sieve it.".into(),
            &source::SALTY,
        );
    }
    if used("egg_yolk") {
        note("Egg yolk: boiled hard and sieved, never raw; no egg white.".into(), &source::STOP_GAP);
    }
    if used("goat_milk") || used("cow_milk") {
        note(
            "Goat's milk is about as thin and as sugary as cow's milk: neither is easier on a pup. Pasteurised only."
                .into(),
            &source::GOAT_MILK,
        );
    }
    let kcal = KcalPerMl::of(nutrients.composition.kcal_per_ml());
    if kcal.get() < TOO_THIN.value {
        let share = 100.0 * kcal.get() / super::composition::BITCH.value.kcal_per_ml();
        note(
            format!(
                "Too thin: {kcal}, {} % of bitch's milk. A pup would need far more feeds of it, and perhaps more than its stomach can hold.",
                crate::units::number(share, 0, false)
            ),
            TOO_THIN.source,
        );
    }
    if kcal.get() > TOO_STRONG.value.0 {
        note(format!("At {kcal} it is stronger than bitch's milk."), TOO_STRONG.source);
    }
}

#[cfg(test)]
mod tests;
