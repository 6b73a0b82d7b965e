//! The rules on the dam and the birth (safety rules, "Dam and birth"; care handbook sections 7,
//! 11 and 13), each at both sides of its edge.

mod common;

use common::{DAY, Litter, PUP, at};
use whelpward_core::finding::Level;
use whelpward_core::need::Why;

fn whelped() -> Litter {
    Litter::nursing(400.0)
}

/// A dam in labour since hour 0, with nothing born yet.
fn in_labour() -> Litter {
    Litter::expecting().dam_check(0.0, "labour", "begun")
}

/// In labour, with a first pup born at hour 0 and more expected.
fn one_born() -> Litter {
    whelped().keys("expected_pups = 4").dam_check(0.0, "labour", "begun")
}

#[test]
fn published_dam_temperature() {
    // Red flag D1: above 39.5 °C at any time, above 39.2 °C after 24 h; section 15: 39.2 to 39.5 on
    // the first day is watched.
    let level = |hours: f64, celsius: &str| {
        whelped().dam_check(hours, "dam_temperature_c", celsius).litter_level(hours, "dam-fever")
    };
    for (hours, celsius, expected) in [
        (12.0, "39.2", None),
        (12.0, "39.3", Some(Level::KeepWatch)),
        (12.0, "39.5", Some(Level::KeepWatch)),
        (12.0, "39.6", Some(Level::VetToday)),
        (24.0, "39.5", Some(Level::KeepWatch)),
        (24.1, "39.2", None),
        (24.1, "39.3", Some(Level::VetToday)),
        (20.0 * DAY, "39.3", Some(Level::VetToday)),
    ] {
        assert_eq!(level(hours, celsius), expected, "{celsius} °C at {hours} h");
    }
    // From late pregnancy on.
    let expecting = Litter::expecting().dam_check(0.0, "dam_temperature_c", "39.3");
    assert_eq!(expecting.litter_level(0.1, "dam-fever"), Some(Level::VetToday));
}

#[test]
fn dam_signs() {
    // Red flags D2, D3 and D4.
    for (kind, value, code, expected) in [
        ("dam_behaviour", "restless_panting", "dam-calcium", Level::VetNow),
        ("dam_behaviour", "stiff_gait", "dam-calcium", Level::VetNow),
        ("dam_behaviour", "tremor", "dam-calcium", Level::VetNow),
        ("dam_behaviour", "seizure", "dam-calcium", Level::VetNow),
        ("dam_behaviour", "refuses_pups", "dam-refuses", Level::VetToday),
        ("dam_discharge", "foul", "dam-discharge", Level::VetToday),
        ("dam_discharge", "creamy", "dam-discharge", Level::VetToday),
        ("dam_glands", "hot_or_hard", "dam-glands", Level::VetToday),
        ("dam_glands", "pus_or_blood", "dam-glands", Level::VetToday),
    ] {
        for hours in [2.0, 20.0 * DAY, 34.0 * DAY] {
            let litter = whelped().dam_check(hours, kind, value);
            assert_eq!(litter.litter_level(hours + 0.1, code), Some(expected), "{value} at {hours} h");
        }
        // Any day from late pregnancy on, before there is a pup.
        let expecting = Litter::expecting().dam_check(0.0, kind, value);
        assert_eq!(expecting.litter_level(0.1, code), Some(expected), "{value} while expecting");
        let first = expecting.today(0.1).do_now.remove(0);
        assert!(first.what_to_do.contains("Ring the vet"), "{value}: {}", first.what_to_do);
    }
    for (kind, value) in [("dam_behaviour", "calm"), ("dam_discharge", "red_brown"), ("dam_glands", "normal")] {
        assert!(whelped().dam_check(200.0, kind, value).line(200.0).assessment.litter_findings.is_empty(), "{value}");
    }
    // Green-black is normal for a day after the birth, then not.
    let green =
        |hours: f64| whelped().dam_check(hours, "dam_discharge", "dark_green").litter_level(hours, "dam-discharge");
    assert_eq!(green(24.0), None);
    assert_eq!(green(24.1), Some(Level::VetToday));
}

