//! A whole folder: all its facts, or all its problems.

use super::format::LITTER_FILE;
use super::litter_toml::LitterFile;
use super::problem::{Problem, quoted};
use super::{Check, CheckValue, Done, Facts, Feed, Pup, PupId, ShelfFood, Weighing, done, foods, litter_toml, tables};
use crate::units::Grams;

/// The bytes of the files of a litter folder. Reading them is the caller's job.
#[derive(Debug, Clone, Default)]
pub struct FolderFiles {
    pub litter_toml: Option<Vec<u8>>,
    pub weighings_csv: Option<Vec<u8>>,
    pub feeds_csv: Option<Vec<u8>>,
    pub checks_csv: Option<Vec<u8>>,
    pub done_csv: Option<Vec<u8>>,
    pub foods_csv: Option<Vec<u8>>,
}

impl FolderFiles {
    /// Asks for each file of a folder by its name; none where there is no such file.
    ///
    /// # Errors
    /// The first that could not be read.
    pub fn gather<E>(mut file: impl FnMut(&'static str) -> Result<Option<Vec<u8>>, E>) -> Result<Self, E> {
        Ok(Self {
            litter_toml: file(LITTER_FILE)?,
            weighings_csv: file("weighings.csv")?,
            feeds_csv: file("feeds.csv")?,
            checks_csv: file("checks.csv")?,
            done_csv: file("done.csv")?,
            foods_csv: file("foods.csv")?,
        })
    }

    /// Each file that there is, with its name.
    pub fn each(&self) -> impl Iterator<Item = (&'static str, &[u8])> {
        [
            (LITTER_FILE, &self.litter_toml),
            ("weighings.csv", &self.weighings_csv),
            ("feeds.csv", &self.feeds_csv),
            ("checks.csv", &self.checks_csv),
            ("done.csv", &self.done_csv),
            ("foods.csv", &self.foods_csv),
        ]
        .into_iter()
        .filter_map(|(name, bytes)| Some((name, bytes.as_deref()?)))
    }
}

/// Parses a litter folder.
///
/// # Errors
/// Every problem in every file, sorted by place; nothing is half-loaded.
pub fn parse(files: &FolderFiles) -> Result<Facts, Vec<Problem>> {
    let mut problems = Vec::new();
    let Some(litter_toml) = &files.litter_toml else {
        return Err(vec![Problem {
            file: LITTER_FILE,
            line: 0,
            column: 0,
            name: String::new(),
            found: "no such file".into(),
            allowed: "a folder with a file litter.toml in it".into(),
        }]);
    };
    let litter_text = text_of(LITTER_FILE, litter_toml, &mut problems);
    let weighings_text = table_text("weighings.csv", files.weighings_csv.as_ref(), &mut problems);
    let feeds_text = table_text("feeds.csv", files.feeds_csv.as_ref(), &mut problems);
    let checks_text = table_text("checks.csv", files.checks_csv.as_ref(), &mut problems);
    let done_text = table_text("done.csv", files.done_csv.as_ref(), &mut problems);
    let foods_text = table_text("foods.csv", files.foods_csv.as_ref(), &mut problems);

    let Some(file) = litter_text.and_then(|text| litter_toml::read(text, &mut problems)) else {
        problems.sort();
        return Err(problems);
    };
    let known = tables::Known {
        zone: &file.litter.zone,
        pups: file.pups.iter().map(|p| (&p.id, p.born_at)).collect(),
        milks: file.milks.iter().map(|m| m.id.as_str()).collect(),
        carers: file.carers.iter().map(|c| c.name.as_str()).collect(),
    };
    let weighings = weighings_text.map_or_else(Vec::new, |t| tables::weighings(t, &known, &mut problems));
    let feeds = feeds_text.map_or_else(Vec::new, |t| tables::feeds(t, &known, &mut problems));
    let checks = checks_text.map_or_else(Vec::new, |t| tables::checks(t, &known, &mut problems));
    let done = done_text.map_or_else(Vec::new, |t| done::read(t, &known, &mut problems));
    let foods = foods_text.map_or_else(Vec::new, |t| foods::read(t, &mut problems));

    refuse_more_than_the_pup_weighs(&feeds, &weighings, &file.pups, &mut problems);
    if !problems.is_empty() {
        problems.sort();
        return Err(problems);
    }
    let feeds = feeds.into_iter().map(|(_, feed)| feed).collect();
    let mut facts = assembled(file, Tables { weighings, feeds, checks, done, foods });
    // The same row twice in a file is the same fact.
    facts.weighings.dedup_by(|a, b| a.at == b.at && a.pup == b.pup && a.weight == b.weight && a.taken == b.taken);
    facts.feeds.dedup_by(|a, b| {
        let key = |f: &Feed| (f.at, f.pup.clone(), f.method, volumes(f), f.milk.clone());
        key(a) == key(b)
    });
    facts.checks.dedup_by(|a, b| a.at == b.at && a.pup == b.pup && a.kind == b.kind && a.value == b.value);
    facts.done.dedup();
    Ok(facts)
}

/// The rows of the tables, read.
#[derive(Default)]
pub(super) struct Tables {
    pub weighings: Vec<Weighing>,
    pub feeds: Vec<Feed>,
    pub checks: Vec<Check>,
    pub done: Vec<Done>,
    pub foods: Vec<ShelfFood>,
}

/// Puts facts into their one order, so that the order of arrival changes nothing.
pub(super) fn assembled(file: LitterFile, mut tables: Tables) -> Facts {
    tables.weighings.sort_by(|a, b| {
        (a.at, &a.pup, a.weight.milligrams(), a.unit, &a.typed, a.taken).cmp(&(
            b.at,
            &b.pup,
            b.weight.milligrams(),
            b.unit,
            &b.typed,
            b.taken,
        ))
    });
    tables.feeds.sort_by(|a, b| {
        (a.at, &a.pup, a.method, volumes(a), &a.milk, &a.carer, a.maybe_the_same).cmp(&(
            b.at,
            &b.pup,
            b.method,
            volumes(b),
            &b.milk,
            &b.carer,
            b.maybe_the_same,
        ))
    });
    tables.checks.sort_by(|a, b| {
        // Of two checks at the same time the worse one stands last and so counts.
        let rank = |c: &Check| match c.value {
            CheckValue::Temperature(t) => -t.millidegrees(),
            CheckValue::Word(w) => c.kind.severity(w),
        };
        (a.at, &a.pup, a.kind, rank(a)).cmp(&(b.at, &b.pup, b.kind, rank(b)))
    });
    tables.done.sort();
    let mut pups = file.pups;
    pups.sort_by(|a, b| a.id.cmp(&b.id));
    Facts {
        litter: file.litter,
        dam: file.dam,
        pups,
        carers: file.carers,
        milks: file.milks,
        vets: file.vets,
        orders: file.orders,
        weighings: tables.weighings,
        feeds: tables.feeds,
        checks: tables.checks,
        done: tables.done,
        foods: tables.foods,
    }
}

fn volumes(feed: &Feed) -> [Option<u64>; 3] {
    [
        feed.offered.map(|v| v.get().to_bits()),
        feed.taken.map(|v| v.get().to_bits()),
        feed.nursed.map(|g| g.get().to_bits()),
    ]
}

/// The most that a pup ever weighed; none while it was not weighed.
#[must_use]
pub fn heaviest(weighings: &[Weighing], pups: &[Pup], pup: &PupId) -> Option<Grams> {
    let weighed = weighings.iter().filter(|w| w.pup == *pup).map(|w| w.weight);
    weighed.chain(pups.iter().filter(|p| p.id == *pup).filter_map(|p| p.birth_weight)).reduce(Grams::max)
}

/// What physics forbids is refused; anything else that happened may be written down.
fn refuse_more_than_the_pup_weighs(
    feeds: &[(usize, Feed)],
    weighings: &[Weighing],
    pups: &[Pup],
    problems: &mut Vec<Problem>,
) {
    for (line, feed) in feeds {
        if let (Some(weight), Some(volume)) = (heaviest(weighings, pups, &feed.pup), feed.at_most())
            && volume.get() > weight.get()
        {
            problems.push(Problem {
                file: "feeds.csv",
                line: *line,
                column: 0,
                name: "taken_ml".into(),
                found: format!("{} mL, more than this pup ever weighed", volume.get()),
                allowed: format!("a volume below {} mL (the pup weighs {} g)", weight.get(), weight.get()),
            });
        }
    }
}

fn table_text<'b>(file: &'static str, bytes: Option<&'b Vec<u8>>, problems: &mut Vec<Problem>) -> Option<&'b str> {
    bytes.and_then(|bytes| text_of(file, bytes, problems)).filter(|text| !text.trim().is_empty())
}

/// UTF-8, with or without a byte order mark.
fn text_of<'b>(file: &'static str, bytes: &'b [u8], problems: &mut Vec<Problem>) -> Option<&'b str> {
    let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) => {
            let before = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
            problems.push(Problem {
                file,
                line,
                column,
                name: String::new(),
                found: format!(
                    "bytes that are not UTF-8 {}",
                    quoted(&String::from_utf8_lossy(
                        &bytes[error.valid_up_to()..(error.valid_up_to() + 4).min(bytes.len())]
                    ))
                ),
                allowed: "text saved as UTF-8".into(),
            });
            None
        }
    }
}
