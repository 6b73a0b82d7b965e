//! "I am feeding", said by a button; with script the open page says it by itself.

use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};

use whelpward_app::access::Action;
use whelpward_core::book::{Fact, open_claims};
use whelpward_core::report::Today;

use super::{Part, round};
use crate::fault::Fault;
use crate::form::{Form, button};
use crate::here::{Here, Shelf};
use crate::show::{instant, when};
use crate::words::{say, tell};

/// A round may be begun so long before its time (our own; `script/live.js` has the same).
const BEGINS: SignedDuration = SignedDuration::from_mins(15);

/// What this one has said, or the button to say it where a round is due.
pub fn own(here: &Here, today: &Today) -> Markup {
    html! {
        @if let Some(claim) = open(here) {
            p class="note" { (tell("claim-mine", &[("at", when(here, claim.occurred).into())])) }
        } @else if let Some(at) = due(here, today) {
            (button(&here.visit, &here.to("feeding"), "second", &[("round_at", &at.to_string())], &html! { (say("claim-do")) }))
        }
    }
}

/// What this device said and still informs.
fn open(here: &Here) -> Option<&Fact> {
    let device = here.who().device;
    open_claims(&here.loaded.folded, here.now).into_iter().find(|c| c.device == device)
}

/// The time of the round that can be begun now.
fn due(here: &Here, today: &Today) -> Option<Timestamp> {
    // An example is for looking round: nobody feeds there.
    if here.shelf != Shelf::Own || !here.may(Action::Write) {
        return None;
    }
    let feeds = round(today).into_iter().filter_map(|(_, part)| match part {
        Part::Feed(feed) => Some(instant(&feed.at)),
        Part::Withheld(_) => None,
    });
    feeds.min().filter(|at| at.duration_since(here.now) < BEGINS)
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let round_at = typed.get("round_at").parse().map_err(|_| Fault::BadForm)?;
    // Said twice it is said once.
    if here.shelf != Shelf::Own || open(&here).is_some() {
        return Ok(Redirect::to(&here.to("feed")).into_response());
    }
    let saved = whelpward_app::claim(&here.book, &here.who(), here.litter, round_at, here.now).await?;
    Ok(here.after("feed", saved))
}
