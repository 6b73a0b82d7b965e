//! Reads the rows of `done.csv`.

use jiff::Timestamp;
use jiff::civil::Date;

use super::done_kinds::{DONE_KINDS, DoneFor, DoneKind, DoneKindRow, DoneShape, ProductRule};
use super::problem::{Problem, quoted};
use super::tables::{Known, Report, Row, read_rows};
use super::{PupId, Word};

/// Something that was done for a pup, or first seen of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Done {
    pub at: Timestamp,
    /// None: the dam.
    pub pup: Option<PupId>,
    pub kind: DoneKind,
    pub value: DoneValue,
    /// As on the package.
    pub product: Option<String>,
    /// The number of the lot on the package.
    pub lot: Option<String>,
    /// How much was given, as it was written down; the program never reads it.
    pub as_given: Option<String>,
    /// Who did it: a veterinarian, a member of the household.
    pub by: Option<String>,
    /// For prints; the program never reads it.
    pub note: Option<String>,
}

/// What stands beside the kind.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum DoneValue {
    Nothing,
    Text(String),
    /// Letters and digits only, in capitals.
    ChipNumber(String),
    Day(Date),
    Word(Word),
}

impl DoneValue {
    /// As it would be typed.
    #[must_use]
    pub fn typed(&self) -> Option<String> {
        match self {
            Self::Nothing => None,
            Self::Text(text) | Self::ChipNumber(text) => Some(text.clone()),
            Self::Day(day) => Some(day.to_string()),
            Self::Word(word) => Some(word.text().to_owned()),
        }
    }
}

pub(super) fn read(text: &str, known: &Known<'_>, problems: &mut Vec<Problem>) -> Vec<Done> {
    read_rows("done.csv", text, problems, |row, report| done(row, known, report))
}

pub(super) fn done(row: &Row<'_>, known: &Known<'_>, report: &mut Report<'_>) -> Option<Done> {
    let at = row.time("done_at", report);
    known.carer(row, report);
    let kinds = || DONE_KINDS.iter().map(|k| k.word).collect::<Vec<_>>().join(", ");
    let Some(word) = row.text("kind") else {
        report.problem(row, "kind", "nothing".into(), kinds());
        return None;
    };
    let Some(kind) = DONE_KINDS.iter().find(|k| k.word == word) else {
        report.problem(row, "kind", quoted(word), kinds());
        return None;
    };
    let pup = match (kind.about, row.text("pup")) {
        (DoneFor::PupOrDam, None) => None,
        _ => Some(known.pup(row, at, "done_at", report)?),
    };
    let texts = ["product", "lot", "as_given", "by", "note"].map(|name| plain_text(row, name, report));
    beside_a_product(row, kind, report);
    let value = match value(row.text("value"), kind.shape) {
        Ok(value) => value,
        Err(found) => {
            report.problem(row, "value", found, kind.shape.allowed());
            return None;
        }
    };
    let [product, lot, as_given, by, note] = texts;
    Some(Done { at: at?, pup, kind: kind.kind, value, product, lot, as_given, by, note })
}

fn plain_text(row: &Row<'_>, name: &str, report: &mut Report<'_>) -> Option<String> {
    row.value(name, report)?;
    row.text(name).map(str::to_owned)
}

fn beside_a_product(row: &Row<'_>, kind: &DoneKindRow, report: &mut Report<'_>) {
    match kind.product {
        ProductRule::Must if row.text("product").is_none() => {
            let allowed = format!("the product of the {}, as on the package", kind.word);
            report.problem(row, "product", "nothing".into(), allowed);
        }
        ProductRule::Never => {
            for name in ["product", "lot", "as_given"] {
                if let Some(text) = row.text(name) {
                    let with: Vec<&str> =
                        DONE_KINDS.iter().filter(|k| k.product != ProductRule::Never).map(|k| k.word).collect();
                    let allowed = format!("nothing: {name} belongs to {}", with.join(", "));
                    report.problem(row, name, quoted(text), allowed);
                }
            }
        }
        ProductRule::Must | ProductRule::May => {}
    }
}

/// The value of one kind; the error is what was found.
fn value(text: Option<&str>, shape: DoneShape) -> Result<DoneValue, String> {
    let Some(text) = text else {
        return match shape {
            DoneShape::Nothing | DoneShape::AnyText => Ok(DoneValue::Nothing),
            _ => Err("nothing".into()),
        };
    };
    let found = || quoted(text);
    match shape {
        DoneShape::Nothing => Err(found()),
        DoneShape::AnyText | DoneShape::Text => match super::fields::read(text, super::format::Shape::Text) {
            Ok(_) => Ok(DoneValue::Text(text.to_owned())),
            Err(_) => Err(found()),
        },
        DoneShape::ChipNumber => chip_number(text).map(DoneValue::ChipNumber).ok_or_else(found),
        DoneShape::Day => text.parse().map(DoneValue::Day).map_err(|_| found()),
        DoneShape::Words(words) => {
            words.iter().find(|w| w.text() == text).map(|w| DoneValue::Word(*w)).ok_or_else(found)
        }
    }
}

/// A chip's number without the gaps and hyphens of its print; none where something else is in it.
fn chip_number(text: &str) -> Option<String> {
    let number: String =
        text.chars().filter(|c| !matches!(c, ' ' | '-' | '.' | '\u{a0}')).map(|c| c.to_ascii_uppercase()).collect();
    let is_one = (1..=20).contains(&number.len()) && number.chars().all(|c| c.is_ascii_alphanumeric());
    is_one.then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chip_number_is_kept_without_its_gaps_also_where_it_is_not_of_the_standard() {
        assert_eq!(chip_number("276 0981-0600.4321").as_deref(), Some("276098106004321"));
        assert_eq!(chip_number("00-012a-b4c5").as_deref(), Some("00012AB4C5"));
        assert_eq!(chip_number("27609810600432/1"), None);
        assert_eq!(chip_number("  "), None);
        assert_eq!(chip_number("123456789012345678901"), None);
    }

    #[test]
    fn each_shape_takes_what_it_allows_and_nothing_else() {
        assert_eq!(value(None, DoneShape::Nothing), Ok(DoneValue::Nothing));
        assert!(value(Some("yes"), DoneShape::Nothing).is_err());
        assert!(value(None, DoneShape::Text).is_err());
        assert_eq!(value(None, DoneShape::AnyText), Ok(DoneValue::Nothing));
        assert!(value(Some("20 November"), DoneShape::Day).is_err());
        assert!(value(Some("2026-02-30"), DoneShape::Day).is_err());
        assert_eq!(value(Some("2026-11-20"), DoneShape::Day), Ok(DoneValue::Day(jiff::civil::date(2026, 11, 20))));
        let words = DoneShape::Words(&[Word::Fit, Word::NotFit]);
        assert_eq!(value(Some("fit"), words), Ok(DoneValue::Word(Word::Fit)));
        assert!(value(Some("fine"), words).is_err());
    }
}
