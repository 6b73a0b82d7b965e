//! Step 6, *guide*: what to do now, for which pup, in order of urgency, and why.
//!
//! Whatever was planned goes through [`checked::check`], the only maker of a
//! [`CheckedInstruction`]. Rounding happens here, down, to a mark that a syringe can show.

pub mod checked;

use jiff::Timestamp;

use crate::assess::{Assessment, PupAssessment, next_weighing};
use crate::finding::{Finding, Level};
use crate::limits;
use crate::mix::{self, Batch, InUse};
use crate::need::{Need, NoneNeeded, Shortfall, Why};
use crate::record::{Facts, PupId, hours_after, hours_between};
use crate::schedule::{Shift, Timetable};
use crate::units::{Kcal, Millilitres};

pub use checked::{CheckedInstruction, Condition, Method, Refusal, no_milk};

/// What a round does for one pup.
#[derive(Debug, Clone)]
pub enum RoundFeed {
    Feed(CheckedInstruction),
    Withheld { pup: PupId, why: Refusal },
}

/// A round after the limits.
#[derive(Debug, Clone)]
pub struct GuidedRound {
    pub at: Timestamp,
    /// The same as `at` when nobody's hours are known.
    pub until: Timestamp,
    pub feeds: Vec<RoundFeed>,
    /// Who does it; empty when nobody's hours are known.
    pub staff: Vec<Shift>,
}

impl GuidedRound {
    /// The instructions of this round.
    pub fn instructions(&self) -> impl Iterator<Item = &CheckedInstruction> {
        self.feeds.iter().filter_map(|f| match f {
            RoundFeed::Feed(instruction) => Some(instruction),
            RoundFeed::Withheld { .. } => None,
        })
    }
}

/// The next feed of a pup.
#[derive(Debug, Clone)]
pub enum NextFeed {
    Feed(CheckedInstruction),
    Withheld(Refusal),
    NoneNeeded(NoneNeeded),
}

/// One thing to do now.
#[derive(Debug, Clone)]
pub enum Task {
    Finding(Finding),
    FeedNow {
        feeds: Vec<CheckedInstruction>,
        /// Pups whose feed has been due for longer than half an hour.
        late: Vec<(PupId, Timestamp)>,
    },
    Withheld {
        pup: PupId,
        why: Refusal,
    },
    Weigh {
        pups: Vec<PupId>,
    },
}

impl Task {
    /// The most urgent first; inside a level, signs before feeds before figures.
    fn rank(&self) -> (std::cmp::Reverse<Level>, u8) {
        match self {
            Self::Finding(f) => (std::cmp::Reverse(f.level), u8::from(!f.is_sign) * 3),
            Self::Withheld { .. } => (std::cmp::Reverse(Level::NeedsHelp), 1),
            Self::FeedNow { .. } => (std::cmp::Reverse(Level::NeedsHelp), 2),
            Self::Weigh { .. } => (std::cmp::Reverse(Level::KeepWatch), 4),
        }
    }
}

/// Everything to do.
#[derive(Debug, Clone)]
pub struct Guide {
    pub tasks: Vec<Task>,
    /// In the order of the assessment.
    pub next: Vec<NextFeed>,
    pub rounds: Vec<GuidedRound>,
    pub batch: Option<Batch>,
    pub weigh_at: Vec<Timestamp>,
    /// What the plan gives in 24 h less than the need, with its reason.
    pub shortfalls: Vec<(PupId, Shortfall)>,
}

/// A round within this time is "now".
const NOW_H: f64 = 0.25;
/// A feed that is later than this is called late.
pub(crate) const LATE_H: f64 = 0.5;

