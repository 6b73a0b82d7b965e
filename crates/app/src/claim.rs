//! "I am feeding": tells the others that somebody has begun a round. It locks nothing.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};

use crate::book::{Draft, values};
use crate::{AppError, Book, Saved, Who};

/// Saves that this one has begun the round of that time.
///
/// # Errors
/// There is no such litter, or the book cannot be written.
pub async fn claim(
    book: &Book,
    who: &Who,
    litter: FactId,
    round_at: Timestamp,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let loaded = book.load(litter).await?;
    let body = values([("claimed_at", Some(loaded.typed_time(now))), ("round_at", Some(loaded.typed_time(round_at)))]);
    let fact = Draft::of(book, who, &loaded, now).fact(Kind::Claim, None, body);
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    Ok(Saved { facts, read_back: "The others see that you are feeding.".into(), notes: Vec::new() })
}
