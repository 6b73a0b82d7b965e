//! What the dam needs and gives: by week, and what each pup gets of it.

use maud::{Markup, html};

use whelpward_core::report::dam::{DamReport, FromDam, PupMilk};
use whelpward_core::units::{Kcal, Percent, format_quantity, number};

use crate::show::{ml, sentence, source};
use crate::words::{say, tell};

/// Her energy and her milk, week by week.
pub fn weeks(report: &DamReport) -> Markup {
    html! {
        @if !report.weeks.is_empty() {
            section {
                h2 { (say("dam-weeks")) }
                div class="scroll" tabindex="0" role="region" aria-label=(say("dam-weeks")) {
                    table {
                        caption class="hidden" { (say("dam-weeks")) }
                        thead { tr {
                            th scope="col" { (say("dam-week")) }
                            th scope="col" { (say("dam-energy")) }
                            th scope="col" { (say("dam-milk-expected")) }
                        } }
                        tbody { @for week in &report.weeks {
                            tr {
                                th scope="row" { (week.week) @if week.is_this_week { " " (say("dam-this-week")) } }
                                td { (format_quantity(week.energy_kcal_per_day, &Kcal::ROW)) }
                                td { (range(week.milk_ml_per_day, week.low_ml_per_day, week.high_ml_per_day)) }
                            }
                        } }
                    }
                }
                details class="fold" {
                    summary { (say("why")) }
                    @for note in &report.notes { p { (sentence(&note.text)) } (source(Some(&note.source))) }
                }
            }
        }
        @if !report.missing.is_empty() {
            ul { @for missing in &report.missing { li { (sentence(missing)) } } }
        }
    }
}

fn range(middle: f64, low: f64, high: f64) -> String {
    tell(
        "dam-range",
        &[("middle", ml(middle).into()), ("low", number(low, 0, false).into()), ("high", ml(high).into())],
    )
}

/// What each pup gets from her; `link` gives the page of a pup.
pub fn to_the_pups(report: &DamReport, link: impl Fn(&str) -> Option<String>) -> Markup {
    html! {
        @if report.pups_nursing > 0 {
            section id="gives" {
                h2 { (say("dam-gives")) }
                @if let Some(milk) = &report.milk { p class="do" { (sentence(&milk.says)) } (source(Some(&milk.source))) }
                div class="scroll" tabindex="0" role="region" aria-label=(say("dam-gives")) {
                    table {
                        caption class="hidden" { (say("dam-gives")) }
                        thead { tr {
                            th scope="col" { (say("dam-pup")) }
                            th scope="col" { (say("dam-milk-a-day")) }
                            th scope="col" { (say("dam-sure")) }
                        } }
                        tbody { @for pup in &report.pups { (pup_row(pup, link(&pup.pup))) } }
                    }
                }
                @if let Some(milk) = report.pups.iter().find_map(|p| p.from_dam.estimate.as_ref()) {
                    p { (sentence(&milk.surer)) }
                    details class="fold" { summary { (say("why")) } p { (say("dam-nine-in-ten")) } (source(Some(&milk.source))) }
                }
            }
        }
    }
}

fn pup_row(pup: &PupMilk, link: Option<String>) -> Markup {
    let share = |percent: f64| format_quantity(percent, &Percent::ROW);
    html! {
        tr {
            th scope="row" { @match link { Some(href) => { a href=(href) { (pup.pup) } } None => { (pup.pup) } } }
            @match &pup.from_dam.estimate {
                Some(milk) => {
                    td { (range(milk.ml_per_day, milk.low_ml_per_day, milk.high_ml_per_day)) }
                    td {
                        "±\u{a0}" (share(milk.sure_to_percent))
                        @if let Some(after) = pup.after_weighing.first() {
                            br; small { (tell("dam-surer-after", &[("share", share(after.sure_to_percent).into()), ("more", after.more_nursings.into())])) }
                        }
                    }
                }
                None => { td colspan="2" { (sentence(pup.from_dam.not_estimated_because.as_deref().unwrap_or_default())) } }
            }
        }
    }
}

/// The same for one pup, on its own page.
pub fn one_pup(from_dam: &FromDam, dam_page: &str) -> Markup {
    html! {
        section {
            h2 { (say("dam-from-her")) }
            @match &from_dam.estimate {
                Some(milk) => {
                    p { (sentence(&milk.shown)) }
                    p { (tell("dam-sure-to", &[("share", format_quantity(milk.sure_to_percent, &Percent::ROW).into())])) " " (sentence(&milk.surer)) }
                    details class="fold" { summary { (say("why")) } p { (say("dam-nine-in-ten")) } (source(Some(&milk.source))) }
                }
                None => { p { (sentence(from_dam.not_estimated_because.as_deref().unwrap_or_default())) } }
            }
            p { a class="button" href=(dam_page) { (say("dam-title")) } }
        }
    }
}
