//! Every assumption of the simulation: a row with its range, its value for this litter, and its
//! source. A household may set each; its own closed litters move those that they can.

use super::litter_size::{breed_row, chances_of_size, chances_when_counted, published_size};
use super::own_litters::{OwnLitter, PRIOR_WEIGHTS, Rate, Size};
use super::{Expected, litter_size};
use crate::growth::priors::{self, SizeClass};
use crate::limits;
use crate::references::{self as source, Source, Sourced};
use crate::units::number;

/// Where a value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Published, common practice or our own: its source says which.
    Usual,
    /// The same, moved by so many own closed litters.
    OwnLitters(usize),
    /// What was written down of this litter.
    Book,
    /// Set for this question.
    Set,
}

impl Basis {
    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Usual => "as in the source".into(),
            Self::OwnLitters(1) => "the source and 1 own litter".into(),
            Self::OwnLitters(n) => format!("the source and {n} own litters"),
            Self::Book => "as written down".into(),
            Self::Set => "set by you".into(),
        }
    }
}

/// One assumption.
#[derive(Debug, Clone, Copy)]
pub struct Assumed {
    pub key: &'static str,
    pub what: &'static str,
    pub unit: &'static str,
    pub min: f64,
    pub max: f64,
    pub value: f64,
    pub basis: Basis,
    pub source: &'static Source,
}

/// A value that an assumption cannot take.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{name}: found \"{found}\"; allowed: {allowed}")]
pub struct CannotSet {
    pub name: String,
    pub found: String,
    pub allowed: String,
}

