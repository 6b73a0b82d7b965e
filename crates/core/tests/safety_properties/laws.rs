//! General laws of the answer.

use proptest::prelude::*;
use whelpward_core::report::{Line, today};

use super::config;
use super::generate::{any_litter, fed_litter};
use super::litter::{DAY, H};
use super::oracle::{ask, hours};

/// A number that is not finite, as the debug form of a report would print it.
fn not_finite(debug: &str) -> Option<&str> {
    debug.split(|c: char| !c.is_alphanumeric()).find(|word| matches!(*word, "NaN" | "inf"))
}

proptest! {
    #![proptest_config(config())]

    /// "daily volumes add up to the need or the shortfall is said"
    #[test]
    fn the_planned_volumes_add_up_to_the_need_or_the_shortfall_is_said(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            let Some(need) = &seen.line.need else { continue };
            let ml: f64 = seen.feeds.iter().map(|p| p.feed.amount_ml).sum();
            let is_short = ml < need.by_hand_ml * 0.95;
            let is_said = case.today.shortfalls.iter().any(|s| s.pup == seen.name && s.text.contains("the next 24 h give"));
            let is_withheld = case.today.rounds.iter().flat_map(|r| &r.withheld).any(|w| w.pup == seen.name) && ml == 0.0;
            let is_none = seen.line.no_feed_because.is_some();
            prop_assert!(!is_short || is_said || is_withheld || is_none, "{ml} mL of {}: {}", need.by_hand_ml, seen.story());
        }
    }

    /// "add up to the need": the feeds of the next 24 h are no more than the need of a day either.
    /// Rounds fitted to carers are at unequal times: the last of them may reach beyond the day, by
    /// no more than the longest gap of any age (8 h), and its milk is for that time.
    #[test]
    fn the_planned_volumes_of_a_day_are_no_more_than_its_need(litter in fed_litter()) {
        let case = ask(&litter);
        let is_fitted = case.today.rounds.iter().any(|r| !r.carers.is_empty());
        for seen in case.pups() {
            let Some(need) = seen.line.need.as_ref().filter(|_| seen.pup.order.is_none()) else { continue };
            let ml: f64 = seen.feeds.iter().map(|p| p.feed.amount_ml).sum();
            let longest = if seen.pup.age < 14 * DAY { 4 * H } else { 8 * H };
            let until = seen.feeds.last().map_or(0, |p| p.at + longest);
            let days = if is_fitted { hours(until.max(DAY)) / 24.0 } else { 1.0 };
            prop_assert!(ml <= need.by_hand_ml * days * 1.0001 + 1e-6, "{ml} mL of {}: {}", need.by_hand_ml, seen.story());
        }
    }

    /// "more weight never gives a smaller stomach limit", by the whole line: the same litter, heavier.
    #[test]
    fn more_weight_never_gives_a_smaller_stomach_limit(litter in fed_litter(), more in 1..500_u32) {
        let (mut light, mut heavy) = (litter.clone(), litter);
        for pup in light.pups.iter_mut().chain(&mut heavy.pups) {
            pup.weighings.clear();
            let g = pup.birth.map_or(250.0, super::litter::Weight::grams);
            pup.birth = Some(super::litter::Weight::nearest(g, 0));
        }
        for pup in &mut heavy.pups {
            let g = pup.birth.expect("set above").grams() + f64::from(more) / 10.0;
            pup.birth = Some(super::litter::Weight::nearest(g, 0));
        }
        let (light, heavy) = (ask(&light), ask(&heavy));
        for a in &light.today.pups {
            // The page puts the most urgent first, so the same pup may stand elsewhere.
            let b = heavy.today.pups.iter().find(|b| b.pup == a.pup).expect("the same pups are here");
            let (Some(a), Some(b)) = (&a.next_feed, &b.next_feed) else { continue };
            if a.at == b.at {
                prop_assert!(b.at_most_ml >= a.at_most_ml, "{} g: {}, {} g: {}", a.weight_g, a.at_most_ml, b.weight_g, b.at_most_ml);
            }
        }
    }

    /// No NaN and no infinity anywhere, and the report is JSON that reads back.
    #[test]
    fn no_number_of_the_report_is_infinite_or_no_number(litter in any_litter()) {
        let facts = litter.texts().facts();
        let answer = today(&facts, litter.at(0));
        let line = Line::run(&facts, litter.at(0));
        let text = format!("{answer:?} {line:?}");
        prop_assert!(not_finite(&text).is_none(), "{:?}", text.find("NaN").or(text.find("inf")).map(|i| text[i.saturating_sub(200)..].chars().take(260).collect::<String>()));
        let json = serde_json::to_string(&answer).expect("the report serializes");
        prop_assert!(serde_json::from_str::<serde_json::Value>(&json).is_ok());
    }

    /// Between two planned rounds no gap is longer than the age allows: 4 h in weeks 1 and 2 (3 h
    /// under 200 g or premature in week 1), 6 h in week 3, 8 h in week 4 (feeding handbook 5).
    #[test]
    fn every_gap_between_rounds_is_within_the_limit_of_the_age(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            // A vet's own interval replaces ours.
            let is_ordered = seen.order_at(0).is_some_and(|o| o.hours.is_some());
            if seen.line.need.is_none() || seen.pup.age >= 34 * DAY || is_ordered {
                continue;
            }
            let mut rounds: Vec<i64> = case.today.rounds.iter()
                .filter(|r| r.feeds.iter().any(|f| f.pup == seen.name) || r.withheld.iter().any(|w| w.pup == seen.name))
                .map(|r| case.seconds_from_now(&r.at)).collect();
            let weight = seen.line.weight_g.expect("a need has a weight");
            let is_small = weight < 200.0 || seen.pup.premature;
            let limit = |age: i64| match age {
                age if age < 7 * DAY && is_small => 3 * H,
                age if age < 14 * DAY => 4 * H,
                age if age < 21 * DAY => 6 * H,
                _ => 8 * H,
            };
            if let Some(last) = seen.hand_feeds().last() {
                rounds.insert(0, -last.ago);
            }
            // The plan reaches over the next 24 h: a hole at its end is a gap too.
            rounds.push(24 * H);
            let first = rounds[0].max(0);
            prop_assert!(first <= limit(seen.pup.age), "the first round is in {first} s");
            for pair in rounds.windows(2) {
                let from = pair[0];
                let allowed = limit(seen.pup.age + from).max(if from < 0 { limit(seen.pup.age) } else { 0 });
                // An overdue feed is planned for now.
                let gap = if from < 0 && pair[1] == 0 { 0 } else { pair[1] - from };
                prop_assert!(gap <= allowed + 60, "{from} to {} s: {}", pair[1], seen.story());
            }
        }
    }

    /// Two planned feeds of a pup are never closer than the shortest gap.
    #[test]
    fn two_planned_feeds_are_never_closer_than_two_hours(litter in fed_litter()) {
        for seen in ask(&litter).pups() {
            for pair in seen.feeds.windows(2) {
                let gap = pair[1].at - pair[0].at;
                // More than 12 feeds a day are asked for only by a very thin milk; then the stomach decides.
                let is_thin = seen.line.need.as_ref().is_some_and(|n| n.feeds_per_day > 12);
                prop_assert!(is_thin || gap >= 2 * H - 300, "{gap} s apart: {}", seen.story());
            }
        }
    }

    /// Every amount on the page is one of the timetable's, and belongs to the pup's next feed.
    #[test]
    fn every_amount_shown_stands_in_the_timetable(litter in any_litter()) {
        let case = ask(&litter);
        let planned: Vec<String> = case.today.rounds.iter().flat_map(|r| &r.feeds).map(|f| format!("{f:?}")).collect();
        let shown = case.today.do_now.iter().flat_map(|a| &a.feeds).chain(case.today.pups.iter().filter_map(|p| p.next_feed.as_ref()));
        for feed in shown {
            prop_assert!(planned.contains(&format!("{feed:?}")), "{feed:?}");
        }
        prop_assert!(case.today.rounds.iter().all(|r| case.seconds_from_now(&r.at) >= 0), "nothing is planned for the past");
    }
}
