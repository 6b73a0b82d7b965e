//! The milk from the dam against quadrature (`tests/reference/intake.py`), and in a litter.

mod common;

use common::{Litter, PUP, at};
use serde_json::Value;
use whelpward_core::intake::{Beliefs, Intake, NoEstimate, Seen, of_litter, posterior};
use whelpward_core::report::Line;
use whelpward_core::units::Kcal;

fn pair(value: &Value) -> (f64, f64) {
    (value[0].as_f64().unwrap(), value[1].as_f64().unwrap())
}

#[test]
fn quadrature_agrees() {
    let cases: Value = serde_json::from_str(include_str!("reference/intake.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 6);
    for case in cases {
        let number = |key: &str| case[key].as_f64().unwrap();
        let believed = Beliefs {
            milk: pair(&case["milk"]),
            most_g: number("most"),
            upkeep: pair(&case["upkeep"]),
            cost: pair(&case["cost"]),
            strength: pair(&case["strength"]),
            nursings: pair(&case["nursings"]),
            spread: number("spread"),
            evaporated_g: number("evaporated"),
            soiled: pair(&case["soiled"]),
            difference_sd_g: number("scale"),
        };
        let seen = Seen {
            weight_kg: number("weight_kg"),
            gain: (!case["gain"].is_null()).then(|| pair(&case["gain"])),
            by_hand_kcal: number("by_hand"),
            nursed_g: case["nursed"].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect(),
            floors_g: Vec::new(),
        };
        let ours = posterior(&believed, &seen);
        let name = case["name"].as_str().unwrap();
        // Our cells are 1.1 g wide.
        let near = |ours: f64, theirs: f64, what: &str| {
            assert!((ours - theirs).abs() < 0.1, "{name}, {what}: ours {ours}, theirs {theirs}");
        };
        near(ours.mean_g(), number("mean"), "mean");
        near(ours.sd_g(), number("sd"), "sd");
        for (p, theirs) in [0.05, 0.5, 0.95].into_iter().zip(case["quantiles"].as_array().unwrap()) {
            near(ours.quantile_g(p), theirs.as_f64().unwrap(), "quantile");
        }
    }
}

/// The estimate of the one pup.
fn intake(litter: &Litter, now: f64) -> Result<Intake, NoEstimate> {
    let facts = litter.facts().known_at(at(now));
    let line = Line::run(&facts, at(now));
    of_litter(&facts, &line.assessment, line.milk.as_ref().ok().map(|m| &m.strength), at(now)).remove(0)
}

#[test]
fn no_intake_model_in_the_first_48_hours() {
    let litter = || Litter::nursing(300.0).milk(1.0).weigh(24.0, 305.0).weigh(47.0, 330.0).nursed(46.0, 325.0, 330.0);
    assert_eq!(intake(&litter(), 47.9).map(|_| ()), Err(NoEstimate::FirstTwoDays));
    assert!(intake(&litter(), 48.0).is_ok());
}

#[test]
fn a_pup_fed_wholly_by_hand_gets_nothing_from_the_dam() {
    let by_hand = Litter::hand_fed(300.0, 1.0).weigh(95.0, 320.0);
    assert_eq!(intake(&by_hand, 96.0).map(|_| ()), Err(NoEstimate::HandFed));
    let off = Litter::nursing(300.0).milk(1.0).weigh(95.0, 320.0).dam_check(90.0, "pups_with_dam", "no");
    assert_eq!(intake(&off, 96.0).map(|_| ()), Err(NoEstimate::HandFed));
}

#[test]
fn more_gain_means_more_milk_and_a_top_up_means_less() {
    let mean = |percent: f64, bottles: &[f64]| {
        let mut litter = Litter::nursing(300.0).milk(1.0).grows(300.0, percent, 144.0);
        for hours in bottles {
            litter = litter.bottle(*hours, 8.0);
        }
        intake(&litter, 145.0).unwrap().milk.mean_g()
    };
    assert!(mean(8.0, &[]) > mean(2.0, &[]) + 3.0);
    assert!(mean(5.0, &[125.0, 130.0, 135.0]) < mean(5.0, &[]) - 5.0);
}

#[test]
fn the_top_up_is_enough_with_the_stated_chance() {
    let litter = Litter::nursing(300.0).milk(1.0).grows(300.0, 2.0, 144.0);
    let intake = intake(&litter, 145.0).unwrap();
    let day = Kcal::new(75.0).unwrap();
    let given = intake.top_up_for(day).get();
    let levels = (0..1000).map(|i| (f64::from(i) + 0.5) / 1000.0);
    let enough = levels.filter(|p| intake.milk.quantile_kcal(*p) + given >= day.get()).count();
    assert!((595..=605).contains(&enough), "{enough} of 1000, with {given} kcal");
    // A need that the dam surely covers leaves nothing open.
    assert_eq!(intake.top_up_for(Kcal::new(1.0).unwrap()).get(), 0.0);
}

#[test]
fn a_dam_that_yields_little_holds_every_pup_down() {
    let litter = |dam_kg: f64| {
        let mut litter = Litter::new().dam(&format!("weight_kg = {dam_kg:?}")).milk(1.0);
        for pup in [PUP, "Elm", "Oak", "Fir"] {
            litter = litter.pup(pup, 300.0, "");
            for day in 1..7 {
                litter = litter.weigh_of(pup, 24.0 * f64::from(day), 300.0 + 15.0 * f64::from(day));
            }
        }
        intake(&litter, 145.0).unwrap().milk.mean_g()
    };
    assert!(litter(4.0) < litter(12.0) - 3.0, "{} {}", litter(4.0), litter(12.0));
}
