//! Reads the ZIP of a whole book: rebuilds it in an empty one, or adds what is missing.

use std::collections::BTreeSet;

use jiff::Timestamp;
use whelpward_core::book::{FactId, whole_milliseconds};
use whelpward_store::Outcome;

use crate::unpack::{NotUnpacked, Unpacked, unpack};
use crate::{AppError, Book};

/// What a ZIP brought.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arrived {
    pub added: usize,
    pub there_before: usize,
    /// In the book with other content: kept for a person.
    pub set_aside: usize,
    /// The book was empty and is now the same as the one that was written.
    pub is_rebuilt: bool,
}

/// Reads a ZIP.
///
/// # Errors
/// It is not one of ours, or a line does not read (its number is said); then nothing was added.
pub async fn everything_in(book: &Book, bytes: &[u8], now: Timestamp) -> Result<Arrived, AppError> {
    let Unpacked { facts, waiting } = unpack(bytes).map_err(|why| match why {
        NotUnpacked::NotOurs(why) => {
            AppError::refused(format!("this is not a ZIP of a book ({why})"), "a file that whelpward export-all wrote")
        }
        NotUnpacked::Line { file, number, why } => {
            AppError::refused(format!("{file}, line {number}: {why}"), "a fact as docs/FORMAT.md shows it")
        }
    })?;
    let mut arrived = Arrived::default();
    // A litter that was erased comes back with the ZIP that was written before.
    let litters: BTreeSet<FactId> = facts.iter().map(|f| f.litter).collect();
    book.store.allow_again(litters.into_iter()).await?;
    if book.store.count().await? == 0 {
        book.store.rebuild(&facts).await?;
        arrived.added = facts.len();
        arrived.is_rebuilt = true;
    } else {
        for page in facts.chunks(20_000) {
            for outcome in book.store.append(page, whole_milliseconds(now)).await? {
                match outcome {
                    Outcome::Saved { .. } => arrived.added += 1,
                    Outcome::AlreadyThere { .. } => arrived.there_before += 1,
                    Outcome::SetAside { .. } => arrived.set_aside += 1,
                }
            }
        }
    }
    for w in waiting {
        let received = w.received.unwrap_or(now);
        book.store.put_aside(&w.fact_id, &w.litter, &w.entry, &w.why, received).await?;
    }
    Ok(arrived)
}
