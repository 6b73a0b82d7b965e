//! From the first steps to the new home: what is due, late and done, food, the day of going home.

pub mod write;

use maud::{Markup, html};

use whelpward_core::book::FactId;
use whelpward_core::report::stages::{
    DateLine, HomeLine, ItemLine, PupStages, StagesReport, StepLine, WeaningLine, stages,
};
use whelpward_core::units::{Kcal, format_quantity};

use crate::cue::cue;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{sentence, source};
use crate::words::{say, tell, word};

pub async fn page(here: Here) -> Markup {
    let report = stages(here.facts(), here.now);
    let body = html! {
        h1 data-renews { (say("stages-title")) }
        @if report.open.is_empty() { p { (say("stages-nothing")) } } @else { (open(&here, &report.open)) }
        p { a class="button primary" href=(here.to("stages/write")) { (say("stages-write")) } }
        @for (id, pup) in here.pups_here() {
            @if let Some(line) = report.pups.iter().find(|p| p.pup == pup.id.0) {
                section {
                    h2 { (cue(&pup.id.0, &pup.marks)) }
                    (one(&here, id, line))
                }
            }
        }
        @if !report.dam.is_empty() {
            section { h2 { (say("stages-dam")) } (list(&report.dam)) }
        }
        @if report.pups.iter().any(|p| p.weaning.as_ref().is_some_and(|w| w.weaned_on.is_none())) { (food(&report)) }
        (choices(&here, &report))
        p class="note" { (report.asked_for.text) " " small { (report.asked_for.source.source) } }
        p class="caution" { (report.caution) }
    };
    frame(&here, &say("stages-title"), Tab::More, &body)
}

/// What is due or late in a few lines, for *now*.
pub fn short(here: &Here, dates: &[DateLine]) -> Markup {
    html! {
        @if !dates.is_empty() {
            section {
                h2 { (say("stages-open")) }
                ul {
                    @for date in dates {
                        li { strong { (word("date", &date.state)) } ": " (tell("stages-what-whom", &[("what", date.title.as_str().into()), ("whom", whom(date).into())])) }
                    }
                }
                p { a class="button" href=(here.to("stages")) { (say("stages-title")) } }
            }
        }
    }
}

fn open(here: &Here, dates: &[DateLine]) -> Markup {
    html! {
        section {
            h2 { (say("stages-open")) }
            @for date in dates {
                article class="task" {
                    h3 { (tell("stages-what-whom", &[("what", sentence(&date.title).trim_end_matches('.').into()), ("whom", whom(date).into())])) }
                    p {
                        strong { (word("date", &date.state)) }
                        @if let Some(by) = date.by.as_ref().filter(|_| date.state == "due") { " " (tell("stages-until", &[("day", day(by).into())])) }
                        ". " (sentence(&date.because))
                    }
                    @if date.state != "look" {
                        a class="button" href=(write::address(here, date)) { (say("stages-write-this")) }
                    }
                    details class="fold" { summary { (say("why")) } (source(Some(&date.source))) }
                }
            }
        }
    }
}

fn whom(date: &DateLine) -> String {
    let dam = date.dam.then(|| say("stages-the-dam"));
    date.pups.iter().cloned().chain(dam).collect::<Vec<_>>().join(", ")
}

/// `Mon 16 Mar`.
pub fn day(iso: &str) -> String {
    iso.parse::<jiff::civil::Date>().map_or_else(|_| iso.to_owned(), |d| d.strftime("%a %-d %b").to_string())
}

fn one(here: &Here, id: FactId, pup: &PupStages) -> Markup {
    html! {
        p { (tell("stages-day", &[("day", pup.age_days.into())])) }
        @for fault in &pup.faults { p class="note" { (sentence(&fault.text)) " " small { (fault.source.source) } } }
        @if let Some(weaning) = &pup.weaning { (weaning_part(weaning)) }
        (home(&pup.home))
        @if let Some(chip) = &pup.chip {
            p { strong { (tell("stages-chip", &[("number", chip.shown.as_str().into())])) } " " (sentence(&chip.reading)) " " small { (chip.caution) } }
        }
        details class="fold" {
            summary { (say("stages-all")) }
            (list(&pup.items))
            p { a class="button" href=(here.to(&format!("pup/{id}"))) { (say("now-to-pup")) } }
        }
    }
}

