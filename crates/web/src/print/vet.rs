//! The page for the vet: who, why now, the pup, its litter-mates, the dam, the box, what is unknown.

use axum::extract::Query;
use maud::{Markup, html};

use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_core::record::{CheckKind, Pup, entries};
use whelpward_core::report::{self, PupLine, Today, clock::date_and_clock};

use super::{foot, how_to_print};
use crate::chart;
use crate::cue::{band, cue};
use crate::dam::{KINDS, last_seen};
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::pup::event_words;
use crate::show::{age_words, badge, gain_words, phones, sentence, weight_words, when};
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
}

const LAST_FEEDS: usize = 6;

pub async fn vet_page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let body = body(&here, asked.pup.as_deref(), |pup| here.to(&format!("vet?pup={pup}")))?;
    Ok(frame(&here, &say("vet-title"), Tab::More, &body))
}

/// The page without its frame; `address` leads to the same page of another pup.
pub fn body(here: &Here, pup: Option<&str>, address: impl Fn(FactId) -> String) -> Result<Markup, Fault> {
    let today = report::today(here.facts(), here.now);
    let chosen = match pup.filter(|p| !p.is_empty()) {
        Some(id) => Some(here.pup(id)?.0),
        // The first line is the most urgent one.
        None => today.pups.first().and_then(|l| here.pup_id(&l.pup)),
    };
    let name = chosen.map(|id| here.loaded.name_of(id).to_owned()).unwrap_or_default();
    let line = today.pups.iter().find(|l| l.pup == name);
    let pup = here.facts().pups.iter().find(|p| p.id.0 == name);
    let body = html! {
        h1 { (say("vet-title")) }
        (phones(&today.vets))
        @if let Some(said) = &today.if_no_answer { p { (said.text) } }
        (how_to_print())
        (who(here, &today))
        nav class="order no-print" aria-label=(say("vet-which")) {
            @for (id, one) in here.pups_here() {
                a href=(address(id)) aria-current=[(Some(id) == chosen).then_some("page")] { (band(&one.id.0, &one.marks)) span { (one.id.0) } }
            }
        }
        @if let (Some(id), Some(pup), Some(line)) = (chosen, pup, line) { (about(here, &today, id, pup, line)) }
        section {
            h2 { (say("vet-mates")) }
            ul { @for mate in today.pups.iter().filter(|l| l.pup != name) {
                li { (mate.pup) ": " (mate.standing) ". " (weight_words(here, mate)) @if let Some(gain) = gain_words(mate) { " " (gain) } }
            } }
        }
        (dam_and_box(here, &today))
        (given(here))
        @if !today.missing.is_empty() {
            section { h2 { (say("vet-unknown")) } ul { @for text in &today.missing { li { (sentence(text)) } } } }
        }
        (foot(here))
    };
    Ok(body)
}

fn who(here: &Here, today: &Today) -> Markup {
    let facts = here.facts();
    html! {
        section {
            h2 { (today.litter) }
            p {
                @if let Some(dam) = &facts.dam.name { (tell("vet-dam-name", &[("dam", dam.as_str().into())])) " " }
                @if let Some(breed) = &facts.litter.breed { (breed) ". " }
                (tell("now-here", &[("here", today.pups_here.into()), ("born", today.pups_born.into())]))
                @if let Some(at) = facts.litter.whelped_at { ". " (tell("vet-born", &[("at", date_and_clock(at, here.zone()).into())])) }
            }
        }
    }
}

fn about(here: &Here, today: &Today, id: FactId, pup: &Pup, line: &PupLine) -> Markup {
    let reasons: Vec<_> = today.do_now.iter().filter(|a| a.pups.contains(&line.pup) && a.kind != "feed now").collect();
    let last = |kind: Kind, most: usize| {
        let mut mine: Vec<&std::sync::Arc<Fact>> =
            here.loaded.folded.of_kind(kind).filter(|f| f.pup == Some(id) && f.occurred <= here.now).collect();
        mine.sort_by_key(|f| std::cmp::Reverse(f.occurred));
        mine.truncate(most);
        mine
    };
    html! {
        section {
            h2 { (say("vet-why")) }
            @if reasons.is_empty() { p { (tell("vet-no-reason", &[("pup", line.pup.as_str().into()), ("standing", line.standing.as_str().into())])) } }
            @for reason in reasons {
                p {
                    (badge(&reason.kind)) " " (sentence(&reason.because))
                    @if let Some(since) = &reason.since { " " (tell("since", &[("at", crate::show::when_iso(here, since).into())])) }
                }
            }
        }
        section {
            h2 { (cue(&line.pup, &pup.marks)) }
            p { (age_words(line.age_h)) ", " (word("sex", &line.sex)) ", " (tell("vet-birth-band", &[("band", line.birth_band.as_str().into())])) }
            p { (weight_words(here, line)) @if let Some(gain) = gain_words(line) { " " (gain) } }
            (chart::weights(here, pup, Some(line)))
            h3 { (say("vet-feeds")) }
            @let feeds = last(Kind::Feed, LAST_FEEDS);
            @if feeds.is_empty() { p { (say("not-recorded")) } }
            ul { @for fact in feeds { li { (event_words(here, fact)) } } }
            h3 { (say("vet-checks")) }
            @let checks = last(Kind::Check, 12);
            @if checks.is_empty() { p { (say("not-recorded")) } }
            ul { @for fact in checks { li { (event_words(here, fact)) } } }
        }
    }
}

fn dam_and_box(here: &Here, today: &Today) -> Markup {
    let kinds = KINDS.into_iter().chain([(CheckKind::BoxTemperature, "box_temperature_c")]);
    html! {
        section {
            h2 { (say("vet-dam-and-box")) }
            p { (sentence(&today.dam)) }
            ul {
                @for (kind, name) in kinds { li { (last_seen(here, kind, name)) } }
            }
        }
    }
}

/// What was given, in the words in which it was written down.
fn given(here: &Here) -> Markup {
    let text = |f: &Fact, key: &str| f.body.get(key).map(entries::typed).unwrap_or_default();
    let given: Vec<_> = here.loaded.folded.of_kind(Kind::MedicineGiven).collect();
    html! {
        section {
            h2 { (say("vet-given")) }
            @if given.is_empty() { p { (say("not-recorded")) } }
            ul { @for fact in given { li { (when(here, fact.occurred)) " " (text(fact, "product")) " " (text(fact, "as_given")) } } }
        }
    }
}
