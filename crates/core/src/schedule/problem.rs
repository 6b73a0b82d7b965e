//! The planning problem as whole numbers: slots of a grid, classes of pups, carers, prices.
//!
//! Nothing here knows a clock, a weight or a limit; [`super::household`] turns a litter into
//! a [`Problem`], and every solver and checker reads the same one.

use super::work::{Helping, share_out};

/// A plan knows at most this many carers.
pub const MOST_CARERS: usize = 8;
/// A round is staffed by at most this many of them; each such set is tried.
pub const MOST_IN_A_ROUND: u32 = 4;

/// Pups that are fed at the same rounds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Pups fed by bottle in every round.
    pub bottle: u32,
    /// Pups fed by tube, except in rounds where all of them get the bottle.
    pub tube: u32,
    /// Pups fed by tube in every round: no bottle may be given to them, or they keep their suck
    /// at the dam.
    pub tube_only: u32,
    /// Fewest and most slots between two feeds.
    pub shortest: usize,
    pub longest: usize,
    /// Slots between feeds at the usual number of feeds a day.
    pub usual: usize,
    /// Price of one slot above the usual, for the whole class.
    pub excess_price: i64,
    /// Slots from the last feed to slot 0: of the pup that has waited longest, at least 1.
    pub since_oldest: usize,
    /// The first slot at which the pup that was fed last may be fed again.
    pub earliest: usize,
}

impl Class {
    /// The last slot at which the first round may be.
    #[must_use]
    pub fn first_deadline(&self) -> usize {
        self.longest.saturating_sub(self.since_oldest)
    }

    /// Price of a gap.
    #[must_use]
    pub fn gap_price(&self, slots: usize) -> i64 {
        self.excess_price * i64::try_from(slots.saturating_sub(self.usual)).unwrap_or(i64::MAX / 1_000_000)
    }
}

/// A carer on the grid.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Helper {
    /// Whether the carer can be there, and whether that is protected sleep; per slot. Beyond
    /// the end counts as there and awake: the next plan sees to it.
    pub there: Vec<bool>,
    pub asleep: Vec<bool>,
    /// Price of the first wake-up; each further one costs the fairness more.
    pub wake_price: i64,
    /// Wake-ups of the nights before the plan.
    pub woken_before: u32,
    pub may_tube: bool,
    /// Bottles that this carer can give at the same time.
    pub at_once: u32,
    pub bottle_s: i64,
    pub tube_s: i64,
    /// Price of asking this carer to a round at all; 0 for the household's own.
    pub round_price: i64,
}

impl Helper {
    /// As [`share_out`] needs it.
    #[must_use]
    pub fn helping(&self) -> Helping {
        Helping { may_tube: self.may_tube, at_once: self.at_once, bottle_s: self.bottle_s, tube_s: self.tube_s }
    }
}

/// One planning problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    pub slots: usize,
    /// The grid closes on itself: the same plan every day.
    pub is_cyclic: bool,
    pub slots_per_day: usize,
    pub slot_s: i64,
    /// One class, or the weak before the strong.
    pub classes: Vec<Class>,
    pub helpers: Vec<Helper>,
    pub set_up_s: i64,
    pub clean_up_s: i64,
    /// What each further wake-up of the same carer costs more than the one before.
    pub fairness: i64,
    /// Rounds a day in which tube-fed pups get the bottle.
    pub suck_rounds: usize,
    /// Most rounds a day that the household can keep.
    pub most_rounds: Option<usize>,
    /// Slots at which no round may begin.
    pub closed: Vec<bool>,
}

/// One way to staff a round at a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Bit k: carer k takes part.
    pub carers: u8,
    /// Every pup that can suck gets the bottle.
    pub is_bottle: bool,
    pub duration_s: i64,
    /// Slots that the round touches.
    pub slots: usize,
    pub hands_on_s: i64,
    /// Bit k: carer k is woken.
    pub woken: u8,
    pub price: i64,
}

/// A round of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    pub slot: usize,
    /// Of all classes, or of the weak only.
    pub is_full: bool,
    pub choice: Choice,
}

/// A plan with its objective.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    pub visits: Vec<Visit>,
    pub price: i64,
}

impl Problem {
    /// The class whose gaps every round ends.
    #[must_use]
    pub fn weak(&self) -> &Class {
        &self.classes[0]
    }

    /// The class that only full rounds feed.
    #[must_use]
    pub fn strong(&self) -> Option<&Class> {
        self.classes.get(1)
    }

    fn fed(&self, is_full: bool) -> impl Iterator<Item = &Class> {
        self.classes.iter().take(if is_full { 2 } else { 1 })
    }

    /// Bottles and tubes of a round.
    #[must_use]
    pub fn feeds(&self, is_full: bool, is_bottle: bool) -> (u32, u32) {
        let sum = |count: fn(&Class) -> u32| self.fed(is_full).map(count).sum::<u32>();
        let (bottle, tube, tube_only) = (sum(|c| c.bottle), sum(|c| c.tube), sum(|c| c.tube_only));
        if is_bottle { (bottle + tube, tube_only) } else { (bottle, tube + tube_only) }
    }

