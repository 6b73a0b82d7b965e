//! The facts as they are written: every section of `litter.toml` and every row of a table as
//! names with values. The book keeps them in this form, so that one parser serves both.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use toml::de::{DeTable, DeValue};

use super::folder::{Tables, assembled};
use super::format::{FORMAT_VERSION, Key, LITTER_FILE, SECTIONS, Section, Shape, TABLES, Table};
use super::litter_toml::LitterFile;
use super::problem::{Problem, quoted};
use super::{Facts, Feed, FolderFiles, Weighing, done, fields, foods, litter_toml, parse, tables};

/// Names with values: texts as typed, numbers, true or false, lists of texts.
pub type Values = BTreeMap<String, Value>;

/// Where an entry stands in a folder.
#[derive(Debug, Clone, Copy)]
pub enum Home {
    Section(&'static Section),
    Table(&'static Table),
}

impl Home {
    /// The section or file of this name, such as `pup` or `weighings.csv`.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        SECTIONS
            .iter()
            .find(|s| s.name == name)
            .map(Self::Section)
            .or_else(|| TABLES.iter().find(|t| t.file == name).map(Self::Table))
    }

    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Section(section) => section.name,
            Self::Table(table) => table.file,
        }
    }

    #[must_use]
    pub fn keys(self) -> &'static [Key] {
        match self {
            Self::Section(section) => section.keys,
            Self::Table(table) => table.columns,
        }
    }
}

/// One section or row.
#[derive(Debug, Clone)]
pub struct Entry {
    pub home: Home,
    pub values: Values,
}

/// The entries of a folder, which must read without a problem.
///
/// # Errors
/// Every problem of the folder, as from [`parse`].
pub fn read(files: &FolderFiles) -> Result<Vec<Entry>, Vec<Problem>> {
    parse(files)?;
    let mut entries = Vec::new();
    for (file, bytes) in files.each() {
        let text = String::from_utf8_lossy(bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes));
        if file == LITTER_FILE {
            entries.extend(sections_of(&text));
        } else {
            rows_of(file, &text, &mut entries);
        }
    }
    Ok(entries)
}

fn sections_of(text: &str) -> Vec<Entry> {
    let mut entries = Vec::new();
    let Ok(root) = DeTable::parse(text) else { return entries };
    for section in SECTIONS {
        let mut add = |table: &DeTable<'_>| {
            let values =
                table.iter().map(|(k, v)| (k.get_ref().to_string(), plain(v.get_ref(), &text[v.span()]))).collect();
            entries.push(Entry { home: Home::Section(section), values });
        };
        match root.get_ref().get(section.name).map(toml::Spanned::get_ref) {
            Some(DeValue::Table(table)) => add(table),
            Some(DeValue::Array(items)) => {
                for item in items {
                    if let DeValue::Table(table) = item.get_ref() {
                        add(table);
                    }
                }
            }
            _ => {}
        }
    }
    entries
}

fn plain(value: &DeValue<'_>, written: &str) -> Value {
    match value {
        DeValue::String(text) => Value::String(text.to_string()),
        DeValue::Boolean(flag) => Value::Bool(*flag),
        DeValue::Integer(n) => number(n.as_str()),
        DeValue::Float(n) => number(n.as_str()),
        DeValue::Array(items) => Value::Array(items.iter().map(|i| plain(i.get_ref(), "")).collect()),
        DeValue::Datetime(_) | DeValue::Table(_) => Value::String(written.to_owned()),
    }
}

fn number(text: &str) -> Value {
    let as_number = text.parse::<i64>().map(Value::from).or_else(|_| text.parse::<f64>().map(Value::from));
    as_number.unwrap_or_else(|_| Value::String(text.to_owned()))
}

fn rows_of(file: &str, text: &str, entries: &mut Vec<Entry>) {
    let Some(home) = Home::named(file) else { return };
    if text.trim().is_empty() {
        return;
    }
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let Ok(headers) = reader.headers().cloned() else { return };
    for record in reader.records().flatten() {
        let values = headers
            .iter()
            .zip(record.iter())
            .filter(|(_, text)| !text.is_empty())
            .map(|(name, text)| (name.to_owned(), Value::String(text.to_owned())))
            .collect();
        entries.push(Entry { home, values });
    }
}

