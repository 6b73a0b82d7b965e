//! One cell of a weight: its number, its decimal mark, its unit.
//!
//! Conversion is exact and in whole numbers: 1 kg = 1000 g by moving the mark, and a decimal
//! pound becomes pounds and ounces with 1 lb = 16 oz, which always ends. A decimal pound in g
//! would need up to eight more decimals, and rounding is not for a record.

use crate::record::WeightUnit;
use crate::record::format::PUP_WEIGHT_G;

/// The unit of the weights of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetUnit {
    Gram,
    Kilogram,
    Ounce,
    /// A decimal number of pounds.
    Pound,
    /// Pounds and ounces in one cell, as in `1 lb 3.5 oz`.
    PoundOunce,
    /// Each cell names its own, as in `254 g`.
    InCells,
}

impl SheetUnit {
    pub const ALL: [Self; 6] = [Self::Gram, Self::Kilogram, Self::Ounce, Self::Pound, Self::PoundOunce, Self::InCells];

    /// The unit in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Ounce => "oz",
            Self::Pound => "lb",
            Self::PoundOunce => "lb and oz in one cell",
            Self::InCells => "as each cell says",
        }
    }

    /// The unit that a word of a heading or a cell names.
    pub(super) fn from_word(word: &str) -> Option<Self> {
        Some(match word.trim_end_matches('.').to_lowercase().as_str() {
            "g" | "gr" | "gram" | "grams" | "gramm" | "gramme" | "grammes" | "gramos" | "gramy" => Self::Gram,
            "kg" | "kgs" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramm" => Self::Kilogram,
            "oz" | "ozs" | "ounce" | "ounces" => Self::Ounce,
            "lb" | "lbs" | "pound" | "pounds" => Self::Pound,
            "lb_oz" => Self::PoundOunce,
            _ => return None,
        })
    }

    /// The unit that a heading names: `Weight (g)`, `lb/oz`, `Gewicht in kg`.
    pub(super) fn in_heading(heading: &str) -> Option<Self> {
        let mut found: Vec<Self> = heading
            .split(|c: char| !(c.is_alphanumeric() || c == '_'))
            .filter_map(|word| Self::from_word(word).or_else(|| word.strip_prefix("weight_").and_then(Self::from_word)))
            .collect();
        found.dedup();
        match found[..] {
            [one] => Some(one),
            [Self::Pound, Self::Ounce] => Some(Self::PoundOunce),
            _ => None,
        }
    }
}

/// The decimal mark of the numbers of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalMark {
    Point,
    Comma,
    /// Both occur: a mark before three digits is refused, any other is the decimal mark.
    Mixed,
}

/// How the marks in numbers are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Marks {
    pub decimal: DecimalMark,
    /// Whether the other mark parts thousands.
    pub thousands: bool,
}

/// What one number says about the marks of its sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum MarkSeen {
    None,
    /// This mark is the decimal mark here, whatever the rest of the sheet does.
    Decimal(char),
    /// One mark before exactly three digits: either.
    Either(char),
    /// Both marks, or one several times: the second is the one that parts thousands.
    Grouped {
        decimal: char,
    },
    NoNumber,
}

/// What a weight cell (with or without its unit) says about the marks.
pub(super) fn marks_seen(cell: &str) -> MarkSeen {
    let pieces = pieces(cell);
    let mut seen = MarkSeen::NoNumber;
    for (number, _) in pieces {
        match marks_of_number(number) {
            MarkSeen::NoNumber => return MarkSeen::NoNumber,
            MarkSeen::None if seen != MarkSeen::NoNumber => {}
            other => seen = other,
        }
    }
    seen
}

fn marks_of_number(number: &str) -> MarkSeen {
    let is_number = number.starts_with(|c: char| c.is_ascii_digit())
        && number.ends_with(|c: char| c.is_ascii_digit())
        && number.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '\'' | '’' | '\u{a0}' | '\u{202f}'));
    if !is_number {
        return MarkSeen::NoNumber;
    }
    let marks: Vec<char> = number.chars().filter(|c| matches!(c, '.' | ',')).collect();
    match marks[..] {
        [] => MarkSeen::None,
        [mark] => {
            let (whole, decimals) = number.split_once(mark).expect("the mark was just found");
            let could_part = decimals.len() == 3 && whole != "0" && whole.len() <= 3;
            if could_part { MarkSeen::Either(mark) } else { MarkSeen::Decimal(mark) }
        }
        [first, .., last] if first != last && marks[..marks.len() - 1].iter().all(|m| *m == first) => {
            MarkSeen::Grouped { decimal: last }
        }
        [first, ..] if marks.iter().all(|m| *m == first) => {
            MarkSeen::Grouped { decimal: if first == '.' { ',' } else { '.' } }
        }
        _ => MarkSeen::NoNumber,
    }
}

