//! Takes the readings of a litter one by one and says how each pup stands.

use statrs::distribution::{ContinuousCDF, Normal};

use super::floors::{self, Facts, Floor, Standing};
use super::forecast::{self, Forecast};
use super::kalman::{Belief, Expected, Tails};
use super::model::{ExpectedGain, rate_row};
use super::noise::{Learned, Level, POINTS, Taken, levels, scale_var};
use super::priors::{ANY_BIRTH_WEIGHT, BirthWeight};
use super::pup::{Mates, Past, Pup, expected_gain, slowness};
use super::score::{self, Sign, Signs};
use super::screen::{self, Cause, Doubt};
use super::two_mode::TwoMode;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Any small number that names the pup.
    pub pup: usize,
    /// The weighing round; pups of one round may have been mixed up.
    pub session: u32,
    pub hours_from_birth: f64,
    pub grams: f64,
    pub taken: Taken,
    /// Weighed a second time because the first reading was in doubt, or kept as right.
    pub confirmed: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    pub birth_weight: BirthWeight,
    pub gain: ExpectedGain,
    pub scale_step_g: f64,
    /// Stated rate of false alarms per pup and week.
    pub false_alarms: f64,
    /// Towel or bowl that may have stayed on the scale.
    pub tare_g: Option<f64>,
    /// What earlier litters taught about this household.
    pub noise: Learned,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            birth_weight: ANY_BIRTH_WEIGHT,
            gain: ExpectedGain::default(),
            scale_step_g: 1.0,
            false_alarms: 0.10,
            tare_g: None,
            noise: Learned::default(),
        }
    }
}

/// Under this age the score is silent (the dip hides everything); the limits are not.
const SCORE_FROM_HOURS: f64 = 24.0;
/// `keep watch` from this many times the stated rate of false alarms.
const WATCH: f64 = 3.0;
/// A daily gain known worse than this (SD per day) cannot be judged.
const TOO_VAGUE: f64 = 0.03;
/// A believed surprise lets the log weight go free by this much.
const REOPEN_VAR: f64 = 0.04;
/// A litter is slow as a whole when this share of at least this many pups falters.
const WHOLE_LITTER: (f64, usize) = (0.5, 2);
const SURELY_SLOW: f64 = 0.4;

/// How a pup stands after one reading.
#[derive(Clone, Debug)]
pub struct Assessment {
    pub pup: usize,
    pub hours_from_birth: f64,
    pub reading_g: f64,
    pub weight_g: f64,
    /// SD of the log weight.
    pub weight_log_sd: f64,
    pub gain_g_per_day: f64,
    pub gain_sd_g_per_day: f64,
    pub p_faltering: f64,
    pub score: f64,
    /// Warning at this score would give so many false alarms per pup and week.
    pub false_alarm_rate: f64,
    pub standing: Standing,
    pub floor: Option<Floor>,
    /// The reading is held back: weigh again.
    pub doubt: Option<Doubt>,
    /// An earlier reading of this session now held back too (the two seem crosswise).
    pub also_doubted: Option<usize>,
    pub whole_litter_slow: bool,
    /// Too little to judge by, or a result worth checking: weigh again in so many hours.
    pub weigh_again_in_hours: Option<f64>,
    pub enough_data: bool,
    pub signs: Signs,
    pub parts: [f64; score::SIGNS],
    pub circumstances: score::Circumstances,
    /// Hours, grams gained, and grams expected since about a day ago.
    pub last_day: Option<(f64, f64, f64)>,
    pub forecasts: [Forecast; 4],
}

impl Assessment {
    /// Whether a person is called: the stated rate of false alarms counts these.
    pub fn alarm(&self) -> bool {
        self.standing >= Standing::NeedsHelp
    }
}

/// The pups of one litter and what is known so far.
#[derive(Clone, Debug)]
pub struct Watch {
    settings: Settings,
    noise: Learned,
    pups: Vec<Option<Tracked>>,
}

#[derive(Clone, Debug)]
struct Tracked {
    pup: Pup,
    before: Option<Before>,
    last: Option<Last>,
}

/// A pup as it was before its reading in the latest session, so that the reading can be taken
/// back when it turns out to be a mate's.
#[derive(Clone, Debug)]
struct Before {
    session: u32,
    pup: Box<Pup>,
    expected: Expected,
    log: f64,
    day: f64,
}

