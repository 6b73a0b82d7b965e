//! A litter looked back on: what was lost, how soon something was done, what the warnings were worth,
//! what milk, nights and money it took; three facts and three changes for the next litter.
//!
//! It blames nobody, and each number keeps its denominator. How every word of it is counted stands in
//! [`episodes`] and [`gaps`]. What the record does not hold is said to be unknown, never taken as none.

mod episodes;
mod gaps;
mod priors;
mod says;

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use crate::assess::{self, learned_noise};
use crate::growth::STATED_FALSE_ALARMS;
use crate::limits;
use crate::record::{Facts, LeftWhy, Method, MilkKind, hours_between};
use crate::supplies::OwnLitter;
use crate::units::{Grams, Millilitres};

pub use episodes::{LATE_WARNING_H, OUTLOOK_H, Warnings};
pub use gaps::{Gaps, LATE_H};
pub use priors::PriorLine;

/// What a book holds beside the facts of a folder.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    pub batches: Vec<Batch>,
    /// Weighings that were corrected or taken back.
    pub corrected_weighings: usize,
    /// Pup and time of each medicine that was given to one pup.
    pub given: Vec<(String, Timestamp)>,
    /// The household's closed litters, this one too once it is closed.
    pub own: Vec<OwnLitter>,
    /// How many were born in those of the same kind of dog.
    pub own_sizes: Vec<u32>,
}

/// Milk that was mixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    pub at: Timestamp,
    pub volume: Millilitres,
    pub powder: Option<Grams>,
}

/// The litter looked back on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Review {
    pub litter: String,
    /// Set when the litter is invented.
    pub example_note: Option<String>,
    pub at: String,
    pub losses: Losses,
    pub warnings: Warnings,
    /// Middle hours from a first sign to the first thing that was done; null without a sign.
    pub hours_to_action: Option<f64>,
    pub gaps: Gaps,
    pub limits: Vec<LimitLine>,
    /// Null where nothing was fed by hand and nothing mixed.
    pub milk: Option<MilkLine>,
    pub nights: Vec<NightLine>,
    pub household: Household,
    /// What the household's closed litters change in what is assumed of the next; empty without any.
    pub priors: Vec<PriorLine>,
    /// At most three sentences each.
    pub facts: Vec<String>,
    pub changes: Vec<String>,
}

/// Pups by what became of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Losses {
    /// Of this dam, the stillborn among them.
    pub born: usize,
    pub stillborn: usize,
    /// Of those born alive, in the first two days, and later.
    pub died_first_two_days: usize,
    pub died_later: usize,
    pub put_to_sleep: usize,
    pub fostered_in: usize,
    pub fostered_out: usize,
    pub gone_home: usize,
    pub here: usize,
}

impl Losses {
    #[must_use]
    pub fn born_alive(&self) -> usize {
        self.born - self.stillborn
    }

    #[must_use]
    pub fn lost(&self) -> usize {
        self.died_first_two_days + self.died_later + self.put_to_sleep
    }
}

/// How often a check stopped somebody, and how often the person kept what was typed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LimitLine {
    pub limit: String,
    pub hits: usize,
    pub kept: usize,
    /// Over half of at least [`ENOUGH_HITS`] hits were kept: the limit stops the wrong things.
    pub is_badly_set: bool,
}

/// From so many hits on a limit is judged (our own rule).
pub const ENOUGH_HITS: usize = 20;

/// Milk by hand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct MilkLine {
    /// As recorded; what was not recorded may have been drunk too.
    pub taken_ml: f64,
    pub feeds_without_amount: usize,
    /// Offered and not taken, where both are written down; null where they never are.
    pub left_ml: Option<f64>,
    /// Null where no mixing is written down, so that nobody knows what was thrown away: a folder has no
    /// place for one, a book has.
    pub mixed: Option<MixedLine>,
}

/// What became of the milk that was mixed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct MixedLine {
    pub mixed_ml: f64,
    pub wasted_percent: f64,
    /// Of the powder that was weighed, in the household's money; null without a price or a weight.
    pub cost: Option<f64>,
}

/// Nights in which a carer fed by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NightLine {
    pub carer: String,
    pub broken: usize,
    /// Nights from the birth to the last hand feed.
    pub of: usize,
}

/// What this household's own history says beside what the program assumes before it knows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Household {
    /// How far one reading is off, in percent of the weight: before this litter, and after it.
    pub reading_noise_before_percent: f64,
    pub reading_noise_after_percent: f64,
    /// Middle weight at birth of this litter; null when none was weighed.
    pub middle_birth_weight_g: Option<f64>,
}

/// JSON Schema of [`Review`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Review).to_value()
}

