//! A confirmed sheet, cell by cell: a weighing, a problem, or a blank.

use std::collections::HashMap;

use jiff::Timestamp;
use jiff::civil::Time;
use jiff::tz::Offset;
use serde_json::Value;

use super::columns::{Role, taken_word, without_unit};
use super::dates::{DateOrder, instant, iso_at, time_of_day, written};
use super::guess::{Confirmed, Guess, Layout, Name};
use super::table::Table;
use super::text::{Record, decode};
use super::weights::{Marks, SheetUnit, weight, weight_of_two};
use super::{Context, NoTime, Problem, Separator, SheetPup, Taken, Values, quoted, whole_file};
use crate::record::WeightUnit;

/// Everything that a sheet holds.
///
/// `rows.len()` + the `cells` of all problems + `blanks` = `cells`: no weight is lost silently.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// Rows for `weighings.csv`, each with the line that it comes from.
    pub rows: Vec<(usize, Values)>,
    pub problems: Vec<Refused>,
    /// Cells of weights that are empty.
    pub blanks: usize,
    /// All cells of weights, and those that stand beyond the last heading.
    pub cells: usize,
    /// Notes in rows without a weight, which have no place among the weighings.
    pub alone: Vec<Alone>,
}

/// What is wrong, and how many weights are not read because of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    pub problem: Problem,
    /// 0 where another problem of the same row counts them already.
    pub cells: usize,
}

/// A note without a weighing.
#[derive(Debug, Clone, PartialEq)]
pub struct Alone {
    pub line: usize,
    pub column: usize,
    pub text: String,
}

/// Longest text of a note in the folder format.
const LONGEST_NOTE: usize = 200;

/// Reads a sheet as confirmed.
#[must_use]
pub fn read(bytes: &[u8], confirmed: &Confirmed, context: &Context) -> Sheet {
    let guess = &confirmed.0;
    let mut sheet = Sheet::default();
    let separator = guess.separator.value.unwrap_or(Separator::Comma);
    let text = match decode(bytes) {
        Ok((text, _)) => text,
        Err(problem) => {
            sheet.problems.push(Refused { problem, cells: 0 });
            return sheet;
        }
    };
    let table = match Table::split_again(&text, separator, guess.header_line) {
        Ok(table) if is_as_confirmed(&table, guess) => table,
        Ok(_) => {
            let problem =
                whole_file(0, "other headings than were confirmed".into(), "the file that was looked at".into());
            sheet.problems.push(Refused { problem, cells: 0 });
            return sheet;
        }
        Err(problem) => {
            sheet.problems.push(Refused { problem, cells: 0 });
            return sheet;
        }
    };
    Reader::new(guess, context).all(&table, &mut sheet);
    sheet
}

fn is_as_confirmed(table: &Table<'_>, guess: &Guess) -> bool {
    table.header.as_ref().map_or(0, |h| h.line) == guess.header_line
        && table.width == guess.columns.len()
        && guess.columns.iter().all(|c| table.heading(c.number - 1) == c.header)
}

/// What was found and what is allowed.
type Wrong = (String, String);
type Moment = (Timestamp, String);

struct Reader<'a> {
    guess: &'a Guess,
    context: &'a Context,
    order: DateOrder,
    no_time: NoTime,
    marks: Marks,
    pups: HashMap<&'a str, &'a SheetPup>,
    names: HashMap<&'a str, &'a Name>,
    carers: HashMap<&'a str, &'a Name>,
    /// Places of the columns, from 0.
    weights: Vec<usize>,
    notes: Vec<usize>,
    /// For each column of a date its moment, or why it has none.
    moments: HashMap<usize, Result<Moment, Wrong>>,
    /// Where each pup was weighed at each time, so that one weighing does not count twice.
    seen: HashMap<(usize, i64, Option<Taken>), (usize, usize)>,
}

impl<'a> Reader<'a> {
    fn new(guess: &'a Guess, context: &'a Context) -> Self {
        let places = |wanted: fn(&Role) -> bool| {
            guess.columns.iter().filter(|c| wanted(&c.role)).map(|c| c.number - 1).collect::<Vec<_>>()
        };
        let mut reader = Self {
            guess,
            context,
            order: guess.date_order.value.unwrap_or(DateOrder::YearFirst),
            no_time: guess.no_time.value.unwrap_or(NoTime::Refuse),
            marks: guess.marks(),
            pups: context.pups.iter().map(|p| (p.id.as_str(), p)).collect(),
            names: guess.pups.iter().map(|n| (n.found.as_str(), n)).collect(),
            carers: guess.carers.iter().map(|n| (n.found.as_str(), n)).collect(),
            weights: places(Role::is_weight),
            notes: places(|r| *r == Role::Note),
            moments: HashMap::new(),
            seen: HashMap::new(),
        };
        let are_dates = guess
            .columns
            .iter()
            .filter(|c| matches!(c.role, Role::WeightsAt { .. }))
            .all(|c| written(without_unit(&c.header)).is_none_or(|w| w.is_at_midnight()));
        for column in guess.columns.iter().filter(|c| matches!(c.role, Role::WeightsAt { .. })) {
            let moment = reader.moment_of(without_unit(&column.header), None, are_dates);
            reader.moments.insert(column.number - 1, moment);
        }
        reader
    }

