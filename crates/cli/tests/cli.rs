//! The command as a person runs it: what it prints, where mistakes are found, how it ends.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn whelpward(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_whelpward")).args(args).current_dir(root()).output().expect("the command runs")
}

fn stdout(args: &[&str]) -> String {
    let output = whelpward(args);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

const EXAMPLES: [&str; 4] = ["toy-light-pup", "orphaned-large-litter", "ordinary-litter", "working-household"];

/// Our own output on record, reviewed as prose. It shows that something changed, not that it is right.
#[test]
fn pinned_today_of_each_example() {
    for example in EXAMPLES {
        insta::assert_snapshot!(example, stdout(&["today", &format!("examples/{example}")]));
    }
}

#[test]
fn pinned_why_of_the_toy_litter() {
    insta::assert_snapshot!("toy-light-pup-why", stdout(&["today", "examples/toy-light-pup", "--why"]));
}

#[test]
fn every_line_fits_80_columns() {
    for example in EXAMPLES {
        for extra in [&[][..], &["--why"]] {
            let folder = format!("examples/{example}");
            let args: Vec<&str> = ["today", &folder].into_iter().chain(extra.iter().copied()).collect();
            for line in stdout(&args).lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
        }
    }
}

/// Usability S-1 to S-3 on everything that is printed.
#[test]
fn no_number_is_printed_in_a_dangerous_way() {
    for example in EXAMPLES {
        let text = stdout(&["today", &format!("examples/{example}"), "--why"]);
        for (i, _) in text.match_indices(".0") {
            let rest = &text[i + 2..];
            let is_temperature = rest.starts_with("\u{a0}°C");
            let is_longer = rest.starts_with(|c: char| c.is_ascii_digit());
            assert!(is_temperature || is_longer, "trailing zero: {:?}", &text[i.saturating_sub(10)..i + 2]);
        }
        for word in ["NaN", "inf ", "mg", "cc ", " ml", "q3h"] {
            assert!(!text.contains(word), "{word:?} in {example}");
        }
        for (i, _) in text.match_indices("mL") {
            let before = text[..i].chars().next_back();
            assert!(before.is_some_and(|c| c.is_whitespace() || c == '\u{a0}'), "number and unit run together");
        }
    }
}

#[test]
fn an_ordinary_litter_is_left_to_its_mother() {
    let text = stdout(&["today", "examples/ordinary-litter"]);
    assert!(text.contains("Leave them to their mother."));
    assert!(!text.contains("mL"), "no amount of milk is spoken of");
}

#[test]
fn json_holds_the_same_answer() {
    let json: serde_json::Value =
        serde_json::from_str(&stdout(&["today", "examples/orphaned-large-litter", "--json"])).unwrap();
    let tern = json["pups"].as_array().unwrap().iter().find(|p| p["pup"] == "Tern").unwrap();
    assert_eq!(tern["warmth"], "cold");
    assert!(tern["next_feed"].is_null());
    let plover = json["doubts"].as_array().unwrap().iter().find(|d| d["pup"] == "Plover").unwrap();
    assert_eq!((&plover["reading_g"], &plover["meant_g"]), (&65.0.into(), &650.0.into()));
}

#[test]
fn documents_made_from_tables_are_current() {
    for (what, file) in [
        ("format", "FORMAT.md"),
        ("references", "REFERENCES.md"),
        ("assess-schema", "schema/assess.schema.json"),
        ("dam-schema", "schema/dam.schema.json"),
        ("milk-schema", "schema/milk.schema.json"),
        ("litter-schema", "schema/litter.schema.json"),
        ("tables-schema", "schema/tables.schema.json"),
        ("timetable-schema", "schema/timetable.schema.json"),
        ("stages-schema", "schema/stages.schema.json"),
        ("review-schema", "schema/review.schema.json"),
        ("fact-schema", "schema/fact.schema.json"),
        ("supplies-schema", "schema/supplies.schema.json"),
        ("today-schema", "schema/today.schema.json"),
    ] {
        let on_disk = std::fs::read_to_string(root().join("docs").join(file)).unwrap();
        assert!(
            on_disk == stdout(&["describe", what]),
            "docs/{file} is old: cargo run -- describe {what} > docs/{file}"
        );
    }
}

/// The complete example of docs/FORMAT.md is a folder that loads.
#[test]
fn the_example_of_the_format_page_loads() {
    let page = std::fs::read_to_string(root().join("docs/FORMAT.md")).unwrap();
    let folder = std::env::temp_dir().join(format!("whelpward-format-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    for name in ["litter.toml", "weighings.csv", "feeds.csv", "checks.csv", "done.csv"] {
        let (_, rest) = page.split_once(&format!("\n`{name}`:\n")).unwrap();
        let body = rest.split("```").nth(1).unwrap().split_once('\n').unwrap().1;
        std::fs::write(folder.join(name), body).unwrap();
    }
    let text = stdout(&["folder", "check", folder.to_str().unwrap()]);
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(text.contains("2 pups, 4 weighings, 2 feeds, 5 checks, 2 things done"), "{text}");
}

#[test]
fn a_folder_that_is_not_there_is_said_so() {
    let output = whelpward(&["today", "no/such/folder"]);
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8(output.stderr).unwrap();
    assert!(message.contains("no such folder") && message.contains("hint:"), "{message}");
    assert!(output.stdout.is_empty());
}

#[test]
fn a_time_without_offset_is_refused() {
    let output = whelpward(&["today", "examples/ordinary-litter", "--at", "2026-11-18T08:00"]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn pinned_timetable_of_the_working_household() {
    let folder = "examples/working-household";
    insta::assert_snapshot!("timetable", stdout(&["timetable", folder]));
    insta::assert_snapshot!(
        "timetable-options",
        stdout(&["timetable", folder, "--options", "--sleep-through", "2026-11-21T03:00+01:00"])
    );
}

#[test]
fn the_timetable_fits_80_columns() {
    for example in EXAMPLES {
        let text = stdout(&["timetable", &format!("examples/{example}"), "--options"]);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
}

/// Calendar files, written twice: the second time as if a round had moved.
#[test]
fn calendar_files_say_what_the_rounds_say() {
    let folder = std::env::temp_dir().join(format!("whelpward-ics-{}", std::process::id()));
    let dir = folder.to_str().unwrap();
    let example = "examples/working-household";
    stdout(&["timetable", example, "--ics", dir]);
    let first = std::fs::read_to_string(folder.join("feeds-Robin.ics")).unwrap();
    assert!(first.contains("\r\nSUMMARY:Feed: 6 pups\r\n") && !first.contains("mL"), "{first}");
    assert!(!first.contains("STATUS:CANCELLED"));
    stdout(&["timetable", example, "--ics", dir]);
    assert_eq!(std::fs::read_to_string(folder.join("feeds-Robin.ics")).unwrap(), first, "nothing changed");
    stdout(&["timetable", example, "--ics", dir, "--ics-amounts", "--at", "2026-11-20T20:40+01:00"]);
    let moved = std::fs::read_to_string(folder.join("feeds-Robin.ics")).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(moved.contains("STATUS:CANCELLED") && moved.contains("SEQUENCE:1"), "{moved}");
    assert!(moved.replace("\r\n ", "").contains("Alder: "), "amounts only when asked for");
}

#[test]
fn stages_fit_80_columns_and_stay_calm() {
    for at in ["2026-11-20T16:40+01:00", "2026-12-20T09:00+01:00", "2027-01-20T09:00+01:00"] {
        let text = stdout(&["stages", "examples/working-household", "--at", at]);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        assert!(text.contains("A veterinarian decides") && !text.contains("mL"), "{text}");
    }
    insta::assert_snapshot!("stages", stdout(&["stages", "examples/working-household"]));
    let weaning = ["stages", "examples/working-household", "--at", "2026-12-20T09:00+01:00"];
    insta::assert_snapshot!("stages-weaning", stdout(&weaning));
}

/// All-day entries; what was written down since is cancelled, and names stay at home.
#[test]
fn calendar_files_of_dates_are_all_day_and_name_nobody() {
    let folder = std::env::temp_dir().join(format!("whelpward-dates-{}", std::process::id()));
    let dir = folder.to_str().unwrap();
    let example = "examples/working-household";
    let answer: serde_json::Value =
        serde_json::from_str(&stdout(&["stages", example, "--ics", dir, "--json"])).unwrap();
    let file = std::fs::read_to_string(folder.join("dates-Robin.ics")).unwrap();
    // Born on 4 November: day 28 is 2 December.
    assert!(file.contains("\r\nDTSTART;VALUE=DATE:20261202\r\n") && file.contains("\r\nTRIGGER:PT9H\r\n"), "{file}");
    assert!(!file.contains("STATUS:CANCELLED"));
    for pup in answer["pups"].as_array().unwrap() {
        assert!(!file.contains(pup["pup"].as_str().unwrap()), "{file}");
    }
    stdout(&["stages", example, "--ics", dir]);
    assert_eq!(std::fs::read_to_string(folder.join("dates-Robin.ics")).unwrap(), file, "nothing changed");
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn pinned_assess_of_the_orphaned_litter() {
    insta::assert_snapshot!("assess-orphaned", stdout(&["assess", "examples/orphaned-large-litter"]));
    insta::assert_snapshot!(
        "assess-replay-toy",
        stdout(&["assess", "examples/toy-light-pup", "--replay", "--at", "2026-11-18T00:00+01:00"])
    );
}

#[test]
fn assess_fits_80_columns() {
    for extra in [&[][..], &["--replay"]] {
        let args: Vec<&str> = ["assess", "examples/orphaned-large-litter", "examples/ordinary-litter"]
            .into_iter()
            .chain(extra.iter().copied())
            .collect();
        for line in stdout(&args).lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
}

#[test]
fn a_replay_has_one_line_for_each_weighing_in_the_order_of_the_folders() {
    let folders = ["examples/toy-light-pup", "examples/ordinary-litter", "examples/orphaned-large-litter"];
    let args: Vec<&str> = ["assess", "--replay", "--json"].into_iter().chain(folders).collect();
    let text = stdout(&args);
    let lines: Vec<serde_json::Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    let mut seen: Vec<&str> = lines.iter().map(|l| l["folder"].as_str().expect("a folder")).collect();
    seen.dedup();
    assert_eq!(seen, folders);
    for folder in folders {
        let table = std::fs::read_to_string(root().join(folder).join("weighings.csv")).expect("the table");
        let rows = table.lines().filter(|l| !l.trim().is_empty()).count() - 1;
        assert_eq!(lines.iter().filter(|l| l["folder"] == folder).count(), rows, "{folder}");
    }
    let keys = [
        "folder",
        "pup",
        "at",
        "reading_g",
        "weight_g",
        "gain_g_per_day",
        "gain_sd_g_per_day",
        "p_faltering",
        "score",
        "standing",
        "doubt",
        "forecasts",
    ];
    for line in &lines {
        for key in keys {
            assert!(line.get(key).is_some(), "{key} in {line}");
        }
        let hours: Vec<f64> =
            line["forecasts"].as_array().expect("a list").iter().map(|f| f["hours"].as_f64().expect("hours")).collect();
        assert_eq!(hours, [12.0, 24.0, 48.0, 72.0]);
        for forecast in line["forecasts"].as_array().expect("a list") {
            let at = |key: &str| forecast[key].as_f64().expect("grams");
            assert!(["p05_g", "p25_g", "median_g", "p75_g", "p95_g"].map(at).is_sorted(), "{forecast}");
        }
    }
    // A slip is in doubt and leaves the estimate where it was.
    let slip = lines.iter().find(|l| l["reading_g"] == 65.0).expect("the slip of the example");
    assert_eq!(slip["doubt"]["meant_g"], 650.0);
    assert!(slip["weight_g"].as_f64().is_some_and(|w| w > 600.0));
}

#[test]
fn a_folder_that_cannot_be_used_does_not_silence_the_others() {
    let output = whelpward(&["assess", "examples/no-such-litter", "examples/ordinary-litter", "--json"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("no-such-litter"));
    assert!(String::from_utf8_lossy(&output.stdout).lines().count() == 6);
    let output = whelpward(&["assess", "examples/ordinary-litter", "--false-alarms", "7"]);
    assert_eq!(output.status.code(), Some(2));
}
