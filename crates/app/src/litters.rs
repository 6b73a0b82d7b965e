//! Which litters there are, and the one that a person means.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind, fold};

use crate::{AppError, Book};

/// One litter of the book.
#[derive(Debug, Clone)]
pub struct LitterInfo {
    pub id: FactId,
    pub name: String,
    pub pups: usize,
    pub pups_here: usize,
    /// Every pup has left.
    pub is_closed: bool,
    pub is_example: bool,
    pub whelped_at: Option<Timestamp>,
}

/// The litters, the newest first. Reads a few facts of each, never its weighings.
///
/// # Errors
/// The book cannot be read.
pub async fn litters(book: &Book) -> Result<Vec<LitterInfo>, AppError> {
    let mut facts: BTreeMap<FactId, Vec<Arc<Fact>>> = BTreeMap::new();
    for kind in [Kind::Litter, Kind::Pup, Kind::Leaving, Kind::Example, Kind::Void] {
        for fact in book.store.facts_of_kind(kind).await? {
            facts.entry(fact.litter).or_default().push(Arc::new(fact));
        }
    }
    let mut infos: Vec<LitterInfo> = facts.iter().filter_map(|(id, facts)| info(*id, facts)).collect();
    infos.sort_by_key(|i| std::cmp::Reverse((i.whelped_at, i.id)));
    Ok(infos)
}

fn info(id: FactId, facts: &[Arc<Fact>]) -> Option<LitterInfo> {
    let folded = fold(facts);
    let litter = folded.of_kind(Kind::Litter).next()?;
    let text = |name: &str| litter.body.get(name).and_then(|v| v.as_str());
    let read = folded.facts.as_ref();
    let pups = folded.pups.len();
    let pups_here = read.map_or(pups, |f| f.pups.iter().filter(|p| p.left.is_none()).count());
    Some(LitterInfo {
        id,
        name: text("name").unwrap_or("(no name)").to_owned(),
        pups,
        pups_here,
        is_closed: pups > 0 && pups_here == 0,
        is_example: folded.of_kind(Kind::Example).next().is_some(),
        whelped_at: text("whelped_at").and_then(|t| t.parse().ok()),
    })
}

/// The litter of this name, or the only one that is not closed.
///
/// # Errors
/// There is none, or more than one; the names are said.
pub async fn find(book: &Book, name: Option<&str>) -> Result<LitterInfo, AppError> {
    let all = litters(book).await?;
    let names = |of: &[&LitterInfo]| of.iter().map(|i| i.name.as_str()).collect::<Vec<_>>().join(", ");
    let wanted: Vec<&LitterInfo> = if let Some(name) = name {
        all.iter().filter(|i| i.name.to_lowercase() == name.trim().to_lowercase()).collect()
    } else {
        let open: Vec<&LitterInfo> = all.iter().filter(|i| !i.is_closed).collect();
        // An invented litter is meant only where there is no other.
        let own: Vec<&LitterInfo> = open.iter().filter(|i| !i.is_example).copied().collect();
        if own.is_empty() { open } else { own }
    };
    match (wanted.as_slice(), name) {
        ([one], _) => Ok((*one).clone()),
        ([first, ..], Some(_)) => Ok((*first).clone()),
        ([], None) => {
            Err(AppError::Said("there is no open litter in the book; write one down with: whelpward litter add".into()))
        }
        ([], Some(name)) => Err(AppError::refused(
            format!("there is no litter \"{name}\" in the book"),
            if all.is_empty() {
                "none yet; whelpward litter add".into()
            } else {
                names(&all.iter().collect::<Vec<_>>())
            },
        )),
        (many, None) => Err(AppError::refused(
            "there is more than one litter; which one?",
            format!("--litter NAME: {}", names(many)),
        )),
    }
}
