//! What every request must pass before its page is asked for.

use axum::http::header;
use axum::http::request::Parts;
use whelpward_app::access::{May, Role, signed_in};

use super::peers::{is_of_a_home, is_own_address};
use super::ways::{Way, is_crooked, only_looks, way};
use super::{Asker, Connection, Guest, is_secure};
use crate::Home;
use crate::cookies::{keep, kept};
use crate::fault::Fault;
use crate::guard::LARGEST_BODY;

/// The cookie of a device that signed in. Its value is made here and nowhere else.
pub const SESSION: &str = "whelpward_session";

/// A request that may go on.
#[derive(Debug)]
pub struct Entered {
    /// None only where nobody needs to have signed in.
    pub asker: Option<Asker>,
    /// What the tokens of forms are bound to.
    pub session: String,
    /// The cookie to be set anew.
    pub renewed: Option<String>,
}

/// Who asks, as far as it is known, and whether the request may go on. `browser` names a browser that
/// has not signed in.
pub async fn enter(home: &Home, request: &Parts, browser: &str) -> (Option<Asker>, Result<Entered, Fault>) {
    let connection = Connection::of(&request.extensions);
    let is_secure = is_secure(&request.extensions);
    let address = connection.map(|c| c.address()).unwrap_or_default();
    let path = request.uri.path();
    let host = request.headers.get(header::HOST).and_then(|h| h.to_str().ok()).unwrap_or_default();
    let device = format!("browser-{}", browser.get(..8).unwrap_or("unknown"));
    let mut asker = Asker { role: Role::Breeder, device, signed_in: None, address };

    let is_known_host = home.hosts.iter().any(|h| h.eq_ignore_ascii_case(host))
        || (home.doors.network.is_some() && connection.is_some_and(|c| is_own_address(host, c)));
    let first_look = if !is_known_host {
        Err(Fault::WrongHost)
    } else if is_crooked(path) {
        Err(Fault::Crooked)
    } else if !only_looks(&request.method) {
        is_from_our_page(request, host, is_secure).and_then(|()| is_small(request))
    } else {
        Ok(())
    };
    let Some(network) = &home.doors.network else {
        let entered = Entered { asker: Some(asker.clone()), session: browser.to_owned(), renewed: None };
        return (Some(asker), first_look.map(|()| entered));
    };

    asker.role = Role::Reader;
    // Without the two ends of the connection nobody is let in.
    let Some(connection) = connection.filter(|c| is_of_a_home(c.peer.ip()) || network.lets_in_from_afar(c)) else {
        return (Some(asker), Err(Fault::Foreign));
    };
    let now = (home.clock)();
    if let Err(fault) = first_look {
        return (Some(asker), Err(fault));
    }
    let token = kept(&request.headers, SESSION, is_secure).unwrap_or_default().to_owned();
    let found = if token.is_empty() { Ok(None) } else { signed_in(&home.book.store, &token, now).await };
    let found = match found {
        Ok(found) => found,
        Err(error) => return (Some(asker), Err(Fault::App(error))),
    };
    let renewed = found.as_ref().filter(|f| f.is_renewed).map(|_| keep(SESSION, &token, is_secure));
    let guest = request.extensions.get::<Guest>().filter(|_| found.is_none());
    let is_signed_in = found.is_some() || guest.is_some();
    if let Some(found) = found {
        asker.role = found.role;
        asker.device.clone_from(&found.device.id);
        asker.signed_in = Some(found.device);
    } else if let Some(Guest(who)) = guest {
        asker = who.clone();
    }
    let key = if is_signed_in { asker.device.clone() } else { asker.address.clone() };
    if !network.requests.take(key, now) {
        return (Some(asker), Err(Fault::TooFast));
    }
    let session = if is_signed_in { token } else { browser.to_owned() };
    let needs = way(&request.method, path);
    // A form at the door is a try. A link that opens something is none; the guard counts the others.
    let from = connection.peer.ip().to_canonical();
    let is_let_try = match (needs, only_looks(&request.method)) {
        (Way::Open, false) => network.sign_ins.take(from, now),
        (Way::Open, true) if path.starts_with("/j/") || path.starts_with("/v/") => network.sign_ins.is_left(from, now),
        _ => true,
    };
    if !is_let_try {
        return (Some(asker), Err(Fault::TooFast));
    }
    let outcome = match needs {
        Way::Open => Ok(Entered { asker: is_signed_in.then(|| asker.clone()), session, renewed }),
        Way::Needs(_) if !is_signed_in => Err(Fault::NotSignedIn),
        Way::Needs(action) if asker.role.may(action) == May::Never => Err(Fault::NotAllowed(asker.role)),
        Way::Needs(_) => Ok(Entered { asker: Some(asker.clone()), session, renewed }),
    };
    (Some(asker), outcome)
}

/// A browser says from which page a form comes; one that says nothing is not let in.
fn is_from_our_page(request: &Parts, host: &str, is_secure: bool) -> Result<(), Fault> {
    let headers = &request.headers;
    let from = headers.get(header::ORIGIN).or_else(|| headers.get(header::REFERER)).and_then(|o| o.to_str().ok());
    let scheme = if is_secure { "https://" } else { "http://" };
    let from_host = from.and_then(|o| o.strip_prefix(scheme));
    match from_host.map(|o| o.split('/').next().unwrap_or(o)) {
        Some(origin) if origin == host => Ok(()),
        _ => Err(Fault::WrongOrigin),
    }
}

/// A body that says beforehand that it is too large is not read at all.
fn is_small(request: &Parts) -> Result<(), Fault> {
    let length = request.headers.get(header::CONTENT_LENGTH).and_then(|l| l.to_str().ok()?.parse::<usize>().ok());
    if length.is_some_and(|l| l > LARGEST_BODY) { Err(Fault::TooLarge) } else { Ok(()) }
}
