//! Step 3, *need*: what each pup needs in a day, what is left for us to give, and in how
//! many feeds.
//!
//! Energy by age and weight from the named table that the keeper picked; the alternatives
//! stay beside it. Volume from the strength of the milk in use. Feeds a day from the stomach
//! limit, the longest gap and the usual number for the age. A pup that is doing well and
//! gaining gets no top-up; how large another's is stands in [`crate::top_up`].
//! Valid from birth to day 35; later a pup eats solid food and no amount of milk is planned.

use jiff::Timestamp;

use crate::assess::{Assessment, PupAssessment};
use crate::finding::{Standing, Term};
use crate::intake::{HandBack, Intake, NoEstimate};
use crate::limits;
use crate::milk::Strength;
use crate::record::{EnergyChoice, EnergyTable, Facts, Rearing, VetOrder, hours_between};
use crate::references::{self as source, Sourced};
use crate::top_up;
use crate::units::{Grams, Kcal, KcalPer100g, Millilitres, MlPerKg, Percent};

/// The step table: up to this age in hours, kcal per 100 g.
const STEPS: Sourced<[(f64, f64); 3]> =
    Sourced::new([(72.0, 15.0), (144.0, 20.0), (f64::INFINITY, 22.0)], &source::ENERGY_STEPS);
/// Kcal per lb in weeks 1 to 4; the last holds on.
const WEEKS_KCAL_PER_LB: Sourced<[f64; 4]> = Sourced::new([60.0, 70.0, 80.0, 90.0], &source::ENERGY_WEEKS);
const NRC: Sourced<KcalPer100g> = Sourced::new(KcalPer100g::of(25.0), &source::ENERGY_NRC);
const MEASURED: Sourced<(f64, f64)> = Sourced::new((19.0, 22.0), &source::ENERGY_MEASURED);
/// Share of the day's energy in the first, second and later days of whole hand-feeding.
const EASE_IN: Sourced<[f64; 3]> = Sourced::new([0.5, 0.75, 1.0], &source::EASE_IN);

/// As many feeds as the shortest gap allows.
const MOST_FEEDS: Sourced<u32> = Sourced::new(12, &source::SHORTEST_GAP);

/// Why a pup gets milk from us.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The dam gives nothing: all of it comes from us.
    Whole,
    /// The part that the dam does not supply.
    TopUp,
}

/// Why a pup gets none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoneNeeded {
    WithTheDam,
    WellAndGaining,
    /// What the dam gives is estimated to be enough.
    DamIsEnough,
    OnSolidFood,
    NeverWeighed,
    NoMilk(String),
}

impl NoneNeeded {
    /// The reason in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::WithTheDam => "leave it to its mother".into(),
            Self::WellAndGaining => "doing well and gaining: no top-up".into(),
            Self::DamIsEnough => "the dam's milk seems to be enough: no top-up; weigh it every 12 h".into(),
            Self::OnSolidFood => "over 35 days old: no milk is planned; food and water".into(),
            Self::NeverWeighed => "weigh it first".into(),
            Self::NoMilk(why) => why.clone(),
        }
    }
}

/// Something that the plan cannot give, in a plain sentence.
#[derive(Debug, Clone)]
pub struct Shortfall {
    pub kind: &'static str,
    pub text: String,
    pub missing: Option<Kcal>,
}

impl Shortfall {
    /// A sentence without a figure of its own.
    #[must_use]
    pub fn said(kind: &'static str, text: impl Into<String>) -> Self {
        Self { kind, text: text.into(), missing: None }
    }
}

/// One pup's need.
#[derive(Debug, Clone)]
pub struct Need {
    pub why: Why,
    pub weight: Grams,
    pub energy: Sourced<KcalPer100g>,
    /// Other published figures for this age, beside the chosen one.
    pub alternatives: Vec<(String, Sourced<KcalPer100g>)>,
    /// The whole need of a day.
    pub day: Kcal,
    /// What is left for us to give in a day.
    pub by_hand: Kcal,
    pub by_hand_volume: Millilitres,
    /// Fewest feeds that the stomach limit of this very age allows.
    pub fewest_feeds: u32,
    pub feeds_per_day: u32,
    /// Water from the milk in a day, only where all of it comes from us.
    pub water: Option<MlPerKg>,
    pub is_water_short: bool,
    pub is_eased_in: bool,
    /// The steps back to the dam, where the top-up is on its way down.
    pub hand_back: Option<HandBack>,
    pub order: Option<VetOrder>,
    pub working: Vec<Term>,
    /// What falls short, and what would help.
    pub shortfalls: Vec<Shortfall>,
}

