//! Weighings from a household's own spreadsheet, saved as a file of text.
//!
//! Two steps, with a person between them. [`guess`] looks at every cell and says how the file
//! may be read: separator, decimal mark, layout, the role of each column, order of dates, unit,
//! each with its grounds. What the data do not settle is a [`Question`]; the answers go back in
//! with [`guess_again`] until none is left. Only a [`Confirmed`] guess can be given to [`read`],
//! which turns every cell of a weight into a weighing, a problem with its place, or a blank.
//!
//! Nothing is repaired and nothing is taken silently: not noon for a date without a time, not
//! the household's unit for numbers without one, not one of two offsets in the night when the
//! clocks change, not the pup whose name is nearly the one written.
//!
//! It ignores formulas, colours and merged cells, which such files do not hold. Dates as day
//! numbers of a spreadsheet program are refused, because programs count from different days.
//!
//! ```
//! use jiff::tz::TimeZone;
//! use whelpward_core::spreadsheet::{Answers, Context, SheetPup, SheetUnit, guess, guess_again, read};
//! let context = Context {
//!     zone: TimeZone::get("Europe/Berlin").unwrap(),
//!     pups: vec![SheetPup { id: "Ash".into(), born_at: "2026-11-18T22:10+01:00".parse().unwrap() }],
//!     carers: vec![],
//!     household_unit: SheetUnit::Gram,
//! };
//! let bytes = b"Pup;Date;Time;Weight\nAsh;20.11.2026;03:15;310,5\n";
//! let questions = guess(bytes, &context).unwrap().open_questions().to_vec();
//! assert_eq!(questions.len(), 1, "only the unit is not settled by the file");
//! let answers = Answers { unit: Some(SheetUnit::Gram), ..Answers::default() };
//! let confirmed = guess_again(bytes, &context, &answers).unwrap().confirm().unwrap();
//! let sheet = read(bytes, &confirmed, &context);
//! assert_eq!(sheet.rows[0].1["weighed_at"], "2026-11-20T03:15+01:00");
//! assert_eq!(sheet.rows[0].1["weight"], "310.5");
//! ```

mod columns;
mod dates;
mod evidence;
mod guess;
mod judge;
mod names;
mod questions;
mod read;
#[cfg(test)]
mod reference_tests;
mod table;
mod text;
mod weights;

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Time;
use jiff::tz::TimeZone;

pub use crate::record::{Problem, Values};
pub use columns::{Column, Role};
pub use dates::DateOrder;
pub use guess::{Confirmed, Guess, Judged, Layout, Name, guess, guess_again};
pub use questions::{About, Question};
pub use read::{Alone, Refused, Sheet, read};
pub use text::Encoding;
pub use weights::{DecimalMark, SheetUnit};

/// What the household has on record, against which a sheet is read.
#[derive(Debug, Clone)]
pub struct Context {
    /// The litter's zone: times without an offset are local times there.
    pub zone: TimeZone,
    pub pups: Vec<SheetPup>,
    pub carers: Vec<String>,
    /// Offered first when the unit is asked for; never taken by itself.
    pub household_unit: SheetUnit,
}

/// A pup that a sheet may name.
#[derive(Debug, Clone)]
pub struct SheetPup {
    pub id: String,
    pub born_at: Timestamp,
}

/// What stands between two cells of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Separator {
    Comma,
    Semicolon,
    Tab,
}

impl Separator {
    pub const ALL: [Self; 3] = [Self::Comma, Self::Semicolon, Self::Tab];

    #[must_use]
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Comma => ",",
            Self::Semicolon => ";",
            Self::Tab => "\t",
        }
    }

    const fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
        }
    }
}

/// What a date without a time of day stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoTime {
    /// All were weighed at this time.
    At(Time),
    /// Cells without a time are problems.
    Refuse,
}

/// Before or after a feed, as a heading or a cell says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Taken {
    BeforeFeed,
    AfterFeed,
}

impl Taken {
    const fn word(self) -> &'static str {
        match self {
            Self::BeforeFeed => "before_feed",
            Self::AfterFeed => "after_feed",
        }
    }
}

/// What a person has settled; everything left out is judged from the file.
#[derive(Debug, Clone, Default)]
pub struct Answers {
    pub separator: Option<Separator>,
    /// The line of the headings, counted from 1; 0 where the file has none.
    pub header_line: Option<usize>,
    pub layout: Option<Layout>,
    /// Roles by column, counted from 1.
    pub roles: BTreeMap<usize, Role>,
    pub decimal: Option<DecimalMark>,
    /// Whether the mark that is not the decimal mark parts thousands.
    pub thousands: Option<bool>,
    pub date_order: Option<DateOrder>,
    /// For every column of weights whose heading names no unit.
    pub unit: Option<SheetUnit>,
    pub no_time: Option<NoTime>,
    /// The one pup of a sheet that names none.
    pub only_pup: Option<String>,
    /// Names as the sheet has them, with the id of the pup, or none: not a pup of this litter.
    pub pups: BTreeMap<String, Option<String>>,
    /// Names as the sheet has them, with the carer on record, or none: keep it in the note.
    pub carers: BTreeMap<String, Option<String>>,
}

fn whole_file(line: usize, found: String, allowed: String) -> Problem {
    Problem { file: "the sheet", line, column: 0, name: String::new(), found, allowed }
}

/// Quotes a cell, shortened so that a pasted page does not fill the screen.
fn quoted(cell: &str) -> String {
    if cell.is_empty() {
        return "nothing".into();
    }
    let mut short: String = cell.chars().take(40).collect();
    if short.len() < cell.len() {
        short.push('…');
    }
    format!("\"{}\"", short.escape_debug())
}
