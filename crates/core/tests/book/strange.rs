//! What does not read is refused and blanks nothing.

use whelpward_core::book::{Fact, FactJson, Kind};
use whelpward_core::record::entries::write;
use whelpward_core::record::parse;

use crate::build::*;

#[test]
fn without_the_litter_there_is_no_litter_and_nothing_else_is_to_blame() {
    let folded = fold_all([pup(1, "Ash"), carer(2, "Robin"), weighing(3, 1, "08:00", "300")]);
    assert!(folded.facts.is_none());
    assert_eq!(refused(&folded), []);
    assert_eq!(folded.counted().len(), 3, "they wait for it");
}

#[test]
fn a_litter_that_does_not_read_is_the_one_that_is_refused() {
    let mut bad = litter();
    bad.body.remove("expected_adult_weight_kg");
    let folded = fold_all([bad, pup(1, "Ash"), weighing(3, 1, "08:00", "300")]);
    assert!(folded.facts.is_none());
    assert_eq!(refused(&folded), [id(0)]);
}

#[test]
fn a_pup_before_the_litter_says_when_it_was_whelped_gives_that_time() {
    // "When the first pup was born": the pups say it.
    let mut expecting = litter();
    expecting.body.remove("whelped_at");
    let mut later = pup(2, "Yarrow").with("born_at", clock("01:30"));
    later.occurred = time(&clock("01:30"));
    let folded = fold_all([expecting, pup(1, "Ash"), later]);
    is_settled(&folded);
    assert_eq!(facts(&folded).litter.whelped_at, Some(time(&clock("00:00"))));
}

#[test]
fn one_bad_entry_of_each_kind_is_refused_alone() {
    let mut early = weighing(12, 1, "08:00", "300");
    early.body.insert("weighed_at".into(), "2026-11-17T08:00Z".into());
    early.occurred = time("2026-11-17T08:00Z");
    let bad = [
        pup(10, "Bramble").with("unit", "g").with("birth_weight", "3"),
        milk(11, "scoops", false).with("scoop_ml", "10"),
        early,
        weighing(13, 99, "08:00", "300"),
        feed(14, 1, "08:00", "9").with("weight_before_g", "300"),
        fact(15, Kind::Check, Some(1), &[("checked_at", &clock("08:00")), ("kind", "stool"), ("value", "loud")]),
        fact(16, Kind::VetOrder, Some(99), &[("given_at", &clock("08:00")), ("vet", "Practice")]),
        fact(17, Kind::Food, None, &[("id", "own"), ("protein_g", "10")]),
    ];
    let good = [
        carer(2, "Robin"),
        milk(3, "powder", true),
        weighing(4, 1, "08:00", "300"),
        feed(5, 1, "09:00", "9"),
        fact(
            6,
            Kind::Check,
            Some(1),
            &[("checked_at", &clock("08:00")), ("kind", "rectal_temperature_c"), ("value", "36.5")],
        ),
        fact(7, Kind::VetOrder, Some(1), &[("given_at", &clock("08:00")), ("vet", "Practice")]),
        fact(8, Kind::Vet, None, &[("name", "Practice"), ("phone", "000")]),
    ];
    let folded = story(good.into_iter().chain(bad));
    let all = facts(&folded);
    assert_eq!(refused(&folded), (10..=17).map(id).collect::<Vec<_>>(), "{:#?}", folded.refused);
    assert_eq!(pups(&folded), ["Ash"]);
    assert_eq!((all.milks.len(), all.carers.len(), all.vets.len(), all.orders.len()), (1, 1, 1, 1));
    assert_eq!((all.weighings.len(), all.feeds.len(), all.checks.len()), (1, 1, 1));
}

#[test]
fn marks_of_any_alphabet_and_quotes_read_back_as_they_were_typed() {
    let marks = "l\u{e4}uft \"schief\" \\ # [pup] = 'x' \u{1f43e}";
    let folded = story([pup(2, "Br\u{ea}me").with("marks", marks)]);
    is_settled(&folded);
    assert_eq!(facts(&folded).pups[1].marks, marks);
}

