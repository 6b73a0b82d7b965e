//! Step 5, *schedule*: the rounds of the coming days, in elapsed time.
//!
//! A household that says nothing of its carers' hours gets equal intervals ([`plain`]). Where
//! hours are written down, the rounds are an exact optimum over their times, methods and
//! carers. All is in whole numbers: time in slots t = 0 … N−1 of 15 minutes of elapsed time
//! (instants, so a change of the clocks moves labels and never a gap), prices in seconds of
//! work.
//!
//! *Given*: classes c of pups (one, or the weak w before the strong s), each with shortest gap
//! `S_c`, longest gap `L_c`, usual gap `U_c` and `n_c` pups; carers k with the slots in which
//! they are there and in which they sleep; set-up σ and clean-up χ.
//!
//! *Decided*: rounds r = (slot t, full or weak only, all by bottle or tube where planned, a set K
//! of one to four carers). A full round feeds every class, else only the weak are fed.
//!
//! *Length and work of a round.* Carer k with x bottles and y tubes works
//! `l_k = ⌈x / at once_k⌉·β_k + y·τ_k`; the pups are shared out so that `max l_k` is least,
//! then `Σ l_k`. The round lasts `d = σ + max l_k + χ`, touches `⌈d / slot⌉` slots and costs
//! `h = σ + χ + Σ l_k`.
//!
//! *Minimise*
//! ```text
//! J =   Σ_r h(r)                                            hands-on time
//!     + Σ_k Σ_{j < n_k} (ω_k + φ·(b_k + j))                 broken sleep, and its fairness
//!     + Σ_c Σ_{gaps g of c} ρ·n_c·max(0, g − U_c)           waiting above the usual gap
//! ```
//! with `n_k` the rounds of k that touch protected sleep and `b_k` those of the last nights.
//!
//! *Subject to*
//! ```text
//! S_c ≤ g ≤ L_c                for every gap between two feeds of class c
//! first_c ≤ L_c − waited_c     (at once when that is past), first_c ≥ earliest_c
//! N − last_c ≤ L_c             (on a 24 h cycle the gap over midnight is a gap like any other)
//! t_{r+1} ≥ t_r + ⌈d_r / slot⌉  rounds do not overlap
//! k ∈ K(r) ⇒ k is there in every slot that r touches; t_r is not closed
//! y_k > 0 ⇒ a vet taught k
//! bottle rounds that reach every tube-fed pup that does not nurse ≥ m in each whole day
//! rounds that begin in each day ≤ M, where the household has set a most_rounds_per_day
//! ```
//! A day here is 24 h from the start of the plan. The stomach is in `L_c`: a feed is the day's
//! milk × gap / 24 h, so `L_c = min over pups (limit by age, weight and state; ordered
//! interval; 24 h × stomach limit / day's milk)`. Plans with a longer gap do not exist here.
//! Whatever is planned still goes through [`crate::guide::checked`].
//!
//! *What really happened* is where a plan starts: done rounds are facts, and `waited_c` and
//! `earliest_c` come from the last feeds, late or early. A feed of which a share q was taken
//! counts as given `(1 − q)·U` earlier, never into the shortest gap ([`household`]); pups that a
//! broken-off round left out of step come back into step by [`catch_up`]. Intervals that a vet
//! ordered are staffed first, and the plan is made around them ([`ordered`]).
//!
//! *Top-ups keep the gaps of hand-fed pups.* No source gives an interval between top-ups, and the
//! limits do not tell the two apart. A pup gets a top-up only while it is not doing well, so
//! that nobody knows that it gets enough at the dam; the length of a gap is then no place to
//! save. A nursing that was seen counts for the suck of a tube-fed pup, not for its gap.
//!
//! Pups that may wait equally long are interchangeable, so classes lose nothing; with more
//! than two different limits each split in two is tried. What this ignores: rounds of the
//! strong alone, rounds that overlap, and that limits grow while the plan runs.

pub mod audit;
pub mod catch_up;
pub mod concede;
pub mod explain;
pub mod household;
pub mod optimum;
pub mod options;
pub mod ordered;
pub mod pareto;
pub mod plain;
pub mod plan;
pub mod problem;
mod steps;
pub mod usual_day;
mod work;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::{Facts, hours_after};
use crate::units::Millilitres;

pub use explain::Trouble;
pub use household::{VISITOR, Wishes};
pub use plain::every;
pub use plan::Figures;

