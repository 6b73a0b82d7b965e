//! Runs the filter over simulated litters and keeps what scoring needs.

use rayon::prelude::*;
use whelpward_core::growth::priors::SizeClass;
use whelpward_core::growth::{Assessment, Reading, Settings, Taken, Watch};

use crate::parameters::Set;
use crate::simulate::{self, Fed, Household, Litter};

const SIZES: [SizeClass; 5] = [SizeClass::Toy, SizeClass::Small, SizeClass::Medium, SizeClass::Large, SizeClass::Giant];

pub fn settings(litter: &Litter) -> Settings {
    Settings {
        birth_weight: SIZES[litter.class].birth_weight(),
        scale_step_g: litter.household.scale_step_g,
        ..Settings::default()
    }
}

pub fn readings(litter: &Litter) -> Vec<Reading<'static>> {
    let taken = |fed| match fed {
        Fed::Unknown => Taken::Unknown,
        Fed::Before => Taken::BeforeFeed,
        Fed::After => Taken::AfterFeed,
    };
    litter
        .weighings
        .iter()
        .map(|w| Reading {
            pup: w.pup,
            session: w.session as u32,
            clock_hours: w.hours,
            hours_from_birth: w.hours,
            grams: w.grams,
            taken: taken(w.fed),
            written: None,
            is_birth_weight: w.session == 0,
            confirmed: false,
        })
        .collect()
}

/// A litter with one assessment per weighing.
pub struct Replayed {
    pub litter: Litter,
    pub assessments: Vec<Assessment>,
}

pub fn replay(litter: Litter) -> Replayed {
    let mut watch = Watch::new(settings(&litter));
    let assessments = readings(&litter).iter().map(|r| watch.weigh(r)).collect();
    Replayed { litter, assessments }
}

/// Litters of one household type, read through `keep` one by one so that only what is kept
/// stays in memory.
pub fn many<T: Send>(
    set: Set,
    stream: u64,
    litters: u64,
    household: impl Fn(u64) -> Household + Sync,
    keep: impl Fn(Replayed) -> T + Sync,
) -> Vec<T> {
    (0..litters)
        .into_par_iter()
        .map(|i| {
            let seed = set.seed(stream, i);
            keep(replay(simulate::litter(seed, household(seed))))
        })
        .collect()
}
