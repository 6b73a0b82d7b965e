//! Follows a litter's weighings through the growth model, in the order in which they were known.
//!
//! The model's screening is the only one: what it holds back is a doubt here, what it accepts
//! counts for the published rules and for every amount.

use jiff::Timestamp;

use super::Reading;
use super::doubts::{Doubt, Suspicion};
use crate::growth::priors::{self, BirthWeight, SizeClass};
use crate::growth::{self, Settings, Watch};
use crate::record::{Facts, LeftWhy, Pup, PupId, Taken, hours_between};
use crate::units::WeightUnit;

/// Weighings within this time belong to one round.
const ROUND_H: f64 = 0.75;

/// One weighing as it was judged with what was known then.
#[derive(Debug)]
pub struct Step<'f> {
    pub pup: &'f Pup,
    pub reading: Reading,
    /// The weight at birth, which is no row of the weighings.
    pub is_birth: bool,
    pub judged: growth::Assessment,
    /// Set when the reading is in doubt.
    pub suspicion: Option<Suspicion>,
}

/// What is left of one pup's readings.
#[derive(Debug, Default)]
pub(super) struct Course {
    /// Readings that count, oldest first.
    pub readings: Vec<Reading>,
    pub doubts: Vec<Doubt>,
    /// How the latest reading that counts was judged, and the one before it.
    pub judged: Option<growth::Assessment>,
    before: Option<growth::Assessment>,
}

/// What the model expects of this litter before its first reading.
#[must_use]
pub fn settings(facts: &Facts, false_alarms: f64) -> Settings {
    Settings {
        birth_weight: expected_birth_weight(facts),
        scale_step_g: facts.litter.scale_step.get(),
        false_alarms,
        ..Settings::default()
    }
}

/// By breed, else by the size of the grown dog, else by the dam's weight.
fn expected_birth_weight(facts: &Facts) -> BirthWeight {
    let by_breed = || facts.litter.breed.as_deref().and_then(priors::breed_birth_weight);
    let by_size = || facts.litter.expected_adult_weight.map(|w| SizeClass::of_adult(w.get() / 1000.0).birth_weight());
    let by_dam = || facts.dam.weight.map(|w| priors::birth_weight_from_dam(w.get(), facts.pups.len()));
    by_breed().or_else(by_size).or_else(by_dam).unwrap_or(priors::ANY_BIRTH_WEIGHT)
}

/// How far one reading is off, as a share of the weight: what is assumed of any household, and what the
/// readings of this litter taught.
#[must_use]
pub fn learned_noise(facts: &Facts, until: Timestamp) -> (f64, f64) {
    let watch = followed(facts, Some(until), growth::STATED_FALSE_ALARMS, |_, _| {});
    (growth::Learned::default().level().reading, watch.noise().level().reading)
}

/// Hands over every weighing of the litter in order of time, each judged with what was known then.
/// `until` is the time that is asked about; all of the past when left out.
pub fn follow<'f>(facts: &'f Facts, until: Option<Timestamp>, false_alarms: f64, each: impl FnMut(usize, Step<'f>)) {
    followed(facts, until, false_alarms, each);
}

/// The same; gives the model as it is afterwards.
fn followed<'f>(
    facts: &'f Facts,
    until: Option<Timestamp>,
    false_alarms: f64,
    mut each: impl FnMut(usize, Step<'f>),
) -> Watch {
    let mut watch = Watch::new(settings(facts, false_alarms));
    let events = events(facts, until);
    let Some(start) = events.first().map(|e| e.1.at) else { return watch };
    let mut session = 0;
    let mut session_from = start;
    for (index, reading, is_birth) in events {
        if hours_between(session_from, reading.at).get() > ROUND_H {
            session += 1;
            session_from = reading.at;
        }
        let pup = &facts.pups[index];
        let judged = watch.weigh(&growth::Reading {
            pup: index,
            session,
            clock_hours: hours_between(start, reading.at).get(),
            hours_from_birth: hours_between(pup.born_at, reading.at).get().max(0.0),
            grams: reading.weight.get(),
            taken: reading.taken,
            written: Some((&reading.typed, reading.unit)),
            is_birth_weight: is_birth,
            confirmed: false,
        });
        let suspicion = judged.doubt.map(|d| Suspicion::of(d.cause, |mate| facts.pups[mate].id.clone()));
        each(index, Step { pup, reading, is_birth, judged, suspicion });
    }
    watch
}

