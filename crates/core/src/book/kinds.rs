//! The kinds of fact: those that a litter folder can hold, and those that only a book can.

use crate::record::Home;
use crate::record::format::{Key, Shape};

/// What a fact is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    Litter,
    Example,
    Dam,
    Pup,
    Carer,
    Milk,
    Vet,
    VetOrder,
    Food,
    Weighing,
    Feed,
    Check,
    Done,
    Leaving,
    Batch,
    Medicine,
    MedicineGiven,
    Advice,
    Answer,
    Claim,
    Note,
    Void,
}

/// One kind with its place in a folder or its own keys.
#[derive(Debug, Clone, Copy)]
pub struct KindRow {
    pub kind: Kind,
    pub word: &'static str,
    /// The section or table of the folder format, where there is one.
    pub home: Option<&'static str>,
    /// The keys of a kind that only the book holds.
    pub keys: &'static [Key],
    /// The name that tells one entry of a litter from another, never changed by a correction.
    pub name_key: Option<&'static str>,
    /// The key that holds the time at which it happened.
    pub time_key: Option<&'static str>,
    /// It is about one pup: always, sometimes or never.
    pub about_pup: AboutPup,
    pub meaning: &'static str,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AboutPup {
    Always,
    Sometimes,
    Never,
}
use AboutPup::{Always, Never, Sometimes};

const fn must(name: &'static str, shape: Shape, meaning: &'static str) -> Key {
    Key { name, shape, required: true, meaning }
}
const fn may(name: &'static str, shape: Shape, meaning: &'static str) -> Key {
    Key { name, shape, required: false, meaning }
}

const fn of_folder(kind: Kind, word: &'static str, home: &'static str) -> KindRow {
    KindRow { kind, word, home: Some(home), keys: &[], name_key: None, time_key: None, about_pup: Never, meaning: "" }
}

const fn of_book(
    kind: Kind,
    word: &'static str,
    about_pup: AboutPup,
    meaning: &'static str,
    keys: &'static [Key],
) -> KindRow {
    KindRow { kind, word, home: None, keys, name_key: None, time_key: None, about_pup, meaning }
}