/// A value as it would be typed into a table.
#[must_use]
pub fn typed(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        Value::Array(items) => items.iter().map(typed).collect::<Vec<_>>().join("; "),
        other => other.to_string(),
    }
}

/// The entries as the files of a folder.
#[must_use]
pub fn write(entries: &[Entry]) -> FolderFiles {
    let table = |file: &str| {
        let rows: Vec<&Entry> = entries.iter().filter(|e| matches!(e.home, Home::Table(t) if t.file == file)).collect();
        let Some(Home::Table(table)) = Home::named(file) else { return None };
        (!rows.is_empty()).then(|| table_text(table, &rows).into_bytes())
    };
    FolderFiles {
        litter_toml: Some(litter_toml_text(entries).0.into_bytes()),
        weighings_csv: table("weighings.csv"),
        feeds_csv: table("feeds.csv"),
        checks_csv: table("checks.csv"),
        done_csv: table("done.csv"),
        foods_csv: table("foods.csv"),
    }
}

/// The text, and the line on which each entry begins with its place in the slice.
fn litter_toml_text(entries: &[Entry]) -> (String, Vec<(usize, usize)>) {
    let mut text = format!("format = {FORMAT_VERSION}\n");
    let mut line = 2;
    let mut starts = Vec::new();
    for section in SECTIONS {
        for (place, entry) in entries.iter().enumerate() {
            let Home::Section(home) = entry.home else { continue };
            if home.name != section.name {
                continue;
            }
            starts.push((line, place));
            let (open, close) = if section.repeated { ("[[", "]]") } else { ("[", "]") };
            text.push_str(&format!("\n{open}{}{close}\n", section.name));
            line += 2;
            // Known keys in the order of the format, then what else was written.
            let known = section.keys.iter().filter_map(|k| entry.values.get_key_value(k.name));
            let other = entry.values.iter().filter(|(name, _)| section.keys.iter().all(|k| k.name != *name));
            for (name, value) in known.chain(other) {
                if *value == Value::Null {
                    continue;
                }
                let shape = section.keys.iter().find(|k| k.name == name).map(|k| k.shape);
                text.push_str(&format!("{} = {}\n", toml_key(name), toml_value(value, shape)));
                line += 1;
            }
        }
    }
    (text, starts)
}

fn toml_key(name: &str) -> String {
    let is_bare = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    if is_bare { name.to_owned() } else { toml::Value::String(name.to_owned()).to_string() }
}

fn toml_value(value: &Value, shape: Option<Shape>) -> String {
    match value {
        Value::String(text) => {
            let bare = match shape {
                Some(Shape::Time) => fields::read(text, Shape::Time).is_ok(),
                Some(Shape::Number { .. } | Shape::Whole { .. }) => number(text) != Value::String(text.clone()),
                Some(Shape::YesNo) => text == "true" || text == "false",
                _ => false,
            };
            // One line each: the place of a problem is found by its line.
            let quoted = || Value::String(text.clone()).to_string();
            if bare { text.clone() } else { quoted() }
        }
        Value::Array(items) => {
            format!("[{}]", items.iter().map(|i| toml_value(i, None)).collect::<Vec<_>>().join(", "))
        }
        other => other.to_string(),
    }
}

fn table_text(table: &Table, rows: &[&Entry]) -> String {
    let columns: Vec<&Key> =
        table.columns.iter().filter(|c| c.required || rows.iter().any(|r| r.values.contains_key(c.name))).collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut record = |cells: Vec<String>| writer.write_record(cells).expect("a Vec takes every byte");
    record(columns.iter().map(|c| c.name.to_owned()).collect());
    for row in rows {
        record(columns.iter().map(|c| row.values.get(c.name).map(typed).unwrap_or_default()).collect());
    }
    String::from_utf8(writer.into_inner().expect("a Vec takes every byte")).expect("texts are UTF-8")
}

/// An entry that is made of values somewhere else: thousands of them need not be copied to be read.
pub(crate) struct Draft<'v> {
    pub home: Home,
    pub own: &'v Values,
    /// What stands instead of or beside its own values; nothing takes the value away.
    pub instead: Instead,
}

