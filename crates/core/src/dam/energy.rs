//! Energy that a nursing dam needs in a day.

use crate::references::{self as source, Source, Sourced};
use crate::units::{Grams, Kcal};

/// Upkeep, kcal per kg^0.75 and day.
const UPKEEP: Sourced<f64> = Sourced::new(145.0, &source::DAM_ENERGY);
/// Kcal per kg of dam for each pup up to the fourth, and from the fifth to the eighth.
const FOR_PUPS: Sourced<[f64; 2]> = Sourced::new([24.0, 12.0], &source::DAM_ENERGY);
/// Factor of weeks 1 to 4.
pub(super) const WEEKS: Sourced<[f64; 4]> = Sourced::new([0.75, 0.95, 1.1, 1.2], &source::DAM_ENERGY);
/// The last week and the largest litter that the equation was published for.
const PUBLISHED_UP_TO: Sourced<(f64, usize)> = Sourced::new((28.0, 8), &source::DAM_ENERGY);

/// The energy, and what is not published about it.
#[derive(Debug, Clone, Copy)]
pub struct DamEnergy {
    pub upkeep: Kcal,
    pub day: Kcal,
    /// More than eight pups: the equation has no term for them, so the true need is higher.
    pub is_at_least: bool,
    /// After week 4 no factor is published; that of week 4 is held, too much once pups eat.
    pub is_past_published: bool,
    pub source: &'static Source,
}

/// `145 W^0.75 + W (24 n + 12 m) L` kcal metabolisable a day: `n` pups up to the fourth, `m` from
/// the fifth to the eighth, `L` the factor of the week.
///
/// Units: g, number of nursing pups, age of the litter in days. Valid for 1 to 8 pups in weeks 1 to 4;
/// beyond that the result says so.
#[must_use]
pub fn dam_energy(weight: Grams, pups: usize, age_days: f64) -> DamEnergy {
    let kg = weight.get() / 1000.0;
    let upkeep = UPKEEP.value * kg.powf(0.75);
    let [first, later] = FOR_PUPS.value;
    let (past_day, most) = PUBLISHED_UP_TO.value;
    let counted = pups.min(most);
    #[expect(clippy::cast_precision_loss, reason = "at most eight pups")]
    let (n, m) = (counted.min(4) as f64, counted.saturating_sub(4) as f64);
    DamEnergy {
        upkeep: Kcal::of(upkeep),
        day: Kcal::of(upkeep + kg * (first * n + later * m) * super::week_factor(age_days)),
        is_at_least: pups > most,
        is_past_published: age_days >= past_day,
        source: UPKEEP.source,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_dam_energy() {
        // Feeding handbook section 9 and check T19: the published equation worked out by hand there.
        let table = [
            (5.0, 3, 484.8, [754.8, 826.8, 880.8, 916.8]),
            (10.0, 4, 815.4, [1535.4, 1727.4, 1871.4, 1967.4]),
            (30.0, 8, 1858.7, [5098.7, 5962.7, 6610.7, 7042.7]),
            (35.0, 8, 2086.5, [5866.5, 6874.5, 7630.5, 8134.5]),
        ];
        for (kg, pups, upkeep, weeks) in table {
            for (days, expected) in [3.0, 10.0, 17.0, 24.0].into_iter().zip(weeks) {
                let ours = dam_energy(Grams::of(kg * 1000.0), pups, days);
                assert!((ours.upkeep.get() - upkeep).abs() < 0.1, "{kg} kg: {}", ours.upkeep.get());
                assert!((ours.day.get() - expected).abs() < 0.1, "{kg} kg, day {days}: {}", ours.day.get());
                assert!(!ours.is_at_least && !ours.is_past_published);
            }
        }
        // Nine pups are flagged, not silently eight; week 5 is flagged too.
        assert!(dam_energy(Grams::of(30_000.0), 9, 3.0).is_at_least);
        assert!(dam_energy(Grams::of(30_000.0), 8, 28.0).is_past_published);
    }
}
