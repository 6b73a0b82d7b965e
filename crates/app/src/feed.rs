//! Saves what a pup took.

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::intake;
use whelpward_core::record::{Facts, PupId, entries, heaviest, hours_between};
use whelpward_core::report;
use whelpward_core::units::{Grams, number, parse_decimal};

use crate::book::{Draft, not_in_the_future, read_beside, values};
use crate::check::{self, Seen};
use crate::{AppError, Ask, Book, Choice, Loaded, Saved, Who};

/// How much.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// All of the planned amount; as the plan says now, or as it stood on the button.
    AsPlanned(Option<Shown>),
    Given {
        offered_ml: Option<String>,
        taken_ml: Option<String>,
    },
    /// Weighed before and after a supervised nursing.
    Nursed {
        before_g: Option<String>,
        after_g: Option<String>,
        /// It passed urine or stool between the two.
        is_soiled: bool,
    },
}

/// The planned feed as a carer saw it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    pub amount_ml: String,
    /// bottle or tube.
    pub method: String,
}

impl Shown {
    #[must_use]
    pub fn new(amount: String, method: String) -> Self {
        Self { amount_ml: amount, method }
    }
}

/// One pup fed once.
#[derive(Debug, Clone)]
pub struct FeedGiven {
    pub litter: FactId,
    pub pup: FactId,
    pub at: Timestamp,
    /// bottle, tube or nursing; as planned when left out.
    pub method: Option<String>,
    pub amount: Amount,
    pub milk: Option<String>,
    pub note: Option<String>,
    /// Taken just before this feed, in °C; saved with it as a check.
    pub rectal_temperature_c: Option<String>,
    /// The person knows that the pup was fed shortly before.
    pub is_kept: bool,
}

/// A second feed of one pup within this time is asked about (our own, usability S-7).
const AGAIN_WITHIN_H: f64 = 1.0;

/// "As planned" so long before the planned time is asked about (our own).
const EARLY_H: f64 = 0.75;

/// Saves a feed, with the temperature that was taken before it.
///
/// A temperature that forbids the planned feed is saved alone: the feed is then not "as planned",
/// and what was given all the same is written down as another amount.
///
/// # Errors
/// It does not read; nothing was planned; or the pup was fed within the hour: then a question.
pub async fn feed(book: &Book, who: &Who, ask: FeedGiven, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    not_in_the_future(ask.at, now)?;
    let name = loaded.name_of(ask.pup).to_owned();
    let draft = Draft::of(book, who, &loaded, now);
    let seen = ask.rectal_temperature_c.clone().filter(|t| !t.trim().is_empty());
    let seen = seen.map(|value| Seen { kind: "rectal_temperature_c".into(), value });
    let warm = seen.map(|seen| check::fact(&draft, &loaded, Some(ask.pup), ask.at, &seen, None));
    let with_it = warm.as_ref().map(|fact| read_beside(Some(&loaded), std::slice::from_ref(fact))).transpose()?;
    let facts = match with_it.as_ref().and_then(|folded| folded.facts.as_ref()) {
        Some(facts) => facts,
        None => loaded.facts()?,
    };
    let (method, offered, taken, before, after) = match &ask.amount {
        Amount::AsPlanned(shown) => match planned(facts, &name, ask.at, shown.as_ref(), ask.is_kept)? {
            Planned::Feed(fed) => (fed.method, Some(fed.amount_ml.clone()), Some(fed.amount_ml), None, None),
            Planned::Nothing { why, urgent } => {
                return save_the_reading_alone(book, &loaded, &name, warm, &why, urgent, now).await;
            }
        },
        Amount::Given { offered_ml, taken_ml } => {
            let method = ask.method.clone().unwrap_or_else(|| "bottle".into());
            (method, offered_ml.clone().or_else(|| taken_ml.clone()), taken_ml.clone(), None, None)
        }
        Amount::Nursed { before_g, after_g, .. } => ("nursing".into(), None, None, before_g.clone(), after_g.clone()),
    };
    let method = ask.method.clone().unwrap_or(method);
    let milk = match (&ask.milk, method.as_str()) {
        (Some(milk), _) => Some(milk.clone()),
        (None, "nursing") => None,
        (None, _) => facts.milk_in_use().map(|m| m.id.clone()),
    };
    let fact = draft.fact(
        Kind::Feed,
        Some(ask.pup),
        values([
            ("fed_at", Some(loaded.typed_time(ask.at))),
            ("method", Some(method)),
            ("offered_ml", offered),
            ("taken_ml", taken),
            ("milk", milk),
            ("note", ask.note.clone()),
            ("soiled", matches!(ask.amount, Amount::Nursed { is_soiled: true, .. }).then(|| "yes".into())),
            ("weight_before_g", before),
            ("weight_after_g", after),
        ]),
    );
    save(book, &loaded, facts, fact, warm, ask.is_kept, now).await
}

