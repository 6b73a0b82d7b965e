//! What only a person can settle, and the answers that were given.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::fold::Version;
use super::{Fact, FactId};
use crate::record::{Feed, Method, Weighing, hours_between};

/// Weighings of one pup on two devices within this time may be one (our own, usability O-22).
pub const SAME_WEIGHING_MINUTES: f64 = 10.0;
/// Such weighings that differ by no more than this are one point (our own, usability O-22).
const SAME_WEIGHT_PERCENT: i64 = 2;
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

/// Of several answers to one question the one made last counts. An answer may name any version.
pub(super) fn answers<'f>(facts: impl Iterator<Item = &'f Arc<Fact>>, root: impl Fn(FactId) -> FactId) -> Answers {
    let mut in_order: Vec<&Arc<Fact>> = facts.collect();
    in_order.sort_by_key(|f| f.id);
    in_order
        .into_iter()
        .filter_map(|fact| {
            let text = |name: &str| fact.body.get(name).and_then(|t| t.as_str());
            let (a, b): (FactId, FactId) = (text("first")?.parse().ok()?, text("second")?.parse().ok()?);
            let (a, b) = (root(a), root(b));
            let answer = if text("answer")? == "same_feed" { Answer::SameFeed } else { Answer::TwoFeeds };
            Some(((a.min(b), a.max(b)), answer))
        })
        .collect()
}

/// Feeds that may be one: the second is marked, or left out when someone said so.
///
/// Each comes with the place of its version.
pub(super) fn settle_feeds(
    feeds: &mut Vec<(usize, Feed)>,
    versions: &[Version],
    answers: &Answers,
    questions: &mut Vec<Question>,
) {
    sort_by_pup_and_time(feeds, versions);
    let mut left_out = BTreeSet::new();
    for later in 1..feeds.len() {
        for earlier in (0..later).rev() {
            let (a, b) = (&versions[feeds[earlier].0], &versions[feeds[later].0]);
            if a.fact.pup != b.fact.pup || hours_between(a.fact.occurred, b.fact.occurred).get() > DIFFERENT_FEEDS_H {
                break;
            }
            let by_the_same =
                a.fact.carer == b.fact.carer && (a.fact.carer.is_some() || a.fact.device == b.fact.device);
            let is_nursing = |place: usize| feeds[place].1.method == Method::Nursing;
            if by_the_same || is_nursing(earlier) != is_nursing(later) || left_out.contains(&earlier) {
                continue;
            }
            match answers.get(&(a.root.min(b.root), a.root.max(b.root))) {
                Some(Answer::TwoFeeds) => {}
                Some(Answer::SameFeed) => {
                    left_out.insert(later);
                }
                None => {
                    questions.push(Question::SameFeedTwice { first: a.root, second: b.root });
                    feeds[later].1.maybe_the_same = true;
                }
            }
        }
    }
    take_out(feeds, &left_out);
}

/// Weighings on two devices: one point where they agree, a question where they do not.
pub(super) fn settle_weighings(
    weighings: &mut Vec<(usize, Weighing)>,
    versions: &[Version],
    questions: &mut Vec<Question>,
) {
    sort_by_pup_and_time(weighings, versions);
    let mut left_out = BTreeSet::new();
    for later in 1..weighings.len() {
        let [(place_a, first), (place_b, second)] = &weighings[later - 1..=later] else { continue };
        let (a, b) = (&versions[*place_a], &versions[*place_b]);
        let minutes = hours_between(a.fact.occurred, b.fact.occurred).get() * 60.0;
        if a.fact.pup != b.fact.pup
            || a.fact.device == b.fact.device
            || minutes > SAME_WEIGHING_MINUTES
            || first.taken != second.taken
        {
            continue;
        }
        let (first, second) = (first.weight.milligrams(), second.weight.milligrams());
        if (first - second).abs() * 100 <= SAME_WEIGHT_PERCENT * first.max(second) {
            left_out.insert(later - 1);
        } else if weighings.get(later + 1).is_none_or(|(next, _)| versions[*next].fact.pup != b.fact.pup) {
            questions.push(Question::WeighAgain { first: a.root, second: b.root });
        }
    }
    take_out(weighings, &left_out);
}

fn sort_by_pup_and_time<T>(rows: &mut [(usize, T)], versions: &[Version]) {
    rows.sort_by_key(|(place, _)| {
        let version = &versions[*place];
        (version.fact.pup, version.fact.occurred, version.root)
    });
}

fn take_out<T>(rows: &mut Vec<T>, left_out: &BTreeSet<usize>) {
    let mut place = 0;
    rows.retain(|_| {
        place += 1;
        !left_out.contains(&(place - 1))
    });
}
