//! Beside the line: from the first steps to the new home.
//!
//! [`dates`] says for each pup what is coming, due, late or done: milestones, nails, worming,
//! vaccination, chip, the vet's check, whom it should meet, and the day on which it may go home.
//! Ages are counted in calendar days by the litter's clocks, the day of birth being day 0.
//! Windows are published or named as ours; a veterinarian decides every product and every date.
//! Nothing here is urgent: a date never stands before a feed. Nor is it asked for without end: see
//! [`ASKED_FOR`].

pub mod chip;
mod course;
pub mod energy;
mod home;
mod milestones;
pub mod weaning;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use crate::assess::Assessment;
use crate::record::{Done, DoneKind, Facts, Pup, PupId};
use crate::references::{self as source, Source, Sourced};

pub use course::{CourseFault, vaccination_faults};
pub use home::{Gate, Home, HomeRule, home_rule};
pub use milestones::{MILESTONES, Milestone};

/// A date that nobody wrote down is asked for until so many days after its last one, and what does not
/// fit is spoken of as long after it was written down.
pub const ASKED_FOR: Sourced<i64> = Sourced::new(28, &source::DATE_ASKED_FOR);

/// How a date stands today.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    Late,
    Due,
    Coming,
    /// Its time went by and the next one has come.
    Missed,
    /// It was asked for long enough, and nobody wrote it down.
    Unwritten,
    Done,
}

impl State {
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::Due => "due",
            Self::Coming => "coming",
            Self::Missed => "missed",
            Self::Unwritten => "unwritten",
            Self::Done => "done",
        }
    }
}

/// One thing with its window.
#[derive(Debug, Clone)]
pub struct Dated {
    /// A stable name for programs.
    pub code: &'static str,
    /// What it is, for people.
    pub title: String,
    /// None: the dam.
    pub pup: Option<PupId>,
    /// The kind under which it is written down; none: nothing to write down.
    pub records: Option<DoneKind>,
    pub from: Option<Date>,
    pub to: Option<Date>,
    pub state: State,
    pub done_on: Option<Date>,
    /// The rule, with its days.
    pub because: String,
    pub source: &'static Source,
}

impl Dated {
    /// A milestone is seen, not done: it asks for a look and not for an act.
    #[must_use]
    pub fn is_milestone(&self) -> bool {
        self.records.is_some_and(|kind| MILESTONES.iter().any(|m| m.kind == kind))
    }
}

impl Dated {
    /// What goes on for weeks is for the list of dates, not for every day's list.
    fn is_standing_invitation(&self) -> bool {
        self.records == Some(DoneKind::Socialising)
    }
}

/// Everything that has a date, of one litter.
#[derive(Debug, Clone)]
pub struct Dates {
    pub today: Date,
    /// Pups that are here in the order of their names, the dam last; each by its window.
    pub items: Vec<Dated>,
    pub homes: Vec<Home>,
    /// What does not fit: intervals of a course, a chip's number, a planned day of going home.
    pub faults: Vec<Fault>,
}

/// Something written down that does not fit a rule.
#[derive(Debug, Clone)]
pub struct Fault {
    pub code: &'static str,
    pub pup: PupId,
    pub says: String,
    /// The day of the entry that does not fit.
    pub since: Date,
    pub source: &'static Source,
}

impl Dates {
    /// What belongs on the list of today: due and late, milestones only where they ask for a look.
    pub fn open(&self) -> impl Iterator<Item = &Dated> {
        let is_open = |i: &&Dated| matches!(i.state, State::Due | State::Late) && !i.is_standing_invitation();
        self.items.iter().filter(is_open).filter(|i| !i.is_milestone() || self.asks_for_a_look(i))
    }

    /// What does not fit, and was not spoken of long enough yet.
    pub fn open_faults(&self) -> impl Iterator<Item = &Fault> {
        self.faults.iter().filter(|f| days_between(f.since, self.today) <= ASKED_FOR.value)
    }

    /// A milestone past its range is asked for where a litter-mate has shown it, and eyes always.
    fn asks_for_a_look(&self, item: &Dated) -> bool {
        let is_of_a_mate = |i: &Dated| i.records == item.records && i.pup != item.pup && i.state == State::Done;
        let is_eyes = item.records == Some(DoneKind::EyesOpen);
        item.state == State::Late && (is_eyes || self.items.iter().any(is_of_a_mate))
    }
}

