//! Slips of the finger, found before anything is computed from them.
//!
//! A reading outside the pup's band is a doubt. With a likely cause (tenfold, a digit, two
//! digits exchanged, the unit, another pup) it is held back until it is weighed again. A loss
//! without such a cause is acted on at once, because it may be true. Two readings in a row
//! that agree with each other are believed.

use jiff::Timestamp;

use super::{PupAssessment, Reading};
use crate::assess::growth::growth_envelope;
use crate::finding::{Finding, Level};
use crate::record::{Facts, Pup, PupId, Taken, hours_between};
use crate::references::{self as source, Sourced};
use crate::units::{GRAMS_PER_OUNCE, GRAMS_PER_POUND, Grams, WeightUnit};

/// A reading that is probably a slip.
#[derive(Debug, Clone)]
pub struct Doubt {
    pub reading: Reading,
    pub suspicion: Suspicion,
    /// Held back: nothing is computed from it.
    pub is_held_back: bool,
    /// A later reading has settled it.
    pub is_settled: bool,
    /// What the reading would be, were the suspicion right.
    pub meant: Option<Grams>,
}

/// The likely cause, in the order in which causes are tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Suspicion {
    Tenfold,
    MissingOrExtraDigit,
    ExchangedDigits,
    Unit,
    OtherPup(PupId),
    Unexplained,
}

impl Suspicion {
    /// The cause in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Tenfold => "ten times too large or too small".into(),
            Self::MissingOrExtraDigit => "a digit too many or too few".into(),
            Self::ExchangedDigits => "two digits exchanged".into(),
            Self::Unit => "grams and ounces exchanged".into(),
            Self::OtherPup(other) => format!("the weight of {other}"),
            Self::Unexplained => "no slip that explains it".into(),
        }
    }
}

/// One pup's readings after screening.
#[derive(Debug)]
pub struct Screened {
    pub readings: Vec<Reading>,
    pub doubts: Vec<Doubt>,
}

/// Weighings of different pups within this time belong to one round.
const ROUND_H: f64 = 0.75;
/// After this time the band is too wide to tell which of two contradicting readings is true.
const BAND_ARBITRATES_H: Sourced<f64> = Sourced::new(72.0, &source::SLIP_BAND);

/// Screens the readings of each pup, in the order given.
pub fn screen(facts: &Facts, pups: &[&Pup]) -> Vec<Screened> {
    pups.iter().map(|pup| screen_pup(facts, pup)).collect()
}

fn all_readings(facts: &Facts, pup: &Pup) -> Vec<Reading> {
    let birth = pup.birth_weight.map(|weight| Reading {
        at: pup.born_at,
        weight,
        taken: Taken::Unknown,
        unit: WeightUnit::Gram,
        typed: crate::units::number(weight.get(), 3, false),
    });
    let weighed = facts.weighings.iter().filter(|w| w.pup == pup.id).map(|w| Reading {
        at: w.at,
        weight: w.weight,
        taken: w.taken,
        unit: w.unit,
        typed: w.typed.clone(),
    });
    birth.into_iter().chain(weighed).collect()
}

fn screen_pup(facts: &Facts, pup: &Pup) -> Screened {
    let mut readings: Vec<Reading> = Vec::new();
    let mut doubts: Vec<Doubt> = Vec::new();
    for reading in all_readings(facts, pup) {
        let Some(last) = readings.last() else {
            readings.push(reading);
            continue;
        };
        let contradicts_recent_doubt = doubts.last().is_some_and(|d| {
            !d.is_settled
                && d.is_held_back
                && !is_in_band(&d.reading, &reading)
                && hours_between(last.at, d.reading.at).get() > BAND_ARBITRATES_H.value
        });
        let pending = doubts.last().is_some_and(|d| !d.is_settled && d.is_held_back);
        if is_in_band(last, &reading) && !contradicts_recent_doubt {
            settle(&mut doubts);
            readings.push(reading);
        } else if let [.., before, _] = &readings[..]
            && doubts.last().is_some_and(|d| !d.is_settled && !d.is_held_back)
            && is_in_band(before, &reading)
        {
            // The loss that was acted on was a slip after all.
            readings.pop();
            settle(&mut doubts);
            readings.push(reading);
        } else if pending && doubts.last().is_some_and(|held| is_in_band(&held.reading, &reading)) {
            // Weighed again, and the second reading agrees with the one that was held back.
            let mut confirmed = doubts.pop().expect("a doubt is pending");
            if readings.len() == 1 {
                let first = readings.remove(0);
                let suspicion = suspect(&confirmed.reading, &first, facts, pup).0;
                doubts.push(Doubt { reading: first, suspicion, is_held_back: true, is_settled: true, meant: None });
            }
            confirmed.is_settled = true;
            readings.push(confirmed.reading);
            readings.push(reading);
        } else {
            let (suspicion, meant) = suspect(last, &reading, facts, pup);
            let is_loss = reading.weight < last.weight;
            let is_held_back = !(is_loss && suspicion == Suspicion::Unexplained);
            doubts.push(Doubt { reading: reading.clone(), suspicion, is_held_back, is_settled: false, meant });
            if !is_held_back {
                readings.push(reading);
            }
        }
    }
    Screened { readings, doubts }
}

