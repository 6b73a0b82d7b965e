//! Step 1, *record*: the facts of a litter, and the only place where they are parsed.
//!
//! [`parse`] takes the text of a litter folder and returns either every fact or every
//! problem, each with file, line and column. Nothing is half-loaded. Facts are kept sorted,
//! so the order of rows in a file changes nothing.

mod done;
mod done_kinds;
pub mod entries;
mod fields;
mod folder;
mod foods;
pub mod format;
mod hours;
mod litter_toml;
mod problem;
pub mod schema;
mod tables;
mod upbringing_choice;
mod words;

use jiff::Timestamp;
use jiff::tz::TimeZone;

pub use crate::units::WeightUnit;
use crate::units::{Celsius, Grams, Hours, KcalPer100g, KcalPerMl, Millilitres};

pub use done::{Done, DoneValue};
pub use done_kinds::{DONE_KINDS, DoneFor, DoneKind, DoneKindRow, DoneShape, ProductRule};
pub use entries::{Entry, Home, Values};
pub use folder::{FolderFiles, heaviest, parse};
pub use foods::{FoodAnalysis, ShelfFood};
pub use hours::WeeklyHours;
pub use problem::Problem;
pub use upbringing_choice::{HomeLaw, UpbringingChoice, VaccinationGuideline, WormingGuideline};
pub use words::{About, CHECK_KINDS, CheckKind, CheckKindRow, ValueShape, Word};

/// The name by which the household knows a pup.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PupId(pub String);

impl std::fmt::Display for PupId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// Everything that was written down about one litter.
#[derive(Debug, Clone)]
pub struct Facts {
    pub litter: Litter,
    pub dam: Dam,
    pub pups: Vec<Pup>,
    pub carers: Vec<Carer>,
    pub milks: Vec<Milk>,
    pub vets: Vec<Vet>,
    pub orders: Vec<VetOrder>,
    pub weighings: Vec<Weighing>,
    pub feeds: Vec<Feed>,
    pub checks: Vec<Check>,
    /// What was done for the pups, or first seen of them, on their way to the new home.
    pub done: Vec<Done>,
    /// The household's own foods, prices and stock.
    pub foods: Vec<ShelfFood>,
}

/// The litter as a whole.
#[derive(Debug, Clone)]
pub struct Litter {
    pub name: String,
    pub breed: Option<String>,
    pub expected_adult_weight: Option<Grams>,
    /// When the first pup was born; none while the dam is still expecting.
    pub whelped_at: Option<Timestamp>,
    pub zone: TimeZone,
    pub scale_step: Grams,
    pub expected_pups: Option<u32>,
    /// How many feeding rounds a day the household can keep.
    pub most_rounds_per_day: Option<u32>,
    pub rounds: RoundHabits,
    pub energy: EnergyChoice,
    pub weight_unit: WeightUnit,
    pub upbringing: UpbringingChoice,
    /// Set in invented litters only: the time at which the example is read.
    pub example: Option<Example>,
}

/// What the household says of its rounds; a usual value stands in where it says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RoundHabits {
    /// Laying out, warming the milk.
    pub set_up_minutes: Option<f64>,
    pub clean_up_minutes: Option<f64>,
    /// How many minutes of work a wake-up is worth.
    pub wake_up_minutes: Option<f64>,
    /// Bottle rounds a day for pups that are else fed by tube.
    pub bottle_rounds_for_tube_pups: Option<u32>,
}

/// An invented litter says so, and carries its own clock.
#[derive(Debug, Clone)]
pub struct Example {
    pub at: Timestamp,
    pub note: String,
}

/// Which named energy table the keeper picked, and the figure for later days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnergyChoice {
    pub table: EnergyTable,
    /// Replaces the last step of [`EnergyTable::Steps`], 20 to 25.
    pub from_day_seven: Option<KcalPer100g>,
}

/// The named energy tables; two are never averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EnergyTable {
    /// 15, 20, then 22 kcal per 100 g.
    Steps,
    /// A home handbook's figures by week.
    Weeks,
}

#[derive(Debug, Clone)]
pub struct Dam {
    pub name: Option<String>,
    pub weight: Option<Grams>,
    pub with_pups: bool,
    pub milk: DamMilk,
    /// Teats that give milk; none: nobody counted them.
    pub working_teats: Option<u32>,
    pub ovulated_at: Option<Timestamp>,
    pub lh_surge_at: Option<Timestamp>,
    /// The first mating, or the only one.
    pub mated_at: Option<Timestamp>,
    pub is_mated_once: bool,
}

/// What the keeper sees of the dam's milk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DamMilk {
    Good,
    Little,
    None,
    Unknown,
}

