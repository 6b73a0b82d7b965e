//! The `whelpward` command: writes into the book, and says what to do, from the book or from a
//! litter folder.
//!
//! This crate only translates: files and clock in, text out. Every rule is in the core, every
//! action in `whelpward_app`. Exit codes: 0 done; 2 the input cannot be used or the book cannot
//! be reached (what, allowed, what to do on stderr); 3 a person must decide first.

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

mod assess;
mod book;
mod calendar;
mod dam;
mod describe;
mod folder;
mod homes;
mod milk;
mod network;
mod padlock;
mod password;
mod print;
mod reach;
mod review;
mod serve;
mod stages;
mod supplies;
mod timetable;
mod today;

use std::path::PathBuf;
use std::process::ExitCode;

use book::Failed;
use clap::{Parser, Subcommand};
use jiff::Timestamp;
use whelpward_core::record::{Nearest, read_said_time};

/// Get every pup of a litter alive and growing to its new home.
#[derive(Parser)]
#[command(name = "whelpward", version, max_term_width = 80)]
struct Cli {
    #[command(flatten)]
    which: book::Which,
    /// The pages, when left out
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// The pages: on this computer, in your browser
    Serve(serve::Serve),
    /// Set the household's password, without which no phone is let in
    Password,
    /// Several homes in one PostgreSQL, and who of the board sees which
    Homes {
        #[command(subcommand)]
        what: homes::Of,
    },
    /// What to do now, for which pup, and why
    Today {
        /// A litter folder (docs/FORMAT.md); the book when left out
        folder: Option<PathBuf>,
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
    /// How each pup grows: true weight, gain, warnings, what to expect
    Assess(assess::Assess),
    /// The rounds of the next two days: when, by whom, and what other plans would cost
    Timetable {
        /// A litter folder; the book when left out
        folder: Option<PathBuf>,
        /// Answer for this time instead of now, as in 2026-11-20T03:15+01:00
        #[arg(long)]
        at: Option<Timestamp>,
        /// The same as JSON
        #[arg(long)]
        json: bool,
        /// Show the other plans that are worth a thought, with what each costs
        #[arg(long)]
        options: bool,
        /// What if nobody gets up for the round at this time? As in 03:00, the next one that comes
        #[arg(long, value_name = "TIME")]
        sleep_through: Option<String>,
        /// A day that can be repeated all week, in place of the next two days
        #[arg(long, conflicts_with = "ics")]
        usual_day: bool,
        /// Write one calendar file for each carer into this folder
        #[arg(long, value_name = "DIR")]
        ics: Option<PathBuf>,
        /// Put pups and amounts into the calendar too; else it says only how many pups
        #[arg(long, requires = "ics")]
        ics_amounts: bool,
    },
    /// What the dam needs, what she is expected to give, and what each pup gets
    Dam {
        /// A litter folder; the book when left out
        folder: Option<PathBuf>,
        /// Answer for this time instead of now, as in 2026-11-20T03:15+01:00
        #[arg(long)]
        at: Option<Timestamp>,
        /// The same as JSON
        #[arg(long)]
        json: bool,
    },
    /// From the first steps to the new home: what is due, late and done, weaning, dates
    Stages {
        /// A litter folder; the book when left out
        folder: Option<PathBuf>,
        /// Answer for this time instead of now, as in 2026-11-20T03:15+01:00
        #[arg(long)]
        at: Option<Timestamp>,
        /// The same as JSON, with every date and source
        #[arg(long)]
        json: bool,
        /// Write the dates as all-day entries, one calendar file for each carer
        #[arg(long, value_name = "DIR")]
        ics: Option<PathBuf>,
    },
    /// Compare milks, blend from the kitchen, mix for a round
    Milk {
        #[command(subcommand)]
        what: Box<milk::Milk>,
    },
    /// What to have in the house before the birth, and how sure each quantity is
    Supplies(Box<supplies::Supplies>),
    /// A sheet for the fridge, the page for the vet, the record of a pup and more, as PDF or HTML
    Print(print::Asked),
    /// Looks back on a litter: losses, warnings, feeds, nights; three facts and three changes
    Review {
        /// A litter folder; the book when left out
        folder: Option<PathBuf>,
        /// Look back from this time instead of now
        #[arg(long)]
        at: Option<Timestamp>,
        /// Every number as JSON
        #[arg(long)]
        json: bool,
    },
    /// Print the documents that are made from the program's own tables
    Describe {
        #[arg(value_enum)]
        what: describe::Document,
    },
    #[command(flatten)]
    Book(book::BookCommand),
}

fn main() -> ExitCode {
    let cli = Cli::parse();
    match run(&cli.which, cli.command.unwrap_or_else(|| Command::Serve(serve::Serve::default()))) {
        Ok(text) => {
            say(&text);
            ExitCode::SUCCESS
        }
        Err(Failed::Message(message)) => {
            eprintln!("{message}");
            ExitCode::from(2)
        }
        Err(Failed::Question(question)) => {
            eprintln!("{question}");
            ExitCode::from(3)
        }
    }
}

/// Prints to stdout; a reader that has closed the pipe ends the program in peace.
fn say(text: &str) {
    use std::io::Write as _;
    let mut out = std::io::stdout().lock();
    // Nothing useful can be done when nobody listens any more.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

fn run(which: &book::Which, command: Command) -> Result<String, Failed> {
    let clock = Timestamp::now();
    match command {
        Command::Serve(ask) => Ok(serve::run(which, ask)?),
        Command::Password => password::run(which, clock),
        Command::Homes { what } => homes::run(which, what, clock),
        Command::Today { folder, at, json: is_json, why } => {
            let report = match folder {
                Some(folder) => {
                    let (facts, now) = facts_of(which, Some(&folder), at, clock)?;
                    whelpward_core::report::today(&facts, now)
                }
                None => book::today(which, at, clock)?,
            };
            if is_json { book::pretty(&report) } else { Ok(today::text(&report, why)) }
        }
        Command::Assess(asked) if asked.folders.is_empty() => {
            let facts = book::facts(which, clock)?;
            Ok(assess::of(&asked, &facts, &facts.litter.name)?)
        }
        Command::Assess(asked) => {
            assess::run(&asked, &mut std::io::stdout().lock())?;
            Ok(String::new())
        }
        Command::Timetable { folder, at, json: is_json, options, sleep_through, usual_day, ics, ics_amounts } => {
            let (facts, now) = facts_of(which, folder.as_deref(), at, clock)?;
            let zone = &facts.litter.zone;
            let sleep_through = sleep_through
                .map(|text| {
                    read_said_time(&text, Nearest::Next, now, zone)
                        .map_err(|why| format!("--sleep-through \"{text}\"\nallowed: {why}"))
                })
                .transpose()?;
            let asked = whelpward_core::report::timetable::Asked { options, sleep_through, usual_day };
            let report = whelpward_core::report::timetable::timetable(&facts, now, asked);
            let written = match ics {
                Some(dir) => calendar::write(&report, &dir, ics_amounts)?,
                None => Vec::new(),
            };
            if is_json { book::pretty(&report) } else { Ok(timetable::text(&report, &written)) }
        }
        Command::Dam { folder, at, json: is_json } => {
            let (facts, now) = facts_of(which, folder.as_deref(), at, clock)?;
            let report = whelpward_core::report::dam::dam(&facts, now);
            if is_json { book::pretty(&report) } else { Ok(dam::text(&report)) }
        }
        Command::Stages { folder, at, json: is_json, ics } => {
            let (facts, now) = facts_of(which, folder.as_deref(), at, clock)?;
            let report = whelpward_core::report::stages::stages(&facts, now);
            let written = match ics {
                Some(dir) => calendar::write_dates(&report, &dir)?,
                None => Vec::new(),
            };
            if is_json { book::pretty(&report) } else { Ok(stages::text(&report, &written)) }
        }
        Command::Milk { what } => Ok(milk::run(&what)?),
        Command::Supplies(ask) => supplies::run(which, &ask, clock),
        Command::Print(asked) => print::run(which, &asked, clock),
        Command::Review { folder, at, json: is_json } => review::run(which, folder.as_deref(), at, is_json, clock),
        Command::Describe { what } => Ok(describe::text(what)),
        Command::Book(command) => book::run(which, command, clock),
    }
}

/// The facts of a folder, or of the book; and the time to answer for.
fn facts_of(
    which: &book::Which,
    folder: Option<&std::path::Path>,
    at: Option<Timestamp>,
    clock: Timestamp,
) -> Result<(whelpward_core::record::Facts, Timestamp), Failed> {
    let facts = match folder {
        Some(folder) => folder::read(folder)?,
        None => book::facts(which, clock)?,
    };
    let example_at = facts.litter.example.as_ref().map(|e| e.at);
    Ok((facts, at.or(example_at).unwrap_or(clock)))
}
