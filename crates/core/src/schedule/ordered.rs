//! Rounds at intervals that a vet ordered, and who does them.
//!
//! Their times are the vet's and nobody moves them. They are staffed first, one after another:
//! each by the one carer who is there for all of it at the least price of work and broken
//! sleep. Whoever does one cannot be on another round meanwhile, and the plan of the other
//! pups is made around it. What this ignores: one visit for these pups and the others together.

use std::ops::Range;

use jiff::Timestamp;

use super::household::{self, Grid, SLOT_S, VISITOR, Way, Wishes};
use super::problem::Helper;
use super::work::share_out;
use super::{Figures, Round, Shift};
use crate::assess::Assessment;
use crate::record::{Facts, hours_after, hours_between};

/// A stretch of work for pups whose interval a vet ordered.
#[derive(Debug, Clone)]
pub struct Ordered {
    /// Its rounds; more than one when the next begins before the last one is over.
    pub rounds: Vec<Round>,
    /// The carer, by number; none when nobody is there.
    pub carer: Option<usize>,
    slots: Range<usize>,
    is_woken: bool,
    hands_on_s: i64,
}

/// What such rounds cost beside the plan.
#[must_use]
pub fn figures(ordered: &[Ordered]) -> Figures {
    Figures {
        rounds: ordered.iter().map(|o| o.rounds.len()).sum(),
        hands_on_s: ordered.iter().map(|o| o.hands_on_s).sum(),
        wake_ups: ordered.iter().map(|o| u32::from(o.is_woken)).sum(),
        ..Figures::default()
    }
}

impl Ordered {
    /// Marks the carer as busy, and as woken once more.
    pub fn keep_free(&self, helpers: &mut [Helper]) {
        let Some(helper) = self.carer.and_then(|k| helpers.get_mut(k)) else { return };
        let end = self.slots.end.min(helper.there.len());
        helper.there[self.slots.start.min(end)..end].fill(false);
        helper.woken_before += u32::from(self.is_woken);
    }
}

/// Staffs the rounds of pups whose interval a vet ordered.
#[must_use]
pub fn staffed(
    facts: &Facts,
    assessment: &Assessment,
    rounds: Vec<Round>,
    grid: &Grid,
    now: Timestamp,
    wishes: &Wishes,
) -> Vec<Ordered> {
    let mut helpers = household::helpers(facts, grid, now, wishes);
    let names = household::names(facts, wishes);
    let fixed = household::fixed_seconds(facts);
    let is_tube = |pup: usize| household::way(facts, &assessment.pups[pup], wishes) == Way::TubeOnly;
    let count = |round: &Round| {
        let tubes: u32 = round.feeds.iter().map(|f| u32::from(is_tube(f.pup))).sum();
        let all: u32 = round.feeds.iter().map(|_| 1).sum();
        (all - tubes, tubes)
    };
    let seconds = |helper: &Helper, feeds| Some(fixed + share_out(feeds, &[helper.helping()])?[0].seconds);
    let mut done: Vec<Ordered> = Vec::new();
    let mut rounds = rounds.into_iter().peekable();
    while let Some(round) = rounds.next() {
        let mut feeds = count(&round);
        let mut block = vec![round];
        // By the slowest carer, so that whoever is chosen is free for the next stretch.
        let slowest = |feeds| helpers.iter().filter_map(|h| seconds(h, feeds)).max().unwrap_or(fixed);
        while let Some(next) = rounds.next_if(|next| next.at < after(block[0].at, slowest(feeds))) {
            let (bottles, tubes) = count(&next);
            feeds = (feeds.0 + bottles, feeds.1 + tubes);
            block.push(next);
        }
        let part = |k: usize| {
            let helper = &helpers[k];
            let seconds = seconds(helper, feeds)?;
            let slots = slots_of(grid, block[0].at, seconds);
            let is_there = slots.clone().all(|s| helper.there.get(s).copied().unwrap_or(true));
            let is_woken = slots.clone().any(|s| helper.asleep.get(s).copied().unwrap_or(false));
            let wake = helper.wake_price + household::fairness(facts) * i64::from(helper.woken_before);
            let price = seconds + helper.round_price + if is_woken { wake } else { 0 };
            is_there.then_some(Part { price, carer: k, seconds, slots, is_woken })
        };
        let best = (0..helpers.len()).filter_map(part).min_by_key(|p| (p.price, p.carer));
        let nobody = Part { price: 0, carer: usize::MAX, seconds: slowest(feeds), slots: 0..0, is_woken: false };
        let carer = best.as_ref().map(|p| p.carer);
        let part = best.unwrap_or(nobody);
        let name = carer.map_or(VISITOR, |k| &names[k]);
        let until = after(block[0].at, part.seconds);
        for round in &mut block {
            let (bottles, tubes) = count(round);
            round.until = until;
            round.staff = vec![Shift { carer: name.into(), bottles, tubes, is_woken: part.is_woken }];
        }
        let ordered =
            Ordered { rounds: block, carer, slots: part.slots, is_woken: part.is_woken, hands_on_s: part.seconds };
        ordered.keep_free(&mut helpers);
        done.push(ordered);
    }
    done
}

/// What a carer would do in a stretch.
struct Part {
    price: i64,
    carer: usize,
    seconds: i64,
    slots: Range<usize>,
    is_woken: bool,
}

fn after(at: Timestamp, seconds: i64) -> Timestamp {
    let minutes = u32::try_from(seconds.div_euclid(60)).unwrap_or(0);
    hours_after(at, f64::from(minutes) / 60.0)
}

/// The slots that a stretch touches; what lies before the grid is left out.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "slots of two days, not negative")]
fn slots_of(grid: &Grid, at: Timestamp, seconds: i64) -> Range<usize> {
    let from = hours_between(grid.origin, at).get() * 3600.0;
    #[expect(clippy::cast_precision_loss, reason = "seconds of a round")]
    let (slot, length) = (SLOT_S as f64, seconds as f64);
    let begin = (from / slot + 1e-9).floor().max(0.0) as usize;
    let end = ((from + length) / slot - 1e-9).ceil().max(0.0) as usize;
    begin..end.max(begin)
}