fn settle(doubts: &mut [Doubt]) {
    for doubt in doubts {
        doubt.is_settled = true;
    }
}

/// The band in which the next weight is expected (usability S-5): per day at most 5 % lost
/// and 12 % gained, plus 5 % and at least 5 g for stomach and scale. Gain over more than three
/// days compounds, so it is followed up to the fastest growth ever described.
fn is_in_band(last: &Reading, next: &Reading) -> bool {
    let days = (hours_between(last.at, next.at).get() / 24.0).max(0.0);
    let w = last.weight.get();
    let low = (w * (0.95 - 0.05 * days.min(3.0))).min(w - 5.0);
    let compound = growth_envelope(days.min(21.0)).filter(|_| days > 3.0).map_or(0.0, |most| 1.05 * most);
    let high = (w * (1.05 + 0.12 * days).max(compound)).max(w + 5.0);
    (low..=high).contains(&next.weight.get())
}

fn suspect(last: &Reading, next: &Reading, facts: &Facts, pup: &Pup) -> (Suspicion, Option<Grams>) {
    let fits = |grams: f64| {
        let candidate = Reading { weight: Grams::of(grams), ..next.clone() };
        (grams.is_finite() && grams > 0.0 && is_in_band(last, &candidate)).then_some(Grams::of(grams))
    };
    let weight = next.weight.get();
    if let Some(meant) = [weight * 10.0, weight / 10.0].into_iter().find_map(fits) {
        return (Suspicion::Tenfold, Some(meant));
    }
    let typed_as = |text: &str| next.unit.parse(text).ok().map(Grams::get).and_then(fits);
    if let Some(meant) = one_digit_changed(&next.typed).iter().find_map(|t| typed_as(t)) {
        return (Suspicion::MissingOrExtraDigit, Some(meant));
    }
    if let Some(meant) = neighbours_exchanged(&next.typed).iter().find_map(|t| typed_as(t)) {
        return (Suspicion::ExchangedDigits, Some(meant));
    }
    let units = [weight * GRAMS_PER_OUNCE, weight / GRAMS_PER_OUNCE, weight * GRAMS_PER_POUND];
    if let Some(meant) = units.into_iter().find_map(fits) {
        return (Suspicion::Unit, Some(meant));
    }
    if let Some(other) = other_pup(next, facts, pup) {
        return (Suspicion::OtherPup(other), None);
    }
    (Suspicion::Unexplained, None)
}

/// Texts with one digit left out, or one digit doubled.
fn one_digit_changed(typed: &str) -> Vec<String> {
    let mut texts = Vec::new();
    for (i, c) in typed.char_indices().filter(|(_, c)| c.is_ascii_digit()) {
        let (before, after) = typed.split_at(i);
        texts.push(format!("{before}{}", &after[1..]));
        texts.push(format!("{before}{c}{after}"));
    }
    texts
}

/// Texts with two neighbouring digits exchanged.
fn neighbours_exchanged(typed: &str) -> Vec<String> {
    let chars: Vec<char> = typed.chars().collect();
    (1..chars.len())
        .filter(|&i| chars[i].is_ascii_digit() && chars[i - 1].is_ascii_digit() && chars[i] != chars[i - 1])
        .map(|i| {
            let mut swapped = chars.clone();
            swapped.swap(i - 1, i);
            swapped.into_iter().collect()
        })
        .collect()
}

