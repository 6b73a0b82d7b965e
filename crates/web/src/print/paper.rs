//! From paper: what was written on the sheets is typed in, several rows at once, each with its time.
//!
//! Each row is saved alone. A row that does not read, or that looks like a slip, stays on the page as it
//! was typed, with what is wrong beside it; the others are saved all the same.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::{Amount, AppError, FeedGiven, Saved, Weight, Who, feed, weigh};
use whelpward_core::record::Nearest;

use crate::fault::Fault;
use crate::form::{Form, form, read_time};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::weigh::unit_sign;
use crate::words::{say, tell, word};

/// Rows of feeds on one page.
const FEEDS: usize = 8;

/// What is wrong with a row: it asks whether it is right all the same, or it does not read.
enum Wrong {
    Asks(String),
    Refused(String),
}

/// A row that was not saved.
struct Left {
    place: usize,
    wrong: Wrong,
}

pub async fn page(here: Here) -> Markup {
    shown(&here, None, &[], &[])
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let is_weights = typed.get("what") == "weights";
    let rows = if is_weights { here.pups_here().len() } else { FEEDS };
    let (mut saved, mut left) = (Vec::new(), Vec::new());
    for place in 0..rows {
        let value = |name: &str| typed.get(&format!("{name}{place}")).to_owned();
        let is_empty =
            if is_weights { value("weight").is_empty() } else { value("took").is_empty() && value("pup").is_empty() };
        if is_empty {
            continue;
        }
        let done = if is_weights { weight_row(&here, value).await } else { feed_row(&here, value).await };
        match done {
            Ok(one) => saved.push(one),
            Err(AppError::Ask(ask)) => left.push(Left { place, wrong: Wrong::Asks(sentence(&ask.what)) }),
            Err(AppError::Refused { what, allowed }) => {
                let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
                left.push(Left { place, wrong: Wrong::Refused(text) });
            }
            Err(AppError::Said(text)) => left.push(Left { place, wrong: Wrong::Refused(sentence(&text)) }),
            Err(other) => return Err(other.into()),
        }
    }
    if left.is_empty() {
        let Some(last) = saved.pop() else {
            return Ok(axum::response::Redirect::to(&here.to("paper")).into_response());
        };
        let mut words: Vec<String> = saved.iter().map(|s| s.read_back.clone()).collect();
        words.push(last.read_back.clone());
        return Ok(here.after("paper", Saved { read_back: words.join(" "), ..last }));
    }
    // Loaded anew, so that the page shows the last weights with those just saved.
    let said: Vec<String> = saved.into_iter().map(|s| s.read_back).collect();
    Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&typed), &said, &left)).into_response())
}

/// On paper nothing happened "now".
fn time_of(here: &Here, text: &str) -> Result<jiff::Timestamp, AppError> {
    if text.is_empty() {
        return Err(AppError::Refused { what: say("paper-no-time"), allowed: say("time-allowed") });
    }
    read_time(text, Nearest::Last, here.now, here.zone())
        .map_err(|allowed| AppError::Refused { what: format!("\"{text}\""), allowed })
}

async fn weight_row(here: &Here, value: impl Fn(&str) -> String) -> Result<Saved, AppError> {
    let pup = value("pup").parse().map_err(|_| AppError::Said(say("paper-no-pup")))?;
    let weight = Weight {
        litter: here.litter,
        pup,
        at: time_of(here, &value("at"))?,
        weight: value("weight"),
        unit: here.facts().litter.weight_unit.word().to_owned(),
        taken: None,
        note: None,
        is_kept: value("kept") == "yes",
    };
    weigh(&here.book, &here.who(), weight, here.now).await
}

async fn feed_row(here: &Here, value: impl Fn(&str) -> String) -> Result<Saved, AppError> {
    let filled = |name: &str| Some(value(name)).filter(|t| !t.is_empty());
    let pup = value("pup").parse().map_err(|_| AppError::Said(say("paper-no-pup")))?;
    if filled("took").is_none() {
        return Err(AppError::Refused { what: say("paper-no-amount"), allowed: say("paper-amount-allowed") });
    }
    let given = FeedGiven {
        litter: here.litter,
        pup,
        at: time_of(here, &value("at"))?,
        method: filled("method"),
        amount: Amount::Given { offered_ml: filled("offered"), taken_ml: filled("took") },
        milk: None,
        note: None,
        rectal_temperature_c: None,
        is_kept: value("kept") == "yes",
    };
    let who = Who { carer: filled("who").or_else(|| here.carer().map(str::to_owned)), ..here.who() };
    feed(&here.book, &who, given, here.now).await
}

