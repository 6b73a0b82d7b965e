//! One data report: status, unit, power of ten, 16 bits of weight.

use super::DataReport;

/// A weight as the scale shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// Rounded to the nearest milligram.
    pub mg: i64,
    /// What one count of the report is worth, mg, at least 1. The scale's own steps may be larger.
    pub count_mg: i64,
}

/// What a report says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// Nothing lies on it and it stands still.
    Zero,
    Moving(Shown),
    /// Never zero.
    Stable(Shown),
}

/// Why a report gives no weight. The text says what to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    #[error("the scale reports a fault: take everything off, switch it off and on again")]
    Fault,
    #[error("the scale shows less than zero: take everything off and press zero")]
    UnderZero,
    #[error("there is too much on the scale: take it off")]
    OverLimit,
    #[error("the scale asks to be calibrated: see its manual, and type the weight until then")]
    NeedsCalibration,
    #[error("the scale asks to be set to zero: take everything off and press zero")]
    NeedsZero,
    #[error("the scale sends status {0}, which is not known (known: 1 to 8): type the weight")]
    UnknownStatus(u8),
    #[error("the scale weighs in a unit that is not read here (code {0}): set it to g, kg, oz or lb")]
    UnknownUnit(u8),
    #[error("the scale sends a power of ten of {0} (allowed: -6 to 3): type the weight")]
    PowerOfTen(i8),
    #[error("the scale sends a report of {0} bytes, which is too short: type the weight")]
    Short(usize),
    #[error("report {0} of the scale carries no weight")]
    OtherReport(u8),
}

/// Nanograms of one unit by its code; exact (NIST SP 811, appendix B.8, as in `units`).
const fn nanograms(unit: u8) -> Option<i128> {
    match unit {
        1 => Some(1_000_000),         // mg
        2 => Some(1_000_000_000),     // g
        3 => Some(1_000_000_000_000), // kg
        11 => Some(28_349_523_125),   // oz
        12 => Some(453_592_370_000),  // lb
        _ => None,
    }
}

/// Beyond this no scale of the house is meant; it also keeps the arithmetic exact.
const POWERS: std::ops::RangeInclusive<i8> = -6..=3;

/// Reads one report as it came from the device.
///
/// # Errors
/// What is wrong, with what to do.
pub fn decode(layout: DataReport, bytes: &[u8]) -> Result<Reading, Trouble> {
    let body = match layout {
        DataReport::Numbered(id) => match bytes {
            [found, ..] if *found != id => return Err(Trouble::OtherReport(*found)),
            [_, body @ ..] => body,
            [] => return Err(Trouble::Short(0)),
        },
        DataReport::Unnumbered => bytes,
    };
    let [status, unit, power, low, high, ..] = *body else { return Err(Trouble::Short(bytes.len())) };
    match status {
        1 => Err(Trouble::Fault),
        2 => Ok(Reading::Zero),
        3 => shown(unit, power, [low, high]).map(Reading::Moving),
        4 => Ok(match shown(unit, power, [low, high])? {
            // Nothing is no weight of a pup.
            Shown { mg: 0, .. } => Reading::Zero,
            shown => Reading::Stable(shown),
        }),
        5 => Err(Trouble::UnderZero),
        6 => Err(Trouble::OverLimit),
        7 => Err(Trouble::NeedsCalibration),
        8 => Err(Trouble::NeedsZero),
        other => Err(Trouble::UnknownStatus(other)),
    }
}

fn shown(unit: u8, power: u8, raw: [u8; 2]) -> Result<Shown, Trouble> {
    let unit_ng = nanograms(unit).ok_or(Trouble::UnknownUnit(unit))?;
    // A plain signed byte: taken otherwise, +1 becomes -1, a hundredfold slip.
    let power = i8::from_le_bytes([power]);
    if !POWERS.contains(&power) {
        return Err(Trouble::PowerOfTen(power));
    }
    let raw = i128::from(u16::from_le_bytes(raw));
    Ok(Shown { mg: milligrams(raw * unit_ng, power), count_mg: milligrams(unit_ng, power).max(1) })
}

