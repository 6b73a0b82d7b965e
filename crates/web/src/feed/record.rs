//! Writes down what a pup took.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::html;
use serde_json::Value;

use whelpward_app::access::Action;
use whelpward_app::{Amount, AppError, Ask, FeedGiven, Shown, feed, put};
use whelpward_core::book::Kind;
use whelpward_core::record::Values;

use crate::fault::Fault;
use crate::form::{Form, form};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::words::{say, tell};

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let (pup, name) = here.pup(typed.get("pup"))?;
    let since = typed.get("since").parse::<i64>().ok();
    // The round begins with its first feed.
    let began = since.unwrap_or_else(|| here.now.as_millisecond());
    let next = format!("feed?since={began}");
    let today = || whelpward_core::report::today(here.facts(), here.now);
    let refused = |text: &str| {
        let page = super::shown(&here, &today(), Some(pup), since, Some((text, typed.get("rectal_temperature_c"))));
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    };
    let at = match typed.at(&here) {
        Ok(at) => at,
        Err(text) => return Ok(refused(&text)),
    };
    if let Some(page) = super::gate::refused(&here, &today(), &typed, name) {
        return Ok(page);
    }
    let amount = match typed.get("what") {
        "planned" => {
            let shown = typed.filled("shown").zip(typed.filled("method"));
            Amount::AsPlanned(shown.map(|(amount, method)| Shown::new(amount, method)))
        }
        "nursed" => Amount::Nursed {
            before_g: typed.filled("before_g"),
            after_g: typed.filled("after_g"),
            is_soiled: typed.get("soiled") == "yes",
        },
        "skipped" => {
            let text = tell("feed-skipped-note", &[("pup", name.into())]);
            let body = Values::from([
                ("noted_at".to_owned(), Value::String(here.loaded.typed_time(at))),
                ("text".to_owned(), Value::String(text)),
            ]);
            let mut saved = put(&here.book, &here.who(), here.litter, Kind::Note, Some(pup), body, here.now).await?;
            saved.read_back = tell("feed-skipped-said", &[("pup", name.into())]);
            return Ok(here.after("now", saved));
        }
        "refused" => {
            // Offered as planned, nothing taken: unknown would not be zero, this is zero.
            Amount::Given { offered_ml: typed.filled("shown"), taken_ml: Some("0".into()) }
        }
        _ => match typed.filled("taken_ml") {
            Some(taken) => Amount::Given { offered_ml: None, taken_ml: Some(taken) },
            None => return Ok(refused(&say("feed-how-much"))),
        },
    };
    let given = FeedGiven {
        litter: here.litter,
        pup,
        at,
        method: typed.filled("method"),
        amount,
        milk: None,
        note: None,
        rectal_temperature_c: typed.filled("rectal_temperature_c"),
        is_kept: typed.get("kept") == "yes",
    };
    match feed(&here.book, &here.who(), given, here.now).await {
        // Too cold or too hot for the planned feed: the reading is saved, and the pup stays in hand.
        Ok(saved) if saved.facts.iter().all(|f| f.kind != Kind::Feed) => {
            Ok(here.after(&format!("{next}&pup={pup}"), saved))
        }
        Ok(saved) => Ok(here.after(&next, saved)),
        Err(AppError::Ask(ask)) => Ok(again(&here, &typed, &ask)),
        Err(AppError::Refused { what, allowed }) => {
            Ok(refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())])))
        }
        Err(other) => Err(other.into()),
    }
}

/// Fed shortly before, early, or by another plan than now: a person says whether it was given.
fn again(here: &Here, typed: &Form, ask: &Ask) -> Response {
    // To save nothing stands where the button stood.
    let way = |place: usize| ask.choices.get(place).map(|c| sentence(&c.label)).unwrap_or_default();
    let body = html! {
        div class="entry" data-question {
            section class="question" role="alert" {
                h1 { (say("slip-title")) }
                p { (sentence(&ask.what)) }
            }
            div class="ways" {
                @if !here.may(Action::Settle) { p class="note" { (say("feed-again-helper")) } }
                @else { (form(&here.visit, &here.to("feed"), &html! {
                    @for (name, value) in typed.kept() { input type="hidden" name=(name) value=(value); }
                    input type="hidden" name="kept" value="yes";
                    button class="second" type="submit" { (way(1)) }
                })) }
                a class="button primary save" href=(here.to("feed")) { (way(0)) }
            }
        }
    };
    (StatusCode::CONFLICT, frame(here, &say("slip-title"), Tab::None, &body)).into_response()
}
