//! Calendar files (RFC 5545) as text, one for each carer, written by hand: a feed is an event of
//! two lines of thought, and a library would bring its own clock.
//!
//! Every feed is one event in UTC, without a rule of repetition, so that no change of the
//! clocks can stretch a gap. The summary says only how many pups; amounts come from checked
//! instructions and stand in the description only when asked for. A file that was made before
//! is read for its identifiers: what changed gets a higher sequence, what is gone from
//! the plan is marked as cancelled.
//!
//! Dates without a time (worming, going home) are all-day events that ring in the morning.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use super::RoundLine;
use super::stages::{ItemLine, StagesReport};
use super::timetable::TimetableReport;
use crate::units::{Millilitres, format_quantity};

/// How long a round that is over stays in the file.
const KEPT_H: i64 = 7 * 24;

/// One event as its lines that matter for change, with what stands around them.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Event {
    uid: String,
    sequence: u32,
    is_cancelled: bool,
    start: String,
    end: Option<String>,
    summary: String,
    description: Option<String>,
}

impl Event {
    /// Its start is a day without a time.
    fn is_all_day(&self) -> bool {
        !self.start.contains('T')
    }
}

/// Everyone for whom there is a file, by name; also a carer who is on no round, because what was
/// planned before must be cancelled there. Empty where nobody is named.
#[must_use]
pub fn carers(report: &TimetableReport) -> Vec<&str> {
    let on_rounds = report.rounds.iter().flat_map(|r| &r.carers).map(|c| c.carer.as_str());
    let mut carers: Vec<&str> = on_rounds.chain(report.carers.iter().map(String::as_str)).collect();
    carers.sort_unstable();
    carers.dedup();
    carers
}

/// The rounds with a feed that this carer is called to, in order of time; `None`: all of them. A
/// round that has no carer is everyone's.
pub fn rounds_of<'a>(report: &'a TimetableReport, carer: Option<&str>) -> impl Iterator<Item = &'a RoundLine> {
    let is_on = move |r: &&RoundLine| match carer {
        Some(name) => r.carers.is_empty() || r.carers.iter().any(|c| c.carer == name),
        None => true,
    };
    report.rounds.iter().filter(is_on).filter(|r| !r.feeds.is_empty())
}

/// The feeds of one carer, or of everyone. `before` is the text of the file that was made the last
/// time, empty where there is none.
#[must_use]
pub fn feeds(report: &TimetableReport, carer: Option<&str>, with_amounts: bool, before: &str) -> String {
    let planned = rounds_of(report, carer).map(|r| event(report, r, carer, with_amounts)).collect();
    let now = instant(&report.at);
    calendar(&renewed(planned, events_of(before), now), now)
}

/// The dates of the stages, the same for each carer; `before` as for [`feeds`].
#[must_use]
pub fn dates(report: &StagesReport, carer: Option<&str>, before: &str) -> String {
    let now = instant(&report.at);
    calendar(&renewed(date_events(report, carer), events_of(before), now), now)
}

/// `feeds-Robin.ics`: letters and digits of the name, a dash for everything else.
#[must_use]
pub fn file_name(about: &str, carer: Option<&str>) -> String {
    let plain: String =
        carer.unwrap_or("everyone").chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    format!("{about}-{plain}.ics")
}

/// A file for each carer, or one for everyone; two names that differ in a mark alone get a number.
#[must_use]
pub fn files<'a>(about: &str, carers: &[&'a str]) -> Vec<(Option<&'a str>, String)> {
    let whose = if carers.is_empty() { vec![None] } else { carers.iter().map(|c| Some(*c)).collect() };
    let mut named: Vec<(Option<&str>, String)> = Vec::new();
    for carer in whose {
        let name = file_name(about, carer);
        let stem = name.trim_end_matches(".ics");
        let numbered = (2..).map(|number| format!("{stem}-{number}.ics"));
        let is_free = |name: &String| named.iter().all(|(_, taken)| taken != name);
        let free = std::iter::once(name.clone()).chain(numbered).find(is_free).unwrap_or_default();
        named.push((carer, free));
    }
    named
}

