//! How much of a topped-up pup's day comes from us.
//!
//! Where the dam's share is known well enough: the energy of upkeep and of the gain that is published
//! for the age, less what she gives, named so large that it is enough with the stated chance. Until four
//! nursings are weighed in a day, at most half of the need by the table; then at most a fifth more than
//! the day before. For a pup that gains it falls by no more than a quarter of the first amount a day
//! (`hand_back`). Where the share is not known, half of the need by the table. No amount to give: `guide`
//! caps it.

use jiff::Timestamp;

use crate::assess::{LATER_G_PER_KG, PupAssessment, published_gain_band};
use crate::finding::{Standing, Term};
use crate::guide::checked;
use crate::intake::{self, HandBack, Intake, NoEstimate, energetics, hand_back, in_ml, taken_at};
use crate::limits;
use crate::need::{Shortfall, asks_for_milk};
use crate::record::{Facts, VetOrder, hours_between};
use crate::references::{self as source, Sourced};
use crate::units::{Grams, Kcal, Percent, number};

/// A measured top-up grows by no more than this share in a day.
const GROWS_BY: Sourced<f64> = Sourced::new(0.2, &source::TOP_UP_GROWS);

/// The energy of a pup that gains as is published for its age.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    pub day: Kcal,
    pub gain: Sourced<Grams>,
}

/// Upkeep and the usual published gain of this age; none where no gain is published or the adult weight is
/// not known.
///
/// Units: h, g -> kcal metabolisable a day. Valid from 48 h to day 35. Source: rows `energetics` and of the
/// gain.
#[must_use]
pub fn wanted(facts: &Facts, age_h: f64, weight: Grams) -> Option<Wanted> {
    let gain = if let Some(band) = published_gain_band(age_h) {
        Sourced::new(weight * (band.value.1 / 100.0), band.source)
    } else {
        let adult_kg = facts.litter.expected_adult_weight?.get() / 1000.0;
        Sourced::new(Grams::of(LATER_G_PER_KG.value * adult_kg), LATER_G_PER_KG.source)
    };
    let day = taken_at(age_h / 24.0, weight.get() / 1000.0, gain.value.get());
    Some(Wanted { day: Kcal::of(day), gain })
}

/// What is asked of [`top_up`].
pub struct Asked<'a> {
    pub facts: &'a Facts,
    pub pup: &'a PupAssessment,
    pub intake: &'a Result<Intake, NoEstimate>,
    /// The need of a day by the energy table, or as a vet ordered it.
    pub day: Kcal,
    pub order: Option<&'a VetOrder>,
    pub now: Timestamp,
}

impl Asked<'_> {
    /// A vet set the energy of a day.
    fn is_ordered(&self) -> bool {
        self.order.is_some_and(|o| o.energy.is_some())
    }
}

/// The part of a day that comes from us.
pub struct TopUp {
    pub by_hand: Kcal,
    /// Set while it goes down in steps.
    pub hand_back: Option<HandBack>,
}

/// Energy by hand of a day; none when the dam's milk is enough by itself.
pub fn top_up(asked: &Asked<'_>, working: &mut Vec<Term>, shortfalls: &mut Vec<Shortfall>) -> Option<TopUp> {
    let (intake, wanted) = match usable(asked) {
        Ok(usable) => usable,
        Err(why) => return Some(half(asked.day, &why, working)),
    };
    let open = intake.top_up_for(wanted.day);
    say_shares(asked, intake, wanted, open, working);
    let (eased, hand_back) = eased_out(asked, intake, open, working);
    let by_hand = eased.min(most(asked, intake, working));
    if by_hand < open * SHORT {
        shortfalls.push(dam_gives_too_little(asked, intake, open, by_hand));
    }
    // A sign that asks for milk is never answered with none because of a model.
    let is_asked_for =
        asked.pup.findings.iter().any(|f| asks_for_milk(f.code) && f.level.standing() >= Standing::NeedsHelp);
    match by_hand.get() {
        kcal if kcal >= LEAST_KCAL => Some(TopUp { by_hand, hand_back }),
        _ if is_asked_for || asked.order.is_some() => {
            Some(half(asked.day, "it is to get milk, whatever the estimate says", working))
        }
        _ => None,
    }
}

/// Less than this is not worth waking a pup for.
const LEAST_KCAL: f64 = 0.5;
/// A top-up below this share of what is open is spoken of.
const SHORT: f64 = 0.95;

/// The estimate and the target, where both are good enough to act on.
fn usable<'a>(asked: &'a Asked<'_>) -> Result<(&'a Intake, Wanted), String> {
    let intake = asked.intake.as_ref().map_err(|why| why.words().to_owned())?;
    if intake.gain.is_none() && !intake.is_measured() {
        return Err("its gain cannot be judged yet, and fewer than four nursings are weighed".into());
    }
    if intake.disagree.is_some() {
        return Err("its growth and the weighed nursings do not go together".into());
    }
    let latest = asked.pup.latest().ok_or("weigh it first")?;
    if hours_between(latest.at, asked.now).get() > limits::stale_after_h(asked.pup.age.get()).value {
        return Err("its last weight is too old".into());
    }
    let wanted = wanted(asked.facts, asked.pup.age.get(), latest.weight)
        .ok_or("no gain is published for its age without the breed's adult weight")?;
    // A vet's own target stands in place of ours.
    let day = if asked.is_ordered() { asked.day } else { wanted.day };
    Ok((intake, Wanted { day, ..wanted }))
}

