//! Quantities with their units: the compiler refuses grams plus millilitres.
//!
//! One table below names every quantity, its symbol and its allowed range. Errors,
//! documentation and generated test values all come from it. Conversion between units
//! happens here and nowhere else.
//!
//! Exact constants: 1 lb = 453.592 37 g and 1 oz = 1/16 lb (International Yard and Pound
//! Agreement 1959, NIST SP 811 appendix B.8); °C = (°F - 32) × 5/9 (NIST SP 811).

use std::fmt;
use std::ops::{Add, Div, Mul, Sub};

/// Grams in one avoirdupois pound, exact (NIST SP 811, appendix B.8).
pub const GRAMS_PER_POUND: f64 = 453.592_37;
/// Grams in one avoirdupois ounce, exact (a sixteenth of a pound).
pub const GRAMS_PER_OUNCE: f64 = GRAMS_PER_POUND / 16.0;

/// A number that cannot be this quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{quantity} {given} {symbol} is outside the allowed range {min} to {max} {symbol}")]
pub struct OutOfRange {
    pub quantity: &'static str,
    pub symbol: &'static str,
    pub given: f64,
    pub min: f64,
    pub max: f64,
}

/// One line of the table of quantities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuantityRow {
    pub quantity: &'static str,
    pub symbol: &'static str,
    pub min: f64,
    pub max: f64,
    /// How many decimals the one formatter prints.
    pub decimals: usize,
    /// A trailing zero states the precision of a measurement (body temperature only).
    pub keeps_trailing_zero: bool,
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident, $quantity:literal, $symbol:literal, $min:literal ..= $max:literal, $decimals:literal, $keep:literal;)*) => {
        /// Every quantity, its symbol and its allowed range.
        pub const QUANTITIES: &[QuantityRow] = &[$($name::ROW,)*];

        $(
            $(#[$doc])*
            #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
            pub struct $name(f64);

            impl $name {
                /// This quantity's line of the table.
                pub const ROW: QuantityRow = QuantityRow {
                    quantity: $quantity, symbol: $symbol, min: $min, max: $max,
                    decimals: $decimals, keeps_trailing_zero: $keep,
                };

                /// A value inside the allowed range.
                ///
                /// # Errors
                /// [`OutOfRange`] for a value outside the table's range, or not a number.
                pub fn new(value: f64) -> Result<Self, OutOfRange> {
                    if ($min..=$max).contains(&value) { Ok(Self(value)) } else {
                        Err(OutOfRange { quantity: $quantity, symbol: $symbol, given: value, min: $min, max: $max })
                    }
                }

                /// A computed value; it may lie outside the range that may be typed in.
                #[must_use]
                pub(crate) const fn of(value: f64) -> Self { Self(value) }

                /// The bare number, in the unit that the type names.
                #[must_use]
                pub const fn get(self) -> f64 { self.0 }

                #[must_use]
                pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }

                #[must_use]
                pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
            }

            impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
            impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
            impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
            impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
            impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
            impl std::iter::Sum for $name {
                fn sum<I: Iterator<Item = Self>>(i: I) -> Self { Self(i.map(|x| x.0).sum()) }
            }
            impl fmt::Display for $name {
                fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    f.write_str(&format_quantity(self.0, &Self::ROW))
                }
            }
        )*
    };
}

quantities! {
    /// Weight of a pup or of its dam.
    Grams, "weight", "g", 0.0 ..= 150_000.0, 1, false;
    /// Volume of milk or water.
    Millilitres, "volume", "mL", 0.0 ..= 5_000.0, 1, false;
    /// Metabolisable energy.
    Kcal, "energy", "kcal", 0.0 ..= 20_000.0, 0, false;
    /// Metabolisable energy in a millilitre of milk as fed.
    KcalPerMl, "strength of the milk", "kcal per mL", 0.1 ..= 3.0, 2, false;
    /// Energy need of a day, for each 100 g of body weight.
    KcalPer100g, "daily energy", "kcal per 100 g", 1.0 ..= 40.0, 1, false;
    /// Volume for each kilogram of body weight.
    MlPerKg, "volume by body weight", "mL per kg", 0.0 ..= 400.0, 0, false;
    /// Temperature.
    Celsius, "temperature", "°C", -10.0 ..= 100.0, 1, true;
    /// Elapsed time.
    Hours, "time", "h", 0.0 ..= 100_000.0, 1, false;
    /// A share of a whole.
    Percent, "share", "%", -100.0 ..= 10_000.0, 1, false;
}

