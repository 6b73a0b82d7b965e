//! One sheet of every layout, with what a person reads in it.

use jiff::civil::time;
use whelpward_core::spreadsheet::{
    About, Answers, DateOrder, DecimalMark, Encoding, Layout, NoTime, Role, Separator, SheetUnit, guess, guess_again,
};

use super::{asked, hazel, litter, problems, questions, read_all, rows};

const LONG: &[u8] = include_bytes!("../reference/sheets/long_semicolon.csv");
const PUP_COLUMNS: &[u8] = include_bytes!("../reference/sheets/pup_columns_comma.csv");
const DATE_COLUMNS: &[u8] = include_bytes!("../reference/sheets/date_columns_utf16.txt");
const OLD: &[u8] = include_bytes!("../reference/sheets/old_code_page.csv");
const BERLIN: &[u8] = include_bytes!("../reference/sheets/clocks_berlin.csv");
const NEW_YORK: &[u8] = include_bytes!("../reference/sheets/clocks_new_york.csv");

#[test]
fn a_row_for_each_weighing() {
    let context = hazel();
    let guess = guess(LONG, &context).unwrap();
    assert_eq!(asked(&guess), []);
    assert_eq!(guess.separator.value, Some(Separator::Semicolon));
    assert_eq!(guess.decimal.value, Some(DecimalMark::Comma));
    assert_eq!(guess.decimal.why, "as in \"310,5\"");
    assert_eq!(guess.date_order.value, Some(DateOrder::DayFirst));
    assert_eq!(guess.date_order.why, "\"20.11.2026\" settles it");
    assert_eq!(guess.thousands.value, Some(true), "1.301,5 settles it");
    let roles: Vec<String> = guess.columns.iter().map(|c| c.role.words()).collect();
    assert_eq!(roles, ["pup", "date", "time", "weight (g)", "carer", "note"]);
    assert_eq!(guess.columns[3].header, "Gewicht (g)");
    assert_eq!(guess.columns[3].first_values, ["310,5", "287", "325,5"]);
    let sheet = read_all(LONG, &context, &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "2: Ash | 2026-11-20T03:15+01:00 | 310.5 | g | - | Robin | trinkt gut; ruhig",
            "3: Sedge | 2026-11-20T03:20+01:00 | 287 | g | - | Robin | -",
            "4: Ash | 2026-11-21T03:10+01:00 | 325.5 | g | - | - | sagte \"müde\"",
            "6: Sedge | 2026-11-22T03:10+01:00 | 1301.5 | g | - | - | -",
        ]
    );
    assert_eq!((sheet.blanks, sheet.problems.len()), (1, 0));
}

#[test]
fn a_column_for_each_pup_below_a_title() {
    let context = hazel();
    let guess = guess(PUP_COLUMNS, &context).unwrap();
    assert_eq!(asked(&guess), []);
    assert_eq!(guess.layout.value, Some(Layout::PupColumns));
    assert_eq!((guess.header_line, &guess.above[..]), (3, &[(1, "Litter of Hazel".to_owned())][..]));
    let sheet = read_all(PUP_COLUMNS, &context, &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "4: Ash | 2026-11-20T03:15+01:00 | 10.95 | oz | - | - | scale was level",
            "4: Sedge | 2026-11-20T03:15+01:00 | 10.1 | oz | - | - | scale was level",
            "7: Ash | 2026-11-21T03:10+01:00 | 11.5 | oz | - | - | -",
        ]
    );
    assert_eq!((sheet.cells, sheet.blanks, sheet.problems.len()), (8, 5, 0));
    assert_eq!(sheet.alone.len(), 1, "a note without a weight is told, not dropped");
    assert_eq!((sheet.alone[0].line, sheet.alone[0].text.as_str()), (9, "no time to weigh"));
}

