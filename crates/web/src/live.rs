//! Tells open pages that something was written into their litter, by any program on the book, and
//! what the scale says: one stream of server-sent events for each page.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse as _, Response};
use serde_json::json;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::Instant;

use whelpward_app::access::signed_in;
use whelpward_app::{Book, Loaded};
use whelpward_core::book::{FactId, Kind};
use whelpward_core::record::WeightUnit;

use crate::Home;
use crate::events::as_json;
use crate::here::Here;
use crate::scale::{View, typed};
use crate::words::tell;

/// Open streams at once: a household has a few phones, each with a page or two (our own).
const MOST_STREAMS: usize = 64;
/// How often the book is looked at for what another program wrote (usability F-4: 2 s at most).
const LOOK_EVERY: Duration = Duration::from_secs(1);
/// A beat keeps the way open, and tells a page that it is (usability F-4).
const HEARTBEAT: Duration = Duration::from_secs(15);
/// A phone that lost the way tries again after this.
const AGAIN: Duration = Duration::from_secs(2);

/// What all streams share.
pub struct Live {
    places: Arc<Semaphore>,
    written: watch::Sender<()>,
    ended: watch::Sender<bool>,
}

impl Default for Live {
    fn default() -> Self {
        Self {
            places: Arc::new(Semaphore::new(MOST_STREAMS)),
            written: watch::Sender::new(()),
            ended: watch::Sender::new(false),
        }
    }
}

impl Live {
    /// Something was perhaps written here: every stream looks at once.
    pub fn look(&self) {
        self.written.send_replace(());
    }

    /// Becomes true when the server stops.
    pub fn ended(&self) -> watch::Receiver<bool> {
        self.ended.subscribe()
    }

    /// The server stops: every stream ends, so that nothing waits for it.
    pub fn end(&self) {
        self.ended.send_replace(true);
    }
}

/// The last place of the book that a page of this litter shows. Advice is no news: pages write it
/// down while they are shown.
pub fn last_place(loaded: &Loaded) -> i64 {
    loaded.all.iter().rev().find(|f| f.kind != Kind::Advice).map_or(0, |f| f.receipt.seq)
}

#[derive(serde::Deserialize)]
pub struct Asked {
    /// The place of the book that the page shows.
    since: Option<i64>,
    scale: Option<String>,
    /// Only the place of the book, for a page to which no stream comes through.
    poll: Option<String>,
}

pub async fn stream(here: Here, Query(asked): Query<Asked>) -> Response {
    let home = Arc::clone(&here.visit.home);
    if asked.poll.is_some() {
        let now = here.visit.clock.as_millisecond();
        return as_json(&json!({ "place": last_place(&here.loaded), "server_now_ms": now })).into_response();
    }
    let Ok(place) = Arc::clone(&home.live.places).try_acquire_owned() else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let following = Following {
        since: asked.since.unwrap_or_else(|| last_place(&here.loaded)),
        unit: here.facts().litter.weight_unit,
        scale: asked.scale.is_some().then(|| home.scale.watch()),
        shown: None,
        written: home.live.written.subscribe(),
        ended: home.live.ended.subscribe(),
        look_at: Instant::now(),
        book: Arc::clone(&here.book),
        litter: here.litter,
        session: here.visit.asker.signed_in.as_ref().map(|_| here.visit.session.clone()),
        home,
        _place: place,
    };
    let events = futures_util::stream::unfold(following, |mut following| async {
        let event = following.next().await?;
        Some((Ok::<_, Infallible>(event), following))
    });
    // An event of its own: a page hears that the way is open, which it would not of a comment.
    let beat = Event::default().event("beat").data("-");
    Sse::new(events).keep_alive(KeepAlive::new().interval(HEARTBEAT).event(beat)).into_response()
}

/// One page that listens.
struct Following {
    home: Arc<Home>,
    book: Arc<Book>,
    litter: FactId,
    /// The token of a device that signed in: signed out, it hears nothing more.
    session: Option<String>,
    unit: WeightUnit,
    since: i64,
    scale: Option<watch::Receiver<()>>,
    /// What the page shows of the scale.
    shown: Option<View>,
    written: watch::Receiver<()>,
    ended: watch::Receiver<bool>,
    look_at: Instant,
    _place: OwnedSemaphorePermit,
}

impl Following {
    async fn next(&mut self) -> Option<Event> {
        loop {
            if *self.ended.borrow() {
                return None;
            }
            if let Some(event) = self.news_of_the_scale() {
                return Some(event);
            }
            if Instant::now() >= self.look_at {
                self.look_at = Instant::now() + LOOK_EVERY;
                if let Some(token) = &self.session
                    && !signed_in(&self.home.book.store, token, (self.home.clock)()).await.is_ok_and(|s| s.is_some())
                {
                    return None;
                }
                // A book that cannot be read now is looked at again in a second. No place at all: it was erased.
                let place = self.book.store.last_place_beside(self.litter, Kind::Advice).await.unwrap_or(self.since);
                if place > self.since || (place == 0 && self.since > 0) {
                    self.since = place;
                    return Some(Event::default().event("changed").retry(AGAIN).data(place.to_string()));
                }
            }
            tokio::select! {
                changed = self.ended.changed() => { changed.ok()?; }
                changed = self.written.changed() => { changed.ok()?; self.look_at = Instant::now(); }
                () = scale_changed(&mut self.scale) => {}
                () = tokio::time::sleep_until(self.look_at) => {}
            }
        }
    }

    /// The scale may fall silent without a report: it is asked at every turn.
    fn news_of_the_scale(&mut self) -> Option<Event> {
        self.scale.as_ref()?;
        let view = self.home.scale.view(self.unit);
        if self.shown == view {
            return None;
        }
        let event = Event::default().event("scale").data(said_of_scale(self.unit, view.as_ref()).to_string());
        self.shown = view;
        Some(event)
    }
}

/// Ready when the scale has spoken; never where nobody listens to it.
async fn scale_changed(scale: &mut Option<watch::Receiver<()>>) {
    let changed = match scale {
        Some(scale) => scale.changed().await.is_ok(),
        None => false,
    };
    if !changed {
        std::future::pending::<()>().await;
    }
}

fn said_of_scale(unit: WeightUnit, view: Option<&View>) -> serde_json::Value {
    let Some(view) = view else { return json!({ "state": "none" }) };
    let offer = view.offer.map(|offer| {
        let (pounds, weight) = typed(unit, offer.mg);
        let shown = pounds.as_ref().map_or_else(
            || format!("{weight}\u{a0}{}", unit.word()),
            |pounds| format!("{pounds}\u{a0}lb {weight}\u{a0}oz"),
        );
        json!({
            "number": offer.number, "pounds": pounds, "weight": weight, "is_moving": offer.is_moving,
            "use": tell("scale-use-median", &[("weight", shown.into())]),
        })
    });
    json!({ "state": view.state, "text": view.text, "moving": view.moving, "offer": offer })
}
