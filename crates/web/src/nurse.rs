//! Weigh, nurse, weigh again: what a pup drinks from its dam, one pup after another.
//!
//! The weight before is written down at once, so that a closed page loses nothing; the nursing is
//! written down with both weights when the pup is weighed again.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};

use whelpward_app::{AppError, Ask, Nursing, Weight, nurse, weigh};
use whelpward_core::book::FactId;
use whelpward_core::intake::nursed_words;
use whelpward_core::record::{Feed, Method, Pup, Taken, Weighing};
use whelpward_core::references;
use whelpward_core::report;
use whelpward_core::units::{Grams, WeightUnit};

use crate::cue::{band, cue};
use crate::fault::Fault;
use crate::form::{Form, form, pad, tick, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{sentence, source, span, weight, when};
use crate::weigh::{last_unit_sign, on_scale, weight_field};
use crate::words::{say, tell};

/// What was weighed so lately belongs to this round: a nursing takes half an hour (our own).
const ROUND: SignedDuration = SignedDuration::from_mins(45);

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
    /// When the round began, in milliseconds.
    since: Option<i64>,
}

/// How far a pup is in this round.
enum Step<'h> {
    Before,
    AtTheDam(&'h Weighing),
    Done(&'h Feed),
}

fn step<'h>(here: &'h Here, since: Timestamp, pup: &Pup) -> Step<'h> {
    let facts = here.facts();
    let in_round = |at: Timestamp| at >= since && at <= here.now;
    let fed = facts.feeds.iter().filter(|f| f.pup == pup.id && f.method == Method::Nursing && in_round(f.at));
    let weighed = facts.weighings.iter().filter(|w| w.pup == pup.id && w.taken == Taken::BeforeFeed && in_round(w.at));
    match (weighed.max_by_key(|w| w.at), fed.max_by_key(|f| f.at)) {
        (Some(weighed), Some(fed)) if weighed.at > fed.at => Step::AtTheDam(weighed),
        (_, Some(fed)) => Step::Done(fed),
        (Some(weighed), None) => Step::AtTheDam(weighed),
        (None, None) => Step::Before,
    }
}

fn began(here: &Here, since: Option<i64>) -> Timestamp {
    since.and_then(|ms| Timestamp::from_millisecond(ms).ok()).unwrap_or(here.now - ROUND)
}

/// Whom to weigh next: first all before nursing, then all after it.
fn next(here: &Here, since: Timestamp, after: Option<FactId>) -> Option<FactId> {
    let pups = here.pups_here();
    let place = pups.iter().position(|(id, _)| Some(*id) == after).map_or(0, |p| p + 1);
    let turned = || pups[place..].iter().chain(&pups[..place]);
    let first =
        |wanted: fn(&Step<'_>) -> bool| turned().find(|(_, p)| wanted(&step(here, since, p))).map(|(id, _)| *id);
    first(|s| matches!(s, Step::Before)).or_else(|| first(|s| matches!(s, Step::AtTheDam(_))))
}

fn address(since: Timestamp, pup: Option<FactId>) -> String {
    let pup = pup.map(|p| format!("&pup={p}")).unwrap_or_default();
    format!("nurse?since={}{pup}", since.as_millisecond())
}

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let since = began(&here, asked.since);
    let pup = match asked.pup.as_deref() {
        Some(id) => Some(here.pup(id)?.0),
        None => next(&here, since, None),
    };
    Ok(shown(&here, since, pup, "", None))
}

fn shown(here: &Here, since: Timestamp, pup: Option<FactId>, typed: &str, problem: Option<&str>) -> Markup {
    let pups = here.pups_here();
    let chosen = pup.and_then(|id| pups.iter().find(|(p, _)| *p == id));
    let body = html! {
        div class="entry" {
            div class="row between" {
                p class="step" { (say("nurse-title")) }
                a class="button quiet" href=(here.to("dam")) { (say("finish")) }
            }
            @match chosen {
                Some((id, pup)) => { (one(here, since, *id, pup, typed, problem)) }
                None => {
                    h1 { (say(if pups.is_empty() { "now-no-pups" } else { "nurse-all-done" })) }
                    ul { @for (_, pup) in &pups { @if let Step::Done(fed) = step(here, since, pup) { li { (pup.id.0) ": " (gain(here, fed)) } } } }
                    (on_scale::step(here))
                    p { a class="button primary" href=(here.to("dam#gives")) { (say("dam-gives")) } }
                }
            }
            (order(here, since, pup))
            details class="fold" {
                summary { (say("why")) }
                p { (say("nurse-why")) }
                (source(Some(&report::cite(&references::NURSING_WEIGHED))))
                (source(Some(&report::cite(&references::MEASURED_NURSING))))
            }
        }
    };
    frame(here, &say("nurse-title"), Tab::None, &body)
}

