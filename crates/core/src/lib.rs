//! The computation of whelpward: from the facts of a litter to what to do now, for which
//! pup, and why.
//!
//! Seven steps, each a module with one entry function, each using only earlier ones:
//!
//! ```text
//! record → assess → need → mix → schedule → guide → report
//! ```
//!
//! What this crate does not do: no files, no network, no clock, no randomness without a seed, no
//! layout. The time is always an argument. Facts come in as text through [`record::parse`]; the answer
//! goes out as plain data through [`report::today`].
//!
//! ```
//! use whelpward_core::record::{FolderFiles, parse};
//! let litter = r#"
//! format = 1
//! [litter]
//! name = "Example"
//! expected_adult_weight_kg = 12
//! whelped_at = 2026-11-18T22:10+01:00
//! time_zone = "Europe/Berlin"
//! scale_step_g = 1
//! [[pup]]
//! id = "Ash"
//! sex = "male"
//! marks = "grey, white chest"
//! born_at = 2026-11-18T22:10+01:00
//! birth_weight = 310
//! unit = "g"
//! "#;
//! let files = FolderFiles { litter_toml: Some(litter.into()), ..FolderFiles::default() };
//! let facts = parse(&files).expect("a complete litter file");
//! let today = whelpward_core::report::today(&facts, "2026-11-19T06:00+01:00".parse().unwrap());
//! assert_eq!(today.pups[0].standing, "keep watch", "colostrum has not been seen yet");
//! ```

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

pub mod assess;
pub mod book;
pub mod dam;
pub mod finding;
pub mod growth;
pub mod guide;
pub mod intake;
pub mod limits;
pub mod milk;
pub mod mix;
pub mod need;
pub mod record;
pub mod references;
pub mod report;
pub mod review;
pub mod scale;
pub mod schedule;
pub mod spreadsheet;
pub mod supplies;
pub mod top_up;
pub mod units;
pub mod upbringing;
pub mod whelping;
