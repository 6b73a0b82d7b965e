//! Every number in the advice leads to a row, every row to a check, and no row that was not
//! read is shown without saying so.

#![allow(clippy::disallowed_methods, reason = "this test reads the source tree; the core reads no file")]

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use common::{Litter, visit};
use whelpward_core::references::{ALL, Check, Mark, as_markdown, by_key};

/// Files of Rust under a folder, with their text.
fn rust_files(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            found.push((path, text));
        }
    }
    found
}

fn core() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The sources of the core without the table of references.
fn sources() -> Vec<(PathBuf, String)> {
    let files: Vec<_> =
        rust_files(&core().join("src")).into_iter().filter(|(p, _)| !p.ends_with("references.rs")).collect();
    assert!(files.len() > 20, "the source tree is there");
    files
}

/// The names by which the code calls a row, from the table itself: `NAME: "key",`.
fn row_names() -> Vec<(String, String)> {
    let table = fs::read_to_string(core().join("src/references.rs")).unwrap();
    let mut names = Vec::new();
    for line in table.lines() {
        if let Some((name, rest)) = line.trim().split_once(": \"")
            && !name.is_empty()
            && name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_')
            && let Some((key, _)) = rest.split_once('"')
        {
            names.push((name.to_owned(), key.to_owned()));
        }
    }
    names
}

/// Whether a text holds a word that is not part of a longer one.
fn has_word(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(i, _)| {
        let is_part = |c: char| c.is_alphanumeric() || c == '_';
        !text[..i].ends_with(is_part) && !text[i + word.len()..].starts_with(is_part)
    })
}

#[test]
fn every_row_is_found_in_the_table_by_name() {
    let names = row_names();
    let keys: BTreeSet<&str> = names.iter().map(|(_, key)| key.as_str()).collect();
    assert_eq!(keys.len(), names.len(), "keys are unique");
    let in_table: BTreeSet<&str> = ALL.iter().map(|s| s.key).collect();
    assert_eq!(keys, in_table);
}

#[test]
fn every_named_test_exists() {
    let crates = core().parent().unwrap();
    let texts: Vec<String> = rust_files(crates).into_iter().map(|(_, text)| text).collect();
    for source in ALL {
        match source.check {
            Check::Test(name) => {
                let is_test = texts.iter().any(|text| {
                    text.match_indices(&format!("fn {name}(")).any(|(i, _)| text[..i].trim_end().ends_with("#[test]"))
                });
                assert!(is_test, "{}: no test is called {name}", source.key);
            }
            Check::None(why) => assert!(why.len() > 5, "{}: no test and no reason", source.key),
        }
    }
}

#[test]
fn every_row_is_used_in_the_code() {
    let texts: Vec<String> = sources().into_iter().map(|(_, text)| text).collect();
    let unused: Vec<String> = row_names()
        .into_iter()
        .filter(|(name, _)| {
            !texts
                .iter()
                .any(|t| has_word(t, &format!("source::{name}")) || has_word(t, &format!("references::{name}")))
        })
        .map(|(name, _)| name)
        .collect();
    assert!(unused.is_empty(), "rows that nothing leads to: {unused:?}");
}

#[test]
fn every_sourced_value_leads_to_a_row() {
    let names: BTreeSet<String> = row_names().into_iter().map(|(name, _)| name).collect();
    for (path, text) in sources() {
        assert!(
            !text.contains("references::Source {") && !text.contains("= Source {"),
            "{}: a row outside the table",
            path.display()
        );
        for (i, _) in text.match_indices("source::") {
            let name: String = text[i + "source::".len()..]
                .chars()
                .take_while(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || *c == '_')
                .collect();
            assert!(name.is_empty() || names.contains(&name), "{}: source::{name} is no row", path.display());
        }
    }
}