/// Numbers of a cell with the unit word behind each: `1 lb 3.5 oz` has two.
fn pieces(cell: &str) -> Vec<(&str, &str)> {
    let is_of_number =
        |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '\'' | '’' | '\u{a0}' | '\u{202f}' | '-' | '+');
    let mut pieces = Vec::new();
    let mut rest = cell.trim();
    while !rest.is_empty() {
        let end = rest.find(|c: char| !is_of_number(c)).unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let after = after.trim_start();
        let end = after.find(|c: char| c.is_whitespace() || c.is_ascii_digit()).unwrap_or(after.len());
        let (unit, after) = after.split_at(end);
        pieces.push((number.trim_end_matches(['\u{a0}', '\u{202f}']), unit));
        rest = after.trim_start();
        if pieces.len() > 2 {
            break;
        }
    }
    pieces
}

/// Whether a cell looks like a weight: a number, with a unit behind it or nothing.
pub(super) fn is_weight_like(cell: &str) -> bool {
    marks_seen(cell) != MarkSeen::NoNumber
        && (unit_in_cell(cell).is_some() || pieces(cell).iter().all(|(_, word)| word.is_empty()))
}

/// The unit that a cell carries itself.
pub(super) fn unit_in_cell(cell: &str) -> Option<SheetUnit> {
    match pieces(cell)[..] {
        [(_, unit)] => SheetUnit::from_word(unit),
        [(_, pounds), (_, ounces)] => {
            let is_both = SheetUnit::from_word(pounds) == Some(SheetUnit::Pound)
                && SheetUnit::from_word(ounces) == Some(SheetUnit::Ounce);
            is_both.then_some(SheetUnit::PoundOunce)
        }
        _ => None,
    }
}

/// A weight as the folder format wants it: text and unit, checked against a pup's limits.
pub(super) fn weight(cell: &str, unit: SheetUnit, marks: Marks) -> Result<(String, WeightUnit), String> {
    let own = unit_in_cell(cell);
    let found = pieces(cell);
    let names_a_unit = found.iter().any(|(_, word)| !word.is_empty());
    let unit = match (own, unit) {
        (None, _) if names_a_unit => {
            return Err("a plain number such as 254 or 25.4, with nothing behind it but g, kg, oz or lb".into());
        }
        (None, SheetUnit::InCells) => return Err("a weight with its unit, as in 254 g".into()),
        (None, unit) => unit,
        (Some(own), SheetUnit::InCells) => own,
        (Some(own), unit) if own == unit => own,
        // Written out with its unit, a part of pounds and ounces cannot be mistaken.
        (Some(own @ (SheetUnit::Pound | SheetUnit::Ounce)), SheetUnit::PoundOunce) => own,
        (Some(_), unit) => return Err(format!("a weight in {}, as the column has it", unit.words())),
    };
    let (text, unit) = match (unit, &found[..]) {
        (SheetUnit::PoundOunce, [(pounds, _), (ounces, _)]) => {
            (pounds_and_ounces(&decimal(pounds, marks)?, &decimal(ounces, marks)?), WeightUnit::PoundOunce)
        }
        (SheetUnit::PoundOunce, _) => return Err("pounds and ounces as two numbers, as in \"1 lb 3.5 oz\"".into()),
        (unit, [(number, _)]) => {
            let number = decimal(number, marks)?;
            match unit {
                SheetUnit::Kilogram => (kilograms_to_grams(&number), WeightUnit::Gram),
                SheetUnit::Ounce => (number, WeightUnit::Ounce),
                SheetUnit::Pound => (decimal_pounds(&number), WeightUnit::PoundOunce),
                _ => (number, WeightUnit::Gram),
            }
        }
        _ => return Err("one number".into()),
    };
    check(text, unit)
}

/// A weight whose pounds and ounces stand in two columns.
pub(super) fn weight_of_two(pounds: &str, ounces: &str, marks: Marks) -> Result<(String, WeightUnit), String> {
    if pounds.is_empty() || ounces.is_empty() {
        return Err("both pounds and ounces, 0 where there are none".into());
    }
    check(pounds_and_ounces(&decimal(pounds, marks)?, &decimal(ounces, marks)?), WeightUnit::PoundOunce)
}

