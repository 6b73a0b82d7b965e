//! The timetable as plain data: rounds with carers, what they cost, and what else would do.
//!
//! Every amount here comes from a [`CheckedInstruction`], those of other plans too: each plan
//! that is shown went through the guide.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::{Line, carer_line, round_line, trouble_line};
use super::clock::{clock, date_and_clock, iso};
use super::{RoundLine, ShiftLine, TroubleLine, texts};
use crate::guide::{self, CheckedInstruction, GuidedRound};
use crate::need::Need;
use crate::record::{Facts, hours_between};
use crate::schedule::household::{DAYS, hours, planned_carers};
use crate::schedule::options::{SleepThrough, sleep_through, trade_offs};
use crate::schedule::plan::LitterPlan;
use crate::schedule::usual_day::{UsualDay, usual_days};
use crate::schedule::{self, Figures, Timetable, Wishes, has_hours};

/// The rounds of the next two days.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TimetableReport {
    pub litter: String,
    pub at: String,
    pub time_zone: String,
    /// Set when the litter is invented.
    pub example_note: Option<String>,
    pub caution: String,
    /// Whether someone's hours are written down; else the rounds are equal intervals.
    pub is_planned_for_carers: bool,
    /// Everyone who could be on a round, also those who are on none.
    pub carers: Vec<String>,
    pub rounds: Vec<RoundLine>,
    pub figures: Option<FiguresLine>,
    pub wake_ups: Vec<WakeUps>,
    pub trouble: Option<TroubleLine>,
    pub clock_change: Option<String>,
    /// Other plans, none of which is better in everything; only when asked for.
    pub options: Vec<OptionLine>,
    /// The answer to "what if I sleep through that feed?"; only when asked for.
    pub sleep_through: Option<SleepLine>,
    /// Days that can be repeated; only when asked for.
    pub usual_days: Vec<UsualDayLine>,
    /// Why there is no such day, or what is not in it.
    pub usual_days_note: Option<String>,
    /// Carers for whom the plan has no room.
    pub carers_left_out: Vec<String>,
}

/// A day that can be repeated, by the clock; without amounts, which follow from the
/// weights of each day.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UsualDayLine {
    /// The days of the week on which it holds.
    pub days: String,
    pub rounds: Vec<UsualRoundLine>,
    pub hands_on_minutes: i64,
    pub wake_ups: u32,
    pub longest_gap_h: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UsualRoundLine {
    /// Clock time, hours and minutes.
    pub at: String,
    pub until: String,
    pub carers: Vec<ShiftLine>,
    pub pups: Vec<String>,
    /// Whether every pup of the plan is fed.
    pub is_everyone: bool,
}

/// What a plan of two days costs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FiguresLine {
    pub days: usize,
    pub rounds: usize,
    pub hands_on_minutes_per_day: i64,
    pub wake_ups: u32,
    pub longest_gap_h: f64,
    pub pups_fed_by_tube_to_save_time: usize,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WakeUps {
    pub carer: String,
    pub times: usize,
}

/// Another plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OptionLine {
    pub figures: FiguresLine,
    pub round_times: Vec<String>,
    pub largest_feeds: Vec<LargestFeed>,
}

/// The largest feed of a pup under a plan, against what it may have.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LargestFeed {
    pub pup: String,
    pub amount_ml: f64,
    pub at_most_ml: f64,
    /// tube or bottle.
    pub method: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SleepLine {
    pub at: String,
    pub is_allowed: bool,
    pub because: Vec<String>,
    pub instead: Option<OptionLine>,
}

/// JSON Schema of [`TimetableReport`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(TimetableReport).to_value()
}

/// What is asked for beside the plan.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked {
    pub options: bool,
    pub sleep_through: Option<Timestamp>,
    pub usual_day: bool,
}

