//! What to do now, from the book; and the advice kept as a fact, because a vet may ask.

use jiff::Timestamp;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::report::{self, Today};

use crate::book::{Draft, Loaded, values};
use crate::{AppError, Book, Who};

/// The answer for a time. Where it says something new, that is written down.
///
/// # Errors
/// The book cannot be read or written.
pub async fn today(book: &Book, who: &Who, litter: FactId, now: Timestamp) -> Result<Today, AppError> {
    let loaded = book.load(litter).await?;
    let answer = report::today(loaded.facts()?, now);
    let said = said(&answer);
    let is_new =
        loaded.folded.of_kind(Kind::Advice).next_back().is_none_or(|last| last.body.get("said") != Some(&said));
    if is_new {
        let fact = advice(book, who, &loaded, said, now);
        book.save(Some(&loaded), vec![fact], now).await?;
    }
    Ok(answer)
}

/// What was told: the tasks with their reasons, and each amount. No clock readings, so that the
/// same advice is written down once.
fn said(answer: &Today) -> Value {
    let feed = |f: &report::Feed| json!({ "pup": f.pup, "amount_ml": f.amount_ml, "at_most_ml": f.at_most_ml, "method": f.method, "only_after": f.only_after });
    let tasks: Vec<Value> = answer
        .do_now
        .iter()
        .map(|a| json!({ "kind": a.kind, "pups": a.pups, "code": a.code, "what_to_do": a.what_to_do, "feeds": a.feeds.iter().map(feed).collect::<Vec<_>>() }))
        .collect();
    let next: Vec<Value> = answer.pups.iter().filter_map(|p| p.next_feed.as_ref()).map(feed).collect();
    Value::String(json!({ "do_now": tasks, "next_feeds": next }).to_string())
}

fn advice(book: &Book, who: &Who, loaded: &Loaded, said: Value, now: Timestamp) -> Fact {
    let draft = Draft::of(book, who, loaded, now);
    let mut hash = Sha256::new();
    let mut count = 0;
    for id in loaded.folded.counted().filter(|id| loaded.folded.current(*id).is_some_and(|f| f.kind != Kind::Advice)) {
        hash.update(id.to_string());
        count += 1;
    }
    let digest = whelpward_store::hex(&hash.finalize());
    let mut body = values([
        ("advised_at", Some(loaded.typed_time(now))),
        ("program_version", Some(env!("CARGO_PKG_VERSION").into())),
        ("facts_count", Some(count.to_string())),
        ("facts_digest", Some(digest)),
    ]);
    body.insert("said".into(), said);
    draft.fact(Kind::Advice, None, body)
}

/// The advice that was given, oldest first.
#[must_use]
pub fn advice_of(loaded: &Loaded) -> Vec<&std::sync::Arc<Fact>> {
    loaded.folded.of_kind(Kind::Advice).collect()
}
