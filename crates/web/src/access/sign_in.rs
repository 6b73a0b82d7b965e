//! Signing in by the password of the household, and signing out.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use maud::{Markup, html};
use whelpward_app::access::{self, Denied};

use super::SESSION;
use super::door::{AtTheDoor, why_denied};
use crate::cookies::keep;
use crate::fault::Fault;
use crate::form::{Form, secret_field, wrong};
use crate::here::Visit;
use crate::words::say;

pub async fn page(door: AtTheDoor) -> Response {
    let is_at_this_computer_alone = door.home.doors.network.is_none();
    if is_at_this_computer_alone {
        return Redirect::to("/").into_response();
    }
    door.page(&say("sign-in-title"), &shown(&door, None)).into_response()
}

fn shown(door: &AtTheDoor, problem: Option<&str>) -> Markup {
    html! {
        h1 { (say("sign-in-title")) }
        p { (say("sign-in-link")) }
        (wrong(problem))
        (door.form("/sign-in", &html! {
            (secret_field("password", &say("sign-in-password"), "current-password", &say("sign-in-hint")))
            button class="primary" type="submit" { (say("sign-in-button")) }
        }))
    }
}

pub async fn sign_in(door: AtTheDoor, typed: Form) -> Result<Response, Fault> {
    let store = &door.home.book.store;
    match access::sign_in(store, &door.by(), typed.get("password").to_owned(), door.label(), door.now).await {
        Ok(token) => door.let_in(&token, "/").await,
        Err(Denied::App(error)) => Err(Fault::App(error)),
        Err(denied) => {
            let (text, audit) = why_denied(&denied);
            let body = shown(&door, Some(&text));
            Ok(door.refused(StatusCode::FORBIDDEN, &say("sign-in-title"), &body, audit.unwrap_or("secret")))
        }
    }
}

/// This device signs itself out.
pub async fn sign_out(door: AtTheDoor, visit: Visit, _: Form) -> Result<Response, Fault> {
    if let Some(device) = &visit.asker.signed_in {
        access::sign_out(&door.home.book.store, &visit.asker.by(), Some(&device.id), visit.clock).await?;
    }
    let mut response = Redirect::to("/sign-in").into_response();
    if let Ok(value) = HeaderValue::from_str(&keep(SESSION, "", door.is_secure)) {
        response.headers_mut().append(header::SET_COOKIE, value);
    }
    Ok(response)
}
