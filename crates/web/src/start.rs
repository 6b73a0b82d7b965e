//! The first page: the litters, a new litter, the invented examples.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::access::Action;
use whelpward_app::{AppError, LitterInfo, Register, Who, litters, register_litter};
use whelpward_core::record::Values;

use crate::Home;
use crate::fault::Fault;
use crate::form::{Form, button, choice, field, form, tick, wrong};
use crate::here::{Shelf, Visit};
use crate::layout::outer_page;
use crate::words::{say, tell};

pub async fn health(State(home): State<Arc<Home>>) -> Result<&'static str, Fault> {
    home.book.store.count().await.map_err(|e| Fault::App(AppError::Store(e)))?;
    Ok("ok\n")
}

pub async fn page(visit: Visit) -> Result<Markup, Fault> {
    let own = litters(&visit.home.book).await?;
    let examples = match visit.home.examples().await {
        Some(book) => litters(&book).await?,
        None => Vec::new(),
    };
    let body = html! {
        h1 { (say(if own.is_empty() { "start-welcome" } else { "start-litters" })) }
        @if own.is_empty() { p class="lead" { (say("start-lead")) } }
        (listed(Shelf::Own, &own))
        @if visit.asker.may(Action::Arrange) { p { a class=(if own.is_empty() { "button primary" } else { "button" }) href="/new" { (say("start-new")) } } }
        @if visit.asker.may(Action::LetIn) { p { a class="button" href="/household" { (say("household-title")) } } }
        @if visit.asker.signed_in.is_some() { p { a class="button" href="/who" { (say("who-title")) } } }
        @if visit.asker.may(Action::Arrange) || !examples.is_empty() { section {
            h2 { (say("start-example-title")) }
            p { (say("start-example-text")) }
            @if examples.is_empty() {
                (button(&visit, "/examples", "second", &[], &html! { (say("start-example")) }))
            } @else {
                (listed(Shelf::Example, &examples))
                @if visit.asker.may(Action::Arrange) { (button(&visit, "/examples/remove", "second", &[], &html! { (say("start-example-remove")) })) }
            }
        } }
        section {
            h2 { (say("start-safe-title")) }
            p { (say("start-safe-text")) }
        }
    };
    Ok(outer_page(&visit, &say("start-title"), &body))
}

fn listed(shelf: Shelf, litters: &[LitterInfo]) -> Markup {
    html! {
        @if !litters.is_empty() {
            ul class="cards" {
                @for litter in litters {
                    li {
                        a class="card" href=(format!("/{}/{}/now", shelf.word(), litter.id)) {
                            strong { (litter.name) }
                            span {
                                @if litter.pups == 0 { (say("start-expecting")) }
                                @else { (tell("start-pups", &[("here", litter.pups_here.into()), ("born", litter.pups.into())])) }
                            }
                            @if litter.is_example { span { (say("example-word")) } }
                        }
                    }
                }
            }
        }
    }
}

pub async fn new_page(visit: Visit) -> Markup {
    new_form(&visit, None, None)
}

