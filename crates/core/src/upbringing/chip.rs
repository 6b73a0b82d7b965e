//! The number of a chip, read by the standard ISO 11784: 15 digits, of which three name a country
//! (ISO 3166-1 numeric) or a maker, and twelve the animal (38 bits, so at most 274 877 906 943).
//!
//! The 15 digits hold no check digit: one wrong digit gives another number that looks as good.
//! So the number is read with a reader and compared, never typed from memory. A number that is
//! not of the standard (older chips have 9 or 10 characters) is kept and marked, never refused.

use super::{Fault, View};
use crate::record::{DoneKind, DoneValue, Facts, PupId};
use crate::references::{self as source, Sourced};

/// The largest number of an animal: 38 bits.
const LARGEST_ANIMAL: Sourced<u64> = Sourced::new((1 << 38) - 1, &source::CHIP_SERIAL);
/// The codes of makers.
const MAKERS: Sourced<(u16, u16)> = Sourced::new((900, 998), &source::CHIP_RANGES);
/// For trying out readers; never in an animal.
const TEST_CODE: Sourced<u16> = Sourced::new(999, &source::CHIP_RANGES);
const DIGITS: Sourced<usize> = Sourced::new(15, &source::CHIP_CODE);
/// Characters of older chips.
const OLDER: Sourced<[usize; 2]> = Sourced::new([9, 10], &source::CHIP_OLDER);

/// What a number says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChipReading {
    Country {
        code: u16,
        name: &'static str,
    },
    Maker {
        code: u16,
    },
    /// The code 999.
    Test,
    /// 15 digits, but no country has the code.
    UnknownCountry {
        code: u16,
    },
    /// 15 digits, but the animal's number does not fit into its 38 bits.
    TooLarge,
    /// 9 or 10 characters: an older chip.
    Older,
    /// Any other length, or letters.
    Other,
}

impl ChipReading {
    /// A number that an animal can carry by the standard.
    #[must_use]
    pub const fn is_standard(&self) -> bool {
        matches!(self, Self::Country { .. } | Self::Maker { .. })
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Country { code, name } => format!("of the standard; country {code:03}, {name}"),
            Self::Maker { code } => format!("of the standard; {code} is a maker of chips, no country"),
            Self::Test => "999 is the code for trying out readers: no animal carries it. Read it again".into(),
            Self::UnknownCountry { code } => format!("{code:03} is the code of no country. Read it again"),
            Self::TooLarge => format!(
                "the last 12 digits are larger than the standard can hold ({}). Read it again",
                LARGEST_ANIMAL.value
            ),
            Self::Older => {
                "not of the standard ISO 11784 (15 digits): an older chip, which not every reader reads".into()
            }
            Self::Other => "not of the standard ISO 11784, which has 15 digits and no letters. Read it again".into(),
        }
    }
}

/// Reads a number: letters and digits without gaps.
#[must_use]
pub fn read(number: &str) -> ChipReading {
    let is_digits = number.chars().all(|c| c.is_ascii_digit());
    if !is_digits || number.len() != DIGITS.value {
        let is_older = OLDER.value.contains(&number.len());
        return if is_older { ChipReading::Older } else { ChipReading::Other };
    }
    let (Ok(code), Ok(animal)) = (number[..3].parse::<u16>(), number[3..].parse::<u64>()) else {
        return ChipReading::Other;
    };
    if animal > LARGEST_ANIMAL.value {
        return ChipReading::TooLarge;
    }
    match (code, country(code)) {
        (code, _) if code == TEST_CODE.value => ChipReading::Test,
        (code, _) if (MAKERS.value.0..=MAKERS.value.1).contains(&code) => ChipReading::Maker { code },
        (code, Some(name)) => ChipReading::Country { code, name },
        (code, None) => ChipReading::UnknownCountry { code },
    }
}

/// The country of a numeric code.
fn country(code: u16) -> Option<&'static str> {
    countries().find(|(c, _)| *c == code).map(|(_, name)| name)
}

