//! Turns at the teat, for a litter that is larger than its dam's working teats.

use crate::references::{self as source, Source, Sourced};

/// Hours of a turn in the first days, and from day 4 on.
const TURN_H: Sourced<[f64; 2]> = Sourced::new([2.0, 4.0], &source::TEAT_TURNS);
/// No pup waits longer than this for its turn to begin again.
const LONGEST_WAIT_H: Sourced<f64> = Sourced::new(5.0, &source::TEAT_TURNS);
/// From this day on turns may be longer.
const LONGER_FROM_DAY: Sourced<f64> = Sourced::new(3.0, &source::TEAT_TURNS);

/// The pups that nurse together, lightest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    pub pups: Vec<usize>,
}

/// Turns that go round.
#[derive(Debug, Clone, PartialEq)]
pub struct Turns {
    pub turns: Vec<Turn>,
    /// Length of a turn, h.
    pub turn_h: f64,
    /// From the end of a pup's turn to the beginning of its next one, at the longest, h.
    pub longest_wait_h: f64,
    /// Pups with a second turn in each round, because a teat is free: the lightest.
    pub twice: Vec<usize>,
    pub source: &'static Source,
    /// How the pups are dealt to the turns.
    pub dealing: &'static Source,
}

/// Groups that share the teats. None when every pup has one.
///
/// `weights_g` by pup. The groups are dealt out by weight, so that each has light and heavy pups
/// and none is all heavy; free places go to the lightest. Turns are cut so that nobody waits longer
/// than 5 h. Source: row `teat-turns`; the dealing is ours (row `teat-dealing`).
#[must_use]
pub fn turns(weights_g: &[f64], teats: usize, age_days: f64) -> Option<Turns> {
    let n = weights_g.len();
    if teats == 0 || n <= teats {
        return None;
    }
    let groups = n.div_ceil(teats);
    let mut by_weight: Vec<usize> = (0..n).collect();
    by_weight.sort_by(|a, b| weights_g[*a].total_cmp(&weights_g[*b]).then(a.cmp(b)));
    let mut dealt: Vec<Turn> = vec![Turn { pups: Vec::new() }; groups];
    for (place, pup) in by_weight.iter().enumerate() {
        dealt[place % groups].pups.push(*pup);
    }
    let mut twice = Vec::new();
    for pup in &by_weight {
        let free = |turn: &Turn| turn.pups.len() < teats && !turn.pups.contains(pup);
        let Some(turn) = dealt.iter_mut().filter(|t| free(t)).min_by_key(|t| t.pups.len()) else { break };
        turn.pups.push(*pup);
        twice.push(*pup);
    }
    for turn in &mut dealt {
        turn.pups.sort_by(|a, b| weights_g[*a].total_cmp(&weights_g[*b]).then(a.cmp(b)));
    }
    #[expect(clippy::cast_precision_loss, reason = "a few groups")]
    let others = (groups - 1) as f64;
    let usual = TURN_H.value[usize::from(age_days >= LONGER_FROM_DAY.value)];
    let turn_h = usual.min(LONGEST_WAIT_H.value / others);
    Some(Turns {
        turns: dealt,
        turn_h,
        longest_wait_h: turn_h * others,
        twice,
        source: TURN_H.source,
        dealing: &source::TEAT_DEALING,
    })
}

/// How the milk of a day is shared by turns, kcal by pup.
///
/// It comes in evenly; what gathers for a turn goes to its pups in equal parts, and a pup that has its need
/// leaves the rest to the others of its turn. `needs` by pup, in the unit of `milk`. Our own simplification:
/// row `teat-shares`.
#[must_use]
pub fn shared(plan: &Turns, milk: f64, needs: &[f64]) -> Vec<f64> {
    let mut has = vec![0.0; needs.len()];
    #[expect(clippy::cast_precision_loss, reason = "a few groups")]
    let part = milk / plan.turns.len() as f64 / f64::from(PARTS);
    for _ in 0..PARTS {
        for turn in &plan.turns {
            let hungry: Vec<usize> = turn.pups.iter().copied().filter(|p| has[*p] < needs[*p]).collect();
            #[expect(clippy::cast_precision_loss, reason = "a few pups")]
            let each = part / hungry.len().max(1) as f64;
            for pup in hungry {
                has[pup] += each;
            }
        }
    }
    has.iter().zip(needs).map(|(has, need)| has.min(*need)).collect()
}

