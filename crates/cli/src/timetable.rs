//! The timetable as text, within 80 columns.

use std::path::PathBuf;

use jiff::tz::TimeZone;
use whelpward_core::report::clock;
use whelpward_core::report::timetable::{FiguresLine, OptionLine, TimetableReport};

use crate::today::{Page, carer_words, instant, ml, round_words, sentence};

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
    page.blank();
    if report.rounds.is_empty() {
        page.line("", "No pup is fed by hand: no rounds.");
    }
    if let Some(trouble) = &report.trouble {
        page.trouble(trouble);
        page.blank();
    }
    rounds(&mut page, report);
    if let Some(figures) = &report.figures {
        page.blank();
        page.line("", &sentence(&figure_words(figures)));
        let woken: Vec<String> = report.wake_ups.iter().map(|w| format!("{} {} times", w.carer, w.times)).collect();
        if !woken.is_empty() {
            page.line("", &format!("Woken: {}.", woken.join(", ")));
        }
    }
    if !report.is_planned_for_carers && !report.rounds.is_empty() {
        page.blank();
        page.line("", "Equal intervals, because no carer's hours are written down. With available and sleeps in the [[carer]] sections of litter.toml the rounds are fitted to them.");
    }
    options(&mut page, report);
    if let Some(sleep) = &report.sleep_through {
        page.heading("SLEEPING THROUGH A FEED");
        let answer = if sleep.is_allowed { "possible" } else { "no" };
        let at = clock::date_and_clock(instant(&sleep.at), &page.zone);
        page.line("    ", &sentence(&format!("{at}: {answer}; {}", sleep.because.join("; "))));
        if let Some(instead) = &sleep.instead {
            option(&mut page, "    Then: ", instead);
        }
    }
    for file in written {
        page.line("", &format!("Written: {}", file.display()));
    }
    page.blank();
    page.line("", &report.caution);
    page.out
}

fn rounds(page: &mut Page, report: &TimetableReport) {
    let mut day = String::new();
    for round in &report.rounds {
        let at = instant(&round.at);
        let this_day = clock::day(at, &page.zone);
        if this_day != day {
            page.line("", &this_day);
            day = this_day;
        }
        let until = round.until.as_ref().map_or(String::new(), |u| format!(" to {}", page.clock(u)));
        page.line(
            &format!("    {}{until}  ", page.clock(&round.at)),
            &format!("{}{}", carer_words(round), round_words(round)),
        );
    }
    if report.rounds.iter().flat_map(|r| &r.feeds).any(|f| !f.only_after.is_empty()) {
        page.line("    ", "Each amount only after the checks that `whelpward today` names for that pup. * weigh first; if you cannot, not more than this.");
    }
}

fn options(page: &mut Page, report: &TimetableReport) {
    if report.options.is_empty() {
        return;
    }
    page.heading("OTHER PLANS");
    page.line("", "None of them is better than another in everything; each keeps every gap and every stomach limit.");
    for (i, plan) in report.options.iter().enumerate() {
        option(page, &format!("{:>3}. ", i + 1), plan);
    }
}

fn option(page: &mut Page, first: &str, plan: &OptionLine) {
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
    let feeds: Vec<String> = plan
        .largest_feeds
        .iter()
        .map(|f| {
            format!(
                "{} {} of {}{}",
                f.pup,
                ml(f.amount_ml),
                ml(f.at_most_ml),
                if f.method == "tube" { " (tube)" } else { "" }
            )
        })
        .collect();
    page.line(&indent, &format!("Largest feed of what the stomach may have: {}.", feeds.join("; ")));
}

fn figure_words(f: &FiguresLine) -> String {
    let tube = match f.pups_fed_by_tube_to_save_time {
        0 => String::new(),
        n => format!(", {n} pups by tube with a bottle round a day"),
    };
    format!(
        "{} rounds in {} days, {} min of work a day, {} wake-ups, longest gap {} h{tube}",
        f.rounds, f.days, f.hands_on_minutes_per_day, f.wake_ups, f.longest_gap_h
    )
}
