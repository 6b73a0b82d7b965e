//! How a litter is watched: doubts, confirmations, warnings and their words.

#![expect(clippy::cast_precision_loss, reason = "counts of a test are small")]

use whelpward_core::growth::priors::{BREEDS, SizeClass, breed_birth_weight};
use whelpward_core::growth::{Assessment, Cause, Floor, Reading, Settings, Standing, Taken, Watch};
use whelpward_core::units::WeightUnit;

fn settings() -> Settings {
    Settings { birth_weight: SizeClass::Large.birth_weight(), ..Settings::default() }
}

fn reading(pup: usize, session: u32, hours: f64, grams: f64) -> Reading<'static> {
    Reading {
        pup,
        session,
        clock_hours: hours,
        hours_from_birth: hours,
        grams,
        taken: Taken::Unknown,
        written: None,
        is_birth_weight: session == 0,
        confirmed: false,
    }
}

/// A pup that gains 7 % a day after a small dip, weighed every 12 h.
fn thriving(session: u32) -> f64 {
    let day = f64::from(session) / 2.0;
    (400.0 * (0.07 * day - 0.05 * (1.0 - (-day / 0.5).exp())).exp()).round()
}

fn hours(session: u32) -> f64 {
    1.0 + 12.0 * f64::from(session)
}

/// A watch on one thriving pup up to and without `until`.
fn after(until: u32) -> Watch {
    let mut watch = Watch::new(settings());
    for s in 0..until {
        let a = watch.weigh(&reading(0, s, hours(s), thriving(s)));
        assert_eq!(a.doubt, None, "session {s}");
    }
    watch
}

#[test]
fn a_thriving_pup_does_well_and_is_forecast() {
    let mut watch = after(20);
    let a = watch.weigh(&reading(0, 20, hours(20), thriving(20)));
    assert_eq!(a.standing, Standing::DoingWell);
    assert!(a.enough_data && a.weigh_again_in_hours.is_none());
    assert!(a.p_faltering < 0.05);
    assert_eq!(a.sentences(WeightUnit::Gram), ["It grows as expected."]);
    let expected = thriving(22);
    let day = &a.forecasts()[1];
    assert_eq!(day.hours, 24.0);
    assert!(day.grams(0.05) < expected && expected < day.grams(0.95));
    let quantiles = [0.05, 0.25, 0.5, 0.75, 0.95].map(|p| day.grams(p));
    assert!(quantiles.is_sorted());
    let gain = expected - thriving(20);
    assert!((a.gain_g_per_day - gain).abs() < 2.0 * a.gain_sd_g_per_day);
}

#[test]
fn slips_are_held_back_with_what_was_meant() {
    let true_g = thriving(12);
    assert_eq!(true_g, 579.0);
    let cases = [
        (5790.0, Cause::Tenfold, 579.0),
        (58.0, Cause::Tenfold, 580.0),
        (1579.0, Cause::Digit, 579.0),
        (759.0, Cause::Transposed, 579.0),
        (20.4, Cause::Unit, 579.0),
    ];
    for (typed, cause, meant) in cases {
        let mut watch = after(12);
        let a = watch.weigh(&reading(0, 12, hours(12), typed));
        let doubt = a.doubt.expect("held back");
        assert_eq!(doubt.cause, cause, "{typed}");
        assert!((doubt.meant_g.expect("a correction") - meant).abs() < 6.0, "{typed}: {doubt:?}");
        assert_eq!(a.weigh_again_in_hours, Some(0.0));
        assert!(a.sentences(WeightUnit::Gram)[0].contains("Weigh again now"));
        // The belief did not move, and the right reading is accepted.
        assert!((a.weight_g / true_g - 1.0).abs() < 0.03);
        let again = watch.weigh(&reading(0, 12, hours(12) + 0.1, true_g));
        assert_eq!(again.doubt, None);
        assert_eq!(again.standing, Standing::DoingWell);
    }
}

#[test]
fn a_towel_left_on_the_scale_is_recognised() {
    let mut watch = Watch::new(Settings { tare_g: Some(130.0), ..settings() });
    for s in 0..12 {
        watch.weigh(&reading(0, s, hours(s), thriving(s)));
    }
    let a = watch.weigh(&reading(0, 12, hours(12), thriving(12) + 131.0));
    let doubt = a.doubt.expect("held back");
    assert_eq!(doubt.cause, Cause::Tare);
    assert_eq!(doubt.meant_g, Some(thriving(12) + 1.0));
}

