//! safety.md, "Amounts": the size of one feed.

use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

use super::config;
use super::generate::{any_litter, fed_litter};
use super::litter::{DAY, H, Litter, Order, Weighing, Weight};
use super::oracle::{Case, Planned, Seen, ask, hours};

/// Rounding of decimal numbers only.
const HAIR: f64 = 1e-6;

fn every_feed(
    case: &Case,
    mut look: impl FnMut(&Seen<'_>, &Planned<'_>) -> Result<(), TestCaseError>,
) -> Result<(), TestCaseError> {
    for seen in case.pups() {
        for planned in &seen.feeds {
            look(&seen, planned)?;
        }
    }
    Ok(())
}

/// Every pup has an order of a vet, often one that ends within the plan.
fn ordered_litter() -> impl Strategy<Value = Litter> {
    let order = (
        prop_oneof![1 => Just(None), 3 => (1..23 * H).prop_map(Some)],
        option::of(1..400_u32),
        option::of(select(vec![2.0, 3.0, 6.0])),
        option::of(select(vec![10.0, 24.0, 35.0])),
    );
    (fed_litter(), order).prop_map(|(mut litter, (until_in, tenths, hours, energy))| {
        for pup in &mut litter.pups {
            pup.order = Some(Order {
                given: pup.age.min(H),
                until_in,
                per_feed: tenths.map(|t| f64::from(t) / 10.0),
                hours,
                energy,
            });
        }
        litter
    })
}

fn stomach_is_kept(case: &Case) -> Result<(), TestCaseError> {
    every_feed(case, |seen, planned| {
        let (amount, limit) = (planned.feed.amount_ml, seen.stomach(planned));
        if seen.age_at(planned) < 24 * H {
            prop_assert!(amount < limit, "{amount} mL reaches {limit} before 24 h: {}", seen.story());
        } else {
            prop_assert!(amount <= limit + HAIR, "{amount} mL is above {limit}: {}", seen.story());
        }
        Ok(())
    })
}

