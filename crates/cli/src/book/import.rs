//! Weighings from a spreadsheet: shows how it reads, asks what is open, and saves after a yes.

use whelpward_app::{sheet_context, sheet_in};
use whelpward_core::spreadsheet::{
    About, Answers, Context, DateOrder, DecimalMark, Guess, NoTime, Question, Role, Separator, SheetUnit, guess_again,
    read,
};

use super::args::Import;
use super::{Failed, Open, prompts, show};

pub async fn run(open: &Open, ask: &Import) -> Result<String, Failed> {
    let bytes = std::fs::read(&ask.file).map_err(|e| Failed::Message(format!("{}: {e}", ask.file.display())))?;
    let loaded = open.book.load(open.litter().await?.id).await?;
    let context = sheet_context(&loaded)?;
    let mut answers = Answers::default();
    for (about, text) in given(ask)? {
        settle(&mut answers, &about, &text, &context).map_err(Failed::Message)?;
    }
    let guess = loop {
        let guess = guess_again(&bytes, &context, &answers).map_err(|p| Failed::Message(p.to_string()))?;
        let Some(question) = guess.open_questions().first().cloned() else { break guess };
        if !prompts::is_possible() {
            return Err(Failed::Question(shown(&guess) + &open_questions(guess.open_questions())));
        }
        eprint!("{}", shown(&guess));
        loop {
            let answer = prompts::ask(&in_words(&question), None)?;
            let answer = numbered(answer.trim(), &question.options);
            match settle(&mut answers, &question.about, &answer, &context) {
                Ok(()) => break,
                Err(wrong) => eprintln!("{wrong}"),
            }
        }
    };
    let summary = shown(&guess);
    let confirmed = guess.confirm().map_err(|open| Failed::Question(open_questions(&open)))?;
    let sheet = read(&bytes, &confirmed, &context);
    let mut text = summary;
    text.push_str(&format!(
        "{} weighings, {} cells that cannot be read, {} empty cells.\n",
        sheet.rows.len(),
        sheet.problems.iter().map(|p| p.cells).sum::<usize>(),
        sheet.blanks
    ));
    for refused in sheet.problems.iter().take(MOST_SHOWN) {
        text.push_str(&show::wrapped(&format!("- {}", refused.problem)));
    }
    if sheet.problems.len() > MOST_SHOWN {
        text.push_str(&format!("- and {} more\n", sheet.problems.len() - MOST_SHOWN));
    }
    if !ask.yes {
        if !prompts::is_possible() {
            return Err(Failed::Question(text + "Nothing was saved. Is this right? Then add --yes.\n"));
        }
        eprint!("{text}");
        if !prompts::ask("Take these weighings into the book? yes, or empty for no", None)?
            .trim()
            .eq_ignore_ascii_case("yes")
        {
            return Ok("Nothing was saved.\n".into());
        }
        text.clear();
    }
    let bar = indicatif::ProgressBar::new(u64::try_from(sheet.rows.len()).unwrap_or(0));
    let done =
        sheet_in(&open.book, loaded.id, &sheet, open.now, |n| bar.set_position(u64::try_from(n).unwrap_or(0))).await?;
    bar.finish_and_clear();
    if ask.out.json {
        return show::pretty(&serde_json::json!({
            "added": done.added, "there_before": done.there_before,
            "problems": sheet.problems.iter().map(|p| p.problem.to_string()).collect::<Vec<_>>(),
            "empty_cells": sheet.blanks,
        }));
    }
    text.push_str(&format!("{} weighings added, {} were there.\n", done.added, done.there_before));
    Ok(text)
}

const MOST_SHOWN: usize = 20;