#[test]
fn a_confirmed_reading_is_believed_at_once() {
    let mut watch = after(12);
    assert!(watch.weigh(&reading(0, 12, hours(12), 505.0)).doubt.is_some());
    let sure = Reading { confirmed: true, ..reading(0, 12, hours(12) + 0.1, 505.0) };
    let a = watch.weigh(&sure);
    assert_eq!(a.doubt, None);
    assert!((a.weight_g - 505.0).abs() < 12.0, "{}", a.weight_g);
    assert!(a.alarm(), "a loss of an eighth in half a day: {:?}", a.standing);
}

#[test]
fn the_same_surprise_twice_is_no_slip() {
    let mut watch = after(12);
    assert!(watch.weigh(&reading(0, 12, hours(12), 505.0)).doubt.is_some());
    assert_eq!(watch.weigh(&reading(0, 13, hours(13), 506.0)).doubt, None);
}

#[test]
fn swapped_pups_are_both_held_back() {
    let mut watch = Watch::new(settings());
    for s in 0..12 {
        watch.weigh(&reading(0, s, hours(s), thriving(s)));
        watch.weigh(&reading(1, s, hours(s), (thriving(s) * 1.08).round()));
    }
    // Eight per cent apart: too little to doubt the first one alone.
    let (a, b) = (thriving(12), (thriving(12) * 1.08).round());
    let first = watch.weigh(&reading(0, 12, hours(12), b));
    let second = watch.weigh(&reading(1, 12, hours(12), a));
    assert_eq!(second.doubt.expect("held back").cause, Cause::WrongPup(0));
    assert!(second.also_doubted == Some(0) || first.doubt.is_some());
    // The right way round is accepted for both.
    assert_eq!(watch.weigh(&reading(0, 12, hours(12) + 0.1, a)).doubt, None);
    assert_eq!(watch.weigh(&reading(1, 12, hours(12) + 0.1, b)).doubt, None);
}

/// A pup that stands still from session 20 on, alone or with its mates.
fn stall(pups: usize, stalled: &[usize]) -> Vec<Assessment> {
    let mut watch = Watch::new(settings());
    let mut out = Vec::new();
    for s in 0..30 {
        for pup in 0..pups {
            let still = stalled.contains(&pup) && s > 20;
            let grams = if still { thriving(20) } else { thriving(s) };
            out.push(watch.weigh(&reading(pup, s, hours(s) + pup as f64 / 60.0, grams)));
        }
    }
    out
}

#[test]
fn a_stalled_pup_is_named_and_explained_within_two_days() {
    let all = stall(4, &[2]);
    let first = all.iter().find(|a| a.alarm()).expect("an alarm");
    assert_eq!(first.pup, 2);
    assert!(first.hours_from_birth > hours(20) && first.hours_from_birth < hours(20) + 48.0);
    assert!(all.iter().filter(|a| a.alarm()).all(|a| a.pup == 2));
    let said = first.sentences(WeightUnit::Gram).join(" ");
    assert!(said.contains("expected") || said.contains("faltering"), "{said}");
    assert!(!first.whole_litter_slow);
}

#[test]
fn a_litter_that_stalls_together_points_at_the_dam_and_the_room() {
    let all = stall(4, &[0, 1, 2, 3]);
    let last = all.last().expect("some");
    assert!(last.whole_litter_slow && last.alarm());
    let said = last.sentences(WeightUnit::Gram).join(" ");
    assert!(said.contains("look at the dam and at the room"), "{said}");
    let alone = stall(4, &[2]);
    let first = |all: &[Assessment]| all.iter().find(|a| a.alarm()).map(|a| a.hours_from_birth);
    assert!(first(&all) <= first(&alone), "mates make a warning earlier, not later");
}

#[test]
fn an_assessment_uses_nothing_later_than_itself() {
    let all = stall(3, &[1]);
    let mut watch = Watch::new(settings());
    let mut again = Vec::new();
    for s in 0..15 {
        for pup in 0..3 {
            let r = reading(pup, s, hours(s) + pup as f64 / 60.0, thriving(s));
            again.push(watch.weigh(&r));
        }
    }
    for (a, b) in again.iter().zip(&all) {
        assert_eq!(a.score, b.score);
        assert_eq!(a.weight_g, b.weight_g);
    }
}

