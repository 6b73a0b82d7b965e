//! Is the pup warm enough to be fed? Unknown is not warm.
//!
//! Only a rectal reading can clear a pup, and only for two hours. Skin, ear and infrared
//! readings raise a suspicion and never settle one.

use jiff::Timestamp;

use super::PupAssessment;
use super::growth::hours_words;
use crate::finding::{Finding, Level};
use crate::limits;
use crate::record::{Check, CheckKind, Facts, Pup, hours_after, hours_between};
use crate::references as source;
use crate::units::{Celsius, Grams};

/// What the readings say about warmth, now.
#[derive(Debug, Clone, PartialEq)]
pub enum Warmth {
    /// A rectal reading in range, at most two hours old.
    InRange { at: Timestamp, temperature: Celsius },
    /// No rectal reading that is new enough.
    Unknown { suspicion: Option<Celsius> },
    /// Days 21 to 30, 36.0 to 36.9 °C: feed if active and sucking.
    Cool { at: Timestamp, temperature: Celsius },
    /// Below the limit for the age; no milk until a reading in range.
    Cold(ColdSpell),
    /// Above the normal range for the age.
    Hot { at: Timestamp, temperature: Celsius, since: Timestamp },
}

/// A run of cold readings, with its clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct ColdSpell {
    pub temperature: Celsius,
    /// The first cold reading of the run.
    pub since: Timestamp,
    pub last: Timestamp,
    pub recheck_at: Timestamp,
    /// °C an hour between the last two readings, when warming.
    pub rewarming: Option<f64>,
}

/// Below the limit for the age: no milk.
pub fn is_cold(age_h: f64, t: Celsius) -> bool {
    t.millidegrees() < limits::cold_below(age_h).value.millidegrees()
}

fn is_hot(age_h: f64, t: Celsius) -> bool {
    t.millidegrees() > limits::hot_above(age_h).value.millidegrees()
}

/// The state of warmth from all readings known at `now`, by the limits of the age now.
pub fn warmth(facts: &Facts, pup: &Pup, now: Timestamp) -> Warmth {
    let age = pup.age(now).get();
    let rectal: Vec<(Timestamp, Celsius)> = facts
        .checks_of(Some(&pup.id), CheckKind::RectalTemperature)
        .filter_map(|c| Some((c.at, c.temperature()?)))
        .collect();
    let suspicion = newest_suspicion(facts, pup, age, rectal.last().map(|r| r.0));
    let Some(&(at, temperature)) = rectal.last() else { return Warmth::Unknown { suspicion } };
    if is_cold(age, temperature) {
        let run: Vec<_> = rectal.iter().rev().take_while(|(_, t)| is_cold(age, *t)).collect();
        let since = run.last().map_or(at, |r| r.0);
        return Warmth::Cold(ColdSpell {
            temperature,
            since,
            last: at,
            recheck_at: hours_after(at, limits::COLD_RECHECK_H.value),
            rewarming: rewarming(&rectal),
        });
    }
    if is_hot(age, temperature) {
        let since = rectal.iter().rev().take_while(|(_, t)| is_hot(age, *t)).last().map_or(at, |r| r.0);
        return Warmth::Hot { at, temperature, since };
    }
    if suspicion.is_some() {
        return Warmth::Unknown { suspicion };
    }
    // A cool reading is not forgotten with time, any more than a cold one.
    if limits::cool_below(age).is_some_and(|cool| temperature.millidegrees() < cool.value.millidegrees()) {
        return Warmth::Cool { at, temperature };
    }
    if hours_between(at, now).get() <= limits::WARM_CLEARANCE_H.value {
        Warmth::InRange { at, temperature }
    } else {
        Warmth::Unknown { suspicion: None }
    }
}

/// The lowest cold skin, ear or infrared reading since the last rectal one; a good one of these
/// takes no suspicion back.
fn newest_suspicion(facts: &Facts, pup: &Pup, age: f64, since: Option<Timestamp>) -> Option<Celsius> {
    [CheckKind::SkinTemperature, CheckKind::EarTemperature, CheckKind::InfraredTemperature]
        .into_iter()
        .flat_map(|kind| facts.checks_of(Some(&pup.id), kind))
        .filter(|c: &&Check| since.is_none_or(|s| c.at > s))
        .filter_map(Check::temperature)
        .filter(|t| is_cold(age, *t))
        .reduce(Celsius::min)
}

/// The speed of warming between the last two rectal readings, if the earlier one is lower.
fn rewarming(rectal: &[(Timestamp, Celsius)]) -> Option<f64> {
    let [.., (t0, a), (t1, b)] = rectal else { return None };
    let hours = hours_between(*t0, *t1).get();
    (hours >= 0.05 && b > a).then(|| (b.get() - a.get()) / hours)
}