    fn place(&self, wanted: fn(&Role) -> bool) -> Option<usize> {
        self.guess.columns.iter().position(|c| wanted(&c.role))
    }

    fn all(&mut self, table: &Table<'_>, sheet: &mut Sheet) {
        let places = Places {
            pup: self.place(|r| *r == Role::Pup),
            date: self.place(|r| matches!(r, Role::Date | Role::DateTime)),
            time: self.place(|r| *r == Role::Time),
            unit: self.place(|r| *r == Role::UnitWord),
            taken: self.place(|r| *r == Role::BeforeOrAfter),
            carer: self.place(|r| *r == Role::Carer),
            ounces: self.place(|r| *r == Role::OuncesBesidePounds),
        };
        let header_line = self.guess.header_line;
        let mut in_column: HashMap<usize, usize> = HashMap::new();
        for record in &table.rows {
            self.row(record, &places, table.width, &mut in_column, sheet);
        }
        let mut refused: Vec<(usize, usize)> = in_column.into_iter().collect();
        refused.sort_unstable();
        for (place, cells) in refused {
            if let Some(Err((found, allowed))) = self.moments.get(&place) {
                let problem = self.problem(header_line, place, found.clone(), allowed.clone());
                sheet.problems.push(Refused { problem, cells });
            }
        }
    }

    fn problem(&self, line: usize, place: usize, found: String, allowed: String) -> Problem {
        let name = self.guess.columns.get(place).map_or(String::new(), |c| c.header.clone());
        Problem { file: "the sheet", line, column: place + 1, name, found, allowed }
    }

    fn row(
        &mut self,
        record: &Record<'_>,
        places: &Places,
        width: usize,
        in_column: &mut HashMap<usize, usize>,
        sheet: &mut Sheet,
    ) {
        let is_filled = |place: &usize| {
            let beside = self.guess.columns[*place].role == Role::Pounds;
            let ounces = places.ounces.filter(|_| beside);
            !record.cell(*place).is_empty() || ounces.is_some_and(|o| !record.cell(o).is_empty())
        };
        let filled: Vec<usize> = self.weights.iter().copied().filter(is_filled).collect();
        sheet.cells += self.weights.len();
        sheet.blanks += self.weights.len() - filled.len();
        let beyond: Vec<usize> = (width..record.cells.len()).filter(|p| !record.cell(*p).is_empty()).collect();
        if !beyond.is_empty() {
            // One cell too many means that the others may stand in the wrong columns.
            sheet.cells += beyond.len();
            let found = format!("{} cells", beyond[beyond.len() - 1] + 1);
            let problem = self.problem(record.line, beyond[0], found, format!("{width} cells, as the headings have"));
            sheet.problems.push(Refused { problem, cells: filled.len() + beyond.len() });
            return;
        }
        if filled.is_empty() {
            for place in &self.notes {
                let text = record.cell(*place);
                if !text.is_empty() {
                    sheet.alone.push(Alone { line: record.line, column: place + 1, text: text.to_owned() });
                }
            }
            return;
        }
        let facts = self.facts_of(record, places);
        let row_is_fine = facts.wrong.is_empty();
        for (n, (place, (found, allowed))) in facts.wrong.iter().cloned().enumerate() {
            let problem = self.problem(record.line, place, found, allowed);
            sheet.problems.push(Refused { problem, cells: if n == 0 { filled.len() } else { 0 } });
        }
        for place in filled {
            let outcome = match self.weight(record, place, places) {
                Err(wrong) => Err(Some(wrong)),
                // Its row is refused already; only a weight that is wrong too is still told.
                Ok(_) if !row_is_fine => continue,
                Ok(weight) => self.weighing(record.line, place, &facts, &weight),
            };
            match outcome {
                Ok(values) => sheet.rows.push((record.line, values)),
                Err(Some((found, allowed))) => {
                    let problem = self.problem(record.line, place, found, allowed);
                    sheet.problems.push(Refused { problem, cells: usize::from(row_is_fine) });
                }
                Err(None) => *in_column.entry(place).or_default() += 1,
            }
        }
    }