#[derive(Debug, Clone)]
pub struct Pup {
    pub id: PupId,
    pub sex: Sex,
    pub marks: String,
    pub born_at: Timestamp,
    pub birth_weight: Option<Grams>,
    pub premature: bool,
    pub rearing: Rearing,
    pub hand_fed_since: Option<Timestamp>,
    /// The household wants this pup fed by tube where a taught carer is on the round.
    pub wants_tube: bool,
    pub joined_at: Option<Timestamp>,
    pub left: Option<Left>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sex {
    Female,
    Male,
    Unknown,
}

/// Who feeds a pup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rearing {
    Nursing,
    ToppedUp,
    HandFed,
}

/// A pup that is no longer in the litter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Left {
    pub at: Timestamp,
    pub why: LeftWhy,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftWhy {
    Stillborn,
    Died,
    PutToSleep,
    FosteredOut,
    GoneHome,
}

impl Pup {
    /// Whether the pup is in the litter at this time.
    #[must_use]
    pub fn is_here(&self, now: Timestamp) -> bool {
        self.joined_at.unwrap_or(self.born_at) <= now && self.left.is_none_or(|left| left.at > now)
    }

    /// Age by elapsed time; ages in days are 24 real hours each.
    #[must_use]
    pub fn age(&self, now: Timestamp) -> Hours {
        hours_between(self.born_at, now)
    }
}

#[derive(Debug, Clone)]
pub struct Carer {
    pub name: String,
    /// A veterinarian showed this carer how to feed by tube.
    pub tube_taught_by_vet: bool,
    /// When this carer can be there; always when not said.
    pub available: Option<WeeklyHours>,
    /// Sleep that a round may break only at a price.
    pub sleeps: Option<WeeklyHours>,
    /// Bottles that this carer can give at the same time.
    pub pups_at_once: u32,
    /// Measured at home, in place of the usual minutes.
    pub bottle_minutes: Option<f64>,
    pub tube_minutes: Option<f64>,
}

impl Carer {
    /// Something was said about this carer's hours.
    #[must_use]
    pub fn has_hours(&self) -> bool {
        self.available.is_some() || self.sleeps.is_some()
    }
}

#[derive(Debug, Clone)]
pub struct Vet {
    pub name: String,
    pub phone: String,
    pub hours: Option<String>,
}

/// What a veterinarian ordered for one pup.
#[derive(Debug, Clone)]
pub struct VetOrder {
    pub pup: PupId,
    pub given_at: Timestamp,
    pub vet: String,
    pub until: Option<Timestamp>,
    pub per_feed: Option<Millilitres>,
    pub hours_between_feeds: Option<Hours>,
    pub energy: Option<KcalPer100g>,
    pub note: Option<String>,
}

/// A milk on the shelf.
#[derive(Debug, Clone)]
pub struct Milk {
    pub id: String,
    pub kind: MilkKind,
    pub in_use: bool,
    pub label_strength: Option<KcalPerMl>,
    pub recipe: Option<PowderRecipe>,
    pub solids: Option<LabelSolids>,
    pub more: LabelMore,
    pub water_temperature: Option<Celsius>,
    pub keeps: Option<Hours>,
    pub contains: Vec<Word>,
    /// Of a kilogram as it is bought, in the household's money.
    pub price_per_kg: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MilkKind {
    PuppyPowder,
    PuppyReady,
    Goat,
    GoatPowder,
    Cow,
    Bitch,
    HomeBlend,
    Other,
}

impl MilkKind {
    /// Its label's analysis is of the milk as it is fed, not of a powder.
    #[must_use]
    pub const fn is_fed_as_it_is(self) -> bool {
        matches!(self, Self::PuppyReady | Self::HomeBlend)
    }
}

/// The label's ratio, by weight of powder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowderRecipe {
    pub powder: Grams,
    pub water: Millilitres,
    /// Weight of one scoop, when the label counts scoops.
    pub scoop: Option<Grams>,
}

/// The label's analysis, in percent by weight: of a powder, or of a milk that is fed as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelSolids {
    pub protein: f64,
    pub fat: f64,
    pub fibre: f64,
    pub ash: f64,
    pub moisture: f64,
}

/// What few labels say, in percent by weight of what the analysis is of.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LabelMore {
    pub lactose: Option<f64>,
    pub calcium: Option<f64>,
    pub phosphorus: Option<f64>,
}

