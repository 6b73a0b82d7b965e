//! What is known of the milk that a pup gets from its dam, as a distribution on a grid.
//!
//! Unknown: the milk `n` (g a day), the energy `e` of a gram of it, the cost `c` of a gram of gain,
//! the upkeep `m` and the number of nursings `f` a day. Seen: a gain with its SD, the energy given
//! by hand, and weighings before and after nursings.
//!
//! `gain = (e n + by_hand - m W^0.75) / c + error`, `weighed = n / f + spread - evaporation -
//! soiling + error`. The upkeep is integrated in closed form (all is normal in it), the rest on
//! grids; the distribution of `n` and `e` together is kept. A nursing between whose weighings the pup
//! soiled is only a floor: the chance that so much or more was drunk.

use statrs::function::erf::erfc;

/// Cells of the grid of milk.
const CELLS: usize = 160;
/// Nodes of each log-normal factor, in standard deviations.
const NODES: [f64; 11] = [-4.0, -3.2, -2.4, -1.6, -0.8, 0.0, 0.8, 1.6, 2.4, 3.2, 4.0];

/// What is believed before anything is seen. Log-normals are (median, SD of the logarithm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beliefs {
    /// Mean and SD of the milk, g a day, cut off at 0 and at `most_g`.
    pub milk: (f64, f64),
    pub most_g: f64,
    /// Mean and SD, kcal per kg^0.75 and day.
    pub upkeep: (f64, f64),
    /// Kcal per g of gain; log-normal.
    pub cost: (f64, f64),
    /// Kcal per g of the dam's milk; log-normal.
    pub strength: (f64, f64),
    /// Nursings a day; log-normal.
    pub nursings: (f64, f64),
    /// SD of one nursing as a share of the usual one.
    pub spread: f64,
    /// Lost to the air between the two weighings, g.
    pub evaporated_g: f64,
    /// Chance that the pup soiled between the weighings, and how much that weighs, g.
    pub soiled: (f64, f64),
    /// SD of the difference of two readings of the scale, g.
    pub difference_sd_g: f64,
}

/// What is seen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seen {
    pub weight_kg: f64,
    /// Gain and its SD, g a day.
    pub gain: Option<(f64, f64)>,
    /// Energy given by hand, kcal a day.
    pub by_hand_kcal: f64,
    /// After less before, g, one for each weighed nursing.
    pub nursed_g: Vec<f64>,
    /// The same for nursings between whose weighings the pup soiled: it drank at least that.
    pub floors_g: Vec<f64>,
}

/// The distribution of the milk and of its strength together.
#[derive(Debug, Clone)]
pub struct Posterior {
    cell_g: f64,
    strengths: Vec<f64>,
    /// By cell of milk, then by strength; sums to 1.
    chance: Vec<Vec<f64>>,
}

/// The posterior; proper whatever is seen, because the belief before is proper.
#[must_use]
pub fn posterior(believed: &Beliefs, seen: &Seen) -> Posterior {
    let start = Posterior::before(believed);
    let by_growth = by_growth(&start, believed, seen);
    let by_weighing = by_weighing(&start, believed, seen);
    start.times(|cell, strength| by_growth[cell][strength] + by_weighing[cell])
}

/// The same by the gain alone and by the weighed nursings alone, without any belief about the milk
/// itself: for asking whether the two agree.
#[must_use]
pub fn apart(believed: &Beliefs, seen: &Seen) -> [Posterior; 2] {
    let flat = Beliefs { milk: (0.0, f64::INFINITY), ..*believed };
    let start = Posterior::before(&flat);
    let growth = by_growth(&start, believed, seen);
    let weighing = by_weighing(&start, believed, seen);
    [start.times(|cell, strength| growth[cell][strength]), start.times(|cell, _| weighing[cell])]
}

impl Posterior {
    fn before(believed: &Beliefs) -> Self {
        let cell_g = believed.most_g / count(CELLS);
        let strengths = nodes(believed.strength);
        let middle = |cell: usize| middle_of(cell, cell_g);
        let chance = (0..CELLS)
            .map(|cell| {
                let milk = log_density(middle(cell), believed.milk.0, believed.milk.1).exp();
                strengths.iter().map(|(_, weight)| milk * weight).collect()
            })
            .collect();
        Self { cell_g, strengths: strengths.into_iter().map(|(value, _)| value).collect(), chance }.normalised()
    }