pub fn findings(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> Vec<Finding> {
    let id = &pup.pup.id;
    let mut found = Vec::new();
    found.extend(rewarming_finding(facts, pup));
    match &pup.warmth {
        Warmth::Cold(cold) => {
            let last_feed = facts.hand_feeds(id).next_back().map(|f| f.at);
            found.push(cold_finding(pup, cold, last_feed, now, &facts.litter.zone));
        }
        Warmth::Hot { temperature, since, at } => {
            let stays = hours_between(*since, *at).get() >= 0.25;
            let level = if stays { Level::VetToday } else { Level::NeedsHelp };
            let top = limits::hot_above(pup.age.get());
            let action =
                "Cool the box, open a cool end, move the pup there; take the rectal temperature again in 15 to 30 min.";
            found.push(
                Finding::of_pup(id, "too-hot", level, &source::TOO_HOT)
                    .says(format!(
                        "rectal {temperature}, above {} for its age{}",
                        top.value,
                        if stays { ", still" } else { "" }
                    ))
                    .action(if stays { format!("Ring the vet today. {action}") } else { action.into() })
                    .since(*since)
                    .sign(),
            );
        }
        Warmth::Cool { temperature, at } => found.push(
            Finding::of_pup(id, "cool", Level::KeepWatch, &source::COOL_WATCH)
                .says(format!("rectal {temperature}: cool for its age"))
                .action("Warm it; feed it only if it is active and sucks.")
                .since(*at)
                .sign(),
        ),
        Warmth::Unknown { suspicion: Some(t) } => found.push(
            Finding::of_pup(id, "feels-cold", Level::KeepWatch, &source::WARM_CLEARANCE)
                .says(format!("skin, ear or infrared {t}: it may be cold"))
                .action("Take the rectal temperature now, before any milk.")
                .sign(),
        ),
        Warmth::Unknown { suspicion: None } | Warmth::InRange { .. } => {}
    }
    found
}

/// When the second feed since the pup turned cold is due.
///
/// A feed is due as often as is usual for the age, counted from the last one; and at the latest
/// one longest gap after the first cold reading, for a pup that nurses as well.
fn second_feed_withheld(last_feed: Option<Timestamp>, pup: &PupAssessment, cold: &ColdSpell) -> Timestamp {
    let age = pup.age.get();
    let weight = pup.latest().map_or(Grams::of(100.0), |l| l.weight);
    let longest = limits::longest_gap_h(age, weight, pup.is_weak()).value;
    let interval = longest.min(24.0 / f64::from(limits::usual_feeds(age).value));
    let first_due = last_feed.map_or(cold.since, |at| hours_after(at, interval).max(cold.since));
    hours_after(first_due, interval).min(hours_after(cold.since, longest))
}

fn cold_finding(
    pup: &PupAssessment,
    cold: &ColdSpell,
    last_feed: Option<Timestamp>,
    now: Timestamp,
    zone: &jiff::tz::TimeZone,
) -> Finding {
    let limit = limits::cold_below(pup.age.get());
    let elapsed = hours_between(cold.since, now).get();
    let is_small = pup.latest().is_none_or(|l| l.weight < limits::SMALL_PUP.value);
    let milli = cold.temperature.millidegrees();
    let (level, source, urgency) = if milli < limits::COLD_URGENT.value.millidegrees() {
        (Level::VetNow, limits::COLD_URGENT.source, "Ring the vet now and go; do not wait for it to warm. ")
    } else if milli < limits::GUT_STOPS.value.millidegrees() {
        (Level::VetNow, limits::GUT_STOPS.source, "Ring the vet now. ")
    } else if now >= second_feed_withheld(last_feed, pup, cold)
        || (is_small && elapsed >= limits::COLD_SMALL_PUP_H.value)
    {
        (Level::VetNow, limits::COLD_RECHECK_H.source, "Ring the vet now: it has been too cold to feed for too long. ")
    } else {
        (Level::NeedsHelp, limit.source, "")
    };
    let recheck = if cold.recheck_at <= now {
        "Take the rectal temperature again now".to_owned()
    } else {
        format!("Take the rectal temperature again at {}", crate::report::clock(cold.recheck_at, zone))
    };
    Finding::of_pup(&pup.pup.id, "cold", level, source)
        .says(format!(
            "rectal {} is below {}; it has been too cold to feed for {}",
            cold.temperature,
            limit.value,
            hours_words(elapsed)
        ))
        .action(format!(
            "{urgency}No milk. Warm it against your skin, by no more than 1 °C an hour; never leave a heat source \
             alone with it, and leave room to crawl away. {recheck}."
        ))
        .since(cold.since)
        .sign()
}

fn rewarming_finding(facts: &Facts, pup: &PupAssessment) -> Option<Finding> {
    let rectal: Vec<_> = facts
        .checks_of(Some(&pup.pup.id), CheckKind::RectalTemperature)
        .filter_map(|c| Some((c.at, c.temperature()?)))
        .collect();
    let [.., before, _] = rectal[..] else { return None };
    let was_cold = is_cold(hours_between(pup.pup.born_at, before.0).get(), before.1);
    let rate = rewarming(&rectal).filter(|_| was_cold)?;
    let (limit, alarm) = limits::REWARM_C_PER_H.value;
    // A thousandth of a degree is no haste.
    let level = match rate {
        r if r > alarm + 1e-3 => Level::VetToday,
        r if r > limit + 1e-3 => Level::NeedsHelp,
        _ => return None,
    };
    let ring = if level == Level::VetToday { "Ring the vet. " } else { "" };
    Some(
        Finding::of_pup(&pup.pup.id, "warming-too-fast", level, limits::REWARM_C_PER_H.source)
            .says(format!("warming by {} °C an hour; the limit is {limit} °C", crate::units::number(rate, 1, false)))
            .action(format!("{ring}Take some heat away: too fast harms the organs."))
            .since(rectal[rectal.len() - 1].0)
            .sign(),
    )
}