impl Before {
    fn new(session: u32, pup: &Pup, seen: &Seen, day: f64) -> Self {
        Self { session, pup: Box::new(pup.clone()), expected: seen.expected, log: seen.log, day }
    }
}

/// What the litter-mates see of a pup: its last accepted reading.
#[derive(Clone, Debug)]
struct Last {
    hours: f64,
    log_odds: f64,
    slowness: f64,
    /// It faltered, by the filter or by the score.
    slow: bool,
}

impl Watch {
    pub fn new(settings: Settings) -> Self {
        Self { settings, noise: settings.noise, pups: Vec::new() }
    }

    /// What this litter and earlier ones taught about the household's noise.
    pub fn noise(&self) -> Learned {
        self.noise
    }

    /// Variance of the log of a reading of this weight with an unknown stomach, for forecasts
    /// of what the scale will show.
    pub fn reading_var(&self, weight_g: f64) -> f64 {
        self.noise.level().reading_var(Taken::Unknown, weight_g, self.settings.scale_step_g)
    }

    /// Takes the next reading. `grams` must be positive and time must not run backwards for
    /// a pup; an earlier time counts as the same moment.
    pub fn weigh(&mut self, reading: &Reading) -> Assessment {
        let day = reading.hours_from_birth / 24.0;
        let tracked = self.take_out(reading.pup, day);
        let seen = self.look(&tracked.pup, reading, day);
        let believed = reading.confirmed || agrees_with_held(&tracked.pup, &seen, day);
        let swapped = if believed { None } else { self.swapped_with(reading, &seen) };
        let odd = seen.p_real < 0.5;
        if (odd && !believed) || swapped.is_some() {
            return self.hold_back(tracked, reading, &seen, day, swapped);
        }
        self.accept(tracked, reading, seen, day, odd)
    }

    fn take_out(&mut self, pup: usize, day: f64) -> Tracked {
        if self.pups.len() <= pup {
            self.pups.resize_with(pup + 1, || None);
        }
        self.pups[pup].take().unwrap_or_else(|| Tracked {
            pup: Pup::newborn(self.settings.birth_weight, self.settings.gain, day),
            before: None,
            last: None,
        })
    }

    /// What was expected of a reading, before any of it is believed.
    fn look(&self, pup: &Pup, reading: &Reading, day: f64) -> Seen {
        let predicted = pup.predicted(day, self.settings.gain);
        let weights = self.noise.weights();
        let average = TwoMode::average(&weights, &predicted);
        let weight_g = merged(&average).mean[0].exp();
        let vars = levels().map(|l| l.reading_var(reading.taken, weight_g, self.settings.scale_step_g));
        let var: f64 = weights.iter().zip(vars).map(|(w, v)| w * v).sum();
        let log = reading.grams.max(0.1).ln() - reading.taken.shift();
        let density: f64 = (0..POINTS)
            .map(|i| {
                let p = predicted[i].p();
                let each = predicted[i].expect(vars[i]);
                let of = |m: usize| p[m] * each[m].log_density(log, Tails::Gaussian).exp();
                weights[i] * (of(0) + of(1))
            })
            .sum();
        let expected = merged(&average).expect(var);
        let p_real = screen::p_real(density, log - expected.log_weight);
        let normal = average.beliefs[0].expect(var);
        Seen { predicted, average, vars, var, log, expected, normal, p_real }
    }

    /// The pup of this session whose reading fits better crosswise with this one.
    fn swapped_with(&self, reading: &Reading, seen: &Seen) -> Option<usize> {
        self.pups.iter().enumerate().find_map(|(mate, tracked)| {
            let before = tracked.as_ref()?.before.as_ref()?;
            let known = before.session == reading.session && before.pup.birth.is_some();
            (known && screen::swapped(seen.expected, seen.log, before.expected, before.log)).then_some(mate)
        })
    }