/// Numbers that stand without a source, each with its reason.
const WITHOUT_A_SOURCE: &[(&str, &str)] = &[
    ("LATE_WARNING_H", "a word of the review, defined where it is counted; no advice"),
    ("OUTLOOK_H", "a word of the review, defined where it is counted; no advice"),
    ("JOINED_H", "a word of the review, defined where it is counted; no advice"),
    ("LOOK_H", "how often the review looks at the past; no advice"),
    ("ENOUGH_HITS", "from when the review judges a limit; no advice about a pup"),
    ("MUCH_WASTE_PERCENT", "when the review names wasted milk; no advice about a pup"),
    ("SLOW_H", "when the review names a slow answer; no advice about a pup"),
    ("KEPT_H", "how long a past round stays in a calendar file; no advice"),
    ("SCHEMA_VERSION", "version of the report's shape"),
    ("FORMAT_VERSION", "version of the folder's format"),
    ("DIFFERENT_FEEDS_H", "when two entries of one feed are asked about; both count until answered"),
    ("SAME_WEIGHING_MINUTES", "when two devices' weighings are compared; both are kept"),
    ("SAME_WEIGHT_PERCENT", "when two devices' weighings are one point; both are kept"),
    ("LONGEST_NOTE", "how much of a cell a note takes"),
    ("LONGEST_NAME", "what of a cell is taken for a name"),
    ("MOST_NAMES", "how many names of a sheet are asked about"),
    ("MOST_COLUMNS", "how wide a sheet may be"),
    ("PUP_WEIGHT_G", "what may be typed in, no advice"),
    ("HOURS_APART", "which two readings make a daily gain, shown with it"),
    ("ROUND_H", "which weighings belong to one round, for naming a slip"),
    ("DAY_H", "hours in a day"),
    ("LITTER_NEWS_H", "how long a slow litter is spoken of; the pups' own warnings stay"),
    ("ENOUGH", "how near a need counts as met in what is said of turns; the figures stand beside it"),
    ("LEAST_KCAL", "how little is called no top-up"),
    ("MISSED", "which step of handing back was held; amounts are rounded down"),
    ("NINETY", "a quantile of the normal distribution"),
    ("PARTS", "how finely a day's milk is shared in a sum"),
    ("QUARTER_S", "turns begin on a quarter of an hour"),
    ("REMEMBERED_DAYS", "how far back the first amount of handing back is looked for"),
    ("SHORT", "when a top-up below what is open is spoken of; both stand beside it"),
    ("CRUMB", "how little is called no feed; it only leaves a feed out"),
    ("MISSES", "how sure the interval of a simulated quantile is; it is shown with it"),
    ("SURE", "which quantile is shopped for; it is said beside each line"),
    ("LIKELY", "which quantile is shopped for; it is said beside each line"),
    ("DRAWS", "how long a simulation runs; its error is shown"),
    ("DRAWS_ALLOWED", "how long a simulation may run; its error is shown"),
    ("SEED", "which draws a simulation takes; its error is shown"),
    ("MILK_STEP", "how finely milk is counted in a shop"),
    ("LARGEST", "the most pups that the format holds"),
    ("LATE_H", "what the page calls late"),
    ("NOW_H", "what the page calls now"),
    ("LATE_H", "when a feed is called late, shown with the time it was due"),
    ("DAYS", "how far ahead the timetable looks"),
    ("SLOT_S", "the grid of the timetable"),
    ("SLOTS_PER_HOUR", "the grid of the timetable"),
    ("SLOTS_PER_DAY", "the grid of the timetable"),
    ("MINUTES_OF_DAY", "arithmetic of the clock"),
    ("MOST", "how many readings of the box are drawn; gives no advice"),
    ("PAGE", "the usage page of scales in the standard of USB devices"),
    ("POWERS", "the range of the standard's power of ten"),
    ("EMPTY_BELOW_MG", "what counts as an empty scale; the weight itself is shown and asked about"),
    ("LEAST_REPORTS", "when a scale has settled; the weight itself is shown and asked about"),
    ("ENOUGH_WEIGHTS", "when a scale's step is offered; a person decides"),
    ("MOST_CARERS", "how many carers a plan weighs against each other; gives no advice"),
    ("MOST_IN_A_ROUND", "how many carers a plan sends to one round; gives no advice"),
    ("STRONGEST", "how far a stronger milk is looked for; what is named is the least that is enough"),
    ("ROUNDS_WITHOUT_LIMIT", "more rounds a day than the shortest gap allows"),
    (
        "MOST_CATCH_UPS",
        "how often a broken-off round is finished before giving up; every gap stays within its own limit",
    ),
    ("VISITOR_PRICE", "above any price of a plan, so that help from outside comes last"),
    ("PULLED_IN_H", "which pups share a round; every gap stays within its own limit"),
    ("CELLS", "the grid of an integral"),
    ("NODES", "the grid of an integral"),
    ("US_CUP_ML", "an exact unit of measure"),
    ("KCAL_PER_MJ", "an exact unit of measure"),
    ("WHOLE", "a blend is counted in 100 g"),
    ("TOLERANCE", "how exactly a solution must keep its constraints"),
    ("STEP", "how far a limit is widened to find its price"),
    ("NOTICEABLE", "a smaller gain of the solver is noise"),
    ("FIGURES", "how many figures of a food vary apart"),
    ("MOST_NODES", "bounds the search, which says so when it ends there"),
    ("NODES_FOR_ALL", "bounds the search; the recipe is then called not proven"),
    ("CLOSE", "how near the best whole steps are looked for, a tenth of what is shown"),
    ("WHOLE_STEP", "how exactly the solver meets a whole step"),
    ("WORTH_NAMING", "when another food is named, shown with its gain"),
    ("BATH", "an example temperature, shown; the thermometer decides"),
    ("FRIDGE", "an example temperature, shown; the thermometer decides"),
    ("ROOM", "an example temperature; the thermometer decides"),
    ("HOT", "an example temperature, shown; the thermometer decides"),
    ("COLD", "an example temperature, shown; the thermometer decides"),
    ("AHEAD_H", "how long an open page goes on by itself; its amounts and limits have their own rows"),
    ("STEP_H", "how often limits that change with age are looked at within that time"),
    ("BAND", "asks about a typed weight; the growth model looks again when it arrives"),
    ("BAND_DAYS", "asks about a typed weight; the growth model looks again when it arrives"),
    ("BAND_LEAST_G", "asks about a typed weight; the growth model looks again when it arrives"),
];

