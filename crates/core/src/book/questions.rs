//! What only a person can settle, and the answers that were given.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::fold::Version;
use super::{Fact, FactId};
use crate::record::entries::MAYBE_THE_SAME;
use crate::record::{Entry, hours_between};
use crate::units::WeightUnit;

/// Weighings of one pup on two devices within this time may be one (our own, usability O-22).
pub const SAME_WEIGHING_MINUTES: f64 = 10.0;
/// Such weighings that differ by no more than this are one point (our own, usability O-22).
const SAME_WEIGHT_SHARE: f64 = 0.02;
/// Feeds of one pup by two carers within this time may be one (our own, usability O-23: 45 min).
pub const DIFFERENT_FEEDS_H: f64 = 0.75;

/// Something that the book shows until it is settled.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// Two carers wrote down a feed of one pup within 45 minutes.
    SameFeedTwice { first: FactId, second: FactId },
    /// Two devices show weights of one pup within ten minutes that do not agree.
    WeighAgain { first: FactId, second: FactId },
    /// An entry was corrected twice; one counts.
    CorrectedTwice { counts: FactId, other: FactId },
    /// An entry was withdrawn by someone and corrected by someone else; it counts.
    WithdrawnAndCorrected { counts: FactId, withdrawn: FactId },
    /// Two pups were given one name; the later one is shown with a number behind it.
    SameName { first: FactId, second: FactId },
}

/// What a person said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    SameFeed,
    TwoFeeds,
}

/// The answers by the pair of entries, the earlier id first.
pub(super) type Answers = BTreeMap<(FactId, FactId), Answer>;

pub(super) fn answers<'f>(facts: impl Iterator<Item = &'f Arc<Fact>>) -> Answers {
    facts
        .filter_map(|fact| {
            let text = |name: &str| fact.body.get(name).and_then(|t| t.as_str());
            let (a, b): (FactId, FactId) = (text("first")?.parse().ok()?, text("second")?.parse().ok()?);
            let answer = if text("answer")? == "same_feed" { Answer::SameFeed } else { Answer::TwoFeeds };
            Some(((a.min(b), a.max(b)), answer))
        })
        .collect()
}

/// Feeds that may be one: the second is marked, or left out when someone said so.
pub(super) fn settle_feeds(feeds: &mut [Version], answers: &Answers, questions: &mut Vec<Question>) {
    feeds.sort_by_key(|v| (v.fact.pup, v.fact.occurred, v.root));
    let mut left_out = BTreeSet::new();
    for later in 1..feeds.len() {
        let mut is_marked = false;
        for earlier in (0..later).rev() {
            let (a, b) = (&feeds[earlier], &feeds[later]);
            if a.fact.pup != b.fact.pup || hours_between(a.fact.occurred, b.fact.occurred).get() > DIFFERENT_FEEDS_H {
                break;
            }
            let by_the_same =
                a.fact.carer == b.fact.carer && (a.fact.carer.is_some() || a.fact.device == b.fact.device);
            if by_the_same || is_nursing(&a.entry) != is_nursing(&b.entry) || left_out.contains(&earlier) {
                continue;
            }
            match answers.get(&(a.root.min(b.root), a.root.max(b.root))) {
                Some(Answer::TwoFeeds) => {}
                Some(Answer::SameFeed) => {
                    left_out.insert(later);
                }
                None => {
                    questions.push(Question::SameFeedTwice { first: a.root, second: b.root });
                    is_marked = true;
                }
            }
        }
        if is_marked {
            feeds[later].entry.values.insert(MAYBE_THE_SAME.into(), true.into());
        }
    }
    for place in left_out {
        feeds[place].is_left_out = true;
    }
}

fn is_nursing(entry: &Entry) -> bool {
    entry.values.get("method").and_then(|m| m.as_str()) == Some("nursing")
}

/// Weighings on two devices: one point where they agree, a question where they do not.
pub(super) fn settle_weighings(weighings: &mut [Version], questions: &mut Vec<Question>) {
    weighings.sort_by_key(|v| (v.fact.pup, v.fact.occurred, v.root));
    for later in 1..weighings.len() {
        let (a, b) = (&weighings[later - 1], &weighings[later]);
        let minutes = hours_between(a.fact.occurred, b.fact.occurred).get() * 60.0;
        let taken = |v: &Version| v.entry.values.get("taken").cloned();
        if a.fact.pup != b.fact.pup
            || a.fact.device == b.fact.device
            || minutes > SAME_WEIGHING_MINUTES
            || taken(a) != taken(b)
        {
            continue;
        }
        let (Some(first), Some(second)) = (grams(&a.entry), grams(&b.entry)) else { continue };
        if (first - second).abs() <= SAME_WEIGHT_SHARE * first.max(second) {
            weighings[later - 1].is_left_out = true;
        } else if weighings.get(later + 1).is_none_or(|next| next.fact.pup != b.fact.pup) {
            questions.push(Question::WeighAgain { first: a.root, second: b.root });
        }
    }
}

fn grams(entry: &Entry) -> Option<f64> {
    let text = |name: &str| entry.values.get(name).map(crate::record::entries::typed);
    match (text("weight"), text("weight_g")) {
        (Some(weight), _) => Some(WeightUnit::from_word(&text("unit")?)?.parse(&weight).ok()?.get()),
        (None, Some(weight)) => Some(WeightUnit::Gram.parse(&weight).ok()?.get()),
        (None, None) => None,
    }
}
