//! Who holds this device, and that person's own PIN.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use maud::{Markup, html};
use whelpward_app::access::{self, Denied};
use whelpward_store::{Device, Person};

use super::Refused;
use super::door::why_denied;
use crate::fault::Fault;
use crate::form::{Form, button, form, secret_field, wrong};
use crate::here::Visit;
use crate::layout::outer_page;
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    back: Option<String>,
}

pub async fn page(visit: Visit, Query(asked): Query<Asked>) -> Result<Response, Fault> {
    let Some(device) = visit.asker.signed_in.clone() else { return Ok(Redirect::to("/").into_response()) };
    let people = visit.home.book.store.people().await.map_err(whelpward_app::AppError::from)?;
    let back = ours(asked.back.as_deref().unwrap_or("/")).to_owned();
    Ok(shown(&visit, &device, &people, &back, None).into_response())
}

/// An address of ours, or the first page.
fn ours(back: &str) -> &str {
    let is_ours = back.starts_with('/') && !back.starts_with("//") && !back.contains(['\\', '\n', '\r']);
    if is_ours { back } else { "/" }
}

fn shown(visit: &Visit, device: &Device, people: &[Person], back: &str, problem: Option<&str>) -> Markup {
    let mine = people.iter().find(|p| p.name == device.carer);
    let body = html! {
        h1 { (say("who-title")) }
        (wrong(problem))
        @if people.is_empty() { p { (say("who-nobody")) } }
        div class="ways" { @for person in people { (one(visit, device, person, back)) } }
        @if let Some(mine) = mine { (own_pin(visit, mine)) }
        section {
            h2 { (say("who-sign-out")) }
            p { (say("who-sign-out-text")) }
            (button(visit, "/sign-out", "second", &[], &html! { (say("who-sign-out-button")) }))
        }
    };
    outer_page(visit, &say("who-title"), &body)
}

fn one(visit: &Visit, device: &Device, person: &Person, back: &str) -> Markup {
    let is_here = person.name == device.carer;
    let label = html! { (person.name) @if is_here { " ✓" } small { (word("role", &person.role)) } };
    html! {
        @if person.has_pin && !is_here {
            details class="fold" {
                summary { (person.name) ", " (word("role", &person.role)) ", " (say("who-with-pin")) }
                (form(visit, "/who", &html! {
                    input type="hidden" name="name" value=(person.name);
                    input type="hidden" name="back" value=(back);
                    (secret_field("pin", &tell("who-pin-of", &[("name", person.name.as_str().into())]), "current-password", ""))
                    button class="primary" type="submit" { (tell("who-i-am", &[("name", person.name.as_str().into())])) }
                }))
            }
        } @else {
            (button(visit, "/who", if is_here { "primary" } else { "second" }, &[("name", &person.name), ("back", back)], &label))
        }
    }
}

fn own_pin(visit: &Visit, mine: &Person) -> Markup {
    html! {
        details class="fold" {
            summary { (say("who-own-pin")) }
            p { (say("who-own-pin-text")) }
            (form(visit, "/who/pin", &html! {
                @if mine.has_pin { (secret_field("before", &say("who-pin-before"), "current-password", "")) }
                (secret_field("pin", &say("who-pin-new"), "new-password", &say("who-pin-hint")))
                button class="second" type="submit" { (say("who-pin-save")) }
            }))
        }
    }
}

pub async fn hand_over(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let Some(device) = visit.asker.signed_in.clone() else { return Err(Fault::NotSignedIn) };
    let store = &visit.home.book.store;
    let back = ours(typed.get("back")).to_owned();
    let by = visit.asker.by();
    // The one who holds it already need not say so again.
    if typed.get("name") == device.carer && !device.carer.is_empty() {
        return Ok(Redirect::to(&back).into_response());
    }
    match access::hand_over(store, &by, &device, typed.get("name"), typed.get("pin"), visit.clock).await {
        Ok(()) => Ok(Redirect::to(&back).into_response()),
        Err(denied) => again(&visit, &device, &back, denied, typed.get("name")).await,
    }
}

/// The page again, with why.
async fn again(visit: &Visit, device: &Device, back: &str, denied: Denied, whom: &str) -> Result<Response, Fault> {
    if let Denied::App(error @ whelpward_app::AppError::Store(_)) = denied {
        return Err(Fault::App(error));
    }
    let people = visit.home.book.store.people().await.map_err(whelpward_app::AppError::from)?;
    let (text, audit) = why_denied(&denied);
    let status = if audit.is_some() { StatusCode::FORBIDDEN } else { StatusCode::UNPROCESSABLE_ENTITY };
    let mut response = (status, shown(visit, device, &people, back, Some(&text))).into_response();
    if let Some(word) = audit {
        response.extensions_mut().insert(Refused { word, detail: whom.chars().take(60).collect() });
    }
    Ok(response)
}

/// The one who holds the device sets an own PIN.
pub async fn pin(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let Some(device) = visit.asker.signed_in.clone().filter(|d| !d.carer.is_empty()) else {
        return Err(Fault::NotSignedIn);
    };
    let store = &visit.home.book.store;
    let by = visit.asker.by();
    match access::set_pin(store, &by, &device.carer, typed.get("pin"), typed.get("before"), visit.clock).await {
        Ok(()) => Ok(Redirect::to("/who").into_response()),
        Err(denied) => again(&visit, &device, "/", denied, &device.carer).await,
    }
}
