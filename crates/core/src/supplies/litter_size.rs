//! How many pups are born: published means and spreads, and the chance of each number.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::growth::priors::SizeClass;
use crate::references::{self as source, Sourced};

/// The most pups that the format holds; the largest litter read of had 24.
pub const LARGEST: u32 = 25;

/// Mugnier et al. 2020, Table 1: breed, mean and SD of the litter size, and how many percent of the
/// live-born die by day 21.
pub(super) const BREEDS: Sourced<[(&str, f64, f64, f64); 10]> = Sourced::new(
    [
        ("Australian Shepherd", 7.6, 2.1, 5.5),
        ("Bichon Frise", 6.4, 1.9, 24.3),
        ("Cocker Spaniel", 5.7, 1.9, 6.5),
        ("German Shepherd", 7.0, 2.9, 7.8),
        ("Golden Retriever", 7.8, 2.8, 7.3),
        ("Labrador Retriever", 7.8, 2.7, 6.2),
        ("Maltese", 5.1, 1.8, 15.7),
        ("Rottweiler", 8.2, 2.4, 18.9),
        ("Shih Tzu", 5.3, 2.1, 16.7),
        ("West Highland White Terrier", 5.3, 1.6, 11.2),
    ],
    &source::LITTER_SIZE_BREED,
);

/// Means by the size of the grown dog.
const CLASSES: Sourced<[(SizeClass, f64); 5]> = Sourced::new(
    [
        (SizeClass::Toy, 3.5),
        (SizeClass::Small, 4.2),
        (SizeClass::Medium, 5.7),
        (SizeClass::Large, 6.9),
        (SizeClass::Giant, 7.1),
    ],
    &source::LITTER_SIZE_CLASS,
);

/// SD over mean where no SD is published.
const SPREAD: Sourced<f64> = Sourced::new(0.34, &source::LITTER_SIZE_SPREAD);

/// Any dog: mean and SD.
const ANY: Sourced<(f64, f64)> = Sourced::new((5.4, 2.8), &source::LITTER_SIZE_ALL);

/// The row of a breed.
pub(super) fn breed_row(breed: Option<&str>) -> Option<&'static (&'static str, f64, f64, f64)> {
    const ROWS: &[(&str, f64, f64, f64)] = &BREEDS.value;
    let breed = breed?.trim();
    ROWS.iter().find(|row| row.0.eq_ignore_ascii_case(breed))
}

/// Whether a litter size is published for this breed.
#[must_use]
pub fn has_published_size(breed: &str) -> bool {
    breed_row(Some(breed)).is_some()
}

/// Mean and SD of the litter size with their sources: by breed, else by the weight of the grown
/// dog in kg, else of any dog.
#[must_use]
pub fn published_size(breed: Option<&str>, adult_kg: Option<f64>) -> (Sourced<f64>, Sourced<f64>) {
    if let Some((_, mean, sd, _)) = breed_row(breed) {
        return (Sourced::new(*mean, BREEDS.source), Sourced::new(*sd, BREEDS.source));
    }
    let class = adult_kg.map(SizeClass::of_adult);
    match class.and_then(|class| CLASSES.value.into_iter().find(|row| row.0 == class)) {
        Some((_, mean)) => (Sourced::new(mean, CLASSES.source), Sourced::new(mean * SPREAD.value, SPREAD.source)),
        None => (Sourced::new(ANY.value.0, ANY.source), Sourced::new(ANY.value.1, ANY.source)),
    }
}

/// The chance of 1, 2, … pups: a normal of this mean and SD, cut into whole pups from 1 to
/// [`LARGEST`] and scaled to one.
///
/// # Panics
/// An SD that is not above 0; an assumption cannot be one.
#[must_use]
pub fn chances_of_size(mean: f64, sd: f64) -> Vec<f64> {
    let normal = Normal::new(mean, sd).expect("a mean and an SD above 0");
    let below = |pups: u32| normal.cdf(f64::from(pups) + 0.5);
    let raw: Vec<f64> = (1..=LARGEST).map(|n| below(n) - below(n - 1)).collect();
    let all: f64 = raw.iter().sum();
    raw.into_iter().map(|p| p / all).collect()
}

/// The chance of 1, 2, … pups when so many were counted: right, or one off to either side.
#[must_use]
pub(super) fn chances_when_counted(counted: u32, off: f64) -> Vec<f64> {
    let of = |n: u32| match i64::from(n) - i64::from(counted) {
        0 => 1.0 - off,
        -1 | 1 => off / 2.0,
        _ => 0.0,
    };
    let raw: Vec<f64> = (1..=LARGEST).map(of).collect();
    // One pup was counted: there is none to miss.
    let all: f64 = raw.iter().sum();
    raw.into_iter().map(|p| p / all).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(chances: &[f64]) -> (f64, f64) {
        let sum = |power: i32| chances.iter().zip(1..).map(|(p, n)| p * f64::from(n).powi(power)).sum::<f64>();
        (sum(1), (sum(2) - sum(1).powi(2)).sqrt())
    }

    #[test]
    fn published_litter_sizes() {
        // Cutting at one pup moves a mean by at most 0.1 and an SD by at most 0.1 where the published
        // SD is small beside the mean.
        for (breed, mean, sd, _) in BREEDS.value {
            let (m, s) = moments(&chances_of_size(mean, sd));
            assert!((m - mean).abs() < 0.1 && (s - sd).abs() < 0.1, "{breed}: {m} {s}");
        }
        // Care handbook section 11: Labrador Retriever 7.8 (2.7), Maltese 5.1 (1.8) and 15.7 % by day 21.
        let (mean, sd) = published_size(Some("labrador retriever "), Some(3.0));
        assert_eq!((mean.value, sd.value), (7.8, 2.7));
        assert_eq!(breed_row(Some("Maltese")), Some(&("Maltese", 5.1, 1.8, 15.7)));
        // Borge et al. 2011: 3.5 under 5 kg, 7.1 over 45 kg, and what lies between rises.
        let class = |kg: f64| published_size(Some("no such breed"), Some(kg)).0.value;
        assert_eq!((class(4.9), class(46.0)), (3.5, 7.1));
        assert!(class(4.9) < class(5.0) && class(9.9) < class(10.0) && class(24.9) < class(25.0));
        // The mean of the ten breeds' SD over mean.
        let spread = BREEDS.value.iter().map(|(_, mean, sd, _)| sd / mean).sum::<f64>() / 10.0;
        assert!((spread - SPREAD.value).abs() < 0.005, "{spread}");
        // Chastant-Maillard et al. 2017: 5.4, SD 2.8. So wide a normal is cut at one pup, which lifts
        // its mean by a quarter of a pup.
        assert_eq!((published_size(None, None).0.value, published_size(None, None).1.value), (5.4, 2.8));
        let (m, s) = moments(&chances_of_size(5.4, 2.8));
        assert!((m - 5.4).abs() < 0.3 && (s - 2.8).abs() < 0.3, "{m} {s}");
    }

    #[test]
    fn a_count_is_right_or_one_off() {
        let chances = chances_when_counted(7, 0.2);
        let near: Vec<f64> = chances[5..8].iter().map(|p| (p * 100.0).round() / 100.0).collect();
        assert_eq!(near, [0.1, 0.8, 0.1]);
        assert!((chances.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let one = chances_when_counted(1, 0.2);
        assert!((one[0] - 0.8 / 0.9).abs() < 1e-12 && one[2] == 0.0);
    }
}