    /// Multiplied by a likelihood that is given as its logarithm.
    fn times(&self, log_likelihood: impl Fn(usize, usize) -> f64) -> Self {
        let logs: Vec<Vec<f64>> = self
            .chance
            .iter()
            .enumerate()
            .map(|(cell, row)| row.iter().enumerate().map(|(j, p)| p.ln() + log_likelihood(cell, j)).collect())
            .collect();
        let highest = logs.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        let chance = logs.into_iter().map(|row| row.into_iter().map(|l| (l - highest).exp()).collect()).collect();
        Self { chance, strengths: self.strengths.clone(), ..*self }.normalised()
    }

    /// Multiplied by a normal density of the milk.
    #[must_use]
    pub fn and_normal(&self, mean_g: f64, sd_g: f64) -> Self {
        self.times(|cell, _| log_density(self.middle(cell), mean_g, sd_g))
    }

    fn normalised(mut self) -> Self {
        let total: f64 = self.chance.iter().flatten().sum();
        self.chance.iter_mut().flatten().for_each(|p| *p /= total);
        self
    }

    fn middle(&self, cell: usize) -> f64 {
        middle_of(cell, self.cell_g)
    }

    /// Chance of each cell of milk.
    fn cells(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.chance.iter().enumerate().map(|(cell, row)| (self.middle(cell), row.iter().sum()))
    }

    /// Mean of the milk, g a day.
    #[must_use]
    pub fn mean_g(&self) -> f64 {
        self.cells().map(|(g, p)| g * p).sum()
    }

    /// Standard deviation of the milk, g a day.
    #[must_use]
    pub fn sd_g(&self) -> f64 {
        let mean = self.mean_g();
        self.cells().map(|(g, p)| (g - mean).powi(2) * p).sum::<f64>().sqrt()
    }

    /// Chance that the milk is at most so many g a day.
    #[must_use]
    pub fn chance_at_most(&self, grams: f64) -> f64 {
        let part = |g: f64| ((grams - (g - self.cell_g / 2.0)) / self.cell_g).clamp(0.0, 1.0);
        self.cells().map(|(g, p)| p * part(g)).sum()
    }

    /// A quantile of the milk, g a day; `p` in 0 to 1.
    #[must_use]
    pub fn quantile_g(&self, p: f64) -> f64 {
        let mut below = 0.0;
        for (g, chance) in self.cells() {
            if below + chance >= p {
                return g - self.cell_g / 2.0 + self.cell_g * ((p - below) / chance.max(f64::MIN_POSITIVE)).min(1.0);
            }
            below += chance;
        }
        self.cell_g * count(CELLS)
    }

    /// A quantile of the energy in the dam's milk, kcal a day; `p` in 0 to 1.
    #[must_use]
    pub fn quantile_kcal(&self, p: f64) -> f64 {
        let mut all: Vec<(f64, f64)> = self
            .chance
            .iter()
            .enumerate()
            .flat_map(|(cell, row)| row.iter().zip(&self.strengths).map(move |(p, e)| (self.middle(cell) * e, *p)))
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut below = 0.0;
        for (kcal, chance) in &all {
            below += chance;
            if below >= p {
                return *kcal;
            }
        }
        all.last().map_or(0.0, |l| l.0)
    }
}

fn middle_of(cell: usize, cell_g: f64) -> f64 {
    (count(cell) + 0.5) * cell_g
}

#[expect(clippy::cast_precision_loss, reason = "at most 160 cells")]
fn count(n: usize) -> f64 {
    n as f64
}

/// Logarithm of a normal density, without its constant; flat for an infinite SD.
fn log_density(x: f64, mean: f64, sd: f64) -> f64 {
    if sd.is_infinite() { 0.0 } else { -0.5 * ((x - mean) / sd).powi(2) - sd.ln() }
}

/// Values of a log-normal with their weights; one value when it is certain.
fn nodes((median, log_sd): (f64, f64)) -> Vec<(f64, f64)> {
    if log_sd == 0.0 {
        return vec![(median, 1.0)];
    }
    let total: f64 = NODES.iter().map(|z| (-0.5 * z * z).exp()).sum();
    NODES.iter().map(|z| (median * (log_sd * z).exp(), (-0.5 * z * z).exp() / total)).collect()
}

