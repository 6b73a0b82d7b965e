//! Step 4, *mix*: the milk in use, and the batch for exactly one round.
//!
//! Powder by weight, never by volume; rounded so that the mix is not stronger than the label.
//! Hot and cold water for the mixing temperature ignore the heat of powder and jug, so the
//! thermometer has the last word.

pub mod heat;
pub mod portion;
mod switch;
pub mod thin;
pub mod until_weaned;

use jiff::Timestamp;

use crate::limits;
use crate::milk::{self, MilkNote, Strength};
use crate::record::{Facts, Milk, MilkKind, hours_after};
use crate::references::{self as source, Sourced};
use crate::units::{Celsius, Grams, Hours, KcalPerMl, Millilitres};

/// What stays in bottle, teat or tube, for each pup.
pub const DEAD_VOLUME: Sourced<Millilitres> = Sourced::new(Millilitres::of(1.0), &source::DEAD_VOLUME);
/// Mixed milk is thrown away after this, refrigerated; a label may say less, not more.
pub const KEEPS: Sourced<Hours> = Sourced::new(Hours::of(24.0), &source::DISCARD);
/// Just boiled and cooled a little; from the tap. Examples for the thermometer, both shown.
pub const HOT: Celsius = Celsius::of(60.0);
pub const COLD: Celsius = Celsius::of(20.0);

/// A mix may differ from the label's ratio by this share.
const LARGEST_RATIO_ERROR: Sourced<f64> = Sourced::new(0.05, &source::RATIO_ERROR);

pub use switch::switched;

use portion::{Measure, Portion};

/// The milk to plan with.
#[derive(Debug, Clone)]
pub struct InUse {
    pub strength: Strength,
    pub notes: Vec<MilkNote>,
}

/// The milk in use, or why no amount can be planned.
///
/// # Errors
/// A sentence that says what is missing or refused.
pub fn milk_in_use(facts: &Facts) -> Result<InUse, String> {
    let Some(milk) = facts.milk_in_use() else {
        return Err("no milk is marked in_use in litter.toml; which one is on the shelf?".into());
    };
    if let Some(refused) = milk::refused(milk) {
        return Err(refused.says);
    }
    let strength = milk::strength(milk).ok_or_else(|| {
        format!("the strength of {} is not known: add kcal_per_ml, or the label's analysis and ratio", milk.id)
    })?;
    Ok(InUse { strength, notes: milk::notes(milk, Some(strength)) })
}

/// A batch for one round.
#[derive(Debug, Clone)]
pub struct Batch {
    pub milk: String,
    /// What the pups get.
    pub fed: Millilitres,
    pub dead: Millilitres,
    /// For the pups and the kit.
    pub wanted: Millilitres,
    /// What is made or poured: the wanted volume, or the next that scale and syringe can measure.
    pub volume: Millilitres,
    pub powder: Option<Powder>,
    /// Really obtained with these amounts; never above the label's.
    pub strength: KcalPerMl,
    pub label_strength: KcalPerMl,
    pub mixing_temperature: Celsius,
    /// The label asks for hotter water than a pup may be fed.
    pub must_cool: bool,
    pub leftovers_until: Timestamp,
    pub refrigerated_until: Timestamp,
}

/// The powder of a batch, and the water it takes.
#[derive(Debug, Clone)]
pub struct Powder {
    pub powder: Grams,
    pub water: Millilitres,
    pub hot_water: Millilitres,
    pub hot: Celsius,
    pub cold: Celsius,
    pub scoops: Option<f64>,
    /// So little as is wanted cannot be weighed well on this scale; a part is used.
    pub is_more_than_wanted: bool,
}

/// How long a mixed milk keeps in the fridge: as the label says, and never longer than the limit.
#[must_use]
pub fn keeps_refrigerated(milk: &Milk) -> Hours {
    milk.keeps.map_or(KEEPS.value, |label| label.min(KEEPS.value))
}

/// The batch for a round that feeds these amounts.
#[must_use]
pub fn batch(facts: &Facts, strength: &Strength, amounts: &[Millilitres], at: Timestamp) -> Option<Batch> {
    let milk = facts.milk_in_use().filter(|_| !amounts.is_empty())?;
    let fed: Millilitres = amounts.iter().copied().sum();
    #[expect(clippy::cast_precision_loss, reason = "a litter")]
    let dead = DEAD_VOLUME.value * amounts.len() as f64;
    let wanted = Millilitres::of((fed + dead).get().ceil());
    let mixing_temperature = milk.water_temperature.unwrap_or(limits::FEED_TEMPERATURE.value.1);
    let portion = is_mixed_with_water(milk.kind)
        .then_some(milk.recipe)
        .flatten()
        .map(|recipe| portion::portion(milk, recipe, wanted, Measure::Scale(facts.litter.scale_step)));
    let keeps = keeps_refrigerated(milk);
    Some(Batch {
        milk: milk.id.clone(),
        fed,
        dead,
        wanted,
        volume: portion.map_or(wanted, |p| p.volume),
        powder: portion.map(|p| powder(&p, mixing_temperature)),
        strength: portion.and_then(|p| p.strength).unwrap_or(strength.kcal_per_ml),
        label_strength: strength.kcal_per_ml,
        mixing_temperature,
        must_cool: mixing_temperature > limits::MILK_TOO_HOT.value,
        leftovers_until: hours_after(at, 1.0),
        refrigerated_until: hours_after(at, keeps.get()),
    })
}

/// A powder, or another milk that may be one.
#[must_use]
pub fn is_mixed_with_water(kind: MilkKind) -> bool {
    matches!(kind, MilkKind::PuppyPowder | MilkKind::GoatPowder | MilkKind::Other)
}

fn powder(portion: &Portion, temperature: Celsius) -> Powder {
    let hot = hot_share(temperature, HOT, COLD).unwrap_or(1.0);
    Powder {
        powder: portion.powder,
        water: portion.water,
        hot_water: Millilitres::of((portion.water.get() * hot).round()),
        hot: HOT,
        cold: COLD,
        scoops: portion.scoops,
        is_more_than_wanted: portion.is_more_than_wanted,
    }
}

/// Share of hot water in a mix of hot and cold: (target - cold) / (hot - cold).
///
/// None when the target does not lie between them.
#[must_use]
pub fn hot_share(target: Celsius, hot: Celsius, cold: Celsius) -> Option<f64> {
    let share = (target - cold) / (hot - cold);
    (0.0..=1.0).contains(&share).then_some(share)
}

/// What to do with milk at this temperature.
#[must_use]
pub fn may_be_fed_at(milk: Celsius) -> bool {
    milk <= limits::MILK_TOO_HOT.value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_water_mixing() {
        // Handbook milk.md check 13: hot 95, cold 20, target 38 gives 18/75 = 0.24.
        let c = Celsius::of;
        assert!((hot_share(c(38.0), c(95.0), c(20.0)).unwrap() - 0.24).abs() < 1e-12);
        assert!(hot_share(c(38.0), c(37.0), c(20.0)).is_none());
    }

    #[test]
    fn milk_above_forty_is_refused() {
        assert!(may_be_fed_at(Celsius::of(40.0)));
        assert!(!may_be_fed_at(Celsius::of(40.1)));
    }
}
