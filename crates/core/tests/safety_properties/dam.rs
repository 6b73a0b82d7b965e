//! safety.md, "Dam and birth": signs of the dam, the clocks of the birth, the first day.

use proptest::prelude::*;

use super::config;
use super::generate::{EVERYTHING, Focus, any_litter, litter};
use super::litter::{Check, DAY, H, Litter};
use super::oracle::{Case, KEEP_WATCH, VET_NOW, VET_TODAY, ask};
use super::values::{BIRTH_KINDS, LITTER_KINDS};

fn dam_litter() -> impl Strategy<Value = Litter> {
    litter(Focus { litter_kinds: LITTER_KINDS, most_pups: 3, most_checks: 2, ..EVERYTHING })
}

/// Pups were born in the last hours, and more may come.
fn birth_litter() -> impl Strategy<Value = Litter> {
    let focus = Focus { litter_kinds: BIRTH_KINDS, most_pups: 4, most_checks: 1, ..EVERYTHING };
    (litter(focus), prop::collection::vec(0..6 * H, 12)).prop_map(|(mut litter, ages)| {
        for (pup, age) in litter.pups.iter_mut().zip(ages) {
            pup.age = age;
            pup.joined = None;
            pup.left = None;
            pup.order = None;
            pup.weighings.clear();
            pup.feeds.clear();
            pup.checks.clear();
        }
        litter
    })
}

fn put(litter: &mut Litter, kind: &'static str, word: &str, ago: i64) {
    litter.checks.retain(|c| c.kind != kind);
    litter.checks.push(Check { ago, kind, value: word.into() });
}

/// Seconds since the last pup, if one was born.
fn since_last_pup(litter: &Litter) -> Option<i64> {
    litter.pups.iter().map(|p| p.age).min()
}

fn dam_says(case: &Case, text: &str) -> bool {
    case.today.do_now.iter().any(|a| a.pups.is_empty() && format!("{} {}", a.because, a.what_to_do).contains(text))
}

