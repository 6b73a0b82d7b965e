//! What people do with the book: one file for each action.
//!
//! An action loads the facts of a litter, asks the core, and saves facts. The command line and
//! the pages use these actions and nothing below them. The time is an argument everywhere.

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

pub mod access;
mod answer;
mod aside;
mod backup;
mod birth;
mod book;
mod book_files;
mod check;
mod claim;
mod correct;
mod did;
mod entry;
mod erase;
mod error;
mod everything_in;
mod everything_out;
mod feed;
mod folder_in;
mod folder_out;
mod leave;
mod litters;
mod medicine;
mod milk;
mod mix;
mod move_book;
mod nurse;
mod own_litters;
mod place;
mod receive;
mod register;
mod sheet_in;
mod today;
mod undo;
mod unpack;
mod weigh;

pub use answer::{AnswerTo, answer};
pub use aside::{TakeAs, Waiting, take, waiting};
pub use backup::{
    BackupDone, Backups, CopiesAfter, Keep, copied_at, copies_after_erasing, newest_good, next_due, run as back_up,
    which_to_keep,
};
pub use birth::{Birth, record_birth};
pub use book::{Book, Loaded, Who};
pub use book_files::values;
pub use check::{Observation, Seen, check};
pub use claim::claim;
pub use correct::{Correction, correct};
pub use did::{Did, did};
pub use entry::put;
pub use erase::{Target, WouldGo, erase, people, would_go};
pub use error::{AppError, Ask, Choice};
pub use everything_in::{Arrived, everything_in};
pub use everything_out::{WrittenOut, everything_out};
pub use feed::{Amount, FeedGiven, Shown, feed};
pub use folder_in::{FolderLoaded, folder_in};
pub use folder_out::{NotCarried, folder_out};
pub use leave::{Leave, leave};
pub use litters::{LitterInfo, find, litters};
pub use medicine::{Due, due, given, prescribe};
pub use milk::shelve;
pub use mix::{Mixed, mix};
pub use move_book::{Moved, move_book};
pub use nurse::{Nursing, nurse};
pub use own_litters::{OwnLitters, own_litters};
pub use place::{Place, default_place};
pub use receive::{FromDevice, OneTap, one_tap, receive};
pub use register::{Register, register_litter};
pub use sheet_in::{SheetLoaded, sheet_context, sheet_in};
pub use today::{advice_of, today};
pub use undo::{Undone, undo};
pub use weigh::{Weight, weigh};

/// What an action saved, and what to read back.
#[derive(Debug, Clone)]
pub struct Saved {
    pub facts: Vec<std::sync::Arc<whelpward_core::book::Fact>>,
    /// One sentence with the pup, the value and its unit.
    pub read_back: String,
    /// What to watch for, where there is something.
    pub notes: Vec<String>,
}
