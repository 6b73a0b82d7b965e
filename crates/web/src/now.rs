//! The first page of a litter: the one next thing, then everything due, then each pup.

use maud::{Markup, html};

use whelpward_core::report::{Action, Feed, Today};

use crate::cue::cue;
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{amount, at_most, badge, gain_words, grouped, how, phones, sentence, source, weight_words, when_iso};
use crate::words::{say, tell};

pub async fn page(here: Here) -> Result<Markup, Fault> {
    let today = whelpward_app::today(&here.book, &here.who(), here.litter, here.now).await?;
    let groups: Vec<&[Action]> = grouped(&today.do_now).collect();
    let asked = crate::questions::all(&here).await;
    let body = html! {
        p class="asof" data-renews {
            time data-clock=(today.at) { (when_iso(&here, &today.at)) } " · " (age(&today)) " · "
            (tell("now-here", &[("here", today.pups_here.into()), ("born", today.pups_born.into())]))
        }
        (first(&here, &today, groups.first().copied()))
        (crate::copies::failure(&here))
        (crate::server_clock::warning(&here))
        @if let Some(change) = &today.clock_change { p class="note" { (sentence(change)) } }
        (crate::questions::claims(&here, &html! {}))
        (asked)
        @if groups.len() > 1 {
            section {
                h2 { (say("now-then")) }
                @for group in &groups[1..] { (task(&here, group)) }
            }
        }
        (doubts(&here, &today))
        (pups(&here, &today))
        (crate::stages::short(&here, &today.dates))
        (dam(&here, &today))
        @if !today.missing.is_empty() {
            section {
                h2 { (say("now-missing")) }
                ul { @for text in &today.missing { li { (sentence(text)) } } }
            }
        }
        @if let Some(why) = &today.no_amounts_because {
            p class="note" { (sentence(why)) " " a href=(here.to("milk")) { (say("now-to-milk")) } }
        }
        p class="caution" { (today.caution) }
    };
    Ok(frame(&here, &say("now-title"), Tab::Now, &body))
}

fn age(today: &Today) -> String {
    match today.litter_age_days {
        Some(days) => tell("age-days", &[("days", days.into())]),
        None => say("start-expecting"),
    }
}

/// The one next thing, large.
fn first(here: &Here, today: &Today, group: Option<&[Action]>) -> Markup {
    html! {
        section class="first" {
            @match group {
                Some(group) => {
                    p { (badge(&group[0].kind)) }
                    h1 { (heading(&group[0])) }
                    (told(here, group))
                    @if group[0].kind.starts_with("vet") {
                        (phones(&today.vets))
                        @if let Some(said) = &today.if_no_answer { p { (said.text) } }
                        p { a class="button" href=(here.to("help")) { (say("now-first-steps")) } }
                    }
                }
                None => {
                    h1 { (nothing(here, today)) }
                }
            }
        }
    }
}

fn nothing(here: &Here, today: &Today) -> String {
    match (today.rounds.first(), today.weigh_next.iter().map(|w| w.at.as_str()).min(), today.pups_here) {
        (Some(round), _, _) => tell("now-nothing-round", &[("at", when_iso(here, &round.at).into())]),
        (None, Some(at), _) => tell("now-nothing-weigh", &[("at", when_iso(here, at).into())]),
        (None, None, 0) => say("now-no-pups"),
        (None, None, _) => say("now-nothing"),
    }
}

/// Whom and what, with the amount where there is one for one pup.
fn heading(action: &Action) -> String {
    let what = match action.kind.as_str() {
        "feed now" => say("do-feed"),
        "weigh now" => say("do-weigh"),
        "withheld" => say("do-withheld"),
        "vet now" => say("do-vet-now"),
        "vet today" => say("do-vet-today"),
        "needs help" => say("do-help"),
        _ => say("do-watch"),
    };
    match action.feeds.as_slice() {
        [feed] => tell(
            "do-with-amount",
            &[("what", what.into()), ("who", feed.pup.as_str().into()), ("amount", amount(feed).into())],
        ),
        _ => tell("do-with", &[("what", what.into()), ("who", action.about.as_str().into())]),
    }
}

fn task(here: &Here, group: &[Action]) -> Markup {
    html! {
        article class="task" {
            h3 { (badge(&group[0].kind)) " " (heading(&group[0])) }
            (told(here, group))
        }
    }
}

