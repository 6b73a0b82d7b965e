//! Erases for good: a whole litter, or a person's name (usability O-26). Only the breeder does it, and only what
//! is in a ZIP already.

use std::collections::BTreeSet;

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind, is_name};
use whelpward_store::Erased;

use crate::access::{By, write_audit};
use crate::{AppError, Book, litters};

/// What is to be erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    Litter(FactId),
    Person(String),
}

/// What would go.
#[derive(Debug, Clone)]
pub struct WouldGo {
    /// What a person types to say that it is meant.
    pub name: String,
    pub facts: usize,
    pub weighings: usize,
    pub feeds: usize,
    /// Sentences in which the name of a person stands between other words, each once; the first few.
    pub sentences: Vec<String>,
    /// All of it is in a ZIP; only then it can be erased.
    pub is_written_out: bool,
}

/// Sentences shown before a name is erased.
const SENTENCES: usize = 10;

/// Everybody whose name stands in the book: people of the household, also former ones, carers, vets, new owners.
///
/// # Errors
/// The book cannot be read.
pub async fn people(book: &Book) -> Result<BTreeSet<String>, AppError> {
    let mut names: BTreeSet<String> = book.store.people_beside().await?.into_iter().collect();
    names.extend(book.store.carers().await?.into_iter().map(|name| name.trim().to_owned()));
    for kind in [Kind::Carer, Kind::Vet, Kind::VetOrder, Kind::Medicine, Kind::Done] {
        for fact in book.store.facts_of_kind(kind).await? {
            names.extend(fact.people().map(str::to_owned));
        }
    }
    Ok(names)
}

/// What would go, and whether it may.
///
/// # Errors
/// There is no such litter or person, or the book cannot be read.
pub async fn would_go(book: &Book, target: &Target) -> Result<WouldGo, AppError> {
    let (name, facts) = match target {
        Target::Litter(id) => {
            let all = litters(book).await?;
            let info = all.iter().find(|l| l.id == *id);
            let info = info.ok_or_else(|| AppError::Said("there is no such litter in this book".into()))?;
            (info.name.clone(), book.store.facts(*id, 0).await?)
        }
        Target::Person(name) => (person(book, name).await?, book.store.facts_naming(name).await?),
    };
    let (written, waiting) = book.store.written_out().await?;
    let newest = facts.iter().filter(|f| f.kind != Kind::Advice).map(|f| f.receipt.seq).max().unwrap_or(0);
    let waits = |w: &&whelpward_store::SetAside| matches!(target, Target::Litter(id) if w.litter == id.to_string());
    let newest_waiting = book.store.set_aside().await?.iter().filter(waits).map(|w| w.seq).max().unwrap_or(0);
    let count = |kind: Kind| facts.iter().filter(|f| f.kind == kind).count();
    let sentences = if matches!(target, Target::Person(_)) { sentences(&facts, &name) } else { Vec::new() };
    Ok(WouldGo {
        weighings: count(Kind::Weighing),
        feeds: count(Kind::Feed),
        facts: facts.len(),
        sentences,
        is_written_out: newest <= written && newest_waiting <= waiting,
        name,
    })
}

/// The name as it stands in the book.
async fn person(book: &Book, name: &str) -> Result<String, AppError> {
    let names = people(book).await?;
    let wanted = name.trim();
    names.get(wanted).cloned().ok_or_else(|| {
        let names = names.into_iter().collect::<Vec<_>>().join(", ");
        let allowed = if names.is_empty() { "nobody is named in this book".into() } else { names };
        AppError::refused(format!("nobody is called \"{wanted}\" in this book"), allowed)
    })
}

/// Texts that a person wrote and in which the name is not all: another word may be meant.
fn sentences(facts: &[Fact], name: &str) -> Vec<String> {
    let mut found = BTreeSet::new();
    for fact in facts.iter().filter(|f| f.kind != Kind::Advice) {
        let Some(without) = fact.without_name(name, "") else { continue };
        for (key, value) in &fact.body {
            let text = value.as_str().filter(|text| without.body.get(key) != Some(value) && !is_name(text, name));
            found.extend(text.map(str::to_owned));
        }
    }
    found.into_iter().take(SENTENCES).collect()
}

/// Erases it. `typed` is the name as the person typed it.
///
/// # Errors
/// Another name was typed; something of it is in no ZIP yet; the book cannot be written. Nothing was erased.
pub async fn erase(book: &Book, by: &By, target: &Target, typed: &str, now: Timestamp) -> Result<Erased, AppError> {
    let would_go = would_go(book, target).await?;
    if typed.trim() != would_go.name {
        return Err(AppError::refused(
            format!("\"{}\" was typed; nothing was erased", typed.trim()),
            format!("{}, letter by letter", would_go.name),
        ));
    }
    let erased = match target {
        Target::Litter(id) => {
            // Also those that were corrected or taken back.
            let all = &book.load(*id).await?.all;
            let named = |kind: Kind, key: &str| -> Vec<String> {
                let texts = all.iter().filter(|f| f.kind == kind).filter_map(|f| f.body.get(key)?.as_str());
                texts.map(str::to_owned).collect()
            };
            book.store.erase_litter(*id, &named(Kind::Litter, "name"), &named(Kind::Pup, "id"), now).await?
        }
        Target::Person(_) => book.store.erase_name(&would_go.name, now).await?,
    };
    // The one who erases may be the one who was erased.
    let mut by = by.clone();
    let store = &book.store;
    if let Some(instead) = &erased.instead {
        if is_name(&by.carer, &would_go.name) {
            by.carer.clone_from(instead);
        }
        write_audit(store, &by, "name-erased", instead, now).await?;
    } else {
        write_audit(store, &by, "litter-erased", &erased.facts.to_string(), now).await?;
    }
    Ok(erased)
}
