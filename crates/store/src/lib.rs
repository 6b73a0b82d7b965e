//! The book on disk: facts in SQLite (embedded) or PostgreSQL, one SQL for both.
//!
//! Every write is one transaction that has reached the disk when the call returns. Nothing is
//! updated in place: outside `erase`, where a breeder has a litter or a name erased, there is no statement that
//! changes or removes a fact.

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

mod access;
mod copies;
mod digest;
mod erase;
mod error;
mod facts;
mod homes;
mod open;
mod set_aside;

pub use access::{AuditEntry, AuditLine, Carried, Device, Link, LinkKind, Person, Try};
pub use copies::{CopyInfo, restore_sqlite, sidecar, verify_copy};
pub use digest::{Digest, hex};
pub use erase::Erased;
pub use error::StoreError;
pub use facts::Outcome;
pub use homes::{HomeRow, Homes};
pub use open::{Engine, Store};
pub use set_aside::SetAside;