pub(crate) type Instead = Vec<(&'static str, Option<Value>)>;

impl Draft<'_> {
    /// Its values by name.
    fn values(&self) -> impl Iterator<Item = (&str, &Value)> {
        let is_own = |name: &str| self.instead.iter().all(|(n, _)| *n != name);
        let own = self.own.iter().map(|(name, value)| (name.as_str(), value)).filter(move |(name, _)| is_own(name));
        own.chain(self.instead.iter().filter_map(|(name, value)| Some((*name, value.as_ref()?))))
    }

    pub fn value(&self, name: &str) -> Option<&Value> {
        self.values().find(|(n, _)| *n == name).map(|(_, value)| value)
    }

    pub fn entry(&self) -> Entry {
        Entry { home: self.home, values: self.values().map(|(name, value)| (name.to_owned(), value.clone())).collect() }
    }
}

/// What became of entries: the facts, the entries that gave them, and what does not read.
pub(crate) struct Assembled {
    /// None where the litter itself is missing or does not read.
    pub facts: Option<Facts>,
    /// For each entry whether it stands behind the facts: these are a folder that reads.
    pub counts: Vec<bool>,
    /// What is wrong, with the place of its entry.
    pub refused: Vec<(usize, Problem)>,
}

/// The rows of the two tables in which one event may have been written down twice, each with the
/// place of its entry. What is taken out of them is not in the facts.
pub(crate) struct Events<'r> {
    pub weighings: &'r mut Vec<(usize, Weighing)>,
    pub feeds: &'r mut Vec<(usize, Feed)>,
}

/// Facts from entries, as far as they read; the others with what is wrong with each.
///
/// Unlike a folder, a book is never refused whole: one bad entry must not blank the page.
/// `settle` sees only what reads, so that nothing gives way to a row that is then refused.
pub(crate) fn assemble(entries: &mut [Draft<'_>], settle: impl FnOnce(Events<'_>)) -> Assembled {
    let mut refused = Vec::new();
    let Some(file) = sections_that_read(entries, &mut refused) else {
        return Assembled { facts: None, counts: vec![false; entries.len()], refused };
    };
    let known = tables::Known {
        zone: &file.litter.zone,
        pups: file.pups.iter().map(|p| (&p.id, p.born_at)).collect(),
        milks: file.milks.iter().map(|m| m.id.as_str()).collect(),
        carers: file.carers.iter().map(|c| c.name.as_str()).collect(),
    };
    let mut counts: Vec<bool> = entries.iter().map(|e| matches!(e.home, Home::Section(_))).collect();
    for (place, _) in &refused {
        counts[*place] = false;
    }
    let (mut weighings, mut feeds, mut checks, mut done, mut foods) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (place, entry) in entries.iter_mut().enumerate() {
        let Home::Table(table) = entry.home else { continue };
        forget_unknown(entry, "carer", &known.carers);
        forget_unknown(entry, "milk", &known.milks);
        let entry = &*entry;
        let problems = match table.file {
            "weighings.csv" => {
                row(entry, |r, report| tables::weighing(r, &known, report)).map(|w| weighings.push((place, w)))
            }
            "feeds.csv" => row(entry, |r, report| tables::feed(r, &known, report)).map(|f| feeds.push((place, f))),
            "checks.csv" => row(entry, |r, report| tables::check(r, &known, report)).map(|c| checks.push((place, c))),
            "done.csv" => row(entry, |r, report| done::done(r, &known, report)).map(|d| done.push((place, d))),
            _ => {
                let mut problems = Vec::new();
                foods.extend(foods::read(&table_text(table, &[&entry.entry()]), &mut problems));
                counts[place] = problems.is_empty();
                if problems.is_empty() { Ok(()) } else { Err(problems) }
            }
        };
        let problems = problems.err().into_iter().flatten();
        refused.extend(problems.map(|p| (place, Problem { line: 0, column: 0, ..p })));
    }
    settle(Events { weighings: &mut weighings, feeds: &mut feeds });
    let places = weighings.iter().map(|(p, _)| p).chain(feeds.iter().map(|(p, _)| p));
    let places = places.chain(checks.iter().map(|(p, _)| p)).chain(done.iter().map(|(p, _)| p));
    places.for_each(|p| counts[*p] = true);
    let mut read = Tables {
        weighings: weighings.into_iter().map(|(_, w)| w).collect(),
        feeds: feeds.into_iter().map(|(_, f)| f).collect(),
        checks: checks.into_iter().map(|(_, c)| c).collect(),
        done: done.into_iter().map(|(_, d)| d).collect(),
        foods: Vec::new(),
    };
    read.foods = foods;
    Assembled { facts: Some(assembled(file, read)), counts, refused }
}

