//! safety.md, "Amounts": over a day, on old weights, after setbacks, and beside the dam.

use proptest::prelude::*;

use super::config;
use super::generate::Focus;
use super::generate::{any_litter, fed_litter, litter};
use super::litter::{Check, DAY, Feed, H, Litter, Weighing, Weight};
use super::oracle::{Case, Planned, Seen, ask, cold_below};
use super::values::{TECHNIQUE_KINDS, WARMTH_KINDS};

const HAIR: f64 = 1e-6;

/// Published strengths in kcal per mL (milk handbook checks 1, 2, 7 and 8): energy per 100 g times density.
fn strength(case: &Case, milk: Option<usize>) -> Option<f64> {
    let milk = &case.litter.milks[milk?];
    milk.kcal_per_ml.or(match milk.kind {
        "goat" => Some(0.6930 * 1.0291),
        "cow" => Some(0.6040 * 1.0297),
        "bitch" => Some(1.3059 * 1.038_47),
        _ => None,
    })
}

/// The amount given by hand before a planned feed, as far as it is known.
fn last_amount(seen: &Seen<'_>, planned: &Planned<'_>) -> Option<f64> {
    let earlier = seen.feeds.iter().rfind(|p| p.at < planned.at).map(|p| p.feed.amount_ml);
    earlier.or_else(|| seen.hand_feeds().iter().rev().find_map(|f| f.at_most().filter(|ml| *ml > 0.0)))
}

/// Setbacks: how many seconds ago, and what.
fn setbacks(seen: &Seen<'_>, signs: &[(&str, &[&str])]) -> Vec<(i64, String)> {
    let mut all: Vec<(i64, String)> = Vec::new();
    for (kind, words) in signs {
        for check in seen.pup.checks_of(kind) {
            if words.contains(&check.value.as_str()) {
                all.push((check.ago, format!("{kind} {}", check.value)));
            }
        }
    }
    all
}

const SIGNS: &[(&str, &[&str])] = &[
    ("milk_at_nose", &["yes"]),
    ("belly", &["taut"]),
    ("suck", &["none"]),
    ("breathing", &["noisy", "laboured"]),
    ("stool", &["loose_yellow", "loose_green", "grey", "white", "watery", "bloody"]),
];
const EMERGENCIES: &[(&str, &[&str])] =
    &[("behaviour", &["limp", "cannot_be_roused", "seizure", "bleeding"]), ("gums", &["blue", "grey", "white"])];

