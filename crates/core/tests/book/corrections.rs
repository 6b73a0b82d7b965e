//! Corrections and withdrawals.

use std::sync::Arc;

use whelpward_core::book::{Question, history};

use crate::build::*;

#[test]
fn the_version_that_nobody_superseded_counts() {
    let folded = story([
        weighing(2, 1, "08:00", "301"),
        weighing(3, 1, "08:00", "310").instead_of(2),
        weighing(4, 1, "08:05", "311").instead_of(3),
    ]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 311.0)]);
    // Any version leads to the one that counts.
    for version in [2, 3, 4] {
        assert_eq!(folded.current(id(version)).unwrap().id, id(4), "{version}");
    }
}

#[test]
fn a_correction_on_a_phone_whose_clock_is_slow_still_counts() {
    // Made seven minutes before the fact that it corrects, by its own clock.
    let folded = story([weighing(500, 1, "08:00", "301"), weighing(80, 1, "08:00", "310").instead_of(500)]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 310.0)]);
}

#[test]
fn of_two_corrections_the_one_made_last_counts_and_the_conflict_is_shown() {
    let folded = story([
        weighing(2, 1, "08:00", "301"),
        weighing(3, 1, "08:00", "310").instead_of(2).on("phone"),
        weighing(4, 1, "08:00", "320").instead_of(2).on("laptop"),
    ]);
    assert_eq!(grams(&folded), [("Ash", 320.0)]);
    assert_eq!(folded.questions, [Question::CorrectedTwice { counts: id(4), other: id(3) }]);
}

#[test]
fn correcting_the_winner_keeps_both_branches_in_sight_and_voiding_the_loser_settles_it() {
    let branches = [
        weighing(2, 1, "08:00", "301"),
        weighing(3, 1, "08:00", "310").instead_of(2),
        weighing(4, 1, "08:00", "320").instead_of(2),
        weighing(5, 1, "08:00", "321").instead_of(4),
    ];
    let folded = story(branches.clone());
    assert_eq!(grams(&folded), [("Ash", 321.0)]);
    assert_eq!(folded.questions, [Question::CorrectedTwice { counts: id(5), other: id(3) }]);
    let folded = story(branches.into_iter().chain([void(6, 3)]));
    assert_eq!(grams(&folded), [("Ash", 321.0)]);
    assert!(!folded.questions.contains(&Question::CorrectedTwice { counts: id(5), other: id(3) }));
}

#[test]
fn a_void_takes_the_counting_version_out_with_its_entry() {
    let folded = story([weighing(2, 1, "08:00", "301"), weighing(3, 1, "08:00", "310").instead_of(2), void(4, 3)]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [], "the version before it does not come back");
}

#[test]
fn a_void_of_an_older_version_beside_a_correction_leaves_the_entry_and_is_shown() {
    let folded = story([weighing(2, 1, "08:00", "301"), weighing(3, 1, "08:00", "310").instead_of(2), void(4, 2)]);
    assert_eq!(grams(&folded), [("Ash", 310.0)]);
    assert_eq!(folded.questions, [Question::WithdrawnAndCorrected { counts: id(3), withdrawn: id(2) }]);
}

#[test]
fn a_void_of_a_void_brings_the_entry_back_and_a_third_takes_it_out_again() {
    let first = [weighing(2, 1, "08:00", "301"), void(3, 2), void(4, 3)];
    let folded = story(first.clone());
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 301.0)]);
    let folded = story(first.into_iter().chain([void(5, 4)]));
    assert_eq!(grams(&folded), []);
}

#[test]
fn a_void_of_a_void_counts_on_a_phone_whose_clock_is_slow() {
    let folded = story([weighing(2, 1, "08:00", "301"), void(500, 2), void(80, 500)]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 301.0)]);
}

#[test]
fn two_voids_of_one_fact_must_both_be_taken_back() {
    let both = [weighing(2, 1, "08:00", "301"), void(3, 2), void(4, 2)];
    let folded = story(both.clone().into_iter().chain([void(5, 4)]));
    assert_eq!(grams(&folded), [], "the other void still stands");
    let folded = story(both.into_iter().chain([void(5, 4), void(6, 3)]));
    assert_eq!(grams(&folded), [("Ash", 301.0)]);
}

#[test]
fn a_ring_of_corrections_blanks_nothing() {
    // No program of ours writes one. The one made last counts, as everywhere.
    let folded = story([weighing(2, 1, "08:00", "301").instead_of(3), weighing(3, 1, "08:00", "310").instead_of(2)]);
    assert_eq!(grams(&folded), [("Ash", 310.0)]);
    let folded = story([weighing(2, 1, "08:00", "301").instead_of(2)]);
    assert_eq!(grams(&folded), [("Ash", 301.0)], "one that supersedes itself");
    let folded = story([
        weighing(2, 1, "08:00", "301").instead_of(4),
        weighing(3, 1, "08:00", "310").instead_of(2),
        weighing(4, 1, "08:00", "320").instead_of(3),
        weighing(5, 1, "08:00", "321").instead_of(3),
    ]);
    assert_eq!(grams(&folded), [("Ash", 321.0)], "a ring with a branch");
}

#[test]
fn a_ring_of_voids_ends() {
    // No program of ours writes one. What matters: it ends, and the same in any order.
    let folded = story([weighing(2, 1, "08:00", "301"), void(3, 4), void(4, 3), void(5, 5)]);
    assert_eq!(grams(&folded), [("Ash", 301.0)]);
}

#[test]
fn a_correction_of_another_kind_or_of_nothing_is_an_entry_of_its_own() {
    let folded = story([
        weighing(2, 1, "08:00", "301"),
        feed(3, 1, "08:10", "9").instead_of(2),
        weighing(4, 1, "10:00", "303").instead_of(999),
    ]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 301.0), ("Ash", 303.0)]);
    assert_eq!(feeds(&folded), [(9.0, false)]);
}

#[test]
fn a_weighing_of_the_wrong_pup_is_moved_by_a_correction() {
    let folded = story([
        pup(2, "Yarrow"),
        weighing(3, 1, "08:00", "250"),
        weighing(4, 2, "08:00", "250").instead_of(3),
        weighing(5, 1, "08:01", "301"),
    ]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Yarrow", 250.0), ("Ash", 301.0)]);
}

#[test]
fn a_corrected_time_changes_the_order_of_time() {
    let folded = story([
        weighing(2, 1, "08:00", "301"),
        weighing(3, 1, "09:00", "302"),
        weighing(4, 1, "10:00", "301").instead_of(2),
    ]);
    assert_eq!(grams(&folded), [("Ash", 302.0), ("Ash", 301.0)]);
}

#[test]
fn the_history_shows_every_version_with_what_became_of_it() {
    let facts: Vec<_> = [
        litter(),
        pup(1, "Ash"),
        weighing(2, 1, "08:00", "301"),
        weighing(3, 1, "08:00", "310").instead_of(2),
        weighing(4, 1, "08:00", "320").instead_of(3),
        void(5, 3),
        weighing(6, 1, "09:00", "330"),
    ]
    .into_iter()
    .map(Arc::new)
    .collect();
    for asked in [2, 3, 4] {
        let lines: Vec<_> = history(&facts, id(asked)).iter().map(|l| (l.fact.id, l.counts, l.voided_by)).collect();
        assert_eq!(lines, [(id(2), false, None), (id(3), false, Some(id(5))), (id(4), true, None)]);
    }
}
