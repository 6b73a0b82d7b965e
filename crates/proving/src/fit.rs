//! Fits the weights of the score on training litters and its thresholds on calibration
//! litters, and prints the file that the core compiles in.

use nalgebra::{DMatrix, DVector, SMatrix, SVector};
use whelpward_core::growth::noise::Level;
use whelpward_core::growth::score::{ALL, CIRCUMSTANCES, Circumstances, SIGNS, Sign, circumstances};

use crate::parameters::{Set, USUAL};
use crate::replay::{Replayed, many};
use crate::scoring::{Track, limits_warn, mean, outcome, threshold_for};
use crate::simulate::{Episode, any_household};

/// One accepted reading of a training litter.
struct Row {
    signs: [f64; SIGNS],
    faltering: bool,
    weight: f64,
}

const RIDGE: f64 = 1.0;
/// Readings of the first hours of an episode count double.
const EARLY: (f64, f64) = (36.0, 2.0);

fn rows(r: &Replayed) -> Vec<Row> {
    let judged = r.assessments.iter().filter(|a| a.doubt.is_none() && a.hours_from_birth >= 24.0);
    judged
        .filter_map(|a| {
            let hours = a.hours_from_birth;
            let (faltering, weight) = match r.litter.pups[a.pup].episode {
                Some(e) if hours > e.end && hours <= e.end + 36.0 => return None,
                Some(e) if hours >= e.onset && hours <= e.end => {
                    (true, if hours < e.onset + EARLY.0 { EARLY.1 } else { 1.0 })
                }
                _ => (false, 1.0),
            };
            Some(Row { signs: a.signs, faltering, weight })
        })
        .collect()
}

/// Logistic regression with a ridge, by Newton steps. Returns weights and healthy means.
fn logistic(rows: &[Row]) -> ([f64; SIGNS], [f64; SIGNS]) {
    let n = SIGNS + 1;
    let mut theta = DVector::zeros(n);
    for _ in 0..25 {
        let mut gradient = DVector::zeros(n);
        let mut hessian = DMatrix::zeros(n, n);
        for row in rows {
            let x = DVector::from_fn(n, |i, _| if i < SIGNS { row.signs[i] } else { 1.0 });
            let p = 1.0 / (1.0 + (-x.dot(&theta)).exp());
            let y = if row.faltering { 1.0 } else { 0.0 };
            gradient.axpy(row.weight * (y - p), &x, 1.0);
            hessian.ger(row.weight * p * (1.0 - p), &x, &x, 1.0);
        }
        for i in 0..SIGNS {
            gradient[i] -= RIDGE * theta[i];
            hessian[(i, i)] += RIDGE;
        }
        theta += hessian.lu().solve(&gradient).expect("ridge keeps it regular");
    }
    let healthy: Vec<&Row> = rows.iter().filter(|r| !r.faltering).collect();
    let mean = |i: usize| healthy.iter().map(|r| r.signs[i]).sum::<f64>() / healthy.len() as f64;
    (std::array::from_fn(|i| theta[i]), std::array::from_fn(mean))
}

/// A pup of a training litter, its readings as signs.
struct Line {
    /// Weighings per day and noise: only like is compared with like.
    stratum: usize,
    litter: u64,
    episode: Option<Episode>,
    readings: Vec<(f64, [f64; SIGNS], bool, Circumstances)>,
}

fn lines(r: &Replayed) -> Vec<Line> {
    let per_day = usize::from(r.litter.household.weighings_per_day) - 1;
    let noise = r.litter.household.noise.reading;
    let stratum = per_day * 3 + usize::from(noise > 0.0135) + usize::from(noise > 0.0178);
    (0..r.litter.pups.len())
        .map(|i| Line {
            stratum,
            litter: r.litter.seed,
            episode: r.litter.pups[i].episode,
            readings: r
                .assessments
                .iter()
                .filter(|a| a.pup == i && a.doubt.is_none() && a.hours_from_birth >= 24.0)
                .map(|a| (a.hours_from_birth, a.signs, limits_warn(a), a.circumstances))
                .collect(),
        })
        .collect()
}

/// Mean delay over the strata and over the rates that matter.
fn mean_delay(lines: &[Line], weights: &[f64; SIGNS]) -> f64 {
    let mut total = 0.0;
    for stratum in 0..9 {
        let tracks: Vec<Track> = lines
            .iter()
            .filter(|l| l.stratum == stratum)
            .map(|l| Track {
                litter: l.litter,
                episode: l.episode,
                scores: l
                    .readings
                    .iter()
                    .map(|(h, s, floor, _)| {
                        let score: f64 = (0..SIGNS).map(|k| weights[k] * s[k]).sum();
                        (*h, if *floor { f64::INFINITY } else { score })
                    })
                    .collect(),
            })
            .collect();
        for rate in [0.1, 0.3] {
            total += outcome(&tracks, threshold_for(&tracks, rate)).mean_delay() / 18.0;
        }
    }
    total
}

