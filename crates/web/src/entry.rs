//! One entry: its history, a correction, the right pup, taking it back.

use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::access::Action;
use whelpward_app::{AnswerTo, AppError, Correction, Saved, answer, correct, undo};
use whelpward_core::book::{AboutPup, Fact, FactId, Kind, history, receipt_of_time};
use whelpward_core::record::{DoneKind, DoneKindRow, Values, entries};

use crate::cue::cue;
use crate::fault::Fault;
use crate::form::{Form, button, field, form, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::pup::event_words;
use crate::show::when;
use crate::stages::write;
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Which {
    entry: String,
}

/// The keys that a page corrects, by kind.
fn keys(fact: &Fact) -> Vec<&'static str> {
    match fact.kind {
        Kind::Weighing if fact.body.contains_key("weight_g") => vec!["weight_g"],
        Kind::Weighing => vec!["weight"],
        Kind::Feed if fact.body.get("method").and_then(Value::as_str) == Some("nursing") => {
            vec!["weight_before_g", "weight_after_g"]
        }
        Kind::Feed => vec!["taken_ml", "offered_ml"],
        Kind::Check => vec!["value"],
        _ => done_row(fact).map_or_else(Vec::new, write::names),
    }
}

/// The kind of what was done or first seen, where the entry is one.
fn done_row(fact: &Fact) -> Option<&'static DoneKindRow> {
    let word = fact.body.get("kind").and_then(Value::as_str).filter(|_| fact.kind == Kind::Done)?;
    Some(DoneKind::from_word(word)?.row())
}

/// The fields of a correction; `text` is what a key holds.
fn fields(fact: &Fact, text: impl Fn(&str) -> String) -> Markup {
    if let Some(row) = done_row(fact) {
        return write::fields(row, text);
    }
    html! { @for key in keys(fact) { (field(key, &word("key", key), "decimal", &text(key), "")) } }
}

fn found(here: &Here, id: &str) -> Result<(FactId, std::sync::Arc<Fact>), Fault> {
    let id: FactId = id.parse().map_err(|_| Fault::NotFound)?;
    let fact = here.loaded.all.iter().find(|f| f.id == id && f.kind != Kind::Void).ok_or(Fault::NotFound)?;
    Ok((id, here.loaded.folded.current(id).unwrap_or(fact).clone()))
}

pub async fn page(here: Here, Path(which): Path<Which>) -> Result<Markup, Fault> {
    let (id, fact) = found(&here, &which.entry)?;
    Ok(shown(&here, id, &fact, None))
}

/// The entry; `refused` is what was typed and why it cannot be.
fn shown(here: &Here, id: FactId, fact: &Fact, refused: Option<(&Form, &str)>) -> Markup {
    let counts = here.loaded.folded.current(id).is_some();
    let text = |key: &str| match refused {
        Some((typed, _)) => typed.get(key).to_owned(),
        None => fact.body.get(key).map(entries::typed).unwrap_or_default(),
    };
    let action = here.to(&format!("entry/{id}"));
    let is_about_a_pup = fact.kind.row().about_pup != AboutPup::Never && fact.pup.is_some();
    let may = |action: Action| here.visit.asker.may_change(action, fact, here.visit.clock);
    let body = html! {
        h1 { (fact.pup.map_or_else(|| say("entry-title"), |p| here.loaded.name_of(p).to_owned())) }
        p class="key" { (event_words(here, fact)) }
        (time_told(here, fact))
        (wrong(refused.map(|(_, why)| why)))
        @if counts {
            @if is_about_a_pup && may(Action::Correct) {
                section id="wrong-pup" {
                    h2 { (say("entry-wrong-pup")) }
                    div class="ways" {
                        @for (other, pup) in here.pups_here().into_iter().filter(|(p, _)| Some(*p) != fact.pup) {
                            (button(&here.visit, &action, "second", &[("pup", &other.to_string())], &cue(&pup.id.0, &pup.marks)))
                        }
                    }
                }
            }
            @if !keys(fact).is_empty() && may(Action::Correct) {
                section {
                    h2 { (say("entry-correct")) }
                    (form(&here.visit, &action, &html! {
                        (fields(fact, text))
                        button class="primary" type="submit" { (say("entry-correct-save")) }
                    }))
                }
            }
            @if may(Action::TakeBack) {
                section {
                    h2 { (say("entry-take-back")) }
                    p { (say("entry-take-back-text")) }
                    (button(&here.visit, &here.to("undo"), "second", &[("entry", &id.to_string()), ("back", &back(here, fact))], &html! { (say("entry-take-back")) }))
                }
            }
        } @else {
            p class="note" { (say("entry-taken-back")) }
        }
        section {
            h2 { (say("entry-history")) }
            ol {
                @for line in history(&here.loaded.all, id) {
                    li {
                        (event_words(here, &line.fact)) " · " (line.fact.device) " "
                        @if line.counts { strong { (say("entry-counts")) } }
                        @else if line.voided_by.is_some() { (say("entry-was-taken-back")) }
                        @else { (say("entry-replaced")) }
                    }
                }
            }
        }
    };
    frame(here, &say("entry-title"), Tab::More, &body)
}

