//! safety.md, "Warmth": who may be fed, and after which check.

use proptest::prelude::*;

use super::config;
use super::generate::{Focus, litter};
use super::litter::{Check, DAY, H, Litter};
use super::oracle::{KEEP_WATCH, VET_NOW, ask, cold_below};
use super::values::WARMTH_KINDS;

fn warmth_litter() -> impl Strategy<Value = Litter> {
    const WARMTH: Focus = Focus { pup_kinds: WARMTH_KINDS, litter_kinds: &["dam_milk"], most_pups: 4, most_checks: 5 };
    litter(WARMTH).prop_map(super::ready::to_feed)
}

/// Puts the last rectal reading at a place where it decides.
fn with_last_reading(mut litter: Litter, kind: &'static str, milli: i64, ago: i64) -> Litter {
    for pup in &mut litter.pups {
        if ago <= pup.age {
            pup.checks.retain(|c| !(c.kind.starts_with("rectal") && c.ago <= ago));
            #[expect(clippy::cast_precision_loss, reason = "a temperature")]
            pup.checks.push(Check { ago, kind, value: (milli as f64 / 1000.0).to_string() });
        }
    }
    litter
}

proptest! {
    #![proptest_config(config())]

    /// "No milk below 35.0 °C (days 0–6) or 36.0 °C (days 7–20)", and from day 21 to 30 none below
    /// the 36.0 °C from which a pup is watched. Only a newer reading lifts it.
    #[test]
    fn a_pup_whose_last_rectal_reading_is_too_low_gets_no_milk(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            let Some((_, last)) = seen.rectal().last().copied() else { continue };
            if last < cold_below(seen.pup.age) && seen.pup.age < 31 * DAY {
                prop_assert!(seen.feeds.is_empty(), "last reading {last}: {}", seen.story());
                prop_assert!(seen.line.next_feed.is_none());
                prop_assert!(seen.line.standing == "needs help" || seen.line.standing == "ring the vet", "{}", seen.story());
            }
        }
    }

    /// A pup that turns 7 days old within the plan is held to the limit of the age at the feed.
    #[test]
    fn a_reading_too_low_for_the_age_at_the_feed_is_checked_again_before_it(
        litter in warmth_litter(), before_day_7 in 1..20 * H, milli in 35_000..36_000_i64, ago in 0..3 * H
    ) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = 7 * DAY - before_day_7;
            for feed in &mut pup.feeds { feed.ago = feed.ago.min(pup.age); }
            for weighing in &mut pup.weighings { weighing.ago = weighing.ago.min(pup.age); }
            for check in &mut pup.checks { check.ago = check.ago.min(pup.age); }
            if let Some(order) = &mut pup.order { order.given = order.given.min(pup.age); }
        }
        for seen in ask(&with_last_reading(litter, "rectal_temperature_c", milli / 100 * 100, ago)).pups() {
            for planned in seen.feeds.iter().filter(|p| seen.age_at(p) >= 7 * DAY) {
                prop_assert!(planned.has("warm"), "fed on a reading below 36.0: {}", seen.story());
            }
        }
    }

    /// "days 21–30 at 36.0–36.9 °C: watch, feed if active and sucking".
    #[test]
    fn a_cool_pup_of_days_21_to_30_is_watched_and_fed_only_if_active_and_sucking(
        litter in warmth_litter(), day in 21..31_i64, milli in prop::sample::select(vec![36_000, 36_500, 36_900]), ago in 0..2 * H
    ) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = day * DAY + H;
            pup.checks.retain(|c| c.ago > ago);
        }
        for seen in ask(&with_last_reading(litter, "rectal_temperature_c", milli, ago)).pups() {
            prop_assert!(seen.level() >= KEEP_WATCH, "not watched: {}", seen.story());
            for planned in &seen.feeds {
                let is_fresh = planned.at + ago <= 2 * H;
                if is_fresh && planned.feed.method == "bottle" {
                    prop_assert!(planned.has("active") && planned.has("suck"), "{}", seen.story());
                }
            }
        }
    }

    /// The same, once the reading is older than the two hours for which a good one would count:
    /// an old cool reading is no better than a new one.
    #[test]
    fn a_cool_reading_is_not_forgotten_with_time(
        litter in warmth_litter(), day in 21..30_i64, ago in 2 * H + 60..12 * H
    ) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = day * DAY + H;
            pup.checks.retain(|c| c.ago > ago);
        }
        for seen in ask(&with_last_reading(litter, "rectal_temperature_c", 36_500, ago)).pups() {
            for planned in seen.feeds.iter().filter(|p| p.feed.method == "bottle") {
                let is_asked = planned.has("warm") || (planned.has("active") && planned.has("suck"));
                prop_assert!(is_asked, "{}", seen.story());
            }
        }
    }

    /// "Below 34.4 °C vet now; below 32.2 °C vet now, do not wait."
    #[test]
    fn below_34_4_is_vet_now_and_below_32_2_do_not_wait(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            let Some((_, last)) = seen.rectal().last().copied() else { continue };
            if last < 34_400 {
                prop_assert!(seen.level_of(|c| c == "cold") == VET_NOW, "last reading {last}: {}", seen.story());
            }
            if last < 32_200 {
                let is_said = seen.findings().iter().any(|f| f.what_to_do.contains("do not wait"));
                prop_assert!(is_said, "last reading {last}: {}", seen.story());
            }
        }
    }

    /// "In the first two weeks, for any hand-fed, light or not-`doing well` pup, the amount is
    /// shown as "after you have checked: warm, sucking". A rectal reading in range clears the gate
    /// for 2 h; skin, ear and infrared readings never do".
    #[test]
    fn in_the_first_two_weeks_only_a_rectal_reading_of_the_last_two_hours_spares_the_warm_check(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            for planned in seen.feeds.iter().filter(|p| seen.age_at(p) < 14 * DAY) {
                let last = seen.rectal().last().copied();
                let is_cleared = last.is_some_and(|(ago, t)| planned.at + ago <= 2 * H && t >= cold_below(seen.age_at(planned)));
                prop_assert!(is_cleared || planned.has("warm"), "last rectal reading {last:?}: {}", seen.story());
            }
        }
    }

    /// The same gate asks for the suck of every bottle.
    #[test]
    fn in_the_first_two_weeks_a_bottle_is_given_only_after_the_suck_was_checked(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            for planned in seen.feeds.iter().filter(|p| seen.age_at(p) < 14 * DAY && p.feed.method == "bottle") {
                let is_fresh = seen.pup.checks_of("suck").last().is_some_and(|c| c.value == "strong" && planned.at + c.ago <= 2 * H);
                prop_assert!(is_fresh || planned.has("suck"), "{}", seen.story());
            }
        }
    }

    /// "skin, ear and infrared readings … only raise suspicion": a low one since the last rectal
    /// reading asks for warmth before the next milk.
    #[test]
    fn a_low_skin_ear_or_infrared_reading_raises_suspicion(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            let rectal = seen.rectal().last().map_or(i64::MAX, |r| r.0);
            let Some(last) = seen.other_readings().last().copied() else { continue };
            let is_low = last.0 < rectal && last.1 < cold_below(seen.pup.age);
            if is_low && seen.pup.age < 31 * DAY {
                prop_assert!(seen.level() >= KEEP_WATCH, "{last:?} raises nothing: {}", seen.story());
                for planned in &seen.feeds {
                    prop_assert!(planned.has("warm"), "{last:?}: {}", seen.story());
                }
            }
        }
    }

    /// "never do": a later good skin reading does not take back the suspicion of an earlier low one.
    #[test]
    fn a_good_skin_reading_never_takes_back_a_suspicion(litter in warmth_litter()) {
        for seen in ask(&litter).pups() {
            let rectal = seen.rectal().last().map_or(i64::MAX, |r| r.0);
            let low = seen.other_readings().into_iter().find(|r| r.0 < rectal && r.1 < cold_below(seen.pup.age));
            if let Some(low) = low.filter(|_| seen.pup.age < 31 * DAY) {
                for planned in &seen.feeds {
                    prop_assert!(planned.has("warm"), "low at {low:?}: {}", seen.story());
                }
            }
        }
    }

    /// "a new measurement in range does" lift a hard gate: one of the same second is not newer, so
    /// the worse of two readings counts.
    #[test]
    fn of_two_rectal_readings_at_the_same_time_the_colder_one_counts(litter in warmth_litter(), ago in 0..2 * H) {
        let mut litter = with_last_reading(litter, "rectal_temperature_c", 34_000, ago);
        for pup in &mut litter.pups {
            if ago <= pup.age {
                pup.checks.push(Check { ago, kind: "rectal_temperature_c", value: "37".into() });
            }
        }
        for seen in ask(&litter).pups() {
            if seen.pup.age >= ago {
                prop_assert!(seen.feeds.is_empty(), "{}", seen.story());
            }
        }
    }
}
