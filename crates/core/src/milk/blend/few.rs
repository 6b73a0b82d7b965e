//! The best blend of at most N foods, exactly: branch and bound over which foods are used.
//!
//! A node forbids some foods and keeps others. Its bound is the blend of all foods that are
//! not forbidden. A blend that needs no more than N foods is a candidate; else one of its
//! foods is forbidden in one branch and kept in the other. Kept foods count against N even
//! when their amount is zero, so no choice is lost.

use super::program::{Failure, Point, Program};

/// More branches than this do not occur with a kitchen's foods; the search then says so.
const MOST_NODES: usize = 20_000;

/// The best blend of at most `most` foods.
///
/// # Errors
/// [`Failure`].
pub fn at_most(program: &Program, most: usize) -> Result<Point, Failure> {
    let mut best: Option<Point> = None;
    let mut nodes = vec![(vec![false; program.foods], Vec::<usize>::new(), None::<Point>)];
    let mut visited = 0;
    while let Some((forbidden, kept, bound)) = nodes.pop() {
        visited += 1;
        if visited > MOST_NODES {
            return Err(Failure::Unsound("too many choices of foods: name fewer".into()));
        }
        let point = match bound {
            Some(point) => point,
            None => match only(program, &forbidden).solve_spread(&forbidden) {
                Ok(point) => point,
                Err(Failure::Infeasible) => continue,
                Err(failure) => return Err(failure),
            },
        };
        if best.as_ref().is_some_and(|b| point.objective >= b.objective - 1e-10) {
            continue;
        }
        let used: Vec<usize> = (0..program.foods).filter(|j| point.grams[*j] > 0.0).collect();
        if used.len() <= most {
            best = Some(point);
            continue;
        }
        // The food with the largest share among those not yet decided: it most likely stays.
        let Some(branch) = used
            .iter()
            .copied()
            .filter(|j| !kept.contains(j))
            .max_by(|a, b| point.grams[*a].total_cmp(&point.grams[*b]))
        else {
            continue;
        };
        let mut without = forbidden.clone();
        without[branch] = true;
        nodes.push((without, kept.clone(), None));
        let mut with = kept;
        with.push(branch);
        if with.len() < most {
            nodes.push((forbidden, with, Some(point)));
        } else {
            let others_forbidden = (0..program.foods).map(|j| forbidden[j] || !with.contains(&j)).collect();
            nodes.push((others_forbidden, with, None));
        }
    }
    best.ok_or(Failure::Infeasible)
}

/// The programme of the foods that are not forbidden.
fn only(program: &Program, forbidden: &[bool]) -> Program {
    let keep =
        |values: &[f64]| values.iter().zip(forbidden).filter(|(_, f)| !**f).map(|(v, _)| *v).collect::<Vec<f64>>();
    let mut smaller = program.clone();
    for goal in &mut smaller.goals {
        goal.gives = keep(&goal.gives);
    }
    for limit in &mut smaller.limits {
        limit.takes = keep(&limit.takes);
    }
    smaller.foods = forbidden.iter().filter(|f| !**f).count();
    smaller
}

impl Program {
    /// Solves, and puts zeros where a food is forbidden.
    fn solve_spread(&self, forbidden: &[bool]) -> Result<Point, Failure> {
        if self.foods == 0 {
            return Err(Failure::Infeasible);
        }
        let point = self.solve()?;
        let mut amounts = point.grams.into_iter();
        let grams = forbidden.iter().map(|f| if *f { 0.0 } else { amounts.next().unwrap_or(0.0) }).collect();
        Ok(Point { grams, objective: point.objective })
    }
}
