//! Adds a carer, milk, vet, order, food or the dam, or puts a new version in its place.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind, Values};

use crate::book::Draft;
use crate::{AppError, Book, Saved, Who};

/// Saves an entry of a kind; one of the same name is superseded, with the keys that are given.
///
/// # Errors
/// It does not read beside the others.
pub async fn put(
    book: &Book,
    who: &Who,
    litter: FactId,
    kind: Kind,
    pup: Option<FactId>,
    body: Values,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let loaded = book.load(litter).await?;
    let draft = Draft::of(book, who, &loaded, now);
    let key = kind.row().name_key;
    let is_single = matches!(kind, Kind::Litter | Kind::Dam | Kind::Example);
    let name = key.and_then(|k| body.get(k)).map(whelpward_core::record::entries::typed);
    let there = loaded.folded.of_kind(kind).find(|f| {
        is_single
            || (name.is_some() && key.and_then(|k| f.body.get(k)).map(whelpward_core::record::entries::typed) == name)
    });
    let mut fact = draft.fact(kind, pup, body);
    let verb = if let Some(there) = there {
        let mut merged = there.body.clone();
        merged.extend(std::mem::take(&mut fact.body));
        merged.retain(|_, v| !v.is_null());
        fact.body = merged;
        fact.supersedes = Some(there.id);
        "changed"
    } else {
        "added"
    };
    let shown = name.or_else(|| fact.body.get("name").map(whelpward_core::record::entries::typed));
    let what =
        shown.map_or_else(|| kind.word().replace('_', " "), |n| format!("{} {n}", kind.word().replace('_', " ")));
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    Ok(Saved { facts, read_back: format!("{what} {verb}."), notes: Vec::new() })
}
