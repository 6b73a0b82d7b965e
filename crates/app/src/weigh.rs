//! Saves a weight, after one look for a slip of the finger.

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::record::entries;
use whelpward_core::report;
use whelpward_core::units::{Grams, WeightUnit, format_change};

use crate::book::{Draft, not_in_the_future, read_beside, values};
use crate::{AppError, Ask, Book, Choice, Loaded, Saved, Who};

/// One weight of one pup.
#[derive(Debug, Clone)]
pub struct Weight {
    pub litter: FactId,
    pub pup: FactId,
    pub at: Timestamp,
    /// As typed.
    pub weight: String,
    /// g, oz or `lb_oz`.
    pub unit: String,
    /// `before_feed`, `after_feed` or unknown.
    pub taken: Option<String>,
    pub note: Option<String>,
    /// The person has looked again and the number is right.
    pub is_kept: bool,
}

/// Saves a weight.
///
/// # Errors
/// It does not read; or it looks like a slip and nobody has said to keep it: then a question.
pub async fn weigh(book: &Book, who: &Who, ask: Weight, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    let draft = Draft::of(book, who, &loaded, now);
    let fact = draft.fact(
        Kind::Weighing,
        Some(ask.pup),
        values([
            ("weighed_at", Some(loaded.typed_time(ask.at))),
            ("weight", Some(ask.weight.trim().to_owned())),
            ("unit", Some(ask.unit.clone())),
            ("taken", ask.taken.clone().filter(|t| t != "unknown")),
            ("note", ask.note.clone()),
        ]),
    );
    look_and_save(book, &loaded, fact, ask.is_kept, now).await
}

/// The one look for a slip, at a weighing made here or on a device.
pub(crate) async fn look_and_save(
    book: &Book,
    loaded: &Loaded,
    fact: Fact,
    is_kept: bool,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let facts = loaded.facts()?;
    let taken_at = fact.occurred;
    not_in_the_future(taken_at, now)?;
    let text = |key: &str| fact.body.get(key).map(entries::typed).unwrap_or_default();
    let (unit, typed) = (text("unit"), text("weight"));
    let unit =
        WeightUnit::from_word(&unit).ok_or_else(|| AppError::refused(format!("unit \"{unit}\""), "g, oz or lb_oz"))?;
    let name = fact.pup.map_or("", |p| loaded.name_of(p)).to_owned();
    let weight = unit.parse(&typed).map_err(|allowed| AppError::refused(format!("weight \"{typed}\""), allowed))?;
    let before =
        facts.weighings.iter().filter(|w| w.pup.0 == name && w.at < taken_at).max_by_key(|w| w.at).map(|w| w.weight);
    let before = before.or_else(|| facts.pups.iter().find(|p| p.id.0 == name).and_then(|p| p.birth_weight));
    let with_it = read_beside(Some(loaded), std::slice::from_ref(&fact))?;
    let mut notes = Vec::new();
    if let Some(facts) = &with_it.facts {
        let at = now.max(taken_at);
        let answer = report::today(facts, at);
        let doubt = answer.doubts.iter().find(|d| {
            d.pup == name
                && !d.is_settled
                && (d.reading_g - weight.get()).abs() < 0.0005
                && is_same_time(&d.at, taken_at)
        });
        if let Some(doubt) = doubt {
            if !is_kept {
                let last = before.map_or_else(|| "no weight before".into(), |b| format!("{} before", unit.print(b)));
                let mut choices = vec![Choice { label: "weigh again".into(), meant_g: None }];
                if let Some(meant) = doubt.meant_g.and_then(|g| Grams::new(g).ok()) {
                    let label = format!("it was {}", unit.print(meant));
                    choices.push(Choice { label, meant_g: Some(meant.get()) });
                }
                choices.push(Choice { label: "keep it, it is right".into(), meant_g: None });
                choices.push(Choice { label: "the pup is unwell: look at it now".into(), meant_g: None });
                return Err(AppError::Ask(Box::new(Ask {
                    what: format!("{name}: {} is unusual ({last}): perhaps {}", unit.print(weight), doubt.suspicion),
                    choices,
                })));
            }
            notes.push(format!("Kept although it looked like {}. Weigh again to be sure.", doubt.suspicion));
        }
    }
    let facts = book.save_as(Some(loaded), vec![fact], with_it, now).await?;
    let change = before.map(|b| format!(", {} since the weight before", format_change(weight - b))).unwrap_or_default();
    Ok(Saved { facts, read_back: format!("{name}: {}{change}.", unit.print(weight)), notes })
}

fn is_same_time(iso: &str, at: Timestamp) -> bool {
    iso.parse::<Timestamp>().is_ok_and(|t| t.duration_since(at).as_secs().abs() < 60)
}
