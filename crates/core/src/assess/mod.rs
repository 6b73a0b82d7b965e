//! Step 2, *assess*: how is each pup doing, and how sure is that?
//!
//! From weighings and checks to a standing with its findings. Slips are screened first and
//! held back as doubts; one bad reading never blanks the page. The published thresholds are always
//! on; the growth model may raise a standing and never lowers one.

mod birth_weight;
mod course;
mod dam;
mod doubts;
mod faltering;
mod gain;
mod growth;
mod signs;
mod warmth;

use jiff::Timestamp;

use course::Course;

use crate::finding::{Finding, Level, Standing};
use crate::growth as growth_model;
use crate::limits;
use crate::record::{CheckKind, DamMilk, Facts, Pup, Rearing, Taken, Word, hours_after};
use crate::units::{Grams, Hours, WeightUnit};

pub use birth_weight::{BREED_BANDS, BirthBand, birth_band};
pub use course::{Step, follow, learned_noise};
pub use doubts::{Doubt, Suspicion};
pub use gain::Gain;
pub(crate) use growth::{LATER_G_PER_KG, WEEK_ONE as GAIN_WEEK_ONE, WEEKS_TWO_TO_FOUR as GAIN_WEEKS_TWO_TO_FOUR};
pub use growth::{floor_words, lowest_published_multiple, published_gain_band};
pub(crate) use signs::sign_lines;
pub use signs::{Block, Blocked, DILUTION, SignLine, is_ill, may_be_thinned};
pub use warmth::{Warmth, is_cold};

/// One weight that counts.
#[derive(Debug, Clone)]
pub struct Reading {
    pub at: Timestamp,
    pub weight: Grams,
    pub taken: Taken,
    pub unit: WeightUnit,
    /// As typed, for the corrections that are offered.
    pub typed: String,
}

/// One pup's state.
#[derive(Debug, Clone)]
pub struct PupAssessment {
    pub pup: Pup,
    pub age: Hours,
    /// Readings that count, oldest first; the birth weight is the first of them.
    pub readings: Vec<Reading>,
    pub doubts: Vec<Doubt>,
    pub gain: Option<Gain>,
    /// What the growth model makes of the latest reading that counts.
    pub growth: Option<growth_model::Assessment>,
    /// Change from the birth weight, in percent of it.
    pub change_from_birth_percent: Option<f64>,
    pub birth_band: BirthBand,
    pub is_light: bool,
    /// All its milk comes from us.
    pub is_hand_fed: bool,
    pub warmth: Warmth,
    pub blocked: Vec<Blocked>,
    pub findings: Vec<Finding>,
    pub standing: Standing,
}

impl PupAssessment {
    /// The newest weight that counts.
    #[must_use]
    pub fn latest(&self) -> Option<&Reading> {
        self.readings.last()
    }

    /// The most urgent level among the findings.
    #[must_use]
    pub fn level(&self) -> Level {
        self.findings.iter().map(|f| f.level).max().unwrap_or(Level::Note)
    }

    /// Doing well, and known to gain.
    #[must_use]
    pub fn is_well_and_gaining(&self) -> bool {
        self.standing == Standing::DoingWell && self.gain.as_ref().is_some_and(|g| g.per_day.get() > 0.0)
    }

    /// A premature, faltering or unwell pup.
    #[must_use]
    pub fn is_weak(&self) -> bool {
        self.pup.premature || self.standing >= Standing::NeedsHelp
    }
}

/// Whether the dam feeds the litter, and since when she does not.
#[derive(Debug, Clone, PartialEq)]
pub struct DamFeeds {
    pub is_feeding: bool,
    pub off_since: Option<Timestamp>,
    pub why: &'static str,
}

/// The whole litter's state.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// Pups that are here, by id.
    pub pups: Vec<PupAssessment>,
    /// Findings about the dam, the box and the birth.
    pub litter_findings: Vec<Finding>,
    pub dam_feeds: DamFeeds,
    /// Facts that would help and are not there.
    pub missing: Vec<String>,
}

/// Assesses every pup that is here at `now`, from the facts known by then.
#[must_use]
pub fn assess(facts: &Facts, now: Timestamp) -> Assessment {
    let dam_feeds = dam::dam_feeds(facts, now);
    let mut litter_findings = dam::findings(facts, now);
    let mut missing = Vec::new();
    let courses = facts.pups.iter().zip(course::courses(facts, now));
    let pups: Vec<PupAssessment> = courses
        .filter(|(pup, _)| pup.is_here(now))
        .map(|(pup, course)| assess_pup(facts, now, pup, course, &dam_feeds))
        .collect();
    litter_findings.extend(faltering::whole_litter(&pups, now));
    dam::box_findings(facts, now, &mut litter_findings, &mut missing);
    for pup in &pups {
        missing.extend(growth::missing_weighings(pup, now, &facts.litter.zone));
        missing.extend(signs::missing_checks(facts, pup, now));
    }
    Assessment { pups, litter_findings, dam_feeds, missing }
}

