//! The rules on warmth (safety rules, "Warmth"), each at both sides of its edge.
//!
//! Numbers come from the safety rules and the care handbook, sections 4, 13 and 15.

mod common;

use common::{DAY, Litter, PUP, amounts, amounts_in, asks, only_after, pup};
use whelpward_core::assess::Warmth;
use whelpward_core::finding::Level;

/// A pup of this weight and age in hours, fed by hand, with one rectal reading just taken.
fn read_at(age_h: f64, grams: f64, celsius: &str) -> Litter {
    Litter::hand_fed(grams, 1.0).weigh(age_h - 1.0, grams).rectal(age_h, celsius)
}

fn is_fed(age_h: f64, celsius: &str) -> bool {
    read_at(age_h, 400.0, celsius).next(age_h).is_ok()
}

#[test]
fn a_cold_pup_gets_no_amount() {
    // Red flag P1: 35.0 °C on days 0-6, 36.0 °C from day 7 on.
    for (days, cold, warm) in [
        (0.5, "34.9", "35.0"),
        (6.99, "34.9", "35.0"),
        (7.0, "35.9", "36.0"),
        (20.9, "35.9", "36.0"),
        (21.0, "35.9", "36.0"),
        (30.9, "35.9", "36.0"),
    ] {
        assert!(!is_fed(days * DAY, cold), "day {days} at {cold} °C");
        assert!(is_fed(days * DAY, warm), "day {days} at {warm} °C");
    }
    // Nowhere in the report, and nowhere in the next 24 hours.
    let cold = read_at(72.0, 400.0, "34.9");
    assert!(amounts_in(&cold.json(72.0)).is_empty());
    assert!(amounts(&cold.line(72.0), 72.0).is_empty());
    assert!(cold.next(72.0).unwrap_err().contains("NO MILK"));
    // Time lifts nothing; a new rectal reading in range does.
    assert!(cold.clone().weigh(90.0, 400.0).next(92.0).is_err());
    assert!(cold.rectal(73.0, "35.0").next(73.0).is_ok());
}

#[test]
fn a_reading_in_fahrenheit_meets_the_same_limit() {
    // Care handbook section 14, check 8: 95 °F is 35.0 °C.
    let next = |fahrenheit: &str| {
        Litter::hand_fed(400.0, 1.0).weigh(71.0, 400.0).check(72.0, "rectal_temperature_f", fahrenheit).next(72.0)
    };
    assert!(next("95").is_ok());
    assert!(next("94.9").is_err());
}

#[test]
fn a_reading_in_range_for_the_week_before_does_not_clear_day_7() {
    // 35.5 °C is warm on day 6 and cold on day 7; the round is on day 7.
    let feed = read_at(167.0, 400.0, "35.5").propose(167.0, 168.5, 8.0).unwrap();
    assert!(asks(&feed, "warm"), "{:?}", only_after(&feed));
    let feed = read_at(167.0, 400.0, "36.0").propose(167.0, 168.5, 8.0).unwrap();
    assert!(!asks(&feed, "warm"), "{:?}", only_after(&feed));
}

#[test]
fn cool_pups_of_days_21_to_30_are_watched_and_fed_if_active() {
    // Red flag P1a: 36.0 to 36.9 °C.
    for (days, celsius, expected) in [
        (20.9, "36.9", None),
        (21.0, "36.0", Some(Level::KeepWatch)),
        (21.0, "36.9", Some(Level::KeepWatch)),
        (21.0, "37.0", None),
        (30.9, "36.9", Some(Level::KeepWatch)),
        (31.0, "36.9", None),
    ] {
        let hours = days * DAY;
        assert_eq!(read_at(hours, 900.0, celsius).level(hours, "cool"), expected, "day {days} at {celsius}");
    }
    let feed = read_at(504.0, 900.0, "36.5").next(504.0).unwrap();
    assert!(asks(&feed, "active") && asks(&feed, "sucking"), "{:?}", only_after(&feed));
    assert_eq!(read_at(504.0, 900.0, "35.9").level(504.0, "cold"), Some(Level::NeedsHelp));
}