/// One feeding round.
#[derive(Debug, Clone)]
pub struct Round {
    pub at: Timestamp,
    pub until: Timestamp,
    pub feeds: Vec<PlannedFeed>,
    /// Who does it; empty when nobody's hours are known.
    pub staff: Vec<Shift>,
}

/// One pup's part in a round, before any limit.
#[derive(Debug, Clone, Copy)]
pub struct PlannedFeed {
    /// Index in the assessment.
    pub pup: usize,
    pub amount: Millilitres,
    /// Hours to the next feed, which the amount is the share of.
    pub covers_h: f64,
    pub by_tube: bool,
}

/// A carer's part in a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shift {
    pub carer: String,
    pub bottles: u32,
    pub tubes: u32,
    pub is_woken: bool,
}

/// The planned rounds.
#[derive(Debug, Clone)]
pub struct Timetable {
    pub rounds: Vec<Round>,
    /// Since when a feed has been due, per pup.
    pub overdue_since: Vec<Option<Timestamp>>,
    pub clock_change: Option<ClockChange>,
    /// What the plan costs; none for equal intervals.
    pub figures: Option<Figures>,
    /// Why the household's carers cannot keep any plan.
    pub trouble: Option<Trouble>,
}

/// The clocks change within the plan.
#[derive(Debug, Clone)]
pub struct ClockChange {
    pub at: Timestamp,
}

/// Plans the rounds from `now` on for some hours. Wishes only ever narrow the plan.
#[must_use]
pub fn schedule(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    span_h: f64,
    wishes: &Wishes,
) -> Timetable {
    let mut timetable = plain::schedule(facts, assessment, needs, now, span_h);
    if !has_hours(facts) || timetable.rounds.is_empty() {
        return timetable;
    }
    let start = plan::start(facts, assessment, needs, now, wishes);
    let mut plan = plan::best(facts, assessment, needs, now, wishes);
    if plan.is_none() && !start.pups.is_empty() {
        timetable.trouble = Some(explain::why_none(facts, assessment, needs, now, wishes));
        plan = explain::with_a_visitor(facts, assessment, needs, now, wishes);
        if plan.is_none() {
            // Equal intervals stay: a pup is not left without a time.
            return timetable;
        }
    }
    explain::add_nobody_for_ordered(facts, assessment, &start.ordered, &mut timetable.trouble);
    let end = hours_after(now, span_h);
    timetable.figures = Some(plan.as_ref().map_or_else(|| ordered::figures(&start.ordered), plan::LitterPlan::figures));
    timetable.rounds = match plan {
        Some(plan) => plan.rounds(assessment, needs),
        None => merged(Vec::new(), start.ordered.into_iter().flat_map(|o| o.rounds).collect()),
    };
    timetable.rounds.retain(|r| r.at < end);
    timetable
}

/// Rounds at the intervals that a vet ordered, over the whole plan.
fn ordered_rounds(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
) -> Vec<Round> {
    let is_ordered =
        |index: usize| needs[index].as_ref().is_ok_and(|n| crate::need::ordered_gap_h(n.order.as_ref()).is_some());
    if !(0..needs.len()).any(is_ordered) {
        return Vec::new();
    }
    #[expect(clippy::cast_precision_loss, reason = "two days")]
    let span_h = household::DAYS as f64 * 24.0;
    let mut rounds = plain::schedule(facts, assessment, needs, now, span_h).rounds;
    for round in &mut rounds {
        round.feeds.retain(|f| is_ordered(f.pup));
    }
    rounds.retain(|r| !r.feeds.is_empty());
    rounds
}

/// One list by time; rounds of the same instant are one.
fn merged(mut rounds: Vec<Round>, more: Vec<Round>) -> Vec<Round> {
    for round in more {
        match rounds.iter_mut().find(|r| r.at == round.at) {
            Some(same) => {
                same.feeds.extend(round.feeds);
                same.until = same.until.max(round.until);
                same.staff.extend(round.staff);
            }
            None => rounds.push(round),
        }
    }
    rounds.retain(|r| !r.feeds.is_empty());
    rounds.sort_by_key(|r| r.at);
    rounds
}

/// Someone's hours are written down.
#[must_use]
pub fn has_hours(facts: &Facts) -> bool {
    facts.carers.iter().any(crate::record::Carer::has_hours)
}

/// The first change of the clocks between two instants.
fn clock_change(zone: &TimeZone, from: Timestamp, to: Timestamp) -> Option<ClockChange> {
    let change = zone.following(from).next()?.timestamp();
    (change < to).then_some(ClockChange { at: change })
}
