//! Saves what a pup took.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};
use whelpward_core::intake;
use whelpward_core::record::{Facts, PupId, heaviest, hours_between};
use whelpward_core::report;
use whelpward_core::units::{Grams, number, parse_decimal};

use crate::book::{Draft, not_in_the_future, read_beside, values};
use crate::check::{self, Seen};
use crate::{AppError, Ask, Book, Choice, Saved, Who};

/// How much.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// All of the planned amount.
    AsPlanned,
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
    let warm = seen.as_ref().map(|seen| check::fact(&draft, &loaded, Some(ask.pup), ask.at, seen, None));
    let with_it = warm.as_ref().map(|fact| read_beside(Some(&loaded), std::slice::from_ref(fact))).transpose()?;
    let facts = match with_it.as_ref().and_then(|folded| folded.facts.as_ref()) {
        Some(facts) => facts,
        None => loaded.facts()?,
    };
    let (method, offered, taken, before, after) = match &ask.amount {
        Amount::AsPlanned => {
            let answer = report::today(facts, ask.at);
            let pup = answer.pups.iter().find(|p| p.pup == name);
            let Some(planned) = pup.and_then(|p| p.next_feed.as_ref()) else {
                let why =
                    pup.and_then(|p| p.no_feed_because.clone()).unwrap_or_else(|| "it is not in the litter".into());
                if let (Some(fact), Some(seen)) = (warm, &seen) {
                    let notes = check::urgent(&answer, Some(&name));
                    let facts = book.save(Some(&loaded), vec![fact], now).await?;
                    let read_back = format!("{} No feed was written down: {why}.", check::said(&name, seen));
                    return Ok(Saved { facts, read_back, notes });
                }
                return Err(AppError::refused(
                    format!("no feed is planned for {name}: {why}"),
                    "the amount that it took, in mL",
                ));
            };
            let due: Timestamp = planned.at.parse().unwrap_or(ask.at);
            if hours_between(ask.at, due).get() > EARLY_H && !ask.is_kept {
                let clock = report::clock(due, &loaded.zone());
                return Err(AppError::Ask(Box::new(Ask {
                    what: format!("the next feed of {name} is planned for {clock}"),
                    choices: vec![
                        Choice { label: "it was not fed: save nothing".into(), meant_g: None },
                        Choice { label: "it was fed early: save it".into(), meant_g: None },
                    ],
                })));
            }
            let ml = number(planned.amount_ml, 1, false);
            (planned.method.clone(), Some(ml.clone()), Some(ml), None, None)
        }
        Amount::Given { offered_ml, taken_ml } => {
            let method = ask.method.clone().unwrap_or_else(|| "bottle".into());
            (method, offered_ml.clone().or_else(|| taken_ml.clone()), taken_ml.clone(), None, None)
        }
        Amount::Nursed { before_g, after_g, .. } => ("nursing".into(), None, None, before_g.clone(), after_g.clone()),
    };
    let method = ask.method.clone().unwrap_or(method);
    fed_again(facts, &name, &method, &ask)?;
    let nursed = two_weights(before.as_deref(), after.as_deref());
    another_pup(&name, nursed, ask.is_kept)?;
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
            ("method", Some(method.clone())),
            ("offered_ml", offered),
            ("taken_ml", taken.clone()),
            ("milk", milk),
            ("note", ask.note.clone()),
            ("soiled", matches!(ask.amount, Amount::Nursed { is_soiled: true, .. }).then(|| "yes".into())),
            ("weight_before_g", before),
            ("weight_after_g", after),
        ]),
    );
    physics(facts, &name, fact.amount())?;
    let scale_step = facts.litter.scale_step;
    let facts = book.save(Some(&loaded), std::iter::once(fact).chain(warm).collect(), now).await?;
    let after = book.load(ask.litter).await?;
    let answer = report::today(after.facts()?, now.max(ask.at));
    let large = answer.large_feeds.iter().filter(|l| l.pup == name).map(|l| l.text.clone()).take(1);
    let urgent = if seen.is_some() { check::urgent(&answer, Some(&name)) } else { Vec::new() };
    let notes = large.chain(urgent).collect();
    let fed = fed_words(&name, &ask.amount, nursed, scale_step, &method, taken.as_deref());
    let read_back = seen.map_or(fed.clone(), |seen| format!("{fed} {}", check::said(&name, &seen)));
    Ok(Saved { facts, read_back, notes })
}

/// A hand feed within the hour is asked about: the same feed, or another?
fn fed_again(facts: &Facts, name: &str, method: &str, ask: &FeedGiven) -> Result<(), AppError> {
    let last = facts.feeds.iter().filter(|f| f.pup.0 == name && f.at <= ask.at && f.is_by_hand()).max_by_key(|f| f.at);
    if let Some(last) = last
        && method != "nursing"
        && hours_between(last.at, ask.at).get() < AGAIN_WITHIN_H
        && !ask.is_kept
    {
        let minutes = (hours_between(last.at, ask.at).get() * 60.0).round();
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
    Ok(())
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
    amount: &Amount,
    nursed: Option<(Grams, Grams)>,
    scale_step: Grams,
    method: &str,
    taken: Option<&str>,
) -> String {
    if let Some((before, after)) = nursed {
        let is_soiled = matches!(amount, Amount::Nursed { is_soiled: true, .. });
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