/// What is to come of the dates, one event for a day and a thing. How many pups, never which: names
/// do not leave the house.
fn date_events(report: &StagesReport, carer: Option<&str>) -> Vec<Event> {
    let mut by_day: BTreeMap<(String, String), (String, usize, bool)> = BTreeMap::new();
    let items = report.pups.iter().flat_map(|p| p.items.iter().map(|i| (i, false)));
    for (item, is_dam) in items.chain(report.dam.iter().map(|i| (i, true))) {
        let Some(from) = item.from.as_ref().filter(|_| belongs_into_a_calendar(item, &report.today)) else { continue };
        let of_day = by_day.entry((from.clone(), item.code.clone()));
        let (_, pups, dam) = of_day.or_insert_with(|| (item.title.clone(), 0, false));
        *pups += usize::from(!is_dam);
        *dam |= is_dam;
    }
    let homes = report.pups.iter().map(|p| p.home.planned.as_ref().unwrap_or(&p.home.earliest));
    for day in homes.filter(|day| **day >= report.today) {
        let of_day = by_day.entry((day.clone(), "home".into()));
        of_day.or_insert_with(|| ("going home, if the vet and the law agree".into(), 0, false)).1 += 1;
    }
    let whose = hash(&format!("{}\u{0}{}", report.litter, carer.unwrap_or_default()));
    let events = by_day.into_iter().filter_map(|((day, code), (title, pups, dam))| {
        let day: Date = day.parse().ok()?;
        let start = day.strftime("%Y%m%d").to_string();
        let who = match (pups, dam) {
            (0, _) => "the dam".to_owned(),
            (1, false) => "1 pup".to_owned(),
            (n, false) => format!("{n} pups"),
            (1, true) => "1 pup and the dam".to_owned(),
            (n, true) => format!("{n} pups and the dam"),
        };
        Some(Event {
            uid: format!("date-{code}-{start}-{whose:016x}@whelpward"),
            sequence: 0,
            is_cancelled: false,
            end: Some(day.tomorrow().ok()?.strftime("%Y%m%d").to_string()),
            start,
            summary: format!("{}: {who}", capital(&title)),
            description: invented(report.example_note.as_deref()),
        })
    });
    events.collect()
}

/// Something to do on a day that is still to come or whose window is open.
fn belongs_into_a_calendar(item: &ItemLine, today: &str) -> bool {
    let is_open = matches!(item.state.as_str(), "coming" | "due");
    // Every week, or all the time: no entry of a calendar.
    let is_a_habit = matches!(item.code.as_str(), "nails" | "socialising");
    let is_to_do = item.record_as.is_some() && !item.is_milestone && !is_a_habit;
    is_open && is_to_do && item.to.as_deref().is_none_or(|to| to >= today)
}

fn event(report: &TimetableReport, round: &RoundLine, carer: Option<&str>, with_amounts: bool) -> Event {
    let start = utc(instant(&round.at));
    // The names of litter and carer do not leave the house in an identifier.
    let whose = hash(&format!("{}\u{0}{}", report.litter, carer.unwrap_or_default()));
    let pups = round.feeds.len();
    let mut lines: Vec<String> = invented(report.example_note.as_deref()).into_iter().collect();
    if with_amounts {
        lines.extend(round.feeds.iter().map(|f| {
            let check = if f.only_after.is_empty() {
                String::new()
            } else {
                format!(", only after you have checked: {}", f.only_after.join(", "))
            };
            let words =
                format!("{}: {} by {}, never more than {}{check}", f.pup, ml(f.amount_ml), f.method, ml(f.at_most_ml));
            words.replace('\u{a0}', " ")
        }));
    }
    Event {
        uid: format!("feed-{start}-{whose:016x}@whelpward"),
        sequence: 0,
        is_cancelled: false,
        end: round.until.as_ref().map(|u| utc(instant(u))),
        start,
        summary: format!("Feed: {pups} {}", if pups == 1 { "pup" } else { "pups" }),
        description: (!lines.is_empty()).then(|| lines.join("\n")),
    }
}

