//! safety.md, "How limits bind": what must stand beside advice.

use proptest::prelude::*;
use serde_json::Value;
use whelpward_core::references::{ALL, Mark};

use super::config;
use super::generate::{any_litter, fed_litter};
use super::oracle::{ask, level, plain};

/// Every object of the report that cites a source, with its path.
fn citations<'v>(value: &'v Value, path: String, found: &mut Vec<(String, &'v Value)>) {
    match value {
        Value::Object(map) => {
            if map.contains_key("key") && map.contains_key("source") && map.contains_key("status") {
                found.push((path, value));
                return;
            }
            for (key, inner) in map {
                citations(inner, format!("{path}/{key}"), found);
            }
        }
        Value::Array(list) => list.iter().for_each(|inner| citations(inner, path.clone(), found)),
        _ => {}
    }
}

proptest! {
    #![proptest_config(config())]

    /// Whatever is not published says so: "common practice", "reported second-hand" or "assumption".
    #[test]
    fn what_is_not_published_says_so(litter in any_litter()) {
        let today = ask(&litter).today;
        let json = serde_json::to_value(&today).expect("the report serializes");
        let mut found = Vec::new();
        citations(&json, String::new(), &mut found);
        for (path, cite) in found {
            let text = |key: &str| cite[key].as_str().unwrap_or_default();
            let row = ALL.iter().find(|row| row.key == text("key"));
            prop_assert!(row.is_some(), "{path}: no row {}", text("key"));
            let is_read = row.is_some_and(|row| row.mark == Mark::Read);
            let words = ["common practice", "reported second-hand", "assumption"];
            prop_assert!(is_read || words.iter().any(|w| text("source").contains(w)), "{path}: {}", text("source"));
            prop_assert_eq!(is_read, text("status") == "published", "{}", path);
        }
        // A finding without a source would have no such object.
        for finding in today.pups.iter().flat_map(|p| &p.findings) {
            prop_assert!(!finding.source.key.is_empty() && !finding.source.source.is_empty(), "{}", finding.code);
        }
        for action in today.do_now.iter().filter(|a| !matches!(a.kind.as_str(), "feed now" | "withheld")) {
            prop_assert!(action.source.is_some(), "{} has no source", action.code);
        }
    }

    /// "nothing in do_now out of urgency order"
    #[test]
    fn what_to_do_now_stands_in_order_of_urgency(litter in any_litter()) {
        let today = ask(&litter).today;
        let levels: Vec<u8> = today.do_now.iter().map(|a| level(&a.kind)).collect();
        prop_assert!(levels.is_sorted_by(|a, b| a >= b), "{:?}", today.do_now.iter().map(|a| &a.kind).collect::<Vec<_>>());
    }

    /// "Cold, blue or grey gums, … never budgeted": every finding above a note stands among the
    /// things to do now, and rings the vet in the pup's standing.
    #[test]
    fn every_finding_above_a_note_is_among_the_things_to_do_now(litter in any_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            for f in seen.findings().iter().filter(|f| f.level != "note") {
                let is_there = case.today.do_now.iter().any(|a| a.code == f.code && a.kind == f.level && a.pups == [seen.name]);
                prop_assert!(is_there, "{} of {}", f.code, seen.name);
            }
            let rings = seen.findings().iter().any(|f| f.level.starts_with("vet"));
            prop_assert_eq!(rings, seen.line.standing == "ring the vet", "{}", seen.story());
        }
    }

    /// "beside the phone number, with "no answer in 10 minutes: next number""
    #[test]
    fn a_call_to_the_vet_says_what_to_do_without_an_answer(litter in any_litter()) {
        let today = ask(&litter).today;
        if today.do_now.iter().any(|a| a.kind.starts_with("vet")) {
            let text = today.if_no_answer.map(|s| s.text).unwrap_or_default();
            prop_assert!(plain(&text).contains("10 minutes") && text.contains("next number"), "{text}");
            prop_assert!(!today.vets.is_empty());
        }
    }

    /// What is fed says how: never on the back, never squeezed, 37 to 38 °C, the wrist, no microwave.
    #[test]
    fn what_is_fed_says_how(litter in fed_litter()) {
        let today = ask(&litter).today;
        if today.rounds.iter().any(|r| !r.feeds.is_empty()) {
            let text: String = today.how_to_feed.iter().map(|s| s.text.as_str()).collect();
            for words in ["never on its back", "Never squeeze", "37 to 38 °C", "wrist", "no microwave", "warmed once", "above 40 °C never", "drips and does not stream"] {
                prop_assert!(plain(&text).contains(words), "{words} is not said");
            }
        }
    }

    /// An unknown amount is not zero, and what nobody wrote down was not "counted as offered".
    #[test]
    fn the_report_never_claims_to_have_counted_an_offer_that_was_not_written(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            let hours = |ago: i64| ago <= 24 * super::litter::H;
            let feeds = seen.hand_feeds();
            let unknown: Vec<_> = feeds.iter().filter(|f| hours(f.ago) && f.taken.is_none()).collect();
            if !unknown.is_empty() && unknown.iter().all(|f| f.offered.is_none()) {
                let said: Vec<_> = case.today.missing.iter().filter(|m| m.starts_with(seen.name) && m.contains("counted as all that was offered")).collect();
                prop_assert!(said.is_empty(), "{said:?}");
            }
        }
    }
}