/// Looks back at a litter as it is known at `now`.
#[must_use]
pub fn review(facts: &Facts, beside: &Beside, now: Timestamp) -> Review {
    let facts = &facts.known_at(now);
    let episodes = episodes::episodes(facts, now);
    let (before, after) = learned_noise(facts, now);
    let mut review = Review {
        litter: facts.litter.name.clone(),
        example_note: facts.litter.example.as_ref().map(|e| e.note.clone()),
        at: crate::report::clock::iso(now, &facts.litter.zone),
        losses: losses(facts, now),
        warnings: episodes::judge(facts, beside, &episodes, now),
        hours_to_action: episodes::hours_to_action(facts, &episodes),
        gaps: gaps::gaps(facts),
        limits: limit_lines(facts, beside, now),
        milk: milk(facts, beside),
        nights: nights(facts),
        household: Household {
            reading_noise_before_percent: before * 100.0,
            reading_noise_after_percent: after * 100.0,
            middle_birth_weight_g: middle(facts.pups.iter().filter_map(|p| p.birth_weight).map(Grams::get).collect()),
        },
        priors: priors::priors(facts, &beside.own, &beside.own_sizes),
        facts: Vec::new(),
        changes: Vec::new(),
    };
    review.facts = says::facts(&review);
    review.changes = says::changes(&review);
    review
}

fn losses(facts: &Facts, now: Timestamp) -> Losses {
    let left = |why: LeftWhy| facts.pups.iter().filter(move |p| p.left.is_some_and(|l| l.why == why && l.at <= now));
    let early = left(LeftWhy::Died)
        .filter(|p| p.left.is_some_and(|l| hours_between(p.born_at, l.at).get() <= limits::UNWELL_NEWBORN_H.value))
        .count();
    Losses {
        born: facts.pups.iter().filter(|p| p.joined_at.is_none()).count(),
        stillborn: left(LeftWhy::Stillborn).count(),
        died_first_two_days: early,
        died_later: left(LeftWhy::Died).count() - early,
        put_to_sleep: left(LeftWhy::PutToSleep).count(),
        fostered_in: facts.pups.iter().filter(|p| p.joined_at.is_some()).count(),
        fostered_out: left(LeftWhy::FosteredOut).count(),
        gone_home: left(LeftWhy::GoneHome).count(),
        here: facts.pups.iter().filter(|p| p.is_here(now)).count(),
    }
}

fn limit_lines(facts: &Facts, beside: &Beside, now: Timestamp) -> Vec<LimitLine> {
    let mut standing = 0;
    assess::follow(facts, Some(now), STATED_FALSE_ALARMS, |_, step| {
        standing += usize::from(step.suspicion.is_some() && !step.is_birth);
    });
    let line = |limit: &str, hits: usize, kept: usize| LimitLine {
        limit: limit.into(),
        hits,
        kept,
        is_badly_set: is_badly_set(hits, kept),
    };
    vec![line("a weight that looked like a slip", standing + beside.corrected_weighings, standing)]
}

/// Over half of at least [`ENOUGH_HITS`].
#[must_use]
pub fn is_badly_set(hits: usize, kept: usize) -> bool {
    hits >= ENOUGH_HITS && kept * 2 > hits
}

fn milk(facts: &Facts, beside: &Beside) -> Option<MilkLine> {
    let by_hand = || facts.feeds.iter().filter(|f| f.is_by_hand());
    let taken_ml: f64 = by_hand().filter_map(|f| f.taken).map(Millilitres::get).sum();
    let left: Vec<f64> = by_hand()
        .filter_map(|f| f.offered.zip(f.taken))
        .map(|(offered, taken)| (offered.get() - taken.get()).max(0.0))
        .collect();
    (by_hand().next().is_some() || !beside.batches.is_empty()).then(|| MilkLine {
        taken_ml,
        feeds_without_amount: by_hand().filter(|f| f.taken.is_none()).count(),
        left_ml: (!left.is_empty()).then(|| left.iter().sum()),
        mixed: mixed(facts, beside, taken_ml),
    })
}

fn mixed(facts: &Facts, beside: &Beside, taken_ml: f64) -> Option<MixedLine> {
    if beside.batches.is_empty() {
        return None;
    }
    let mixed_ml: f64 = beside.batches.iter().map(|b| b.volume.get()).sum();
    let powder: Option<f64> = beside.batches.iter().map(|b| b.powder.map(Grams::get)).sum();
    let price = facts
        .milk_in_use()
        .filter(|m| matches!(m.kind, MilkKind::PuppyPowder | MilkKind::GoatPowder))
        .and_then(|m| m.price_per_kg);
    Some(MixedLine {
        mixed_ml,
        wasted_percent: 100.0 * (1.0 - taken_ml / mixed_ml).max(0.0),
        cost: powder.zip(price).map(|(g, per_kg)| g / 1000.0 * per_kg),
    })
}

