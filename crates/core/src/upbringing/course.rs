//! What is done for a pup by a calendar: worming, vaccination, chip, nails, the vet's checks,
//! whom it should meet. The guideline is the household's choice; a veterinarian decides.

use jiff::ToSpan;
use jiff::civil::Date;

use super::home::{HomeRule, home_rule};
use super::{Dated, Fault, State, View, after, age_words, day, days_between, said};
use crate::record::{DoneKind, Facts, VaccinationGuideline, WormingGuideline};
use crate::references::{self as source, Source, Sourced};

/// Days of age of the first dates of worming.
const ESCCAP_FROM: Sourced<i64> = Sourced::new(14, &source::WORMING_ESCCAP);
const ESCCAP_EVERY: Sourced<i64> = Sourced::new(14, &source::WORMING_ESCCAP);
const ESCCAP_AFTER_WEANING: Sourced<i64> = Sourced::new(14, &source::WORMING_ESCCAP);
const CAPC_DAYS: Sourced<[i64; 4]> = Sourced::new([14, 28, 42, 56], &source::WORMING_CAPC);
/// Monthly up to this age in months.
const MONTHLY_UNTIL_MONTHS: Sourced<i64> = Sourced::new(6, &source::WORMING_ESCCAP);
/// Weaned at the latest published week, where nobody wrote it down.
const WEANED_BY: Sourced<i64> = Sourced::new(49, &source::WEAN_END);
/// An entry counts for the date that it is nearest to.
const NEAREST: Sourced<i64> = Sourced::new(7, &source::WORMING_NEAREST);

/// First vaccination: window in days of age.
const FIRST_VACCINE: [(VaccinationGuideline, Sourced<(i64, i64)>); 2] = [
    (VaccinationGuideline::Wsava2024, Sourced::new((42, 56), &source::VACCINATION_WSAVA)),
    (VaccinationGuideline::Aaha2022, Sourced::new((42, 56), &source::VACCINATION_AAHA)),
];
/// Days between two of a course, and the age that the last must reach.
const VACCINE_STEP: Sourced<(i64, i64)> = Sourced::new((14, 28), &source::VACCINATION_WSAVA);
const VACCINE_LAST_FROM: Sourced<i64> = Sourced::new(112, &source::VACCINATION_WSAVA);
const VACCINE_FEWEST: Sourced<usize> = Sourced::new(3, &source::VACCINATION_AAHA);
const VACCINE_AGAIN_FROM: Sourced<i64> = Sourced::new(182, &source::VACCINATION_WSAVA);

const NAILS_FROM: Sourced<(i64, i64)> = Sourced::new((14, 21), &source::NAILS);
const NAILS_EVERY: Sourced<i64> = Sourced::new(7, &source::NAILS);
const CHIP_LEAD: Sourced<i64> = Sourced::new(14, &source::CHIP_LEAD);
const SOCIALISE: Sourced<(i64, i64)> = Sourced::new((21, 84), &source::SOCIALISING);
/// Age of a first group with other pups, and days after the first vaccination.
const GROUP: Sourced<(i64, i64)> = Sourced::new((49, 7), &source::PUPPY_GROUP);
const VET_CHECK_WEEKLY_UNTIL: Sourced<i64> = Sourced::new(28, &source::VET_CHECK_HAND_REARED);
const VET_CHECK_BEFORE_SALE: Sourced<(i64, i64)> = Sourced::new((42, 56), &source::VET_CHECK_HOME);
const FIRST_FOOD: Sourced<(i64, i64)> = Sourced::new((21, 28), &source::WEAN_START);
const WEANED: Sourced<(i64, i64)> = Sourced::new((42, 49), &source::WEAN_END);

const VET_DECIDES: &str = "the vet decides product and amount";