/// An invented litter says so in every event, wherever the file ends up.
fn invented(note: Option<&str>) -> Option<String> {
    note.map(|note| format!("INVENTED EXAMPLE: {note}"))
}

/// The new events with their sequence, those that were to come and no longer are, and those of
/// the last week as they were: done rounds stay.
fn renewed(mut planned: Vec<Event>, before: Vec<Event>, now: Timestamp) -> Vec<Event> {
    let mut known: BTreeMap<String, Event> = before.into_iter().map(|e| (e.uid.clone(), e)).collect();
    for event in &mut planned {
        if let Some(old) = known.remove(&event.uid) {
            event.sequence = old.sequence;
            if *event != old {
                event.sequence += 1;
            }
        }
    }
    let week_ago = utc(now - SignedDuration::from_hours(KEPT_H));
    let now = utc(now);
    for (_, old) in known {
        if old.start <= now {
            planned.extend((old.start > week_ago).then_some(old));
        } else {
            let sequence = old.sequence + u32::from(!old.is_cancelled);
            planned.push(Event { sequence, is_cancelled: true, ..old });
        }
    }
    planned.sort_by(|a, b| (&a.start, &a.uid).cmp(&(&b.start, &b.uid)));
    planned
}

fn calendar(events: &[Event], now: Timestamp) -> String {
    let mut out = String::new();
    let mut line = |text: &str| fold(text, &mut out);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//whelpward//timetable//EN");
    for event in events {
        line("BEGIN:VEVENT");
        line(&format!("UID:{}", event.uid));
        line(&format!("DTSTAMP:{}", utc(now)));
        line(&format!("SEQUENCE:{}", event.sequence));
        let value = if event.is_all_day() { ";VALUE=DATE" } else { "" };
        line(&format!("DTSTART{value}:{}", event.start));
        if let Some(end) = &event.end {
            line(&format!("DTEND{value}:{end}"));
        }
        line(&format!("SUMMARY:{}", escape(&event.summary)));
        if let Some(description) = &event.description {
            line(&format!("DESCRIPTION:{}", escape(description)));
        }
        if event.is_cancelled {
            line("STATUS:CANCELLED");
        } else {
            let of_feed: &[(&str, &str)] = &[("-PT10M", "Feed in 10 minutes"), ("PT0S", "Feed now")];
            let of_day: &[(&str, &str)] = &[("PT9H", &escape(&event.summary))];
            for (trigger, text) in if event.is_all_day() { of_day } else { of_feed } {
                line("BEGIN:VALARM");
                line("ACTION:DISPLAY");
                line(&format!("DESCRIPTION:{text}"));
                line(&format!("TRIGGER:{trigger}"));
                line("END:VALARM");
            }
        }
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out
}

/// Folds at 75 octets without splitting a character, with CRLF.
fn fold(text: &str, out: &mut String) {
    let mut octets = 0;
    for c in text.chars() {
        if octets + c.len_utf8() > 75 {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(c);
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
}

fn escape(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

fn unescape(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        match (c, c == '\\') {
            (_, true) => out.extend(chars.next().map(|n| if n == 'n' || n == 'N' { '\n' } else { n })),
            (c, false) => out.push(c),
        }
    }
    out
}

/// The events of a file that was written before; what is not ours is left out.
fn events_of(text: &str) -> Vec<Event> {
    let unfolded = text.replace("\r\n ", "").replace("\n ", "");
    let mut events = Vec::new();
    for block in unfolded.split("BEGIN:VEVENT").skip(1) {
        // The alarms have a description of their own.
        let own = block.split("BEGIN:VALARM").next().unwrap_or(block);
        let value = |name: &str| {
            let after = |l: &'_ str| {
                let rest = l.strip_prefix(name)?;
                rest.strip_prefix(";VALUE=DATE").unwrap_or(rest).strip_prefix(':').map(str::to_owned)
            };
            own.lines().find_map(after)
        };
        let (Some(uid), Some(start), Some(summary)) = (value("UID"), value("DTSTART"), value("SUMMARY")) else {
            continue;
        };
        events.push(Event {
            uid,
            sequence: value("SEQUENCE").and_then(|s| s.parse().ok()).unwrap_or(0),
            is_cancelled: value("STATUS").as_deref() == Some("CANCELLED"),
            start,
            end: value("DTEND"),
            summary: unescape(&summary),
            description: value("DESCRIPTION").map(|d| unescape(&d)),
        });
    }
    events
}

/// A report writes nothing but ISO 8601.
fn instant(iso: &str) -> Timestamp {
    iso.parse().unwrap_or_default()
}

fn ml(value: f64) -> String {
    format_quantity(value, &Millilitres::ROW)
}

fn capital(text: &str) -> String {
    let mut chars = text.trim_end_matches('.').chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn utc(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// FNV-1a, 64 bits: the same in every version of the program.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(uid: &str, start: &str, summary: &str) -> Event {
        Event {
            uid: uid.into(),
            sequence: 0,
            is_cancelled: false,
            start: start.into(),
            end: None,
            summary: summary.into(),
            description: Some("ä, b; c\\d\ne".into()),
        }
    }

    #[test]
    fn lines_fold_at_75_octets_and_split_no_character() {
        let mut out = String::new();
        fold(&format!("SUMMARY:{}", "ö".repeat(100)), &mut out);
        assert!(out.ends_with("\r\n"));
        for line in out.split("\r\n") {
            assert!(line.len() <= 75, "{} octets", line.len());
        }
        assert_eq!(out.replace("\r\n ", "").trim_end(), format!("SUMMARY:{}", "ö".repeat(100)));
    }

    #[test]
    fn a_file_is_read_back_as_it_was_written() {
        let events =
            vec![event("a", "20270328T020000Z", "Feed: 3 pups"), event("b", "20270328T050000Z", &"x".repeat(90))];
        assert_eq!(events_of(&calendar(&events, "2027-03-27T18:00Z".parse().unwrap())), events);
    }

    #[test]
    fn a_day_without_a_time_is_all_day_and_rings_in_the_morning() {
        let day = Event { end: Some("20270329".into()), ..event("d", "20270328", "Worming: 3 pups, and the dam") };
        let text = calendar(std::slice::from_ref(&day), "2027-03-27T18:00Z".parse().unwrap());
        for line in ["DTSTART;VALUE=DATE:20270328", "DTEND;VALUE=DATE:20270329", "TRIGGER:PT9H"] {
            assert!(text.contains(&format!("\r\n{line}\r\n")), "{line}: {text}");
        }
        assert!(!text.contains("Feed now"));
        assert_eq!(events_of(&text), [day]);
    }

    #[test]
    fn a_change_raises_the_sequence_and_a_removed_feed_is_cancelled() {
        let now: Timestamp = "2027-03-27T18:00Z".parse().unwrap();
        let old = vec![
            event("a", "20270328T020000Z", "Feed: 3 pups"),
            event("b", "20270328T050000Z", "Feed: 3 pups"),
            event("done", "20270327T170000Z", "Feed: 3 pups"),
            event("long past", "20270320T170000Z", "Feed: 3 pups"),
        ];
        let new = vec![event("a", "20270328T020000Z", "Feed: 2 pups"), event("c", "20270328T060000Z", "Feed: 3 pups")];
        let renewed = renewed(new.clone(), old, now);
        let seen: Vec<(&str, u32, bool)> =
            renewed.iter().map(|e| (e.uid.as_str(), e.sequence, e.is_cancelled)).collect();
        assert_eq!(seen, [("done", 0, false), ("a", 1, false), ("b", 1, true), ("c", 0, false)], "done rounds stay");
        let again = super::renewed(new, renewed.clone(), now);
        assert_eq!(again, renewed, "writing the same plan again changes nothing");
    }
}
