//! Puts a milk on the shelf, or a new version of it, after a second look at the label's ratio.

use jiff::Timestamp;
use whelpward_core::book::{FactId, Kind, Values};
use whelpward_core::record::entries::typed;
use whelpward_core::units::{number, parse_decimal};

use crate::{AppError, Ask, Book, Choice, Saved, Who, put};

/// Keys of a milk that say how strong it is mixed.
const RATIO: [&str; 5] = ["powder_g", "water_ml", "scoop_g", "scoop_ml", "water_scoops"];

/// Saves a milk. A ratio that is new or changed is read back first: every batch follows it.
///
/// # Errors
/// It does not read beside the others; or its ratio has had no second look: then a question.
pub async fn shelve(
    book: &Book,
    who: &Who,
    litter: FactId,
    body: Values,
    is_looked_at: bool,
    now: Timestamp,
) -> Result<Saved, AppError> {
    if !is_looked_at {
        let loaded = book.load(litter).await?;
        let of = |values: &Values, key: &str| values.get(key).map(typed).filter(|text| !text.is_empty());
        let there = loaded.folded.of_kind(Kind::Milk).find(|f| of(&f.body, "id") == of(&body, "id"));
        let is_new = |key: &str| {
            of(&body, key).is_some_and(|text| there.and_then(|f| of(&f.body, key)).is_none_or(|before| before != text))
        };
        if RATIO.iter().any(|key| is_new(key)) {
            return Err(AppError::Ask(Box::new(second_look(|key| of(&body, key)))));
        }
    }
    put(book, who, litter, Kind::Milk, None, body, now).await
}

fn second_look(of: impl Fn(&str) -> Option<String>) -> Ask {
    let said = |key: &str, words: &str| of(key).map(|text| words.replace('#', &text));
    let parts = [
        said("powder_g", "#\u{a0}g powder"),
        said("water_ml", "#\u{a0}mL water"),
        said("scoop_g", "a level scoop of #\u{a0}g"),
        said("scoop_ml", "a scoop of #\u{a0}mL"),
        said("water_scoops", "# scoops of water to a scoop"),
    ];
    let amount = |key: &str| of(key).and_then(|text| parse_decimal(&text).ok());
    let ratio = match (amount("powder_g"), amount("water_ml")) {
        (Some(powder), Some(water)) if powder > 0.0 => {
            format!(", by weight 1 to {}", number(water / powder, 2, false))
        }
        _ => String::new(),
    };
    Ask {
        what: format!(
            "{}: typed {}{ratio}. What does the label say? Look once more: by weight, or by scoops?",
            of("id").unwrap_or_else(|| "this milk".into()),
            parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
        ),
        choices: ["correct it", "the label says the same"]
            .map(|label| Choice { label: label.into(), meant_g: None })
            .into(),
    }
}
