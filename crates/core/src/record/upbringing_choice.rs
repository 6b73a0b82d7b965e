//! The guidelines and the law that a household chooses for the dates of its pups.

/// Whose intervals of worming stand on the list of dates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WormingGuideline {
    Esccap,
    Capc,
}

/// Whose window of vaccination stands on the list of dates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VaccinationGuideline {
    Wsava2024,
    Aaha2022,
}

/// Whose law says how old a pup must be to go home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HomeLaw {
    England,
    France,
    Germany,
    NewSouthWales,
    UsEightWeeks,
    UsSevenWeeks,
}

/// What the household chose; none where it said nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UpbringingChoice {
    pub worming: Option<WormingGuideline>,
    pub vaccination: Option<VaccinationGuideline>,
    pub home_law: Option<HomeLaw>,
}

macro_rules! words_of {
    ($type:ident, $words:ident, $($variant:ident = $word:literal,)*) => {
        /// The words of the format, in the order of the type.
        pub const $words: &[&str] = &[$($word,)*];

        impl $type {
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }

            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|v| v.word() == word)
            }
        }
    };
}

words_of! { WormingGuideline, WORMING_WORDS, Esccap = "esccap", Capc = "capc", }
words_of! { VaccinationGuideline, VACCINATION_WORDS, Wsava2024 = "wsava_2024", Aaha2022 = "aaha_2022", }
words_of! { HomeLaw, HOME_LAW_WORDS,
    England = "england", France = "france", Germany = "germany", NewSouthWales = "new_south_wales",
    UsEightWeeks = "us_8_weeks", UsSevenWeeks = "us_7_weeks",
}