fn check(text: String, unit: WeightUnit) -> Result<(String, WeightUnit), String> {
    let (min, max) = PUP_WEIGHT_G;
    let grams = unit.parse(&text)?.get();
    if grams < min || grams > max {
        return Err(format!("a pup's weight, {min} to {max} g (this reads as {} g)", grams.round()));
    }
    Ok((text, unit))
}

fn pounds_and_ounces(pounds: &str, ounces: &str) -> String {
    format!("{pounds} lb {ounces} oz")
}

/// A number as digits with at most one point; refused, never repaired.
fn decimal(number: &str, marks: Marks) -> Result<String, String> {
    let allowed = || "a plain number such as 254 or 25.4 (no letters or signs)".to_owned();
    let (whole, decimals) = match (marks_of_number(number), marks.decimal) {
        (MarkSeen::NoNumber, _) => return Err(allowed()),
        (MarkSeen::Either(_) | MarkSeen::Grouped { .. }, DecimalMark::Mixed) => {
            return Err("a number whose mark can be read in one way only".into());
        }
        (_, DecimalMark::Mixed) => number.split_once(['.', ',']).unwrap_or((number, "")),
        (_, DecimalMark::Point) => number.split_once('.').unwrap_or((number, "")),
        (_, DecimalMark::Comma) => number.split_once(',').unwrap_or((number, "")),
    };
    let mark_of_thousands = match marks.decimal {
        DecimalMark::Point => ',',
        DecimalMark::Comma => '.',
        DecimalMark::Mixed => '\'',
    };
    if !decimals.chars().all(|c| c.is_ascii_digit()) {
        return Err(allowed());
    }
    let is_mark = |c: char| !c.is_ascii_digit();
    if whole.contains(mark_of_thousands) && matches!(mark_of_thousands, '.' | ',') && !marks.thousands {
        let sort = if mark_of_thousands == ',' { "a comma" } else { "a point" };
        return Err(format!("{}; {sort} is not the decimal mark of this sheet", allowed()));
    }
    if whole.contains(is_mark) {
        let groups: Vec<&str> = whole.split(is_mark).collect();
        let are_thousands = groups[0].len() <= 3 && !groups[0].is_empty() && groups[1..].iter().all(|g| g.len() == 3);
        let first_mark = whole.chars().find(|c| is_mark(*c));
        if !are_thousands || whole.chars().any(|c| is_mark(c) && Some(c) != first_mark) {
            return Err(allowed());
        }
    }
    let digits: String = whole.chars().filter(char::is_ascii_digit).collect();
    if digits.len() > 6 || decimals.len() > 5 {
        return Err("a number of at most six digits before its mark and five behind".into());
    }
    Ok(if decimals.is_empty() { digits } else { format!("{digits}.{decimals}") })
}

fn parts(number: &str) -> (&str, &str) {
    number.split_once('.').unwrap_or((number, ""))
}

/// The mark moves three digits to the right.
fn kilograms_to_grams(number: &str) -> String {
    let (whole, decimals) = parts(number);
    let decimals = format!("{decimals:0<3}");
    let (thousand, rest) = decimals.split_at(3);
    let grams = format!("{whole}{thousand}");
    let grams = grams.trim_start_matches('0');
    let grams = if grams.is_empty() { "0" } else { grams };
    if rest.is_empty() { grams.to_owned() } else { format!("{grams}.{rest}") }
}

