//! What stands before every page: who may come in; and the headers behind it.

use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use http_body_util::LengthLimitError;

use crate::Home;
use crate::access::{self, Refused};
use crate::connections::Patience;
use crate::cookies::{keep, kept, sets};
use crate::fault::Fault;

/// A form is far smaller; nothing else is taken.
pub const LARGEST_BODY: usize = 256 * 1024;

/// Nothing from elsewhere is loaded or run, nothing inline, and no page stands in another's frame.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; worker-src 'self'; img-src 'self'; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Names a browser that has not signed in; it opens nothing.
const BROWSER: &str = "whelpward_browser";

/// What the tokens of the forms of this browser are bound to.
#[derive(Debug, Clone)]
pub struct Session(pub String);

pub async fn guard(State(home): State<Arc<Home>>, request: Request, next: Next) -> Response {
    let is_secure = access::is_secure(request.extensions());
    let known = kept(request.headers(), BROWSER, is_secure).filter(|s| is_session(s)).map(str::to_owned);
    let is_new = known.is_none();
    let browser = known.unwrap_or_else(|| format!("{:032x}", rand::random::<u128>()));

    let may_write = !access::only_looks(request.method());
    let is_asset = request.uri().path().starts_with("/assets/");
    let says_to_be_in = kept(request.headers(), access::SESSION, is_secure).is_some();
    let asked = format!("{} {}", request.method(), without_token(request.uri().path()));
    let path = request.uri().path().to_owned();
    // Nothing of the body is held before the book was asked who this is.
    let (mut parts, body) = request.into_parts();
    let (asker, entered) = access::enter(&home, &parts, &browser).await;
    let mut renewed = None;
    let mut response = match entered {
        Ok(entered) => {
            renewed = entered.renewed;
            parts.extensions.insert(Session(entered.session));
            if let Some(asker) = entered.asker {
                parts.extensions.insert(asker);
            }
            let patience = parts.extensions.get::<Patience>().copied().unwrap_or_default();
            match whole(body, patience).await {
                Ok(body) => next.run(Request::from_parts(parts, Body::from(body))).await,
                Err(fault) => fault.into_response(),
            }
        }
        Err(Fault::NotSignedIn) if !may_write && !is_stream(&path) => {
            // Somebody who looks is shown the door; that is a refusal only to one who says to be let in.
            let mut response = Redirect::to("/sign-in").into_response();
            if says_to_be_in {
                response.extensions_mut().insert(Refused::new("signed-out"));
            }
            response
        }
        Err(fault) => fault.into_response(),
    };
    let too_large = (response.status() == StatusCode::PAYLOAD_TOO_LARGE).then(|| Refused::new("too-large"));
    if let Some(why) = response.extensions_mut().remove::<Refused>().or(too_large) {
        let by = asker.as_ref().map(access::Asker::by).unwrap_or_default();
        home.doors.count_wrong_link(&why, &by, (home.clock)());
        home.doors.refusals.write(&home.book.store, &by, &why, &asked, (home.clock)()).await;
    }
    if may_write && !response.status().is_client_error() {
        home.live.look();
    }
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !is_asset {
        headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
        let made = is_new.then(|| keep(BROWSER, &browser, is_secure));
        // Signing in and out set the cookie of the session themselves.
        let is_set = headers.get_all(header::SET_COOKIE).iter().any(|c| sets(c.as_bytes(), access::SESSION, is_secure));
        for cookie in made.into_iter().chain(renewed.filter(|_| !is_set)) {
            if let Ok(value) = HeaderValue::from_str(&cookie) {
                headers.append(header::SET_COOKIE, value);
            }
        }
    }
    response
}

/// The body, which is small and comes soon, or is not taken.
async fn whole(body: Body, patience: Patience) -> Result<Bytes, Fault> {
    let read = tokio::time::timeout(patience.body, to_bytes(body, LARGEST_BODY)).await;
    read.map_err(|_| Fault::TooSlow)?.map_err(|error| {
        let is_large = error.into_inner().is::<LengthLimitError>();
        if is_large { Fault::TooLarge } else { Fault::BadForm }
    })
}

/// A stream or a call of a script cannot follow the way to another page.
fn is_stream(path: &str) -> bool {
    path.ends_with("/live") || path.starts_with("/api/")
}

/// A link's token is a secret, also in the audit.
fn without_token(path: &str) -> &str {
    ["/j/", "/v/"].into_iter().find(|door| path.starts_with(door)).unwrap_or(path)
}

fn is_session(text: &str) -> bool {
    text.len() == 32 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}