pub(super) fn items(view: &View<'_>, facts: &Facts, is_hand_fed: bool) -> Vec<Dated> {
    let choice = facts.litter.upbringing;
    let mut items = worming(view, choice.worming.unwrap_or(WormingGuideline::Esccap));
    items.extend(vaccination(view, choice.vaccination.unwrap_or(VaccinationGuideline::Wsava2024)));
    items.extend(nails(view));
    items.push(chip(view, home_rule(choice.home_law)));
    items.extend([
        window(view, "first-food", "first food beside the milk", DoneKind::FirstFood, FIRST_FOOD),
        window(view, "weaned", "weaned", DoneKind::Weaned, WEANED),
        socialising(view),
        group(view),
        vet_check(view),
    ]);
    if is_hand_fed && view.age_days() < VET_CHECK_WEEKLY_UNTIL.value {
        items.push(weekly_vet_check(view));
    }
    items
}

fn dated(
    view: &View<'_>,
    code: &'static str,
    title: &str,
    records: Option<DoneKind>,
    source: &'static Source,
) -> Dated {
    Dated {
        code,
        title: title.into(),
        pup: Some(view.pup.id.clone()),
        records,
        from: None,
        to: None,
        state: State::Coming,
        done_on: None,
        because: String::new(),
        source,
    }
}

/// Something done once, in a published window of ages.
fn window(view: &View<'_>, code: &'static str, title: &str, kind: DoneKind, days: Sourced<(i64, i64)>) -> Dated {
    let done_on = view.days_of(kind).first().copied();
    let (from, to) = (Some(view.at_age(days.value.0)), Some(view.at_age(days.value.1)));
    Dated {
        from,
        to,
        state: view.once(done_on, from, to),
        done_on,
        because: format!("{} to {}", age_words(days.value.0), age_words(days.value.1)),
        ..dated(view, code, title, Some(kind), days.source)
    }
}

/// The dates of worming up to six months, by a guideline.
pub(super) fn worming_days(born: Date, weaned: Option<Date>, guideline: WormingGuideline) -> Vec<(Date, String)> {
    let mut days: Vec<Date> = match guideline {
        WormingGuideline::Capc => CAPC_DAYS.value.map(|d| after(born, d)).to_vec(),
        WormingGuideline::Esccap => {
            let weaned = weaned.unwrap_or(after(born, WEANED_BY.value));
            let end = after(weaned, ESCCAP_AFTER_WEANING.value);
            let fortnights = (0..).map(|n| after(born, ESCCAP_FROM.value + n * ESCCAP_EVERY.value));
            fortnights.take_while(|d| *d <= end).collect()
        }
    };
    let last = days.last().copied().unwrap_or(born);
    let six_months = born.saturating_add(MONTHLY_UNTIL_MONTHS.value.months());
    let every_two_weeks = days.len();
    days.extend((1..=MONTHLY_UNTIL_MONTHS.value).map(|m| last.saturating_add(m.months())).filter(|d| *d <= six_months));
    let words = |n: usize, day: Date| {
        let age = age_words(days_between(born, day));
        if n < every_two_weeks { age } else { format!("monthly, {age}") }
    };
    days.into_iter().enumerate().map(|(n, day)| (day, words(n, day))).collect()
}

fn worming(view: &View<'_>, guideline: WormingGuideline) -> Vec<Dated> {
    let weaned = view.days_of(DoneKind::Weaned).first().copied();
    let source = worming_source(guideline);
    let days = worming_days(view.born, weaned, guideline);
    let given = view.days_of(DoneKind::Worming);
    let planned: Vec<Date> = days.iter().map(|(day, _)| *day).collect();
    let states = slots(&planned, &given, view.today);
    days.into_iter()
        .zip(states)
        .map(|((on, words), (state, done_on))| Dated {
            from: Some(on),
            to: Some(on),
            state,
            done_on,
            because: format!("{words}, by {}; {VET_DECIDES}", guideline_name(guideline)),
            ..dated(view, "worming", "worming", Some(DoneKind::Worming), source)
        })
        .collect()
}

fn worming_source(guideline: WormingGuideline) -> &'static Source {
    match guideline {
        WormingGuideline::Esccap => ESCCAP_FROM.source,
        WormingGuideline::Capc => CAPC_DAYS.source,
    }
}

