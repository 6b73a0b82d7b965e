//! What the program noticed: a reason with its numbers, what to do, and the source.

use jiff::Timestamp;

use crate::record::PupId;
use crate::references::Source;

/// How much a finding asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Worth knowing.
    Note,
    KeepWatch,
    NeedsHelp,
    VetToday,
    VetNow,
}

/// How a pup is doing, in four steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    DoingWell,
    KeepWatch,
    NeedsHelp,
    RingTheVet,
}

impl Standing {
    /// The words shown for a standing.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::DoingWell => "doing well",
            Self::KeepWatch => "keep watch",
            Self::NeedsHelp => "needs help",
            Self::RingTheVet => "ring the vet",
        }
    }
}

impl Level {
    #[must_use]
    pub const fn standing(self) -> Standing {
        match self {
            Self::Note => Standing::DoingWell,
            Self::KeepWatch => Standing::KeepWatch,
            Self::NeedsHelp => Standing::NeedsHelp,
            Self::VetToday | Self::VetNow => Standing::RingTheVet,
        }
    }

    /// The words shown for a level.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::KeepWatch => "keep watch",
            Self::NeedsHelp => "needs help",
            Self::VetToday => "vet today",
            Self::VetNow => "vet now",
        }
    }
}

/// Something noticed about a pup, the dam, the box or the litter.
#[derive(Debug, Clone)]
pub struct Finding {
    /// A stable name for programs.
    pub code: &'static str,
    /// None: about the dam, the box or the whole litter.
    pub pup: Option<PupId>,
    pub level: Level,
    pub since: Option<Timestamp>,
    /// What was noticed, with its numbers.
    pub says: String,
    /// What to do about it.
    pub action: String,
    pub source: &'static Source,
    /// A sign seen on the animal rather than a figure computed from weights.
    pub is_sign: bool,
}

impl Finding {
    /// A finding about one pup.
    #[must_use]
    pub fn of_pup(pup: &PupId, code: &'static str, level: Level, source: &'static Source) -> Self {
        Self {
            code,
            pup: Some(pup.clone()),
            level,
            since: None,
            says: String::new(),
            action: String::new(),
            source,
            is_sign: false,
        }
    }

    /// A finding about the dam, the box or the whole litter.
    #[must_use]
    pub fn of_litter(code: &'static str, level: Level, source: &'static Source) -> Self {
        Self { code, pup: None, level, since: None, says: String::new(), action: String::new(), source, is_sign: true }
    }

    #[must_use]
    pub fn says(mut self, text: impl Into<String>) -> Self {
        self.says = text.into();
        self
    }

    #[must_use]
    pub fn action(mut self, text: impl Into<String>) -> Self {
        self.action = text.into();
        self
    }

    #[must_use]
    pub fn since(mut self, at: Timestamp) -> Self {
        self.since = Some(at);
        self
    }

    #[must_use]
    pub fn sign(mut self) -> Self {
        self.is_sign = true;
        self
    }
}

/// One term of a working: what it is, its value with unit, and where it comes from.
#[derive(Debug, Clone)]
pub struct Term {
    pub what: String,
    pub value: String,
    pub source: Option<&'static Source>,
}

impl Term {
    #[must_use]
    pub fn new(what: impl Into<String>, value: impl Into<String>, source: Option<&'static Source>) -> Self {
        Self { what: what.into(), value: value.into(), source }
    }
}
