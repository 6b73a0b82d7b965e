//! The best blend of at most N foods, in whole steps of a scale, or both: exact branch and
//! bound over linear programmes.
//!
//! A node forbids some foods, keeps others, and holds each amount between a least and a most.
//! Its bound is the best blend of any amounts within these. A blend that uses no more than N
//! foods, in whole steps, is a candidate. Else one of its foods is forbidden in one branch and
//! kept in the other, or an amount between two steps goes down in one branch and up in the
//! other. Kept foods count against N even when their amount is zero, so no choice is lost.

use super::program::{Failure, Point, Program, WHOLE};

/// More nodes than this are not looked at; the answer then says that it is not proven.
pub const MOST_NODES: usize = 20_000;
/// Whole steps that are better by less than this are not looked for in a kitchen: a tenth, as
/// misses are shown (of 100).
pub const CLOSE: f64 = 1e-3;
/// Nearer to a whole step than this is a whole step to the solver.
const WHOLE_STEP: f64 = 1e-6;

/// What is asked of the amounts, beside the programme's limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ask {
    /// At most this many foods.
    pub foods: Option<usize>,
    /// The whole is this many steps of the scale, and each food a whole number of them.
    pub steps: Option<u32>,
    /// A better blend by less than this is not looked for.
    pub close: f64,
    /// The search ends after this many nodes.
    pub nodes: usize,
}

impl Ask {
    /// The best blend of at most this many foods (of any number), in any amounts.
    #[must_use]
    pub const fn of_foods(foods: Option<usize>) -> Self {
        Self { foods, steps: None, close: 0.0, nodes: MOST_NODES }
    }
}

/// A blend that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    pub point: Point,
    /// Amounts in steps, where steps were asked for.
    pub steps: Vec<f64>,
    /// False: the search ended early, and a better one may exist.
    pub is_proven: bool,
}

/// The best blend that keeps to what is asked.
///
/// # Errors
/// [`Failure`].
pub fn best(program: &Program, ask: Ask) -> Result<Found, Failure> {
    Search::new(program, ask).run(ask.nodes)
}

struct Node {
    least: Vec<f64>,
    most: Vec<f64>,
    kept: Vec<usize>,
    /// Known from the parent, where the branch did not change it.
    point: Option<Point>,
    /// Of the parent: no blend here is better.
    bound: f64,
}

struct Search<'p> {
    program: &'p Program,
    foods: usize,
    step: Option<f64>,
    close: f64,
    /// How much a gram of each food moves all goals together.
    weight_of_gram: Vec<f64>,
    best: Option<Found>,
}

impl<'p> Search<'p> {
    fn new(program: &'p Program, ask: Ask) -> Self {
        let step = ask.steps.map(|steps| WHOLE / f64::from(steps));
        let moves = |j: usize| program.goals.iter().map(|g| g.gives[j].abs() * (g.under + g.over)).sum();
        let weight_of_gram = (0..program.foods).map(moves).collect();
        let foods = ask.foods.unwrap_or(program.foods);
        Self { program, foods, step, close: ask.close, weight_of_gram, best: None }
    }

    fn run(mut self, most_nodes: usize) -> Result<Found, Failure> {
        let all = self.program.foods;
        let root = Node {
            least: vec![0.0; all],
            most: vec![WHOLE; all],
            kept: Vec::new(),
            point: None,
            bound: f64::NEG_INFINITY,
        };
        let mut open = vec![root];
        let mut looked_at = 0;
        while let Some(mut node) = open.pop() {
            if self.is_beaten(node.bound) {
                continue;
            }
            if looked_at == most_nodes {
                let mut found =
                    self.best.ok_or_else(|| Failure::Unsound("too many choices of foods: name fewer".into()))?;
                found.is_proven = false;
                return Ok(found);
            }
            looked_at += 1;
            let solved = node.point.take().map_or_else(|| self.program.solve_between(&node.least, &node.most), Ok);
            let point = match solved {
                Ok(point) if self.is_beaten(point.objective) => continue,
                Ok(point) => point,
                Err(Failure::Infeasible) => continue,
                // The solver may stumble over one node among thousands; its halves are then looked at.
                Err(Failure::Unsound(_)) if self.step.is_some() => {
                    self.halve(node, &mut open);
                    continue;
                }
                Err(failure) => return Err(failure),
            };
            // At the first node and then ever more rarely: most gains come early.
            if let Some(step) = self.step.filter(|_| usize::is_power_of_two(looked_at)) {
                self.try_near(&point, step);
            }
            self.branch(node, point, &mut open);
        }
        self.best.ok_or(Failure::Infeasible)
    }

    fn is_beaten(&self, objective: f64) -> bool {
        self.best.as_ref().is_some_and(|b| objective >= b.point.objective - self.close)
    }