/// The litter's dates as known at `now`; `assessment` says which pups are here and how they gain.
#[must_use]
pub fn dates(facts: &Facts, assessment: &Assessment, now: Timestamp) -> Dates {
    let zone = &facts.litter.zone;
    let today = day(now, zone);
    let mut items = Vec::new();
    let mut homes = Vec::new();
    let mut faults = Vec::new();
    // What has no day yet stands last.
    let by_day = |i: &Dated| (i.from.or(i.to).unwrap_or(Date::MAX), i.to, i.code);
    for assessed in &assessment.pups {
        let pup = &assessed.pup;
        let view = View::of(facts, pup, today);
        let mut mine = milestones::items(&view);
        mine.extend(course::items(&view, facts, assessed.is_hand_fed));
        mine.sort_by(|a, b| by_day(a).cmp(&by_day(b)));
        items.extend(mine);
        let home = home::home(&view, facts, assessed);
        faults.extend(course::faults(&view, facts));
        faults.extend(home::faults(&view, &home));
        faults.extend(chip::faults(&view, facts));
        homes.push(home);
    }
    items.extend(course::dam_items(facts, today));
    Dates { today, items, homes, faults }
}

/// The calendar day of an instant by the litter's clocks.
#[must_use]
pub fn day(at: Timestamp, zone: &TimeZone) -> Date {
    at.to_zoned_datetime(zone.clone()).date()
}

/// One pup with what was done for it, by calendar day.
pub(crate) struct View<'f> {
    pub pup: &'f Pup,
    pub born: Date,
    pub today: Date,
    done: Vec<(Date, &'f Done)>,
}

impl<'f> View<'f> {
    pub fn of(facts: &'f Facts, pup: &'f Pup, today: Date) -> Self {
        let zone = &facts.litter.zone;
        let mine = facts.done.iter().filter(|d| d.pup.as_ref() == Some(&pup.id));
        Self { pup, born: day(pup.born_at, zone), today, done: mine.map(|d| (day(d.at, zone), d)).collect() }
    }

    /// Days after birth as a calendar day.
    pub fn at_age(&self, days: i64) -> Date {
        after(self.born, days)
    }

    pub fn age_days(&self) -> i64 {
        days_between(self.born, self.today)
    }

    /// The days on which something was done, oldest first, each once.
    pub fn days_of(&self, kind: DoneKind) -> Vec<Date> {
        let mut days: Vec<Date> = self.done.iter().filter(|(_, d)| d.kind == kind).map(|(day, _)| *day).collect();
        days.dedup();
        days
    }

    /// The newest entry of a kind.
    pub fn last(&self, kind: DoneKind) -> Option<(Date, &'f Done)> {
        self.done.iter().rev().find(|(_, d)| d.kind == kind).copied()
    }

    pub fn is_asked_for_no_more(&self, last_day: Date) -> bool {
        days_between(last_day, self.today) > ASKED_FOR.value
    }

    /// The state of something that is done once in a window.
    pub fn once(&self, done_on: Option<Date>, from: Option<Date>, to: Option<Date>) -> State {
        match done_on {
            Some(_) => State::Done,
            None if to.is_some_and(|to| self.is_asked_for_no_more(to)) => State::Unwritten,
            None if to.is_some_and(|to| self.today > to) => State::Late,
            None if from.is_none_or(|from| self.today >= from) => State::Due,
            None => State::Coming,
        }
    }
}

pub(crate) fn after(day: Date, days: i64) -> Date {
    day.saturating_add(days.days())
}

pub(crate) fn days_between(from: Date, to: Date) -> i64 {
    i64::from((to - from).get_days())
}

/// A day as it is said to a person: `16 Mar 2026`.
pub(crate) fn said(day: Date) -> String {
    day.strftime("%-d %b %Y").to_string()
}

/// Days as a person counts ages: whole weeks where they are whole.
pub(crate) fn age_words(days: i64) -> String {
    match days {
        d if d >= 28 && d % 7 == 0 => format!("{} weeks", d / 7),
        d => format!("day {d}"),
    }
}
