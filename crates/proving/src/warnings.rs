//! The table of the early warnings.

use whelpward_core::finding::Level;
use whelpward_core::growth::{Assessment, floors};

use crate::forecasts::{self, Coverage};
use crate::parameters::{NOISY, Noise, QUIET, Set, USUAL};
use crate::replay::{Replayed, many};
use crate::rule;
use crate::scoring::{
    Caught, Interval, Method, Outcome, Track, by_litter, mean, outcome, quantile, threshold_for, tracks,
};
use crate::simulate::{Household, KINDS, Slip};

const STEPS: [f64; 3] = [1.0, 2.0, 5.0];
const NOISES: [(&str, Noise); 3] = [("quiet", QUIET), ("usual", USUAL), ("noisy", NOISY)];
pub const STATED: [f64; 4] = [0.05, 0.10, 0.20, 0.31];
const BOOTSTRAPS: usize = 400;

/// What is kept of one litter.
struct Kept {
    step: usize,
    score: Vec<Track>,
    raw: Vec<Track>,
    screened: Vec<Track>,
    coverage: Coverage,
    slips: Slips,
    interruptions: Vec<usize>,
}

/// Readings by what they were and whether they were held back.
#[derive(Clone, Copy, Default)]
struct Slips {
    /// Typed or swapped by more than 10 %.
    large: usize,
    large_held: usize,
    good: usize,
    good_held: usize,
}

fn slips(r: &Replayed) -> Slips {
    let mut out = Slips::default();
    for (w, a) in r.litter.weighings.iter().zip(&r.assessments) {
        let held = usize::from(a.doubt.is_some());
        if w.slip == Slip::None {
            out.good += 1;
            out.good_held += held;
        } else if (w.grams / w.shown_g).ln().abs() > 1.1_f64.ln() {
            out.large += 1;
            out.large_held += held;
        }
    }
    out
}

/// Interruptions in each session: requests to weigh again, and warnings that are new (not
/// repeated within 48 h) and not one of the emergencies, which no budget covers. A litter
/// that is slow as a whole is one message.
fn interruptions(r: &Replayed) -> Vec<usize> {
    let mut out = Vec::new();
    let mut told = vec![f64::NEG_INFINITY; r.litter.pups.len()];
    let mut told_litter = f64::NEG_INFINITY;
    let mut at = 0;
    while at < r.assessments.len() {
        let session = r.litter.weighings[at].session;
        let end = (at..r.assessments.len())
            .find(|i| r.litter.weighings[*i].session != session)
            .unwrap_or(r.assessments.len());
        let mut count = 0;
        for a in &r.assessments[at..end] {
            count += usize::from(a.doubt.is_some());
            if a.alarm() && !emergency(a) && a.hours_from_birth - told[a.pup] >= 48.0 {
                told[a.pup] = a.hours_from_birth;
                if a.whole_litter_slow {
                    if a.hours_from_birth - told_litter < 48.0 {
                        continue;
                    }
                    told_litter = a.hours_from_birth;
                }
                count += 1;
            }
        }
        out.push(count);
        at = end;
    }
    out
}

fn emergency(a: &Assessment) -> bool {
    floors::level(&a.crossed) >= Level::VetToday
}

/// A group of litters of the design: one rhythm and one noise level, all three scales.
struct Group {
    per_day: u8,
    noise: usize,
    kept: Vec<Kept>,
}

fn group(set: Set, per_day: u8, noise: usize, litters: u64, notes_feeds: bool) -> Group {
    let mut all = Vec::new();
    for (step, &scale_step_g) in STEPS.iter().enumerate() {
        let noise_level = NOISES[noise].1;
        let household = Household { noise: noise_level, weighings_per_day: per_day, scale_step_g, notes_feeds };
        // Streams 100-399 as they were first laid out; feeds noted: 500 on.
        let stream = u64::from(per_day) * 100 + noise as u64 * 10 + step as u64 + if notes_feeds { 400 } else { 0 };
        all.extend(many(
            set,
            stream,
            litters,
            |_| household,
            |r| Kept {
                step,
                score: tracks(&r, Method::Score),
                raw: tracks(&r, Method::RuleRaw),
                screened: tracks(&r, Method::RuleScreened),
                coverage: forecasts::coverage(&r),
                slips: slips(&r),
                interruptions: interruptions(&r),
            },
        ));
    }
    Group { per_day, noise, kept: all }
}

impl Group {
    fn name(&self) -> String {
        format!("{}/day {}", self.per_day, NOISES[self.noise].0)
    }

    fn tracks(&self, pick: fn(&Kept) -> &Vec<Track>) -> Vec<Track> {
        self.kept.iter().flat_map(|k| pick(k).clone()).collect()
    }
}

/// Prints the table. `litters` is the number per cell of the design (27 cells).
pub fn print(set: Set, litters: u64) {
    println!("Simulated litters only, no field data. {litters} litters per cell, 95 % intervals");
    println!("by bootstrap over litters. {set:?} seeds.\n");
    let groups: Vec<Group> = [2, 1, 3]
        .into_iter()
        .flat_map(|per_day| (0..3).map(move |noise| (per_day, noise)))
        .map(|(per_day, noise)| group(set, per_day, noise, litters, false))
        .collect();
    realised(&groups);
    leads(&groups);
    println!("\nWeighed before or after the feed, and written down:");
    leads(&[group(set, 2, 1, litters, true)]);
    intervals(&groups);
    others(&groups);
}

