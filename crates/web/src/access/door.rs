//! Somebody at the door: a request on an address that is open to everybody.

use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::Timestamp;
use maud::{Markup, html};
use whelpward_app::access::{By, Denied, Role, sign_out};

use super::{Asker, Connection, Refused, SESSION, is_secure};
use crate::Home;
use crate::cookies::keep;
use crate::fault::Fault;
use crate::guard::Session;
use crate::here::Visit;
use crate::layout::door_page;
use crate::theme::Theme;
use crate::words::{say, tell};

pub struct AtTheDoor {
    pub home: Arc<Home>,
    session: String,
    /// Who asks, where a device that signed in comes to the door again.
    pub asker: Option<Asker>,
    theme: Theme,
    pub now: Timestamp,
    address: String,
    /// Over https.
    pub is_secure: bool,
    /// A word for the kind of device, from what the browser says of itself; empty when unknown.
    kind: &'static str,
}

impl FromRequestParts<Arc<Home>> for AtTheDoor {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, home: &Arc<Home>) -> Result<Self, Fault> {
        Ok(Self {
            session: parts.extensions.get::<Session>().map(|s| s.0.clone()).unwrap_or_default(),
            asker: parts.extensions.get::<Asker>().cloned(),
            theme: Theme::of(&parts.headers),
            now: (home.clock)(),
            address: Connection::of(&parts.extensions).map(|c| c.address()).unwrap_or_default(),
            is_secure: is_secure(&parts.extensions),
            kind: kind_of_device(&parts.headers),
            home: Arc::clone(home),
        })
    }
}

fn kind_of_device(headers: &HeaderMap) -> &'static str {
    let agent = headers.get(header::USER_AGENT).and_then(|a| a.to_str().ok()).unwrap_or_default();
    ["iPhone", "iPad", "Android", "Windows", "Macintosh", "Linux"]
        .into_iter()
        .find(|word| agent.contains(word))
        .unwrap_or_default()
}

impl AtTheDoor {
    /// What the device is called in the list of those that are signed in.
    pub fn label(&self) -> String {
        let kind = if self.kind.is_empty() { say("device-unknown") } else { self.kind.to_owned() };
        if self.is_secure { tell("device-padlock", &[("kind", kind.into())]) } else { kind }
    }

    pub fn by(&self) -> By {
        let known = self.asker.as_ref().map(Asker::by).unwrap_or_default();
        By { address: self.address.clone(), ..known }
    }

    /// A form at the door, with the token of this browser.
    pub fn form(&self, action: &str, body: &Markup) -> Markup {
        html! {
            form method="post" action=(action) {
                input type="hidden" name="token" value=(self.home.token(&self.session));
                (body)
            }
        }
    }

    pub fn page(&self, title: &str, body: &Markup) -> Markup {
        let body = html! { (body) @if self.asker.is_none() { (kept_here()) } };
        door_page(
            self.theme,
            self.now,
            &jiff::tz::TimeZone::system(),
            title,
            &crate::assets::address("style.css"),
            &body,
        )
    }

    /// A page that says why, and counts as a refusal.
    pub fn refused(&self, status: StatusCode, title: &str, body: &Markup, word: &'static str) -> Response {
        let mut response = (status, self.page(title, body)).into_response();
        response.extensions_mut().insert(Refused::new(word));
        response
    }

    /// Lets the browser in with its new token. What was let in before on it is signed out.
    pub async fn let_in(&self, token: &str, to: &str) -> Result<Response, Fault> {
        if let Some(before) = self.asker.as_ref().and_then(|a| a.signed_in.as_ref()) {
            sign_out(&self.home.book.store, &self.by(), Some(&before.id), self.now).await?;
        }
        let mut response = Redirect::to(to).into_response();
        if let Ok(value) = HeaderValue::from_str(&keep(SESSION, token, self.is_secure)) {
            response.headers_mut().append(header::SET_COOKIE, value);
        }
        Ok(response)
    }

    /// For a page of a litter that is shown without having signed in.
    pub fn as_reader(&self, path: &str) -> Visit {
        let asker =
            Asker { role: Role::Reader, device: "vet-link".into(), signed_in: None, address: self.address.clone() };
        Visit::of_a_reader(Arc::clone(&self.home), asker, self.theme, path)
    }
}

/// Where nobody has signed in, script removes what this device kept of a litter, and says here what waits on it.
fn kept_here() -> Markup {
    html! {
        section class="note" role="status" data-door hidden
            data-waiting=(tell("door-waiting", &[("count", "{}".into())]))
            data-refused=(tell("door-refused", &[("count", "{}".into())])) {}
    }
}

/// Why somebody is kept out, in words, with the word for the audit; none where nothing was tried.
pub fn why_denied(denied: &Denied) -> (String, Option<&'static str>) {
    match denied {
        Denied::NoSecret => (say("door-no-password"), Some("password")),
        Denied::Wrong => (say("door-wrong"), Some("secret")),
        Denied::Closed { seconds } => (tell("door-closed", &[("seconds", (*seconds).into())]), Some("secret")),
        Denied::NoSuchLink => (say("door-no-such-link"), Some("link")),
        Denied::LinkUsed => (say("door-link-used"), Some("link")),
        Denied::LinkOver => (say("door-link-over"), Some("link")),
        Denied::TooManyDevices => (say("door-too-many"), Some("devices")),
        Denied::NoSuchPerson => (say("door-no-such-person"), Some("secret")),
        Denied::NeedsPin => (say("door-needs-pin"), Some("secret")),
        Denied::NeedsPassword => (say("door-needs-password"), Some("secret")),
        Denied::App(error) => (error.to_string().replace('\n', "; "), None),
    }
}
