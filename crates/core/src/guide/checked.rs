//! The only door to an amount: a proposed feed either becomes a [`CheckedInstruction`], with
//! every limit applied, or is refused with its reason.

use jiff::Timestamp;

use crate::assess::{Block, PupAssessment, Warmth};
use crate::finding::Term;
use crate::limits::{self, StomachLimit};
use crate::milk::Strength;
use crate::need::Need;
use crate::record::{CheckKind, Facts, PupId, Word, hours_after, hours_between};
use crate::references::{self as source, Source};
use crate::units::{Celsius, Grams, Kcal, KcalPerMl, Millilitres};

/// How an amount is given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Method {
    Bottle,
    /// By a carer whom a veterinarian taught.
    Tube {
        carers: Vec<String>,
    },
}

/// What must be true before the amount may be given.
#[derive(Debug, Clone, PartialEq)]
pub enum Condition {
    /// A rectal temperature in this range, taken before this feed.
    Warm {
        at_least: Celsius,
        at_most: Celsius,
    },
    /// A clean finger is gripped with clear force.
    Sucks,
    Active,
    /// The weight is old: weigh first; if you cannot, not more than this.
    WeighFirst,
    /// The palate has been looked at.
    PalateSeen,
    /// Slower than the last time, because milk came from the nose.
    Slower,
}

impl Condition {
    /// The condition in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Warm { at_least, at_most } => format!("warm (rectal {at_least} to {at_most})"),
            Self::Sucks => "sucking".into(),
            Self::Active => "active".into(),
            Self::WeighFirst => "weigh first; if you cannot, not more than this".into(),
            Self::PalateSeen => "palate whole".into(),
            Self::Slower => "slower than last time".into(),
        }
    }
}

/// Why no amount is given.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    TooCold {
        temperature: Celsius,
        below: Celsius,
        recheck_at: Timestamp,
    },
    Sign {
        why: String,
        source: &'static Source,
    },
    /// This feed is over; the next one may be tried.
    ThisFeedStopped {
        why: String,
    },
    NoSafeWay {
        why: String,
    },
    WeighFirst,
    NothingLeft {
        why: String,
    },
    NotPlanned,
    /// A vet's order ends before this feed.
    OrderEnded {
        vet: String,
    },
}

impl Refusal {
    /// The reason in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::TooCold { temperature, below, .. } => {
                format!("NO MILK: too cold ({temperature}); ask again here as soon as it reads {below} or more")
            }
            Self::Sign { why, .. } => format!("NO MILK: {why}"),
            Self::ThisFeedStopped { why } => format!("nothing more until the next feed: {why}"),
            Self::NoSafeWay { why } => format!("NO BOTTLE: {why}"),
            Self::WeighFirst => "weigh first: its weight is too old for an amount".into(),
            Self::NothingLeft { why } => format!("nothing now: {why}"),
            Self::NotPlanned => "no round in the next 24 h".into(),
            Self::OrderEnded { vet } => format!("the order of {vet} has ended by then: look again at that time"),
        }
    }
}

/// Milk that a pup received, or will by this plan.
#[derive(Debug, Clone)]
pub struct Given {
    pub at: Timestamp,
    pub volume: Millilitres,
    /// Energy given by hand; nothing for a nursing.
    pub by_hand: Kcal,
    pub is_planned: bool,
    /// Nobody wrote down how much it was; a full stomach is assumed.
    pub is_assumed: bool,
}

/// What a pup received so far. An unrecorded amount counts as all that was offered, and as a full
/// stomach where that was not written either: unknown is not zero. Milk of unknown strength counts as strong as the stronger of the milk in use and bitch's milk.
#[must_use]
pub fn given(facts: &Facts, pup: &PupAssessment, in_use: &Strength) -> Vec<Given> {
    let unknown = in_use.kcal_per_ml.max(KcalPerMl::of(crate::milk::BITCH.value.kcal_per_ml()));
    facts
        .feeds
        .iter()
        .filter(|f| f.pup == pup.pup.id)
        .filter_map(|feed| {
            if !feed.is_by_hand() {
                let nursed = feed.nursed.map(|g| Millilitres::of(g.get().max(0.0)))?;
                return Some(Given {
                    at: feed.at,
                    volume: nursed,
                    by_hand: Kcal::of(0.0),
                    is_planned: false,
                    is_assumed: false,
                });
            }
            let volume = feed.at_most().or_else(|| full_stomach(pup, feed.at))?;
            let strength = feed
                .milk
                .as_ref()
                .and_then(|id| facts.milks.iter().find(|m| &m.id == id))
                .and_then(crate::milk::strength)
                .map_or(unknown, |s| s.kcal_per_ml);
            Some(Given {
                at: feed.at,
                volume,
                by_hand: strength * volume,
                is_planned: false,
                is_assumed: feed.at_most().is_none(),
            })
        })
        .collect()
}

