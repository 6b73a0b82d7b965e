//! What is printed. Each print is one [`Document`], made here from the facts; the page, the HTML file
//! and the PDF come from it.

mod blank;
mod flags;
mod fridge;
mod mix_card;
mod owner;
mod page;
mod paper;
mod review;
mod source;
mod vet;

pub use page::{choice, download, page, page_style, sheet, vet_body, vet_page};
pub use paper::{page as paper_page, save as paper_save};
pub use source::{Given, Source};

use whelpward_print::{Block, Document, Text};

use crate::words::say;

/// One of the prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Print {
    /// A day of feeds for the fridge.
    Fridge,
    /// To write weights on.
    WeighSheet,
    /// To write feeds on.
    FeedSheet,
    /// How the next batch is mixed.
    Mix,
    /// One pup, for a veterinarian.
    Vet,
    /// One pup, for whoever takes it home.
    Owner,
    /// When to ring the vet, and the first steps.
    RedFlags,
    /// The litter looked back on.
    Review,
}

impl Print {
    pub const ALL: [Self; 8] = [
        Self::Fridge,
        Self::WeighSheet,
        Self::FeedSheet,
        Self::Mix,
        Self::Vet,
        Self::Owner,
        Self::RedFlags,
        Self::Review,
    ];

    /// Its word in addresses and commands.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fridge => "fridge",
            Self::WeighSheet => "weigh-sheet",
            Self::FeedSheet => "feed-sheet",
            Self::Mix => "mix",
            Self::Vet => "vet",
            Self::Owner => "owner",
            Self::RedFlags => "red-flags",
            Self::Review => "review",
        }
    }

    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.word() == word)
    }

    /// It is about one pup.
    #[must_use]
    pub const fn is_of_one_pup(self) -> bool {
        matches!(self, Self::Vet | Self::Owner)
    }

    #[must_use]
    pub fn title(self) -> String {
        match self {
            Self::Fridge => say("sheet-title"),
            Self::WeighSheet => say("blank-weigh-title"),
            Self::FeedSheet => say("blank-feed-title"),
            Self::Mix => say("mix-card-title"),
            Self::Vet => say("vet-title"),
            Self::Owner => say("owner-title"),
            Self::RedFlags => say("help-title"),
            Self::Review => say("review-title"),
        }
    }
}

/// The print; `pup` is the name of the pup that it is about, where it is about one.
///
/// # Errors
/// A sentence: there is no such pup, or none at all.
pub fn document(print: Print, source: &Source, pup: Option<&str>) -> Result<Document, String> {
    let mut document = match print {
        Print::Fridge => fridge::document(source),
        Print::WeighSheet => blank::weigh_sheet(source),
        Print::FeedSheet => blank::feed_sheet(source),
        Print::Mix => mix_card::document(source),
        Print::Vet => vet::document(source, source.pup_asked(pup)?),
        Print::Owner => owner::document(source, source.pup_asked(pup)?),
        Print::RedFlags => flags::document(source),
        Print::Review => review::document(source),
    };
    if let Some(note) = &source.today.example_note {
        document.blocks.insert(0, Block::Framed(Text::default().bold(format!("{} ", say("example-mark"))).plain(note)));
    }
    Ok(document)
}
