//! Times as a person types them at a terminal.

use jiff::Timestamp;
use jiff::civil::Time;
use jiff::tz::TimeZone;

use super::Failed;

/// `2026-11-20T03:15+01:00`, or `03:15`: the last time that the litter's clock showed it.
pub fn read(text: Option<&str>, zone: &TimeZone, now: Timestamp) -> Result<Timestamp, Failed> {
    let Some(text) = text.map(str::trim) else { return Ok(now) };
    if let Ok(at) = text.parse::<Timestamp>() {
        return Ok(at);
    }
    let allowed =
        || Failed::Message(format!("time \"{text}\"\nallowed: a time of day such as 03:15, or 2026-11-20T03:15+01:00"));
    let time = Time::strptime("%H:%M", text).map_err(|_| allowed())?;
    let today = now.to_zoned_datetime(zone.clone()).date();
    for date in [today, today.yesterday().map_err(|_| allowed())?] {
        let local = zone.to_ambiguous_timestamp(date.to_datetime(time));
        let Ok(at) = local.unambiguous() else {
            return Err(Failed::Message(format!(
                "time \"{text}\": the clocks changed, so it was never shown or shown twice\nallowed: the time with its offset, as in {date}T{text}+01:00"
            )));
        };
        if at <= now {
            return Ok(at);
        }
    }
    Err(allowed())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, now: &str) -> Result<String, ()> {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        read(Some(text), &berlin, now.parse().unwrap()).map(|t| t.to_string()).map_err(|_| ())
    }

    #[test]
    fn a_time_of_day_is_the_last_one() {
        assert_eq!(at("03:15", "2026-11-20T04:00+01:00"), Ok("2026-11-20T02:15:00Z".into()));
        assert_eq!(at("23:50", "2026-11-20T00:10+01:00"), Ok("2026-11-19T22:50:00Z".into()));
        assert_eq!(at("2026-11-20T03:15+01:00", "2026-11-20T04:00+01:00"), Ok("2026-11-20T02:15:00Z".into()));
        assert!(at("3 am", "2026-11-20T04:00+01:00").is_err());
    }

    #[test]
    fn a_time_that_was_shown_twice_needs_its_offset() {
        assert!(at("02:30", "2027-10-31T08:00+01:00").is_err());
        assert!(at("02:30", "2027-03-28T08:00+02:00").is_err(), "never shown");
    }
}
