//! The dam, the birth and the box: their signs, their clocks, and whether she feeds the litter.

use jiff::Timestamp;

use super::growth::hours_words;
use super::{DamFeeds, dam_milk_is_none};
use crate::finding::{Finding, Level};
use crate::limits;
use crate::record::{Check, CheckKind as K, Facts, Word as W, hours_between};
use crate::references::{self as source, Source, Sourced};
use crate::units::Celsius;
use crate::whelping;

/// Rectal temperature of the dam: any day above the first is a fever; on the first day up to
/// the second is watched.
const DAM_FEVER: Sourced<(Celsius, Celsius)> = Sourced::new((Celsius::of(39.5), Celsius::of(39.2)), &source::DAM_FEVER);
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
    if facts.litter.whelped_at.is_none() && facts.pups.is_empty() {
        return DamFeeds { is_feeding: true, off_since: None, why: "the dam is expecting" };
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
    found.extend(before_birth(facts, now));
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

/// The due window and the drop of temperature of a dam that is still expecting.
fn before_birth(facts: &Facts, now: Timestamp) -> Vec<Finding> {
    let mut found = Vec::new();
    let is_expecting = facts.litter.whelped_at.is_none() && facts.latest(None, K::Labour).is_none();
    if !is_expecting {
        return found;
    }
    let today = now.to_zoned_datetime(facts.litter.zone.clone()).date();
    if let Some(window) = whelping::first_due_window(facts).filter(|w| w.ring_from <= today) {
        let says = format!(
            "no birth, and the days counted from {} are over (last day {})",
            window.counted.words(),
            window.last.strftime("%-d %b %Y")
        );
        let at = facts.litter.zone.to_timestamp(window.ring_from.at(0, 0, 0, 0)).unwrap_or(now);
        found.push(new("overdue", Level::VetToday, window.ring_source, says, "Ring the vet today.", at));
    }
    let strip = whelping::strip(facts, now);
    if let Some((strip, at)) = strip.as_ref().and_then(|s| Some((s, s.dropped_at?))) {
        let (level, row, action) = if strip.is_overdue(now) {
            let row = if strip.back_at.is_some() { &source::TEMPERATURE_BACK } else { &source::TEMPERATURE_NO_LABOUR };
            (Level::VetNow, row, "Ring the vet now: the temperature dropped and no labour has been written down.")
        } else {
            let action = "Stay near: in about four of five dams straining begins 12 to 24 h after it. Write down when labour begins.";
            (Level::KeepWatch, whelping::DROPPED.source, action)
        };
        let hours = hours_words(strip.hours_since_drop(now).unwrap_or_default());
        found.push(new("temperature-drop", level, row, format!("her temperature dropped {hours} ago"), action, at));
    }
    if let Some((strip, at)) = strip.as_ref().and_then(|s| Some((s, s.low_once_at?))) {
        let (level, action) = if strip.is_left_open(now) {
            (Level::VetToday, "Measure again now. If it is low again, or you cannot measure: ring the vet today.")
        } else {
            let action = "Measure again within the hour: it counts as the drop before the birth when the second reading is low too.";
            (Level::KeepWatch, action)
        };
        let hours = hours_words(hours_between(at, now).get());
        let says = format!("one low temperature {hours} ago, and none after it");
        found.push(new("temperature-once", level, &source::TEMPERATURE_TWICE, says, action, at));
    }
    found
}

/// The clocks of the birth: straining, the gap between pups, green discharge.
fn labour(facts: &Facts, now: Timestamp, found: &mut Vec<Finding>) {
    for clock in whelping::clocks(facts) {
        let runs = hours_words(clock.hours(now));
        let (says, wait, level) = match clock.limit.code {
            "straining" => (format!("strong straining for {runs} without a pup"), "at 30 min ring the vet", None),
            "weak-straining" => (format!("weak straining for {runs} without a pup"), "at 4 h ring the vet", None),
            "pup-gap" => (format!("{runs} since the last pup"), "at 4 h ring the vet", None),
            _ => {
                let before = if whelping::last_pup(facts).is_none() { " before the first pup" } else { "" };
                let says = format!("dark green discharge{before}");
                (says, "with straining over 30 min, or after 2 h, ring the vet", Some(green_level(facts, &clock, now)))
            }
        };
        let Some(level) = level.or_else(|| clock.level(now)) else { continue };
        let action = match level {
            Level::VetNow => "Ring the vet now.".to_owned(),
            _ if clock.limit.code == "green-discharge" => format!("Have the phone in your hand: {wait}."),
            _ => format!("Have the phone in your hand; {wait}."),
        };
        found.push(new(clock.limit.code, level, clock.limit.source, says, &action, clock.since));
    }
}

/// Green discharge before the first pup is vet now; between pups it is watched at once, and vet
/// now with straining or after its time.
fn green_level(facts: &Facts, clock: &whelping::Clock, now: Timestamp) -> Level {
    let strained_h = whelping::bout(facts, &[W::Strong, W::Weak]).map_or(0.0, |at| hours_between(at, now).get());
    let is_late = clock.hours(now) >= clock.limit.vet_h || strained_h * 60.0 >= whelping::STRAINING_MIN.value.1;
    let is_now = whelping::last_pup(facts).is_none() || (whelping::more_inside(facts) && is_late);
    if is_now { Level::VetNow } else { Level::KeepWatch }
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
