//! The weighing round: one pup after another, in the same order each time.

pub mod on_scale;
mod slip;

use axum::extract::Query;
use axum::response::{IntoResponse as _, Response};
use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};

use whelpward_app::{AppError, Weight, weigh};
use whelpward_core::book::FactId;
use whelpward_core::record::{Facts, Pup, WeightUnit};

use crate::cue::{band, cue};
use crate::fault::Fault;
use crate::form::{Form, Kept, kept_form, not_now, pad, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{weight, when};
use crate::words::{say, tell};

/// Weighings of the last half hour belong to this round (our own).
const ROUND: SignedDuration = SignedDuration::from_mins(30);
const TAKEN: [&str; 3] = ["before_feed", "after_feed", "unknown"];

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
    /// When the round began, in milliseconds.
    since: Option<i64>,
    taken: Option<String>,
    /// What the scale said the first time, when a doubtful weight is weighed again.
    first: Option<String>,
    /// The pup that was weighed just now.
    after: Option<String>,
}

/// A round as far as it has come.
struct Round<'h> {
    since: Timestamp,
    taken: String,
    pups: Vec<(FactId, &'h Pup)>,
}

impl<'h> Round<'h> {
    fn of(here: &'h Here, since: Option<i64>, taken: Option<&str>) -> Self {
        let since = since.and_then(|ms| Timestamp::from_millisecond(ms).ok());
        let taken = TAKEN.iter().find(|t| Some(**t) == taken).unwrap_or(&TAKEN[0]);
        Self { since: since.unwrap_or(here.now - ROUND), taken: (*taken).to_owned(), pups: here.pups_here() }
    }

    fn is_done(&self, facts: &Facts, pup: &Pup) -> bool {
        facts.weighings.iter().any(|w| w.pup == pup.id && w.at >= self.since)
    }

    /// The next pup without a weight in this round, after the given one and then from the start.
    fn next(&self, facts: &Facts, after: Option<FactId>) -> Option<FactId> {
        let place = self.pups.iter().position(|(id, _)| Some(*id) == after).map_or(0, |p| p + 1);
        let turned = self.pups[place..].iter().chain(&self.pups[..place]);
        turned.into_iter().find(|(_, p)| !self.is_done(facts, p)).map(|(id, _)| *id)
    }

    fn query(&self, pup: Option<FactId>) -> String {
        let pup = pup.map(|p| format!("&pup={p}")).unwrap_or_default();
        format!("weigh?since={}&taken={}{pup}", self.since.as_millisecond(), self.taken)
    }
}

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let round = Round::of(&here, asked.since, asked.taken.as_deref());
    let pup = match asked.pup.as_deref() {
        Some(id) => Some(here.pup(id)?.0),
        None => round.next(here.facts(), asked.after.as_deref().and_then(|id| id.parse().ok())),
    };
    Ok(match pup {
        Some(pup) => one(&here, &round, pup, "", asked.first.as_deref(), None),
        None => all_done(&here, &round),
    })
}

