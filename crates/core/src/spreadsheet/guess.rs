//! How a sheet may be read, with the grounds for each part of it.

use super::columns::{Column, Facts};
use super::dates::DateOrder;
use super::judge::Parts;
use super::questions::{About, Question};
use super::table::{Table, separator};
use super::text::{Encoding, decode};
use super::weights::{DecimalMark, Marks};
use super::{Answers, Context, NoTime, Problem, Separator};

/// How weighings lie in the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// A row for each weighing.
    Long,
    /// A column for each pup, a row for each time.
    PupColumns,
    /// A row for each pup, a column for each date.
    DateColumns,
}

/// A part of the guess; without a value it is not settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged<T> {
    pub value: Option<T>,
    pub why: String,
}

impl<T> Judged<T> {
    pub(super) fn settled(value: T, why: impl Into<String>) -> Self {
        Self { value: Some(value), why: why.into() }
    }

    pub(super) fn open(why: impl Into<String>) -> Self {
        Self { value: None, why: why.into() }
    }
}

/// A name in the sheet that is not letter by letter one on record.
#[derive(Debug, Clone, PartialEq)]
pub struct Name {
    pub found: String,
    /// As a person answered: the one on record, or none of them.
    pub answer: Option<Option<String>>,
    /// The ones on record that it nearly matches.
    pub candidates: Vec<String>,
}

/// How a sheet may be read. Plain data, to be shown; nothing is read by it before
/// [`Guess::confirm`].
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    pub encoding: Encoding,
    /// What a person should know about the encoding.
    pub encoding_note: Option<String>,
    pub separator: Judged<Separator>,
    /// The line of the headings, counted from 1; 0 where there is none.
    pub header_line: usize,
    /// Lines above the headings, which are not read.
    pub above: Vec<(usize, String)>,
    pub rows: usize,
    pub layout: Judged<Layout>,
    pub columns: Vec<Column>,
    pub decimal: Judged<DecimalMark>,
    /// Whether the mark that is not the decimal mark parts thousands.
    pub thousands: Judged<bool>,
    pub date_order: Judged<DateOrder>,
    pub no_time: Judged<NoTime>,
    pub only_pup: Option<String>,
    pub pups: Vec<Name>,
    pub carers: Vec<Name>,
    questions: Vec<Question>,
}

/// A guess without an open question, which a person has seen and agreed to.
#[derive(Debug, Clone, PartialEq)]
pub struct Confirmed(pub(super) Guess);

impl Guess {
    /// What a person must settle before anything can be read.
    #[must_use]
    pub fn open_questions(&self) -> &[Question] {
        &self.questions
    }

    /// To be called only after a person has seen the guess and agreed.
    ///
    /// # Errors
    /// The questions that are still open.
    pub fn confirm(self) -> Result<Confirmed, Vec<Question>> {
        if self.questions.is_empty() { Ok(Confirmed(self)) } else { Err(self.questions) }
    }
}

impl Confirmed {
    #[must_use]
    pub fn guess(&self) -> &Guess {
        &self.0
    }
}

/// How this file may be read.
///
/// # Errors
/// Why it is no table of text at all.
pub fn guess(bytes: &[u8], context: &Context) -> Result<Guess, Problem> {
    guess_again(bytes, context, &Answers::default())
}

/// As [`guess`], with what a person has settled so far.
///
/// # Errors
/// As [`guess`]; and where an answer does not fit the file.
pub fn guess_again(bytes: &[u8], context: &Context, answers: &Answers) -> Result<Guess, Problem> {
    let (text, encoding) = decode(bytes)?;
    let (separator, rivals) = separator(&text, answers)?;
    let chosen = separator.value.unwrap_or(Separator::Comma);
    let sheet = Table::split(&text, chosen, answers, context)?;
    let mut questions = Vec::new();
    if !rivals.is_empty() {
        let options = rivals.iter().map(|s| s.words().to_owned()).collect();
        questions.push(Question::new(About::Separator, "Which mark stands between the cells?", options));
    }
    let facts: Vec<Facts> = (0..sheet.width).map(|place| Facts::of(place, &sheet.rows, context)).collect();
    let mut parts = Parts { sheet: &sheet, facts: &facts, context, answers, questions };
    let layout = parts.layout();
    let mut columns = parts.columns(layout.value.unwrap_or(Layout::Long));
    parts.units(&mut columns);
    parts.check_roles(layout.value.unwrap_or(Layout::Long), &columns);
    let decimal = parts.decimal(&columns);
    let thousands = parts.thousands(&columns, decimal.value);
    let date_order = parts.date_order(&columns);
    let no_time = parts.no_time(&columns);
    let pups = parts.pup_names(&columns);
    let carers = parts.carer_names(&columns);
    let questions = parts.questions;
    let encoding_note = (encoding == Encoding::Windows1252).then(|| {
        "The file is not Unicode and was read as Windows-1252: look at names with accents; \
         they are wrong if the file came from elsewhere."
            .to_owned()
    });
    Ok(Guess {
        encoding,
        encoding_note,
        separator,
        header_line: sheet.header.as_ref().map_or(0, |h| h.line),
        above: sheet.above.iter().map(|r| (r.line, r.cells.join(" ").trim().to_owned())).collect(),
        rows: sheet.rows.len(),
        layout,
        columns,
        decimal,
        thousands,
        date_order,
        no_time,
        only_pup: answers.only_pup.clone(),
        pups,
        carers,
        questions,
    })
}

impl Guess {
    pub(super) fn marks(&self) -> Marks {
        Marks {
            decimal: self.decimal.value.unwrap_or(DecimalMark::Mixed),
            thousands: self.thousands.value.unwrap_or(false),
        }
    }
}
