//! The rules on signs seen on a pup (safety rules; care handbook section 13), each at both
//! sides of its edge.

mod common;

use common::{DAY, Litter, PUP, amounts_in};
use whelpward_core::finding::Level;

/// A hand-fed pup of four days, well past the newborn rule, with a fresh weight.
fn four_days() -> Litter {
    Litter::hand_fed(400.0, 1.0).weigh(95.0, 420.0)
}

/// Days 15 and 16 of a pup of 600 to 630 g that gains 5 %, warm, sucking, with moist gums.
fn well_and_grown(last_weight: f64) -> Litter {
    Litter::hand_fed(300.0, 1.0)
        .weigh(14.9 * DAY, last_weight / 1.05)
        .weigh(15.9 * DAY, last_weight)
        .rectal(16.0 * DAY, "37.0")
        .check(16.0 * DAY, "suck", "strong")
        .check(16.0 * DAY, "gums", "pink_moist")
}

const LATER: f64 = 16.0 * DAY;

#[test]
fn emergencies_are_vet_now() {
    // Red flags P4 and P11: nothing by mouth.
    for (value, code) in
        [("limp", "limp"), ("cannot_be_roused", "not-roused"), ("seizure", "seizure"), ("bleeding", "bleeding")]
    {
        let litter = four_days().check(95.5, "behaviour", value);
        let finding = litter.finding(96.0, code).unwrap();
        assert_eq!(finding.level, Level::VetNow, "{value}");
        assert!(finding.action.contains("Nothing by mouth"), "{value}: {}", finding.action);
        assert!(amounts_in(&litter.json(96.0)).is_empty(), "{value}");
        // With the phone rule beside it.
        assert!(litter.today(96.0).if_no_answer.unwrap().text.contains("No answer in 10 minutes"), "{value}");
        // A newer check that is well lifts it, and sleep is well.
        for well in ["active", "quiet"] {
            assert!(litter.clone().check(95.8, "behaviour", well).next(96.0).is_ok(), "{value} then {well}");
        }
    }
    // Any task may turn into a call; a litter with nothing to do needs no number.
    assert!(four_days().today(96.0).if_no_answer.is_some());
    let well = Litter::nursing(400.0).grows(400.0, 8.0, 96.0).today(97.0);
    assert!(well.do_now.is_empty() && well.if_no_answer.is_none(), "{:?}", well.do_now);
}

#[test]
fn another_ill_word_does_not_open_a_gate() {
    // Safety rules: only a new observation in range lifts a hard gate.
    for (kind, gate, other, well) in [
        ("behaviour", "seizure", "crying_over_15_min", "active"),
        ("behaviour", "limp", "panting", "quiet"),
        ("gums", "blue", "tacky", "pink_moist"),
        ("gums", "grey", "pale", "pink_moist"),
        ("breathing", "laboured", "noisy", "easy"),
    ] {
        let litter = four_days().check(95.0, kind, gate).check(95.5, kind, other);
        assert!(litter.next(96.0).is_err(), "{kind}: {gate}, then {other}");
        assert!(litter.line(96.0).assessment.pups[0].level() == Level::VetNow, "{kind}: {gate}, then {other}");
        assert!(litter.check(95.8, kind, well).next(96.0).is_ok(), "{kind}: then {well}");
    }
}

#[test]
fn airway_signs_are_vet_now() {
    // Red flag P9, and common practice, no source: a rasping or rattling breath after a feed.
    for (kind, value) in
        [("breathing", "noisy"), ("breathing", "laboured"), ("gums", "blue"), ("gums", "grey"), ("gums", "white")]
    {
        let litter = four_days().bottle(95.0, 8.0).check(95.2, kind, value);
        let finding = litter.line(96.0).assessment.pups[0].findings[0].clone();
        assert_eq!(finding.level, Level::VetNow, "{value}");
        assert!(
            finding.action.contains("No milk") && finding.action.contains("cleft palate"),
            "{value}: {}",
            finding.action
        );
        assert!(litter.next(96.0).is_err(), "{value}");
    }
    assert!(four_days().bottle(93.0, 8.0).check(95.2, "breathing", "easy").next(96.0).is_ok());
}

