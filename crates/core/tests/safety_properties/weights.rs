//! safety.md, "Weight": losses, no gain, and birth weights.

use proptest::prelude::*;

use super::config;
use super::generate::any_litter;
use super::litter::{DAY, H, Litter, Weighing, Weight};
use super::oracle::{NEEDS_HELP, Seen, VET_NOW, VET_TODAY, ask, plain};

/// Thousandths of a gram, so that an edge is met exactly.
#[expect(clippy::cast_possible_truncation, reason = "weights of pups")]
fn milligrams(grams: f64) -> i64 {
    (grams * 1000.0).round() as i64
}

/// Whether the loss from the first to the second weight is at least this many percent.
fn has_lost(percent: i64, from: f64, to: f64) -> bool {
    100 * (milligrams(from) - milligrams(to)) >= percent * milligrams(from)
}

/// Every pup gets the same course: seconds after birth, and parts in ten thousand of the birth weight.
fn with_course(mut litter: Litter, age: i64, course: &[(i64, i64)]) -> Litter {
    for pup in &mut litter.pups {
        let birth = pup.birth.unwrap_or(Weight::Grams(3000)).grams().max(80.0);
        pup.age = age;
        pup.birth = Some(Weight::nearest(birth, 0));
        pup.has_slip = false;
        pup.joined = None;
        pup.left = None;
        #[expect(clippy::cast_precision_loss, reason = "parts in ten thousand")]
        let weighing = |(after, parts): &(i64, i64)| Weighing {
            ago: age - after,
            weight: Weight::nearest(birth * *parts as f64 / 10_000.0, 0),
            taken: "before_feed",
        };
        pup.weighings = course.iter().map(weighing).collect();
        pup.feeds.clear();
        pup.checks.clear();
        if let Some(order) = &mut pup.order {
            order.given = order.given.min(age);
        }
    }
    litter
}

/// Birth weight and newest weight of a pup that was weighed again and is not in doubt.
fn birth_and_newest(seen: &Seen<'_>) -> Option<(f64, f64)> {
    let birth = seen.pup.birth?.grams();
    let weights = seen.weights();
    (weights.len() > 1).then(|| (birth, weights[weights.len() - 1].1))
}

