//! The simulation: one draw is one litter, from its birth to the end of milk.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::{Beta, Distribution, Gamma, StandardNormal};

use super::use_of_milk::{Growth, Stretch, used};
use super::{Assumptions, Expected};
use crate::limits;
use crate::references::{self as source, Sourced};
use crate::units::Grams;

/// Oral syringes as they are sold.
pub const SYRINGES_ML: Sourced<[f64; 4]> = Sourced::new([5.0, 10.0, 20.0, 60.0], &source::SYRINGE_SIZES);

/// Birth weights of one litter are alike: this part of the variance lies between litters. Ours.
const BETWEEN_LITTERS: Sourced<f64> = Sourced::new(0.5, &source::SUPPLY_GROWTH);

/// One litter.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Draw {
    pub born: u32,
    pub live_born: u32,
    /// Alive when milk ends.
    pub raised: u32,
    /// Pups that get milk from us at some time.
    pub by_hand: u32,
    pub is_orphan: bool,
    /// Grams of powder, or mL of a milk that is bought as it is fed.
    pub milk: f64,
    /// The same for the first days, if the dam could feed none of the live-born.
    pub milk_of_first_days: f64,
    pub bottles: u32,
    /// For pups up to 300 g and above.
    pub teats: [u32; 2],
    /// 5 Fr and 8 Fr.
    pub tubes: [u32; 2],
    /// By [`SYRINGES_ML`].
    pub syringes: [u32; 4],
}

/// A pup of a draw.
struct Pup {
    growth: Growth,
    /// Age in days at which it dies; none: it is raised.
    dies: Option<f64>,
}

/// The assumptions as the draws need them.
struct Model<'a> {
    expected: &'a Expected,
    sizes: Vec<f64>,
    a: &'a Assumptions,
    /// Mean of the logarithm of the birth weight, SD between and within litters.
    birth: (f64, f64, f64),
}

/// So many litters, from a seed; the same seed gives the same litters.
///
/// Born: by the chance of each size. Lost: beta-binomial, each lost pup stillborn, dead in week 1 or
/// later by the shares assumed. By hand: all pups of an orphan litter from birth; else beta-binomial,
/// and those beyond the teats. Topping up: uniform start, gamma (shape 2) length, beta share.
#[must_use]
pub fn simulate(expected: &Expected, assumptions: &Assumptions, draws: u32, seed: u64) -> Vec<Draw> {
    let mut rng = StdRng::seed_from_u64(seed);
    let spread = assumptions.part("birth_weight_sd_percent");
    let log_variance = spread.powi(2).ln_1p();
    let model = Model {
        expected,
        sizes: assumptions.chances_of_size(),
        a: assumptions,
        birth: (
            assumptions.get("birth_weight_g").ln() - log_variance / 2.0,
            (log_variance * BETWEEN_LITTERS.value).sqrt(),
            (log_variance * (1.0 - BETWEEN_LITTERS.value)).sqrt(),
        ),
    };
    (0..draws).map(|_| model.draw(&mut rng)).collect()
}