    /// What all weights of a row share, and what is wrong with it.
    fn facts_of(&self, record: &Record<'_>, places: &Places) -> RowFacts<'a> {
        let mut wrong: Vec<(usize, Wrong)> = Vec::new();
        let mut keep = |place: usize, error: Wrong| wrong.push((place, error));
        let pup = match (self.guess.layout.value, places.pup) {
            (Some(Layout::PupColumns), _) => None,
            (_, None) => self.guess.only_pup.as_deref().and_then(|id| self.pups.get(id).copied()),
            (_, Some(place)) => self.pup(record.cell(place)).map_err(|e| keep(place, e)).ok(),
        };
        let moment = match (self.guess.layout.value, places.date) {
            (Some(Layout::DateColumns), _) | (_, None) => None,
            (_, Some(place)) => {
                let date = record.cell(place);
                let ignores_midnight = self.guess.columns[place].role == Role::Date;
                let time = places.time.map(|p| record.cell(p)).filter(|t| !t.is_empty());
                let moment = self.moment_of(date, time, ignores_midnight);
                // The time is to blame where the date alone reads.
                let date_reads = written(date).and_then(|w| w.date.read(self.order)).is_some();
                let to_blame = places.time.filter(|_| date_reads && time.is_some()).unwrap_or(place);
                moment.map_err(|e| keep(to_blame, e)).ok()
            }
        };
        let taken = places.taken.and_then(|place| {
            let cell = record.cell(place);
            taken_word(cell).map_err(|allowed| keep(place, (quoted(cell), allowed))).unwrap_or(None)
        });
        let (carer, note) = self.carer_and_note(record, places.carer);
        if let Some(note) = &note
            && note.chars().count() > LONGEST_NOTE
        {
            let place = self.notes.first().copied().or(places.carer).unwrap_or(0);
            keep(place, (quoted(note), format!("a note of at most {LONGEST_NOTE} characters")));
        }
        RowFacts { pup, moment, taken, carer, note, wrong }
    }

    /// One weighing; the error is nothing where the whole column is refused for its heading.
    fn weighing(
        &mut self,
        line: usize,
        place: usize,
        row: &RowFacts<'_>,
        (weight, unit): &(String, WeightUnit),
    ) -> Result<Values, Option<Wrong>> {
        let role = &self.guess.columns[place].role;
        let pup = match role {
            Role::WeightsOf { pup, .. } => self.pups.get(pup.as_str()).copied(),
            _ => row.pup,
        };
        let moment = match role {
            Role::WeightsAt { .. } => self.moments.get(&place).and_then(|m| m.as_ref().ok()).cloned(),
            _ => row.moment.clone(),
        };
        let taken = match role {
            Role::Weight { taken: Some(taken), .. } => Some(*taken),
            _ => row.taken,
        };
        let (at, weighed_at) = moment.ok_or(None)?;
        let pup = pup.ok_or_else(|| Some(("a weight without its pup".into(), "the id of a pup".into())))?;
        self.is_new(line, place, pup, at, &weighed_at, taken).map_err(Some)?;
        let mut values = Values::new();
        let mut set = |name: &str, text: &str| values.insert(name.to_owned(), Value::String(text.to_owned()));
        set("pup", &pup.id);
        set("weighed_at", &weighed_at);
        set("weight", weight);
        set("unit", unit.word());
        for (name, text) in
            [("taken", taken.map(Taken::word)), ("carer", row.carer.as_deref()), ("note", row.note.as_deref())]
        {
            if let Some(text) = text {
                set(name, text);
            }
        }
        Ok(values)
    }

    fn pup(&self, name: &str) -> Result<&'a SheetPup, Wrong> {
        if let Some(pup) = self.pups.get(name) {
            return Ok(pup);
        }
        let answer = self.names.get(name).and_then(|n| n.answer.clone().flatten());
        answer.and_then(|id| self.pups.get(id.as_str()).copied()).ok_or_else(|| {
            let ids: Vec<&str> = self.context.pups.iter().map(|p| p.id.as_str()).collect();
            (quoted(name), format!("the id of a pup: {}", ids.join(", ")))
        })
    }

