//! What a column is, by its heading and by all its cells.

use super::dates::{time_of_day, written};
use super::text::Record;
use super::weights::{SheetUnit, is_weight_like, unit_in_cell};
use super::{Context, Taken};

/// What a column holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    Pup,
    /// Dates; a time of midnight beside them is how programs write a date alone.
    Date,
    Time,
    DateTime,
    /// A weight in each row; the unit from the heading, or as settled.
    Weight {
        unit: Option<SheetUnit>,
        taken: Option<Taken>,
    },
    /// Whole pounds, whose ounces stand in the column [`Role::OuncesBesidePounds`].
    Pounds,
    OuncesBesidePounds,
    /// The weights of one pup, in a sheet with a column for each.
    WeightsOf {
        pup: String,
        unit: Option<SheetUnit>,
    },
    /// The weights of one date, which is the heading, in a sheet with a row for each pup.
    WeightsAt {
        unit: Option<SheetUnit>,
    },
    /// The unit of the weight in the same row.
    UnitWord,
    /// Before or after a feed.
    BeforeOrAfter,
    Carer,
    Note,
    NotUsed,
}

impl Role {
    /// The role in words.
    #[must_use]
    pub fn words(&self) -> String {
        let with = |what: &str, unit: &Option<SheetUnit>| match unit {
            Some(unit) => format!("{what} ({})", unit.words()),
            None => what.to_owned(),
        };
        match self {
            Self::Pup => "pup".into(),
            Self::Date => "date".into(),
            Self::Time => "time".into(),
            Self::DateTime => "date and time".into(),
            Self::Weight { unit, taken: None } => with("weight", unit),
            Self::Weight { unit, taken: Some(Taken::BeforeFeed) } => with("weight before the feed", unit),
            Self::Weight { unit, taken: Some(Taken::AfterFeed) } => with("weight after the feed", unit),
            Self::Pounds => "pounds of the weight".into(),
            Self::OuncesBesidePounds => "ounces of the weight, beside its pounds".into(),
            Self::WeightsOf { pup, unit } => with(&format!("weights of {pup}"), unit),
            Self::WeightsAt { unit } => with("weights of this date", unit),
            Self::UnitWord => "unit of the weight".into(),
            Self::BeforeOrAfter => "before or after the feed".into(),
            Self::Carer => "carer".into(),
            Self::Note => "note".into(),
            Self::NotUsed => "not used".into(),
        }
    }

    /// Whether the cells of this column are weights, one for each row.
    pub(super) fn is_weight(&self) -> bool {
        // Ounces beside pounds belong to the same weight.
        matches!(self, Self::Weight { .. } | Self::Pounds | Self::WeightsOf { .. } | Self::WeightsAt { .. })
    }

    /// Whether numbers of this column carry decimal marks that matter.
    pub(super) fn has_numbers(&self) -> bool {
        self.is_weight() || *self == Self::OuncesBesidePounds
    }

    pub(super) fn unit_mut(&mut self) -> Option<&mut Option<SheetUnit>> {
        match self {
            Self::Weight { unit, .. } | Self::WeightsOf { unit, .. } | Self::WeightsAt { unit } => Some(unit),
            _ => None,
        }
    }

    pub(super) fn unit(&self) -> Option<SheetUnit> {
        match self {
            Self::Weight { unit, .. } | Self::WeightsOf { unit, .. } | Self::WeightsAt { unit } => *unit,
            _ => None,
        }
    }
}

/// A column as it may be shown to a person before anything is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Counted from 1.
    pub number: usize,
    /// Its heading; empty where there is none.
    pub header: String,
    pub role: Role,
    /// The first three cells that are not blank.
    pub first_values: Vec<String>,
    /// Why it has this role.
    pub why: String,
}

/// What all cells of a column are, counted.
#[derive(Debug, Clone, Default)]
pub(super) struct Facts {
    pub filled: usize,
    pub dates: usize,
    /// Dates with a time that is not midnight.
    pub with_time: usize,
    times: usize,
    pub weights: usize,
    pub own_units: usize,
    unit_words: usize,
    pups: usize,
    pub first_values: Vec<String>,
}

