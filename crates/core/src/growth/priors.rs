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

/// A breed with published birth weights: mean and SD in grams (Mugnier et al. 2020, table
/// 1), very low below `very_low`, low below `low` (table 2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breed {
    pub name: &'static str,
    pub mean_g: f64,
    pub sd_g: f64,
    pub very_low: f64,
    pub low: f64,
}

const fn breed(name: &'static str, mean_g: f64, sd_g: f64, very_low: f64, low: f64) -> Breed {
    Breed { name, mean_g, sd_g, very_low, low }
}

pub const BREEDS: [Breed; 10] = [
    breed("Australian Shepherd", 363.8, 82.6, 213.0, 375.0),
    breed("Bichon Frise", 180.1, 35.6, 163.5, 181.0),
    breed("Cocker Spaniel", 262.6, 59.4, 142.5, 280.0),
    breed("German Shepherd", 513.7, 90.8, 338.0, 480.0),
    breed("Golden Retriever", 394.8, 76.8, 177.5, 417.0),
    breed("Labrador Retriever", 409.9, 69.2, 248.0, 406.0),
    breed("Maltese", 161.9, 34.2, 115.5, 163.0),
    breed("Rottweiler", 403.8, 58.6, 345.0, 410.0),
    breed("Shih Tzu", 175.5, 27.9, 128.5, 176.0),
    breed("West Highland White Terrier", 192.1, 36.3, 129.0, 190.0),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BirthBand {
    Normal,
    Low,
    VeryLow,
}

impl Breed {
    pub fn by_name(name: &str) -> Option<&'static Breed> {
        BREEDS.iter().find(|b| b.name.eq_ignore_ascii_case(name.trim()))
    }

    pub fn birth_weight(&self) -> BirthWeight {
        BirthWeight { grams: self.mean_g, log_sd: self.sd_g / self.mean_g }
    }

    pub fn band(&self, birth_g: f64) -> BirthBand {
        if birth_g >= self.low {
            BirthBand::Normal
        } else if birth_g >= self.very_low {
            BirthBand::Low
        } else {
            BirthBand::VeryLow
        }
    }
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
