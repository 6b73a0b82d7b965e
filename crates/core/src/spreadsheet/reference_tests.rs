//! Splitting and local times against Python's csv module and zoneinfo, as recorded by
//! `tests/reference/spreadsheet.py`.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde_json::Value;

use super::Separator;
use super::dates::{DateOrder, instant, time_of_day, written};
use super::text::{decode, split};

const SHEETS: [(&str, &[u8]); 6] = [
    ("long_semicolon.csv", include_bytes!("../../tests/reference/sheets/long_semicolon.csv")),
    ("pup_columns_comma.csv", include_bytes!("../../tests/reference/sheets/pup_columns_comma.csv")),
    ("date_columns_utf16.txt", include_bytes!("../../tests/reference/sheets/date_columns_utf16.txt")),
    ("clocks_berlin.csv", include_bytes!("../../tests/reference/sheets/clocks_berlin.csv")),
    ("clocks_new_york.csv", include_bytes!("../../tests/reference/sheets/clocks_new_york.csv")),
    ("old_code_page.csv", include_bytes!("../../tests/reference/sheets/old_code_page.csv")),
];

fn reference() -> Value {
    serde_json::from_str(include_str!("../../tests/reference/spreadsheet.json")).unwrap()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

/// Our reading of one local time must be the one instant, or a refusal naming how many there are.
fn same_instants(found: &Result<(Timestamp, String), (String, String)>, expected: &Value, place: &str) {
    let expected: Vec<Timestamp> = list(expected).iter().map(|t| t.as_str().unwrap().parse().unwrap()).collect();
    match (found, &expected[..]) {
        (Ok((at, text)), [one]) => {
            assert_eq!(at, one, "{place}");
            assert_eq!(text.parse::<Timestamp>().unwrap(), *one, "{place}: the text says the same");
        }
        (Err((why, _)), []) => assert!(why.contains("skip"), "{place}: {why}"),
        (Err((why, allowed)), [first, second]) => {
            assert!(why.contains("twice"), "{place}: {why}");
            let (a, rest) = allowed.split_once(": ").unwrap().1.split_once(" or ").unwrap();
            assert_eq!((a.parse::<Timestamp>().unwrap(), rest.parse::<Timestamp>().unwrap()), (*first, *second));
        }
        _ => panic!("{place}: {found:?} against {expected:?}"),
    }
}

#[test]
fn sheets_are_split_and_timed_as_by_another_program() {
    let reference = reference();
    let sheets = list(&reference["sheets"]);
    assert_eq!(sheets.len(), SHEETS.len());
    let mut timed = 0;
    for (sheet, (name, bytes)) in sheets.iter().zip(SHEETS) {
        assert_eq!(sheet["file"], name);
        let (text, _) = decode(bytes).unwrap();
        let separator = Separator::ALL.into_iter().find(|s| s.mark() == sheet["separator"]).unwrap();
        let records = split(&text, separator, 1).unwrap();
        let ours: Vec<(usize, Vec<&str>)> =
            records.iter().map(|r| (r.line, r.cells.iter().map(AsRef::as_ref).collect())).collect();
        let theirs: Vec<(usize, Vec<&str>)> = list(&sheet["records"])
            .iter()
            .map(|r| {
                let line = usize::try_from(r["line"].as_u64().unwrap()).unwrap();
                (line, list(&r["cells"]).iter().map(|c| c.as_str().unwrap()).collect())
            })
            .collect();
        assert_eq!(ours, theirs, "{name}");
        let zone = TimeZone::get(sheet["zone"].as_str().unwrap()).unwrap();
        let order = if name == "clocks_new_york.csv" { DateOrder::MonthFirst } else { DateOrder::DayFirst };
        let columns: Vec<usize> =
            list(&sheet["columns"]).iter().map(|c| usize::try_from(c.as_u64().unwrap()).unwrap()).collect();
        for time in list(&sheet["times"]) {
            let record = records.iter().find(|r| time["line"] == r.line).unwrap();
            let cell = written(record.cell(columns[0])).unwrap();
            let clock = cell.time.or_else(|| time_of_day(record.cell(columns[1]))).unwrap();
            let found = instant(cell.date.read(order).unwrap(), clock, cell.offset, &zone);
            same_instants(&found, &time["instants"], &format!("{name}, line {}", record.line));
            timed += 1;
        }
    }
    assert!(timed >= 19, "{timed} times compared");
}

#[test]
fn every_half_hour_around_a_change_is_the_instant_of_another_program() {
    let reference = reference();
    let (mut gaps, mut folds) = (0, 0);
    for change in list(&reference["changes"]) {
        let name = change["zone"].as_str().unwrap();
        let zone = TimeZone::get(name).unwrap();
        for time in list(&change["times"]) {
            let text = time["local"].as_str().unwrap();
            let local: DateTime = text.parse().unwrap();
            let found = instant(local.date(), local.time(), None, &zone);
            same_instants(&found, &time["instants"], &format!("{text} in {name}"));
            match list(&time["instants"]).len() {
                0 => gaps += 1,
                2 => folds += 1,
                _ => {}
            }
        }
    }
    assert!(gaps >= 7 && folds >= 9, "{gaps} skipped and {folds} repeated");
}