/// Every kind.
pub const KINDS: &[KindRow] = &[
    of_folder(Kind::Litter, "litter", "litter"),
    of_folder(Kind::Example, "example", "example"),
    of_folder(Kind::Dam, "dam", "dam"),
    KindRow { name_key: Some("id"), time_key: Some("born_at"), ..of_folder(Kind::Pup, "pup", "pup") },
    KindRow { name_key: Some("name"), ..of_folder(Kind::Carer, "carer", "carer") },
    KindRow { name_key: Some("id"), ..of_folder(Kind::Milk, "milk", "milk") },
    of_folder(Kind::Vet, "vet", "vet"),
    KindRow { time_key: Some("given_at"), about_pup: Always, ..of_folder(Kind::VetOrder, "vet_order", "vet_order") },
    KindRow { name_key: Some("id"), ..of_folder(Kind::Food, "food", "foods.csv") },
    KindRow {
        time_key: Some("weighed_at"),
        about_pup: Always,
        ..of_folder(Kind::Weighing, "weighing", "weighings.csv")
    },
    KindRow { time_key: Some("fed_at"), about_pup: Always, ..of_folder(Kind::Feed, "feed", "feeds.csv") },
    KindRow { time_key: Some("checked_at"), about_pup: Sometimes, ..of_folder(Kind::Check, "check", "checks.csv") },
    KindRow { time_key: Some("done_at"), about_pup: Sometimes, ..of_folder(Kind::Done, "done", "done.csv") },
    KindRow {
        time_key: Some("left_at"),
        ..of_book(
            Kind::Leaving,
            "leaving",
            Always,
            "A pup died, was put to sleep, was fostered out or went home. A folder holds it in the pup's own section.",
            &[
                must("left_at", Shape::Time, ""),
                must("left_why", Shape::OneOf(&["stillborn", "died", "put_to_sleep", "fostered_out", "gone_home"]), ""),
                may("note", Shape::Text, "Never read by the program."),
            ],
        )
    },
    KindRow {
        time_key: Some("mixed_at"),
        ..of_book(
            Kind::Batch,
            "batch",
            Never,
            "Milk mixed at one time, with the time at which it is thrown away.",
            &[
                must("mixed_at", Shape::Time, ""),
                must("milk", Shape::Text, "The id of a milk."),
                must("volume_ml", Shape::Number { min: 1.0, max: 5000.0 }, ""),
                may("powder_g", Shape::Number { min: 0.1, max: 2000.0 }, "As weighed."),
                may("water_ml", Shape::Number { min: 0.1, max: 5000.0 }, ""),
                may("discard_by", Shape::Time, ""),
                may("note", Shape::Text, "Never read by the program."),
            ],
        )
    },
    KindRow {
        time_key: Some("prescribed_at"),
        ..of_book(
            Kind::Medicine,
            "medicine",
            Sometimes,
            "What a veterinarian prescribed, in the vet's own words. The program reminds; it never works out a dose.",
            &[
                must("prescribed_at", Shape::Time, ""),
                must("vet", Shape::Text, "Who prescribed it."),
                must("product", Shape::Text, "As on the package."),
                must(
                    "as_prescribed",
                    Shape::Text,
                    "How to give it, in the vet's own words; never read by the program.",
                ),
                may("first_at", Shape::Time, "When it is first due."),
                may("every_hours", Shape::Number { min: 1.0, max: 2400.0 }, "For the reminder."),
                may("until", Shape::Time, "The last reminder."),
            ],
        )
    },
    KindRow {
        time_key: Some("given_at"),
        ..of_book(
            Kind::MedicineGiven,
            "medicine_given",
            Sometimes,
            "That it was given.",
            &[
                must("given_at", Shape::Time, ""),
                must("product", Shape::Text, ""),
                may("as_given", Shape::Text, "As the carer wrote it down."),
                may("lot", Shape::Text, "From the package."),
            ],
        )
    },
    KindRow {
        time_key: Some("advised_at"),
        ..of_book(
            Kind::Advice,
            "advice",
            Never,
            "What the program told the household: kept because a vet may ask.",
            &[
                must("advised_at", Shape::Time, ""),
                must("program_version", Shape::Text, ""),
                must("facts_count", Shape::Whole { min: 0, max: 100_000_000 }, "Facts of the litter at that time."),
                must("facts_digest", Shape::Text, "SHA-256 over the ids of the facts that counted, sorted."),
                must("said", Shape::Long, "The instructions as they were shown, as JSON."),
            ],
        )
    },
    of_book(
        Kind::Answer,
        "answer",
        Never,
        "A person's answer to a question of the book.",
        &[
            must("answer", Shape::OneOf(&["same_feed", "two_feeds"]), ""),
            must("first", Shape::Text, "Id of the first fact."),
            must("second", Shape::Text, "Id of the second fact."),
        ],
    ),
    KindRow {
        time_key: Some("claimed_at"),
        ..of_book(
            Kind::Claim,
            "claim",
            Never,
            "A carer has begun a round. It informs for twenty minutes and locks nothing.",
            &[must("claimed_at", Shape::Time, ""), must("round_at", Shape::Time, "")],
        )
    },
    KindRow {
        time_key: Some("noted_at"),
        ..of_book(
            Kind::Note,
            "note",
            Sometimes,
            "Words for people.",
            &[must("noted_at", Shape::Time, ""), must("text", Shape::Long, "Never read by the program.")],
        )
    },
    of_book(
        Kind::Void,
        "void",
        Never,
        "Takes another fact out of the count; both stay in the book.",
        &[may("why", Shape::Text, "")],
    ),
];

impl Kind {
    /// Its row.
    ///
    /// # Panics
    /// Never: every kind has a row.
    #[must_use]
    pub fn row(self) -> &'static KindRow {
        KINDS.iter().find(|r| r.kind == self).expect("every kind has a row")
    }

    #[must_use]
    pub fn word(self) -> &'static str {
        self.row().word
    }

    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        KINDS.iter().find(|r| r.word == word).map(|r| r.kind)
    }

    /// The kind that stands in this section or table.
    #[must_use]
    pub fn of_home(home: &str) -> Option<Self> {
        KINDS.iter().find(|r| r.home == Some(home)).map(|r| r.kind)
    }

    /// Its place in a folder.
    #[must_use]
    pub fn home(self) -> Option<Home> {
        self.row().home.and_then(Home::named)
    }

    /// Its keys, without those that the envelope holds (pup, carer).
    #[must_use]
    pub fn keys(self) -> Vec<Key> {
        match self.home() {
            Some(home) => home.keys().iter().filter(|k| !self.is_in_envelope(k.name)).copied().collect(),
            None => self.row().keys.to_vec(),
        }
    }

    /// Whether the fact itself holds this column, so that the body does not.
    #[must_use]
    pub fn is_in_envelope(self, name: &str) -> bool {
        match name {
            "pup" => self.row().about_pup != Never,
            "carer" => matches!(self.home(), Some(Home::Table(_))),
            _ => false,
        }
    }
}