#[test]
fn published_limits_speak_whatever_the_score_says() {
    let mut watch = Watch::new(settings());
    watch.weigh(&reading(0, 0, 1.0, 400.0));
    watch.weigh(&reading(0, 1, 13.0, 392.0));
    watch.weigh(&reading(0, 2, 25.0, 388.0));
    watch.weigh(&reading(0, 3, 37.0, 386.0));
    let a = watch.weigh(&reading(0, 4, 48.0, 384.0));
    assert_eq!(a.crossed, [Some(Floor::LostFour), None, None]);
    assert!(a.alarm());
    watch.weigh(&reading(0, 5, 60.0, 384.0));
    let a = watch.weigh(&reading(0, 6, 72.0, 384.0));
    assert_eq!(a.crossed, [Some(Floor::LostFour), None, Some(Floor::NoGainBy72h)]);
    assert_eq!(a.standing, Standing::RingTheVet);
}

#[test]
fn a_loss_that_no_slip_explains_meets_the_limits_at_once() {
    let mut watch = after(12);
    // From 540 g to 472 g in half a day: an eighth, and no digits exchanged or lost give 579 g.
    let a = watch.weigh(&reading(0, 12, hours(12), 472.0));
    assert_eq!(a.doubt.map(|d| d.cause), Some(Cause::Unexplained));
    assert!(a.counts_at_once);
    assert_eq!(a.crossed, [None, Some(Floor::LostTenthIn48h), None]);
    assert_eq!(a.standing, Standing::RingTheVet);
    // Weighed again and right after all: the limits let go, because it was a slip.
    let a = watch.weigh(&reading(0, 12, hours(12) + 0.2, thriving(12)));
    assert_eq!((a.doubt, a.standing), (None, Standing::DoingWell));
}

#[test]
fn a_doubtful_reading_takes_no_warning_back() {
    let mut watch = Watch::new(settings());
    for s in 0..26 {
        watch.weigh(&reading(0, s, hours(s), thriving(s.min(20))));
    }
    let warned = watch.weigh(&reading(0, 26, hours(26), thriving(20)));
    assert!(warned.alarm());
    let slip = watch.weigh(&reading(0, 27, hours(27), thriving(20) * 10.0));
    assert_eq!(slip.doubt.map(|d| d.cause), Some(Cause::Tenfold));
    assert_eq!(slip.standing, warned.standing);
}

#[test]
fn too_few_readings_ask_for_another() {
    let mut watch = Watch::new(settings());
    let a = watch.weigh(&reading(0, 0, 1.0, 400.0));
    assert!(!a.enough_data);
    assert!(a.sentences(WeightUnit::Gram).iter().any(|s| s == "Not enough data yet: weigh again in 12\u{a0}h."));
}

#[test]
fn a_noisy_household_is_learned_from_its_readings() {
    // Readings that jump by a fixed, made-up pattern of +-size around steady growth.
    let jump = [1.0, -1.0, -0.4, 0.9, -1.2, 0.3, 1.1, -0.7];
    let learned = |size: f64| {
        let mut watch = Watch::new(settings());
        for s in 0..30 {
            for pup in 0..4 {
                let off = size * jump[(s as usize + 3 * pup) % 8];
                let grams = (thriving(s) * f64::exp(off)).round();
                watch.weigh(&reading(pup, s, hours(s), grams));
            }
        }
        watch.noise().level().reading
    };
    let (quiet, noisy) = (learned(0.008), learned(0.025));
    assert!(quiet < 0.013 && noisy > 0.018, "{quiet} {noisy}");
}

#[test]
fn published_birth_weights_are_the_prior_of_a_breed() {
    // Growth handbook 1a (Mugnier et al. 2020, table 1).
    let labrador = breed_birth_weight("labrador retriever").expect("published");
    assert_eq!(labrador.grams, 409.9);
    assert!((labrador.log_sd - 69.2 / 409.9).abs() < 1e-12);
    assert!(breed_birth_weight("some other breed").is_none());
    assert_eq!(BREEDS.len(), 10);
}