#[test]
fn unwell_under_48_hours_is_vet_now() {
    // Chastant 2022: any unwell newborn is an emergency. Each of these is less than "now" later.
    for (kind, value, code) in [
        ("suck", "weak", "weak-suck"),
        ("suck", "none", "no-suck"),
        ("gums", "tacky", "tacky-gums"),
        ("behaviour", "crying_over_15_min", "crying"),
        ("stool", "loose_yellow", "loose-stool"),
        ("belly", "taut", "taut-belly"),
    ] {
        let litter = Litter::hand_fed(400.0, 1.0).check(47.0, kind, value).weigh(46.0, 410.0);
        assert_eq!(litter.level(47.99, code), Some(Level::VetNow), "{value}");
        let level = litter.level(48.0, code).unwrap_or_else(|| panic!("{value} is still seen"));
        assert!(level < Level::VetNow, "{value} at 48 h: {level:?}");
    }
}

#[test]
fn what_is_seen_at_birth_and_is_no_illness_keeps_its_own_next_step() {
    // Our choice: 34.4 °C is normal at birth, every pup is born wet, and too warm has a rule
    // of its own.
    for (kind, value, code) in [
        ("dried", "no", "wet-newborn"),
        ("rectal_temperature_c", "34.9", "cold"),
        ("rectal_temperature_c", "37.3", "too-hot"),
    ] {
        let litter = Litter::hand_fed(400.0, 1.0).check(10.0, kind, value);
        assert_eq!(litter.level(10.1, code), Some(Level::NeedsHelp), "{value}");
    }
    // Two of them together, or with another sign, are an illness all the same.
    let hot_again = Litter::hand_fed(400.0, 1.0).rectal(10.0, "37.3").rectal(10.5, "37.3");
    assert_eq!(hot_again.level(10.6, "too-hot"), Some(Level::VetNow), "it stays hot");
}

#[test]
fn long_crying_is_vet_today() {
    // Red flag P4: crying for more than 15 minutes.
    assert_eq!(four_days().check(95.5, "behaviour", "crying_over_15_min").level(96.0, "crying"), Some(Level::VetToday));
    assert_eq!(four_days().check(95.5, "behaviour", "active").level(96.0, "crying"), None);
}

#[test]
fn a_dry_pup_is_vet_today() {
    // Red flag P10.
    for (kind, value, well, code) in
        [("gums", "tacky", "pink_moist", "tacky-gums"), ("urine", "nothing_passed", "passed", "no-urine")]
    {
        assert_eq!(four_days().check(95.5, kind, value).level(96.0, code), Some(Level::VetToday));
        assert_eq!(four_days().check(95.5, kind, well).level(96.0, code), None);
    }
    let today = four_days().check(95.5, "gums", "tacky").today(96.0);
    assert_eq!(today.pups[0].standing, "ring the vet");
    assert!(today.if_no_answer.is_some());
}

#[test]
fn grey_stool_is_vet_now() {
    // Red flag P8 and the safety rules: grey, white, bloody or watery.
    for (value, code) in
        [("grey", "grey-stool"), ("white", "white-stool"), ("bloody", "bloody-stool"), ("watery", "watery-stool")]
    {
        let litter = well_and_grown(630.0).check(LATER, "stool", value);
        assert_eq!(litter.level(LATER, code), Some(Level::VetNow), "{value}");
        assert_eq!(litter.finding(LATER, "loose-stool").map(|f| f.action), None, "no dilution is offered");
    }
    assert_eq!(well_and_grown(630.0).check(LATER, "stool", "firm").line(LATER).assessment.pups[0].level(), Level::Note);
}

#[test]
fn loose_stool_in_a_small_pup_is_vet_today() {
    // Safety rules: under 14 days or 500 g vet today first.
    let level = |days: f64, grams: f64| {
        let hours = days * DAY;
        let litter = Litter::hand_fed(grams / 2.0, 1.0).weigh(hours - 24.0, grams / 1.05).weigh(hours - 1.0, grams);
        let finding = litter.check(hours, "stool", "loose_yellow").finding(hours, "loose-stool").unwrap();
        assert!(!finding.action.contains("third") || finding.level < Level::VetToday, "{}", finding.action);
        finding.level
    };
    assert_eq!(level(13.99, 600.0), Level::VetToday);
    assert_eq!(level(14.0, 600.0), Level::NeedsHelp);
    assert_eq!(level(14.0, 499.0), Level::VetToday);
    assert_eq!(level(14.0, 500.0), Level::NeedsHelp);
}

