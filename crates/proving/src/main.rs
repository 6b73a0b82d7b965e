//! Proves the early warnings on simulated litters. Not shipped; no field data.

#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::struct_field_names,
    reason = "simulated counts are far below the limits of the types; a scorer counts what its name says"
)]

mod fit;
mod folders;
mod forecasts;
mod intake;
mod parameters;
mod replay;
mod rule;
mod scoring;
mod series;
mod simulate;
mod warnings;

use std::process::ExitCode;
use std::time::Instant;

use clap::{Parser, Subcommand};

#[derive(Parser)]
#[command(about = "Proves the early warnings on simulated litters (no field data)")]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Prints the table of the early warnings on the test litters.
    Warnings {
        /// Litters per cell of the design (27 cells): 15 is a smoke test, 150 the long run.
        #[arg(long, default_value_t = 15)]
        litters: u64,
        /// Uses calibration seeds that no fit has seen, to keep the test litters unseen
        /// while something is being changed.
        #[arg(long)]
        rehearse: bool,
    },
    /// Fits weights and thresholds on the training and calibration litters, and prints
    /// `crates/core/src/growth/fitted.rs`.
    Fit {
        #[arg(long, default_value_t = 1000)]
        litters: u64,
    },
    /// Prints how well the milk from the dam is estimated, by weighed nursings.
    Intake {
        /// Pups for each row: 2000 is a smoke test, 20 000 the long run.
        #[arg(long, default_value_t = 2000)]
        pups: u64,
    },
    /// Assesses the series of a CSV file (litter,pup,session,hours,grams), as JSON lines.
    Assess {
        file: String,
        #[command(flatten)]
        prior: Prior,
    },
    /// Times the replay of the series of such a file on one core.
    Time {
        file: String,
        #[command(flatten)]
        prior: Prior,
    },
    /// Writes simulated litters as litter folders, to measure `whelpward assess` itself.
    Folders {
        dir: std::path::PathBuf,
        #[arg(long, default_value_t = 100)]
        litters: u64,
    },
    /// Times the replay of many simulated litters on all cores.
    Throughput {
        #[arg(long, default_value_t = 10_000)]
        litters: u64,
    },
}

/// What is expected of growth; the defaults are those of puppies.
#[derive(clap::Args)]
struct Prior {
    #[arg(long, default_value_t = 320.0)]
    birth_g: f64,
    #[arg(long, default_value_t = 0.5)]
    birth_log_sd: f64,
    #[arg(long, default_value_t = 0.085)]
    gain_at_birth: f64,
    #[arg(long, default_value_t = -0.0018, allow_negative_numbers = true)]
    gain_per_day: f64,
    #[arg(long, default_value_t = 0.17)]
    dip: f64,
    #[arg(long, default_value_t = 1.0)]
    scale_step_g: f64,
}

impl Prior {
    fn options(&self) -> series::Options {
        series::Options {
            birth_g: self.birth_g,
            birth_log_sd: self.birth_log_sd,
            gain_at_birth: self.gain_at_birth,
            gain_per_day: self.gain_per_day,
            dip: self.dip,
            scale_step_g: self.scale_step_g,
        }
    }
}

fn main() -> ExitCode {
    let result = run();
    if let Err(message) = &result {
        eprintln!("{message}");
    }
    if result.is_ok() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn run() -> Result<(), String> {
    match Arguments::parse().command {
        Command::Warnings { litters, rehearse } => {
            let set = if rehearse { parameters::Set::Calibration } else { parameters::Set::Test };
            warnings::print(set, litters);
        }
        Command::Fit { litters } => print!("{}", fit::fit(litters)),
        Command::Intake { pups } => intake::print(pups),
        Command::Assess { file, prior } => series::assess(&file, &prior.options())?,
        Command::Time { file, prior } => series::time(&file, &prior.options())?,
        Command::Folders { dir, litters } => folders::write(&dir, litters)?,
        Command::Throughput { litters } => throughput(litters),
    }
    Ok(())
}

/// Each litter is simulated, replayed with all its forecasts and dropped, so that memory does
/// not grow with their number.
fn throughput(litters: u64) {
    let begin = Instant::now();
    let household =
        simulate::Household { noise: parameters::USUAL, weighings_per_day: 2, scale_step_g: 1.0, notes_feeds: false };
    let counts = replay::many(
        parameters::Set::Train,
        900,
        litters,
        |_| household,
        |r| (r.assessments.len(), r.assessments.iter().filter(|a| a.alarm()).count()),
    );
    let seconds = begin.elapsed().as_secs_f64();
    let weighings: usize = counts.iter().map(|c| c.0).sum();
    let alarms: usize = counts.iter().map(|c| c.1).sum();
    println!(
        "{litters} litters, {weighings} weighings, {alarms} alarms in {seconds:.2} s on {} \
         threads ({:.0} weighings/s, simulation included)",
        rayon::current_num_threads(),
        weighings as f64 / seconds
    );
}
