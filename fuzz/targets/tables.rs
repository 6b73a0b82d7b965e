//! The tables of a good litter: the first byte says which table the others are.
#![no_main]

use libfuzzer_sys::fuzz_target;
use whelpward_core::record::{FolderFiles, parse};
use whelpward_core::report::today;

const LITTER: &[u8] = include_bytes!("../../examples/toy-light-pup/litter.toml");

fuzz_target!(|bytes: &[u8]| {
    let Some((which, table)) = bytes.split_first() else { return };
    let mut files = FolderFiles { litter_toml: Some(LITTER.to_vec()), ..FolderFiles::default() };
    let place = match which % 5 {
        0 => &mut files.weighings_csv,
        1 => &mut files.feeds_csv,
        2 => &mut files.checks_csv,
        3 => &mut files.foods_csv,
        _ => &mut files.done_csv,
    };
    *place = Some(table.to_vec());
    match parse(&files) {
        Ok(facts) => {
            let _ = today(&facts, "2026-11-21T03:00+01:00".parse().expect("a time"));
        }
        Err(problems) => assert!(problems.iter().all(|p| !p.allowed.is_empty()), "{problems:?}"),
    }
});
