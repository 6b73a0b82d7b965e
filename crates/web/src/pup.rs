//! One pup: how it is doing, its weight line, what was written down, and why.

use axum::extract::Path;
use axum::response::Response;
use jiff::Timestamp;
use maud::{Markup, html};

use whelpward_app::access::Action;
use whelpward_app::{Leave, leave};
use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::record::{DoneKind, DoneShape, LeftWhy, Pup, entries};
use whelpward_core::report::{self, NeedLine, PupLine};

use crate::chart;
use crate::cue::cue;
use crate::dam::gives;
use crate::fault::Fault;
use crate::form::{Form, choice, field, form, not_now};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{age_words, amount, badge, gain_words, how, ml, sentence, source, weight_words, when, when_iso};
use crate::told;
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Which {
    pup: String,
}

const EVENTS: usize = 40;

pub async fn page(here: Here, Path(which): Path<Which>) -> Result<Markup, Fault> {
    let (id, name) = here.pup(&which.pup)?;
    let facts = here.facts();
    let Some(pup) = facts.pups.iter().find(|p| p.id.0 == name) else { return Err(Fault::NotFound) };
    let today = report::today(facts, here.now);
    let line = today.pups.iter().find(|p| p.pup == name);
    let body = html! {
        h1 class="subject" { (cue(name, &pup.marks)) }
        @match line {
            Some(line) => { (state(&here, id, line)) }
            None => { p { (tell("litter-left", &[
                ("pup", name.into()),
                ("why", pup.left.map(|l| left_word(l.why)).unwrap_or_default().into()),
            ])) } }
        }
        section {
            h2 { (say("pup-weights")) }
            (chart::weights(&here, pup, line))
            (chart::gains(&here, pup))
        }
        (intake(&here, pup, line))
        @if let Some(line) = line {
            (gives::one_pup(&line.from_dam, &here.to("dam")))
            @if let Some(plan) = &line.hand_back { (gives::back(&here, plan)) }
        }
        @if let Some(need) = line.and_then(|l| l.need.as_ref()) {
            details class="fold" { summary { (say("why")) } (working(need)) }
        }
        (events(&here, id))
        @if line.is_some() && here.may(Action::Arrive) { (leaving(&here, id)) }
    };
    Ok(frame(&here, name, Tab::Now, &body))
}

fn state(here: &Here, id: FactId, line: &PupLine) -> Markup {
    html! {
        p { (badge(&line.standing)) " " (age_words(line.age_h)) ", " (word("sex", &line.sex)) }
        p class="key" { (weight_words(here, line)) }
        @if let Some(gain) = gain_words(line) { p { (gain) } }
        @if let Some(feed) = &line.next_feed {
            p { (tell("next-feed", &[("amount", amount(feed).into()), ("at", when_iso(here, &feed.at).into())])) ", " (how(feed)) }
        } @else if let Some(why) = &line.no_feed_because { p { (sentence(why)) } }
        p class="row" {
            a class="button primary" href=(here.to(&format!("weigh?pup={id}"))) { (say("pup-weigh")) }
            a class="button primary" href=(here.to(&format!("feed?pup={id}"))) { (say("pup-feed")) }
            a class="button" href=(here.to(&format!("check?pup={id}"))) { (say("pup-check")) }
            a class="button" href=(here.to(&format!("vet?pup={id}"))) { (say("pup-vet")) }
        }
        @for finding in &line.findings {
            article class="task" {
                p { (badge(&finding.level)) }
                p { (sentence(&finding.because)) }
                p class="do" { (sentence(&finding.what_to_do)) }
                details class="fold" { summary { (say("why")) } (source(Some(&finding.source))) }
            }
        }
    }
}

/// What it took by hand in the last day against what is planned by hand.
fn intake(here: &Here, pup: &Pup, line: Option<&PupLine>) -> Markup {
    let day = here.now - jiff::SignedDuration::from_hours(24);
    let lately: Vec<_> =
        here.facts().feeds.iter().filter(|f| f.pup == pup.id && f.at > day && f.at <= here.now).collect();
    let by_hand: Vec<_> = lately.iter().filter(|f| f.is_by_hand()).collect();
    let taken: f64 = by_hand.iter().filter_map(|f| f.taken).map(whelpward_core::units::Millilitres::get).sum();
    let unknown = by_hand.iter().filter(|f| f.taken.is_none()).count();
    let need = line.and_then(|l| l.need.as_ref());
    html! {
        @if !lately.is_empty() || need.is_some() {
            section {
                h2 { (say("pup-intake")) }
                p { (tell("pup-intake-taken", &[("amount", ml(taken).into()), ("feeds", by_hand.len().into())])) }
                @if unknown > 0 { p { (tell("pup-intake-unknown", &[("feeds", unknown.into())])) } }
                @if let Some(need) = need {
                    p { (tell("pup-intake-need", &[("amount", ml(need.by_hand_ml).into()), ("feeds", need.feeds_per_day.into())])) }
                }
                (chart::intake(here, pup, need.map(|n| n.by_hand_ml)))
            }
        }
    }
}

