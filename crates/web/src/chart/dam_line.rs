//! The dam's temperatures in the last days, with the published line of the drop.

use std::fmt::Write as _;

use jiff::Timestamp;
use maud::{Markup, html};

use whelpward_core::record::hours_between;
use whelpward_core::report::clock;
use whelpward_core::units::number;
use whelpward_core::whelping::{DROPPED, Strip};

use super::c;
use crate::here::Here;

const LEFT: f64 = 52.0;
const WIDTH: f64 = 330.0;
const TOP: f64 = 12.0;
const HEIGHT: f64 = 130.0;

/// The strip covers this many hours at least.
const SHORTEST_H: f64 = 24.0;
/// A gap of this many hours is not joined by a line.
const GAP_H: f64 = 24.0;

pub fn dam_line(here: &Here, strip: &Strip, sentence: &str) -> Markup {
    let first = strip.readings.first().map_or(here.now, |r| r.0);
    let hours = hours_between(first, here.now).get().max(SHORTEST_H);
    let read = strip.readings.iter().map(|r| r.1.get()).chain([DROPPED.value.get()]);
    let (low, high) = read.fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(t), h.max(t)));
    let (low, high) = ((low - 0.3).floor(), (high + 0.3).ceil());
    let x = |at: Timestamp| LEFT + WIDTH * (hours_between(first, at).get() / hours).clamp(0.0, 1.0);
    let y = |celsius: f64| TOP + HEIGHT * (1.0 - (celsius - low) / (high - low));
    let bottom = TOP + HEIGHT;
    let mut path = String::new();
    let mut last: Option<Timestamp> = None;
    for (at, t) in &strip.readings {
        let is_joined = last.is_some_and(|l| hours_between(l, *at).get() <= GAP_H);
        // Writing into a text does not fail.
        let _ = write!(path, "{}{} {}", if is_joined { "L" } else { "M" }, c(x(*at)), c(y(t.get())));
        last = Some(*at);
    }
    let mut degrees = low;
    let ticks: Vec<f64> = std::iter::from_fn(|| {
        let now = degrees;
        degrees += 1.0;
        (now <= high).then_some(now)
    })
    .collect();
    let line = y(DROPPED.value.get());
    html! {
        svg class="chart" viewBox="0 0 400 172" role="img" aria-label=(sentence) {
            title { (sentence) }
            @for celsius in &ticks {
                path d=(format!("M47 {}h5", c(y(*celsius)))) stroke="currentColor" stroke-width="1.5" {}
                text x="44" y=(c(y(*celsius) + 5.0)) font-size="13" text-anchor="end" fill="currentColor" { (number(*celsius, 0, false)) "\u{a0}°C" }
            }
            path d=(format!("M52 {TOP}V{0}H{1}", c(bottom), c(LEFT + WIDTH))) stroke="currentColor" stroke-width="1.5" fill="none" {}
            path d=(format!("M52 {0}H{1}", c(line), c(LEFT + WIDTH))) stroke="currentColor" stroke-width="1.5" stroke-dasharray="8 4" fill="none" {}
            path d=(path) stroke="currentColor" stroke-width="2.5" fill="none" stroke-linejoin="round" {}
            @for (at, t) in &strip.readings {
                path d=(mark(t.millidegrees() <= DROPPED.value.millidegrees(), x(*at), y(t.get()))) fill="currentColor" {}
            }
            text x=(c(LEFT)) y=(c(bottom + 20.0)) font-size="13" fill="currentColor" { (clock::day(first, here.zone())) }
            text x=(c(LEFT + WIDTH)) y=(c(bottom + 20.0)) font-size="13" text-anchor="end" fill="currentColor" { (clock::day(here.now, here.zone())) " " (clock(here.now, here.zone())) }
        }
    }
}

/// A triangle down at or below the line, a dot above it.
fn mark(is_low: bool, x: f64, y: f64) -> String {
    if is_low {
        format!("M{} {}l5.5 -10h-11z", c(x), c(y + 6.0))
    } else {
        format!("M{} {}a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0 -7 0z", c(x - 3.5), c(y))
    }
}
