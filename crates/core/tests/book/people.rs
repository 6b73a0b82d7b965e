//! Pups, carers and milks by name; feeds that two carers wrote down; leaving.

use whelpward_core::book::{Kind, Question};
use whelpward_core::guide::checked::given;
use whelpward_core::record::LeftWhy;
use whelpward_core::report::Line;

use crate::build::*;

#[test]
fn a_renamed_pup_keeps_its_weighings() {
    let folded = story([weighing(2, 1, "08:00", "301"), pup(3, "Heron").instead_of(1), weighing(4, 1, "09:00", "302")]);
    is_settled(&folded);
    assert_eq!(pups(&folded), ["Heron"]);
    assert_eq!(grams(&folded), [("Heron", 301.0), ("Heron", 302.0)]);
    assert_eq!(folded.pup_named("Heron"), Some(id(1)));
    assert_eq!(folded.name_of(id(1)), Some("Heron"));
    assert_eq!(folded.pup_named("Ash"), None);
}

#[test]
fn a_second_pup_of_one_name_is_kept_apart_and_shown() {
    let folded = story([
        pup(2, "Ash"),
        pup(3, " Ash "),
        pup(4, "Ash (2)"),
        weighing(5, 1, "08:00", "301"),
        weighing(6, 2, "08:00", "202"),
    ]);
    assert_eq!(refused(&folded), []);
    assert_eq!(pups(&folded), ["Ash", "Ash (2)", "Ash (2) (2)", "Ash (3)"]);
    assert_eq!(grams(&folded), [("Ash", 301.0), ("Ash (2)", 202.0)]);
    assert_eq!(folded.questions.len(), 3);
    assert!(folded.questions.contains(&Question::SameName { first: id(1), second: id(2) }));
    assert!(folded.questions.contains(&Question::SameName { first: id(1), second: id(3) }));
    assert!(folded.questions.contains(&Question::SameName { first: id(2), second: id(4) }));
}

#[test]
fn of_two_milks_in_use_the_one_set_last_is() {
    let in_use = |folded: &whelpward_core::book::Folded| -> Vec<(String, bool)> {
        facts(folded).milks.iter().map(|m| (m.id.clone(), m.in_use)).collect()
    };
    let folded = story([milk(2, "powder", true), milk(3, "goat", true)]);
    is_settled(&folded);
    assert_eq!(in_use(&folded), [("powder".into(), false), ("goat".into(), true)]);
    // Said again of the first, and as a table would say it.
    let folded = story([
        milk(2, "powder", true),
        milk(3, "goat", true),
        milk(4, "powder", true).instead_of(2).with("in_use", "true"),
    ]);
    is_settled(&folded);
    assert_eq!(in_use(&folded), [("powder".into(), true), ("goat".into(), false)]);
}

#[test]
fn a_milk_in_use_that_was_written_down_twice_gives_way_to_the_one_that_is_in_use() {
    // The later "powder" is right: it is not in use. So "goat" is.
    let folded = story([milk(2, "goat", true), milk(3, "powder", true), milk(4, "powder", false)]);
    is_settled(&folded);
    let in_use: Vec<_> = facts(&folded).milks.iter().filter(|m| m.in_use).map(|m| m.id.as_str()).collect();
    assert_eq!(in_use, ["goat"]);
}

#[test]
fn of_two_entries_about_the_dam_the_one_made_last_counts() {
    let dam = |n, name| fact(n, Kind::Dam, None, &[("name", name)]);
    let folded = story([dam(2, "Hazel"), dam(3, "Holly")]);
    is_settled(&folded);
    assert_eq!(facts(&folded).dam.name.as_deref(), Some("Holly"));
}

#[test]
fn two_carers_of_one_name_are_one_and_the_one_made_last_is_right() {
    let folded = story([
        carer(2, "Robin"),
        carer(3, "Robin ").with("tube_taught_by_vet", true),
        feed(4, 1, "08:00", "9").by("Robin"),
    ]);
    is_settled(&folded);
    let carers: Vec<_> = facts(&folded).carers.iter().map(|c| (c.name.as_str(), c.tube_taught_by_vet)).collect();
    assert_eq!(carers, [("Robin", true)]);
    assert_eq!(facts(&folded).feeds[0].carer.as_deref(), Some("Robin"));
}