/// Why its time is to be taken with care.
fn time_told(here: &Here, fact: &Fact) -> Markup {
    let receipt = receipt_of_time(&here.loaded.all, fact);
    html! {
        @if receipt.is_late {
            p class="note" {
                (tell("told-late-on", &[("at", receipt.received.map(|at| when(here, at)).unwrap_or_default().into())]))
            }
        }
        @if receipt.is_time_uncertain { p class="note" { (say("told-uncertain-why")) } }
    }
}

fn back(here: &Here, fact: &Fact) -> String {
    fact.pup.map_or_else(|| here.to("now"), |p| here.to(&format!("pup/{p}")))
}

pub async fn save(here: Here, Path(which): Path<Which>, typed: Form) -> Result<Response, Fault> {
    let (id, fact) = found(&here, &which.entry)?;
    must_change(&here, Action::Correct, &fact)?;
    let pup = typed.filled("pup").map(|p| here.pup(&p)).transpose()?.map(|p| p.0);
    let mut body = Values::new();
    for key in keys(&fact) {
        if let Some(text) = typed.filled(key) {
            body.insert(key.into(), Value::String(text));
        } else if pup.is_none() {
            body.insert(key.into(), Value::Null);
        }
    }
    let ask = Correction { litter: here.litter, fact: id, pup, body };
    match correct(&here.book, &here.who(), ask, here.now).await {
        Ok(saved) => {
            let page = saved.facts.first().and_then(|f| f.pup).map_or_else(|| "now".into(), |p| format!("pup/{p}"));
            Ok(here.after(&page, saved))
        }
        Err(AppError::Refused { what, allowed }) => {
            let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, id, &fact, Some((&typed, &text)))).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

pub async fn take_back(here: Here, typed: Form) -> Result<Response, Fault> {
    let entry = typed.fact("entry").ok_or(Fault::BadForm)?;
    // One tap that saved several entries takes all of them back.
    let told = here.visit.home.told(entry).map(|t| t.facts.iter().map(|f| f.id).collect::<Vec<_>>());
    let ids = told.filter(|ids| !ids.is_empty()).unwrap_or_else(|| vec![entry]);
    for fact in ids.iter().filter_map(|id| here.loaded.folded.current(*id)) {
        must_change(&here, Action::TakeBack, fact)?;
    }
    let mut all: Option<Saved> = None;
    for one in ids {
        let saved = undo(&here.book, &here.who(), here.litter, Some(one), here.now).await?.saved;
        match &mut all {
            None => all = Some(saved),
            Some(all) => all.read_back = format!("{} {}", all.read_back, saved.read_back),
        }
    }
    let id = all.and_then(|saved| here.visit.home.tell(saved));
    let back = back_address(typed.get("back")).unwrap_or_else(|| here.to("now"));
    let mark = if back.contains('?') { '&' } else { '?' };
    let address = id.map_or_else(|| back.clone(), |id| format!("{back}{mark}saved={id}"));
    Ok(Redirect::to(&address).into_response())
}

/// Refuses a change of an entry that is not this person's to change, or not any more.
fn must_change(here: &Here, action: Action, fact: &Fact) -> Result<(), Fault> {
    // By the real clock, by which entries come in; an example has another.
    if here.visit.asker.may_change(action, fact, here.visit.clock) {
        Ok(())
    } else {
        Err(Fault::NotAllowed(here.visit.asker.role))
    }
}

/// Only a page of our own, without the entry that was shown above it.
fn back_address(back: &str) -> Option<String> {
    let is_ours = back.starts_with('/') && !back.starts_with("//") && !back.contains(['\\', '#', '\n', '\r']);
    if !is_ours {
        return None;
    }
    let (path, query) = back.split_once('?').unwrap_or((back, ""));
    let kept: Vec<&str> = query.split('&').filter(|p| !p.is_empty() && !p.starts_with("saved=")).collect();
    Some(if kept.is_empty() { path.to_owned() } else { format!("{path}?{}", kept.join("&")) })
}

pub async fn answered(here: Here, typed: Form) -> Result<Response, Fault> {
    let (Some(first), Some(second)) = (typed.fact("first"), typed.fact("second")) else { return Err(Fault::BadForm) };
    let ask = AnswerTo { litter: here.litter, first, second, is_the_same: typed.get("answer") == "same" };
    let saved = answer(&here.book, &here.who(), ask, here.now).await?;
    Ok(here.after("now", saved))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_is_a_page_of_ours() {
        assert_eq!(back_address("/litter/1/weigh?since=5&saved=7"), Some("/litter/1/weigh?since=5".into()));
        assert_eq!(back_address("/litter/1/now?saved=7"), Some("/litter/1/now".into()));
        for other in ["//elsewhere.test/", "https://elsewhere.test/", "/\\elsewhere.test", ""] {
            assert_eq!(back_address(other), None, "{other}");
        }
    }
}