    fn hold_back(
        &mut self,
        mut tracked: Tracked,
        reading: &Reading,
        seen: &Seen,
        day: f64,
        swapped: Option<usize>,
    ) -> Assessment {
        if let Some(mate) = swapped
            && let Some(Some(other)) = self.pups.get_mut(mate)
            && let Some(before) = other.before.take()
        {
            other.pup = *before.pup;
            other.pup.held.push((before.day, before.log));
        }
        let mates = self.mates_expected(reading, day);
        let doubt = match swapped {
            Some(mate) => Doubt { cause: Cause::WrongPup(mate), candidates: Vec::new() },
            None => screen::doubt(reading.grams, seen.expected, &mates, self.settings.tare_g),
        };
        tracked.before = Some(Before::new(reading.session, &tracked.pup, seen, day));
        tracked.pup.held.push((day, seen.log));
        let mut out = self.describe(&tracked.pup, reading, &seen.average, day);
        out.standing = Standing::KeepWatch;
        out.doubt = Some(doubt);
        out.also_doubted = swapped;
        out.weigh_again_in_hours = Some(0.0);
        self.pups[reading.pup] = Some(tracked);
        out
    }

    fn mates_expected(&self, reading: &Reading, day: f64) -> Vec<(usize, Expected)> {
        let mates = self.pups.iter().enumerate().filter(|(mate, _)| *mate != reading.pup);
        mates
            .filter_map(|(mate, t)| {
                let pup = &t.as_ref()?.pup;
                Some((mate, self.look(pup, reading, day.max(pup.day)).expected))
            })
            .collect()
    }

    fn accept(&mut self, mut tracked: Tracked, reading: &Reading, seen: Seen, day: f64, odd: bool) -> Assessment {
        tracked.before = Some(Before::new(reading.session, &tracked.pup, &seen, day));
        let pup = &mut tracked.pup;
        let first = pup.birth.is_none();
        pup.filters = seen.predicted;
        // Between believing and holding back, a reading counts for less.
        let trust = if odd { 1.0 } else { seen.p_real };
        let mut votes = [0.0; POINTS];
        for (i, filter) in pup.filters.iter_mut().enumerate() {
            if odd {
                filter.reopen(REOPEN_VAR);
            }
            votes[i] = filter.log_density(seen.log, seen.vars[i], Tails::Clipped);
            *filter = filter.observe(seen.log, seen.vars[i] / trust, Tails::Heavy).0;
        }
        if !first && !odd {
            self.noise.vote(&votes);
        }
        let weights = self.noise.weights();
        let now = TwoMode::average(&weights, &pup.filters);
        if !first {
            pup.shortfall = score::shortfall(pup.shortfall, -seen.normal.z(seen.log));
        }
        pup.remember(Past {
            day: day.max(pup.day),
            log: seen.log,
            taken: reading.taken,
            grams: reading.grams,
            scale_var: scale_var(seen.expected.log_weight.exp(), self.settings.scale_step_g),
        });
        let mut out = self.describe(&tracked.pup, reading, &now, day);
        let sudden_loss = odd && !first && seen.log < seen.expected.log_weight;
        self.judge(&mut out, &tracked.pup, reading, &now, sudden_loss);
        tracked.last = Some(Last {
            hours: reading.hours_from_birth,
            log_odds: out.signs[Sign::Filter as usize],
            slowness: slowness(&now, day),
            slow: out.p_faltering > SURELY_SLOW || out.false_alarm_rate <= self.settings.false_alarms,
        });
        self.pups[reading.pup] = Some(tracked);
        out.whole_litter_slow = self.whole_litter_slow(reading.hours_from_birth);
        out
    }

    /// The pups weighed in the last day and a half.
    fn fresh(&self, hours: f64) -> impl Iterator<Item = &Last> {
        let known = self.pups.iter().flatten().filter_map(|t| t.last.as_ref());
        known.filter(move |last| hours - last.hours < 36.0)
    }

    fn whole_litter_slow(&self, hours: f64) -> bool {
        let all = self.fresh(hours).count();
        let slow = self.fresh(hours).filter(|last| last.slow).count();
        slow >= WHOLE_LITTER.1 && slow as f64 >= WHOLE_LITTER.0 * all as f64
    }