/// A feed that a device made, with the reading before it: looked at like one that is typed here.
pub(crate) struct Tap {
    pub feed: Fact,
    pub warm: Option<Fact>,
    /// It was given as planned, and this stood on the button.
    pub shown: Option<Shown>,
    pub is_kept: bool,
}

pub(crate) async fn look_and_save(book: &Book, loaded: &Loaded, tap: Tap, now: Timestamp) -> Result<Saved, AppError> {
    let Tap { feed, warm, shown, is_kept } = tap;
    not_in_the_future(feed.occurred, now)?;
    let with_it = warm.as_ref().map(|fact| read_beside(Some(loaded), std::slice::from_ref(fact))).transpose()?;
    let facts = match with_it.as_ref().and_then(|folded| folded.facts.as_ref()) {
        Some(facts) => facts,
        None => loaded.facts()?,
    };
    if let Some(shown) = &shown {
        let name = feed.pup.map_or("", |p| loaded.name_of(p)).to_owned();
        if let Planned::Nothing { why, urgent } = planned(facts, &name, feed.occurred, Some(shown), is_kept)? {
            return save_the_reading_alone(book, loaded, &name, warm, &why, urgent, now).await;
        }
    }
    save(book, loaded, facts, feed, warm, is_kept, now).await
}

/// What the plan says of a feed that is said to be as planned.
enum Planned {
    Feed(Shown),
    Nothing { why: String, urgent: Vec<String> },
}

/// The amount is the one that the carer saw. Where the plan says another by now, a person says
/// whether it was given.
fn planned(
    facts: &Facts,
    name: &str,
    at: Timestamp,
    shown: Option<&Shown>,
    is_kept: bool,
) -> Result<Planned, AppError> {
    let answer = report::today(facts, at);
    let pup = answer.pups.iter().find(|p| p.pup == name);
    let Some(plan) = pup.and_then(|p| p.next_feed.as_ref()) else {
        let why = pup.and_then(|p| p.no_feed_because.clone()).unwrap_or_else(|| "it is not in the litter".into());
        return Ok(Planned::Nothing { why, urgent: check::urgent(&answer, Some(name)) });
    };
    let is_given = |what: String, no: &str, yes: &str| {
        let choices = [no, yes].map(|label| Choice { label: label.into(), meant_g: None }).into();
        AppError::Ask(Box::new(Ask { what, choices }))
    };
    let by_plan = Shown { amount_ml: number(plan.amount_ml, 1, false), method: plan.method.clone() };
    if let Some(shown) = shown.filter(|shown| **shown != by_plan && !is_kept) {
        let what = format!(
            "the plan for {name} has changed: the button said {} mL by {}, it now says {} mL by {}",
            shown.amount_ml, shown.method, by_plan.amount_ml, by_plan.method
        );
        let yes = format!("{} mL by {} was given: save it", shown.amount_ml, shown.method);
        return Err(is_given(what, "not given yet: show the new amount", &yes));
    }
    let due: Timestamp = plan.at.parse().unwrap_or(at);
    if hours_between(at, due).get() > EARLY_H && !is_kept {
        let what = format!("the next feed of {name} is planned for {}", report::clock(due, &facts.litter.zone));
        return Err(is_given(what, "it was not fed: save nothing", "it was fed early: save it"));
    }
    Ok(Planned::Feed(shown.cloned().unwrap_or(by_plan)))
}

/// A reading that forbids the planned feed is saved; the feed is not.
async fn save_the_reading_alone(
    book: &Book,
    loaded: &Loaded,
    name: &str,
    warm: Option<Fact>,
    why: &str,
    notes: Vec<String>,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let Some(fact) = warm else {
        return Err(AppError::refused(
            format!("no feed is planned for {name}: {why}"),
            "the amount that it took, in mL",
        ));
    };
    let read_back = format!("{} No feed was written down: {why}.", check::said_of(name, &fact));
    let facts = book.save(Some(loaded), vec![fact], now).await?;
    Ok(Saved { facts, read_back, notes })
}

/// Two weights that cannot be those of one nursing are asked about.
fn another_pup(name: &str, nursed: Option<(Grams, Grams)>, is_kept: bool) -> Result<(), AppError> {
    match nursed.and_then(|(before, after)| intake::unlikely(before, after)) {
        Some(what) if !is_kept => Err(AppError::Ask(Box::new(Ask {
            what: format!("{name}: {what}"),
            choices: vec![
                Choice { label: "look again: save nothing".into(), meant_g: None },
                Choice { label: "both are right: save them".into(), meant_g: None },
            ],
        }))),
        _ => Ok(()),
    }
}