/// Moves the weights one at a time to where warnings come earliest at equal false alarms.
///
/// A sign of trouble may count for nothing, but never against trouble; only age may.
fn refine(lines: &[Line], mut weights: [f64; SIGNS]) -> [f64; SIGNS] {
    let may_be_negative = |k: usize| matches!(ALL[k], Sign::Young | Sign::Age);
    for (k, weight) in weights.iter_mut().enumerate() {
        if !may_be_negative(k) {
            *weight = weight.max(0.0);
        }
    }
    let spread: [f64; SIGNS] = std::array::from_fn(|k| {
        let all = || lines.iter().flat_map(|l| &l.readings).map(|r| r.1[k]);
        let mid = mean(all());
        mean(all().map(|x| (x - mid).powi(2))).sqrt().max(1e-6)
    });
    let mut best = mean_delay(lines, &weights);
    let mut step = 0.5;
    while step > 0.04 {
        let before = best;
        for k in 0..SIGNS {
            for direction in [1.0, -1.0] {
                let mut tried = weights;
                tried[k] += direction * step / spread[k];
                if !may_be_negative(k) {
                    tried[k] = tried[k].max(0.0);
                }
                let delay = mean_delay(lines, &tried);
                if delay < best {
                    (best, weights) = (delay, tried);
                    break;
                }
            }
        }
        eprintln!("step {step:.3}: mean delay {best:.2} h");
        if before - best < 0.05 {
            step *= 0.6;
        }
    }
    weights
}

/// A 48-h block of a healthy pup: all its scores with their circumstances, and those
/// circumstances as they truly are. A limit that speaks counts as an alarm at any threshold.
struct Block {
    truth: Circumstances,
    scores: Vec<(f64, Circumstances)>,
}

const BLOCK_HOURS: f64 = 48.0;
const RATES: [f64; 5] = [0.05, 0.1, 0.2, 0.31, 0.5];
const N: usize = 2 * CIRCUMSTANCES;

fn truth(r: &Replayed, learned: &Circumstances) -> Circumstances {
    let noise = r.litter.household.noise;
    let level = Level { reading: noise.reading, wander: noise.wander / USUAL.wander };
    let true_c = circumstances(level, 0.0, 24.0 / f64::from(r.litter.household.weighings_per_day));
    // The scale and the weight are known; only its share depends on the noise.
    std::array::from_fn(|i| if i == CIRCUMSTANCES - 1 { learned[i] } else { true_c[i] })
}

fn blocks(r: &Replayed, weights: &[f64; SIGNS], means: &[f64; SIGNS]) -> Vec<Block> {
    let mut out = Vec::new();
    for (i, pup) in r.litter.pups.iter().enumerate() {
        for b in 0..10 {
            let from = 24.0 + f64::from(b) * BLOCK_HOURS;
            let to = from + BLOCK_HOURS;
            if pup.episode.is_some_and(|e| e.onset < to && e.end + 36.0 > from) {
                continue;
            }
            let here = r
                .assessments
                .iter()
                .filter(|a| a.pup == i && (from..to).contains(&a.hours_from_birth) && a.doubt.is_none());
            let scores: Vec<(f64, Circumstances)> = here
                .map(|a| {
                    let score: f64 = (0..SIGNS).map(|k| weights[k] * (a.signs[k] - means[k])).sum();
                    (if limits_warn(a) { f64::INFINITY } else { score }, a.circumstances)
                })
                .collect();
            if let Some((_, learned)) = scores.first() {
                out.push(Block { truth: truth(r, learned), scores });
            }
        }
    }
    out
}

type Threshold = SVector<f64, N>;

fn row(c: &Circumstances, rate: f64) -> Threshold {
    Threshold::from_fn(|i, _| if i < CIRCUMSTANCES { c[i] } else { -rate.ln() * c[i - CIRCUMSTANCES] })
}

