//! The optimiser against `HiGHS`: the same problems, written as a mixed-integer programme in
//! `tests/reference/timetable_milp.py`, which made the file that is read here.

use serde_json::Value;
use whelpward_core::schedule::audit;
use whelpward_core::schedule::optimum::optimum;
use whelpward_core::schedule::problem::{Class, Helper, Problem};

fn number(value: &Value, key: &str) -> i64 {
    value[key].as_i64().unwrap_or_else(|| panic!("{key} of {value}"))
}

fn size(value: &Value, key: &str) -> usize {
    usize::try_from(number(value, key)).unwrap()
}

fn count(value: &Value, key: &str) -> u32 {
    u32::try_from(number(value, key)).unwrap()
}

fn marks(value: &Value, key: &str) -> Vec<bool> {
    value[key].as_str().unwrap().chars().map(|c| c == '1').collect()
}

fn problem(value: &Value) -> Problem {
    let class = |c: &Value| Class {
        bottle: count(c, "bottle"),
        tube: count(c, "tube"),
        tube_only: count(c, "tube_only"),
        shortest: size(c, "shortest"),
        longest: size(c, "longest"),
        usual: size(c, "usual"),
        excess_price: number(c, "excess_price"),
        since_oldest: size(c, "since_oldest"),
        earliest: size(c, "earliest"),
    };
    let helper = |h: &Value| Helper {
        there: marks(h, "there"),
        asleep: marks(h, "asleep"),
        wake_price: number(h, "wake_price"),
        woken_before: count(h, "woken_before"),
        may_tube: h["may_tube"].as_bool().unwrap(),
        at_once: count(h, "at_once"),
        bottle_s: number(h, "bottle_s"),
        tube_s: number(h, "tube_s"),
        round_price: number(h, "round_price"),
    };
    Problem {
        slots: size(value, "slots"),
        is_cyclic: value["is_cyclic"].as_bool().unwrap(),
        slots_per_day: size(value, "slots_per_day"),
        slot_s: number(value, "slot_s"),
        classes: value["classes"].as_array().unwrap().iter().map(class).collect(),
        helpers: value["helpers"].as_array().unwrap().iter().map(helper).collect(),
        set_up_s: number(value, "set_up_s"),
        clean_up_s: number(value, "clean_up_s"),
        fairness: number(value, "fairness"),
        suck_rounds: size(value, "suck_rounds"),
        most_rounds: value["most_rounds"].as_u64().map(|n| usize::try_from(n).unwrap()),
        closed: marks(value, "closed"),
    }
}

#[test]
fn the_objective_is_that_of_the_mixed_integer_programme() {
    let file: Value = serde_json::from_str(include_str!("reference/timetable_milp.json")).unwrap();
    let mut compared = 0;
    for (index, instance) in file["instances"].as_array().unwrap().iter().enumerate() {
        let problem = problem(instance);
        let plan = optimum(&problem);
        let expected = instance["objective"].as_i64();
        assert_eq!(plan.as_ref().map(|p| p.price), expected, "instance {index}");
        if let Some(plan) = plan {
            assert_eq!(audit::objective(&problem, &plan), Ok(plan.price), "instance {index}");
            compared += 1;
        }
    }
    assert!(compared >= 30, "{compared} plans compared");
}
