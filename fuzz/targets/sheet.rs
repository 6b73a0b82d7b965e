//! A household's own spreadsheet: guess, answer every question with its first answer, read.
#![no_main]

use jiff::tz::TimeZone;
use libfuzzer_sys::fuzz_target;
use whelpward_core::spreadsheet::{Answers, Context, NoTime, SheetPup, SheetUnit, guess, guess_again, read};

fuzz_target!(|bytes: &[u8]| {
    let context = Context {
        zone: TimeZone::get("Europe/Berlin").expect("bundled"),
        pups: ["Ash", "Birch"]
            .map(|id| SheetPup { id: id.into(), born_at: "2026-11-18T22:10+01:00".parse().expect("a time") })
            .into(),
        carers: vec!["Robin".into()],
        household_unit: SheetUnit::Gram,
    };
    let Ok(first) = guess(bytes, &context) else { return };
    assert_eq!(first.open_questions(), guess(bytes, &context).expect("it was read").open_questions());
    let answers = Answers {
        unit: Some(SheetUnit::Gram),
        no_time: Some(NoTime::Refuse),
        only_pup: Some("Ash".into()),
        thousands: Some(false),
        ..Answers::default()
    };
    let Ok(second) = guess_again(bytes, &context, &answers) else { return };
    if let Ok(confirmed) = second.confirm() {
        let _ = read(bytes, &confirmed, &context);
    }
});
