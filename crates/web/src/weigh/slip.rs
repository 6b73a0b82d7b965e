//! A weight that is probably a slip: asked about, with each way out as one button.
//!
//! "Weigh again" stands where Save stood, so that a double tap keeps nothing doubtful; to keep
//! the number takes another place on the page.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::Ask;
use whelpward_app::access::Action;
use whelpward_core::book::FactId;
use whelpward_core::units::number;

use super::Round;
use crate::cue::cue;
use crate::form::{Form, form};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::words::{say, tell};

/// Two weights so close are one (usability O-22).
const SAME: f64 = 0.02;

/// The weight as typed, for an address.
fn first_of(typed: &Form) -> String {
    let is_plain = |c: &char| c.is_ascii_digit() || matches!(c, '.' | ',');
    typed.get("weight").chars().filter(is_plain).collect()
}

/// Whether this weight and the one before it were typed by somebody who weighed twice and read the same.
pub fn is_weighed_twice(typed: &Form) -> bool {
    let read = |name: &str| whelpward_core::units::parse_decimal(typed.get(name)).ok();
    match (read("first"), read("weight")) {
        (Some(first), Some(second)) => (first - second).abs() <= SAME * first.max(second),
        _ => false,
    }
}

pub fn card(here: &Here, round: &Round<'_>, pup: FactId, typed: &Form, ask: &Ask) -> Response {
    let marks = round.pups.iter().find(|(id, _)| *id == pup).map(|(_, p)| (p.id.0.as_str(), p.marks.as_str()));
    let (name, marks) = marks.unwrap_or_default();
    // The doubt names the other pup whose weight this would be.
    let other = round
        .pups
        .iter()
        .find(|(id, p)| *id != pup && ask.what.ends_with(&format!("perhaps the weight of {}", p.id.0)));
    let again = |change: &[(&str, &str)], class: &str, label: &str| -> Markup {
        form(
            &here.visit,
            &here.to("weigh"),
            &html! {
                @for (name, value) in typed.kept().filter(|(n, _)| !change.iter().any(|(c, _)| c == n)) {
                    input type="hidden" name=(name) value=(value);
                }
                @for (name, value) in change { input type="hidden" name=(name) value=(value); }
                button class=(class) type="submit" { (label) }
            },
        )
    };
    // Who may not keep a number weighs twice: the first weight travels on.
    let first = if here.may(Action::Settle) { String::new() } else { format!("&first={}", first_of(typed)) };
    let weigh_again = format!("{}{first}", round.query(Some(pup)));
    let body = html! {
        div class="entry" data-question {
            h1 class="subject" { (cue(name, marks)) }
            section class="question" role="alert" {
                h2 { (say("slip-title")) }
                p { (sentence(&ask.what)) }
            }
            div class="ways" {
                @if here.may(Action::Settle) {
                    (again(&[("kept", "yes")], "second", &say("slip-keep")))
                    (again(&[("kept", "yes"), ("then", "check")], "second", &say("slip-unwell")))
                } @else {
                    p class="note" { (say("slip-helper")) }
                    a class="button second" href=(here.to(&format!("check?pup={pup}"))) { (say("pup-check")) }
                }
                @if let Some((id, other)) = other {
                    (again(&[("pup", &id.to_string()), ("next", &pup.to_string())], "second", &tell("slip-other", &[("pup", other.id.0.as_str().into())])))
                }
                @for choice in &ask.choices {
                    @if let Some(grams) = choice.meant_g {
                        // Asked in grams, whatever the household's unit, to the tenth that a scale shows.
                        (again(&[("weight", &number(grams, 1, false).replace('\u{202f}', "")), ("unit", "g"), ("pounds", "")], "second", &sentence(&choice.label)))
                    }
                }
                a class="button primary save" href=(here.to(&weigh_again)) { (say("slip-again")) }
            }
        }
    };
    (StatusCode::CONFLICT, frame(here, &say("slip-title"), Tab::None, &body)).into_response()
}
