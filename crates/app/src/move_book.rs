//! Moves a whole household from one database to another, counted and verified.

use whelpward_store::{Carried, Digest, Store};

use crate::AppError;

/// What was moved.
#[derive(Debug, Clone)]
pub struct Moved {
    pub from: String,
    pub to: String,
    pub holds: Digest,
    /// Who may come in, and what was done about it.
    pub access: Carried,
}

/// Copies every fact with its place, the people, the password, the PINs and the audit into an empty database.
/// Nobody stays signed in there. The source stays as it is.
///
/// # Errors
/// The target is not empty, or the copy does not agree with its source.
pub async fn move_book(from: &Store, to: &str, progress: impl FnMut(i64)) -> Result<Moved, AppError> {
    let target = Store::open(to).await?;
    let holds = target.take_over(from, progress).await?;
    if from.last_seq().await? > holds.last_seq {
        let why = "something was saved into the old book while it was moved; end every other program on it, and move it into another empty database";
        return Err(AppError::Said(why.into()));
    }
    let access = target.same_access(from).await?;
    let moved = Moved { from: from.place().to_owned(), to: target.place().to_owned(), holds, access };
    target.close().await;
    Ok(moved)
}
