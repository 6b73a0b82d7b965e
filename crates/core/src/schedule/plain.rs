//! Equal intervals, for a household that says nothing of its carers' hours.
//!
//! A round feeds every pup that is due within the hour after it. No gap is longer than the
//! limit for age, weight and state; two feeds are never closer than the shortest gap.

use jiff::Timestamp;

use super::{PlannedFeed, Round, Timetable, clock_change};
use crate::assess::Assessment;
use crate::limits;
use crate::need::{Need, NoneNeeded, ordered_gap_h};
use crate::record::{Facts, hours_after, hours_between};
use crate::units::Millilitres;

/// A pup due within this time after a round is fed in it.
const PULLED_IN_H: f64 = 1.0;

/// Plans the rounds from `now` on.
#[must_use]
pub fn schedule(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    span_h: f64,
) -> Timetable {
    let most_feeds = needs.iter().flatten().map(|n| n.feeds_per_day).max().unwrap_or(1);
    let intervals: Vec<Option<f64>> =
        needs.iter().map(|n| n.as_ref().ok().map(|n| interval_h(n, most_feeds))).collect();
    let mut last: Vec<Option<Timestamp>> =
        assessment.pups.iter().map(|p| facts.hand_feeds(&p.pup.id).next_back().map(|f| f.at)).collect();
    let due = |last: Option<Timestamp>, interval: f64| last.map_or(now, |at| hours_after(at, interval));
    let overdue_since = intervals
        .iter()
        .zip(&last)
        .map(|(interval, last)| interval.map(|i| due(*last, i)).filter(|at| *at < now))
        .collect();
    let end = hours_after(now, span_h);
    let mut rounds: Vec<Round> = Vec::new();
    loop {
        let dues: Vec<Option<Timestamp>> = intervals.iter().zip(&last).map(|(i, l)| i.map(|i| due(*l, i))).collect();
        let Some(next) = dues.iter().flatten().min() else { break };
        let at = round_down(*next, now);
        if at >= end {
            break;
        }
        let next = *next;
        let mut pups = Vec::new();
        for (index, need) in needs.iter().enumerate() {
            let (Ok(need), Some(interval), Some(due)) = (need, intervals[index], dues[index]) else { continue };
            let gap_is_long_enough =
                last[index].is_none_or(|l| hours_between(l, at).get() >= limits::SHORTEST_GAP_H.value);
            // A vet's interval is kept as it was ordered.
            let may_be_early = ordered_gap_h(need.order.as_ref()).is_none();
            if due <= next || (may_be_early && hours_between(at, due).get() <= PULLED_IN_H && gap_is_long_enough) {
                let leaves = assessment.pups[index].pup.left.is_some_and(|left| left.at <= at);
                if !leaves {
                    pups.push(PlannedFeed {
                        pup: index,
                        amount: planned(need, interval),
                        covers_h: 0.0,
                        by_tube: false,
                    });
                }
                // From the exact time, so that rounding to minutes does not add up.
                last[index] = Some(if due <= next { next.max(now) } else { at });
            }
        }
        match rounds.last_mut() {
            Some(Round { at: last, feeds: same, .. }) if *last == at => same.extend(pups),
            _ if pups.is_empty() => {}
            _ => rounds.push(Round { at, until: at, feeds: pups, staff: Vec::new() }),
        }
    }
    let clock_change = (!rounds.is_empty()).then(|| clock_change(&facts.litter.zone, now, end)).flatten();
    Timetable { rounds, overdue_since, clock_change, figures: None, trouble: None }
}

/// Every pup is fed as often as the one that needs it most, unless a vet ordered otherwise.
fn interval_h(need: &Need, most_feeds: u32) -> f64 {
    ordered_gap_h(need.order.as_ref()).unwrap_or(24.0 / f64::from(most_feeds))
}

/// An equal share of the day's milk; a vet's amount replaces it.
fn planned(need: &Need, interval_h: f64) -> Millilitres {
    need.order.as_ref().and_then(|o| o.per_feed).unwrap_or(need.by_hand_volume * (interval_h / 24.0))
}

/// A whole minute, never later than due and never in the past.
fn round_down(due: Timestamp, now: Timestamp) -> Timestamp {
    let floor = Timestamp::from_second(due.as_second().div_euclid(60) * 60).unwrap_or(due);
    floor.max(now)
}

/// Instants every `hours` from a first one: what "every 3 hours" means.
#[must_use]
pub fn every(first: Timestamp, hours: f64, count: usize) -> Vec<Timestamp> {
    #[expect(clippy::cast_precision_loss, reason = "a day of feeds")]
    (0..count).map(|i| hours_after(first, hours * i as f64)).collect()
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;

    use super::*;

    #[test]
    fn published_rounds_across_clock_changes() {
        // Usability C-6, calculated with tzdata: first feed 21:00 local, every 3 h.
        let check = |zone: &str, first: &str, expected: &str| {
            let tz = TimeZone::get(zone).unwrap();
            let labels: Vec<String> = every(first.parse().unwrap(), 3.0, 8)
                .into_iter()
                .map(|at| at.to_zoned_datetime(tz.clone()).strftime("%H:%M").to_string())
                .collect();
            assert_eq!(labels[..expected.split(' ').count()].join(" "), expected);
        };
        check("Europe/Berlin", "2027-03-27T20:00Z", "21:00 00:00 04:00 07:00 10:00 13:00 16:00 19:00");
        check("Europe/Berlin", "2027-10-30T19:00Z", "21:00 00:00 02:00 05:00 08:00 11:00 14:00 17:00");
        check("America/New_York", "2027-03-14T02:00Z", "21:00 00:00 04:00 07:00 10:00 13:00");
        check("America/New_York", "2027-11-07T01:00Z", "21:00 00:00 02:00 05:00 08:00 11:00");
    }

    #[test]
    fn a_clock_change_in_the_plan_is_seen() {
        let tz = TimeZone::get("Europe/Berlin").unwrap();
        let from: Timestamp = "2027-03-27T20:00Z".parse().unwrap();
        let change = clock_change(&tz, from, hours_after(from, 24.0)).unwrap();
        assert_eq!(change.at.to_string(), "2027-03-28T01:00:00Z");
        assert!(clock_change(&tz, hours_after(from, 24.0), hours_after(from, 48.0)).is_none());
    }
}