#[test]
fn vet_now_below_34_4() {
    // Red flag P2; a large pup, just read, so that no clock has run.
    for hours in [72.0, 240.0] {
        let level = |celsius: &str| read_at(hours, 500.0, celsius).level(hours, "cold");
        assert_eq!(level("34.4"), Some(Level::NeedsHelp), "{hours} h");
        assert_eq!(level("34.3"), Some(Level::VetNow), "{hours} h");
    }
}

#[test]
fn do_not_wait_below_32_2() {
    // Red flag P3.
    let action = |celsius: &str| {
        let finding = read_at(72.0, 500.0, celsius).finding(72.0, "cold").unwrap();
        assert_eq!(finding.level, Level::VetNow);
        finding.action
    };
    assert!(action("32.1").contains("do not wait"));
    assert!(!action("32.2").contains("do not wait"));
}

#[test]
fn rewarming_rate() {
    // Care handbook section 4: at most 1 °C an hour; above 2 is an alarm.
    // Section 14, check 12: 33.0 at 10:00 and 34.2 at 10:45 is 1.6 °C an hour.
    let level = |minutes: f64, to: &str| {
        let litter =
            Litter::hand_fed(500.0, 1.0).weigh(99.0, 500.0).rectal(100.0, "33.0").rectal(100.0 + minutes / 60.0, to);
        litter.level(100.0 + minutes / 60.0, "warming-too-fast")
    };
    assert_eq!(level(60.0, "34.0"), None, "1.0");
    assert_eq!(level(60.0, "34.1"), Some(Level::NeedsHelp), "1.1");
    assert_eq!(level(45.0, "34.2"), Some(Level::NeedsHelp), "1.6");
    assert_eq!(level(60.0, "35.0"), Some(Level::NeedsHelp), "2.0");
    assert_eq!(level(60.0, "35.1"), Some(Level::VetToday), "2.1");
    // The way to warm is said with every cold pup.
    let action = read_at(72.0, 500.0, "34.0").finding(72.0, "cold").unwrap().action;
    for words in ["no more than 1 °C an hour", "never leave a heat source alone", "room to crawl away"] {
        assert!(action.contains(words), "{words}: {action}");
    }
}

#[test]
fn a_clearance_lasts_two_hours() {
    let asks_warm = |hours_later: f64| {
        asks(&read_at(72.0, 400.0, "36.0").propose(72.0 + hours_later, 72.0 + hours_later, 6.0).unwrap(), "warm")
    };
    assert!(!asks_warm(119.0 / 60.0));
    assert!(asks_warm(121.0 / 60.0));
    // A later round of the same plan asks again.
    assert!(!asks(&read_at(72.0, 400.0, "36.0").propose(72.0, 73.98, 6.0).unwrap(), "warm"));
    assert!(asks(&read_at(72.0, 400.0, "36.0").propose(72.0, 74.02, 6.0).unwrap(), "warm"));
}

#[test]
fn no_other_reading_clears_a_pup() {
    for kind in ["skin_temperature_c", "ear_temperature_c", "infrared_temperature_c"] {
        let litter = Litter::hand_fed(400.0, 1.0).weigh(71.0, 400.0);
        let warm = litter.clone().check(72.0, kind, "36.5");
        assert!(asks(&warm.next(72.0).unwrap(), "warm (rectal"), "{kind} in range");
        // It does not lift a cold rectal reading either.
        assert!(
            litter.clone().rectal(71.5, "34.9").check(72.0, kind, "36.5").next(72.0).is_err(),
            "{kind} after a cold one"
        );
        // A low one raises a suspicion, and takes a clearance back.
        let low = litter.clone().rectal(71.5, "36.0").check(72.0, kind, "34.9");
        assert_eq!(low.level(72.0, "feels-cold"), Some(Level::KeepWatch), "{kind}");
        assert!(asks(&low.next(72.0).unwrap(), "warm (rectal"), "{kind} low");
        let at_the_limit = litter.rectal(71.5, "36.0").check(72.0, kind, "35.0");
        assert_eq!(at_the_limit.level(72.0, "feels-cold"), None, "{kind} at the limit");
    }
}

