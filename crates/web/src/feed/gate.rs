//! A feed that is written down although no milk may be given now.
//!
//! What really happened can always be written down, but not by everybody: a helper's try is kept in the
//! audit, and somebody who decides writes the feed. A temperature taken now lifts the gate for all.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use jiff::Timestamp;
use maud::html;
use whelpward_app::access::Action;
use whelpward_core::record::Facts;
use whelpward_core::report::{Today, no_milk};

use super::{Part, round};
use crate::access::Refused;
use crate::form::Form;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::words::{say, tell};

/// Why no milk may be given to a pup at that time, where that is so: withheld in its round, or forbidden whether or
/// not a plan feeds it.
pub fn withheld(facts: &Facts, today: &Today, pup: &str, at: Timestamp) -> Option<String> {
    let in_round = round(today).into_iter().find_map(|(name, part)| match part {
        Part::Withheld(why) if name == pup => Some(why.to_owned()),
        _ => None,
    });
    in_round.or_else(|| no_milk(facts, pup, at))
}

/// Refuses a hand feed by somebody who may not decide, while it is withheld.
pub fn refused(here: &Here, today: &Today, typed: &Form, pup: &str) -> Option<Response> {
    let is_fed = matches!(typed.get("what"), "planned" | "other");
    if here.may(Action::FeedPastGate) || !is_fed || typed.filled("rectal_temperature_c").is_some() {
        return None;
    }
    let why = withheld(here.facts(), today, pup, here.now)?;
    let body = html! {
        div class="entry" data-question {
            section class="question" role="alert" {
                h1 { (say("feed-gate-title")) }
                p { (sentence(&why)) }
                p { (tell("feed-gate-text", &[("pup", pup.into())])) }
            }
            div class="ways" {
                a class="button second" href=(format!("/who?back={}", here.to("feed"))) { (say("who-title")) }
                a class="button primary save" href=(here.to("now")) { (say("nav-now")) }
            }
        }
    };
    let page = frame(here, &say("feed-gate-title"), Tab::None, &body);
    let mut response = (StatusCode::FORBIDDEN, page).into_response();
    let taken = typed.filled("taken_ml").map_or_else(|| "as planned".to_owned(), |ml| format!("{ml} mL"));
    response.extensions_mut().insert(Refused { word: "gate", detail: format!("{pup}, {taken}") });
    Some(response)
}