#[test]
fn the_entries_of_a_fold_are_a_folder_that_reads() {
    let folded = story([
        carer(2, "Robin"),
        milk(3, "powder", true),
        milk(4, "goat", true),
        pup(5, "Ash"),
        weighing(6, 1, "08:00", "300").by("Robin"),
        feed(7, 5, "08:00", "9").by("Robin").with("milk", "powder"),
    ]);
    let read = parse(&write(folded.entries())).unwrap();
    assert_eq!(format!("{read:#?}"), format!("{:#?}", facts(&folded)));
}

#[test]
fn facts_of_another_litter_kind_do_not_take_its_place() {
    let mut other = litter();
    other.id = id(9);
    other.body.insert("name".into(), "Gorse".into());
    let folded = story([other]);
    assert_eq!(facts(&folded).litter.name, "Heather");
}

#[test]
fn a_fact_goes_through_json_and_comes_back_the_same() {
    let mut whole = weighing(2, 1, "08:00", "300").by("Robin").instead_of(1);
    whole.receipt.seq = 7;
    whole.receipt.received = Some(time(&clock("08:01")));
    whole.receipt.client_seq = Some(3);
    whole.receipt.client_wall = Some(time(&clock("08:02")));
    whole.receipt.is_late = true;
    for fact in [whole, void(3, 2), litter()] {
        let text = serde_json::to_string(&FactJson::from(&fact)).unwrap();
        let back = serde_json::from_str::<FactJson>(&text).unwrap().read().unwrap();
        assert_eq!(back, fact);
    }
}

#[test]
fn what_is_not_well_formed_does_not_come_in() {
    let bad: [(&str, Fact); 8] = [
        ("a weighing of no pup", Fact { pup: None, ..weighing(2, 1, "08:00", "300") }),
        ("a carer about a pup", Fact { pup: Some(id(1)), ..carer(2, "Robin") }),
        ("a void of nothing", Fact { voids: None, ..void(2, 1) }),
        ("a weighing that voids", Fact { voids: Some(id(1)), ..weighing(2, 1, "08:00", "300") }),
        ("a blank device", Fact { device: " ".into(), ..litter() }),
        ("another time", Fact { occurred: time(&clock("09:00")), ..weighing(2, 1, "08:00", "300") }),
        ("an unknown name", litter().with("colour", "red")),
        ("a missing name", Fact { body: whelpward_core::book::Values::new(), ..weighing(2, 1, "08:00", "300") }),
    ];
    for (what, fact) in bad {
        assert!(fact.look_over().is_some(), "{what}");
        let text = serde_json::to_string(&FactJson::from(&fact)).unwrap();
        assert!(serde_json::from_str::<FactJson>(&text).unwrap().read().is_err(), "{what}");
    }
    let text = serde_json::to_string(&FactJson::from(&litter())).unwrap();
    // Version 4 instead of 7.
    let other = text.replace("-7", "-4");
    assert!(serde_json::from_str::<FactJson>(&other).unwrap().read().is_err());
    assert!(serde_json::from_str::<FactJson>(&text.replace("\"litter\":", "\"colour\":")).is_err());
}

/// A thing done is a row of the folder, also one that was for the dam.
#[test]
fn what_was_done_comes_out_of_the_book_as_it_went_in() {
    let wormed = |n, pup| {
        let at = clock("08:00");
        fact(n, Kind::Done, pup, &[("done_at", &at), ("kind", "worming"), ("product", "Paste")])
    };
    let facts = [litter(), pup(1, "Ash"), wormed(10, Some(1)), wormed(11, None)];
    let folded = fold_all(facts);
    assert!(folded.refused.is_empty(), "{:?}", folded.refused);
    assert_eq!(folded.facts.as_ref().unwrap().done.len(), 2);
    let out = write(folded.entries());
    let text = String::from_utf8(out.done_csv.unwrap()).unwrap();
    assert_eq!(text.lines().count(), 3, "{text}");
    assert!(text.contains("Ash,") && text.lines().any(|l| l.starts_with(',')), "{text}");
}
