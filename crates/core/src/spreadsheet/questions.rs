//! What a person must settle before a sheet is read.

/// What a question is about; its answer goes into the field of the same name of the answers.
#[derive(Debug, Clone, PartialEq)]
pub enum About {
    Separator,
    Role,
    DecimalMark,
    Thousands,
    DateOrder,
    Unit,
    NoTime,
    OnlyPup,
    /// A name as the sheet has it.
    Pup(String),
    Carer(String),
}

/// One open question.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    pub about: About,
    pub text: String,
    /// Answers that fit, the likeliest first where something speaks for it; may be empty.
    pub options: Vec<String>,
}

impl Question {
    pub(super) fn new(about: About, text: impl Into<String>, options: Vec<String>) -> Self {
        Self { about, text: text.into(), options }
    }
}
