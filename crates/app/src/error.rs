//! Why an action saved nothing: a refusal, a question, or a book that cannot be reached.

use whelpward_core::record::Problem;
use whelpward_store::StoreError;

/// Nothing was saved.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What was wrong, what is allowed.
    #[error("{what}\nallowed: {allowed}")]
    Refused { what: String, allowed: String },
    /// Unusual, but possible: a person decides.
    #[error("{0}")]
    Ask(Box<Ask>),
    #[error("{0}")]
    Said(String),
}

/// A question before saving.
#[derive(Debug, Clone)]
pub struct Ask {
    /// What is unusual, with both numbers.
    pub what: String,
    pub choices: Vec<Choice>,
}

/// One way out of a question.
#[derive(Debug, Clone)]
pub struct Choice {
    pub label: String,
    /// The value to use instead, in grams, where there is one.
    pub meant_g: Option<f64>,
}

impl std::fmt::Display for Ask {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.what)?;
        for choice in &self.choices {
            write!(f, "\n- {}", choice.label)?;
        }
        Ok(())
    }
}

impl AppError {
    pub(crate) fn refused(what: impl Into<String>, allowed: impl Into<String>) -> Self {
        Self::Refused { what: what.into(), allowed: allowed.into() }
    }

    pub(crate) fn of_problem(problem: &Problem) -> Self {
        Self::refused(format!("{}: found {}", problem.name, problem.found), problem.allowed.clone())
    }
}
