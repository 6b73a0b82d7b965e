//! The published growth rules, each evaluated on readings that count.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::{BirthBand, PupAssessment, Reading};
use crate::assess::birth_weight::very_low_below;
use crate::finding::{Finding, Level};
use crate::growth::Floor;
use crate::growth::floors::{LOSS_FOUR, LOSS_TEN};
use crate::record::{Facts, Pup, hours_between};
use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, Percent, format_change};

/// Gain in percent a day: lowest, usual, highest.
type Band = (f64, f64, f64);

pub const WEEK_ONE: Sourced<Band> = Sourced::new((5.0, 8.0, 10.0), &source::GAIN_BAND);
pub const WEEKS_TWO_TO_FOUR: Sourced<Band> = Sourced::new((3.5, 5.0, 6.0), &source::GAIN_BAND);
/// Least gain from week 5 on, g a day for each kg of adult weight.
pub const LATER_G_PER_KG: Sourced<f64> = Sourced::new(2.0, &source::GAIN_LATER);
/// Days by which birth weight should have doubled: nursing, formula-fed.
const DOUBLED_BY: Sourced<(f64, f64)> = Sourced::new((12.0, 14.0), &source::DOUBLING_LATEST);
/// From this day on a pup that has not doubled is spoken of.
const DOUBLING_ASKED_FROM: Sourced<f64> = Sourced::new(10.0, &source::DOUBLING);
/// Steady gain up to this age is out of danger: a light pup is watched until then.
const LIGHT_WATCHED_UNTIL_H: Sourced<f64> = Sourced::new(7.0 * DAY_H, &source::OUT_OF_DANGER);
const DAY_H: f64 = 24.0;

/// The published band of daily gain for an age, in percent of body weight; none after day 28.
#[must_use]
pub fn published_gain_band(age_h: f64) -> Option<Sourced<Band>> {
    match age_h / DAY_H {
        days if days < 7.0 => Some(WEEK_ONE),
        days if days < 28.0 => Some(WEEKS_TWO_TO_FOUR),
        _ => None,
    }
}

/// Birth weight multiplied by the lowest published gain of each day: 5 % in week 1, then 3.5 %.
#[must_use]
pub fn lowest_published_multiple(days: f64) -> f64 {
    let in_week_one = days.min(7.0);
    (1.0 + WEEK_ONE.value.0 / 100.0).powf(in_week_one)
        * (1.0 + WEEKS_TWO_TO_FOUR.value.0 / 100.0).powf(days - in_week_one)
}

/// Fastest growth ever described, as a multiple of birth weight: exp(0.13084 x - 0.001616 x²)
/// with x in days, valid from birth to day 21.
#[must_use]
pub fn growth_envelope(days: f64) -> Option<f64> {
    (0.0..=21.0).contains(&days).then(|| (0.130_84 * days - 0.001_616 * days * days).exp())
}

pub fn findings(pup: &PupAssessment, facts: &Facts, below_mates: Option<f64>) -> Vec<Finding> {
    let mut found = birth_findings(pup, facts, below_mates);
    let Some(latest) = pup.latest() else { return found };
    found.extend(loss_findings(pup, latest));
    found.extend(any_loss(pup, latest));
    found.extend(gain_findings(pup, latest, facts));
    found.extend(course_findings(pup, latest));
    found
}

fn new(pup: &PupAssessment, code: &'static str, level: Level, source: &'static Source) -> Finding {
    Finding::of_pup(&pup.pup.id, code, level, source)
}

