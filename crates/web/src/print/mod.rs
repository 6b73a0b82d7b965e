//! What is printed: the sheet for the fridge, and the page for the vet.

mod sheet;
mod vet;

pub use sheet::sheet;
pub use vet::{body as vet_body, vet_page};

use maud::{Markup, html};

use crate::here::Here;
use crate::words::{say, tell};
use whelpward_core::report::clock::date_and_clock;

/// When it was worked out and when it is old.
fn foot(here: &Here) -> Markup {
    let last = here.facts().weighings.iter().map(|w| w.at).filter(|at| *at <= here.now).max();
    let zone = here.facts().litter.zone.iana_name().unwrap_or("UTC").to_owned();
    html! {
        footer class="print-foot" {
            p {
                (tell("print-made", &[("at", date_and_clock(here.now, here.zone()).into()), ("zone", zone.into())]))
                @if let Some(at) = last { " " (tell("print-weights", &[("at", date_and_clock(at, here.zone()).into())])) }
                " " (tell("print-old", &[("at", date_and_clock(here.now + jiff::SignedDuration::from_hours(24), here.zone()).into())]))
            }
        }
    }
}

fn how_to_print() -> Markup {
    html! { p class="no-print note" { (say("print-how")) } }
}
