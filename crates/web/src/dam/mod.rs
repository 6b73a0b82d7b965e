//! The dam: what is to be done for her, what she needs and gives, and what was last seen of her.

pub mod gives;

use maud::{Markup, html};

use whelpward_core::record::{CheckKind, CheckValue};
use whelpward_core::report::{self, Action};

use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{badge, sentence, when};
use crate::words::{say, word};

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
    let today = report::today(here.facts(), here.now);
    let dam = report::dam::dam(here.facts(), here.now);
    let pup_page = |name: &str| {
        here.pups_here().into_iter().find(|(_, pup)| pup.id.0 == name).map(|(id, _)| here.to(&format!("pup/{id}")))
    };
    let of_dam: Vec<&Action> =
        today.do_now.iter().filter(|a| a.about == "the dam" || a.code == "litter-slow").collect();
    let body = html! {
        h1 { (say("dam-title")) }
        p class="do" { (sentence(&today.dam)) }
        @for action in of_dam {
            section class="card" {
                p { (badge(&action.kind)) " " (sentence(&action.because)) }
                p { strong { (sentence(&action.what_to_do)) } }
                @if let Some(cite) = &action.source { p class="source" { (say("rule")) " " (cite.source) } }
            }
        }
        p { a class="button primary" href=(here.to("check")) { (say("now-check-dam")) } }
        (gives::to_the_pups(&dam, pup_page))
        (gives::weeks(&dam))
        section {
            h2 { (say("dam-last")) }
            ul { @for (kind, name) in KINDS { li { (last_seen(&here, kind, name)) } } }
        }
        (temperatures(&here))
        p { a class="button" href=(here.to("help")) { (say("help-title")) } }
    };
    frame(&here, &say("dam-title"), Tab::More, &body)
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