fn shown(here: &Here, typed: Option<&Form>, saved: &[String], left: &[Left]) -> Markup {
    let is_of = |what: &str| typed.is_some_and(|t| t.get("what") == what);
    let body = html! {
        h1 { (say("paper-title")) }
        p { (say("paper-how")) }
        @if !left.is_empty() {
            section class="question" role="alert" {
                h2 { (tell("paper-left", &[("rows", left.len().into())])) }
                @for text in saved { p { (text) } }
            }
        }
        section {
            h2 { (say("paper-weights")) }
            (form(&here.visit, &here.to("paper"), &weights(here, typed.filter(|_| is_of("weights")), left)))
        }
        section {
            h2 { (say("paper-feeds")) }
            (form(&here.visit, &here.to("paper"), &feeds(here, typed.filter(|_| is_of("feeds")), left)))
        }
    };
    frame(here, &say("paper-title"), Tab::More, &body)
}

/// What was typed into a field of a row that was not saved; every other row is empty again.
fn kept(typed: Option<&Form>, left: &[Left], name: &str, place: usize) -> String {
    typed
        .filter(|_| left.iter().any(|l| l.place == place))
        .map(|t| t.get(&format!("{name}{place}")).to_owned())
        .unwrap_or_default()
}

fn field(name: &str, place: usize, label: &str, mode: &str, value: &str) -> Markup {
    html! {
        label class="field" {
            span { (label) }
            input type="text" name={ (name) (place) } value=(value) inputmode=(mode) autocomplete="off" maxlength="40";
        }
    }
}

fn wrong_of(typed: Option<&Form>, left: &[Left], place: usize) -> Markup {
    html! {
        @if typed.is_some() {
            @match left.iter().find(|l| l.place == place).map(|l| &l.wrong) {
                Some(Wrong::Refused(text)) => { p class="wrong" { (text) } }
                Some(Wrong::Asks(text)) => {
                    p class="wrong" { (text) }
                    label class="tick" { input type="checkbox" name={ "kept" (place) } value="yes"; span { (say("paper-right")) } }
                }
                None => {}
            }
        }
    }
}

fn weights(here: &Here, typed: Option<&Form>, left: &[Left]) -> Markup {
    let unit = unit_sign(here.facts().litter.weight_unit);
    html! {
        input type="hidden" name="what" value="weights";
        @for (place, (id, pup)) in here.pups_here().into_iter().enumerate() {
            fieldset class="paper-row" {
                legend { (crate::cue::cue(&pup.id.0, &pup.marks)) }
                input type="hidden" name={ "pup" (place) } value=(id);
                div class="row" {
                    (field("at", place, &say("time"), "text", &kept(typed, left, "at", place)))
                    (field("weight", place, &tell("blank-weight", &[("unit", unit.into())]), "decimal", &kept(typed, left, "weight", place)))
                }
                (wrong_of(typed, left, place))
            }
        }
        button class="primary" type="submit" { (say("paper-save-weights")) }
    }
}

fn feeds(here: &Here, typed: Option<&Form>, left: &[Left]) -> Markup {
    let pups = here.pups_here();
    let methods = ["bottle", "tube"];
    html! {
        input type="hidden" name="what" value="feeds";
        @for place in 0..FEEDS {
            fieldset class="paper-row" {
                legend { (tell("paper-line", &[("line", (place + 1).into())])) }
                div class="row" {
                    (field("at", place, &say("time"), "text", &kept(typed, left, "at", place)))
                    @let chosen = kept(typed, left, "pup", place);
                    label class="field" {
                        span { (say("pup")) }
                        select name={ "pup" (place) } {
                            option value="" { "–" }
                            @for (id, pup) in &pups { option value=(id) selected[id.to_string() == chosen] { (pup.id.0) } }
                        }
                    }
                    (field("offered", place, &say("blank-offered"), "decimal", &kept(typed, left, "offered", place)))
                    (field("took", place, &say("blank-taken"), "decimal", &kept(typed, left, "took", place)))
                    @let chosen = kept(typed, left, "method", place);
                    label class="field" {
                        span { (say("paper-method")) }
                        select name={ "method" (place) } {
                            @for method in methods { option value=(method) selected[method == chosen] { (word("method", method)) } }
                        }
                    }
                    @let chosen = kept(typed, left, "who", place);
                    @if !here.facts().carers.is_empty() {
                        label class="field" {
                            span { (say("blank-who")) }
                            select name={ "who" (place) } {
                                option value="" { "–" }
                                @for carer in &here.facts().carers { option value=(carer.name) selected[carer.name == chosen] { (carer.name) } }
                            }
                        }
                    }
                }
                (wrong_of(typed, left, place))
            }
        }
        button class="primary" type="submit" { (say("paper-save-feeds")) }
    }
}
