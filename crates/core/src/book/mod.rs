//! The book: facts that several people write down at once, and the one litter that they give.
//!
//! A [`Fact`] is never changed and never removed, but for what a breeder has erased on purpose: a whole
//! litter, or a person's name ([`Fact::without_name`]). A correction is another fact that supersedes
//! it, a withdrawal another that voids it. [`fold`] makes of any set of facts the litter as it
//! stands; the order in which they arrived plays no part.
//!
//! The rules, for facts of one litter:
//!
//! - Facts that supersede one another are versions of one entry. The version that nobody
//!   superseded counts; of several, the one made last, and the conflict is shown.
//! - A fact that voids the counting version takes the entry out. One that voids an older version
//!   does not: somebody has corrected what somebody else withdrew, and that is shown.
//! - "Made last" is by id: ids begin with the time at which they were made (UUID version 7,
//!   RFC 9562).

mod claims;
mod fold;
mod kinds;
mod questions;
mod wire;
mod without_name;

use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use uuid::Uuid;

pub use crate::record::Values;
pub use claims::{CLAIM_LASTS, open_claims};
pub use fold::{Folded, HistoryLine, Refused, fold, history, receipt_of_time};
pub use kinds::{AboutPup, KINDS, Kind, KindRow};
pub use questions::{Answer, DIFFERENT_FEEDS_H, Question, SAME_WEIGHING_MINUTES};
pub use wire::{FactJson, ReceiptJson, schema, whole_milliseconds};
pub use without_name::{ERASED_PERSON, is_name, may_name_a_person, text_without_name};

/// Names one fact for ever. Made where the fact is made; sorts by the time of making.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactId(Uuid);

impl FactId {
    /// The id of version 7 with this time and these 74 random bits (the rest is ignored).
    #[must_use]
    pub fn from_parts(made: Timestamp, random: u128) -> Self {
        let bytes = random.to_be_bytes();
        let mut tail = [0; 10];
        tail.copy_from_slice(&bytes[6..]);
        let ms = u64::try_from(made.as_millisecond()).unwrap_or(0);
        Self(uuid::Builder::from_unix_timestamp_millis(ms, &tail).into_uuid())
    }

    /// When it was made, by the clock of the device that made it.
    #[must_use]
    pub fn made(self) -> Option<Timestamp> {
        let (seconds, nanos) = self.0.get_timestamp()?.to_unix();
        Timestamp::new(i64::try_from(seconds).ok()?, i32::try_from(nanos).ok()?).ok()
    }
}

impl fmt::Display for FactId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.hyphenated().fmt(f)
    }
}

impl FromStr for FactId {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match Uuid::try_parse(text) {
            Ok(id) if id.get_version_num() == 7 => Ok(Self(id)),
            _ => Err(format!("an id as of RFC 9562, version 7, not {text:.50}")),
        }
    }
}

/// Something that someone wrote down, with who, where and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    pub id: FactId,
    /// The first fact of the litter, which names it for ever.
    pub litter: FactId,
    pub kind: Kind,
    /// The first fact of the pup that this is about.
    pub pup: Option<FactId>,
    pub body: Values,
    /// When it happened.
    pub occurred: Timestamp,
    /// The zone in which that was said.
    pub zone: String,
    pub carer: Option<String>,
    pub device: String,
    pub supersedes: Option<FactId>,
    pub voids: Option<FactId>,
    pub receipt: Receipt,
}

/// How a fact came in. Nothing in it changes the state of the litter.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Receipt {
    pub received: Option<Timestamp>,
    /// The place in the book, given by the database.
    pub seq: i64,
    /// Counted on the device.
    pub client_seq: Option<i64>,
    /// What the device's clock showed, where it was corrected.
    pub client_wall: Option<Timestamp>,
    /// The device's two clocks disagreed about when it happened.
    pub is_time_uncertain: bool,
    /// Written down more than twelve hours afterwards.
    pub is_late: bool,
}

impl Fact {
    /// All that must be equal for two facts with one id to be the same: everything but the receipt.
    #[must_use]
    pub fn content(&self) -> String {
        // Every part is text or a sorted map, so equal facts give equal JSON.
        serde_json::json!([
            self.litter.to_string(),
            self.kind.word(),
            self.pup.map(|p| p.to_string()),
            self.body,
            self.occurred.as_millisecond(),
            self.zone,
            self.carer,
            self.device,
            self.supersedes.map(|p| p.to_string()),
            self.voids.map(|p| p.to_string()),
        ])
        .to_string()
    }
}