#[test]
fn a_column_for_each_date_with_a_unit_in_each_cell() {
    let context = hazel();
    let guess = guess(DATE_COLUMNS, &context).unwrap();
    assert_eq!(asked(&guess), []);
    assert_eq!((guess.encoding, guess.layout.value), (Encoding::Utf16, Some(Layout::DateColumns)));
    let sheet = read_all(DATE_COLUMNS, &context, &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "2: Ash | 2026-11-20T07:00+01:00 | 310 | g | - | - | -",
            "2: Ash | 2026-11-21T07:00+01:00 | 325 | g | - | - | -",
            "2: Ash | 2026-12-01T19:00+01:00 | 1 lb 3.5 oz | lb_oz | - | - | -",
            "3: Sedge | 2026-11-20T07:00+01:00 | 287 | g | - | - | -",
        ]
    );
    assert_eq!((sheet.cells, sheet.blanks), (6, 2));
}

#[test]
fn an_old_code_page_asks_for_its_strange_column_and_unit() {
    let context = litter("Europe/Berlin", "2026-11-18T22:10+01:00", &["Ash", "Möwe"]);
    let guess = guess(OLD, &context).unwrap();
    assert_eq!(guess.encoding, Encoding::Windows1252);
    assert!(guess.encoding_note.as_ref().unwrap().contains("accents"));
    assert_eq!(asked(&guess), [About::Pup("Raum".into()), About::Unit]);
    let answers =
        Answers { pups: [("Raum".to_owned(), None)].into(), unit: Some(SheetUnit::Kilogram), ..Answers::default() };
    assert_eq!(guess_again(OLD, &context, &answers).unwrap().columns[3].role, Role::NotUsed);
    let sheet = read_all(OLD, &context, &answers);
    assert_eq!(
        rows(&sheet),
        [
            "2: Möwe | 2026-11-20T07:00+01:00 | 287 | g | - | - | -",
            "2: Ash | 2026-11-20T07:00+01:00 | 310 | g | - | - | -",
            "3: Möwe | 2026-11-21T07:00+01:00 | 300 | g | - | - | -",
        ]
    );
    assert_eq!(
        problems(&sheet),
        [
            "[1] the sheet, line 3, column 3 (Ash): found \"–\"; allowed: a plain number such as 254 or 25.4, with nothing behind it but g, kg, oz or lb"
        ]
    );
}

/// Clocks of Berlin go from 02:00 to 03:00 on 28 Mar 2027 and from 03:00 to 02:00 on 31 Oct 2027.
#[test]
fn a_time_that_the_clocks_skip_or_repeat_is_never_guessed() {
    let context = litter("Europe/Berlin", "2027-03-20T00:00+01:00", &["Ash"]);
    let sheet = read_all(BERLIN, &context, &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "2: Ash | 2027-03-28T01:30+01:00 | 400 | g | before_feed | - | -",
            "4: Ash | 2027-03-28T03:30+02:00 | 402 | g | after_feed | - | -",
            "6: Ash | 2027-10-31T02:30+01:00 | 901 | g | - | - | -",
            "7: Ash | 2027-10-31T03:30+01:00 | 31.75 | oz | - | - | -",
        ]
    );
    assert_eq!(
        problems(&sheet),
        [
            "[1] the sheet, line 3, column 2 (weighed_at): found 2027-03-28T02:30, a time that the clocks skip \
             (from +01:00 to +02:00); allowed: a time that exists: 2027-03-28T01:30+01:00 or \
             2027-03-28T03:30+02:00, for example",
            "[1] the sheet, line 5, column 2 (weighed_at): found 2027-10-31T02:30, a time that occurs twice \
             (with +02:00 and again with +01:00); allowed: one of the two, with its offset: \
             2027-10-31T02:30+02:00 or 2027-10-31T02:30+01:00",
        ]
    );
}

