//! Who is here, which theme; carers, vets, the litter.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::access::Action;
use whelpward_app::{AppError, put};
use whelpward_core::book::Kind;
use whelpward_core::record::Values;

use crate::Home;
use crate::fault::Fault;
use crate::form::{Form, button, choice, field, form, tick, wrong};
use crate::here::{Here, Shelf, Visit, to_hex};
use crate::layout::{Tab, page as frame};
use crate::start::typed_value;
use crate::theme::{CARER, HAND, THEME, Theme};
use crate::words::{say, tell, word};

pub async fn page(here: Here) -> Markup {
    shown(&here, None)
}

fn shown(here: &Here, problem: Option<&str>) -> Markup {
    let facts = here.facts();
    let back = here.to("settings");
    let body = html! {
        h1 { (say("settings-title")) }
        (wrong(problem))
        section id="who" {
            h2 { (say("settings-who")) }
            @if here.visit.asker.signed_in.is_some() {
                p { a class="button" href=(format!("/who?back={}", here.to("now"))) { (say("who-title")) } }
            } @else if facts.carers.is_empty() { p { (say("settings-no-carers")) } }
            @if here.visit.asker.signed_in.is_none() { div class="ways" {
                @for carer in &facts.carers {
                    (button(&here.visit, "/device", if here.carer() == Some(&carer.name) { "primary" } else { "second" }, &[("carer", &carer.name), ("back", &here.to("now"))], &html! { (carer.name) @if here.carer() == Some(&carer.name) { " ✓" } }))
                }
            } }
        }
        section {
            h2 { (say("settings-theme")) }
            div class="row" {
                @for theme in [Theme::Auto, Theme::Day, Theme::Night] {
                    (button(&here.visit, "/device", if here.visit.theme == theme { "primary" } else { "second" }, &[("theme", theme.word()), ("back", &back)], &html! { (word("theme", theme.word())) }))
                }
            }
            p { (say("settings-hand")) }
            div class="row" {
                @for (hand, is_on) in [("right", !here.visit.is_left_handed), ("left", here.visit.is_left_handed)] {
                    (button(&here.visit, "/device", if is_on { "primary" } else { "second" }, &[("hand", hand), ("back", &back)], &html! { (word("hand", hand)) }))
                }
            }
        }
        @if here.may(Action::Arrange) { (arrange(here)) }
        @if here.shelf == Shelf::Own { (crate::copies::told(here)) (crate::server_clock::told(here)) }
        @if here.shelf == Shelf::Example && here.may(Action::Arrange) {
            section {
                h2 { (say("start-example-title")) }
                (button(&here.visit, "/examples/remove", "second", &[], &html! { (say("start-example-remove")) }))
            }
        }
    };
    frame(here, &say("settings-title"), Tab::More, &body)
}

/// What only the breeder changes: carers, vets, the litter.
fn arrange(here: &Here) -> Markup {
    let facts = here.facts();
    let back = here.to("settings");
    let units = ["g", "oz", "lb_oz"].map(|u| (u.to_owned(), word("unit", u)));
    html! {
        section {
            h2 { (say("settings-carers")) }
            ul { @for carer in &facts.carers { li { (carer.name) @if carer.tube_taught_by_vet { ", " (say("settings-taught")) } } } }
            (form(&here.visit, &back, &html! {
                input type="hidden" name="what" value="carer";
                (field("name", &say("settings-carer-name"), "text", "", ""))
                (tick("tube_taught_by_vet", &say("settings-tube"), false))
                (field("available", &say("settings-available"), "text", "", &say("settings-hours-hint")))
                (field("sleeps", &say("settings-sleeps"), "text", "", &say("settings-hours-hint")))
                button class="second" type="submit" { (say("settings-carer-save")) }
            }))
        }
        section {
            h2 { (say("settings-vets")) }
            ul { @for vet in &facts.vets { li { (vet.name) ": " (vet.phone) } } }
            (form(&here.visit, &back, &html! {
                input type="hidden" name="what" value="vet";
                (field("name", &say("settings-vet-name"), "text", "", ""))
                (field("phone", &say("new-phone"), "tel", "", ""))
                (field("hours", &say("settings-vet-hours"), "text", "", ""))
                button class="second" type="submit" { (say("settings-vet-save")) }
            }))
        }
        section {
            h2 { (say("settings-litter")) }
            (form(&here.visit, &back, &html! {
                input type="hidden" name="what" value="litter";
                (choice("weight_unit", &say("new-unit"), &units, facts.litter.weight_unit.word()))
                (field("scale_step_g", &say("new-scale"), "decimal", &whelpward_core::units::number(facts.litter.scale_step.get(), 1, false), &say("new-scale-hint")))
                (field("most_rounds_per_day", &say("settings-rounds"), "numeric", &facts.litter.most_rounds_per_day.map(|n| n.to_string()).unwrap_or_default(), &say("settings-rounds-hint")))
                (field("expected_pups", &say("new-expected"), "numeric", &facts.litter.expected_pups.map(|n| n.to_string()).unwrap_or_default(), ""))
                button class="second" type="submit" { (say("settings-litter-save")) }
            }))
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let mut body = Values::new();
    let (kind, texts, numbers): (Kind, &[&str], &[&str]) = match typed.get("what") {
        "carer" => (Kind::Carer, &["name"], &[]),
        "vet" => (Kind::Vet, &["name", "phone", "hours"], &[]),
        "litter" => (Kind::Litter, &["weight_unit"], &["scale_step_g", "most_rounds_per_day", "expected_pups"]),
        "scale" => (Kind::Litter, &[], &["scale_step_g"]),
        _ => return Err(Fault::BadForm),
    };
    for name in texts {
        if let Some(text) = typed.filled(name) {
            body.insert((*name).into(), Value::String(text));
        }
    }
    for name in ["available", "sleeps"] {
        if let Some(text) = typed.filled(name) {
            let hours = text.split(';').map(str::trim).filter(|part| !part.is_empty());
            body.insert(name.into(), hours.map(|part| Value::String(part.into())).collect());
        }
    }
    for name in numbers {
        body.insert((*name).into(), typed.filled(name).map_or(Value::Null, |t| typed_value(&t)));
    }
    if typed.get("tube_taught_by_vet") == "yes" {
        body.insert("tube_taught_by_vet".into(), Value::Bool(true));
    }
    match put(&here.book, &here.who(), here.litter, kind, None, body, here.now).await {
        Ok(saved) => Ok(here.after("settings", saved)),
        Err(AppError::Refused { what, allowed }) => {
            let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&text))).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

/// What belongs to this device alone: kept in cookies.
pub async fn device(State(_): State<Arc<Home>>, visit: Visit, typed: Form) -> Response {
    let _ = visit;
    let back = typed.get("back");
    let back = if back.starts_with('/') && !back.starts_with("//") && !back.contains('\\') { back } else { "/" };
    let mut response = Redirect::to(back).into_response();
    let theme = typed.filled("theme").filter(|t| ["auto", "day", "night"].contains(&t.as_str()));
    let hand = typed.filled("hand").filter(|t| ["left", "right"].contains(&t.as_str()));
    let carer = typed.filled("carer").map(|c| to_hex(&c));
    for (name, value) in [(THEME, theme), (HAND, hand), (CARER, carer)] {
        let Some(value) = value else { continue };
        let cookie = format!("{name}={value}; Path=/; Max-Age=31536000; HttpOnly; SameSite=Lax");
        if let Ok(value) = HeaderValue::from_str(&cookie) {
            response.headers_mut().append(header::SET_COOKIE, value);
        }
    }
    response
}
