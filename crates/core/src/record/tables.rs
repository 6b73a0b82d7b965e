//! Reads the CSV tables by the format table, collecting every problem.

use jiff::Timestamp;

use super::fields::{self, Value};
use super::format::{PUP_WEIGHT_G, TABLES, Table};
use super::problem::{Problem, quoted};
use super::words::{About, CHECK_KINDS, CheckKindRow, ValueShape};
use super::{Check, CheckValue, Feed, Method, PupId, Taken, Weighing};
use crate::units::{Celsius, Grams, Millilitres, WeightUnit, parse_decimal};

/// One row with its values by column name.
pub(super) struct Row<'a> {
    table: &'static Table,
    line: usize,
    /// For each column of the format: its field number in this file, and its text.
    texts: Vec<Option<(usize, &'a str)>>,
}

/// Collects the problems of one row; a row that has one is not loaded.
pub(super) struct Report<'p> {
    problems: &'p mut Vec<Problem>,
    is_clean: bool,
}

impl Report<'_> {
    /// Whether the row has no problem so far.
    pub(super) fn is_clean(&self) -> bool {
        self.is_clean
    }

    pub(super) fn problem(&mut self, row: &Row<'_>, name: &str, found: String, allowed: String) {
        let column = row.field(name).map_or(0, |(n, _)| n);
        self.is_clean = false;
        self.problems.push(Problem { file: row.table.file, line: row.line, column, name: name.into(), found, allowed });
    }
}

impl<'a> Row<'a> {
    fn field(&self, name: &str) -> Option<(usize, &'a str)> {
        let i = self.table.columns.iter().position(|c| c.name == name)?;
        self.texts[i].filter(|(_, text)| !text.is_empty())
    }

    pub(super) fn text(&self, name: &str) -> Option<&'a str> {
        self.field(name).map(|(_, text)| text)
    }

    pub(super) fn value(&self, name: &str, report: &mut Report<'_>) -> Option<Value> {
        let column = self.table.columns.iter().find(|c| c.name == name)?;
        if let Some(text) = self.text(name) {
            fields::read(text, column.shape).map_err(|allowed| report.problem(self, name, quoted(text), allowed)).ok()
        } else {
            if column.required {
                report.problem(self, name, "nothing".into(), column.shape.allowed());
            }
            None
        }
    }

    pub(super) fn time(&self, name: &str, report: &mut Report<'_>) -> Option<Timestamp> {
        match self.value(name, report)? {
            Value::Time(time) => Some(time),
            _ => None,
        }
    }

    fn volume(&self, name: &str, report: &mut Report<'_>) -> Option<Millilitres> {
        match self.value(name, report)? {
            Value::Number(ml) => Some(Millilitres::of(ml)),
            _ => None,
        }
    }

    fn weight_g(&self, name: &str, report: &mut Report<'_>) -> Option<Grams> {
        let text = self.text(name)?;
        pup_weight(text, WeightUnit::Gram).map_err(|allowed| report.problem(self, name, quoted(text), allowed)).ok()
    }
}

/// A pup's weight, within the hard limits of the format.
pub(super) fn pup_weight(text: &str, unit: WeightUnit) -> Result<Grams, String> {
    let (min, max) = PUP_WEIGHT_G;
    let weight = unit.parse(text)?;
    if weight.get() < min || weight.get() > max {
        return Err(format!("a pup's weight, {min} to {max} g (this reads as {} g)", weight.get().round()));
    }
    Ok(weight)
}