proptest! {
    #![proptest_config(config())]

    /// "Calcium crisis, fever, foul discharge, refused pups: any day from late pregnancy on".
    #[test]
    fn signs_of_a_calcium_crisis_are_vet_now_on_any_day(litter in dam_litter()) {
        if litter.is("dam_behaviour", &["restless_panting", "stiff_gait", "tremor", "seizure"]) {
            prop_assert!(ask(&litter).litter_level(|c| c.starts_with("dam")) == VET_NOW);
        }
    }

    #[test]
    fn fever_foul_discharge_and_refused_pups_ring_the_vet_on_any_day(litter in dam_litter()) {
        let case = ask(&litter);
        let celsius = litter.latest("dam_temperature_c").filter(|c| litter.latest("dam_temperature_f").is_none_or(|f| f.ago > c.ago));
        // Some authors take more than 39.5 °C as a sign on any day (care handbook, [PUER]).
        if celsius.is_some_and(|c| c.value.parse::<f64>().expect("a temperature") > 39.5) {
            prop_assert!(case.litter_level(|c| c.contains("fever")) >= VET_TODAY);
        }
        if litter.is("dam_discharge", &["foul"]) {
            prop_assert!(case.litter_level(|c| c.contains("discharge")) >= VET_TODAY);
        }
        if litter.is("dam_behaviour", &["refuses_pups"]) {
            prop_assert!(case.litter_level(|c| c.starts_with("dam")) >= VET_TODAY);
        }
    }

    /// ""pups off the dam" starts a whole-litter feeding plan at once".
    #[test]
    fn pups_off_the_dam_are_all_planned_to_be_fed_whole(litter in dam_litter()) {
        let mut litter = litter;
        litter.in_use = Some(0);
        litter.milks[0].contains.clear();
        litter.milks[0].kcal_per_ml.get_or_insert(1.0);
        let is_off = litter.is("pups_with_dam", &["no"])
            || litter.is("dam_behaviour", &["refuses_pups", "restless_panting", "stiff_gait", "tremor", "seizure"])
            || litter.is("dam_milk", &["none"])
            || (!litter.dam_with_pups && litter.latest("pups_with_dam").is_none());
        for seen in ask(&litter).pups().iter().filter(|s| is_off && s.pup.age < 35 * DAY && !s.weights().is_empty()) {
            prop_assert!(seen.line.need.as_ref().is_some_and(|n| n.by_hand == "whole"), "{}", seen.story());
        }
    }

    /// "switch openly to whole hand-feeding, eased in": a pup that nursed for more than three days.
    #[test]
    fn whole_hand_feeding_after_nursing_is_eased_in_and_said(litter in dam_litter(), age in 4 * DAY..30 * DAY, ago in 0..20 * H) {
        let mut litter = litter;
        litter.in_use = Some(0);
        litter.milks[0].contains.clear();
        litter.milks[0].kcal_per_ml.get_or_insert(1.0);
        litter.dam_with_pups = true;
        litter.checks.clear();
        put(&mut litter, "pups_with_dam", "no", ago);
        for pup in &mut litter.pups {
            let shift = age - pup.age;
            pup.age = age;
            pup.weighings.iter_mut().for_each(|w| w.ago = w.ago.min(age));
            pup.checks.iter_mut().for_each(|c| c.ago = c.ago.min(age));
            pup.feeds.clear();
            pup.order = None;
            pup.rearing = "nursing";
            pup.joined = None;
            pup.left = None;
            prop_assume!(shift != i64::MAX);
        }
        let case = ask(&litter);
        for seen in case.pups() {
            let Some(need) = &seen.line.need else { continue };
            prop_assert!(need.by_hand_kcal < need.day_kcal, "{}", seen.story());
            prop_assert!(case.today.shortfalls.iter().any(|s| s.pup == seen.name && s.text.contains("eased in")), "{}", seen.story());
        }
    }

    /// "Dark green discharge before the first pup: vet now."
    #[test]
    fn dark_green_discharge_before_the_first_pup_is_vet_now(litter in birth_litter(), ago in 0..12 * H) {
        let mut litter = litter;
        litter.pups.clear();
        litter.checks.retain(|c| c.kind != "labour");
        put(&mut litter, "dam_discharge", "dark_green", ago);
        for labour in [None, Some("begun")] {
            if let Some(word) = labour {
                put(&mut litter, "labour", word, ago);
            }
            prop_assert!(ask(&litter).litter_level(|_| true) == VET_NOW, "labour recorded: {labour:?}");
        }
    }

    /// "Between pups: at once a watch; with straining over 30 min, or 2 h: vet now."
    #[test]
    fn dark_green_discharge_between_pups_is_watched_then_vet_now(litter in birth_litter(), ago in 0..4 * H) {
        let mut litter = litter;
        let Some(last_pup) = since_last_pup(&litter) else { return Ok(()) };
        let ago = ago.min(last_pup);
        litter.expected_pups = u32::try_from(litter.pups.len() + 2).ok();
        litter.checks.clear();
        put(&mut litter, "labour", "begun", 8 * H);
        put(&mut litter, "dam_discharge", "dark_green", ago);
        let level = ask(&litter).litter_level(|c| c.contains("discharge"));
        prop_assert!(level >= KEEP_WATCH);
        if ago >= 2 * H {
            prop_assert!(level == VET_NOW, "green for {ago} s");
        }
        put(&mut litter, "straining", "strong", 31 * 60);
        if last_pup > 31 * 60 {
            prop_assert!(ask(&litter).litter_level(|c| c.contains("discharge")) == VET_NOW, "with straining");
        }
    }

    /// "Strong straining 20 min watch, 30 min vet now", whoever wrote down that labour began.
    #[test]
    fn strong_straining_is_watched_at_20_minutes_and_vet_now_at_30(
        litter in birth_litter(), ago in prop_oneof![Just(20 * 60), Just(30 * 60), 20 * 60..3 * H], is_begun in any::<bool>()
    ) {
        let mut litter = litter;
        litter.checks.clear();
        if let Some(last_pup) = since_last_pup(&litter) {
            prop_assume!(last_pup > ago);
        }
        if is_begun {
            put(&mut litter, "labour", "begun", 6 * H);
        }
        put(&mut litter, "straining", "strong", ago);
        let level = ask(&litter).litter_level(|c| c.contains("straining"));
        prop_assert!(level >= if ago >= 30 * 60 { VET_NOW } else { KEEP_WATCH }, "strong for {ago} s, labour begun recorded: {is_begun}");
    }

    /// "gap 2 h watch, 4 h vet now".
    #[test]
    fn a_gap_between_pups_is_watched_at_2_hours_and_vet_now_at_4(litter in birth_litter(), is_known in any::<bool>()) {
        let mut litter = litter;
        litter.checks.clear();
        put(&mut litter, "labour", "begun", 8 * H);
        litter.expected_pups = u32::try_from(litter.pups.len() + 1).ok().filter(|_| is_known);
        let Some(gap) = since_last_pup(&litter) else { return Ok(()) };
        let level = ask(&litter).litter_level(|c| c.contains("gap"));
        prop_assert!(gap < 2 * H || level >= KEEP_WATCH, "{gap} s");
        prop_assert!(gap < 4 * H || level == VET_NOW, "{gap} s");
    }

    /// "First day: breathing, dry, warm, palate, colostrum seen (clock to 12 h), each as a check
    /// with a time": what is not recorded is asked for.
    #[test]
    fn on_the_first_day_each_missing_check_is_asked_for(litter in any_litter(), age in 0..24 * H) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = age;
            pup.weighings.clear();
            pup.feeds.clear();
            pup.order = None;
            pup.joined = None;
            pup.left = None;
            pup.checks.retain(|c| c.ago < age);
        }
        let case = ask(&litter);
        for seen in case.pups() {
            let asked: String = case.today.missing.iter().filter(|m| m.starts_with(seen.name)).cloned().collect();
            let shown = format!("{asked} {}", seen.story());
            for (kind, word) in [("breathing", "breathing"), ("dried", "dry"), ("palate", "palate"), ("colostrum_seen", "olostrum")] {
                prop_assert!(seen.pup.latest(kind).is_some() || shown.contains(word), "{kind} is not asked for: {shown}");
            }
        }
    }

    /// The same for warmth: "warm … as a check with a time".
    #[test]
    fn on_the_first_day_a_missing_temperature_is_asked_for(litter in any_litter(), age in 0..24 * H) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = age;
            pup.weighings.clear();
            pup.feeds.clear();
            pup.checks.clear();
            pup.order = None;
            pup.joined = None;
            pup.left = None;
        }
        let case = ask(&litter);
        for seen in case.pups() {
            let is_asked = case.today.missing.iter().filter(|m| m.starts_with(seen.name)).any(|m| m.contains("warm") || m.contains("temperature"));
            prop_assert!(is_asked, "{:?}", case.today.missing);
        }
    }

    /// "colostrum seen (clock to 12 h)": the clock runs, and what was looked for and not seen is vet now.
    #[test]
    fn the_colostrum_clock_runs_to_12_hours(litter in any_litter(), age in 0..24 * H, is_looked_for in any::<bool>()) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = age;
            pup.weighings.clear();
            pup.feeds.clear();
            pup.checks.clear();
            pup.order = None;
            pup.joined = None;
            pup.left = None;
            if is_looked_for {
                pup.checks.push(Check { ago: 0, kind: "colostrum_seen", value: "no".into() });
            }
        }
        for seen in ask(&litter).pups() {
            prop_assert!(seen.level_of(|c| c.contains("colostrum")) >= KEEP_WATCH, "{}", seen.story());
            if is_looked_for && age >= 12 * H {
                prop_assert!(seen.level_of(|c| c.contains("colostrum")) == VET_NOW, "{}", seen.story());
            }
        }
    }

    /// A tremor of the dam is never budgeted away: it stands among the things to do now.
    #[test]
    fn a_tremor_of_the_dam_takes_the_pups_off_her_at_once(litter in dam_litter()) {
        if litter.is("dam_behaviour", &["tremor", "seizure"]) {
            prop_assert!(dam_says(&ask(&litter), "off her"));
        }
    }
}
