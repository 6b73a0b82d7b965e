//! Reads the ZIP of a whole book: rebuilds it in an empty one, or adds what is missing.

use std::io::{Cursor, Read as _};

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactJson, whole_milliseconds};
use whelpward_store::Outcome;

use crate::everything_out::{FACTS, SET_ASIDE};
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

/// Unpacked, the list of facts may be this long: a forged ZIP must not fill the memory.
const MOST_BYTES: u64 = 2_000_000_000;

/// Reads a ZIP.
///
/// # Errors
/// It is not one of ours, or a line does not read (its number is said); then nothing was added.
pub async fn everything_in(book: &Book, bytes: &[u8], now: Timestamp) -> Result<Arrived, AppError> {
    let not_ours = |e: &dyn std::fmt::Display| {
        AppError::refused(format!("this is not a ZIP of a book ({e})"), "a file that whelpward export-all wrote")
    };
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| not_ours(&e))?;
    let mut text_of = |name: &str| -> Result<String, AppError> {
        let file = zip.by_name(name).map_err(|e| not_ours(&e))?;
        let mut text = String::new();
        file.take(MOST_BYTES).read_to_string(&mut text).map_err(|e| not_ours(&e))?;
        Ok(text)
    };
    let lines = text_of(FACTS)?;
    let waiting = text_of(SET_ASIDE)?;
    let facts: Vec<Fact> = lines
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
        .map(|(n, line)| {
            let at = |why: String| {
                AppError::refused(format!("{FACTS}, line {}: {why}", n + 1), "a fact as docs/FORMAT.md shows it")
            };
            serde_json::from_str::<FactJson>(line).map_err(|e| at(e.to_string()))?.read().map_err(at)
        })
        .collect::<Result<_, _>>()?;
    let mut arrived = Arrived::default();
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
    for line in waiting.lines().filter(|l| !l.trim().is_empty()) {
        let value: serde_json::Value = serde_json::from_str(line).map_err(|e| not_ours(&e))?;
        let text = |name: &str| value.get(name).and_then(|v| v.as_str()).unwrap_or_default();
        let received = text("received_at").parse().unwrap_or(now);
        book.store.put_aside(text("fact_id"), text("litter"), text("entry"), text("why"), received).await?;
    }
    Ok(arrived)
}
