//! What only a person can settle, and who has begun a round.

use maud::{Markup, html};

use whelpward_app::access::Action;
use whelpward_app::waiting;
use whelpward_core::book::{Fact, FactId, Question, open_claims};

use crate::form::button;
use crate::here::Here;
use crate::pup::event_words;
use crate::show::{sentence, when};
use crate::words::{say, tell};

/// "Tom is feeding (02:58)", for the other phones; `own` is what stands there of this one.
pub fn claims(here: &Here, own: &Markup) -> Markup {
    let device = here.who().device;
    let open = open_claims(&here.loaded.folded, here.now);
    html! {
        div data-claims {
            @for claim in open.iter().filter(|c| c.device != device) {
                @let who = claim.carer.clone().unwrap_or_else(|| say("claim-somebody"));
                p class="note" { (tell("claim-by", &[("who", who.into()), ("at", when(here, claim.occurred).into())])) }
            }
            (own)
        }
    }
}

/// Beside the pup in hand: who is feeding, and feeds that may be one.
pub fn on_a_round(here: &Here, own: &Markup) -> Markup {
    html! {
        (claims(here, own))
        div data-asked { (same_feeds(here)) }
    }
}

/// Every question of the book, and what waits aside.
pub async fn all(here: &Here) -> Markup {
    let aside = waiting(&here.book, here.litter).await.map_or(0, |w| w.len());
    html! {
        (same_feeds(here))
        @for question in &here.loaded.folded.questions { (other(here, question)) }
        @for refused in &here.loaded.folded.refused {
            section class="task" {
                h2 { (say("ask-does-not-read")) }
                p { (sentence(&refused.problem.to_string())) }
                a class="button" href=(here.to(&format!("entry/{}", refused.fact))) { (say("ask-look")) }
            }
        }
        @if aside > 0 {
            section class="task" {
                h2 { (tell("ask-aside", &[("count", aside.into())])) }
                p { (say("ask-aside-text")) }
                a class="button" href=(here.to("aside")) { (say("ask-look")) }
            }
        }
    }
}

/// The entries of a question as they stand.
fn both(here: &Here, first: FactId, second: FactId) -> Option<(&Fact, &Fact)> {
    let folded = &here.loaded.folded;
    Some((folded.current(first)?, folded.current(second)?))
}

fn pup_of(here: &Here, fact: &Fact) -> String {
    fact.pup.map(|p| here.loaded.name_of(p).to_owned()).unwrap_or_default()
}

fn carer_of(fact: &Fact) -> String {
    fact.carer.clone().unwrap_or_else(|| say("claim-somebody"))
}

fn same_feeds(here: &Here) -> Markup {
    let open = here.loaded.folded.questions.iter().filter_map(|q| match q {
        Question::SameFeedTwice { first, second } => both(here, *first, *second).map(|(a, b)| (a, b, first, second)),
        _ => None,
    });
    html! {
        @for (a, b, first, second) in open {
            section class="task" {
                h2 { (say("ask-same-feed")) }
                p { (tell("ask-same-feed-text", &[
                    ("pup", pup_of(here, a).into()),
                    ("first", when(here, a.occurred).into()),
                    ("second", when(here, b.occurred).into()),
                    ("one", carer_of(a).into()),
                    ("other", carer_of(b).into()),
                ])) }
                (or_who_answers(here, html! { div class="row" {
                    @for (word, label) in [("same", say("ask-one-feed")), ("two", say("ask-two-feeds"))] {
                        (button(&here.visit, &here.to("answer"), "second", &[
                            ("first", &first.to_string()), ("second", &second.to_string()), ("answer", word),
                        ], &html! { (label) }))
                    }
                } }))
            }
        }
    }
}

/// The buttons that settle something; who may not press them is told who may.
pub fn or_who_answers(here: &Here, buttons: Markup) -> Markup {
    if here.may(Action::Settle) {
        buttons
    } else {
        html! { p class="note" { (say("settled-by-others")) } }
    }
}

/// Two entries that do not agree, with the way to where that is settled.
fn other(here: &Here, question: &Question) -> Markup {
    let (title, first, second, way) = match question {
        Question::SameFeedTwice { .. } => return html! {},
        Question::WeighAgain { first, second } => {
            let pup = both(here, *first, *second).and_then(|(a, _)| a.pup);
            let way = pup.map_or_else(|| here.to("weigh"), |p| here.to(&format!("weigh?pup={p}")));
            (say("ask-weigh-again"), first, second, way)
        }
        Question::CorrectedTwice { counts, other } => {
            (say("ask-corrected-twice"), counts, other, here.to(&format!("entry/{counts}")))
        }
        Question::WithdrawnAndCorrected { counts, withdrawn } => {
            (say("ask-withdrawn"), counts, withdrawn, here.to(&format!("entry/{counts}")))
        }
        Question::SameName { first, second } => {
            (say("ask-same-name"), first, second, here.to(&format!("entry/{second}")))
        }
    };
    let fact = |id: &FactId| here.loaded.all.iter().find(|f| f.id == *id);
    html! {
        section class="task" {
            h2 { (title) }
            @for fact in [first, second].into_iter().filter_map(fact) {
                p { (pup_of(here, fact)) " " (event_words(here, fact)) }
            }
            a class="button" href=(way) { (say("ask-look")) }
        }
    }
}
