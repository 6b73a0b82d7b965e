//! What can be done for a pup, or first seen of it, on its way to the new home: one table for
//! parsing, schema, command and page.

use super::Word;

/// Whom an entry is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DoneFor {
    /// One pup; the column `pup` is filled.
    Pup,
    /// One pup, or the dam where `pup` is empty.
    PupOrDam,
}

/// What stands in the column `value`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DoneShape {
    /// It stays empty: that it was done or seen is all.
    Nothing,
    /// Any text, or none.
    AnyText,
    /// A text that must be there.
    Text,
    /// The number of a chip: 1 to 20 letters and digits; gaps and hyphens are left out.
    ChipNumber,
    /// A day, as 2026-11-20.
    Day,
    Words(&'static [Word]),
}

/// Whether a product stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProductRule {
    Must,
    May,
    Never,
}

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct DoneKindRow {
    pub kind: DoneKind,
    pub word: &'static str,
    pub about: DoneFor,
    pub shape: DoneShape,
    pub product: ProductRule,
    pub meaning: &'static str,
}

macro_rules! kinds {
    ($($kind:ident, $word:literal, $about:ident, $shape:expr, $product:ident, $meaning:literal;)*) => {
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum DoneKind { $($kind,)* }

        /// Every kind, in the order in which they usually come.
        pub const DONE_KINDS: &[DoneKindRow] = &[$(DoneKindRow {
            kind: DoneKind::$kind, word: $word, about: DoneFor::$about, shape: $shape,
            product: ProductRule::$product, meaning: $meaning,
        },)*];
    };
}

use DoneShape as S;

kinds! {
    EyesOpen, "eyes_open", Pup, S::Nothing, Never, "Both eyes are open.";
    EarsOpen, "ears_open", Pup, S::Nothing, Never, "It turns to a sound; the ear canals are open.";
    Stands, "stands", Pup, S::Nothing, Never, "Stands up, first steps.";
    Walks, "walks", Pup, S::Nothing, Never, "Walks on all four legs.";
    FirstTeeth, "first_teeth", Pup, S::Nothing, Never, "The first milk teeth are through.";
    PassesUnaided, "passes_unaided", Pup, S::Nothing, Never, "Passes urine and stool without being stroked.";
    Laps, "laps", Pup, S::Nothing, Never, "Laps milk or thin food from a bowl.";
    FirstFood, "first_food", Pup, S::AnyText, May, "The first food other than milk; value: what it was.";
    EatsByItself, "eats_by_itself", Pup, S::Nothing, Never, "Eats its meals from the dish without help.";
    Weaned, "weaned", Pup, S::Nothing, Never, "No milk any more, from the dam or by hand.";
    Worming, "worming", PupOrDam, S::Nothing, Must, "Against worms; a veterinarian decides product and amount.";
    Vaccination, "vaccination", Pup, S::AnyText, Must, "Value: against what, as on the label.";
    Chip, "chip", Pup, S::ChipNumber, Never, "The number, read with a reader after it was placed.";
    Nails, "nails", Pup, S::Nothing, Never, "Nails trimmed.";
    Socialising, "socialising", Pup, S::Text, Never, "Value: whom or what it met, such as children, vacuum cleaner.";
    Outing, "outing", Pup, S::AnyText, Never, "Value: where it went.";
    VetCheck, "vet_check", Pup, S::Words(&[Word::Fit, Word::SeeAgain, Word::NotFit]), Never, "A veterinarian looked the pup over.";
    NewOwner, "new_owner", Pup, S::Text, Never, "Value: the new owner's name, for your own papers.";
    HomeDay, "home_day", Pup, S::Day, Never, "Value: the day on which it is to go home.";
}

impl DoneKind {
    /// Its line of the table.
    ///
    /// # Panics
    /// Never: the same macro makes kinds and lines.
    #[must_use]
    pub fn row(self) -> &'static DoneKindRow {
        DONE_KINDS.iter().find(|r| r.kind == self).expect("every kind has a line")
    }

    /// Its word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        self.row().word
    }

    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        DONE_KINDS.iter().find(|r| r.word == word).map(|r| r.kind)
    }
}

impl DoneShape {
    /// What is allowed, in words.
    #[must_use]
    pub fn allowed(self) -> String {
        match self {
            Self::Nothing => "nothing".into(),
            Self::AnyText => "text, or nothing".into(),
            Self::Text => "text, not blank, at most 200 characters".into(),
            Self::ChipNumber => {
                "the number of the chip, at most 20 letters and digits; gaps and hyphens do not matter".into()
            }
            Self::Day => "a day, as 2026-11-20".into(),
            Self::Words(words) => words.iter().map(|w| w.text()).collect::<Vec<_>>().join(", "),
        }
    }
}
