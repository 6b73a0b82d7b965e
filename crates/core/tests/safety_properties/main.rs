//! The rules of safe advice as properties over invented litters, well and ill.
//!
//! Every litter is written as a litter folder and read back through the public parser, so a
//! property sees what a household would see. What is expected is written from the decided
//! safety rules, sentence by sentence, with the numbers typed from there; nothing here asks
//! the code under test what the answer should be.
//!
//! `WHELPWARD_CASES` sets the number of litters for each property; 100 when it is not set.

mod advice;
mod amounts;
mod amounts_over_time;
mod changes;
mod dam;
mod folder;
mod generate;
mod growth;
mod laws;
mod litter;
mod milks;
mod oracle;
mod parsing;
mod presence;
mod reach;
mod ready;
mod technique;
mod technique_signs;
mod values;
mod warmth;
mod warmth_clocks;
mod weights;

use proptest::test_runner::{Config, FileFailurePersistence};

/// How many litters each property sees.
#[expect(clippy::disallowed_methods, reason = "the core reads no environment; its tests are told how long to run")]
fn cases() -> u32 {
    std::env::var("WHELPWARD_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(100)
}

/// Counterexamples are kept in the repository and tried first in every later run.
fn config() -> Config {
    Config {
        cases: cases(),
        max_shrink_iters: 3000,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/proptest-regressions/safety_properties.txt"
        )))),
        ..Config::default()
    }
}
