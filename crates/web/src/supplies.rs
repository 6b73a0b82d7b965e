//! What to have in the house before the birth: how sure each quantity is, what to buy, and every
//! assumption. Asked for by an address, because nothing is saved.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::own_litters;
use whelpward_core::report::supplies::{
    AssumptionLine, BuyLine, QuantileLine, QuantityLine, SuppliesReport, SuppliesRequest, supplies,
};
use whelpward_core::supplies::Expected;
use whelpward_core::units::{number, parse_decimal};

use crate::fault::Fault;
use crate::form::{field, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::words::{say, tell};

/// What of a shop may be typed: name, least and most.
const SHOP: [(&str, f64, f64); 2] = [("packet", 1.0, 50_000.0), ("packet_price", 0.0, 100_000.0)];

fn shop_label(name: &str) -> String {
    say(if name == "packet" { "supplies-packet" } else { "supplies-packet-price" })
}

type Typed = [(String, String)];

fn typed<'t>(asked: &'t Typed, name: &str) -> Option<&'t str> {
    asked.iter().find(|(n, _)| n == name).map(|(_, v)| v.trim()).filter(|v| !v.is_empty())
}

pub async fn page(here: Here, Query(asked): Query<Vec<(String, String)>>) -> Result<Response, Fault> {
    let facts = here.facts();
    let own = own_litters(&here.book, Some(here.litter), &Expected::of(facts)).await?;
    let mut request = SuppliesRequest::of(facts, &own.all, &own.sizes);
    let problem = change(&mut request, &asked).err();
    let status = if problem.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    // The draws take some tenths of a second: beside the other pages, not before them.
    let report = tokio::task::spawn_blocking(move || supplies(&request)).await.map_err(|_| Fault::NoAnswer)?;
    Ok((status, shown(&here, &asked, &report, problem.as_deref())).into_response())
}

/// Puts in what was typed. What cannot be is said, and the usual value stays.
fn change(request: &mut SuppliesRequest, asked: &Typed) -> Result<(), String> {
    let mut problem = None;
    for key in request.assumptions.rows.iter().map(|r| r.key).collect::<Vec<_>>() {
        let Some(text) = typed(asked, key) else { continue };
        if let Err(why) = request.assumptions.set(key, text) {
            problem = problem.or(Some(tell(
                "refused",
                &[("what", format!("{}: {}", why.name, why.found).into()), ("allowed", why.allowed.into())],
            )));
        }
    }
    for (name, min, max) in SHOP {
        let Some(text) = typed(asked, name) else { continue };
        match parse_decimal(text).ok().filter(|n| (min..=max).contains(n)) {
            Some(value) if name == "packet" => request.shop.packet = Some(value),
            Some(value) => request.shop.packet_price = Some(value),
            None => {
                let values = [
                    ("field", shop_label(name).into()),
                    ("found", text.to_owned().into()),
                    ("min", number(min, 0, false).into()),
                    ("max", number(max, 0, false).into()),
                ];
                problem = problem.or(Some(tell("supplies-refused", &values)));
            }
        }
    }
    problem.map_or(Ok(()), Err)
}

fn shown(here: &Here, asked: &Typed, report: &SuppliesReport, problem: Option<&str>) -> Markup {
    let body = html! {
        h1 { (say("supplies-title")) }
        (wrong(problem))
        div class="before" {
        p { (tell("supplies-for", &[("litter", report.pups_by.as_str().into())])) }
        p class="do" {
            (tell("supplies-chance", &[
                ("any", number(report.any_by_hand_percent, 0, false).into()),
                ("all", number(report.all_by_hand_percent, 1, false).into()),
            ]))
        }
        @if let Some(due) = &report.due {
            p { (tell("supplies-due", &[("first", due.first.as_str().into()), ("last", due.last.as_str().into()), ("ready", due.ready_by.as_str().into())])) }
        }
        @for note in &report.notes { p class="note" { (note.text) " " small { (note.source.source) } } }
        (list(&say("supplies-now"), &report.buy_now))
        @if !report.buy_later.is_empty() { (list(&say("supplies-later"), &report.buy_later)) }
        (quantities(report))
        p class="caution" { (report.caution) }
        }
        p class="row no-print" {
            a class="button" href=(here.to("expecting")) { (say("expecting-title")) }
            a class="button" href=(here.to("equipment")) { (say("equipment-title")) }
        }
        p class="no-print note" { (say("print-how")) }
        (assumptions(here, asked, report))
    };
    frame(here, &say("supplies-title"), Tab::More, &body)
}

