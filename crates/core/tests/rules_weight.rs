//! The rules on weight (safety rules, "Weight"; growth handbook), each at both sides of its edge.

mod common;

use common::{DAY, Litter, PUP, pup};
use whelpward_core::assess::{BirthBand, Suspicion};
use whelpward_core::finding::{Level, Standing};
use whelpward_core::need::Why;

/// A nursing pup with these weighings, looked at some minutes after the last.
fn level(birth_g: f64, weighings: &[(f64, f64)], code: &str) -> Option<Level> {
    weighed(birth_g, weighings).level(weighings.last().unwrap().0 + 0.1, code)
}

fn weighed(birth_g: f64, weighings: &[(f64, f64)]) -> Litter {
    weighings.iter().fold(Litter::nursing(birth_g), |litter, (hours, grams)| litter.weigh(*hours, *grams))
}

#[test]
fn a_loss_of_four_per_cent_at_48_hours_needs_help() {
    // Growth handbook check 4 (Mila 2015): 400 to 384 g fires, 385 g does not; 250 to 240 fires.
    assert_eq!(level(400.0, &[(48.0, 384.0)], "lost-4"), Some(Level::NeedsHelp));
    assert_eq!(level(400.0, &[(48.0, 385.0)], "lost-4"), None);
    assert_eq!(level(250.0, &[(48.0, 240.0)], "lost-4"), Some(Level::NeedsHelp));
    // Care handbook check 14: 300 to 287 g.
    let litter = weighed(300.0, &[(48.0, 287.0)]).milk(1.0);
    let finding = litter.finding(48.1, "lost-4").unwrap();
    assert_eq!(finding.level, Level::NeedsHelp);
    assert!(finding.action.contains("Top up") && finding.action.contains("6 to 12 h"), "{}", finding.action);
    assert_eq!(litter.need(48.1).map(|n| n.why), Ok(Why::TopUp));
}

#[test]
fn published_ten_per_cent_rule() {
    // Growth handbook check 5 (home handbook p 493); safety rules: 10 % or more at any time, vet now.
    let vet = |weighings: &[(f64, f64)]| {
        weighed(300.0, weighings).line(weighings.last().unwrap().0 + 0.1).assessment.pups[0].level()
    };
    assert_eq!(vet(&[(48.0, 270.0), (72.0, 270.0)]), Level::VetNow);
    assert!(vet(&[(48.0, 272.0), (72.0, 280.0)]) < Level::VetToday, "watch only");
    assert!(vet(&[(48.0, 270.0), (72.0, 276.0)]) < Level::VetToday, "gain resumed");
    for hours in [12.0, 48.0, 60.0] {
        assert_eq!(level(300.0, &[(hours, 270.0)], "lost-10"), Some(Level::VetNow), "{hours} h");
        assert_eq!(level(300.0, &[(hours, 270.1)], "lost-10"), None, "{hours} h");
    }
    // No gain by 72 h: vet today.
    assert_eq!(level(300.0, &[(72.0, 300.0)], "no-gain-72h"), Some(Level::VetToday));
    assert_eq!(level(300.0, &[(71.9, 300.0)], "no-gain-72h"), None);
    assert_eq!(level(300.0, &[(72.0, 300.1)], "no-gain-72h"), None);
    assert_eq!(level(300.0, &[(48.0, 285.0), (72.0, 285.0)], "no-gain-72h"), Some(Level::VetToday));
    assert_eq!(level(300.0, &[(48.0, 285.0), (72.0, 290.0)], "no-gain-72h"), None, "gains again");
}