/// One weight of one pup at one time.
#[derive(Debug, Clone)]
pub struct Weighing {
    pub pup: PupId,
    pub at: Timestamp,
    pub weight: Grams,
    pub unit: WeightUnit,
    /// As it was typed, for the correction that is offered.
    pub typed: String,
    pub taken: Taken,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Taken {
    BeforeFeed,
    AfterFeed,
    Unknown,
}

/// One pup fed once.
#[derive(Debug, Clone)]
pub struct Feed {
    pub pup: PupId,
    pub at: Timestamp,
    pub method: Method,
    pub offered: Option<Millilitres>,
    pub taken: Option<Millilitres>,
    pub milk: Option<String>,
    pub carer: Option<String>,
    /// Gain over one supervised nursing, weighed before and after.
    pub nursed: Option<Grams>,
    /// Perhaps the same feed as another, written twice by two carers. The stomach is taken to
    /// have received both, and the day's intake only one, until someone says.
    pub maybe_the_same: bool,
}

impl Feed {
    /// What the stomach may have received: an amount that was not recorded is taken as
    /// what was offered, because unknown is not zero.
    #[must_use]
    pub fn at_most(&self) -> Option<Millilitres> {
        self.taken.or(self.offered)
    }

    #[must_use]
    pub fn is_by_hand(&self) -> bool {
        self.method != Method::Nursing
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    Bottle,
    Tube,
    Nursing,
}

impl Method {
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bottle => "bottle",
            Self::Tube => "tube",
            Self::Nursing => "nursing",
        }
    }
}

/// One observation, of a pup or (without a pup) of the dam, the box or the whole litter.
#[derive(Debug, Clone)]
pub struct Check {
    pub pup: Option<PupId>,
    pub at: Timestamp,
    pub kind: CheckKind,
    pub value: CheckValue,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CheckValue {
    Temperature(Celsius),
    Word(Word),
}

impl Check {
    #[must_use]
    pub fn is(&self, word: Word) -> bool {
        self.value == CheckValue::Word(word)
    }

    #[must_use]
    pub fn temperature(&self) -> Option<Celsius> {
        match self.value {
            CheckValue::Temperature(t) => Some(t),
            CheckValue::Word(_) => None,
        }
    }
}

impl Facts {
    /// The facts that were known at a time; later ones are left out.
    #[must_use]
    pub fn known_at(&self, now: Timestamp) -> Facts {
        let mut known = self.clone();
        known.weighings.retain(|w| w.at <= now);
        known.feeds.retain(|f| f.at <= now);
        known.checks.retain(|c| c.at <= now);
        known.done.retain(|d| d.at <= now);
        known.orders.retain(|o| o.given_at <= now);
        known.pups.retain(|p| p.born_at <= now);
        known
    }

    /// How many facts are later than a time.
    #[must_use]
    pub fn later_than(&self, now: Timestamp) -> usize {
        self.weighings.iter().filter(|w| w.at > now).count()
            + self.feeds.iter().filter(|f| f.at > now).count()
            + self.checks.iter().filter(|c| c.at > now).count()
            + self.done.iter().filter(|d| d.at > now).count()
    }

    /// Checks of one kind of one pup (or of dam, box and litter), oldest first.
    pub fn checks_of<'a>(
        &'a self,
        pup: Option<&'a PupId>,
        kind: CheckKind,
    ) -> impl DoubleEndedIterator<Item = &'a Check> + 'a {
        self.checks.iter().filter(move |c| c.kind == kind && c.pup.as_ref() == pup)
    }

    /// The newest check of one kind.
    #[must_use]
    pub fn latest<'a>(&'a self, pup: Option<&'a PupId>, kind: CheckKind) -> Option<&'a Check> {
        self.checks_of(pup, kind).next_back()
    }

    /// Entries of one kind for one pup (or for the dam), oldest first.
    pub fn done_for<'a>(
        &'a self,
        pup: Option<&'a PupId>,
        kind: DoneKind,
    ) -> impl DoubleEndedIterator<Item = &'a Done> + 'a {
        self.done.iter().filter(move |d| d.kind == kind && d.pup.as_ref() == pup)
    }

    /// Hand feeds (bottle and tube) of one pup, oldest first.
    pub fn hand_feeds<'a>(&'a self, pup: &'a PupId) -> impl DoubleEndedIterator<Item = &'a Feed> + 'a {
        self.feeds.iter().filter(move |f| &f.pup == pup && f.is_by_hand())
    }

    /// The milk marked as in use.
    #[must_use]
    pub fn milk_in_use(&self) -> Option<&Milk> {
        self.milks.iter().find(|m| m.in_use)
    }
}

/// Elapsed hours from one instant to another; negative when `to` is earlier.
#[must_use]
pub fn hours_between(from: Timestamp, to: Timestamp) -> Hours {
    Hours::of((to - from).as_secs_f64() / 3600.0)
}

/// An instant some hours later.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "hours of a litter, far inside i64 seconds")]
pub fn hours_after(at: Timestamp, hours: f64) -> Timestamp {
    at.saturating_add(jiff::SignedDuration::from_secs((hours * 3600.0).round() as i64)).unwrap_or(at)
}
