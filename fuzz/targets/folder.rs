//! A litter folder whose files anybody may have written: read it, ask what to do now, write it again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use whelpward_core::record::{FolderFiles, entries, parse};
use whelpward_core::report::today;

/// Parts the files of one input, in the order of the folder.
const NEXT_FILE: &str = "\n%%%%\n";

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let mut parts = text.split(NEXT_FILE).map(|part| part.as_bytes().to_vec());
    let files = FolderFiles {
        litter_toml: parts.next(),
        weighings_csv: parts.next(),
        feeds_csv: parts.next(),
        checks_csv: parts.next(),
        foods_csv: parts.next(),
        done_csv: parts.next(),
    };
    let facts = match parse(&files) {
        Ok(facts) => facts,
        Err(problems) => {
            assert!(!problems.is_empty(), "refused without a word");
            return;
        }
    };
    // Strange data never blanks a page.
    let now = "2026-11-24T03:00+01:00".parse().expect("a time");
    let before = today(&facts, now);
    // What was read can be written and reads the same.
    let written = entries::write(&entries::read(&files).expect("it was read"));
    let again = parse(&written).unwrap_or_else(|problems| panic!("{problems:?}"));
    let after = today(&again, now);
    assert_eq!(serde_json::to_value(before).expect("JSON"), serde_json::to_value(after).expect("JSON"));
});