impl Model<'_> {
    fn draw(&self, rng: &mut StdRng) -> Draw {
        let a = self.a;
        let born = self.litter_size(rng);
        let stillborn = a.part("stillborn_percent");
        let lost = stillborn + (1.0 - stillborn) * a.part("dies_percent");
        let risk = of_litter(rng, lost, a.get("loss_concentration"));
        let between = self.birth.1 * rng.sample::<f64, _>(StandardNormal);
        let mut pups = Vec::new();
        for _ in 0..born {
            let dies = if rng.random_bool(risk) {
                if rng.random_bool(part_of(stillborn, lost)) {
                    continue;
                }
                Some(self.day_of_death(rng))
            } else {
                None
            };
            pups.push(Pup { growth: self.growth(rng, between), dies });
        }
        let mut draw = Draw {
            born,
            live_born: count(pups.len()),
            raised: count(pups.iter().filter(|p| p.dies.is_none()).count()),
            is_orphan: rng.random_bool(a.part("orphan_percent")),
            ..Draw::default()
        };
        let thrown = {
            let (low, high) = (a.part("thrown_away_low_percent"), a.part("thrown_away_high_percent"));
            low + (high - low).max(0.0) * rng.random::<f64>()
        };
        self.feed(rng, &pups, thrown, &mut draw);
        let first_days = Stretch { until: a.get("covered_days"), ..self.whole() };
        let ml: f64 = pups.iter().map(|p| self.used(p, first_days).ml).sum();
        draw.milk_of_first_days = self.expected.milk.bought(ml / (1.0 - thrown));
        draw
    }

    fn litter_size(&self, rng: &mut StdRng) -> u32 {
        let mut left = rng.random::<f64>();
        for (chance, n) in self.sizes.iter().zip(1..) {
            left -= chance;
            if left < 0.0 {
                return n;
            }
        }
        // The sum of the chances may miss 1 by rounding.
        count(self.sizes.iter().rposition(|p| *p > 0.0).map_or(1, |at| at + 1))
    }

    /// In week 1 with the share assumed, else spread evenly over the days that follow.
    fn day_of_death(&self, rng: &mut StdRng) -> f64 {
        let until = self.a.get("milk_until_day").max(7.0);
        if rng.random_bool(self.a.part("week_one_percent")) {
            7.0 * rng.random::<f64>()
        } else {
            7.0 + (until - 7.0) * rng.random::<f64>()
        }
    }

    fn growth(&self, rng: &mut StdRng, between: f64) -> Growth {
        let (mean, _, within) = self.birth;
        let log = mean + between + within * rng.sample::<f64, _>(StandardNormal);
        Growth { birth: Grams::of(log.exp()), adult: self.expected.adult_or_dam(), rank: rng.random() }
    }

    /// From birth to the end of milk, all of the need.
    fn whole(&self) -> Stretch {
        Stretch {
            from: 0.0,
            until: self.a.get("milk_until_day"),
            share: 1.0,
            left_behind_ml: self.a.get("left_behind_ml"),
        }
    }

    fn used(&self, pup: &Pup, stretch: Stretch) -> super::use_of_milk::Used {
        let until = pup.dies.map_or(stretch.until, |dies| stretch.until.min(dies));
        let milk = &self.expected.milk;
        used(self.expected.energy, milk.kcal_per_ml, &pup.growth, &Stretch { until, ..stretch })
    }

    /// Who is fed by hand, and what that takes.
    fn feed(&self, rng: &mut StdRng, pups: &[Pup], thrown: f64, draw: &mut Draw) {
        let a = self.a;
        let rate = of_litter(rng, a.part("top_up_percent"), a.get("top_up_concentration"));
        let teats = a.get("teats");
        let mut ml = 0.0;
        let (mut units, mut syringes) = ([0.0; 2], [0.0; 4]);
        for (pup, place) in pups.iter().zip(1..) {
            let is_topped_up = rng.random_bool(rate) || f64::from(place) > teats;
            // Drawn for every pup, so that one answer does not shift the numbers of the next.
            let stretch = self.top_up(rng);
            if !(draw.is_orphan || is_topped_up) {
                continue;
            }
            let stretch = if draw.is_orphan { self.whole() } else { stretch };
            if pup.dies.is_some_and(|dies| dies <= stretch.from) {
                continue;
            }
            let used = self.used(pup, stretch);
            ml += used.ml;
            draw.by_hand += 1;
            let first = size_class(used.weight_at_start);
            let last = size_class(used.weight_at_end);
            units[first] += 1.0;
            if last != first {
                units[last] += 1.0;
            }
            syringes[syringe(used.weight_at_start)] += 1.0;
        }
        draw.milk = self.expected.milk.bought(ml / (1.0 - thrown));
        if draw.by_hand > 0 {
            let bottles = a.get("bottles_per_pup");
            draw.bottles = up(f64::from(draw.by_hand) * bottles + a.get("spare_bottles"));
            draw.teats = units.map(|pups| up(pups * bottles * a.get("teats_per_bottle")));
            draw.tubes = units.map(|pups| up(pups * a.get("tubes_per_pup")));
            draw.syringes = syringes.map(|pups| up(pups * a.get("syringes_per_pup")));
        }
    }

    fn top_up(&self, rng: &mut StdRng) -> Stretch {
        let a = self.a;
        let from = a.get("start_day_latest") * rng.random::<f64>();
        let length = Gamma::new(2.0, a.get("top_up_days") / 2.0).expect("a length above 0").sample(rng);
        let share = of_litter(rng, a.part("share_percent"), a.get("share_concentration"));
        let whole = self.whole();
        Stretch { from, until: (from + length).min(whole.until), share, ..whole }
    }
}

/// A rate of one litter about its mean; a mean of none or all does not vary.
fn of_litter(rng: &mut StdRng, mean: f64, concentration: f64) -> f64 {
    if mean <= 0.0 || mean >= 1.0 {
        return mean.clamp(0.0, 1.0);
    }
    let beta = Beta::new(mean * concentration, (1.0 - mean) * concentration).expect("both above 0");
    // Far in a tail the sampler may give no number.
    Some(beta.sample(rng)).filter(|x: &f64| x.is_finite()).map_or(mean, |x| x.clamp(0.0, 1.0))
}

fn part_of(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { (part / whole).clamp(0.0, 1.0) } else { 0.0 }
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some tens of things")]
fn up(things: f64) -> u32 {
    (things - 1e-9).ceil().max(0.0) as u32
}

/// Up to 300 g or above: the edge of the published tube sizes.
fn size_class(weight: Grams) -> usize {
    usize::from(limits::tube_size_fr(weight).value > 5)
}

/// The smallest syringe that holds the largest feed from the second day on.
fn syringe(weight: Grams) -> usize {
    let feed = limits::stomach_limit(limits::FIRST_DAY_H.value, weight).volume.get();
    SYRINGES_ML.value.iter().position(|ml| feed <= *ml).unwrap_or(SYRINGES_ML.value.len() - 1)
}
