//! Every number of the simulator, and the seeds of the litters.
//!
//! Committed before the filter. A later change needs a reason in its commit and
//! the table of results from before and after it.
//!
//! No raw daily weights of pups are public, so the noise figures are assumptions:
//! they lie inside the published ranges of gain (Small Animal Clinical Nutrition,
//! 5th ed., table 16-1: 5-10 %/day in week 1, 3.5-6 %/day in weeks 2-4), no more.

/// Litters of the three sets come from disjoint seed ranges and never mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// The weights of the score are fitted on these.
    Train,
    /// The thresholds are set on these.
    Calibration,
    /// The table is measured on these.
    Test,
}

impl Set {
    /// Seed of litter `index` of stream `stream` (a cell of the test design).
    pub fn seed(self, stream: u64, index: u64) -> u64 {
        let base = match self {
            Set::Train => 1,
            Set::Calibration => 2,
            Set::Test => 3,
        };
        assert!(stream < 1_000 && index < 1_000_000);
        (base * 1_000 + stream) * 1_000_000 + index
    }
}

/// How noisy a household is: relative SD of one reading (stomach, bladder, a pup
/// that moves) and SD of the day-to-day wander of the growth rate, per day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    pub reading: f64,
    pub wander: f64,
}

/// The three levels of the test sets (assumption).
pub const QUIET: Noise = Noise { reading: 0.011, wander: 0.013 };
pub const USUAL: Noise = Noise { reading: 0.015, wander: 0.018 };
pub const NOISY: Noise = Noise { reading: 0.022, wander: 0.024 };

/// Training and calibration households: log-normal around the usual level, so that
/// nothing is fitted to the three test levels themselves. (median, log-SD, min, max)
pub const ANY_READING: (f64, f64, f64, f64) = (0.0155, 0.32, 0.008, 0.030);
pub const ANY_WANDER: (f64, f64, f64, f64) = (0.018, 0.28, 0.009, 0.032);

/// Mean birth weight in grams, mean litter size and its SD, by adult size: toy, small,
/// medium, large, giant. Rounded from Mugnier et al. 2020, table 1 (Maltese; Shih Tzu
/// and Westie; Cocker and Australian Shepherd; Labrador and German Shepherd); the giant
/// row is from memory, unconfirmed.
pub const CLASSES: [(f64, f64, f64); 5] =
    [(160.0, 5.1, 1.8), (184.0, 5.3, 1.9), (310.0, 6.6, 2.0), (440.0, 7.6, 2.7), (600.0, 7.6, 2.7)];
/// Log-SD of birth weight between litters and between pups of one litter (assumption).
pub const BIRTH_SD_LITTER: f64 = 0.12;
pub const BIRTH_SD_PUP: f64 = 0.13;

/// Growth rate at birth after the dip, per day: mean and SD between litters; it decays
/// exponentially with a time constant drawn from this range of days (a Gompertz curve).
pub const RATE_AT_BIRTH: (f64, f64) = (0.085, 0.010);
pub const RATE_DECAY_DAYS: (f64, f64) = (26.0, 60.0);
/// Lasting difference of one pup from its litter, SD per day.
pub const RATE_SD_PUP: f64 = 0.010;
/// Light pups (more than 0.8 SD under their litter) gain less in the first two days and
/// a little more later: direction from Mugnier et al. 2023, size assumed.
pub const LIGHT_PUP: (f64, f64) = (-0.012, 0.004);
/// Wander is a sequence of spells of constant level: mean days, for pup and for litter.
pub const SPELL_DAYS_PUP: f64 = 1.33;
pub const SPELL_DAYS_LITTER: f64 = 2.0;
pub const WANDER_LITTER: f64 = 0.007;
/// The rate swings by this share over the day.
pub const DAY_SWING: f64 = 0.15;
/// Water and meconium lost after birth, share of birth weight, and over how many hours.
pub const DIP: (f64, f64) = (0.085, 0.035);
pub const DIP_HOURS: (f64, f64) = (20.0, 40.0);

/// Stomach full against empty, as a share of body weight, at the usual noise level; the
/// rest of the reading noise is Student t with 6 degrees of freedom.
pub const FILL_SPAN: f64 = 0.035;
/// The scale itself, grams.
pub const SCALE_SD_G: f64 = 0.7;

pub const MISSING_READING: f64 = 0.03;
pub const MISSING_SESSION: f64 = 0.05;
pub const SLIP: f64 = 0.008;
pub const SWAP_PER_SESSION: f64 = 0.012;
/// Sessions move about their hour by this SD.
pub const SESSION_JITTER_HOURS: f64 = 0.75;

/// Share of pups with a faltering of their own, and of litters whose dam fails.
pub const FALTERING_PUPS: f64 = 0.22;
pub const FALTERING_LITTERS: f64 = 0.12;

/// Days that a litter is weighed, and days of truth kept beyond for the forecasts.
pub const DAYS: f64 = 21.0;
pub const DAYS_AFTER: f64 = 3.25;
