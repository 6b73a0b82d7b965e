//! What limits a blend, and which limits conflict: both by solving again.
//!
//! The solver returns no dual prices. The gain of a slightly wider limit is the same thing
//! where one dual is optimal; where several are, it is the least of them, and what a person who
//! widens the limit gets.

use super::program::{Failure, Goal, Limit, Point, Program, dot};
use super::search::{self, Ask};

/// A limit that holds the blend back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Price {
    /// Its place in the programme.
    pub limit: usize,
    /// Gain of the objective for each unit of the limit, at its edge.
    pub for_each_unit: f64,
    /// The objective without this limit.
    pub without: f64,
}

/// A limit is first widened by this share of itself, or by this where it is small.
const STEP: f64 = 1e-3;
/// A smaller gain is noise.
pub(super) const NOTICEABLE: f64 = 1e-6;

/// The limits that hold the blend back, the most costly first.
///
/// # Errors
/// [`Failure::Unsound`] when a solution does not stand its check.
pub fn prices(program: &Program, at_most: Option<usize>, best: &Point) -> Result<Vec<Price>, Failure> {
    let mut prices = Vec::new();
    for (i, limit) in program.limits.iter().enumerate() {
        if dot(&limit.takes, &best.grams) < limit.most - 1e-6 * limit.most.abs().max(1.0) {
            continue;
        }
        let without = misses(&without(program, i), at_most)?;
        if best.objective - without > NOTICEABLE {
            prices.push(Price { limit: i, for_each_unit: price(program, at_most, best, i)?, without });
        }
    }
    prices.sort_by(|a, b| a.without.total_cmp(&b.without).then(a.limit.cmp(&b.limit)));
    Ok(prices)
}

/// Gain of the objective for each unit by which one limit is widened a little.
///
/// The misses bend where another limit or food takes over. The step is made smaller until the
/// gain no longer depends on it; far below, the solver's own rounding would show.
///
/// # Errors
/// [`Failure::Unsound`].
pub fn price(program: &Program, at_most: Option<usize>, best: &Point, limit: usize) -> Result<f64, Failure> {
    let gain = |more: f64| {
        let mut wider = program.clone();
        wider.limits[limit].most += more;
        Ok((best.objective - misses(&wider, at_most)?) / more)
    };
    let mut more = STEP * program.limits[limit].most.abs().max(1.0);
    let mut price = gain(more)?;
    for _ in 0..3 {
        more /= 10.0;
        let nearer = gain(more)?;
        let is_steady = (nearer - price).abs() <= 1e-5 * (1.0 + price.abs());
        price = nearer;
        if is_steady {
            break;
        }
    }
    Ok(price.max(0.0))
}

fn misses(program: &Program, at_most: Option<usize>) -> Result<f64, Failure> {
    match at_most {
        Some(_) => Ok(search::best(program, Ask::of_foods(at_most))?.point.objective),
        None => Ok(program.solve()?.objective),
    }
}

fn without(program: &Program, limit: usize) -> Program {
    let mut wider = program.clone();
    wider.limits.remove(limit);
    wider
}

/// A smallest set of limits that cannot be kept together: each is dropped that the rest can
/// do without (deletion filter). Empty when the foods alone conflict with nothing.
///
/// # Errors
/// [`Failure::Unsound`].
pub fn conflict(program: &Program) -> Result<Vec<usize>, Failure> {
    let mut kept: Vec<usize> = (0..program.limits.len()).collect();
    let with = |kept: &[usize]| Program {
        limits: kept.iter().map(|i| program.limits[*i].clone()).collect(),
        ..program.clone()
    };
    for i in 0..program.limits.len() {
        let fewer: Vec<usize> = kept.iter().copied().filter(|k| *k != i).collect();
        if !with(&fewer).is_feasible()? {
            kept = fewer;
        }
    }
    Ok(kept)
}

/// The least that this limit would have to allow for the others to be kept; None when the
/// others conflict among themselves.
///
/// # Errors
/// [`Failure::Unsound`].
pub fn least_that_works(program: &Program, limit: usize) -> Result<Option<f64>, Failure> {
    match without(program, limit).least(&program.limits[limit].takes) {
        Ok(least) => Ok(Some(least)),
        Err(Failure::Infeasible) => Ok(None),
        Err(failure) => Err(failure),
    }
}

/// The programme with one food more.
#[must_use]
pub fn with_food(program: &Program, gives: &[f64], takes: &[f64]) -> Program {
    let longer = |values: &[f64], last: f64| values.iter().copied().chain([last]).collect::<Vec<f64>>();
    Program {
        foods: program.foods + 1,
        goals: program.goals.iter().zip(gives).map(|(g, last)| Goal { gives: longer(&g.gives, *last), ..*g }).collect(),
        limits: program
            .limits
            .iter()
            .zip(takes)
            .map(|(l, last)| Limit { takes: longer(&l.takes, *last), most: l.most })
            .collect(),
        spread: program.spread,
    }
}
