//! The fields that a form brought, and the typed values that every page reads out of them.
//!
//! It needs nothing of the pages, so that the fuzzing takes in this very file.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use whelpward_core::book::FactId;
use whelpward_core::record::{Nearest, TimeTrouble, read_said_time};

/// Names with texts, in the order in which they came; a name may stand in it more than once.
#[derive(Debug)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    pub const fn new(sent: Vec<(String, String)>) -> Self {
        Self(sent)
    }

    /// The text of the first field of this name; empty when it is not there.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }

    /// The text of a field that is filled.
    pub fn filled(&self, name: &str) -> Option<String> {
        Some(self.get(name)).filter(|t| !t.is_empty()).map(str::to_owned)
    }

    pub fn fact(&self, name: &str) -> Option<FactId> {
        self.get(name).parse().ok()
    }

    /// When it happened: now, or the time of the clock that is filled in.
    ///
    /// # Errors
    /// The time does not read, or the clocks changed over it.
    pub fn time(&self, now: Timestamp, zone: &TimeZone) -> Result<Timestamp, TimeTrouble> {
        match self.filled("at") {
            None => Ok(now),
            Some(text) => read_said_time(&text, Nearest::Last, now, zone),
        }
    }

    /// The weight as it was typed, in one text: pounds stand in a field of their own.
    pub fn weight(&self) -> String {
        match self.filled("pounds") {
            Some(pounds) => format!("{pounds} {}", self.filled("weight").unwrap_or_else(|| "0".into())),
            None => self.get("weight").to_owned(),
        }
    }

    /// The fields but the token, to ask a question and lose nothing.
    pub fn kept(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().filter(|(n, _)| n != "token").map(|(n, v)| (n.as_str(), v.as_str()))
    }
}
