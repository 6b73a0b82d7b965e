//! `whelpward milk` as a person runs it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn milk(args: &[&str]) -> Output {
    let args = ["milk"].iter().chain(args);
    Command::new(env!("CARGO_BIN_EXE_whelpward")).args(args).current_dir(root()).output().expect("the command runs")
}

fn stdout(args: &[&str]) -> String {
    let output = milk(args);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

const KITCHEN: &str = "goat_milk,cream,egg_yolk,whey_protein,cottage_cheese,canola_oil,calcium_carbonate";
const ORPHANS: &str = "examples/orphaned-large-litter";

#[test]
fn every_line_fits_80_columns() {
    for args in [
        &["foods"][..],
        &["compare"],
        &["compare", ORPHANS, "--food", "goat_milk,cottage_cheese,whole_egg_raw"],
        &["blend", "--with", KITCHEN, "--ml", "400"],
        &["blend", "--with", "goat_milk,cream", "--ml", "60", "--day", "1"],
        &["mix", ORPHANS],
        &["mix", ORPHANS, "--hours", "12", "--step-g", "0.1"],
    ] {
        for line in stdout(args).lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
        }
    }
}

#[test]
fn a_blend_is_headed_and_seeded() {
    let ask = ["blend", "--with", KITCHEN, "--ml", "400", "--seed", "3"];
    let text = stdout(&ask);
    assert!(text.starts_with("A STOP-GAP UNTIL A MILK REPLACER FOR PUPPIES IS IN THE HOUSE"));
    assert!(text.contains("NOT A COMPLETE\nFOOD") && text.contains("taurine"));
    assert_eq!(text, stdout(&ask), "the same seed gives the same text");
    let replacer = stdout(&["blend", ORPHANS, "--with", KITCHEN, "--ml", "400"]);
    assert!(replacer.contains("use it and not this"), "{replacer}");
}

#[test]
fn a_conflict_ends_with_2_and_names_its_limits() {
    let output = milk(&["blend", "--with", "evaporated_milk,cream", "--least", "evaporated_milk=60"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("evaporated_milk at least 60 %") && said.contains("lactose at most"), "{said}");
    assert!(output.stdout.is_empty(), "no recipe is printed");
}

#[test]
fn bad_input_is_refused_with_what_is_allowed() {
    let check = |args: &[&str], words: &str| {
        let output = milk(args);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(said.contains(words), "{args:?}: {said}");
    };
    check(&["blend", "--with", "goat_milk,whole_egg_raw"], "raw egg");
    check(&["blend", "--with", "goat"], "did you mean");
    check(&["blend", "--with", "goat_milk", "--spread", "2"], "from 0 to 1");
    check(&["blend", "--with", "goat_milk", "--most", "cream"], "id=number");
    check(&["blend"], "which foods are in the house?");
    check(&["compare", "--recipe", "cow_milk=118"], "with g or mL");
    check(&["compare", "--weight-g", "5"], "from 30 to 25000");
    check(&["mix", "examples/ordinary-litter"], "no milk is marked in_use");
    check(&["mix", ORPHANS, "--hours", "30"], "keeps once mixed");
    check(&["mix", ORPHANS, "--made-powder-g", "20", "--made-water-ml", "30"], "stronger than the label");
    check(&["mix", ORPHANS, "--scoops"], "weigh one level scoop");
}

#[test]
fn a_printed_recipe_with_a_wrong_strength_is_named() {
    // Handbook milk.md section 5, recipe R3: stated 1.2 kcal per mL, 0.41 by its parts.
    let text =
        stdout(&["compare", "--recipe", "cow_milk=473mL,water=473mL,egg_yolk=34g", "--stated-kcal-per-ml", "1.2"]);
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(one_line.contains("stated as 1.2 kcal per mL, its parts give 0.41 kcal per mL"), "{text}");
}

#[test]
fn json_carries_units_in_its_names() {
    let read = |args: &[&str]| -> serde_json::Value { serde_json::from_str(&stdout(args)).unwrap() };
    let compare = read(&["compare", "--json"]);
    // Handbook milk.md check 2: goat's milk 69.30 kcal in 100 g.
    let goat = compare["milks"].as_array().unwrap().iter().find(|m| m["name"] == "Goat's milk").unwrap();
    assert!((goat["per_100g"]["energy_kcal"].as_f64().unwrap() - 69.30).abs() < 0.005);
    let blend = read(&["blend", "--with", KITCHEN, "--json"]);
    let weighed: f64 = blend["recipe"].as_array().unwrap().iter().map(|p| p["weigh_g"].as_f64().unwrap()).sum();
    assert!((weighed / blend["volume_ml"].as_f64().unwrap() - 1.03).abs() < 0.03);
    let mix = read(&["mix", ORPHANS, "--json"]);
    assert!(
        mix["powder"]["powder_g"].as_f64().unwrap() > 0.0 && mix["label"][1].as_str().unwrap().starts_with("mixed")
    );
}
