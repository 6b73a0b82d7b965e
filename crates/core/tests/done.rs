//! What was done for a pup: the table `done.csv`, alone and in the book.

use whelpward_core::record::{DONE_KINDS, DoneKind, DoneValue, FolderFiles, Problem, PupId, Word, parse};

const LITTER: &str = r#"format = 1
[litter]
name = "Invented"
expected_adult_weight_kg = 12
whelped_at = 2026-03-02T00:00:00Z
time_zone = "Europe/Berlin"
scale_step_g = 1
worming_guideline = "capc"
home_law = "germany"

[[pup]]
id = "Ash"
sex = "female"
marks = "plain"
born_at = 2026-03-02T00:00:00Z

[[carer]]
name = "Robin"
"#;

const HEAD: &str = "pup,done_at,kind,value,product,lot,as_given,by,note,carer\n";

fn files(rows: &str) -> FolderFiles {
    FolderFiles {
        litter_toml: Some(LITTER.into()),
        done_csv: Some(format!("{HEAD}{rows}").into()),
        ..FolderFiles::default()
    }
}

fn wrong(row: &str) -> Vec<Problem> {
    parse(&files(row)).expect_err(row)
}

#[test]
fn every_column_arrives() {
    let rows = "Ash,2026-03-16T09:00+01:00,worming,,Worm paste,L-1,as Dr Test wrote,Robin,spat half,Robin\n\
                ,2026-03-16T09:00+01:00,worming,,Worm tablet,,,,,\n\
                Ash,2026-04-20T09:00+02:00,chip,276 098106004321,,,,Dr Test,,\n\
                Ash,2026-04-21T09:00+02:00,vet_check,fit,,,,Dr Test,,\n\
                Ash,2026-04-22T09:00+02:00,home_day,2026-05-02,,,,,,\n";
    let facts = parse(&files(rows)).unwrap();
    let ash = PupId("Ash".into());
    let worming = facts.done_for(Some(&ash), DoneKind::Worming).next().unwrap();
    assert_eq!(worming.product.as_deref(), Some("Worm paste"));
    assert_eq!(worming.lot.as_deref(), Some("L-1"));
    assert_eq!(worming.as_given.as_deref(), Some("as Dr Test wrote"));
    assert_eq!(worming.by.as_deref(), Some("Robin"));
    assert_eq!(worming.note.as_deref(), Some("spat half"));
    assert_eq!(facts.done_for(None, DoneKind::Worming).count(), 1, "the dam's");
    let value = |kind| facts.done_for(Some(&ash), kind).next().unwrap().value.clone();
    assert_eq!(value(DoneKind::Chip), DoneValue::ChipNumber("276098106004321".into()));
    assert_eq!(value(DoneKind::VetCheck), DoneValue::Word(Word::Fit));
    assert_eq!(value(DoneKind::HomeDay), DoneValue::Day(jiff::civil::date(2026, 5, 2)));
}

#[test]
fn a_row_that_does_not_fit_is_named_with_what_is_allowed() {
    for (row, name, allowed) in [
        ("Ash,2026-03-16T09:00Z,wormed,,,,,,,\n", "kind", "worming"),
        ("Ash,2026-03-16T09:00Z,worming,,,,,,,\n", "product", "as on the package"),
        ("Ash,2026-03-16T09:00Z,nails,,Paste,,,,,\n", "product", "belongs to"),
        ("Ash,2026-03-16T09:00Z,eyes_open,,,L-1,,,,\n", "lot", "belongs to"),
        ("Ash,2026-03-16T09:00Z,eyes_open,yes,,,,,,\n", "value", "nothing"),
        ("Ash,2026-03-16T09:00Z,chip,,,,,,,\n", "value", "20 letters and digits"),
        ("Ash,2026-03-16T09:00Z,home_day,2 May,,,,,,\n", "value", "2026-11-20"),
        ("Ash,2026-03-16T09:00Z,vet_check,fine,,,,,,\n", "value", "fit, see_again, not_fit"),
        (",2026-03-16T09:00Z,nails,,,,,,,\n", "pup", "[[pup]]"),
        ("Ash,2026-03-01T09:00Z,nails,,,,,,,\n", "done_at", "not before"),
        ("Ash,2026-03-16T09:00Z,nails,,,,,,,Sam\n", "carer", "Robin"),
    ] {
        let problems = wrong(row);
        assert_eq!(problems.len(), 1, "{row}: {problems:?}");
        assert_eq!((problems[0].name.as_str(), problems[0].line), (name, 2), "{row}");
        assert!(problems[0].allowed.contains(allowed), "{row}: {}", problems[0].allowed);
    }
}

#[test]
fn every_kind_has_its_own_word_and_is_found_by_it() {
    for row in DONE_KINDS {
        assert_eq!(DoneKind::from_word(row.word), Some(row.kind));
        assert_eq!(row.kind.word(), row.word);
    }
}

#[test]
fn the_order_of_rows_and_a_row_twice_change_nothing() {
    let (a, b) = ("Ash,2026-03-16T09:00Z,nails,,,,,,,\n", "Ash,2026-03-15T09:00Z,eyes_open,,,,,,,\n");
    let read = |rows: String| parse(&files(&rows)).unwrap().done;
    assert_eq!(read(format!("{a}{b}")), read(format!("{b}{a}{a}")));
}