#[test]
fn unknown_is_not_warm_in_the_first_two_weeks() {
    let conditions = |days: f64| {
        let hours = days * DAY;
        only_after(
            &Litter::hand_fed(400.0, 1.0)
                .weigh(hours - 1.0, 600.0)
                .bottle(hours - 3.0, 6.0)
                .propose(hours, hours, 10.0)
                .unwrap(),
        )
    };
    let early = conditions(13.99);
    assert!(early.iter().any(|c| c.starts_with("warm")) && early.iter().any(|c| c == "sucking"), "{early:?}");
    assert!(conditions(14.0).is_empty(), "{:?}", conditions(14.0));
    // A light pup topped up beside its dam is asked as well (25 % below the litter's mean).
    let light =
        Litter::new().pup(PUP, 200.0, "").pup("Elm", 340.0, "").pup("Oak", 340.0, "").milk(1.0).weigh(29.0, 205.0);
    let line = light.line(30.0);
    let feed = match &line.guide.next[0] {
        whelpward_core::guide::NextFeed::Feed(feed) => feed,
        other => panic!("{other:?}"),
    };
    assert!(asks(feed, "warm") && asks(feed, "sucking"));
    // A strong suck counts as long as a warm reading does.
    let sucked = |minutes: f64| {
        let litter = Litter::hand_fed(400.0, 1.0).weigh(71.0, 400.0).check(72.0, "suck", "strong");
        asks(&litter.propose(72.0 + minutes / 60.0, 72.0 + minutes / 60.0, 6.0).unwrap(), "sucking")
    };
    assert!(!sucked(119.0) && sucked(121.0));
}

#[test]
fn a_withheld_feed_starts_a_clock() {
    // Recheck every 30 min.
    let action = |minutes: f64| read_at(72.0, 500.0, "34.8").finding(72.0 + minutes / 60.0, "cold").unwrap().action;
    assert!(action(29.0).contains("again at 00:30"), "{}", action(29.0));
    assert!(action(30.0).contains("again now"), "{}", action(30.0));
    // Not feedable after 1 h in a small pup: vet now. Small: below 300 g.
    let level = |grams: f64, minutes: f64| read_at(72.0, grams, "34.8").level(72.0 + minutes / 60.0, "cold");
    assert_eq!(level(299.0, 59.0), Some(Level::NeedsHelp));
    assert_eq!(level(299.0, 60.0), Some(Level::VetNow));
    assert_eq!(level(300.0, 60.0), Some(Level::NeedsHelp));
    // The clock starts at the first cold reading of the run and no later cold one resets it.
    let rechecked = read_at(72.0, 299.0, "34.5").rectal(72.9, "34.9");
    assert_eq!(rechecked.level(73.0, "cold"), Some(Level::VetNow));
    let warm_between = read_at(72.0, 299.0, "34.5").rectal(72.5, "35.0").rectal(72.9, "34.9");
    assert_eq!(warm_between.level(73.0, "cold"), Some(Level::NeedsHelp));
}

#[test]
fn a_second_withheld_feed_is_vet_now() {
    // Week 1: 8 feeds, every 3 h. Fed at 72 h, cold at 75 h when the next is due (withheld once);
    // the second is due at 78 h.
    let litter = Litter::hand_fed(500.0, 1.0).weigh(71.0, 500.0).bottle(72.0, 6.0).rectal(75.0, "34.8");
    assert_eq!(litter.level(77.95, "cold"), Some(Level::NeedsHelp));
    assert_eq!(litter.level(78.0, "cold"), Some(Level::VetNow));
    // Week 2: 6 feeds, every 4 h.
    let litter = Litter::hand_fed(500.0, 1.0).weigh(200.0, 500.0).bottle(200.0, 12.0).rectal(204.0, "35.8");
    assert_eq!(litter.level(207.95, "cold"), Some(Level::NeedsHelp));
    assert_eq!(litter.level(208.0, "cold"), Some(Level::VetNow));
}

