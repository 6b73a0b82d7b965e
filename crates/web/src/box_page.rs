//! The temperature of the box: one sentence, the line against its target, and the table.

use maud::{Markup, html};

use whelpward_core::report::box_temperature::{Against, BoxReport, What, box_temperature};

use crate::chart;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::when;
use crate::words::{say, tell, word};

pub async fn page(here: Here) -> Markup {
    let report = box_temperature(here.facts(), here.now);
    let sentence = finding(&here, &report);
    let body = html! {
        h1 { (say("now-box")) }
        p class="do" { (sentence) }
        @if let Some((low, high)) = report.target {
            p { (tell("box-target", &[("low", low.to_string().into()), ("high", high.to_string().into())])) }
        }
        p { a class="button primary" href=(here.to("measure?kind=box_temperature_c")) { (say("box-enter")) } }
        @if !report.readings.is_empty() {
            figure {
                (chart::box_line(&here, &report, &sentence))
                p class="key-words" { (say("box-key")) }
            }
            (table(&here, &report))
        }
        @if !report.events.is_empty() {
            section {
                h2 { (say("box-events")) }
                ul {
                    @for event in report.events.iter().rev() {
                        li {
                            (match event.what {
                                What::Born => tell("box-born", &[("pup", event.pup.0.as_str().into()), ("at", when(&here, event.at).into())]),
                                What::Cold(t) => tell("box-cold-pup", &[
                                    ("pup", event.pup.0.as_str().into()),
                                    ("temperature", t.to_string().into()),
                                    ("at", when(&here, event.at).into()),
                                ]),
                            })
                        }
                    }
                }
            }
        }
        p class="source" { (say("rule")) " " (report.rule.source) }
    };
    frame(&here, &say("now-box"), Tab::More, &body)
}

pub fn against(against: Against) -> &'static str {
    match against {
        Against::Below => "below",
        Against::Within => "within",
        Against::Above => "above",
        Against::NoTarget => "none",
    }
}

/// The newest reading in one sentence; an old one is said to be old.
fn finding(here: &Here, report: &BoxReport) -> String {
    let Some(last) = report.readings.last() else { return say("box-never") };
    let values = [("temperature", last.temperature.to_string().into()), ("at", when(here, last.at).into())];
    if report.is_old {
        return tell("box-old", &values);
    }
    match last.against {
        Against::Below => tell("box-below", &values),
        Against::Within => tell("box-within", &values),
        Against::Above => tell("box-above", &values),
        Against::NoTarget => tell("box-no-target", &values),
    }
}

fn table(here: &Here, report: &BoxReport) -> Markup {
    html! {
        details class="fold" {
            summary { (say("chart-table")) }
            div class="scroll" tabindex="0" role="region" aria-label=(say("now-box")) {
                table {
                    caption class="hidden" { (say("now-box")) }
                    thead { tr { th scope="col" { (say("time")) } th scope="col" { (say("now-box")) } th scope="col" { (say("box-against")) } } }
                    tbody {
                        @for reading in report.readings.iter().rev() {
                            tr {
                                th scope="row" { (when(here, reading.at)) }
                                td { (reading.temperature) }
                                td { (word("against", against(reading.against))) }
                            }
                        }
                    }
                }
            }
        }
    }
}