fn one(here: &Here, since: Timestamp, id: FactId, pup: &Pup, typed: &str, problem: Option<&str>) -> Markup {
    let now = step(here, since, pup);
    let unit = here.facts().litter.weight_unit;
    let lying = on_scale::lying(here, unit, typed);
    let words = [("pup", pup.id.0.as_str().into()), ("value", "{}".into()), ("unit", last_unit_sign(unit).into())];
    // Without a number, and with the one that is typed.
    let (what, save, save_value) = match now {
        Step::Before | Step::Done(_) => {
            ("before", tell("nurse-save-before", &words), tell("nurse-save-before-value", &words))
        }
        Step::AtTheDam(_) => ("after", tell("nurse-save-after", &words), tell("weigh-save-value", &words)),
    };
    html! {
        h1 class="subject" { (cue(&pup.id.0, &pup.marks)) }
        @match now {
            Step::Before => { p class="do" { (say("nurse-before")) } }
            Step::AtTheDam(weighed) => {
                p { (tell("nurse-was", &[
                    ("weight", weight(here, weighed.weight).into()),
                    ("at", when(here, weighed.at).into()),
                    ("ago", span(weighed.at, here.now).into()),
                ])) }
                p class="do" { (say("nurse-between")) }
            }
            Step::Done(fed) => {
                p class="note" { (tell("nurse-done", &[("gain", gain(here, fed).into()), ("at", when(here, fed.at).into())])) }
                p { (say("nurse-once-more")) }
            }
        }
        (on_scale::said(here, lying.view.as_ref(), &address(since, Some(id))))
        (form(&here.visit, &here.to("nurse"), &html! {
            input type="hidden" name="pup" value=(id);
            input type="hidden" name="since" value=(since.as_millisecond());
            input type="hidden" name="what" value=(what);
            (on_scale::fields(&lying))
            (wrong(problem))
            (weight_field(unit, lying.typed.as_deref().unwrap_or(typed)))
            (pad("decimal"))
            @if what == "after" { (tick("soiled", &say("nurse-soiled"), false)) }
            button class="primary save" type="submit" data-save=(save_value) { (save) }
        }))
    }
}

fn gain(here: &Here, fed: &Feed) -> String {
    fed.nursed.map_or_else(|| say("not-recorded"), |g| nursed_words(g, here.facts().litter.scale_step, fed.is_soiled))
}

fn order(here: &Here, since: Timestamp, at: Option<FactId>) -> Markup {
    html! {
        nav class="order" aria-label=(say("nurse-order")) {
            @for (id, pup) in here.pups_here() {
                a href=(here.to(&address(since, Some(id)))) aria-current=[(Some(id) == at).then_some("step")] {
                    (band(&pup.id.0, &pup.marks))
                    span { (pup.id.0) " "
                        @match step(here, since, pup) {
                            Step::Before => {}
                            Step::AtTheDam(_) => { small { (say("nurse-at-the-dam")) } }
                            Step::Done(_) => { "✓" span class="hidden" { (say("weigh-done-word")) } }
                        }
                    }
                }
            }
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let (id, _) = here.pup(typed.get("pup"))?;
    let since = began(&here, typed.get("since").parse().ok());
    on_scale::taken(&here, &typed);
    let shown_weight = typed.weight();
    let unit = typed.filled("unit").unwrap_or_else(|| "g".into());
    let is_kept = typed.get("kept") == "yes";
    let refused = |what: &str, allowed: &str| {
        let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
        let page = shown(&here, since, Some(id), &shown_weight, Some(&text));
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    };
    let waiting =
        here.pups_here().into_iter().find(|(p, _)| *p == id).and_then(|(_, pup)| match step(&here, since, pup) {
            Step::AtTheDam(weighed) => Some(weighed),
            _ => None,
        });
    let outcome = if let Some(before) = waiting.filter(|_| typed.get("what") == "after") {
        let read = WeightUnit::from_word(&unit).unwrap_or(WeightUnit::Gram).parse(&shown_weight);
        let after = match read {
            Ok(after) => after,
            Err(allowed) => return Ok(refused(&format!("weight \"{shown_weight}\""), &allowed)),
        };
        // In grams, because the weight before may have been typed in another unit.
        let grams = |weight: Grams| format!("{:.3}", weight.get());
        let ask = Nursing {
            litter: here.litter,
            pup: id,
            at: here.now,
            before: grams(before.weight),
            after: grams(after),
            unit: "g".into(),
            is_soiled: typed.get("soiled") == "yes",
            note: on_scale::note(&typed),
            is_kept,
        };
        nurse(&here.book, &here.who(), ask, here.now).await
    } else {
        let ask = Weight {
            litter: here.litter,
            pup: id,
            at: here.now,
            weight: shown_weight.clone(),
            unit,
            taken: Some("before_feed".into()),
            note: on_scale::note(&typed),
            is_kept,
        };
        weigh(&here.book, &here.who(), ask, here.now).await
    };
    match outcome {
        Ok(saved) => Ok(here.after(&address(since, None), saved)),
        Err(AppError::Ask(ask)) => Ok(look_again(&here, since, id, &typed, &ask)),
        Err(AppError::Refused { what, allowed }) => Ok(refused(&what, &allowed)),
        Err(other) => Err(other.into()),
    }
}

/// A weight that is probably a slip: "weigh again" stands where Save stood.
fn look_again(here: &Here, since: Timestamp, id: FactId, typed: &Form, ask: &Ask) -> Response {
    let body = html! {
        div class="entry" data-question {
            section class="question" role="alert" {
                h1 { (say("slip-title")) }
                p { (sentence(&ask.what)) }
            }
            div class="ways" {
                (form(&here.visit, &here.to("nurse"), &html! {
                    @for (name, value) in typed.kept() { input type="hidden" name=(name) value=(value); }
                    input type="hidden" name="kept" value="yes";
                    button class="second" type="submit" { (say("slip-keep")) }
                }))
                a class="button primary save" href=(here.to(&address(since, Some(id)))) { (say("slip-again")) }
            }
        }
    };
    (StatusCode::CONFLICT, frame(here, &say("slip-title"), Tab::None, &body)).into_response()
}