#[test]
fn too_hot_by_age() {
    // Care handbook section 4 (SAIM Box 57.3): tops 37.2, 37.8 and 38.3 °C. "At weaning" is taken
    // from week 5 on (our choice).
    for (days, top, above) in [
        (3.0, "37.2", "37.3"),
        (6.9, "37.2", "37.3"),
        (7.0, "37.8", "37.9"),
        (27.9, "37.8", "37.9"),
        (28.0, "38.3", "38.4"),
    ] {
        let hours = days * DAY;
        assert_eq!(read_at(hours, 900.0, top).level(hours, "too-hot"), None, "day {days} at {top}");
        assert_eq!(
            read_at(hours, 900.0, above).level(hours, "too-hot"),
            Some(Level::NeedsHelp),
            "day {days} at {above}"
        );
    }
    let finding = read_at(72.0, 900.0, "37.3").finding(72.0, "too-hot").unwrap();
    for words in ["Cool the box", "open a cool end", "15 to 30 min"] {
        assert!(finding.action.contains(words), "{words}: {}", finding.action);
    }
    // Vet today if it stays: a second hot reading 15 min later, no sooner.
    let again =
        |minutes: f64| read_at(72.0, 900.0, "37.5").rectal(72.0 + minutes / 60.0, "37.4").level(72.6, "too-hot");
    assert_eq!(again(14.0), Some(Level::NeedsHelp));
    assert_eq!(again(15.0), Some(Level::VetToday));
    // A hot pup is fed only after it reads in range.
    let feed = read_at(72.0, 900.0, "37.3").next(72.0).unwrap();
    assert!(asks(&feed, "warm (rectal 35.0 °C to 37.2 °C)"), "{:?}", only_after(&feed));
    // Panting, red or splayed counts without a reading.
    let panting = Litter::nursing(400.0).weigh(71.0, 440.0).check(72.0, "behaviour", "panting");
    assert_eq!(panting.level(72.0, "panting"), Some(Level::NeedsHelp));
}

#[test]
fn a_box_outside_its_target_is_watched() {
    // Growth handbook section 6: week 1 29-32 °C, week 2 27-29, weeks 3-4 24-27, later 21-24.
    let level = |days: f64, celsius: &str, code: &str| {
        Litter::nursing(400.0).dam_check(days * DAY, "box_temperature_c", celsius).litter_level(days * DAY, code)
    };
    for (days, low, high) in [(6.9, 29, 32), (7.0, 27, 29), (14.0, 24, 27), (28.0, 21, 24)] {
        assert_eq!(level(days, &format!("{low}.0"), "box-cold"), None, "day {days}");
        assert_eq!(level(days, &format!("{}.9", low - 1), "box-cold"), Some(Level::KeepWatch), "day {days}");
        assert_eq!(level(days, &format!("{high}.0"), "box-hot"), None, "day {days}");
        assert_eq!(level(days, &format!("{high}.1"), "box-hot"), Some(Level::KeepWatch), "day {days}");
    }
}

#[test]
fn warmth_is_named_by_its_reading() {
    let warmth = |celsius: &str| pup(&read_at(72.0, 400.0, celsius).line(72.0)).warmth.clone();
    assert!(matches!(warmth("34.9"), Warmth::Cold(_)));
    assert!(matches!(warmth("35.0"), Warmth::InRange { .. }));
    assert!(matches!(warmth("37.3"), Warmth::Hot { .. }));
}