/// What each pup needs, in the order of the assessment; `intakes` is what it gets from its dam, in the same order.
#[must_use]
pub fn need(
    facts: &Facts,
    assessment: &Assessment,
    intakes: &[Result<Intake, NoEstimate>],
    milk: Result<&Strength, &String>,
    now: Timestamp,
) -> Vec<Result<Need, NoneNeeded>> {
    let pups = assessment.pups.iter().zip(intakes);
    pups.map(|(pup, intake)| of_pup(facts, assessment, pup, intake, milk, now)).collect()
}

fn of_pup(
    facts: &Facts,
    assessment: &Assessment,
    pup: &PupAssessment,
    intake: &Result<Intake, NoEstimate>,
    milk: Result<&Strength, &String>,
    now: Timestamp,
) -> Result<Need, NoneNeeded> {
    let age = pup.age.get();
    let order = order_for(facts, pup, now).cloned();
    let is_ordered = order.as_ref().is_some_and(|o| o.per_feed.is_some() || o.energy.is_some());
    let Some(why) = who_feeds(assessment, pup).or(is_ordered.then_some(Why::TopUp)) else {
        let is_topped_up = pup.pup.rearing == Rearing::ToppedUp;
        return Err(if is_topped_up { NoneNeeded::WellAndGaining } else { NoneNeeded::WithTheDam });
    };
    if age >= limits::PLANNED_UNTIL_H.value {
        return Err(NoneNeeded::OnSolidFood);
    }
    let weight = pup.latest().ok_or(NoneNeeded::NeverWeighed)?.weight;
    let strength = milk.map_err(|why| NoneNeeded::NoMilk(why.clone()))?;
    let mut working = Vec::new();
    let mut shortfalls = Vec::new();

    let chosen = energy_per_100g(facts.litter.energy, age);
    let energy = match order.as_ref().and_then(|o| o.energy) {
        Some(ordered) => Sourced::new(ordered, &source::VET_ORDER),
        None => chosen,
    };
    let day = energy.value * weight;
    working.push(Term::new("weight", facts.litter.weight_unit.print(weight), None));
    working.push(Term::new("energy for this age", format!("{} and day", energy.value), Some(energy.source)));
    working.push(Term::new("need of a day", day.to_string(), None));

    let (by_hand, is_eased_in, hand_back) = match why {
        Why::Whole => {
            let (by_hand, is_eased_in) = eased_in(facts, assessment, pup, day, now, &mut working, &mut shortfalls);
            (by_hand, is_eased_in, None)
        }
        Why::TopUp => {
            let asked = top_up::Asked { facts, pup, intake, day, order: order.as_ref(), now };
            let found = top_up::top_up(&asked, &mut working, &mut shortfalls).ok_or(NoneNeeded::DamIsEnough)?;
            (found.by_hand, false, found.hand_back)
        }
    };
    let ceiling = match order.as_ref().and_then(|o| o.energy) {
        Some(ordered) => ordered * weight,
        None => limits::ENERGY_CEILING.value * weight,
    };
    let by_hand = by_hand.min(ceiling);
    let by_hand_volume = by_hand / strength.kcal_per_ml;
    working.push(Term::new(
        "strength of the milk",
        format!("{} ({})", strength.kcal_per_ml, strength.basis),
        Some(strength.source),
    ));
    working.push(Term::new("milk of a day", by_hand_volume.to_string(), None));

    let stomach = limits::stomach_limit(age, weight);
    let fewest_feeds = fewest_feeds(by_hand_volume, stomach.volume, stomach.is_exclusive);
    let feeds_per_day = feeds_per_day(pup, weight, fewest_feeds, order.as_ref(), &mut working);
    if fewest_feeds > feeds_per_day {
        let text = format!(
            "this milk is too thin: the stomach would need {fewest_feeds} feeds a day, and {feeds_per_day} are given. \
             What would help: a denser milk; ask the vet."
        );
        shortfalls.push(Shortfall::said("feeds", text));
    }
    let rounds = facts.litter.most_rounds_per_day.filter(|most| *most < feeds_per_day);
    if let Some(most) = rounds {
        let reachable = strength.kcal_per_ml * (stomach.volume * f64::from(most));
        let missing = (by_hand - reachable).max(Kcal::of(0.0));
        shortfalls.push(too_few_rounds(feeds_per_day, most, (fewest_feeds > most).then_some(missing)));
    }
    let water = (why == Why::Whole).then(|| (by_hand_volume * strength.water_per_ml).per_kg_of(weight));
    let is_water_short = water.is_some_and(|water| check_water(water, age, &mut working, &mut shortfalls));
    Ok(Need {
        why,
        weight,
        energy,
        alternatives: alternatives(facts.litter.energy, age),
        day,
        by_hand,
        by_hand_volume,
        fewest_feeds,
        feeds_per_day,
        water,
        is_water_short,
        is_eased_in,
        hand_back,
        order,
        working,
        shortfalls,
    })
}

