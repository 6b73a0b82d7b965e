//! Instants as a household reads them: local, 24 hours, the zone named where an hour doubles.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// `03:15`; within a day of a change of the clocks `02:00 CET`.
#[must_use]
pub fn clock(at: Timestamp, zone: &TimeZone) -> String {
    let local = at.to_zoned_datetime(zone.clone());
    let format = if is_near_a_change(at, zone) { "%H:%M %Z" } else { "%H:%M" };
    local.strftime(format).to_string()
}

/// `Fri 20 Nov 2026, 03:15`.
#[must_use]
pub fn date_and_clock(at: Timestamp, zone: &TimeZone) -> String {
    let local = at.to_zoned_datetime(zone.clone());
    format!("{}, {}", local.strftime("%a %-d %b %Y"), clock(at, zone))
}

/// `Fri 20 Nov`.
#[must_use]
pub fn day(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%a %-d %b").to_string()
}

/// ISO 8601 with the local offset, for files.
#[must_use]
pub fn iso(at: Timestamp, zone: &TimeZone) -> String {
    at.display_with_offset(zone.to_offset(at)).to_string()
}

fn is_near_a_change(at: Timestamp, zone: &TimeZone) -> bool {
    let hours = |h: i64| at.saturating_add(jiff::SignedDuration::from_hours(h)).unwrap_or(at);
    let offsets = [hours(-24), at, hours(24)].map(|t| zone.to_offset(t));
    offsets[0] != offsets[1] || offsets[1] != offsets[2]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_doubled_hour_carries_its_zone() {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        let at = |text: &str| clock(text.parse().unwrap(), &berlin);
        assert_eq!(at("2027-10-31T00:30Z"), "02:30 CEST");
        assert_eq!(at("2027-10-31T01:30Z"), "02:30 CET");
        assert_eq!(at("2026-11-20T02:15Z"), "03:15");
        assert_eq!(iso("2026-11-20T02:15Z".parse().unwrap(), &berlin), "2026-11-20T03:15:00+01:00");
    }
}
