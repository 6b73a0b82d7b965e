//! The day on which a pup may go home: the law's age, and four things beside the age.

use jiff::civil::Date;

use super::{Fault, View, age_words, days_between, said};
use crate::assess::PupAssessment;
use crate::finding::Standing;
use crate::record::{DoneKind, DoneValue, Facts, HomeLaw, PupId, Word};
use crate::references::{self as source, Source, Sourced};
use crate::upbringing::weaning;

/// What one law asks before a pup goes home. Laws change: the household checks its own.
#[derive(Debug, Clone, Copy)]
pub struct HomeRule {
    pub name: &'static str,
    /// Least age in days; "over 8 weeks" is day 57.
    pub days: Sourced<i64>,
    /// The chip must be in by this day of age and before going home.
    chip_by: Option<Sourced<i64>>,
    /// Vaccinated and wormed before going home.
    asks_vaccine_and_worming: bool,
}

impl HomeRule {
    /// Day of age by which the chip is to be in; the day of going home where no law says it.
    #[must_use]
    pub fn chip_by(&self) -> (i64, &'static Source) {
        self.chip_by.map_or((self.days.value, &source::CHIP_HOME), |by| (by.value, by.source))
    }
}

const ENGLAND: HomeRule = HomeRule {
    name: "England",
    days: Sourced::new(56, &source::HOME_ENGLAND),
    chip_by: Some(Sourced::new(56, &source::CHIP_ENGLAND)),
    asks_vaccine_and_worming: false,
};
const FRANCE: HomeRule = HomeRule {
    name: "France",
    days: Sourced::new(57, &source::HOME_FRANCE),
    chip_by: None,
    asks_vaccine_and_worming: false,
};
const GERMANY: HomeRule = HomeRule { name: "Germany", days: Sourced::new(57, &source::HOME_GERMANY), ..FRANCE };
const NEW_SOUTH_WALES: HomeRule = HomeRule {
    name: "New South Wales",
    days: Sourced::new(56, &source::HOME_NEW_SOUTH_WALES),
    chip_by: Some(Sourced::new(84, &source::CHIP_NEW_SOUTH_WALES)),
    asks_vaccine_and_worming: true,
};
const US_8: HomeRule = HomeRule { name: "US states with 8 weeks", days: Sourced::new(56, &source::HOME_US), ..FRANCE };
const US_7: HomeRule = HomeRule { name: "US states with 7 weeks", days: Sourced::new(49, &source::HOME_US), ..FRANCE };
/// Of everything in the table the strictest: the latest age, the earliest chip, all conditions.
const UNKNOWN: HomeRule = HomeRule {
    name: "no law chosen, so the strictest of those we know",
    days: Sourced::new(57, &source::HOME_UNKNOWN),
    chip_by: Some(Sourced::new(56, &source::HOME_UNKNOWN)),
    asks_vaccine_and_worming: true,
};

/// The rule of a law; of none the strictest.
#[must_use]
pub const fn home_rule(law: Option<HomeLaw>) -> HomeRule {
    match law {
        Some(HomeLaw::England) => ENGLAND,
        Some(HomeLaw::France) => FRANCE,
        Some(HomeLaw::Germany) => GERMANY,
        Some(HomeLaw::NewSouthWales) => NEW_SOUTH_WALES,
        Some(HomeLaw::UsEightWeeks) => US_8,
        Some(HomeLaw::UsSevenWeeks) => US_7,
        None => UNKNOWN,
    }
}

/// One condition of going home.
#[derive(Debug, Clone)]
pub struct Gate {
    pub code: &'static str,
    pub is_met: bool,
    pub says: String,
    pub source: &'static Source,
}

/// When one pup may go home, and what stands in the way.
#[derive(Debug, Clone)]
pub struct Home {
    pub pup: PupId,
    pub law: &'static str,
    /// The first day that the law allows.
    pub earliest: Date,
    pub gates: Vec<Gate>,
    /// The day that the household wrote down.
    pub planned: Option<Date>,
    pub new_owner: Option<String>,
}

impl Home {
    /// Every condition is met today.
    #[must_use]
    pub fn may_go(&self) -> bool {
        self.gates.iter().all(|g| g.is_met)
    }
}