impl Mul<Millilitres> for KcalPerMl {
    type Output = Kcal;
    fn mul(self, volume: Millilitres) -> Kcal {
        Kcal(self.0 * volume.0)
    }
}
impl Div<KcalPerMl> for Kcal {
    type Output = Millilitres;
    fn div(self, strength: KcalPerMl) -> Millilitres {
        Millilitres(self.0 / strength.0)
    }
}
impl Mul<Grams> for MlPerKg {
    type Output = Millilitres;
    fn mul(self, weight: Grams) -> Millilitres {
        Millilitres(self.0 * weight.0 / 1000.0)
    }
}
impl Mul<Grams> for KcalPer100g {
    type Output = Kcal;
    fn mul(self, weight: Grams) -> Kcal {
        Kcal(self.0 * weight.0 / 100.0)
    }
}

impl Grams {
    /// The weight as whole milligrams, in which the published rules are exact.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "the table caps weights at 150 kg")]
    pub fn milligrams(self) -> i64 {
        (self.0 * 1000.0).round() as i64
    }
}

impl Millilitres {
    /// Volume for each kilogram of this body weight.
    #[must_use]
    pub fn per_kg_of(self, weight: Grams) -> MlPerKg {
        MlPerKg(self.0 * 1000.0 / weight.0)
    }
}

impl Celsius {
    /// From degrees Fahrenheit: (°F - 32) × 5/9.
    ///
    /// # Errors
    /// [`OutOfRange`] as [`Celsius::new`].
    pub fn from_fahrenheit(fahrenheit: f64) -> Result<Self, OutOfRange> {
        Self::new((fahrenheit - 32.0) * 5.0 / 9.0)
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.0 * 9.0 / 5.0 + 32.0
    }

    /// The temperature as whole thousandths of a degree, so that a limit is met exactly.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "the table caps temperatures at 100")]
    pub fn millidegrees(self) -> i64 {
        (self.0 * 1000.0).round() as i64
    }
}

/// The unit in which a weight was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WeightUnit {
    Gram,
    Ounce,
    PoundOunce,
}

impl WeightUnit {
    /// The word that stands in a file for this unit.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Ounce => "oz",
            Self::PoundOunce => "lb_oz",
        }
    }

    /// The unit for a word of a file.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Gram, Self::Ounce, Self::PoundOunce].into_iter().find(|u| u.word() == word)
    }

    /// Reads a weight typed in this unit, to the milligram; the caller knows what range it may have. `lb_oz` takes two numbers, as in `1 lb 3.5 oz` or `1 3.5`.
    ///
    /// # Errors
    /// Words that say what is allowed, without naming the place.
    pub fn parse(self, text: &str) -> Result<Grams, String> {
        let grams = match self {
            Self::Gram => parse_decimal(text)?,
            Self::Ounce => parse_decimal(text)? * GRAMS_PER_OUNCE,
            Self::PoundOunce => {
                let words: Vec<&str> = text.split_whitespace().filter(|w| !matches!(*w, "lb" | "oz")).collect();
                let [pounds, ounces] = words[..] else {
                    return Err("pounds and ounces as two numbers, as in \"1 lb 3.5 oz\"".into());
                };
                let (pounds, ounces) = (parse_decimal(pounds)?, parse_decimal(ounces)?);
                if pounds.fract() != 0.0 || ounces >= 16.0 {
                    return Err("whole pounds, and ounces below 16".into());
                }
                pounds * GRAMS_PER_POUND + ounces * GRAMS_PER_OUNCE
            }
        };
        // Weights are whole milligrams, so that the same weight in two units is the same number.
        Ok(Grams((grams * 1000.0).round() / 1000.0))
    }

    /// Prints a weight in this unit.
    #[must_use]
    pub fn print(self, weight: Grams) -> String {
        match self {
            Self::Gram => weight.to_string(),
            Self::Ounce => join(&number(weight.0 / GRAMS_PER_OUNCE, 2, false), "oz"),
            Self::PoundOunce => {
                // Hundredths of an ounce first, so that 15.996 oz carries into the pound.
                let hundredths = (weight.0 / GRAMS_PER_OUNCE * 100.0).round();
                let pounds = (hundredths / 1600.0).floor();
                let ounces = (hundredths - pounds * 1600.0) / 100.0;
                format!("{} {}", join(&number(pounds, 0, false), "lb"), join(&number(ounces, 2, false), "oz"))
            }
        }
    }
}

