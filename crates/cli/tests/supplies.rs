//! `whelpward supplies` as a person runs it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn supplies(args: &[&str]) -> Output {
    let args = ["supplies"].iter().chain(args);
    Command::new(env!("CARGO_BIN_EXE_whelpward")).args(args).current_dir(root()).output().expect("the command runs")
}

fn stdout(args: &[&str]) -> String {
    let output = supplies(args);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn json(args: &[&str]) -> Value {
    let args: Vec<&str> = args.iter().copied().chain(["--json"]).collect();
    serde_json::from_str(&stdout(&args)).unwrap()
}

fn enough(report: &Value, code: &str, at: usize) -> f64 {
    let line = report["quantities"].as_array().unwrap().iter().find(|q| q["code"] == code);
    line.unwrap_or_else(|| panic!("no {code}"))["enough"][at]["value"].as_f64().unwrap()
}

#[test]
fn every_line_fits_80_columns() {
    for args in [
        &["--breed", "Labrador Retriever", "--ovulated", "2026-09-28", "--packet", "400", "--packet-price", "19.5"][..],
        &["--breed", "Maltese", "--counted", "4", "--assumptions"],
        &["examples/orphaned-large-litter"],
        &["--dam-kg", "60", "--assume", "orphan_percent=100"],
    ] {
        for line in stdout(args).lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
        }
    }
}

#[test]
fn the_days_are_counted_from_what_is_given_and_named() {
    // Care handbook section 11: 63 days, one more or less, from ovulation; 57 to 72 from the first mating.
    let due = &json(&["--breed", "Maltese", "--ovulated", "2026-01-03"])["due"];
    assert_eq!((&due["first"], &due["last"]), (&"2026-03-06".into(), &"2026-03-08".into()));
    assert_eq!((&due["counted_from"], &due["ready_by"]), (&"ovulation".into(), &"2026-02-27".into()));
    let due = &json(&["--breed", "Maltese", "--mated", "2025-01-01"])["due"];
    assert_eq!((&due["first"], &due["last"]), (&"2025-02-27".into(), &"2025-03-14".into()));
    assert_eq!(json(&["--breed", "Maltese"])["due"], Value::Null);
}

#[test]
fn a_counted_litter_a_label_and_a_packet_are_taken() {
    let counted = json(&["--breed", "Maltese", "--counted", "6", "--assume", "count_off_percent=0"]);
    assert_eq!((enough(&counted, "born", 0), enough(&counted, "born", 2)), (6.0, 6.0));
    // Half as strong a milk by a ratio of half as much powder: the same powder but for what stays in the bottle.
    let of = |powder: &str| {
        let label = ["--breed", "Maltese", "--powder-g", powder, "--water-ml", "40", "--assume", "left_behind_ml=0"];
        enough(&json(&label), "milk", 2)
    };
    let (strong, thin) = (of("20"), of("10"));
    assert!((strong / thin - 1.0).abs() < 0.03, "{strong} {thin}");
    let packets = json(&["--breed", "Maltese", "--packet", "300", "--packet-price", "12"]);
    let milk = &packets["buy_now"][0];
    assert_eq!(milk["how_many"].as_f64().unwrap(), 300.0 * milk["packets"].as_f64().unwrap());
    assert_eq!(milk["cost"].as_f64().unwrap(), 12.0 * milk["packets"].as_f64().unwrap());
}

#[test]
fn the_same_seed_gives_the_same_answer_and_another_agrees_within_its_error() {
    let of = |seed: &str| json(&["--breed", "Labrador Retriever", "--seed", seed]);
    assert_eq!(of("5"), of("5"));
    let (one, two) = (of("5"), of("6"));
    for (a, b) in one["quantities"].as_array().unwrap().iter().zip(two["quantities"].as_array().unwrap()) {
        assert_eq!(a["code"], b["code"]);
        for at in 0..3 {
            let (a, b) = (&a["enough"][at], &b["enough"][at]);
            // Both 95 % intervals of one true quantile: they meet but for one chance in a few hundred.
            let end = |q: &Value, name: &str| q[name].as_f64().unwrap();
            assert!(end(a, "low") <= end(b, "high") && end(b, "low") <= end(a, "high"), "{a} {b}");
        }
    }
}

#[test]
fn no_tube_is_listed_where_nobody_was_taught_and_every_line_has_a_source() {
    // The example's carers are written down; whoever was taught is too.
    let report = json(&["examples/ordinary-litter"]);
    for list in ["buy_now", "buy_later", "assumptions", "notes"] {
        for line in report[list].as_array().unwrap() {
            assert!(!line["source"]["source"].as_str().unwrap().is_empty(), "{line}");
        }
    }
    assert!(report["assumptions"].as_array().unwrap().len() > 20);
}

#[test]
fn what_cannot_be_is_refused_with_what_is_allowed() {
    for (args, said) in [
        (
            &["--breed", "Maltese", "--dam-kg", "three"][..],
            "--dam-kg: found \"three\"; allowed: a number from 0.5 to 120",
        ),
        (&["--breed", "Maltese", "--assume", "teats=99"], "teats: found \"99\"; allowed: a number from 1 to 14"),
        (&["--breed", "Maltese", "--assume", "teats"], "--assume: found \"teats\"; allowed: key=number"),
        (&["--breed", "Maltese", "--assume", "tires=4"], "litter_mean, litter_sd"),
        (&["--breed", "Maltese", "--counted", "40"], "1..=25"),
        (&["--breed", "Maltese", "--draws", "5"], "1000..=200000"),
        (&["--breed", "Maltese", "--packet=-3"], "--packet"),
        (&["no-such-folder"], "no-such-folder"),
    ] {
        let output = supplies(args);
        let text = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {text}");
        assert!(text.contains(said), "{args:?}: {text}");
    }
}

#[test]
fn a_litter_of_the_book_is_asked_about_by_its_name_and_its_days() {
    let data = std::env::temp_dir().join(format!("whelpward-supplies-{}", std::process::id()));
    let run = |args: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_whelpward"))
            .args(args)
            .env("WHELPWARD_DATA", &data)
            .env_remove("WHELPWARD_DATABASE")
            .current_dir(root())
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    run(&[
        "litter",
        "add",
        "name=Heather",
        "time_zone=Europe/Berlin",
        "scale_step_g=1",
        "breed=Maltese",
        "expected_pups=4",
    ]);
    let text = run(&["supplies"]);
    assert!(text.starts_with("Heather: what to have") && text.contains("4 pups counted"), "{text}");
    assert!(run(&["supplies", "--counted", "6"]).contains("6 pups counted"));
    std::fs::remove_dir_all(&data).unwrap();
}