#[test]
fn pups_off_the_dam_start_a_whole_litter_plan() {
    let litter = || {
        Litter::new()
            .pup(PUP, 400.0, "")
            .pup("Elm", 400.0, "")
            .milk(1.0)
            .weigh(95.0, 500.0)
            .weigh_of("Elm", 95.0, 500.0)
    };
    let whys =
        |litter: &Litter| litter.line(96.0).needs.iter().map(|n| n.as_ref().ok().map(|n| n.why)).collect::<Vec<_>>();
    assert_eq!(whys(&litter()), [None, None]);
    for (kind, value) in [
        ("pups_with_dam", "no"),
        ("dam_behaviour", "refuses_pups"),
        ("dam_behaviour", "tremor"),
        ("dam_behaviour", "restless_panting"),
        ("dam_milk", "none"),
    ] {
        let off = litter().dam_check(95.9, kind, value);
        assert_eq!(whys(&off), [Some(Why::Whole), Some(Why::Whole)], "{value}");
        let first_round = &off.today(96.0).rounds[0];
        assert_eq!(
            (first_round.feeds.len(), first_round.at.as_str()),
            (2, "2026-03-06T00:00:00+00:00"),
            "{value}: at once"
        );
    }
    assert_eq!(whys(&litter().dam("with_pups = false")), [Some(Why::Whole), Some(Why::Whole)]);
    // Back with the dam.
    assert_eq!(
        whys(&litter().dam_check(95.0, "pups_with_dam", "no").dam_check(95.9, "pups_with_dam", "yes")),
        [None, None]
    );
    assert_eq!(whys(&litter().dam_check(95.9, "dam_milk", "little")), [None, None]);
}

#[test]
fn published_labour_limits() {
    // Care handbook section 14, check 26, and section 15 (Jutkowitz 2005, Box 2): strong straining
    // 20 min watch, 30 min vet now, the limit taken as reached.
    let straining = |minutes: f64| {
        in_labour().dam_check(1.0, "straining", "strong").litter_level(1.0 + minutes / 60.0, "straining")
    };
    for (minutes, expected) in [
        (19.0, None),
        (20.0, Some(Level::KeepWatch)),
        (29.0, Some(Level::KeepWatch)),
        (30.0, Some(Level::VetNow)),
        (31.0, Some(Level::VetNow)),
    ] {
        assert_eq!(straining(minutes), expected, "{minutes} min");
    }
    // A later strong check does not restart the clock; a pup or a rest does.
    let again = in_labour().dam_check(1.0, "straining", "strong").dam_check(1.4, "straining", "strong");
    assert_eq!(again.litter_level(1.5, "straining"), Some(Level::VetNow));
    let rest = in_labour().dam_check(1.0, "straining", "strong").dam_check(1.4, "straining", "none").dam_check(
        1.45,
        "straining",
        "strong",
    );
    assert_eq!(rest.litter_level(1.5, "straining"), None);
    let pup = one_born().dam_check(1.0, "straining", "strong").pup_born(1.3, "Elm", 400.0, "");
    assert_eq!(pup.litter_level(1.5, "straining"), None);
    // Weak straining: 4 h.
    let weak = |hours: f64| in_labour().dam_check(1.0, "straining", "weak").litter_level(1.0 + hours, "weak-straining");
    assert_eq!((weak(3.99), weak(4.0)), (None, Some(Level::VetNow)));
    // Gap after a pup with more inside: 2 h watch, 4 h vet now.
    let gap = |hours: f64| one_born().litter_level(hours, "pup-gap");
    for (hours, expected) in
        [(1.99, None), (2.0, Some(Level::KeepWatch)), (3.99, Some(Level::KeepWatch)), (4.0, Some(Level::VetNow))]
    {
        assert_eq!(gap(hours), expected, "{hours} h");
    }
    // Not when all are born, and not when it is over; unknown numbers may mean more.
    let all_born = whelped().keys("expected_pups = 1").dam_check(0.0, "labour", "begun");
    assert_eq!(all_born.litter_level(5.0, "pup-gap"), None);
    assert_eq!(one_born().dam_check(4.5, "labour", "over").litter_level(5.0, "pup-gap"), None);
    assert_eq!(whelped().dam_check(0.0, "labour", "begun").litter_level(4.0, "pup-gap"), Some(Level::VetNow));
}