/// Log likelihood of the gain by cell and strength.
fn by_growth(start: &Posterior, believed: &Beliefs, seen: &Seen) -> Vec<Vec<f64>> {
    let Some((gain, gain_sd)) = seen.gain else {
        return vec![vec![0.0; start.strengths.len()]; CELLS];
    };
    let metabolic = seen.weight_kg.powf(0.75);
    let costs = nodes(believed.cost);
    let of = |milk: f64, strength: f64| -> f64 {
        let left = strength * milk + seen.by_hand_kcal - believed.upkeep.0 * metabolic;
        let one = |(cost, weight): &(f64, f64)| {
            let sd = gain_sd.hypot(believed.upkeep.1 * metabolic / cost);
            weight * log_density(gain, left / cost, sd).exp()
        };
        costs.iter().map(one).sum::<f64>().max(f64::MIN_POSITIVE).ln()
    };
    (0..CELLS).map(|cell| start.strengths.iter().map(|e| of(start.middle(cell), *e)).collect()).collect()
}

/// Log likelihood of the weighed nursings by cell; they share one number of nursings a day.
fn by_weighing(start: &Posterior, believed: &Beliefs, seen: &Seen) -> Vec<f64> {
    if seen.nursed_g.is_empty() && seen.floors_g.is_empty() {
        return vec![0.0; CELLS];
    }
    let (chance, soil_g) = believed.soiled;
    let nursings = nodes(believed.nursings);
    let of = |milk: f64| -> f64 {
        let logs: Vec<f64> = nursings
            .iter()
            .map(|(a_day, weight)| {
                let usual = milk / a_day;
                let sd = believed.difference_sd_g.hypot(believed.spread * usual);
                let at_least = |floor: &f64| {
                    let over = (usual - believed.evaporated_g - floor) / sd;
                    (0.5 * erfc(-over * std::f64::consts::FRAC_1_SQRT_2)).max(f64::MIN_POSITIVE).ln()
                };
                let one = |seen: &f64| {
                    let clean = log_density(*seen, usual - believed.evaporated_g, sd).exp();
                    let soiled = log_density(*seen, usual - believed.evaporated_g - soil_g, sd.hypot(soil_g)).exp();
                    ((1.0 - chance) * clean + chance * soiled).max(f64::MIN_POSITIVE).ln()
                };
                weight.ln()
                    + seen.nursed_g.iter().map(one).sum::<f64>()
                    + seen.floors_g.iter().map(at_least).sum::<f64>()
            })
            .collect();
        let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        highest + logs.iter().map(|l| (l - highest).exp()).sum::<f64>().ln()
    };
    (0..CELLS).map(|cell| of(start.middle(cell))).collect()
}

