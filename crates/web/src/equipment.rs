//! The card of the kit: teat, bottle, tube, how a depth mark is made, cleaning, hands, people.

use maud::{Markup, html};

use whelpward_core::report::{Said, equipment};
use whelpward_core::units::{Grams, format_quantity};

use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::words::{say, tell};

pub async fn page(here: Here) -> Markup {
    let card = equipment(here.facts(), here.now);
    let list = |said: &[Said]| {
        html! { ul class="flags" { @for one in said { li { (one.text) " " small { (one.source.source) } } } } }
    };
    let body = html! {
        h1 { (say("equipment-title")) }
        section { h2 { (say("equipment-hands")) } (list(&card.hands)) }
        section { h2 { (say("equipment-people")) } (list(&card.people)) }
        section { h2 { (say("equipment-bottle")) } (list(&card.bottle)) }
        section {
            h2 { (say("equipment-tube")) }
            @if card.taught.is_empty() {
                p class="condition" { (say("equipment-nobody")) }
            } @else {
                p class="condition" { (tell("equipment-taught", &[("carers", card.taught.join(", ").into())])) }
                @if !card.tubes.is_empty() {
                    table {
                        caption { (say("equipment-sizes")) }
                        thead { tr { th scope="col" { (say("pup")) } th scope="col" { (say("weigh-weight")) } th scope="col" { (say("equipment-size")) } } }
                        tbody {
                            @for line in &card.tubes {
                                tr {
                                    th scope="row" { (line.pup) }
                                    td { (format_quantity(line.weight_g, &Grams::ROW)) }
                                    td { (tell("equipment-fr", &[("size", line.size_fr.into())])) }
                                }
                            }
                        }
                    }
                }
            }
            (list(&card.tube))
        }
        section { h2 { (say("equipment-depth")) } (list(&card.depth)) }
        section { h2 { (say("equipment-cleaning")) } (list(&card.cleaning)) }
    };
    frame(&here, &say("equipment-title"), Tab::More, &body)
}
