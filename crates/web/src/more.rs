//! Everything else, one tap away.

use maud::{Markup, html};

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
        ("milk", "milk-title"),
        ("timetable", "timetable-title"),
        ("sheet", "sheet-title"),
        ("dam", "dam-title"),
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
            li { a class="button" href="/" { (say("more-litters")) } }
        }
    };
    frame(&here, &say("nav-more"), Tab::More, &body)
}