/// Thresholds `base . c - slope . c ln(rate)` such that the share of blocks with an alarm
/// is what each rate promises, at every level of the noise as it truly is.
///
/// Only the learned noise is known when the threshold is used, so the true one serves as an
/// instrument: the surplus of alarms shall be uncorrelated with the truth. (A plain
/// regression on the learned noise leaves noisy households with too many alarms, because
/// what is learned lags behind the truth.)
fn thresholds(blocks: &[Block], shares: &[f64; RATES.len()]) -> Threshold {
    let mut theta = Threshold::zeros();
    theta[CIRCUMSTANCES] = 1.0;
    for round in 0..80 {
        let width = (2.0 * 0.95_f64.powi(round)).max(0.15);
        let mut surplus = Threshold::zeros();
        let mut slope = SMatrix::<f64, N, N>::identity() * 1e-3;
        for (rate, share) in RATES.into_iter().zip(shares) {
            for block in blocks {
                let margins = block.scores.iter().map(|(score, c)| {
                    let x = row(c, rate);
                    (score - x.dot(&theta), x)
                });
                let Some((margin, x)) = margins.max_by(|a, b| a.0.total_cmp(&b.0)) else {
                    continue;
                };
                let over = 1.0 / (1.0 + (-margin / width).exp());
                let z = row(&block.truth, rate);
                surplus.axpy(over - share, &z, 1.0);
                slope.ger(over * (1.0 - over) / width, &z, &x, 1.0);
            }
        }
        let Some(step) = slope.lu().solve(&surplus) else {
            break;
        };
        theta += step * (0.3 / step.amax()).min(0.7);
    }
    theta
}

/// Raises or lowers the shares until the calibration litters alarm at the stated rates:
/// alarms of neighbouring blocks are one alarm where they run together.
fn calibrate(blocks: &[Block], litters: &[Vec<Track>], learned: &[Vec<Vec<Circumstances>>]) -> Threshold {
    let mut shares = RATES.map(|r| r * BLOCK_HOURS / 168.0);
    let mut theta = thresholds(blocks, &shares);
    for _ in 0..4 {
        for (rate, share) in RATES.into_iter().zip(&mut shares) {
            let margins: Vec<Track> = litters
                .iter()
                .flatten()
                .zip(learned.iter().flatten())
                .map(|(t, cs)| Track {
                    scores: t.scores.iter().zip(cs).map(|(s, c)| (s.0, s.1 - row(c, rate).dot(&theta))).collect(),
                    ..t.clone()
                })
                .collect();
            let realised = outcome(&margins, 0.0).rate();
            eprintln!("stated {rate} realised {realised:.4}");
            *share *= (rate / realised).clamp(0.5, 2.0);
        }
        theta = thresholds(blocks, &shares);
    }
    theta
}

pub fn fit(litters: u64) -> String {
    let train = many(Set::Train, 0, litters, any_household, |r| (rows(&r), lines(&r)));
    let (all_rows, all_lines): (Vec<_>, Vec<_>) = train.into_iter().unzip();
    let all_rows: Vec<Row> = all_rows.into_iter().flatten().collect();
    let all_lines: Vec<Line> = all_lines.into_iter().flatten().collect();
    let (start, means) = logistic(&all_rows);
    let weights = refine(&all_lines, start);
    let calibration = many(Set::Calibration, 0, litters, any_household, |r| {
        let lines = lines(&r);
        let score = |s: &[f64; SIGNS]| (0..SIGNS).map(|k| weights[k] * (s[k] - means[k])).sum();
        let tracks: Vec<Track> = lines
            .iter()
            .map(|l| Track {
                litter: l.litter,
                episode: l.episode,
                scores: l
                    .readings
                    .iter()
                    .map(|(h, s, floor, _)| (*h, if *floor { f64::INFINITY } else { score(s) }))
                    .collect(),
            })
            .collect();
        let learned: Vec<Vec<Circumstances>> = lines.iter().map(|l| l.readings.iter().map(|r| r.3).collect()).collect();
        (blocks(&r, &weights, &means), tracks, learned)
    });
    let (mut all, mut tracks, mut learned) = (Vec::new(), Vec::new(), Vec::new());
    for (b, t, c) in calibration {
        all.extend(b);
        tracks.push(t);
        learned.push(c);
    }
    let threshold = calibrate(&all, &tracks, &learned);
    let threshold = threshold.as_slice();
    let list = |v: &[f64]| v.iter().map(|x| format!("{x:.5}")).collect::<Vec<_>>().join(", ");
    format!(
        "//! Written by `whelpward-proving fit --litters {litters}`: weights of the score and its\n\
         //! thresholds, from simulated litters only. Not by hand.\n\n\
         use super::score::{{CIRCUMSTANCES, SIGNS}};\n\n\
         /// Weight of each sign.\npub const WEIGHTS: [f64; SIGNS] = [{}];\n\
         /// Mean of each sign over healthy pups.\npub const MEANS: [f64; SIGNS] = [{}];\n\
         /// Threshold at one false alarm per pup-week, and what each e-fold fewer adds.\n\
         pub const THRESHOLD: [[f64; CIRCUMSTANCES]; 2] = [[{}], [{}]];\n",
        list(&weights),
        list(&means),
        list(&threshold[..CIRCUMSTANCES]),
        list(&threshold[CIRCUMSTANCES..]),
    )
}