#[test]
fn no_bare_number_gives_advice() {
    let mut bare = BTreeSet::new();
    for (path, text) in sources() {
        // The growth model's parameters are fitted or named in its own files; what it says is cited
        // as one row, growth-model, which says that it is ours and rests on simulated litters.
        if path.ends_with("units.rs") || path.components().any(|c| c.as_os_str() == "growth") {
            continue;
        }
        // Constants of the tests at the end of a file give no advice.
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (i, _) in code.match_indices("const ") {
            let Some((head, value)) = code[i + "const ".len()..].split_once('=') else { continue };
            let Some((name, kind)) = head.split_once(':') else { continue };
            let is_constant = name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_');
            let value = value.split(';').next().unwrap_or_default().trim();
            let first = value.trim_start_matches(['(', '[', '-', ' ', '\n']);
            let is_number = first.starts_with(|c: char| c.is_ascii_digit())
                || ["Celsius::of", "Grams::of", "Millilitres::of", "Hours::of", "Kcal", "MlPerKg::of", "Percent::of"]
                    .iter()
                    .any(|of| value.starts_with(of));
            if is_constant && is_number && !kind.contains("Sourced") {
                bare.insert(name.to_owned());
            }
        }
    }
    let allowed: BTreeSet<String> = WITHOUT_A_SOURCE.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert!(bare.contains("DAY_H") && bare.contains("HOT"), "the scan sees numbers and quantities: {bare:?}");
    let unknown: Vec<_> = bare.difference(&allowed).collect();
    assert!(unknown.is_empty(), "constants without a source or a reason: {unknown:?}");
    let stale: Vec<_> = allowed.difference(&bare).collect();
    assert!(stale.is_empty(), "allowed, but no longer there: {stale:?}");
}

const WORDS: [&str; 3] = ["common practice", "reported second-hand", "assumption"];

#[test]
fn a_row_that_was_not_read_always_says_so() {
    for source in ALL {
        let cited = source.cite();
        let says_so = WORDS.iter().any(|w| cited.starts_with(w));
        assert_eq!(says_so, source.mark != Mark::Read, "{}: {cited}", source.key);
        assert_eq!(WORDS.contains(&source.mark.word()), source.mark != Mark::Read, "{}", source.key);
    }
    for mark in [Mark::Read, Mark::SecondHand, Mark::Weak, Mark::CommonPractice, Mark::Derived, Mark::Judgement] {
        assert!(ALL.iter().any(|s| s.mark == mark), "every mark is in use: {mark:?}");
    }
}