#[test]
fn published_dilution() {
    // Care handbook section 3 (home handbook): loose yellow 2 + 1, greenish 1 + 1. Section 14,
    // check 13: diluted by a third, 1.0 kcal per mL becomes 0.667; by a half, 0.5.
    let action = |litter: Litter| litter.finding(LATER, "loose-stool").unwrap().action;
    let yellow = action(well_and_grown(630.0).check(LATER, "stool", "loose_yellow"));
    assert!(yellow.contains("2 parts milk, 1 part water") && yellow.contains("at most 24 h"), "{yellow}");
    assert!(yellow.contains("0.67 kcal per mL"), "the lost energy is recomputed and said: {yellow}");
    let green = action(well_and_grown(630.0).check(LATER, "stool", "loose_green"));
    assert!(green.contains("1 part milk, 1 part water") && green.contains("0.5 kcal per mL"), "{green}");
    // Only for a pup that is warm, sucking, moist-gummed and gaining.
    let base = || well_and_grown(630.0);
    for litter in [
        base().rectal(LATER + 0.01, "35.9"),
        base().check(LATER, "suck", "weak"),
        base().check(LATER + 0.01, "gums", "tacky"),
        base().weigh(LATER, 590.0),
    ] {
        let unwell = litter.check(LATER, "stool", "loose_yellow").finding(LATER + 0.02, "loose-stool").unwrap().action;
        assert!(!unwell.contains("part water"), "{unwell}");
    }
}

#[test]
fn a_dilution_is_offered_for_24_hours_at_most() {
    let litter = |since: f64| {
        well_and_grown(630.0)
            .check(LATER - since, "stool", "loose_yellow")
            .check(LATER - 1.0, "stool", "loose_yellow")
            .finding(LATER, "loose-stool")
            .unwrap()
    };
    assert!(litter(24.0).action.contains("2 parts milk"));
    let longer = litter(24.01);
    assert!(!longer.action.contains("2 parts milk"), "{}", longer.action);
    assert_eq!(longer.level, Level::VetToday);
}

#[test]
fn two_signs_together_are_vet_now() {
    let level = |litter: Litter| litter.check(LATER, "stool", "loose_yellow").level(LATER + 0.02, "loose-stool");
    assert_eq!(level(well_and_grown(630.0)), Some(Level::NeedsHelp), "one sign");
    assert_eq!(level(well_and_grown(630.0).check(LATER, "behaviour", "crying_over_15_min")), Some(Level::VetNow));
    assert_eq!(level(well_and_grown(630.0).rectal(LATER + 0.01, "35.9")), Some(Level::VetNow), "and cold");
    assert_eq!(level(well_and_grown(630.0).rectal(LATER + 0.01, "37.9")), Some(Level::VetNow), "and hot");
}

#[test]
fn a_taut_belly_holds_the_feed() {
    // Care handbook section 2 (SACN p 308).
    let taut = four_days().check(95.5, "belly", "taut");
    assert_eq!(taut.level(96.0, "taut-belly"), Some(Level::VetToday));
    assert!(taut.next(96.0).unwrap_err().contains("NO MILK"));
    for value in ["soft", "full"] {
        assert!(taut.clone().check(95.8, "belly", value).next(96.0).is_ok(), "{value}");
    }
}

#[test]
fn colostrum_clock_runs_to_12_hours() {
    // Red flag P12 (Clinician's Brief 2015): within 12 h.
    let seen =
        |hours: f64, value: &str| Litter::nursing(400.0).check(1.0, "colostrum_seen", value).level(hours, "colostrum");
    assert_eq!(seen(11.99, "no"), Some(Level::NeedsHelp));
    assert_eq!(seen(12.0, "no"), Some(Level::VetNow));
    assert_eq!(seen(12.0, "yes"), None);
    // Not recorded is not seen.
    let unrecorded = |hours: f64| Litter::nursing(400.0).level(hours, "colostrum");
    assert_eq!(unrecorded(2.0), Some(Level::KeepWatch));
    assert_eq!(unrecorded(12.0), Some(Level::NeedsHelp));
    let says = Litter::nursing(400.0).finding(3.0, "colostrum").unwrap().says;
    assert!(says.contains("9 h left"), "{says}");
    // A dam without milk in these hours: vet now, for another source.
    let dry = Litter::nursing(400.0).dam("milk = \"none\"");
    assert_eq!(dry.level(11.9, "no-colostrum-dam"), Some(Level::VetNow));
    assert_eq!(dry.level(12.0, "no-colostrum-dam"), None);
}

