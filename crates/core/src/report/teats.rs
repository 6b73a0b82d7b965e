//! Turns at the teat as plain data: who nurses when, and whether each pup has its need.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::cite;
use super::clock::iso;
use super::dam::is_nursing;
use super::{Cite, Line};
use crate::assess::PupAssessment;
use crate::dam::{SHARING, expected_yield, shared, turns};
use crate::milk::BITCH;
use crate::need::energy_per_100g;
use crate::record::{Facts, hours_after};
use crate::top_up::wanted;
use crate::units::{Grams, Kcal};

/// Groups that share the teats.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TurnsLine {
    pub turns: Vec<TurnLine>,
    /// Length of a turn.
    pub turn_h: f64,
    /// The longest that a pup waits for its next turn.
    pub longest_wait_h: f64,
    /// Pups with more than one turn in a round of turns: the lightest.
    pub twice: Vec<String>,
    /// What each pup needs and would get of the expected milk; empty while the dam's weight is not known.
    pub shares: Vec<ShareLine>,
    /// Who falls short, in sentences.
    pub says: Vec<String>,
    pub sources: Vec<Cite>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TurnLine {
    pub pups: Vec<String>,
    /// When this turn begins in the next 24 h.
    pub from: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShareLine {
    pub pup: String,
    pub needs_kcal_per_day: f64,
    /// Of the expected milk, and of the low end of its range.
    pub gets_kcal_per_day: f64,
    pub gets_at_least_kcal_per_day: f64,
    pub falls_short: bool,
}

/// A share below this part of the need falls short; nearer is within what can be known.
const ENOUGH: f64 = 0.99;
/// Turns begin on a quarter of an hour.
const QUARTER_S: i64 = 900;

/// The turns of a litter that is larger than the working teats.
pub(super) fn turns_line(facts: &Facts, line: &Line, age_days: f64, now: Timestamp) -> Option<TurnsLine> {
    let teats = facts.dam.working_teats? as usize;
    let nursing: Vec<&PupAssessment> =
        line.assessment.pups.iter().zip(&line.intakes).filter(|(_, i)| is_nursing(i)).map(|(p, _)| p).collect();
    let weights: Option<Vec<Grams>> = nursing.iter().map(|p| p.latest().map(|l| l.weight)).collect();
    let weights = weights?;
    let plan = turns(&weights.iter().map(|w| w.get()).collect::<Vec<_>>(), teats, age_days)?;
    let name = |pup: usize| nursing[pup].pup.id.0.clone();
    let zone = &facts.litter.zone;
    // The first turn begins with the next feeding round, so that top-ups follow nursing; else at once.
    let quarter = (now.as_second() + QUARTER_S - 1).div_euclid(QUARTER_S) * QUARTER_S;
    let soon = Timestamp::from_second(quarter).unwrap_or(now);
    let round = line.guide.rounds.iter().map(|r| r.at).find(|at| *at >= now && *at <= hours_after(now, plan.turn_h));
    let first = round.unwrap_or(soon);
    let cycle_h = plan.turn_h * count(plan.turns.len());
    let lines = plan.turns.iter().enumerate().map(|(place, turn)| {
        let from = (0..24).map(|k| plan.turn_h * count(place) + cycle_h * f64::from(k)).take_while(|h| *h < 24.0);
        TurnLine {
            pups: turn.pups.iter().map(|p| name(*p)).collect(),
            from: from.map(|h| iso(hours_after(first, h), zone)).collect(),
        }
    });
    let needs: Vec<f64> = nursing.iter().zip(&weights).map(|(pup, weight)| need(facts, pup, *weight).get()).collect();
    let shares: Vec<ShareLine> = match facts.dam.weight {
        Some(dam) => {
            let milk = expected_yield(dam, nursing.len(), age_days);
            let kcal = |grams: f64| grams * BITCH.value.kcal_per_100g() / 100.0;
            let (middle, low) = (shared(&plan, kcal(milk.mean_g), &needs), shared(&plan, kcal(milk.low_g), &needs));
            (0..nursing.len())
                .map(|pup| ShareLine {
                    pup: name(pup),
                    needs_kcal_per_day: needs[pup].round(),
                    gets_kcal_per_day: middle[pup].round(),
                    gets_at_least_kcal_per_day: low[pup].round(),
                    falls_short: middle[pup] < needs[pup] * ENOUGH,
                })
                .collect()
        }
        None => Vec::new(),
    };
    Some(TurnsLine {
        turns: lines.collect(),
        turn_h: plan.turn_h,
        longest_wait_h: plan.longest_wait_h,
        twice: plan.twice.iter().map(|p| name(*p)).collect(),
        says: says(&shares),
        shares,
        sources: [plan.source, plan.dealing, SHARING].map(cite).to_vec(),
    })
}

fn says(shares: &[ShareLine]) -> Vec<String> {
    if shares.is_empty() {
        return vec!["without the dam's weight nobody can say whether the turns are enough for each pup".into()];
    }
    let short = shares.iter().filter(|s| s.falls_short);
    let short: Vec<String> = short
        .map(|s| {
            let kcal = |value: f64| Kcal::of(value).to_string();
            format!("{} ({} of {})", s.pup, kcal(s.gets_kcal_per_day), kcal(s.needs_kcal_per_day))
        })
        .collect();
    if short.is_empty() {
        let is_sure = shares.iter().all(|s| s.gets_at_least_kcal_per_day >= s.needs_kcal_per_day * ENOUGH);
        let words = if is_sure {
            "each pup has its need by these turns, even of the low end of the expected milk"
        } else {
            "each pup has its need by these turns of the expected milk, but not of the low end of its range: weigh \
             them daily"
        };
        return vec![words.into()];
    }
    vec![
        format!("by these turns, of the expected milk, fall short: {}", short.join(", ")),
        "watch their gain; a pup that does not gain needs a top-up, and turns alone do not make more milk".into(),
    ]
}

/// Upkeep and the published gain; the energy table where no gain is published.
fn need(facts: &Facts, pup: &PupAssessment, weight: Grams) -> Kcal {
    let age_h = pup.age.get();
    wanted(facts, age_h, weight)
        .map_or_else(|| energy_per_100g(facts.litter.energy, age_h).value * weight, |wanted| wanted.day)
}

#[expect(clippy::cast_precision_loss, reason = "a few groups")]
fn count(n: usize) -> f64 {
    n as f64
}