/// Birth weights and weighings by time, with the number of the pup. The stillborn are no mates;
/// one whose entry is later than the time asked about still counts as here ([`Pup::is_here`]).
fn events(facts: &Facts, until: Option<Timestamp>) -> Vec<(usize, Reading, bool)> {
    let is_stillborn = |p: &Pup| {
        p.left.is_some_and(|left| left.why == LeftWhy::Stillborn && until.is_none_or(|until| left.at <= until))
    };
    let births = facts.pups.iter().enumerate().filter(|(_, p)| !is_stillborn(p)).filter_map(|(i, p)| {
        let weight = p.birth_weight?;
        let typed = weight.get().to_string();
        Some((i, Reading { at: p.born_at, weight, taken: Taken::Unknown, unit: WeightUnit::Gram, typed }, true))
    });
    let weighed = facts.weighings.iter().filter_map(|w| {
        let index = facts.pups.iter().position(|p| p.id == w.pup)?;
        let typed = w.typed.clone();
        Some((index, Reading { at: w.at, weight: w.weight, taken: w.taken, unit: w.unit, typed }, false))
    });
    let mut events: Vec<_> = births.chain(weighed).collect();
    // The sort is stable: a birth weight comes before a weighing of the same moment.
    events.sort_by_key(|(_, reading, _)| reading.at);
    events
}

/// The course of every pup of the facts, in their order.
pub(super) fn courses(facts: &Facts, now: Timestamp) -> Vec<Course> {
    let mut courses: Vec<Course> = facts.pups.iter().map(|_| Course::default()).collect();
    follow(facts, Some(now), growth::STATED_FALSE_ALARMS, |index, step| {
        if let Some(mate) = step.judged.also_doubted {
            courses[mate].take_back(&step.pup.id, step.reading.at);
        }
        courses[index].add(step);
    });
    courses
}

impl Course {
    fn add(&mut self, step: Step<'_>) {
        let Step { reading, judged, suspicion, .. } = step;
        match suspicion {
            None if judged.repeats_held => self.believe_held(),
            None => self.settle(),
            Some(suspicion) => {
                let is_held_back = !judged.counts_at_once;
                let meant = judged.doubt.and_then(|d| d.meant_g).map(crate::units::Grams::of);
                self.doubts.push(Doubt { reading: reading.clone(), suspicion, is_held_back, is_settled: false, meant });
                if is_held_back {
                    return;
                }
            }
        }
        self.readings.push(reading);
        self.before = self.judged.replace(judged);
    }

    /// A reading that fits has settled what was open; a loss that was acted on was a slip after all.
    fn settle(&mut self) {
        for doubt in self.doubts.iter_mut().filter(|d| !d.is_settled) {
            doubt.is_settled = true;
            if !doubt.is_held_back {
                let is_it = |r: &Reading| r.at == doubt.reading.at && r.weight == doubt.reading.weight;
                self.readings.retain(|r| !is_it(r));
                doubt.is_held_back = true;
            }
        }
    }

    /// The same surprise twice: what was held back last is right, and a first reading that
    /// contradicts both was the slip.
    fn believe_held(&mut self) {
        let open = self.doubts.pop().filter(|d| !d.is_settled);
        for doubt in &mut self.doubts {
            doubt.is_settled = true;
        }
        let Some(mut held) = open else { return };
        if self.readings.len() == 1 && held.is_held_back {
            let reading = self.readings.remove(0);
            let suspicion = Suspicion::Unexplained;
            self.doubts.push(Doubt { reading, suspicion, is_held_back: true, is_settled: true, meant: None });
        }
        if held.is_held_back {
            self.readings.push(held.reading);
        } else {
            held.is_settled = true;
            self.doubts.push(held);
        }
    }

    /// The reading of this round seems to be that of another pup.
    fn take_back(&mut self, other: &PupId, at: Timestamp) {
        let is_of_round = |r: &Reading| hours_between(r.at, at).get() <= ROUND_H;
        let suspicion = Suspicion::OtherPup(other.clone());
        if let Some(doubt) = self.doubts.last_mut().filter(|d| !d.is_settled && is_of_round(&d.reading)) {
            doubt.suspicion = suspicion;
            if std::mem::replace(&mut doubt.is_held_back, true) {
                return;
            }
            self.readings.pop();
        } else if let Some(reading) = self.readings.pop_if(|r| is_of_round(r)) {
            self.doubts.push(Doubt { reading, suspicion, is_held_back: true, is_settled: false, meant: None });
        } else {
            return;
        }
        self.judged = self.before.take();
    }
}