#[test]
fn what_an_unknown_carer_gave_was_still_given() {
    // The carer's entry was withdrawn; the milk is in the pup all the same.
    let folded = story([
        carer(2, "Robin"),
        feed(3, 1, "08:00", "9").by("Robin"),
        weighing(4, 1, "08:10", "305").by("Robin"),
        void(5, 2),
    ]);
    assert_eq!(feeds(&folded), [(9.0, false)]);
    assert_eq!(grams(&folded), [("Ash", 305.0)]);
}

#[test]
fn a_feed_of_a_milk_that_was_withdrawn_was_still_given() {
    let folded = story([milk(2, "powder", true), feed(3, 1, "08:00", "9").with("milk", "powder"), void(4, 2)]);
    assert_eq!(feeds(&folded), [(9.0, false)]);
    assert_eq!(facts(&folded).feeds[0].milk, None);
}

fn leaving(n: u32, pup: u32, at: &str, why: &str) -> whelpward_core::book::Fact {
    fact(n, Kind::Leaving, Some(pup), &[("left_at", &clock(at)), ("left_why", why), ("note", "kept")])
}

#[test]
fn a_pup_that_left_has_left_and_of_two_leavings_the_one_made_last_counts() {
    let left = |folded: &whelpward_core::book::Folded| facts(folded).pups[0].left.map(|l| (l.at, l.why));
    let folded = story([leaving(2, 1, "20:00", "gone_home"), leaving(3, 1, "12:00", "died")]);
    is_settled(&folded);
    assert_eq!(left(&folded), Some((time("2026-11-18T12:00Z"), LeftWhy::Died)));
    let folded = story([leaving(2, 1, "20:00", "gone_home"), leaving(3, 1, "12:00", "died"), void(4, 3)]);
    assert_eq!(left(&folded), Some((time("2026-11-18T20:00Z"), LeftWhy::GoneHome)));
    let folded = story([leaving(2, 1, "20:00", "gone_home"), void(3, 2)]);
    assert_eq!(left(&folded), None);
}

#[test]
fn a_leaving_before_the_birth_is_refused_and_the_pup_stays() {
    let mut early = leaving(2, 1, "20:00", "died");
    early.body.insert("left_at".into(), "2026-11-17T20:00Z".into());
    early.occurred = time("2026-11-17T20:00Z");
    let folded = story([early, weighing(3, 1, "08:00", "301")]);
    assert_eq!(pups(&folded), ["Ash"]);
    assert_eq!(grams(&folded), [("Ash", 301.0)]);
    assert_eq!(refused(&folded), [id(2)]);
}

#[test]
fn a_feed_written_down_by_two_carers_is_asked_about_and_counts_twice_for_the_guard() {
    let two = [
        carer(2, "Robin"),
        carer(3, "Sam"),
        milk(4, "powder", true),
        weighing(7, 1, "07:00", "300"),
        feed(5, 1, "08:00", "9").by("Robin").on("phone"),
        feed(6, 1, "08:45", "10").by("Sam").on("laptop"),
    ];
    let folded = story(two.clone());
    assert_eq!(refused(&folded), []);
    assert_eq!(folded.questions, [Question::SameFeedTwice { first: id(5), second: id(6) }]);
    assert_eq!(feeds(&folded), [(9.0, false), (10.0, true)], "the day's intake counts one");
    // The guard against overfeeding counts both: 19 mL.
    let line = Line::run(facts(&folded), time("2026-11-18T09:00Z"));
    let strength = &line.milk.as_ref().unwrap().strength;
    let all = given(facts(&folded), &line.assessment.pups[0], strength);
    assert_eq!(all.iter().map(|g| g.volume.get()).sum::<f64>(), 19.0);

    // A person says that it was one: the first stays.
    let folded = story(two.clone().into_iter().chain([answer(8, "same_feed", 5, 6)]));
    is_settled(&folded);
    assert_eq!(feeds(&folded), [(9.0, false)]);
    // Or two, whichever way round the answer names them.
    let folded = story(two.clone().into_iter().chain([answer(8, "two_feeds", 6, 5)]));
    is_settled(&folded);
    assert_eq!(feeds(&folded), [(9.0, false), (10.0, false)]);
    // Of two answers the one made last counts, also when it corrects an older one.
    let folded = story(two.clone().into_iter().chain([answer(8, "same_feed", 5, 6), answer(9, "two_feeds", 5, 6)]));
    assert_eq!(feeds(&folded), [(9.0, false), (10.0, false)]);
    let third = answer(10, "same_feed", 5, 6).instead_of(8);
    let folded =
        story(two.clone().into_iter().chain([answer(8, "same_feed", 5, 6), answer(9, "two_feeds", 5, 6), third]));
    assert_eq!(feeds(&folded), [(9.0, false)]);
    // An answer about an entry stays true when the entry is corrected.
    let corrected = feed(9, 1, "08:40", "11").by("Sam").on("laptop").instead_of(6);
    let folded = story(two.into_iter().chain([answer(8, "same_feed", 5, 6), corrected]));
    is_settled(&folded);
    assert_eq!(feeds(&folded), [(9.0, false)]);
}

