//! The timetable as text, within 80 columns.

use std::path::PathBuf;

use jiff::tz::TimeZone;
use whelpward_core::report::clock;
use whelpward_core::report::timetable::{FiguresLine, LargestFeed, OptionLine, TimetableReport};

use crate::today::{Page, carer_words, instant, ml, must_weigh_first, round_words, sentence, shifts};

/// The whole answer, with the calendar files that were written.
pub fn text(report: &TimetableReport, written: &[PathBuf]) -> String {
    let mut page = Page { out: String::new(), zone: TimeZone::get(&report.time_zone).unwrap_or(TimeZone::UTC) };
    let now = clock::date_and_clock(instant(&report.at), &page.zone);
    page.line("", &format!("{}: feeding rounds from {now} on", report.litter));
    if let Some(note) = &report.example_note {
        page.line("", &format!("INVENTED EXAMPLE: {note}"));
    }
    if let Some(change) = &report.clock_change {
        page.line("", change);
    }
    if !report.carers_left_out.is_empty() {
        let text = format!(
            "A plan has room for {} carers; not in it: {}. Put those who feed most often first in litter.toml.",
            report.carers.len(),
            report.carers_left_out.join(", ")
        );
        page.line(" !  ", &text);
    }
    page.blank();
    if report.usual_days.is_empty() && report.usual_days_note.is_none() {
        dated(&mut page, report);
    } else {
        usual_days(&mut page, report);
    }
    options(&mut page, report);
    if let Some(sleep) = &report.sleep_through {
        page.heading("SLEEPING THROUGH A FEED");
        let answer = if sleep.is_allowed { "possible" } else { "no" };
        let at = clock::date_and_clock(instant(&sleep.at), &page.zone);
        page.line("    ", &sentence(&format!("{at}: {answer}; {}", sleep.because.join("; "))));
        if let Some(instead) = &sleep.instead {
            option(&mut page, "    Then: ", instead, &largest_feeds(instead));
        }
    }
    for file in written {
        page.line("", &format!("Written: {}", file.display()));
    }
    page.blank();
    page.line("", &report.caution);
    page.out
}

/// The next two days.
fn dated(page: &mut Page, report: &TimetableReport) {
    if report.rounds.is_empty() {
        page.line("", "No pup is fed by hand: no rounds.");
    }
    if let Some(trouble) = &report.trouble {
        page.trouble(trouble);
        page.blank();
        if report.is_planned_for_carers && !report.rounds.is_empty() {
            page.line("", "Until then these times keep every pup fed:");
        }
    }
    rounds(page, report);
    if let Some(figures) = &report.figures {
        page.blank();
        page.line("", &sentence(&figure_words(figures)));
        let woken: Vec<String> = report.wake_ups.iter().map(|w| format!("{} {}", w.carer, times(w.times))).collect();
        if !woken.is_empty() {
            page.line("", &format!("Woken: {}.", woken.join(", ")));
        }
    }
    if !report.is_planned_for_carers && !report.rounds.is_empty() {
        page.blank();
        page.line("", "Equal intervals, because no carer's hours are written down. With available and sleeps in the [[carer]] sections of litter.toml the rounds are fitted to them.");
    }
}

fn usual_days(page: &mut Page, report: &TimetableReport) {
    for day in &report.usual_days {
        page.line("", &format!("A DAY THAT CAN BE REPEATED, {} by the clock:", day.days));
        for round in &day.rounds {
            let pups = match (round.is_everyone, round.pups.len()) {
                (true, 1) => "1 pup".into(),
                (true, all) => format!("all {all} pups"),
                (false, _) => round.pups.join(", "),
            };
            let text = format!("{}: {pups}", shifts(&round.carers));
            page.line(&format!("    {} to {}  ", round.at, round.until), &text);
        }
        let text = format!(
            "{} rounds a day, {} of work, {}, longest gap {} h.",
            day.rounds.len(),
            work(day.hands_on_minutes),
            wake_ups(day.wake_ups),
            day.longest_gap_h
        );
        page.line("", &text);
        page.blank();
    }
    if !report.usual_days.is_empty() {
        page.line("", "How much each pup gets follows from its weight of the day: see the rounds with dates (without --usual-day).");
    }
    if let Some(note) = &report.usual_days_note {
        page.line("", &sentence(note));
    }
}