proptest! {
    #![proptest_config(config())]

    /// "Loss of 4.0 % or more at 48 h: `needs help` (top-up, weigh in 6–12 h)."
    #[test]
    fn a_loss_of_4_percent_at_48_hours_needs_help(litter in any_litter(), lost in 300..600_i64, at in 40 * H..56 * H) {
        let case = ask(&with_course(litter, at, &[(at, 10_000 - lost)]));
        for seen in case.pups() {
            let Some((birth, newest)) = birth_and_newest(&seen) else { continue };
            if has_lost(4, birth, newest) {
                prop_assert!(seen.level() >= NEEDS_HELP, "{birth} to {newest}: {}", seen.story());
                let is_said = seen.findings().iter().any(|f| plain(&f.what_to_do).contains("6 to 12 h") || f.level.starts_with("vet"));
                prop_assert!(is_said, "when to weigh again is not said: {}", seen.story());
            }
        }
    }

    /// "10 % or more at any time: vet now", against the birth weight. A reading that is held back
    /// as a likely slip has to be weighed again first.
    #[test]
    fn a_loss_of_10_percent_of_the_birth_weight_is_vet_now(
        litter in any_litter(), lost in 900..1500_i64, at in prop_oneof![H..48 * H, H..20 * DAY]
    ) {
        let case = ask(&with_course(litter, at, &[(at, 10_000 - lost)]));
        for seen in case.pups() {
            let Some((birth, newest)) = birth_and_newest(&seen) else { continue };
            let is_held_back = case.today.doubts.iter().any(|d| d.pup == seen.name && d.is_held_back);
            if has_lost(10, birth, newest) && !is_held_back {
                prop_assert!(seen.level() == VET_NOW, "{birth} to {newest}: {}", seen.story());
            }
            if has_lost(10, birth, newest) && is_held_back {
                prop_assert!(seen.level() >= NEEDS_HELP, "{birth} to {newest}, held back: {}", seen.story());
            }
        }
    }

    /// "at any time": a pup that grew and then lost a tenth of what it weighed a day before.
    #[test]
    fn a_loss_of_10_percent_in_a_day_is_vet_now_later_too(
        litter in any_litter(), day in 8..30_i64, lost in 1010..1500_i64
    ) {
        let grown = 20_000_i64;
        let case = ask(&with_course(litter, day * DAY, &[
            ((day - 2) * DAY, grown - 600), ((day - 1) * DAY, grown), (day * DAY, grown * (10_000 - lost) / 10_000),
        ]));
        for seen in case.pups() {
            let is_held_back = case.today.doubts.iter().any(|d| d.pup == seen.name && d.is_held_back);
            let weights = seen.weights();
            let [.., before, newest] = weights[..] else { continue };
            if !is_held_back && has_lost(10, before.1, newest.1) {
                prop_assert!(seen.level() == VET_NOW, "{weights:?}: {}", seen.story());
            }
        }
    }

    /// "No gain by 72 h: vet today": no reading lies above an earlier one.
    #[test]
    fn no_gain_by_72_hours_is_vet_today(
        litter in any_litter(), at in 72 * H..96 * H, steps in (0..300_i64, 0..300_i64, 0..200_i64)
    ) {
        let second = 10_000 - steps.0;
        let case = ask(&with_course(litter, at, &[(24 * H, second), (48 * H, second - steps.1), (at, second - steps.1 - steps.2)]));
        for seen in case.pups() {
            prop_assert!(seen.level() >= VET_TODAY, "{:?}: {}", seen.weights(), seen.story());
        }
    }

    /// "Any loss after 24 h: a note", when the two readings lie 12 to 72 h apart.
    #[test]
    fn a_loss_after_24_hours_is_noted(
        litter in any_litter(), at in 36 * H..10 * DAY, before in 12 * H..72 * H, lost in 100..300_i64
    ) {
        let earlier = at - before.min(at - 60);
        let case = ask(&with_course(litter, at, &[(earlier, 10_400), (at, 10_400 - lost)]));
        for seen in case.pups() {
            let weights = seen.weights();
            let is_lost = weights.len() > 1 && weights[weights.len() - 1].1 < weights[weights.len() - 2].1;
            if is_lost && at - earlier >= 12 * H {
                prop_assert!(!seen.findings().is_empty(), "{weights:?}: {}", seen.story());
            }
        }
    }

    /// "Any loss", also over a gap of more than three days without a weighing.
    #[test]
    fn a_loss_over_a_long_gap_is_noted(litter in any_litter(), gap in 73 * H..8 * DAY, lost in 100..400_i64) {
        let at = 10 * DAY;
        let case = ask(&with_course(litter, at, &[(at - gap, 20_000), (at, 20_000 - 2 * lost)]));
        for seen in case.pups() {
            prop_assert!(seen.findings().iter().any(|f| f.code.contains("loss") || f.code.contains("gain") || f.code.contains("doubt")),
                "{:?}: {}", seen.weights(), seen.story());
        }
    }

    /// "Birth-weight bands only for breeds with a published threshold."
    #[test]
    fn a_breed_without_a_published_threshold_gets_no_birth_weight_band(litter in any_litter()) {
        for seen in ask(&litter).pups() {
            if matches!(litter.breed, None | Some("Chihuahua" | "no such breed")) {
                prop_assert!(!["normal", "low", "very low"].contains(&seen.line.birth_band.as_str()), "{}", seen.line.birth_band);
                prop_assert!(!seen.findings().iter().any(|f| f.code.contains("light-at-birth")), "{}", seen.story());
            }
        }
    }
}
