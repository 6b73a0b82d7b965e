//! Weighings of one pup on two devices: 2 % and ten minutes, each at both sides.

use whelpward_core::book::Question;

use crate::build::*;

#[test]
fn weights_within_two_percent_and_ten_minutes_are_one_point_the_latest() {
    // 300 g and 294 g differ by exactly 2 % of the larger.
    let folded = story([weighing(2, 1, "08:00", "300").on("phone"), weighing(3, 1, "08:10", "294").on("scale")]);
    is_settled(&folded);
    assert_eq!(grams(&folded), [("Ash", 294.0)]);
}

#[test]
fn weights_more_than_two_percent_apart_ask_for_another_weighing() {
    let two = [weighing(2, 1, "08:00", "300").on("phone"), weighing(3, 1, "08:10", "293.9").on("scale")];
    let folded = story(two.clone());
    assert_eq!(refused(&folded), []);
    assert_eq!(grams(&folded), [("Ash", 300.0), ("Ash", 293.9)], "both are kept");
    assert_eq!(folded.questions, [Question::WeighAgain { first: id(2), second: id(3) }]);
    // Weighed again: the question is settled.
    let folded = story(two.into_iter().chain([weighing(4, 1, "08:30", "300")]));
    is_settled(&folded);
}

#[test]
fn weights_eleven_minutes_apart_on_one_device_or_of_two_pups_are_two_points() {
    let pairs = [
        [weighing(2, 1, "08:00", "300").on("phone"), weighing(3, 1, "08:11", "200").on("scale")],
        [weighing(2, 1, "08:00", "300").on("phone"), weighing(3, 1, "08:05", "200").on("phone")],
        [weighing(2, 1, "08:00", "300").on("phone"), weighing(3, 4, "08:05", "200").on("scale")],
        [
            weighing(2, 1, "08:00", "300").on("phone").with("taken", "before_feed"),
            weighing(3, 1, "08:05", "320").on("scale").with("taken", "after_feed"),
        ],
    ];
    for pair in pairs {
        let folded = story([pup(4, "Yarrow")].into_iter().chain(pair));
        is_settled(&folded);
        assert_eq!(grams(&folded).len(), 2);
    }
}

#[test]
fn ounces_and_grams_are_compared_by_weight() {
    // 10.5 oz are 297.7 g.
    let ounces = weighing(3, 1, "08:05", "10.5").with("unit", "oz").on("scale");
    let folded = story([weighing(2, 1, "08:00", "300").on("phone"), ounces]);
    is_settled(&folded);
    assert_eq!(grams(&folded).len(), 1);
    assert!((grams(&folded)[0].1 - 297.67).abs() < 0.01);
}

#[test]
fn a_weighing_that_does_not_read_takes_no_other_with_it() {
    // The later one lies before the birth of the pup as it was corrected: refused, the other stays.
    let born = pup(5, "Ash").with("born_at", clock("08:03"));
    let born = whelpward_core::book::Fact { occurred: time(&clock("08:03")), ..born.instead_of(1) };
    let folded =
        story([weighing(2, 1, "08:04", "300").on("phone"), weighing(3, 1, "08:02", "301").on("scale"), born.clone()]);
    assert_eq!(grams(&folded), [("Ash", 300.0)]);
    assert_eq!(refused(&folded), [id(3)]);
    let unreadable = weighing(3, 1, "08:06", "301").with("weight_g", "301").on("scale");
    let folded = story([weighing(2, 1, "08:04", "300").on("phone"), unreadable]);
    assert_eq!(grams(&folded), [("Ash", 300.0)]);
    assert_eq!(refused(&folded), [id(3)]);
}