/// What was settled on the command line.
fn given(ask: &Import) -> Result<Vec<(About, String)>, Failed> {
    let mut given = Vec::new();
    let mut add = |about: About, text: &Option<String>| {
        if let Some(text) = text {
            given.push((about, text.clone()));
        }
    };
    add(About::Separator, &ask.separator);
    add(About::DecimalMark, &ask.decimal);
    add(About::Thousands, &ask.thousands);
    add(About::DateOrder, &ask.dates);
    add(About::Unit, &ask.unit);
    add(About::NoTime, &ask.time);
    add(About::OnlyPup, &ask.pup);
    for (words, is_pup) in [(&ask.name, true), (&ask.who, false)] {
        for word in words {
            let Some((found, on_record)) = word.split_once('=') else {
                return Err(Failed::Message(format!("\"{word}\"\nallowed: FOUND=ON RECORD, as in --name \"Rd=Red\"")));
            };
            let about = if is_pup { About::Pup(found.to_owned()) } else { About::Carer(found.to_owned()) };
            given.push((about, on_record.to_owned()));
        }
    }
    for column in &ask.leave_out {
        given.push((About::Role, column.to_string()));
    }
    Ok(given)
}

/// Puts an answer in its place; the error says what would fit.
fn settle(answers: &mut Answers, about: &About, text: &str, context: &Context) -> Result<(), String> {
    let text = text.trim();
    let unfit = |allowed: &str| format!("\"{text}\"\nallowed: {allowed}");
    let name = |known: Vec<&str>, none: &str| -> Result<Option<String>, String> {
        if text.is_empty() || text.starts_with("no") {
            return Ok(None);
        }
        let found = known.iter().find(|k| k.to_lowercase() == text.to_lowercase());
        found.map(|k| Some((*k).to_owned())).ok_or_else(|| unfit(&format!("{}, or no: {none}", known.join(", "))))
    };
    match about {
        About::Separator => {
            let fits = Separator::ALL.into_iter().find(|s| s.words() == text || s.mark() == text);
            answers.separator = Some(fits.ok_or_else(|| unfit("comma, semicolon or tab"))?);
        }
        About::DecimalMark => {
            answers.decimal = Some(match text {
                "point" | "." => DecimalMark::Point,
                "comma" | "," => DecimalMark::Comma,
                _ => return Err(unfit("point or comma")),
            });
        }
        About::Thousands => {
            answers.thousands = Some(match text.split(':').next() {
                Some("yes") => true,
                Some("no") => false,
                _ => return Err(unfit("yes or no")),
            });
        }
        About::DateOrder => {
            let fits = DateOrder::ALL.into_iter().find(|o| text.starts_with(o.words()));
            answers.date_order = Some(fits.ok_or_else(|| unfit("day first, month first or year first"))?);
        }
        About::Unit => {
            let fits = SheetUnit::ALL
                .into_iter()
                .find(|u| u.words() == text || (text == "lb_oz" && *u == SheetUnit::PoundOunce));
            answers.unit = Some(fits.ok_or_else(|| unfit("g, kg, oz, lb, lb_oz or as each cell says"))?);
        }
        About::NoTime => {
            answers.no_time = Some(if text.starts_with("not known") || text == "leave out" {
                NoTime::Refuse
            } else {
                NoTime::At(
                    whelpward_core::record::time_of_day(text)
                        .ok_or_else(|| unfit("a time of day such as 08:00, or leave out"))?,
                )
            });
        }
        About::OnlyPup => {
            let pups = context.pups.iter().map(|p| p.id.as_str()).collect();
            answers.only_pup = Some(name(pups, "stop")?.ok_or_else(|| unfit("a pup of this litter"))?);
        }
        About::Pup(found) => {
            let pups = context.pups.iter().map(|p| p.id.as_str()).collect();
            answers.pups.insert(found.clone(), name(pups, "leave it out")?);
        }
        About::Carer(found) => {
            let carers = context.carers.iter().map(String::as_str).collect();
            answers.carers.insert(found.clone(), name(carers, "keep the name in the note")?);
        }
        About::Role => {
            let column = text.parse().map_err(|_| unfit("the number of a column that is to be left out"))?;
            answers.roles.insert(column, Role::NotUsed);
        }
    }
    Ok(())
}