/// One pup: who it is, what it weighed, and one field.
fn one(here: &Here, round: &Round<'_>, id: FactId, typed: &str, first: Option<&str>, problem: Option<&str>) -> Markup {
    let facts = here.facts();
    let Some((_, pup)) = round.pups.iter().find(|(p, _)| *p == id) else { return all_done(here, round) };
    let done = round.pups.iter().filter(|(_, p)| round.is_done(facts, p)).count();
    let title = tell("weigh-title", &[("pup", pup.id.0.as_str().into())]);
    let last = facts.weighings.iter().filter(|w| w.pup == pup.id).max_by_key(|w| w.at);
    let unit = facts.litter.weight_unit;
    let lying = on_scale::lying(here, unit, typed);
    let typed = lying.typed.as_deref().unwrap_or(typed);
    let body = html! {
        div class="entry" data-entry=(here.to(&round.query(Some(id)))) {
            div class="row between" {
                p class="step" { (tell("weigh-step", &[("done", done.into()), ("all", round.pups.len().into())])) }
                a class="button quiet" href=(here.to("now")) { (say("finish")) }
            }
            h1 class="subject" { (cue(&pup.id.0, &pup.marks)) }
            (already(here, round, pup))
            p class="last" {
                @match (last, pup.birth_weight) {
                    (Some(w), _) => { (tell("weigh-last", &[("weight", weight(here, w.weight).into()), ("at", when(here, w.at).into())])) }
                    (None, Some(w)) => { (tell("weigh-birth", &[("weight", weight(here, w).into())])) }
                    (None, None) => { (say("never-weighed")) }
                }
            }
            (on_scale::said(here, lying.view.as_ref(), &round.query(Some(id))))
            (kept_form(&here.visit, &here.to("weigh"), &Kept {
                kind: "weighing",
                then: &here.to(&format!("weigh?since={}&after={id}", round.since.as_millisecond())),
                stay: "",
            }, &html! {
                input type="hidden" name="pup" value=(id);
                input type="hidden" name="since" value=(round.since.as_millisecond());
                @if let Some(first) = first { input type="hidden" name="first" value=(first); }
                (on_scale::fields(&lying))
                (wrong(problem))
                (weight_field(unit, typed))
                (pad(if unit == WeightUnit::Gram { "whole" } else { "decimal" }))
                button class="primary save" type="submit"
                    data-save=(tell("weigh-save-value", &[("pup", pup.id.0.as_str().into()), ("value", "{}".into()), ("unit", last_unit_sign(unit).into())])) {
                    (tell("weigh-save", &[("pup", pup.id.0.as_str().into())]))
                }
                fieldset class="fold choices" {
                    legend { (say("weigh-taken")) }
                    @for taken in TAKEN {
                        label { input type="radio" name="taken" value=(taken) checked[taken == round.taken]; span { (crate::words::word("taken", taken)) } }
                    }
                }
                (not_now())
            }))
            (order(here, round, Some(id)))
        }
    };
    frame(here, &title, Tab::None, &body)
}

/// Another phone may have weighed this pup meanwhile.
fn already(here: &Here, round: &Round<'_>, pup: &Pup) -> Markup {
    let mine = here.facts().weighings.iter().filter(|w| w.pup == pup.id && w.at >= round.since).max_by_key(|w| w.at);
    html! {
        div data-already {
            @if let Some(w) = mine {
                p class="note" { (tell("weigh-already", &[("weight", weight(here, w.weight).into()), ("at", when(here, w.at).into())])) }
            }
        }
    }
}

pub fn unit_sign(unit: WeightUnit) -> &'static str {
    match unit {
        WeightUnit::Gram => "g",
        WeightUnit::Ounce => "oz",
        WeightUnit::PoundOunce => "lb oz",
    }
}

/// The unit of the number that is typed last: pounds and ounces end with the ounces.
pub fn last_unit_sign(unit: WeightUnit) -> &'static str {
    unit_sign(if unit == WeightUnit::PoundOunce { WeightUnit::Ounce } else { unit })
}

pub fn weight_field(unit: WeightUnit, typed: &str) -> Markup {
    let mode = if unit == WeightUnit::Gram { "numeric" } else { "decimal" };
    html! {
        input type="hidden" name="unit" value=(unit.word());
        @if unit == WeightUnit::PoundOunce {
            @let (pounds, ounces) = typed.split_once(' ').unwrap_or((typed, ""));
            div class="row" {
                label class="number" { span { (say("weigh-pounds")) }
                    input type="text" name="pounds" value=(pounds) inputmode="numeric" autocomplete="off" enterkeyhint="next"; span class="unit" { "lb" } }
                label class="number" { span { (say("weigh-ounces")) }
                    input type="text" name="weight" value=(ounces) inputmode="decimal" autocomplete="off" enterkeyhint="next" data-number; span class="unit" { "oz" } }
            }
        } @else {
            label class="number" { span { (say("weigh-weight")) }
                input type="text" name="weight" value=(typed) inputmode=(mode) autocomplete="off" enterkeyhint="next" maxlength="12" data-number;
                span class="unit" { (unit_sign(unit)) } }
        }
    }
}

