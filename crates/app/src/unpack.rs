//! What stands in the ZIP of a whole book, read from its bytes alone: nothing of it is saved here.

use std::io::{Cursor, Read as _};

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactJson};

/// Every fact, one JSON object on each line.
pub const FACTS: &str = "facts.jsonl";
/// Entries that wait for a person, one JSON object on each line.
pub const SET_ASIDE: &str = "set_aside.jsonl";

/// Unpacked, a list may be this long: a forged ZIP must not fill the memory.
const MOST_BYTES: u64 = 2_000_000_000;

/// What a ZIP holds.
#[derive(Debug, PartialEq)]
pub struct Unpacked {
    pub facts: Vec<Fact>,
    pub waiting: Vec<Waits>,
}

/// An entry that waits for a person, as it was written out.
#[derive(Debug, PartialEq, Eq)]
pub struct Waits {
    pub fact_id: String,
    pub litter: String,
    pub entry: String,
    pub why: String,
    /// None where it does not read.
    pub received: Option<Timestamp>,
}

/// Why it is none.
#[derive(Debug, PartialEq, Eq)]
pub enum NotUnpacked {
    /// No ZIP, or not one of ours.
    NotOurs(String),
    /// A line does not read; the first line has number 1.
    Line { file: &'static str, number: usize, why: String },
}

/// Reads the two lists of a ZIP, whole or not at all.
///
/// # Errors
/// It is not one of ours, or a line of it does not read.
pub fn unpack(bytes: &[u8]) -> Result<Unpacked, NotUnpacked> {
    let not_ours = |e: &dyn std::fmt::Display| NotUnpacked::NotOurs(e.to_string());
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| not_ours(&e))?;
    let mut text_of = |name: &str| -> Result<String, NotUnpacked> {
        let file = zip.by_name(name).map_err(|e| not_ours(&e))?;
        let mut text = String::new();
        file.take(MOST_BYTES).read_to_string(&mut text).map_err(|e| not_ours(&e))?;
        Ok(text)
    };
    let (facts, waiting) = (text_of(FACTS)?, text_of(SET_ASIDE)?);
    let facts = lines(FACTS, &facts, |line| serde_json::from_str::<FactJson>(line).map_err(|e| e.to_string())?.read())?;
    Ok(Unpacked { facts, waiting: lines(SET_ASIDE, &waiting, waits)? })
}

fn waits(line: &str) -> Result<Waits, String> {
    let value: serde_json::Value = serde_json::from_str(line).map_err(|e| e.to_string())?;
    let text = |name: &str| value.get(name).and_then(|v| v.as_str()).unwrap_or_default().to_owned();
    Ok(Waits {
        fact_id: text("fact_id"),
        litter: text("litter"),
        entry: text("entry"),
        why: text("why"),
        received: text("received_at").parse().ok(),
    })
}

fn lines<T>(file: &'static str, text: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<Vec<T>, NotUnpacked> {
    text.lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
        .map(|(n, line)| read(line).map_err(|why| NotUnpacked::Line { file, number: n + 1, why }))
        .collect()
}
