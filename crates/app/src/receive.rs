//! Takes facts that were made on a device, with its clock set right.

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::{Fact, FactJson, whole_milliseconds};
use whelpward_store::Outcome;

use crate::{AppError, Book};

/// A fact as a device sends it.
#[derive(Debug, Clone)]
pub struct FromDevice {
    pub fact: FactJson,
    /// How far the device's clock is ahead of ours; measured over its last requests.
    pub clock_ahead: SignedDuration,
    /// How long ago it was made, by the device's wall clock and by its steady clock.
    pub age_by_wall: Option<SignedDuration>,
    pub age_by_steady: Option<SignedDuration>,
}

/// Clocks within this are taken as they are (usability O-31).
const CLOCK_IS_RIGHT: SignedDuration = SignedDuration::from_secs(30);
/// Two clocks of one device may differ by this much (usability O-32).
const CLOCKS_AGREE: SignedDuration = SignedDuration::from_secs(60);
/// So far ahead a fact may be (usability O-33).
const FUTURE: SignedDuration = SignedDuration::from_mins(5);

/// Saves facts from a device. One that cannot be taken is kept for a person, never dropped.
///
/// # Errors
/// The book cannot be written; nothing was saved.
pub async fn receive(book: &Book, sent: Vec<FromDevice>, now: Timestamp) -> Result<Vec<Outcome>, AppError> {
    let mut outcomes: Vec<Option<Outcome>> = vec![None; sent.len()];
    let mut good: Vec<(usize, Fact)> = Vec::new();
    for (place, sent) in sent.into_iter().enumerate() {
        let entry = serde_json::to_string(&sent.fact).unwrap_or_default();
        let (id, litter) = (sent.fact.id.clone(), sent.fact.litter.clone());
        let why = match at_our_time(sent, now) {
            Ok(fact) if fact.occurred.duration_since(now) > FUTURE => "its time is in the future".to_owned(),
            Ok(fact) => {
                good.push((place, fact));
                continue;
            }
            Err(why) => why,
        };
        book.store.put_aside(&id, &litter, &entry, &why, whole_milliseconds(now)).await?;
        outcomes[place] = Some(Outcome::SetAside { why });
    }
    let facts: Vec<Fact> = good.iter().map(|(_, f)| f.clone()).collect();
    if !facts.is_empty() {
        for ((place, _), outcome) in good.iter().zip(book.store.append(&facts, whole_milliseconds(now)).await?) {
            outcomes[*place] = Some(outcome);
        }
    }
    Ok(outcomes.into_iter().flatten().collect())
}

/// The fact with its time by our clock; the device's own reading is kept beside it.
fn at_our_time(sent: FromDevice, now: Timestamp) -> Result<Fact, String> {
    let mut fact = sent.fact.read()?;
    fact.receipt = whelpward_core::book::Receipt { client_seq: fact.receipt.client_seq, ..Default::default() };
    if sent.clock_ahead.abs() > CLOCK_IS_RIGHT {
        let corrected = whole_milliseconds(fact.occurred - sent.clock_ahead);
        fact.receipt.client_wall = Some(fact.occurred);
        fact.occurred = corrected;
        if let Some(key) = fact.kind.row().time_key {
            let zone = jiff::tz::TimeZone::get(&fact.zone).unwrap_or(jiff::tz::TimeZone::UTC);
            fact.body.insert(key.into(), whelpward_core::report::clock::iso(corrected, &zone).into());
        }
    }
    if let (Some(wall), Some(steady)) = (sent.age_by_wall, sent.age_by_steady) {
        fact.receipt.is_time_uncertain = (wall - steady).abs() > CLOCKS_AGREE;
    }
    fact.receipt.is_late = crate::book::is_late(fact.occurred, now, fact.kind);
    Ok(fact)
}
