//! The dam, the birth and the box: their signs, their clocks, and whether she feeds the litter.

use jiff::Timestamp;

use super::growth::hours_words;
use super::{DamFeeds, dam_milk_is_none};
use crate::finding::{Finding, Level};
use crate::limits;
use crate::record::{Check, CheckKind as K, Facts, Word as W, hours_between};
use crate::references::{self as source, Source, Sourced};
use crate::units::Celsius;

/// Rectal temperature of the dam: any day above the first is a fever; on the first day up to
/// the second is watched.
const DAM_FEVER: Sourced<(Celsius, Celsius)> = Sourced::new((Celsius::of(39.5), Celsius::of(39.2)), &source::DAM_FEVER);
/// Strong straining without a pup, minutes: watch, vet now.
const STRAINING_MIN: Sourced<(f64, f64)> = Sourced::new((20.0, 30.0), &source::LABOUR_STRAINING);
/// Time since the last pup, hours: watch, vet now.
const GAP_H: Sourced<(f64, f64)> = Sourced::new((2.0, 4.0), &source::LABOUR_GAP);
/// Green discharge without a pup, hours until vet now.
const GREEN_H: Sourced<f64> = Sourced::new(2.0, &source::LABOUR_GREEN);

/// Whether the dam feeds these pups; signs on her take them off at once.
pub fn dam_feeds(facts: &Facts, now: Timestamp) -> DamFeeds {
    let off = |off_since, why| DamFeeds { is_feeding: false, off_since, why };
    let latest = |kind| facts.latest(None, kind);
    if let Some(check) = latest(K::DamBehaviour).filter(|c| is_calcium_sign(c)) {
        return off(Some(check.at), "signs of a calcium crisis: the pups are off the dam");
    }
    if let Some(check) = latest(K::DamBehaviour).filter(|c| c.is(W::RefusesPups)) {
        return off(Some(check.at), "the dam refuses the pups");
    }
    if let Some(check) = latest(K::PupsWithDam).filter(|c| c.is(W::No)) {
        return off(Some(check.at), "the pups are off the dam");
    }
    if !facts.dam.with_pups && latest(K::PupsWithDam).is_none() {
        return off(None, "the dam does not nurse this litter");
    }
    if dam_milk_is_none(facts) {
        let since = latest(K::DamMilk).map(|c| c.at);
        return off(since, "the dam gives no milk");
    }
    debug_assert!(facts.checks.iter().all(|c| c.at <= now), "facts are those known at now");
    DamFeeds { is_feeding: true, off_since: None, why: "the dam nurses" }
}

fn is_calcium_sign(check: &Check) -> bool {
    [W::RestlessPanting, W::StiffGait, W::Tremor, W::Seizure].into_iter().any(|w| check.is(w))
}

fn new(
    code: &'static str,
    level: Level,
    source: &'static Source,
    says: String,
    action: &str,
    at: Timestamp,
) -> Finding {
    Finding::of_litter(code, level, source).says(says).action(action).since(at)
}

