//! What is refused, with its place.

use whelpward_core::record::{FolderFiles, Home, entries, parse};
use whelpward_core::spreadsheet::{About, Answers, guess, guess_again, read};

use super::{asked, confirmed, hazel, problems, questions, read_all, rows};

#[test]
fn what_is_no_table_is_refused_whole() {
    for (bytes, found) in [
        (&b"PK\x03\x04rest"[..], "a workbook, not a text file"),
        (b"\xFF\xFEa", "damaged UTF-16"),
        (b"\xFF\xFE\x00\xD8", "damaged UTF-16"),
        (b"a,b\x81\n1,2\n", "bytes that are no text"),
        (b"P\0u\0p\0,\0", "zero bytes (not text, or UTF-16 without its mark)"),
        (b"", "a single column"),
        (b"Weight\n310\n", "a single column"),
        (b"Pup,Weight\n", "no rows"),
        (b"Pup,Note\nAsh,\"open\nSedge,310\n", "a quote that is never closed"),
    ] {
        let problem = guess(bytes, &hazel()).unwrap_err();
        assert_eq!(problem.found, found, "{problem}");
    }
}

#[test]
fn a_cell_too_many_refuses_the_row() {
    // A comma as decimal mark between commas: 310 g would be a silent slip.
    let bytes = b"Pup,Date,Weight (g)\nAsh,2026-11-20 07:00,310\nAsh,2026-11-21 07:00,325,5\n";
    let sheet = read_all(bytes, &hazel(), &Answers::default());
    assert_eq!(rows(&sheet).len(), 1);
    assert_eq!(
        problems(&sheet),
        ["[2] the sheet, line 3, column 4: found 4 cells; allowed: 3 cells, as the headings have"]
    );
}

#[test]
fn a_bad_date_counts_every_weight_of_its_row_once() {
    let bytes = b"Date,Ash (g),Sedge (g)\n2026-11-20 07:00,310,287\n2026-11-31 07:00,325,x\n";
    let sheet = read_all(bytes, &hazel(), &Answers::default());
    assert_eq!(sheet.rows.len(), 2);
    let cells: Vec<(usize, usize)> = sheet.problems.iter().map(|p| (p.problem.column, p.cells)).collect();
    assert_eq!(cells, [(1, 2), (3, 0)], "{:?}", problems(&sheet));
}

#[test]
fn before_birth_and_twice_at_one_time_are_refused() {
    let bytes = b"Pup,Date,Weight (g)\nAsh,2026-11-18 22:09,310\nAsh,2026-11-18 22:10,310\nAsh,2026-11-18 22:10,311\n";
    let sheet = read_all(bytes, &hazel(), &Answers::default());
    assert_eq!(rows(&sheet), ["3: Ash | 2026-11-18T22:10+01:00 | 310 | g | - | - | -"]);
    assert_eq!(
        problems(&sheet),
        [
            "[1] the sheet, line 2, column 3 (Weight (g)): found 2026-11-18T22:09+01:00; allowed: a time not before the \
             birth of Ash, 2026-11-18T22:10+01:00",
            "[1] the sheet, line 4, column 3 (Weight (g)): found a second weight of Ash at 2026-11-18T22:10+01:00; \
             allowed: one; the first is in line 3, column 3",
        ]
    );
}

#[test]
fn two_columns_of_weights_and_a_strange_column_of_numbers_are_asked() {
    let context = hazel();
    let two = b"Pup,Date,Weight (g),Weight (oz)\nAsh,2026-11-20 07:00,310,10.95\n";
    assert_eq!(questions(two, &context), [About::Role]);
    let wide = b"Pup,2026-11-20 07:00,Room\nAsh,310 g,29\nSedge,287 g,29\n";
    assert_eq!(questions(wide, &context), [About::Role]);
    let born = b"Pup,Birth weight (g),2026-11-20 07:00\nAsh,300,310 g\n";
    assert_eq!(questions(born, &context), [], "named as something else, and shown as not used");
    let no_date = b"Pup,Weight (g)\nAsh,310\n";
    assert_eq!(questions(no_date, &context), [About::Role]);
}

#[test]
fn another_file_than_the_confirmed_one_is_not_read() {
    let context = hazel();
    let bytes = b"Pup,Date,Weight (g)\nAsh,2026-11-20 07:00,310\n";
    let agreed = confirmed(bytes, &context, &Answers::default());
    let other = read(b"Pup,Date,Weight (oz)\nAsh,2026-11-20 07:00,310\n", &agreed, &context);
    assert_eq!((other.rows.len(), other.problems.len()), (0, 1));
}

#[test]
fn an_answer_that_does_not_fit_is_told() {
    let bytes = b"Pup,Date,Weight (g)\nash,2026-11-20 07:00,310\n";
    let context = hazel();
    let line = Answers { header_line: Some(9), ..Answers::default() };
    assert!(guess_again(bytes, &context, &line).is_err());
    let nobody = Answers { pups: [("ash".into(), Some("Nobody".into()))].into(), ..Answers::default() };
    assert_eq!(asked(&guess_again(bytes, &context, &nobody).unwrap()), [About::Pup("ash".into())], "asked again");
}

/// The folder format is the judge of what comes out.
#[test]
fn rows_go_into_a_folder_without_a_problem() {
    let bytes = b"Pup,Date,Weight,Fed,Carer,Note\nAsh,2026-11-20 07:00,0.31 kg,before,Robin,\"a, \"\"b\"\"\"\n\
        Sedge,2026-11-20 07:05,1.234 lb,after,Robin,\nAsh,2026-11-21 07:00,11 oz,,,\n";
    let sheet = read_all(bytes, &hazel(), &Answers::default());
    assert_eq!(sheet.rows.len(), 3, "{:?}", problems(&sheet));
    let litter = br#"
format = 1
[litter]
name = "Hazel"
expected_adult_weight_kg = 12
whelped_at = 2026-11-18T22:10+01:00
time_zone = "Europe/Berlin"
scale_step_g = 1
[[carer]]
name = "Robin"
[[pup]]
id = "Ash"
sex = "male"
marks = "grey"
born_at = 2026-11-18T22:10+01:00
[[pup]]
id = "Sedge"
sex = "female"
marks = "red"
born_at = 2026-11-18T22:10+01:00
"#;
    let files = FolderFiles { litter_toml: Some(litter.to_vec()), ..FolderFiles::default() };
    let mut all = entries::read(&files).unwrap();
    let home = Home::named("weighings.csv").unwrap();
    all.extend(sheet.rows.into_iter().map(|(_, values)| entries::Entry { home, values }));
    let facts = parse(&entries::write(&all)).unwrap();
    // By hand: 1.234 lb × 453.592 37 g = 559.733 g; 11 oz × 28.349 523 125 g = 311.845 g.
    let grams: Vec<i64> = facts.weighings.iter().map(|w| w.weight.milligrams()).collect();
    assert_eq!(grams.iter().copied().collect::<std::collections::BTreeSet<_>>(), [310_000, 311_845, 559_733].into());
}
