//! Thinner milk after loose stool, and what energy that takes away.

use jiff::Timestamp;

use crate::assess::DILUTION;
use crate::limits;
use crate::record::{CheckKind, Facts, PupId, Word, hours_after};
use crate::units::KcalPerMl;

/// Milk with water added, as a handbook says.
#[derive(Debug, Clone, Copy)]
pub struct Thinned {
    /// Share of added water in what is fed.
    pub water_share: f64,
    pub strength: KcalPerMl,
    pub lost_percent: f64,
    pub until: Timestamp,
}

/// The strength of a milk with a share of water added.
#[must_use]
pub fn thinned(strength: KcalPerMl, water_share: f64) -> KcalPerMl {
    strength * (1.0 - water_share)
}

/// Thinning for one pup: counted from the first loose stool since a firm one.
///
/// Whether it may be thinned at all is decided by [`crate::assess::may_be_thinned`].
#[must_use]
pub fn of_pup(facts: &Facts, pup: &PupId, strength: KcalPerMl) -> Option<Thinned> {
    let (yellow, green) = DILUTION.value;
    let share = |check: &crate::record::Check| match () {
        () if check.is(Word::LooseYellow) => Some(yellow),
        () if check.is(Word::LooseGreen) => Some(green),
        () => None,
    };
    let stools: Vec<_> = facts.checks_of(Some(pup), CheckKind::Stool).collect();
    let latest = share(stools.last()?)?;
    let first = stools.iter().rev().take_while(|c| !c.is(Word::Firm)).last()?;
    Some(Thinned {
        water_share: latest,
        strength: thinned(strength, latest),
        lost_percent: 100.0 * latest,
        until: hours_after(first.at, limits::DILUTED_FOR_H.value),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_dilution_energy() {
        // Home Veterinary Handbook, feeding problems (read): one third water, half water. By hand, milk of
        // 1.2 kcal per mL is then fed at 0.8 and 0.6.
        let (yellow, green) = DILUTION.value;
        let milk = KcalPerMl::of(1.2);
        assert!((thinned(milk, yellow).get() - 0.8).abs() < 1e-12);
        assert!((thinned(milk, green).get() - 0.6).abs() < 1e-12);
    }
}
