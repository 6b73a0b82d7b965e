//! Weighings from a household's spreadsheet: sheets written by hand, and laws over random ones.

mod layouts;
mod properties;
mod refusals;

use jiff::tz::TimeZone;
use whelpward_core::spreadsheet::{
    About, Answers, Confirmed, Context, Guess, Sheet, SheetPup, SheetUnit, guess, guess_again, read,
};

/// A litter born on one day.
fn litter(zone: &str, born_at: &str, pups: &[&str]) -> Context {
    Context {
        zone: TimeZone::get(zone).unwrap(),
        pups: pups.iter().map(|id| SheetPup { id: (*id).into(), born_at: born_at.parse().unwrap() }).collect(),
        carers: vec!["Robin".into()],
        household_unit: SheetUnit::Gram,
    }
}

fn hazel() -> Context {
    litter("Europe/Berlin", "2026-11-18T22:10+01:00", &["Ash", "Sedge"])
}

/// What is still open, in short.
fn asked(guess: &Guess) -> Vec<About> {
    guess.open_questions().iter().map(|q| q.about.clone()).collect()
}

fn confirmed(bytes: &[u8], context: &Context, answers: &Answers) -> Confirmed {
    guess_again(bytes, context, answers).unwrap().confirm().unwrap_or_else(|open| panic!("still open: {open:?}"))
}

/// Every row as one line of text, in the order of the sheet.
fn rows(sheet: &Sheet) -> Vec<String> {
    let text = |values: &whelpward_core::record::Values, name: &str| {
        values.get(name).map_or("-".to_owned(), |v| v.as_str().unwrap().to_owned())
    };
    sheet
        .rows
        .iter()
        .map(|(line, v)| {
            let parts =
                ["pup", "weighed_at", "weight", "unit", "taken", "carer", "note"].map(|name| text(v, name)).join(" | ");
            format!("{line}: {parts}")
        })
        .collect()
}

fn problems(sheet: &Sheet) -> Vec<String> {
    sheet.problems.iter().map(|p| format!("[{}] {}", p.cells, p.problem)).collect()
}

/// No weight is lost: every cell is a row, a problem or a blank.
fn nothing_is_lost(sheet: &Sheet) {
    let refused: usize = sheet.problems.iter().map(|p| p.cells).sum();
    assert_eq!(sheet.rows.len() + refused + sheet.blanks, sheet.cells, "{:?}", problems(sheet));
}

fn read_all(bytes: &[u8], context: &Context, answers: &Answers) -> Sheet {
    let sheet = read(bytes, &confirmed(bytes, context, answers), context);
    nothing_is_lost(&sheet);
    sheet
}

fn questions(bytes: &[u8], context: &Context) -> Vec<About> {
    asked(&guess(bytes, context).unwrap())
}