fn told(here: &Here, group: &[Action]) -> Markup {
    let action = &group[0];
    html! {
        @for one in group {
            @if !matches!(one.because.as_str(), "" | "a feed is due" | "a weighing is due") {
                p { (sentence(&one.because)) }
            }
        }
        @if !action.what_to_do.is_empty() { p class="do" { (sentence(&action.what_to_do)) } }
        @if !action.feeds.is_empty() {
            ul class="feeds" { @for feed in &action.feeds { li { (feed_line(feed)) } } }
            a class="button primary" href=(here.to("feed")) { (say("now-to-feed")) }
        }
        @match action.kind.as_str() {
            "weigh now" => { a class="button primary" href=(here.to("weigh")) { (say("now-to-weigh")) } }
            // The dam's page has what she gives and what was last seen of her.
            _ if action.code == "litter-slow" => { p class="row" { a class="button" href=(here.to("dam")) { (say("dam-title")) } } }
            "withheld" | "needs help" | "keep watch" | "vet now" | "vet today" => {
                @if let Some(id) = action.pups.first().and_then(|p| here.pup_id(p)) {
                    p class="row" {
                        a class="button" href=(here.to(&format!("pup/{id}"))) { (say("now-to-pup")) }
                        a class="button" href=(here.to(&format!("check?pup={id}"))) { (say("now-to-check")) }
                    }
                }
            }
            _ => {}
        }
        details class="fold" {
            summary { (say("why")) }
            @for one in group { (source(one.source.as_ref())) }
            @if group.iter().all(|a| a.source.is_none()) { p { (say("why-feed")) } }
        }
    }
}

/// One amount with its limit and what must be true before.
pub fn feed_line(feed: &Feed) -> Markup {
    html! {
        strong { (feed.pup) ": " (amount(feed)) } " " (how(feed)) ", "
        (tell("never-more", &[("most", at_most(feed).into())]))
        @if !feed.only_after.is_empty() {
            br; span class="condition" { (tell("only-after", &[("what", feed.only_after.join(", ").into())])) }
        }
    }
}

fn doubts(here: &Here, today: &Today) -> Markup {
    let open: Vec<_> = today.doubts.iter().filter(|d| !d.is_settled).collect();
    html! {
        @if !open.is_empty() {
            section {
                h2 { (say("now-doubts")) }
                @for doubt in open {
                    article class="task" {
                        p { (tell("now-doubt", &[
                            ("pup", doubt.pup.as_str().into()),
                            ("reading", doubt.reading.as_str().into()),
                            ("at", when_iso(here, &doubt.at).into()),
                            ("why", doubt.suspicion.as_str().into()),
                        ])) }
                        @if let Some(id) = here.pup_id(&doubt.pup) {
                            a class="button" href=(here.to(&format!("weigh?pup={id}"))) { (say("now-weigh-again")) }
                        }
                    }
                }
            }
        }
    }
}

fn pups(here: &Here, today: &Today) -> Markup {
    html! {
        section {
            h2 { (say("now-pups")) }
            @if today.pups.is_empty() {
                p { (say("now-no-pups-text")) }
                p class="row" {
                    a class="button primary" href=(here.to("birth")) { (say("more-birth")) }
                    a class="button" href=(here.to("expecting")) { (say("expecting-title")) }
                    a class="button" href=(here.to("supplies")) { (say("supplies-title")) }
                }
            }
            ul class="cards" {
                @for line in &today.pups {
                    @let id = here.pup_id(&line.pup).map(|i| i.to_string()).unwrap_or_default();
                    li {
                        a class="card" href=(here.to(&format!("pup/{id}"))) {
                            (cue(&line.pup, &line.marks))
                            span { (badge(&line.standing)) }
                            span { (weight_words(here, line)) }
                            @if let Some(gain) = gain_words(line) { span { (gain) } }
                            @match (&line.next_feed, &line.no_feed_because) {
                                (Some(feed), _) => { span { (tell("next-feed", &[
                                    ("amount", amount(feed).into()),
                                    ("at", when_iso(here, &feed.at).into()),
                                ])) } }
                                (None, Some(why)) => { span { (sentence(why)) } }
                                (None, None) => {}
                            }
                        }
                    }
                }
            }
        }
    }
}

fn dam(here: &Here, today: &Today) -> Markup {
    html! {
        section {
            h2 { (say("now-dam")) }
            p { (sentence(&today.dam)) }
            p class="row" {
                a class="button" href=(here.to("check")) { (say("now-check-dam")) }
                a class="button" href=(here.to("measure?kind=box_temperature_c")) { (say("now-box")) }
            }
        }
    }
}
