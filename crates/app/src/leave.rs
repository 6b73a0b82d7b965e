//! A pup died, was put to sleep, was fostered out or went home.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Book, Saved, Who};

/// A pup that left the litter.
#[derive(Debug, Clone)]
pub struct Leave {
    pub litter: FactId,
    pub pup: FactId,
    pub at: Timestamp,
    /// stillborn, died, `put_to_sleep`, `fostered_out` or `gone_home`.
    pub why: String,
    pub note: Option<String>,
}

/// Saves that a pup has left; nothing is planned for it from then on.
///
/// # Errors
/// It does not read.
pub async fn leave(book: &Book, who: &Who, ask: Leave, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    not_in_the_future(ask.at, now)?;
    let name = loaded.name_of(ask.pup).to_owned();
    let draft = Draft::of(book, who, &loaded, now);
    let mut fact = draft.fact(
        Kind::Leaving,
        Some(ask.pup),
        values([
            ("left_at", Some(loaded.typed_time(ask.at))),
            ("left_why", Some(ask.why.clone())),
            ("note", ask.note.clone()),
        ]),
    );
    fact.supersedes = loaded.folded.of_kind(Kind::Leaving).find(|f| f.pup == Some(ask.pup)).map(|f| f.id);
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    let is_a_loss = matches!(ask.why.as_str(), "died" | "put_to_sleep" | "stillborn");
    let read_back = if is_a_loss {
        format!("We are sorry about {name}. It is written down; nothing more is planned for this pup.")
    } else {
        format!("{name} has left the litter. Nothing more is planned for this pup here.")
    };
    Ok(Saved { facts, read_back, notes: Vec::new() })
}
