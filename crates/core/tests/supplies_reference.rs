//! The supplies before a birth against closed forms, scipy's updates and ranks
//! (`tests/reference/supplies.py`), and what must hold in any litter.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "some thousands of draws, and numbers of a table"
)]

use serde_json::Value;
use whelpward_core::record::{EnergyChoice, EnergyTable};
use whelpward_core::supplies::{
    Assumptions, Draw, Expected, FedMilk, OwnLitter, Quantile, Rate, SYRINGES_ML, Size, chances_of_size, quantile,
    ranks, simulate,
};
use whelpward_core::units::KcalPerMl;

const DRAWS: u32 = 20_000;

fn reference() -> Value {
    serde_json::from_str(include_str!("reference/supplies.json")).unwrap()
}

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap_or_else(|| panic!("{key} in {case}"))
}

fn pair(case: &Value, key: &str) -> (f64, f64) {
    (case[key][0].as_f64().unwrap(), case[key][1].as_f64().unwrap())
}

/// A litter of no known breed; the milk is as it is bought, so that mL are counted.
fn expected(kcal_per_ml: f64) -> Expected {
    Expected {
        breed: None,
        adult: None,
        dam: None,
        counted: None,
        working_teats: Some(14),
        energy: EnergyChoice { table: EnergyTable::Steps, from_day_seven: None },
        milk: FedMilk { name: None, kcal_per_ml: KcalPerMl::new(kcal_per_ml).unwrap(), powder_g_per_ml: None },
    }
}

fn assumed(expected: &Expected, set: &[(&str, f64)]) -> Assumptions {
    let mut assumptions = Assumptions::of(expected, &[], &[]);
    for (key, value) in set {
        assumptions.set(key, &format!("{value:.6}")).unwrap();
    }
    assumptions
}

/// Nobody is lost, nothing is wasted.
const PLAIN: &[(&str, f64)] = &[
    ("stillborn_percent", 0.0),
    ("dies_percent", 0.0),
    ("orphan_percent", 0.0),
    ("left_behind_ml", 0.0),
    ("thrown_away_low_percent", 0.0),
    ("thrown_away_high_percent", 0.0),
];

fn draws(expected: &Expected, set: &[(&str, f64)]) -> Vec<Draw> {
    let set: Vec<(&str, f64)> = PLAIN.iter().chain(set).copied().collect();
    simulate(expected, &assumed(expected, &set), DRAWS, 7)
}

