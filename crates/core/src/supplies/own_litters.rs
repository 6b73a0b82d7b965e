//! What a household's own closed litters say, beside what is published: conjugate updates with a
//! stated weight of the prior.

use crate::limits::PLANNED_UNTIL_H;
use crate::record::{Facts, LeftWhy, Method, Pup, Rearing, hours_after};
use crate::references::{self as source, Sourced};

/// How much the published figure weighs beside own ones: litters (size), pups (losses), pups
/// (topped up), litters (all by hand).
pub(super) const PRIOR_WEIGHTS: Sourced<[f64; 4]> = Sourced::new([4.0, 50.0, 30.0, 60.0], &source::OWN_LITTERS);

/// One closed litter of the household, in numbers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct OwnLitter {
    pub born: u32,
    pub stillborn: u32,
    /// Of the live-born, those that died in the time in which milk is planned.
    pub died: u32,
    /// Of the live-born, those that got milk from us, in a litter that the dam fed.
    pub topped_up: u32,
    /// Every live-born pup was fed by hand and none nursed.
    pub all_by_hand: bool,
}

impl OwnLitter {
    /// The numbers of a litter up to the age for which milk is planned; none while nothing is born.
    /// Pups fostered in are another dam's.
    #[must_use]
    pub fn of(facts: &Facts) -> Option<Self> {
        let own: Vec<_> = facts.pups.iter().filter(|p| p.joined_at.is_none()).collect();
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let is_stillborn = |p: &&Pup| p.left.is_some_and(|l| l.why == LeftWhy::Stillborn);
        let live: Vec<_> = own.iter().copied().filter(|p| !is_stillborn(p)).collect();
        let died = live.iter().filter(|p| {
            let until = hours_after(p.born_at, PLANNED_UNTIL_H.value);
            p.left.is_some_and(|l| matches!(l.why, LeftWhy::Died | LeftWhy::PutToSleep) && l.at <= until)
        });
        let died = count(died.count());
        let by_hand = |p: &&&Pup| {
            let until = hours_after(p.born_at, PLANNED_UNTIL_H.value);
            p.rearing != Rearing::Nursing || facts.hand_feeds(&p.id).any(|f| f.at <= until)
        };
        let fed = live.iter().filter(by_hand).count();
        let is_nursed = facts.feeds.iter().any(|f| f.method == Method::Nursing)
            || live.iter().any(|p| p.rearing != Rearing::HandFed);
        let all_by_hand = !live.is_empty() && fed == live.len() && (!facts.dam.with_pups || !is_nursed);
        (!own.is_empty()).then(|| Self {
            born: count(own.len()),
            stillborn: count(own.len() - live.len()),
            died,
            topped_up: if all_by_hand { 0 } else { count(fed) },
            all_by_hand,
        })
    }

    pub(super) fn live(&self) -> u32 {
        self.born - self.stillborn
    }
}

/// A belief in a rate: a beta distribution of this mean that weighs as much as so many cases.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    pub mean: f64,
    pub weight: f64,
}

impl Rate {
    /// After so many cases of so many seen (beta-binomial).
    #[must_use]
    pub fn after(self, cases: u32, of: u32) -> Self {
        let weight = self.weight + f64::from(of);
        Self { mean: (self.mean * self.weight + f64::from(cases)) / weight, weight }
    }
}

/// A belief in the mean litter size of a household, normal about `mean`; litters of one household
/// vary by `within_sd`, known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    pub mean: f64,
    pub within_sd: f64,
    /// Worth as many litters.
    pub weight: f64,
}

impl Size {
    /// From a published mean and SD over many households: a part of that SD lies between households.
    #[must_use]
    pub fn published(mean: f64, sd: f64, weight: f64) -> Self {
        Self { mean, within_sd: sd * (weight / (weight + 1.0)).sqrt(), weight }
    }

    /// After the sizes of own litters (normal with known SD).
    #[must_use]
    pub fn after(self, sizes: &[u32]) -> Self {
        let sum: f64 = sizes.iter().map(|n| f64::from(*n)).sum();
        #[expect(clippy::cast_precision_loss, reason = "litters of a household")]
        let weight = self.weight + sizes.len() as f64;
        Self { mean: (self.mean * self.weight + sum) / weight, weight, ..self }
    }

    /// SD of the next litter.
    #[must_use]
    pub fn next_sd(self) -> f64 {
        self.within_sd * (1.0 + 1.0 / self.weight).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_own_litters_the_published_figures_stand() {
        let size = Size::published(7.8, 2.7, 4.0);
        assert!((size.next_sd() - 2.7).abs() < 1e-12 && size.after(&[]) == size);
        assert_eq!(Rate { mean: 0.043, weight: 50.0 }.after(0, 0).mean, 0.043);
    }

    #[test]
    fn many_own_litters_outweigh_the_published_figure() {
        let size = Size::published(7.8, 2.7, 4.0).after(&[5; 400]);
        assert!((size.mean - 5.0).abs() < 0.05, "{}", size.mean);
        assert!((Rate { mean: 1.0 / 3.0, weight: 30.0 }.after(0, 3000).mean) < 0.01);
    }
}