fn guideline_name(guideline: WormingGuideline) -> &'static str {
    match guideline {
        WormingGuideline::Esccap => "ESCCAP",
        WormingGuideline::Capc => "CAPC",
    }
}

/// Planned days with what was given: each entry counts for the nearest planned day within a week.
/// A day that went by is late until half way to the next one, then missed.
fn slots(planned: &[Date], given: &[Date], today: Date) -> Vec<(State, Option<Date>)> {
    let mut done: Vec<Option<Date>> = vec![None; planned.len()];
    for on in given {
        let nearest = (0..planned.len()).min_by_key(|i| days_between(planned[*i], *on).abs());
        if let Some(i) = nearest.filter(|i| days_between(planned[*i], *on).abs() <= NEAREST.value) {
            done[i] = done[i].or(Some(*on));
        }
    }
    let is_after = |i: usize| done[i + 1..].iter().any(Option::is_some);
    (0..planned.len())
        .map(|i| {
            let state = match (done[i], days_between(planned[i], today)) {
                (Some(_), _) => State::Done,
                (None, past) if past > NEAREST.value || is_after(i) => State::Missed,
                (None, past) if past > 0 => State::Late,
                (None, 0) => State::Due,
                (None, _) => State::Coming,
            };
            (state, done[i])
        })
        .collect()
}

/// Worming of the dam: with the first of the pups (ESCCAP), or each time that they are (CAPC).
pub(super) fn dam_items(facts: &Facts, today: Date) -> Vec<Dated> {
    let zone = &facts.litter.zone;
    let is_with_them = facts.dam.with_pups && facts.pups.iter().any(|p| p.joined_at.is_none() && p.left.is_none());
    let Some(born) = facts.litter.whelped_at.map(|at| day(at, zone)).filter(|_| is_with_them) else {
        return Vec::new();
    };
    let guideline = facts.litter.upbringing.worming.unwrap_or(WormingGuideline::Esccap);
    let days: Vec<Date> = match guideline {
        WormingGuideline::Esccap => vec![after(born, ESCCAP_FROM.value)],
        WormingGuideline::Capc => CAPC_DAYS.value.map(|d| after(born, d)).to_vec(),
    };
    let given: Vec<Date> = facts.done_for(None, DoneKind::Worming).map(|d| day(d.at, zone)).collect();
    let states = slots(&days, &given, today);
    days.iter()
        .zip(states)
        .map(|(on, (state, done_on))| Dated {
            code: "worming",
            title: "worming of the dam".into(),
            pup: None,
            records: Some(DoneKind::Worming),
            from: Some(*on),
            to: Some(*on),
            state,
            done_on,
            because: format!(
                "with the pups on {}, by {}; {VET_DECIDES}",
                age_words(days_between(born, *on)),
                guideline_name(guideline)
            ),
            source: worming_source(guideline),
        })
        .collect()
}

fn first_vaccine(guideline: VaccinationGuideline) -> Sourced<(i64, i64)> {
    FIRST_VACCINE.iter().find(|(g, _)| *g == guideline).map_or(FIRST_VACCINE[0].1, |(_, days)| *days)
}

/// What was given, and the next of the course.
fn vaccination(view: &View<'_>, guideline: VaccinationGuideline) -> Vec<Dated> {
    let given = view.days_of(DoneKind::Vaccination);
    let first = first_vaccine(guideline);
    let one = |title: String| dated(view, "vaccination", &title, Some(DoneKind::Vaccination), first.source);
    let mut items: Vec<Dated> = given
        .iter()
        .enumerate()
        .map(|(n, on)| Dated {
            from: Some(*on),
            to: Some(*on),
            state: State::Done,
            done_on: Some(*on),
            because: "every vaccination on record counts as one of the course; the vet reads the labels".into(),
            ..one(format!("vaccination {}", n + 1))
        })
        .collect();
    let name = match guideline {
        VaccinationGuideline::Wsava2024 => "WSAVA 2024",
        VaccinationGuideline::Aaha2022 => "AAHA 2022",
    };
    let (from, to, says) = match given.last() {
        None => {
            let (from, to) = first.value;
            (view.at_age(from), view.at_age(to), format!("the first at {} to {}", age_words(from), age_words(to)))
        }
        Some(last) if !is_finished(view.born, &given, guideline) => {
            let (least, most) = VACCINE_STEP.value;
            // The last of the course is the one at 16 weeks or later.
            let says = format!("every 2 to 4 weeks, the last at {} or later", age_words(VACCINE_LAST_FROM.value));
            (after(*last, least), after(*last, most), says)
        }
        Some(_) => {
            let from = view.at_age(VACCINE_AGAIN_FROM.value);
            (from, from, format!("again at {} or later", age_words(VACCINE_AGAIN_FROM.value)))
        }
    };
    if given.len() < 9 {
        items.push(Dated {
            from: Some(from),
            to: Some(to),
            state: view.once(None, Some(from), Some(to)),
            because: format!("{says}, by {name}; {VET_DECIDES}"),
            ..one(format!("vaccination {}", given.len() + 1))
        });
    }
    items
}