/// The terms behind the need of a day.
pub fn working(need: &NeedLine) -> Markup {
    html! {
        dl class="working" {
            @for term in &need.working {
                dt { (sentence(&term.what)) }
                dd { (term.value) @if let Some(cite) = &term.source { " " small { (cite.source) } } }
            }
        }
    }
}

fn events(here: &Here, id: FactId) -> Markup {
    let mut mine: Vec<&std::sync::Arc<Fact>> = [Kind::Weighing, Kind::Feed, Kind::Check, Kind::Done, Kind::Note]
        .into_iter()
        .flat_map(|k| here.loaded.folded.of_kind(k))
        .filter(|f| f.pup == Some(id))
        .collect();
    mine.sort_by_key(|f| std::cmp::Reverse((f.occurred, f.id)));
    html! {
        section {
            h2 { (say("pup-events")) }
            @if mine.is_empty() { p { (say("pup-no-events")) } }
            ul class="events" {
                @for fact in mine.iter().take(EVENTS) {
                    li { a href=(here.to(&format!("entry/{}", fact.id))) { (event_words(here, fact)) } }
                }
            }
            @if mine.len() > EVENTS { p { (tell("pup-more-events", &[("count", (mine.len() - EVENTS).into())])) } }
        }
    }
}

/// One entry in a line: when, what, who, and whether its time can be relied on.
pub fn event_words(here: &Here, fact: &Fact) -> String {
    let by = fact.carer.as_ref().map(|c| format!(", {c}")).unwrap_or_default();
    let told = told::marks(&here.loaded.all, fact).map(|m| format!(" · {m}")).unwrap_or_default();
    format!("{} · {}{by}{told}", when(here, fact.occurred), what_words(fact))
}

/// What an entry says.
pub fn what_words(fact: &Fact) -> String {
    let text = |key: &str| fact.body.get(key).map(entries::typed).unwrap_or_default();
    match fact.kind {
        Kind::Weighing => {
            let (weight, unit) =
                if text("weight").is_empty() { (text("weight_g"), "g".into()) } else { (text("weight"), text("unit")) };
            tell("event-weighing", &[("weight", weight.into()), ("unit", unit.replace("lb_oz", "").into())])
        }
        Kind::Feed if text("method") == "nursing" => say("event-nursing"),
        Kind::Feed => {
            let taken =
                if text("taken_ml").is_empty() { say("not-recorded") } else { format!("{}\u{a0}mL", text("taken_ml")) };
            tell("event-feed", &[("amount", taken.into()), ("method", word("method", &text("method")).into())])
        }
        Kind::Check => {
            let value = text("value");
            let is_number = value.chars().next().is_some_and(|c| c.is_ascii_digit());
            let value = if is_number { value } else { word("value", &value) };
            format!("{}: {value}", word("kind", &text("kind")))
        }
        Kind::Done => {
            let is_a_word = |kind: DoneKind| matches!(kind.row().shape, DoneShape::Words(_));
            let value = match DoneKind::from_word(&text("kind")) {
                Some(kind) if is_a_word(kind) => word("value", &text("value")),
                _ => text("value"),
            };
            let beside = [value, text("product"), text("lot")];
            let beside: Vec<&str> = beside.iter().map(String::as_str).filter(|t| !t.is_empty()).collect();
            let what = word("done", &text("kind"));
            if beside.is_empty() { what } else { format!("{what}: {}", beside.join(", ")) }
        }
        Kind::Note => text("text"),
        _ => fact.kind.word().replace('_', " "),
    }
}

pub fn left_word(why: LeftWhy) -> String {
    let text = match why {
        LeftWhy::Stillborn => "stillborn",
        LeftWhy::Died => "died",
        LeftWhy::PutToSleep => "put_to_sleep",
        LeftWhy::FosteredOut => "fostered_out",
        LeftWhy::GoneHome => "gone_home",
    };
    word("left", text)
}

fn leaving(here: &Here, id: FactId) -> Markup {
    let whys = ["gone_home", "fostered_out", "died", "put_to_sleep"].map(|w| (w.to_owned(), word("left", w)));
    html! {
        details class="fold" {
            summary { (say("pup-left")) }
            (form(&here.visit, &here.to(&format!("pup/{id}/left")), &html! {
                (choice("why", &say("pup-left-why"), &whys, "gone_home"))
                (field("note", &say("note-label"), "text", "", ""))
                (not_now())
                button class="second" type="submit" { (say("pup-left-save")) }
            }))
        }
    }
}

pub async fn left(here: Here, Path(which): Path<Which>, typed: Form) -> Result<Response, Fault> {
    let (pup, _) = here.pup(&which.pup)?;
    let at: Timestamp = typed.at(&here).map_err(whelpward_app::AppError::Said)?;
    let ask = Leave { litter: here.litter, pup, at, why: typed.get("why").to_owned(), note: typed.filled("note") };
    let saved = leave(&here.book, &here.who(), ask, here.now).await?;
    Ok(here.after("litter", saved))
}