#[test]
fn less_than_half_twice_is_spoken_of() {
    // Usability section 1: flag if under half is taken twice in a row. At both sides of the half.
    let fed = |first: f64, second: f64| {
        let litter = Litter::hand_fed(400.0, 1.0).weigh(95.0, 420.0);
        litter.bottle_left(90.0, 8.0, first).bottle_left(93.0, 8.0, second).level(96.0, "left-milk")
    };
    assert_eq!(fed(3.9, 3.9), Some(Level::NeedsHelp));
    assert_eq!(fed(4.0, 3.9), None);
    assert_eq!(fed(3.9, 4.0), None);
}

#[test]
fn two_signs_that_need_help_are_a_call_to_the_vet() {
    // Our own judgement: a pup that is cold and sucks weakly is more than either alone.
    let pup = || Litter::hand_fed(400.0, 1.0).weigh(95.0, 420.0);
    assert_eq!(pup().rectal(95.9, "34.8").level(96.0, "several-signs"), None);
    assert_eq!(pup().check(95.9, "suck", "weak").level(96.0, "several-signs"), None);
    let both = pup().rectal(95.9, "34.8").check(95.9, "suck", "weak");
    assert_eq!(both.level(96.0, "several-signs"), Some(Level::VetToday));
    // Where one of them is a call already, nothing is added.
    assert_eq!(both.check(95.9, "gums", "tacky").level(96.0, "several-signs"), None);
}

#[test]
fn the_first_day_asks_for_every_check() {
    // Safety rules: breathing, dry, warm, palate, colostrum seen.
    let missing = |litter: &Litter, now: f64| litter.today(now).missing.join("\n");
    let all = missing(&Litter::nursing(400.0), 23.9);
    for words in ["breathing", "dry", "warm", "palate", "colostrum"] {
        assert!(all.contains(words), "{words}: {all}");
    }
    let done = Litter::nursing(400.0)
        .check(0.1, "breathing", "easy")
        .check(0.1, "dried", "yes")
        .rectal(0.5, "35.5")
        .check(0.5, "palate", "whole")
        .check(1.0, "colostrum_seen", "yes");
    assert!(!missing(&done, 2.0).contains("first day"), "{}", missing(&done, 2.0));
    assert!(!missing(&Litter::nursing(400.0).weigh(23.0, 410.0), 24.0).contains("first day"));
    // Wet a few minutes after birth is no illness: it is rubbed dry.
    assert_eq!(Litter::nursing(400.0).check(0.1, "dried", "no").level(0.2, "wet-newborn"), Some(Level::NeedsHelp));
}

#[test]
fn what_is_judged_by_colour_says_so() {
    // Safety rules: gums, stool and discharge are judged in white light.
    use whelpward_core::record::CHECK_KINDS;
    for word in ["gums", "stool", "dam_discharge"] {
        let row = CHECK_KINDS.iter().find(|r| r.word == word).unwrap();
        assert!(row.meaning.contains("white light"), "{word}");
    }
}

#[test]
fn a_sick_pup_is_fed_last() {
    let keys = "rearing = \"hand_fed\"\nhand_fed_since = 2026-03-02T00:00:00Z";
    let litter = Litter::new()
        .pup(PUP, 400.0, keys)
        .pup("Elm", 400.0, keys)
        .milk(1.0)
        .weigh(95.0, 420.0)
        .weigh_of("Elm", 95.0, 420.0);
    let order = |litter: &Litter| litter.today(96.0).rounds[0].feeds.iter().map(|f| f.pup.clone()).collect::<Vec<_>>();
    assert_eq!(order(&litter), ["Ash", "Elm"]);
    assert_eq!(order(&litter.check(95.0, "stool", "loose_yellow")), ["Elm", "Ash"]);
}
