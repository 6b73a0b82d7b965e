//! What can go wrong with a book, as sentences: what happened, what is safe, what to do.

use std::path::PathBuf;

/// An error of the store.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    #[error(
        "the disk is full, so this was not saved. Everything saved before is safe. Make room on the disk of {place}, then enter it again"
    )]
    DiskFull { place: String },
    #[error(
        "{place} cannot be written, so this was not saved. Everything saved before is safe. Allow writing there, or choose another place with --database"
    )]
    ReadOnly { place: String },
    #[error(
        "{place} is damaged or is not a book. Nothing was changed. Keep the file, and restore the newest good copy: whelpward restore"
    )]
    Damaged { place: String },
    #[error(
        "this book was written by a newer whelpward (step {found}, this program knows up to {known}). Nothing was changed. Use the newer program"
    )]
    Newer { found: i64, known: i64 },
    #[error(
        "the book at {place} cannot be reached ({why}). What was acknowledged before is safe; this was not saved. Start the database or plug the disk in, then enter it again"
    )]
    Gone { place: String, why: String },
    #[error(
        "{place} is busy: another program has held it for too long. This was not saved. Close the other program, or try again"
    )]
    Busy { place: String },
    #[error("{path}: {why}. Nothing was changed")]
    File { path: PathBuf, why: String },
    #[error("{place} already holds {count} entries; nothing was written over. Use an empty database")]
    NotEmpty { place: String, count: i64 },
    #[error(
        "not all of it is in a ZIP yet, so nothing was erased from {place}. Write everything out first: whelpward export-all, or the page Take out and erase"
    )]
    NotWrittenOut { place: String },
    #[error(
        "this litter was erased from {place}, so this was not saved. Everything else is safe. Reading a ZIP that holds it brings it back: whelpward import-all"
    )]
    Erased { place: String },
    #[error("the copy does not agree with its source: {why}. Do not rely on it")]
    CopyDiffers { why: String },
    #[error(
        "before changing the book's layout a copy is made, and that failed: {why}. Nothing was changed. Make room beside the book and start again"
    )]
    NoCopyBeforeChange { why: String },
    #[error("{place}: {why}. This was not saved; everything saved before is safe")]
    Other { place: String, why: String },
}

impl StoreError {
    /// Turns the database's own words into ours.
    pub(crate) fn from_sqlx(place: &str, error: &sqlx::Error) -> Self {
        let place = place.to_owned();
        let text = error.to_string();
        match error {
            sqlx::Error::Database(database) => {
                let code = database.code().unwrap_or_default();
                // A SQLSTATE has five characters, a result code of SQLite at most four.
                if code.len() == 5 {
                    return match code.as_ref() {
                        "53100" => Self::DiskFull { place },
                        // A read-only transaction; no right to write.
                        "25006" | "42501" => Self::ReadOnly { place },
                        // Another one holds the lock.
                        "55P03" => Self::Busy { place },
                        // Shutting down, starting up, cut off, too slow inside a transaction.
                        c if c.starts_with("57P") || c.starts_with("08") || c == "25P03" => {
                            Self::Gone { place, why: text }
                        }
                        _ => Self::Other { place, why: text },
                    };
                }
                // SQLite gives extended result codes; the low byte is the primary one.
                match code.parse::<u32>().map(|n| n & 0xff) {
                    Ok(5 | 6) => Self::Busy { place },
                    Ok(8) => Self::ReadOnly { place },
                    Ok(13) => Self::DiskFull { place },
                    Ok(11 | 26) => Self::Damaged { place },
                    Ok(10 | 14) => Self::Gone { place, why: text },
                    _ => Self::Other { place, why: text },
                }
            }
            sqlx::Error::PoolTimedOut => Self::Gone { place, why: "it does not answer".into() },
            sqlx::Error::Io(_)
            | sqlx::Error::PoolClosed
            | sqlx::Error::WorkerCrashed
            | sqlx::Error::Protocol(_)
            | sqlx::Error::Tls(_) => Self::Gone { place, why: text },
            _ => Self::Other { place, why: text },
        }
    }
}