#[test]
fn any_loss_after_24_hours_is_noted() {
    assert_eq!(level(300.0, &[(30.0, 299.0)], "loss-after-24h"), Some(Level::Note));
    assert_eq!(level(300.0, &[(30.0, 300.0)], "loss-after-24h"), None);
    assert_eq!(level(300.0, &[(23.9, 299.0)], "loss-after-24h"), None, "in the first day it is expected");
    assert_eq!(level(300.0, &[(24.0, 299.0)], "loss-after-24h"), Some(Level::Note));
    // Still below the birth weight at 48 h: watched.
    assert_eq!(level(300.0, &[(48.0, 299.0)], "below-birth-weight"), Some(Level::KeepWatch));
    assert_eq!(level(300.0, &[(48.0, 300.0)], "below-birth-weight"), None);
}

#[test]
fn no_gain_over_a_day_needs_help() {
    // Growth handbook section 2 (home handbook p 492): a pup that fails to gain, any day.
    let grown = [(72.0, 360.0), (96.0, 390.0)];
    let then = |grams: f64| {
        let mut weighings = grown.to_vec();
        weighings.push((120.0, grams));
        weighings
    };
    assert_eq!(level(300.0, &then(390.0), "no-gain"), Some(Level::NeedsHelp));
    assert_eq!(level(300.0, &then(391.0), "no-gain"), None);
    // Two days without: vet today.
    let two_days = |first: f64| [(72.0, 360.0), (96.0, first), (120.0, 390.0), (144.0, 390.0)];
    assert_eq!(level(300.0, &two_days(390.0), "no-gain"), Some(Level::VetToday));
    assert_eq!(level(300.0, &two_days(389.0), "no-gain"), Some(Level::NeedsHelp));
}

#[test]
fn slow_gain_is_watched_below_the_published_band() {
    // Growth handbook check 8 (SACN Table 16-1): 5 % in week 1, 3.5 % in weeks 2 to 4, then 2 g
    // a day for each kg of adult weight (here 12 kg: 24 g).
    assert_eq!(level(300.0, &[(72.0, 400.0), (96.0, 420.0)], "slow-gain"), None, "5 %");
    assert_eq!(level(300.0, &[(72.0, 400.0), (96.0, 419.0)], "slow-gain"), Some(Level::KeepWatch));
    let week_two = |grams: f64| level(300.0, &[(220.0, 600.0), (244.0, grams)], "slow-gain");
    assert_eq!(week_two(621.0), None, "3.5 %");
    assert_eq!(week_two(620.0), Some(Level::KeepWatch));
    let week_five = |grams: f64| level(300.0, &[(28.0 * DAY, 1500.0), (29.0 * DAY, grams)], "slow-gain");
    assert_eq!(week_five(1524.0), None);
    assert_eq!(week_five(1523.0), Some(Level::KeepWatch));
}

#[test]
fn doubling_is_watched_from_day_12() {
    // Growth handbook, disagreements: amber if not doubled by day 12 nursing, day 14 formula-fed.
    let days = |d: f64, grams: f64, keys: &str| {
        let h = d * DAY;
        Litter::new().pup(PUP, 300.0, keys).weigh(h - 24.0, grams / 1.05).weigh(h, grams).level(h + 0.1, "not-doubled")
    };
    // 590 g is above the lowest published band of every one of these days but not yet 600 g.
    assert_eq!(days(11.9, 590.0, ""), Some(Level::Note));
    assert_eq!(days(12.0, 590.0, ""), Some(Level::KeepWatch));
    assert_eq!(days(12.0, 600.0, ""), None);
    let formula = "rearing = \"hand_fed\"";
    assert_eq!(days(13.9, 595.0, formula), Some(Level::Note));
    assert_eq!(days(14.0, 595.0, formula), Some(Level::KeepWatch));
    assert_eq!(days(9.9, 590.0, ""), None, "nothing is said before day 10");
    assert_eq!(days(10.0, 590.0, ""), Some(Level::Note));
}

