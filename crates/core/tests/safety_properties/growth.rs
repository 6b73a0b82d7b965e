//! The growth model behind `assess`: it knows nothing later than the weighing, and only raises.

use proptest::prelude::*;
use whelpward_core::report::assess::{Asked, replay};

use super::config;
use super::folder::Texts;
use super::generate::any_litter;
use super::oracle::{ask, level};

/// Every line of a replay as JSON.
fn lines(texts: &Texts, false_alarms: f64) -> Vec<String> {
    let mut lines = Vec::new();
    replay(&texts.facts(), "folder", Asked { false_alarms, until: None }, |line| {
        lines.push(serde_json::to_string(&line).expect("a line serializes"));
    });
    lines
}

/// The instant of a row `pup,time,…`.
fn instant(row: &str) -> jiff::Timestamp {
    row.split(',').nth(1).expect("a time").parse().expect("ISO 8601")
}

/// Healthy growth with some noise, so that the model has something to judge: grams by hour.
fn grown(litter: &mut super::litter::Litter, days: i64, jumps: &[i64]) {
    for (n, pup) in litter.pups.iter_mut().enumerate() {
        pup.age = days * super::litter::DAY;
        pup.joined = None;
        pup.left = None;
        let birth = pup.birth.map_or(300.0, super::litter::Weight::grams).clamp(80.0, 900.0);
        pup.birth = Some(super::litter::Weight::nearest(birth, 0));
        pup.weighings = (1..2 * days)
            .map(|half| {
                let jump = jumps[(usize::try_from(half).unwrap_or(0) + 5 * n) % jumps.len()];
                #[expect(clippy::cast_precision_loss, reason = "half days and thousandths")]
                let grams = birth * (0.03 * half as f64 + jump as f64 / 1000.0).exp();
                super::litter::Weighing {
                    ago: pup.age - half * super::litter::DAY / 2,
                    weight: super::litter::Weight::nearest(grams, 0),
                    taken: "unknown",
                }
            })
            .collect();
        pup.feeds.clear();
        pup.checks.clear();
        pup.order = None;
    }
}

proptest! {
    #![proptest_config(config())]

    /// The line of a weighing does not change when later rows are removed from the folder.
    #[test]
    fn a_line_of_the_replay_knows_nothing_later(
        litter in any_litter(), days in 2..12_i64, jumps in prop::collection::vec(-60..60_i64, 7..12), keep in 0.0..1.0_f64
    ) {
        let mut litter = litter;
        grown(&mut litter, days, &jumps);
        let mut texts = litter.texts();
        let all = lines(&texts, 0.10);
        texts.weighings.sort_by_key(|row| instant(row));
        prop_assert_eq!(all.len(), texts.weighings.len(), "one line for each weighing");
        #[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "rows")]
        let kept = (texts.weighings.len() as f64 * keep) as usize;
        texts.weighings.truncate(kept);
        let fewer = lines(&texts, 0.10);
        prop_assert_eq!(&all[..kept.min(fewer.len())], &fewer[..]);
        prop_assert_eq!(fewer.len(), kept);
    }

    /// A higher stated rate warns at least as often: no standing of any weighing falls.
    #[test]
    fn more_false_alarms_never_lower_a_standing(litter in any_litter(), days in 4..12_i64, jumps in prop::collection::vec(-80..40_i64, 7..12)) {
        let mut litter = litter;
        grown(&mut litter, days, &jumps);
        let texts = litter.texts();
        let standing = |line: &String| {
            let value: serde_json::Value = serde_json::from_str(line).expect("JSON");
            value["standing"].as_str().map(|s| ["doing well", "keep watch", "needs help", "ring the vet"].iter().position(|w| *w == s))
        };
        for (few, many) in lines(&texts, 0.05).iter().zip(&lines(&texts, 0.30)) {
            prop_assert!(standing(few) <= standing(many), "{few} {many}");
        }
    }

    /// A statistical warning may raise a standing and never lowers one: every published finding
    /// is at least as grave in the standing.
    #[test]
    fn the_model_lowers_no_standing(litter in any_litter(), days in 3..12_i64, jumps in prop::collection::vec(-90..40_i64, 7..12)) {
        let mut litter = litter;
        grown(&mut litter, days, &jumps);
        for seen in ask(&litter).pups() {
            for finding in seen.findings() {
                let word = match level(&finding.level) { 4 | 3 => "ring the vet", 2 => "needs help", 1 => "keep watch", _ => "doing well" };
                let rank = |w: &str| ["doing well", "keep watch", "needs help", "ring the vet"].iter().position(|x| *x == w);
                prop_assert!(rank(&seen.line.standing) >= rank(word), "{}", seen.story());
            }
            if let Some(growth) = &seen.line.growth {
                let rank = |w: &str| ["doing well", "keep watch", "needs help", "ring the vet"].iter().position(|x| *x == w);
                prop_assert!(rank(&seen.line.standing) >= rank(&growth.standing), "{}", seen.story());
            }
        }
    }
}