/// The timetable from the facts known at `now`.
#[must_use]
pub fn timetable(facts: &Facts, now: Timestamp, asked: Asked) -> TimetableReport {
    let (line, rounds) = planned(facts, now);
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let (usual_days, usual_days_note) = if asked.usual_day { usual(facts, &line, now) } else { (Vec::new(), None) };
    TimetableReport {
        litter: facts.litter.name.clone(),
        at: iso(now, zone),
        time_zone: zone.iana_name().unwrap_or("UTC").into(),
        example_note: facts.litter.example.as_ref().map(|e| e.note.clone()),
        caution: texts::CAUTION.into(),
        is_planned_for_carers: has_hours(facts),
        carers: if has_hours(facts) {
            planned_carers(facts).iter().map(|c| c.name.clone()).collect()
        } else {
            Vec::new()
        },
        figures: line.timetable.figures.map(figures_line),
        wake_ups: wake_ups(&rounds),
        trouble: line.timetable.trouble.as_ref().map(trouble_line),
        clock_change: clock_change(&line, &rounds, zone),
        options: if asked.options { options(facts, &line, now) } else { Vec::new() },
        sleep_through: asked.sleep_through.map(|at| sleeping_through(facts, &line, now, at)),
        usual_days,
        usual_days_note,
        carers_left_out: if has_hours(facts) {
            facts.carers.iter().skip(planned_carers(facts).len()).map(|c| c.name.clone()).collect()
        } else {
            Vec::new()
        },
        rounds: rounds.iter().map(|r| round_line(r, zone)).collect(),
    }
}

/// The checked rounds of the next two days.
#[must_use]
pub fn planned(facts: &Facts, now: Timestamp) -> (Line, Vec<GuidedRound>) {
    #[expect(clippy::cast_precision_loss, reason = "two days")]
    let line = Line::run_as_wished(facts, now, 24.0 * DAYS as f64, &Wishes::default());
    let rounds = line.guide.rounds.clone();
    (line, rounds)
}

#[expect(clippy::cast_possible_wrap, reason = "two days")]
fn figures_line(f: Figures) -> FiguresLine {
    FiguresLine {
        days: DAYS,
        rounds: f.rounds,
        hands_on_minutes_per_day: (f.hands_on_s / 60) / DAYS as i64,
        wake_ups: f.wake_ups,
        longest_gap_h: hours(f.longest_gap),
        pups_fed_by_tube_to_save_time: f.tube_fed,
    }
}

fn wake_ups(rounds: &[GuidedRound]) -> Vec<WakeUps> {
    let mut counts: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    for shift in rounds.iter().flat_map(|r| &r.staff).filter(|s| s.is_woken) {
        *counts.entry(&shift.carer).or_default() += 1;
    }
    counts.into_iter().map(|(carer, times)| WakeUps { carer: carer.into(), times }).collect()
}

/// Before a change of the clocks: both labels of the rounds around it.
fn clock_change(line: &Line, rounds: &[GuidedRound], zone: &TimeZone) -> Option<String> {
    let change = line.timetable.clock_change.as_ref()?.at;
    let before = rounds.iter().rfind(|r| r.at < change)?;
    let after = rounds.iter().find(|r| r.at >= change)?;
    Some(format!(
        "The clocks change at {}; the hours between feeds stay as they are: {} and then {}, {} h apart.",
        date_and_clock(change, zone),
        clock(before.at, zone),
        clock(after.at, zone),
        hours_between(before.at, after.at).get()
    ))
}

fn usual(facts: &Facts, line: &Line, now: Timestamp) -> (Vec<UsualDayLine>, Option<String>) {
    let none = |note: &str| (Vec::new(), Some(note.into()));
    if !line.needs.iter().any(Result::is_ok) {
        return none("no pup is fed by hand");
    }
    if !has_hours(facts) {
        return none("no carer's hours are written down (available, sleeps)");
    }
    let is_ordered = |n: &&Need| crate::need::ordered_gap_h(n.order.as_ref()).is_some();
    let days = usual_days(facts, &line.assessment, &line.needs, now);
    let note = if days.is_empty() {
        Some("with these hours no day can be repeated: some gap would be too long; see the rounds with dates".into())
    } else if days.len() == 1 && days[0].days != "every day" {
        Some("the other days of the week have no such plan; see the rounds with dates".into())
    } else {
        let has_ordered = line.needs.iter().flatten().any(|n| is_ordered(&n));
        has_ordered.then(|| "pups at intervals that a vet ordered are not in it".into())
    };
    (days.iter().map(|day| usual_day_line(line, day)).collect(), note)
}

fn usual_day_line(line: &Line, day: &UsualDay) -> UsualDayLine {
    let all = day.rounds.iter().map(|r| r.pups.len()).max().unwrap_or(0);
    let name = |pup: &usize| line.assessment.pups[*pup].pup.id.0.clone();
    let clock = |minute: usize| format!("{:02}:{:02}", minute / 60 % 24, minute % 60);
    UsualDayLine {
        days: day.days.into(),
        rounds: day
            .rounds
            .iter()
            .map(|r| UsualRoundLine {
                at: clock(r.at),
                until: clock(r.until),
                carers: r.staff.iter().map(carer_line).collect(),
                pups: r.pups.iter().map(name).collect(),
                is_everyone: r.pups.len() == all,
            })
            .collect(),
        hands_on_minutes: day.figures.hands_on_s / 60,
        wake_ups: day.figures.wake_ups,
        longest_gap_h: hours(day.figures.longest_gap),
    }
}