/// What was saved, in one sentence.
fn fed_words(
    name: &str,
    is_soiled: bool,
    nursed: Option<(Grams, Grams)>,
    scale_step: Grams,
    method: &str,
    taken: Option<&str>,
) -> String {
    if let Some((before, after)) = nursed {
        let gain = intake::nursed_words(after - before, scale_step, is_soiled);
        return format!("{name}: nursed, {gain}{}", if gain.ends_with('?') { "" } else { "." });
    }
    if method == "nursing" {
        return format!("{name}: nursed.");
    }
    let amount = taken.map_or_else(|| "amount not written down".into(), |ml| format!("{ml}\u{a0}mL"));
    format!("{name}: {amount} by {method}.")
}

/// The two weights of a nursing, where both are plain numbers; the book's own reader speaks of others.
fn two_weights(before: Option<&str>, after: Option<&str>) -> Option<(Grams, Grams)> {
    let grams = |text: &str| parse_decimal(text).ok().and_then(|g| Grams::new(g).ok());
    Some((grams(before?)?, grams(after?)?))
}

/// Saves a feed with the reading before it, unless the pup was fed within the hour and nobody said
/// that this is another feed.
async fn save(
    book: &Book,
    loaded: &Loaded,
    facts: &Facts,
    feed: Fact,
    warm: Option<Fact>,
    is_kept: bool,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let name = feed.pup.map_or("", |p| loaded.name_of(p)).to_owned();
    let at = feed.occurred;
    let text = |key: &str| feed.body.get(key).map(entries::typed);
    let method = text("method").unwrap_or_default();
    let last = facts.feeds.iter().filter(|f| f.pup.0 == name && f.at <= at && f.is_by_hand()).max_by_key(|f| f.at);
    if let Some(last) = last
        && method != "nursing"
        && hours_between(last.at, at).get() < AGAIN_WITHIN_H
        && !is_kept
    {
        let minutes = (hours_between(last.at, at).get() * 60.0).round();
        let amount = last.at_most().map_or_else(|| "an amount nobody wrote down".into(), |ml| ml.to_string());
        let by = last.carer.as_ref().map(|c| format!(" by {c}")).unwrap_or_default();
        return Err(AppError::Ask(Box::new(Ask {
            what: format!("{name} was fed {amount} {minutes} min ago{by}"),
            choices: vec![
                Choice { label: "it is the same feed: save nothing".into(), meant_g: None },
                Choice { label: "it is another feed: save it".into(), meant_g: None },
            ],
        })));
    }
    let nursed = two_weights(text("weight_before_g").as_deref(), text("weight_after_g").as_deref());
    another_pup(&name, nursed, is_kept)?;
    physics(facts, &name, feed.amount())?;
    let is_soiled = text("soiled").is_some_and(|t| t == "yes");
    let step = facts.litter.scale_step;
    let fed = fed_words(&name, is_soiled, nursed, step, &method, text("taken_ml").as_deref());
    let read_back = warm.as_ref().map_or_else(|| fed.clone(), |warm| format!("{fed} {}", check::said_of(&name, warm)));
    let has_reading = warm.is_some();
    let saved = book.save(Some(loaded), std::iter::once(feed).chain(warm).collect(), now).await?;
    let after = book.load(loaded.id).await?;
    let answer = report::today(after.facts()?, now.max(at));
    let large = answer.large_feeds.iter().filter(|l| l.pup == name).map(|l| l.text.clone()).take(1);
    let urgent = if has_reading { check::urgent(&answer, Some(&name)) } else { Vec::new() };
    Ok(Saved { facts: saved, read_back, notes: large.chain(urgent).collect() })
}

/// What really happened can always be written down, but not more mL than the pup weighs.
fn physics(facts: &Facts, name: &str, microlitres: Option<i64>) -> Result<(), AppError> {
    let pup = PupId(name.to_owned());
    let heaviest = heaviest(&facts.weighings, &facts.pups, &pup).map(Grams::milligrams);
    match (heaviest, microlitres) {
        (Some(mg), Some(ul)) if ul > mg => Err(AppError::refused(
            format!("{} mL is more than {name} weighs", number_of(ul)),
            format!("less than {} mL; is it the weight?", number_of(mg)),
        )),
        _ => Ok(()),
    }
}

#[expect(clippy::cast_precision_loss, reason = "amounts are far below 2^53")]
fn number_of(thousandths: i64) -> String {
    number(thousandths as f64 / 1000.0, 1, false)
}
