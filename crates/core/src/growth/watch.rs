//! Takes the readings of a litter one by one and says how each pup stands.

use statrs::distribution::{ContinuousCDF, Normal};

use super::floors::{self, Crossed, Facts};
use super::forecast::{self, Forecast};
use super::kalman::{Expected, Tails};
use super::model::{ExpectedGain, rate_row};
use super::noise::{self, Learned, Level, POINTS, levels, scale_var};
use super::priors::{ANY_BIRTH_WEIGHT, BirthWeight};
use super::pup::{Mates, Past, Pup, expected_gain, slowness};
use super::score::{self, Sign, Signs};
use super::screen::{self, Cause, Doubt, Mate};
use super::two_mode::{Bank, TwoMode};
use crate::finding::Standing;
use crate::record::Taken;
use crate::units::WeightUnit;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading<'a> {
    /// Any small number that names the pup.
    pub pup: usize,
    /// The weighing round; pups of one round may have been mixed up.
    pub session: u32,
    /// Hours on one clock for the whole litter: its pups need not be of one age.
    pub clock_hours: f64,
    pub hours_from_birth: f64,
    pub grams: f64,
    pub taken: Taken,
    /// The digits as they were typed, for the corrections that are offered.
    pub written: Option<(&'a str, WeightUnit)>,
    /// The recorded weight at birth, against which losses are counted.
    pub is_birth_weight: bool,
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
            false_alarms: super::STATED_FALSE_ALARMS,
            tare_g: None,
            noise: Learned::default(),
        }
    }
}

/// At other ages the score is silent, the published limits are not: before, the dip hides
/// everything; later, weaning begins and nothing was proved.
const SCORE_HOURS: std::ops::Range<f64> = 24.0..28.0 * 24.0;
/// With too little to judge by, or a result worth checking: weigh again after this time.
const AGAIN_HOURS: f64 = 12.0;
/// `keep watch` from this many times the stated rate of false alarms.
const WATCH: f64 = 3.0;
/// A daily gain known worse than this (SD per day) cannot be judged.
const TOO_VAGUE: f64 = 0.03;
/// A believed surprise lets the log weight go free by this much.
const REOPEN_VAR: f64 = 0.04;
/// With this many readings held back in a row the next is believed in any case.
const BELIEVED_THIRD: usize = 2;
const ARBITRATES_DAYS: f64 = 3.0;
/// A litter is slow as a whole when this share of at least this many pups falters.
const WHOLE_LITTER: (f64, usize) = (0.5, 2);
const SURELY_SLOW: f64 = 0.4;

/// How a pup stands after one reading.
#[expect(clippy::struct_excessive_bools, reason = "each says one thing about one reading")]
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
    /// Warning at this score would give so many false alarms per pup and week; none while the
    /// score is silent.
    pub false_alarm_rate: Option<f64>,
    /// By the score and the published limits together.
    pub standing: Standing,
    /// By the score alone.
    pub by_score: Standing,
    /// Published limits that this reading crosses.
    pub crossed: Crossed,
    /// The highest reading of the last 48 h.
    pub highest_g: f64,
    /// The reading does not move the estimate: weigh again.
    pub doubt: Option<Doubt>,
    /// Doubted, but a loss that no slip explains: the published limits act on it at once.
    pub counts_at_once: bool,
    /// It repeats the reading that was held back before it, so both are right.
    pub repeats_held: bool,
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
    ahead: Ahead,
}

/// What the forecasts start from.
#[derive(Clone, Copy, Debug)]
struct Ahead {
    now: TwoMode,
    day: f64,
    gain: ExpectedGain,
    wander: f64,
}