/// Nanograms times a power of ten as milligrams, half up.
fn milligrams(nanograms: i128, power: i8) -> i64 {
    let ten = 10_i128.pow(u32::from(power.unsigned_abs()));
    let (top, bottom) = if power < 0 { (nanograms, ten * 1_000_000) } else { (nanograms * ten, 1_000_000) };
    i64::try_from((2 * top + bottom) / (2 * bottom)).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    const BY_THREE: DataReport = DataReport::Numbered(3);

    fn bytes(hex: &str) -> Vec<u8> {
        hex.split_whitespace().map(|b| u8::from_str_radix(b, 16).unwrap()).collect()
    }

    fn mg(hex: &str) -> i64 {
        match decode(BY_THREE, &bytes(hex)) {
            Ok(Reading::Stable(shown)) => shown.mg,
            other => panic!("{hex}: {other:?}"),
        }
    }

    /// Worked out by hand from the layout of the report and the exact units.
    #[test]
    fn a_stable_weight_reads_in_every_unit_and_power() {
        for (hex, expected) in [
            ("03 04 02 00 65 01", 357_000),
            ("03 04 02 FF D2 0D", 353_800),
            ("03 04 0B FF 7E 00", 357_204),
            ("03 04 0C FE 4F 00", 358_338),
            ("03 04 03 FD 65 01", 357_000),
            ("03 04 02 00 E8 03", 1_000_000),
            ("03 04 02 FE FF FF", 655_350),
            ("03 04 01 03 65 01", 357_000),
            // The power of ten keeps its sign: +1 is ten times, never a tenth.
            ("03 04 02 01 23 00", 350_000),
            ("03 04 02 03 01 00", 1_000_000),
            ("03 04 03 FA 65 01", 357),
        ] {
            assert_eq!(mg(hex), expected, "{hex}");
        }
        // 65 535 pounds times a thousand: absurd, and still exact.
        assert_eq!(mg("03 04 0C 03 FF FF"), 29_726_175_967_950);
    }

    #[test]
    fn one_count_is_the_unit_times_the_power() {
        let count = |hex: &str| match decode(BY_THREE, &bytes(hex)) {
            Ok(Reading::Stable(shown)) => shown.count_mg,
            other => panic!("{hex}: {other:?}"),
        };
        assert_eq!(count("03 04 02 00 65 01"), 1_000);
        assert_eq!(count("03 04 02 FF D2 0D"), 100);
        assert_eq!(count("03 04 0B FF 7E 00"), 2_835);
        assert_eq!(count("03 04 02 FB FF FF"), 1, "never less than the smallest that is kept");
    }

    #[test]
    fn an_empty_scale_is_ready_and_no_weight() {
        assert_eq!(decode(BY_THREE, &bytes("03 02 02 00 00 00")), Ok(Reading::Zero));
        assert_eq!(decode(BY_THREE, &bytes("03 04 02 00 00 00")), Ok(Reading::Zero));
    }

    #[test]
    fn a_moving_weight_says_so() {
        let Ok(Reading::Moving(shown)) = decode(BY_THREE, &bytes("03 03 02 00 4A 01")) else { panic!() };
        assert_eq!(shown.mg, 330_000);
    }

    #[test]
    fn what_gives_no_weight_says_why() {
        for (hex, expected) in [
            ("03 05 02 00 0C 00", Trouble::UnderZero),
            ("03 06 02 00 00 00", Trouble::OverLimit),
            ("03 07 02 00 65 01", Trouble::NeedsCalibration),
            ("03 08 02 00 65 01", Trouble::NeedsZero),
            ("03 01 02 00 65 01", Trouble::Fault),
            ("03 09 02 00 65 01", Trouble::UnknownStatus(9)),
            ("03 00 02 00 65 01", Trouble::UnknownStatus(0)),
            ("03 04 0D 00 65 01", Trouble::UnknownUnit(13)),
            ("03 04 00 00 65 01", Trouble::UnknownUnit(0)),
            // Carats, tael and tons are no unit for a pup.
            ("03 04 04 00 65 01", Trouble::UnknownUnit(4)),
            ("03 04 02 80 65 01", Trouble::PowerOfTen(-128)),
            ("03 04 02 04 65 01", Trouble::PowerOfTen(4)),
            ("03 04 02 F9 65 01", Trouble::PowerOfTen(-7)),
            ("03 04 02 00 65", Trouble::Short(5)),
            ("", Trouble::Short(0)),
            ("04 04 02 00 65 01", Trouble::OtherReport(4)),
        ] {
            assert_eq!(decode(BY_THREE, &bytes(hex)), Err(expected), "{hex}");
        }
    }

    #[test]
    fn a_device_without_report_numbers_is_read_too() {
        let read = |hex: &str| decode(DataReport::Unnumbered, &bytes(hex));
        let Ok(Reading::Stable(shown)) = read("04 02 00 14 00") else { panic!() };
        assert_eq!(shown.mg, 20_000);
        // 645.2 oz × 28 349.523 125 mg = 18 291 112.32 mg.
        let Ok(Reading::Stable(shown)) = read("04 0B FF 34 19") else { panic!() };
        assert_eq!(shown.mg, 18_291_112);
        assert_eq!(read("04 02 00 14"), Err(Trouble::Short(4)));
    }

    #[test]
    fn every_trouble_says_what_to_do_in_one_sentence() {
        for trouble in [
            Trouble::Fault,
            Trouble::UnderZero,
            Trouble::OverLimit,
            Trouble::NeedsCalibration,
            Trouble::NeedsZero,
            Trouble::UnknownStatus(9),
            Trouble::UnknownUnit(13),
            Trouble::PowerOfTen(-128),
            Trouble::Short(5),
        ] {
            let text = trouble.to_string();
            assert!(text.contains(": ") && !text.ends_with('.'), "{text}");
        }
    }
}