/// Reads one table; each clean row goes through `build`.
pub(super) fn read_rows<T>(
    file: &'static str,
    text: &str,
    problems: &mut Vec<Problem>,
    mut build: impl FnMut(&Row<'_>, &mut Report<'_>) -> Option<T>,
) -> Vec<T> {
    let table = TABLES.iter().find(|t| t.file == file).expect("callers name a file of the table");
    let whole =
        |line, found: String, allowed: String| Problem { file, line, column: 0, name: String::new(), found, allowed };
    let names: Vec<&str> = table.columns.iter().map(|c| c.name).collect();
    let first_line = text.lines().next().unwrap_or_default();
    for (mark, word) in [(';', "semicolons"), ('\t', "tabs")] {
        if first_line.contains(mark) && !first_line.contains(',') {
            problems.push(whole(1, format!("fields separated by {word}"), "fields separated by commas".into()));
            return Vec::new();
        }
    }
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let Ok(headers) = reader.headers().cloned() else {
        problems.push(whole(1, "a first line that cannot be read".into(), names.join(",")));
        return Vec::new();
    };
    let mut places: Vec<Option<usize>> = vec![None; names.len()];
    for (i, header) in headers.iter().enumerate() {
        let mut report = |found: String| {
            problems.push(Problem {
                file,
                line: 1,
                column: i + 1,
                name: header.into(),
                found,
                allowed: names.join(", "),
            });
        };
        match names.iter().position(|n| *n == header) {
            Some(n) if places[n].is_some() => report("the same column twice".into()),
            Some(n) => places[n] = Some(i),
            None => report(format!("an unknown column {}", quoted(header))),
        }
    }
    for (column, place) in table.columns.iter().zip(&places) {
        if column.required && place.is_none() {
            problems.push(Problem {
                file,
                line: 1,
                column: 0,
                name: column.name.into(),
                found: "no such column".into(),
                allowed: names.join(", "),
            });
        }
    }
    if table.columns.iter().zip(&places).any(|(c, p)| c.required && p.is_none()) {
        return Vec::new();
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = error.position().map_or(0, |p| usize::try_from(p.line()).unwrap_or(0));
                problems.push(whole(line, "a line that cannot be read".into(), "UTF-8 text with commas".into()));
                continue;
            }
        };
        let line = record.position().map_or(0, |p| usize::try_from(p.line()).unwrap_or(0));
        if record.len() != headers.len() {
            problems.push(whole(
                line,
                format!("{} fields", record.len()),
                format!("{} fields, as in the first line", headers.len()),
            ));
            continue;
        }
        let texts = places.iter().map(|p| p.and_then(|i| Some((i + 1, record.get(i)?)))).collect();
        let row = Row { table, line, texts };
        let mut report = Report { problems, is_clean: true };
        if let Some(built) = build(&row, &mut report)
            && report.is_clean
        {
            rows.push(built);
        }
    }
    rows
}