fn countries() -> impl Iterator<Item = (u16, &'static str)> {
    let lines = include_str!("../../data/chip_countries.csv").lines().filter(|l| !l.starts_with('#')).skip(1);
    lines.filter_map(|line| line.split_once(',')).filter_map(|(code, name)| Some((code.parse().ok()?, name)))
}

/// As it is shown: the three digits apart from the twelve.
#[must_use]
pub fn shown(number: &str) -> String {
    if number.len() == DIGITS.value && number.is_ascii() {
        format!("{} {}", &number[..3], &number[3..])
    } else {
        number.to_owned()
    }
}

/// The chips of a litter, each with its pup; the one read last counts.
#[must_use]
pub fn numbers(facts: &Facts) -> Vec<(&PupId, &str)> {
    facts.pups.iter().filter_map(|p| Some((&p.id, number(facts, &p.id)?))).collect()
}

/// The chip of one pup; the one read last counts.
#[must_use]
pub fn number<'f>(facts: &'f Facts, pup: &'f PupId) -> Option<&'f str> {
    match &facts.done_for(Some(pup), DoneKind::Chip).next_back()?.value {
        DoneValue::ChipNumber(number) => Some(number.as_str()),
        _ => None,
    }
}

pub(super) fn faults(view: &View<'_>, facts: &Facts) -> Vec<Fault> {
    let all = numbers(facts);
    let Some((_, mine)) = all.iter().find(|(pup, _)| **pup == view.pup.id) else { return Vec::new() };
    let since = view.days_of(DoneKind::Chip).last().copied().unwrap_or(view.today);
    let fault = |code, says, source| Fault { code, pup: view.pup.id.clone(), says, since, source };
    let mut faults = Vec::new();
    let reading = read(mine);
    if !reading.is_standard() {
        let says = format!("chip {}: {}.", shown(mine), reading.words());
        faults.push(fault("chip-not-standard", says, &source::CHIP_CODE));
    }
    for (other, _) in all.iter().filter(|(pup, number)| **pup != view.pup.id && number == mine) {
        let says = format!(
            "chip {} is written down for {other} too: no two animals carry one number. Read both again.",
            shown(mine)
        );
        faults.push(fault("chip-twice", says, &source::CHIP_TWICE));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_chip_numbers() {
        // Care handbook section 14, checks 27 to 30; the ranges of section 9.
        assert_eq!(read("276274877906943"), ChipReading::Country { code: 276, name: "Germany" });
        assert_eq!(read("276274877906944"), ChipReading::TooLarge, "over 2^38 - 1");
        assert_eq!(read("27627487790694"), ChipReading::Other, "14 digits");
        assert_eq!(read("2762748779069430"), ChipReading::Other, "16 digits");
        assert_eq!(read("27627487790694A"), ChipReading::Other);
        assert_eq!(read("000000000000001"), ChipReading::UnknownCountry { code: 0 });
        assert_eq!(read("900000000000001"), ChipReading::Maker { code: 900 });
        assert_eq!(read("998000000000001"), ChipReading::Maker { code: 998 });
        assert_eq!(read("999000000000001"), ChipReading::Test);
        assert_eq!(read("899000000000001"), ChipReading::UnknownCountry { code: 899 }, "of no country");
    }

    #[test]
    fn older_chips_are_kept_and_marked() {
        assert_eq!(read("123456789"), ChipReading::Older);
        assert_eq!(read("00012AB4C5"), ChipReading::Older);
        assert_eq!(shown("00012AB4C5"), "00012AB4C5");
        assert!(!read("00012AB4C5").is_standard());
        assert_eq!(shown("276098106004321"), "276 098106004321");
    }

    #[test]
    fn country_codes_are_those_of_iso_3166() {
        let on_record = include_str!("../../tests/reference/country_codes.csv");
        let theirs: Vec<u16> = on_record.lines().skip(1).map(|l| l.parse().unwrap()).collect();
        let ours: Vec<u16> = countries().map(|(code, _)| code).collect();
        assert!(theirs.len() > 200);
        assert_eq!(ours, theirs);
        assert!(countries().all(|(code, name)| code < 900 && !name.is_empty()));
    }
}
