//! Hours of a week as a household writes them: `Mon-Fri 17:30-22:00`, `daily 23:00-06:00`.
//!
//! Local wall-clock time. A stretch that ends at or before its start ends on the next day.

use jiff::Timestamp;
use jiff::civil::Weekday;
use jiff::tz::TimeZone;

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const MINUTES_OF_DAY: u16 = 24 * 60;

/// One stretch of the days of a week.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Stretch {
    /// Days on which it begins, Monday first.
    days: [bool; 7],
    from: u16,
    /// Up to, not with; over 24 h when it ends on the next day.
    to: u16,
}

/// Any number of stretches.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WeeklyHours(Vec<Stretch>);

impl WeeklyHours {
    /// Reads each text; none when one is not of the form.
    #[must_use]
    pub fn parse<'t>(texts: impl IntoIterator<Item = &'t str>) -> Option<Self> {
        texts.into_iter().map(stretch).collect::<Option<Vec<_>>>().map(Self)
    }

    /// Whether an instant lies in one of the stretches, by the clocks of a zone.
    #[must_use]
    pub fn contains(&self, at: Timestamp, zone: &TimeZone) -> bool {
        let local = at.to_zoned_datetime(zone.clone());
        let day = day_index(local.weekday());
        let minute = u16::from(local.hour().unsigned_abs()) * 60 + u16::from(local.minute().unsigned_abs());
        self.0.iter().any(|s| {
            let is_today = s.days[day] && (s.from..s.to).contains(&minute);
            let since_yesterday = minute + MINUTES_OF_DAY;
            is_today || (s.days[(day + 6) % 7] && (s.from..s.to).contains(&since_yesterday))
        })
    }
}

fn day_index(day: Weekday) -> usize {
    usize::from(day.to_monday_zero_offset().unsigned_abs())
}

fn stretch(text: &str) -> Option<Stretch> {
    let (days, times) = text.trim().split_once(' ')?;
    let (from, to) = times.trim().split_once('-')?;
    let (from, to) = (minute(from)?, minute(to)?);
    if from == MINUTES_OF_DAY {
        return None;
    }
    let to = if to <= from { to + MINUTES_OF_DAY } else { to };
    Some(Stretch { days: weekdays(days)?, from, to })
}

fn weekdays(text: &str) -> Option<[bool; 7]> {
    let text = text.to_ascii_lowercase();
    if text == "daily" {
        return Some([true; 7]);
    }
    let mut days = [false; 7];
    let index = |name: &str| DAYS.iter().position(|d| *d == name);
    for part in text.split(',') {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let (first, last) = (index(first)?, index(last)?);
        let count = (last + 7 - first) % 7;
        (0..=count).for_each(|i| days[(first + i) % 7] = true);
    }
    Some(days)
}

fn minute(text: &str) -> Option<u16> {
    let (hour, minute) = text.trim().split_once(':')?;
    if minute.len() != 2 || hour.is_empty() || hour.len() > 2 {
        return None;
    }
    let (hour, minute): (u16, u16) = (hour.parse().ok()?, minute.parse().ok()?);
    let is_a_time = minute < 60 && (hour < 24 || (hour == 24 && minute == 0));
    is_a_time.then_some(hour * 60 + minute)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(hours: &str, at: &str) -> bool {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        WeeklyHours::parse([hours]).unwrap().contains(at.parse().unwrap(), &berlin)
    }

    #[test]
    fn a_stretch_holds_its_start_and_not_its_end() {
        // 20 November 2026 is a Friday; Berlin is an hour ahead of UTC.
        assert!(holds("Mon-Fri 17:30-22:00", "2026-11-20T16:30Z"));
        assert!(!holds("Mon-Fri 17:30-22:00", "2026-11-20T16:29Z"));
        assert!(!holds("Mon-Fri 17:30-22:00", "2026-11-20T21:00Z"));
        assert!(!holds("Mon-Fri 17:30-22:00", "2026-11-21T17:00Z"), "a Saturday");
        assert!(holds("Sat,Sun 00:00-24:00", "2026-11-21T22:59Z"));
        assert!(holds("Fri-Mon 08:00-09:00", "2026-11-22T07:30Z"), "Friday to Monday holds Sunday");
    }

    #[test]
    fn a_night_belongs_to_the_day_on_which_it_begins() {
        assert!(holds("Fri 23:00-06:00", "2026-11-20T22:30Z"));
        assert!(holds("Fri 23:00-06:00", "2026-11-21T04:30Z"));
        assert!(!holds("Fri 23:00-06:00", "2026-11-21T22:30Z"));
    }

    #[test]
    fn other_forms_are_refused() {
        for wrong in [
            "17:00-18:00",
            "Mon 17:00",
            "Mon 25:00-26:00",
            "Mon 17:60-18:00",
            "Montag 8:00-9:00",
            "daily 24:00-06:00",
            "",
        ] {
            assert!(WeeklyHours::parse([wrong]).is_none(), "{wrong}");
        }
    }
}
