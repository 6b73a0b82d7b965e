//! The catalogue: every key that the code asks for is there, every key that is there is asked for,
//! every amount of milk goes through one door.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use whelpward_core::record::{CHECK_KINDS, DONE_KINDS, DoneShape, HomeLaw, ValueShape};

fn files(folder: &Path, end: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path, end));
        } else if path.extension().is_some_and(|e| e == end) {
            found.push(path);
        }
    }
    found
}

fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sources() -> Vec<(PathBuf, String)> {
    files(&here().join("src"), "rs").into_iter().map(|p| (p.clone(), std::fs::read_to_string(p).unwrap())).collect()
}

/// Keys in the catalogue, with a panic on one that stands twice.
fn known() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for path in files(&here().join("locales/en"), "ftl") {
        let text = std::fs::read_to_string(&path).unwrap();
        let read = fluent_bundle::FluentResource::try_new(text.clone());
        assert!(read.is_ok(), "{}: {:?}", path.display(), read.err().map(|(_, e)| e));
        for line in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_lowercase())) {
            let key = line.split(" =").next().unwrap().to_owned();
            assert!(keys.insert(key.clone()), "{key} stands twice");
        }
    }
    keys
}

/// Literal first arguments of calls of a function, and any other literal inside the call's first argument.
fn literals(text: &str, call: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices(call) {
        if text[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let mut rest = text[at + call.len()..].trim_start();
        // say(if … { "one" } else { "other" }): every literal up to the end of the argument.
        let end = if rest.starts_with("if ") { rest.find(['\n', ';']).unwrap_or(rest.len()) } else { 0 };
        if end > 0 {
            for piece in rest[..end].split("{ \"").skip(1) {
                found.push(piece.split('"').next().unwrap().to_owned());
            }
            continue;
        }
        if let Some(literal) = rest.strip_prefix('"') {
            rest = literal;
            found.push(rest.split('"').next().unwrap().to_owned());
        }
    }
    found
}

/// Keys that are put together from a prefix and a word of a table.
fn from_tables() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    let mut add = |prefix: &str, words: &[&str]| {
        keys.extend(words.iter().map(|w| format!("{prefix}-{}", w.replace('_', "-"))));
    };
    for row in CHECK_KINDS {
        add("kind", &[row.word]);
        if let ValueShape::Words(words) = row.shape {
            add("value", &words.iter().map(|w| w.text()).collect::<Vec<_>>());
        }
    }
    for row in DONE_KINDS {
        add("done", &[row.word]);
        if let DoneShape::Words(words) = row.shape {
            add("value", &words.iter().map(|w| w.text()).collect::<Vec<_>>());
        }
    }
    add("done-field", &["product", "lot", "as_given", "by", "note"]);
    add("date", &["due", "late", "coming", "missed", "unwritten", "done", "look"]);
    add("choice", &["worming_guideline", "vaccination_guideline", "home_law"]);
    add("chosen", &["esccap", "capc", "wsava_2024", "aaha_2022", "strictest"]);
    add("chosen", &HomeLaw::ALL.iter().map(|l| l.word()).collect::<Vec<_>>());
    add("unit", &["g", "oz", "lb_oz"]);
    add("sex", &["female", "male", "unknown"]);
    add("method", &["bottle", "tube", "nursing"]);
    add("left", &["stillborn", "died", "put_to_sleep", "fostered_out", "gone_home"]);
    add("taken", &["before_feed", "after_feed", "unknown"]);
    add("theme", &["auto", "day", "night"]);
    add("hand", &["left", "right"]);
    add("pattern", &["plain", "stripes", "dots", "checks"]);
    add("collar", &["none", "red", "blue", "yellow", "green", "orange", "purple", "white", "black", "brown", "pink"]);
    add("group", &["warmth", "mouth", "breath", "belly", "first-day", "box", "dam", "labour"]);
    add("first", &["breathing", "dried", "palate", "colostrum_seen"]);
    add("first-tap", &["breathing", "dried", "palate", "colostrum_seen"]);
    add("key", &["weight", "weight_g", "taken_ml", "offered_ml", "value", "weight_before_g", "weight_after_g"]);
    add(
        "done",
        &[
            "worming",
            "vaccination",
            "chip",
            "new_owner",
            "home_day",
            "eyes_open",
            "ears_open",
            "stands",
            "walks",
            "first_teeth",
            "laps",
            "first_food",
            "eats_by_itself",
            "weaned",
            "socialising",
            "outing",
            "nails",
            "vet_check",
        ],
    );
    add("check", &["fit", "see_again", "not_fit"]);
    add("part", &["energy", "water", "protein", "fat", "carbohydrate", "lactose", "calcium", "phosphorus"]);
    add("aim", &["mature", "day21"]);
    add("expecting", &["ovulated_at", "lh_surge_at", "mated_at"]);
    add("against", &["below", "within", "above", "none"]);
    add("milk-kind", &["puppy_powder", "puppy_ready", "goat", "goat_powder", "cow", "bitch", "home_blend", "other"]);
    add("role", &["breeder", "carer", "helper", "reader"]);
    add("role-text", &["breeder", "carer", "helper", "reader"]);
    for word in AUDIT {
        add("audit", &[word]);
    }
    keys
}

