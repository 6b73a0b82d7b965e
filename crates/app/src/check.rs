//! Saves observations of a pup, the dam, the box or the litter.

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::report::{self, Today};

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Book, Loaded, Saved, Who};

/// What was seen at one time.
#[derive(Debug, Clone)]
pub struct Observation {
    pub litter: FactId,
    /// None: of the dam, the box or the litter.
    pub pup: Option<FactId>,
    pub at: Timestamp,
    pub seen: Vec<Seen>,
    pub note: Option<String>,
}

/// One kind of check with what was found.
#[derive(Debug, Clone)]
pub struct Seen {
    /// A word of docs/FORMAT.md, such as `rectal_temperature_c`.
    pub kind: String,
    pub value: String,
}

/// Saves checks, all or none, and says what follows from them.
///
/// # Errors
/// Nothing was seen, or one of them does not read.
pub async fn check(book: &Book, who: &Who, ask: Observation, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    not_in_the_future(ask.at, now)?;
    if ask.seen.is_empty() {
        return Err(AppError::refused("nothing was checked", "at least one observation"));
    }
    let draft = Draft::of(book, who, &loaded, now);
    let one = |seen: &Seen| fact(&draft, &loaded, ask.pup, ask.at, seen, ask.note.as_deref());
    save(book, &loaded, ask.seen.iter().map(one).collect(), now).await
}

/// Saves checks of one pup, or of the litter, that were made at one time.
pub(crate) async fn save(book: &Book, loaded: &Loaded, checks: Vec<Fact>, now: Timestamp) -> Result<Saved, AppError> {
    let pup = checks.first().and_then(|f| f.pup);
    let at = checks.first().map_or(now, |f| f.occurred);
    not_in_the_future(at, now)?;
    let about = pup.map_or("litter", |p| loaded.name_of(p)).to_owned();
    let read_back: Vec<String> = checks.iter().map(|check| said_of(&about, check)).collect();
    let facts = book.save(Some(loaded), checks, now).await?;
    let after = book.load(loaded.id).await?;
    let answer = report::today(after.facts()?, now.max(at));
    let notes = urgent(&answer, pup.is_some().then_some(about.as_str()));
    Ok(Saved { facts, read_back: read_back.join(" "), notes })
}

pub(crate) fn fact(
    draft: &Draft<'_>,
    loaded: &Loaded,
    pup: Option<FactId>,
    at: Timestamp,
    seen: &Seen,
    note: Option<&str>,
) -> Fact {
    let body = values([
        ("checked_at", Some(loaded.typed_time(at))),
        ("kind", Some(seen.kind.clone())),
        ("value", Some(seen.value.trim().to_owned())),
        ("note", note.map(str::to_owned)),
    ]);
    draft.fact(Kind::Check, pup, body)
}

/// Calls to the vet, of one pup or of all.
pub(crate) fn urgent(answer: &Today, pup: Option<&str>) -> Vec<String> {
    let is_urgent = |kind: &str| matches!(kind, "vet now" | "vet today");
    let calls = answer.do_now.iter().filter(|a| is_urgent(&a.kind));
    let mine = calls.filter(|a| pup.is_none_or(|p| a.pups.iter().any(|q| q == p)));
    mine.map(|a| format!("{}: {} {}", a.kind, a.because, a.what_to_do)).take(3).collect()
}

/// A check read back, with its unit.
pub(crate) fn said_of(about: &str, check: &Fact) -> String {
    let text = |key: &str| check.body.get(key).map(whelpward_core::record::entries::typed).unwrap_or_default();
    said(about, &Seen { kind: text("kind"), value: text("value") })
}

/// An observation read back, with its unit.
fn said(about: &str, seen: &Seen) -> String {
    let value = seen.value.trim();
    match (seen.kind.strip_suffix("_c"), seen.kind.strip_suffix("_f")) {
        (Some(kind), _) => format!("{about}: {} {value}\u{a0}°C.", kind.replace('_', " ")),
        (_, Some(kind)) => format!("{about}: {} {value}\u{a0}°F.", kind.replace('_', " ")),
        _ => format!("{about}: {} {}.", seen.kind.replace('_', " "), value.replace('_', " ")),
    }
}
