//! Entries that a page made itself, perhaps while the program could not be reached.
//!
//! `PUT /api/v1/events/{id}` takes one fact, `POST /api/v1/events` up to a hundred: each is in the
//! book or kept for a person when the answer says so. The same id with the same content is the
//! same fact; with other content it is kept aside. `POST /api/v1/tap` looks at what one tap says
//! before it is saved, as a form does. Every answer carries the time, so that a phone can tell how
//! far its clock is off. All take the token of the browser in a header.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use jiff::{SignedDuration, Timestamp};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use whelpward_app::access::Action;
use whelpward_app::{AppError, Book, FromDevice, Loaded, OneTap, Shown, one_tap, receive};
use whelpward_core::book::{FactId, FactJson};
use whelpward_core::report::today;
use whelpward_store::Outcome;

use crate::Home;
use crate::access::{Asker, Refused};
use crate::feed::withheld;
use crate::here::{Visit, time_of};
use crate::words::say;

/// Facts in one request (usability O-11).
const MOST: usize = 100;
/// The header with the token of the browser.
const TOKEN: &str = "whelpward-token";

/// What a phone says of its clocks, in whole milliseconds.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
pub struct Clocks {
    /// How far its clock was ahead of ours when the fact was made; left out where that was never measured.
    #[serde(rename = "ahead_ms")]
    ahead: Option<i64>,
    /// What its wall clock says as the fact is sent, since 1970.
    #[serde(rename = "sent_wall_ms")]
    sent_by_wall: Option<i64>,
    /// How long ago the fact was made, by its wall clock and by its steady clock.
    #[serde(rename = "age_wall_ms")]
    age_by_wall: Option<i64>,
    #[serde(rename = "age_steady_ms")]
    age_by_steady: Option<i64>,
}

impl Clocks {
    /// The device is the one that was let in, whatever the page says of itself.
    fn of(self, mut fact: FactJson, asker: &Asker) -> FromDevice {
        if asker.signed_in.is_some() {
            fact.device.clone_from(&asker.device);
        }
        FromDevice {
            fact,
            clock_ahead: self.ahead.map(SignedDuration::from_millis),
            sent_by_wall: self.sent_by_wall.and_then(|ms| Timestamp::from_millisecond(ms).ok()),
            age_by_wall: self.age_by_wall.map(SignedDuration::from_millis),
            age_by_steady: self.age_by_steady.map(SignedDuration::from_millis),
        }
    }
}

#[derive(Debug, Deserialize)]
pub struct Event {
    fact: FactJson,
    #[serde(default)]
    clocks: Clocks,
}

#[derive(Debug, Deserialize)]
pub struct Batch {
    events: Vec<Event>,
}

#[derive(Debug, Deserialize)]
pub struct Tap {
    events: Vec<Event>,
    /// What stood on the button of a feed as planned.
    shown: Option<ShownJson>,
    /// The weight of the scale that is saved.
    offer: Option<u64>,
}

#[derive(Debug, Deserialize)]
pub struct ShownJson {
    amount: String,
    method: String,
}

/// The book that holds a litter, and the litter's own time.
struct Place {
    book: Arc<Book>,
    loaded: Arc<Loaded>,
    now: Timestamp,
}

async fn place(visit: &Visit, litter: &str) -> Result<Option<Place>, AppError> {
    let Ok(litter) = litter.parse::<FactId>() else { return Ok(None) };
    let home = &visit.home;
    for book in [Some(Arc::clone(&home.book)), home.examples().await].into_iter().flatten() {
        match book.load(litter).await {
            Ok(loaded) => return Ok(Some(Place { now: time_of(&loaded, visit.clock), book, loaded })),
            Err(AppError::Said(_)) => {}
            Err(other) => return Err(other),
        }
    }
    Ok(None)
}

pub async fn put(
    visit: Visit,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(clocks): Query<Clocks>,
    body: Bytes,
) -> Response {
    let fact = match read::<FactJson>(&visit, &headers, &body) {
        Ok(read) => read,
        Err(answer) => return *answer,
    };
    if fact.id.parse::<FactId>().ok() != id.parse().ok() {
        return said(
            &visit,
            StatusCode::BAD_REQUEST,
            json!({ "why": "the id of the address is not that of the entry" }),
        );
    }
    let litter = fact.litter.clone();
    match save(&visit, vec![clocks.of(fact, &visit.asker)], &litter).await {
        Ok(Done { mut answers, past_gate }) => {
            let answer = answers.pop().unwrap_or_default();
            let status = match answer.get("result").and_then(Value::as_str) {
                Some("kept_aside") if answer["is_conflict"] == true => StatusCode::CONFLICT,
                Some("kept_aside") => StatusCode::ACCEPTED,
                Some("no_such_litter") => StatusCode::NOT_FOUND,
                _ => StatusCode::OK,
            };
            marked(said(&visit, status, answer), &past_gate)
        }
        Err(error) => not_now(&visit, &error),
    }
}

