//! The blend as a linear programme: grams of each food in 100 g, goals with their misses,
//! hard limits; solved by a general solver and re-checked here.
//!
//! Extended goal programming ([`crate::references::BLEND_METHOD`]). With x in grams per 100 g,
//! goal k asks for `a_k · x = 1` (a share of its target), under u and over v:
//!
//! ```text
//! minimise  (1 - s) Σ_k (p_k u_k + q_k v_k)  +  s D
//! subject to  a_k · x + u_k - v_k = 1,   D ≥ p_k u_k + q_k v_k   for each goal k
//!             c_i · x ≤ b_i              for each limit i
//!             Σ x = 100,  x, u, v ≥ 0
//! ```
//!
//! s is the spread: 0 asks for the least total miss, 1 for no nutrient far off.

use good_lp::{
    Expression, ProblemVariables, ResolutionError, Solution as _, SolverModel as _, Variable, constraint, variable,
};

/// A goal: what each gram of each food gives, as a share of the target.
#[derive(Debug, Clone)]
pub struct Goal {
    pub gives: Vec<f64>,
    /// Weight of a miss below and above the target.
    pub under: f64,
    pub over: f64,
}

impl Goal {
    fn reached(&self, x: &[f64]) -> f64 {
        dot(&self.gives, x)
    }

    /// The weighted miss.
    #[must_use]
    pub fn miss(&self, x: &[f64]) -> f64 {
        let off = self.reached(x) - 1.0;
        if off < 0.0 { -off * self.under } else { off * self.over }
    }
}

/// A hard limit: `takes · x ≤ most`.
#[derive(Debug, Clone)]
pub struct Limit {
    pub takes: Vec<f64>,
    pub most: f64,
}

impl Limit {
    /// The part above the limit beyond rounding, as a share of the limit's size.
    fn broken_by(&self, x: &[f64]) -> f64 {
        let size = self.most.abs() + self.takes.iter().zip(x).map(|(c, g)| (c * g).abs()).sum::<f64>();
        let over = dot(&self.takes, x) - self.most;
        if over > TOLERANCE * size { over / size } else { 0.0 }
    }
}

/// A blend to be found.
#[derive(Debug, Clone)]
pub struct Program {
    pub foods: usize,
    pub goals: Vec<Goal>,
    pub limits: Vec<Limit>,
    /// 0 to 1.
    pub spread: f64,
}

/// A blend that was found: grams in 100 g, and its re-computed objective.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    pub grams: Vec<f64>,
    pub objective: f64,
}

/// Why there is no blend.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// The limits conflict.
    Infeasible,
    /// The solver failed, or its answer broke a constraint.
    Unsound(String),
}

/// Of 100 g; the amounts sum to this.
pub const WHOLE: f64 = 100.0;
/// Constraints are re-checked to this, relative to their size.
pub const TOLERANCE: f64 = 1e-7;

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Program {
    /// The best blend.
    ///
    /// # Errors
    /// [`Failure`].
    pub fn solve(&self) -> Result<Point, Failure> {
        self.solve_between(&vec![0.0; self.foods], &vec![WHOLE; self.foods])
    }

    /// The best blend with each amount between a least and a most.
    ///
    /// # Errors
    /// [`Failure`].
    pub(super) fn solve_between(&self, least: &[f64], most: &[f64]) -> Result<Point, Failure> {
        let mut model = Model::between(self, least, most)?;
        let mut objective = Expression::from(0.0);
        let worst = (self.spread > 0.0).then(|| model.variables.add(variable().min(0.0)));
        let mut rows = Vec::new();
        for goal in &self.goals {
            let under = model.variables.add(variable().min(0.0));
            let over = model.variables.add(variable().min(0.0));
            let miss = goal.under * under + goal.over * over;
            rows.push(constraint!(model.weigh(&goal.gives) + under - over == 1.0));
            if let Some(worst) = worst {
                rows.push(constraint!(miss.clone() <= worst));
            }
            objective += (1.0 - self.spread) * miss;
        }
        if let Some(worst) = worst {
            objective += self.spread * worst;
        }
        let (grams, claimed) = model.minimise(&objective, rows)?;
        let point = Point { objective: self.objective(&grams), grams };
        self.check(&point.grams)?;
        if (point.objective - claimed).abs() > TOLERANCE * (1.0 + claimed.abs()) {
            return Err(Failure::Unsound(format!("the objective is {}, the solver says {claimed}", point.objective)));
        }
        Ok(point)
    }

    /// The objective of any amounts, from its definition.
    #[must_use]
    pub fn objective(&self, x: &[f64]) -> f64 {
        let misses = self.goals.iter().map(|g| g.miss(x));
        let worst = misses.clone().fold(0.0, f64::max);
        (1.0 - self.spread) * misses.sum::<f64>() + self.spread * worst
    }

    /// Whether the limits alone can be kept.
    ///
    /// # Errors
    /// [`Failure`].
    pub fn is_feasible(&self) -> Result<bool, Failure> {
        let found = Model::of(self).and_then(|m| m.minimise(&Expression::from(0.0), Vec::new()));
        match found {
            Ok((x, _)) => self.check(&x).map(|()| true),
            Err(Failure::Infeasible) => Ok(false),
            Err(failure) => Err(failure),
        }
    }

    /// The least value that a combination of the foods can take within the limits.
    ///
    /// # Errors
    /// [`Failure`].
    pub fn least(&self, takes: &[f64]) -> Result<f64, Failure> {
        let model = Model::of(self)?;
        let objective = model.weigh(takes);
        let (x, _) = model.minimise(&objective, Vec::new())?;
        self.check(&x)?;
        Ok(dot(takes, &x))
    }

    /// Re-checks every constraint.
    ///
    /// # Errors
    /// [`Failure::Unsound`] with the first constraint that is broken.
    pub fn check(&self, x: &[f64]) -> Result<(), Failure> {
        let fail = |what: String| Err(Failure::Unsound(what));
        if x.iter().any(|g| !g.is_finite() || *g < -TOLERANCE * WHOLE) {
            return fail("an amount below zero".into());
        }
        let sum: f64 = x.iter().sum();
        if (sum - WHOLE).abs() > TOLERANCE * WHOLE {
            return fail(format!("the parts sum to {sum} of 100 g"));
        }
        match self.limits.iter().position(|limit| limit.broken_by(x) > 0.0) {
            Some(i) => fail(format!("limit {i} is broken")),
            None => Ok(()),
        }
    }

    /// By how much the limits are broken together, each as a share of its size.
    pub(super) fn broken_by(&self, x: &[f64]) -> f64 {
        self.limits.iter().map(|limit| limit.broken_by(x)).sum()
    }
}