/// Clocks of New York change on 14 Mar and 7 Nov 2027.
#[test]
fn pounds_beside_ounces_month_first() {
    let context = litter("America/New_York", "2027-03-10T00:00-05:00", &["Ash"]);
    let guess = guess(NEW_YORK, &context).unwrap();
    assert_eq!(asked(&guess), []);
    assert_eq!(guess.date_order.value, Some(DateOrder::MonthFirst));
    assert_eq!((&guess.columns[3].role, &guess.columns[4].role), (&Role::Pounds, &Role::OuncesBesidePounds));
    let sheet = read_all(NEW_YORK, &context, &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "2: Ash | 2027-03-14T01:30-05:00 | 0 lb 12.5 oz | lb_oz | - | - | -",
            "4: Ash | 2027-03-14T03:30-04:00 | 0 lb 13 oz | lb_oz | - | - | -",
            "6: Ash | 2027-11-07T02:30-05:00 | 20 lb 1.5 oz | lb_oz | - | - | -",
        ]
    );
    assert_eq!(sheet.problems.iter().map(|p| p.problem.line).collect::<Vec<_>>(), [3, 5]);
}

#[test]
fn weights_before_and_after_a_feed_side_by_side() {
    let bytes = b"Date and time,Pup,Before (g),After (g),Gain\n2026-11-20 03:15,Ash,310,318,8\n";
    let sheet = read_all(bytes, &hazel(), &Answers::default());
    assert_eq!(
        rows(&sheet),
        [
            "2: Ash | 2026-11-20T03:15+01:00 | 310 | g | before_feed | - | -",
            "2: Ash | 2026-11-20T03:15+01:00 | 318 | g | after_feed | - | -",
        ]
    );
}

#[test]
fn a_sheet_without_headings_and_one_pup() {
    let bytes = b"2026-11-20 03:15;310 g\n2026-11-21 03:15;325 g\n";
    let context = hazel();
    assert_eq!(questions(bytes, &context), [About::OnlyPup]);
    let answers = Answers { only_pup: Some("Sedge".into()), ..Answers::default() };
    let sheet = read_all(bytes, &context, &answers);
    assert_eq!(
        rows(&sheet),
        [
            "1: Sedge | 2026-11-20T03:15+01:00 | 310 | g | - | - | -",
            "2: Sedge | 2026-11-21T03:15+01:00 | 325 | g | - | - | -",
        ]
    );
}

#[test]
fn an_ambiguous_date_is_asked_with_both_readings() {
    let bytes = b"Pup,Date,Time,Weight (g)\nAsh,03/04/27,07:00,310\n";
    let context = litter("Europe/Berlin", "2027-03-01T00:00+01:00", &["Ash"]);
    let guess = guess(bytes, &context).unwrap();
    assert_eq!(asked(&guess), [About::DateOrder]);
    assert_eq!(
        guess.open_questions()[0].options,
        ["day first (\"03/04/27\" is 3 Apr 2027)", "month first (\"03/04/27\" is 4 Mar 2027)"]
    );
    assert!(guess.confirm().is_err(), "nothing is read on a guess alone");
    for (order, expected) in
        [(DateOrder::DayFirst, "2027-04-03T07:00+02:00"), (DateOrder::MonthFirst, "2027-03-04T07:00+01:00")]
    {
        let sheet = read_all(bytes, &context, &Answers { date_order: Some(order), ..Answers::default() });
        assert_eq!(sheet.rows[0].1["weighed_at"], expected);
    }
    // One value settles it for all.
    let settled = b"Pup,Date,Time,Weight (g)\nAsh,03/04/27,07:00,310\nAsh,13/04/27,07:00,410\n";
    assert_eq!(questions(settled, &context), []);
    // Two that contradict each other settle nothing.
    let torn = b"Pup,Date,Time,Weight (g)\nAsh,04/13/27,07:00,310\nAsh,13/04/27,07:00,410\n";
    assert_eq!(questions(torn, &context), [About::DateOrder]);
}

