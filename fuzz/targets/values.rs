//! The values of a form or a command: numbers, weights, times, hours of a week, ids.
#![no_main]

use jiff::tz::TimeZone;
use libfuzzer_sys::fuzz_target;
use whelpward_core::book::FactId;
use whelpward_core::record::{Nearest, WeeklyHours, WeightUnit, read_said_time};
use whelpward_core::units::{number, parse_decimal};

fuzz_target!(|text: &str| {
    if let Ok(value) = parse_decimal(text) {
        assert!(value.is_finite() && value >= 0.0, "{text:?} is {value}");
        // As much as is shown reads as the same number again.
        let shown = number(value, 3, false).replace('\u{202f}', "");
        assert!((parse_decimal(&shown).expect("our own number") - value).abs() <= 0.0005 + value * 1e-12, "{text:?}");
    }
    for unit in [WeightUnit::Gram, WeightUnit::Ounce, WeightUnit::PoundOunce] {
        if let Ok(weight) = unit.parse(text) {
            assert!(weight.get().is_finite() && weight.get() >= 0.0, "{text:?} {}", unit.word());
            #[expect(clippy::cast_precision_loss, reason = "a few kilograms")]
            let milligrams = weight.milligrams() as f64;
            assert_eq!(weight.get(), milligrams / 1000.0, "{text:?} is no whole milligram");
        }
    }
    let zone = TimeZone::get("Europe/Berlin").expect("bundled");
    let now = "2026-10-25T03:30+01:00".parse().expect("a time");
    for nearest in [Nearest::Last, Nearest::Next] {
        if let Ok(at) = read_said_time(text, nearest, now, &zone) {
            // What was read can be said again with its offset.
            assert_eq!(read_said_time(&at.to_string(), nearest, now, &zone), Ok(at));
        }
    }
    let _ = WeeklyHours::parse(text.split(';'));
    if let Ok(id) = text.parse::<FactId>() {
        assert_eq!(id.to_string().parse(), Ok(id));
    }
});