/// Key, what it is, unit, least and most.
type Row = (&'static str, &'static str, &'static str, f64, f64);

const SIZE: Row = ("litter_mean", "pups born, mean", "pups", 1.0, 20.0);
const SIZE_SD: Row = ("litter_sd", "pups born, SD", "pups", 0.2, 6.0);
const COUNT_OFF: Row = ("count_off_percent", "a count of pups that is one off", "%", 0.0, 90.0);
const BIRTH: Row = ("birth_weight_g", "birth weight, mean", "g", 50.0, 1000.0);
const BIRTH_SD: Row = ("birth_weight_sd_percent", "birth weight, SD", "% of the mean", 1.0, 60.0);
const STILLBORN: Row = ("stillborn_percent", "stillborn", "% of the born", 0.0, 60.0);
const DIES: Row = ("dies_percent", "die before weaning", "% of the live-born", 0.0, 60.0);
const WEEK_ONE: Row = ("week_one_percent", "of these deaths, in week 1", "%", 0.0, 100.0);
const LOSS_CLUSTERS: Row = ("loss_concentration", "how far losses come together (small: much)", "", 0.5, 1000.0);
const ORPHAN: Row = ("orphan_percent", "litters in which every pup is fed by hand", "% of litters", 0.0, 100.0);
const TOP_UP: Row = ("top_up_percent", "pups that are topped up", "% of the living", 0.0, 100.0);
const TOP_UP_CLUSTERS: Row =
    ("top_up_concentration", "how far topping up comes together (small: much)", "", 0.5, 1000.0);
const TEATS: Row = ("teats", "teats that give milk", "teats", 1.0, 14.0);
const SHARE: Row = ("share_percent", "part of the need of a topped-up pup", "%, mean", 5.0, 95.0);
const SHARE_CLUSTERS: Row = ("share_concentration", "how far that part varies (small: much)", "", 0.5, 1000.0);
const START: Row = ("start_day_latest", "topping up begins by day", "days", 0.0, 21.0);
const LASTS: Row = ("top_up_days", "topping up lasts", "days, mean", 0.5, 35.0);
const MILK_UNTIL: Row = ("milk_until_day", "milk is counted until day", "days", 7.0, 35.0);
const LEFT_BEHIND: Row = ("left_behind_ml", "left in bottle and teat at each feed", "mL", 0.0, 10.0);
const THROWN_LOW: Row = ("thrown_away_low_percent", "of what is mixed, thrown away: least", "%", 0.0, 80.0);
const THROWN_HIGH: Row = ("thrown_away_high_percent", "of what is mixed, thrown away: most", "%", 0.0, 80.0);
const BOTTLES: Row = ("bottles_per_pup", "bottles for a hand-fed pup", "", 0.25, 3.0);
const SPARE: Row = ("spare_bottles", "bottles to spare", "", 0.0, 5.0);
const TEATS_EACH: Row = ("teats_per_bottle", "teats for a bottle", "", 1.0, 10.0);
const TUBES: Row = ("tubes_per_pup", "tubes of each size for a hand-fed pup", "", 0.0, 20.0);
const SYRINGES: Row = ("syringes_per_pup", "syringes for a hand-fed pup", "", 0.0, 10.0);
const COVER: Row = ("covered_days", "days that the milk in the house must last", "days", 1.0, 14.0);

/// Until the household says otherwise (`SUPPLY_TOP_UP`): mean and concentration.
const TOPPED_UP: Sourced<(f64, f64)> = Sourced::new((100.0 / 3.0, 6.0), &source::SUPPLY_TOP_UP);
const ALL_BY_HAND: Sourced<f64> = Sourced::new(1.5, &source::SUPPLY_ORPHAN);
/// Tønnessen et al. 2012, in percent: stillborn of the born; dead by week 8 of the live-born; of
/// these by day 8.
const STILLBORN_USUAL: Sourced<f64> = Sourced::new(4.3, &source::STILLBORN);
const DIES_USUAL: Sourced<(f64, f64)> = Sourced::new((4.91, 78.7), &source::EARLY_DEATH);
const WEEK_ONE_USUAL: Sourced<f64> = Sourced::new(66.7, &source::DEATHS_IN_WEEK_ONE);
const CLUSTERS: Sourced<f64> = Sourced::new(3.316, &source::LOSS_CLUSTERS);
/// Teats under and from 10 kg.
const TEATS_USUAL: Sourced<(f64, f64)> = Sourced::new((8.0, 10.0), &source::SUPPLY_TEATS);
/// Part of the need in percent with its concentration, latest first day, mean length in days.
const COURSE: Sourced<(f64, f64, f64, f64)> = Sourced::new((50.0, 4.0, 3.0, 12.0), &source::SUPPLY_COURSE);
/// mL left behind; percent thrown away, least and most.
const WASTE: Sourced<(f64, f64, f64)> = Sourced::new((1.0, 5.0, 20.0), &source::SUPPLY_WASTE);
/// Bottles a pup, bottles to spare, teats a bottle, tubes of a size, syringes a pup.
const KIT: Sourced<[f64; 5]> = Sourced::new([1.0, 1.0, 2.0, 1.0, 1.0], &source::SUPPLY_KIT);
const COVERED: Sourced<f64> = Sourced::new(3.0, &source::SUPPLY_COVER);

/// All assumptions for one litter.
#[derive(Debug, Clone)]
pub struct Assumptions {
    pub rows: Vec<Assumed>,
    counted: Option<u32>,
}

impl Assumptions {
    /// For a litter, with what own closed litters say. `own` are all of them, `own_sizes` the sizes
    /// of those of the same kind of dog.
    #[must_use]
    pub fn of(expected: &Expected, own: &[OwnLitter], own_sizes: &[u32]) -> Self {
        let mut all = Self { rows: Vec::new(), counted: expected.counted };
        all.size(expected, own_sizes);
        all.birth_weight(expected);
        all.losses(expected, own);
        all.hand_feeding(expected, own);
        let [bottles, spare, teats, tubes, syringes] = KIT.value;
        let (left, low, high) = WASTE.value;
        let planned = limits::PLANNED_UNTIL_H;
        for (row, value, source) in [
            (MILK_UNTIL, planned.value / 24.0, &source::UNTIL_WEANED),
            (LEFT_BEHIND, left, WASTE.source),
            (THROWN_LOW, low, WASTE.source),
            (THROWN_HIGH, high, WASTE.source),
            (BOTTLES, bottles, KIT.source),
            (SPARE, spare, KIT.source),
            (TEATS_EACH, teats, KIT.source),
            (TUBES, tubes, KIT.source),
            (SYRINGES, syringes, KIT.source),
            (COVER, COVERED.value, COVERED.source),
        ] {
            all.add(row, value, Basis::Usual, source);
        }
        all
    }

    fn add(&mut self, (key, what, unit, min, max): Row, value: f64, basis: Basis, source: &'static Source) {
        self.rows.push(Assumed { key, what, unit, min, max, value, basis, source });
    }

    fn size(&mut self, expected: &Expected, own_sizes: &[u32]) {
        let adult_kg = expected.adult_or_dam().map(|g| g.get() / 1000.0);
        let (mean, sd) = published_size(expected.breed.as_deref(), adult_kg);
        let size = Size::published(mean.value, sd.value, PRIOR_WEIGHTS.value[0]).after(own_sizes);
        let basis = if own_sizes.is_empty() { Basis::Usual } else { Basis::OwnLitters(own_sizes.len()) };
        self.add(SIZE, size.mean.clamp(SIZE.3, SIZE.4), basis, mean.source);
        self.add(SIZE_SD, size.next_sd().clamp(SIZE_SD.3, SIZE_SD.4), basis, sd.source);
        if expected.counted.is_some() {
            self.add(COUNT_OFF, COUNT_OFF_USUAL.value, Basis::Usual, COUNT_OFF_USUAL.source);
        }
    }

    fn birth_weight(&mut self, expected: &Expected) {
        let by_breed = expected.breed.as_deref().and_then(priors::breed_birth_weight);
        let by_size = expected.adult_or_dam().map(|a| SizeClass::of_adult(a.get() / 1000.0).birth_weight());
        let (weight, source) = match (by_breed, by_size) {
            (Some(weight), _) => (weight, &source::BIRTH_WEIGHT_BREED),
            (None, Some(weight)) => (weight, &source::BIRTH_WEIGHT_CLASS),
            (None, None) => (priors::ANY_BIRTH_WEIGHT, &source::BIRTH_WEIGHT_CLASS),
        };
        self.add(BIRTH, weight.grams, Basis::Usual, source);
        self.add(BIRTH_SD, weight.log_sd * 100.0, Basis::Usual, source);
    }

    fn losses(&mut self, expected: &Expected, own: &[OwnLitter]) {
        let sum = |of: fn(&OwnLitter) -> u32| own.iter().map(of).sum::<u32>();
        let basis = own_basis(own);
        let weight = PRIOR_WEIGHTS.value[1];
        let stillborn = Rate { mean: STILLBORN_USUAL.value / 100.0, weight };
        let after = stillborn.after(sum(|l| l.stillborn), sum(|l| l.born));
        self.add(STILLBORN, after.mean * 100.0, basis, STILLBORN_USUAL.source);
        let (dies, by_week_one) = match breed_row(expected.breed.as_deref()) {
            Some((_, _, _, percent)) => (Sourced::new(*percent, &source::EARLY_DEATH_BREED), WEEK_ONE_USUAL),
            None => (
                Sourced::new(DIES_USUAL.value.0, DIES_USUAL.source),
                Sourced::new(DIES_USUAL.value.1, DIES_USUAL.source),
            ),
        };
        let after = Rate { mean: dies.value / 100.0, weight }.after(sum(|l| l.died), sum(OwnLitter::live));
        self.add(DIES, after.mean * 100.0, basis, dies.source);
        self.add(WEEK_ONE, by_week_one.value, Basis::Usual, by_week_one.source);
        self.add(LOSS_CLUSTERS, CLUSTERS.value, Basis::Usual, CLUSTERS.source);
    }

    fn hand_feeding(&mut self, expected: &Expected, own: &[OwnLitter]) {
        let basis = own_basis(own);
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let [_, _, pups, litters] = PRIOR_WEIGHTS.value;
        let orphans = count(own.iter().filter(|l| l.all_by_hand).count());
        let after = Rate { mean: ALL_BY_HAND.value / 100.0, weight: litters }.after(orphans, count(own.len()));
        self.add(ORPHAN, after.mean * 100.0, basis, ALL_BY_HAND.source);
        let nursed = || own.iter().filter(|l| !l.all_by_hand);
        let (mean, concentration) = TOPPED_UP.value;
        let after = Rate { mean: mean / 100.0, weight: pups }
            .after(nursed().map(|l| l.topped_up).sum(), nursed().map(OwnLitter::live).sum());
        self.add(TOP_UP, after.mean * 100.0, basis, TOPPED_UP.source);
        self.add(TOP_UP_CLUSTERS, concentration, Basis::Usual, TOPPED_UP.source);
        let is_small = expected
            .adult_or_dam()
            .is_some_and(|a| SizeClass::of_adult(a.get() / 1000.0) as u8 <= SizeClass::Small as u8);
        let usual = if is_small { TEATS_USUAL.value.0 } else { TEATS_USUAL.value.1 };
        match expected.working_teats {
            Some(counted) => self.add(TEATS, f64::from(counted), Basis::Book, TEATS_USUAL.source),
            None => self.add(TEATS, usual, Basis::Usual, TEATS_USUAL.source),
        }
        let (share, spread, start, lasts) = COURSE.value;
        for (row, value) in [(SHARE, share), (SHARE_CLUSTERS, spread), (START, start), (LASTS, lasts)] {
            self.add(row, value, Basis::Usual, COURSE.source);
        }
    }

    /// Sets one assumption from text.
    ///
    /// # Errors
    /// No such assumption, no number, or outside its range; the range is said.
    pub fn set(&mut self, key: &str, text: &str) -> Result<(), CannotSet> {
        let keys = || self.rows.iter().map(|r| r.key).collect::<Vec<_>>().join(", ");
        let refused = |allowed: String| CannotSet { name: key.into(), found: text.into(), allowed };
        let Some(at) = self.rows.iter().position(|r| r.key == key) else {
            return Err(CannotSet { name: "assumption".into(), found: key.into(), allowed: keys() });
        };
        let row = self.rows[at];
        let unit = if row.unit.is_empty() { String::new() } else { format!(" ({})", row.unit) };
        let allowed = || format!("a number from {} to {}{unit}", figure(row.min), figure(row.max));
        let value = crate::units::parse_decimal(text).map_err(|_| refused(allowed()))?;
        if !(row.min..=row.max).contains(&value) {
            return Err(refused(allowed()));
        }
        self.rows[at].value = value;
        self.rows[at].basis = Basis::Set;
        Ok(())
    }

    /// The value of a key; none where there is no such assumption for this litter.
    #[must_use]
    pub fn value(&self, key: &str) -> Option<f64> {
        self.rows.iter().find(|r| r.key == key).map(|r| r.value)
    }

    pub(super) fn get(&self, key: &str) -> f64 {
        self.value(key).expect("every litter has the assumptions that the draws ask for")
    }

    /// A percentage as a part.
    pub(super) fn part(&self, key: &str) -> f64 {
        self.get(key) / 100.0
    }

    /// The chance of 1, 2, … pups.
    #[must_use]
    pub fn chances_of_size(&self) -> Vec<f64> {
        match self.counted {
            Some(counted) => {
                chances_when_counted(counted.clamp(1, litter_size::LARGEST), self.part("count_off_percent"))
            }
            None => chances_of_size(self.get("litter_mean"), self.get("litter_sd")),
        }
    }
}

/// How often a count is one off, in percent.
const COUNT_OFF_USUAL: Sourced<f64> = Sourced::new(20.0, &source::LITTER_COUNT);

fn own_basis(own: &[OwnLitter]) -> Basis {
    if own.is_empty() { Basis::Usual } else { Basis::OwnLitters(own.len()) }
}

/// A value of an assumption, short.
#[must_use]
pub(crate) fn figure(value: f64) -> String {
    number(value, if value.abs() < 10.0 { 2 } else { 1 }, false)
}