fn is_finished(born: Date, given: &[Date], guideline: VaccinationGuideline) -> bool {
    let is_old_enough = given.last().is_some_and(|d| days_between(born, *d) >= VACCINE_LAST_FROM.value);
    is_old_enough && (guideline != VaccinationGuideline::Aaha2022 || given.len() >= VACCINE_FEWEST.value)
}

/// What in a course of vaccinations a vet should know of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CourseFault {
    /// Before the first published age; the day of age.
    TooEarly(i64),
    /// Fewer days after the one before than published.
    TooSoon(i64),
    /// More days after the one before than published.
    TooFar(i64),
}

/// Looks at the ages, in days, at which a pup was vaccinated.
#[must_use]
pub fn vaccination_faults(ages: &[i64], guideline: VaccinationGuideline) -> Vec<CourseFault> {
    let (least, most) = VACCINE_STEP.value;
    let from = first_vaccine(guideline).value.0;
    let early = ages.first().filter(|age| **age < from).map(|age| CourseFault::TooEarly(*age));
    // Past the age of the last one the course is over: what follows is a booster.
    let in_course = ages.windows(2).filter(|w| w[0] < VACCINE_LAST_FROM.value);
    let gaps = in_course.filter_map(|w| match w[1] - w[0] {
        gap if gap < least => Some(CourseFault::TooSoon(gap)),
        gap if gap > most => Some(CourseFault::TooFar(gap)),
        _ => None,
    });
    early.into_iter().chain(gaps).collect()
}

pub(super) fn faults(view: &View<'_>, facts: &Facts) -> Vec<Fault> {
    let guideline = facts.litter.upbringing.vaccination.unwrap_or(VaccinationGuideline::Wsava2024);
    let ages: Vec<i64> = view.days_of(DoneKind::Vaccination).iter().map(|on| days_between(view.born, *on)).collect();
    let (least, most) = VACCINE_STEP.value;
    let words = |fault| match fault {
        CourseFault::TooEarly(age) => {
            format!(
                "the first vaccination was on day {age}, before {}: ask the vet whether it counts",
                age_words(first_vaccine(guideline).value.0)
            )
        }
        CourseFault::TooSoon(gap) => {
            format!("two vaccinations are {gap} days apart, less than {least}: ask the vet whether both count")
        }
        CourseFault::TooFar(gap) => {
            format!("two vaccinations are {gap} days apart, more than {most}: ask the vet how to go on")
        }
    };
    let fault = |f| Fault {
        code: "vaccination-interval",
        pup: view.pup.id.clone(),
        says: words(f),
        since: view.days_of(DoneKind::Vaccination).last().copied().unwrap_or(view.today),
        source: VACCINE_STEP.source,
    };
    vaccination_faults(&ages, guideline).into_iter().map(fault).collect()
}