    fn branch(&mut self, node: Node, point: Point, open: &mut Vec<Node>) {
        let used: Vec<usize> = (0..self.program.foods).filter(|j| point.grams[*j] > 0.0).collect();
        if used.len() > self.foods {
            // The food with the largest share among those not yet decided: it most likely stays.
            let undecided = used.iter().copied().filter(|j| !node.kept.contains(j));
            if let Some(food) = undecided.max_by(|a, b| point.grams[*a].total_cmp(&point.grams[*b])) {
                self.forbid_or_keep(node, point, food, open);
            }
            return;
        }
        let Some(step) = self.step else {
            self.offer(point, Vec::new());
            return;
        };
        let between = |j: usize| {
            let steps = point.grams[j] / step;
            (steps - steps.round()).abs()
        };
        // The food whose rounding moves the goals most: a pinch of a mineral weighs more than milk.
        let moves = |j: usize| between(j) * self.weight_of_gram[j];
        let is_between = |j: &usize| between(*j) > WHOLE_STEP;
        let Some(food) = (0..self.program.foods).filter(is_between).max_by(|a, b| moves(*a).total_cmp(&moves(*b)))
        else {
            let steps = point.grams.iter().map(|g| (g / step).round()).collect();
            self.try_steps(steps, step);
            return;
        };
        let steps = point.grams[food] / step;
        let bound = point.objective;
        let mut down = Node { point: None, bound, most: node.most.clone(), ..node.copy() };
        down.most[food] = steps.floor() * step;
        let mut up = Node { point: None, bound, ..node };
        up.least[food] = steps.ceil() * step;
        // The nearer one is looked at first.
        if steps.fract() < 0.5 { open.extend([up, down]) } else { open.extend([down, up]) }
    }

    /// Two halves of a node whose bound is not known.
    fn halve(&mut self, node: Node, open: &mut Vec<Node>) {
        let Some(step) = self.step else { return };
        let wide = |j: usize| ((node.most[j] - node.least[j]) / step).round();
        let Some(food) = (0..self.program.foods).max_by(|a, b| wide(*a).total_cmp(&wide(*b))) else { return };
        if wide(food) < 1.0 {
            self.try_steps(node.least.iter().map(|g| (g / step).round()).collect(), step);
            return;
        }
        let middle = ((node.least[food] / step).round() + (wide(food) / 2.0).floor()) * step;
        let mut down = node.copy();
        down.most[food] = middle;
        let mut up = node;
        up.least[food] = middle + step;
        open.extend([up, down]);
    }

    fn forbid_or_keep(&self, node: Node, point: Point, food: usize, open: &mut Vec<Node>) {
        let bound = point.objective;
        let mut without = Node { point: None, bound, ..node.copy() };
        without.most[food] = 0.0;
        open.push(without);
        let mut with = node;
        with.bound = bound;
        with.kept.push(food);
        with.point = Some(point);
        if let Some(step) = self.step {
            // Kept foods are used; one that is not used is met in the other branch.
            with.least[food] = with.least[food].max(step);
        }
        if with.kept.len() == self.foods {
            for j in (0..self.program.foods).filter(|j| !with.kept.contains(j)) {
                with.most[j] = 0.0;
            }
            with.point = None;
        }
        if with.point.as_ref().is_some_and(|p| p.grams[food] < with.least[food]) {
            with.point = None;
        }
        open.push(with);
    }

    fn offer(&mut self, point: Point, steps: Vec<f64>) {
        if self.best.as_ref().is_none_or(|b| point.objective < b.point.objective) {
            self.best = Some(Found { point, steps, is_proven: true });
        }
    }

    /// Offers these steps if they keep every limit.
    fn try_steps(&mut self, steps: Vec<f64>, step: f64) {
        let grams: Vec<f64> = steps.iter().map(|s| s * step).collect();
        let used = grams.iter().filter(|g| **g > 0.0).count();
        if used <= self.foods && self.program.check(&grams).is_ok() {
            self.offer(Point { objective: self.program.objective(&grams), grams }, steps);
        }
    }

    /// A good candidate early cuts most branches: the blend is rounded to whole steps, and single
    /// steps are moved from one of its foods to another as long as that helps.
    fn try_near(&mut self, point: &Point, step: f64) {
        let used: Vec<usize> = (0..self.program.foods).filter(|j| point.grams[*j] > 0.0).collect();
        if used.len() > self.foods {
            return;
        }
        let mut steps: Vec<f64> = point.grams.iter().map(|g| (g / step + WHOLE_STEP).floor()).collect();
        let left = (WHOLE / step).round() - steps.iter().sum::<f64>();
        let mut by_rest = used.clone();
        let rest = |j: usize| (point.grams[j] / step).fract();
        by_rest.sort_by(|a, b| rest(*b).total_cmp(&rest(*a)));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "fewer than the foods")]
        for j in by_rest.iter().take(left.max(0.0) as usize) {
            steps[*j] += 1.0;
        }
        let mut rank = self.rank(&steps, step);
        loop {
            let mut better = None;
            for from in used.iter().copied().filter(|j| steps[*j] >= 1.0) {
                for to in used.iter().copied().filter(|to| *to != from) {
                    let mut moved = steps.clone();
                    moved[from] -= 1.0;
                    moved[to] += 1.0;
                    let its = self.rank(&moved, step);
                    if its < rank {
                        rank = its;
                        better = Some(moved);
                    }
                }
            }
            let Some(moved) = better else { break };
            steps = moved;
        }
        self.try_steps(steps, step);
    }

    /// How far limits are broken, then the misses.
    fn rank(&self, steps: &[f64], step: f64) -> (f64, f64) {
        let grams: Vec<f64> = steps.iter().map(|s| s * step).collect();
        (self.program.broken_by(&grams), self.program.objective(&grams))
    }
}

impl Node {
    fn copy(&self) -> Self {
        Self {
            least: self.least.clone(),
            most: self.most.clone(),
            kept: self.kept.clone(),
            point: None,
            bound: self.bound,
        }
    }
}
