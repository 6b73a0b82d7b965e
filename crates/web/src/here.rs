//! Who asks, for which litter, at what time.

use std::sync::Arc;

use axum::extract::{FromRequestParts, Path, Query};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use whelpward_app::access::Action;
use whelpward_app::{AppError, Book, Loaded, Saved, Who};
use whelpward_core::book::FactId;
use whelpward_core::record::Facts;

use crate::Home;
use crate::access::{Asker, is_secure};
use crate::cookies::cookie;
use crate::fault::Fault;
use crate::guard::Session;
use crate::theme::{self, Theme};

/// One request of one browser.
pub struct Visit {
    pub home: Arc<Home>,
    pub session: String,
    pub asker: Asker,
    pub theme: Theme,
    pub is_left_handed: bool,
    carer: Option<String>,
    /// The real time; an example has its own.
    pub clock: Timestamp,
    /// The page asked for, to come back to.
    pub path: String,
    /// Over https.
    pub is_secure: bool,
}

impl Visit {
    pub fn token(&self) -> String {
        self.home.token(&self.session)
    }

    /// For somebody who has not signed in and is shown one page.
    pub fn of_a_reader(home: Arc<Home>, asker: Asker, theme: Theme, path: &str) -> Self {
        let clock = (home.clock)();
        let path = path.to_owned();
        Self {
            home,
            session: String::new(),
            asker,
            theme,
            is_left_handed: false,
            carer: None,
            clock,
            path,
            is_secure: false,
        }
    }

    /// Who acts. Over the home network that is the person who holds the device.
    pub fn who(&self) -> Who {
        Who { carer: self.asker.carer().map(str::to_owned), device: self.asker.device.clone() }
    }
}

impl FromRequestParts<Arc<Home>> for Visit {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, home: &Arc<Home>) -> Result<Self, Fault> {
        let session = parts.extensions.get::<Session>().map(|s| s.0.clone()).unwrap_or_default();
        // The guard puts it there for every address that is not open to everybody.
        let asker = parts.extensions.get::<Asker>().cloned().ok_or(Fault::NotSignedIn)?;
        let uri = parts.extensions.get::<axum::extract::OriginalUri>().map_or(&parts.uri, |o| &o.0);
        let carer = if asker.signed_in.is_some() {
            asker.carer().map(str::to_owned)
        } else {
            cookie(&parts.headers, theme::CARER).and_then(from_hex)
        };
        Ok(Self {
            session,
            asker,
            theme: Theme::of(&parts.headers),
            is_left_handed: cookie(&parts.headers, theme::HAND) == Some("left"),
            carer,
            clock: (home.clock)(),
            path: uri.path_and_query().map_or_else(|| "/".into(), |p| p.as_str().to_owned()),
            is_secure: is_secure(&parts.extensions),
            home: Arc::clone(home),
        })
    }
}

/// Which book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shelf {
    Own,
    Example,
}

impl Shelf {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Own => "litter",
            Self::Example => "example",
        }
    }
}

/// A request about one litter.
pub struct Here {
    pub visit: Visit,
    pub shelf: Shelf,
    pub book: Arc<Book>,
    pub litter: FactId,
    pub loaded: Arc<Loaded>,
    pub now: Timestamp,
    /// The entry that was saved on the way to this page.
    pub saved: Option<FactId>,
}

#[derive(serde::Deserialize)]
struct Place {
    shelf: String,
    litter: String,
}

#[derive(serde::Deserialize)]
struct AfterSaving {
    saved: Option<String>,
}

impl FromRequestParts<Arc<Home>> for Here {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, home: &Arc<Home>) -> Result<Self, Fault> {
        let visit = Visit::from_request_parts(parts, home).await?;
        let Ok(Path(place)) = Path::<Place>::from_request_parts(parts, home).await else { return Err(Fault::NotFound) };
        let saved = Query::<AfterSaving>::try_from_uri(&parts.uri).ok().and_then(|q| q.0.saved?.parse().ok());
        let litter: FactId = place.litter.parse().map_err(|_| Fault::NotFound)?;
        let (shelf, book) = match place.shelf.as_str() {
            "litter" => (Shelf::Own, Arc::clone(&home.book)),
            "example" => (Shelf::Example, home.examples().await.ok_or(Fault::NotFound)?),
            _ => return Err(Fault::NotFound),
        };
        Self::open(visit, shelf, book, litter, saved).await
    }
}

