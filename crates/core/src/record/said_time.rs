//! A time as a person says it: a time of day, a date with one, or a whole time with its offset.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use thiserror::Error;

/// Which day a time of day without a date means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nearest {
    /// The last time at which the clock showed it; for what has happened.
    Last,
    /// The next time at which the clock will show it; for what is planned.
    Next,
}

/// Why a text is no time; each says what is allowed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TimeTrouble {
    #[error("a time of day such as 03:15, a date too as in 2026-11-20 03:15, or 2026-11-20T03:15+01:00")]
    Unread,
    #[error("the clocks changed, so {0} was never shown or was shown twice: give the offset too, as in {0}+01:00")]
    ClocksChanged(DateTime),
}

/// A clock that is a little fast has not gone back to yesterday.
const FAST_CLOCK: SignedDuration = SignedDuration::from_mins(5);

/// Reads `03:15`, `0315`, `2026-11-20 03:15` or `2026-11-20T03:15+01:00`; a local time is one of `zone`.
///
/// # Errors
/// [`TimeTrouble`], where the text is none, or where the clocks of `zone` changed over that time.
pub fn read_said_time(text: &str, nearest: Nearest, now: Timestamp, zone: &TimeZone) -> Result<Timestamp, TimeTrouble> {
    let text = text.trim();
    if let Ok(at) = text.parse::<Timestamp>() {
        return Ok(at);
    }
    let (date, clock) = match text.split_once([' ', 'T']) {
        Some((date, clock)) => (Some(date.parse::<Date>().map_err(|_| TimeTrouble::Unread)?), clock),
        None => (None, text),
    };
    let time = time_of_day(clock).ok_or(TimeTrouble::Unread)?;
    let on = |date: Date| {
        let local = date.to_datetime(time);
        zone.to_ambiguous_timestamp(local).unambiguous().map_err(|_| TimeTrouble::ClocksChanged(local))
    };
    if let Some(date) = date {
        return on(date);
    }
    let today = now.to_zoned_datetime(zone.clone()).date();
    let neighbour = |day: Result<Date, jiff::Error>| day.map_err(|_| TimeTrouble::Unread).and_then(on);
    let found = on(today)?;
    match nearest {
        Nearest::Last if found.duration_since(now) > FAST_CLOCK => neighbour(today.yesterday()),
        Nearest::Next if found <= now => neighbour(today.tomorrow()),
        Nearest::Last | Nearest::Next => Ok(found),
    }
}

/// `03:15`, `3:15` or `0315`.
#[must_use]
pub fn time_of_day(text: &str) -> Option<Time> {
    let is_bare = text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit());
    let format = if is_bare { "%H%M" } else { "%H:%M" };
    Time::strptime(format, text).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, nearest: Nearest, now: &str) -> Result<String, TimeTrouble> {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        read_said_time(text, nearest, now.parse().unwrap(), &berlin).map(|t| t.to_string())
    }

    #[test]
    fn what_has_happened_is_the_last_one() {
        for (text, now, expected) in [
            ("03:15", "2026-11-20T04:00+01:00", "2026-11-20T02:15:00Z"),
            ("0315", "2026-11-20T04:00+01:00", "2026-11-20T02:15:00Z"),
            ("23:50", "2026-11-20T00:10+01:00", "2026-11-19T22:50:00Z"),
            ("04:04", "2026-11-20T04:00+01:00", "2026-11-20T03:04:00Z"),
            ("04:06", "2026-11-20T04:00+01:00", "2026-11-19T03:06:00Z"),
            ("2026-11-18 03:15", "2026-11-20T04:00+01:00", "2026-11-18T02:15:00Z"),
            ("2026-11-20T03:15+01:00", "2026-11-20T04:00+01:00", "2026-11-20T02:15:00Z"),
        ] {
            assert_eq!(at(text, Nearest::Last, now).as_deref(), Ok(expected), "{text} at {now}");
        }
    }

    #[test]
    fn what_is_planned_is_the_next_one() {
        for (text, now, expected) in [
            ("03:15", "2026-11-20T04:00+01:00", "2026-11-21T02:15:00Z"),
            ("05:00", "2026-11-20T04:00+01:00", "2026-11-20T04:00:00Z"),
        ] {
            assert_eq!(at(text, Nearest::Next, now).as_deref(), Ok(expected), "{text} at {now}");
        }
    }

    #[test]
    fn a_time_shown_twice_or_never_needs_its_offset() {
        for (text, now) in [
            ("02:30", "2027-10-31T08:00+01:00"),
            ("02:30", "2027-03-28T08:00+02:00"),
            ("2027-10-31 02:30", "2027-11-02T08:00+01:00"),
        ] {
            assert!(matches!(at(text, Nearest::Last, now), Err(TimeTrouble::ClocksChanged(_))), "{text} at {now}");
        }
        // With its offset it is one of the two.
        assert_eq!(
            at("2027-10-31T02:30+02:00", Nearest::Last, "2027-10-31T08:00+01:00").as_deref(),
            Ok("2027-10-31T00:30:00Z")
        );
    }

    #[test]
    fn anything_else_is_refused_and_never_repaired() {
        for text in ["", "3 am", "24:00", "03:60", "315", "03:15:xx", "2026-02-30 03:15", "20.11.2026 03:15"] {
            assert_eq!(at(text, Nearest::Last, "2026-11-20T04:00+01:00"), Err(TimeTrouble::Unread), "{text:?}");
        }
    }
}
