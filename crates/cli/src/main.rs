//! The `whelpward` command: reads a litter folder and prints what to do.
//!
//! This crate only translates: files and clock in, text out. Every rule is in the core.
//! Exit codes: 0 done, 2 the input cannot be used (each problem with its place on stderr).

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

mod calendar;
mod describe;
mod folder;
mod milk;
mod serve;
mod timetable;
mod today;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use jiff::Timestamp;

/// Get every pup of a litter alive and growing to its new home.
#[derive(Parser)]
#[command(name = "whelpward", version, max_term_width = 80)]
struct Cli {
    /// The pages, when left out
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// The pages: on this computer, in your browser
    Serve(serve::Serve),
    /// What to do now, for which pup, and why
    Today {
        /// A litter folder: litter.toml and its tables (docs/FORMAT.md)
        folder: PathBuf,
        /// Answer for this time instead of now, as in 2026-11-20T03:15+01:00
        #[arg(long)]
        at: Option<Timestamp>,
        /// The same as JSON, with the full working
        #[arg(long)]
        json: bool,
        /// Show how each amount was worked out, and every source
        #[arg(long)]
        why: bool,
    },
    /// The rounds of the next two days: when, by whom, and what other plans would cost
    Timetable {
        /// A litter folder; the carers' hours are in its [[carer]] sections
        folder: PathBuf,
        /// Answer for this time instead of now, as in 2026-11-20T03:15+01:00
        #[arg(long)]
        at: Option<Timestamp>,
        /// The same as JSON
        #[arg(long)]
        json: bool,
        /// Show the other plans that are worth a thought, with what each costs
        #[arg(long)]
        options: bool,
        /// What if nobody gets up for the round at this time?
        #[arg(long, value_name = "TIME")]
        sleep_through: Option<Timestamp>,
        /// Write one calendar file for each carer into this folder
        #[arg(long, value_name = "DIR")]
        ics: Option<PathBuf>,
        /// Put pups and amounts into the calendar too; else it says only how many pups
        #[arg(long, requires = "ics")]
        ics_amounts: bool,
    },
    /// Look for mistakes in a litter folder, and do nothing else
    Check {
        /// A litter folder
        folder: PathBuf,
    },
    /// Compare milks, blend from the kitchen, mix for a round
    Milk {
        #[command(subcommand)]
        what: Box<milk::Milk>,
    },
    /// Print the documents that are made from the program's own tables
    Describe {
        #[arg(value_enum)]
        what: describe::Document,
    },
}

fn main() -> ExitCode {
    match run(Cli::parse().command.unwrap_or_else(|| Command::Serve(serve::Serve::default()))) {
        Ok(text) => {
            print(&text);
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::from(2)
        }
    }
}

/// Prints to stdout; a reader that has closed the pipe ends the program in peace.
fn print(text: &str) {
    use std::io::Write as _;
    let mut out = std::io::stdout().lock();
    // Nothing useful can be done when nobody listens any more.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

fn run(command: Command) -> Result<String, String> {
    match command {
        Command::Serve(ask) => serve::run(ask),
        Command::Today { folder, at, json, why } => {
            let facts = folder::read(&folder)?;
            let example_at = facts.litter.example.as_ref().map(|e| e.at);
            let now = at.or(example_at).unwrap_or_else(Timestamp::now);
            let report = whelpward_core::report::today(&facts, now);
            if json {
                return serde_json::to_string_pretty(&report).map(|t| t + "\n").map_err(|e| e.to_string());
            }
            Ok(today::text(&report, why))
        }
        Command::Timetable { folder, at, json, options, sleep_through, ics, ics_amounts } => {
            let facts = folder::read(&folder)?;
            let example_at = facts.litter.example.as_ref().map(|e| e.at);
            let now = at.or(example_at).unwrap_or_else(Timestamp::now);
            let asked = whelpward_core::report::timetable::Asked { options, sleep_through };
            let report = whelpward_core::report::timetable::timetable(&facts, now, asked);
            let written = match ics {
                Some(dir) => calendar::write(&report, &dir, ics_amounts)?,
                None => Vec::new(),
            };
            if json {
                return serde_json::to_string_pretty(&report).map(|t| t + "\n").map_err(|e| e.to_string());
            }
            Ok(timetable::text(&report, &written))
        }
        Command::Check { folder } => {
            let facts = folder::read(&folder)?;
            Ok(format!(
                "{}: no mistakes found. {} pups, {} weighings, {} feeds, {} checks.\n",
                folder.display(),
                facts.pups.len(),
                facts.weighings.len(),
                facts.feeds.len(),
                facts.checks.len()
            ))
        }
        Command::Milk { what } => milk::run(&what),
        Command::Describe { what } => Ok(describe::text(what)),
    }
}