#[test]
fn nursings_weighed_by_two_carers_count_once_in_what_the_dam_gives() {
    let nursing = |n: u32, at: &str, who: &str| {
        let pairs =
            [("fed_at", &*clock(at)), ("method", "nursing"), ("weight_before_g", "300"), ("weight_after_g", "305")];
        fact(n, Kind::Feed, Some(1), &pairs).by(who).on(who)
    };
    let mut all = vec![carer(2, "Robin"), carer(3, "Sam"), milk(4, "powder", true)];
    all.push(pup(9, "Ash").with("rearing", "topped_up").instead_of(1));
    all.push(weighing(8, 1, "07:00", "300"));
    for (i, at) in ["02:00", "08:00", "14:00", "20:00"].into_iter().enumerate() {
        let n = u32::try_from(i).unwrap() * 2 + 10;
        all.push(nursing(n, at, "Robin"));
        all.push(nursing(n + 1, &at.replace(":00", ":20"), "Sam"));
    }
    let folded = story(all);
    assert_eq!(folded.questions.len(), 4);
    assert_eq!(refused(&folded), []);
    let once = facts(&folded).feeds.iter().filter(|f| !f.maybe_the_same);
    assert_eq!(once.map(|f| f.nursed.unwrap().get()).sum::<f64>(), 20.0);
}

#[test]
fn feeds_46_minutes_apart_by_one_carer_or_of_two_kinds_are_two() {
    let people = [carer(2, "Robin"), carer(3, "Sam")];
    let pairs = [
        [feed(5, 1, "08:00", "9").by("Robin"), feed(6, 1, "08:46", "9").by("Sam")],
        [feed(5, 1, "08:00", "9").by("Robin").on("phone"), feed(6, 1, "08:10", "9").by("Robin").on("laptop")],
        [feed(5, 1, "08:00", "9"), feed(6, 1, "08:10", "9")],
        [feed(5, 1, "08:00", "9").by("Robin"), feed(6, 4, "08:10", "9").by("Sam")],
    ];
    for pair in pairs {
        let folded = story(people.clone().into_iter().chain([pup(4, "Yarrow")]).chain(pair));
        is_settled(&folded);
        assert_eq!(feeds(&folded), [(9.0, false), (9.0, false)]);
    }
    // Nobody named on two devices may be one.
    let folded = story([feed(5, 1, "08:00", "9").on("phone"), feed(6, 1, "08:10", "9").on("laptop")]);
    assert_eq!(folded.questions, [Question::SameFeedTwice { first: id(5), second: id(6) }]);
}

#[test]
fn a_feed_that_does_not_read_takes_no_other_feed_with_it() {
    // The first names more than was offered, so it is refused; the answer "one feed" must not
    // leave the pup without any.
    let broken = feed(5, 1, "08:00", "12").with("offered_ml", "9").by("Robin");
    let folded = story([
        carer(2, "Robin"),
        carer(3, "Sam"),
        broken,
        feed(6, 1, "08:10", "10").by("Sam"),
        answer(7, "same_feed", 5, 6),
    ]);
    assert_eq!(refused(&folded), [id(5)]);
    assert_eq!(feeds(&folded), [(10.0, false)]);
}
