//! False alarms, caught episodes and delays of any warning that is a score.
//!
//! Onset is the first deviation of the true rate. A false alarm is one outside
//! `[onset, end + 36 h]`, at 24 h of age or later, once per pup in 48 h. A missed episode
//! counts as a delay of its duration plus 18 h.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use whelpward_core::finding::Level;
use whelpward_core::growth::{Assessment, floors};

use crate::replay::Replayed;
use crate::rule;
use crate::simulate::{Episode, Kind};

const FROM_HOURS: f64 = 24.0;
const AFTERMATH_HOURS: f64 = 36.0;
const REFRACTORY_HOURS: f64 = 48.0;
const MISS_PENALTY_HOURS: f64 = 18.0;

/// One pup's warnings: `(hours, score)` per weighing; higher is graver.
#[derive(Clone, Debug)]
pub struct Track {
    pub litter: u64,
    pub episode: Option<Episode>,
    pub scores: Vec<(f64, f64)>,
}

/// Which warning is scored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// The tool: minus the log of the false-alarm rate that the score stands for.
    Score,
    /// The rule of thumb on what was written down.
    RuleRaw,
    /// The rule of thumb without the readings that the tool held back.
    RuleScreened,
}

pub fn tracks(r: &Replayed, method: Method) -> Vec<Track> {
    (0..r.litter.pups.len())
        .map(|pup| {
            let mine = || r.assessments.iter().filter(move |a| a.pup == pup);
            let scores = match method {
                Method::Score => mine()
                    .map(|a| {
                        let level = a.false_alarm_rate.map_or(f64::NEG_INFINITY, |rate| -rate.ln());
                        (a.hours_from_birth, if limits_warn(a) { f64::INFINITY } else { level })
                    })
                    .collect(),
                Method::RuleRaw | Method::RuleScreened => {
                    let raw = method == Method::RuleRaw;
                    let used: Vec<(f64, f64)> = mine()
                        .filter(|a| raw || a.doubt.is_none())
                        .map(|a| (a.hours_from_birth, a.reading_g))
                        .collect();
                    let scores = rule::scores(&used);
                    used.iter().zip(scores).map(|(&(h, _), s)| (h, s)).collect()
                }
            };
            Track { litter: r.litter.seed, episode: r.litter.pups[pup].episode, scores }
        })
        .collect()
}

/// A published limit calls a person, whatever the score says.
pub fn limits_warn(a: &Assessment) -> bool {
    floors::level(&a.crossed) >= Level::NeedsHelp
}

/// How one episode fared.
#[derive(Clone, Copy, Debug)]
pub struct Caught {
    pub litter: u64,
    pub kind: Kind,
    /// Hours from onset to the first warning, penalty included if missed.
    pub delay: f64,
    pub caught: bool,
}

#[derive(Clone, Debug, Default)]
pub struct Outcome {
    pub episodes: Vec<Caught>,
    /// Per litter: false alarms and healthy pup-weeks.
    pub false_alarms: Vec<(u64, f64, f64)>,
}

impl Outcome {
    pub fn rate(&self) -> f64 {
        let (alarms, weeks) = self.false_alarms.iter().fold((0.0, 0.0), |s, f| (s.0 + f.1, s.1 + f.2));
        alarms / weeks
    }

    pub fn caught(&self) -> f64 {
        self.episodes.iter().filter(|e| e.caught).count() as f64 / self.episodes.len() as f64
    }

    pub fn mean_delay(&self) -> f64 {
        mean(self.episodes.iter().map(|e| e.delay))
    }
}

/// Healthy time of a pup, and the scores in it.
fn healthy(track: &Track, hours: f64) -> bool {
    hours >= FROM_HOURS && track.episode.is_none_or(|e| hours < e.onset || hours > e.end + AFTERMATH_HOURS)
}

pub fn outcome(tracks: &[Track], threshold: f64) -> Outcome {
    let mut out = Outcome::default();
    for track in tracks {
        let last = track.scores.last().map_or(0.0, |s| s.0);
        let sick =
            track.episode.map_or(0.0, |e| (e.end + AFTERMATH_HOURS).min(last) - e.onset.max(FROM_HOURS).min(last));
        let weeks = (last - FROM_HOURS - sick).max(0.0) / 168.0;
        let mut alarms = 0.0;
        let mut quiet_until = f64::NEG_INFINITY;
        let mut first = None;
        for &(hours, score) in &track.scores {
            if score < threshold {
                continue;
            }
            if healthy(track, hours) && hours >= quiet_until {
                alarms += 1.0;
                quiet_until = hours + REFRACTORY_HOURS;
            }
            if track.episode.is_some_and(|e| hours >= e.onset && hours <= e.end) {
                first = first.or(Some(hours));
            }
        }
        out.false_alarms.push((track.litter, alarms, weeks));
        if let Some(e) = track.episode {
            out.episodes.push(Caught {
                litter: track.litter,
                kind: e.kind,
                delay: first.map_or(e.end - e.onset + MISS_PENALTY_HOURS, |h| h - e.onset),
                caught: first.is_some(),
            });
        }
    }
    out
}

/// The threshold at which a method gives this rate on these tracks, as near as it goes from
/// below.
pub fn threshold_for(tracks: &[Track], rate: f64) -> f64 {
    let mut all: Vec<f64> = tracks
        .iter()
        .flat_map(|t| t.scores.iter().filter(|s| healthy(t, s.0)).map(|s| s.1))
        .filter(|s| s.is_finite())
        .collect();
    all.sort_by(f64::total_cmp);
    let (mut low, mut high) = (0, all.len() - 1);
    while low < high {
        let middle = usize::midpoint(low, high);
        if outcome(tracks, all[middle]).rate() > rate { low = middle + 1 } else { high = middle }
    }
    all[low]
}

pub fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    sum / n
}

pub fn quantile(values: &mut [f64], p: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * p).round() as usize]
}

/// Estimate and 95 % interval.
#[derive(Clone, Copy, Debug)]
pub struct Interval {
    pub at: f64,
    pub low: f64,
    pub high: f64,
}

impl Interval {
    pub fn show(&self, digits: usize) -> String {
        format!("{:.digits$} [{:.digits$}, {:.digits$}]", self.at, self.low, self.high)
    }
}

/// Bootstrap by litter: `rows` belong to litters, `statistic` sees a resampled set.
pub fn by_litter<T: Copy>(rows: &[(u64, T)], statistic: impl Fn(&[T]) -> f64, rounds: usize) -> Interval {
    let mut groups: Vec<Vec<T>> = Vec::new();
    let mut last = None;
    for &(litter, row) in rows {
        if last != Some(litter) {
            groups.push(Vec::new());
            last = Some(litter);
        }
        groups.last_mut().expect("just pushed").push(row);
    }
    let mut rng = StdRng::seed_from_u64(77);
    let mut draws: Vec<f64> = (0..rounds)
        .map(|_| {
            let picked: Vec<T> =
                (0..groups.len()).flat_map(|_| groups[rng.random_range(0..groups.len())].iter().copied()).collect();
            statistic(&picked)
        })
        .collect();
    let all: Vec<T> = rows.iter().map(|r| r.1).collect();
    let at = statistic(&all);
    Interval { at, low: quantile(&mut draws, 0.025), high: quantile(&mut draws, 0.975) }
}
