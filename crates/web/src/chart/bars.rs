//! Gain by day in cells, and what was taken by hand by day against what is planned.

use jiff::SignedDuration;
use maud::{Markup, html};

use whelpward_core::record::{Pup, hours_between};
use whelpward_core::units::{Grams, format_quantity};

use super::c;
use crate::here::Here;
use crate::show::ml;
use crate::words::{say, tell};

const DAYS: i64 = 7;

/// Change of weight in each of the days of 24 real hours before the last weight, by the weights nearest to its ends.
pub fn gains(here: &Here, pup: &Pup) -> Markup {
    let facts = here.facts();
    let mut points: Vec<(jiff::Timestamp, Grams)> = pup
        .birth_weight
        .map(|w| (pup.born_at, w))
        .into_iter()
        .chain(facts.weighings.iter().filter(|w| w.pup == pup.id && w.at <= here.now).map(|w| (w.at, w.weight)))
        .collect();
    points.sort_by_key(|(at, _)| *at);
    // Days are counted back from the last weight, so that its day is never empty.
    let Some((last, _)) = points.last().copied() else { return html! {} };
    let near = |at: jiff::Timestamp| {
        points
            .iter()
            .min_by(|a, b| hours_between(a.0, at).get().abs().total_cmp(&hours_between(b.0, at).get().abs()))
            .filter(|(t, _)| hours_between(*t, at).get().abs() <= 6.0)
    };
    let cells: Vec<(i64, Option<f64>)> = (0..DAYS)
        .rev()
        .filter(|back| last - SignedDuration::from_hours(24 * back) > pup.born_at)
        .map(|back| {
            let end = last - SignedDuration::from_hours(24 * back);
            let change = match (near(end - SignedDuration::from_hours(24)), near(end)) {
                (Some(a), Some(b)) if b.0 > a.0 => {
                    let hours = hours_between(a.0, b.0).get();
                    (hours >= 12.0).then(|| (b.1 - a.1).get() * 24.0 / hours)
                }
                _ => None,
            };
            (back, change)
        })
        .collect();
    html! {
        @if cells.len() > 1 {
            p id="gain-strip" { (say("chart-gains")) }
            ol class="strip" aria-labelledby="gain-strip" {
                @for (back, change) in cells {
                    li {
                        small { @if back == 0 { (say("chart-to-last")) } @else { (tell("chart-days-back", &[("days", back.into())])) } }
                        @match change {
                            Some(g) if g < 0.0 => { strong class="fell" { "▼ " (signed(g)) } }
                            Some(g) => { strong { "▲ " (signed(g)) } }
                            None => { span { (say("not-recorded")) } }
                        }
                    }
                }
            }
        }
    }
}

/// Whole grams with their sign.
fn signed(g: f64) -> String {
    let sign = if g < 0.0 { "-" } else { "+" };
    format!("{sign}{}", format_quantity(g.abs().round(), &Grams::ROW))
}

/// Bars start at 0: what was taken by hand in each day, and a line for what is planned by hand.
pub fn intake(here: &Here, pup: &Pup, planned_ml: Option<f64>) -> Markup {
    let facts = here.facts();
    let days: Vec<(i64, f64, usize)> = (0..DAYS)
        .rev()
        .filter(|back| here.now - SignedDuration::from_hours(24 * back) > pup.born_at)
        .map(|back| {
            let end = here.now - SignedDuration::from_hours(24 * back);
            let start = end - SignedDuration::from_hours(24);
            let of_day =
                || facts.feeds.iter().filter(move |f| f.pup == pup.id && f.is_by_hand() && f.at > start && f.at <= end);
            let taken = of_day().filter_map(|f| f.taken).map(whelpward_core::units::Millilitres::get).sum();
            (back, taken, of_day().filter(|f| f.taken.is_none()).count())
        })
        .collect();
    let most = days.iter().map(|d| d.1).chain(planned_ml).fold(1.0, f64::max) * 1.1;
    let height = |ml: f64| 100.0 * ml / most;
    let title = say("chart-intake");
    #[expect(clippy::cast_precision_loss, reason = "seven bars")]
    let left = |i: usize| 10.0 + 54.0 * i as f64;
    html! {
        @if days.iter().any(|d| d.1 > 0.0 || d.2 > 0) {
            figure {
                svg class="chart" viewBox="0 0 400 140" role="img" aria-label=(title) {
                    title { (title) }
                    path d="M4 112H396" stroke="currentColor" stroke-width="1.5" {}
                    @for (i, (back, taken, unknown)) in days.iter().enumerate() {
                        rect x=(c(left(i))) y=(c(112.0 - height(*taken))) width="40" height=(c(height(*taken))) fill="currentColor" opacity="0.75" {}
                        @if *unknown > 0 {
                            // Not recorded is not zero: an empty outline.
                            rect x=(c(left(i) + 1.0)) y="14" width="38" height=(c((98.0 - height(*taken)).max(4.0))) fill="none" stroke="currentColor" stroke-width="2" stroke-dasharray="4 3" {}
                        }
                        text x=(c(left(i) + 20.0)) y="130" font-size="13" text-anchor="middle" fill="currentColor" {
                            @if *back == 0 { (say("chart-24h")) } @else { "-" (back) " d" }
                        }
                    }
                    @if let Some(planned) = planned_ml {
                        path d=(format!("M4 {0}H396", c(112.0 - height(planned)))) stroke="currentColor" stroke-width="2" stroke-dasharray="9 5" {}
                    }
                }
                p class="key-words" { (say("chart-intake-key")) }
                details class="fold" {
                    summary { (say("chart-table")) }
                    table {
                        caption class="hidden" { (title) }
                        thead { tr { th scope="col" { (say("chart-day")) } th scope="col" { (say("chart-taken")) } th scope="col" { (say("chart-unknown")) } } }
                        tbody {
                            @for (back, taken, unknown) in &days {
                                tr {
                                    th scope="row" { @if *back == 0 { (say("chart-last-day")) } @else { (tell("chart-days-back", &[("days", (*back).into())])) } }
                                    td { (ml(*taken)) }
                                    td { (unknown) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
