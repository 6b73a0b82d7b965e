//! safety.md, "Technique": bottle, tube or nothing.

use proptest::prelude::*;

use super::config;
use super::generate::{Focus, litter};
use super::litter::{H, Litter};
use super::oracle::{ask, cold_below};
use super::values::TECHNIQUE_KINDS;

fn technique_litter() -> impl Strategy<Value = Litter> {
    const TECHNIQUE: Focus =
        Focus { pup_kinds: TECHNIQUE_KINDS, litter_kinds: &["dam_milk"], most_pups: 5, most_checks: 4 };
    litter(TECHNIQUE).prop_map(super::ready::to_feed)
}

/// Pups that do not suck, for which a tube is the question.
fn tube_litter() -> impl Strategy<Value = Litter> {
    technique_litter().prop_map(|mut litter| {
        for pup in &mut litter.pups {
            pup.checks.retain(|c| c.kind != "suck");
            pup.checks.push(super::litter::Check { ago: 0, kind: "suck", value: "weak".into() });
        }
        litter
    })
}

proptest! {
    #![proptest_config(config())]

    /// "Tube only where a carer on that round is recorded as taught by a vet (default: nobody)."
    #[test]
    fn a_tube_is_only_for_a_carer_whom_a_vet_taught(litter in tube_litter()) {
        for seen in ask(&litter).pups() {
            for planned in seen.feeds.iter().filter(|p| p.feed.method == "tube") {
                let carers = &planned.feed.tube_carers;
                let taught: Vec<String> =
                    litter.carers.iter().enumerate().filter(|(_, t)| **t).map(|(i, _)| format!("carer {i}")).collect();
                prop_assert!(!carers.is_empty() && carers.iter().all(|c| taught.contains(c)), "{carers:?}: {}", seen.story());
            }
        }
    }

    /// "Premature, cold, dry or unresponsive: no tube, vet."
    #[test]
    fn a_premature_cold_dry_or_unresponsive_pup_gets_no_tube(litter in tube_litter()) {
        for seen in ask(&litter).pups() {
            let is_cold = seen.rectal().last().is_some_and(|r| r.1 < cold_below(seen.pup.age));
            let is_dry = seen.pup.is("gums", &["tacky"]) || seen.pup.is("urine", &["nothing_passed"]);
            let is_unresponsive = seen.pup.is("behaviour", &["limp", "cannot_be_roused", "seizure"]);
            if seen.pup.premature || is_cold || is_dry || is_unresponsive {
                prop_assert!(seen.feeds.iter().all(|p| p.feed.method != "tube"), "{}", seen.story());
            }
        }
    }

    /// A pup that does not suck gets no bottle, whoever is in the house.
    #[test]
    fn a_pup_without_a_suck_gets_no_bottle(litter in technique_litter()) {
        for seen in ask(&litter).pups() {
            if seen.pup.is("suck", &["none", "weak"]) || seen.pup.is("palate", &["cleft"]) {
                prop_assert!(seen.feeds.iter().all(|p| p.feed.method != "bottle"), "{}", seen.story());
            }
        }
    }

    /// "Look at the palate before the first bottle."
    #[test]
    fn the_palate_is_looked_at_before_the_first_bottle(litter in technique_litter()) {
        for seen in ask(&litter).pups() {
            let had_bottle = seen.hand_feeds().iter().any(|f| f.method == "bottle");
            if had_bottle || seen.pup.latest("palate").is_some() {
                continue;
            }
            for planned in seen.feeds.iter().filter(|p| p.feed.method == "bottle") {
                prop_assert!(planned.has("palate"), "{}", seen.story());
            }
        }
    }

    /// "Milk at the nose: stop this feed, …; nothing more until the next feed, then slower."
    #[test]
    fn milk_at_the_nose_ends_this_feed_and_slows_the_next(litter in technique_litter()) {
        for seen in ask(&litter).pups() {
            let Some(last) = seen.pup.checks_of("milk_at_nose").pop().filter(|c| c.value == "yes") else { continue };
            let is_fed_since = seen.hand_feeds().iter().any(|f| f.ago < last.ago);
            if let Some(next) = seen.feeds.first().filter(|_| !is_fed_since && last.ago <= 24 * H) {
                prop_assert!(next.at + last.ago >= 2 * H, "inside the same feed: {}", seen.story());
                prop_assert!(next.has("slower"), "{}", seen.story());
            }
        }
    }

    /// The same when somebody wiped the nose and wrote "no" a moment later.
    #[test]
    fn a_dry_nose_a_moment_later_does_not_go_on_with_the_feed(litter in technique_litter(), ago in 60..2 * H, after in 1..59_i64) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            if pup.age >= ago {
                pup.checks.retain(|c| c.kind != "milk_at_nose");
                pup.checks.push(super::litter::Check { ago, kind: "milk_at_nose", value: "yes".into() });
                pup.checks.push(super::litter::Check { ago: ago - after, kind: "milk_at_nose", value: "no".into() });
            }
        }
        for seen in ask(&litter).pups() {
            let is_fed_since = seen.hand_feeds().iter().any(|f| f.ago < ago);
            if let Some(next) = seen.feeds.first().filter(|_| seen.pup.age >= ago && !is_fed_since) {
                prop_assert!(next.at + ago >= 2 * H, "inside the same feed, {ago} s after: {}", seen.story());
            }
        }
    }
}