impl Here {
    /// A litter of a book, if it is there.
    pub async fn open(
        visit: Visit,
        shelf: Shelf,
        book: Arc<Book>,
        litter: FactId,
        saved: Option<FactId>,
    ) -> Result<Self, Fault> {
        let loaded = book.load(litter).await.map_err(|e| match e {
            AppError::Said(_) => Fault::NotFound,
            other => Fault::App(other),
        })?;
        loaded.facts()?;
        let now = time_of(&loaded, visit.clock);
        Ok(Self { visit, shelf, book, litter, loaded, now, saved })
    }
}

/// An example runs on its own clock from the moment at which it was laid out.
pub fn time_of(loaded: &Loaded, clock: Timestamp) -> Timestamp {
    let Some(example) = loaded.folded.facts.as_ref().and_then(|f| f.litter.example.as_ref()) else { return clock };
    // The first fact came by the real clock; what is written down later comes by the example's own.
    let since = loaded.all.first().and_then(|f| f.receipt.received).unwrap_or(clock);
    let passed = clock.duration_since(since).max(jiff::SignedDuration::ZERO);
    example.at.saturating_add(passed).unwrap_or(example.at)
}

impl Here {
    pub fn facts(&self) -> &Facts {
        self.loaded.folded.facts.as_ref().expect("a litter without facts is refused on the way in")
    }

    pub fn zone(&self) -> &TimeZone {
        &self.facts().litter.zone
    }

    /// The address of a page of this litter.
    pub fn to(&self, page: &str) -> String {
        format!("/{}/{}/{page}", self.shelf.word(), self.litter)
    }

    /// The carer at this device, if the litter knows that name.
    pub fn carer(&self) -> Option<&str> {
        let name = self.visit.carer.as_deref()?;
        self.facts().carers.iter().map(|c| c.name.as_str()).find(|n| *n == name)
    }

    pub fn who(&self) -> Who {
        Who { carer: self.carer().map(str::to_owned), device: self.visit.asker.device.clone() }
    }

    pub fn may(&self, action: Action) -> bool {
        self.visit.asker.may(action)
    }

    /// A pup by the id in an address.
    pub fn pup(&self, id: &str) -> Result<(FactId, &str), Fault> {
        let id: FactId = id.parse().map_err(|_| Fault::NotFound)?;
        let found = self.loaded.folded.pups.iter().find(|(p, _)| *p == id).ok_or(Fault::NotFound)?;
        Ok((found.0, &found.1))
    }

    pub fn pup_id(&self, name: &str) -> Option<FactId> {
        self.loaded.folded.pup_named(name)
    }

    /// The pups that are in the litter, in the order in which they were written down.
    pub fn pups_here(&self) -> Vec<(FactId, &whelpward_core::record::Pup)> {
        let facts = self.facts();
        self.loaded
            .folded
            .pups
            .iter()
            .filter_map(|(id, name)| Some((*id, facts.pups.iter().find(|p| p.id.0 == *name)?)))
            .filter(|(_, p)| p.is_here(self.now))
            .collect()
    }

    /// To a page, with what was saved above it.
    pub fn after(&self, page: &str, saved: Saved) -> Response {
        let id = self.visit.home.tell(saved);
        let mark = if page.contains('?') { '&' } else { '?' };
        let address = match id {
            Some(id) => format!("{}{mark}saved={id}", self.to(page)),
            None => self.to(page),
        };
        Redirect::to(&address).into_response()
    }
}

/// A name as a cookie may hold it.
pub fn to_hex(text: &str) -> String {
    whelpward_store::hex(text.as_bytes())
}

fn from_hex(text: &str) -> Option<String> {
    let bytes: Option<Vec<u8>> =
        text.as_bytes().chunks(2).map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()).collect();
    String::from_utf8(bytes?).ok()
}