/// The distributions of a litter's pups, held to what their dam yields.
///
/// The others' milk is taken as normal with its own mean and variance; the yield is normal too.
/// Pups that get nothing from the dam are left out by the caller.
#[must_use]
pub fn within_yield(pups: &[Posterior], yield_g: (f64, f64)) -> Vec<Posterior> {
    let moments: Vec<(f64, f64)> = pups.iter().map(|p| (p.mean_g(), p.sd_g().powi(2))).collect();
    let total = moments.iter().fold((0.0, 0.0), |sum, m| (sum.0 + m.0, sum.1 + m.1));
    pups.iter()
        .zip(&moments)
        .map(|(pup, own)| {
            let others = (total.0 - own.0, (total.1 - own.1).max(0.0));
            pup.and_normal(yield_g.0 - others.0, yield_g.1.hypot(others.1.sqrt()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything certain but the milk and the upkeep, so that all is normal.
    fn certain() -> Beliefs {
        Beliefs {
            milk: (50.0, 8.0),
            most_g: 120.0,
            upkeep: (90.0, 18.0),
            cost: (1.8, 0.0),
            strength: (1.3, 0.0),
            nursings: (10.0, 0.0),
            spread: 0.0,
            evaporated_g: 0.3,
            soiled: (0.0, 0.0),
            difference_sd_g: 1.2,
        }
    }

    fn close(ours: f64, expected: f64, tolerance: f64) {
        assert!((ours - expected).abs() < tolerance, "{ours} against {expected}");
    }

    /// Precision-weighted mean and SD of normals.
    fn combined(parts: &[(f64, f64)]) -> (f64, f64) {
        let precision: f64 = parts.iter().map(|(_, sd)| sd.powi(-2)).sum();
        (parts.iter().map(|(mean, sd)| mean * sd.powi(-2)).sum::<f64>() / precision, precision.powf(-0.5))
    }

    #[test]
    fn conjugate_cases_are_exact() {
        // The textbook rule of a normal mean with known variances. By growth: 90 x 0.3^0.75 =
        // 36.48 kcal upkeep with SD 7.30, 18 g of gain at 1.8 kcal with SD 4 x 1.8, less 15 by hand,
        // over 1.3 kcal per g.
        let growth = ((36.482 + 32.4 - 15.0) / 1.3, 7.2964_f64.hypot(7.2) / 1.3);
        // By weighing: mean of three, plus evaporation, times ten nursings.
        let weighed = ((4.0 + 5.0 + 6.0 + 0.9) / 3.0 * 10.0, 1.2 * 10.0 / 3.0_f64.sqrt());
        let seen = Seen { weight_kg: 0.3, gain: Some((18.0, 4.0)), by_hand_kcal: 15.0, ..Seen::default() };
        let both = Seen { nursed_g: vec![4.0, 5.0, 6.0], ..seen.clone() };
        let only = Seen { gain: None, ..both.clone() };
        for (seen, parts) in [
            (seen, vec![(50.0, 8.0), growth]),
            (only, vec![(50.0, 8.0), weighed]),
            (both, vec![(50.0, 8.0), growth, weighed]),
        ] {
            let (mean, sd) = combined(&parts);
            let ours = posterior(&certain(), &seen);
            close(ours.mean_g(), mean, 0.01);
            // A cell adds its own variance to a quantile, a twelfth of its width squared.
            close(ours.sd_g(), sd, 0.01);
            close(ours.quantile_g(0.95), mean + 1.644_853_6 * sd, 0.02);
            close(ours.chance_at_most(mean), 0.5, 0.002);
            close(ours.quantile_kcal(0.5), mean * 1.3, 0.7);
        }
    }

    #[test]
    fn a_litter_is_held_to_its_yield() {
        // Two normals with a normal constraint on their sum: the exact Gaussian answer for a pup is
        // its own prior times the yield less the other's mean, with both variances.
        let pup = |mean: f64, sd: f64| posterior(&Beliefs { milk: (mean, sd), ..certain() }, &Seen::default());
        let held = within_yield(&[pup(40.0, 6.0), pup(60.0, 9.0)], (80.0, 5.0));
        let first = combined(&[(40.0, 6.0), (20.0, 5.0_f64.hypot(9.0))]);
        let second = combined(&[(60.0, 9.0), (40.0, 5.0_f64.hypot(6.0))]);
        close(held[0].mean_g(), first.0, 0.01);
        close(held[0].sd_g(), first.1, 0.01);
        close(held[1].mean_g(), second.0, 0.01);
        close(held[1].sd_g(), second.1, 0.01);
    }

    #[test]
    fn a_floor_lifts_and_never_lowers() {
        // A normal of 51 with SD 8, known to be above its own middle: the half-normal's mean is
        // 51 + 8 sqrt(2 / pi) (textbook). Ten nursings a day, no error but that of the scale, here tiny;
        // 51 g lies on the border of two cells of 0.75 g.
        let sharp = Beliefs { milk: (51.0, 8.0), evaporated_g: 0.0, difference_sd_g: 1e-3, ..certain() };
        let seen = Seen { weight_kg: 0.3, floors_g: vec![5.1], ..Seen::default() };
        let half_normal = 51.0 + 8.0 * (2.0 / std::f64::consts::PI).sqrt();
        close(posterior(&sharp, &seen).mean_g(), half_normal, 0.05);
        let none = posterior(&certain(), &Seen::default()).mean_g();
        for floor in [-3.0, 0.0, 2.0, 6.0, 9.0] {
            let seen = Seen { weight_kg: 0.3, floors_g: vec![floor], ..Seen::default() };
            assert!(posterior(&certain(), &seen).mean_g() >= none - 1e-9, "{floor}");
        }
    }

    #[test]
    fn more_that_is_seen_never_widens_a_normal_answer() {
        let mut before = f64::INFINITY;
        for count in 0..8 {
            let seen = Seen { weight_kg: 0.3, nursed_g: vec![5.0; count], ..Seen::default() };
            let sd = posterior(&certain(), &seen).sd_g();
            assert!(sd < before, "{count} weighed nursings: {sd} after {before}");
            before = sd;
        }
    }
}
