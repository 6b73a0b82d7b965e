//! What is expected of a birth weight before the first reading.

/// Size of the grown dog.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizeClass {
    /// Under 5 kg.
    Toy,
    /// 5-10 kg.
    Small,
    /// 10-25 kg.
    Medium,
    /// 25-45 kg.
    Large,
    /// Over 45 kg.
    Giant,
}

/// A log-normal prior of the birth weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BirthWeight {
    pub grams: f64,
    pub log_sd: f64,
}

impl SizeClass {
    /// By the expected weight of the grown dog.
    pub fn of_adult(kg: f64) -> Self {
        match kg {
            kg if kg < 5.0 => Self::Toy,
            kg if kg < 10.0 => Self::Small,
            kg if kg < 25.0 => Self::Medium,
            kg if kg <= 45.0 => Self::Large,
            _ => Self::Giant,
        }
    }

    /// Rounded from Mugnier et al. 2020, table 1, by the breeds of each class; the giant row
    /// is from memory, unconfirmed.
    pub fn birth_weight(self) -> BirthWeight {
        let (grams, log_sd) = match self {
            SizeClass::Toy => (155.0, 0.22),
            SizeClass::Small => (185.0, 0.19),
            SizeClass::Medium => (310.0, 0.23),
            SizeClass::Large => (430.0, 0.19),
            SizeClass::Giant => (600.0, 0.20),
        };
        BirthWeight { grams, log_sd }
    }
}

/// Breeds with published birth weights: mean and SD in grams (Mugnier et al. 2020, table 1).
pub const BREEDS: [(&str, f64, f64); 10] = [
    ("Australian Shepherd", 363.8, 82.6),
    ("Bichon Frise", 180.1, 35.6),
    ("Cocker Spaniel", 262.6, 59.4),
    ("German Shepherd", 513.7, 90.8),
    ("Golden Retriever", 394.8, 76.8),
    ("Labrador Retriever", 409.9, 69.2),
    ("Maltese", 161.9, 34.2),
    ("Rottweiler", 403.8, 58.6),
    ("Shih Tzu", 175.5, 27.9),
    ("West Highland White Terrier", 192.1, 36.3),
];

/// The published birth weight of a breed.
pub fn breed_birth_weight(name: &str) -> Option<BirthWeight> {
    let row = BREEDS.iter().find(|row| row.0.eq_ignore_ascii_case(name.trim()))?;
    Some(BirthWeight { grams: row.1, log_sd: row.2 / row.1 })
}

/// When neither breed nor size is known: a litter weighs 12-14 % of its dam (Small Animal
/// Clinical Nutrition, table 16-1).
pub fn birth_weight_from_dam(dam_g: f64, pups: usize) -> BirthWeight {
    BirthWeight { grams: 0.13 * dam_g / pups.max(1) as f64, log_sd: 0.25 }
}

/// When nothing is known: toy to giant.
pub const ANY_BIRTH_WEIGHT: BirthWeight = BirthWeight { grams: 320.0, log_sd: 0.5 };

/// One pup of a litter need not be like its breed: the first reading decides, not the prior.
pub const LEAST_LOG_SD: f64 = 0.25;
