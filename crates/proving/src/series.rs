//! Reads weight series from a file, for checks against other data and other libraries.
//!
//! Plain CSV with a header: `litter,pup,session,hours,grams`, in order of time per litter.

use std::collections::BTreeMap;
use std::time::Instant;

use serde_json::json;
use whelpward_core::growth::priors::BirthWeight;
use whelpward_core::growth::{Reading, Settings, Taken, Watch};
use whelpward_core::units::WeightUnit;

pub struct Options {
    pub birth_g: f64,
    pub birth_log_sd: f64,
    pub gain_at_birth: f64,
    pub gain_per_day: f64,
    pub dip: f64,
    pub scale_step_g: f64,
}

type Litters = BTreeMap<u64, Vec<Reading<'static>>>;

fn read(path: &str) -> Result<Litters, String> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{path}: {e}"))?;
    let mut out = Litters::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |i: usize| -> Result<f64, String> {
            let cell = cells.get(i).ok_or_else(|| format!("too few cells: {line}"))?;
            cell.trim().parse().map_err(|e| format!("{line}: {e}"))
        };
        out.entry(number(0)? as u64).or_default().push(Reading {
            pup: number(1)? as usize,
            session: number(2)? as u32,
            clock_hours: number(3)?,
            hours_from_birth: number(3)?,
            grams: number(4)?,
            taken: Taken::Unknown,
            written: None,
            is_birth_weight: false,
            confirmed: false,
        });
    }
    Ok(out)
}

fn settings(o: &Options) -> Settings {
    let mut settings = Settings {
        birth_weight: BirthWeight { grams: o.birth_g, log_sd: o.birth_log_sd },
        scale_step_g: o.scale_step_g,
        ..Settings::default()
    };
    settings.gain.at_birth = o.gain_at_birth;
    settings.gain.per_day = o.gain_per_day;
    settings.gain.dip = (o.dip, settings.gain.dip.1);
    settings
}

/// Prints one JSON line per weighing, as far as the scripts need it.
pub fn assess(path: &str, options: &Options) -> Result<(), String> {
    for (litter, readings) in read(path)? {
        let mut watch = Watch::new(settings(options));
        for r in &readings {
            let a = watch.weigh(r);
            let reading_var = watch.reading_var(a.weight_g);
            let forecasts: Vec<_> = a
                .forecasts()
                .iter()
                .map(|f| {
                    let seen = f.of_reading(reading_var);
                    let at = |p| seen.grams(p);
                    json!({"hours": f.hours, "p05_g": at(0.05), "p25_g": at(0.25),
                           "p75_g": at(0.75), "p95_g": at(0.95)})
                })
                .collect();
            let line = json!({
                "litter": litter, "pup": a.pup, "hours": a.hours_from_birth,
                "reading_g": a.reading_g, "weight_g": a.weight_g,
                "p_faltering": a.p_faltering, "alarm": a.alarm(),
                "doubt": a.doubt.is_some(), "forecasts": forecasts,
                "says": a.sentences(WeightUnit::Gram),
            });
            println!("{line}");
        }
    }
    Ok(())
}

/// Replays everything again and again for about a second and prints the mean seconds of one
/// pass and its weighings.
pub fn time(path: &str, options: &Options) -> Result<(), String> {
    let litters = read(path)?;
    let weighings: usize = litters.values().map(Vec::len).sum();
    let mut kept = 0.0;
    let begin = Instant::now();
    let mut passes = 0_u32;
    while passes < 3 || begin.elapsed().as_secs_f64() < 1.0 {
        for readings in litters.values() {
            let mut watch = Watch::new(settings(options));
            for r in readings {
                kept += watch.weigh(r).score;
            }
        }
        passes += 1;
    }
    let seconds = begin.elapsed().as_secs_f64() / f64::from(passes);
    assert!(kept.is_finite());
    println!("{}", json!({"seconds": seconds, "weighings": weighings, "litters": litters.len()}));
    Ok(())
}
