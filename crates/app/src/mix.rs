//! Saves a batch of milk that was mixed.

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::{FactId, Kind};
use whelpward_core::mix::portion::check_ratio;
use whelpward_core::record::Milk;
use whelpward_core::report;
use whelpward_core::units::{Grams, Millilitres, parse_decimal};

use crate::book::{Draft, not_in_the_future, values};
use crate::{AppError, Ask, Book, Choice, Saved, Who};

/// Milk mixed at one time.
#[derive(Debug, Clone)]
pub struct Mixed {
    pub litter: FactId,
    pub at: Timestamp,
    /// The milk in use when left out.
    pub milk: Option<String>,
    pub volume_ml: String,
    pub powder_g: Option<String>,
    pub water_ml: Option<String>,
    /// It was mixed so, although the label says otherwise.
    pub is_kept: bool,
}

/// Saves a batch with the time at which it is thrown away.
///
/// # Errors
/// There is no such milk, or something does not read; or powder to water is not the label's and
/// nobody has said to keep it: then a question.
pub async fn mix(book: &Book, who: &Who, ask: Mixed, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(ask.litter).await?;
    let facts = loaded.facts()?;
    not_in_the_future(ask.at, now)?;
    let milk = match &ask.milk {
        Some(id) => facts.milks.iter().find(|m| m.id == *id),
        None => facts.milk_in_use(),
    };
    let Some(milk) = milk else {
        let known: Vec<&str> = facts.milks.iter().map(|m| m.id.as_str()).collect();
        return Err(AppError::refused(
            "which milk?",
            if known.is_empty() { "a milk on the shelf first".into() } else { known.join(", ") },
        ));
    };
    if !ask.is_kept {
        look_at_ratio(milk, &ask)?;
    }
    let keeps = whelpward_core::mix::keeps_refrigerated(milk).get();
    #[expect(clippy::cast_possible_truncation, reason = "at most 24 hours")]
    let discard = ask.at + SignedDuration::from_secs((keeps * 3600.0) as i64);
    let draft = Draft::of(book, who, &loaded, now);
    let fact = draft.fact(
        Kind::Batch,
        None,
        values([
            ("mixed_at", Some(loaded.typed_time(ask.at))),
            ("milk", Some(milk.id.clone())),
            ("volume_ml", Some(ask.volume_ml.clone())),
            ("powder_g", ask.powder_g.clone()),
            ("water_ml", ask.water_ml.clone()),
            ("discard_by", Some(loaded.typed_time(discard))),
        ]),
    );
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    let by = report::clock(discard, &loaded.zone());
    Ok(Saved {
        facts,
        read_back: format!("{}\u{a0}mL of {} mixed; in the fridge, throw away at {by}.", ask.volume_ml, milk.id),
        notes: Vec::new(),
    })
}

/// What does not read is refused when it is saved.
fn look_at_ratio(milk: &Milk, ask: &Mixed) -> Result<(), AppError> {
    let typed = |text: &Option<String>| text.as_deref().and_then(|t| parse_decimal(t).ok()).filter(|v| *v > 0.0);
    let (Some(recipe), Some(powder), Some(water)) = (milk.recipe, typed(&ask.powder_g), typed(&ask.water_ml)) else {
        return Ok(());
    };
    let (Ok(powder), Ok(water)) = (Grams::new(powder), Millilitres::new(water)) else { return Ok(()) };
    check_ratio(recipe, powder, water).map(|_| ()).map_err(|off| {
        AppError::Ask(Box::new(Ask {
            what: format!("{}: {off}", milk.id),
            choices: ["put it right before a pup gets it", "it was mixed so: write it down"]
                .map(|label| Choice { label: label.into(), meant_g: None })
                .into(),
        }))
    })
}