struct Model {
    variables: ProblemVariables,
    /// None: a food of which nothing may be taken.
    x: Vec<Option<Variable>>,
    rows: Vec<good_lp::Constraint>,
}

impl Model {
    fn of(program: &Program) -> Result<Self, Failure> {
        Self::between(program, &vec![0.0; program.foods], &vec![WHOLE; program.foods])
    }

    /// The amounts with their sum and limits. A limit on one food is a bound of its amount.
    fn between(program: &Program, least: &[f64], most: &[f64]) -> Result<Self, Failure> {
        let mut variables = ProblemVariables::new();
        let (mut least, mut most) = (least.to_vec(), most.to_vec());
        let mut wide = Vec::new();
        for limit in &program.limits {
            let mut used = limit.takes.iter().enumerate().filter(|(_, c)| **c != 0.0);
            match (used.next(), used.next()) {
                (Some((j, c)), None) if *c > 0.0 => most[j] = most[j].min(limit.most / c),
                (Some((j, c)), None) => least[j] = least[j].max(limit.most / c),
                // Nothing takes from it.
                (None, _) if limit.most >= 0.0 => {}
                (None, _) => return Err(Failure::Infeasible),
                _ => wide.push(limit),
            }
        }
        if least.iter().zip(&most).any(|(least, most)| *most < 0.0 || least > most) {
            return Err(Failure::Infeasible);
        }
        let bounds = least.iter().zip(&most);
        let x = bounds
            .map(|(least, most)| (*most > 0.0).then(|| variables.add(variable().min(*least).max(*most))))
            .collect();
        let mut model = Self { variables, x, rows: Vec::new() };
        model.rows.push(constraint!(model.weigh(&vec![1.0; program.foods]) == WHOLE));
        for limit in wide {
            // Rows of like size keep the solver exact.
            let scale = limit.takes.iter().fold(0.0, |m: f64, c| m.max(c.abs())).max(1e-12);
            let scaled: Vec<f64> = limit.takes.iter().map(|c| c / scale).collect();
            model.rows.push(constraint!(model.weigh(&scaled) <= limit.most / scale));
        }
        Ok(model)
    }

    fn weigh(&self, coefficients: &[f64]) -> Expression {
        let each = self.x.iter().zip(coefficients).filter(|(_, c)| **c != 0.0);
        each.filter_map(|(x, c)| x.map(|x| *c * x)).sum()
    }

    fn minimise(self, objective: &Expression, rows: Vec<good_lp::Constraint>) -> Result<(Vec<f64>, f64), Failure> {
        let mut problem = self.variables.minimise(objective.clone()).using(good_lp::microlp);
        for row in self.rows.into_iter().chain(rows) {
            problem.add_constraint(row);
        }
        let solution = problem.solve().map_err(|error| match error {
            ResolutionError::Infeasible => Failure::Infeasible,
            other => Failure::Unsound(other.to_string()),
        })?;
        // A crumb is no ingredient.
        let value = |x: &Option<Variable>| x.map_or(0.0, |x| solution.value(x));
        let grams = self.x.iter().map(|x| Some(value(x)).filter(|g| g.abs() > 1e-9).unwrap_or(0.0)).collect();
        Ok((grams, solution.eval(objective)))
    }
}