impl Facts {
    pub(super) fn of(place: usize, records: &[Record<'_>], context: &Context) -> Self {
        let mut facts = Self::default();
        for record in records {
            let cell = record.cell(place);
            if cell.is_empty() {
                continue;
            }
            facts.filled += 1;
            if facts.first_values.len() < 3 {
                facts.first_values.push(cell.chars().take(60).collect());
            }
            if let Some(written) = written(cell) {
                facts.dates += 1;
                facts.with_time += usize::from(written.time.is_some_and(|t| t != jiff::civil::Time::midnight()));
            } else if cell.contains(':') && time_of_day(cell).is_some() {
                facts.times += 1;
            } else if is_weight_like(cell) {
                facts.weights += 1;
                facts.own_units += usize::from(unit_in_cell(cell).is_some());
            } else if SheetUnit::from_word(cell).is_some() {
                facts.unit_words += 1;
            }
            facts.pups += usize::from(context.pups.iter().any(|p| p.id == cell));
        }
        facts
    }

    fn are_mostly(&self, count: usize) -> bool {
        self.filled > 0 && count * 5 >= self.filled * 4
    }

    pub(super) fn are_weights(&self) -> bool {
        self.are_mostly(self.weights)
    }
}

/// Words of headings, in the languages of the households we know of.
const PUP: &[&str] =
    &["pup", "pups", "puppy", "puppies", "name", "welpe", "welpen", "chiot", "cachorro", "szczenię", "id"];
const DATE: &[&str] = &["date", "day", "datum", "tag", "fecha", "data", "dag", "when"];
const TIME: &[&str] =
    &["time", "hour", "clock", "uhrzeit", "zeit", "uhr", "heure", "hora", "tijd", "godzina", "at", "when"];
const WEIGHT: &[&str] = &["weight", "weights", "wt", "gewicht", "poids", "peso", "waga", "masse", "mass"];
const UNIT: &[&str] = &["unit", "units", "einheit", "unité", "unidad", "eenheid", "jednostka"];
const CARER: &[&str] = &["carer", "carers", "by", "who", "person", "initials", "wer", "von", "qui", "quien", "wie"];
const NOTE: &[&str] = &[
    "note",
    "notes",
    "comment",
    "comments",
    "remark",
    "remarks",
    "notiz",
    "notizen",
    "bemerkung",
    "bemerkungen",
    "kommentar",
    "remarque",
    "remarques",
    "nota",
    "notas",
    "opmerking",
    "opmerkingen",
    "uwagi",
];
const BEFORE: &[&str] = &["before", "before_feed", "pre", "vor", "vorher", "avant", "antes", "voor", "przed"];
const AFTER: &[&str] = &["after", "after_feed", "post", "nach", "nachher", "après", "apres", "después", "po"];
const OTHER_WEIGHTS: &[&str] = &[
    "birth",
    "born",
    "gain",
    "change",
    "difference",
    "diff",
    "average",
    "avg",
    "mean",
    "total",
    "sum",
    "target",
    "percent",
    "geburt",
    "geburtsgewicht",
    "geboren",
    "zunahme",
    "differenz",
    "durchschnitt",
    "summe",
    "naissance",
];

fn words(heading: &str) -> Vec<String> {
    heading.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
}

fn names_one(words: &[String], list: &[&str]) -> bool {
    words.iter().any(|w| list.contains(&w.as_str()))
}

/// Before or after a feed, as a cell says it; the error where it says neither.
pub(super) fn taken_word(cell: &str) -> Result<Option<Taken>, String> {
    let words = words(&cell.replace('_', " "));
    match (names_one(&words, BEFORE), names_one(&words, AFTER)) {
        (true, false) => Ok(Some(Taken::BeforeFeed)),
        (false, true) => Ok(Some(Taken::AfterFeed)),
        (false, false) if words.is_empty() || words == ["unknown"] => Ok(None),
        _ => Err("before, after, unknown, or nothing".into()),
    }
}

/// The heading without a unit in brackets at its end.
pub(super) fn without_unit(heading: &str) -> &str {
    let heading = heading.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((name, unit)) = heading.strip_suffix(close).and_then(|h| h.rsplit_once(open))
            && SheetUnit::in_heading(unit).is_some()
        {
            return name.trim();
        }
    }
    heading
}

/// Whether a heading says that its numbers are something else than a weight at a time.
pub(super) fn is_of_something_else(heading: &str) -> bool {
    heading.contains('%') || names_one(&words(heading), OTHER_WEIGHTS)
}

/// The role of a column of a sheet with one row for each weighing, and the grounds.
pub(super) fn role(heading: &str, facts: &Facts) -> (Role, String) {
    let by_heading = |role| (role, "by its heading".to_owned());
    let words = words(heading);
    let is = |list: &[&str]| names_one(&words, list);
    let of_dates = if facts.with_time > 0 { Role::DateTime } else { Role::Date };
    if is_of_something_else(heading) {
        return (Role::NotUsed, "its heading names something else than a weight at a time".into());
    }
    if facts.are_mostly(facts.dates) {
        return (of_dates, format!("{} of {} cells are dates", facts.dates, facts.filled));
    }
    if facts.are_mostly(facts.times) {
        return (Role::Time, format!("{} of {} cells are times", facts.times, facts.filled));
    }
    let taken = match (is(BEFORE), is(AFTER)) {
        (true, false) => Some(Taken::BeforeFeed),
        (false, true) => Some(Taken::AfterFeed),
        _ => None,
    };
    let unit = SheetUnit::in_heading(heading);
    if is(NOTE) {
        return by_heading(Role::Note);
    }
    if is(UNIT) || facts.are_mostly(facts.unit_words) {
        return by_heading(Role::UnitWord);
    }
    if is(WEIGHT) || (unit.is_some() && (facts.are_weights() || facts.filled == 0)) {
        return by_heading(Role::Weight { unit, taken });
    }
    if is(BEFORE) || is(AFTER) || words == ["taken"] || words == ["feed"] {
        return by_heading(if taken.is_some() && facts.are_weights() {
            Role::Weight { unit, taken }
        } else {
            Role::BeforeOrAfter
        });
    }
    if is(CARER) {
        return by_heading(Role::Carer);
    }
    if is(PUP) {
        return by_heading(Role::Pup);
    }
    if is(DATE) {
        return by_heading(of_dates);
    }
    if is(TIME) {
        return by_heading(if facts.dates > 0 { Role::DateTime } else { Role::Time });
    }
    if facts.pups * 2 > facts.filled {
        return (Role::Pup, format!("{} of {} cells are names of pups", facts.pups, facts.filled));
    }
    (Role::NotUsed, if facts.filled == 0 { "it is empty".into() } else { "nothing tells what it holds".into() })
}
