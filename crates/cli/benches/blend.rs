//! A blend of 25 foods with its limits, whole steps and simulation; the LP alone; and every
//! stored reference problem in one go, for the ratio in docs/EVIDENCE.md
//! (`scripts/blend_speed.py` runs this and scipy on the same problems).
//!
//! Plain timing: the median of many runs, in microseconds, as one JSON line.

use std::hint::black_box;
use std::time::Instant;

use serde_json::{Value, json};
use whelpward_core::milk::blend::program::{Goal, Limit, Program};
use whelpward_core::milk::blend::targets::{program, rules};
use whelpward_core::milk::blend::{Request, Stage, blend};
use whelpward_core::milk::foods::{Food, built_in};
use whelpward_core::units::{Grams, Millilitres};

fn median_us(runs: usize, mut work: impl FnMut()) -> f64 {
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e6
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[runs / 2]
}

fn stored() -> Vec<Program> {
    let all: Value =
        serde_json::from_str(include_str!("../../core/tests/reference/blend_lp.json")).expect("stored by the script");
    let numbers = |v: &Value| v.as_array().expect("a list").iter().map(|x| x.as_f64().expect("a number")).collect();
    let number = |v: &Value| v.as_f64().expect("a number");
    all["problems"]
        .as_array()
        .expect("a list")
        .iter()
        .filter(|p| p["kind"] == "foods")
        .map(|p| Program {
            foods: usize::try_from(p["foods"].as_u64().expect("a count")).expect("small"),
            goals: p["goals"]
                .as_array()
                .expect("a list")
                .iter()
                .map(|g| Goal { gives: numbers(&g["gives"]), under: number(&g["under"]), over: number(&g["over"]) })
                .collect(),
            limits: p["limits"]
                .as_array()
                .expect("a list")
                .iter()
                .map(|l| Limit { takes: numbers(&l["takes"]), most: number(&l["most"]) })
                .collect(),
            spread: number(&p["spread"]),
        })
        .collect()
}

fn main() {
    let foods: Vec<Food> =
        built_in().iter().filter(|f| f.kind.left_out().is_none() && f.id != "water").take(24).cloned().collect();
    let request = Request {
        foods: foods.clone(),
        others: built_in().to_vec(),
        volume: Millilitres::new(400.0).expect("in range"),
        stage: Stage::Mature,
        spread: 0.5,
        at_most: None,
        step: Grams::new(1.0).expect("in range"),
        least: Vec::new(),
        budget: None,
        draws: 2000,
        seed: 1,
        replacer: None,
        day: None,
    };
    let few = Request { at_most: Some(5), ..request.clone() };
    let mut with_water = foods;
    with_water.extend(built_in().iter().find(|f| f.id == "water").cloned());
    let targets = Stage::Mature.targets().value;
    let rules = rules(&with_water, &targets, Grams::new(400.0).expect("in range"));
    let lp = program(&with_water, &targets, &rules, 0.5);
    let problems = stored();
    assert!(blend(&request).is_ok_and(|b| b.is_weighable) && blend(&few).is_ok() && lp.solve().is_ok());
    println!(
        "{}",
        json!({
            "foods": with_water.len(),
            "blend_with_limits_and_2000_draws_us": median_us(51, || { black_box(blend(&request).is_ok()); }),
            "blend_of_at_most_5_foods_us": median_us(21, || { black_box(blend(&few).is_ok()); }),
            "lp_of_25_foods_us": median_us(201, || { black_box(lp.solve().is_ok()); }),
            "problems": problems.len(),
            "all_problems_us": median_us(11, || for p in &problems { black_box(p.solve().is_ok()); }),
        })
    );
}
