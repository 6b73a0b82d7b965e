//! Dates and times of a cell, as far as the cell alone settles them.

use jiff::Timestamp;
use jiff::civil::{Date, Time, Weekday};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// The order of day, month and year where all three are numbers and the year is not first in full.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DateOrder {
    DayFirst,
    MonthFirst,
    /// Two digits of the year first, as in 27-03-28.
    YearFirst,
}

impl DateOrder {
    pub const ALL: [Self; 3] = [Self::DayFirst, Self::MonthFirst, Self::YearFirst];

    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::DayFirst => "day first",
            Self::MonthFirst => "month first",
            Self::YearFirst => "year first",
        }
    }
}

/// A date as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum WrittenDate {
    /// ISO 8601, or with the month as a word.
    Certain(Date),
    /// Three numbers whose order the cell does not tell; the year may have four digits at the end.
    Numbers { first: i16, second: i16, third: i16, year_in_full: bool },
}

impl WrittenDate {
    /// The date in this order, if there is one.
    pub(super) fn read(self, order: DateOrder) -> Option<Date> {
        let (first, second, third, year_in_full) = match self {
            Self::Certain(date) => return Some(date),
            Self::Numbers { first, second, third, year_in_full } => (first, second, third, year_in_full),
        };
        let last = if year_in_full { third } else { 2000 + third };
        match order {
            DateOrder::DayFirst => date(last, second, first),
            DateOrder::MonthFirst => date(last, first, second),
            DateOrder::YearFirst if year_in_full => None,
            DateOrder::YearFirst => date(2000 + first, second, third),
        }
    }
}

/// A cell with a date, and what else it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Written {
    pub date: WrittenDate,
    pub time: Option<Time>,
    pub offset: Option<Offset>,
}

impl Written {
    /// Midnight beside a date, which is how many programs write a date alone.
    pub(super) fn is_at_midnight(&self) -> bool {
        self.time == Some(Time::midnight()) && self.offset.is_none()
    }
}

