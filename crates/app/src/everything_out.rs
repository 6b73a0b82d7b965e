//! The whole book as one ZIP: every fact as it is, and tables for other programs.

use std::io::{Cursor, Write as _};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use zip::write::SimpleFileOptions;

use whelpward_core::book::{FactJson, KINDS, Kind};
use whelpward_core::record::entries::typed;
use whelpward_core::report::clock::iso;

use crate::access::{By, write_audit};
use crate::unpack::{FACTS, SET_ASIDE, unpack};
use crate::{AppError, Book, book_files, litters};

/// Facts read at a time.
const PAGE: i64 = 5000;

/// The whole book as one file.
#[derive(Debug, Clone)]
pub struct WrittenOut {
    pub zip: Vec<u8>,
    pub facts: usize,
    /// The last fact and the last waiting entry that it holds.
    last: (i64, i64),
}

impl WrittenOut {
    /// Says in the book that everything up to here is in a file that a person has: only that may be erased.
    ///
    /// # Errors
    /// The file does not read, or the book cannot be written.
    pub async fn is_kept(&self, book: &Book, by: &By, now: Timestamp) -> Result<(), AppError> {
        let whole = unpack(&self.zip).map(|read| read.facts.len()).ok();
        if whole != Some(self.facts) {
            return Err(AppError::Said("the ZIP that was made does not read back; do not rely on it".into()));
        }
        let store = &book.store;
        store.put_written_out(self.last.0, self.last.1).await?;
        write_audit(store, by, "written-out", &self.facts.to_string(), now).await
    }
}

/// The ZIP, with pages and calendars for other programs.
///
/// # Errors
/// The book cannot be read.
pub async fn everything_out(book: &Book, now: Timestamp) -> Result<WrittenOut, AppError> {
    let failed = |e: &dyn std::fmt::Display| AppError::Said(format!("the ZIP cannot be made: {e}"));
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    let mut add = |name: &str, bytes: &[u8]| {
        zip.start_file(name, options).map_err(|e| failed(&e))?;
        zip.write_all(bytes).map_err(|e| failed(&e))
    };

    let mut lines = String::new();
    let (mut after, mut facts) = (0, 0);
    loop {
        let page = book.store.page(after, PAGE).await?;
        let Some(last) = page.last() else { break };
        after = last.receipt.seq;
        facts += page.len();
        for fact in &page {
            lines.push_str(&serde_json::to_string(&FactJson::from(fact)).map_err(|e| failed(&e))?);
            lines.push('\n');
        }
        // While others save there is always one more; what comes in now is for the next ZIP.
        if i64::try_from(page.len()).is_ok_and(|count| count < PAGE) {
            break;
        }
    }
    add(FACTS, lines.as_bytes())?;
    let mut waiting = String::new();
    let mut last_waiting = 0;
    for w in book.store.set_aside().await? {
        let line = serde_json::json!({
            "fact_id": w.fact_id, "litter": w.litter, "entry": w.entry, "why": w.why, "received_at": w.received.to_string(),
        });
        waiting.push_str(&format!("{line}\n"));
        last_waiting = w.seq;
    }
    add(SET_ASIDE, waiting.as_bytes())?;
    for (name, bytes) in tables(book).await? {
        add(&name, &bytes)?;
    }
    let more = book_files::of(book, now).await?;
    for (name, bytes) in &more {
        add(name, bytes)?;
    }
    add("README.txt", readme(now, &more).as_bytes())?;
    let zip = zip.finish().map_err(|e| failed(&e))?.into_inner();
    Ok(WrittenOut { zip, facts, last: (after, last_waiting) })
}

/// One table for each kind: the facts that count, with their litter and pup.
async fn tables(book: &Book) -> Result<Vec<(String, Vec<u8>)>, AppError> {
    let mut writers: Vec<(Kind, csv::Writer<Vec<u8>>)> = Vec::new();
    let failed = |e: csv::Error| AppError::Said(format!("a table cannot be written: {e}"));
    for row in KINDS.iter().filter(|r| r.kind != Kind::Void) {
        // RFC 4180 ends lines with CR LF.
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        let mut header: Vec<String> = ["litter", "pup", "occurred_at", "carer"].map(String::from).to_vec();
        header.extend(row.kind.keys().iter().map(|k| k.name.to_owned()));
        if row.kind == Kind::Weighing {
            header.push("as_grams_g".into());
        }
        header.extend(["device", "id"].map(String::from));
        writer.write_record(&header).map_err(failed)?;
        writers.push((row.kind, writer));
    }
    for info in litters(book).await? {
        let loaded = book.load(info.id).await?;
        for (kind, writer) in &mut writers {
            for fact in loaded.folded.of_kind(*kind) {
                let zone = TimeZone::get(&fact.zone).unwrap_or(TimeZone::UTC);
                let mut cells = vec![
                    info.name.clone(),
                    fact.pup.map(|p| loaded.name_of(p).to_owned()).unwrap_or_default(),
                    iso(fact.occurred, &zone),
                    fact.carer.clone().unwrap_or_default(),
                ];
                cells.extend(kind.keys().iter().map(|k| fact.body.get(k.name).map(typed).unwrap_or_default()));
                if *kind == Kind::Weighing {
                    cells.push(fact.amount().map(grams).unwrap_or_default());
                }
                cells.extend([fact.device.clone(), fact.id.to_string()]);
                writer.write_record(&cells).map_err(failed)?;
            }
        }
    }
    writers
        .into_iter()
        .map(|(kind, writer)| {
            let bytes = writer.into_inner().map_err(|e| AppError::Said(format!("a table cannot be written: {e}")))?;
            Ok((format!("tables/{}.csv", kind.word()), bytes))
        })
        .collect()
}

/// For programs: no grouping of digits, no trailing zeros.
fn grams(milligrams: i64) -> String {
    let text = format!("{}.{:03}", milligrams / 1000, milligrams % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn readme(now: Timestamp, more: &[(String, Vec<u8>)]) -> String {
    let mut text = format!(
        "The whole book, written {now} by whelpward {}.\n\n\
         {FACTS}: every fact with its history, one JSON object on each line, in the order of the book.\n\
         whelpward import-all reads it and gives the same book again.\n\
         {SET_ASIDE}: entries that the book could not take and that wait for a person.\n\
         tables/: the facts that count, one table (RFC 4180, UTF-8) for each kind. The unit is part of a\n\
         column's name; times are ISO 8601 with their offset; an empty field means not known, never zero.\n\
         A weighing has its weight as typed, its unit, and the same in grams.\n\n",
        env!("CARGO_PKG_VERSION")
    );
    for row in KINDS.iter().filter(|r| r.kind != Kind::Void) {
        text.push_str(&format!("tables/{}.csv: {}\n", row.word, row.meaning));
        for key in row.kind.keys() {
            text.push_str(&format!("  {}: {}. {}\n", key.name, key.shape.allowed(), key.meaning));
        }
    }
    for (name, _) in more {
        text.push_str(&format!("{name}\n"));
    }
    text
}
