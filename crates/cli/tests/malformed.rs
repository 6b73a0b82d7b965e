//! Malformed folders: each gives an error with its place and what is allowed, and exit code 2.
//!
//! A case is a complete, good folder with one or more texts replaced by bad ones, and the
//! message that must stand on stderr.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const LITTER: &str = r#"format = 1
[litter]
name = "Bad"
breed = "Maltese"
whelped_at = 2026-11-16T21:40:00+01:00
time_zone = "Europe/Berlin"
scale_step_g = 1
[[pup]]
id = "Ash"
sex = "male"
marks = "grey"
born_at = 2026-11-16T21:40:00+01:00
birth_weight = 168
unit = "g"
[[carer]]
name = "Robin"
[[milk]]
id = "replacer"
kind = "puppy_ready"
in_use = true
kcal_per_ml = 1.1
"#;
const WEIGHINGS: &str =
    "pup,weighed_at,weight,unit,taken,carer,note\nAsh,2026-11-17T09:00+01:00,171,g,before_feed,Robin,\n";
const FEEDS: &str =
    "pup,fed_at,method,offered_ml,taken_ml,milk,carer,note\nAsh,2026-11-17T10:00+01:00,bottle,3,3,replacer,Robin,\n";
const CHECKS: &str =
    "pup,checked_at,kind,value,note,carer\nAsh,2026-11-17T10:00+01:00,rectal_temperature_c,35.9,,Robin\n";

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("whelpward-malformed-{}-{name}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        for (file, text) in
            [("litter.toml", LITTER), ("weighings.csv", WEIGHINGS), ("feeds.csv", FEEDS), ("checks.csv", CHECKS)]
        {
            fs::write(path.join(file), text).unwrap();
        }
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn check_folder(folder: &Path) -> (Option<i32>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_whelpward")).args(["folder", "check"]).arg(folder).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

/// Replaces `good` by `bad` in one file and expects these texts in the message.
fn check(name: &str, file: &str, good: &str, bad: &str, expected: &[&str]) {
    let folder = Folder::new(name);
    let path = folder.0.join(file);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains(good), "{name}: {good:?} is not in {file}");
    fs::write(&path, text.replacen(good, bad, 1)).unwrap();
    expect(name, &folder, file, expected);
}

fn expect(name: &str, folder: &Folder, file: &str, expected: &[&str]) {
    let (code, message) = check_folder(&folder.0);
    assert_eq!(code, Some(2), "{name}: {message}");
    assert!(message.contains(file) && message.contains("allowed: "), "{name}: no place or no help in\n{message}");
    for text in expected {
        assert!(message.contains(text), "{name}: {text:?} is not in\n{message}");
    }
}

#[test]
fn the_good_folder_is_good() {
    let folder = Folder::new("good");
    assert_eq!(check_folder(&folder.0), (Some(0), String::new()));
}

#[test]
fn mistakes_in_litter_toml_are_located() {
    let check = |name: &str, good: &str, bad: &str, expected: &[&str]| check(name, "litter.toml", good, bad, expected);
    check("no-format", "format = 1\n", "", &["line 1", "format = 1, as the first line"]);
    check("format-2", "format = 1", "format = 2", &["line 1, column 10 (format)", "found \"2\""]);
    check("toml-syntax", "name = \"Bad\"", "name = \"Bad", &["line 3", "TOML"]);
    check(
        "unknown-key",
        "scale_step_g",
        "scale_steps_g",
        &["line 7, column 1 (litter.scale_steps_g)", "did you mean scale_step_g?"],
    );
    check("unknown-section", "[[carer]]", "[[careers]]", &["line 15", "did you mean carer?"]);
    check("no-name", "name = \"Bad\"\n", "", &["line 2", "(litter.name): found nothing"]);
    check("no-breed", "breed = \"Maltese\"\n", "", &["breed or expected_adult_weight_kg"]);
    check("no-zone", "time_zone = \"Europe/Berlin\"\n", "", &["litter.time_zone", "Europe/Berlin"]);
    check("bad-zone", "Europe/Berlin", "Europe/Berlinn", &["line 6, column 13", "Europe/Berlinn"]);
    check(
        "time-without-offset",
        "21:40:00+01:00\ntime_zone",
        "21:40:00\ntime_zone",
        &["line 5", "the offset is missing"],
    );
    check("step-zero", "scale_step_g = 1", "scale_step_g = 0", &["line 7", "a number from 0.1 to 50"]);
    check("quoted-number", "scale_step_g = 1", "scale_step_g = \"1\"", &["line 7", "without quotes"]);
    check("bad-sex", "sex = \"male\"", "sex = \"dog\"", &["line 10", "one of female, male, unknown"]);
    check("blank-marks", "marks = \"grey\"", "marks = \" \"", &["line 11", "not blank"]);
    check("weight-without-unit", "unit = \"g\"\n", "", &["line 13", "with unit = "]);
    check("weight-in-kg", "birth_weight = 168", "birth_weight = 0.168", &["line 13", "30 to 25000 g"]);
    check("weight-negative", "birth_weight = 168", "birth_weight = -168", &["line 13", "no letters, signs"]);
    check(
        "lb-oz",
        "birth_weight = 168\nunit = \"g\"",
        "birth_weight = \"0 lb 16 oz\"\nunit = \"lb_oz\"",
        &["ounces below 16"],
    );
    check(
        "left-without-why",
        "unit = \"g\"",
        "unit = \"g\"\nleft_at = 2026-11-18T00:00:00+01:00",
        &["both, or neither"],
    );
    check(
        "left-before-birth",
        "unit = \"g\"",
        "unit = \"g\"\nleft_why = \"died\"\nleft_at = 2026-11-15T00:00:00+01:00",
        &["line 16", "not before born_at"],
    );
    check(
        "tube-word",
        "name = \"Robin\"",
        "name = \"Robin\"\ntube_taught_by_vet = \"yes\"",
        &["line 17", "true or false"],
    );
    check("milk-kind", "puppy_ready", "formula", &["line 19", "puppy_powder"]);
    check("milk-strength", "kcal_per_ml = 1.1", "kcal_per_ml = 110", &["line 21", "a number from 0.1 to 3"]);
    check("milk-half-ratio", "kcal_per_ml = 1.1", "powder_g = 10", &["both, as on the label, or neither"]);
    check(
        "milk-sum",
        "kcal_per_ml = 1.1",
        "protein_percent = 60\nfat_percent = 50\nash_percent = 5\nmoisture_percent = 4",
        &["at most 100 % together"],
    );
    check("milk-part-analysis", "kcal_per_ml = 1.1", "protein_percent = 30", &["all of protein_percent"]);
    check(
        "order-for-nobody",
        "[[carer]]",
        "[[vet_order]]\npup = \"Elm\"\ngiven_at = 2026-11-17T00:00:00+01:00\nvet = \"Practice\"\n[[carer]]",
        &["\"Elm\"", "the id of a [[pup]]"],
    );
    check(
        "energy-too-high",
        "scale_step_g = 1",
        "scale_step_g = 1\nenergy_kcal_per_100g = 30",
        &["a number from 20 to 25"],
    );
    let twice = LITTER.split("[[carer]]").next().unwrap().split("[[pup]]").nth(1).unwrap();
    check("same-id-twice", "[[carer]]", &format!("[[pup]]{twice}[[carer]]"), &["line 16", "a name that no other has"]);
    check(
        "two-in-use",
        "kcal_per_ml = 1.1",
        "kcal_per_ml = 1.1\n[[milk]]\nid = \"b\"\nkind = \"goat\"\nin_use = true",
        &["in_use = true for one milk only"],
    );
}

#[test]
fn mistakes_in_weighings_are_located() {
    let check =
        |name: &str, good: &str, bad: &str, expected: &[&str]| check(name, "weighings.csv", good, bad, expected);
    check("w-unknown-column", "taken", "when", &["line 1, column 5 (when)", "unknown column"]);
    check("w-no-column", "weighed_at,", "", &["no such column", "weighed_at"]);
    check("w-unknown-pup", "Ash,2026", "Elm,2026", &["line 2, column 1 (pup): found \"Elm\"", "Ash"]);
    check("w-no-offset", "09:00+01:00", "09:00", &["line 2, column 2 (weighed_at)", "the offset is missing"]);
    check("w-before-birth", "2026-11-17", "2026-11-15", &["not before this pup's birth"]);
    check("w-letters", ",171,", ",171g,", &["line 2, column 3 (weight)", "a plain number"]);
    check("w-ambiguous-comma", ",171,", ",\"1,171\",", &["write 1171 or 1.171"]);
    check("w-two-points", ",171,", ",1.7.1,", &["a plain number"]);
    check("w-too-heavy", ",171,", ",171000,", &["25000"]);
    check("w-no-unit", ",g,", ",,", &["line 2", "g, oz or lb_oz"]);
    check("w-unit", ",g,", ",kg,", &["line 2, column 4 (unit)", "one of g, oz, lb_oz"]);
    check("w-taken", "before_feed", "morning", &["line 2, column 5 (taken)"]);
    check("w-carer", "Robin", "Robyn", &["the name of a [[carer]]: Robin"]);
    check("w-fields", ",Robin,\n", ",Robin\n", &["line 2: found 6 fields; allowed: 7 fields"]);
    check(
        "w-semicolons",
        "pup,weighed_at,weight,unit,taken,carer,note",
        "pup;weighed_at;weight",
        &["separated by semicolons"],
    );
}

#[test]
fn mistakes_in_feeds_are_located() {
    let check = |name: &str, good: &str, bad: &str, expected: &[&str]| check(name, "feeds.csv", good, bad, expected);
    check("f-method", "bottle", "spoon", &["line 2, column 3 (method)", "one of bottle, tube, nursing"]);
    check("f-more-than-it-weighs", "bottle,3,3", "bottle,300,300", &["line 2", "more than this pup ever weighed"]);
    check("f-more-than-offered", "bottle,3,3", "bottle,3,4", &["not more than offered_ml"]);
    check("f-milk", "replacer", "milkk", &["line 2, column 6 (milk)", "the id of a [[milk]]: replacer"]);
    check("f-nursing-volume", "bottle,3,3", "nursing,3,3", &["weight_before_g and weight_after_g for nursing"]);
    check("f-negative", "bottle,3,3", "bottle,-3,3", &["a number from 0 to 2000"]);
}

#[test]
fn mistakes_in_checks_are_located() {
    let check = |name: &str, good: &str, bad: &str, expected: &[&str]| check(name, "checks.csv", good, bad, expected);
    check("c-kind", "rectal_temperature_c", "rectal_temp", &["line 2, column 3 (kind)", "rectal_temperature_c"]);
    check(
        "c-fahrenheit",
        ",35.9,",
        ",96.6,",
        &["line 2, column 4 (value)", "a reading in °F needs a kind that ends in _f"],
    );
    check("c-word", "rectal_temperature_c,35.9", "suck,ok", &["strong, weak, none"]);
    check("c-pup-for-box", "rectal_temperature_c,35.9", "box_temperature_c,30", &["about the litter or the dam"]);
    check("c-no-pup", "Ash,2026", ",2026", &["line 2", "the id of a [[pup]]"]);
    check("c-no-value", ",35.9,", ",,", &["line 2", "found nothing"]);
}

#[test]
fn bytes_that_are_not_utf8_are_located() {
    let folder = Folder::new("latin1");
    fs::write(
        folder.0.join("weighings.csv"),
        b"pup,weighed_at,weight_g,note\nAsh,2026-11-17T09:00+01:00,171,m\xfcde\n",
    )
    .unwrap();
    expect("latin1", &folder, "weighings.csv", &["line 2, column 33", "text saved as UTF-8"]);
}

#[test]
fn a_folder_without_litter_toml_says_so() {
    let folder = Folder::new("empty");
    fs::remove_file(folder.0.join("litter.toml")).unwrap();
    expect("empty", &folder, "litter.toml", &["no such file"]);
}

#[test]
fn a_byte_order_mark_is_read_over() {
    let folder = Folder::new("bom");
    for (file, text) in [("litter.toml", LITTER), ("weighings.csv", WEIGHINGS)] {
        fs::write(folder.0.join(file), format!("\u{feff}{text}")).unwrap();
    }
    assert_eq!(check_folder(&folder.0), (Some(0), String::new()));
}

#[test]
fn all_problems_are_told_in_one_go() {
    let folder = Folder::new("many");
    fs::write(folder.0.join("weighings.csv"), WEIGHINGS.replace("171", "abc")).unwrap();
    fs::write(folder.0.join("feeds.csv"), FEEDS.replace("bottle", "spoon")).unwrap();
    fs::write(folder.0.join("checks.csv"), CHECKS.replace("35.9", "hot")).unwrap();
    let (code, message) = check_folder(&folder.0);
    assert_eq!(code, Some(2));
    for file in ["weighings.csv, line 2", "feeds.csv, line 2", "checks.csv, line 2", "3 problems; nothing was loaded"] {
        assert!(message.contains(file), "{file} is not in\n{message}");
    }
}
