//! Saves an observation of a pup, the dam, the box or the litter.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};
use whelpward_core::report;

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Book, Saved, Who};

/// One observation.
#[derive(Debug, Clone)]
pub struct Observation {
    pub litter: FactId,
    /// None: of the dam, the box or the litter.
    pub pup: Option<FactId>,
    pub at: Timestamp,
    /// A word of docs/FORMAT.md, such as `rectal_temperature_c`.
    pub kind: String,
    pub value: String,
    pub note: Option<String>,
}

/// Saves a check, and says what follows from it.
///
/// # Errors
/// It does not read.
pub async fn check(book: &Book, who: &Who, ask: Observation, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    not_in_the_future(ask.at, now)?;
    let draft = Draft::of(book, who, &loaded, now);
    let fact = draft.fact(
        Kind::Check,
        ask.pup,
        values([
            ("checked_at", Some(loaded.typed_time(ask.at))),
            ("kind", Some(ask.kind.clone())),
            ("value", Some(ask.value.trim().to_owned())),
            ("note", ask.note.clone()),
        ]),
    );
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    let about = ask.pup.map_or("litter", |p| loaded.name_of(p)).to_owned();
    let after = book.load(ask.litter).await?;
    let answer = report::today(after.facts()?, now.max(ask.at));
    let is_urgent = |kind: &str| matches!(kind, "vet now" | "vet today");
    let notes = answer
        .do_now
        .iter()
        .filter(|a| is_urgent(&a.kind) && (ask.pup.is_none() || a.pups.contains(&about)))
        .map(|a| format!("{}: {} {}", a.kind, a.because, a.what_to_do))
        .take(3)
        .collect();
    let value = ask.value.trim();
    let read_back = match (ask.kind.strip_suffix("_c"), ask.kind.strip_suffix("_f")) {
        (Some(kind), _) => format!("{about}: {} {value}\u{a0}°C.", kind.replace('_', " ")),
        (_, Some(kind)) => format!("{about}: {} {value}\u{a0}°F.", kind.replace('_', " ")),
        _ => format!("{about}: {} {}.", ask.kind.replace('_', " "), value.replace('_', " ")),
    };
    Ok(Saved { facts, read_back, notes })
}
