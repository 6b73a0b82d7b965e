//! Takes a litter folder into the book. Taking it twice adds nothing.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sha2::{Digest as _, Sha256};

use whelpward_core::book::{Fact, FactId, Kind, Receipt, Values, whole_milliseconds};
use whelpward_core::record::{Entry, FolderFiles, Problem, entries};
use whelpward_store::Outcome;

use crate::{AppError, Book};

/// What a folder brought.
#[derive(Debug, Clone)]
pub struct FolderLoaded {
    pub litter: FactId,
    pub name: String,
    pub added: usize,
    pub there_before: usize,
    /// In the book with other details; the book's stay.
    pub different: Vec<String>,
}

/// Adds the facts of a folder. Each gets an id from its own content, so the same row is the same fact.
///
/// # Errors
/// Every problem of the folder; or the book cannot be written. Then nothing was added.
pub async fn folder_in(
    book: &Book,
    files: &FolderFiles,
    now: Timestamp,
) -> Result<Result<FolderLoaded, Vec<Problem>>, AppError> {
    let entries = match entries::read(files) {
        Ok(entries) => entries,
        Err(problems) => return Ok(Err(problems)),
    };
    let text = |e: &Entry, name: &str| e.values.get(name).map(entries::typed);
    let litter_entry = entries.iter().find(|e| e.home.name() == "litter");
    let Some(litter_entry) = litter_entry else { return Err(AppError::Said("the folder holds no litter".into())) };
    let name = text(litter_entry, "name").unwrap_or_default();
    let zone = text(litter_entry, "time_zone").unwrap_or_else(|| "UTC".into());
    let began = text(litter_entry, "whelped_at").and_then(|t| t.parse().ok());
    // A litter is the same by its name and its birth, whatever else was changed in the folder.
    let began = began.unwrap_or_else(|| Timestamp::from_second(946_684_800).unwrap_or_default());
    let litter = id_of(began, &["litter", &name, &began.to_string()]);

    let mut pups: BTreeMap<String, FactId> = BTreeMap::new();
    for entry in entries.iter().filter(|e| e.home.name() == "pup") {
        let (id, born) = (text(entry, "id").unwrap_or_default(), text(entry, "born_at").and_then(|t| t.parse().ok()));
        pups.insert(id.clone(), id_of(born.unwrap_or(began), &["pup", &litter.to_string(), &id]));
    }
    let there: BTreeMap<FactId, Fact> = book.store.facts(litter, 0).await?.into_iter().map(|f| (f.id, f)).collect();
    let known: BTreeMap<(Kind, String), FactId> =
        there.values().map(|f| (same_entry(f.kind, f.pup, &f.body), f.id)).collect();
    let mut facts = Vec::new();
    let mut seen: BTreeMap<FactId, u32> = BTreeMap::new();
    for (place, entry) in entries.iter().enumerate() {
        let Some(kind) = Kind::of_home(entry.home.name()) else { continue };
        let mut body = entry.values.clone();
        let pup = taken(kind, "pup", &mut body).and_then(|p| pups.get(&p).copied());
        let carer = taken(kind, "carer", &mut body);
        let said = kind.row().time_key.and_then(|k| body.get(k)).and_then(|t| t.as_str());
        let occurred = whole_milliseconds(said.and_then(|t| t.parse().ok()).unwrap_or(began));
        let name_of_entry = kind.row().name_key.and_then(|k| text(entry, k));
        let is_section = matches!(entry.home, whelpward_core::record::Home::Section(_));
        let id = match (kind, &name_of_entry) {
            (Kind::Litter, _) => litter,
            (Kind::Pup, Some(name)) => pups[name],
            _ if is_section => {
                // Sections keep their order (whom to ring first), so their ids follow their place,
                // unless the book knows the entry from before.
                let same = same_entry(kind, pup, &body);
                let place = i64::try_from(place).unwrap_or(0);
                let made = began + jiff::SignedDuration::from_millis(place);
                known.get(&same).copied().unwrap_or_else(|| id_of(made, &[kind.word(), &litter.to_string(), &same.1]))
            }
            _ => {
                let content = serde_json::to_string(&(pup.map(|p| p.to_string()), &carer, &body)).unwrap_or_default();
                id_of(occurred, &[kind.word(), &litter.to_string(), &content])
            }
        };
        // The same row twice in one folder is one fact, as when the folder is read.
        *seen.entry(id).or_default() += 1;
        if seen[&id] > 1 {
            continue;
        }
        facts.push(Fact {
            id,
            litter,
            kind,
            pup,
            body,
            occurred,
            zone: zone.clone(),
            carer,
            device: FOLDER.into(),
            supersedes: None,
            voids: None,
            receipt: Receipt::default(),
        });
    }
    let mut loaded = FolderLoaded { litter, name, added: 0, there_before: 0, different: Vec::new() };
    // What differs from the book is not written: the book's version may be a correction.
    let there: BTreeMap<FactId, Fact> = book.store.facts(litter, 0).await?.into_iter().map(|f| (f.id, f)).collect();
    let (old, new): (Vec<Fact>, Vec<Fact>) = facts.into_iter().partition(|f| there.contains_key(&f.id));
    for fact in &old {
        loaded.there_before += 1;
        if there[&fact.id].content() != fact.content() {
            let name = fact.kind.row().name_key.and_then(|k| fact.body.get(k)).map(entries::typed).unwrap_or_default();
            loaded.different.push(format!("{} {name}", fact.kind.word().replace('_', " ")).trim().to_owned());
        }
    }
    for page in new.chunks(PAGE) {
        let outcomes = book.store.append(page, whole_milliseconds(now)).await?;
        loaded.added += outcomes.iter().filter(|o| matches!(o, Outcome::Saved { .. })).count();
    }
    Ok(Ok(loaded))
}

/// The device of facts that came out of a folder.
pub(crate) const FOLDER: &str = "folder";
const PAGE: usize = 20_000;

/// What makes two sections one: the name where the kind has one, else everything.
fn same_entry(kind: Kind, pup: Option<FactId>, body: &Values) -> (Kind, String) {
    let is_single = matches!(kind, Kind::Litter | Kind::Dam | Kind::Example);
    let same = match kind.row().name_key.and_then(|k| body.get(k)) {
        Some(name) => entries::typed(name),
        None if is_single => String::new(),
        None => serde_json::to_string(&(pup.map(|p| p.to_string()), body)).unwrap_or_default(),
    };
    (kind, same)
}

/// Takes what the fact itself holds out of the body.
fn taken(kind: Kind, name: &str, body: &mut Values) -> Option<String> {
    if !kind.is_in_envelope(name) {
        return None;
    }
    body.remove(name).map(|v| entries::typed(&v)).filter(|t| !t.is_empty())
}

/// An id whose random part is made of the content: the same content gives the same id.
pub(crate) fn id_of(at: Timestamp, parts: &[&str]) -> FactId {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(u64::try_from(part.len()).unwrap_or(u64::MAX).to_be_bytes());
        hash.update(part.as_bytes());
    }
    let bytes: [u8; 16] = hash.finalize()[..16].try_into().expect("a SHA-256 has 32 bytes");
    FactId::from_parts(at, u128::from_be_bytes(bytes))
}
