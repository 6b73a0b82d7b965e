//! The kinds of check and the words that each may hold: one table for parsing, schema and page.

macro_rules! words {
    ($($name:ident = $text:literal,)*) => {
        /// A word that a check (or a milk) may hold.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Word { $($name,)* }

        impl Word {
            /// The word as it stands in a file.
            #[must_use]
            pub const fn text(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }
        }
    };
}

words! {
    Yes = "yes", No = "no",
    Strong = "strong", Weak = "weak", None = "none",
    Whole = "whole", Cleft = "cleft",
    Easy = "easy", Noisy = "noisy", Laboured = "laboured",
    Firm = "firm", LooseYellow = "loose_yellow", LooseGreen = "loose_green", Grey = "grey",
    White = "white", Watery = "watery", Bloody = "bloody",
    Soft = "soft", Full = "full", Taut = "taut",
    PinkMoist = "pink_moist", Tacky = "tacky", Pale = "pale", Blue = "blue",
    Active = "active", Quiet = "quiet", Crying = "crying_over_15_min", Panting = "panting",
    Limp = "limp", CannotBeRoused = "cannot_be_roused", Seizure = "seizure", Bleeding = "bleeding",
    Passed = "passed", NothingPassed = "nothing_passed",
    Normal = "normal", Poor = "poor", DarkGreen = "dark_green", Foul = "foul", Creamy = "creamy",
    RedBrown = "red_brown", HotOrHard = "hot_or_hard", PusOrBlood = "pus_or_blood",
    Calm = "calm", RestlessPanting = "restless_panting", StiffGait = "stiff_gait", Tremor = "tremor",
    Good = "good", Little = "little", RefusesPups = "refuses_pups", Begun = "begun", Over = "over",
    Fit = "fit", SeeAgain = "see_again", NotFit = "not_fit",
    RawEgg = "raw_egg", RawMilk = "raw_milk", Honey = "honey", CookedEgg = "cooked_egg",
}

/// Whom a check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// One pup; the column `pup` is filled.
    Pup,
    /// The dam, the box or the whole litter; the column `pup` is empty.
    Litter,
}

/// What the value of a check looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ValueShape {
    /// Degrees Celsius or Fahrenheit between two whole limits in °C.
    Temperature {
        fahrenheit: bool,
        min_c: i32,
        max_c: i32,
    },
    Words(&'static [Word]),
}

/// One line of the table of checks.
#[derive(Debug, Clone, Copy)]
pub struct CheckKindRow {
    pub kind: CheckKind,
    pub word: &'static str,
    pub about: About,
    pub shape: ValueShape,
    pub meaning: &'static str,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CheckKind {
    RectalTemperature,
    SkinTemperature,
    EarTemperature,
    InfraredTemperature,
    BoxTemperature,
    Suck,
    Palate,
    Breathing,
    Dried,
    ColostrumSeen,
    Stool,
    Urine,
    Belly,
    Gums,
    Behaviour,
    MilkAtNose,
    DamTemperature,
    DamAppetite,
    DamDischarge,
    DamGlands,
    DamBehaviour,
    DamMilk,
    PupsWithDam,
    Labour,
    Straining,
}

const fn temperature(fahrenheit: bool, min_c: i32, max_c: i32) -> ValueShape {
    ValueShape::Temperature { fahrenheit, min_c, max_c }
}

macro_rules! kinds {
    ($($kind:ident, $word:literal, $about:ident, $shape:expr, $meaning:literal;)*) => {
        /// Every kind of check. Words are listed from well to ill.
        pub const CHECK_KINDS: &[CheckKindRow] = &[$(CheckKindRow {
            kind: CheckKind::$kind, word: $word, about: About::$about, shape: $shape, meaning: $meaning,
        },)*];
    };
}

use Word as W;