fn full_stomach(pup: &PupAssessment, at: Timestamp) -> Option<Millilitres> {
    let age = hours_between(pup.pup.born_at, at).get();
    pup.latest().map(|l| limits::stomach_limit(age, l.weight).volume)
}

/// A feed that the plan proposes.
#[derive(Debug)]
pub struct Proposal<'a> {
    pub pup: &'a PupAssessment,
    pub need: &'a Need,
    pub at: Timestamp,
    pub planned: Millilitres,
    /// Hours to the next feed, which the amount is the share of.
    pub covers_h: f64,
    pub strength: &'a Strength,
    /// The plan feeds this pup by tube to save time.
    pub by_tube: bool,
    /// Who is on the round; empty when the plan names nobody.
    pub staff: &'a [String],
}

/// An amount that keeps every limit. Only [`check`] makes one.
#[derive(Debug, Clone)]
pub struct CheckedInstruction {
    pup: PupId,
    at: Timestamp,
    amount: Millilitres,
    most: Millilitres,
    method: Method,
    conditions: Vec<Condition>,
    weight: Grams,
    weighed_at: Timestamp,
    ordered_by: Option<String>,
    working: Vec<Term>,
}

impl CheckedInstruction {
    #[must_use]
    pub fn pup(&self) -> &PupId {
        &self.pup
    }
    #[must_use]
    pub fn at(&self) -> Timestamp {
        self.at
    }
    /// Rounded down to a syringe mark.
    #[must_use]
    pub fn amount(&self) -> Millilitres {
        self.amount
    }
    /// The stomach limit, rounded down to a syringe mark.
    #[must_use]
    pub fn most(&self) -> Millilitres {
        self.most
    }
    #[must_use]
    pub fn method(&self) -> &Method {
        &self.method
    }
    /// What must be true first; empty when the gate is clear.
    #[must_use]
    pub fn conditions(&self) -> &[Condition] {
        &self.conditions
    }
    #[must_use]
    pub fn weight(&self) -> Grams {
        self.weight
    }
    #[must_use]
    pub fn weighed_at(&self) -> Timestamp {
        self.weighed_at
    }
    #[must_use]
    pub fn ordered_by(&self) -> Option<&str> {
        self.ordered_by.as_deref()
    }
    #[must_use]
    pub fn working(&self) -> &[Term] {
        &self.working
    }
}