pub async fn batch(visit: Visit, headers: HeaderMap, body: Bytes) -> Response {
    let Batch { events } = match read::<Batch>(&visit, &headers, &body) {
        Ok(read) => read,
        Err(answer) => return *answer,
    };
    if events.len() > MOST {
        let why = format!("{} entries in one request; allowed: {MOST}", events.len());
        return said(&visit, StatusCode::PAYLOAD_TOO_LARGE, json!({ "why": why }));
    }
    // Those of one litter go into the book together; each has its own answer, in its own place.
    let mut answers: Vec<Value> = vec![Value::Null; events.len()];
    let mut by_litter: BTreeMap<String, Vec<(usize, FromDevice)>> = BTreeMap::new();
    for (place, event) in events.into_iter().enumerate() {
        by_litter
            .entry(event.fact.litter.clone())
            .or_default()
            .push((place, event.clocks.of(event.fact, &visit.asker)));
    }
    let mut all_past_gate = Vec::new();
    for (litter, sent) in by_litter {
        let (places, facts): (Vec<usize>, Vec<FromDevice>) = sent.into_iter().unzip();
        match save(&visit, facts, &litter).await {
            Ok(Done { answers: given, past_gate }) => {
                all_past_gate.extend(past_gate);
                for (place, answer) in places.into_iter().zip(given) {
                    answers[place] = answer;
                }
            }
            Err(error) => return not_now(&visit, &error),
        }
    }
    marked(said(&visit, StatusCode::OK, json!({ "results": answers })), &all_past_gate)
}

/// What became of entries: an answer for each, and those fed past a gate, in words.
struct Done {
    answers: Vec<Value>,
    past_gate: Vec<String>,
}

/// Feeds past a gate stand in the audit, as they do where a form tried one.
fn marked(mut response: Response, past_gate: &[String]) -> Response {
    if !past_gate.is_empty() {
        response.extensions_mut().insert(Refused { word: "gate-aside", detail: past_gate.join("; ") });
    }
    response
}

/// Saves facts of one litter and says of each what became of it.
async fn save(visit: &Visit, sent: Vec<FromDevice>, litter: &str) -> Result<Done, AppError> {
    let ids: Vec<String> = sent.iter().map(|s| s.fact.id.clone()).collect();
    let Some(place) = place(visit, litter).await? else {
        let why = "there is no such litter in this book";
        let answers = ids.iter().map(|id| json!({ "id": id, "result": "no_such_litter", "why": why })).collect();
        return Ok(Done { answers, past_gate: Vec::new() });
    };
    let mut outcomes: Vec<Option<Outcome>> = vec![None; sent.len()];
    let mut taken: Vec<(usize, FromDevice)> = Vec::new();
    let mut kept = Vec::new();
    for (at, one) in sent.into_iter().enumerate() {
        let Some((pup, _)) = past_gate(visit, &place, std::slice::from_ref(&one)) else {
            taken.push((at, one));
            continue;
        };
        // What a helper fed past a gate while the program was away is kept for somebody who decides.
        let why = say("past-gate-aside");
        let entry = serde_json::to_string(&one.fact).unwrap_or_default();
        place.book.store.put_aside(&one.fact.id, &one.fact.litter, &entry, &why, place.now).await?;
        outcomes[at] = Some(Outcome::SetAside { why });
        let taken_ml = one.fact.body.get("taken_ml").and_then(Value::as_str).unwrap_or("?");
        kept.push(format!("{pup}, {taken_ml} mL, {}", one.fact.occurred_at));
    }
    // By place and not by id: the same entry may stand in one request twice.
    let (places, taken): (Vec<usize>, Vec<FromDevice>) = taken.into_iter().unzip();
    for (at, outcome) in places.into_iter().zip(receive(&place.book, taken, place.now).await?) {
        outcomes[at] = Some(outcome);
    }
    let after = place.book.load(place.loaded.id).await?;
    let stored = |id: &str| after.all.iter().find(|f| f.id.to_string() == id).map(|f| FactJson::from(f.as_ref()));
    let answers = ids
        .iter()
        .zip(outcomes.into_iter().flatten())
        .map(|(id, outcome)| match outcome {
            Outcome::Saved { .. } => json!({ "id": id, "result": "saved", "fact": stored(id) }),
            Outcome::AlreadyThere { .. } => json!({ "id": id, "result": "already_there", "fact": stored(id) }),
            Outcome::SetAside { why } => {
                json!({ "id": id, "result": "kept_aside", "why": why, "is_conflict": stored(id).is_some() })
            }
        })
        .collect();
    Ok(Done { answers, past_gate: kept })
}

