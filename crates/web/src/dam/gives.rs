//! What the dam needs and gives: by week, what each pup gets of it, and turns at the teat.

use maud::{Markup, html};

use whelpward_core::report::dam::{DamReport, FromDam, HandBackLine, PupMilk};
use whelpward_core::units::{Hours, Kcal, Percent, format_quantity, number};

use crate::form::{field, form};
use crate::here::Here;
use crate::show::{ml, sentence, source, when_iso, wide_table};
use crate::words::{say, tell};

/// Her energy and her milk, week by week.
pub fn weeks(report: &DamReport) -> Markup {
    html! {
        @if !report.weeks.is_empty() {
            section {
                h2 { (say("dam-weeks")) }
                (wide_table(&say("dam-weeks"), &html! {
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
                }))
                details class="fold" {
                    summary { (say("why")) }
                    @for note in &report.notes { p { (sentence(&note.text)) } (source(Some(&note.source))) }
                }
            }
        }
        @if report.weight_g.is_none() {
            ul { @for missing in &report.missing { li { (sentence(missing)) } } }
        }
    }
}

/// Who nurses when, where the pups are more than the teats; and the number of teats to write down.
pub fn teats(here: &Here, report: &DamReport) -> Markup {
    let hours = |h: f64| format_quantity(h, &Hours::ROW);
    html! {
        @if report.pups_nursing > 0 {
            section id="teats" {
                h2 { (say("dam-teats")) }
                @match (&report.turns, report.working_teats) {
                    (Some(plan), _) => {
                        p { (tell("dam-turn", &[("turn", hours(plan.turn_h).into()), ("wait", hours(plan.longest_wait_h).into())])) }
                        ol { @for turn in &plan.turns { li {
                            strong { (turn.pups.join(", ")) } ": "
                            (turn.from.iter().map(|at| when_iso(here, at)).collect::<Vec<_>>().join(", "))
                        } } }
                        @if !plan.twice.is_empty() { p { (tell("dam-twice", &[("pups", plan.twice.join(", ").into())])) } }
                        @for says in &plan.says { p class="do" { (sentence(says)) } }
                        details class="fold" { summary { (say("why")) } @for cite in &plan.sources { (source(Some(cite))) } }
                    }
                    (None, Some(teats)) => { p { (tell("dam-teats-enough", &[("teats", teats.into())])) } }
                    (None, None) => { p { (say("dam-teats-count")) } }
                }
                (form(&here.visit, &here.to("dam"), &html! {
                    (field("working_teats", &say("dam-teats-working"), "numeric", &report.working_teats.map(|n| n.to_string()).unwrap_or_default(), ""))
                    button class="second" type="submit" { (say("dam-teats-save")) }
                }))
            }
        }
    }
}

fn range(middle: f64, low: f64, high: f64) -> String {
    tell(
        "dam-range",
        &[("middle", ml(middle).into()), ("low", number(low, 0, false).into()), ("high", ml(high).into())],
    )
}

/// What each pup gets from her.
pub fn to_the_pups(report: &DamReport, nurse_page: &str) -> Markup {
    html! {
        @if report.pups_nursing > 0 {
            section id="gives" {
                h2 { (say("dam-gives")) }
                @if let Some(milk) = &report.milk { p class="do" { (sentence(&milk.says)) } (source(Some(&milk.source))) }
                (wide_table(&say("dam-gives"), &html! {
                    thead { tr {
                        th scope="col" { (say("dam-pup")) }
                        th scope="col" { (say("dam-milk-a-day")) }
                        th scope="col" { (say("dam-sure")) }
                    } }
                    tbody { @for pup in &report.pups { (pup_row(pup)) } }
                }))
                @if let Some(milk) = report.pups.iter().find_map(|p| p.from_dam.estimate.as_ref()) {
                    p { (sentence(&milk.surer)) }
                    details class="fold" { summary { (say("why")) } p { (say("dam-nine-in-ten")) } (source(Some(&milk.source))) }
                }
                p { a class="button" href=(nurse_page) { (say("nurse-title")) } }
            }
        }
    }
}

fn pup_row(pup: &PupMilk) -> Markup {
    let share = |percent: f64| format_quantity(percent, &Percent::ROW);
    html! {
        tr {
            th scope="row" { (pup.pup) }
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

/// The steps back to the dam.
pub fn back(here: &Here, plan: &HandBackLine) -> Markup {
    html! {
        section {
            h2 { (say("dam-back-title")) }
            ol { @for step in &plan.steps {
                @let part = if step.share_percent > 0.0 {
                    tell("dam-back-share", &[("share", format_quantity(step.share_percent, &Percent::ROW).into())])
                } else { say("dam-back-none") };
                li { (tell("dam-back-step", &[
                    ("at", when_iso(here, &step.from).into()),
                    ("part", part.into()),
                    ("weigh", step.weigh_at.iter().map(|at| when_iso(here, at)).collect::<Vec<_>>().join(", ").into()),
                ])) }
            } }
            p { (sentence(&tell("dam-back-success", &[("text", plan.success.as_str().into())]))) }
            p { (sentence(&tell("dam-back-stop", &[("text", plan.stop.as_str().into())]))) }
            (source(Some(&plan.source)))
        }
    }
}
