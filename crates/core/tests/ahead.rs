//! Twelve hours for an open page: the plan of today's report, and each limit at both sides of the age
//! at which it changes. The figures of limits are those of the rules of advice, worked by hand.

mod common;

use common::{DAY, Litter, PUP, at};
use whelpward_core::record::CHECK_KINDS;
use whelpward_core::report::{Ahead, ahead, today};

fn of(litter: &Litter, hours: f64) -> Ahead {
    ahead(&litter.facts(), at(hours))
}

/// A pup fed wholly by hand that gains 5 % a day, warm and sucking.
fn fed(last_h: f64) -> Litter {
    Litter::hand_fed(400.0, 1.1)
        .grows(400.0, 5.0, last_h)
        .check(last_h, "palate", "whole")
        .check(last_h, "suck", "strong")
        .rectal(last_h, "36.5")
}

#[test]
fn its_amounts_are_those_of_todays_rounds_and_no_others() {
    let litter = fed(3.0 * DAY);
    let (plan, answer) = (of(&litter, 3.0 * DAY), today(&litter.facts(), at(3.0 * DAY)));
    assert!(plan.rounds.len() >= 3, "{} rounds", plan.rounds.len());
    assert!(plan.rounds.len() < answer.rounds.len(), "twelve of the twenty-four hours");
    for (mine, theirs) in plan.rounds.iter().zip(&answer.rounds) {
        assert_eq!(mine.at, theirs.at);
        let amounts = |feeds: &[whelpward_core::report::Feed]| {
            feeds.iter().map(|f| (f.pup.clone(), f.amount_ml, f.at_most_ml, f.only_after.clone())).collect::<Vec<_>>()
        };
        assert_eq!(amounts(&mine.feeds), amounts(&theirs.feeds));
        assert!(!mine.feeds.is_empty());
    }
    assert_eq!(plan.milk.as_deref(), Some("replacer"));
}

#[test]
fn a_limit_that_changes_with_age_stands_with_the_time_from_which_it_counts() {
    // Stomach: below 20 mL per kg before 24 h of age, then at most 40. Milk from 35.0 °C on days 0
    // to 6, from 36.0 °C later; normal up to 37.2 °C in week 1, up to 37.8 °C later.
    let limits = |hours: f64| {
        let plan = of(&fed(hours), hours);
        let of_pup = plan.pups[0].limits.clone();
        of_pup
            .iter()
            .map(|l| (l.from.clone(), l.stomach_ml_per_kg, l.is_exclusive, l.no_milk_below_c, l.hot_above_c))
            .collect::<Vec<_>>()
    };
    let iso = |hours: f64| whelpward_core::report::clock::iso(at(hours), &jiff::tz::TimeZone::UTC);
    assert_eq!(limits(20.0), [(iso(20.0), 20.0, true, 35.0, 37.2), (iso(24.0), 40.0, false, 35.0, 37.2)]);
    assert_eq!(limits(3.0 * DAY), [(iso(3.0 * DAY), 40.0, false, 35.0, 37.2)]);
    let day_7 = 7.0 * DAY;
    assert_eq!(
        limits(day_7 - 6.0),
        [(iso(day_7 - 6.0), 40.0, false, 35.0, 37.2), (iso(day_7), 40.0, false, 36.0, 37.8)]
    );
}

#[test]
fn a_weight_is_asked_about_by_the_stated_band() {
    // Last weight 400 g, d days ago: 400 × (1 − 0.05 − 0.05 d) to 400 × (1 + 0.05 + 0.12 d).
    let litter = Litter::nursing(400.0).weigh(2.0 * DAY, 400.0);
    let at_once = &of(&litter, 2.0 * DAY).pups[0].band[0];
    assert_eq!((at_once.low_g, at_once.high_g), (380.0, 420.0));
    let next_day = &of(&litter, 3.0 * DAY).pups[0].band[0];
    assert_eq!((next_day.low_g, next_day.high_g), (360.0, 468.0));
    // Never less than 5 g to either side: 5 % of 60 g would be 3 g.
    let small = Litter::nursing(60.0).weigh(2.0 * DAY, 60.0);
    let band = &of(&small, 2.0 * DAY).pups[0].band[0];
    assert_eq!((band.low_g, band.high_g), (55.0, 65.0));
    // Wider as the hours pass.
    let bands = &of(&litter, 2.0 * DAY).pups[0].band;
    assert!(bands.len() > 3 && bands.windows(2).all(|b| b[0].low_g > b[1].low_g || b[0].high_g < b[1].high_g));
}

#[test]
fn a_tenth_lost_is_counted_from_birth_or_from_the_highest_of_two_days() {
    // A tenth of 400 g is 40 g; of 430 g it is 43 g.
    let from_birth = Litter::nursing(400.0).weigh(1.0 * DAY, 395.0);
    assert_eq!(of(&from_birth, 1.0 * DAY).pups[0].vet_now_at_g, Some(360.0));
    let from_highest = Litter::nursing(400.0).weigh(1.0 * DAY, 410.0).weigh(2.0 * DAY, 430.0);
    assert_eq!(of(&from_highest, 2.0 * DAY).pups[0].vet_now_at_g, Some(387.0));
}

#[test]
fn an_overdue_feed_comes_with_since_when() {
    let litter = fed(3.0 * DAY).bottle(3.0 * DAY, 8.0);
    let since = of(&litter, 3.0 * DAY + 1.0);
    assert!(since.overdue.is_empty(), "{:?}", since.overdue);
    let later = of(&litter, 3.0 * DAY + 8.0);
    assert_eq!(later.overdue.len(), 1);
    assert_eq!(later.overdue[0].pup, PUP);
}

#[test]
fn every_sign_is_a_word_that_a_check_may_hold() {
    let signs = of(&fed(3.0 * DAY), 3.0 * DAY).signs;
    assert!(signs.iter().any(|s| s.kind == "milk_at_nose" && s.forbids == Some("this_feed")));
    assert!(signs.iter().any(|s| s.kind == "gums" && s.value == "blue" && s.forbids == Some("all_milk")));
    for sign in signs {
        let row = CHECK_KINDS.iter().find(|r| r.word == sign.kind).expect("a kind of check");
        let whelpward_core::record::ValueShape::Words(words) = row.shape else { panic!("{} has no words", sign.kind) };
        assert!(words.iter().any(|w| w.text() == sign.value), "{} {}", sign.kind, sign.value);
    }
}
