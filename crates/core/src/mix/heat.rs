//! Heat: what water a mix needs, how long a bottle warms and how long it stays warm.
//!
//! Ignores the vessel. A thermometer always decides; these figures tell where to begin.

use crate::milk::{Composition, PARTIAL_DENSITY};
use crate::references::{self as source, Sourced};
use crate::units::{Celsius, Grams, Millilitres};

/// kJ per kg and K of each gram in a gram: water, carbohydrate, protein, fat, ash.
const KESSLER: Sourced<[f64; 5]> = Sourced::new([4.18, 1.4, 1.6, 1.7, 0.8], &source::SPECIFIC_HEAT);
/// A 60 mL bottle in a water bath takes up this share of the difference in a minute.
pub const BATH_PER_MINUTE: Sourced<f64> = Sourced::new(0.2173, &source::BATH);
/// The same bottle in still air.
pub const AIR_PER_MINUTE: Sourced<f64> = Sourced::new(0.02173, &source::BATH);

/// kJ per kg and K; what is not named is ash.
#[must_use]
pub fn specific_heat(c: Composition) -> f64 {
    let [water, carbohydrate, protein, fat, ash] = KESSLER.value;
    let rest = (100.0 - c.water - c.carbohydrate - c.protein - c.fat).max(0.0);
    (water * c.water + carbohydrate * c.carbohydrate + protein * c.protein + fat * c.fat + ash * rest) / 100.0
}

/// The water for a mix to come out at a temperature, when the powder is at room temperature.
#[must_use]
pub fn water_for(target: Celsius, powder: Grams, of: Composition, room: Celsius, water: Millilitres) -> Celsius {
    let powder_heat = powder.get() * specific_heat(of);
    let water_heat = water.get() * PARTIAL_DENSITY.value[0] * KESSLER.value[0];
    Celsius::of(target.get() + powder_heat / water_heat * (target.get() - room.get()))
}

/// Minutes to go from one temperature to another in surroundings of a third (Newton).
///
/// Formula: `ln((T0 - Ta) / (T1 - Ta)) / k`. None when it never gets there.
#[must_use]
pub fn minutes(from: Celsius, to: Celsius, around: Celsius, per_minute: f64) -> Option<f64> {
    let ratio = (from.get() - around.get()) / (to.get() - around.get());
    (ratio.is_finite() && ratio >= 1.0).then(|| ratio.ln() / per_minute)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::milk::BITCH;

    const fn c(t: f64) -> Celsius {
        Celsius::of(t)
    }

    #[test]
    fn published_specific_heat() {
        // Handbook milk.md check 14: w .773, carb .0381, prot .0753, fat .0947, ash .011: 3.575. Ours counts
        // what is not named as ash, .0189, worth 0.006 more. Geankoplis App. A.4-1: whole milk 3.85, cream
        // 45-60 % 3.06-3.27, egg yolk 2.81 kJ per kg and K (read).
        let by_hand = 4.18 * 0.773 + 1.4 * 0.0381 + 1.6 * 0.0753 + 1.7 * 0.0947;
        assert!((by_hand + 0.8 * 0.011 - 3.575_f64).abs() < 5e-4);
        assert!((specific_heat(BITCH.value) - (by_hand + 0.8 * 0.0189)).abs() < 1e-9);
        let table = |id: &str| specific_heat(crate::milk::foods::by_id(id).unwrap().per_100g.composition);
        assert!((table("cow_milk") / 3.85 - 1.0).abs() < 0.02, "{}", table("cow_milk"));
        assert!((table("egg_yolk") / 2.81 - 1.0).abs() < 0.06, "{}", table("egg_yolk"));
    }

    #[test]
    fn published_water_bath() {
        // Handbook milk.md check 15: air 22 °C, 38 to 34 °C in 13.2 min; bath 45 °C, 5 to 38 °C in 8.0 min.
        let air = minutes(c(38.0), c(34.0), c(22.0), AIR_PER_MINUTE.value).unwrap();
        let bath = minutes(c(5.0), c(38.0), c(45.0), BATH_PER_MINUTE.value).unwrap();
        assert!((air - 13.2).abs() < 0.05 && (bath - 8.0).abs() < 0.05, "{air} {bath}");
        assert_eq!(minutes(c(5.0), c(38.0), c(37.0), 0.2), None, "a bath below the target never gets there");
        assert_eq!(minutes(c(5.0), c(38.0), c(38.0), 0.2), None);
    }

    #[test]
    fn warm_water_makes_up_for_cold_powder() {
        // Energy balance: what the powder takes up, the water gives.
        let powder = Composition { water: 4.0, protein: 30.0, fat: 26.0, carbohydrate: 33.4 };
        let water = water_for(c(38.0), Grams::of(20.0), powder, c(20.0), Millilitres::of(40.0));
        let gives = 40.0 * 0.9982 * 4.18 * (water.get() - 38.0);
        let takes = 20.0 * specific_heat(powder) * 18.0;
        assert!((gives - takes).abs() < 1e-9 && water.get() > 38.0 && water.get() < 45.0, "{water}");
    }
}
