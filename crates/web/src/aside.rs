//! Entries that the book could not take as they came: a person decides.

use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::{AppError, TakeAs, Waiting, take, waiting};

use crate::fault::Fault;
use crate::form::{Form, button, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::pup::event_words;
use crate::questions::or_who_answers;
use crate::show::{sentence, when};
use crate::words::{say, tell};

pub async fn page(here: Here) -> Result<Markup, Fault> {
    shown(&here, None).await
}

async fn shown(here: &Here, problem: Option<&str>) -> Result<Markup, Fault> {
    let all = waiting(&here.book, here.litter).await?;
    let body = html! {
        h1 { (say("aside-title")) }
        (wrong(problem))
        @if all.is_empty() { p { (say("aside-none")) } }
        @for one in &all { (card(here, one)) }
        p { a class="button primary" href=(here.to("now")) { (say("finish")) } }
    };
    Ok(frame(here, &say("aside-title"), Tab::More, &body))
}

fn card(here: &Here, waiting: &Waiting) -> Markup {
    let seq = waiting.seq.to_string();
    let ways: &[(&str, String)] = match &waiting.fact {
        Some(_) => &[
            ("own", say("aside-own")),
            ("arrived", tell("aside-arrived", &[("at", when(here, waiting.received).into())])),
            ("out", say("aside-out")),
        ],
        None => &[("out", say("aside-out"))],
    };
    html! {
        section class="task" {
            @match &waiting.fact {
                Some(fact) => {
                    h2 {
                        (fact.pup.map(|p| here.loaded.name_of(p).to_owned()).unwrap_or_default()) " "
                        (event_words(here, fact))
                    }
                }
                None => {
                    h2 { (say("aside-unreadable")) }
                    p { code { (waiting.entry) } }
                }
            }
            p class="note" { (tell("aside-why", &[("why", waiting.why.as_str().into())])) }
            (or_who_answers(here, html! { div class="ways" {
                @for (word, label) in ways {
                    (button(&here.visit, &here.to("aside"), "second", &[("seq", &seq), ("as", word)], &html! { (label) }))
                }
            } }))
        }
    }
}

pub async fn settle(here: Here, typed: Form) -> Result<Response, Fault> {
    let take_as = match typed.get("as") {
        "own" => TakeAs::AsItIs,
        "arrived" => TakeAs::WhenItArrived,
        "out" => TakeAs::LeftOut,
        _ => return Err(Fault::BadForm),
    };
    let seq = typed.get("seq").parse().map_err(|_| Fault::BadForm)?;
    match take(&here.book, here.litter, seq, take_as, here.now).await {
        Ok(saved) => Ok(here.after("aside", saved)),
        Err(AppError::Refused { what, allowed }) => {
            let text = sentence(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())]));
            Ok((axum::http::StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&text)).await?).into_response())
        }
        Err(other) => Err(other.into()),
    }
}
