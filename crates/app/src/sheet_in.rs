//! Takes the weighings of a spreadsheet into the book, once a person has confirmed how it reads.

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind, Receipt, whole_milliseconds};
use whelpward_core::record::entries::typed;
use whelpward_core::spreadsheet::{Context, Sheet, SheetPup, SheetUnit};
use whelpward_core::units::WeightUnit;
use whelpward_store::Outcome;

use crate::book::zone_name;
use crate::folder_in::id_of;
use crate::{AppError, Book, Loaded};

/// What a sheet brought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetLoaded {
    pub added: usize,
    pub there_before: usize,
}

/// What a litter has on record, against which a sheet is read.
///
/// # Errors
/// The litter cannot be read.
pub fn sheet_context(loaded: &Loaded) -> Result<Context, AppError> {
    let facts = loaded.facts()?;
    Ok(Context {
        zone: loaded.zone(),
        pups: facts.pups.iter().map(|p| SheetPup { id: p.id.0.clone(), born_at: p.born_at }).collect(),
        carers: facts.carers.iter().map(|c| c.name.clone()).collect(),
        household_unit: match facts.litter.weight_unit {
            WeightUnit::Gram => SheetUnit::Gram,
            WeightUnit::Ounce => SheetUnit::Ounce,
            WeightUnit::PoundOunce => SheetUnit::PoundOunce,
        },
    })
}

/// Adds the weighings of a sheet. Each gets an id from its own content, so the same sheet twice
/// adds nothing.
///
/// # Errors
/// The book cannot be written; what was added before stays, and the sheet can be taken again.
pub async fn sheet_in(
    book: &Book,
    litter: FactId,
    sheet: &Sheet,
    now: Timestamp,
    mut progress: impl FnMut(usize),
) -> Result<SheetLoaded, AppError> {
    let loaded = book.load(litter).await?;
    let zone = zone_name(&loaded.zone());
    let mut facts = Vec::with_capacity(sheet.rows.len());
    for (_, values) in &sheet.rows {
        let mut body = values.clone();
        let pup = body.remove("pup").map(|p| typed(&p)).unwrap_or_default();
        let carer = body.remove("carer").map(|c| typed(&c)).filter(|c| !c.is_empty());
        let pup = loaded.pup(&pup)?;
        let at: Timestamp = body
            .get("weighed_at")
            .and_then(|t| t.as_str())
            .and_then(|t| t.parse().ok())
            .ok_or_else(|| AppError::Said("a row of the sheet has no time".into()))?;
        let content = serde_json::to_string(&(pup.to_string(), &carer, &body)).unwrap_or_default();
        facts.push(Fact {
            id: id_of(whole_milliseconds(at), &["sheet", &litter.to_string(), &content]),
            litter,
            kind: Kind::Weighing,
            pup: Some(pup),
            body,
            occurred: whole_milliseconds(at),
            zone: zone.clone(),
            carer,
            device: SHEET.into(),
            supersedes: None,
            voids: None,
            receipt: Receipt { is_late: crate::book::is_late(at, now, Kind::Weighing), ..Receipt::default() },
        });
    }
    let mut done = SheetLoaded { added: 0, there_before: 0 };
    for page in facts.chunks(PAGE) {
        for outcome in book.store.append(page, whole_milliseconds(now)).await? {
            match outcome {
                Outcome::Saved { .. } => done.added += 1,
                Outcome::AlreadyThere { .. } | Outcome::SetAside { .. } => done.there_before += 1,
            }
        }
        progress(done.added + done.there_before);
    }
    Ok(done)
}

/// The device of facts that came out of a spreadsheet.
const SHEET: &str = "spreadsheet";
const PAGE: usize = 5_000;