fn options(facts: &Facts, line: &Line, now: Timestamp) -> Vec<OptionLine> {
    if !has_hours(facts) {
        return Vec::new();
    }
    let plans = trade_offs(facts, &line.assessment, &line.needs, now);
    plans.iter().map(|plan| option_line(facts, line, now, plan)).collect()
}

fn option_line(facts: &Facts, line: &Line, now: Timestamp, plan: &LitterPlan) -> OptionLine {
    let timetable = Timetable {
        rounds: plan.rounds(&line.assessment, &line.needs),
        figures: Some(plan.figures()),
        trouble: None,
        ..line.timetable.clone()
    };
    let guide = guide::guide(facts, &line.assessment, &line.needs, line.milk.as_ref(), &timetable, now);
    let zone = &facts.litter.zone;
    let feeds: Vec<&CheckedInstruction> = guide.rounds.iter().flat_map(GuidedRound::instructions).collect();
    let largest = line.assessment.pups.iter().filter_map(|pup| {
        let mine = feeds.iter().filter(|f| f.pup() == &pup.pup.id);
        let largest = mine.max_by(|a, b| a.amount().get().total_cmp(&b.amount().get()))?;
        Some(LargestFeed {
            pup: pup.pup.id.0.clone(),
            amount_ml: largest.amount().get(),
            at_most_ml: largest.most().get(),
            method: if *largest.method() == guide::Method::Bottle { "bottle" } else { "tube" }.into(),
        })
    });
    OptionLine {
        figures: figures_line(plan.figures()),
        round_times: timetable.rounds.iter().map(|r| iso(r.at, zone)).collect(),
        largest_feeds: largest.collect(),
    }
}

/// What another plan costs beside the one that is shown.
fn costs(now: Figures, other: Figures) -> String {
    let minutes = (other.hands_on_s - now.hands_on_s) / 60;
    let work = match minutes {
        0 => "as much work".to_owned(),
        more if more > 0 => format!("{more} min more work in {DAYS} days"),
        less => format!("{} min less work in {DAYS} days", -less),
    };
    let wakes = i64::from(other.wake_ups) - i64::from(now.wake_ups);
    let sleep = match wakes {
        0 => "as many wake-ups in all".to_owned(),
        1 => "one wake-up more in all".to_owned(),
        -1 => "one wake-up less in all".to_owned(),
        more if more > 0 => format!("{more} wake-ups more in all"),
        less => format!("{} wake-ups less in all", -less),
    };
    format!("it costs {work} and {sleep}")
}

fn sleeping_through(facts: &Facts, line: &Line, now: Timestamp, at: Timestamp) -> SleepLine {
    let zone = &facts.litter.zone;
    let answer = |is_allowed, because, instead| SleepLine { at: iso(at, zone), is_allowed, because, instead };
    if !has_hours(facts) {
        return answer(false, vec!["no carer's hours are written down (available, sleeps)".into()], None);
    }
    let rounds = &line.timetable.rounds;
    match sleep_through(facts, &line.assessment, &line.needs, rounds, now, at) {
        SleepThrough::NothingThere => {
            answer(false, vec!["no round is planned within an hour of that time".into()], None)
        }
        SleepThrough::NotOffered(pups) => {
            answer(false, pups.into_iter().map(|(pup, why)| format!("{pup}: {why}")).collect(), None)
        }
        SleepThrough::NoPlan { longest_h } => answer(
            false,
            vec![format!(
                "without it some gap would be longer than the {longest_h} h that are allowed, or nobody is there at the times that are left"
            )],
            None,
        ),
        SleepThrough::Allowed(wishes) => {
            let plan = schedule::plan::best(facts, &line.assessment, &line.needs, now, &wishes);
            let mut because = vec!["every gap and every stomach limit still holds".to_owned()];
            because.extend(plan.as_ref().zip(line.timetable.figures).map(|(p, now)| costs(now, p.figures())));
            answer(true, because, plan.map(|p| option_line(facts, line, now, &p)))
        }
    }
}
