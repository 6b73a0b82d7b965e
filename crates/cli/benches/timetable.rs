//! How long the timetable takes: twelve pups, three carers, two days of quarters of an hour;
//! and the sweep of other plans for the example of a working household.
//!
//! `timetable.json` beside this file is made by `crates/core/tests/reference/timetable_milp.py
//! --bench`; with `--time` the same script solves it with `HiGHS` and prints its seconds.

use std::hint::black_box;
use std::path::Path;

use criterion::{Criterion, criterion_group, criterion_main};
use serde_json::Value;
use whelpward_core::record::{FolderFiles, parse};
use whelpward_core::report::Line;
use whelpward_core::schedule::optimum::optimum;
use whelpward_core::schedule::options::trade_offs;
use whelpward_core::schedule::problem::{Class, Helper, Problem};

fn number(value: &Value, key: &str) -> u32 {
    value[key].as_u64().and_then(|n| u32::try_from(n).ok()).expect("a whole number")
}

fn marks(value: &Value, key: &str) -> Vec<bool> {
    value[key].as_str().expect("marks").chars().map(|c| c == '1').collect()
}

fn problem(value: &Value) -> Problem {
    let list = |key: &str| value[key].as_array().expect("a list");
    let class = |c: &Value| Class {
        bottle: number(c, "bottle"),
        tube: number(c, "tube"),
        tube_only: number(c, "tube_only"),
        shortest: number(c, "shortest") as usize,
        longest: number(c, "longest") as usize,
        usual: number(c, "usual") as usize,
        excess_price: number(c, "excess_price").into(),
        since_oldest: number(c, "since_oldest") as usize,
        earliest: number(c, "earliest") as usize,
    };
    let helper = |h: &Value| Helper {
        there: marks(h, "there"),
        asleep: marks(h, "asleep"),
        wake_price: number(h, "wake_price").into(),
        woken_before: number(h, "woken_before"),
        may_tube: h["may_tube"] == true,
        at_once: number(h, "at_once"),
        bottle_s: number(h, "bottle_s").into(),
        tube_s: number(h, "tube_s").into(),
        round_price: number(h, "round_price").into(),
    };
    Problem {
        slots: number(value, "slots") as usize,
        is_cyclic: value["is_cyclic"] == true,
        slots_per_day: number(value, "slots_per_day") as usize,
        slot_s: number(value, "slot_s").into(),
        classes: list("classes").iter().map(class).collect(),
        helpers: list("helpers").iter().map(helper).collect(),
        set_up_s: number(value, "set_up_s").into(),
        clean_up_s: number(value, "clean_up_s").into(),
        fairness: number(value, "fairness").into(),
        suck_rounds: number(value, "suck_rounds") as usize,
        most_rounds: None,
        closed: marks(value, "closed"),
    }
}

fn measure(bench: &mut Criterion) {
    let file: Value = serde_json::from_str(include_str!("timetable.json")).expect("the instances");
    let instances = file["instances"].as_array().expect("a list");
    for (name, instance) in
        ["12 pups, 3 carers, 48 h, one class", "12 pups, 3 carers, 48 h, two classes"].iter().zip(instances)
    {
        let problem = problem(instance);
        println!("{name}: objective {:?}", optimum(&problem).map(|p| p.price));
        bench.bench_function(name, |b| b.iter(|| optimum(black_box(&problem))));
    }
    let mut day = problem(&instances[0]);
    day.is_cyclic = true;
    day.slots = 96;
    for helper in &mut day.helpers {
        helper.there.truncate(96);
        helper.asleep.truncate(96);
    }
    bench.bench_function("12 pups, 3 carers, 24 h that repeat", |b| b.iter(|| optimum(black_box(&day))));

    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/working-household");
    let read = |name: &str| std::fs::read(folder.join(name)).ok();
    let facts = parse(&FolderFiles {
        litter_toml: read("litter.toml"),
        weighings_csv: read("weighings.csv"),
        feeds_csv: read("feeds.csv"),
        checks_csv: read("checks.csv"),
        ..FolderFiles::default()
    })
    .expect("the example loads");
    let now = facts.litter.example.as_ref().expect("an example").at;
    let line = Line::run(&facts, now);
    bench.bench_function("other plans of the working household", |b| {
        b.iter(|| trade_offs(black_box(&facts), &line.assessment, &line.needs, now));
    });
}

criterion_group!(benches, measure);
criterion_main!(benches);