/// Whole pounds, and the rest in ounces of a sixteenth.
fn decimal_pounds(number: &str) -> String {
    let (whole, decimals) = parts(number);
    let scale = 10_u64.pow(u32::try_from(decimals.len()).expect("at most five decimals"));
    let sixteenths = decimals.parse::<u64>().unwrap_or(0) * 16;
    let (ounces, rest) = (sixteenths / scale, sixteenths % scale);
    let rest = format!("{rest:0width$}", width = decimals.len());
    let rest = rest.trim_end_matches('0');
    let ounces = if rest.is_empty() { ounces.to_string() } else { format!("{ounces}.{rest}") };
    pounds_and_ounces(whole, &ounces)
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINT: Marks = Marks { decimal: DecimalMark::Point, thousands: false };
    const COMMA: Marks = Marks { decimal: DecimalMark::Comma, thousands: false };

    fn reads(cell: &str, unit: SheetUnit, marks: Marks) -> String {
        match weight(cell, unit, marks) {
            Ok((text, unit)) => format!("{text} [{}]", unit.word()),
            Err(why) => format!("refused: {why}"),
        }
    }

    /// Worked by hand: 0.75 lb × 16 = 12 oz; 0.234 lb × 16 = 3.744 oz; 0.062 5 lb × 16 = 1 oz.
    #[test]
    fn units_are_kept_or_converted_without_a_remainder() {
        use SheetUnit as U;
        for (cell, unit, marks, expected) in [
            ("310", U::Gram, POINT, "310 [g]"),
            ("310.50", U::Gram, POINT, "310.50 [g]"),
            ("310,5", U::Gram, COMMA, "310.5 [g]"),
            ("254 g", U::Gram, POINT, "254 [g]"),
            ("254g", U::InCells, POINT, "254 [g]"),
            ("0.31", U::Kilogram, POINT, "310 [g]"),
            ("1,2345", U::Kilogram, COMMA, "1234.5 [g]"),
            ("12", U::Kilogram, POINT, "12000 [g]"),
            ("9.25", U::Ounce, POINT, "9.25 [oz]"),
            ("1.75", U::Pound, POINT, "1 lb 12 oz [lb_oz]"),
            ("1.234", U::Pound, POINT, "1 lb 3.744 oz [lb_oz]"),
            ("2.0625", U::Pound, POINT, "2 lb 1 oz [lb_oz]"),
            ("1 lb 3.5 oz", U::PoundOunce, POINT, "1 lb 3.5 oz [lb_oz]"),
            ("1 3.5", U::PoundOunce, POINT, "1 lb 3.5 oz [lb_oz]"),
            ("1lb 3,5oz", U::InCells, COMMA, "1 lb 3.5 oz [lb_oz]"),
            ("9 oz", U::PoundOunce, POINT, "9 [oz]"),
        ] {
            assert_eq!(reads(cell, unit, marks), expected, "{cell}");
        }
    }

    #[test]
    fn marks_of_thousands_count_only_where_confirmed_and_only_before_three_digits() {
        let thousands = Marks { thousands: true, ..POINT };
        assert_eq!(reads("1,234", SheetUnit::Gram, thousands), "1234 [g]");
        assert_eq!(reads("1,234.5", SheetUnit::Gram, thousands), "1234.5 [g]");
        assert_eq!(reads("1'234", SheetUnit::Gram, POINT), "1234 [g]", "an apostrophe is never a decimal mark");
        assert_eq!(reads("1\u{202f}234", SheetUnit::Gram, POINT), "1234 [g]", "as our own tables print it");
        for bad in ["1,234", "12,5"] {
            assert!(reads(bad, SheetUnit::Gram, POINT).starts_with("refused"), "{bad}");
        }
        for bad in ["12,34", "1,2345", ",234", "1234,", "1,,234", "1.2.3"] {
            assert!(reads(bad, SheetUnit::Gram, thousands).starts_with("refused"), "{bad}");
        }
        let mixed = Marks { decimal: DecimalMark::Mixed, thousands: false };
        assert_eq!(reads("310,5", SheetUnit::Gram, mixed), "310.5 [g]");
        assert_eq!(reads("310.5", SheetUnit::Gram, mixed), "310.5 [g]");
        for bad in ["1,234", "1.234", "1.234,5"] {
            assert!(reads(bad, SheetUnit::Gram, mixed).starts_with("refused"), "{bad}");
        }
    }

    #[test]
    fn what_is_no_weight_is_refused_and_never_repaired() {
        for bad in [
            "-310",
            "+310",
            "5e2",
            "310 ml",
            "abc",
            "3 1 0",
            "310 g g",
            "1234567",
            "310.123456",
            "29",
            "25001",
            "٣١٠",
            "~310",
            "310?",
        ] {
            assert!(reads(bad, SheetUnit::Gram, POINT).starts_with("refused"), "{bad}");
        }
        assert!(reads("9 oz", SheetUnit::Gram, POINT).contains("in g"), "a cell against its column");
        assert!(reads("310", SheetUnit::InCells, POINT).contains("with its unit"));
        assert!(reads("1 lb 16 oz", SheetUnit::PoundOunce, POINT).contains("below 16"));
    }

    #[test]
    fn a_number_says_what_it_can_about_its_mark() {
        for (cell, expected) in [
            ("310", MarkSeen::None),
            ("310,5", MarkSeen::Decimal(',')),
            ("0.310", MarkSeen::Decimal('.')),
            ("1234.567", MarkSeen::Decimal('.')),
            ("1,234", MarkSeen::Either(',')),
            ("1.234 g", MarkSeen::Either('.')),
            ("1.234,5", MarkSeen::Grouped { decimal: ',' }),
            ("1 lb 3.5 oz", MarkSeen::Decimal('.')),
            ("n/a", MarkSeen::NoNumber),
        ] {
            assert_eq!(marks_seen(cell), expected, "{cell}");
        }
    }
}
