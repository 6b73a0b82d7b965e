//! What stands before every page: which host, which origin, how large; and the headers behind it.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};

use crate::Home;
use crate::fault::Fault;

/// A form is far smaller; nothing else is taken.
pub const LARGEST_BODY: usize = 256 * 1024;

/// Nothing from elsewhere is loaded or run, nothing inline, and no page stands in another's frame.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const SESSION: &str = "whelpward_browser";

/// Names this browser; made at its first visit.
#[derive(Debug, Clone)]
pub struct Session(pub String);

pub async fn guard(State(home): State<Arc<Home>>, mut request: Request, next: Next) -> Response {
    let known = cookie(request.headers(), SESSION).filter(|s| is_session(s)).map(str::to_owned);
    let is_new = known.is_none();
    let session = known.unwrap_or_else(|| format!("{:032x}", rand::random::<u128>()));
    request.extensions_mut().insert(Session(session.clone()));

    let may_write = !matches!(*request.method(), Method::GET | Method::HEAD);
    let is_asset = request.uri().path().starts_with("/assets/");
    let mut response = match refusal(&home, &request) {
        Some(fault) => fault.into_response(),
        None => next.run(request).await,
    };
    if may_write && !response.status().is_client_error() {
        home.live.look();
    }
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !is_asset {
        headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
        if is_new {
            let cookie = format!("{SESSION}={session}; Path=/; Max-Age=5184000; HttpOnly; SameSite=Lax");
            if let Ok(value) = HeaderValue::from_str(&cookie) {
                headers.append(header::SET_COOKIE, value);
            }
        }
    }
    response
}

/// Why a request is not let in.
fn refusal(home: &Home, request: &Request<Body>) -> Option<Fault> {
    let headers = request.headers();
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok()).unwrap_or_default();
    if !home.hosts.iter().any(|h| h == host) {
        return Some(Fault::WrongHost);
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return None;
    }
    // A browser says from which page a form comes; one that says nothing is not let in.
    let from = headers.get(header::ORIGIN).or_else(|| headers.get(header::REFERER)).and_then(|o| o.to_str().ok());
    let from_host = from.and_then(|o| o.strip_prefix("http://").or_else(|| o.strip_prefix("https://")));
    match from_host.map(|o| o.split('/').next().unwrap_or(o)) {
        Some(origin) if origin == host => None,
        _ => Some(Fault::WrongOrigin),
    }
}

pub fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(n, _)| *n == name)
        .map(|(_, v)| v)
}

fn is_session(text: &str) -> bool {
    text.len() == 32 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}
