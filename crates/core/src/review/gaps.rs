//! Feeds that came late or not at all, for pups that live by hand alone: since a time that is written down,
//! from birth on, or while the pups are off the dam.
//!
//! A gap between two hand feeds is *late* when it is over the longest gap for that age by more than
//! [`LATE_H`], and counts as a *missed* feed when it is at least twice the longest gap. Both are our own
//! words; the longest gap is the published one of the advice. A feed that nobody wrote down counts here
//! as not given.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use crate::limits;
use crate::record::{CheckKind, Facts, Rearing, Word, hours_between};
use crate::units::Grams;

/// So much over the longest gap is late.
pub const LATE_H: f64 = 0.5;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, JsonSchema)]
pub struct Gaps {
    /// Gaps between two hand feeds of a pup that lives by hand.
    pub of: usize,
    pub late: usize,
    pub missed: usize,
}

pub fn gaps(facts: &Facts) -> Gaps {
    let mut gaps = Gaps::default();
    for pup in &facts.pups {
        let since = match (pup.rearing, pup.hand_fed_since) {
            (_, Some(since)) => Some(since),
            (Rearing::HandFed, None) => Some(pup.born_at),
            _ => None,
        };
        let times: Vec<_> = facts.hand_feeds(&pup.id).map(|f| f.at).collect();
        for two in times.windows(2) {
            let lives_by_hand = since.is_some_and(|since| two[0] >= since) || is_off_the_dam(facts, two[0], two[1]);
            if !lives_by_hand {
                continue;
            }
            let age = pup.age(two[0]).get();
            // Later a pup eats from a bowl, and nobody writes down each meal.
            if age > limits::PLANNED_UNTIL_H.value {
                break;
            }
            let weight = facts.weighings.iter().rev().find(|w| w.pup == pup.id && w.at <= two[0]).map(|w| w.weight);
            let weight = weight.or(pup.birth_weight).unwrap_or(Grams::of(0.0));
            let longest = limits::longest_gap_h(age, weight, pup.premature).value;
            let gap = hours_between(two[0], two[1]).get();
            gaps.of += 1;
            gaps.missed += usize::from(gap >= 2.0 * longest);
            gaps.late += usize::from(gap > longest + LATE_H && gap < 2.0 * longest);
        }
    }
    gaps
}

/// The pups were off the dam from one time to another, as far as it is written down.
pub(super) fn is_off_the_dam(facts: &Facts, from: Timestamp, to: Timestamp) -> bool {
    let said = || facts.checks_of(None, CheckKind::PupsWithDam);
    said().rfind(|c| c.at <= from).is_some_and(|c| c.is(Word::No))
        && !said().any(|c| c.at > from && c.at <= to && c.is(Word::Yes))
}
