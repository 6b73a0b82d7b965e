//! Birth weight against published limits of the breed, and against the litter-mates.

use crate::record::{LeftWhy, Pup};
use crate::units::Grams;

/// Where a birth weight lies among the published bands of its breed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BirthBand {
    Normal,
    Low,
    VeryLow,
    /// No threshold is published for the breed, or none was named.
    NoThreshold,
    /// The birth weight is not known.
    NotWeighed,
}

/// Mugnier et al. 2020, Table 2: breed, very low below, normal from, in tenths of a gram;
/// then pups and deaths in percent by day 21 for normal, low and very low.
type BreedRow = (&'static str, i64, i64, [u32; 3], [f64; 3]);

/// Published limits by breed (`references::BIRTH_BAND`).
pub const BREED_BANDS: &[BreedRow] = &[
    ("Australian Shepherd", 2130, 3750, [234, 291, 22], [3.4, 4.1, 45.5]),
    ("Bichon Frise", 1635, 1810, [46, 24, 33], [15.2, 16.7, 42.4]),
    ("Cocker Spaniel", 1425, 2800, [314, 446, 19], [3.5, 6.1, 68.4]),
    ("German Shepherd", 3380, 4800, [184, 90, 7], [3.3, 12.2, 71.4]),
    ("Golden Retriever", 1775, 4170, [223, 359, 6], [4.5, 8.1, 66.7]),
    ("Labrador Retriever", 2480, 4060, [1029, 848, 26], [2.8, 8.7, 57.7]),
    ("Maltese", 1155, 1630, [85, 60, 21], [8.2, 11.7, 57.1]),
    ("Rottweiler", 3450, 4100, [56, 40, 15], [10.7, 17.5, 53.3]),
    ("Shih Tzu", 1285, 1760, [122, 140, 8], [9.0, 20.0, 75.0]),
    ("West Highland White Terrier", 1290, 1900, [126, 84, 13], [5.6, 13.1, 53.8]),
];

/// The band of a birth weight, only for a breed with a published threshold.
#[must_use]
pub fn birth_band(breed: Option<&str>, birth_weight: Option<Grams>) -> BirthBand {
    let Some(weight) = birth_weight else { return BirthBand::NotWeighed };
    let Some((_, very_low, normal, ..)) = breed.and_then(breed_row) else { return BirthBand::NoThreshold };
    match weight.milligrams() {
        mg if mg < very_low * 100 => BirthBand::VeryLow,
        mg if mg < normal * 100 => BirthBand::Low,
        _ => BirthBand::Normal,
    }
}

/// The published limit below which this breed's pups are very light.
#[must_use]
pub fn very_low_below(breed: &str) -> Option<Grams> {
    #[expect(clippy::cast_precision_loss, reason = "tenths of a gram")]
    breed_row(breed).map(|row| Grams::of(row.1 as f64 / 10.0))
}

fn breed_row(breed: &str) -> Option<&'static BreedRow> {
    BREED_BANDS.iter().find(|row| row.0.eq_ignore_ascii_case(breed.trim()))
}

/// How far a birth weight lies below the mean of the litter, in percent of that mean.
///
/// The mean counts every pup weighed at birth, this one too; a litter of one has none.
#[must_use]
pub fn percent_below_littermates(pups: &[Pup], pup: &Pup) -> Option<f64> {
    let weights: Vec<f64> = pups
        .iter()
        .filter(|p| p.left.is_none_or(|left| left.why != LeftWhy::Stillborn))
        .filter(|p| p.joined_at.is_none())
        .filter_map(|p| p.birth_weight.map(Grams::get))
        .collect();
    let own = pup.birth_weight.filter(|_| pup.joined_at.is_none())?;
    if weights.len() < 2 {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a litter")]
    let mean = weights.iter().sum::<f64>() / weights.len() as f64;
    Some((mean - own.get()) / mean * 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_birth_bands() {
        // Handbook growth.md, check 1 (Mugnier et al. 2020 Table 2, read).
        let check = |grams: f64, expected: BirthBand| {
            assert_eq!(birth_band(Some("Labrador Retriever"), Some(Grams::of(grams))), expected, "{grams} g");
        };
        check(406.0, BirthBand::Normal);
        check(405.9, BirthBand::Low);
        check(248.0, BirthBand::Low);
        check(247.9, BirthBand::VeryLow);
        assert_eq!(birth_band(Some("Maltese"), Some(Grams::of(115.4))), BirthBand::VeryLow);
        assert_eq!(birth_band(Some("maltese "), Some(Grams::of(115.5))), BirthBand::Low);
    }

    #[test]
    fn a_breed_without_a_threshold_gets_no_band() {
        for breed in [None, Some("Chihuahua"), Some("Labrador"), Some("")] {
            assert_eq!(birth_band(breed, Some(Grams::of(90.0))), BirthBand::NoThreshold);
        }
    }

    #[test]
    fn published_breed_table_adds_up() {
        // Handbook growth.md, check 2: the pups of each breed and of all breeds.
        let pups = [547, 103, 779, 281, 588, 1903, 166, 111, 270, 223];
        for (row, expected) in BREED_BANDS.iter().zip(pups) {
            assert_eq!(row.3.iter().sum::<u32>(), expected, "{}", row.0);
        }
        let column = |i: usize| BREED_BANDS.iter().map(|row| row.3[i]).sum::<u32>();
        assert_eq!([column(0), column(1), column(2)], [2419, 2382, 170]);
        // Weighted mortality by column, as the abstract prints it (the table prints 8.9 for the second).
        for (i, expected) in [4.2, 8.8, 55.3].into_iter().enumerate() {
            let deaths: f64 = BREED_BANDS.iter().map(|row| (f64::from(row.3[i]) * row.4[i] / 100.0).round()).sum();
            let share = deaths / f64::from(column(i)) * 100.0;
            assert!((share - expected).abs() < 0.06, "column {i}: {share}");
        }
    }
}