fn date(year: i16, month: i16, day: i16) -> Option<Date> {
    // The record takes the years 2000 to 2099; a slip such as 0203 must not become a date.
    if !(2000..2100).contains(&year) {
        return None;
    }
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// A date, or a date and time; nothing for anything else.
pub(super) fn written(text: &str) -> Option<Written> {
    let text = text.trim();
    if text.len() > 60 || !text.starts_with(char::is_alphanumeric) {
        return None;
    }
    let (date, rest) = match start_of_time(text) {
        Some(at) => (text[..at].trim_end_matches(['T', 't', ' ', ',', '\u{a0}']), &text[at..]),
        None => (text, ""),
    };
    let date = written_date(date)?;
    if rest.is_empty() {
        return Some(Written { date, time: None, offset: None });
    }
    let (time, offset) = split_offset(rest);
    let offset = match offset {
        Some(text) => Some(read_offset(text)?),
        None => None,
    };
    Some(Written { date, time: Some(time_of_day(time)?), offset })
}

/// Where the hour before the first colon begins, or the hour before a bare am or pm.
fn start_of_time(text: &str) -> Option<usize> {
    let digits_end = if let Some(colon) = text.find(':') {
        colon
    } else {
        let lower = text.to_ascii_lowercase();
        let bare = lower.strip_suffix("am").or_else(|| lower.strip_suffix("pm"))?;
        bare.trim_end().len()
    };
    let before = &text[..digits_end];
    let start = before.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    (start > 0 && start < digits_end).then_some(start)
}

fn split_offset(text: &str) -> (&str, Option<&str>) {
    match text.find(['+', '-', '−', 'Z', 'z']) {
        Some(at) => (text[..at].trim_end(), Some(&text[at..])),
        None => (text, None),
    }
}

fn read_offset(text: &str) -> Option<Offset> {
    if text.eq_ignore_ascii_case("z") {
        return Some(Offset::UTC);
    }
    let negative = !text.starts_with('+');
    let digits: String = text.chars().skip(1).filter(|c| *c != ':').collect();
    if !matches!(digits.len(), 2 | 4) || !digits.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    let hours: i32 = digits[..2].parse().ok()?;
    let minutes: i32 = digits[2..].parse().unwrap_or(0);
    if hours > 18 || minutes > 59 {
        return None;
    }
    let seconds = hours * 3600 + minutes * 60;
    Offset::from_seconds(if negative { -seconds } else { seconds }).ok()
}

/// A time of day: 3:15, 03:15:30, 3:15 pm, 3 pm, 03.15, 15.30 Uhr.
pub(super) fn time_of_day(text: &str) -> Option<Time> {
    let lower = text.trim().to_lowercase();
    let (clock, half) = if let Some(rest) = lower.strip_suffix("am").or_else(|| lower.strip_suffix("a.m.")) {
        (rest, Some(0))
    } else if let Some(rest) = lower.strip_suffix("pm").or_else(|| lower.strip_suffix("p.m.")) {
        (rest, Some(12))
    } else {
        (lower.strip_suffix("uhr").or_else(|| lower.strip_suffix('h')).unwrap_or(&lower), None)
    };
    let clock = clock.trim();
    let mark = if clock.contains(':') { ':' } else { '.' };
    let groups: Vec<&str> = clock.split(mark).collect();
    let is_number = |text: &&str, longest: usize| {
        !text.is_empty() && text.len() <= longest && text.chars().all(|c| c.is_ascii_digit())
    };
    let (hour, minute, second) = match groups[..] {
        [hour] if half.is_some() => (hour, "00", "00"),
        [hour, minute] => (hour, minute, "00"),
        // A fraction of a second of nought is how some programs export whole seconds.
        [hour, minute, second] if mark == ':' => {
            (hour, minute, second.strip_suffix(".000").or_else(|| second.strip_suffix(".0")).unwrap_or(second))
        }
        _ => return None,
    };
    if !is_number(&hour, 2)
        || minute.len() != 2
        || second.len() != 2
        || !is_number(&minute, 2)
        || !is_number(&second, 2)
    {
        return None;
    }
    let mut hour: i8 = hour.parse().ok()?;
    if let Some(half) = half {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + half;
    }
    Time::new(hour, minute.parse().ok()?, second.parse().ok()?, 0).ok()
}

fn written_date(text: &str) -> Option<WrittenDate> {
    let text = text.trim().trim_end_matches(',');
    if text.chars().any(char::is_alphabetic) {
        return with_month_word(text).map(WrittenDate::Certain);
    }
    let mark = text.chars().find(|c| matches!(c, '.' | '/' | '-'))?;
    let groups: Vec<&str> = text.split(mark).map(str::trim).collect();
    let [first, second, third] = groups[..] else { return None };
    let are_numbers = [first, second, third].iter().all(|g| !g.is_empty() && g.chars().all(|c| c.is_ascii_digit()));
    if !are_numbers || second.len() > 2 {
        return None;
    }
    let number = |text: &str| text.parse::<i16>().ok();
    match (first.len(), third.len()) {
        (4, 1 | 2) => date(number(first)?, number(second)?, number(third)?).map(WrittenDate::Certain),
        (1 | 2, 2 | 4) => {
            let date = WrittenDate::Numbers {
                first: number(first)?,
                second: number(second)?,
                third: number(third)?,
                year_in_full: third.len() == 4,
            };
            DateOrder::ALL.iter().any(|order| date.read(*order).is_some()).then_some(date)
        }
        _ => None,
    }
}

/// The first letters of the months in English and German; `ma` alone would be two of them.
const MONTHS: [&[&str]; 12] = [
    &["jan", "jän"],
    &["feb"],
    &["mar", "mär", "mrz", "mae"],
    &["apr"],
    &["may", "mai"],
    &["jun"],
    &["jul"],
    &["aug"],
    &["sep"],
    &["oct", "okt"],
    &["nov"],
    &["dec", "dez"],
];
const MONTH_NAMES: [&[&str]; 12] = [
    &["january", "januar", "jänner"],
    &["february", "februar"],
    &["march", "märz", "maerz"],
    &["april"],
    &["may", "mai"],
    &["june", "juni"],
    &["july", "juli"],
    &["august"],
    &["september", "sept"],
    &["october", "oktober"],
    &["november"],
    &["december", "dezember"],
];
const WEEKDAYS: [(&[&str], Weekday); 7] = [
    (&["mon", "monday", "mo", "montag"], Weekday::Monday),
    (&["tue", "tues", "tuesday", "di", "dienstag"], Weekday::Tuesday),
    (&["wed", "wednesday", "mi", "mittwoch"], Weekday::Wednesday),
    (&["thu", "thur", "thurs", "thursday", "do", "donnerstag"], Weekday::Thursday),
    (&["fri", "friday", "fr", "freitag"], Weekday::Friday),
    (&["sat", "saturday", "sa", "samstag", "sonnabend"], Weekday::Saturday),
    (&["sun", "sunday", "so", "sonntag"], Weekday::Sunday),
];

fn month(word: &str) -> Option<i16> {
    let is = |row: &&[&str]| row.contains(&word);
    let place = MONTHS.iter().position(is).or_else(|| MONTH_NAMES.iter().position(is))?;
    i16::try_from(place + 1).ok()
}

fn with_month_word(text: &str) -> Option<Date> {
    let lower = text.to_lowercase();
    let mut words: Vec<&str> =
        lower.split([' ', '\u{a0}', '.', ',', '-', '/']).map(str::trim).filter(|w| !w.is_empty()).collect();
    let weekday = words.first().and_then(|w| WEEKDAYS.iter().find(|(names, _)| names.contains(w))).map(|row| row.1);
    if weekday.is_some() {
        words.remove(0);
    }
    // "3rd" and "21st" are days; the ending must be its own.
    let number = |word: &str| -> Option<i16> {
        let digits = ["st", "nd", "rd", "th"].iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
        digits.chars().all(|c| c.is_ascii_digit()).then(|| digits.parse().ok())?
    };
    let is_year = |word: &str| word.len() == 4;
    let [a, b, c] = words[..] else { return None };
    let year = |word: &str| {
        let value = number(word)?;
        match word.len() {
            4 => Some(value),
            2 => Some(2000 + value),
            _ => None,
        }
    };
    let found = match (month(a), month(b)) {
        (_, Some(month)) if is_year(a) => date(number(a)?, month, number(c)?)?,
        (_, Some(month)) => date(year(c)?, month, number(a)?)?,
        (Some(month), None) => date(year(c)?, month, number(b)?)?,
        (None, None) => return None,
    };
    weekday.is_none_or(|day| found.weekday() == day).then_some(found)
}

/// The instant of a local time, with the text that the folder format wants.
///
/// # Errors
/// What was found and what is allowed: at a change of the clocks both offsets are named.
pub(super) fn instant(
    date: Date,
    time: Time,
    offset: Option<Offset>,
    zone: &TimeZone,
) -> Result<(Timestamp, String), (String, String)> {
    let local = date.to_datetime(time);
    let with = |offset: Offset| offset.to_timestamp(local).ok();
    let shown = |offset: Offset| iso(local.date(), local.time(), offset);
    let outside = || (format!("{local}"), "a time between the years 2000 and 2100".to_owned());
    if let Some(offset) = offset {
        let at = with(offset).ok_or_else(outside)?;
        return Ok((at, iso_at(at, zone)));
    }
    match zone.to_ambiguous_timestamp(local).offset() {
        AmbiguousOffset::Unambiguous { offset } => Ok((with(offset).ok_or_else(outside)?, shown(offset))),
        AmbiguousOffset::Gap { before, after } => {
            let show = |offset| with(offset).map(|at| iso_at(at, zone)).unwrap_or_default();
            Err((
                format!(
                    "{}, a time that the clocks skip (from {} to {})",
                    plain(date, time),
                    offset_text(before),
                    offset_text(after)
                ),
                format!("a time that exists: {} or {}, for example", show(after), show(before)),
            ))
        }
        AmbiguousOffset::Fold { before, after } => Err((
            format!(
                "{}, a time that occurs twice (with {} and again with {})",
                plain(date, time),
                offset_text(before),
                offset_text(after)
            ),
            format!("one of the two, with its offset: {} or {}", shown(before), shown(after)),
        )),
    }
}

/// An instant as the folder format wants it, with the zone's offset.
pub(super) fn iso_at(at: Timestamp, zone: &TimeZone) -> String {
    let local = zone.to_datetime(at);
    iso(local.date(), local.time(), zone.to_offset(at))
}

/// `2026-11-20T03:15+01:00`, with seconds only where there are some.
fn iso(date: Date, time: Time, offset: Offset) -> String {
    format!("{}{}", plain(date, time), offset_text(offset))
}

fn offset_text(offset: Offset) -> String {
    let minutes = offset.seconds().abs() / 60;
    let sign = if offset.seconds() < 0 { '-' } else { '+' };
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}

fn plain(date: Date, time: Time) -> String {
    let (hour, minute, second) = (time.hour(), time.minute(), time.second());
    if second == 0 {
        format!("{date}T{hour:02}:{minute:02}")
    } else {
        format!("{date}T{hour:02}:{minute:02}:{second:02}")
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};

    use super::*;

    fn certain(text: &str) -> Option<(Date, Option<Time>)> {
        match written(text)? {
            Written { date: WrittenDate::Certain(date), time, .. } => Some((date, time)),
            Written { .. } => None,
        }
    }

    #[test]
    fn dates_that_settle_themselves() {
        let day = date(2027, 3, 28);
        for text in [
            "2027-03-28",
            "2027/3/28",
            "2027.03.28",
            "28 Mar 2027",
            "28-Mar-27",
            "28. März 2027",
            "Mar 28, 2027",
            "March 28th 2027",
            "Sunday, 28 March 2027",
            "So, 28. Mrz. 2027",
            "2027 Mar 28",
        ] {
            assert_eq!(certain(text), Some((day, None)), "{text}");
        }
        for text in [
            "2027-03-28T03:15",
            "2027-03-28 03:15:00",
            "28 Mar 2027 3:15 am",
            "28-Mar-27, 3:15",
            "2027-03-28 03:15:00.000",
        ] {
            assert_eq!(certain(text), Some((day, Some(time(3, 15, 0, 0)))), "{text}");
        }
        for text in [
            "2027-02-30",
            "28 Mar",
            "Sat 28 Mar 2027",
            "0027-03-28",
            "1999-12-31",
            "46109",
            "46109.5",
            "310",
            "310.5",
            "3:15",
            "28.03.",
            "2027-03",
            "Ash",
            "28/03-2027",
            "1.2.3.4",
            "",
            "-",
            "2027-03-28 25:00",
            "2027-03-28T24:00",
            "12.345.678",
        ] {
            assert_eq!(written(text), None, "{text}");
        }
    }

    #[test]
    fn three_numbers_are_read_only_in_a_given_order() {
        let read = |text: &str, order| written(text).and_then(|w| w.date.read(order));
        assert_eq!(read("03/04/27", DateOrder::DayFirst), Some(date(2027, 4, 3)));
        assert_eq!(read("03/04/27", DateOrder::MonthFirst), Some(date(2027, 3, 4)));
        assert_eq!(read("03/04/27", DateOrder::YearFirst), Some(date(2003, 4, 27)));
        assert_eq!(read("28.3.2027", DateOrder::DayFirst), Some(date(2027, 3, 28)));
        assert_eq!(read("28.3.2027", DateOrder::MonthFirst), None);
        assert_eq!(read("28.3.2027", DateOrder::YearFirst), None);
    }

    #[test]
    fn times_of_day() {
        for (text, expected) in [
            ("3:15", (3, 15, 0)),
            ("03:15:30", (3, 15, 30)),
            ("3:15 PM", (15, 15, 0)),
            ("12:15 am", (0, 15, 0)),
            ("12:15 p.m.", (12, 15, 0)),
            ("3 pm", (15, 0, 0)),
            ("15.30 Uhr", (15, 30, 0)),
            ("7:05h", (7, 5, 0)),
        ] {
            assert_eq!(time_of_day(text), Some(time(expected.0, expected.1, expected.2, 0)), "{text}");
        }
        for text in ["24:00", "3:5", "13:00 pm", "0:15 am", "3", "315", "3:15:5", "3:60", "x", "", "3.5", ":15"] {
            assert_eq!(time_of_day(text), None, "{text}");
        }
    }
}