pub(super) fn home(view: &View<'_>, facts: &Facts, assessed: &PupAssessment) -> Home {
    let rule = home_rule(facts.litter.upbringing.home_law);
    let earliest = view.at_age(rule.days.value);
    let gate = |code, is_met, says: String, source| Gate { code, is_met, says, source };
    let age = view.age_days();
    let mut gates = vec![gate(
        "age",
        age >= rule.days.value,
        format!("at the least {}; today day {age}", age_words(rule.days.value)),
        rule.days.source,
    )];
    let (is_gaining, says) = gaining(facts, assessed);
    gates.push(gate("gains", is_gaining, says, &source::HOME_GATES));
    let eats = view.last(DoneKind::EatsByItself).or(view.last(DoneKind::Weaned));
    let says = eats.map_or("that it eats by itself is not written down".into(), |(on, _)| {
        format!("eats by itself since {}", said(on))
    });
    gates.push(gate("eats", eats.is_some(), says, &source::HOME_GATES));
    gates.push(vets_check(view));
    if rule.chip_by.is_some() {
        let is_met = view.last(DoneKind::Chip).is_some();
        let says = if is_met { "the chip is in" } else { "no chip is written down" };
        gates.push(gate("chip", is_met, says.into(), rule.chip_by().1));
    }
    if rule.asks_vaccine_and_worming {
        let is_met = view.last(DoneKind::Vaccination).is_some() && view.last(DoneKind::Worming).is_some();
        let says = if is_met { "vaccinated and wormed" } else { "a vaccination and a worming must be written down" };
        gates.push(gate("vaccine-worming", is_met, says.into(), rule.days.source));
    }
    let planned = view.last(DoneKind::HomeDay).and_then(|(_, d)| match d.value {
        DoneValue::Day(on) => Some(on),
        _ => None,
    });
    let new_owner = view.last(DoneKind::NewOwner).and_then(|(_, d)| d.value.typed());
    Home { pup: view.pup.id.clone(), law: rule.name, earliest, gates, planned, new_owner }
}

/// The newest look of the vet decides, if it was in the weeks before going home.
fn vets_check(view: &View<'_>) -> Gate {
    let newest = view.last(DoneKind::VetCheck);
    let (is_met, says) = match newest.map(|(on, d)| (on, &d.value)) {
        Some((on, DoneValue::Word(Word::Fit))) if days_between(view.born, on) >= 42 => {
            (true, format!("the vet found it fit on {}", said(on)))
        }
        Some((on, DoneValue::Word(Word::Fit))) => {
            (false, format!("the vet found it fit on {}, before 6 weeks: once more before it goes", said(on)))
        }
        Some((on, _)) => (false, format!("the vet wanted to see it again or did not find it fit on {}", said(on))),
        None => (false, "the vet's check is not written down".into()),
    };
    Gate { code: "vet-check", is_met, says, source: &source::VET_CHECK_HOME }
}

fn gaining(facts: &Facts, assessed: &PupAssessment) -> (bool, String) {
    if assessed.standing > Standing::KeepWatch {
        return (false, format!("its standing is \"{}\"", assessed.standing.words()));
    }
    match weaning::gain_check(facts, assessed) {
        weaning::GainCheck::Enough(says) => (true, says),
        weaning::GainCheck::TooLittle(says) | weaning::GainCheck::NotKnown(says) => (false, says),
    }
}

pub(super) fn faults(view: &View<'_>, home: &Home) -> Vec<Fault> {
    let Some(planned) = home.planned.filter(|on| *on < home.earliest) else { return Vec::new() };
    let says = format!("the day of going home, {}, is before {} ({})", said(planned), said(home.earliest), home.law);
    vec![Fault { code: "home-too-early", pup: view.pup.id.clone(), says, since: planned, source: home.gates[0].source }]
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::upbringing::after;

    #[test]
    fn published_go_home_ages() {
        // Care handbook section 14, check 23, and the table of section 9.
        let born = date(2025, 3, 1);
        let earliest = |law| after(born, home_rule(law).days.value);
        assert_eq!(earliest(Some(HomeLaw::England)), date(2025, 4, 26));
        assert_eq!(earliest(Some(HomeLaw::France)), date(2025, 4, 27));
        assert_eq!(earliest(Some(HomeLaw::Germany)), date(2025, 4, 27));
        assert_eq!(earliest(Some(HomeLaw::NewSouthWales)), date(2025, 4, 26));
        assert_eq!(earliest(Some(HomeLaw::UsEightWeeks)), date(2025, 4, 26));
        assert_eq!(earliest(Some(HomeLaw::UsSevenWeeks)), date(2025, 4, 19));
    }

    #[test]
    fn an_unknown_law_is_at_least_as_strict_as_every_known_one() {
        let unknown = home_rule(None);
        for law in HomeLaw::ALL {
            let rule = home_rule(Some(*law));
            assert!(unknown.days.value >= rule.days.value, "{}", rule.name);
            let by = |rule: &HomeRule| rule.chip_by.map_or(i64::MAX, |by| by.value);
            assert!(by(&unknown) <= by(&rule), "{}: chip", rule.name);
            assert!(unknown.asks_vaccine_and_worming || !rule.asks_vaccine_and_worming);
        }
    }
}
