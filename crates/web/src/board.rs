//! The board: every pup of every home by urgency, for the people of an organisation.

use maud::{Markup, html};

use whelpward_app::{AppError, litters};
use whelpward_core::book::FactId;
use whelpward_core::report::clock::date_and_clock;
use whelpward_core::report::{BoardLine, Today, board, today};
use whelpward_store::HomeRow;

use crate::fault::Fault;
use crate::here::Visit;
use crate::layout::outer_page;
use crate::show::{badge, instant, sentence};
use crate::words::{say, tell};

/// A litter of a home, as it stands now.
struct Place {
    home: HomeRow,
    litter: FactId,
}

pub async fn page(visit: Visit) -> Result<Markup, Fault> {
    let organisation = visit.home.organisation().ok_or(Fault::NotFound)?;
    let homes = organisation.seen_by(&visit.asker).await?;
    let (mut places, mut now): (Vec<Place>, Vec<Today>) = (Vec::new(), Vec::new());
    let mut silent = Vec::new();
    for row in &homes {
        // A home whose book cannot be read is named, and hides no other.
        match of_home(&organisation, row, &visit).await {
            Ok(found) => {
                for (litter, report) in found {
                    places.push(Place { home: row.clone(), litter });
                    now.push(report);
                }
            }
            Err(error) => silent.push((row.name.clone(), error.to_string())),
        }
    }
    let lines = board(&now);
    let body = html! {
        h1 { (say("board-title")) }
        p { (say("board-text")) }
        @for (name, why) in &silent { p class="wrong" role="alert" { (tell("board-silent", &[("home", name.as_str().into()), ("why", why.as_str().into())])) } }
        @if homes.is_empty() { p { (say("board-no-home")) } }
        @else if lines.is_empty() { p { (say("board-no-pup")) } }
        ol class="tasks" { @for line in &lines { li { (one(line, &places[line.litter], &now[line.litter])) } } }
    };
    Ok(outer_page(&visit, &say("board-title"), &body))
}

async fn of_home(
    organisation: &crate::organisation::Organisation,
    row: &HomeRow,
    visit: &Visit,
) -> Result<Vec<(FactId, Today)>, AppError> {
    let (home, _) = organisation.home(row).await?;
    let mut found = Vec::new();
    for litter in litters(&home.book).await? {
        if litter.is_closed || litter.is_example {
            continue;
        }
        let loaded = home.book.load(litter.id).await?;
        // A litter that cannot be read says so on its own page.
        if let Ok(facts) = loaded.facts() {
            found.push((litter.id, today(facts, visit.clock)));
        }
    }
    Ok(found)
}

fn one(line: &BoardLine<'_>, place: &Place, report: &Today) -> Markup {
    let about = line.pup.map_or_else(|| line.action.map(|a| a.about.clone()).unwrap_or_default(), str::to_owned);
    let page = line.pup.map_or("now", |_| "litter");
    html! {
        p {
            strong { (sentence(&about)) } ", " (report.litter) ", " (place.home.name) " "
            @if let Some(action) = line.action { (badge(&action.kind)) }
            @else if let Some(standing) = line.standing { (badge(standing)) }
        }
        @if let Some(action) = line.action {
            p { (sentence(&action.because)) @if let Some(at) = &action.since { " " (tell("since", &[("at", at_their_clocks(at, report).into())])) } }
            p { (sentence(&action.what_to_do)) }
        }
        p { a href=(format!("/to/{}/litter/{}/{page}", place.home.number, place.litter)) { (tell("board-open", &[("litter", report.litter.as_str().into())])) } }
    }
}

/// By the clocks of that home.
fn at_their_clocks(iso: &str, report: &Today) -> String {
    let zone = jiff::tz::TimeZone::get(&report.time_zone).unwrap_or(jiff::tz::TimeZone::UTC);
    date_and_clock(instant(iso), &zone)
}
