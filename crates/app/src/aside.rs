//! Entries that the book could not take as they came, and what a person makes of them.

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, FactJson, Receipt, whole_milliseconds};
use whelpward_core::report::clock;
use whelpward_store::SetAside;

use crate::{AppError, Book, Saved};

/// One entry that waits for a person.
#[derive(Debug, Clone)]
pub struct Waiting {
    pub seq: i64,
    pub why: String,
    pub received: Timestamp,
    /// The entry, where it reads.
    pub fact: Option<Fact>,
    /// As it came.
    pub entry: String,
}

/// What a person makes of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TakeAs {
    /// It stays aside for good.
    LeftOut,
    /// An entry of its own, as it came.
    AsItIs,
    /// An entry of its own that happened when it arrived.
    WhenItArrived,
}

/// What waits of one litter, oldest first.
///
/// # Errors
/// The book cannot be read.
pub async fn waiting(book: &Book, litter: FactId) -> Result<Vec<Waiting>, AppError> {
    let all = book.store.set_aside().await?;
    let id = litter.to_string();
    let of_litter = all.into_iter().filter(|w| w.litter == id);
    Ok(of_litter
        .map(|w| Waiting { fact: read(&w), seq: w.seq, why: w.why, received: w.received, entry: w.entry })
        .collect())
}

fn read(waiting: &SetAside) -> Option<Fact> {
    serde_json::from_str::<FactJson>(&waiting.entry).ok()?.read().ok()
}

/// Settles one of them.
///
/// # Errors
/// It does not wait, or it still does not read beside the others.
pub async fn take(book: &Book, litter: FactId, seq: i64, take_as: TakeAs, now: Timestamp) -> Result<Saved, AppError> {
    let Some(entry) = waiting(book, litter).await?.into_iter().find(|w| w.seq == seq) else {
        return Err(AppError::Said("this entry no longer waits: somebody has settled it".into()));
    };
    if take_as == TakeAs::LeftOut {
        book.store.settle(seq, "left out").await?;
        return Ok(Saved { facts: Vec::new(), read_back: "Left out.".into(), notes: Vec::new() });
    }
    let Some(mut fact) = entry.fact else {
        return Err(AppError::refused("this entry does not read", "to leave it out, and to write it down anew"));
    };
    let loaded = book.load(litter).await?;
    fact.id = book.new_id(now);
    fact.receipt = Receipt { client_wall: Some(fact.occurred), ..Receipt::default() };
    if take_as == TakeAs::WhenItArrived {
        let second = Timestamp::from_second(entry.received.as_second()).unwrap_or(entry.received);
        fact.occurred = whole_milliseconds(second);
        if let Some(key) = fact.kind.row().time_key {
            fact.body.insert(key.into(), clock::iso(second, &loaded.zone()).into());
        }
    }
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    book.store.settle(seq, "written down as an entry of its own").await?;
    Ok(Saved { facts, read_back: "Written down as an entry of its own.".into(), notes: Vec::new() })
}
