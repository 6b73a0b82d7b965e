//! Writes down what was done for pups, or first seen of them, on their way to the new home.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind};
use whelpward_core::record::{DoneKind, PupId};
use whelpward_core::upbringing::{self, chip};

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Book, Saved, Who};

/// The same thing for one pup or several.
#[derive(Debug, Clone, Default)]
pub struct Did {
    /// A word of the kinds of `done.csv`.
    pub kind: String,
    pub pups: Vec<FactId>,
    /// It was done for the dam too.
    pub dam: bool,
    pub value: Option<String>,
    pub product: Option<String>,
    pub lot: Option<String>,
    pub as_given: Option<String>,
    pub by: Option<String>,
    pub note: Option<String>,
}

/// Saves one entry for each pup, all or none, and says what does not fit.
///
/// # Errors
/// Nobody is named, or an entry does not read.
pub async fn did(
    book: &Book,
    who: &Who,
    litter: FactId,
    ask: Did,
    at: Timestamp,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let loaded = book.load(litter).await?;
    not_in_the_future(at, now)?;
    let whom: Vec<Option<FactId>> = ask.pups.iter().copied().map(Some).chain(ask.dam.then_some(None)).collect();
    if whom.is_empty() {
        return Err(AppError::refused("nobody is named", "one pup or several, or the dam"));
    }
    if ask.kind == DoneKind::Chip.word() && whom.len() > 1 {
        return Err(AppError::refused("one chip number for several pups", "one pup for each number"));
    }
    let draft = Draft::of(book, who, &loaded, now);
    let one = |pup: Option<FactId>| {
        let body = values([
            ("done_at", Some(loaded.typed_time(at))),
            ("kind", Some(ask.kind.clone())),
            ("value", trimmed(ask.value.as_deref())),
            ("product", trimmed(ask.product.as_deref())),
            ("lot", trimmed(ask.lot.as_deref())),
            ("as_given", trimmed(ask.as_given.as_deref())),
            ("by", trimmed(ask.by.as_deref())),
            ("note", trimmed(ask.note.as_deref())),
        ]);
        draft.fact(Kind::Done, pup, body)
    };
    let facts = book.save(Some(&loaded), whom.iter().copied().map(one).collect(), now).await?;
    let names: Vec<&str> = whom.iter().map(|p| p.map_or("the dam", |p| loaded.name_of(p))).collect();
    let mut read_back = format!("{}: {}", names.join(", "), ask.kind.replace('_', " "));
    let beside = [&ask.value, &ask.product, &ask.lot.as_ref().map(|l| format!("lot {l}"))];
    for text in beside.into_iter().filter_map(|t| trimmed(t.as_deref())) {
        read_back.push_str(&format!(", {text}"));
    }
    read_back.push('.');
    let after = book.load(litter).await?;
    let mut notes = faults(&after, &ask.pups, now.max(at))?;
    if ask.kind == DoneKind::Chip.word() {
        notes.extend(chip_elsewhere(book, &after, &ask.pups).await?);
    }
    Ok(Saved { facts, read_back, notes })
}

fn trimmed(text: Option<&str>) -> Option<String> {
    text.map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned)
}

/// What does not fit a rule, of these pups.
fn faults(loaded: &crate::Loaded, pups: &[FactId], now: Timestamp) -> Result<Vec<String>, AppError> {
    let facts = loaded.facts()?.known_at(now);
    let dates = upbringing::dates(&facts, &whelpward_core::assess::assess(&facts, now), now);
    let is_mine = |pup: &PupId| pups.iter().any(|id| loaded.name_of(*id) == pup.0);
    Ok(dates.faults.iter().filter(|f| is_mine(&f.pup)).map(|f| format!("{}: {}", f.pup, f.says)).collect())
}

/// The same chip number in another litter of the book.
async fn chip_elsewhere(book: &Book, loaded: &crate::Loaded, pups: &[FactId]) -> Result<Vec<String>, AppError> {
    let facts = loaded.facts()?;
    let mine: Vec<&str> = chip::numbers(facts)
        .into_iter()
        .filter(|(p, _)| pups.iter().any(|id| loaded.name_of(*id) == p.0))
        .map(|(_, n)| n)
        .collect();
    let mut notes = Vec::new();
    for other in crate::litters(book).await?.iter().filter(|l| l.id != loaded.id && !l.is_example) {
        let there = book.load(other.id).await?;
        let Ok(facts) = there.facts() else { continue };
        for (pup, number) in chip::numbers(facts).into_iter().filter(|(_, n)| mine.contains(n)) {
            notes.push(format!(
                "chip {} is written down for {pup} of the litter {} too: read both again.",
                chip::shown(number),
                other.name
            ));
        }
    }
    Ok(notes)
}
