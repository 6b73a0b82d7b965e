//! Gives a litter out as a folder of text files.

use whelpward_core::book::{AboutPup, FactId, KINDS};
use whelpward_core::record::{FolderFiles, entries};

use crate::{AppError, Book};

/// What a folder cannot hold, with how much of it there is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotCarried {
    pub what: String,
    pub count: usize,
}

/// The facts that count, as the files of a folder; and what stays behind.
///
/// # Errors
/// The book cannot be read.
pub async fn folder_out(book: &Book, litter: FactId) -> Result<(FolderFiles, Vec<NotCarried>), AppError> {
    let loaded = book.load(litter).await?;
    loaded.facts()?;
    let mut left: Vec<NotCarried> = KINDS
        .iter()
        .filter(|row| row.home.is_none() && row.about_pup != AboutPup::Always)
        .map(|row| NotCarried {
            what: format!("{}: {}", row.word.replace('_', " "), row.meaning),
            count: loaded.folded.of_kind(row.kind).count(),
        })
        .filter(|n| n.count > 0)
        .collect();
    let older = loaded.all.len() - loaded.folded.counted().len();
    if older > 0 {
        left.push(NotCarried { what: "former versions and entries taken back".into(), count: older });
    }
    Ok((entries::write(loaded.folded.entries()), left))
}