/// Reads a plain decimal number with a point or a comma as its one decimal mark.
///
/// Malformed numbers are refused and never repaired: a repaired slip is a silent slip.
///
/// # Errors
/// Words that say what is allowed.
pub fn parse_decimal(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let allowed = || "a plain number such as 254 or 25.4 (no letters, signs or thousands marks)".to_owned();
    let marks = text.chars().filter(|c| matches!(c, '.' | ',')).count();
    let is_plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let has_digits_both_sides =
        text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with(|c: char| c.is_ascii_digit());
    if !is_plain || marks > 1 || !has_digits_both_sides || text.len() > 12 {
        return Err(allowed());
    }
    if let Some((whole, decimals)) = text.split_once(',')
        && decimals.len() == 3
        && whole != "0"
    {
        return Err(format!("write {whole}{decimals} or {whole}.{decimals}: the comma could mean either"));
    }
    text.replace(',', ".").parse().map_err(|_| allowed())
}

/// The one formatter: no trailing zeros, a leading zero, digits grouped from 1000 up with a
/// narrow no-break space, a no-break space before the unit.
#[must_use]
pub fn format_quantity(value: f64, row: &QuantityRow) -> String {
    join(&number(value, row.decimals, row.keeps_trailing_zero), row.symbol)
}

/// A weight change, with its sign: `+12 g`, `-4 g`.
#[must_use]
pub fn format_change(change: Grams) -> String {
    let text = format_quantity(change.0.abs(), &Grams::ROW);
    let is_zero = text.starts_with("0\u{a0}");
    let sign = if is_zero {
        ""
    } else if change.0 < 0.0 {
        "-"
    } else {
        "+"
    };
    format!("{sign}{text}")
}

/// A bare number by the same rules, for places that carry their unit elsewhere.
#[must_use]
pub fn number(value: f64, decimals: usize, keeps_trailing_zero: bool) -> String {
    let mut text = format!("{:.decimals$}", value.abs());
    if decimals > 0 && !keeps_trailing_zero {
        text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let mut grouped = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            grouped.push('\u{202f}');
        }
        grouped.push(digit);
    }
    let is_zero = text.chars().all(|c| matches!(c, '0' | '.'));
    format!("{}{grouped}{rest}", if value < 0.0 && !is_zero { "-" } else { "" })
}

/// A figure of a composition, as closely as it is worth reading: whole from 100 on, one place
/// from 10 on, else two.
#[must_use]
pub fn figure(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        _ => 2,
    };
    number(value, decimals, false)
}

/// `+18 %`, `-4 %`, `0 %`.
#[must_use]
pub fn signed_percent(percent: f64) -> String {
    let text = number(percent.abs(), 0, false);
    let sign = match percent {
        _ if text == "0" => "",
        p if p < 0.0 => "-",
        _ => "+",
    };
    format!("{sign}{text}\u{a0}%")
}

/// Puts a no-break space between a number and the unit or word of time that follows it.
#[must_use]
pub fn tie_numbers(text: &str) -> String {
    const UNITS: &[&str] = &["g", "mL", "kcal", "°C", "h", "min", "days", "minutes", "hours", "%", "Fr", "feeds"];
    let mut tied = String::with_capacity(text.len() + 8);
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        tied.push_str(word);
        let Some(next) = words.peek() else { break };
        let unit = next.trim_end_matches(['.', ',', ';', ':', ')', '?']);
        let is_number = word.ends_with(|c: char| c.is_ascii_digit());
        tied.push(if is_number && UNITS.contains(&unit) { '\u{a0}' } else { ' ' });
    }
    tied
}

fn join(number: &str, symbol: &str) -> String {
    format!("{number}\u{a0}{symbol}")
}