#[test]
fn green_discharge_in_labour() {
    let green = |litter: Litter, hours: f64| litter.dam_check(hours, "dam_discharge", "dark_green");
    // Before the first pup: vet now, whether or not labour was written down.
    assert_eq!(green(in_labour(), 1.0).litter_level(1.0, "green-discharge"), Some(Level::VetNow));
    assert_eq!(green(Litter::expecting(), 1.0).litter_level(1.0, "green-discharge"), Some(Level::VetNow));
    // Between pups: at once a watch; 2 h: vet now.
    let between = |minutes: f64| green(one_born(), 0.5).litter_level(0.5 + minutes / 60.0, "green-discharge");
    for (minutes, expected) in [(0.0, Level::KeepWatch), (119.0, Level::KeepWatch), (120.0, Level::VetNow)] {
        assert_eq!(between(minutes), Some(expected), "{minutes} min");
    }
    // With straining over 30 min, strong or weak: vet now.
    for strength in ["strong", "weak"] {
        let strained = |minutes: f64| {
            green(one_born(), 0.5)
                .dam_check(0.5, "straining", strength)
                .litter_level(0.5 + minutes / 60.0, "green-discharge")
        };
        assert_eq!(strained(29.0), Some(Level::KeepWatch), "{strength}");
        assert_eq!(strained(31.0), Some(Level::VetNow), "{strength}");
    }
    let weakened = green(one_born(), 0.5).dam_check(0.5, "straining", "strong").dam_check(0.8, "straining", "weak");
    assert_eq!(weakened.litter_level(1.02, "green-discharge"), Some(Level::VetNow), "31 min of straining in all");
}

#[test]
fn straining_counts_without_a_word_about_labour() {
    // Unknown is not "no labour": strong straining before the first pup has its clock.
    let litter = Litter::expecting().dam_check(1.0, "straining", "strong");
    assert_eq!(litter.litter_level(1.49, "straining"), Some(Level::KeepWatch));
    assert_eq!(litter.litter_level(1.5, "straining"), Some(Level::VetNow));
}

#[test]
fn stillborn_pups_stop_the_gap_clock_and_stay_counted() {
    // Deaths are dated facts; a stillborn pup ends a gap like any other.
    let keys = format!("left_at = {}\nleft_why = \"stillborn\"", at(1.0));
    let litter = one_born().pup_born(1.0, "Elm", 380.0, &keys);
    assert_eq!(litter.litter_level(2.9, "pup-gap"), None);
    assert_eq!(litter.litter_level(3.0, "pup-gap"), Some(Level::KeepWatch));
    let today = litter.today(3.0);
    assert_eq!((today.pups_born, today.pups_stillborn, today.pups_here), (2, 1, 1));
}

#[test]
fn a_drop_without_labour_is_a_call_to_the_vet() {
    // Care handbook section 11: the drop to 37.2 °C is followed by straining within 12 to 24 h in
    // most dams; section 13, W1: 24 h after it without labour, or back at 37.8 °C (Jutkowitz).
    let low_once =
        || Litter::expecting().dam_check(0.0, "dam_temperature_c", "38.1").dam_check(10.0, "dam_temperature_c", "37.0");
    let dropped = || low_once().dam_check(10.5, "dam_temperature_c", "37.1");
    let level = |litter: &Litter, hours: f64| litter.litter_level(hours, "temperature-drop");
    assert_eq!(level(&dropped(), 11.0), Some(Level::KeepWatch));
    assert_eq!(level(&dropped(), 33.9), Some(Level::KeepWatch));
    assert_eq!(level(&dropped(), 34.0), Some(Level::VetNow));
    let back = dropped().dam_check(20.0, "dam_temperature_c", "37.8");
    assert_eq!(level(&back, 20.1), Some(Level::VetNow));
    assert_eq!(level(&dropped().dam_check(20.0, "labour", "begun"), 40.0), None, "labour has its own clocks");
    assert_eq!(level(&Litter::expecting().dam_check(0.0, "dam_temperature_c", "37.3"), 30.0), None);
    // A single low reading is asked for again, and is not forgotten when nobody measures.
    let once = |hours: f64| low_once().litter_level(hours, "temperature-once");
    assert_eq!(level(&low_once(), 33.9), None);
    assert_eq!(
        (once(10.1), once(33.9), once(34.0)),
        (Some(Level::KeepWatch), Some(Level::KeepWatch), Some(Level::VetToday))
    );
    assert_eq!(dropped().litter_level(11.0, "temperature-once"), None);
    let slip = low_once().dam_check(10.5, "dam_temperature_c", "37.9");
    assert_eq!((slip.litter_level(40.0, "temperature-once"), level(&slip, 40.0)), (None, None));
}

#[test]
fn past_the_last_day_the_vet_is_rung() {
    // Mated at hour -70 days: day 71 is the first day of the published "more than 70 days".
    let mated = |days: f64| Litter::expecting().dam(&format!("mated_at = {}", at(-DAY * days)));
    assert_eq!(mated(70.0).litter_level(1.0, "overdue"), None);
    assert_eq!(mated(71.0).litter_level(1.0, "overdue"), Some(Level::VetToday));
    // Born: nothing is overdue.
    let born = Litter::nursing(400.0).dam(&format!("mated_at = {}", at(-DAY * 80.0)));
    assert_eq!(born.litter_level(1.0, "overdue"), None);
}