/// "After a setback the plan may only shrink or stop without a person; growing it needs a fresh
/// weight and a warm pup."
fn may_only_shrink(
    case: &Case,
    from: i64,
    to: i64,
    events: impl Fn(&Seen<'_>) -> Vec<(i64, String)>,
) -> Result<(), TestCaseError> {
    for seen in case.pups() {
        for (ago, what) in events(&seen) {
            if ago < from || ago > to {
                continue;
            }
            let is_weighed = seen.weights().iter().any(|w| w.0 < ago);
            let is_warm = seen.rectal().iter().any(|r| r.0 < ago && r.1 >= cold_below(seen.pup.age));
            if is_weighed && is_warm {
                continue;
            }
            for planned in &seen.feeds {
                let Some(last) = last_amount(&seen, planned) else { continue };
                let ml = planned.feed.amount_ml;
                prop_assert!(ml <= last + HAIR, "{ml} mL after {last} mL, {what} {ago} s ago: {}", seen.story());
            }
        }
    }
    Ok(())
}

fn signs_litter() -> impl Strategy<Value = Litter> {
    const SIGNS_TOO: Focus =
        Focus { pup_kinds: TECHNIQUE_KINDS, litter_kinds: &["dam_milk"], most_pups: 4, most_checks: 5 };
    litter(SIGNS_TOO).prop_map(super::ready::to_feed)
}

fn warmth_litter() -> impl Strategy<Value = Litter> {
    const WARMTH: Focus = Focus { pup_kinds: WARMTH_KINDS, litter_kinds: &["dam_milk"], most_pups: 4, most_checks: 5 };
    litter(WARMTH).prop_map(super::ready::to_feed)
}

proptest! {
    #![proptest_config(config())]

    /// "hand-fed energy at most 26 kcal per 100 g in 24 h unless a vet set another", in every
    /// window of 24 h that ends with a planned feed. Recorded milk of unknown strength counts
    /// nothing here, so this is the lenient reading.
    #[test]
    fn hand_fed_energy_is_at_most_26_kcal_per_100_g_in_any_24_hours(litter in fed_litter()) {
        let case = ask(&litter);
        let in_use = case.today.batch.as_ref().map(|b| b.label_strength_kcal_per_ml);
        for seen in case.pups() {
            for planned in &seen.feeds {
                let is_in_day = |at: i64| at <= planned.at && planned.at - at < DAY;
                let recorded: f64 = seen.hand_feeds().iter().filter(|f| is_in_day(-f.ago))
                    .filter_map(|f| Some(f.at_most()? * strength(&case, f.milk)?)).sum();
                let plan: f64 = seen.feeds.iter().filter(|p| is_in_day(p.at)).map(|p| p.feed.amount_ml).sum();
                // An order that ends inside the plan has its own property.
                if seen.order_ends_inside_the_plan() { continue; }
                let kcal = recorded + plan * in_use.expect("a plan has its batch");
                let per_100g = seen.order_at(planned.at).and_then(|o| o.energy).unwrap_or(26.0);
                let most = per_100g * planned.feed.weight_g / 100.0;
                // Half a per mille for the rounding of the published strengths.
                prop_assert!(kcal <= most * 1.0005 + HAIR, "{kcal} kcal above {most} in the day before {} s: {}", planned.at, seen.story());
            }
        }
    }

    /// "Stale weight (over 24 h in week 1, over 48 h later): no new and no larger amount. The last
    /// amount or less stays usable, marked "weigh first; if you cannot, not more than this", for
    /// another 24 h".
    #[test]
    fn on_a_stale_weight_only_the_last_amount_stays_usable(litter in fed_litter()) {
        for seen in ask(&litter).pups() {
            for planned in &seen.feeds {
                let weighed = seen.weights().iter().map(|w| w.0).min().expect("a fed pup was weighed");
                let old = planned.at + weighed;
                let stale = if seen.age_at(planned) < 7 * DAY { 24 * H } else { 48 * H };
                if old <= stale {
                    continue;
                }
                prop_assert!(old <= stale + DAY, "a weight {old} s old: {}", seen.story());
                prop_assert!(planned.has("weigh first; if you cannot, not more than this"), "not marked: {}", seen.story());
                let last = last_amount(&seen, planned);
                prop_assert!(last.is_some_and(|l| planned.feed.amount_ml <= l + HAIR), "larger than {last:?}: {}", seen.story());
            }
        }
    }

    #[test]
    fn after_a_cold_reading_the_plan_only_shrinks(litter in warmth_litter()) {
        may_only_shrink(&ask(&litter), 0, 24 * H, |seen| {
            seen.rectal().into_iter().filter(|r| r.1 < cold_below(seen.pup.age - r.0)).map(|r| (r.0, format!("rectal {}", r.1))).collect()
        })?;
    }

    #[test]
    fn after_a_sign_the_plan_only_shrinks(litter in signs_litter()) {
        may_only_shrink(&ask(&litter), 0, 24 * H, |seen| setbacks(seen, SIGNS))?;
    }

    /// Limp, blue and the like, and well again by the newest check.
    #[test]
    fn after_an_emergency_the_plan_only_shrinks(
        litter in fed_litter(), ago in 2 * H..20 * H, age in 30 * H..20 * DAY,
        (kind, bad, good) in prop::sample::select(vec![
            ("behaviour", "limp", "active"), ("behaviour", "cannot_be_roused", "quiet"), ("behaviour", "seizure", "active"),
            ("behaviour", "bleeding", "active"), ("gums", "blue", "pink_moist"), ("gums", "grey", "pink_moist"),
        ]),
    ) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = age;
            pup.order = None;
            let weight = pup.birth.map_or(300.0, Weight::grams);
            pup.birth = Some(Weight::nearest(weight, 0));
            pup.weighings = vec![Weighing { ago: ago + H, weight: Weight::nearest(weight, 0), taken: "unknown" }];
            let little = (weight * 5.0 / 100.0).floor() / 10.0;
            let fed = |ago| Feed { ago, method: "bottle", offered: Some(little), taken: Some(little), milk: None, nursed: None };
            pup.feeds = vec![fed(ago + H / 2), fed(H)];
            pup.checks = [(ago, bad), (H / 2, good)].map(|(ago, word)| Check { ago, kind, value: word.into() }).to_vec();
        }
        may_only_shrink(&ask(&litter), 0, 24 * H, |seen| setbacks(seen, EMERGENCIES))?;
    }

    /// The sentence names no time after which a setback is forgotten.
    #[test]
    fn a_setback_is_not_forgotten_with_time(litter in signs_litter()) {
        may_only_shrink(&ask(&litter), 24 * H + 1, 30 * DAY, |seen| setbacks(seen, SIGNS))?;
    }

    /// "A pup that is `doing well` and gaining gets no top-up, whatever a model says."
    #[test]
    fn a_pup_that_is_doing_well_and_gaining_gets_no_top_up(litter in any_litter()) {
        for seen in ask(&litter).pups() {
            let is_gaining = seen.line.gain.as_ref().is_some_and(|g| g.g_per_day > 0.0);
            let is_ordered = seen.order_at(0).is_some_and(|o| o.per_feed.is_some() || o.energy.is_some());
            let is_whole = seen.line.need.as_ref().is_some_and(|n| n.by_hand == "whole");
            if seen.line.standing == "doing well" && is_gaining && !is_ordered && !is_whole {
                prop_assert!(seen.feeds.is_empty() && seen.line.need.is_none(), "{}", seen.story());
            }
        }
    }

    /// "No intake model in the first 48 h": weighed nursings change no need before 48 h.
    #[test]
    fn weighed_nursings_change_no_need_in_the_first_48_hours(litter in any_litter()) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = pup.age.min(48 * H - 60);
            pup.feeds.iter_mut().for_each(|f| f.ago = f.ago.min(pup.age));
            pup.weighings.iter_mut().for_each(|w| w.ago = w.ago.min(pup.age));
            pup.checks.iter_mut().for_each(|c| c.ago = c.ago.min(pup.age));
            pup.joined = None;
            pup.left = None;
        }
        let mut without = litter.clone();
        for pup in &mut without.pups {
            pup.feeds.retain(Feed::is_by_hand);
        }
        let (with, without) = (ask(&litter), ask(&without));
        for (a, b) in with.today.pups.iter().zip(&without.today.pups) {
            let kcal = |l: &whelpward_core::report::PupLine| l.need.as_ref().map(|n| n.by_hand_kcal);
            prop_assert_eq!(kcal(a), kcal(b), "{} with and without its weighed nursings", &a.pup);
        }
    }

    /// "Fewest feeds use the stomach limit of that very age."
    #[test]
    fn the_fewest_feeds_follow_from_the_stomach_limit_of_the_age(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            let Some(need) = &seen.line.need else { continue };
            let weight = seen.line.weight_g.expect("a need has a weight");
            let per_kg = if seen.pup.age < 24 * H { 20.0 } else { 40.0 };
            let held = f64::from(need.fewest_feeds_per_day) * per_kg * weight / 1000.0;
            // 96 feeds a day is where counting stops.
            prop_assert!(need.fewest_feeds_per_day >= 96 || held >= need.by_hand_ml - HAIR, "{held} mL of {}: {}", need.by_hand_ml, seen.story());
            // Feeds less than 2 h apart count as one, so 12 a day is the most; a vet may have ordered fewer.
            let is_said = case.today.shortfalls.iter().any(|s| s.pup == seen.name && s.text.contains("too thin"));
            prop_assert!(need.feeds_per_day >= need.fewest_feeds_per_day || is_said, "{}", seen.story());
        }
    }

    /// "If a household cannot give that many: say so, with what would help (denser milk, another
    /// carer, tube by a taught carer, vet)."
    #[test]
    fn a_household_that_cannot_give_that_many_feeds_is_told_what_would_help(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            let (Some(need), Some(most)) = (&seen.line.need, litter.most_rounds) else { continue };
            if most < need.feeds_per_day {
                let helps = ["denser milk", "another carer", "tube", "vet"];
                let is_said = case.today.shortfalls.iter().any(|s| s.pup == seen.name && helps.iter().all(|h| s.text.contains(h)));
                prop_assert!(is_said, "{most} of {} feeds: {}", need.feeds_per_day, seen.story());
            }
        }
    }

    /// "floor of 120 mL/kg including the water in the milk, from day 4": the need itself.
    #[test]
    fn too_little_water_in_the_days_milk_is_said(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            let Some(need) = seen.line.need.as_ref().filter(|n| n.by_hand == "whole") else { continue };
            let water = need.water_ml_per_kg_day.expect("whole hand-feeding counts the water");
            if seen.pup.age >= 3 * DAY && water < 119.0 {
                prop_assert!(case.today.shortfalls.iter().any(|s| s.pup == seen.name && s.text.contains("water")), "{water}: {}", seen.story());
            }
        }
    }

    /// The same floor for what the plan really gives: no more water than milk can be in it.
    #[test]
    fn too_little_water_in_the_planned_feeds_is_said(litter in fed_litter()) {
        let case = ask(&litter);
        for seen in case.pups() {
            // What a vet ordered is the vet's to say.
            let Some(_) = seen.line.need.as_ref().filter(|n| n.by_hand == "whole" && seen.pup.order.is_none()) else { continue };
            let ml: f64 = seen.feeds.iter().map(|p| p.feed.amount_ml).sum();
            let weight = seen.line.weight_g.expect("a need has a weight");
            if seen.pup.age >= 3 * DAY && ml > 0.0 && ml * 1000.0 / weight < 119.0 {
                let is_said = case.today.shortfalls.iter().any(|s| s.pup == seen.name && s.text.contains("water"));
                prop_assert!(is_said, "{ml} mL for {weight} g: {}", seen.story());
            }
        }
    }
}