fn birth_findings(pup: &PupAssessment, facts: &Facts, below_mates: Option<f64>) -> Vec<Finding> {
    let mut found = Vec::new();
    let age = pup.age.get();
    // Birth weight tells about the first two days; steady gain through day 7 is out of danger.
    let level = match age {
        h if h < 2.0 * DAY_H => Level::NeedsHelp,
        h if h < LIGHT_WATCHED_UNTIL_H.value => Level::KeepWatch,
        _ => Level::Note,
    };
    let action = "Keep it warm, see that it sucks first and long, weigh it every 12 h; top up as planned below.";
    let breed = facts.litter.breed.as_deref().unwrap_or_default();
    if pup.birth_band == BirthBand::VeryLow {
        let limit = very_low_below(breed).map_or(String::new(), |l| l.to_string());
        let weight = pup.pup.birth_weight.map_or(String::new(), |w| facts.litter.weight_unit.print(w));
        found.push(
            new(pup, "very-light-at-birth", level, &source::BIRTH_BAND)
                .says(format!("born at {weight}: very light for a {breed} (below {limit})"))
                .action(action)
                .since(pup.pup.born_at),
        );
    } else if pup.birth_band == BirthBand::Low {
        let level = if age < 2.0 * DAY_H { Level::KeepWatch } else { Level::Note };
        found.push(
            new(pup, "light-at-birth", level, &source::BIRTH_BAND)
                .says(format!("born light for a {breed}, as about half of all pups are"))
                .action("Weigh it at 12 h and 24 h.")
                .since(pup.pup.born_at),
        );
    }
    if let Some(below) = below_mates.filter(|b| *b >= 25.0) {
        found.push(
            new(pup, "lighter-than-mates", level, &source::LITTERMATES)
                .says(format!("born {} below the litter's mean", Percent::of(below)))
                .action(action)
                .since(pup.pup.born_at),
        );
    }
    found
}

fn loss_findings(pup: &PupAssessment, latest: &Reading) -> Vec<Finding> {
    let Some(judged) = &pup.growth else { return Vec::new() };
    let crossed = judged.crossed.into_iter().flatten();
    crossed
        .map(|floor| {
            new(pup, floor.code(), floor.level(), floor_source(floor))
                .says(floor_words(floor, &pup.pup, latest, judged.highest_g))
                .action(floor_action(floor, pup))
                .since(latest.at)
        })
        .collect()
}

/// A crossed limit with its numbers.
#[must_use]
pub fn floor_words(floor: Floor, pup: &Pup, latest: &Reading, highest_g: f64) -> String {
    let shown = |weight: Grams| latest.unit.print(weight);
    let from_birth = || {
        let birth = pup.birth_weight.unwrap_or(latest.weight);
        let change = Percent::of((latest.weight - birth) / birth * 100.0);
        let age = hours_words(hours_between(pup.born_at, latest.at).get());
        format!("{} at {age} old: {change} from the birth weight of {}", shown(latest.weight), shown(birth))
    };
    match floor {
        Floor::LostTenth
        | Floor::LostFour
        | Floor::LostFourOnDayTwo
        | Floor::LostFourOnDayOne
        | Floor::UnderBirthWeight
        | Floor::StillUnderBirthWeight => from_birth(),
        Floor::NoGainBy72h => format!("{}; no gain by 72 h", from_birth()),
        Floor::LostTenthIn48h => format!(
            "{} after {} within 48 h: a tenth or more is lost",
            shown(latest.weight),
            shown(Grams::of(highest_g))
        ),
        Floor::SuddenLoss => {
            format!("{}, weighed twice: far less than a feed or chance explains", shown(latest.weight))
        }
    }
}

fn floor_source(floor: Floor) -> &'static Source {
    match floor {
        Floor::LostTenth | Floor::LostTenthIn48h => LOSS_TEN.source,
        Floor::LostFour | Floor::LostFourOnDayTwo | Floor::LostFourOnDayOne => LOSS_FOUR.source,
        Floor::UnderBirthWeight | Floor::StillUnderBirthWeight => &source::LOSS_AFTER_DAY_ONE,
        Floor::NoGainBy72h => &source::NO_GAIN_72H,
        Floor::SuddenLoss => &source::GROWTH_MODEL,
    }
}

fn floor_action(floor: Floor, pup: &PupAssessment) -> String {
    match floor {
        Floor::LostTenth | Floor::LostTenthIn48h => "Ring the vet now; keep it warm while you wait.".into(),
        Floor::NoGainBy72h => "Ring the vet today.".into(),
        Floor::LostFour | Floor::LostFourOnDayTwo | Floor::LostFourOnDayOne => {
            "Top up as planned below; weigh it again in 6 to 12 h.".into()
        }
        Floor::UnderBirthWeight => how_to_help(pup, "weigh it again in 12 h."),
        Floor::StillUnderBirthWeight | Floor::SuddenLoss => {
            how_to_help(pup, "weigh it in 6 to 12 h; no gain then: ring the vet today.")
        }
    }
}