/// What may stand in the audit: the words of the actions, and of refusals.
const AUDIT: &[&str] = &[
    "password-set",
    "signed-in",
    "signed-out",
    "all-signed-out",
    "link-made",
    "vet-link-made",
    "link-ended",
    "handed-over",
    "role-set",
    "person-removed",
    "pin-set",
    "pin-removed",
    "refused-host",
    "refused-origin",
    "refused-token",
    "refused-foreign",
    "refused-path",
    "refused-too-large",
    "refused-too-fast",
    "refused-signed-out",
    "refused-role",
    "refused-secret",
    "refused-password",
    "refused-link",
    "refused-devices",
    "refused-gate",
    "refused-gate-aside",
    "refused-slow",
    "written-out",
    "litter-erased",
    "name-erased",
];

/// Each word that is written into the audit has its text.
#[test]
fn every_word_of_the_audit_is_known() {
    let mut found = BTreeSet::new();
    for text in [
        include_str!("../../app/src/access/mod.rs"),
        include_str!("../../app/src/erase.rs"),
        include_str!("../../app/src/everything_out.rs"),
        include_str!("../src/fault.rs"),
        include_str!("../src/access/door.rs"),
    ] {
        for (at, _) in text.match_indices("write_audit(store, ") {
            let call = &text[at..at + text[at..].find(';').unwrap_or(text.len() - at)];
            found.extend(call.split('"').nth(1).map(str::to_owned));
        }
        for (at, _) in text.match_indices("=> \"") {
            found.insert(format!("refused-{}", text[at + 4..].split('"').next().unwrap()));
        }
        for (at, _) in text.match_indices("Some(\"") {
            found.insert(format!("refused-{}", text[at + 6..].split('"').next().unwrap()));
        }
    }
    let unknown: Vec<_> = found.iter().filter(|w| !AUDIT.contains(&w.as_str())).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    assert!(found.len() > 15, "{found:?}");
}

#[test]
fn no_key_is_missing_and_none_is_unused() {
    let known = known();
    let mut used = from_tables();
    for (path, text) in sources() {
        for call in ["say(", "tell("] {
            for key in literals(&text, call) {
                assert!(known.contains(&key), "{}: no text for {key}", path.display());
                used.insert(key);
            }
        }
        if path.ends_with("more.rs") {
            used.extend(text.split("\", \"").skip(1).filter_map(|p| Some(p.split_once("\")")?.0.to_owned())));
        }
    }
    let missing: Vec<_> = used.difference(&known).filter(|k| k.contains('-')).collect();
    assert!(missing.is_empty(), "no text for {missing:?}");
    let unused: Vec<_> = known.difference(&used).collect();
    assert!(unused.is_empty(), "nothing asks for {unused:?}");
}

/// Words that sound like haste, and the forms that are misread at night (usability S-1, S-3).
#[test]
fn texts_keep_to_the_forms_that_are_read_right() {
    for path in files(&here().join("locales/en"), "ftl") {
        let text = std::fs::read_to_string(&path).unwrap();
        for line in text.lines().filter(|l| !l.starts_with('#')) {
            for misread in ["ml.", " cc", "q3h", "q.d.", " / ", "mL/", "g/", " < ", " > "] {
                assert!(!line.contains(misread), "{}: {line}", path.display());
            }
        }
    }
}

#[test]
fn amounts_reach_a_page_through_one_door() {
    // `amount_ml` is a field of report::Feed, which only a checked instruction makes; of the largest
    // feed of another plan, made the same way; and of what is recorded as offered.
    let allowed = ["show.rs", "timetable/mod.rs", "record.rs"];
    for (path, text) in sources() {
        assert!(allowed.iter().any(|end| path.ends_with(end)) || !text.contains("amount_ml"), "{}", path.display());
        assert!(!text.contains("CheckedInstruction") && !text.contains("guide::"), "{}", path.display());
    }
}