proptest! {
    #![proptest_config(config())]

    /// "strictly below 20 mL/kg before 24 h of age; then at most 40 mL/kg", any litter.
    #[test]
    fn an_amount_stays_below_20_ml_per_kg_before_24_h_and_within_40_later(litter in any_litter()) {
        stomach_is_kept(&ask(&litter))?;
    }

    /// The same where nearly every pup is fed, with the first day at its edge.
    #[test]
    fn an_amount_keeps_the_stomach_limit_when_the_first_day_ends_inside_the_plan(
        litter in fed_litter(), minutes in 0..24 * 60_i64
    ) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            pup.age = minutes * 60;
            pup.weighings.clear();
            pup.feeds.clear();
            pup.checks.clear();
            pup.order = None;
            pup.birth.get_or_insert(Weight::Grams(2500));
        }
        stomach_is_kept(&ask(&litter))?;
    }

    /// "at most" also holds for the limit that is printed beside the amount.
    #[test]
    fn the_limit_beside_an_amount_is_the_stomach_limit_of_that_very_age(litter in fed_litter()) {
        every_feed(&ask(&litter), |seen, planned| {
            let (most, limit) = (planned.feed.at_most_ml, seen.stomach(planned));
            prop_assert!(most <= limit + HAIR && planned.feed.amount_ml <= most + HAIR, "{most} beside {limit}: {}", seen.story());
            Ok(())
        })?;
    }

    /// "Stale weight" and "Amounts": the weight that counts is the newest one that is not in doubt.
    #[test]
    fn an_amount_is_computed_from_the_newest_weight(litter in fed_litter()) {
        let case = ask(&litter);
        every_feed(&case, |seen, planned| {
            if seen.is_clean(&case) {
                let newest = seen.weights().last().map(|w| w.1).expect("a fed pup was weighed");
                prop_assert!((planned.feed.weight_g - newest).abs() < HAIR, "newest {newest} g: {}", seen.story());
            }
            Ok(())
        })?;
    }

    /// A tenfold slip never feeds a pup: it is held back until it is weighed again.
    #[test]
    fn a_tenfold_slip_never_raises_an_amount(litter in fed_litter(), is_upward in any::<bool>(), days in 1..10_i64, slip_ago in 0..8 * H) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            let birth = pup.birth.map_or(300.0, Weight::grams).clamp(60.0, 1500.0);
            pup.age = days * DAY;
            pup.birth = Some(Weight::nearest(birth, 0));
            let daily = (1..=days).map(|day| (pup.age - day * DAY + 12 * H, birth * 1.06_f64.powi(i32::try_from(day).unwrap_or(0)), "unknown"));
            pup.weighings = daily.map(|(ago, g, taken)| Weighing { ago, weight: Weight::nearest(g, 0), taken }).collect();
            let last = pup.weighings.last().map_or(birth, |w| w.weight.grams());
            let slip = if is_upward { last * 10.0 } else { last / 10.0 };
            if slip > 31.0 {
                pup.weighings.push(Weighing { ago: slip_ago, weight: Weight::nearest(slip, 0), taken: "unknown" });
            }
            pup.feeds.clear();
            pup.checks.clear();
            pup.order = None;
        }
        every_feed(&ask(&litter), |seen, planned| {
            let slip = seen.pup.weighings.last().expect("weighed every day").weight.grams();
            let is_slip = !(0.5..2.0).contains(&(slip / seen.pup.birth.expect("set above").grams()));
            prop_assert!(!is_slip || (planned.feed.weight_g - slip).abs() > 0.2, "fed on the slip of {slip} g: {}", seen.story());
            Ok(())
        })?;
    }

    /// The same where the reading before the slip was itself held back: two readings within hours
    /// that differ tenfold are not both believable.
    #[test]
    fn a_tenfold_slip_over_a_doubtful_weight_never_raises_an_amount(litter in fed_litter(), days in 12..20_i64) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            let birth = pup.birth.map_or(300.0, Weight::grams).clamp(80.0, 600.0);
            pup.age = days * DAY;
            pup.birth = Some(Weight::nearest(birth, 0));
            let weighing = |ago, parts: f64| Weighing { ago, weight: Weight::nearest(birth * parts, 0), taken: "unknown" };
            pup.weighings = vec![weighing(2 * H, 0.4), weighing(H, 4.0)];
            pup.feeds.clear();
            pup.checks.clear();
            pup.order = None;
        }
        every_feed(&ask(&litter), |seen, planned| {
            let slip = seen.pup.birth.expect("set above").grams() * 4.0;
            prop_assert!((planned.feed.weight_g - slip).abs() > 1.0, "fed on {slip} g, ten times the reading before: {}", seen.story());
            Ok(())
        })?;
    }

    /// "what is given within the shortest gap counts as one feed"; the shortest gap is 2 h.
    #[test]
    fn what_is_given_within_two_hours_counts_as_one_feed(litter in fed_litter()) {
        every_feed(&ask(&litter), |seen, planned| {
            let is_same = |at: i64| at <= planned.at && planned.at - at < 2 * H;
            let recorded: f64 = seen.hand_feeds().iter().filter(|f| is_same(-f.ago)).filter_map(|f| f.at_most()).sum();
            let nursed: f64 = seen.pup.feeds.iter().filter(|f| f.ago >= 0 && is_same(-f.ago))
                .filter_map(|f| f.nursed.map(|(b, a)| (a - b).max(0.0))).sum();
            let plan: f64 = seen.feeds.iter().filter(|p| is_same(p.at)).map(|p| p.feed.amount_ml).sum();
            let (total, limit) = (recorded + nursed + plan, seen.stomach(planned));
            prop_assert!(total <= limit + HAIR, "{recorded} + {nursed} + {plan} above {limit}: {}", seen.story());
            Ok(())
        })?;
    }

    /// "a missed feed is never made up by a larger one": no amount above an equal share of the day, or,
    /// where rounds fitted to carers are at unequal times, above the share of the time to the next feed.
    #[test]
    fn a_missed_feed_is_never_made_up_by_a_larger_one(litter in fed_litter()) {
        let case = ask(&litter);
        let is_fitted = case.today.rounds.iter().any(|r| !r.carers.is_empty());
        every_feed(&case, |seen, planned| {
            if seen.pup.order.is_none() {
                let need = seen.line.need.as_ref().expect("a fed pup has a need");
                let longest = if seen.pup.age < 14 * DAY { 4 * H } else { 8 * H };
                let next = seen.feeds.iter().map(|p| p.at).find(|at| *at > planned.at);
                let gap = hours(next.map_or(longest, |next| next - planned.at));
                let share = if is_fitted { need.by_hand_ml * gap / 24.0 } else { need.by_hand_ml / f64::from(need.feeds_per_day) };
                prop_assert!(planned.feed.amount_ml <= share + HAIR, "{} above the share {share}: {}", planned.feed.amount_ml, seen.story());
            }
            Ok(())
        })?;
    }

    /// "a vet's own amount … replaces ours visibly, still within the stomach limit".
    #[test]
    fn a_vets_amount_replaces_ours_visibly_and_within_the_stomach(litter in ordered_litter()) {
        every_feed(&ask(&litter), |seen, planned| {
            if let Some(ordered) = seen.order_at(planned.at).and_then(|o| o.per_feed) {
                let f = planned.feed;
                prop_assert!(f.ordered_by == Some(format!("vet of {}", seen.name)), "not said: {}", seen.story());
                prop_assert!(f.amount_ml <= ordered + HAIR && f.amount_ml <= seen.stomach(planned) + HAIR, "ordered {ordered}: {}", seen.story());
            }
            Ok(())
        })?;
    }

    /// An order that has ended, or is not yet given, orders nothing.
    #[test]
    fn a_vets_order_ends_when_it_ends(litter in ordered_litter()) {
        every_feed(&ask(&litter), |seen, planned| {
            if seen.order_at(planned.at).is_none() {
                prop_assert!(planned.feed.ordered_by.is_none(), "the order ended at {:?} s: {}", seen.pup.order.as_ref().map(|o| o.until_in), seen.story());
            }
            Ok(())
        })?;
    }

    /// A pup that was never weighed has no amount.
    #[test]
    fn without_a_weight_there_is_no_amount(litter in any_litter()) {
        for seen in ask(&litter).pups() {
            if seen.weights().is_empty() {
                prop_assert!(seen.feeds.is_empty(), "{}", seen.story());
            }
        }
    }

    /// "Energy default (kcal ME per 100 g and day): 15 on days 1–3, 20 on days 4–6, then 22, editable 20–25".
    #[test]
    fn the_energy_default_is_15_then_20_then_22(litter in fed_litter()) {
        for seen in ask(&litter).pups() {
            let Some(need) = &seen.line.need else { continue };
            if litter.energy_table == Some("weeks") || seen.order_at(0).is_some_and(|o| o.energy.is_some()) {
                continue;
            }
            let expected = match seen.pup.age {
                age if age < 3 * DAY => 15.0,
                age if age < 6 * DAY => 20.0,
                _ => litter.energy.unwrap_or(22.0),
            };
            let said = need.energy_kcal_per_100g_day;
            prop_assert!((said - expected).abs() < HAIR, "{said} and not {expected}: {}", seen.story());
        }
    }

    /// "the amount" a syringe can show, never rounded up: whole tenths below 5 mL, halves above.
    #[test]
    fn an_amount_is_a_mark_of_a_syringe(litter in fed_litter()) {
        every_feed(&ask(&litter), |seen, planned| {
            let ml = planned.feed.amount_ml;
            let marks = if ml < 5.0 { ml * 10.0 } else { ml * 2.0 };
            prop_assert!(ml > 0.0 && (marks - marks.round()).abs() < HAIR, "{ml}: {}", seen.story());
            Ok(())
        })?;
    }
}
