//! From a litter and its carers to a [`Problem`], and from a plan back to rounds.
//!
//! The grid begins at the next quarter of an hour, or at the next five minutes or the next
//! minute when a feed is due before that. Hours of carers are local clock time, read at the instant of each slot, so
//! a change of the clocks moves them and never a gap.

use jiff::Timestamp;

use super::problem::{Class, Helper, MOST_CARERS, Problem};
use crate::assess::{Assessment, Block, PupAssessment};
use crate::limits;
use crate::need::{Need, NoneNeeded, Why, ordered_gap_h};
use crate::record::{Carer, Facts, Feed, Method, hours_after, hours_between};
use crate::references::{self as source, Sourced};
use crate::units::Millilitres;

pub const SLOT_S: i64 = 900;
const SLOTS_PER_HOUR: f64 = 4.0;
pub const SLOTS_PER_DAY: usize = 96;
/// Two days are planned, so that the night after the next one is not forgotten.
pub const DAYS: usize = 2;

/// Minutes for one pup by bottle; within the usual five to ten.
pub const BOTTLE_MINUTES: Sourced<f64> = Sourced::new(7.0, &source::BOTTLE_MINUTES);
/// Minutes for one pup by tube.
pub const TUBE_MINUTES: Sourced<f64> = Sourced::new(0.5, &source::TUBE_MINUTES);
/// Before and after a round.
pub const ROUND_MINUTES: Sourced<(f64, f64)> = Sourced::new((5.0, 5.0), &source::ROUND_MINUTES);
/// Minutes of work that one wake-up is worth; each further one of the same carer half more.
pub const WAKE_UP_MINUTES: Sourced<f64> = Sourced::new(60.0, &source::WAKE_UP);
/// Minutes of work that an hour above the usual gap is worth, for each pup.
pub const HOUR_ABOVE_USUAL: Sourced<f64> = Sourced::new(15.0, &source::WAKE_UP);
/// Bottle rounds a day for pups that are else fed by tube.
pub const SUCK_ROUNDS: Sourced<u32> = Sourced::new(1, &source::KEEP_SUCK);
/// What a visit of someone from outside costs more than any plan without one.
pub const VISITOR_PRICE: i64 = 10_000_000;
/// Someone from outside the household, in a plan that needs one.
pub const VISITOR: &str = "someone more";

/// What a plan is asked for beside the standing limits; nothing by default.
#[derive(Debug, Clone, Default)]
pub struct Wishes {
    /// A longest gap below the limits.
    pub longest_h: Option<f64>,
    /// How many pups are fed by tube to save time, in place of those who are marked so.
    pub tube_fed: Option<usize>,
    /// No round may begin strictly between these.
    pub sleep_through: Option<(Timestamp, Timestamp)>,
    /// Someone from outside may come at any time, at a price above all others.
    pub visitor: bool,
    /// May the visitor tube-feed?
    pub visitor_may_tube: bool,
    /// As if a vet had taught every carer to feed by tube.
    pub all_taught: bool,
    /// As if the milk were so many times as strong.
    pub milk_factor: Option<f64>,
    /// Most rounds a day, in place of the household's own number.
    pub most_rounds: Option<u32>,
}

/// A pup that is fed by hand, as the plan sees it.
#[derive(Debug, Clone)]
pub struct Fed {
    /// In the assessment.
    pub index: usize,
    pub way: Way,
    /// It was seen to nurse as often as a tube-fed pup needs for its suck.
    pub sucks_at_the_dam: bool,
    /// Most slots between feeds: by age, weight and state, and by the stomach.
    pub longest: usize,
    /// The same without the stomach.
    pub longest_by_age: usize,
    pub usual: usize,
    /// The last hand feed.
    pub last: Option<Timestamp>,
    /// Slots by which that feed was too short: it counts as given so much earlier.
    pub short: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    Bottle,
    /// To save time, with the bottle in some rounds of each day.
    Tube,
    /// To save time; it keeps its suck at the dam.
    TubeAndDam,
    /// Because no bottle may be given.
    TubeOnly,
}

