//! What is remembered of one pup, and the signs read off it.

use super::kalman::{Belief, TRIANGLE, place};
use super::model::{DIP_TAU, ExpectedGain, FALTERING, NORMAL, OWN_RATE_SD, rate_row};
use super::noise::levels;
use super::priors::{BirthWeight, LEAST_LOG_SD};
use super::score::Signs;
use super::two_mode::{Bank, SWITCHING, TwoMode};
use super::{forecast, noise::Level};

/// An accepted reading; `log` has the shift of a known stomach taken out.
#[derive(Clone, Copy, Debug)]
pub struct Past {
    pub day: f64,
    pub log: f64,
    pub grams: f64,
    /// Variance that the scale and its step add.
    pub scale_var: f64,
}

impl Past {
    fn var(&self, level: Level) -> f64 {
        level.reading.powi(2) + self.scale_var
    }
}

#[derive(Clone, Debug)]
pub struct Pup {
    /// The filter at each noise level.
    pub filters: Bank,
    pub day: f64,
    /// Recorded weight at birth, once it is believed.
    pub birth_g: Option<f64>,
    /// A reading was accepted before.
    pub is_known: bool,
    pub past: Vec<Past>,
    /// Readings held back since the last accepted one: day and log.
    pub held: Vec<(f64, f64)>,
    /// Sum of how far readings kept falling short (one-sided CUSUM).
    pub shortfall: f64,
    /// Usual hours between weighings.
    pub gap_hours: f64,
}

/// Readings older than this many days are no longer looked at.
const MEMORY_DAYS: f64 = 4.0;

impl Pup {
    pub fn newborn(prior: BirthWeight, gain: ExpectedGain, day: f64) -> Self {
        let levels = levels();
        let filters = Bank::of(|i| {
            let belief = |wander: f64| {
                let sd = [prior.log_sd.max(LEAST_LOG_SD), OWN_RATE_SD, wander * levels[i].wander, gain.dip.1];
                let mut cov = [0.0; TRIANGLE];
                for state in 0..4 {
                    cov[place(state, state)] = sd[state].powi(2);
                }
                Belief { mean: [prior.grams.ln() + gain.rate(0.0) * day, 0.0, 0.0, gain.dip.0], cov }
            };
            TwoMode { beliefs: [belief(NORMAL.wander), belief(FALTERING.wander)], p_faltering: SWITCHING.starts }
        });
        Self {
            filters,
            day,
            birth_g: None,
            is_known: false,
            past: Vec::new(),
            held: Vec::new(),
            shortfall: 0.0,
            gap_hours: 12.0,
        }
    }

    pub fn predicted(&self, day: f64, gain: ExpectedGain) -> Bank {
        let gap = day - self.day;
        if gap <= 0.0 {
            return self.filters.clone();
        }
        let switch = SWITCHING.over(gap);
        let steps = forecast::steps(self.day, gap, gain);
        let levels = levels();
        self.filters.map(|i, filter| filter.predict(&steps, &switch, levels[i].wander))
    }

    pub fn remember(&mut self, past: Past) {
        if let Some(last) = self.past.last() {
            let gap = (past.day - last.day) * 24.0;
            if gap > 2.0 {
                self.gap_hours = 0.75 * self.gap_hours + 0.25 * gap.min(48.0);
            }
        }
        self.is_known = true;
        self.past.push(past);
        self.past.retain(|p| p.day > past.day - MEMORY_DAYS);
        self.day = past.day;
        self.held.clear();
    }

    /// The remembered reading closest to `hours` before a day, within the given limits.
    pub fn back(&self, day: f64, hours: f64, least: f64, most: f64) -> Option<&Past> {
        let ago = |p: &Past| (day - p.day) * 24.0;
        self.past
            .iter()
            .filter(|p| (least..=most).contains(&ago(p)))
            .min_by(|a, b| (ago(a) - hours).abs().total_cmp(&(ago(b) - hours).abs()))
    }

    /// SD per day of the plain gain over the last 30 h, from a line through the readings.
    pub fn gain_sd(&self, level: Level) -> Option<f64> {
        let now = self.past.last()?;
        let recent: Vec<f64> = self.past.iter().map(|p| p.day).filter(|d| now.day - d <= 30.0 / 24.0).collect();
        let mean = recent.iter().sum::<f64>() / recent.len() as f64;
        let spread: f64 = recent.iter().map(|d| (d - mean).powi(2)).sum();
        (spread > 0.0).then(|| (now.var(level) / spread).sqrt())
    }

    /// Reads off the signs after an accepted reading; `now` is the average filter.
    pub fn signs(&self, now: &TwoMode, level: Level, gain: ExpectedGain, mates: &Mates) -> Signs {
        let Some(last) = self.past.last() else {
            return [0.0; super::score::SIGNS];
        };
        let days = self.back(last.day, 60.0, 44.0, 84.0).map_or(0.0, |then| {
            let days = last.day - then.day;
            let wander = NORMAL.wander * level.wander * days.powf(0.75);
            let sd = (last.var(level) + then.var(level) + wander.powi(2)).sqrt();
            let expected = expected_gain(gain, then.day, last.day);
            ((expected - (last.log - then.log)) / sd).clamp(-4.0, 6.0)
        });
        let p = now.p_faltering;
        [
            (p / (1.0 - p)).ln(),
            self.shortfall,
            days,
            mates.log_odds,
            mates.behind(slowness(now, last.day)),
            (2.5 - last.day).max(0.0),
            last.day / 10.0,
        ]
    }
}

/// How far the smoothed growth rate is under the expected one, in its standard deviations.
pub fn slowness(now: &TwoMode, day: f64) -> f64 {
    let (rate, sd) = now.form(&rate_row(day));
    -rate / sd.max(0.01)
}

/// Averages over the litter-mates' last readings.
#[derive(Clone, Copy, Debug)]
pub struct Mates {
    count: f64,
    log_odds: f64,
    slowness: f64,
}

impl Mates {
    /// From each mate's log-odds of faltering and its slowness.
    pub fn new(mates: impl Iterator<Item = (f64, f64)>) -> Self {
        let mut sum = Self { count: 0.0, log_odds: 0.0, slowness: 0.0 };
        for (log_odds, slowness) in mates {
            sum.count += 1.0;
            sum.log_odds += log_odds.clamp(-6.0, 4.0);
            sum.slowness += slowness;
        }
        if sum.count == 0.0 {
            return Self { log_odds: -5.0, ..sum }; // like healthy mates
        }
        Self { log_odds: sum.log_odds / sum.count, slowness: sum.slowness / sum.count, ..sum }
    }

    /// How far a pup is slower than its mates, in standard deviations of the difference.
    fn behind(&self, own: f64) -> f64 {
        if self.count == 0.0 {
            return 0.0;
        }
        ((own - self.slowness) / (1.0 + 1.0 / self.count).sqrt()).max(0.0)
    }
}

/// Expected gain in log weight between two days of age, the dip included.
pub fn expected_gain(gain: ExpectedGain, from: f64, to: f64) -> f64 {
    let growth = gain.rate(0.5 * (from + to)) * (to - from);
    growth - gain.dip.0 * DIP_TAU * ((-from / DIP_TAU).exp() - (-to / DIP_TAU).exp())
}
