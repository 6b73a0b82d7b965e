//! What a veterinarian prescribed, in the vet's own words; reminders; that it was given.
//!
//! The program never works out, changes or suggests a dose.

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::{FactId, Kind, Values};

use crate::book::{Draft, not_in_the_future};
use crate::{AppError, Book, Loaded, Saved, Who};

/// A reminder: when a prescribed medicine is next due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// None: for the dam or the whole litter.
    pub pup: Option<String>,
    pub product: String,
    pub as_prescribed: String,
    pub vet: String,
    pub at: Timestamp,
    pub is_overdue: bool,
}

/// Saves what a vet prescribed: keys of the kind `medicine`.
///
/// # Errors
/// It does not read.
pub async fn prescribe(
    book: &Book,
    who: &Who,
    litter: FactId,
    pup: Option<FactId>,
    body: Values,
    now: Timestamp,
) -> Result<Saved, AppError> {
    save(book, who, litter, Kind::Medicine, pup, body, now).await
}

/// Saves that a medicine was given: keys of the kind `medicine_given`.
///
/// # Errors
/// It does not read.
pub async fn given(
    book: &Book,
    who: &Who,
    litter: FactId,
    pup: Option<FactId>,
    body: Values,
    now: Timestamp,
) -> Result<Saved, AppError> {
    save(book, who, litter, Kind::MedicineGiven, pup, body, now).await
}

async fn save(
    book: &Book,
    who: &Who,
    litter: FactId,
    kind: Kind,
    pup: Option<FactId>,
    mut body: Values,
    now: Timestamp,
) -> Result<Saved, AppError> {
    let loaded = book.load(litter).await?;
    let key = kind.row().time_key.unwrap_or("given_at");
    body.entry(key.into()).or_insert_with(|| loaded.typed_time(now).into());
    let draft = Draft::of(book, who, &loaded, now);
    let fact = draft.fact(kind, pup, body);
    not_in_the_future(fact.occurred, now)?;
    let product = fact.body.get("product").and_then(|p| p.as_str()).unwrap_or_default().to_owned();
    let whom = pup.map_or("the dam or the litter", |p| loaded.name_of(p)).to_owned();
    let facts = book.save(Some(&loaded), vec![fact], now).await?;
    let verb = if kind == Kind::Medicine { "prescribed for" } else { "given to" };
    Ok(Saved { facts, read_back: format!("{product} {verb} {whom}: written down."), notes: Vec::new() })
}

/// Reminders of what was prescribed, the earliest first; from the vet's interval and what was given.
#[must_use]
pub fn due(loaded: &Loaded, now: Timestamp) -> Vec<Due> {
    let time =
        |body: &Values, key: &str| body.get(key).and_then(|t| t.as_str()).and_then(|t| t.parse::<Timestamp>().ok());
    let text = |body: &Values, key: &str| body.get(key).map(whelpward_core::record::entries::typed).unwrap_or_default();
    let mut due: Vec<Due> = loaded
        .folded
        .of_kind(Kind::Medicine)
        .filter_map(|m| {
            let product = text(&m.body, "product");
            let last = loaded
                .folded
                .of_kind(Kind::MedicineGiven)
                .filter(|g| g.pup == m.pup && g.occurred >= m.occurred && text(&g.body, "product") == product)
                .map(|g| g.occurred)
                .max();
            let every = text(&m.body, "every_hours").parse::<f64>().ok();
            #[expect(clippy::cast_possible_truncation, reason = "at most 2400 hours")]
            let at = match (last, every) {
                (Some(last), Some(hours)) => last + SignedDuration::from_secs((hours * 3600.0) as i64),
                (Some(_), None) => return None,
                (None, _) => time(&m.body, "first_at")?,
            };
            if time(&m.body, "until").is_some_and(|until| at > until) {
                return None;
            }
            Some(Due {
                pup: m.pup.map(|p| loaded.name_of(p).to_owned()),
                product,
                as_prescribed: text(&m.body, "as_prescribed"),
                vet: text(&m.body, "vet"),
                at,
                is_overdue: at < now,
            })
        })
        .collect();
    due.sort_by_key(|d| d.at);
    due
}
