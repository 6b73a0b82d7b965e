//! Before the birth: when it is due, the dam's temperatures, the clocks that will count, and the
//! days that all this is counted from.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::{AppError, put};
use whelpward_core::book::Kind;
use whelpward_core::record::Values;
use whelpward_core::report::clock;
use whelpward_core::units::number;
use whelpward_core::whelping::{DROPPED, DueWindow, LABOUR_LIMITS, Strip, due_windows, strip};

use crate::chart;
use crate::fault::Fault;
use crate::form::{Form, field, form, tick, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{sentence, when};
use crate::start::typed_value;
use crate::words::{say, tell, word};

/// The days from which a birth is counted, the surest first.
const DAYS: [&str; 3] = ["ovulated_at", "lh_surge_at", "mated_at"];

pub async fn page(here: Here) -> Markup {
    shown(&here, None, None)
}

fn shown(here: &Here, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let facts = here.facts();
    let is_born = facts.pups.iter().any(|p| p.joined_at.is_none() && p.born_at <= here.now);
    let strip = strip(facts, here.now);
    let body = html! {
        h1 { (say("expecting-title")) }
        div class="before" {
        @if is_born {
            p class="do" { (say("expecting-born")) }
        } @else {
            (windows(here))
            (temperatures(here, strip.as_ref()))
            (limits())
            p class="row" {
                a class="button primary" href=(here.to("birth")) { (say("more-birth")) }
                a class="button" href=(here.to("supplies")) { (say("supplies-title")) }
                a class="button" href=(here.to("help")) { (say("help-title")) }
            }
        }
        }
        (days(here, typed, problem))
    };
    frame(here, &say("expecting-title"), Tab::More, &body)
}

fn day(date: Date) -> String {
    date.strftime("%a %-d %b").to_string()
}

/// Every window that can be counted; the surest first and large.
fn windows(here: &Here) -> Markup {
    let all = due_windows(here.facts());
    let today = here.now.to_zoned_datetime(here.zone().clone()).date();
    html! {
        section {
            h2 { (say("expecting-due")) }
            @match all.first() {
                None => { p { (say("expecting-unknown")) } }
                Some(surest) => {
                    p class="key due" { (day(surest.first)) " – " (day(surest.last)) }
                    p { (counted(surest)) }
                    @if today < surest.first {
                        p { (tell("expecting-days-left", &[("days", (surest.first - today).get_days().into())])) }
                    }
                    p class="condition" { (tell("expecting-ring", &[("day", day(surest.ring_from).into())])) }
                    p class="source" { (surest.source.cite()) ". " (surest.ring_source.cite()) }
                }
            }
            @if all.len() > 1 {
                ul { @for window in &all[1..] { li {
                    (day(window.first)) " – " (day(window.last)) ". " (counted(window)) " "
                    small { (window.source.cite()) }
                } } }
            }
        }
    }
}

fn counted(window: &DueWindow) -> String {
    let values = [("from", window.counted.words().into()), ("day", day(window.day_0).into())];
    let counted = tell("expecting-counted", &values);
    match window.middle {
        Some(middle) => format!("{} {counted}", tell("expecting-middle", &[("day", day(middle).into())])),
        None => counted,
    }
}

/// What the readings say, the strip, and its table.
fn temperatures(here: &Here, strip: Option<&Strip>) -> Markup {
    let said = said(here, strip);
    html! {
        section {
            h2 { (say("expecting-temperature")) }
            p class="do" { (said) }
            p { a class="button" href=(here.to("measure?kind=dam_temperature_c")) { (say("expecting-measure")) } }
            @if let Some(strip) = strip {
                figure {
                    (chart::dam_line(here, strip, &said))
                    p class="key-words" { (say("expecting-key")) }
                }
                details class="fold" {
                    summary { (say("chart-table")) }
                    table {
                        caption class="hidden" { (say("expecting-temperature")) }
                        thead { tr { th scope="col" { (say("time")) } th scope="col" { (say("expecting-temperature")) } th scope="col" { (say("expecting-low")) } } }
                        tbody {
                            @for (at, t) in strip.readings.iter().rev() {
                                tr {
                                    th scope="row" { (when(here, *at)) }
                                    td { (t) }
                                    td { @if t.millidegrees() <= DROPPED.value.millidegrees() { (say("expecting-is-low")) } }
                                }
                            }
                        }
                    }
                }
            }
            p class="source" { (say("expecting-never-wait")) " " (DROPPED.source.cite()) }
        }
    }
}

fn said(here: &Here, strip: Option<&Strip>) -> String {
    let Some(strip) = strip else { return say("expecting-no-reading") };
    if let Some(by) = strip.measure_again_by() {
        return tell("expecting-low-once", &[("by", when(here, by).into())]);
    }
    match (strip.dropped_at, strip.birth_between) {
        (Some(at), Some([from, to])) if !strip.is_overdue(here.now) => tell(
            "expecting-dropped",
            &[("at", when(here, at).into()), ("from", when(here, from).into()), ("to", when(here, to).into())],
        ),
        (Some(at), _) => tell("expecting-overdue", &[("at", when(here, at).into())]),
        (None, _) => say("expecting-no-drop"),
    }
}

/// The clocks as they will count, before any of them runs.
fn limits() -> Markup {
    let time = |hours: f64| {
        if hours < 1.0 {
            format!("{}\u{a0}min", number(hours * 60.0, 0, false))
        } else {
            format!("{}\u{a0}h", number(hours, 1, false))
        }
    };
    let mut sources: Vec<String> = LABOUR_LIMITS.iter().map(|l| l.source.cite()).collect();
    sources.dedup();
    html! {
        section {
            h2 { (say("expecting-clocks")) }
            table {
                caption class="hidden" { (say("expecting-clocks")) }
                thead { tr { th scope="col" { (say("expecting-what")) } th scope="col" { (say("expecting-watch")) } th scope="col" { (say("expecting-vet")) } } }
                tbody {
                    @for limit in LABOUR_LIMITS {
                        tr {
                            th scope="row" { (sentence(limit.what)) }
                            td { (limit.watch_h.map_or_else(|| say("expecting-at-once"), time)) }
                            td { (time(limit.vet_h)) }
                        }
                    }
                }
            }
            p class="source" { (sources.join(". ")) }
        }
    }
}

/// The form: the days that are known, and the pups that were counted.
fn days(here: &Here, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let dam = &here.facts().dam;
    let known = [dam.ovulated_at, dam.lh_surge_at, dam.mated_at];
    let date = |at: Timestamp| at.to_zoned_datetime(here.zone().clone()).date().to_string();
    let of = |name: &str, stored: Option<String>| match typed {
        Some(typed) => typed.get(name).to_owned(),
        None => stored.unwrap_or_default(),
    };
    let once = typed.map_or(dam.is_mated_once, |t| t.get("mated_once") == "yes");
    let kilograms = dam.weight.map(|w| number(w.get() / 1000.0, 2, false));
    let pups = here.facts().litter.expected_pups.map(|n| n.to_string());
    html! {
        section id="days" {
            h2 { (say("expecting-days")) }
            p { (say("expecting-days-text")) }
            (wrong(problem))
            (form(&here.visit, &here.to("expecting"), &html! {
                @for (name, at) in DAYS.into_iter().zip(known) {
                    (field(name, &word("expecting", name), "text", &of(name, at.map(date)), &say("expecting-date-hint")))
                }
                (tick("mated_once", &say("expecting-mated-once"), once))
                (field("weight_kg", &say("expecting-dam-weight"), "decimal", &of("weight_kg", kilograms), ""))
                (field("expected_pups", &say("new-expected"), "numeric", &of("expected_pups", pups), &say("new-expected-hint")))
                button class="primary save" type="submit" { (say("expecting-save")) }
            }))
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let refused =
        |text: &str| Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&typed), Some(text))).into_response());
    let mut dam = Values::new();
    for name in DAYS {
        let value = match typed.filled(name) {
            None => Value::Null,
            Some(text) => match noon(&here, &text) {
                Some(at) => Value::String(at),
                None => {
                    return refused(&tell(
                        "expecting-date-wrong",
                        &[("found", text.into()), ("field", word("expecting", name).into())],
                    ));
                }
            },
        };
        dam.insert(name.into(), value);
    }
    let once = typed.get("mated_once") == "yes" && typed.filled("mated_at").is_some();
    dam.insert("mated_once".into(), if once { Value::Bool(true) } else { Value::Null });
    dam.insert("weight_kg".into(), typed.filled("weight_kg").map_or(Value::Null, |t| typed_value(&t)));
    if here.loaded.folded.of_kind(Kind::Dam).next().is_none() {
        dam.retain(|_, v| !v.is_null());
    }
    let pups = typed.filled("expected_pups").map_or(Value::Null, |t| typed_value(&t));
    let is_new_count =
        typed.get("expected_pups") != here.facts().litter.expected_pups.map(|n| n.to_string()).unwrap_or_default();
    let mut saved = None;
    let litter = Values::from([("expected_pups".to_owned(), pups)]);
    for (kind, body) in
        [(Kind::Litter, Some(litter).filter(|_| is_new_count)), (Kind::Dam, Some(dam).filter(|d| !d.is_empty()))]
    {
        let Some(body) = body else { continue };
        match put(&here.book, &here.who(), here.litter, kind, None, body, here.now).await {
            Ok(done) => saved = Some(done),
            Err(AppError::Refused { what, allowed }) => {
                return refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())]));
            }
            Err(other) => return Err(other.into()),
        }
    }
    match saved {
        Some(saved) => Ok(here.after("expecting", saved)),
        None => refused(&say("expecting-nothing")),
    }
}

/// Noon of a day by the litter's clocks, as the book holds it; none for what is no day up to today.
fn noon(here: &Here, text: &str) -> Option<String> {
    let date: Date = text.trim().parse().ok()?;
    let today = here.now.to_zoned_datetime(here.zone().clone()).date();
    let at = here.zone().to_timestamp(date.at(12, 0, 0, 0)).ok().filter(|_| date <= today)?;
    Some(clock::iso(at, here.zone()))
}