kinds! {
    RectalTemperature, "rectal_temperature_c", Pup, temperature(false, 20, 44), "The only reading that shows a pup to be warm.";
    RectalTemperature, "rectal_temperature_f", Pup, temperature(true, 20, 44), "The same in degrees Fahrenheit.";
    SkinTemperature, "skin_temperature_c", Pup, temperature(false, 15, 44), "Raises a suspicion; never clears a pup for feeding.";
    EarTemperature, "ear_temperature_c", Pup, temperature(false, 15, 44), "As for skin.";
    InfraredTemperature, "infrared_temperature_c", Pup, temperature(false, 15, 44), "As for skin.";
    Suck, "suck", Pup, ValueShape::Words(&[W::Strong, W::Weak, W::None]), "A clean finger in the mouth: gripped with clear force, or not.";
    Palate, "palate", Pup, ValueShape::Words(&[W::Whole, W::Cleft]), "Looked at in white light before the first bottle.";
    Breathing, "breathing", Pup, ValueShape::Words(&[W::Easy, W::Noisy, W::Laboured]), "At rest and after a feed.";
    Dried, "dried", Pup, ValueShape::Words(&[W::Yes, W::No]), "Rubbed dry after birth.";
    ColostrumSeen, "colostrum_seen", Pup, ValueShape::Words(&[W::Yes, W::No]), "Seen to swallow the first milk.";
    Stool, "stool", Pup, ValueShape::Words(&[W::Firm, W::None, W::LooseYellow, W::LooseGreen, W::Grey, W::White, W::Watery, W::Bloody]), "Judged in white light.";
    Urine, "urine", Pup, ValueShape::Words(&[W::Passed, W::NothingPassed]), "After stroking with warm wet cotton.";
    Belly, "belly", Pup, ValueShape::Words(&[W::Soft, W::Full, W::Taut]), "Taut is tight as a drum.";
    Gums, "gums", Pup, ValueShape::Words(&[W::PinkMoist, W::Tacky, W::Pale, W::White, W::Grey, W::Blue]), "Judged in white light.";
    Behaviour, "behaviour", Pup, ValueShape::Words(&[W::Active, W::Quiet, W::Crying, W::Panting, W::Limp, W::CannotBeRoused, W::Seizure, W::Bleeding]), "Sleep after a feed is `quiet`.";
    MilkAtNose, "milk_at_nose", Pup, ValueShape::Words(&[W::Yes, W::No]), "Milk came out of the nose during or after a feed.";
    BoxTemperature, "box_temperature_c", Litter, temperature(false, 5, 45), "At the level of the pups.";
    BoxTemperature, "box_temperature_f", Litter, temperature(true, 5, 45), "The same in degrees Fahrenheit.";
    DamTemperature, "dam_temperature_c", Litter, temperature(false, 30, 43), "Rectal, of the dam.";
    DamTemperature, "dam_temperature_f", Litter, temperature(true, 30, 43), "The same in degrees Fahrenheit.";
    DamAppetite, "dam_appetite", Litter, ValueShape::Words(&[W::Normal, W::Poor, W::None]), "Of the dam.";
    DamDischarge, "dam_discharge", Litter, ValueShape::Words(&[W::None, W::RedBrown, W::DarkGreen, W::Creamy, W::Foul]), "Judged in white light.";
    DamGlands, "dam_glands", Litter, ValueShape::Words(&[W::Normal, W::HotOrHard, W::PusOrBlood]), "Each gland felt.";
    DamBehaviour, "dam_behaviour", Litter, ValueShape::Words(&[W::Calm, W::RestlessPanting, W::StiffGait, W::RefusesPups, W::Tremor, W::Seizure]), "The signs of a calcium crisis come in this order.";
    DamMilk, "dam_milk", Litter, ValueShape::Words(&[W::Good, W::Little, W::None]), "What the glands give.";
    PupsWithDam, "pups_with_dam", Litter, ValueShape::Words(&[W::Yes, W::No]), "`no` starts a feeding plan for the whole litter.";
    Labour, "labour", Litter, ValueShape::Words(&[W::Begun, W::Over]), "Starts and ends the clocks of the birth.";
    Straining, "straining", Litter, ValueShape::Words(&[W::None, W::Weak, W::Strong]), "Of the dam in labour.";
}

impl CheckKind {
    /// Place of a word in this kind's list, which runs from well to ill.
    #[must_use]
    pub fn severity(self, word: Word) -> i64 {
        match self.row().shape {
            ValueShape::Words(words) => {
                words.iter().position(|w| *w == word).and_then(|i| i64::try_from(i).ok()).unwrap_or(0)
            }
            ValueShape::Temperature { .. } => 0,
        }
    }

    /// The table's (first) line for this kind; a test sees that every kind has one.
    #[must_use]
    pub fn row(self) -> &'static CheckKindRow {
        CHECK_KINDS.iter().find(|r| r.kind == self).unwrap_or(&CHECK_KINDS[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_table_is_unique() {
        let mut words: Vec<_> = CHECK_KINDS.iter().map(|r| r.word).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), CHECK_KINDS.len());
    }

    #[test]
    fn every_kind_has_a_line() {
        use CheckKind as K;
        for kind in [
            K::RectalTemperature,
            K::SkinTemperature,
            K::EarTemperature,
            K::InfraredTemperature,
            K::BoxTemperature,
            K::Suck,
            K::Palate,
            K::Breathing,
            K::Dried,
            K::ColostrumSeen,
            K::Stool,
            K::Urine,
            K::Belly,
            K::Gums,
            K::Behaviour,
            K::MilkAtNose,
            K::DamTemperature,
            K::DamAppetite,
            K::DamDischarge,
            K::DamGlands,
            K::DamBehaviour,
            K::DamMilk,
            K::PupsWithDam,
            K::Labour,
            K::Straining,
        ] {
            assert_eq!(kind.row().kind, kind);
        }
    }
}