/// None once nothing sucks on the dam any more: it is done to spare her glands.
fn nails(view: &View<'_>) -> Option<Dated> {
    let weaned = view.days_of(DoneKind::Weaned).first().copied();
    if view.today > weaned.unwrap_or(view.at_age(WEANED_BY.value)) {
        return None;
    }
    let last = view.days_of(DoneKind::Nails).last().copied();
    let (from, to) = match last {
        Some(last) => (after(last, NAILS_EVERY.value), after(last, 2 * NAILS_EVERY.value - 1)),
        None => (view.at_age(NAILS_FROM.value.0), view.at_age(NAILS_FROM.value.1)),
    };
    let before = last.map_or_else(String::new, |last| format!("; last on {}", said(last)));
    Some(Dated {
        from: Some(from),
        to: Some(to),
        state: view.once(None, Some(from), Some(to)),
        because: format!("weekly from week 3 until it is weaned, to spare the dam's glands{before}"),
        ..dated(view, "nails", "nails", Some(DoneKind::Nails), NAILS_FROM.source)
    })
}

fn chip(view: &View<'_>, rule: HomeRule) -> Dated {
    let done_on = view.days_of(DoneKind::Chip).last().copied();
    let (by, source) = rule.chip_by();
    let (from, to) = (view.at_age(by - CHIP_LEAD.value), view.at_age(by));
    Dated {
        from: Some(from),
        to: Some(to),
        state: view.once(done_on, Some(from), Some(to)),
        done_on,
        because: format!("by {}, and before it goes home; read the number with a reader", age_words(by)),
        ..dated(view, "chip", "chip", Some(DoneKind::Chip), source)
    }
}

/// Open over weeks: done whenever something new was met in the last week.
fn socialising(view: &View<'_>) -> Dated {
    let met = view.days_of(DoneKind::Socialising);
    let (from, to) = (view.at_age(SOCIALISE.value.0), view.at_age(SOCIALISE.value.1));
    let recent = met.last().copied().filter(|d| days_between(*d, view.today) < 7);
    Dated {
        from: Some(from),
        to: Some(to),
        state: view.once(recent, Some(from), Some(to)),
        done_on: recent,
        because: format!(
            "{} to {}: new people, sounds and things a little at a time; {} days on record",
            age_words(SOCIALISE.value.0),
            age_words(SOCIALISE.value.1),
            met.len()
        ),
        ..dated(view, "socialising", "meets new people and things", Some(DoneKind::Socialising), SOCIALISE.source)
    }
}

/// The first group with pups of other litters.
fn group(view: &View<'_>) -> Dated {
    let (age, after_vaccine) = GROUP.value;
    let vaccinated = view.days_of(DoneKind::Vaccination).first().copied();
    let is_wormed = !view.days_of(DoneKind::Worming).is_empty();
    let from = vaccinated.map(|v| after(v, after_vaccine).max(view.at_age(age)));
    let lacks = match (vaccinated.is_some(), is_wormed) {
        (true, true) => "",
        (false, true) => "; the first vaccination is not on record",
        (true, false) => "; a first worming is not on record",
        (false, false) => "; vaccination and worming are not on record",
    };
    let is_open = is_wormed && from.is_some_and(|from| view.today >= from);
    Dated {
        from,
        state: if is_open { State::Done } else { State::Coming },
        done_on: from.filter(|_| is_open),
        because: format!(
            "from {} on, at least {after_vaccine} days after the first vaccination and with a first worming done{lacks}",
            age_words(age)
        ),
        ..dated(view, "group", "may meet pups of other litters", None, GROUP.source)
    }
}

fn vet_check(view: &View<'_>) -> Dated {
    let (from, to) = (view.at_age(VET_CHECK_BEFORE_SALE.value.0), view.at_age(VET_CHECK_BEFORE_SALE.value.1));
    let done_on = view.days_of(DoneKind::VetCheck).last().copied().filter(|on| *on >= from);
    Dated {
        from: Some(from),
        to: Some(to),
        state: view.once(done_on, Some(from), Some(to)),
        done_on,
        because: "before it goes home, mostly with the first vaccination".into(),
        ..dated(view, "vet-check", "looked over by the vet", Some(DoneKind::VetCheck), VET_CHECK_BEFORE_SALE.source)
    }
}