pub fn findings(facts: &Facts, now: Timestamp) -> Vec<Finding> {
    let mut found = Vec::new();
    let since_birth = facts.litter.whelped_at.map(|at| hours_between(at, now).get());
    let is_in_labour = is_in_labour(facts);
    if let Some(check) = facts.latest(None, K::DamBehaviour) {
        if is_calcium_sign(check) {
            found.push(new(
                "dam-calcium",
                Level::VetNow,
                &source::DAM_CALCIUM,
                format!("the dam shows {}: it may be a calcium crisis", word(check).replace('_', " ")),
                "Ring the vet now. Take the pups off her and feed the whole litter by hand as planned below.",
                check.at,
            ));
        } else if check.is(W::RefusesPups) {
            found.push(new(
                "dam-refuses",
                Level::VetToday,
                &source::DAM_REFUSES,
                "the dam refuses her pups".into(),
                "Ring the vet today. Feed the whole litter by hand as planned below.",
                check.at,
            ));
        }
    }
    found.extend(fever(facts, since_birth));
    if let Some(check) = facts.latest(None, K::DamDischarge) {
        let is_green_late = check.is(W::DarkGreen) && !is_in_labour && since_birth.is_some_and(|h| h > 24.0);
        if check.is(W::Foul) || check.is(W::Creamy) || is_green_late {
            let what = word(check).replace('_', " ");
            found.push(new(
                "dam-discharge",
                Level::VetToday,
                &source::DAM_DISCHARGE,
                format!("the dam has {what} discharge"),
                "Ring the vet today. Look again in white light.",
                check.at,
            ));
        }
    }
    if let Some(check) = facts.latest(None, K::DamGlands).filter(|c| !c.is(W::Normal)) {
        let what = if check.is(W::HotOrHard) { "a hot, hard or painful gland" } else { "pus or blood in the milk" };
        found.push(new(
            "dam-glands",
            Level::VetToday,
            &source::DAM_GLANDS,
            format!("the dam has {what}"),
            "Ring the vet today. Keep the pups off that teat.",
            check.at,
        ));
    }
    if is_in_labour {
        labour(facts, now, &mut found);
    }
    found.sort_by(|a, b| b.level.cmp(&a.level).then_with(|| a.code.cmp(b.code)));
    found
}

/// Whether the clocks of the birth run. Unknown is not "no labour": where nobody wrote it down,
/// they run before the first pup and while the dam strains.
fn is_in_labour(facts: &Facts) -> bool {
    let is_none_born = facts.pups.iter().all(|p| p.joined_at.is_some());
    match facts.latest(None, K::Labour) {
        Some(check) => check.is(W::Begun) || is_none_born,
        None => is_none_born || facts.latest(None, K::Straining).is_some_and(|c| !c.is(W::None)),
    }
}

fn word(check: &Check) -> &'static str {
    match check.value {
        crate::record::CheckValue::Word(w) => w.text(),
        crate::record::CheckValue::Temperature(_) => "",
    }
}

fn fever(facts: &Facts, since_birth: Option<f64>) -> Option<Finding> {
    let check = facts.latest(None, K::DamTemperature)?;
    let temperature = check.temperature()?;
    let (any_time, after_first_day) = DAM_FEVER.value;
    let is_first_day = facts.litter.whelped_at.is_some_and(|at| hours_between(at, check.at).get() <= 24.0)
        && since_birth.is_some_and(|h| h <= 24.0);
    let milli = temperature.millidegrees();
    let level = if milli > any_time.millidegrees() || (!is_first_day && milli > after_first_day.millidegrees()) {
        Level::VetToday
    } else if milli > after_first_day.millidegrees() {
        Level::KeepWatch
    } else {
        return None;
    };
    let action = if level == Level::VetToday { "Ring the vet today." } else { "Take it again in 6 h." };
    Some(new("dam-fever", level, DAM_FEVER.source, format!("the dam's temperature is {temperature}"), action, check.at))
}

