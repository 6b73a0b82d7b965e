//! Who did what when: the facts of all litters, and what was done or refused at the doors.

use std::collections::HashMap;

use axum::extract::Query;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};

use whelpward_app::AppError;
use whelpward_core::book::{Fact, Kind};
use whelpward_core::report::clock::date_and_clock;
use whelpward_store::AuditEntry;

use crate::fault::Fault;
use crate::here::Visit;
use crate::layout::outer_page;
use crate::pup::what_words;
use crate::words::{say, tell, word};

/// Lines on one page.
const LINES: usize = 40;

#[derive(serde::Deserialize)]
pub struct Asked {
    /// Facts before this place of the book, and entries before this place of the audit.
    facts: Option<i64>,
    doors: Option<i64>,
    /// Leave the facts out.
    only: Option<String>,
}

enum What {
    Fact(Fact),
    AtTheDoors(AuditEntry),
}

struct Line {
    at: Timestamp,
    place: i64,
    what: What,
}

pub async fn page(visit: Visit, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let store = &visit.home.book.store;
    let is_doors_only = asked.only.as_deref() == Some("doors");
    let (facts_before, doors_before) = (asked.facts.unwrap_or(i64::MAX), asked.doors.unwrap_or(i64::MAX));
    let most = i64::try_from(LINES).unwrap_or(i64::MAX) + 1;
    let mut lines: Vec<Line> = Vec::new();
    if !is_doors_only {
        // Advice is what the program itself wrote down while it was asked.
        for fact in store.page_before(facts_before, Kind::Advice, most).await.map_err(AppError::from)? {
            let at = fact.receipt.received.unwrap_or(fact.occurred);
            lines.push(Line { at, place: fact.receipt.seq, what: What::Fact(fact) });
        }
    }
    for line in store.audit_before(doors_before, most).await.map_err(AppError::from)? {
        lines.push(Line { at: line.entry.at, place: line.seq, what: What::AtTheDoors(line.entry) });
    }
    // Both came newest first; a stable sort keeps each in its own order.
    lines.sort_by_key(|l| std::cmp::Reverse(l.at));
    let is_more = lines.len() > LINES;
    lines.truncate(LINES);
    let last = |is_fact: bool, before: i64| {
        lines.iter().filter(|l| matches!(l.what, What::Fact(_)) == is_fact).map(|l| l.place).min().unwrap_or(before)
    };
    let older = format!(
        "/household/audit?facts={}&doors={}{}",
        last(true, facts_before),
        last(false, doors_before),
        if is_doors_only { "&only=doors" } else { "" }
    );
    let labels: HashMap<String, String> = store.device_labels().await.map_err(AppError::from)?.into_iter().collect();
    let mut shown = Vec::new();
    for line in &lines {
        shown.push((line, about(&visit, line).await?));
    }
    let body = html! {
        h1 { (say("audit-title")) }
        p {
            @if is_doors_only { a class="button" href="/household/audit" { (say("audit-all")) } }
            @else { a class="button" href="/household/audit?only=doors" { (say("audit-only-doors")) } }
        }
        @if shown.is_empty() { p { (say("audit-nothing")) } }
        ul class="events audit" { @for (line, what) in &shown {
            li {
                strong { (date_and_clock(line.at, &TimeZone::system())) } " "
                (what) br;
                small { (by(line, &labels)) }
            }
        } }
        @if is_more { p { a class="button" href=(older) { (say("audit-older")) } } }
        p { a class="button" href="/household" { (say("household-title")) } }
    };
    Ok(outer_page(&visit, &say("audit-title"), &body))
}

/// Who, with which device, from where.
fn by(line: &Line, labels: &HashMap<String, String>) -> String {
    let (carer, device, address) = match &line.what {
        What::Fact(fact) => (fact.carer.as_deref().unwrap_or_default(), fact.device.as_str(), ""),
        What::AtTheDoors(entry) => (entry.carer.as_str(), entry.device.as_str(), entry.address.as_str()),
    };
    let label = labels.get(device).map(|l| format!("{l} ({device})"));
    let parts = [carer.to_owned(), label.unwrap_or_else(|| device.to_owned()), address.to_owned()];
    parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(" · ")
}

async fn about(visit: &Visit, line: &Line) -> Result<Markup, Fault> {
    let fact = match &line.what {
        What::AtTheDoors(entry) => {
            let detail = if entry.detail.is_empty() { String::new() } else { format!(": {}", entry.detail) };
            return Ok(html! { (word("audit", &entry.what)) (detail) });
        }
        What::Fact(fact) => fact,
    };
    let loaded = visit.home.book.load(fact.litter).await?;
    let litter = loaded.folded.facts.as_ref().map(|f| f.litter.name.clone()).unwrap_or_default();
    let pup = fact.pup.map(|p| format!("{}, ", loaded.name_of(p))).unwrap_or_default();
    let voided = fact.voids.and_then(|id| loaded.all.iter().find(|f| f.id == id));
    let what = match voided {
        Some(voided) => tell("audit-taken-back", &[("what", what_words(voided).into())]),
        None if fact.supersedes.is_some() => tell("audit-corrected", &[("what", what_words(fact).into())]),
        None => what_words(fact),
    };
    let text = format!("{litter}: {pup}{what}");
    Ok(html! {
        @if fact.kind == Kind::Void { (text) }
        @else { a href=(format!("/litter/{}/entry/{}", fact.litter, fact.id)) { (text) } }
    })
}
