//! Everything else, one tap away.

use maud::{Markup, html};
use whelpward_app::access::Action;

use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::words::say;

pub async fn page(here: Here) -> Markup {
    let pages = [
        ("help", "help-title"),
        ("vet", "vet-title"),
        ("litter", "litter-title"),
        ("expecting", "expecting-title"),
        ("supplies", "supplies-title"),
        ("birth", "more-birth"),
        ("stages", "stages-title"),
        ("milk", "milk-title"),
        ("timetable", "timetable-title"),
        ("sheet", "sheet-title"),
        ("print", "prints-title"),
        ("dam", "dam-title"),
        ("nurse", "nurse-title"),
        ("check", "check-dam-title"),
        ("box", "now-box"),
        ("milk/compare", "compare-title"),
        ("milk/blend", "blend-title"),
        ("equipment", "equipment-title"),
        ("settings", "settings-title"),
    ];
    let body = html! {
        h1 { (say("nav-more")) }
        ul class="menu" {
            @for (page, key) in pages { li { a class="button" href=(here.to(page)) { (say(key)) } } }
            @if here.may(Action::LetIn) { li { a class="button" href="/household" { (say("household-title")) } } }
            @if here.visit.home.doors.network.as_ref().is_some_and(|n| n.padlock.is_some()) && !here.visit.is_secure {
                li { a class="button" href="/padlock" { (say("padlock-title")) } }
            }
            li { a class="button" href="/" { (say("more-litters")) } }
        }
    };
    frame(&here, &say("nav-more"), Tab::More, &body)
}
