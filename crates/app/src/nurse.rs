//! Saves a nursing that was weighed before and after, in the unit of the household.

use jiff::Timestamp;
use whelpward_core::book::FactId;
use whelpward_core::units::WeightUnit;

use crate::feed::{Amount, FeedGiven, feed};
use crate::{AppError, Book, Saved, Who};

/// One pup weighed, nursed and weighed again.
#[derive(Debug, Clone)]
pub struct Nursing {
    pub litter: FactId,
    pub pup: FactId,
    /// When it was weighed again.
    pub at: Timestamp,
    /// As typed.
    pub before: String,
    pub after: String,
    /// g, oz or `lb_oz`.
    pub unit: String,
    /// It passed urine or stool between the two: the gain is only a floor.
    pub is_soiled: bool,
    pub note: Option<String>,
    /// The person has looked again and both numbers are right.
    pub is_kept: bool,
}

/// Saves a weighed nursing.
///
/// # Errors
/// A weight does not read; or the two cannot be those of one nursing and nobody has said to keep them: then a
/// question.
pub async fn nurse(book: &Book, who: &Who, ask: Nursing, now: Timestamp) -> Result<Saved, AppError> {
    let unit = WeightUnit::from_word(&ask.unit)
        .ok_or_else(|| AppError::refused(format!("unit \"{}\"", ask.unit), "g, oz or lb_oz"))?;
    let grams = |text: &str| {
        let weight = unit.parse(text).map_err(|allowed| AppError::refused(format!("weight \"{text}\""), allowed))?;
        Ok::<_, AppError>(format!("{:.3}", weight.get()))
    };
    let (before, after) = (grams(&ask.before)?, grams(&ask.after)?);
    let given = FeedGiven {
        litter: ask.litter,
        pup: ask.pup,
        at: ask.at,
        method: Some("nursing".into()),
        amount: Amount::Nursed { before_g: Some(before), after_g: Some(after), is_soiled: ask.is_soiled },
        milk: None,
        note: ask.note,
        rectal_temperature_c: None,
        is_kept: ask.is_kept,
    };
    feed(book, who, given, now).await
}