/// The order of the round; pups that are done stay in their place, ticked.
fn order(here: &Here, round: &Round<'_>, at: Option<FactId>) -> Markup {
    let facts = here.facts();
    html! {
        nav class="order" aria-label=(say("weigh-order")) {
            @for (id, pup) in &round.pups {
                a href=(here.to(&round.query(Some(*id)))) aria-current=[(Some(*id) == at).then_some("step")] {
                    (band(&pup.id.0, &pup.marks))
                    span { (pup.id.0) @if round.is_done(facts, pup) { " ✓" span class="hidden" { (say("weigh-done-word")) } } }
                }
            }
        }
    }
}

fn all_done(here: &Here, round: &Round<'_>) -> Markup {
    let facts = here.facts();
    let body = html! {
        h1 { (say(if round.pups.is_empty() { "now-no-pups" } else { "weigh-all-done" })) }
        table {
            caption class="hidden" { (say("weigh-all-done")) }
            thead { tr { th scope="col" { (say("pup")) } th scope="col" { (say("weigh-weight")) } th scope="col" { (say("weigh-change")) } } }
            tbody {
                @for (_, pup) in &round.pups {
                    @let mut mine: Vec<_> = facts.weighings.iter().filter(|w| w.pup == pup.id).collect();
                    @let () = mine.sort_by_key(|w| w.at);
                    tr {
                        th scope="row" { (pup.id.0) }
                        td { (mine.last().map_or_else(|| say("not-recorded"), |w| weight(here, w.weight))) }
                        td {
                            @let before = mine.iter().rev().nth(1).map(|w| w.weight).or(pup.birth_weight);
                            @if let (Some(last), Some(before)) = (mine.last(), before) {
                                (whelpward_core::units::format_change(last.weight - before))
                            }
                        }
                    }
                }
            }
        }
        (on_scale::step(here))
        p { a class="button primary" href=(here.to("now")) { (say("finish")) } }
        (order(here, round, None))
    };
    frame(here, &say("weigh-all-done"), Tab::Weigh, &body)
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let (pup, _) = here.pup(typed.get("pup"))?;
    let round = Round::of(&here, typed.get("since").parse().ok(), Some(typed.get("taken")));
    on_scale::taken(&here, &typed);
    let shown = typed.weight();
    let refused = |text: &str| {
        (
            axum::http::StatusCode::UNPROCESSABLE_ENTITY,
            one(&here, &round, pup, &shown, typed.filled("first").as_deref(), Some(text)),
        )
            .into_response()
    };
    let at = match typed.at(&here) {
        Ok(at) => at,
        Err(text) => return Ok(refused(&text)),
    };
    let weight = Weight {
        litter: here.litter,
        pup,
        at,
        weight: shown.clone(),
        unit: typed.filled("unit").unwrap_or_else(|| "g".into()),
        taken: Some(round.taken.clone()),
        note: on_scale::note(&typed),
        is_kept: typed.get("kept") == "yes" || slip::is_weighed_twice(&typed),
    };
    match weigh(&here.book, &here.who(), weight, here.now).await {
        Ok(saved) => {
            if typed.get("then") == "check" {
                return Ok(here.after(&format!("check?pup={pup}"), saved));
            }
            let after = here.book.load(here.litter).await?;
            // A number that was another pup's brings us back to the pup in hand.
            let next = typed.fact("next").or_else(|| round.next(after.facts().ok()?, Some(pup)));
            Ok(here.after(&round.query(next), saved))
        }
        Err(AppError::Ask(ask)) => Ok(slip::card(&here, &round, pup, &typed, &ask)),
        Err(AppError::Refused { what, allowed }) => {
            Ok(refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())])))
        }
        Err(other) => Err(other.into()),
    }
}