/// How many feeds a day: as a vet ordered; else the usual number for the age, and never fewer than
/// the stomach and the longest gap ask for.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "2 to 24 feeds")]
fn feeds_per_day(
    pup: &PupAssessment,
    weight: Grams,
    fewest_feeds: u32,
    order: Option<&VetOrder>,
    working: &mut Vec<Term>,
) -> u32 {
    let age = pup.age.get();
    let stomach = limits::stomach_limit(age, weight);
    let limit = format!("{} ({})", stomach.volume, stomach.rule.value);
    working.push(Term::new("stomach limit of a feed", limit, Some(stomach.rule.source)));
    working.push(Term::new("fewest feeds by the stomach", fewest_feeds.to_string(), Some(stomach.rule.source)));
    let (feeds, source) = if let (Some(hours), Some(order)) = (ordered_gap_h(order), order) {
        let what = format!("time between feeds, ordered by {}", order.vet);
        working.push(Term::new(what, format!("{hours} h"), Some(&source::VET_ORDER)));
        ((24.0 / hours).ceil() as u32, &source::VET_ORDER)
    } else {
        let gap = limits::longest_gap_h(age, weight, pup.is_weak());
        working.push(Term::new("longest gap", format!("{} h", gap.value), Some(gap.source)));
        let usual = limits::usual_feeds(age);
        let by_gap = (24.0 / gap.value).ceil() as u32;
        // Two feeds inside the shortest gap would count as one.
        (usual.value.max(fewest_feeds).max(by_gap).min(MOST_FEEDS.value), usual.source)
    };
    working.push(Term::new("feeds a day", feeds.to_string(), Some(source)));
    feeds
}

/// Fewer rounds than the pup needs: what falls short, and what would help.
fn too_few_rounds(needed: u32, most: u32, missing: Option<Kcal>) -> Shortfall {
    let why = match missing {
        Some(missing) => format!(
            "this milk is too thin: the stomach cannot hold enough of it in {most} feeds ({missing} a day would be missing)"
        ),
        None => format!("the gaps would be too long with {most} feeds"),
    };
    Shortfall::said(
        "feeds",
        format!(
            "needs {needed} feeds a day, the household can give {most}: {why}. What would help: a denser milk, \
             another carer, a tube by a carer whom a vet taught, the vet."
        ),
    )
}

/// Water of a day against the floor; a shortfall in the first three days is only a note.
fn check_water(water: MlPerKg, age_h: f64, working: &mut Vec<Term>, shortfalls: &mut Vec<Shortfall>) -> bool {
    let floor = limits::WATER_FLOOR;
    working.push(Term::new("water in the milk of a day", water.to_string(), Some(floor.source)));
    if water >= floor.value {
        return false;
    }
    let counts = age_h >= limits::WATER_FLOOR_FROM_H.value;
    let what = if counts {
        "Look at gums and urine at each feed; ask the vet about a thinner mix."
    } else {
        "In the first 3 days this is a note: look at gums and urine."
    };
    let text = format!("water is {water} and day, below the floor of {}. {what}", floor.value);
    shortfalls.push(Shortfall::said("water", text));
    counts
}

