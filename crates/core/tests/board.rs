//! Every pup of several households by urgency.

mod common;

use common::{DAY, Litter};
use whelpward_core::report::{Today, board};

/// As the safety rules order them: a call to the vet before help, help before a feed, a feed before a watch.
const ORDER: &[&str] = &["vet now", "vet today", "needs help", "withheld", "feed now", "keep watch", "weigh now"];

#[test]
fn the_worst_pup_of_all_homes_stands_first_and_none_is_left_out() {
    let hours = 3.0 * DAY;
    let litters: Vec<Today> = [
        Litter::nursing(300.0).weigh(DAY, 310.0).weigh(2.0 * DAY, 330.0).weigh(hours - 1.0, 352.0),
        // More than a tenth of its birth weight lost: vet now.
        Litter::nursing(300.0).weigh(DAY, 285.0).weigh(hours - 1.0, 262.0),
        Litter::hand_fed(300.0, 1.0).weigh(hours - 1.0, 330.0),
    ]
    .iter()
    .map(|l| l.today(hours))
    .collect();
    let lines = board(&litters);
    for (n, litter) in litters.iter().enumerate() {
        for pup in &litter.pups {
            let found = lines.iter().filter(|l| l.litter == n && l.pup == Some(&pup.pup)).count();
            assert_eq!(found, 1, "litter {n}, {}", pup.pup);
        }
    }
    let first = lines[0];
    assert_eq!((first.litter, first.action.unwrap().kind.as_str()), (1, "vet now"));
    let ranks: Vec<usize> = lines
        .iter()
        .map(|l| l.action.map_or(ORDER.len(), |a| ORDER.iter().position(|k| *k == a.kind).expect("a known kind")))
        .collect();
    assert!(ranks.is_sorted(), "{ranks:?}");
}
