//! The ZIP of a whole book: bytes as they come, and the same bytes as the two lists of a good ZIP, because
//! a list that was changed does not get past the ZIP's own sums.
#![no_main]

use std::io::{Cursor, Write as _};

use libfuzzer_sys::fuzz_target;
use zip::write::SimpleFileOptions;

// The very source of the program; the crate around it would bring the databases along.
#[path = "../../crates/app/src/unpack.rs"]
mod unpack;

use unpack::{FACTS, NotUnpacked, SET_ASIDE, unpack};

fn packed(facts: &[u8], waiting: &[u8]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in [(FACTS, facts), (SET_ASIDE, waiting)] {
        zip.start_file(name, options).expect("a file of the ZIP");
        zip.write_all(bytes).expect("memory");
    }
    zip.finish().expect("a ZIP").into_inner()
}

fuzz_target!(|bytes: &[u8]| {
    if let Ok(read) = unpack(bytes) {
        assert_eq!(Ok(read), unpack(bytes));
    }
    // What stands before the first empty line are the facts.
    let end = bytes.windows(2).position(|two| two == b"\n\n").map_or(bytes.len(), |at| at + 1);
    let (facts, waiting) = bytes.split_at(end);
    match unpack(&packed(facts, waiting)) {
        Ok(read) => assert!(read.facts.len() + read.waiting.len() <= bytes.len(), "each has a line"),
        Err(NotUnpacked::Line { number, .. }) => assert!(number >= 1 && number <= bytes.len() + 1),
        // Only what is no text is taken for no ZIP of ours.
        Err(NotUnpacked::NotOurs(why)) => assert!(std::str::from_utf8(bytes).is_err(), "{why}"),
    }
});
