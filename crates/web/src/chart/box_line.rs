//! The temperature of the box over time, before its target by age, with what happened to the pups.

use std::fmt::Write as _;

use jiff::{Timestamp, ToSpan as _};
use maud::{Markup, html};

use whelpward_core::record::hours_between;
use whelpward_core::report::box_temperature::{Against, BoxReport, What};
use whelpward_core::report::clock;
use whelpward_core::units::number;

use super::c;
use crate::here::Here;
use crate::words::say;

/// Width of the whole, and of the part that holds the line.
const LEFT: f64 = 52.0;
const WIDTH: f64 = 330.0;
const TOP: f64 = 12.0;
const HEIGHT: f64 = 170.0;

/// The chart covers this many hours at least.
const SHORTEST_H: f64 = 24.0;

struct Plot {
    from: Timestamp,
    hours: f64,
    low: f64,
    high: f64,
}

impl Plot {
    fn of(report: &BoxReport, now: Timestamp) -> Self {
        let first = report.readings.first().map_or(now, |r| r.at);
        let hours = hours_between(first, now).get().max(SHORTEST_H);
        let from = if hours > SHORTEST_H { first } else { now - 24.hours() };
        let read = report.readings.iter().map(|r| r.temperature.get());
        let aimed = report.targets.iter().flat_map(|t| [t.low.get(), t.high.get()]);
        let (low, high) = read.chain(aimed).fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(t), h.max(t)));
        Self { from, hours, low: (low - 1.0).floor(), high: (high + 1.0).ceil() }
    }

    fn x(&self, at: Timestamp) -> f64 {
        LEFT + WIDTH * (hours_between(self.from, at).get() / self.hours).clamp(0.0, 1.0)
    }

    fn y(&self, celsius: f64) -> f64 {
        TOP + HEIGHT * (1.0 - (celsius - self.low) / (self.high - self.low))
    }
}

pub fn box_line(here: &Here, report: &BoxReport, sentence: &str) -> Markup {
    let plot = Plot::of(report, here.now);
    let bottom = TOP + HEIGHT;
    html! {
        svg class="chart" viewBox="0 0 400 222" role="img" aria-label=(sentence) {
            title { (sentence) }
            // The target: a light field between two dashed lines, named once.
            @for step in &report.targets {
                @let (x0, x1) = (plot.x(step.from), plot.x(step.to));
                @let (top, low) = (plot.y(step.high.get()), plot.y(step.low.get()));
                rect x=(c(x0)) y=(c(top)) width=(c((x1 - x0).max(0.5))) height=(c(low - top)) fill="currentColor" opacity="0.14" {}
                path d=(format!("M{0} {2}H{1}M{0} {3}H{1}", c(x0), c(x1), c(top), c(low))) stroke="currentColor" stroke-width="1.5" stroke-dasharray="8 4" fill="none" {}
            }
            @for celsius in degrees(plot.low, plot.high) {
                path d=(format!("M47 {}h5", c(plot.y(celsius)))) stroke="currentColor" stroke-width="1.5" {}
                text x="44" y=(c(plot.y(celsius) + 5.0)) font-size="13" text-anchor="end" fill="currentColor" { (number(celsius, 0, false)) "\u{a0}°C" }
            }
            path d=(format!("M52 {TOP}V{0}H{1}", c(bottom), c(LEFT + WIDTH))) stroke="currentColor" stroke-width="1.5" fill="none" {}
            @for (at, label) in days(here, &plot) {
                path d=(format!("M{} {}v5", c(plot.x(at)), c(bottom))) stroke="currentColor" stroke-width="1.5" {}
                text x=(c(plot.x(at))) y=(c(bottom + 34.0)) font-size="13" text-anchor="middle" fill="currentColor" { (label) }
            }
            path d=(line(&plot, report)) stroke="currentColor" stroke-width="2.5" fill="none" stroke-linejoin="round" {}
            @for reading in &report.readings {
                path d=(mark(reading.against, plot.x(reading.at), plot.y(reading.temperature.get()))) fill="currentColor" {}
            }
            @for event in &report.events {
                @let x = plot.x(event.at);
                @match event.what {
                    What::Born => { path d=(format!("M{} {}v9", c(x), c(bottom + 7.0))) stroke="currentColor" stroke-width="2.5" {} }
                    What::Cold(_) => { path d=(format!("M{} {}l7 7m0 -7l-7 7", c(x - 3.5), c(bottom + 8.0))) stroke="currentColor" stroke-width="2" fill="none" {} }
                }
            }
            @if report.readings.is_empty() { text x="200" y="90" font-size="14" text-anchor="middle" fill="currentColor" { (say("box-never")) } }
        }
    }
}

/// A triangle up above the target, a triangle down below it, a dot within it or without one.
fn mark(against: Against, x: f64, y: f64) -> String {
    match against {
        Against::Above => format!("M{} {}l5.5 10h-11z", c(x), c(y - 6.0)),
        Against::Below => format!("M{} {}l5.5 -10h-11z", c(x), c(y + 6.0)),
        Against::Within | Against::NoTarget => {
            format!("M{} {}a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0 -7 0z", c(x - 3.5), c(y))
        }
    }
}

fn line(plot: &Plot, report: &BoxReport) -> String {
    let mut path = String::new();
    let mut last: Option<Timestamp> = None;
    for r in &report.readings {
        let is_joined = last.is_some_and(|l| hours_between(l, r.at).get() <= report.gap_h);
        // Writing into a text does not fail.
        let _ =
            write!(path, "{}{} {}", if is_joined { "L" } else { "M" }, c(plot.x(r.at)), c(plot.y(r.temperature.get())));
        last = Some(r.at);
    }
    path
}

/// Whole degrees in steps that leave at most six labels.
fn degrees(low: f64, high: f64) -> Vec<f64> {
    let step = [1.0, 2.0, 5.0].into_iter().find(|s| (high - low) / s <= 6.0).unwrap_or(10.0);
    let mut at = (low / step).ceil() * step;
    let mut all = Vec::new();
    while at <= high {
        all.push(at);
        at += step;
    }
    all
}

/// Midnights with their dates; at most four, so that no label touches another.
fn days(here: &Here, plot: &Plot) -> Vec<(Timestamp, String)> {
    let zone = here.zone();
    let days = (plot.hours / 24.0).ceil();
    #[expect(clippy::cast_possible_truncation, reason = "some weeks in days")]
    let step = ((days / 4.0).ceil() as i64).max(1);
    let mut date = plot.from.to_zoned_datetime(zone.clone()).date();
    let mut all = Vec::new();
    while let Ok(next) = date.checked_add(step.days()) {
        date = next;
        let Ok(at) = zone.to_timestamp(date.at(0, 0, 0, 0)) else { break };
        if at > here.now {
            break;
        }
        // A label at the edge would be cut off.
        if plot.x(at) > LEFT + 32.0 && plot.x(at) < LEFT + WIDTH - 16.0 {
            all.push((at, clock::day(at, zone)));
        }
    }
    all
}
