//! No text and no finite facts bring the core down.

use proptest::prelude::*;
use whelpward_core::record::{CheckValue, FolderFiles, Problem, parse};
use whelpward_core::report::today;
use whelpward_core::units::{Celsius, Grams, Millilitres};

use super::config;
use super::generate::any_litter;

/// A problem names its file and says what is allowed.
fn is_helpful(problem: &Problem) -> bool {
    !problem.file.is_empty()
        && !problem.found.is_empty()
        && !problem.allowed.is_empty()
        && !problem.to_string().is_empty()
}

fn parse_and_ask(files: &FolderFiles, at: jiff::Timestamp) -> Result<(), TestCaseError> {
    match parse(files) {
        Ok(facts) => {
            let answer = today(&facts, at);
            prop_assert!(serde_json::to_string(&answer).is_ok());
        }
        Err(problems) => {
            prop_assert!(!problems.is_empty(), "refused without a reason");
            prop_assert!(problems.iter().all(is_helpful), "{problems:?}");
        }
    }
    Ok(())
}

/// One change to one place of a text: another byte, a cut, a doubled part, a strange word.
fn changed(bytes: &mut Vec<u8>, place: usize, how: u8, with: u8) {
    const WORDS: [&str; 16] = [
        "\u{feff}",
        "\0",
        "NaN",
        "-1",
        "1e308",
        "99999999999",
        "\"",
        ",",
        "\n",
        "[[pup]]\n",
        "2026-02-30T25:61Z",
        "९",
        "é",
        "0x10",
        "9999-12-31T23:59:60Z",
        "\"\"\"",
    ];
    let at = place % (bytes.len() + 1);
    match how % 5 {
        0 if at < bytes.len() => bytes[at] = with,
        1 => bytes.truncate(at),
        2 => {
            let part: Vec<u8> = bytes[at..].iter().take(usize::from(with)).copied().collect();
            bytes.splice(at..at, part);
        }
        3 => {
            bytes.splice(at..at, WORDS[usize::from(with) % WORDS.len()].bytes());
        }
        _ => {
            let end = (at + usize::from(with)).min(bytes.len());
            bytes.drain(at..end);
        }
    }
}

proptest! {
    #![proptest_config(config())]

    /// Whole litters with a few bytes changed.
    #[test]
    fn a_mutated_folder_is_read_or_refused_with_reasons(
        litter in any_litter(),
        edits in prop::collection::vec((0..4_usize, any::<u16>(), any::<u8>(), any::<u8>()), 1..6),
    ) {
        let mut files = litter.texts().files();
        for (file, place, how, with) in edits {
            let file = match file {
                0 => &mut files.litter_toml,
                1 => &mut files.weighings_csv,
                2 => &mut files.feeds_csv,
                _ => &mut files.checks_csv,
            };
            changed(file.as_mut().expect("every file is written"), usize::from(place), how, with);
        }
        parse_and_ask(&files, litter.at(0))?;
    }

    /// Bytes that nobody wrote.
    #[test]
    fn any_bytes_are_read_or_refused_with_reasons(
        litter in any_litter(),
        bytes in prop::collection::vec(any::<u8>(), 0..200),
        text in "\\PC{0,200}",
        which in 0..5_usize,
    ) {
        for content in [bytes.clone(), text.into_bytes()] {
            let mut files = litter.texts().files();
            let file = match which {
                0 => &mut files.litter_toml,
                1 => &mut files.weighings_csv,
                2 => &mut files.feeds_csv,
                3 => &mut files.checks_csv,
                _ => &mut files.done_csv,
            };
            *file = Some(content);
            parse_and_ask(&files, litter.at(0))?;
        }
    }

    /// A litter can be asked about at any time, also before it was born and years later.
    #[test]
    fn any_time_of_asking_gets_an_answer(litter in any_litter(), seconds in -4_000_000_000..8_000_000_000_i64) {
        let facts = litter.texts().facts();
        let at = jiff::Timestamp::from_second(seconds).expect("a time that jiff knows");
        prop_assert!(serde_json::to_string(&today(&facts, at)).is_ok());
    }

    /// Facts that no file may hold but a caller could build: any weight, amount and temperature of
    /// the table of quantities.
    #[test]
    fn any_finite_facts_get_an_answer(litter in any_litter(), wild in prop::collection::vec((0.0..1.0_f64, any::<u16>()), 1..8)) {
        let mut facts = litter.texts().facts();
        for (share, which) in wild {
            let n = usize::from(which);
            let weight = Grams::new(1.0 + share.powi(4) * 149_999.0).expect("inside the table");
            let volume = Millilitres::new(share * 5000.0).expect("inside the table");
            let temperature = Celsius::new(-10.0 + share * 110.0).expect("inside the table");
            if !facts.weighings.is_empty() {
                let i = n % facts.weighings.len();
                facts.weighings[i].weight = weight;
            }
            if !facts.pups.is_empty() {
                let i = n % facts.pups.len();
                facts.pups[i].birth_weight = Some(weight);
            }
            if !facts.feeds.is_empty() {
                let i = n % facts.feeds.len();
                facts.feeds[i].taken = Some(volume);
            }
            for check in facts.checks.iter_mut().filter(|c| matches!(c.value, CheckValue::Temperature(_))).skip(n % 3).step_by(2) {
                check.value = CheckValue::Temperature(temperature);
            }
        }
        let answer = today(&facts, litter.at(0));
        let debug = format!("{answer:?}");
        let word = debug.split(|c: char| !c.is_alphanumeric()).find(|w| matches!(*w, "NaN" | "inf"));
        prop_assert!(word.is_none(), "{word:?}");
    }
}
