//! The top-up from the estimate of the dam's milk: against quadrature (`tests/reference/top_up.py`), and its
//! limits in a litter.

mod common;

use common::{DAY, Litter, PUP, amounts, plain};
use serde_json::Value;
use whelpward_core::intake::{Seen, TOP_UP_CHANCE, beliefs, posterior};
use whelpward_core::need::{Need, NoneNeeded, Why};
use whelpward_core::top_up::wanted;
use whelpward_core::units::Grams;

#[test]
fn quadrature_agrees_on_what_is_open() {
    let cases: Value = serde_json::from_str(include_str!("reference/top_up.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let number = |key: &str| case[key].as_f64().unwrap();
        let (days, kg) = (number("days"), number("kg"));
        let target = wanted(&Litter::nursing(300.0).facts(), days * DAY, Grams::new(kg * 1000.0).unwrap()).unwrap();
        assert!((target.day.get() - number("wanted")).abs() < 0.01, "{days}: {:?}", target.day);
        let seen = Seen {
            weight_kg: kg,
            gain: Some((case["gain"][0].as_f64().unwrap(), case["gain"][1].as_f64().unwrap())),
            by_hand_kcal: number("by_hand"),
            nursed_g: case["nursed"].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect(),
            ..Seen::default()
        };
        let from_dam = posterior(&beliefs(kg, days, 1.0), &seen).quantile_kcal(1.0 - TOP_UP_CHANCE.value);
        // Our cells of milk are up to 2.6 g wide.
        assert!((from_dam - number("from_dam")).abs() < 1.0, "{days}: {from_dam} against {}", number("from_dam"));
        assert!((target.day.get() - from_dam - number("open")).abs() < 1.0);
    }
}

/// A pup of the fifth day that gains little beside its dam and is topped up, with nursings of the last day.
fn slow(gain_g: f64, nursed: &[f64], bottles: &[f64]) -> Litter {
    let mut litter = Litter::new().pup(PUP, 280.0, "rearing = \"topped_up\"").milk(1.0);
    for day in 1..=5 {
        litter = litter.weigh(DAY * f64::from(day), 280.0 + gain_g * f64::from(day));
    }
    for (i, gain) in nursed.iter().enumerate() {
        litter = litter.nursed(NOW - 2.0 - 2.5 * f64::from(u32::try_from(i).unwrap()), 300.0, 300.0 + gain);
    }
    for (i, ml) in bottles.iter().enumerate() {
        litter = litter.bottle(NOW - 23.0 + 3.0 * f64::from(u32::try_from(i).unwrap()), *ml);
    }
    litter
}

const NOW: f64 = 5.0 * DAY + 0.5;

fn topped_up(litter: &Litter) -> Need {
    let need = litter.need(NOW).unwrap();
    assert_eq!(need.why, Why::TopUp);
    need
}

fn words(need: &Need) -> String {
    plain(&need.working.iter().map(|t| format!("{}: {}\n", t.what, t.value)).collect::<Vec<_>>().concat())
}

#[test]
fn the_working_shows_the_target_the_dams_share_and_the_chance() {
    let need = topped_up(&slow(3.0, &[], &[]));
    let words = words(&need);
    for part in
        ["gain that is wanted", "energy for upkeep and that gain", "from the dam, estimated", "enough with 60 %"]
    {
        assert!(words.contains(part), "{part} is not in {words}");
    }
    // Not above half of the need by the table until four nursings are weighed: 20 kcal per 100 g.
    assert!(need.by_hand.get() <= need.day.get() / 2.0 + 1e-9);
    assert!((need.day.get() - need.weight.get() / 100.0 * 20.0).abs() < 1e-9);
}

#[test]
fn a_pup_that_gets_more_from_its_dam_is_given_less() {
    // What is open before it is capped, as the working says it.
    let open = |litter: &Litter| -> f64 {
        let words = words(&topped_up(litter));
        let (_, rest) = words.split_once("open, enough with 60 %: ").unwrap();
        rest.split_once(" kcal").unwrap().0.parse().unwrap()
    };
    let growth = [14.0, 8.0, 2.0].map(|gain| open(&slow(gain, &[], &[])));
    assert!(growth[0] < growth[1] && growth[1] < growth[2], "{growth:?}");
    let weighed = [5.0, 3.5, 2.0].map(|each| open(&slow(3.0, &[each; 6], &[])));
    assert!(weighed[0] < weighed[1] && weighed[1] < weighed[2], "{weighed:?}");
}

#[test]
fn a_measured_top_up_grows_by_a_fifth_a_day() {
    // 8 bottles of 5 mL at 1 kcal per mL in the last day: 40 kcal, and not more than 48 next.
    let litter = slow(0.0, &[0.5, 0.4, 0.6, 0.5, 0.3], &[5.0; 8]);
    let need = topped_up(&litter);
    assert!((need.by_hand.get() - 48.0).abs() < 1e-6, "{} {}", need.by_hand, words(&need));
    // Three weighed nursings do not count as measured: half of the need.
    let three = topped_up(&slow(0.0, &[0.5, 0.4, 0.6], &[5.0; 8]));
    assert!((three.by_hand.get() - three.day.get() / 2.0).abs() < 1e-6, "{}", words(&three));
    // The day's ceiling of 26 kcal per 100 g binds all the same: what was given counts.
    let planned: f64 = amounts(&litter.line(NOW), NOW).iter().map(|(_, ml)| ml).sum();
    assert!(planned <= 48.0 + 1e-6, "{planned}");
}

#[test]
fn a_dam_that_gives_a_pup_too_little_to_live_is_spoken_of() {
    let said = |litter: &Litter| {
        topped_up(litter).shortfalls.iter().filter(|s| s.kind == "dam").map(|s| plain(&s.text)).collect::<String>()
    };
    let nothing = said(&slow(-8.0, &[0.0, -0.5, 0.0, -0.5, 0.0, 0.0], &[1.0, 1.0]));
    assert!(nothing.contains("rearing hand_fed") && nothing.contains("eased in"), "{nothing}");
    let some = said(&slow(3.0, &[], &[]));
    assert!(!some.contains("hand_fed"), "{some}");
}

#[test]
fn without_a_good_estimate_it_is_half_of_the_need_and_says_why() {
    let half = |litter: &Litter, why: &str| {
        let need = litter.need(NOW).unwrap();
        let words = words(&need);
        assert!(words.contains(why), "{why} is not in {words}");
        assert!((need.by_hand.get() - need.day.get() / 2.0).abs() < 1e-6, "{words}");
    };
    // A gain of 9 % a day and hardly anything at the teat, over eight weighed nursings.
    let apart = Litter::new().keys("breed = \"Maltese\"").pup(PUP, 110.0, "rearing = \"topped_up\"").milk(1.0).grows(
        110.0,
        9.0,
        5.0 * DAY,
    );
    let apart = (1..=9).fold(apart, |l, i| l.nursed(NOW - 2.5 * f64::from(i), 160.0, 159.6));
    half(&apart, "do not go together");
    // The last weight is more than a day old in week 1.
    let old = Litter::new().pup(PUP, 280.0, "rearing = \"topped_up\"").milk(1.0).grows(280.0, 1.0, 4.0 * DAY - 2.0);
    half(&old, "last weight is too old");
    let once = Litter::new().pup(PUP, 280.0, "rearing = \"topped_up\"").milk(1.0).weigh(NOW - 1.0, 281.0);
    half(&once, "too few weighings");
}

/// A very light toy pup that gains so many percent a day, with bottles every 3 h of the last days.
fn light(percent: f64, by_day_ml: &[f64]) -> Litter {
    let mut litter = Litter::new().keys("breed = \"Maltese\"").pup(PUP, 107.0, "rearing = \"topped_up\"").milk(1.0);
    litter = litter.grows(107.0, percent, 5.0 * DAY);
    for i in 0..5 {
        litter = litter.nursed(NOW - 2.3 - 4.0 * f64::from(i), 185.0, 189.5);
    }
    for (days_ago, ml) in by_day_ml.iter().rev().enumerate() {
        for feed in 0..8 {
            let hours = NOW - 1.0 - 3.0 * f64::from(feed) - DAY * f64::from(u32::try_from(days_ago).unwrap());
            litter = litter.bottle(hours, *ml);
        }
    }
    litter
}

#[test]
fn a_pup_whose_dam_recovers_is_handed_back_in_quarters() {
    // 8 bottles of 2 mL: 16 kcal; then three quarters, half, a quarter of it.
    for (given, expected) in [(vec![2.0], 12.0), (vec![2.0, 1.5], 8.0), (vec![2.0, 1.5, 1.0], 4.0)] {
        let litter = light(12.0, &given);
        let need = topped_up(&litter);
        assert!((need.by_hand.get() - expected).abs() < 1e-6, "{given:?}: {} {}", need.by_hand, words(&need));
        let today = litter.today(NOW);
        let plan = today.pups[0].hand_back.as_ref().unwrap();
        assert_eq!(plan.steps[0].share_percent, expected / 16.0 * 100.0);
        assert_eq!(plan.steps.last().unwrap().share_percent, 0.0);
        let hours = |iso: &str| (iso.parse::<jiff::Timestamp>().unwrap() - common::at(NOW)).as_secs_f64() / 3600.0;
        assert_eq!(plan.steps[0].weigh_at.iter().map(|t| hours(t)).collect::<Vec<_>>(), [12.0, 24.0]);
        assert!(plan.success.contains("5 % a day") && plan.stop.contains("back to the last amount"));
    }
    // It does not begin for a pup that gains less than is published as the least, nor after a setback.
    assert!(light(3.0, &[2.0]).today(NOW).pups[0].hand_back.is_none());
    let set_back = light(12.0, &[2.0]).rectal(NOW - 0.2, "34.0");
    assert!(set_back.today(NOW).pups[0].hand_back.is_none());
}

#[test]
fn a_pup_that_does_well_is_stopped_at_once_and_weighed() {
    let mut litter = Litter::new().pup(PUP, 280.0, "rearing = \"topped_up\"").milk(1.0).grows(280.0, 8.0, 5.0 * DAY);
    litter = litter.bottle(NOW - 6.0, 4.0).bottle(NOW - 10.0, 4.0);
    assert_eq!(litter.need(NOW).map(|n| n.why), Err(NoneNeeded::WellAndGaining));
    let plan = litter.today(NOW).pups[0].hand_back.clone().unwrap();
    assert_eq!(plan.steps.iter().map(|s| s.share_percent).collect::<Vec<_>>(), [0.0]);
}

#[test]
fn after_a_setback_no_feed_is_larger_than_the_last() {
    let litter = slow(0.0, &[0.5, 0.4, 0.6, 0.5, 0.3], &[5.0; 8]).check(NOW - 0.3, "stool", "loose_yellow");
    let planned = amounts(&litter.line(NOW), NOW);
    assert!(!planned.is_empty() && planned.iter().all(|(_, ml)| *ml <= 5.0), "{planned:?}");
}