fn new_form(visit: &Visit, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let of = |name: &str| typed.map_or("", |t| t.get(name)).to_owned();
    let zone = jiff::tz::TimeZone::system().iana_name().unwrap_or("UTC").to_owned();
    let or = |name: &str, usual: &str| typed.and_then(|t| t.filled(name)).unwrap_or_else(|| usual.to_owned());
    let units = ["g", "oz", "lb_oz"].map(|u| (u.to_owned(), crate::words::word("unit", u)));
    let body = html! {
        h1 { (say("new-title")) }
        p { (say("new-lead")) }
        (wrong(problem))
        (form(visit, "/new", &html! {
            (field("name", &say("new-name"), "text", &of("name"), &say("new-name-hint")))
            (field("breed", &say("new-breed"), "text", &of("breed"), &say("new-breed-hint")))
            (field("expected_adult_weight_kg", &say("new-adult"), "decimal", &of("expected_adult_weight_kg"), &say("new-adult-hint")))
            (field("dam", &say("new-dam"), "text", &of("dam"), ""))
            (field("expected_pups", &say("new-expected"), "numeric", &of("expected_pups"), &say("new-expected-hint")))
            (field("scale_step_g", &say("new-scale"), "decimal", &or("scale_step_g", "1"), &say("new-scale-hint")))
            (choice("weight_unit", &say("new-unit"), &units, &or("weight_unit", "g")))
            (field("time_zone", &say("new-zone"), "text", &or("time_zone", &zone), &say("new-zone-hint")))
            (field("vet", &say("new-vet"), "text", &of("vet"), ""))
            (field("phone", &say("new-phone"), "tel", &of("phone"), &say("new-phone-hint")))
            (tick("carry_over", &say("new-carry"), typed.is_none_or(|t| t.get("carry_over") == "yes")))
            button class="primary" type="submit" { (say("new-save")) }
        }))
    };
    outer_page(visit, &say("new-title"), &body)
}

/// A number as a number, so that the core reads it as one; anything else stays a text and is refused there.
pub fn typed_value(text: &str) -> Value {
    let plain = whelpward_core::units::parse_decimal(text).ok();
    #[expect(clippy::cast_possible_truncation, reason = "only whole numbers far below 2^53 get here")]
    match plain {
        Some(n) if n.fract() == 0.0 && n < 1e9 => Value::from(n as i64),
        Some(n) => Value::from(n),
        None => Value::String(text.to_owned()),
    }
}

pub async fn new_litter(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let mut litter = Values::new();
    for name in ["name", "breed", "weight_unit", "time_zone"] {
        if let Some(text) = typed.filled(name) {
            litter.insert(name.into(), Value::String(text));
        }
    }
    for name in ["expected_adult_weight_kg", "expected_pups", "scale_step_g"] {
        if let Some(text) = typed.filled(name) {
            litter.insert(name.into(), typed_value(&text));
        }
    }
    let dam = typed.filled("dam").map(|name| Values::from([("name".to_owned(), Value::String(name))]));
    let who = Who { carer: None, ..visit.who() };
    let ask = Register { litter, dam: dam.unwrap_or_default(), carry_over: typed.get("carry_over") == "yes" };
    let book = &visit.home.book;
    let saved = match register_litter(book, &who, ask, visit.clock).await {
        Ok(saved) => saved,
        Err(AppError::Store(e)) => return Err(Fault::App(AppError::Store(e))),
        Err(other) => {
            let text = other.to_string();
            return Ok((axum::http::StatusCode::UNPROCESSABLE_ENTITY, new_form(&visit, Some(&typed), Some(&text)))
                .into_response());
        }
    };
    let Some(id) = saved.facts.first().map(|f| f.litter) else { return Err(Fault::NotFound) };
    if let (Some(name), Some(phone)) = (typed.filled("vet"), typed.filled("phone")) {
        let vet = Values::from([("name".to_owned(), Value::String(name)), ("phone".to_owned(), Value::String(phone))]);
        whelpward_app::put(book, &who, id, whelpward_core::book::Kind::Vet, None, vet, visit.clock).await?;
    }
    Ok(Redirect::to(&format!("/litter/{id}/now")).into_response())
}

pub async fn lay_out_examples(visit: Visit, _: Form) -> Result<Redirect, Fault> {
    let book = visit.home.lay_out_examples(visit.clock).await?;
    let found = litters(&book).await?;
    let first = found.iter().find(|l| l.name == "Heather").or(found.first());
    Ok(Redirect::to(&first.map_or_else(|| "/".into(), |l| format!("/example/{}/now", l.id))))
}

pub async fn remove_examples(visit: Visit, _: Form) -> Result<Redirect, Fault> {
    visit.home.remove_examples().await?;
    Ok(Redirect::to("/"))
}
