//! From an exact blend to whole steps of a kitchen scale.

use super::program::{Program, TOLERANCE, WHOLE, dot};

/// Amounts in whole steps, and their objective.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    pub grams: Vec<f64>,
    pub objective: f64,
}

/// More tries than this are not made; with many foods each moves by one step only.
const MOST_TRIES: usize = 60_000;

/// The best whole steps about an exact blend that keep every limit: each food of it is tried
/// up to two steps up and down. None when no such amounts keep the limits.
#[must_use]
pub fn weigh(program: &Program, exact: &[f64], whole: f64, step: f64) -> Option<Weighed> {
    let used: Vec<usize> = (0..exact.len()).filter(|j| exact[*j] > 0.0).collect();
    let count = u32::try_from(used.len()).ok()?;
    // Five tries for each food, or three where they are many.
    let reach = match 5usize.saturating_pow(count) {
        tries if tries <= MOST_TRIES => 2,
        _ if 3usize.saturating_pow(count) <= MOST_TRIES => 1,
        _ => 0,
    };
    let nearest: Vec<f64> = used.iter().map(|j| (exact[*j] / WHOLE * whole / step).round()).collect();
    let mut offsets = vec![-reach; used.len()];
    let mut best: Option<(f64, Weighed)> = None;
    loop {
        let steps: Vec<f64> = nearest.iter().zip(&offsets).map(|(n, o)| n + f64::from(*o)).collect();
        if let Some((rank, weighed)) = rate(program, &used, &steps, whole, step)
            && best.as_ref().is_none_or(|(b, _)| rank < *b - 1e-12)
        {
            best = Some((rank, weighed));
        }
        let Some(next) = offsets.iter().position(|o| *o < reach) else { break };
        offsets[next] += 1;
        offsets[..next].fill(-reach);
    }
    best.map(|(_, weighed)| weighed)
}

fn rate(program: &Program, used: &[usize], steps: &[f64], whole: f64, step: f64) -> Option<(f64, Weighed)> {
    if steps.iter().any(|s| *s < 0.0) {
        return None;
    }
    let sum = steps.iter().sum::<f64>() * step;
    // Not less than was asked for, but for a step; not much more.
    if sum < whole - step || sum > whole + step.max(0.03 * whole) {
        return None;
    }
    let mut shares = vec![0.0; program.foods];
    for (j, s) in used.iter().zip(steps) {
        shares[*j] = s * step / sum * WHOLE;
    }
    let is_kept = program.limits.iter().all(|l| {
        let size = l.most.abs() + l.takes.iter().zip(&shares).map(|(c, g)| (c * g).abs()).sum::<f64>();
        dot(&l.takes, &shares) <= l.most + TOLERANCE * size
    });
    if !is_kept {
        return None;
    }
    let objective = program.objective(&shares);
    let grams = shares.iter().map(|s| (s / WHOLE * sum / step).round() * step).collect();
    // Among equals the amount nearest to what was asked for.
    Some((objective + 1e-6 * (sum - whole).abs(), Weighed { grams, objective }))
}

#[cfg(test)]
mod tests {
    use super::super::targets::{self, Stage};
    use super::*;
    use crate::milk::foods::by_id;
    use crate::units::Grams;

    #[test]
    fn whole_steps_agree_with_every_amount_tried() {
        // Three foods, 100 g in steps of 2 g: every recipe of 98 to 103 g is tried one by one.
        let foods = ["goat_milk", "cream", "water"].map(|id| by_id(id).unwrap().clone());
        let targets = Stage::Mature.targets().value;
        let rules = targets::rules(&foods, &targets, Grams::of(100.0));
        let program = targets::program(&foods, &targets, &rules, 0.0);
        let exact = program.solve().unwrap();
        let ours = weigh(&program, &exact.grams, 100.0, 2.0).unwrap();
        let mut best = f64::INFINITY;
        for goat in 0..52 {
            for cream in 0..52 {
                for water in 0..52 {
                    let steps = [goat, cream, water].map(f64::from);
                    if let Some((_, w)) = rate(&program, &[0, 1, 2], &steps, 100.0, 2.0) {
                        best = best.min(w.objective);
                    }
                }
            }
        }
        assert!((ours.objective - best).abs() < 1e-9, "{} against {best}", ours.objective);
        assert!(ours.objective >= exact.objective - 1e-9, "rounding never beats the exact blend");
        assert!(ours.grams.iter().all(|g| (g / 2.0).fract() == 0.0));
    }

    #[test]
    fn a_pinch_that_no_step_can_weigh_is_not_faked() {
        // 100 g of handbook blend L4 need 0.167 g calcium carbonate: a 1 g scale cannot weigh that.
        let foods =
            ["goat_milk", "cream", "whey_protein", "calcium_carbonate", "water"].map(|id| by_id(id).unwrap().clone());
        let targets = Stage::Mature.targets().value;
        let rules = targets::rules(&foods, &targets, Grams::of(100.0));
        let program = targets::program(&foods, &targets, &rules, 0.0);
        let exact = program.solve().unwrap();
        assert!(weigh(&program, &exact.grams, 100.0, 0.1).is_some());
        if let Some(w) = weigh(&program, &exact.grams, 100.0, 1.0) {
            assert!(
                program
                    .check(&w.grams.iter().map(|g| g / w.grams.iter().sum::<f64>() * 100.0).collect::<Vec<_>>())
                    .is_ok()
            );
        }
    }
}