/// What happened, happened: a feed counts although its carer or its milk was withdrawn. Only the
/// name that says nothing any more is left away.
fn forget_unknown(entry: &mut Draft<'_>, name: &'static str, known: &[&str]) {
    if let Some(Value::String(text)) = entry.value(name)
        && !known.contains(&text.trim())
    {
        entry.instead.retain(|(n, _)| *n != name);
        entry.instead.push((name, None));
    }
}

/// The sections as far as they read. A bad one is left out and the others are read again.
fn sections_that_read(entries: &[Draft<'_>], refused: &mut Vec<(usize, Problem)>) -> Option<LitterFile> {
    let is_section = |e: &Draft<'_>| matches!(e.home, Home::Section(_));
    let mut sections: Vec<(usize, Entry)> =
        entries.iter().enumerate().filter(|(_, e)| is_section(e)).map(|(place, e)| (place, e.entry())).collect();
    while sections.iter().any(|(_, e)| e.home.name() == "litter") {
        let plain: Vec<Entry> = sections.iter().map(|(_, e)| e.clone()).collect();
        let (text, starts) = litter_toml_text(&plain);
        let mut problems = Vec::new();
        let file = litter_toml::read(&text, &mut problems);
        if problems.is_empty() {
            return file;
        }
        let mut bad = BTreeSet::new();
        for problem in problems {
            let at = starts.iter().rev().find(|(line, _)| *line <= problem.line).map_or(0, |(_, place)| *place);
            bad.insert(at);
            // The line is one of a text that nobody sees.
            refused.push((sections[at].0, Problem { line: 0, column: 0, ..problem }));
        }
        let mut place = 0;
        sections.retain(|_| {
            place += 1;
            !bad.contains(&(place - 1))
        });
    }
    None
}

fn row<T>(
    entry: &Draft<'_>,
    build: impl FnOnce(&tables::Row<'_>, &mut tables::Report<'_>) -> Option<T>,
) -> Result<T, Vec<Problem>> {
    let texts: Vec<(&str, std::borrow::Cow<'_, str>)> = entry
        .values()
        .map(|(name, value)| {
            let text = match value {
                Value::String(text) => std::borrow::Cow::Borrowed(text.trim()),
                other => std::borrow::Cow::Owned(typed(other)),
            };
            (name, text)
        })
        .collect();
    tables::read_one(entry.home.name(), &texts, build)
}

/// What is wrong with one entry by itself: unknown names, wrong shapes, required ones missing.
///
/// # Errors
/// The name, what was found, and what is allowed.
pub fn look_over(name_of_home: &'static str, keys: &[Key], values: &Values) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut say = |name: &str, found: String, allowed: String| {
        problems.push(Problem { file: name_of_home, line: 0, column: 0, name: name.into(), found, allowed });
    };
    for name in values.keys() {
        if keys.iter().all(|k| k.name != name) {
            let known: Vec<&str> = keys.iter().map(|k| k.name).collect();
            say(name, "an unknown name".into(), known.join(", "));
        }
    }
    for key in keys {
        match values.get(key.name) {
            None | Some(Value::Null) => {
                if key.required {
                    say(key.name, "nothing".into(), key.shape.allowed());
                }
            }
            Some(value) if !fits(value, key.shape) => say(key.name, quoted(&typed(value)), key.shape.allowed()),
            Some(_) => {}
        }
    }
    problems
}

fn fits(value: &Value, shape: Shape) -> bool {
    match (value, shape) {
        (Value::Array(items), Shape::ListOf(words)) => {
            items.iter().all(|i| i.as_str().is_some_and(|w| words.contains(&w)))
        }
        (Value::Array(items), Shape::WeekHours) => {
            let texts: Option<Vec<&str>> = items.iter().map(Value::as_str).collect();
            texts.is_some_and(|t| super::WeeklyHours::parse(t).is_some())
        }
        (Value::Array(_) | Value::Object(_), _) => false,
        (value, shape) => fields::read(&typed(value), shape).is_ok(),
    }
}
