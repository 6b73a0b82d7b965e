//! Invented litters with known faltering.
//!
//! Deliberately unlike the filter that is judged on them: growth is a Gompertz curve
//! stepped hour by hour, wander is a sequence of skewed constant spells instead of a
//! diffusion, the dip is a ramp, the stomach fills uniformly, and faltering replaces the
//! rate by hand-made shapes.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::{Beta, Distribution, Gamma, Normal, StandardNormal, StudentT};

#[allow(clippy::wildcard_imports, reason = "the simulator reads its page of parameters whole")]
use crate::parameters::*;

#[derive(Clone, Copy, Debug)]
pub struct Household {
    pub noise: Noise,
    pub weighings_per_day: u8,
    pub scale_step_g: f64,
    /// Whether "before or after a feed" is written down.
    pub notes_feeds: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    Abrupt,
    Slow,
    WholeLitter,
    AfterIllness,
    ToppedUp,
}

pub const KINDS: [Kind; 5] = [Kind::Abrupt, Kind::Slow, Kind::WholeLitter, Kind::AfterIllness, Kind::ToppedUp];

/// `onset` is the first hour at which the true rate leaves the healthy one.
#[derive(Clone, Copy, Debug)]
pub struct Episode {
    pub kind: Kind,
    pub onset: f64,
    pub end: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fed {
    Unknown,
    Before,
    After,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    None,
    Typed,
    Swapped,
}

#[derive(Clone, Copy, Debug)]
pub struct Weighing {
    pub pup: usize,
    pub session: usize,
    /// Hours from the birth of the litter.
    pub hours: f64,
    pub grams: f64,
    /// What the scale showed for this pup, before any slip.
    pub shown_g: f64,
    pub fed: Fed,
    pub slip: Slip,
}

#[derive(Clone, Debug)]
pub struct Pup {
    /// Log of the true weight at each full hour.
    pub log_weight: Vec<f64>,
    pub episode: Option<Episode>,
}

impl Pup {
    pub fn true_log_weight(&self, hours: f64) -> f64 {
        let i = (hours as usize).min(self.log_weight.len() - 2);
        let part = hours - i as f64;
        self.log_weight[i] * (1.0 - part) + self.log_weight[i + 1] * part
    }
}

#[derive(Clone, Debug)]
pub struct Litter {
    pub seed: u64,
    /// Index into `CLASSES`.
    pub class: usize,
    pub household: Household,
    pub pups: Vec<Pup>,
    /// In order of time.
    pub weighings: Vec<Weighing>,
}

fn normal(rng: &mut StdRng, (mean, sd): (f64, f64)) -> f64 {
    mean + sd * rng.sample::<f64, _>(StandardNormal)
}

fn between(rng: &mut StdRng, (low, high): (f64, f64)) -> f64 {
    rng.random_range(low..high)
}

fn log_normal(rng: &mut StdRng, (median, sd, min, max): (f64, f64, f64, f64)) -> f64 {
    (median.ln() + sd * rng.sample::<f64, _>(StandardNormal)).exp().clamp(min, max)
}

/// A household of the training and calibration sets.
pub fn any_household(seed: u64) -> Household {
    let mut rng = StdRng::seed_from_u64(seed ^ 0x005E_ED0F_A400);
    Household {
        noise: Noise { reading: log_normal(&mut rng, ANY_READING), wander: log_normal(&mut rng, ANY_WANDER) },
        weighings_per_day: [1, 2, 2, 3][rng.random_range(0..4)],
        scale_step_g: [1.0, 2.0, 5.0][rng.random_range(0..3)],
        notes_feeds: rng.random_bool(0.25),
    }
}

pub fn litter(seed: u64, household: Household) -> Litter {
    let mut rng = StdRng::seed_from_u64(seed);
    let class = rng.random_range(0..CLASSES.len());
    let (mean_g, size, size_sd) = CLASSES[class];
    let n = normal(&mut rng, (size, size_sd)).round().clamp(2.0, 12.0) as usize;
    let litter_birth = mean_g.ln() + normal(&mut rng, (0.0, BIRTH_SD_LITTER));
    let curve = Curve {
        rate: normal(&mut rng, RATE_AT_BIRTH).clamp(0.055, 0.115),
        decay: between(&mut rng, RATE_DECAY_DAYS),
        wander: spells(&mut rng, WANDER_LITTER, SPELL_DAYS_LITTER),
        phase: between(&mut rng, (0.0, 24.0)),
    };
    let dam_fails = rng.random_bool(FALTERING_LITTERS).then(|| between(&mut rng, (12.0, 400.0)));
    let pups: Vec<Pup> = (0..n).map(|_| pup(&mut rng, litter_birth, &curve, household.noise, dam_fails)).collect();
    let weighings = weigh(&mut rng, &pups, household);
    Litter { seed, class, household, pups, weighings }
}

/// What the pups of a litter share.
struct Curve {
    rate: f64,
    decay: f64,
    wander: Vec<f64>,
    phase: f64,
}

fn hours_of_truth() -> usize {
    ((DAYS + DAYS_AFTER) * 24.0) as usize + 2
}

/// Piecewise constant levels, hour by hour; bad spells go further than good ones.
fn spells(rng: &mut StdRng, sd: f64, mean_days: f64) -> Vec<f64> {
    let length = Gamma::new(2.0, mean_days * 24.0 / 2.0).expect("positive parameters");
    let shape = 8.0_f64;
    let level = Gamma::new(shape, 1.0 / shape).expect("positive parameters");
    let mut out = Vec::with_capacity(hours_of_truth());
    while out.len() < hours_of_truth() {
        let value = sd * shape.sqrt() * (1.0 - level.sample(rng));
        let hours = (length.sample(rng).round() as usize).max(1);
        out.extend(std::iter::repeat_n(value, hours));
    }
    out.truncate(hours_of_truth());
    out
}

fn pup(rng: &mut StdRng, litter: f64, curve: &Curve, noise: Noise, dam_fails: Option<f64>) -> Pup {
    let size = normal(rng, (0.0, 1.0));
    let own = normal(rng, (0.0, RATE_SD_PUP));
    let wander = spells(rng, noise.wander, SPELL_DAYS_PUP);
    let dip = normal(rng, DIP).max(0.0);
    let dip_hours = between(rng, DIP_HOURS);
    let light = size < -0.8;
    let (episode, shape) = faltering(rng, dam_fails);
    let mut log_weight = vec![litter + BIRTH_SD_PUP * size];
    for (h, loose) in wander.iter().enumerate().take(hours_of_truth() - 1) {
        let t = h as f64 + 0.5;
        let day = t / 24.0;
        let swing = 1.0 + DAY_SWING * (std::f64::consts::TAU * (t - curve.phase) / 24.0).cos();
        let lag = match light {
            true if day < 2.0 => LIGHT_PUP.0,
            true => LIGHT_PUP.1,
            false => 0.0,
        };
        let healthy = curve.rate * (-day / curve.decay).exp() * swing + own + lag;
        let loose = curve.wander[h] + loose;
        let rate = match (&episode, &shape) {
            (Some(e), Some(s)) if t >= e.onset => s.rate(t - e.onset, e, healthy, loose),
            _ => healthy + loose,
        };
        let loss = 2.0 * dip / dip_hours * (1.0 - t / dip_hours).max(0.0);
        let last = *log_weight.last().expect("starts with birth");
        log_weight.push(last + rate / 24.0 - loss);
    }
    Pup { log_weight, episode }
}

/// How the rate goes during an episode.
struct Shape {
    /// Hours until the full effect.
    ramp: f64,
    /// Rate at the full effect, per day.
    floor: f64,
    /// First hours of illness and the rate during them.
    ill: Option<(f64, f64)>,
    /// Hour from which a top-up gives half the healthy rate, and full catch-up after the end.
    top_up: Option<f64>,
    /// Share of the healthy rate that is left at the full effect.
    left: f64,
}

impl Shape {
    fn rate(&self, since: f64, e: &Episode, healthy: f64, loose: f64) -> f64 {
        if since >= e.end - e.onset {
            let catching_up = self.top_up.is_some() && since < e.end - e.onset + 48.0;
            return healthy * if catching_up { 1.2 } else { 1.0 } + loose;
        }
        if let Some((hours, rate)) = self.ill
            && since < hours
        {
            return rate;
        }
        if let Some(from) = self.top_up
            && since >= from
        {
            return 0.5 * healthy + loose;
        }
        let w = (since / self.ramp).min(1.0);
        let full = self.floor + self.left * healthy + 0.5 * loose;
        (1.0 - w) * (healthy + loose) + w * full
    }
}

fn faltering(rng: &mut StdRng, dam_fails: Option<f64>) -> (Option<Episode>, Option<Shape>) {
    let own = rng.random_bool(FALTERING_PUPS);
    let kind = match dam_fails {
        Some(_) => Kind::WholeLitter,
        None if own => [Kind::Abrupt, Kind::Slow, Kind::AfterIllness, Kind::ToppedUp][rng.random_range(0..4)],
        None => return (None, None),
    };
    let onset = match dam_fails {
        Some(hours) => hours + between(rng, (0.0, 12.0)),
        None => between(rng, (12.0, 408.0)),
    }
    .round();
    let plain = Shape { ramp: 1.0, floor: 0.0, ill: None, top_up: None, left: 0.0 };
    let (days, shape) = match kind {
        Kind::Abrupt => (between(rng, (2.0, 4.0)), Shape { floor: normal(rng, (-0.010, 0.012)), ..plain }),
        Kind::Slow => (
            between(rng, (4.0, 6.0)),
            Shape { ramp: between(rng, (48.0, 84.0)), floor: normal(rng, (-0.015, 0.010)), ..plain },
        ),
        Kind::WholeLitter => {
            (between(rng, (3.0, 5.0)), Shape { ramp: 18.0, floor: -0.010, left: between(rng, (0.0, 0.35)), ..plain })
        }
        Kind::AfterIllness => (
            between(rng, (2.0, 4.0)),
            Shape {
                ill: Some((between(rng, (12.0, 18.0)), between(rng, (-0.10, -0.06)))),
                floor: normal(rng, (0.0, 0.010)),
                ..plain
            },
        ),
        Kind::ToppedUp => (
            between(rng, (3.0, 5.0)),
            Shape { floor: normal(rng, (-0.010, 0.010)), top_up: Some(between(rng, (36.0, 60.0))), ..plain },
        ),
    };
    let end = (onset + days * 24.0).min(DAYS * 24.0);
    (Some(Episode { kind, onset, end }), Some(shape))
}

fn session_times(rng: &mut StdRng, per_day: u8) -> Vec<f64> {
    let clock: &[f64] = match per_day {
        1 => &[8.0],
        2 => &[8.0, 20.0],
        _ => &[7.0, 14.0, 21.0],
    };
    let born_at = between(rng, (0.0, 24.0));
    let mut times = vec![between(rng, (0.5, 3.0))];
    for day in 0..=DAYS as usize + 1 {
        for hour in clock {
            let t = day as f64 * 24.0 + hour - born_at + normal(rng, (0.0, SESSION_JITTER_HOURS));
            if t > times[0] + 4.0 && t < DAYS * 24.0 && !rng.random_bool(MISSING_SESSION) {
                times.push(t);
            }
        }
    }
    times
}

fn weigh(rng: &mut StdRng, pups: &[Pup], household: Household) -> Vec<Weighing> {
    let mut out = Vec::new();
    for (session, start) in session_times(rng, household.weighings_per_day).into_iter().enumerate() {
        let fed = match (household.notes_feeds, rng.random_bool(0.5)) {
            (false, _) => Fed::Unknown,
            (true, true) => Fed::Before,
            (true, false) => Fed::After,
        };
        let first = out.len();
        for (i, pup) in pups.iter().enumerate() {
            let missing = rng.random_bool(MISSING_READING);
            let hours = start + i as f64 / 60.0;
            let shown_g = show(rng, pup.true_log_weight(hours), fed, household);
            // The birth weighing is never missing and comes without a slip.
            if session > 0 && missing {
                continue;
            }
            let grams = if session > 0 && rng.random_bool(SLIP) { mistype(rng, shown_g) } else { shown_g };
            let slip = if grams == shown_g { Slip::None } else { Slip::Typed };
            out.push(Weighing { pup: i, session, hours, grams, shown_g, fed, slip });
        }
        let here = out.len() - first;
        if session > 0 && here >= 2 && rng.random_bool(SWAP_PER_SESSION) {
            let a = first + rng.random_range(0..here);
            let b = first + (a - first + rng.random_range(1..here)) % here;
            if out[a].slip == Slip::None && out[b].slip == Slip::None && out[a].grams != out[b].grams {
                (out[a].grams, out[b].grams) = (out[b].grams, out[a].grams);
                (out[a].slip, out[b].slip) = (Slip::Swapped, Slip::Swapped);
            }
        }
    }
    out
}

/// What the scale shows for a pup of this true log weight.
fn show(rng: &mut StdRng, log_weight: f64, fed: Fed, household: Household) -> f64 {
    let fill = match fed {
        Fed::Unknown => rng.random::<f64>(),
        Fed::Before => Beta::new(1.5, 6.0).expect("positive").sample(rng),
        Fed::After => Beta::new(6.0, 1.5).expect("positive").sample(rng),
    };
    let span = FILL_SPAN * household.noise.reading / USUAL.reading;
    let rest = (household.noise.reading.powi(2) - span * span / 12.0).sqrt();
    let t6: f64 = StudentT::new(6.0).expect("positive").sample(rng) / 1.5_f64.sqrt();
    let on_scale = (log_weight + span * (fill - 0.5) + rest * t6).exp()
        + Normal::new(0.0, SCALE_SD_G).expect("positive").sample(rng);
    (on_scale / household.scale_step_g).round() * household.scale_step_g
}

/// A slip of the finger on the digits of `grams`.
fn mistype(rng: &mut StdRng, grams: f64) -> f64 {
    let mut digits: Vec<u8> = format!("{grams:.0}").into_bytes();
    let at = rng.random_range(0..digits.len());
    match rng.random_range(0..20) {
        0..6 => {
            let at = at.min(digits.len() - 2);
            digits.swap(at, at + 1);
        }
        6..9 => {
            digits.remove(at);
        }
        9..11 => digits.insert(at, digits[at]),
        11..18 => digits[at] = b'0' + rng.random_range(0..10u8),
        18 => return grams * 10.0,
        _ => return (grams * 0.1).round(),
    }
    let typed: f64 = String::from_utf8_lossy(&digits).parse().expect("digits only");
    if typed > 0.0 { typed } else { grams }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUSE: Household = Household { noise: USUAL, weighings_per_day: 2, scale_step_g: 1.0, notes_feeds: false };

    #[test]
    fn a_seed_gives_the_same_litter_and_sets_share_no_seed() {
        let a = litter(Set::Test.seed(1, 7), HOUSE);
        let b = litter(Set::Test.seed(1, 7), HOUSE);
        assert!(a.weighings.iter().zip(&b.weighings).all(|(x, y)| x.grams == y.grams));
        assert!(Set::Train.seed(999, 999_999) < Set::Calibration.seed(0, 0));
        assert!(Set::Calibration.seed(999, 999_999) < Set::Test.seed(0, 0));
    }

    /// Published: birth weight doubles at 8-10 days (Small Animal Clinical Nutrition, table
    /// 16-1), and no pup outgrows the published maximum by much (Alves 2020: 2.31 x at day 7).
    #[test]
    fn healthy_pups_grow_as_published() {
        let mut doubled = Vec::new();
        for i in 0..200 {
            for p in litter(Set::Train.seed(0, i), HOUSE).pups {
                if p.episode.is_none() {
                    let w0 = p.log_weight[0];
                    assert!(p.true_log_weight(7.0 * 24.0) - w0 < 2.31_f64.ln());
                    let hours = (0..500).find(|h| p.log_weight[*h] - w0 > 2.0_f64.ln());
                    doubled.push(hours.unwrap_or(500) as f64 / 24.0);
                }
            }
        }
        doubled.sort_by(f64::total_cmp);
        let median = doubled[doubled.len() / 2];
        assert!((8.0..=11.0).contains(&median), "median {median}");
    }

    #[test]
    fn slips_and_faltering_come_at_their_rates() {
        let litters: Vec<Litter> = (0..300).map(|i| litter(Set::Train.seed(0, i), HOUSE)).collect();
        let all: Vec<&Weighing> = litters.iter().flat_map(|l| &l.weighings).collect();
        let share = |s: Slip| all.iter().filter(|w| w.slip == s).count() as f64 / all.len() as f64;
        assert!((0.004..0.009).contains(&share(Slip::Typed)), "{}", share(Slip::Typed));
        assert!((0.002..0.006).contains(&share(Slip::Swapped)), "{}", share(Slip::Swapped));
        for kind in KINDS {
            let some = litters.iter().flat_map(|l| &l.pups);
            assert!(some.filter(|p| p.episode.is_some_and(|e| e.kind == kind)).count() > 20);
        }
    }
}
