//! The dam: what is to be done for her, what she needs and gives, and what was last seen of her.

pub mod gives;

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::{AppError, put};
use whelpward_core::book::Kind;
use whelpward_core::record::{CheckKind, CheckValue, Values};
use whelpward_core::report::{self, Action};

use crate::fault::Fault;
use crate::form::{Form, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{badge, sentence, when};
use crate::start::typed_value;
use crate::words::{say, tell, word};

/// What is asked of the dam, in the order of the form.
pub const KINDS: [(CheckKind, &str); 6] = [
    (CheckKind::DamTemperature, "dam_temperature_c"),
    (CheckKind::DamAppetite, "dam_appetite"),
    (CheckKind::DamDischarge, "dam_discharge"),
    (CheckKind::DamGlands, "dam_glands"),
    (CheckKind::DamBehaviour, "dam_behaviour"),
    (CheckKind::DamMilk, "dam_milk"),
];

/// As many lines of temperatures as fit beside a bed.
const LAST_TEMPERATURES: usize = 20;

pub async fn page(here: Here) -> Markup {
    shown(&here, None)
}

/// Writes down how many of her teats give milk.
pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let teats = typed.filled("working_teats").map_or(Value::Null, |t| typed_value(&t));
    let body = Values::from([("working_teats".to_owned(), teats)]);
    match put(&here.book, &here.who(), here.litter, Kind::Dam, None, body, here.now).await {
        Ok(saved) => Ok(here.after("dam", saved)),
        Err(AppError::Refused { what, allowed }) => {
            let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&text))).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

fn shown(here: &Here, problem: Option<&str>) -> Markup {
    let today = report::today(here.facts(), here.now);
    let dam = report::dam::dam(here.facts(), here.now);
    let of_dam: Vec<&Action> =
        today.do_now.iter().filter(|a| a.about == "the dam" || a.code == "litter-slow").collect();
    let body = html! {
        h1 { (say("dam-title")) }
        (wrong(problem))
        p class="do" { (sentence(&today.dam)) }
        @for action in of_dam {
            section class="card" {
                p { (badge(&action.kind)) " " (sentence(&action.because)) }
                p { strong { (sentence(&action.what_to_do)) } }
                @if let Some(cite) = &action.source { p class="source" { (say("rule")) " " (cite.source) } }
            }
        }
        p { a class="button primary" href=(here.to("check")) { (say("now-check-dam")) } }
        (gives::to_the_pups(&dam, &here.to("nurse")))
        (gives::weeks(&dam))
        (gives::teats(here, &dam))
        section {
            h2 { (say("dam-last")) }
            ul { @for (kind, name) in KINDS { li { (last_seen(here, kind, name)) } } }
        }
        (temperatures(here))
        p { a class="button" href=(here.to("help")) { (say("help-title")) } }
    };
    frame(here, &say("dam-title"), Tab::More, &body)
}

/// The newest observation of this kind, of the litter and not of one pup.
pub fn last_seen(here: &Here, kind: CheckKind, name: &str) -> Markup {
    let last = here.facts().checks.iter().rfind(|c| c.pup.is_none() && c.kind == kind && c.at <= here.now);
    html! {
        (word("kind", name)) ": "
        @match last {
            Some(check) => {
                @match check.value {
                    CheckValue::Temperature(t) => { (t) }
                    CheckValue::Word(w) => { (word("value", w.text())) }
                }
                ", " (when(here, check.at))
            }
            None => { (say("not-recorded")) }
        }
    }
}

fn temperatures(here: &Here) -> Markup {
    let taken: Vec<_> = here
        .facts()
        .checks
        .iter()
        .rev()
        .filter(|c| c.pup.is_none() && c.kind == CheckKind::DamTemperature && c.at <= here.now)
        .filter_map(|c| match c.value {
            CheckValue::Temperature(t) => Some((c.at, t)),
            CheckValue::Word(_) => None,
        })
        .take(LAST_TEMPERATURES)
        .collect();
    html! {
        @if taken.len() > 1 {
            section {
                h2 { (say("dam-temperatures")) }
                ul { @for (at, t) in taken { li { (when(here, at)) ": " (t) } } }
            }
        }
    }
}