/// Any loss after the first day, from one reading to the next.
fn any_loss(pup: &PupAssessment, latest: &Reading) -> Option<Finding> {
    let [.., before, _] = &pup.readings[..] else { return None };
    let is_loss = latest.weight < before.weight && hours_between(pup.pup.born_at, latest.at).get() >= DAY_H;
    is_loss.then(|| {
        let hours = hours_between(before.at, latest.at).get();
        new(pup, "loss-after-24h", Level::Note, &source::LOSS_AFTER_DAY_ONE)
            .says(format!(
                "{} in {}: a loss after the first day",
                format_change(latest.weight - before.weight),
                hours_words(hours)
            ))
            .action("Weigh it again in 12 h.")
            .since(latest.at)
    })
}

fn gain_findings(pup: &PupAssessment, latest: &Reading, facts: &Facts) -> Vec<Finding> {
    let mut found = Vec::new();
    let Some(gain) = &pup.gain else { return found };
    let age_at = hours_between(pup.pup.born_at, latest.at).get();
    let says = format!("{} in {}", format_change(gain.change), hours_words(gain.hours));
    if gain.is_mixed_pair {
        found.push(
            new(pup, "mixed-pair", Level::KeepWatch, &source::SCALE_NOISE)
                .says(format!("{says}, once before and once after a feed"))
                .action("Weigh again before a feed, as last time."),
        );
    }
    if gain.change.get() <= 0.0 && age_at >= 72.0 {
        let is_two_days = no_gain_over(pup, latest, 48.0);
        let (level, action) = if is_two_days {
            (Level::VetToday, "Ring the vet today.")
        } else {
            (Level::NeedsHelp, "Top up as planned below; weigh it in 6 to 12 h; no gain then: ring the vet today.")
        };
        found.push(
            new(pup, "no-gain", level, &source::FAILURE_TO_GAIN)
                .says(format!("{says}: no gain{}", if is_two_days { " for two days" } else { "" }))
                .action(action)
                .since(gain.from),
        );
    } else if gain.change.get() > 0.0
        && age_at >= 2.0 * DAY_H
        && let Some(finding) = slow_gain(pup, age_at, facts)
    {
        found.push(finding);
    }
    found
}

/// What helps a pup that gains too little, by who feeds it.
pub(super) fn how_to_help(pup: &PupAssessment, then: &str) -> String {
    if pup.is_hand_fed {
        format!("Check the strength of the mix and what it really takes; {then}")
    } else {
        format!("Help it to a full teat at each nursing; {then}")
    }
}

/// No reading of the last `hours` and more lies below the latest one.
fn no_gain_over(pup: &PupAssessment, latest: &Reading, hours: f64) -> bool {
    pup.readings
        .iter()
        .rfind(|r| hours_between(r.at, latest.at).get() >= hours)
        .is_some_and(|r| latest.weight <= r.weight)
}

fn slow_gain(pup: &PupAssessment, age_at: f64, facts: &Facts) -> Option<Finding> {
    let gain = pup.gain.as_ref()?;
    let (is_slow, expected, source) = if let Some(band) = published_gain_band(age_at) {
        let (low, usual, high) = band.value;
        (gain.percent_per_day < low, format!("{usual} % a day ({low} to {high})"), band.source)
    } else {
        let adult_kg = facts.litter.expected_adult_weight?.get() / 1000.0;
        let least = Grams::of(LATER_G_PER_KG.value * adult_kg);
        (gain.per_day < least, format!("at least {least} a day"), LATER_G_PER_KG.source)
    };
    is_slow.then(|| {
        new(pup, "slow-gain", Level::KeepWatch, source)
            .says(format!("gains {} a day; expected {expected}", Percent::of(gain.percent_per_day)))
            .action(how_to_help(pup, "weigh it again in 12 h."))
            .since(gain.from)
    })
}