/// Turns the plan into checked instructions and tasks.
#[must_use]
pub fn guide(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    milk: Result<&InUse, &String>,
    timetable: &Timetable,
    now: Timestamp,
) -> Guide {
    let rounds = match milk {
        Ok(milk) => checked_rounds(facts, assessment, needs, milk, timetable, now),
        Err(_) => Vec::new(),
    };
    let next = assessment.pups.iter().zip(needs).map(|(pup, need)| next_feed(pup, need, &rounds)).collect();
    let batch = milk.ok().and_then(|milk| {
        let round = rounds.iter().find(|r| r.instructions().next().is_some())?;
        let amounts: Vec<Millilitres> = round.instructions().map(CheckedInstruction::amount).collect();
        mix::batch(facts, &milk.strength, &amounts, round.at)
    });
    let weigh_at: Vec<Timestamp> =
        assessment.pups.iter().zip(needs).map(|(p, n)| next_weighing(p, n.is_ok(), now)).collect();
    let first_day = rounds.iter().take_while(|r| r.at < hours_after(now, 24.0)).count();
    let mut shortfalls = shortfalls(assessment, needs, &rounds[..first_day], milk.ok());
    shortfalls.extend(held_back(facts, assessment, needs, now));
    let tasks = tasks(assessment, timetable, &rounds, &weigh_at, now);
    Guide { tasks, next, rounds, batch, weigh_at, shortfalls }
}

fn checked_rounds(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    milk: &InUse,
    timetable: &Timetable,
    now: Timestamp,
) -> Vec<GuidedRound> {
    let mut given: Vec<Vec<checked::Given>> =
        assessment.pups.iter().map(|p| checked::given(facts, p, &milk.strength)).collect();
    let mut rounds = Vec::new();
    for round in &timetable.rounds {
        let staff: Vec<String> = round.staff.iter().map(|s| s.carer.clone()).collect();
        let mut feeds = Vec::new();
        for planned in &round.feeds {
            let index = &planned.pup;
            let pup = &assessment.pups[*index];
            let Ok(need) = &needs[*index] else { continue };
            let proposal = checked::Proposal {
                pup,
                need,
                at: round.at,
                planned: planned.amount,
                covers_h: planned.covers_h,
                strength: &milk.strength,
                by_tube: planned.by_tube,
                staff: &staff,
            };
            feeds.push(match checked::check(facts, &proposal, &given[*index], now) {
                Ok(instruction) => {
                    given[*index].push(checked::Given {
                        at: round.at,
                        volume: instruction.amount(),
                        by_hand: milk.strength.kcal_per_ml * instruction.amount(),
                        is_planned: true,
                        is_assumed: false,
                    });
                    RoundFeed::Feed(instruction)
                }
                Err(why) => RoundFeed::Withheld { pup: pup.pup.id.clone(), why },
            });
        }
        // A sick pup comes last, so that its carer's hands do not go on to the others.
        feeds.sort_by_key(|f| {
            let id = match f {
                RoundFeed::Feed(i) => i.pup(),
                RoundFeed::Withheld { pup, .. } => pup,
            };
            assessment.pups.iter().find(|p| &p.pup.id == id).is_some_and(is_sick)
        });
        rounds.push(GuidedRound { at: round.at, until: round.until, feeds, staff: round.staff.clone() });
    }
    rounds
}

/// Signs that another pup could catch.
fn is_sick(pup: &PupAssessment) -> bool {
    pup.findings.iter().any(|f| f.code.ends_with("stool"))
}

fn next_feed(pup: &PupAssessment, need: &Result<Need, NoneNeeded>, rounds: &[GuidedRound]) -> NextFeed {
    if let Err(none) = need {
        return NextFeed::NoneNeeded(none.clone());
    }
    let mut feeds = rounds.iter().flat_map(|r| &r.feeds);
    let of_this_pup = feeds.find_map(|f| match f {
        RoundFeed::Feed(i) if i.pup() == &pup.pup.id => Some(NextFeed::Feed(i.clone())),
        RoundFeed::Withheld { pup: id, why } if id == &pup.pup.id => Some(NextFeed::Withheld(why.clone())),
        _ => None,
    });
    of_this_pup.unwrap_or(NextFeed::Withheld(Refusal::NotPlanned))
}

/// Pups whose amount may not grow until they are weighed and found warm.
fn held_back(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
) -> Vec<(PupId, Shortfall)> {
    assessment
        .pups
        .iter()
        .zip(needs)
        .filter(|(_, need)| need.is_ok())
        .filter_map(|(pup, _)| {
            let at = checked::open_setback(facts, pup, now)?;
            let text = format!(
                "not more than its last feed since the setback at {}: weigh it and take its rectal temperature",
                crate::report::clock::date_and_clock(at, &facts.litter.zone)
            );
            Some((pup.pup.id.clone(), Shortfall::said("setback", text)))
        })
        .collect()
}