#[test]
fn published_littermate_rule() {
    // Growth handbook section 1c (home handbook p 493): 25 % below the litter mean at birth.
    // Of 225, 325, 325 and 325 g the mean is 300 g: exactly 25 % below.
    let light = |grams: f64, others: f64| {
        let litter =
            Litter::new().pup(PUP, grams, "").pup("Elm", others, "").pup("Fir", others, "").pup("Oak", others, "");
        let line = litter.line(10.0);
        let ash = line.assessment.pups.iter().find(|p| p.pup.id.0 == PUP).unwrap();
        (ash.is_light, ash.findings.iter().find(|f| f.code == "lighter-than-mates").map(|f| f.level))
    };
    assert_eq!(light(225.0, 325.0), (true, Some(Level::NeedsHelp)));
    assert_eq!(light(226.0, 325.0), (false, None));
}

#[test]
fn a_very_light_pup_is_watched_through_day_7() {
    // Growth handbook 1b (Maltese: very low below 115.5 g) and section 2 (home handbook p 493:
    // steady gain through day 7 is out of danger).
    let at = |birth_g: f64, hours: f64| {
        let litter = Litter::new().keys("breed = \"Maltese\"").pup(PUP, birth_g, "").grows(birth_g, 8.0, hours - 0.5);
        litter.level(hours, "very-light-at-birth")
    };
    for (hours, expected) in
        [(47.9, Level::NeedsHelp), (48.0, Level::KeepWatch), (167.9, Level::KeepWatch), (168.0, Level::Note)]
    {
        assert_eq!(at(115.4, hours), Some(expected), "{hours} h");
        assert_eq!(at(115.5, hours), None, "{hours} h");
    }
}

#[test]
fn birth_bands_only_where_a_threshold_is_published() {
    let band = |breed: &str, grams: f64| {
        let litter = Litter::new().keys(&format!("breed = \"{breed}\"")).pup(PUP, grams, "");
        pup(&litter.line(1.0)).birth_band
    };
    // Growth handbook check 1.
    assert_eq!(band("Labrador Retriever", 406.0), BirthBand::Normal);
    assert_eq!(band("Labrador Retriever", 405.9), BirthBand::Low);
    assert_eq!(band("Labrador Retriever", 248.0), BirthBand::Low);
    assert_eq!(band("Labrador Retriever", 247.9), BirthBand::VeryLow);
    assert_eq!(band("Mixed", 90.0), BirthBand::NoThreshold);
    let today = Litter::new().keys("breed = \"Mixed\"").pup(PUP, 90.0, "").today(1.0);
    assert_eq!(today.pups[0].birth_band, "no published threshold for this breed");
}

#[test]
fn weighing_is_asked_for() {
    // Growth handbook section 9 (home handbook p 492): birth, 12 h, then daily; twice a day when
    // flagged or hand-fed (our choice).
    let next = |litter: &Litter, now: f64| {
        let line = litter.line(now);
        (line.guide.weigh_at[0] - common::at(0.0)).as_secs_f64() / 3600.0
    };
    let well = Litter::nursing(400.0).check(1.0, "colostrum_seen", "yes");
    assert_eq!(well.line(2.0).assessment.pups[0].standing, Standing::DoingWell);
    assert_eq!(next(&well, 2.0), 12.0, "12 h after birth");
    assert_eq!(next(&well.clone().weigh(12.0, 402.0), 13.0), 36.0);
    let daily = Litter::nursing(400.0).check(1.0, "colostrum_seen", "yes").grows(400.0, 7.0, 72.0);
    assert_eq!(next(&daily, 73.0), 96.0);
    let flagged = Litter::nursing(400.0).weigh(48.0, 384.0);
    assert_eq!(next(&flagged, 49.0), 60.0);
    let by_hand = Litter::hand_fed(400.0, 1.0).check(1.0, "colostrum_seen", "yes").grows(400.0, 7.0, 72.0);
    assert_eq!(next(&by_hand, 73.0), 84.0);
    // What was never weighed, and what is too old, is said.
    let missing = |litter: &Litter, now: f64| litter.today(now).missing.join("\n");
    assert!(!missing(&daily, 96.0).contains("weigh it now"));
    assert!(missing(&daily, 96.1).contains("weigh it now"), "24 h in week 1");
}