pub async fn tap(visit: Visit, headers: HeaderMap, body: Bytes) -> Response {
    let tap = match read::<Tap>(&visit, &headers, &body) {
        Ok(read) => read,
        Err(answer) => return *answer,
    };
    let litter = tap.events.first().map(|e| e.fact.litter.clone()).unwrap_or_default();
    let place = match place(&visit, &litter).await {
        Ok(Some(place)) => place,
        Ok(None) => return said(&visit, StatusCode::NOT_FOUND, json!({ "result": "no_such_litter" })),
        Err(error) => return not_now(&visit, &error),
    };
    if let Some(number) = tap.offer {
        // Stored or asked about: what lies on the scale does not come up for the next pup.
        visit.home.scale.take(number);
    }
    let shown = tap.shown.map(|s| Shown::new(s.amount, s.method));
    let facts = tap.events.into_iter().map(|e| e.clocks.of(e.fact, &visit.asker)).collect::<Vec<_>>();
    if let Some((pup, why)) = past_gate(&visit, &place, &facts) {
        let answer = json!({ "result": "refused", "what": why, "allowed": say("tap-past-gate") });
        let mut response = said(&visit, StatusCode::OK, answer);
        response.extensions_mut().insert(Refused { word: "gate", detail: pup });
        return response;
    }
    match one_tap(&place.book, place.loaded.id, OneTap { facts, shown, is_kept: false }, place.now).await {
        Ok(saved) => {
            let kinds: Vec<&str> = saved.facts.iter().map(|f| f.kind.word()).collect();
            let answer = json!({ "result": "saved", "kinds": kinds });
            let id = visit.home.tell(saved).map(|id| id.to_string());
            said(&visit, StatusCode::OK, merged(answer, json!({ "saved": id })))
        }
        Err(AppError::Ask(ask)) => said(&visit, StatusCode::OK, json!({ "result": "asked", "what": ask.what })),
        Err(AppError::Refused { what, allowed }) => {
            said(&visit, StatusCode::OK, json!({ "result": "refused", "what": what, "allowed": allowed }))
        }
        Err(AppError::Said(why)) => {
            said(&visit, StatusCode::OK, json!({ "result": "refused", "what": why, "allowed": "" }))
        }
        Err(error) => not_now(&visit, &error),
    }
}

/// A hand feed while milk is withheld, by somebody who may not decide that: the pup, and why it is withheld. A
/// temperature beside it is for the book to judge.
fn past_gate(visit: &Visit, place: &Place, sent: &[FromDevice]) -> Option<(String, String)> {
    if visit.asker.may(Action::FeedPastGate) || sent.iter().any(|s| s.fact.kind == "check") {
        return None;
    }
    let fact = &sent.iter().find(|s| s.fact.kind == "feed")?.fact;
    if fact.body.get("method").and_then(Value::as_str) == Some("nursing") {
        return None;
    }
    let at = fact.occurred_at.parse::<Timestamp>().ok()?;
    let pup = place.loaded.name_of(fact.pup.as_ref()?.parse().ok()?).to_owned();
    let facts = place.loaded.facts().ok()?;
    let why = withheld(facts, &today(facts, at), &pup, at)?;
    Some((pup, why))
}

/// The body of a request that carries the token of its browser.
fn read<T: DeserializeOwned>(visit: &Visit, headers: &HeaderMap, body: &[u8]) -> Result<T, Box<Response>> {
    let refused = |status: StatusCode, why: String| Box::new(said(visit, status, json!({ "why": why })));
    let sent = headers.get(TOKEN).and_then(|t| t.to_str().ok()).unwrap_or_default();
    if visit.session.is_empty() || sent != visit.token() {
        let why = "without the token of this browser: open the page again";
        return Err(refused(StatusCode::FORBIDDEN, why.to_owned()));
    }
    serde_json::from_slice(body)
        .map_err(|wrong| refused(StatusCode::UNPROCESSABLE_ENTITY, format!("it does not read: {wrong}")))
}

/// The book cannot be used now; the phone keeps what it has and tries again.
fn not_now(visit: &Visit, error: &AppError) -> Response {
    eprintln!("the book: {error}");
    said(visit, StatusCode::SERVICE_UNAVAILABLE, json!({ "why": error.to_string() }))
}

fn said(visit: &Visit, status: StatusCode, answer: Value) -> Response {
    let time = json!({ "server_now_ms": visit.clock.as_millisecond() });
    (status, as_json(&merged(answer, time))).into_response()
}

fn merged(mut one: Value, other: Value) -> Value {
    if let (Some(one), Value::Object(other)) = (one.as_object_mut(), other) {
        one.extend(other);
    }
    one
}

/// The time of this computer, to see whether it can be reached and how far a clock is off.
pub async fn time(State(home): State<Arc<Home>>) -> impl IntoResponse {
    as_json(&json!({ "server_now_ms": (home.clock)().as_millisecond() }))
}

/// JSON as a page fetches it.
pub fn as_json(value: &Value) -> impl IntoResponse + use<> {
    ([(header::CONTENT_TYPE, "application/json")], value.to_string())
}