fn course_findings(pup: &PupAssessment, latest: &Reading) -> Vec<Finding> {
    let mut found = Vec::new();
    let Some(birth) = pup.pup.birth_weight.filter(|_| pup.readings.len() > 1) else { return found };
    let days = hours_between(pup.pup.born_at, latest.at).get() / DAY_H;
    let due = if pup.is_hand_fed { DOUBLED_BY.value.1 } else { DOUBLED_BY.value.0 };
    let multiple = latest.weight / birth;
    if (DOUBLING_ASKED_FROM.value..28.0).contains(&days) && latest.weight.milligrams() < 2 * birth.milligrams() {
        let is_late = days >= due || multiple < lowest_published_multiple(days);
        let (level, source) =
            if is_late { (Level::KeepWatch, DOUBLED_BY.source) } else { (Level::Note, DOUBLING_ASKED_FROM.source) };
        let shown = crate::units::number(multiple, 1, false);
        found.push(
            new(pup, "not-doubled", level, source)
                .says(format!("{shown} times its birth weight on day {}; usual: doubled by day 8 to 10", days.floor()))
                .action("Weigh it every 12 h and ask the vet at the next call."),
        );
    }
    if let Some(most) = growth_envelope(days).filter(|_| days >= 1.0)
        && multiple > most * 1.1
    {
        found.push(
            new(pup, "too-fast", Level::Note, &source::GROWTH_ENVELOPE)
                .says("heavier than the fastest growth ever described")
                .action("Check the birth weight and the last entry."),
        );
    }
    found
}

/// Weighings that are due, as sentences.
pub fn missing_weighings(pup: &PupAssessment, now: Timestamp, zone: &TimeZone) -> Vec<String> {
    let id = &pup.pup.id;
    let mut missing = Vec::new();
    if pup.pup.birth_weight.is_none() {
        missing.push(format!("{id}: birth weight not recorded"));
    }
    match pup.latest() {
        None => missing.push(format!("{id}: never weighed; weigh it now")),
        Some(latest) => {
            let old = hours_between(latest.at, now).get();
            if old > crate::limits::stale_after_h(pup.age.get()).value {
                let at = crate::report::clock(latest.at, zone);
                missing.push(format!("{id}: last weighed {at}, {} ago; weigh it now", hours_words(old)));
            } else if pup.readings.len() > 1 && pup.gain.is_none() && pup.age.get() >= DAY_H {
                missing.push(format!("{id}: no two weighings 12 h or more apart in the last 3 days; gain not known"));
            }
        }
    }
    missing
}

/// Hours in words: hours up to two days, days beyond.
#[must_use]
pub fn hours_words(hours: f64) -> String {
    if hours < 1.0 {
        format!("{}\u{a0}min", (hours * 60.0).round())
    } else if hours < 72.0 {
        format!("{}\u{a0}h", crate::units::number(hours, usize::from(hours < 10.0), false))
    } else {
        format!("{}\u{a0}days", crate::units::number(hours / 24.0, 1, false))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_gain_bands() {
        // Handbook growth.md check 8 (SACN Table 16-1, read): g a day for 200 g on day 3, 600 g on day 15.
        let check = |days: f64, grams: f64, expected: [f64; 3]| {
            let (low, usual, high) = published_gain_band(days * 24.0).unwrap().value;
            for (percent, g) in [low, usual, high].into_iter().zip(expected) {
                assert!((percent * grams / 100.0 - g).abs() < 1e-9);
            }
        };
        check(3.0, 200.0, [10.0, 16.0, 20.0]);
        check(15.0, 600.0, [21.0, 30.0, 36.0]);
        assert!(published_gain_band(28.0 * 24.0).is_none());
    }

    #[test]
    fn published_gain_per_adult_weight() {
        // Handbook growth.md check 7 (SACN Table 16-1, read): 30 kg at 2 g per kg is 60 g a day.
        assert!((LATER_G_PER_KG.value * 30.0 - 60.0).abs() < 1e-9);
    }

    #[test]
    fn published_growth_envelope() {
        // Handbook growth.md check 10 (Alves 2020, derived values): tolerance half of the last place.
        for (days, multiple) in [(0.0, 1.0), (1.0, 1.1379), (7.0, 2.3087), (14.0, 4.5495), (21.0, 7.6521)] {
            assert!((growth_envelope(days).unwrap() - multiple).abs() <= 5e-5, "day {days}");
        }
        assert!((growth_envelope(5.699).unwrap() - 2.0).abs() < 1e-3, "doubles on day 5.699");
        assert!(growth_envelope(21.01).is_none());
    }

    #[test]
    fn published_lowest_band_compounds() {
        // Handbook growth.md section 2 (SACN Table 16-1, compounded): day 7 1.407, day 28 2.898.
        assert!((lowest_published_multiple(7.0) - 1.407).abs() < 5e-4);
        assert!((lowest_published_multiple(28.0) - 2.898).abs() < 5e-4);
    }
}
