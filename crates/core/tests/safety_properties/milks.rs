//! safety.md, "Milk".

use proptest::prelude::*;

use super::config;
use super::generate::fed_litter;
use super::litter::Litter;
use super::oracle::{Case, ask, plain};

fn with_milk(mut litter: Litter, kind: &'static str, contains: Vec<&'static str>) -> Litter {
    litter.milks[0].kind = kind;
    litter.milks[0].contains = contains;
    litter
}

fn notes(case: &Case) -> String {
    case.today.milk_notes.iter().map(|n| plain(&n.text)).collect::<Vec<_>>().join("\n")
}

proptest! {
    #![proptest_config(config())]

    /// "Every home blend is headed: …"
    #[test]
    fn every_home_blend_carries_its_heading(litter in fed_litter(), has_egg in any::<bool>()) {
        let case = ask(&with_milk(litter, "home_blend", if has_egg { vec!["cooked_egg"] } else { Vec::new() }));
        let heading = "a stop-gap until a milk replacer for puppies is in the house; not a complete food; beyond 48 h ask a vet";
        prop_assert!(notes(&case).contains(heading), "{}", notes(&case));
    }

    /// "Excluded by default: raw egg, raw milk, honey."
    #[test]
    fn no_amount_is_planned_with_raw_egg_raw_milk_or_honey(
        litter in fed_litter(), bad in prop::sample::select(vec!["raw_egg", "raw_milk", "honey"]), kind in prop::sample::select(vec!["home_blend", "other", "goat"])
    ) {
        let case = ask(&with_milk(litter, kind, vec![bad]));
        prop_assert!(case.today.rounds.iter().all(|r| r.feeds.is_empty()) && case.today.batch.is_none());
        for seen in case.pups() {
            prop_assert!(seen.feeds.is_empty(), "{}", seen.story());
        }
        let reason = case.today.no_amounts_because.clone().unwrap_or_default();
        prop_assert!(case.today.pups.is_empty() || case.today.pups.iter().all(|p| p.no_feed_because.is_some()), "{reason}");
    }

    /// "Goat's milk is accepted with the sentence that it is about as thin and as sugary as cow's
    /// milk, and with the number of feeds that it would take."
    #[test]
    fn goats_milk_is_accepted_with_its_sentence_and_the_number_of_feeds(litter in fed_litter(), is_powder in any::<bool>()) {
        let case = ask(&with_milk(litter, if is_powder { "goat_powder" } else { "goat" }, Vec::new()));
        let text = notes(&case);
        prop_assert!(text.contains("about as thin and as sugary as cow's milk"), "{text}");
        if let Some(fewest) = case.today.pups.iter().filter_map(|p| p.need.as_ref()).map(|n| n.fewest_feeds_per_day).max() {
            prop_assert!(text.contains(&format!("{fewest} feeds")), "{fewest} is not said: {text}");
        }
    }

    /// Powder is weighed, and the mix is never stronger than the label's ratio.
    #[test]
    fn a_batch_is_never_stronger_than_the_label(litter in fed_litter(), (powder, water) in prop::sample::select(vec![(10.0, 20.0), (10.0, 30.0), (30.0, 70.0)])) {
        let mut litter = with_milk(litter, "puppy_powder", Vec::new());
        litter.milks[0].ratio = Some((powder, water));
        let case = ask(&litter);
        let Some(batch) = &case.today.batch else { return Ok(()) };
        let mix = batch.powder.as_ref().expect("a powder with its ratio is mixed");
        prop_assert!(mix.powder_g * water <= mix.water_ml * powder + 1e-6, "{} g in {} mL", mix.powder_g, mix.water_ml);
        prop_assert!((mix.hot_water_ml + mix.cold_water_ml - mix.water_ml).abs() < 1e-6);
    }

    /// Only what is needed is mixed: the round's amounts and what stays in the kit.
    #[test]
    fn a_batch_is_for_exactly_one_round(litter in fed_litter()) {
        let case = ask(&litter);
        let Some(batch) = &case.today.batch else { return Ok(()) };
        let round = case.today.rounds.iter().find(|r| r.at == batch.for_round_at).expect("a batch belongs to a round");
        let sum: f64 = round.feeds.iter().map(|f| f.amount_ml).sum();
        prop_assert!((sum - batch.fed_ml).abs() < 1e-6, "{sum} and {}", batch.fed_ml);
        prop_assert!(batch.wanted_ml >= sum && batch.wanted_ml <= sum + batch.stays_in_the_kit_ml + 1.0 + 1e-6);
    }
}
