//! The table in a text: which mark parts its cells, where its headings are.

use std::collections::BTreeMap;

use super::dates::written;
use super::guess::Judged;
use super::text::{Record, named_separator, split};
use super::weights::is_weight_like;
use super::{Answers, Context, Problem, Separator, whole_file};

/// No household's sheet is wider; a file that is would cost more than it can give.
const MOST_COLUMNS: usize = 1000;

/// The records of a sheet: headings, what stands above them, rows.
pub(super) struct Table<'t> {
    pub above: Vec<Record<'t>>,
    pub header: Option<Record<'t>>,
    pub rows: Vec<Record<'t>>,
    /// How many columns the headings have, or most rows where there are none.
    pub width: usize,
}

impl<'t> Table<'t> {
    pub(super) fn split(
        text: &'t str,
        separator: Separator,
        answers: &Answers,
        context: &Context,
    ) -> Result<Self, Problem> {
        let (_, body, first_line) = named_separator(text);
        let records = split(body, separator, first_line)?;
        let place = match answers.header_line {
            Some(0) => None,
            Some(line) => Some(records.iter().position(|r| r.line == line).ok_or_else(|| {
                whole_file(line, "no line of headings".into(), "the number of a line that is not blank".into())
            })?),
            None => header_place(&records, context),
        };
        Self::of(records, place)
    }

    /// As [`Table::split`], where the line of the headings is known.
    pub(super) fn split_again(text: &'t str, separator: Separator, header_line: usize) -> Result<Self, Problem> {
        let (_, body, first_line) = named_separator(text);
        let records = split(body, separator, first_line)?;
        let place = records.iter().position(|r| r.line == header_line);
        Self::of(records, place)
    }

    fn of(mut records: Vec<Record<'t>>, place: Option<usize>) -> Result<Self, Problem> {
        let filled = |record: &Record<'_>| record.cells.iter().rposition(|c| !c.trim().is_empty()).map_or(0, |n| n + 1);
        let (above, header, rows) = match place {
            Some(place) => {
                let rows = records.split_off(place + 1);
                let header = records.pop();
                (records, header, rows)
            }
            None => (Vec::new(), None, records),
        };
        let width = header.as_ref().map_or_else(|| commonest(rows.iter().map(filled)), filled);
        if rows.is_empty() {
            return Err(whole_file(0, "no rows".into(), "headings, and rows of weighings below them".into()));
        }
        if width < 2 {
            return Err(whole_file(
                header.as_ref().map_or(0, |h| h.line),
                "a single column".into(),
                "cells separated by commas, semicolons or tabs".into(),
            ));
        }
        if width > MOST_COLUMNS {
            let found = format!("{width} columns");
            return Err(whole_file(0, found, format!("at most {MOST_COLUMNS} columns")));
        }
        Ok(Self { above, header, rows, width })
    }

    pub(super) fn heading(&self, place: usize) -> &str {
        self.header.as_ref().map_or("", |h| h.cell(place))
    }
}

fn commonest(widths: impl Iterator<Item = usize>) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    widths.for_each(|w| *counts.entry(w).or_default() += 1);
    counts.into_iter().max_by_key(|(width, count)| (*count, *width)).map_or(0, |(width, _)| width)
}

/// The first record with two cells or more, unless it is a weighing itself.
fn header_place(records: &[Record<'_>], context: &Context) -> Option<usize> {
    let place = records.iter().position(|r| r.cells.iter().filter(|c| !c.trim().is_empty()).count() >= 2)?;
    let cells = || records[place].cells.iter().map(|c| c.trim());
    let is_pup = |cell: &str| context.pups.iter().any(|p| p.id == cell);
    let has_number = cells().any(|c| written(c).is_none() && !is_pup(c) && is_weight_like(c));
    let has_date_or_pup = cells().any(|c| written(c).is_some() || is_pup(c));
    if has_number && has_date_or_pup { None } else { Some(place) }
}

/// The separator that fits best, and all that fit equally well.
pub(super) fn separator(text: &str, answers: &Answers) -> Result<(Judged<Separator>, Vec<Separator>), Problem> {
    if let Some(separator) = answers.separator {
        return Ok((Judged::settled(separator, "as answered"), Vec::new()));
    }
    let (named, body, first_line) = named_separator(text);
    if let Some(separator) = named {
        return Ok((Judged::settled(separator, "the first line names it"), Vec::new()));
    }
    let mut fits: Vec<(usize, usize, Separator)> = Vec::new();
    let mut problem = None;
    let mut total = 0;
    for separator in Separator::ALL {
        match split(body, separator, first_line) {
            Ok(records) => {
                total = records.len();
                let width = records.iter().map(|r| r.cells.len()).find(|n| *n >= 2).unwrap_or(1);
                if width >= 2 {
                    fits.push((records.iter().filter(|r| r.cells.len() == width).count(), width, separator));
                }
            }
            Err(found) => problem = Some(found),
        }
    }
    fits.sort_unstable();
    let Some(&(rows, width, best)) = fits.last() else {
        return Err(problem.unwrap_or_else(|| {
            whole_file(0, "a single column".into(), "cells separated by commas, semicolons or tabs".into())
        }));
    };
    let rivals: Vec<Separator> = fits.iter().rev().filter(|(n, ..)| *n == rows).map(|(.., s)| *s).collect();
    if rivals.len() > 1 {
        let why = format!("{} fit equally well", rivals.iter().map(|s| s.words()).collect::<Vec<_>>().join(" and "));
        return Ok((Judged { value: Some(best), why }, rivals));
    }
    Ok((Judged::settled(best, format!("it parts {rows} of {total} lines into {width} cells")), Vec::new()))
}