fn rate_of(tracks: &[Track], threshold: f64) -> Interval {
    let rows: Vec<(u64, (f64, f64))> =
        outcome(tracks, threshold).false_alarms.iter().map(|f| (f.0, (f.1, f.2))).collect();
    let rate = |rows: &[(f64, f64)]| {
        let sum = rows.iter().fold((0.0, 0.0), |s, r| (s.0 + r.0, s.1 + r.1));
        sum.0 / sum.1
    };
    by_litter(&rows, rate, BOOTSTRAPS)
}

fn realised(groups: &[Group]) {
    println!("False alarms per pup-week: stated -> realised");
    let mut pooled = Vec::new();
    for g in groups {
        let tracks = g.tracks(|k| &k.score);
        print!("  {:13}", g.name());
        for stated in STATED {
            print!("  {stated:.2} -> {}", rate_of(&tracks, -stated.ln()).show(3));
        }
        println!("  (limits alone {:.3})", outcome(&tracks, f64::INFINITY).rate());
        pooled.extend(tracks);
    }
    for (step, grams) in STEPS.iter().enumerate() {
        let all = groups.iter().flat_map(|g| &g.kept).filter(|k| k.step == step);
        let tracks: Vec<Track> = all.flat_map(|k| k.score.clone()).collect();
        print!("  scale of {grams} g ");
        for s in STATED {
            print!("  {s:.2} -> {:.3}", outcome(&tracks, -s.ln()).rate());
        }
        println!();
    }
    print!("  {:13}", "all");
    for s in STATED {
        print!("  {s:.2} -> {}", rate_of(&pooled, -s.ln()).show(3));
    }
    println!("\n");
}

/// Lead over the rule of thumb at equal false alarms.
fn leads(groups: &[Group]) {
    for g in groups {
        let (score, raw, screened) = (g.tracks(|k| &k.score), g.tracks(|k| &k.raw), g.tracks(|k| &k.screened));
        let own = outcome(&raw, rule::AS_USED);
        let own_rate = own.rate();
        compare(g, "the rule's own rate", &score, threshold_for(&score, own_rate), &own);
        for rate in [0.20, 0.10, 0.05] {
            let tuned = outcome(&screened, threshold_for(&screened, rate));
            let ours = threshold_for(&score, rate);
            compare(g, &format!("equal rate {rate:.2}"), &score, ours, &tuned);
        }
        let ours = outcome(&score, -0.10_f64.ln());
        let tuned = outcome(&screened, threshold_for(&screened, ours.rate()));
        compare(g, "as shipped, stated 0.10", &score, -0.10_f64.ln(), &tuned);
    }
}

fn compare(g: &Group, label: &str, score: &[Track], threshold: f64, rule: &Outcome) {
    let ours = outcome(score, threshold);
    let pairs: Vec<(u64, (Caught, Caught))> =
        ours.episodes.iter().zip(&rule.episodes).map(|(o, r)| (o.litter, (*o, *r))).collect();
    let lead = |p: &(Caught, Caught)| p.1.delay - p.0.delay;
    let mean_lead = by_litter(&pairs, |s| mean(s.iter().map(lead)), BOOTSTRAPS);
    let median = |s: &[(Caught, Caught)]| quantile(&mut s.iter().map(lead).collect::<Vec<_>>(), 0.5);
    let median_lead = by_litter(&pairs, median, BOOTSTRAPS);
    let share = |s: &[(Caught, Caught)]| mean(s.iter().map(|p| f64::from(u8::from(p.0.caught))));
    let caught = by_litter(&pairs, share, BOOTSTRAPS);
    println!(
        "  {:13} {label}: rate {:.3} (rule {:.3}), caught {} (rule {:.2}), delay {:.1} h (rule \
         {:.1}), lead mean {} median {} h",
        g.name(),
        ours.rate(),
        rule.rate(),
        caught.show(3),
        rule.caught(),
        ours.mean_delay(),
        rule.mean_delay(),
        mean_lead.show(1),
        median_lead.show(1),
    );
    print!("                ");
    for kind in KINDS {
        let of_kind = pairs.iter().map(|p| p.1).filter(|p| p.0.kind == kind);
        let (leads, both): (Vec<f64>, Vec<f64>) = of_kind.map(|p| (lead(&p), f64::from(u8::from(p.0.caught)))).unzip();
        print!(" {kind:?} {:+.1} h ({:.0} %)", mean(leads.iter().copied()), 100.0 * mean(both.iter().copied()));
    }
    println!();
}

fn intervals(groups: &[Group]) {
    println!("\nForecasts of the true weight: share inside the 50 % and the 90 % interval, CRPS");
    for g in groups {
        let mut sum = Coverage::default();
        for k in &g.kept {
            sum.add(&k.coverage);
        }
        println!("  {:13} {}", g.name(), sum.show());
    }
}

fn others(groups: &[Group]) {
    let mut sum = Slips::default();
    let mut rounds: Vec<f64> = Vec::new();
    for k in groups.iter().flat_map(|g| &g.kept) {
        sum.large += k.slips.large;
        sum.large_held += k.slips.large_held;
        sum.good += k.slips.good;
        sum.good_held += k.slips.good_held;
        if k.score.len() == 8 {
            rounds.extend(k.interruptions.iter().map(|n| *n as f64));
        }
    }
    println!(
        "\nSlips over 10 % held back: {}/{} ({:.1} %); good readings queried: {}/{} ({:.2} %)",
        sum.large_held,
        sum.large,
        100.0 * sum.large_held as f64 / sum.large as f64,
        sum.good_held,
        sum.good,
        100.0 * sum.good_held as f64 / sum.good as f64
    );
    println!(
        "Interruptions in a round of 8 ({} rounds): mean {:.2}, median {}, 95th percentile {}",
        rounds.len(),
        mean(rounds.iter().copied()),
        quantile(&mut rounds, 0.5),
        quantile(&mut rounds, 0.95)
    );
}