fn rounds(page: &mut Page, report: &TimetableReport) {
    let fed_later = |pup: &str| report.rounds.iter().any(|r| r.feeds.iter().any(|f| f.pup == pup));
    let mut never: Vec<(&str, &str)> = Vec::new();
    for one in report.rounds.iter().flat_map(|r| &r.withheld).filter(|w| !fed_later(&w.pup)) {
        if !never.iter().any(|(pup, _)| *pup == one.pup) {
            never.push((&one.pup, &one.because));
        }
    }
    let mut day = String::new();
    for round in &report.rounds {
        let at = instant(&round.at);
        let this_day = clock::day(at, &page.zone);
        if this_day != day {
            page.line("", &this_day);
            day = this_day;
        }
        let until = round.until.as_ref().map_or(String::new(), |u| format!(" to {}", page.clock(u)));
        let mut shown = round.clone();
        shown.withheld.retain(|w| !never.iter().any(|(pup, _)| *pup == w.pup));
        let mut words = round_words(&shown);
        if words.is_empty() {
            words = "look again at the pups below".into();
        }
        page.line(&format!("    {}{until}  ", page.clock(&round.at)), &format!("{}{words}", carer_words(round)));
    }
    // What is true of every round is said once.
    for (pup, because) in never {
        page.line("    ", &format!("In no round yet: {pup}: {because}"));
    }
    let feeds = || report.rounds.iter().flat_map(|r| &r.feeds);
    if feeds().any(|f| !f.only_after.is_empty()) {
        page.line("    ", "Each amount only after the checks that `whelpward today` names for that pup.");
    }
    if feeds().any(must_weigh_first) {
        page.line("    ", "* weigh first; if you cannot, not more than this.");
    }
}

fn options(page: &mut Page, report: &TimetableReport) {
    if report.options.is_empty() {
        return;
    }
    page.heading("OTHER PLANS");
    page.line("", "None of them is better than another in everything (work, wake-ups, longest gap, pups by tube); each keeps every gap and every stomach limit. After \"feeds\": the largest one of each pup, of what its stomach may have.");
    let mut said: Vec<String> = Vec::new();
    for (i, plan) in report.options.iter().enumerate() {
        let feeds = largest_feeds(plan);
        let same = said.iter().position(|s| *s == feeds);
        let words = same.map_or_else(|| feeds.clone(), |other| format!("as in plan {}", other + 1));
        option(page, &format!("{:>3}. ", i + 1), plan, &words);
        said.push(feeds);
    }
}

fn option(page: &mut Page, first: &str, plan: &OptionLine, feeds: &str) {
    page.line(first, &sentence(&figure_words(&plan.figures)));
    let indent = " ".repeat(first.chars().count());
    let mut words = Vec::new();
    let mut day = String::new();
    for at in &plan.round_times {
        let this_day = clock::day(instant(at), &page.zone);
        let time = page.clock(at);
        words.push(if this_day == day { time } else { format!("{this_day} {time}") });
        day = this_day;
    }
    page.line(&indent, &format!("Rounds: {}.", words.join(", ")));
    page.line(&indent, &format!("Feeds: {feeds}."));
}

fn largest_feeds(plan: &OptionLine) -> String {
    let feed = |f: &LargestFeed| {
        let how = if f.method == "tube" { " (tube)" } else { "" };
        format!("{} {} of {}{how}", f.pup, ml(f.amount_ml), ml(f.at_most_ml))
    };
    plan.largest_feeds.iter().map(feed).collect::<Vec<_>>().join("; ")
}

fn figure_words(f: &FiguresLine) -> String {
    let tube = match f.pups_fed_by_tube_to_save_time {
        0 => String::new(),
        1 => ", 1 pup by tube with a bottle round a day".into(),
        n => format!(", {n} pups by tube with a bottle round a day"),
    };
    format!(
        "{} rounds in {} days, {} of work a day, {}, longest gap {} h{tube}",
        f.rounds,
        f.days,
        work(f.hands_on_minutes_per_day),
        wake_ups(f.wake_ups),
        f.longest_gap_h
    )
}

fn work(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

fn wake_ups(count: u32) -> String {
    match count {
        0 => "nobody woken".into(),
        1 => "1 wake-up".into(),
        n => format!("{n} wake-ups"),
    }
}

fn times(count: usize) -> String {
    match count {
        1 => "once".into(),
        2 => "twice".into(),
        n => format!("{n} times"),
    }
}