    /// Everything that is read off the average filter.
    fn describe(&self, pup: &Pup, reading: &Reading, now: &TwoMode, day: f64) -> Assessment {
        let gain = self.settings.gain;
        let level = self.noise.level();
        let belief = merged(now);
        let weight_g = belief.mean[0].exp();
        let (rate, rate_sd) = forecast::moments(now, &rate_row(day));
        Assessment {
            pup: reading.pup,
            hours_from_birth: reading.hours_from_birth,
            reading_g: reading.grams,
            weight_g,
            weight_log_sd: belief.cov[(0, 0)].sqrt(),
            gain_g_per_day: weight_g * (gain.rate(day) + rate),
            gain_sd_g_per_day: weight_g * rate_sd,
            p_faltering: now.p_faltering,
            score: 0.0,
            false_alarm_rate: f64::INFINITY,
            standing: Standing::DoingWell,
            floor: None,
            doubt: None,
            also_doubted: None,
            whole_litter_slow: false,
            weigh_again_in_hours: None,
            enough_data: false,
            signs: [0.0; score::SIGNS],
            parts: [0.0; score::SIGNS],
            circumstances: score::circumstances(level, scale_var(weight_g, self.settings.scale_step_g), pup.gap_hours),
            last_day: None,
            forecasts: forecast::forecasts(now, day, gain, self.forecast_wander()),
        }
    }

    /// Root mean square over the grid, because variances add up.
    fn forecast_wander(&self) -> f64 {
        let parts = self.noise.weights();
        parts.iter().zip(levels()).map(|(w, l)| w * l.wander.powi(2)).sum::<f64>().sqrt()
    }

    fn judge(&self, out: &mut Assessment, pup: &Pup, reading: &Reading, now: &TwoMode, sudden_loss: bool) {
        let level: Level = self.noise.level();
        let gain = self.settings.gain;
        let mates = Mates::new(self.fresh(reading.hours_from_birth).map(|last| (last.log_odds, last.slowness)));
        out.signs = pup.signs(now, level, gain, &mates);
        out.parts = score::parts(&out.signs);
        out.score = score::score(&out.signs);
        if reading.hours_from_birth >= SCORE_FROM_HOURS && pup.past.len() > 1 {
            out.false_alarm_rate = score::false_alarm_rate(out.score, &out.circumstances);
        }
        out.last_day = pup.back(24.0, 16.0, 40.0).map(|then| {
            let expected = expected_gain(gain, then.day, reading.hours_from_birth / 24.0);
            let hours = reading.hours_from_birth - then.day * 24.0;
            (hours, reading.grams - then.grams, then.grams * (expected.exp() - 1.0))
        });
        out.enough_data = pup.gain_sd(level).is_some_and(|sd| sd <= TOO_VAGUE);
        out.floor = pup.birth.and_then(|birth| {
            floors::crossed(&Facts {
                age_hours: reading.hours_from_birth,
                birth_g: birth.grams,
                grams: reading.grams,
                mixed_pair: birth.taken != reading.taken
                    && birth.taken != Taken::Unknown
                    && reading.taken != Taken::Unknown,
                p_gaining: Normal::standard().cdf(out.gain_g_per_day / out.gain_sd_g_per_day.max(1e-9)),
                sudden_loss,
            })
        });
        let by_score = if out.false_alarm_rate <= self.settings.false_alarms {
            Standing::NeedsHelp
        } else if out.false_alarm_rate <= WATCH * self.settings.false_alarms {
            Standing::KeepWatch
        } else {
            Standing::DoingWell
        };
        out.standing = by_score.max(out.floor.map_or(Standing::DoingWell, Floor::standing));
        let soon = if reading.hours_from_birth < 72.0 { 6.0 } else { 12.0 };
        if !out.enough_data || out.standing != Standing::DoingWell {
            out.weigh_again_in_hours = Some(soon);
        }
    }
}

/// One reading against what was expected.
struct Seen {
    predicted: [TwoMode; POINTS],
    average: TwoMode,
    vars: [f64; POINTS],
    var: f64,
    log: f64,
    expected: Expected,
    /// Expected of a pup that grows normally.
    normal: Expected,
    p_real: f64,
}

fn merged(pair: &TwoMode) -> Belief {
    Belief::merge(pair.p().into_iter().zip(&pair.beliefs))
}

/// A doubtful reading that repeats one held back is no slip; the third in a row is believed
/// in any case.
fn agrees_with_held(pup: &Pup, seen: &Seen, day: f64) -> bool {
    let near = |&(then, log): &(f64, f64)| {
        let room = 3.0 * (2.0 * seen.var).sqrt() + 0.1 * (day - then);
        (seen.log - log).abs() < room && day - then < 2.0
    };
    pup.held.len() >= 2 || pup.held.last().is_some_and(near)
}
