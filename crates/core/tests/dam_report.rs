//! The dam's page as data: published figures come through, and what is not known is said.

mod common;

use common::{DAY, Litter, PUP, at, plain};
use whelpward_core::finding::{Level, Standing};
use whelpward_core::report::dam::{DamReport, dam};

fn report(litter: &Litter, now: f64) -> DamReport {
    dam(&litter.facts(), at(now))
}

/// Four pups that all gain so many percent a day, weighed daily.
fn four(dam: &str, percent: f64, days: u32) -> Litter {
    let mut litter = Litter::new().dam(dam).milk(1.0);
    for pup in [PUP, "Elm", "Oak", "Fir"] {
        litter = litter.pup(pup, 300.0, "");
        for day in 1..=days {
            litter = litter.weigh_of(
                pup,
                DAY * f64::from(day),
                300.0 * (1.0 + percent / 100.0).powi(i32::try_from(day).unwrap()),
            );
        }
    }
    litter
}

#[test]
fn published_energy_and_yield_of_each_week() {
    // Feeding handbook section 9: 10 kg and 4 pups, the published equation worked out by hand.
    let report = report(&four("weight_kg = 10", 8.0, 9), 9.0 * DAY);
    let energy: Vec<f64> = report.weeks.iter().map(|w| w.energy_kcal_per_day).collect();
    assert_eq!(energy, [1535.0, 1727.0, 1871.0, 1967.0]);
    assert_eq!(report.weeks.iter().map(|w| w.is_this_week).collect::<Vec<_>>(), [false, true, false, false]);
    assert_eq!(report.pups_nursing, 4);
    // Each week's milk keeps the published steps 0.75, 0.95, 1.1 and 1.2 of the mean.
    for (week, step) in report.weeks.iter().zip([0.75, 0.95, 1.1, 1.2]) {
        assert!((week.milk_ml_per_day / report.weeks[3].milk_ml_per_day - step / 1.2).abs() < 0.01);
    }
    let keys: Vec<&str> = report.notes.iter().map(|n| n.source.key.as_str()).collect();
    assert!(keys.contains(&"dam-energy") && keys.contains(&"dam-yield") && keys.contains(&"dam-yield-spread"));
}

#[test]
fn nothing_is_estimated_in_the_first_two_days() {
    let early = report(&four("weight_kg = 10", 4.0, 1), 47.0);
    assert!(early.milk.is_none());
    assert!(early.pups.iter().all(|p| p.from_dam.estimate.is_none()));
    let why = early.pups[0].from_dam.not_estimated_because.as_deref().unwrap();
    assert!(why.contains("48 h"), "{why}");
    let later = report(&four("weight_kg = 10", 8.0, 6), 6.0 * DAY);
    for pup in &later.pups {
        let milk = pup.from_dam.estimate.as_ref().unwrap();
        assert!(milk.low_ml_per_day < milk.ml_per_day && milk.ml_per_day < milk.high_ml_per_day);
        assert!(milk.low_kcal_per_day < milk.kcal_per_day && milk.kcal_per_day < milk.high_kcal_per_day);
        assert!(milk.surer.contains("weigh four nursings"));
        // More weighing is promised to make it surer, never less sure.
        let after: Vec<f64> = pup.after_weighing.iter().map(|a| a.sure_to_percent).collect();
        assert!(after[0] <= milk.sure_to_percent && after[1] <= after[0], "{after:?} after {}", milk.sure_to_percent);
    }
}

#[test]
fn a_large_dam_whose_pups_hardly_gain_seems_to_give_too_little() {
    let against = |kg: &str, percent: f64| {
        let report = report(&four(&format!("weight_kg = {kg}"), percent, 8), 8.0 * DAY);
        let milk = report.milk.unwrap();
        assert!(milk.seeming_low_ml_per_day <= milk.seeming_ml_per_day);
        (milk.against.clone(), plain(&milk.says))
    };
    assert_eq!(against("12", 7.0).0, "within");
    let (word, says) = against("35", 0.0);
    assert_eq!(word, "below");
    assert!(says.contains("glands"), "{says}");
    assert_eq!(against("1.5", 9.0).0, "above");
}

#[test]
fn what_is_missing_is_asked_for() {
    let report = report(&four("", 8.0, 6), 6.0 * DAY);
    assert!(report.weeks.is_empty() && report.milk.is_none());
    assert!(report.missing.iter().any(|m| m.starts_with("the dam's weight")));
    // The pups' own estimates stand without her.
    assert!(report.pups.iter().all(|p| p.from_dam.estimate.is_some()));
}

#[test]
fn growth_and_weighing_that_disagree_are_a_note_and_change_no_standing() {
    let litter = |nursed: f64| {
        let mut litter = Litter::nursing(300.0).milk(1.0).grows(300.0, 9.0, 7.0 * DAY);
        for i in 1..=8 {
            let hours = 7.0 * DAY - 2.5 * f64::from(i);
            litter = litter.nursed(hours, 540.0, 540.0 + nursed);
        }
        litter
    };
    let now = 7.0 * DAY + 0.5;
    assert!(litter(12.0).finding(now, "milk-disagrees").is_none());
    let line = litter(0.5).line(now);
    let finding = line.assessment.pups[0].findings.iter().find(|f| f.code == "milk-disagrees").unwrap();
    assert_eq!(finding.level, Level::Note);
    assert_eq!(line.assessment.pups[0].standing, Standing::DoingWell);
}

#[test]
fn turns_are_checked_against_the_need_of_each_pup() {
    let plan = |dam: &str| report(&four(dam, 8.0, 6), 6.0 * DAY).turns;
    assert!(plan("weight_kg = 12\nworking_teats = 4").is_none(), "each pup has a teat");
    assert!(plan("weight_kg = 12").is_none(), "nobody counted");
    let enough = plan("weight_kg = 12\nworking_teats = 2").unwrap();
    assert_eq!((enough.turns.len(), enough.turn_h), (2, 4.0));
    assert!(enough.turns.iter().all(|t| t.pups.len() == 2));
    assert!(enough.shares.iter().all(|s| !s.falls_short), "{:?}", enough.shares);
    // Every pup has three turns in 24 h, four hours long, in its group's own times.
    assert!(enough.turns.iter().all(|t| t.from.len() == 3));
    // A very small dam cannot feed four such pups; the shares add up to her milk and no more.
    let short = plan("weight_kg = 2\nworking_teats = 3").unwrap();
    assert!(short.shares.iter().any(|s| s.falls_short) && short.says[0].contains("fall short"), "{:?}", short.says);
    assert!(short.longest_wait_h <= 5.0);
    let all: f64 = short.shares.iter().map(|s| s.gets_kcal_per_day).sum();
    let milk = report(&four("weight_kg = 2", 8.0, 6), 6.0 * DAY).weeks[0].milk_ml_per_day;
    // Bitch's milk has 1.356 kcal in each mL (milk handbook, check 1 and 7).
    assert!((all / (milk * 1.356) - 1.0).abs() < 0.05, "{all} of {milk} mL");
    // The lightest has the free place.
    assert!(!short.twice.is_empty());
}
