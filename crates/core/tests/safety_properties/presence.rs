//! safety.md, "Dam and birth", last sentence: pups that are not there.

use proptest::prelude::*;

use super::config;
use super::folder::NAMES;
use super::generate::{any_litter, fed_litter};
use super::litter::H;
use super::oracle::ask;

proptest! {
    #![proptest_config(config())]

    /// "nothing is planned for a pup that is not there"
    #[test]
    fn nothing_is_planned_for_a_pup_that_is_not_there(litter in any_litter()) {
        let case = ask(&litter);
        for (name, pup) in NAMES.into_iter().zip(&litter.pups).filter(|(_, p)| !p.is_here()) {
            let today = &case.today;
            prop_assert!(case.feeds_of(name).is_empty(), "{name} is fed");
            prop_assert!(!today.pups.iter().any(|l| l.pup == name), "{name} has a line");
            prop_assert!(!today.weigh_next.iter().any(|w| w.pup == name), "{name} is to be weighed");
            prop_assert!(!today.do_now.iter().any(|a| a.pups.iter().any(|p| p == name)), "{name} is in do_now, left {:?}", pup.left);
            prop_assert!(!today.rounds.iter().flat_map(|r| &r.withheld).any(|w| w.pup == name));
        }
    }

    /// A pup whose day of leaving is known is not planned for after that time.
    #[test]
    fn nothing_is_planned_after_the_time_at_which_a_pup_leaves(litter in fed_litter(), leaves_in in 60..23 * H) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.left = Some((-leaves_in, "gone_home"));
        }
        for seen in ask(&litter).pups() {
            for planned in &seen.feeds {
                prop_assert!(planned.at < leaves_in, "leaves in {leaves_in} s: {}", seen.story());
            }
        }
    }

    /// "rates keep their denominators": every pup born here counts, also one that was stillborn.
    #[test]
    fn every_pup_born_here_stays_in_the_count(litter in any_litter()) {
        let today = ask(&litter).today;
        let born = litter.pups.iter().filter(|p| p.joined.is_none()).count();
        let stillborn = litter.pups.iter().filter(|p| p.left.is_some_and(|(_, why)| why == "stillborn")).count();
        prop_assert_eq!((today.pups_born, today.pups_stillborn), (born, stillborn));
        prop_assert_eq!(today.pups_here, litter.pups.iter().filter(|p| p.is_here()).count());
    }
}
