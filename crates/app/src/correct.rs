//! Puts a new version in the place of a fact; the old one stays in the history.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind, Values};

use crate::book::Draft;
use crate::{AppError, Book, Saved, Who};

/// What is to be different.
#[derive(Debug, Clone)]
pub struct Correction {
    pub litter: FactId,
    /// Any version of the entry.
    pub fact: FactId,
    /// It was about another pup.
    pub pup: Option<FactId>,
    /// Keys with their new values; null takes one away.
    pub body: Values,
}

/// Saves a correction.
///
/// # Errors
/// There is no such fact, it no longer counts, or the new version does not read.
pub async fn correct(book: &Book, who: &Who, ask: Correction, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    let Some(current) = loaded.folded.current(ask.fact) else {
        return Err(AppError::refused(
            "this entry was taken out of the book",
            "an entry that counts; or write it down anew",
        ));
    };
    let mut body = current.body.clone();
    let is_referred_to = matches!(current.kind, Kind::Carer | Kind::Milk);
    if is_referred_to
        && let Some(key) = current.kind.row().name_key
        && ask.body.get(key).is_some_and(|new| Some(new) != body.get(key))
    {
        return Err(AppError::refused(
            format!("the name of a {} cannot be changed: feeds and checks refer to it", current.kind.word()),
            "add another with the new name",
        ));
    }
    body.extend(ask.body);
    body.retain(|_, v| !v.is_null());
    let draft = Draft::of(book, who, &loaded, now);
    let mut fact = draft.fact(current.kind, ask.pup.or(current.pup), body);
    if current.kind.row().time_key.is_none() {
        fact.occurred = current.occurred;
    }
    // Who fed or weighed is part of the entry; who corrected it is known by the device.
    fact.carer = current.carer.clone().or(fact.carer);
    fact.supersedes = Some(current.id);
    let pup = fact.pup.map(|p| format!(" of {}", loaded.name_of(p))).unwrap_or_default();
    // What was done for a pup has a name of its own: "worming", not "done".
    let done = current.body.get("kind").and_then(|kind| kind.as_str()).filter(|_| current.kind == Kind::Done);
    let kind = done.unwrap_or(current.kind.word()).replace('_', " ");
    let what = format!("{kind}{pup} corrected; the former version stays in the history.");
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    Ok(Saved { facts, read_back: what, notes: Vec::new() })
}