/// Reads one row that does not come from a file: the column names with their texts.
pub(super) fn read_one<T>(
    file: &'static str,
    values: &[(&str, std::borrow::Cow<'_, str>)],
    build: impl FnOnce(&Row<'_>, &mut Report<'_>) -> Option<T>,
) -> Result<T, Vec<Problem>> {
    let table = TABLES.iter().find(|t| t.file == file).expect("callers name a file of the table");
    let texts = table
        .columns
        .iter()
        .map(|c| values.iter().find(|(n, _)| *n == c.name).map(|(_, text)| (0, text.as_ref())))
        .collect();
    let row = Row { table, line: 0, texts };
    let mut problems = Vec::new();
    let mut report = Report { problems: &mut problems, is_clean: true };
    let built = build(&row, &mut report).filter(|_| report.is_clean);
    built.ok_or(problems)
}

/// What the tables are checked against.
pub(super) struct Known<'a> {
    pub zone: &'a jiff::tz::TimeZone,
    /// Each pup with its time of birth.
    pub pups: Vec<(&'a PupId, Timestamp)>,
    pub milks: Vec<&'a str>,
    pub carers: Vec<&'a str>,
}

impl Known<'_> {
    /// The pup of a row, alive at the row's time; reports what does not fit.
    pub(super) fn pup(
        &self,
        row: &Row<'_>,
        at: Option<Timestamp>,
        time_column: &str,
        report: &mut Report<'_>,
    ) -> Option<PupId> {
        let Some(id) = row.text("pup") else {
            report.problem(row, "pup", "nothing".into(), "the id of a [[pup]]".into());
            return None;
        };
        let Some((id, born)) = self.pups.iter().find(|(p, _)| p.0 == id) else {
            let ids: Vec<&str> = self.pups.iter().map(|(p, _)| p.0.as_str()).collect();
            report.problem(row, "pup", quoted(id), format!("the id of a [[pup]]: {}", ids.join(", ")));
            return None;
        };
        if at.is_some_and(|at| at < *born) {
            let found = row.text(time_column).unwrap_or_default();
            let born = crate::report::clock::iso(*born, self.zone);
            report.problem(row, time_column, quoted(found), format!("a time not before this pup's birth, {born}"));
        }
        Some((*id).clone())
    }

    pub(super) fn carer(&self, row: &Row<'_>, report: &mut Report<'_>) {
        if let Some(name) = row.text("carer")
            && !self.carers.contains(&name)
        {
            let allowed =
                if self.carers.is_empty() { "a [[carer]] in litter.toml first".into() } else { self.carers.join(", ") };
            report.problem(row, "carer", quoted(name), format!("the name of a [[carer]]: {allowed}"));
        }
    }
}

pub(super) fn weighings(text: &str, known: &Known<'_>, problems: &mut Vec<Problem>) -> Vec<Weighing> {
    read_rows("weighings.csv", text, problems, |row, report| weighing(row, known, report))
}

pub(super) fn weighing(row: &Row<'_>, known: &Known<'_>, report: &mut Report<'_>) -> Option<Weighing> {
    let at = row.time("weighed_at", report);
    let pup = known.pup(row, at, "weighed_at", report);
    known.carer(row, report);
    let (name, typed, unit) = match (row.text("weight"), row.text("weight_g")) {
        (Some(text), None) => {
            let unit = match row.value("unit", report) {
                Some(Value::Text(word)) => WeightUnit::from_word(&word),
                _ => None,
            };
            if row.text("unit").is_none() {
                report.problem(row, "unit", "nothing".into(), "g, oz or lb_oz".into());
            }
            ("weight", text, unit?)
        }
        (None, Some(text)) => ("weight_g", text, WeightUnit::Gram),
        (Some(_), Some(_)) => {
            report.problem(row, "weight_g", "both weight and weight_g".into(), "one of them".into());
            return None;
        }
        (None, None) => {
            report.problem(row, "weight", "nothing".into(), "a weight, or leave the row out".into());
            return None;
        }
    };
    let weight = pup_weight(typed, unit).map_err(|allowed| report.problem(row, name, quoted(typed), allowed)).ok();
    let taken = match row.value("taken", report) {
        Some(Value::Text(word)) if word == "before_feed" => Taken::BeforeFeed,
        Some(Value::Text(word)) if word == "after_feed" => Taken::AfterFeed,
        _ => Taken::Unknown,
    };
    Some(Weighing { pup: pup?, at: at?, weight: weight?, unit, typed: typed.to_owned(), taken })
}

pub(super) fn feeds(text: &str, known: &Known<'_>, problems: &mut Vec<Problem>) -> Vec<(usize, Feed)> {
    read_rows("feeds.csv", text, problems, |row, report| Some((row.line, feed(row, known, report)?)))
}

pub(super) fn feed(row: &Row<'_>, known: &Known<'_>, report: &mut Report<'_>) -> Option<Feed> {
    let at = row.time("fed_at", report);
    let pup = known.pup(row, at, "fed_at", report);
    known.carer(row, report);
    let method = match row.value("method", report) {
        Some(Value::Text(word)) if word == "bottle" => Method::Bottle,
        Some(Value::Text(word)) if word == "tube" => Method::Tube,
        Some(Value::Text(_)) => Method::Nursing,
        _ => return None,
    };
    let offered = row.volume("offered_ml", report);
    let taken = row.volume("taken_ml", report);
    if let (Some(offered), Some(taken)) = (offered, taken)
        && taken > offered
    {
        report.problem(
            row,
            "taken_ml",
            quoted(row.text("taken_ml").unwrap_or_default()),
            "not more than offered_ml".into(),
        );
    }
    let milk = row.text("milk");
    if let Some(id) = milk
        && !known.milks.contains(&id)
    {
        report.problem(row, "milk", quoted(id), format!("the id of a [[milk]]: {}", known.milks.join(", ")));
    }
    let before = row.weight_g("weight_before_g", report);
    let after = row.weight_g("weight_after_g", report);
    let nursed = match (method, before, after) {
        (Method::Nursing, Some(before), Some(after)) => Some(after - before),
        (Method::Nursing | _, None, None) => None,
        (Method::Nursing, ..) => {
            report.problem(
                row,
                "weight_after_g",
                "one weight of two".into(),
                "weights before and after, or neither".into(),
            );
            None
        }
        _ => {
            report.problem(
                row,
                "weight_before_g",
                "a weight beside a hand feed".into(),
                "weights before and after belong to method nursing".into(),
            );
            None
        }
    };
    let is_soiled = matches!(row.value("soiled", report), Some(Value::Text(word)) if word == "yes");
    if is_soiled && nursed.is_none() {
        let allowed = "yes only for a nursing that was weighed before and after";
        report.problem(row, "soiled", quoted("yes"), allowed.into());
    }
    if method == Method::Nursing && (offered.is_some() || taken.is_some()) {
        report.problem(
            row,
            "taken_ml",
            "a volume beside nursing".into(),
            "weight_before_g and weight_after_g for nursing".into(),
        );
    }
    Some(Feed {
        pup: pup?,
        at: at?,
        method,
        offered,
        taken,
        milk: milk.map(str::to_owned),
        carer: row.text("carer").map(str::to_owned),
        nursed,
        is_soiled,
        maybe_the_same: false,
    })
}

pub(super) fn checks(text: &str, known: &Known<'_>, problems: &mut Vec<Problem>) -> Vec<Check> {
    read_rows("checks.csv", text, problems, |row, report| check(row, known, report))
}

pub(super) fn check(row: &Row<'_>, known: &Known<'_>, report: &mut Report<'_>) -> Option<Check> {
    let at = row.time("checked_at", report);
    known.carer(row, report);
    let Some(word) = row.text("kind") else {
        report.problem(row, "kind", "nothing".into(), all_kinds());
        return None;
    };
    let Some(kind) = CHECK_KINDS.iter().find(|k| k.word == word) else {
        report.problem(row, "kind", quoted(word), all_kinds());
        return None;
    };
    let pup = match (kind.about, row.text("pup")) {
        (About::Pup, _) => Some(known.pup(row, at, "checked_at", report)?),
        (About::Litter, None) => None,
        (About::Litter, Some(text)) => {
            report.problem(row, "pup", quoted(text), format!("nothing: {word} is about the litter or the dam"));
            None
        }
    };
    let Some(text) = row.text("value") else {
        report.problem(row, "value", "nothing".into(), allowed_value(kind));
        return None;
    };
    match check_value(text, kind) {
        Ok(value) => Some(Check { pup, at: at?, kind: kind.kind, value }),
        Err(allowed) => {
            report.problem(row, "value", quoted(text), allowed);
            None
        }
    }
}

fn all_kinds() -> String {
    CHECK_KINDS.iter().map(|k| k.word).collect::<Vec<_>>().join(", ")
}

fn check_value(text: &str, kind: &CheckKindRow) -> Result<CheckValue, String> {
    match kind.shape {
        ValueShape::Words(words) => {
            words.iter().find(|w| w.text() == text).map(|w| CheckValue::Word(*w)).ok_or_else(|| allowed_value(kind))
        }
        ValueShape::Temperature { fahrenheit, min_c, max_c } => {
            let number = parse_decimal(text)?;
            let celsius = if fahrenheit { Celsius::from_fahrenheit(number) } else { Celsius::new(number) };
            celsius
                .ok()
                .filter(|t| t.get() >= f64::from(min_c) && t.get() <= f64::from(max_c))
                .map(CheckValue::Temperature)
                .ok_or_else(|| allowed_value(kind))
        }
    }
}

/// What a kind of check allows, in words.
pub(super) fn allowed_value(kind: &CheckKindRow) -> String {
    match kind.shape {
        ValueShape::Words(words) => words.iter().map(|w| w.text()).collect::<Vec<_>>().join(", "),
        ValueShape::Temperature { fahrenheit: false, min_c, max_c } => {
            format!("a temperature in °C, {min_c} to {max_c} (a reading in °F needs a kind that ends in _f)")
        }
        ValueShape::Temperature { fahrenheit: true, min_c, max_c } => {
            format!("a temperature in °F, {} to {}", min_c * 9 / 5 + 32, max_c * 9 / 5 + 32)
        }
    }
}