/// What the rounds of the next 24 h give less than the need of a day.
fn shortfalls(
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    rounds: &[GuidedRound],
    milk: Option<&InUse>,
) -> Vec<(PupId, Shortfall)> {
    let mut said = Vec::new();
    for (pup, need) in assessment.pups.iter().zip(needs) {
        let id = &pup.pup.id;
        let (Ok(need), Some(milk)) = (need, milk) else { continue };
        said.extend(need.shortfalls.iter().map(|s| (id.clone(), s.clone())));
        let planned: Millilitres = rounds
            .iter()
            .flat_map(GuidedRound::instructions)
            .filter(|i| i.pup() == id)
            .map(CheckedInstruction::amount)
            .sum();
        let kcal = milk.strength.kcal_per_ml * planned;
        let missing = need.by_hand - kcal;
        if planned.get() == 0.0 {
            let text = format!("no milk is planned while it may not be fed: {missing} of its day is missing");
            said.push((id.clone(), Shortfall { kind: "limits", text, missing: Some(missing) }));
            continue;
        }
        // Less than a twentieth is the rounding down to a syringe mark.
        if missing > need.by_hand * 0.05 {
            let text = format!(
                "the next 24 h give {kcal} of {}: {missing} short, because no limit is exceeded and nothing is made up",
                need.by_hand
            );
            said.push((id.clone(), Shortfall { kind: "limits", text, missing: Some(missing) }));
        // A third of the smallest mark of a thin milk; less is nobody's loss.
        } else if missing > Kcal::of(0.033) {
            let text = format!("the next 24 h give {kcal} of {}; amounts are rounded down", need.by_hand);
            said.push((id.clone(), Shortfall { kind: "rounding", text, missing: Some(missing) }));
        }
        let water = (planned * milk.strength.water_per_ml).per_kg_of(need.weight);
        let is_short = need.why == Why::Whole
            && !need.is_water_short
            && pup.age.get() >= limits::WATER_FLOOR_FROM_H.value
            && water < limits::WATER_FLOOR.value;
        if is_short {
            let text = format!(
                "water in the planned feeds is {water} and day, below the floor of {}. Look at gums and urine at each \
                 feed; ask the vet.",
                limits::WATER_FLOOR.value
            );
            said.push((id.clone(), Shortfall::said("water", text)));
        }
        if need.why == Why::TopUp {
            said.push((
                id.clone(),
                Shortfall::said("dam", "the rest of its day comes from the dam: top up after it has nursed"),
            ));
        }
    }
    said
}

fn tasks(
    assessment: &Assessment,
    timetable: &Timetable,
    rounds: &[GuidedRound],
    weigh_at: &[Timestamp],
    now: Timestamp,
) -> Vec<Task> {
    let mut tasks: Vec<Task> = Vec::new();
    for finding in &assessment.litter_findings {
        tasks.push(Task::Finding(finding.clone()));
    }
    for pup in &assessment.pups {
        tasks.extend(pup.findings.iter().filter(|f| f.level > Level::Note).cloned().map(Task::Finding));
    }
    let soon = hours_after(now, NOW_H);
    for round in rounds.iter().take_while(|r| r.at <= soon) {
        let feeds: Vec<CheckedInstruction> = round.instructions().cloned().collect();
        if !feeds.is_empty() {
            let late = assessment.pups.iter().zip(&timetable.overdue_since).filter_map(|(pup, since)| {
                let since = since.filter(|at| hours_between(*at, now).get() > LATE_H)?;
                feeds.iter().any(|f| f.pup() == &pup.pup.id).then(|| (pup.pup.id.clone(), since))
            });
            let late = late.collect();
            tasks.push(Task::FeedNow { feeds, late });
        }
        tasks.extend(round.feeds.iter().filter_map(|f| match f {
            RoundFeed::Withheld { pup, why } => Some(Task::Withheld { pup: pup.clone(), why: why.clone() }),
            RoundFeed::Feed(_) => None,
        }));
    }
    let due: Vec<PupId> =
        assessment.pups.iter().zip(weigh_at).filter(|(_, at)| **at <= soon).map(|(p, _)| p.pup.id.clone()).collect();
    if !due.is_empty() {
        tasks.push(Task::Weigh { pups: due });
    }
    tasks.sort_by_key(Task::rank);
    tasks
}