/// An answer by its number, or in words.
fn numbered(answer: &str, options: &[String]) -> String {
    let by_number = answer.parse::<usize>().ok().and_then(|n| options.get(n.checked_sub(1)?));
    by_number.cloned().unwrap_or_else(|| answer.to_owned())
}

fn in_words(question: &Question) -> String {
    let options: Vec<String> = question.options.iter().enumerate().map(|(n, o)| format!("  {}. {o}", n + 1)).collect();
    let hint = if matches!(question.about, About::Role) { "\n  The number of the column to leave out" } else { "" };
    if matches!(question.about, About::Role) || options.is_empty() {
        format!("{}{hint}", question.text)
    } else {
        format!("{}\n{}\n", question.text, options.join("\n"))
    }
}

fn open_questions(questions: &[Question]) -> String {
    let mut text = String::from("Nothing was saved. Still to be settled:\n");
    for question in questions {
        let flag = match &question.about {
            About::Separator => "--separator comma|semicolon|tab".to_owned(),
            About::Role => "--leave-out COLUMN".to_owned(),
            About::DecimalMark => "--decimal point|comma".to_owned(),
            About::Thousands => "--thousands yes|no".to_owned(),
            About::DateOrder => "--dates \"day first\"|\"month first\"|\"year first\"".to_owned(),
            About::Unit => "--unit g|kg|oz|lb|lb_oz".to_owned(),
            About::NoTime => "--time 08:00, or --time \"leave out\"".to_owned(),
            About::OnlyPup => "--pup NAME".to_owned(),
            About::Pup(found) => format!("--name \"{found}=PUP\", or --name \"{found}=no\""),
            About::Carer(found) => format!("--who \"{found}=CARER\", or --who \"{found}=no\""),
        };
        text.push_str(&show::wrapped(&format!("- {} {flag}", question.text)));
    }
    text
}

/// How the file reads, for a person to look at.
fn shown(guess: &Guess) -> String {
    let mut text = String::new();
    let mut part = |name: &str, value: Option<String>, why: &str| {
        let value = value.unwrap_or_else(|| "not settled".into());
        text.push_str(&show::wrapped(&format!("{name}: {value} ({why})")));
    };
    part("Separator", guess.separator.value.map(|s| s.words().into()), &guess.separator.why);
    part("Dates", guess.date_order.value.map(|o| o.words().into()), &guess.date_order.why);
    let decimal = guess.decimal.value.map(|d| match d {
        DecimalMark::Point => "point".to_owned(),
        DecimalMark::Comma => "comma".to_owned(),
        DecimalMark::Mixed => "point and comma".to_owned(),
    });
    part("Decimal mark", decimal, &guess.decimal.why);
    if let Some(note) = &guess.encoding_note {
        text.push_str(&show::wrapped(note));
    }
    for column in &guess.columns {
        let values = if column.first_values.is_empty() {
            String::new()
        } else {
            format!(": {}", column.first_values.join(" | "))
        };
        text.push_str(&show::wrapped(&format!(
            "Column {} \"{}\" is {} ({}){values}",
            column.number,
            column.header,
            column.role.words(),
            column.why
        )));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_that_do_not_fit_name_those_that_do() {
        let context =
            Context { zone: jiff::tz::TimeZone::UTC, pups: vec![], carers: vec![], household_unit: SheetUnit::Gram };
        let mut answers = Answers::default();
        let wrong = settle(&mut answers, &About::Unit, "stone", &context).unwrap_err();
        assert!(wrong.contains("g, kg, oz, lb"), "{wrong}");
        settle(&mut answers, &About::NoTime, "08:00", &context).unwrap();
        assert_eq!(answers.no_time, Some(NoTime::At(jiff::civil::time(8, 0, 0, 0))));
        assert_eq!(numbered("2", &["a".into(), "b".into()]), "b");
        assert_eq!(numbered("7", &["a".into()]), "7");
    }
}