    fn moment_of(&self, date: &str, time: Option<&str>, ignores_midnight: bool) -> Result<Moment, Wrong> {
        let no_date = || (quoted(date), format!("a date, {}, as in 2027-03-28", self.order.words()));
        let found = written(date).ok_or_else(no_date)?;
        let day = found.date.read(self.order).ok_or_else(no_date)?;
        let in_cell = found.time.filter(|_| !(ignores_midnight && found.is_at_midnight()));
        let (clock, offset): (Time, Option<Offset>) = match (time, in_cell) {
            (Some(text), None) => {
                let clock = time_of_day(text);
                (clock.ok_or_else(|| (quoted(text), "a time of day, as in 03:15 or 3:15 pm".into()))?, None)
            }
            (Some(text), Some(_)) => {
                let found = format!("{} and {}", quoted(date), quoted(text));
                return Err((found, "a time in one of the two columns".into()));
            }
            (None, Some(clock)) => (clock, found.offset),
            (None, None) => match self.no_time {
                NoTime::At(clock) => (clock, None),
                NoTime::Refuse => return Err((quoted(date), "a date with its time of day".into())),
            },
        };
        instant(day, clock, offset, &self.context.zone)
    }

    fn weight(&self, record: &Record<'_>, place: usize, places: &Places) -> Result<(String, WeightUnit), Wrong> {
        let cell = record.cell(place);
        let role = &self.guess.columns[place].role;
        if let (Role::Pounds, Some(ounces)) = (role, places.ounces) {
            let ounces = record.cell(ounces);
            let shown = || format!("{} lb and {} oz", quoted(cell), quoted(ounces));
            return weight_of_two(cell, ounces, self.marks).map_err(|allowed| (shown(), allowed));
        }
        let mut unit = role.unit();
        if let Some(beside) = places.unit {
            let word = record.cell(beside);
            let named = SheetUnit::from_word(word);
            if named.is_none() || unit.is_some_and(|u| Some(u) != named) {
                let found = format!("{} with {} as its unit", quoted(cell), quoted(word));
                let allowed = unit.map_or("one of g, kg, oz, lb".to_owned(), |u| u.words().to_owned());
                return Err((found, format!("a weight with its unit beside it: {allowed}")));
            }
            unit = named;
        }
        weight(cell, unit.unwrap_or(SheetUnit::InCells), self.marks).map_err(|allowed| (quoted(cell), allowed))
    }

    /// The carer on record, and the note; a name nobody has on record is kept in the note.
    fn carer_and_note(&self, record: &Record<'_>, carer: Option<usize>) -> (Option<String>, Option<String>) {
        let mut notes: Vec<String> = self
            .notes
            .iter()
            .map(|p| record.cell(*p).split(|c: char| c.is_control()).map(str::trim).collect::<Vec<_>>().join(" "))
            .filter(|text| !text.trim().is_empty())
            .collect();
        let name = carer.map_or("", |place| record.cell(place));
        let on_record = if self.context.carers.iter().any(|c| c == name) {
            Some(name.to_owned())
        } else {
            self.carers.get(name).and_then(|n| n.answer.clone().flatten())
        };
        if on_record.is_none() && !name.is_empty() {
            notes.push(format!("weighed by {}", name.replace(char::is_control, " ")));
        }
        (on_record, (!notes.is_empty()).then(|| notes.join("; ").trim().to_owned()))
    }

    /// After the birth, and the first weighing of this pup at this time.
    fn is_new(
        &mut self,
        line: usize,
        place: usize,
        pup: &SheetPup,
        at: Timestamp,
        shown: &str,
        taken: Option<Taken>,
    ) -> Result<(), Wrong> {
        if at < pup.born_at {
            let born = iso_at(pup.born_at, &self.context.zone);
            return Err((shown.to_owned(), format!("a time not before the birth of {}, {born}", pup.id)));
        }
        let number = self.context.pups.iter().position(|p| p.id == pup.id).unwrap_or_default();
        let key = (number, at.as_second(), taken);
        if let Some((line, place)) = self.seen.get(&key) {
            let found = format!("a second weight of {} at {shown}", pup.id);
            return Err((found, format!("one; the first is in line {line}, column {}", place + 1)));
        }
        self.seen.insert(key, (line, place));
        Ok(())
    }
}

/// What all weights of a row share.
struct RowFacts<'a> {
    pup: Option<&'a SheetPup>,
    moment: Option<Moment>,
    taken: Option<Taken>,
    carer: Option<String>,
    note: Option<String>,
    wrong: Vec<(usize, Wrong)>,
}

/// Places of the columns that there is one of.
struct Places {
    pup: Option<usize>,
    date: Option<usize>,
    time: Option<usize>,
    unit: Option<usize>,
    taken: Option<usize>,
    carer: Option<usize>,
    ounces: Option<usize>,
}
