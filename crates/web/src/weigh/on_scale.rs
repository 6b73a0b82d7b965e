//! The scale's part of a round of weights: what it says, and its weight in the field.

use maud::{Markup, html};

use whelpward_core::record::WeightUnit;
use whelpward_core::units::Grams;

use crate::form::{Form, button};
use crate::here::Here;
use crate::scale::{View, typed};
use crate::words::{say, tell};

/// What lies on the scale while a page is made.
pub struct Lying {
    pub view: Option<View>,
    /// The settled weight as the fields show it, where nothing was typed.
    pub typed: Option<String>,
    offer: Option<u64>,
}

pub fn lying(here: &Here, unit: WeightUnit, typed_before: &str) -> Lying {
    let view = here.visit.home.scale.view(unit);
    let offer = view.as_ref().and_then(|v| v.offer).filter(|o| !o.is_moving && typed_before.is_empty());
    let text = offer.map(|o| match typed(unit, o.mg) {
        (Some(pounds), ounces) => format!("{pounds} {ounces}"),
        (None, number) => number,
    });
    Lying { view, typed: text, offer: offer.map(|o| o.number) }
}

/// Which weight of the scale stands in the field, and whether its pup moved.
pub fn fields(lying: &Lying) -> Markup {
    html! {
        @if lying.view.is_some() {
            input type="hidden" name="offer" value=(lying.offer.map(|o| o.to_string()).unwrap_or_default());
            input type="hidden" name="moved" value="" data-note=(say("scale-note-moved"));
        }
    }
}

/// Stored or asked about: what lies on the scale does not come up for the next pup.
pub fn taken(here: &Here, typed: &Form) {
    if let Ok(number) = typed.get("offer").parse() {
        here.visit.home.scale.take(number);
    }
}

/// What is to be written down beside a weight of a pup that moved.
pub fn note(typed: &Form) -> Option<String> {
    (typed.get("moved") == "yes").then(|| say("scale-note-moved"))
}

/// What the scale says. Script keeps it fresh; without it a link does.
pub fn said(here: &Here, view: Option<&View>, page: &str) -> Markup {
    html! {
        @if let Some(view) = view {
            section class="scale" data-scale=(view.state) aria-label=(say("scale-title")) {
                p class="scale-text" aria-live="polite" { (view.text) }
                // Read out once it lies still; a number that runs helps nobody who listens.
                p class="scale-moving" aria-hidden="true" { @if let Some(moving) = &view.moving { (moving) } }
                button type="button" class="second" data-median hidden {}
                noscript { a class="button second" href=(here.to(page)) { (say("scale-again")) } }
            }
        }
    }
}

/// The scale shows other steps than the book says: one tap writes them down.
pub fn step(here: &Here) -> Markup {
    let said = here.facts().litter.scale_step;
    let seen = here.visit.home.scale.step();
    html! {
        // The book keeps tenths of a gram, and 50 g at most.
        @if let Some(seen) = seen.filter(|s| is_other(*s, said)) {
            section class="question" {
                p { (tell("scale-step", &[("seen", seen.to_string().into()), ("said", said.to_string().into())])) }
                (button(&here.visit, &here.to("settings"), "second", &[
                    ("what", "scale"), ("scale_step_g", &whelpward_core::units::number(seen.get(), 1, false)),
                ], &html! { (tell("scale-step-set", &[("seen", seen.to_string().into())])) }))
            }
        }
    }
}

fn is_other(seen: Grams, said: Grams) -> bool {
    let tenths = |g: Grams| (g.get() * 10.0).round();
    (1.0..=500.0).contains(&tenths(seen)) && tenths(seen) != tenths(said)
}