#[test]
fn slips_are_caught() {
    // Usability S-6: order of the causes. 400 g, a day later about 430 g.
    let last = |typed: f64| {
        let litter = Litter::nursing(380.0).weigh(24.0, 400.0).weigh(48.0, typed);
        let line = litter.line(48.5);
        let pup = pup(&line);
        (
            pup.doubts.last().map(|d| (d.suspicion.clone(), d.is_held_back)),
            pup.latest().unwrap().weight.get(),
            pup.level(),
        )
    };
    // Standing still for a day and gaining twice as fast as usual are both believed.
    for grams in [400.0, 460.0] {
        assert_eq!(last(grams).0, None, "{grams}");
    }
    for (typed, cause) in [
        (4300.0, Suspicion::Tenfold),
        (43.0, Suspicion::Tenfold),
        (1430.0, Suspicion::MissingOrExtraDigit),
        (340.0, Suspicion::ExchangedDigits),
    ] {
        let (doubt, latest, _) = last(typed);
        assert_eq!(doubt, Some((cause, true)), "{typed}");
        assert_eq!(latest, 400.0, "{typed}: nothing is computed from it");
    }
    // 1100 g are 38.8 oz, typed as grams.
    let ounces = Litter::nursing(1000.0).weigh(24.0, 1050.0).weigh(48.0, 38.8);
    assert_eq!(pup(&ounces.line(48.5)).doubts[0].suspicion, Suspicion::Unit);
    // A loss without a slip that explains it is acted on at once, because it may be true.
    let (doubt, latest, level) = last(352.0);
    assert_eq!(doubt, Some((Suspicion::Unexplained, false)));
    assert_eq!((latest, level >= Level::NeedsHelp), (352.0, true));
    // Weighed again and about as expected: it was a slip after all and counts no more.
    let slip = Litter::nursing(380.0).weigh(24.0, 400.0).weigh(48.0, 352.0).weigh(48.2, 428.0).line(48.5);
    assert!(pup(&slip).doubts.iter().all(|d| d.is_settled));
    assert!(pup(&slip).readings.iter().all(|r| r.weight.get() != 352.0));
    assert!(pup(&slip).level() < Level::NeedsHelp);
    // Two readings that agree are believed.
    let confirmed = Litter::nursing(380.0).weigh(24.0, 400.0).weigh(48.0, 340.0).weigh(48.1, 341.0);
    assert_eq!(pup(&confirmed.line(48.5)).latest().unwrap().weight.get(), 341.0);
    assert_eq!(confirmed.level(48.5, "lost-10"), Some(Level::VetNow));
    // On a doubtful weight there is no larger amount.
    let doubtful = Litter::hand_fed(380.0, 1.0).weigh(72.0, 400.0).bottle(93.0, 5.0).weigh(96.0, 4300.0);
    let feed = doubtful.propose(96.1, 96.1, 12.0).unwrap();
    assert_eq!(feed.amount().get(), 5.0);
    assert!(common::asks(&feed, "weigh first"));
}

#[test]
fn the_weight_of_another_pup_is_suspected() {
    let keys = "";
    let litter = Litter::new()
        .pup(PUP, 300.0, keys)
        .pup("Elm", 520.0, keys)
        .weigh(24.0, 310.0)
        .weigh_of("Elm", 24.0, 540.0)
        .weigh(48.0, 545.0);
    let line = litter.line(48.1);
    let ash = &line.assessment.pups[0];
    assert_eq!(ash.doubts[0].suspicion, Suspicion::OtherPup(whelpward_core::record::PupId("Elm".into())));
    // Weighed in this round as well, it is not suspected.
    let both = litter.weigh_of("Elm", 47.9, 560.0).line(48.1);
    assert_eq!(both.assessment.pups[0].doubts[0].suspicion, Suspicion::Unexplained);
}
