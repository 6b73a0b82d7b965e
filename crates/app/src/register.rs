//! Writes a litter down, and carries over what the household wrote for the last one.

use jiff::Timestamp;
use whelpward_core::book::{Fact, Kind, Receipt, Values, whole_milliseconds};

use crate::book::Draft;
use crate::{AppError, Book, Saved, Who, litters};

/// A new litter.
#[derive(Debug, Clone, Default)]
pub struct Register {
    /// The keys of `[litter]`.
    pub litter: Values,
    /// The keys of `[dam]`.
    pub dam: Values,
    /// Take the carers, milks, vets and foods of the newest litter.
    pub carry_over: bool,
}

/// Saves a litter.
///
/// # Errors
/// A litter of that name is open already, or something does not read.
pub async fn register_litter(book: &Book, who: &Who, ask: Register, now: Timestamp) -> Result<Saved, AppError> {
    let known = litters(book).await?;
    let name = ask.litter.get("name").and_then(|n| n.as_str()).unwrap_or_default().trim().to_owned();
    if known.iter().any(|k| !k.is_closed && k.name.to_lowercase() == name.to_lowercase()) {
        return Err(AppError::refused(
            format!("a litter \"{name}\" is in the book and not closed"),
            "a name that no open litter has",
        ));
    }
    let id = book.new_id(now);
    let zone = ask.litter.get("time_zone").and_then(|z| z.as_str()).unwrap_or("UTC").to_owned();
    let draft = Draft { book, who, litter: id, zone, now };
    let litter = Fact {
        id,
        litter: id,
        kind: Kind::Litter,
        pup: None,
        body: ask.litter,
        occurred: whole_milliseconds(now),
        zone: draft.zone.clone(),
        carer: who.carer.clone(),
        device: who.device.clone(),
        supersedes: None,
        voids: None,
        receipt: Receipt::default(),
    };
    let mut facts = vec![litter];
    if !ask.dam.is_empty() {
        facts.push(draft.fact(Kind::Dam, None, ask.dam));
    }
    let mut notes = Vec::new();
    if let Some(last) = known.iter().find(|k| !k.is_example).filter(|_| ask.carry_over) {
        let loaded = book.load(last.id).await?;
        let mut count = 0;
        for kind in [Kind::Carer, Kind::Milk, Kind::Vet, Kind::Food] {
            for fact in loaded.folded.of_kind(kind) {
                facts.push(draft.fact(kind, None, fact.body.clone()));
                count += 1;
            }
        }
        if count > 0 {
            notes.push(format!("{count} carers, milks, vets and foods taken over from {}.", last.name));
        }
    }
    let facts = book.save(None, facts, now).await?;
    Ok(Saved { facts, read_back: format!("Litter {name} is in the book."), notes })
}