/// Litters that between them show most rows.
fn litters() -> Vec<(Litter, f64)> {
    let keys = "rearing = \"hand_fed\"\nhand_fed_since = 2026-03-02T00:00:00Z";
    let four_days = || Litter::hand_fed(400.0, 1.0).weigh(95.0, 420.0);
    vec![
        (Litter::nursing(400.0), 2.0),
        (Litter::hand_fed(300.0, 0.7).keys("energy_table = \"weeks\"").weigh(95.0, 300.0).bottle(92.0, 16.0), 96.0),
        (four_days().rectal(95.5, "33.0").rectal(95.9, "34.2"), 96.0),
        (four_days().rectal(95.5, "37.5").rectal(95.9, "37.6").dam_check(95.0, "box_temperature_c", "35"), 96.0),
        (
            four_days().taught_carer().check(95.5, "suck", "weak").check(95.5, "stool", "loose_yellow").check(
                95.0,
                "milk_at_nose",
                "yes",
            ),
            96.0,
        ),
        (
            four_days().check(95.5, "gums", "blue").check(95.5, "belly", "taut").check(95.5, "stool", "grey").check(
                95.5,
                "urine",
                "nothing_passed",
            ),
            96.0,
        ),
        (four_days().order(90.0, "ml_per_feed = 5").weigh(90.0, 4200.0), 96.0),
        (Litter::nursing(300.0).milk(1.0).weigh(48.0, 285.0).weigh(72.0, 285.0), 72.5),
        (
            Litter::new()
                .keys("breed = \"Maltese\"")
                .pup("Ash", 110.0, "")
                .pup("Elm", 180.0, "")
                .pup("Oak", 180.0, "")
                .milk(1.0)
                .weigh(23.0, 112.0),
            24.0,
        ),
        (
            Litter::new()
                .pup("Ash", 400.0, keys)
                .section("[[milk]]\nid = \"goat\"\nkind = \"goat\"\nin_use = true")
                .grows(400.0, 5.0, 290.0)
                .dam_check(288.0, "dam_behaviour", "tremor")
                .dam_check(288.0, "dam_discharge", "foul"),
            290.0,
        ),
        (
            Litter::nursing(400.0).keys("expected_pups = 5").dam_check(0.0, "labour", "begun").dam_check(
                3.0,
                "straining",
                "strong",
            ),
            4.5,
        ),
    ]
}

#[test]
fn the_report_says_so_wherever_such_a_row_is_cited() {
    let mut seen = BTreeSet::new();
    for (litter, now) in litters() {
        visit(&litter.json(now), &mut |object| {
            let text = |name: &str| object.get(name).and_then(serde_json::Value::as_str);
            let (Some(key), Some(cited), Some(status)) = (text("key"), text("source"), text("status")) else { return };
            let row = by_key(key).unwrap_or_else(|| panic!("{key} is no row"));
            seen.insert(key.to_owned());
            let says_so = WORDS.iter().any(|w| cited.contains(w));
            assert_eq!(says_so, row.mark != Mark::Read, "{key}: {cited}");
            assert_eq!(status, row.mark.word(), "{key}");
        });
    }
    // The walk meets many rows of each status, so that the check above is not empty.
    let count = |is: &dyn Fn(Mark) -> bool| seen.iter().filter(|k| is(by_key(k).unwrap().mark)).count();
    assert!(count(&|m| m == Mark::Read) >= 15, "{seen:?}");
    assert!(count(&|m| matches!(m, Mark::SecondHand | Mark::Weak)) >= 4, "{seen:?}");
    assert!(count(&|m| m == Mark::CommonPractice) >= 3, "{seen:?}");
    assert!(count(&|m| matches!(m, Mark::Derived | Mark::Judgement)) >= 6, "{seen:?}");
}

#[test]
fn the_page_of_references_is_up_to_date() {
    let page = core().join("../../docs/REFERENCES.md");
    let written = fs::read_to_string(&page).expect("docs/REFERENCES.md");
    assert!(written == as_markdown(), "docs/REFERENCES.md is old");
}