/// ```compile_fail
/// use whelpward_core::units::{Grams, Millilitres};
/// let _ = Grams::new(1.0).unwrap() + Millilitres::new(1.0).unwrap();
/// ```
/// ```
/// use whelpward_core::units::{Kcal, KcalPerMl, Millilitres};
/// let energy: Kcal = KcalPerMl::new(1.2).unwrap() * Millilitres::new(10.0).unwrap();
/// assert!((energy.get() - 12.0).abs() < 1e-12);
/// ```
#[cfg(doctest)]
struct GramsAndMillilitresDoNotAdd;

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> String {
        text.replace('\u{a0}', "_").replace('\u{202f}', "~")
    }

    #[test]
    fn quantities_print_as_usability_s1_asks() {
        let check = |value: f64, row: &QuantityRow, expected: &str| {
            assert_eq!(plain(&format_quantity(value, row)), expected);
        };
        check(357.0, &Grams::ROW, "357_g");
        check(4.5, &Millilitres::ROW, "4.5_mL");
        check(0.5, &Millilitres::ROW, "0.5_mL");
        check(5.0, &Millilitres::ROW, "5_mL");
        check(1234.0, &Grams::ROW, "1~234_g");
        check(1_234_567.0, &Grams::ROW, "1~234~567_g");
        check(38.0, &Celsius::ROW, "38.0_°C");
        check(-0.01, &Grams::ROW, "0_g");
        check(-12.0, &Grams::ROW, "-12_g");
        check(100.0, &Kcal::ROW, "100_kcal");
    }

    #[test]
    fn a_number_keeps_its_unit_at_the_end_of_a_line() {
        assert_eq!(
            plain(&tie_numbers("weigh it in 12 h; a feed of 5 mL, every 4 hours.")),
            "weigh it in 12_h; a feed of 5_mL, every 4_hours."
        );
        assert_eq!(plain(&tie_numbers("on day 3 it gained")), "on day 3 it gained");
    }

    #[test]
    fn malformed_numbers_are_refused_as_usability_u12_asks() {
        for bad in ["1.2.3", "12,,5", "1,234", "-5", "5e2", "abc", "", ".5", "5.", "1 2", "٣", "NaN", "inf"] {
            assert!(parse_decimal(bad).is_err(), "{bad:?} was accepted");
        }
        for (good, value) in [("25.4", 25.4), ("25,4", 25.4), ("0,234", 0.234), (" 254 ", 254.0)] {
            assert_eq!(parse_decimal(good), Ok(value));
        }
    }

    #[test]
    fn unit_constants_are_the_nist_definitions() {
        // NIST SP 811 (2008), appendix B.8: pound 4.535 923 7 E-01 kg, ounce 2.834 952 E-02 kg.
        assert_eq!(GRAMS_PER_POUND, 453.592_37);
        assert_eq!(GRAMS_PER_OUNCE, 28.349_523_125);
        assert_eq!(WeightUnit::Ounce.parse("12.6").unwrap().milligrams(), 357_204);
        assert_eq!(WeightUnit::PoundOunce.parse("1 lb 0 oz").unwrap().milligrams(), 453_592);
        assert_eq!(Celsius::from_fahrenheit(95.0).unwrap().millidegrees(), 35_000);
        assert_eq!(Celsius::from_fahrenheit(212.0).unwrap().millidegrees(), 100_000);
    }

    #[test]
    fn ounces_of_sixteen_and_more_are_refused_beside_pounds() {
        assert!(WeightUnit::PoundOunce.parse("1 16").is_err());
        assert!(WeightUnit::PoundOunce.parse("1.5 2").is_err());
        assert!(WeightUnit::PoundOunce.parse("9").is_err());
    }

    #[test]
    fn a_weight_printed_in_its_unit_reads_back() {
        for grams in [30.0, 254.0, 453.592_37, 907.1, 4_535.9] {
            for unit in [WeightUnit::Gram, WeightUnit::Ounce, WeightUnit::PoundOunce] {
                let printed = unit.print(Grams::of(grams)).replace(['\u{a0}', '\u{202f}'], " ");
                let typed = match unit {
                    WeightUnit::PoundOunce => printed.clone(),
                    _ => printed.rsplit_once(' ').unwrap().0.replace(' ', ""),
                };
                let back = unit.parse(&typed).unwrap().get();
                assert!((back - grams).abs() <= 0.15, "{grams} {printed} {back}");
            }
        }
    }
}
