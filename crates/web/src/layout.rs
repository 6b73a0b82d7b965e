//! The frame of every page.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{DOCTYPE, Markup, html};
use sha2::{Digest as _, Sha256};

use crate::assets::{address, build};
use crate::form::button;
use crate::here::{Here, Shelf, Visit};
use crate::live::last_place;
use crate::theme::Theme;
use crate::words::{say, tell};
use whelpward_core::book::{Fact, Kind};

/// The part of the app in which a page stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tab {
    Now,
    Weigh,
    Feed,
    Check,
    More,
    /// Entry pages keep the lower half for the pad.
    None,
}

/// A page about a litter.
pub fn page(here: &Here, title: &str, tab: Tab, body: &Markup) -> Markup {
    page_styled(here, title, tab, &address("style.css"), body)
}

/// The same with a style sheet that holds more than that of every page: one request as before.
pub fn page_styled(here: &Here, title: &str, tab: Tab, style: &str, body: &Markup) -> Markup {
    let class = here.visit.theme.class(here.visit.clock, here.zone());
    whole(here, title, tab, (class, style), &status(here), body)
}

/// A page that a phone keeps: of what was true only when it was kept it says nothing. Kept for any hour, it is
/// never white at night.
pub fn kept_page(here: &Here, title: &str, tab: Tab, body: &Markup) -> Markup {
    let class = match here.visit.theme {
        Theme::Auto => Theme::Night.word(),
        chosen => chosen.word(),
    };
    whole(here, title, tab, (class, &address("style.css")), &status_line(None), body)
}

/// What says who holds this device, and of which litter a page is.
fn top(here: &Here) -> Markup {
    let facts = here.facts();
    html! {
        header class="top" {
            a class="home" href=(here.to("now")) { (facts.litter.name) }
            @if let Some(carer) = here.carer().or(here.visit.asker.carer()) {
                a class="who" href=(who_address(here)) { (say("carer-is")) " " (carer) }
            } @else if !facts.carers.is_empty() {
                a class="who" href=(who_address(here)) { (say("carer-unknown")) }
            }
        }
        @if here.shelf == Shelf::Example || facts.litter.example.is_some() {
            p class="example" role="note" { (say("example-mark")) }
        }
    }
}

/// Another one when a phone has to keep the empty frame of these pages anew: everything that the frame says.
fn frame_mark(here: &Here, top: &Markup) -> String {
    let (visit, zone) = (&here.visit, here.zone().iana_name().unwrap_or("UTC"));
    let hand = if visit.is_left_handed { "left" } else { "right" };
    let (token, device, carer) = (visit.token(), here.who().device, here.carer().unwrap_or_default());
    let all = [build(), visit.theme.word(), hand, &token, &device, carer, zone, &top.0];
    whelpward_store::hex(&Sha256::digest(all.join("\n"))[..8])
}

fn whole(here: &Here, title: &str, tab: Tab, (class, style): (&str, &str), status: &Markup, body: &Markup) -> Markup {
    let facts = here.facts();
    let top = top(here);
    let inside = html! {
        (top)
        (status)
        main id="main" data-frame-mark=(frame_mark(here, &top)) data-live=(here.to("live")) data-place=(last_place(&here.loaded))
            data-here=(here.to("")) data-litter=(here.litter) data-token=(here.visit.token())
            data-device=(here.who().device) data-carer=(here.carer().unwrap_or_default())
            data-zone=(here.zone().iana_name().unwrap_or("UTC"))
            data-now=(here.now.as_millisecond()) data-clock=(here.visit.clock.as_millisecond()) {
            (saved_bar(here))
            (body)
        }
        // Shown by script when another phone has written something and this page must not change by itself.
        section class="changed" data-changed data-done=(say("live-renewed")) hidden {
            p { (say("live-changed")) }
            a class="button second" href=(here.visit.path) { (say("live-show")) }
        }
        @if tab != Tab::None { (nav(here, tab)) }
    };
    document(
        title,
        &format!("{} {}", facts.litter.name, say("app-name")),
        class,
        here.visit.is_left_handed,
        style,
        &inside,
    )
}

/// Where it is said who holds this device.
fn who_address(here: &Here) -> String {
    if here.visit.asker.signed_in.is_some() {
        format!("/who?back=/{}/{}/now", here.shelf.word(), here.litter)
    } else {
        here.to("settings#who")
    }
}

/// Whether what was entered here has reached the book. Kept true by script; a page without script
/// is only ever shown by the program.
fn status(here: &Here) -> Markup {
    let last = here.loaded.all.iter().rev().find(|f| f.kind != Kind::Advice).and_then(|f| f.receipt.received);
    // By the litter's own time, which runs beside the clock.
    let last = last.map_or(here.now, |at| here.now - here.visit.clock.duration_since(at));
    let said = tell("outbox-saved", &[("at", crate::show::when(here, last).into())]);
    status_line(Some((last, said)))
}

