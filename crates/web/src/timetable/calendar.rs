//! The feeds as a calendar file for a phone, and as alarms to set by hand: the program wakes nobody.

use std::fmt::Write as _;

use axum::extract::Query;
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use jiff::SignedDuration;
use maud::{Markup, html};

use whelpward_core::report::timetable::{Asked as Wish, TimetableReport, timetable};
use whelpward_core::report::{calendar, clock};

use crate::fault::Fault;
use crate::here::Here;
use crate::show::instant;
use crate::words::{say, tell};

/// An alarm set by the clock alone rings once in this time.
const ALARMS: SignedDuration = SignedDuration::from_hours(24);

#[derive(serde::Deserialize)]
pub struct Whose {
    carer: Option<String>,
}

/// The file of one carer, or of everyone where none is named.
pub async fn file(here: Here, Query(whose): Query<Whose>) -> Result<Response, Fault> {
    let plan = timetable(here.facts(), here.now, Wish::default());
    let carer = whose.carer.as_deref();
    if carer.is_some_and(|name| !calendar::carers(&plan).contains(&name)) {
        return Err(Fault::NotFound);
    }
    // Amounts and names stay in the house: a phone's calendar is often kept elsewhere.
    let text = calendar::feeds(&plan, carer, false, "");
    let about = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, attached(&calendar::file_name("feeds", carer))),
    ];
    Ok((about, text).into_response())
}

/// The files to fetch and the alarms to set, for everyone who is on a round.
pub fn section(here: &Here, plan: &TimetableReport) -> Markup {
    let carers = calendar::carers(plan);
    html! {
        section id="alarms" {
            h2 { (say("timetable-alarms")) }
            p class="note" { (say("timetable-wakes-nobody")) }
            @if carers.is_empty() { p { (alarms(here, plan, None)) } }
            @else { ul { @for carer in &carers { li { (alarms(here, plan, Some(carer))) } } } }
            p { (say("timetable-files")) }
            div class="ways" {
                @for carer in &carers {
                    a class="button" download href=(here.to(&format!("timetable/feeds.ics?carer={}", encoded(carer)))) {
                        (tell("timetable-file-of", &[("carer", (*carer).into())]))
                    }
                }
                a class="button" download href=(here.to("timetable/feeds.ics")) { (say("timetable-file-all")) }
            }
            p { (say("timetable-file-old")) }
        }
    }
}

/// `Robin: set these alarms: 00:00, 03:00`, for the rounds of the coming day.
fn alarms(here: &Here, plan: &TimetableReport, carer: Option<&str>) -> String {
    let times: Vec<String> = calendar::rounds_of(plan, carer)
        .map(|round| instant(&round.at))
        .filter(|at| *at > here.now && at.duration_since(here.now) < ALARMS)
        .map(|at| clock(at, here.zone()))
        .collect();
    let carer = carer.map_or_else(|| say("timetable-everyone"), str::to_owned);
    if times.is_empty() {
        return tell("timetable-no-alarm", &[("carer", carer.into())]);
    }
    tell("timetable-set-alarms", &[("carer", carer.into()), ("times", times.join(", ").into())])
}

/// A header that gives a file its name: in ASCII, and in full as RFC 8187 writes it.
fn attached(name: &str) -> String {
    let plain: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() || matches!(c, '.' | '-') { c } else { '-' }).collect();
    format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{}", encoded(name))
}

/// Letters, digits, dot and dash as they are, every other byte as `%` and two digits (RFC 3986).
fn encoded(text: &str) -> String {
    text.bytes().fold(String::new(), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-') {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
        out
    })
}