impl Assessment {
    /// Forecasts of the true weight, from this reading on.
    pub fn forecasts(&self) -> [Forecast; 4] {
        let Ahead { now, day, gain, wander } = &self.ahead;
        forecast::forecasts(now, *day, *gain, *wander)
    }

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
    pups: Vec<Option<Box<Tracked>>>,
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
    standing: Standing,
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
        self.noise.level().reading_var(Taken::Unknown, scale_var(weight_g, self.settings.scale_step_g))
    }

    /// Takes the next reading. `grams` must be positive and time must not run backwards for
    /// a pup; an earlier time counts as the same moment.
    pub fn weigh(&mut self, reading: &Reading<'_>) -> Assessment {
        let day = reading.hours_from_birth / 24.0;
        let tracked = self.take_out(reading.pup, day);
        let seen = self.look(&tracked.pup, reading, day);
        let repeats_held = repeats_held(&tracked.pup, &seen, day);
        let contradicts = !repeats_held && contradicts_held(&tracked.pup);
        let odd = seen.p_real < 0.5 || contradicts;
        let is_third = tracked.pup.held.len() >= BELIEVED_THIRD && !contradicts;
        // Of a first weight too little is expected to doubt it.
        let believed = reading.confirmed || repeats_held || is_third || !tracked.pup.is_known;
        let swapped = if believed { None } else { self.swapped_with(reading, &seen) };
        if (odd && !believed) || swapped.is_some() {
            return self.hold_back(tracked, reading, &seen, day, swapped);
        }
        let mut out = self.accept(tracked, reading, seen, day, odd);
        out.repeats_held = odd && repeats_held;
        out
    }

    fn take_out(&mut self, pup: usize, day: f64) -> Box<Tracked> {
        if self.pups.len() <= pup {
            self.pups.resize_with(pup + 1, || None);
        }
        self.pups[pup].take().unwrap_or_else(|| {
            let pup = Pup::newborn(self.settings.birth_weight, self.settings.gain, day);
            Box::new(Tracked { pup, before: None, last: None })
        })
    }

    /// What was expected of a reading, before any of it is believed.
    fn look(&self, pup: &Pup, reading: &Reading<'_>, day: f64) -> Seen {
        let predicted = pup.predicted(day, self.settings.gain);
        let weights = self.noise.weights();
        let (mut expected, mut normal) = predicted.expect(&weights, 0.0);
        let scale_var = scale_var(expected.log_weight.exp(), self.settings.scale_step_g);
        let vars = levels().map(|l| l.reading_var(reading.taken, scale_var));
        let var: f64 = weights.iter().zip(vars).map(|(w, v)| w * v).sum();
        expected.var += var;
        normal.var += var;
        let log = reading.grams.max(0.1).ln() - noise::shift(reading.taken);
        let density = (0..POINTS).map(|i| weights[i] * predicted.point(i).density(log, vars[i], Tails::Gaussian));
        let p_real = screen::p_real(density.sum(), log - expected.log_weight);
        Seen { predicted, vars, scale_var, var, log, expected, normal, p_real }
    }

    /// The pup of this session whose reading fits better crosswise with this one.
    fn swapped_with(&self, reading: &Reading<'_>, seen: &Seen) -> Option<usize> {
        self.pups.iter().enumerate().find_map(|(mate, tracked)| {
            let before = tracked.as_ref()?.before.as_ref()?;
            let known = before.session == reading.session && before.pup.is_known;
            (known && screen::swapped(seen.expected, seen.log, before.expected, before.log)).then_some(mate)
        })
    }

    fn doubt(&self, reading: &Reading<'_>, seen: &Seen, day: f64, swapped: Option<usize>) -> Doubt {
        if let Some(mate) = swapped {
            return Doubt { cause: Cause::WrongPup(mate), meant_g: None };
        }
        let mates = self.mates_to_weigh(reading, day);
        screen::doubt(reading.grams, reading.written, seen.expected, &mates, self.settings.tare_g)
    }

    fn hold_back(
        &mut self,
        mut tracked: Box<Tracked>,
        reading: &Reading<'_>,
        seen: &Seen,
        day: f64,
        swapped: Option<usize>,
    ) -> Assessment {
        let doubt = self.doubt(reading, seen, day, swapped);
        if let Some(mate) = swapped
            && let Some(Some(other)) = self.pups.get_mut(mate)
            && let Some(before) = other.before.take()
        {
            other.pup = *before.pup;
            other.pup.held.push((before.day, before.log));
        }
        tracked.before = Some(Before::new(reading.session, &tracked.pup, seen, day));
        tracked.pup.held.push((day, seen.log));
        let mut out = self.describe(&tracked.pup, reading, &seen.predicted.average(&self.noise.weights()), day);
        let last_g = tracked.pup.past.last().map_or(reading.grams, |p| p.grams);
        out.counts_at_once = doubt.may_be_a_loss(reading.grams, last_g, seen.expected);
        if out.counts_at_once {
            hold_to_limits(&mut out, &tracked.pup, reading, false);
        }
        // A doubtful reading takes no warning back.
        let before = tracked.last.as_ref().map_or(Standing::DoingWell, |last| last.standing);
        out.standing = Standing::KeepWatch.max(before).max(floors::level(&out.crossed).standing());
        out.doubt = Some(doubt);
        out.also_doubted = swapped;
        out.weigh_again_in_hours = Some(0.0);
        self.pups[reading.pup] = Some(tracked);
        out
    }

    /// The mates that were not weighed in this session yet.
    fn mates_to_weigh(&self, reading: &Reading<'_>, day: f64) -> Vec<Mate> {
        let others = self.pups.iter().enumerate().filter(|(mate, _)| *mate != reading.pup);
        others
            .filter_map(|(mate, t)| {
                let tracked = t.as_ref()?;
                let is_weighed = tracked.before.as_ref().is_some_and(|b| b.session == reading.session);
                let last_g = tracked.pup.past.last().filter(|_| !is_weighed)?.grams;
                let expected = self.look(&tracked.pup, reading, day.max(tracked.pup.day)).expected;
                Some(Mate { pup: mate, expected, last_g })
            })
            .collect()
    }

    fn accept(
        &mut self,
        mut tracked: Box<Tracked>,
        reading: &Reading<'_>,
        seen: Seen,
        day: f64,
        odd: bool,
    ) -> Assessment {
        tracked.before = Some(Before::new(reading.session, &tracked.pup, &seen, day));
        let pup = &mut tracked.pup;
        let first = !pup.is_known;
        if reading.is_birth_weight {
            pup.birth_g = Some(reading.grams);
        }
        // Between believing and holding back, a reading counts for less.
        let trust = if odd { 1.0 } else { seen.p_real };
        if !first && !odd {
            let vote = |i: usize| seen.predicted.point(i).density(seen.log, seen.vars[i], Tails::Clipped).ln();
            self.noise.vote(&std::array::from_fn(vote));
        }
        // A believed surprise lets the weight be anything again.
        let reopened = if odd { REOPEN_VAR } else { 0.0 };
        pup.filters = seen.predicted.map(|i, mut filter| {
            for belief in &mut filter.beliefs {
                belief.cov[0] += reopened;
            }
            filter.observe(seen.log, seen.vars[i] / trust, Tails::Heavy)
        });
        let now = pup.filters.average(&self.noise.weights());
        if !first {
            pup.shortfall = score::shortfall(pup.shortfall, -seen.normal.z(seen.log));
        }
        pup.remember(Past { day: day.max(pup.day), log: seen.log, grams: reading.grams, scale_var: seen.scale_var });
        let mut out = self.describe(&tracked.pup, reading, &now, day);
        let sudden_loss = odd && !first && seen.log < seen.expected.log_weight;
        self.judge(&mut out, &tracked.pup, reading, &now, sudden_loss);
        tracked.last = Some(Last {
            hours: reading.clock_hours,
            log_odds: out.signs[Sign::Filter as usize],
            slowness: slowness(&now, day),
            slow: out.p_faltering > SURELY_SLOW || out.by_score >= Standing::NeedsHelp,
            standing: out.standing,
        });
        self.pups[reading.pup] = Some(tracked);
        out.whole_litter_slow = self.whole_litter_slow(reading.clock_hours);
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
    fn describe(&self, pup: &Pup, reading: &Reading<'_>, now: &TwoMode, day: f64) -> Assessment {
        let gain = self.settings.gain;
        let level = self.noise.level();
        let belief = now.merged();
        let weight_g = belief.mean[0].exp();
        let (rate, rate_sd) = now.form(&rate_row(day));
        Assessment {
            pup: reading.pup,
            hours_from_birth: reading.hours_from_birth,
            reading_g: reading.grams,
            weight_g,
            weight_log_sd: belief.cov[0].sqrt(),
            gain_g_per_day: weight_g * (gain.rate(day) + rate),
            gain_sd_g_per_day: weight_g * rate_sd,
            p_faltering: now.p_faltering,
            score: 0.0,
            false_alarm_rate: None,
            standing: Standing::DoingWell,
            by_score: Standing::DoingWell,
            highest_g: reading.grams,
            crossed: [None; 3],
            doubt: None,
            counts_at_once: false,
            repeats_held: false,
            also_doubted: None,
            whole_litter_slow: false,
            weigh_again_in_hours: None,
            enough_data: false,
            signs: [0.0; score::SIGNS],
            parts: [0.0; score::SIGNS],
            circumstances: score::circumstances(level, scale_var(weight_g, self.settings.scale_step_g), pup.gap_hours),
            last_day: None,
            ahead: Ahead { now: *now, day, gain, wander: self.forecast_wander() },
        }
    }

    /// Root mean square over the grid, because variances add up.
    fn forecast_wander(&self) -> f64 {
        let parts = self.noise.weights();
        parts.iter().zip(levels()).map(|(w, l)| w * l.wander.powi(2)).sum::<f64>().sqrt()
    }

    fn judge(&self, out: &mut Assessment, pup: &Pup, reading: &Reading<'_>, now: &TwoMode, sudden_loss: bool) {
        let level: Level = self.noise.level();
        let gain = self.settings.gain;
        let mates = Mates::new(self.fresh(reading.clock_hours).map(|last| (last.log_odds, last.slowness)));
        out.signs = pup.signs(now, level, gain, &mates);
        out.parts = score::parts(&out.signs);
        out.score = score::score(&out.signs);
        if SCORE_HOURS.contains(&reading.hours_from_birth) && pup.past.len() > 1 {
            out.false_alarm_rate = Some(score::false_alarm_rate(out.score, &out.circumstances));
        }
        out.last_day = pup.back(reading.hours_from_birth / 24.0, 24.0, 16.0, 40.0).map(|then| {
            let expected = expected_gain(gain, then.day, reading.hours_from_birth / 24.0);
            let hours = reading.hours_from_birth - then.day * 24.0;
            (hours, reading.grams - then.grams, then.grams * (expected.exp() - 1.0))
        });
        out.enough_data = pup.gain_sd(level).is_some_and(|sd| sd <= TOO_VAGUE);
        hold_to_limits(out, pup, reading, sudden_loss);
        out.by_score = match out.false_alarm_rate {
            Some(rate) if rate <= self.settings.false_alarms => Standing::NeedsHelp,
            Some(rate) if rate <= WATCH * self.settings.false_alarms => Standing::KeepWatch,
            _ => Standing::DoingWell,
        };
        out.standing = out.by_score.max(floors::level(&out.crossed).standing());
        if !out.enough_data || out.standing != Standing::DoingWell {
            out.weigh_again_in_hours = Some(AGAIN_HOURS);
        }
    }
}