/// The day's milk is shared in so many parts; fine enough for a percent.
const PARTS: u32 = 500;
/// Where the sharing comes from.
pub const SHARING: &Source = &source::TEAT_SHARES;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pup_has_its_turn_and_nobody_waits_longer_than_five_hours() {
        // Feeding handbook section 9: groups swapped every 2-3 h at first, then every 4 h, never
        // more than 5 h apart.
        for n in 1..=20_usize {
            for teats in 1..=10_usize {
                #[expect(clippy::cast_precision_loss, reason = "a few pups")]
                let weights: Vec<f64> = (0..n).map(|i| 300.0 + 7.0 * ((i * 5) % n) as f64).collect();
                for days in [1.0, 10.0] {
                    let Some(plan) = turns(&weights, teats, days) else {
                        assert!(n <= teats);
                        continue;
                    };
                    assert!(n > teats && plan.longest_wait_h <= 5.0 + 1e-9);
                    assert!(plan.turns.iter().all(|t| t.pups.len() <= teats && !t.pups.is_empty()));
                    for pup in 0..n {
                        let times = plan.turns.iter().filter(|t| t.pups.contains(&pup)).count();
                        assert!(times >= 1, "{n} pups, {teats} teats");
                        assert!(times == 1 || plan.twice.contains(&pup));
                    }
                    // Who has more turns is never heavier than who has one.
                    let heaviest = plan.twice.iter().map(|p| weights[*p]).fold(0.0, f64::max);
                    let once = (0..n).filter(|p| !plan.twice.contains(p)).map(|p| weights[p]).fold(1e9, f64::min);
                    assert!(plan.twice.is_empty() || heaviest <= once, "{n} pups, {teats} teats: {plan:?}");
                }
            }
        }
    }

    #[test]
    fn milk_is_shared_by_turns() {
        // Three pups at two teats: two turns, {light, heavy} and {middle}, with the free place to the
        // lightest: {light, heavy}, {light, middle}. Nobody has enough: half of each turn each, so the light
        // pup has half of the day's milk and the others a quarter (by hand).
        let plan = turns(&[300.0, 400.0, 500.0], 2, 5.0).unwrap();
        let close = |ours: Vec<f64>, expected: [f64; 3]| {
            for (ours, expected) in ours.iter().zip(expected) {
                assert!((ours - expected).abs() < 0.5, "{ours} against {expected}");
            }
        };
        close(shared(&plan, 100.0, &[90.0, 90.0, 90.0]), [50.0, 25.0, 25.0]);
        // The light pup needs 20 and leaves the rest: 80 for the other two, 40 each.
        close(shared(&plan, 100.0, &[20.0, 90.0, 90.0]), [20.0, 40.0, 40.0]);
        // Plenty for all: each has its need and no more.
        close(shared(&plan, 500.0, &[20.0, 90.0, 60.0]), [20.0, 90.0, 60.0]);
    }

    #[test]
    fn ten_pups_at_eight_teats() {
        let weights = [500.0, 320.0, 480.0, 450.0, 300.0, 470.0, 460.0, 440.0, 490.0, 430.0];
        let plan = turns(&weights, 8, 2.0).unwrap();
        assert_eq!((plan.turns.len(), plan.turn_h, plan.longest_wait_h), (2, 2.0, 2.0));
        // 16 places for 10 pups: the six lightest nurse in both turns.
        assert_eq!(plan.twice, [4, 1, 9, 7, 3, 6]);
        assert_eq!(turns(&weights, 8, 5.0).map(|t| t.turn_h), Some(4.0));
        assert_eq!(turns(&weights, 10, 2.0), None);
    }
}
