//! The day of the birth: running clocks, each pup as it comes, and its first checks.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::{AppError, Birth, record_birth};
use whelpward_core::record::{CheckKind, Facts, Pup, Word};
use whelpward_core::report;

use crate::check::tap;
use crate::cue::{collar_options, cue, marks, pattern_options};
use crate::fault::Fault;
use crate::form::{Form, choice, field, form, tick, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{badge, phones, sentence, span, weight, when};
use crate::words::{say, tell, word};

/// What is looked at in each newborn, with the word for well.
const FIRST: &[(CheckKind, &str, &str)] = &[
    (CheckKind::Breathing, "breathing", "easy"),
    (CheckKind::Dried, "dried", "yes"),
    (CheckKind::Palate, "palate", "whole"),
    (CheckKind::ColostrumSeen, "colostrum_seen", "yes"),
];

pub async fn page(here: Here) -> Markup {
    shown(&here, None, None)
}

fn shown(here: &Here, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let facts = here.facts().known_at(here.now);
    let today = report::today(here.facts(), here.now);
    let of_birth: Vec<_> = today.do_now.iter().filter(|a| a.about == "the birth").collect();
    let body = html! {
        h1 { (say("birth-title")) }
        @for action in &of_birth {
            article class="task" {
                p { (badge(&action.kind)) }
                p { (sentence(&action.because)) }
                p class="do" { (sentence(&action.what_to_do)) }
            }
        }
        @if of_birth.iter().any(|a| a.kind.starts_with("vet")) { (phones(&today.vets)) }
        (clocks(here, &facts))
        section {
            h2 { (say("birth-new")) }
            (new_pup(here, typed, problem))
        }
        section {
            h2 { (tell("birth-so-far", &[("count", facts.pups.len().into())])) }
            ul class="cards" {
                @for (id, pup) in here.pups_here() { li class="card" { (newborn(here, &facts, id, pup)) } }
            }
        }
    };
    frame(here, &say("birth-title"), Tab::More, &body)
}

/// Clocks that run while the page is open; without script they stand at the time of the page.
fn clocks(here: &Here, facts: &Facts) -> Markup {
    let last = facts.pups.iter().map(|p| p.born_at).max();
    let begun = facts.latest(None, CheckKind::Labour).filter(|c| c.is(Word::Begun)).map(|c| c.at);
    // Straining runs from the first of the last unbroken row of strong readings.
    let straining =
        facts.checks_of(None, CheckKind::Straining).rev().take_while(|c| c.is(Word::Strong)).last().map(|c| c.at);
    let clock = |label: String, since: Option<jiff::Timestamp>| {
        html! {
            @if let Some(since) = since {
                p class="clock" { (label) " " strong data-since=(since.as_millisecond()) data-now=(here.now.as_millisecond()) { (span(since, here.now)) } " (" (when(here, since)) ")" }
            }
        }
    };
    html! {
        section aria-label=(say("birth-clocks")) {
            (clock(say("birth-since-pup"), last))
            (clock(say("birth-since-begun"), begun))
            (clock(say("birth-since-straining"), straining))
            div class="row" {
                (tap(here, None, "labour", "begun", "birth", &say("birth-begins")))
                (tap(here, None, "straining", "strong", "birth", &say("birth-straining")))
                (tap(here, None, "straining", "none", "birth", &say("birth-no-straining")))
                (tap(here, None, "labour", "over", "birth", &say("birth-over")))
            }
            @if let Some(expected) = facts.litter.expected_pups {
                p { (tell("birth-expected", &[("born", facts.pups.len().into()), ("expected", expected.into())])) }
            }
        }
    }
}

fn new_pup(here: &Here, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let of = |name: &str| typed.map_or("", |t| t.get(name)).to_owned();
    let unit = here.facts().litter.weight_unit;
    let sexes = ["female", "male", "unknown"].map(|s| (s.to_owned(), word("sex", s)));
    html! {
        (wrong(problem))
        (form(&here.visit, &here.to("birth"), &html! {
            (field("name", &say("birth-name"), "text", &of("name"), &say("birth-name-hint")))
            (choice("sex", &say("birth-sex"), &sexes, &of("sex")))
            (field("coat", &say("birth-coat"), "text", &of("coat"), &say("birth-coat-hint")))
            div class="row" {
                (choice("colour", &say("birth-collar"), &collar_options(), &of("colour")))
                (choice("pattern", &say("birth-pattern"), &pattern_options(), &of("pattern")))
            }
            input type="hidden" name="unit" value=(unit.word());
            label class="field" { span { (say("birth-weight")) }
                span class="with-unit" {
                    input type="text" name="weight" value=(of("weight")) inputmode="decimal" autocomplete="off" maxlength="16";
                    span class="unit" { (unit.word().replace('_', " ")) }
                }
                small { (say(if unit.word() == "lb_oz" { "birth-weight-lb" } else { "birth-weight-hint" })) }
            }
            (field("at", &say("birth-time"), "text", &of("at"), &say("birth-time-hint")))
            (tick("premature", &say("birth-premature"), of("premature") == "yes"))
            (tick("stillborn", &say("birth-stillborn"), of("stillborn") == "yes"))
            button class="primary save" type="submit" { (say("birth-save")) }
        }))
    }
}

/// What is still to be seen of a newborn, each in one tap.
fn newborn(here: &Here, facts: &Facts, id: whelpward_core::book::FactId, pup: &Pup) -> Markup {
    let is_new = pup.age(here.now).get() < 24.0;
    html! {
        a href=(here.to(&format!("pup/{id}"))) { (cue(&pup.id.0, &pup.marks)) }
        span { (when(here, pup.born_at)) @if let Some(w) = pup.birth_weight { ", " (weight(here, w)) } }
        @if is_new {
            @for (kind, name, well) in FIRST {
                @match facts.latest(Some(&pup.id), *kind) {
                    Some(seen) => {
                        span {
                            @if matches!(seen.value, whelpward_core::record::CheckValue::Word(w) if w.text() == *well) { "✓ " } @else { "▲ " }
                            (word("first", name)) " " (when(here, seen.at))
                        }
                    }
                    None => { (tap(here, Some(id), name, well, "birth", &word("first-tap", name))) }
                }
            }
            @if facts.latest(Some(&pup.id), CheckKind::ColostrumSeen).is_none() {
                span class="note" { (tell("birth-colostrum-clock", &[("age", span(pup.born_at, here.now).into())])) }
            }
            a class="button" href=(here.to(&format!("check?pup={id}"))) { (say("birth-something-else")) }
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let refused =
        |text: &str| (StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&typed), Some(text))).into_response();
    let born_at = match typed.at(&here) {
        Ok(at) => at,
        Err(text) => return Ok(refused(&text)),
    };
    if typed.get("name").is_empty() {
        return Ok(refused(&say("birth-name-missing")));
    }
    let marks = marks(typed.get("coat"), typed.get("colour"), typed.get("pattern"));
    let ask = Birth {
        litter: here.litter,
        name: typed.get("name").to_owned(),
        sex: typed.filled("sex").unwrap_or_else(|| "unknown".into()),
        marks: if marks.is_empty() { say("birth-no-marks") } else { marks },
        born_at,
        weight: typed.filled("weight"),
        unit: typed.filled("unit").unwrap_or_else(|| "g".into()),
        is_stillborn: typed.get("stillborn") == "yes",
        is_premature: typed.get("premature") == "yes",
    };
    match record_birth(&here.book, &here.who(), ask, here.now).await {
        Ok(saved) => Ok(here.after("birth", saved)),
        Err(AppError::Refused { what, allowed }) => {
            Ok(refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())])))
        }
        Err(other) => Err(other.into()),
    }
}