/// Slots of the shortest gap.
#[must_use]
pub fn shortest() -> usize {
    slots_up(limits::SHORTEST_GAP_H.value)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "hours of a plan, not negative")]
pub fn slots_down(hours: f64) -> usize {
    (hours.max(0.0) * SLOTS_PER_HOUR + 1e-9).floor() as usize
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "hours of a plan, not negative")]
pub fn slots_up(hours: f64) -> usize {
    (hours.max(0.0) * SLOTS_PER_HOUR - 1e-9).ceil() as usize
}

/// Hours of some slots.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "slots of a few days")]
pub fn hours(slots: usize) -> f64 {
    slots as f64 / SLOTS_PER_HOUR
}

/// Every pup with a need, but those whose interval a vet ordered: it is kept as it was ordered.
#[must_use]
pub fn fed_pups(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Vec<Fed> {
    let has_taught = has_taught(facts, wishes);
    let mut pups: Vec<Fed> = assessment
        .pups
        .iter()
        .zip(needs)
        .enumerate()
        .filter_map(|(index, (pup, need))| {
            let need = need.as_ref().ok().filter(|n| ordered_gap_h(n.order.as_ref()).is_none())?;
            Some(fed(facts, index, pup, need, now, wishes))
        })
        .collect();
    if let Some(count) = wishes.tube_fed {
        let can_choose = |fed: &Fed| fed.way != Way::TubeOnly && has_taught && may_tube(&assessment.pups[fed.index]);
        // Those with the shortest gaps first: they are fed most often.
        let mut can: Vec<&Fed> = pups.iter().filter(|f| can_choose(f)).collect();
        can.sort_by_key(|f| (f.longest, f.index));
        let chosen: Vec<usize> = can.iter().map(|f| f.index).take(count).collect();
        for fed in pups.iter_mut().filter(|f| f.way != Way::TubeOnly) {
            fed.way = if chosen.contains(&fed.index) { tube(fed.sucks_at_the_dam) } else { Way::Bottle };
        }
    }
    pups
}

fn has_taught(facts: &Facts, wishes: &Wishes) -> bool {
    let is_taught = |c: &Carer| c.tube_taught_by_vet || wishes.all_taught;
    wishes.visitor_may_tube || planned_carers(facts).iter().any(is_taught)
}

/// How a pup is fed, before anyone asks whether it sucks at the dam.
#[must_use]
pub fn way(facts: &Facts, pup: &PupAssessment, wishes: &Wishes) -> Way {
    if !has_taught(facts, wishes) || !may_tube(pup) {
        return Way::Bottle;
    }
    if pup.blocked.iter().any(|b| b.block == Block::Bottle) {
        return Way::TubeOnly;
    }
    if pup.pup.wants_tube { Way::Tube } else { Way::Bottle }
}

/// No sign forbids a tube.
#[must_use]
pub fn may_tube(pup: &PupAssessment) -> bool {
    !pup.pup.premature && !pup.blocked.iter().any(|b| matches!(b.block, Block::Tube | Block::AllMilk))
}

fn fed(facts: &Facts, index: usize, pup: &PupAssessment, need: &Need, now: Timestamp, wishes: &Wishes) -> Fed {
    let sucks_at_the_dam = need.why == Why::TopUp && nursings(facts, pup, now) >= suck_rounds(facts);
    let way = match way(facts, pup, wishes) {
        Way::Tube => tube(sucks_at_the_dam),
        way => way,
    };
    let age = pup.age.get();
    let limit_h = limits::longest_gap_h(age, need.weight, pup.is_weak()).value;
    let by_age = limit_h.min(wishes.longest_h.unwrap_or(limit_h));
    let longest_by_age = slots_down(by_age).max(shortest());
    let usual = slots_down(24.0 / f64::from(need.feeds_per_day)).max(shortest());
    let last = facts.hand_feeds(&pup.pup.id).next_back();
    Fed {
        index,
        way,
        sucks_at_the_dam,
        longest: longest_by_age.min(slots_by_stomach(need, age, wishes.milk_factor.unwrap_or(1.0))),
        longest_by_age,
        usual,
        last: last.map(|f| f.at),
        short: last.map_or(0, |f| slots_short(f, usual)),
    }
}

fn tube(sucks_at_the_dam: bool) -> Way {
    if sucks_at_the_dam { Way::TubeAndDam } else { Way::Tube }
}

/// Supervised nursings of the last day. Only what was seen counts for the suck.
fn nursings(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> u32 {
    let is_nursing = |f: &&Feed| f.pup == pup.pup.id && f.method == Method::Nursing;
    let seen = facts.feeds.iter().filter(is_nursing).filter(|f| hours_between(f.at, now).get() <= 24.0);
    // A weighed nursing without gain was none.
    seen.filter(|f| f.nursed.is_none_or(|g| g.get() > 0.0)).map(|_| 1).sum()
}

/// Bottle rounds or nursings a day that keep the suck of tube-fed pups.
fn suck_rounds(facts: &Facts) -> u32 {
    facts.litter.rounds.bottle_rounds_for_tube_pups.unwrap_or(SUCK_ROUNDS.value)
}

/// A feed of which a part was left covers that part of the usual gap less.
fn slots_short(feed: &Feed, usual: usize) -> usize {
    let (Some(offered), Some(taken)) = (feed.offered, feed.taken) else { return 0 };
    if offered <= Millilitres::of(0.0) || taken >= offered {
        return 0;
    }
    slots_down(hours(usual) * (1.0 - taken / offered))
}

/// The longest gap after which the share of that gap still goes into the stomach.
fn slots_by_stomach(need: &Need, age_h: f64, milk_factor: f64) -> usize {
    let is_ordered = need.order.as_ref().is_some_and(|o| o.per_feed.is_some());
    if is_ordered || need.by_hand_volume <= Millilitres::of(0.0) {
        return usize::MAX;
    }
    let most = limits::largest_mark(limits::stomach_limit(age_h, need.weight));
    slots_down((24.0 * (most / need.by_hand_volume) * milk_factor).min(48.0))
}

/// The grid of a plan with the pups as they stand on it.
#[derive(Debug, Clone)]
pub struct Grid {
    pub origin: Timestamp,
    pub slots: usize,
}

impl Grid {
    /// Begins at the next quarter, or at the next five minutes or the next minute when a feed is
    /// due before it.
    #[must_use]
    pub fn new(pups: &[Fed], now: Timestamp) -> Self {
        let up_to = |seconds: i64| {
            let up = (now.as_second() + seconds - 1).div_euclid(seconds) * seconds;
            Timestamp::from_second(up.max(now.as_second())).unwrap_or(now)
        };
        let due = |fed: &Fed| fed.last.map_or(now, |l| hours_after(l, hours(fed.longest.max(shortest()))));
        let first = pups.iter().map(due).min();
        // The roundest time that is not too late; what is overdue is fed at once.
        let begins = [SLOT_S, 300, 60].map(up_to);
        let origin = begins.into_iter().find(|at| first.is_none_or(|due| *at <= due)).unwrap_or(now);
        Self { origin, slots: DAYS * SLOTS_PER_DAY }
    }

    /// The instant of a slot.
    #[must_use]
    pub fn at(&self, slot: usize) -> Timestamp {
        hours_after(self.origin, hours(slot))
    }

    /// The last slot at which a pup may be fed next. After a feed on the grid itself the slots
    /// before it are given away, which errs towards sooner.
    #[must_use]
    pub fn deadline(&self, fed: &Fed) -> usize {
        let Some(last) = fed.last else { return 0 };
        let waited = slots_up(hours_between(last, self.origin).get()).max(1);
        let longest = fed.longest.max(shortest());
        let in_time = longest.saturating_sub(waited);
        // A short feed brings the next one forward, never into the shortest gap.
        longest.saturating_sub(waited + fed.short).max(self.earliest(fed)).min(in_time)
    }

    /// The first slot at which a pup may be fed again.
    #[must_use]
    pub fn earliest(&self, fed: &Fed) -> usize {
        let Some(last) = fed.last else { return 0 };
        slots_up(limits::SHORTEST_GAP_H.value - hours_between(last, self.origin).get())
    }

    /// Whether some slot is in time for each of these pups and too soon for none.
    #[must_use]
    pub fn fits<'f>(&self, pups: impl IntoIterator<Item = &'f Fed>) -> bool {
        let windows = pups.into_iter().map(|f| (self.earliest(f), self.deadline(f)));
        let (from, to) = windows.fold((0, usize::MAX), |(from, to), (e, d)| (from.max(e), to.min(d)));
        from <= to
    }

    fn waited(&self, fed: &Fed) -> usize {
        fed.last.map_or(SLOTS_PER_DAY, |last| slots_up(hours_between(last, self.origin).get()).max(1) + fed.short)
    }
}

/// A class of pups that are fed together.
#[must_use]
pub fn class(grid: &Grid, pups: &[&Fed]) -> Class {
    let count = |way: Way| pups.iter().map(|f| u32::from(f.way == way)).sum::<u32>();
    let all: u32 = pups.iter().map(|_| 1).sum();
    let longest = pups.iter().map(|f| f.longest).min().unwrap_or(shortest()).max(shortest());
    // The pup that must be fed first sets the deadline, the one fed last the earliest time.
    let deadline = pups.iter().map(|f| grid.deadline(f)).min().unwrap_or(0);
    let earliest = pups.iter().map(|f| grid.earliest(f)).max().unwrap_or(0);
    let waited = pups.iter().map(|f| grid.waited(f)).max().unwrap_or(1);
    let minutes = HOUR_ABOVE_USUAL.value / SLOTS_PER_HOUR * f64::from(all);
    Class {
        bottle: count(Way::Bottle),
        tube: count(Way::Tube),
        tube_only: count(Way::TubeOnly) + count(Way::TubeAndDam),
        shortest: shortest(),
        longest,
        usual: pups.iter().map(|f| f.usual).min().unwrap_or(shortest()),
        excess_price: seconds(minutes),
        since_oldest: if deadline == 0 { waited.max(longest) } else { longest - deadline },
        earliest,
    }
}

/// The litter as one problem; `weak` is how many of the pups (shortest gaps first) are fed
/// more often than the rest.
#[must_use]
pub fn problem(
    facts: &Facts,
    grid: &Grid,
    helpers: Vec<Helper>,
    pups: &[&Fed],
    weak: Option<usize>,
    wishes: &Wishes,
) -> Problem {
    let classes = match weak {
        Some(count) => vec![class(grid, &pups[..count]), class(grid, &pups[count..])],
        None => vec![class(grid, pups)],
    };
    let closed = (0..grid.slots)
        .map(|slot| wishes.sleep_through.is_some_and(|(from, to)| from < grid.at(slot) && grid.at(slot) < to))
        .collect();
    Problem {
        slots: grid.slots,
        is_cyclic: false,
        slots_per_day: SLOTS_PER_DAY,
        slot_s: SLOT_S,
        classes,
        helpers,
        set_up_s: set_up_and_clean_up(facts).0,
        clean_up_s: set_up_and_clean_up(facts).1,
        fairness: fairness(facts),
        suck_rounds: suck_rounds(facts) as usize,
        most_rounds: wishes.most_rounds.or(facts.litter.most_rounds_per_day).map(|most| most as usize),
        closed,
    }
}

/// Everyone who can be on a round.
#[must_use]
pub fn helpers(facts: &Facts, grid: &Grid, now: Timestamp, wishes: &Wishes) -> Vec<Helper> {
    let carers = planned_carers(facts).iter();
    let mut helpers: Vec<Helper> = carers.map(|c| helper(facts, c, grid, now, wishes)).collect();
    if wishes.visitor {
        helpers.truncate(MOST_CARERS - 1);
        helpers.push(visitor(grid, wishes.visitor_may_tube));
    }
    helpers
}

/// The names of [`helpers`].
#[must_use]
pub fn names(facts: &Facts, wishes: &Wishes) -> Vec<String> {
    let mut names: Vec<String> = planned_carers(facts).iter().map(|c| c.name.clone()).collect();
    if wishes.visitor {
        names.truncate(MOST_CARERS - 1);
        names.push(VISITOR.into());
    }
    names
}

/// The price of a first wake-up.
#[must_use]
pub fn wake_up_s(facts: &Facts) -> i64 {
    seconds(facts.litter.rounds.wake_up_minutes.unwrap_or(WAKE_UP_MINUTES.value))
}

/// What each further wake-up of the same carer costs more.
#[must_use]
pub fn fairness(facts: &Facts) -> i64 {
    wake_up_s(facts) / 2
}

fn set_up_and_clean_up(facts: &Facts) -> (i64, i64) {
    let habits = facts.litter.rounds;
    let (before, after) = ROUND_MINUTES.value;
    (seconds(habits.set_up_minutes.unwrap_or(before)), seconds(habits.clean_up_minutes.unwrap_or(after)))
}

/// Seconds of a round before and after the feeding.
#[must_use]
pub fn fixed_seconds(facts: &Facts) -> i64 {
    let (before, after) = set_up_and_clean_up(facts);
    before + after
}

/// The carers whom a plan can use.
#[must_use]
pub fn planned_carers(facts: &Facts) -> &[Carer] {
    &facts.carers[..facts.carers.len().min(MOST_CARERS)]
}

fn helper(facts: &Facts, carer: &Carer, grid: &Grid, now: Timestamp, wishes: &Wishes) -> Helper {
    let zone = &facts.litter.zone;
    let on_grid = |hours: &crate::record::WeeklyHours| -> Vec<bool> {
        (0..grid.slots).map(|slot| hours.contains(grid.at(slot), zone)).collect()
    };
    Helper {
        there: carer.available.as_ref().map_or_else(|| vec![true; grid.slots], on_grid),
        asleep: carer.sleeps.as_ref().map_or_else(|| vec![false; grid.slots], on_grid),
        wake_price: wake_up_s(facts),
        woken_before: wake_ups_before(facts, carer, now),
        may_tube: carer.tube_taught_by_vet || wishes.all_taught,
        at_once: carer.pups_at_once,
        bottle_s: seconds(carer.bottle_minutes.unwrap_or(BOTTLE_MINUTES.value)),
        tube_s: seconds(carer.tube_minutes.unwrap_or(TUBE_MINUTES.value)),
        round_price: 0,
    }
}

fn visitor(grid: &Grid, may_tube: bool) -> Helper {
    Helper {
        there: vec![true; grid.slots],
        asleep: vec![false; grid.slots],
        wake_price: 0,
        woken_before: 0,
        may_tube,
        at_once: 1,
        bottle_s: seconds(BOTTLE_MINUTES.value),
        tube_s: seconds(TUBE_MINUTES.value),
        round_price: VISITOR_PRICE,
    }
}

/// Rounds of the last three days that a carer did in protected sleep.
fn wake_ups_before(facts: &Facts, carer: &Carer, now: Timestamp) -> u32 {
    let Some(sleeps) = &carer.sleeps else { return 0 };
    let mut last: Option<Timestamp> = None;
    let mut count = 0;
    let mine = facts.feeds.iter().filter(|f| f.carer.as_ref() == Some(&carer.name));
    let mut times: Vec<Timestamp> =
        mine.map(|f| f.at).filter(|at| (0.0..=72.0).contains(&hours_between(*at, now).get())).collect();
    times.sort();
    for at in times.into_iter().filter(|at| sleeps.contains(*at, &facts.litter.zone)) {
        if last.is_none_or(|l| hours_between(l, at).get() > 1.0) {
            count += 1;
        }
        last = Some(at);
    }
    count
}

#[expect(clippy::cast_possible_truncation, reason = "minutes of a round")]
fn seconds(minutes: f64) -> i64 {
    (minutes * 60.0).round() as i64
}
