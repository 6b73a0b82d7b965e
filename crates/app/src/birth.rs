//! Writes the birth of a pup down.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Book, Saved, Who};

/// A pup that was born.
#[derive(Debug, Clone)]
pub struct Birth {
    pub litter: FactId,
    pub name: String,
    pub sex: String,
    pub marks: String,
    pub born_at: Timestamp,
    /// As typed.
    pub weight: Option<String>,
    pub unit: String,
    pub is_stillborn: bool,
    pub is_premature: bool,
}

/// Saves a pup; the first one dates the litter.
///
/// # Errors
/// A pup has that name, or something does not read.
pub async fn record_birth(book: &Book, who: &Who, ask: Birth, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    let draft = Draft::of(book, who, &loaded, now);
    let name = ask.name.trim();
    not_in_the_future(ask.born_at, now)?;
    if loaded.folded.pups.iter().any(|(_, n)| n.to_lowercase() == name.to_lowercase()) {
        return Err(AppError::refused(format!("a pup \"{name}\" is in this litter"), "a name that no other has"));
    }
    let born_at = loaded.typed_time(ask.born_at);
    let mut body = values([
        ("id", Some(name.to_owned())),
        ("sex", Some(ask.sex.clone())),
        ("marks", Some(ask.marks.clone())),
        ("born_at", Some(born_at.clone())),
        ("birth_weight", ask.weight.clone()),
        ("unit", ask.weight.as_ref().map(|_| ask.unit.clone())),
    ]);
    if ask.is_premature {
        body.insert("premature".into(), true.into());
    }
    let pup = draft.fact(Kind::Pup, None, body);
    let mut facts = Vec::new();
    if let Some(litter) = loaded.folded.of_kind(Kind::Litter).next()
        && !litter.body.contains_key("whelped_at")
    {
        let mut dated = draft.fact(Kind::Litter, None, litter.body.clone());
        dated.body.insert("whelped_at".into(), born_at.clone().into());
        dated.supersedes = Some(litter.id);
        facts.push(dated);
    }
    if ask.is_stillborn {
        let left = values([("left_at", Some(born_at)), ("left_why", Some("stillborn".into()))]);
        facts.push(draft.fact(Kind::Leaving, Some(pup.id), left));
    }
    let mut read_back = format!("{name}, {}, {}", ask.sex, ask.marks);
    if let Some(weight) = &ask.weight {
        read_back.push_str(&format!(", born with {weight}\u{a0}{}", ask.unit.replace("lb_oz", "")));
    }
    facts.insert(0, pup);
    let facts = book.save(Some(&loaded), facts, now).await?;
    Ok(Saved { facts, read_back: read_back.trim_end().to_owned() + ".", notes: Vec::new() })
}