    /// Whether a bottle round of this kind reaches every tube-fed pup.
    #[must_use]
    pub fn keeps_the_suck(&self, is_full: bool, is_bottle: bool) -> bool {
        is_bottle && (is_full || self.strong().is_none_or(|c| c.tube == 0))
    }

    /// Rounds that must keep the suck in each whole day.
    #[must_use]
    pub fn suck_rounds(&self) -> usize {
        if self.classes.iter().any(|c| c.tube > 0) { self.suck_rounds } else { 0 }
    }

    /// Every staffing of each kind of round that some plan could use, by kind (weak only,
    /// full) and slot.
    #[must_use]
    pub fn choices(&self) -> [Vec<Vec<Choice>>; 2] {
        [false, true].map(|is_full| {
            let staffings = self.staffings(is_full);
            (0..self.slots)
                .map(|slot| {
                    let at_slot = staffings.iter().filter_map(|s| self.at_slot(s, slot)).collect();
                    if self.closed[slot] { Vec::new() } else { without_dominated(at_slot) }
                })
                .collect()
        })
    }

    /// The longest gap of any class in a plan: between its feeds, from its last feed to the end,
    /// and from the feed before the plan when the first round is not at once.
    #[must_use]
    pub fn longest_gap(&self, visits: &[Visit]) -> usize {
        let of_class = |class: usize| {
            let slots: Vec<usize> = visits.iter().filter(|v| v.is_full || class == 0).map(|v| v.slot).collect();
            let (Some(first), Some(last)) = (slots.first(), slots.last()) else { return 0 };
            let between = slots.windows(2).map(|w| w[1] - w[0]).max().unwrap_or(0);
            if self.is_cyclic {
                return between.max(first + self.slots - last);
            }
            let waited = if *first > 0 { first + self.classes[class].since_oldest } else { 0 };
            between.max(waited).max(self.slots - last)
        };
        (0..self.classes.len()).map(of_class).max().unwrap_or(0)
    }

    fn staffings(&self, is_full: bool) -> Vec<Choice> {
        let has_tube = self.classes.iter().any(|c| c.tube > 0);
        let ways: &[bool] = if has_tube { &[false, true] } else { &[true] };
        let mut staffings = Vec::new();
        for &is_bottle in ways {
            let sets = (1..1u16 << self.helpers.len()).filter_map(|set| u8::try_from(set).ok());
            for carers in sets.filter(|set| set.count_ones() <= MOST_IN_A_ROUND) {
                let Some(shares) = share_out(self.feeds(is_full, is_bottle), &self.helping(carers)) else { continue };
                let longest = shares.iter().map(|s| s.seconds).max().unwrap_or(0);
                let overhead = self.set_up_s + self.clean_up_s;
                let hands_on_s = overhead + shares.iter().map(|s| s.seconds).sum::<i64>();
                let asked: i64 = members(carers).map(|k| self.helpers[k].round_price).sum();
                let duration_s = overhead + longest;
                staffings.push(Choice {
                    carers,
                    is_bottle,
                    duration_s,
                    slots: usize::try_from((duration_s + self.slot_s - 1) / self.slot_s).expect("minutes").max(1),
                    hands_on_s,
                    woken: 0,
                    price: hands_on_s + asked,
                });
            }
        }
        staffings
    }

    /// The carers of a set as [`share_out`] needs them.
    #[must_use]
    pub fn helping(&self, carers: u8) -> Vec<Helping> {
        members(carers).map(|k| self.helpers[k].helping()).collect()
    }

    /// The staffing at a slot, when all of it can be there for the whole round.
    fn at_slot(&self, staffing: &Choice, slot: usize) -> Option<Choice> {
        let mut woken = 0;
        for k in members(staffing.carers) {
            let helper = &self.helpers[k];
            let touched = (slot..slot + staffing.slots).map(|s| if self.is_cyclic { s % self.slots } else { s });
            for s in touched {
                if !helper.there.get(s).copied().unwrap_or(true) {
                    return None;
                }
                woken |= u8::from(helper.asleep.get(s).copied().unwrap_or(false)) << k;
            }
        }
        Some(Choice { woken, ..*staffing })
    }
}

/// The carers of a set.
pub fn members(carers: u8) -> impl Iterator<Item = usize> {
    (0..8).filter(move |k| carers >> k & 1 == 1)
}

/// A staffing that costs no less, lasts no shorter and wakes the same people and more is left
/// out; the optimum stays.
fn without_dominated(choices: Vec<Choice>) -> Vec<Choice> {
    let is_better = |a: &Choice, b: &Choice| {
        a.is_bottle == b.is_bottle && a.price <= b.price && a.slots <= b.slots && a.woken & !b.woken == 0
    };
    let mut kept: Vec<Choice> = Vec::new();
    for choice in choices {
        if kept.iter().any(|k| is_better(k, &choice)) {
            continue;
        }
        kept.retain(|k| !is_better(&choice, k));
        kept.push(choice);
    }
    kept
}