fn weekly_vet_check(view: &View<'_>) -> Dated {
    let last = view.days_of(DoneKind::VetCheck).last().copied();
    let from = after(last.unwrap_or(view.born), 7);
    Dated {
        from: Some(from),
        to: Some(after(from, 6)),
        state: view.once(None, Some(from), Some(after(from, 6))),
        because: "a hand-reared pup weekly in its first month".into(),
        ..dated(
            view,
            "vet-check-weekly",
            "looked over by the vet",
            Some(DoneKind::VetCheck),
            VET_CHECK_WEEKLY_UNTIL.source,
        )
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn published_worming_dates() {
        // Care handbook section 14, checks 17 and 18.
        let born = date(2025, 3, 1);
        let capc: Vec<Date> =
            worming_days(born, None, WormingGuideline::Capc).into_iter().map(|(d, _)| d).take(4).collect();
        assert_eq!(capc, [date(2025, 3, 15), date(2025, 3, 29), date(2025, 4, 12), date(2025, 4, 26)]);
        let esccap = worming_days(born, Some(date(2025, 4, 19)), WormingGuideline::Esccap);
        let fortnightly = esccap.iter().filter(|(_, words)| !words.starts_with("monthly"));
        let ages: Vec<i64> = fortnightly.map(|(d, _)| days_between(born, *d)).collect();
        assert_eq!(ages, [14, 28, 42, 56]);
        assert_eq!(esccap[4].0, date(2025, 5, 26), "a month after day 56");
        assert!(esccap.iter().all(|(d, _)| *d <= date(2025, 9, 1)), "to six months");
        // Weaned a week later, the fortnights go on to day 70.
        let later = worming_days(born, Some(after(born, 56)), WormingGuideline::Esccap);
        assert!(later.iter().any(|(d, words)| *d == after(born, 70) && !words.starts_with("monthly")));
    }

    #[test]
    fn published_courses_of_vaccination() {
        // Care handbook section 14, checks 20 and 21.
        let look = |ages: &[i64]| vaccination_faults(ages, VaccinationGuideline::Wsava2024);
        assert_eq!(look(&[56, 84, 112]), []);
        assert_eq!(look(&[56, 91, 119]), [CourseFault::TooFar(35)]);
        assert_eq!(look(&[41, 55]), [CourseFault::TooEarly(41)]);
        assert_eq!(look(&[42, 55]), [CourseFault::TooSoon(13)]);
        assert_eq!(look(&[112, 182]), [], "what follows the last is no gap of the course");
        let born = date(2025, 3, 1);
        let on = |ages: &[i64]| ages.iter().map(|d| after(born, *d)).collect::<Vec<_>>();
        assert!(is_finished(born, &on(&[84, 112]), VaccinationGuideline::Wsava2024));
        assert!(!is_finished(born, &on(&[84, 112]), VaccinationGuideline::Aaha2022), "three at the least");
        assert!(!is_finished(born, &on(&[56, 84, 111]), VaccinationGuideline::Wsava2024));
        // Check 19: windows from 6 and 8 weeks.
        assert_eq!(after(born, FIRST_VACCINE[0].1.value.0), date(2025, 4, 12));
        assert_eq!(after(born, FIRST_VACCINE[0].1.value.1), date(2025, 4, 26));
    }

    #[test]
    fn an_entry_counts_for_the_nearest_date() {
        let day = |d| date(2025, 3, d);
        let planned = [day(1), day(15), day(29)];
        let states =
            |given: &[Date], today| slots(&planned, given, today).into_iter().map(|(s, _)| s).collect::<Vec<_>>();
        assert_eq!(states(&[], day(1)), [State::Due, State::Coming, State::Coming]);
        assert_eq!(states(&[], day(8)), [State::Late, State::Coming, State::Coming]);
        assert_eq!(states(&[], day(9)), [State::Missed, State::Coming, State::Coming]);
        assert_eq!(states(&[day(4)], day(15)), [State::Done, State::Due, State::Coming], "three days late");
        assert_eq!(states(&[day(14)], day(16)), [State::Missed, State::Done, State::Coming]);
    }
}