/// The clocks of the birth: straining, the gap between pups, green discharge.
fn labour(facts: &Facts, now: Timestamp, found: &mut Vec<Finding>) {
    let over = facts.checks_of(None, K::Labour).rfind(|c| c.is(W::Over)).map_or(Timestamp::MIN, |c| c.at);
    let last_pup = facts.pups.iter().filter(|p| p.joined_at.is_none()).map(|p| p.born_at).max();
    let born = facts.pups.iter().filter(|p| p.joined_at.is_none()).count();
    let more_inside = facts.litter.expected_pups.is_none_or(|n| usize::try_from(n).is_ok_and(|n| born < n));
    let since_pup = last_pup.unwrap_or(over);
    // A bout of straining starts at its first check after the last pup.
    let bout = |strengths: &[W]| -> Option<Timestamp> {
        let mut start = None;
        for check in facts.checks_of(None, K::Straining).filter(|c| c.at >= since_pup) {
            start = if strengths.iter().any(|w| check.is(*w)) { start.or(Some(check.at)) } else { None };
        }
        start
    };
    let minutes_since = |at: Option<Timestamp>| at.map_or(0.0, |at| hours_between(at, now).get() * 60.0);
    let strong_min = minutes_since(bout(&[W::Strong]));
    let strained_min = minutes_since(bout(&[W::Strong, W::Weak]));
    if let Some(at) = bout(&[W::Strong]) {
        let (watch, vet) = STRAINING_MIN.value;
        let level = if strong_min >= vet {
            Some(Level::VetNow)
        } else if strong_min >= watch {
            Some(Level::KeepWatch)
        } else {
            None
        };
        if let Some(level) = level {
            let action = if level == Level::VetNow {
                "Ring the vet now."
            } else {
                "Have the phone in your hand; at 30 min ring the vet."
            };
            found.push(new(
                "straining",
                level,
                STRAINING_MIN.source,
                format!("strong straining for {} without a pup", hours_words(strong_min / 60.0)),
                action,
                at,
            ));
        }
    }
    if let Some(at) = bout(&[W::Weak]).filter(|at| hours_between(*at, now).get() >= GAP_H.value.1) {
        found.push(new(
            "weak-straining",
            Level::VetNow,
            GAP_H.source,
            format!("weak straining for {} without a pup", hours_words(hours_between(at, now).get())),
            "Ring the vet now.",
            at,
        ));
    }
    if let Some(at) = last_pup.filter(|_| more_inside) {
        let gap = hours_between(at, now).get();
        let (watch, vet) = GAP_H.value;
        if gap >= watch {
            let level = if gap >= vet { Level::VetNow } else { Level::KeepWatch };
            let action =
                if gap >= vet { "Ring the vet now." } else { "Have the phone in your hand; at 4 h ring the vet." };
            found.push(new(
                "pup-gap",
                level,
                GAP_H.source,
                format!("{} since the last pup", hours_words(gap)),
                action,
                at,
            ));
        }
    }
    if let Some(check) = facts.latest(None, K::DamDischarge).filter(|c| c.is(W::DarkGreen)) {
        let first_green = facts
            .checks_of(None, K::DamDischarge)
            .filter(|c| c.is(W::DarkGreen) && c.at >= since_pup)
            .map(|c| c.at)
            .next()
            .unwrap_or(check.at);
        let hours = hours_between(first_green, now).get();
        let is_now =
            last_pup.is_none() || (more_inside && (hours >= GREEN_H.value || strained_min >= STRAINING_MIN.value.1));
        let level = if is_now { Level::VetNow } else { Level::KeepWatch };
        let action = if is_now {
            "Ring the vet now."
        } else {
            "Have the phone in your hand: with straining over 30 min, or after 2 h, ring the vet."
        };
        let before = if last_pup.is_none() { " before the first pup" } else { "" };
        found.push(new(
            "green-discharge",
            level,
            GREEN_H.source,
            format!("dark green discharge{before}"),
            action,
            first_green,
        ));
    }
}

/// The box against its target.
pub fn box_findings(facts: &Facts, now: Timestamp, found: &mut Vec<Finding>, missing: &mut Vec<String>) {
    let Some(age) = facts
        .litter
        .whelped_at
        .map(|at| hours_between(at, now).get())
        .filter(|h| *h < limits::BOX_TARGET_UNTIL_H.value)
    else {
        return;
    };
    let Some(check) =
        facts.latest(None, K::BoxTemperature).filter(|c| hours_between(c.at, now).get() <= limits::BOX_READING_H.value)
    else {
        missing.push("box temperature not recorded in the last 24 h".into());
        return;
    };
    let Some(temperature) = check.temperature() else { return };
    let target = limits::box_target(age);
    let (low, high) = target.value;
    let range = format!("{low} to {high}");
    if temperature < low {
        found.push(new(
            "box-cold",
            Level::KeepWatch,
            target.source,
            format!("the box is at {temperature}; target {range}"),
            "Warm one end of the box and leave a cooler end to crawl to; read it again in 30 min.",
            check.at,
        ));
    } else if temperature > high {
        found.push(new(
            "box-hot",
            Level::KeepWatch,
            target.source,
            format!("the box is at {temperature}; target {range}"),
            "Cool the box and open a cool end; read it again in 15 to 30 min; look for panting, red or splayed pups.",
            check.at,
        ));
    }
}
