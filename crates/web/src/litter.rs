//! The whole litter: each pup on the same axes, and a table.

use maud::{Markup, html};

use whelpward_core::report;

use crate::chart;
use crate::cue::cue;
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{badge, gain_words, weight_words};
use crate::words::{say, tell};

pub async fn page(here: Here) -> Result<Markup, Fault> {
    let today = report::today(here.facts(), here.now);
    let axes = chart::Axes::of_litter(here.facts(), here.now);
    let gone: Vec<_> = here.facts().pups.iter().filter(|p| !p.is_here(here.now) && p.born_at <= here.now).collect();
    let body = html! {
        h1 data-renews { (say("litter-title")) }
        p { (say("litter-same-axes")) }
        ul class="multiples" {
            // The order in which the pups were written down: a cell does not move.
            @for (id, pup) in here.pups_here() {
                @let line = today.pups.iter().find(|l| l.pup == pup.id.0);
                li {
                    a class="card" href=(here.to(&format!("pup/{id}"))) {
                        (cue(&pup.id.0, &pup.marks))
                        @if let Some(line) = line {
                            span { (badge(&line.standing)) }
                            span { (weight_words(&here, line)) }
                            @if let Some(gain) = gain_words(line) { span { (gain) } }
                        }
                        (chart::small(&here, pup, &axes))
                    }
                }
            }
        }
        @if !gone.is_empty() {
            section {
                h2 { (say("litter-gone")) }
                ul { @for pup in gone { li { (tell("litter-left", &[
                    ("pup", pup.id.0.as_str().into()),
                    ("why", pup.left.map(|l| crate::pup::left_word(l.why)).unwrap_or_default().into()),
                ])) } } }
            }
        }
        p { a class="button" href=(here.to("birth")) { (say("more-birth")) } }
    };
    Ok(frame(&here, &say("litter-title"), Tab::More, &body))
}