/// Applies the published limits; the reading itself need not be among the pup's past.
fn hold_to_limits(out: &mut Assessment, pup: &Pup, reading: &Reading<'_>, sudden_loss: bool) {
    let day = reading.hours_from_birth / 24.0;
    let recent = pup.past.iter().filter(|p| day - p.day <= 2.0).map(|p| p.grams);
    out.highest_g = recent.fold(reading.grams, f64::max);
    out.crossed = floors::crossed(&Facts {
        age_hours: reading.hours_from_birth,
        birth_g: pup.birth_g,
        grams: reading.grams,
        highest_g: out.highest_g,
        gained: pup.back(day, 24.0, 12.0, 72.0).is_some_and(|then| reading.grams > then.grams),
        p_gaining: Normal::standard().cdf(out.gain_g_per_day / out.gain_sd_g_per_day.max(1e-9)),
        sudden_loss,
    });
}

/// One reading against what was expected.
struct Seen {
    predicted: Bank,
    /// Variance of the reading at each point of the grid, the scale's share of it, and the average.
    vars: [f64; POINTS],
    scale_var: f64,
    var: f64,
    log: f64,
    expected: Expected,
    /// Expected of a pup that grows normally.
    normal: Expected,
    p_real: f64,
}

/// Whether a reading repeats the one held back before it: the same surprise twice is no slip.
fn repeats_held(pup: &Pup, seen: &Seen, day: f64) -> bool {
    pup.held.last().is_some_and(|&(then, log)| {
        let room = 3.0 * (2.0 * seen.var).sqrt() + 0.1 * (day - then);
        (seen.log - log).abs() < room && day - then < 2.0
    })
}

/// After days without a weight that counts, the expectation is too wide to tell which of two
/// contradicting readings is true: both wait for a third.
fn contradicts_held(pup: &Pup) -> bool {
    pup.held.last().is_some_and(|&(then, _)| then - pup.day > ARBITRATES_DAYS)
}
