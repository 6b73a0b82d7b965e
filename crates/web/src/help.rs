//! The red-flag card, and a white screen to judge colours by.

use maud::{DOCTYPE, Markup, html};

use whelpward_core::report::{self, Said, red_flags};

use crate::assets::address;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::phones;
use crate::words::say;

pub async fn page(here: Here) -> Markup {
    let card = red_flags();
    let vets = report::today(here.facts(), here.now).vets;
    let list = |said: &[Said]| {
        html! { ul class="flags" { @for one in said { li { (one.text) " " small { (one.source.source) } } } } }
    };
    let body = html! {
        h1 { (say("help-title")) }
        (phones(&vets))
        section { h2 { (say("help-steps")) } (list(&card.steps)) }
        @for one in &card.emergencies { section { h2 { (one.what) } (list(&one.steps)) } }
        section { h2 { (say("help-pup")) } (list(&card.pup)) }
        section { h2 { (say("help-dam")) } (list(&card.dam)) }
        p { a class="button" href=(here.to("vet")) { (say("help-vet-page")) } }
        p class="caution" { (say("help-caution")) }
    };
    frame(&here, &say("help-title"), Tab::More, &body)
}

/// Gums, stool and discharge are judged by white light, not by a red screen.
pub async fn white() -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" class="white" {
            head {
                meta charset="utf-8";
                link rel="stylesheet" href=(address("style.css"));
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (say("white-title")) }
                link rel="icon" href=(address("mark.svg"));
                script type="module" src=(address("app.js")) {}
            }
            body { main { h1 { (say("white-title")) } p { (say("white-text")) } p { a class="button" href="/" data-back { (say("to-start")) } } } }
        }
    }
}
