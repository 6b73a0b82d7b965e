//! The rounds of the next two days: when, who, how long; what if one is slept through; and what rings.

pub mod calendar;

use axum::extract::Query;
use maud::{Markup, html};

use whelpward_core::record::Nearest;
use whelpward_core::report::RoundLine;
use whelpward_core::report::timetable::{Asked as Wish, OptionLine, TimetableReport, timetable};
use whelpward_core::units::number;

use crate::fault::Fault;
use crate::form::read_time;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{amount, instant, ml, sentence, when_iso};
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    sleep: Option<String>,
    options: Option<String>,
}

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let mut problem = None;
    let sleep_through = match asked.sleep.as_deref().filter(|t| !t.is_empty()) {
        Some(text) => match read_time(text, Nearest::Next, here.now, here.zone()) {
            Ok(at) => Some(at),
            Err(why) => {
                problem = Some(why);
                None
            }
        },
        None => None,
    };
    let wish = Wish { options: asked.options.is_some(), sleep_through, usual_day: false };
    let plan = timetable(here.facts(), here.now, wish);
    let body = html! {
        h1 data-renews { (say("timetable-title")) }
        @if let Some(change) = &plan.clock_change { p class="note" { (sentence(change)) } }
        @if let Some(trouble) = &plan.trouble {
            section class="gate" role="note" {
                h2 { (say("timetable-trouble")) }
                ul { @for why in &trouble.because { li { (sentence(why)) } } }
                @if !trouble.what_would_help.is_empty() {
                    p { (say("timetable-help")) }
                    ul { @for help in &trouble.what_would_help { li { (sentence(help)) } } }
                }
            }
        }
        @if !plan.is_planned_for_carers && !plan.rounds.is_empty() { p class="note" { (say("timetable-equal")) } }
        @if plan.rounds.is_empty() { p { (say("timetable-none")) } }
        @else {
            (picture(&here, &plan))
            (figures(&plan))
            ol class="rounds" { @for round in &plan.rounds { li { (one(&here, round)) } } }
            (calendar::section(&here, &plan))
            (what_if(&here, &plan, asked.sleep.as_deref().unwrap_or(""), problem.as_deref()))
        }
        (others(&here, &plan))
    };
    Ok(frame(&here, &say("timetable-title"), Tab::More, &body))
}

fn one(here: &Here, round: &RoundLine) -> Markup {
    html! {
        strong { (when_iso(here, &round.at)) @if let Some(until) = &round.until { " – " (when_iso(here, until)) } }
        @for shift in &round.carers {
            " " (tell("timetable-shift", &[("carer", shift.carer.as_str().into()), ("bottles", shift.bottles.into()), ("tubes", shift.tubes.into())]))
            @if shift.is_woken { " " span class="badge badge-watch" { (say("timetable-woken")) } }
        }
        ul {
            @for feed in &round.feeds { li { (feed.pup) ": " (amount(feed)) " " (word("method", &feed.method)) } }
            @for held in &round.withheld { li { (held.pup) ": " (sentence(&held.because)) } }
        }
    }
}

fn figures(plan: &TimetableReport) -> Markup {
    html! {
        @if let Some(f) = &plan.figures {
            p { (tell("timetable-figures", &[
                ("rounds", f.rounds.into()), ("minutes", f.hands_on_minutes_per_day.into()), ("wakes", f.wake_ups.into()),
                ("gap", number(f.longest_gap_h, 1, false).into()),
            ])) }
        }
        @for wake in &plan.wake_ups { p { (tell("timetable-wakes", &[("carer", wake.carer.as_str().into()), ("times", wake.times.into())])) } }
    }
}

/// Two days as two lines with a mark for each round; a woken carer's mark is hollow.
fn picture(here: &Here, plan: &TimetableReport) -> Markup {
    let start = here.now;
    let hours = |iso: &str| (instant(iso) - start).as_secs_f64() / 3600.0;
    let title = tell("timetable-picture", &[("count", plan.rounds.len().into())]);
    html! {
        svg class="chart" viewBox="0 0 400 132" role="img" aria-label=(title) {
            title { (title) }
            @for day in 0..2 {
                @let y = 40 + 60 * day;
                path d=(format!("M8 {y}H392")) stroke="currentColor" stroke-width="1.5" {}
                @for part in 0..5 {
                    @let at = start + jiff::SignedDuration::from_hours(24 * day + 6 * part);
                    path d=(format!("M{} {}v8", 8 + 96 * part, y - 4)) stroke="currentColor" stroke-width="1.5" {}
                    text x=(8 + 96 * part) y=(y + 22) font-size="13" text-anchor=(if part == 0 { "start" } else if part == 4 { "end" } else { "middle" }) fill="currentColor" { (whelpward_core::report::clock(at, here.zone())) }
                }
            }
            @for round in &plan.rounds {
                @let h = hours(&round.at);
                @if (0.0..48.0).contains(&h) {
                    @let y = if h < 24.0 { 40.0 } else { 100.0 };
                    @let is_woken = round.carers.iter().any(|s| s.is_woken);
                    circle cx=(format!("{:.1}", 8.0 + 16.0 * (h % 24.0))) cy=(y) r="8" fill=(if is_woken { "none" } else { "currentColor" }) stroke="currentColor" stroke-width="3" {}
                }
            }
        }
        p class="key-words" { (say("timetable-key")) }
    }
}

fn what_if(here: &Here, plan: &TimetableReport, typed: &str, problem: Option<&str>) -> Markup {
    html! {
        section {
            h2 { (say("timetable-sleep")) }
            (crate::form::wrong(problem))
            form method="get" action=(here.to("timetable")) {
                label class="field" { span { (say("timetable-sleep-at")) }
                    input type="text" name="sleep" value=(typed) inputmode="text" autocomplete="off" maxlength="20"; }
                button class="second" type="submit" { (say("timetable-ask")) }
            }
            @if let Some(answer) = &plan.sleep_through {
                section role="status" {
                    p { strong { (tell(if answer.is_allowed { "timetable-may" } else { "timetable-may-not" }, &[("at", when_iso(here, &answer.at).into())])) } }
                    ul { @for why in &answer.because { li { (sentence(why)) } } }
                    @if let Some(instead) = &answer.instead { (option(here, instead)) }
                }
            }
        }
    }
}

fn others(here: &Here, plan: &TimetableReport) -> Markup {
    html! {
        @if plan.is_planned_for_carers && plan.options.is_empty() {
            p { a class="button" href=(here.to("timetable?options=yes")) { (say("timetable-options")) } }
        }
        @if !plan.options.is_empty() {
            section {
                h2 { (say("timetable-options")) }
                ul class="cards" { @for other in &plan.options { li class="card" { (option(here, other)) } } }
            }
        }
    }
}

fn option(here: &Here, other: &OptionLine) -> Markup {
    html! {
        p { (tell("timetable-figures", &[
            ("rounds", other.figures.rounds.into()), ("minutes", other.figures.hands_on_minutes_per_day.into()),
            ("wakes", other.figures.wake_ups.into()), ("gap", number(other.figures.longest_gap_h, 1, false).into()),
        ])) }
        p { @for (i, at) in other.round_times.iter().enumerate() { @if i > 0 { ", " } (when_iso(here, at)) } }
        ul { @for feed in &other.largest_feeds { li { (feed.pup) ": " (tell("timetable-largest", &[("amount", ml(feed.amount_ml).into()), ("most", ml(feed.at_most_ml).into())])) } } }
    }
}
