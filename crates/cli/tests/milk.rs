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
        assert!(one_line(&said).contains(words), "{args:?}: {said}");
    };
    check(&["blend", "--with", "goat_milk,whole_egg_raw"], "raw egg");
    check(&["blend", "--with", "goat"], "did you mean");
    check(&["blend", "--with", "dried_whole_milk", "--at-most", "1"], "so few foods cannot keep the limits");
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

const SWITCHING: &str = r#"
format = 1
[litter]
name = "Invented"
expected_adult_weight_kg = 25
whelped_at = 2026-11-01T06:00Z
time_zone = "UTC"
scale_step_g = 1
[dam]
with_pups = false
[[pup]]
id = "Ash"
sex = "male"
marks = "grey"
born_at = 2026-11-01T06:00Z
birth_weight = 400
unit = "g"
rearing = "hand_fed"
hand_fed_since = 2026-11-02T06:00Z
[[milk]]
id = "old"
kind = "puppy_powder"
[[milk]]
id = "new"
kind = "puppy_powder"
in_use = true
powder_g = 10
water_ml = 40
kcal_per_ml = 0.95
price_per_kg = 40
"#;

/// A folder of its own for one test.
fn folder(name: &str, litter: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("whelpward-milk-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let write = |file: &str, text: &str| std::fs::write(folder.join(file), text).unwrap();
    write("litter.toml", litter);
    write("weighings.csv", "pup,weighed_at,weight,unit\nAsh,2026-11-17T07:00Z,870,g\nAsh,2026-11-18T07:00Z,900,g\n");
    write("feeds.csv", "pup,fed_at,method,taken_ml,milk\nAsh,2026-11-18T02:00Z,bottle,30,old\n");
    write(
        "checks.csv",
        "pup,checked_at,kind,value\nAsh,2026-11-18T07:30Z,rectal_temperature_c,37.0\nAsh,2026-11-18T07:30Z,suck,strong\n",
    );
    folder
}

fn whelpward(args: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_whelpward")).args(args).output().expect("the command runs");
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn today_names_the_milk_its_strength_batch_and_warnings() {
    let folder = folder("today", SWITCHING);
    let path = folder.to_str().unwrap();
    let ask = ["today", path, "--at", "2026-11-18T08:00Z"];
    let text = one_line(&whelpward(&ask));
    let json: serde_json::Value = serde_json::from_str(&whelpward(&[&ask[..], &["--json"][..]].concat())).unwrap();
    assert_eq!(json["batch"]["milk"], "new");
    assert!((json["batch"]["strength_kcal_per_ml"].as_f64().unwrap() - 0.95).abs() < 1e-9);
    assert!(json["batch"]["powder"]["powder_g"].as_f64().unwrap() > 0.0);
    let notes = json["milk_notes"].to_string();
    for words in ["New milk: new after old. Today one third new", "it is thin: 70 % of bitch's milk"] {
        assert!(text.contains(words), "{words}: {text}");
        assert!(notes.contains(words), "{words}: {notes}");
    }
    assert!(text.contains("Mix new:") && text.contains("0.95 kcal per mL"), "{text}");
    // The batch's own command says the same, and what it costs.
    let mix = one_line(&whelpward(&["milk", "mix", path, "--at", "2026-11-18T08:00Z"]));
    assert!(
        mix.contains("Today one third new") && mix.contains("to day 35, for 1 pup fed by you, a rough guess"),
        "{mix}"
    );
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_refused_folder_is_left_as_it_was() {
    let folder = folder("refused", &SWITCHING.replace("price_per_kg = 40", "protein_percent = 130"));
    let before = std::fs::read(folder.join("litter.toml")).unwrap();
    let output = milk(&["mix", folder.to_str().unwrap()]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said.contains("litter.toml") && said.contains("protein_percent") && said.contains("0 to 100"), "{said}");
    assert_eq!(std::fs::read(folder.join("litter.toml")).unwrap(), before);
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 4, "no file more, none less");
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn compare_looks_at_a_pup_whose_weight_is_not_in_doubt() {
    // Plover's last reading of 65 g is a slip for 650 g.
    let text = stdout(&["compare", ORPHANS]);
    assert!(!text.contains("of 65 g"), "{text}");
    assert!(text.contains("lactose  16.6 g") && text.contains("protein  143 g"), "first milk by day: {text}");
}

#[test]
fn a_budget_is_a_limit_like_the_others() {
    let prices = "goat_milk=3,cream=7,whey_protein=25,calcium_carbonate=20";
    let ask = |budget: &str| {
        let foods = "goat_milk,cream,whey_protein,calcium_carbonate";
        milk(&[
            "blend", "--with", foods, "--ml", "400", "--step-g", "0.1", "--price", prices, "--budget", budget, "--json",
        ])
    };
    let cost = |output: &Output| -> f64 {
        serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap()["cost"].as_f64().unwrap()
    };
    let (rich, poor) = (ask("50"), ask("1.5"));
    assert!(cost(&rich) > 1.5 && cost(&poor) <= 1.5 + 1e-9, "{} {}", cost(&rich), cost(&poor));
    assert!(String::from_utf8_lossy(&poor.stdout).contains("at most 1.5 of your money"));
    let asked = milk(&["blend", "--with", "goat_milk,cream", "--budget", "2"]);
    assert!(one_line(&String::from_utf8(asked.stderr).unwrap()).contains("what does a kilogram of goat_milk cost?"));
}

#[test]
fn what_a_blend_does_not_cover_is_in_every_output() {
    let ask = ["blend", "--with", KITCHEN, "--at-most", "4"];
    for text in [stdout(&ask), stdout(&[&ask[..], &["--json"][..]].concat())] {
        let text = one_line(&text);
        for word in ["vitamins", "iron", "sodium", "taurine", "arginine", "linoleic"] {
            assert!(text.contains(word), "{word}: {text}");
        }
    }
    assert!(one_line(&stdout(&["compare", "--recipe", "cow_milk=118mL"])).contains("taurine"));
}