/// The mean of the draws lies within four standard errors; the SD of one draw is theirs where they
/// give it, else that of the draws.
fn mean_agrees(of: &[f64], mean: f64, sd: Option<f64>, what: &str) {
    let n = of.len() as f64;
    let ours = of.iter().sum::<f64>() / n;
    let spread = (of.iter().map(|x| (x - ours).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let error = sd.unwrap_or(spread) / n.sqrt();
    assert!((ours - mean).abs() < 4.0 * error, "{what}: ours {ours}, theirs {mean}, standard error {error}");
    if let Some(sd) = sd {
        assert!((spread / sd - 1.0).abs() < 0.03, "{what}: SD ours {spread}, theirs {sd}");
    }
}

fn column(draws: &[Draw], of: impl Fn(&Draw) -> u32) -> Vec<f64> {
    draws.iter().map(|d| f64::from(of(d))).collect()
}

#[test]
fn closed_forms_agree_with_the_draws() {
    let cases = reference();
    for case in cases["litters"].as_array().unwrap() {
        let (mean, sd) = (number(case, "mean"), number(case, "sd"));
        let drawn = draws(
            &expected(1.0),
            &[
                ("litter_mean", mean),
                ("litter_sd", sd),
                ("stillborn_percent", number(case, "stillborn") * 100.0),
                ("dies_percent", number(case, "dies") * 100.0),
                ("loss_concentration", number(case, "concentration")),
            ],
        );
        for (name, of) in [
            ("born", column(&drawn, |d| d.born)),
            ("live", column(&drawn, |d| d.live_born)),
            ("raised", column(&drawn, |d| d.raised)),
        ] {
            let (theirs, spread) = pair(case, name);
            mean_agrees(&of, theirs, Some(spread), &format!("{name} of {mean}"));
        }
        let loses = column(&drawn, |d| u32::from(d.raised < d.born));
        mean_agrees(&loses, number(case, "litters_that_lose"), None, "litters that lose a pup");
    }
    for case in cases["topped_up"].as_array().unwrap() {
        let drawn = draws(
            &expected(1.0),
            &[
                ("litter_mean", number(case, "mean")),
                ("litter_sd", number(case, "sd")),
                ("top_up_percent", number(case, "rate") * 100.0),
                ("top_up_concentration", number(case, "concentration")),
            ],
        );
        let (mean, sd) = pair(case, "by_hand");
        mean_agrees(&column(&drawn, |d| d.by_hand), mean, Some(sd), "by hand");
        mean_agrees(&column(&drawn, |d| u32::from(d.by_hand == 0)), number(case, "nobody"), None, "nobody by hand");
    }
    for case in cases["orphans"].as_array().unwrap() {
        let (low, high) = pair(case, "waste");
        let drawn = draws(
            &expected(number(case, "kcal_per_ml")),
            &[
                ("litter_mean", number(case, "mean")),
                ("litter_sd", number(case, "sd")),
                ("birth_weight_g", number(case, "birth_g")),
                ("orphan_percent", 100.0),
                ("milk_until_day", number(case, "until")),
                ("thrown_away_low_percent", low * 100.0),
                ("thrown_away_high_percent", high * 100.0),
            ],
        );
        let ml: Vec<f64> = drawn.iter().map(|d| d.milk).collect();
        mean_agrees(&ml, number(case, "ml"), None, "milk of orphans");
    }
    for case in cases["course"].as_array().unwrap() {
        let drawn = draws(
            &expected(1.0),
            &[
                ("litter_mean", number(case, "mean")),
                ("litter_sd", number(case, "sd")),
                ("birth_weight_g", number(case, "birth_g")),
                ("top_up_percent", number(case, "rate") * 100.0),
                ("share_percent", number(case, "share") * 100.0),
                ("start_day_latest", number(case, "latest")),
                ("top_up_days", number(case, "lasts")),
            ],
        );
        let ml: Vec<f64> = drawn.iter().map(|d| d.milk).collect();
        mean_agrees(&ml, number(case, "ml"), None, "milk of topping up");
    }
}

#[test]
fn published_share_of_litters_that_lose_a_pup() {
    // Tønnessen et al. 2012: 4.3 % stillborn and 3.7 % dead by day 8 of all born, 24.6 % of litters
    // affected. The size is that of Chastant-Maillard 2017, 5.4 (2.8), cut at one pup.
    let cases = reference();
    let norway = &cases["litters"][2];
    assert!((number(norway, "dies") * (1.0 - 0.043) - 0.037).abs() < 1e-4);
    assert!((number(norway, "litters_that_lose") - 0.246).abs() < 0.001);
    // By week 8 another 1 % of the born: 4.7 of 95.7 live-born, of which 3.7 by day 8.
    let usual = Assumptions::of(&expected(1.0), &[], &[]);
    let value = |key: &str| usual.rows.iter().find(|r| r.key == key).unwrap().value;
    assert!((value("dies_percent") - 100.0 * 4.7 / 95.7).abs() < 0.01);
    assert!((value("week_one_percent") - 100.0 * 3.7 / 4.7).abs() < 0.1);
    assert_eq!(value("loss_concentration"), number(norway, "concentration"));
    assert_eq!(value("stillborn_percent"), 4.3);
}

#[test]
fn scipy_agrees_on_what_own_litters_say() {
    let cases = reference();
    for case in cases["own_sizes"].as_array().unwrap() {
        let seen: Vec<u32> = case["seen"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap() as u32).collect();
        let after = Size::published(number(case, "mean"), number(case, "sd"), number(case, "weight")).after(&seen);
        assert!((after.mean - number(case, "after")).abs() < 1e-6, "{after:?} {case}");
        assert!((after.next_sd() - number(case, "next_sd")).abs() < 1e-6, "{after:?} {case}");
    }
    for case in cases["own_rates"].as_array().unwrap() {
        let whole = |key: &str| case[key].as_u64().unwrap() as u32;
        let after =
            Rate { mean: number(case, "mean"), weight: number(case, "weight") }.after(whole("cases"), whole("of"));
        assert!((after.mean - number(case, "after")).abs() < 1e-7, "{after:?} {case}");
    }
}

#[test]
fn scipy_agrees_on_the_ranks_of_quantiles() {
    for case in reference()["ranks"].as_array().unwrap() {
        let theirs: Vec<u64> = case["ranks"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
        let ours = ranks(number(case, "p"), case["n"].as_u64().unwrap() as usize).map(|r| r as u64);
        assert_eq!(ours.to_vec(), theirs, "{case}");
        assert!(number(case, "covered") >= 0.95, "{case}");
    }
    let sorted: Vec<f64> = (1..=1000).map(f64::from).collect();
    let Quantile { value, low, high } = quantile(&sorted, 0.95);
    assert!(low < value && value < high && value == 950.0);
}

#[test]
fn own_closed_litters_move_the_assumptions_they_can() {
    let litter = OwnLitter { born: 6, stillborn: 1, died: 1, topped_up: 2, all_by_hand: false };
    let of = |own: &[OwnLitter], sizes: &[u32]| Assumptions::of(&expected(1.0), own, sizes);
    let value = |a: &Assumptions, key: &str| a.rows.iter().find(|r| r.key == key).unwrap().value;
    let (before, after) = (of(&[], &[]), of(&[litter; 3], &[6, 6, 6]));
    // 50 pups at 4.3 % and 3 of 18; 30 pups at a third and 6 of 15; 60 litters at 1.5 % and 0 of 3.
    assert!((value(&after, "stillborn_percent") - 100.0 * (0.043 * 50.0 + 3.0) / 68.0).abs() < 1e-9);
    assert!((value(&after, "top_up_percent") - 100.0 * (10.0 + 6.0) / 45.0).abs() < 1e-9);
    assert!((value(&after, "orphan_percent") - 100.0 * 0.9 / 63.0).abs() < 1e-9);
    assert!((value(&after, "litter_mean") - (5.4 * 4.0 + 18.0) / 7.0).abs() < 1e-9);
    assert!(value(&after, "litter_sd") < value(&before, "litter_sd"));
    assert_eq!(value(&after, "birth_weight_g"), value(&before, "birth_weight_g"));
    // An orphan litter says nothing of topping up.
    let orphan = OwnLitter { topped_up: 0, all_by_hand: true, ..litter };
    let after = of(&[orphan], &[]);
    assert_eq!(value(&after, "top_up_percent"), value(&before, "top_up_percent"));
    assert!((value(&after, "orphan_percent") - 100.0 * 1.9 / 61.0).abs() < 1e-9);
}

#[test]
fn only_a_milk_replacer_is_stocked_whatever_is_in_use() {
    let folder = |milks: &str| {
        let text = format!(
            "format = 1\n[litter]\nname = \"Clover\"\nbreed = \"Maltese\"\ntime_zone = \"Europe/Berlin\"\nscale_step_g = 1\n{milks}"
        );
        let files = whelpward_core::record::FolderFiles { litter_toml: Some(text.into()), ..Default::default() };
        Expected::of(&whelpward_core::record::parse(&files).unwrap())
    };
    let goat = "[[milk]]\nid = \"goat\"\nkind = \"goat\"\nin_use = true\n";
    let powder = "[[milk]]\nid = \"replacer\"\nkind = \"puppy_powder\"\nkcal_per_ml = 1.2\n";
    assert_eq!(folder(goat).milk, FedMilk::default());
    let both = folder(&format!("{goat}{powder}")).milk;
    assert_eq!((both.name.as_deref(), both.kcal_per_ml.get()), (Some("replacer"), 1.2));
    assert!(both.powder_g_per_ml.is_some_and(|g| g > 0.2), "{both:?}");
}

#[test]
fn the_same_seed_gives_the_same_litters() {
    let expected = expected(1.0);
    let usual = assumed(&expected, &[]);
    assert_eq!(simulate(&expected, &usual, 200, 3), simulate(&expected, &usual, 200, 3));
    assert_ne!(simulate(&expected, &usual, 200, 3), simulate(&expected, &usual, 200, 4));
}

#[test]
fn more_pups_than_teats_means_topping_up() {
    let crowded = Expected { working_teats: Some(4), counted: Some(9), ..expected(1.0) };
    for draw in draws(&crowded, &[("count_off_percent", 0.0), ("top_up_percent", 0.0)]) {
        assert_eq!((draw.born, draw.by_hand), (9, 5));
    }
}

#[test]
fn kit_follows_the_pups_that_are_fed_by_hand() {
    // Pups of 220 g, all by hand for five weeks: each begins with 5 Fr and passes 300 g, so it
    // needs both; 40 mL per kg are 8.8 mL.
    let small = Expected { counted: Some(5), ..expected(1.0) };
    let same = [("count_off_percent", 0.0), ("birth_weight_g", 220.0), ("birth_weight_sd_percent", 1.0)];
    let by_hand: Vec<(&str, f64)> = same.iter().copied().chain([("orphan_percent", 100.0)]).collect();
    for draw in draws(&small, &by_hand) {
        assert_eq!((draw.by_hand, draw.bottles), (5, 6));
        assert_eq!((draw.teats, draw.tubes), ([10, 10], [5, 5]));
        assert_eq!(draw.syringes, [0, 5, 0, 0], "{:?}", SYRINGES_ML.value);
    }
    let nobody: Vec<(&str, f64)> = same.iter().copied().chain([("top_up_percent", 0.0)]).collect();
    for draw in draws(&small, &nobody) {
        assert_eq!((draw.by_hand, draw.bottles, draw.milk), (0, 0, 0.0));
        assert!(draw.milk_of_first_days > 0.0, "what the dam may fail to give is reckoned all the same");
    }
}

#[test]
fn a_lost_pup_is_lost_when_the_share_of_week_one_says() {
    // Orphans that all die in week 1 use less than those that die later, and those less than all.
    let milk = |dies: f64, week_one: f64| {
        let set = [
            ("orphan_percent", 100.0),
            ("dies_percent", dies),
            ("week_one_percent", week_one),
            ("loss_concentration", 1000.0),
        ];
        draws(&expected(1.0), &set).iter().map(|d| d.milk).sum::<f64>()
    };
    assert!(milk(50.0, 100.0) < milk(50.0, 0.0) && milk(50.0, 0.0) < milk(0.0, 100.0));
}

#[test]
fn what_cannot_be_is_refused_with_the_range() {
    let mut usual = assumed(&expected(1.0), &[]);
    let said = |r: Result<(), whelpward_core::supplies::CannotSet>| r.unwrap_err().to_string();
    assert_eq!(
        said(usual.set("stillborn_percent", "61")),
        "stillborn_percent: found \"61\"; allowed: a number from 0 to 60 (% of the born)"
    );
    assert!(said(usual.set("stillborn_percent", "many")).contains("allowed: a number from 0 to 60"));
    assert!(said(usual.set("stillborn_percent", "NaN")).contains("allowed"));
    assert!(said(usual.set("tires", "4")).contains("litter_mean"));
}

#[test]
fn chances_of_sizes_add_up_and_have_the_moments_of_scipy() {
    for case in reference()["litters"].as_array().unwrap() {
        let chances = chances_of_size(number(case, "mean"), number(case, "sd"));
        let mean: f64 = chances.iter().zip(1..).map(|(p, n)| p * f64::from(n)).sum();
        assert!((chances.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((mean - pair(case, "born").0).abs() < 1e-7);
    }
}
