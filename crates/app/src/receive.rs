//! Takes facts that were made on a device, with its clock set right.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::{Fact, FactId, FactJson, Kind, whole_milliseconds};
use whelpward_store::Outcome;

use crate::feed::{self, Shown, Tap};
use crate::{AppError, Book, Loaded, Saved, check, weigh};

/// A fact as a device sends it.
#[derive(Debug, Clone)]
pub struct FromDevice {
    pub fact: FactJson,
    /// How far the device's clock was ahead of ours when the fact was made, as measured over the requests before;
    /// nothing where it never was.
    pub clock_ahead: Option<SignedDuration>,
    /// What the device's wall clock said as it sent the fact.
    pub sent_by_wall: Option<Timestamp>,
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

/// What a page makes without the program. Everything else is done with it, where it is looked at.
const MADE_ON_A_PAGE: [Kind; 5] = [Kind::Weighing, Kind::Feed, Kind::Check, Kind::Claim, Kind::Note];

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
    let is_time_uncertain = do_clocks_disagree(&sent, now);
    let clock_ahead = sent.clock_ahead.unwrap_or_default();
    let mut fact = sent.fact.read()?;
    if !MADE_ON_A_PAGE.contains(&fact.kind) || fact.supersedes.is_some() {
        return Err(format!("a page makes no entry of this kind by itself: {}", fact.kind.word()));
    }
    fact.receipt = whelpward_core::book::Receipt { client_seq: fact.receipt.client_seq, ..Default::default() };
    if clock_ahead.abs() > CLOCK_IS_RIGHT {
        let corrected = whole_milliseconds(fact.occurred - clock_ahead);
        fact.receipt.client_wall = Some(fact.occurred);
        fact.occurred = corrected;
        if let Some(key) = fact.kind.row().time_key {
            let zone = jiff::tz::TimeZone::get(&fact.zone).unwrap_or(jiff::tz::TimeZone::UTC);
            fact.body.insert(key.into(), whelpward_core::report::clock::iso(corrected, &zone).into());
        }
    }
    fact.receipt.is_time_uncertain = is_time_uncertain;
    fact.receipt.is_late = crate::book::is_late(fact.occurred, now, fact.kind);
    Ok(fact)
}

/// Whether the device's wall clock jumped since the fact was made. The steady clock tells, as long as the page that
/// made the fact is open. And the wall clock is as far ahead of ours as it was then: that tells after a reload too,
/// where the steady clock has begun anew.
fn do_clocks_disagree(sent: &FromDevice, now: Timestamp) -> bool {
    let by_steady = sent.age_by_wall.zip(sent.age_by_steady).map(|(wall, steady)| wall - steady);
    let by_ours = sent.sent_by_wall.zip(sent.clock_ahead).map(|(wall, ahead)| wall.duration_since(now) - ahead);
    [by_steady, by_ours].into_iter().flatten().any(|apart| apart.abs() > CLOCKS_AGREE)
}

/// What a carer saved with one tap on a page, before it counts as saved.
#[derive(Debug, Clone)]
pub struct OneTap {
    /// A weighing; or a feed with the temperature before it; or checks of one time; or a note.
    pub facts: Vec<FromDevice>,
    /// It was fed as planned, and this stood on the button.
    pub shown: Option<Shown>,
    /// A person has looked again.
    pub is_kept: bool,
}

/// Looks at what one tap says, as at what is typed into a form, and saves all of it or nothing.
///
/// # Errors
/// It does not read; or it is unusual and nobody has said that it is right: then a question.
pub async fn one_tap(book: &Book, litter: FactId, tap: OneTap, now: Timestamp) -> Result<Saved, AppError> {
    let loaded = book.load(litter).await?;
    let read = tap.facts.into_iter().map(|sent| at_our_time(sent, now));
    let facts = read.collect::<Result<Vec<Fact>, String>>();
    let mut facts = facts.map_err(|why| AppError::refused(why, "see docs/FORMAT.md"))?;
    if facts.iter().any(|f| f.litter != litter) {
        return Err(AppError::refused("an entry of another litter", "entries of one litter"));
    }
    if let Some(there) = already_there(&loaded, &facts) {
        return Ok(there);
    }
    let place = |facts: &[Fact], kind: Kind| facts.iter().position(|f| f.kind == kind);
    match (place(&facts, Kind::Feed), facts.as_slice()) {
        (Some(at), [_] | [_, _]) => {
            let feed = facts.remove(at);
            let tap = Tap { feed, warm: facts.pop(), shown: tap.shown, is_kept: tap.is_kept };
            feed::look_and_save(book, &loaded, tap, now).await
        }
        (None, [one]) if one.kind == Kind::Weighing => {
            weigh::look_and_save(book, &loaded, one.clone(), tap.is_kept, now).await
        }
        (None, [first, rest @ ..])
            if first.kind == Kind::Check
                && rest.iter().all(|f| (f.kind, f.pup, f.occurred) == (first.kind, first.pup, first.occurred)) =>
        {
            check::save(book, &loaded, facts, now).await
        }
        (None, [one]) => {
            let read_back = one.body.get("text").and_then(|t| t.as_str()).unwrap_or("Written down.").to_owned();
            Ok(Saved { facts: book.save(Some(&loaded), facts, now).await?, read_back, notes: Vec::new() })
        }
        _ => Err(AppError::refused("these entries are not of one tap", "a weighing, a feed, or checks of one time")),
    }
}

/// The same tap again: an answer was lost on the way.
fn already_there(loaded: &Loaded, facts: &[Fact]) -> Option<Saved> {
    let found: Vec<Arc<Fact>> =
        facts.iter().filter_map(|f| loaded.all.iter().find(|there| there.id == f.id).cloned()).collect();
    let is_all = !found.is_empty() && found.len() == facts.len();
    let is_same = is_all
        && found
            .iter()
            .zip(facts)
            .all(|(there, f)| there.content() == f.content() || f.is_same_but_for_erased_names(there));
    is_same.then(|| Saved { facts: found, read_back: "Saved before.".into(), notes: Vec::new() })
}