/// A night ends at six in the morning; a feed from eleven at night on breaks it (our own), or, where the
/// carer's hours of sleep are written down, a feed within them.
fn nights(facts: &Facts) -> Vec<NightLine> {
    let zone = &facts.litter.zone;
    let hand: Vec<_> = facts.feeds.iter().filter(|f| f.method != Method::Nursing).collect();
    let (Some(born), Some(last)) = (facts.litter.whelped_at, hand.last().map(|f| f.at)) else { return Vec::new() };
    let night = |at: Timestamp| {
        let local = at.to_zoned_datetime(zone.clone());
        // What is after midnight belongs to the evening before.
        if local.hour() < 12 { local.date().yesterday().ok() } else { Some(local.date()) }
    };
    let days = hours_between(born, last).get() / 24.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a litter, never negative")]
    let of = days.max(0.0).ceil() as usize;
    facts
        .carers
        .iter()
        .map(|carer| {
            let is_at_night = |at: Timestamp| {
                let hour = at.to_zoned_datetime(zone.clone()).hour();
                carer.sleeps.as_ref().map_or(!(6..23).contains(&hour), |hours| hours.contains(at, zone))
            };
            let broken: std::collections::BTreeSet<_> = hand
                .iter()
                .filter(|f| f.carer.as_deref() == Some(carer.name.as_str()) && is_at_night(f.at))
                .filter_map(|f| night(f.at))
                .collect();
            NightLine { carer: carer.name.clone(), broken: broken.len(), of }
        })
        .collect()
}

/// The middle value; of an even number of them the mean of the two in the middle.
fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    match n {
        0 => None,
        n if n % 2 == 1 => Some(values[n / 2]),
        n => Some(f64::midpoint(values[n / 2 - 1], values[n / 2])),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_badly_set_from_over_half_of_twenty_hits_on() {
        assert!(is_badly_set(20, 11));
        assert!(!is_badly_set(20, 10), "half is not over half");
        assert!(!is_badly_set(19, 19), "too few to say");
    }

    #[test]
    fn milk_is_counted_from_the_feeds_and_what_was_thrown_away_from_the_mixings() {
        let toml = "format = 1\n[litter]\nname = \"Fern\"\nbreed = \"Maltese\"\ntime_zone = \"UTC\"\nscale_step_g = 1\n\
                    whelped_at = 2026-03-02T00:00:00Z\n[[pup]]\nid = \"Ash\"\nsex = \"female\"\nmarks = \"plain\"\n\
                    born_at = 2026-03-02T00:00:00Z\nbirth_weight = 300\nunit = \"g\"\n\
                    [[milk]]\nid = \"replacer\"\nkind = \"puppy_powder\"\nin_use = true\nkcal_per_ml = 1.0\n\
                    price_per_kg = 20\n";
        let feeds = "pup,fed_at,method,offered_ml,taken_ml,milk,carer\nAsh,2026-03-04T00:00:00Z,bottle,10,8,replacer,\n\
                     Ash,2026-03-04T04:00:00Z,bottle,10,10,replacer,\nAsh,2026-03-04T08:00:00Z,bottle,,,replacer,\n";
        let files = |feeds: &str| crate::record::FolderFiles {
            litter_toml: Some(toml.into()),
            feeds_csv: Some(feeds.to_owned().into_bytes()),
            ..Default::default()
        };
        let now = "2026-03-05T00:00:00Z".parse().unwrap();
        let of = |feeds: &str, beside: &Beside| review(&crate::record::parse(&files(feeds)).unwrap(), beside, now);
        let folder = of(feeds, &Beside::default()).milk.unwrap();
        assert_eq!((folder.taken_ml, folder.feeds_without_amount, folder.left_ml), (18.0, 1, Some(2.0)));
        assert_eq!(folder.mixed, None, "a folder holds no mixing: not known, not none");
        // 30 mL mixed with 10 g of powder at 20 a kilogram: 12 of 30 not fed, 0.2 of the household's money.
        let batch = Batch { at: now, volume: Millilitres::of(30.0), powder: Some(Grams::of(10.0)) };
        let mixed = of(feeds, &Beside { batches: vec![batch], ..Beside::default() }).milk.unwrap().mixed.unwrap();
        assert!((mixed.wasted_percent - 40.0).abs() < 1e-9 && mixed.cost.is_some_and(|c| (c - 0.2).abs() < 1e-9));
        assert_eq!(of(feeds.lines().next().unwrap(), &Beside::default()).milk, None, "nothing by hand");
    }

    #[test]
    fn the_middle_of_values() {
        assert_eq!(middle(vec![]), None);
        assert_eq!(middle(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(middle(vec![4.0, 1.0, 2.0, 3.0]), Some(2.5));
    }
}