/// Applies every limit to a proposed feed.
///
/// # Errors
/// The reason why nothing may be given at that time.
pub fn check(
    facts: &Facts,
    proposal: &Proposal<'_>,
    given: &[Given],
    now: Timestamp,
) -> Result<CheckedInstruction, Refusal> {
    let pup = proposal.pup;
    let age = hours_between(pup.pup.born_at, proposal.at).get();
    if let Some(order) = proposal.need.order.as_ref().filter(|o| o.until.is_some_and(|u| u <= proposal.at)) {
        return Err(Refusal::OrderEnded { vet: order.vet.clone() });
    }
    if let Some(refusal) = no_milk(pup, proposal.at) {
        return Err(refusal);
    }
    let mut conditions = warmth_conditions(proposal, age);
    let method = way_to_feed(facts, proposal, age, now, &mut conditions)?;
    let latest = pup.latest().ok_or(Refusal::WeighFirst)?;
    let weight = latest.weight;
    let mut caps = Caps::new(proposal);

    let stomach = limits::stomach_limit(age, weight);
    let in_stomach: Millilitres =
        given.iter().filter(|g| is_within(g.at, proposal.at, limits::SHORTEST_GAP_H.value)).map(|g| g.volume).sum();
    let room = StomachLimit { volume: (stomach.volume - in_stomach).max(Millilitres::of(0.0)), ..stomach };
    caps.add("room in the stomach", limits::largest_mark(room), stomach.rule.source);

    let is_by_order = proposal.need.order.as_ref().is_some_and(|o| o.energy.is_some());
    let ceiling = match proposal.need.order.as_ref().and_then(|o| o.energy) {
        Some(ordered) => ordered * weight,
        None => limits::ENERGY_CEILING.value * weight,
    };
    let day: Kcal = given.iter().filter(|g| is_within(g.at, proposal.at, 24.0)).map(|g| g.by_hand).sum();
    let left = (ceiling - day).max(Kcal::of(0.0)) / proposal.strength.kcal_per_ml;
    let energy_source = if is_by_order { &source::VET_ORDER } else { limits::ENERGY_CEILING.source };
    caps.add("left of the day's most energy", left, energy_source);

    let is_amount_ordered = proposal.need.order.as_ref().is_some_and(|o| o.per_feed.is_some());
    if !is_amount_ordered {
        let in_plan = || given.iter().filter(|g| g.is_planned && is_within(g.at, proposal.at, 24.0));
        let planned: Millilitres = in_plan().map(|g| g.volume).sum();
        // Feeds at unequal times reach from the first of them to the next feed after this one,
        // which may be a little more than a day; its milk is theirs, and no more.
        let reach = in_plan().map(|g| hours_between(g.at, proposal.at).get() + proposal.covers_h).fold(24.0, f64::max);
        let rest = (proposal.need.by_hand_volume * (reach / 24.0) - planned).max(Millilitres::of(0.0));
        // A crumb at the end of the day is not worth waking a pup for.
        let share = proposal.need.by_hand_volume / f64::from(proposal.need.feeds_per_day);
        let rest = if rest < share * CRUMB { Millilitres::of(0.0) } else { rest };
        caps.add("left of the day's milk in this plan", rest, &source::UNDERFEED);
    }

    let last_amount = last_given(given, proposal.at);
    match weight_state(pup, latest.at, proposal.at, age) {
        WeightState::Fresh => {}
        WeightState::LastAmountOnly => {
            let last = last_amount.ok_or(Refusal::WeighFirst)?;
            caps.add("not more than the last feed, on an old or doubtful weight", last, limits::STALE_GRACE_H.source);
            conditions.push(Condition::WeighFirst);
        }
        WeightState::TooOld => return Err(Refusal::WeighFirst),
    }
    if let (Some(at), Some(last)) = (open_setback(facts, pup, proposal.at), last_amount) {
        let what =
            format!("not more than the last feed, after a setback at {}", crate::report::clock(at, &facts.litter.zone));
        caps.add(&what, last, &source::SETBACK);
    }

    let (allowed, bound_by) = caps.smallest();
    let amount = limits::round_down_to_mark(allowed);
    if amount.get() < 0.1 {
        return Err(Refusal::NothingLeft { why: bound_by });
    }
    let mut working = proposal.need.working.clone();
    working.extend(caps.terms());
    working.push(Term::new("given, rounded down to a syringe mark", amount.to_string(), Some(&source::SYRINGE_STEP)));
    Ok(CheckedInstruction {
        pup: pup.pup.id.clone(),
        at: proposal.at,
        amount,
        most: limits::largest_mark(stomach),
        method,
        conditions,
        weight,
        weighed_at: latest.at,
        ordered_by: proposal
            .need
            .order
            .as_ref()
            .filter(|o| o.per_feed.is_some() || o.energy.is_some() || o.hours_between_feeds.is_some())
            .map(|o| o.vet.clone()),
        working,
    })
}

fn is_within(earlier: Timestamp, at: Timestamp, hours: f64) -> bool {
    let gap = hours_between(earlier, at).get();
    (0.0..hours).contains(&gap)
}

/// Less than this share of a usual feed is no feed.
const CRUMB: f64 = 0.2;

/// The amounts that bind, each with its reason.
struct Caps {
    caps: Vec<(String, Millilitres, &'static Source)>,
}

impl Caps {
    fn new(proposal: &Proposal<'_>) -> Self {
        let (what, source) = match proposal.need.order.as_ref().filter(|o| o.per_feed.is_some()) {
            Some(order) => (format!("ordered by {}", order.vet), &source::VET_ORDER),
            None => ("an equal share of the day's milk".to_owned(), &source::UNDERFEED),
        };
        Self { caps: vec![(what, proposal.planned, source)] }
    }