/// Another pup whose last weight is within 2 % and that was not weighed in this round.
fn other_pup(next: &Reading, facts: &Facts, pup: &Pup) -> Option<PupId> {
    let is_this_round = |at: Timestamp| hours_between(at, next.at).get().abs() <= ROUND_H;
    facts
        .pups
        .iter()
        .filter(|other| other.id != pup.id && other.is_here(next.at))
        .find(|other| {
            let theirs = || all_readings(facts, other).into_iter();
            let was_weighed = theirs().any(|r| is_this_round(r.at) && r.at <= next.at);
            let last = theirs().rfind(|r| r.at < next.at && !is_this_round(r.at));
            !was_weighed && last.is_some_and(|l| (next.weight / l.weight - 1.0).abs() <= 0.02)
        })
        .map(|other| other.id.clone())
}

/// What to do about the open doubts of a pup.
pub fn findings(pup: &PupAssessment) -> Vec<Finding> {
    let Some(doubt) = pup.doubts.iter().rfind(|d| !d.is_settled) else { return left_out(pup).into_iter().collect() };
    let id = &pup.pup.id;
    let shown = doubt.reading.unit.print(doubt.reading.weight);
    let last = pup.readings.iter().rfind(|r| r.at < doubt.reading.at);
    let was = last.map_or(String::new(), |l| format!(" after {}", l.unit.print(l.weight)));
    let meant = doubt.meant.map_or(String::new(), |m| format!("; was {} meant?", doubt.reading.unit.print(m)));
    let is_loss = last.is_some_and(|l| doubt.reading.weight < l.weight);
    let level = if is_loss { Level::NeedsHelp } else { Level::KeepWatch };
    let then = if is_loss {
        " If it shows the same, check the scale with a known weight; if it is right, ring the vet now."
    } else {
        ""
    };
    vec![
        Finding::of_pup(id, "doubtful-weight", level, &source::SLIP_BAND)
            .says(format!("{shown} was read{was}: {}{meant}", doubt.suspicion.words()))
            .action(format!("Weigh {id} again now.{then}"))
            .since(doubt.reading.at),
    ]
}

/// A reading that nobody checked within a day, and that was then left out.
fn left_out(pup: &PupAssessment) -> Option<Finding> {
    let doubt = pup.doubts.iter().rfind(|d| d.is_held_back)?;
    let next = pup.readings.iter().find(|r| r.at > doubt.reading.at)?;
    (hours_between(doubt.reading.at, next.at).get() > 24.0).then(|| {
        let shown = doubt.reading.unit.print(doubt.reading.weight);
        Finding::of_pup(&pup.pup.id, "doubt-left-out", Level::Note, &source::SLIP_BAND)
            .says(format!("{shown} was never weighed again and is left out: {}", doubt.suspicion.words()))
            .action("If it was right, weigh again today and tell the vet of the change.")
            .since(doubt.reading.at)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(hours: f64, typed: &str, unit: WeightUnit) -> Reading {
        #[expect(clippy::cast_possible_truncation, reason = "test times")]
        let at = Timestamp::from_second(1_790_000_000 + (hours * 3600.0) as i64).unwrap();
        Reading { at, weight: unit.parse(typed).unwrap(), taken: Taken::Unknown, unit, typed: typed.into() }
    }

    #[test]
    fn band_is_that_of_usability_s5() {
        let w = reading(0.0, "400", WeightUnit::Gram);
        let check = |hours: f64, typed: &str, expected: bool| {
            assert_eq!(is_in_band(&w, &reading(hours, typed, WeightUnit::Gram)), expected, "{typed} after {hours} h");
        };
        // One day: 400 x 0.90 = 360 to 400 x 1.17 = 468.
        check(24.0, "360", true);
        check(24.0, "359", false);
        check(24.0, "468", true);
        check(24.0, "469", false);
        // Three days and later: 400 x 0.80 = 320 is the lowest.
        check(72.0, "320", true);
        check(240.0, "319", false);
        // A week at 10 % a day is believed.
        check(168.0, "779", true);
    }

    #[test]
    fn digits_are_varied_one_at_a_time() {
        assert!(one_digit_changed("254").contains(&"24".to_owned()));
        assert!(one_digit_changed("254").contains(&"2554".to_owned()));
        assert_eq!(neighbours_exchanged("254"), ["524", "245"]);
    }
}
