//! Takes back the last thing that this machine wrote, or one that is named.

use std::sync::Arc;

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind, Values};

use crate::book::Draft;
use crate::{AppError, Book, Loaded, Saved, Who};

/// What was taken back.
#[derive(Debug, Clone)]
pub struct Undone {
    pub saved: Saved,
    pub was: Arc<Fact>,
}

/// Takes back an entry: a new one no longer counts, a correction gives way to the version before.
///
/// # Errors
/// There is nothing to take back.
pub async fn undo(
    book: &Book,
    who: &Who,
    litter: FactId,
    which: Option<FactId>,
    now: Timestamp,
) -> Result<Undone, AppError> {
    let loaded = book.load(litter).await?;
    let was = match which {
        Some(id) => loaded.folded.current(id).cloned(),
        None => last_of(&loaded, who),
    };
    let Some(was) = was else {
        return Err(AppError::Said("there is nothing to take back that this machine wrote".into()));
    };
    let draft = Draft::of(book, who, &loaded, now);
    let before = was.supersedes.and_then(|id| loaded.all.iter().find(|f| f.id == id));
    let fact = if let Some(before) = before {
        Fact {
            supersedes: Some(was.id),
            ..Fact {
                id: book.new_id(now),
                receipt: draft.fact(Kind::Note, None, Values::new()).receipt,
                device: who.device.clone(),
                ..(**before).clone()
            }
        }
    } else {
        let mut void = draft.fact(Kind::Void, None, Values::new());
        void.voids = Some(was.id);
        void
    };
    let pup = was.pup.map(|p| format!(" of {}", loaded.name_of(p))).unwrap_or_default();
    let when = whelpward_core::report::clock(was.occurred, &loaded.zone());
    let read_back =
        format!("Taken back: {}{pup} at {when}. It stays in the history.", was.kind.word().replace('_', " "));
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    Ok(Undone { saved: Saved { facts, read_back, notes: Vec::new() }, was })
}

/// The entry that this machine made last and that counts. The litter itself and the program's
/// own advice are never taken back unasked.
fn last_of(loaded: &Loaded, who: &Who) -> Option<Arc<Fact>> {
    loaded
        .folded
        .counted()
        .filter_map(|id| loaded.folded.current(id))
        .filter(|f| {
            f.device == who.device && !matches!(f.kind, Kind::Litter | Kind::Advice | Kind::Claim | Kind::Example)
        })
        .max_by_key(|f| f.id)
        .cloned()
}