/// The line with the time of the last entry and what it says of it; without, script says what is so.
fn status_line(last: Option<(Timestamp, String)>) -> Markup {
    let (at, said) = last.map(|(at, said)| (at.as_millisecond(), said)).unzip();
    html! {
        div class="kept" data-kept data-at=[at]
            data-saved=(tell("outbox-saved", &[("at", "{}".into())])) data-waiting=(tell("outbox-waiting", &[("count", "{}".into())]))
            data-gone=(tell("outbox-gone", &[("at", "{}".into())])) data-needs=(say("outbox-needs-program"))
            data-sending=(say("outbox-sending")) data-fast=(tell("outbox-clock-fast", &[("minutes", "{}".into())]))
            data-slow=(tell("outbox-clock-slow", &[("minutes", "{}".into())])) {
            p { (said.unwrap_or_default()) }
        }
    }
}

/// A page about no litter.
pub fn outer_page(visit: &Visit, title: &str, body: &Markup) -> Markup {
    let inside = html! {
        header class="top" { a class="home" href="/" { (say("app-name")) } }
        main id="main" { (body) }
    };
    let class = visit.theme.class(visit.clock, &TimeZone::system());
    document(title, &say("app-name"), class, visit.is_left_handed, &address("style.css"), &inside)
}

/// A page from which no way leads on: for somebody who is not let in further.
pub fn door_page(theme: Theme, now: Timestamp, zone: &TimeZone, title: &str, style: &str, body: &Markup) -> Markup {
    document(title, &say("app-name"), theme.class(now, zone), false, style, &html! { main id="main" { (body) } })
}

/// A page that needs nothing to be shown.
pub fn bare_page(title: &str, text: &str) -> Markup {
    let inside = html! {
        main id="main" {
            h1 { (title) }
            p { (text) }
            p { (say("fault-go-back")) }
            p { a class="button" href="/" { (say("to-start")) } }
        }
    };
    document(title, &say("app-name"), "auto", false, &address("style.css"), &inside)
}

fn document(title: &str, place: &str, class: &str, is_left_handed: bool, style: &str, inside: &Markup) -> Markup {
    let scheme = match class {
        "night" => "dark",
        "day" => "light",
        _ => "light dark",
    };
    html! {
        (DOCTYPE)
        html lang="en" class=(class) data-hand=(if is_left_handed { "left" } else { "right" }) {
            head {
                meta charset="utf-8";
                // Before anything is drawn: no white flash at night.
                meta name="color-scheme" content=(scheme);
                link rel="stylesheet" href=(style);
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · " (place) }
                link rel="icon" href=(address("mark.svg"));
                script type="module" src=(address("app.js")) {}
            }
            body {
                a class="skip" href="#main" { (say("skip")) }
                (inside)
                (wipe())
            }
        }
    }
}

/// Locks the glass for some seconds so that it can be wiped. Only script can; without it nothing
/// is shown.
fn wipe() -> Markup {
    html! {
        template data-wipe {
            button type="button" class="quiet wipe" data-wipe-start { (say("wipe")) }
            div class="locked" role="alert" data-wipe-lock data-text=(tell("wipe-locked", &[("seconds", "{}".into())])) {}
        }
    }
}

fn nav(here: &Here, tab: Tab) -> Markup {
    let item = |which: Tab, page: &str, sign: &str, text: String| {
        html! {
            a href=(here.to(page)) aria-current=[(which == tab).then_some("page")] {
                span class="sign" aria-hidden="true" { (sign) }
                span { (text) }
            }
        }
    };
    html! {
        nav class="tabs" aria-label=(say("nav-label")) {
            (item(Tab::Now, "now", "◎", say("nav-now")))
            (item(Tab::Weigh, "weigh", "⚖", say("nav-weigh")))
            (item(Tab::Feed, "feed", "◒", say("nav-feed")))
            (item(Tab::Check, "check", "✓", say("nav-check")))
            (item(Tab::More, "more", "≡", say("nav-more")))
        }
    }
}

/// What was saved last, with one tap to take it back.
fn saved_bar(here: &Here) -> Markup {
    let Some(id) = here.saved else { return html! {} };
    let fact = here.loaded.all.iter().find(|f| f.id == id);
    let told = here.visit.home.told(id);
    let text = told.as_ref().map_or_else(|| say("saved"), |t| t.read_back.clone());
    let notes = told.map(|t| t.notes).unwrap_or_default();
    let counts = here.loaded.folded.current(id).is_some_and(|f| f.id == id);
    html! {
        section class="saved" role="status" aria-label=(say("saved")) {
            p class="saved-text" { (text) }
            @for note in &notes { p class="note" { (note) } }
            @if let Some(fact) = fact.filter(|f| counts && can_be_taken_back(f)) {
                div class="row" {
                    (button(&here.visit, &here.to("undo"), "second", &[
                        ("entry", &id.to_string()), ("back", &here.visit.path),
                    ], &html! { (say("undo")) }))
                    @if matches!(fact.kind, Kind::Weighing | Kind::Feed | Kind::Check | Kind::Done) && fact.pup.is_some() {
                        a class="button second" href=(here.to(&format!("entry/{id}#wrong-pup"))) { (say("wrong-pup")) }
                    }
                }
            }
        }
    }
}

fn can_be_taken_back(fact: &Fact) -> bool {
    !matches!(fact.kind, Kind::Void | Kind::Litter | Kind::Example | Kind::Advice)
}
