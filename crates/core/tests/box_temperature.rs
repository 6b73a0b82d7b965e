//! The box over time: each reading against the target of its own day.

mod common;

use common::{DAY, Litter, at};
use whelpward_core::report::box_temperature::{Against, What, box_temperature};
use whelpward_core::units::Celsius;

fn c(value: f64) -> Celsius {
    Celsius::new(value).unwrap()
}

/// Targets are those of the care handbook: 29 to 32 °C in week 1, 27 to 29 in week 2.
#[test]
fn a_reading_is_judged_by_the_target_of_its_own_day() {
    let litter = Litter::nursing(400.0)
        .dam_check(10.0, "box_temperature_c", "28.9")
        .dam_check(20.0, "box_temperature_c", "29.0")
        .dam_check(30.0, "box_temperature_c", "32.0")
        .dam_check(40.0, "box_temperature_c", "32.1")
        .dam_check(8.0 * DAY, "box_temperature_c", "28.9");
    let report = box_temperature(&litter.facts(), at(9.0 * DAY));
    let against: Vec<_> = report.readings.iter().map(|r| r.against).collect();
    assert_eq!(against, [Against::Below, Against::Within, Against::Within, Against::Above, Against::Within]);
    assert_eq!(report.target, Some((c(27.0), c(29.0))));
    let steps: Vec<_> = report.targets.iter().map(|s| (s.from, s.to, s.low, s.high)).collect();
    assert_eq!(steps, [(at(10.0), at(7.0 * DAY), c(29.0), c(32.0)), (at(7.0 * DAY), at(9.0 * DAY), c(27.0), c(29.0))]);
    assert!(!report.is_old);
}

#[test]
fn a_reading_is_old_after_a_day_and_a_cold_pup_is_an_event() {
    let litter =
        Litter::nursing(400.0).dam_check(10.0, "box_temperature_c", "30").rectal(11.0, "34.9").rectal(12.0, "35.0");
    let report = |hours: f64| box_temperature(&litter.facts(), at(hours));
    assert!(!report(34.0).is_old);
    assert!(report(34.1).is_old);
    let events: Vec<_> = report(34.0).events.into_iter().map(|e| (e.at, e.what)).collect();
    assert_eq!(events, [(at(11.0), What::Cold(c(34.9)))], "the birth came before the first reading");
}

#[test]
fn before_the_birth_there_is_no_target() {
    let litter = Litter::expecting().dam_check(-20.0, "box_temperature_c", "22");
    let report = box_temperature(&litter.facts(), at(-10.0));
    assert_eq!(report.readings[0].against, Against::NoTarget);
    assert!(report.target.is_none() && report.targets.is_empty());
}