/// A shopping list; each line with its reason and source.
fn list(title: &str, lines: &[BuyLine]) -> Markup {
    html! {
        section {
            h2 { (title) }
            ul class="flags feeds" {
                @for (at, line) in lines.iter().enumerate() {
                    // The reason of several lines is said once, with the first of them.
                    @let is_said = at > 0 && lines[at - 1].because == line.because;
                    li {
                        "☐ " strong { (sentence_case(&line.what)) @if line.how_many.is_some() { ": " (how_many(line)) } }
                        @if let Some(cost) = line.cost { " " (tell("supplies-cost", &[("cost", number(cost, 2, false).into())])) }
                        @if !is_said && !line.because.is_empty() { " " (sentence(&line.because)) }
                    }
                }
            }
            details class="fold" {
                summary { (say("supplies-sources")) }
                ul { @for line in lines { li { (sentence_case(&line.what)) ": " small { (line.source.source) } } } }
            }
        }
    }
}

fn sentence_case(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

fn how_many(line: &BuyLine) -> String {
    let amount = with_unit(line.how_many.unwrap_or_default(), &line.unit);
    match line.packets {
        Some(packets) => format!("{amount} ({})", tell("supplies-packets", &[("packets", packets.into())])),
        None => amount,
    }
}

fn with_unit(value: f64, unit: &str) -> String {
    let value = number(value, 0, false);
    if unit.is_empty() { value } else { format!("{value}\u{a0}{unit}") }
}

/// The quantiles, each with where endless draws would put it.
fn quantities(report: &SuppliesReport) -> Markup {
    let cell = |line: &QuantityLine, q: &QuantileLine| {
        html! {
            td {
                (with_unit(q.value, &line.unit))
                @if q.low < q.high { br; small { (number(q.low, 0, false)) "–" (number(q.high, 0, false)) } }
            }
        }
    };
    html! {
        section {
            h2 { (say("supplies-sure")) }
            div class="scroll" tabindex="0" role="region" aria-label=(say("supplies-sure")) {
                table class="figures" {
                    caption { (say("supplies-enough")) }
                    thead { tr {
                        th scope="col" { (say("supplies-what")) }
                        @for percent in ["50", "80", "95"] { th scope="col" { (percent) } }
                    } }
                    tbody {
                        @for line in &report.quantities {
                            tr {
                                th scope="row" { (sentence_case(&line.what)) }
                                @for q in &line.enough { (cell(line, q)) }
                            }
                        }
                    }
                }
            }
            p class="key-words" {
                (tell("supplies-error", &[("draws", number(f64::from(report.draws), 0, false).into()), ("seed", report.seed.into())]))
            }
        }
    }
}

/// Every assumption with its source; each can be set.
fn assumptions(here: &Here, asked: &Typed, report: &SuppliesReport) -> Markup {
    let known = |name: &str| typed(asked, name).unwrap_or_default().to_owned();
    let hint = |line: &AssumptionLine| {
        let values = [
            ("basis", line.basis.as_str().into()),
            ("min", number(line.min, 2, false).into()),
            ("max", number(line.max, 2, false).into()),
            ("source", line.source.source.as_str().into()),
        ];
        tell("supplies-hint", &values)
    };
    let label = |line: &AssumptionLine| {
        let what = sentence_case(&line.what);
        if line.unit.is_empty() { what } else { format!("{what} ({})", line.unit) }
    };
    html! {
        section class="no-print" {
            h2 { (say("supplies-assumptions")) }
            p { (say("supplies-assumptions-text")) }
            form method="get" action=(here.to("supplies")) {
                @for (name, ..) in SHOP { (field(name, &shop_label(name), "decimal", &known(name), "")) }
                details class="fold" {
                    summary { (tell("supplies-all", &[("count", report.assumptions.len().into())])) }
                    @for line in &report.assumptions {
                        @let value = typed(asked, &line.key).map_or_else(|| number(line.value, 2, false), str::to_owned);
                        (field(&line.key, &label(line), "decimal", &value, &hint(line)))
                    }
                }
                button class="primary save" type="submit" { (say("supplies-again")) }
            }
        }
    }
}
