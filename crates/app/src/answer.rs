//! A person's answer: were two entries one feed?

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};

use crate::book::{Draft, values};
use crate::{AppError, Book, Saved, Who};

/// The answer to a question of the book.
#[derive(Debug, Clone, Copy)]
pub struct AnswerTo {
    pub litter: FactId,
    pub first: FactId,
    pub second: FactId,
    pub is_the_same: bool,
}

/// Saves an answer.
///
/// # Errors
/// The book cannot be written.
pub async fn answer(book: &Book, who: &Who, ask: AnswerTo, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    let draft = Draft::of(book, who, &loaded, now);
    let word = if ask.is_the_same { "same_feed" } else { "two_feeds" };
    let fact = draft.fact(
        Kind::Answer,
        None,
        values([
            ("answer", Some(word.into())),
            ("first", Some(ask.first.to_string())),
            ("second", Some(ask.second.to_string())),
        ]),
    );
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    let read_back = if ask.is_the_same { "One feed: the second no longer counts." } else { "Two feeds: both count." };
    Ok(Saved { facts, read_back: read_back.into(), notes: Vec::new() })
}