/// Who feeds this pup: all by hand, a top-up, or the dam alone.
fn who_feeds(assessment: &Assessment, pup: &PupAssessment) -> Option<Why> {
    if !assessment.dam_feeds.is_feeding || pup.pup.rearing == Rearing::HandFed {
        return Some(Why::Whole);
    }
    let is_topped_up = match pup.pup.rearing {
        Rearing::ToppedUp => !pup.is_well_and_gaining(),
        _ => pup.standing >= Standing::NeedsHelp && pup.findings.iter().any(|f| asks_for_milk(f.code)),
    };
    is_topped_up.then_some(Why::TopUp)
}

/// Findings that a top-up answers; other signs need something else first.
pub(crate) fn asks_for_milk(code: &str) -> bool {
    matches!(
        code,
        "lost-10"
            | "lost-10-in-48h"
            | "lost-4"
            | "no-gain"
            | "no-gain-72h"
            | "very-light-at-birth"
            | "lighter-than-mates"
    )
}

/// The vet's order in force for a pup.
#[must_use]
pub fn order_for<'f>(facts: &'f Facts, pup: &PupAssessment, now: Timestamp) -> Option<&'f VetOrder> {
    facts
        .orders
        .iter()
        .filter(|o| o.pup == pup.pup.id && o.given_at <= now && o.until.is_none_or(|u| u > now))
        .max_by_key(|o| o.given_at)
}

/// Hours between feeds as a vet ordered them, never below the shortest gap: two feeds inside it
/// would count as one.
#[must_use]
pub fn ordered_gap_h(order: Option<&VetOrder>) -> Option<f64> {
    Some(order?.hours_between_feeds?.get().max(limits::SHORTEST_GAP_H.value))
}

/// Energy a pup needs in a day for each 100 g of body weight, by the picked table.
///
/// Units: age in hours -> kcal metabolisable per 100 g. Days 1-3 end at 72 h.
/// Source: `references::ENERGY_STEPS` or `references::ENERGY_WEEKS`. Valid to day 35.
#[must_use]
pub fn energy_per_100g(choice: EnergyChoice, age_h: f64) -> Sourced<KcalPer100g> {
    match choice.table {
        EnergyTable::Steps => {
            let step = STEPS.value.iter().find(|(until, _)| age_h < *until).unwrap_or(&STEPS.value[2]);
            let is_last = step.0.is_infinite();
            let value = choice.from_day_seven.filter(|_| is_last).unwrap_or(KcalPer100g::of(step.1));
            Sourced::new(value, STEPS.source)
        }
        EnergyTable::Weeks => {
            let per_lb = WEEKS_KCAL_PER_LB.value[week(age_h)];
            Sourced::new(KcalPer100g::of(per_lb * 100.0 / crate::units::GRAMS_PER_POUND), WEEKS_KCAL_PER_LB.source)
        }
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "weeks 0 to 3")]
fn week(age_h: f64) -> usize {
    ((age_h / 168.0).max(0.0) as usize).min(3)
}

fn alternatives(choice: EnergyChoice, age_h: f64) -> Vec<(String, Sourced<KcalPer100g>)> {
    let other = match choice.table {
        EnergyTable::Steps => ("table `weeks`", EnergyTable::Weeks),
        EnergyTable::Weeks => ("table `steps`", EnergyTable::Steps),
    };
    let other_value = energy_per_100g(EnergyChoice { table: other.1, from_day_seven: None }, age_h);
    vec![
        (other.0.into(), other_value),
        ("one figure to weaning".into(), NRC),
        ("nursing pups, measured, lower end".into(), Sourced::new(KcalPer100g::of(MEASURED.value.0), MEASURED.source)),
        ("nursing pups, measured, upper end".into(), Sourced::new(KcalPer100g::of(MEASURED.value.1), MEASURED.source)),
    ]
}

/// Whole hand-feeding of a pup that nursed before starts low and is full on the third day.
/// The step table is itself the gentle start of a newborn.
fn eased_in(
    facts: &Facts,
    assessment: &Assessment,
    pup: &PupAssessment,
    day: Kcal,
    now: Timestamp,
    working: &mut Vec<Term>,
    shortfalls: &mut Vec<Shortfall>,
) -> (Kcal, bool) {
    let started = assessment
        .dam_feeds
        .off_since
        .or(pup.pup.hand_fed_since)
        .or_else(|| facts.hand_feeds(&pup.pup.id).map(|f| f.at).next())
        .unwrap_or(now);
    let age_at_start = hours_between(pup.pup.born_at, started).get();
    let days = hours_between(started, now).get() / 24.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0, 1 or 2")]
    let share = EASE_IN.value[(days.max(0.0) as usize).min(2)];
    if age_at_start < STEPS.value[0].0 || share >= 1.0 {
        return (day, false);
    }
    let by_hand = day * share;
    working.push(Term::new(
        "eased in",
        format!("{} of the need on this day of hand-feeding", Percent::of(share * 100.0)),
        Some(EASE_IN.source),
    ));
    let text = format!(
        "eased in: {by_hand} of {day} today, all of it from the third day; if it was hand-fed before, set hand_fed_since"
    );
    shortfalls.push(Shortfall { kind: "eased in", text, missing: Some(day - by_hand) });
    (by_hand, true)
}