    fn add(&mut self, what: &str, volume: Millilitres, source: &'static Source) {
        self.caps.push((what.into(), volume, source));
    }

    fn smallest(&self) -> (Millilitres, String) {
        let (what, volume, _) =
            self.caps.iter().min_by(|a, b| a.1.get().total_cmp(&b.1.get())).expect("the plan itself is a cap");
        (*volume, what.clone())
    }

    fn terms(&self) -> Vec<Term> {
        self.caps
            .iter()
            .map(|(what, volume, source)| Term::new(what.clone(), volume.to_string(), Some(source)))
            .collect()
    }
}

/// Cold: no milk. Unknown: only after a check, in the first two weeks and on any suspicion.
fn warmth_conditions(proposal: &Proposal<'_>, age: f64) -> Vec<Condition> {
    let mut conditions = Vec::new();
    let warm = warm_enough(age);
    match &proposal.pup.warmth {
        Warmth::Cool { .. } => conditions.extend([Condition::Active, Condition::Sucks]),
        // The limit rises on day 7: a reading clears a feed only by the limit of the feed's own age.
        Warmth::InRange { at, temperature }
            if hours_between(*at, proposal.at).get() <= limits::WARM_CLEARANCE_H.value
                && temperature.millidegrees() >= limits::cold_below(age).value.millidegrees() => {}
        Warmth::InRange { .. } | Warmth::Unknown { suspicion: None } => {
            if age < limits::CHECK_FIRST_UNTIL_H.value {
                conditions.push(warm);
            }
        }
        Warmth::Cold(_) | Warmth::Hot { .. } | Warmth::Unknown { suspicion: Some(_) } => conditions.push(warm),
    }
    conditions
}

/// Why a pup gets no milk by hand at that time, whether or not a plan feeds it.
#[must_use]
pub fn no_milk(pup: &PupAssessment, at: Timestamp) -> Option<Refusal> {
    if let Warmth::Cold(cold) = &pup.warmth {
        let age = hours_between(pup.pup.born_at, at).get();
        let below = limits::cold_below(age).value;
        return Some(Refusal::TooCold { temperature: cold.temperature, below, recheck_at: cold.recheck_at });
    }
    let of = |block: Block| pup.blocked.iter().find(|b| b.block == block);
    if let Some(b) = of(Block::AllMilk) {
        return Some(Refusal::Sign { why: b.why.clone(), source: b.source });
    }
    of(Block::ThisFeed)
        .filter(|b| is_within(b.since, at, limits::SHORTEST_GAP_H.value))
        .map(|b| Refusal::ThisFeedStopped { why: b.why.clone() })
}

fn warm_enough(age: f64) -> Condition {
    Condition::Warm { at_least: limits::cold_below(age).value, at_most: limits::hot_above(age).value }
}

/// Bottle with a good suck; a tube only by a taught carer and only where no sign forbids it.
fn way_to_feed(
    facts: &Facts,
    proposal: &Proposal<'_>,
    age: f64,
    now: Timestamp,
    conditions: &mut Vec<Condition>,
) -> Result<Method, Refusal> {
    let blocked = &proposal.pup.blocked;
    let of = |block: Block| blocked.iter().find(|b| b.block == block);
    if of(Block::ThisFeed).is_some() {
        conditions.push(Condition::Slower);
    }
    let id = &proposal.pup.pup.id;
    let is_on_the_round = |name: &String| proposal.staff.is_empty() || proposal.staff.contains(name);
    let taught = || facts.carers.iter().filter(|c| c.tube_taught_by_vet).map(|c| c.name.clone());
    let carers: Vec<String> = taught().filter(is_on_the_round).collect();
    let Some(no_bottle) = of(Block::Bottle) else {
        if proposal.by_tube && !carers.is_empty() && of(Block::Tube).is_none() && !proposal.pup.pup.premature {
            if !conditions.contains(&Condition::Active) {
                conditions.push(Condition::Active);
            }
            ask_for_warmth(proposal, age, conditions);
            return Ok(Method::Tube { carers });
        }
        let sucks = facts.latest(Some(id), CheckKind::Suck).is_some_and(|c| {
            c.is(Word::Strong) && hours_between(c.at, proposal.at).get() <= limits::WARM_CLEARANCE_H.value
        });
        let must_check = age < limits::CHECK_FIRST_UNTIL_H.value && !sucks && !conditions.contains(&Condition::Sucks);
        if must_check {
            conditions.push(Condition::Sucks);
        }
        let palate_seen = facts.latest(Some(id), CheckKind::Palate).is_some();
        let had_bottle = facts.hand_feeds(id).any(|f| f.method == crate::record::Method::Bottle);
        if !palate_seen && !had_bottle && proposal.at <= hours_after(now, 24.0) {
            conditions.push(Condition::PalateSeen);
        }
        return Ok(Method::Bottle);
    };
    if let Some(no_tube) = of(Block::Tube) {
        return Err(Refusal::NoSafeWay {
            why: format!("it {}, and no tube because it {}; ring the vet", no_bottle.why, no_tube.why),
        });
    }
    if carers.is_empty() {
        let of_the_round = if taught().next().is_some() { "no carer on this round" } else { "no carer" };
        return Err(Refusal::NoSafeWay {
            why: format!(
                "it {}, and {of_the_round} is recorded as taught by a vet to feed by tube; ring the vet",
                no_bottle.why
            ),
        });
    }
    conditions.retain(|c| *c != Condition::Sucks);
    ask_for_warmth(proposal, age, conditions);
    Ok(Method::Tube { carers })
}

/// A tube bypasses the suck that a cold pup would lack, so warmth is always asked for.
fn ask_for_warmth(proposal: &Proposal<'_>, age: f64, conditions: &mut Vec<Condition>) {
    let is_cleared = matches!(&proposal.pup.warmth, Warmth::InRange { at, .. }
        if hours_between(*at, proposal.at).get() <= limits::WARM_CLEARANCE_H.value);
    if !is_cleared && !conditions.iter().any(|c| matches!(c, Condition::Warm { .. })) {
        conditions.push(warm_enough(age));
    }
}

enum WeightState {
    Fresh,
    LastAmountOnly,
    TooOld,
}

fn weight_state(pup: &PupAssessment, weighed_at: Timestamp, at: Timestamp, age: f64) -> WeightState {
    let old = hours_between(weighed_at, at).get();
    let stale = limits::stale_after_h(age).value;
    let is_doubtful = pup.doubts.iter().any(|d| !d.is_settled);
    if old > stale + limits::STALE_GRACE_H.value {
        WeightState::TooOld
    } else if old > stale || is_doubtful {
        WeightState::LastAmountOnly
    } else {
        WeightState::Fresh
    }
}

/// The newest setback that no fresh weight and no warm reading has answered yet.
pub(crate) fn open_setback(facts: &Facts, pup: &PupAssessment, at: Timestamp) -> Option<Timestamp> {
    let id = Some(&pup.pup.id);
    let is_bad = |c: &&crate::record::Check| match c.kind {
        CheckKind::RectalTemperature => c.temperature().is_some_and(|t| {
            t.millidegrees() < limits::cold_below(hours_between(pup.pup.born_at, c.at).get()).value.millidegrees()
        }),
        CheckKind::Stool => !c.is(Word::Firm) && !c.is(Word::None),
        CheckKind::MilkAtNose => c.is(Word::Yes),
        _ => crate::assess::is_ill(c),
    };
    let seen = facts.checks.iter().filter(|c| c.pup.as_ref() == id).filter(is_bad).map(|c| c.at);
    let left = facts.hand_feeds(&pup.pup.id).filter_map(|f| match (f.offered, f.taken) {
        (Some(offered), Some(taken)) if taken < offered * 0.5 => Some(f.at),
        _ => None,
    });
    let setback = seen.chain(left).filter(|t| *t <= at).max()?;
    let weighed = pup.readings.iter().any(|r| r.at > setback);
    let warm = facts.checks_of(id, CheckKind::RectalTemperature).any(|c| {
        let limit = limits::cold_below(pup.age.get()).value;
        c.at > setback && c.temperature().is_some_and(|t| t.millidegrees() >= limit.millidegrees())
    });
    (!(weighed && warm)).then_some(setback)
}

/// The last amount that is known to be given by hand, or that this plan gives before.
fn last_given(given: &[Given], at: Timestamp) -> Option<Millilitres> {
    given.iter().rfind(|g| g.at < at && g.by_hand.get() > 0.0 && !g.is_assumed).map(|g| g.volume)
}
