//! Blend programmes against the solver of scipy: `tests/reference/blend_lp.py` makes the
//! problems and their optima.

use serde_json::Value;
use whelpward_core::milk::blend::chance::chance_of;
use whelpward_core::milk::blend::explain;
use whelpward_core::milk::blend::program::{Failure, Goal, Limit, Program};
use whelpward_core::milk::blend::search::{self, Ask};

fn stored() -> Value {
    serde_json::from_str(include_str!("reference/blend_lp.json")).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn limit(value: &Value) -> Limit {
    Limit { takes: numbers(&value["takes"]), most: value["most"].as_f64().unwrap() }
}

fn program(value: &Value) -> Program {
    let number = |v: &Value| v.as_f64().unwrap();
    Program {
        foods: usize::try_from(value["foods"].as_u64().unwrap()).unwrap(),
        goals: value["goals"]
            .as_array()
            .unwrap()
            .iter()
            .map(|g| Goal { gives: numbers(&g["gives"]), under: number(&g["under"]), over: number(&g["over"]) })
            .collect(),
        limits: value["limits"].as_array().unwrap().iter().map(limit).collect(),
        spread: number(&value["spread"]),
    }
}

/// Both solvers stop at about 1e-9; prices divide a difference by 1e-3 or more.
const WITHIN: f64 = 1e-6;

#[test]
fn optima_agree_with_highs() {
    let stored = stored();
    let mut counts = [0, 0];
    for (i, problem) in stored["problems"].as_array().unwrap().iter().enumerate() {
        if problem["kind"] == "at most" || problem["kind"] == "whole steps" {
            continue;
        }
        let program = program(problem);
        match (program.solve(), problem["optimum"].as_f64()) {
            (Ok(point), Some(optimum)) => {
                assert_eq!(program.check(&point.grams), Ok(()), "problem {i}");
                assert!(
                    (point.objective - optimum).abs() <= WITHIN * (1.0 + optimum.abs()),
                    "problem {i}: {} against {optimum}",
                    point.objective
                );
                counts[0] += 1;
            }
            (Err(Failure::Infeasible), None) => counts[1] += 1,
            (ours, theirs) => panic!("problem {i} ({}): {ours:?} against {theirs:?}", problem["kind"]),
        }
    }
    assert_eq!(counts, [416, 204], "620 problems: 500 random, 60 degenerate, 60 infeasible by design");
}

/// What is stated for each unit of a limit is the dual of `HiGHS`; where several duals are optimal, the
/// least of them, which is what a little more of the limit gains.
#[test]
fn prices_agree_with_highs() {
    let (mut of_highs, mut of_several) = (0, 0);
    for (i, problem) in stored()["problems"].as_array().unwrap().iter().enumerate() {
        let Some(prices) = problem.get("prices").map(numbers) else { continue };
        let duals = numbers(&problem["duals"]);
        let program = program(problem);
        let best = program.solve().unwrap();
        for (k, (price, dual)) in prices.iter().zip(&duals).enumerate() {
            let ours = explain::price(&program, None, &best, k).unwrap();
            assert!(
                (ours - price).abs() <= 1e-4 * (1.0 + price.abs()),
                "problem {i}, limit {k}: {ours} against {price} (dual {dual})"
            );
            assert!(ours <= dual + 1e-4 * (1.0 + dual.abs()), "problem {i}, limit {k}: {ours} above {dual}");
            let is_same = (price - dual).abs() <= 1e-6 * (1.0 + price.abs());
            of_highs += usize::from(is_same && *dual > 1e-6);
            of_several += usize::from(!is_same);
        }
        // What is named as holding the blend back is just what gains by being dropped.
        for price in explain::prices(&program, None, &best).unwrap() {
            assert!(price.without < best.objective);
        }
    }
    assert!(of_highs > 200 && of_several > 20, "{of_highs} duals, {of_several} degenerate ones");
}

#[test]
fn conflicts_agree_with_highs() {
    let mut named = 0;
    for (i, problem) in stored()["problems"].as_array().unwrap().iter().enumerate() {
        let Some(minimal) = problem.get("conflicts") else { continue };
        let program = program(problem);
        let ours = explain::conflict(&program).unwrap();
        let all: Vec<Vec<usize>> = serde_json::from_value(minimal.clone()).unwrap();
        assert!(all.contains(&ours), "problem {i}: {ours:?} is not among the smallest conflicts {all:?}");
        // Each limit of the conflict, widened to what is said to work, resolves this conflict.
        for k in &ours {
            let alone =
                Program { limits: ours.iter().map(|j| program.limits[*j].clone()).collect(), ..program.clone() };
            let at = ours.iter().position(|j| j == k).unwrap();
            let least =
                explain::least_that_works(&alone, at).unwrap().expect("the rest of a smallest conflict can be kept");
            assert!(least > program.limits[*k].most, "problem {i}");
            let mut wider = alone.clone();
            wider.limits[at].most = least + 1e-6 * (1.0 + least.abs());
            assert_eq!(wider.is_feasible(), Ok(true), "problem {i}");
            wider.limits[at].most = least - 1e-3 * (1.0 + least.abs());
            assert_eq!(wider.is_feasible(), Ok(false), "problem {i}");
        }
        named += 1;
    }
    assert_eq!(named, 60);
}

#[test]
fn few_foods_agree_with_every_choice_tried() {
    let mut solved = 0;
    for (i, problem) in stored()["problems"].as_array().unwrap().iter().enumerate() {
        let Some(most) = problem.get("at_most").and_then(Value::as_u64) else { continue };
        if problem["kind"] != "at most" {
            continue;
        }
        let most = usize::try_from(most).unwrap();
        let program = program(problem);
        match (search::best(&program, Ask::of_foods(Some(most))).map(|f| f.point), problem["optimum"].as_f64()) {
            (Ok(point), Some(optimum)) => {
                assert!(point.grams.iter().filter(|g| **g > 0.0).count() <= most);
                assert_eq!(program.check(&point.grams), Ok(()));
                assert!(
                    (point.objective - optimum).abs() <= WITHIN * (1.0 + optimum),
                    "problem {i}: {} against {optimum}",
                    point.objective
                );
                solved += 1;
            }
            (Err(Failure::Infeasible), None) => {}
            (ours, theirs) => panic!("problem {i}: {ours:?} against {theirs:?}"),
        }
    }
    assert!(solved >= 15, "{solved}");
}

#[test]
fn whole_steps_agree_with_milp() {
    let mut counts = [0, 0, 0];
    for (i, problem) in stored()["problems"].as_array().unwrap().iter().enumerate() {
        let Some(steps) = problem.get("steps").and_then(Value::as_u64) else { continue };
        let foods = problem.get("at_most").and_then(Value::as_u64).map(|n| usize::try_from(n).unwrap());
        let steps = u32::try_from(steps).unwrap();
        let program = program(problem);
        let ask = Ask { foods, steps: Some(steps), close: 1e-7, nodes: 200_000 };
        match (search::best(&program, ask), problem["optimum"].as_f64()) {
            (Ok(found), Some(optimum)) => {
                assert!(found.is_proven, "problem {i}");
                assert_eq!(program.check(&found.point.grams), Ok(()), "problem {i}");
                assert!(found.steps.iter().all(|s| s.fract() == 0.0 && *s >= 0.0), "problem {i}: {:?}", found.steps);
                assert_eq!(found.steps.iter().sum::<f64>(), f64::from(steps), "problem {i}");
                assert!(found.steps.iter().filter(|s| **s > 0.0).count() <= foods.unwrap_or(usize::MAX), "problem {i}");
                let ours = found.point.objective;
                assert!((ours - optimum).abs() <= 2e-6 * (1.0 + optimum), "problem {i}: {ours} against {optimum}");
                // In the kitchen the search stops a tenth (of 100) short of that.
                let ask = Ask { close: search::CLOSE, ..ask };
                assert!(search::best(&program, ask).unwrap().point.objective <= optimum + search::CLOSE + 2e-6);
                counts[usize::from(foods.is_some())] += 1;
            }
            (Err(Failure::Infeasible), None) => counts[2] += 1,
            (ours, theirs) => panic!("problem {i}: {ours:?} against {theirs:?}"),
        }
    }
    assert!(counts.iter().all(|n| *n >= 10) && counts.iter().sum::<i32>() == 120, "{counts:?}");
}

#[test]
fn chances_agree_with_the_normal_law() {
    for (i, case) in stored()["chances"].as_array().unwrap().iter().enumerate() {
        let limit = limit(case);
        let grams = numbers(&case["grams"]);
        let deviation = vec![case["spread"].as_f64().unwrap(); grams.len()];
        let ours = chance_of(&limit, &grams, &deviation, 40_000, 11);
        let theirs = case["chance"].as_f64().unwrap();
        // Three standard errors of 40 000 draws, and a little for the law's tail below zero.
        let within = 3.0 * (theirs * (1.0 - theirs) / 40_000.0).sqrt() + 2e-4;
        assert!((ours - theirs).abs() <= within, "case {i}: {ours} against {theirs}");
    }
}