/// Fewest feeds whose stomach limit adds up to the volume: ceil(volume / limit).
///
/// A strict limit needs one more feed when the division is even.
#[must_use]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1 to 96")]
pub fn fewest_feeds(volume: Millilitres, limit: Millilitres, is_exclusive: bool) -> u32 {
    let ratio = volume / limit;
    // 15 kcal at 0.75 kcal per mL and 40 mL per kg is exactly 5 feeds; a float may say 5.000 000 1.
    let feeds = if is_exclusive { (ratio + 1e-9).floor() + 1.0 } else { (ratio - 1e-9).ceil() };
    feeds.clamp(1.0, 96.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEFAULT: EnergyChoice = EnergyChoice { table: EnergyTable::Steps, from_day_seven: None };

    #[test]
    fn energy_steps_by_day() {
        // Handbook feeding.md section 13: 15 on days 1-3, 20 on days 4-6, then 22, editable.
        let check = |hours: f64, expected: f64| assert_eq!(energy_per_100g(DEFAULT, hours).value.get(), expected);
        check(0.0, 15.0);
        check(71.9, 15.0);
        check(72.0, 20.0);
        check(143.9, 20.0);
        check(144.0, 22.0);
        let edited = EnergyChoice { from_day_seven: Some(KcalPer100g::of(25.0)), ..DEFAULT };
        assert_eq!(energy_per_100g(edited, 100.0).value.get(), 20.0);
        assert_eq!(energy_per_100g(edited, 144.0).value.get(), 25.0);
    }

    #[test]
    fn published_energy_by_week() {
        // Handbook feeding.md section 1 (home handbook p 499, read): 13.2, 15.4, 17.6, 19.8 kcal per 100 g.
        let weeks = EnergyChoice { table: EnergyTable::Weeks, from_day_seven: None };
        for (day, expected) in [(0.0, 13.2), (7.0, 15.4), (14.0, 17.6), (21.0, 19.8), (30.0, 19.8)] {
            assert!((energy_per_100g(weeks, day * 24.0).value.get() - expected).abs() < 0.05);
        }
    }

    #[test]
    fn alternatives_stay_beside_the_choice() {
        let others = alternatives(DEFAULT, 200.0);
        assert!(others.iter().any(|(_, v)| v.source.key == "energy-nrc" && v.value.get() == 25.0));
        assert!(others.iter().any(|(_, v)| v.source.key == "energy-weeks"));
    }

    #[test]
    fn feeds_per_day_by_week() {
        for (day, feeds) in [(0.0, 8), (6.9, 8), (7.0, 6), (14.0, 5), (21.0, 4), (34.0, 4)] {
            assert_eq!(limits::usual_feeds(day * 24.0).value, feeds);
        }
    }

    #[test]
    fn published_fewest_feeds() {
        // Handbook feeding.md section 4, table at 40 mL per kg (derived): rows of energy, columns of strength.
        let strengths = [0.75, 0.90, 1.0, 1.2, 1.3];
        let table =
            [(13.0, [5, 4, 4, 3, 3]), (15.0, [5, 5, 4, 4, 3]), (20.0, [7, 6, 5, 5, 4]), (25.0, [9, 7, 7, 6, 5])];
        for (kcal, row) in table {
            for (strength, expected) in strengths.into_iter().zip(row) {
                let volume = Millilitres::of(kcal * 10.0 / strength);
                assert_eq!(fewest_feeds(volume, Millilitres::of(40.0), false), expected, "{kcal} at {strength}");
            }
        }
        assert_eq!(fewest_feeds(Millilitres::of(100.0), Millilitres::of(20.0), true), 6, "strictly below");
    }
}