#[test]
fn an_ambiguous_mark_is_asked() {
    let bytes = b"Pup;Date;Weight (g)\nAsh;2026-11-20 07:00;310\nSedge;2026-11-20 07:00;1,234\n";
    let context = hazel();
    assert_eq!(questions(bytes, &context), [About::DecimalMark]);
    let point = Answers { decimal: Some(DecimalMark::Point), ..Answers::default() };
    assert_eq!(asked(&guess_again(bytes, &context, &point).unwrap()), [About::Thousands]);
    let thousands = Answers { thousands: Some(true), ..point };
    assert_eq!(
        rows(&read_all(bytes, &context, &thousands))[1],
        "3: Sedge | 2026-11-20T07:00+01:00 | 1234 | g | - | - | -"
    );
    // 1.234 g is no pup: refused, not multiplied by a thousand.
    let comma = Answers { decimal: Some(DecimalMark::Comma), ..Answers::default() };
    let sheet = read_all(bytes, &context, &comma);
    assert_eq!((sheet.rows.len(), sheet.problems.len()), (1, 1));
}

#[test]
fn a_date_without_a_time_is_asked_and_noon_is_not_taken() {
    // Midnight in every row is how programs write a date alone.
    for bytes in [
        &b"Date,Ash (g),Sedge (g)\n2026-11-20,310,287\n"[..],
        b"Date,Ash (g),Sedge (g)\n2026-11-20 00:00:00,310,287\n",
        b"Pup,2026-11-20 (g)\nAsh,310\nSedge,287\n",
    ] {
        let context = hazel();
        assert_eq!(questions(bytes, &context), [About::NoTime]);
        let seven = Answers { no_time: Some(NoTime::At(time(7, 30, 0, 0))), ..Answers::default() };
        let sheet = read_all(bytes, &context, &seven);
        assert!(sheet.rows.len() == 2 && sheet.rows.iter().all(|(_, v)| v["weighed_at"] == "2026-11-20T07:30+01:00"));
        let refused = read_all(bytes, &context, &Answers { no_time: Some(NoTime::Refuse), ..Answers::default() });
        assert_eq!((refused.rows.len(), refused.problems[0].cells), (0, 2));
    }
}

#[test]
fn names_that_nearly_match_are_asked() {
    let bytes = b"Pup,Date,Weight (g),Carer\nash,2026-11-20 07:00,310,Robyn\nRowan,2026-11-20 07:00,280,Tom\n";
    let context = hazel();
    let guess = guess(bytes, &context).unwrap();
    assert_eq!(
        asked(&guess),
        [
            About::Pup("Rowan".into()),
            About::Pup("ash".into()),
            About::Carer("Robyn".into()),
            About::Carer("Tom".into())
        ]
    );
    assert_eq!(
        (&guess.pups[1].candidates[..], &guess.carers[0].candidates[..]),
        (&["Ash".into()][..], &["Robin".into()][..])
    );
    let answers = Answers {
        pups: [("ash".into(), Some("Ash".into())), ("Rowan".into(), None)].into(),
        carers: [("Robyn".into(), Some("Robin".into())), ("Tom".into(), None)].into(),
        ..Answers::default()
    };
    let sheet = read_all(bytes, &context, &answers);
    assert_eq!(rows(&sheet), ["2: Ash | 2026-11-20T07:00+01:00 | 310 | g | - | Robin | -"]);
    assert_eq!(
        problems(&sheet),
        ["[1] the sheet, line 3, column 1 (Pup): found \"Rowan\"; allowed: the id of a pup: Ash, Sedge"]
    );
    let both = Answers {
        pups: [("ash".into(), Some("Ash".into())), ("Rowan".into(), Some("Sedge".into()))].into(),
        ..answers
    };
    assert_eq!(
        rows(&read_all(bytes, &context, &both))[1],
        "3: Sedge | 2026-11-20T07:00+01:00 | 280 | g | - | - | weighed by Tom"
    );
}

#[test]
fn a_separator_that_could_be_either_is_asked() {
    let bytes = b"Date;Ash, g\n2026-11-20 07:00;310,5\n";
    let context = hazel();
    assert!(questions(bytes, &context).contains(&About::Separator));
    let named = b"sep=;\nDate;Ash (g)\n2026-11-20 07:00;310,5\n";
    assert_eq!(questions(named, &context), []);
    assert_eq!(
        rows(&read_all(named, &context, &Answers::default())),
        ["3: Ash | 2026-11-20T07:00+01:00 | 310.5 | g | - | - | -"]
    );
}