fn assess_pup(facts: &Facts, now: Timestamp, pup: &Pup, course: Course, dam: &DamFeeds) -> PupAssessment {
    let age = pup.age(now);
    let readings = course.readings;
    let gain = gain::last_day(&readings);
    let change_from_birth_percent = match (pup.birth_weight, readings.last()) {
        (Some(birth), Some(latest)) if readings.len() > 1 => Some((latest.weight - birth) / birth * 100.0),
        _ => None,
    };
    let birth_band = birth_band(facts.litter.breed.as_deref(), pup.birth_weight);
    let below_mates = birth_weight::percent_below_littermates(&facts.pups, pup);
    let is_light = birth_band == BirthBand::VeryLow || below_mates.is_some_and(|b| b >= 25.0);
    let warmth = warmth::warmth(facts, pup, now);
    let mut assessed = PupAssessment {
        pup: pup.clone(),
        age,
        readings,
        doubts: course.doubts,
        gain,
        growth: course.judged,
        change_from_birth_percent,
        birth_band,
        is_light,
        is_hand_fed: !dam.is_feeding || pup.rearing == Rearing::HandFed,
        warmth,
        blocked: Vec::new(),
        findings: Vec::new(),
        standing: Standing::DoingWell,
    };
    let mut findings = Vec::new();
    findings.extend(growth::findings(&assessed, facts, below_mates));
    findings.extend(faltering::findings(&assessed, facts.litter.weight_unit));
    findings.extend(doubts::findings(&assessed));
    findings.extend(warmth::findings(facts, &assessed, now));
    let (sign_findings, blocked) = signs::findings(facts, &assessed, now, dam);
    findings.extend(sign_findings);
    findings.extend(signs::several_together(&pup.id, &findings));
    escalate_unwell_newborn(&mut findings, age);
    findings.sort_by(|a, b| b.level.cmp(&a.level).then_with(|| a.code.cmp(b.code)));
    assessed.blocked = blocked;
    assessed.standing = findings.iter().map(|f| f.level.standing()).max().unwrap_or(Standing::DoingWell);
    assessed.findings = findings;
    assessed
}

/// An unwell pup under 48 hours old is always vet now. A few things seen at birth are no illness
/// by themselves and have their own next step: cool (34.4 °C is normal at birth), too warm,
/// still wet.
fn escalate_unwell_newborn(findings: &mut [Finding], age: Hours) {
    if age.get() >= limits::UNWELL_NEWBORN_H.value {
        return;
    }
    for finding in findings.iter_mut() {
        let has_its_own_clock = finding.level == Level::NeedsHelp
            && matches!(finding.code, "cold" | "too-hot" | "warming-too-fast" | "wet-newborn");
        let is_unwell = finding.is_sign && finding.level >= Level::NeedsHelp && !has_its_own_clock;
        if is_unwell && finding.level < Level::VetNow {
            finding.level = Level::VetNow;
            finding.action =
                format!("Ring the vet now: a pup under 48 h old that is unwell cannot wait. {}", finding.action);
        }
    }
}

/// The dam's own record in one word, for the rules that ask whether she gives milk.
fn dam_milk_is_none(facts: &Facts) -> bool {
    match facts.latest(None, CheckKind::DamMilk) {
        Some(check) => check.is(Word::None),
        None => facts.dam.milk == DamMilk::None,
    }
}

/// The next weighing of a pup: twice a day when flagged or hand-fed, else at 12 h and then daily.
#[must_use]
pub fn next_weighing(pup: &PupAssessment, is_hand_fed: bool, now: Timestamp) -> Timestamp {
    let second = hours_after(pup.pup.born_at, limits::WEIGH_SECOND_AT_H.value);
    let due = |latest: &Reading| match latest.at {
        at if pup.standing > Standing::DoingWell || is_hand_fed => hours_after(at, limits::WEIGH_FLAGGED_EVERY_H.value),
        at if at < second => second,
        at => hours_after(at, limits::WEIGH_EVERY_H.value),
    };
    pup.latest().map_or(now, |latest| due(latest).max(now))
}
