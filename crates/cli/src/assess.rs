//! `assess`: how each pup grows, for one litter folder or for many.

use std::io::Write;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use rayon::prelude::*;
use whelpward_core::growth::STATED_FALSE_ALARMS;
use whelpward_core::record::Facts;
use whelpward_core::references::GROWTH_MODEL;
use whelpward_core::report::assess::{Asked, AssessLine, latest, replay};
use whelpward_core::report::clock;

use crate::folder;
use crate::today::{Page, expected_words, gain_words, instant, sentence};

#[derive(clap::Args)]
pub struct Assess {
    /// Litter folders (docs/FORMAT.md), answered in their order; the book when left out
    pub folders: Vec<PathBuf>,
    /// One answer for each weighing, with what was known then and nothing later
    #[arg(long)]
    replay: bool,
    /// One JSON line for each answer (docs/schema/assess.schema.json)
    #[arg(long)]
    json: bool,
    /// False alarms per pup and week that you can live with
    #[arg(long, value_name = "RATE", default_value_t = STATED_FALSE_ALARMS, value_parser = rate)]
    false_alarms: f64,
    /// Leave out what is later than this, as in 2026-11-20T03:15+01:00
    #[arg(long)]
    at: Option<Timestamp>,
}

/// The score is calibrated in this range.
fn rate(text: &str) -> Result<f64, String> {
    let rate: f64 = text.parse().map_err(|_| "a number such as 0.10".to_owned())?;
    if (0.01..=1.0).contains(&rate) { Ok(rate) } else { Err("from 0.01 to 1 per pup and week".into()) }
}

/// Folders worked on together. Their answers are written before the next ones are read, so memory
/// does not grow with the number of folders.
const TOGETHER: usize = 64;

/// Writes the answers in the order of the folders; what is wrong with a folder
/// goes to stderr at once.
pub fn run(asked: &Assess, out: &mut impl Write) -> Result<(), String> {
    let mut unusable = 0_usize;
    for folders in asked.folders.chunks(TOGETHER) {
        let answers: Vec<Result<String, String>> = folders.par_iter().map(|f| answer(asked, f)).collect();
        for answer in answers {
            match answer {
                // A reader that has closed the pipe wants no more.
                Ok(text) if out.write_all(text.as_bytes()).is_err() => return Ok(()),
                Ok(_) => {}
                Err(problem) => {
                    unusable += 1;
                    eprintln!("{problem}");
                }
            }
        }
    }
    let _ = out.flush();
    if unusable == 0 {
        return Ok(());
    }
    Err(format!("{unusable} of {} folders could not be used", asked.folders.len()))
}

fn answer(asked: &Assess, path: &Path) -> Result<String, String> {
    of(asked, &folder::read(path)?, &path.display().to_string())
}

/// The answer for one litter; `name` stands in each JSON line as its folder.
pub fn of(asked: &Assess, facts: &Facts, name: &str) -> Result<String, String> {
    let example = facts.litter.example.as_ref().map(|e| e.at);
    // A replay tells of the past: without a time it tells all of it.
    let until = asked.at.or(example).or_else(|| (!asked.replay).then(Timestamp::now));
    let question = Asked { false_alarms: asked.false_alarms, until };
    let mut text = String::new();
    if asked.json {
        let mut add = |line: AssessLine| -> Result<(), String> {
            text.push_str(&serde_json::to_string(&line).map_err(|e| e.to_string())?);
            text.push('\n');
            Ok(())
        };
        if asked.replay {
            let mut result = Ok(());
            replay(facts, name, question, |line| {
                if result.is_ok() {
                    result = add(line);
                }
            });
            result?;
        } else {
            latest(facts, name, question).into_iter().try_for_each(add)?;
        }
        return Ok(text);
    }
    let mut page = Page { out: String::new(), zone: facts.litter.zone.clone() };
    header(&mut page, facts, asked, until);
    if asked.replay {
        replay(facts, name, question, |line| one_line(&mut page, &line));
    } else {
        let lines = latest(facts, name, question);
        if lines.is_empty() {
            page.line("    ", "No pup was weighed yet.");
        }
        for line in &lines {
            pup(&mut page, line);
        }
    }
    page.blank();
    Ok(page.out)
}

fn header(page: &mut Page, facts: &Facts, asked: &Assess, until: Option<Timestamp>) {
    let at = until.map_or(String::new(), |at| format!(": {}", clock::date_and_clock(at, &page.zone)));
    page.line("", &format!("{}{at}", facts.litter.name));
    if let Some(example) = &facts.litter.example {
        page.line("", &format!("INVENTED EXAMPLE: {}", example.note));
    }
    page.line(
        "",
        &format!(
            "By the weights alone, at {} false alarms per pup and week ({}). What was seen and felt counts too: \
         `whelpward today` has both.",
            asked.false_alarms,
            GROWTH_MODEL.cite()
        ),
    );
    if asked.replay {
        page.line("", "Each line: the weight behind the readings up to then, and how the pup stood.");
    }
    page.blank();
}

/// One pup as it stands.
fn pup(page: &mut Page, line: &AssessLine) {
    let growth = &line.growth;
    page.line("", &format!("{}: {}", line.pup, growth.standing.to_uppercase()));
    let at = clock::date_and_clock(instant(&line.at), &page.zone);
    page.line("    ", &format!("Last weighed {at}; the weight behind its readings is {}.", growth.shown.weight));
    if growth.is_enough_data {
        page.line("    ", &sentence(&gain_words(growth)));
        page.line("    ", &expected_words(growth));
    }
    if let Some(doubt) = &line.doubt {
        page.line("    - ", &sentence(&format!("The last reading is in doubt: {}", doubt.cause)));
    }
    for says in &growth.says {
        page.line("    - ", &sentence(says));
    }
}

/// One weighing of a replay.
fn one_line(page: &mut Page, line: &AssessLine) {
    let growth = &line.growth;
    let at = clock::date_and_clock(instant(&line.at), &page.zone);
    let doubt = line.doubt.as_ref().map_or(String::new(), |d| format!("; in doubt: {}", d.cause));
    let why = if growth.standing == "doing well" { String::new() } else { format!(". {}", growth.says.join(" ")) };
    page.line(&format!("{at} "), &format!("{} {}: {}{doubt}{why}", line.pup, growth.shown.weight, growth.standing));
}