fn weaning_part(weaning: &WeaningLine) -> Markup {
    let kcal = |value: f64| format_quantity(value, &Kcal::ROW);
    html! {
        p { strong { (say("stages-food")) } " " (sentence(&weaning.advice)) }
        @if let Some(energy) = &weaning.energy {
            details class="fold" {
                summary { (say("stages-energy")) }
                p { (tell("stages-energy-of-a-day", &[
                    ("whole", kcal(energy.whole_kcal).into()),
                    ("milk", kcal(energy.milk_kcal).into()),
                    ("food", kcal(energy.food_kcal).into()),
                ])) @if let Some(note) = &energy.note { " " (note) } }
                (source(Some(&energy.source)))
                @for other in &energy.others {
                    p class="source" { (other.name) ": " (kcal(other.kcal)) ". " (other.source.source) }
                }
                p { (tell("stages-gain", &[("gain", weaning.gain_text.as_str().into())])) }
                (source(Some(&weaning.gain_source)))
            }
        }
    }
}

fn home(home: &HomeLine) -> Markup {
    let earliest = day(&home.earliest);
    html! {
        p {
            strong { (say("stages-home")) } " "
            @if home.may_go { (say("stages-may-go")) } @else { (tell("stages-earliest", &[("day", earliest.into()), ("law", home.law.as_str().into())])) }
            @if let Some(planned) = &home.planned { " " (tell("stages-planned", &[("day", day(planned).into())])) }
            @if let Some(owner) = &home.new_owner { " " (tell("stages-owner", &[("name", owner.as_str().into())])) }
        }
        @if home.conditions.iter().any(|c| !c.is_met) {
            details class="fold" {
                summary { (say("stages-conditions")) }
                ul {
                    @for condition in &home.conditions {
                        li {
                            (say(if condition.is_met { "stages-met" } else { "stages-not-met" })) " " (sentence(&condition.text))
                            " " small { (condition.source.source) }
                        }
                    }
                }
            }
        }
    }
}

/// Every date in a line of its own: a table of three columns has no room on a phone with large text.
fn list(items: &[ItemLine]) -> Markup {
    html! {
        ul {
            @for item in items {
                @let when = window(item);
                li {
                    strong { (sentence(&item.title).trim_end_matches('.')) } ": " (word("date", &item.state).to_lowercase())
                    @if !when.is_empty() { ", " (when) }
                }
            }
        }
    }
}

fn window(item: &ItemLine) -> String {
    let day = |iso: &str| {
        iso.parse().map_or_else(|_| iso.to_owned(), |d: jiff::civil::Date| d.strftime("%-d\u{a0}%b").to_string())
    };
    match (&item.done_on, &item.from, &item.to) {
        (Some(on), _, _) => day(on),
        (None, Some(from), Some(to)) if from != to => {
            tell("stages-from-to", &[("from", day(from).into()), ("to", day(to).into())])
        }
        (None, Some(from), _) => day(from),
        (None, None, Some(to)) => tell("stages-by", &[("day", day(to).into())]),
        (None, None, None) => String::new(),
    }
}

fn food(report: &StagesReport) -> Markup {
    html! {
        section {
            h2 { (say("stages-milk-to-food")) }
            ul {
                @for step in &report.weaning_steps {
                    li { (tell("stages-step", &[
                        ("day", step.from_day.into()),
                        ("mix", step.mix.as_str().into()),
                        ("meals", meals(step).into()),
                        ("milk", step.milk_percent.into()),
                    ])) }
                }
            }
            (source(Some(&report.weaning_steps_source)))
            ul { @for rule in &report.weaning_rules { li { (rule.text) } } }
            (source(report.weaning_rules.first().map(|r| &r.source)))
        }
    }
}

fn meals(step: &StepLine) -> String {
    if step.meals_least == step.meals_most {
        return tell("stages-meals", &[("count", step.meals_least.into())]);
    }
    tell("stages-meals-range", &[("least", step.meals_least.into()), ("most", step.meals_most.into())])
}

fn choices(here: &Here, report: &StagesReport) -> Markup {
    html! {
        section {
            h2 { (say("stages-whose")) }
            ul {
                @for choice in &report.choices {
                    li {
                        (word("choice", &choice.key)) ": " strong { (word("chosen", &choice.chosen)) }
                        @if !choice.is_chosen { " " (say("stages-not-chosen")) }
                        " " small { (choice.source.source) }
                    }
                }
            }
            (write::choose(here, report))
        }
    }
}