/// The rule until the dam's milk is known.
fn half(day: Kcal, why: &str, working: &mut Vec<Term>) -> TopUp {
    let share = limits::TOP_UP_SHARE;
    working.push(Term::new("the dam's milk is not counted", why, None));
    working.push(Term::new(
        "top-up until the dam's milk is known",
        format!("{} of the need", Percent::of(share.value * 100.0)),
        Some(share.source),
    ));
    TopUp { by_hand: day * share.value, hand_back: None }
}

fn say_shares(asked: &Asked<'_>, intake: &Intake, wanted: Wanted, open: Kcal, working: &mut Vec<Term>) {
    if !asked.is_ordered() {
        let unit = asked.facts.litter.weight_unit;
        working.push(Term::new("gain that is wanted, a day", unit.print(wanted.gain.value), Some(wanted.gain.source)));
    }
    let target_source = if asked.is_ordered() { &source::VET_ORDER } else { intake::ESTIMATE };
    working.push(Term::new("energy for upkeep and that gain", wanted.day.to_string(), Some(target_source)));
    let kcal = |p: f64| Kcal::of(intake.milk.quantile_kcal(p));
    working.push(Term::new(
        "from the dam, estimated",
        format!(
            "{} ({} to {}), about {}; {} nursings weighed in 24 h",
            kcal(0.5),
            number(kcal(0.05).get(), 0, false),
            kcal(0.95),
            in_ml(intake.milk.quantile_g(0.5)),
            intake.weighed_nursings
        ),
        Some(intake::ESTIMATE),
    ));
    let chance = intake::TOP_UP_CHANCE;
    let shown = Percent::of(chance.value * 100.0);
    working.push(Term::new(format!("open, enough with {shown}"), open.to_string(), Some(chance.source)));
}

/// The most that the top-up may be: half of the need until four nursings are weighed; then that, or a fifth
/// more than what was given in the last day.
fn most(asked: &Asked<'_>, intake: &Intake, working: &mut Vec<Term>) -> Kcal {
    let half = asked.day * limits::TOP_UP_SHARE.value;
    if !intake.is_measured() {
        let what = "at most, until four nursings are weighed in 24 h";
        working.push(Term::new(what, half.to_string(), Some(limits::TOP_UP_SHARE.source)));
        return half;
    }
    let most = half.max(intake.by_hand * (1.0 + GROWS_BY.value));
    working.push(Term::new("at most, a fifth more than the last day", most.to_string(), Some(GROWS_BY.source)));
    most
}

/// What is open, but no less than one step of handing back below what was given.
fn eased_out(asked: &Asked<'_>, intake: &Intake, open: Kcal, working: &mut Vec<Term>) -> (Kcal, Option<HandBack>) {
    let steps = handing_back(asked, intake).filter(|s| s.steps.first().is_some_and(|step| step.by_hand > open));
    let Some(steps) = steps else { return (open, None) };
    let first = steps.steps[0].by_hand;
    working.push(Term::new("handed back to the dam in steps, at first", first.to_string(), Some(steps.source)));
    (first, Some(steps))
}

/// The plan for handing a topped-up pup back, where it gains at least what is published as the least and
/// nothing speaks against it.
fn handing_back(asked: &Asked<'_>, intake: &Intake) -> Option<HandBack> {
    let pup = asked.pup;
    let least = published_gain_band(pup.age.get())?.value.0;
    let (gain, _) = intake.gain?;
    let gains_enough = gain >= pup.latest()?.weight.get() * least / 100.0;
    let is_calm = pup.standing <= Standing::KeepWatch && checked::open_setback(asked.facts, pup, asked.now).is_none();
    (gains_enough && is_calm && intake.by_hand.get() >= LEAST_KCAL)
        .then(|| hand_back(intake.most_by_hand, intake.by_hand, least))
}

/// The plan of a pup that gets no more by hand from now on, though it did in the last day.
#[must_use]
pub fn stopped(pup: &PupAssessment, intake: &Intake) -> Option<HandBack> {
    let least = published_gain_band(pup.age.get())?.value.0;
    (intake.by_hand.get() >= LEAST_KCAL).then(|| hand_back(intake.by_hand, Kcal::of(0.0), least))
}

/// The estimate asks for more than a top-up may be: what would help, and the open switch.
fn dam_gives_too_little(asked: &Asked<'_>, intake: &Intake, open: Kcal, by_hand: Kcal) -> Shortfall {
    let weighed = if intake.is_measured() {
        format!("the amount may grow by {} a day", Percent::of(GROWS_BY.value * 100.0))
    } else {
        "weigh four nursings before and after, and more may be given".to_owned()
    };
    let mut text = format!("the dam's milk seems to leave {open} a day open, and {by_hand} is planned: {weighed}");
    if gives_too_little(asked, intake) {
        text.push_str(
            ". What she gives it does not even cover its upkeep: ask the vet, and decide openly to feed it wholly by \
             hand (rearing hand_fed, hand_fed_since); that is eased in over three days",
        );
    }
    Shortfall { kind: "dam", text, missing: Some(open - by_hand) }
}

/// What comes from the dam does not even cover the pup's upkeep, almost surely.
fn gives_too_little(asked: &Asked<'_>, intake: &Intake) -> bool {
    let upkeep = energetics(asked.pup.age.get() / 24.0).upkeep.0 * (intake.weight.get() / 1000.0).powf(0.75);
    intake.milk.quantile_kcal(GIVES_TOO_LITTLE.value) < upkeep
}

/// With this chance the dam's milk does not cover a pup's upkeep.
const GIVES_TOO_LITTLE: Sourced<f64> = Sourced::new(0.95, &source::GIVES_TOO_LITTLE);
