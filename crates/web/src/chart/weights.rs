//! The weight line of a pup; small and on one pair of axes for a whole litter.

use std::fmt::Write as _;

use jiff::Timestamp;
use maud::{Markup, html};

use whelpward_core::assess::lowest_published_multiple;
use whelpward_core::record::{Facts, Pup, hours_between};
use whelpward_core::report::PupLine;
use whelpward_core::units::{Grams, format_change};

use super::{age_h, c};
use crate::here::Here;
use crate::show::{weight, when, when_for};
use crate::words::{say, tell};

/// The same axes for every pup of a litter.
pub struct Axes {
    hours: f64,
    low: f64,
    high: f64,
}

/// A day of a pup's chart at least, so that a newborn's does not fill it with one hour.
const SHORTEST_H: f64 = 48.0;

impl Axes {
    pub fn of_litter(facts: &Facts, now: Timestamp) -> Self {
        Self::of(facts, now, &facts.pups.iter().filter(|p| p.born_at <= now).collect::<Vec<_>>())
    }

    fn of(facts: &Facts, now: Timestamp, pups: &[&Pup]) -> Self {
        let mine = |p: &Pup| pups.iter().any(|q| q.id == p.id);
        let grams = facts
            .weighings
            .iter()
            .filter(|w| w.at <= now && pups.iter().any(|p| p.id == w.pup))
            .map(|w| w.weight.get())
            .chain(facts.pups.iter().filter(|p| mine(p)).filter_map(|p| p.birth_weight).map(Grams::get));
        let (mut low, mut high) = (f64::MAX, 0.0_f64);
        for g in grams {
            low = low.min(g);
            high = high.max(g);
        }
        if high <= 0.0 {
            (low, high) = (0.0, 500.0);
        }
        let room = ((high - low) * 0.12).max(5.0);
        let hours = pups.iter().map(|p| hours_between(p.born_at, now).get()).fold(SHORTEST_H, f64::max);
        Self { hours, low: (low - room).max(0.0), high: high + room }
    }
}

struct Plot<'a> {
    axes: &'a Axes,
    left: f64,
    top: f64,
    width: f64,
    height: f64,
}

impl Plot<'_> {
    fn x(&self, hours: f64) -> f64 {
        self.left + self.width * (hours / self.axes.hours).clamp(0.0, 1.0)
    }

    fn y(&self, grams: f64) -> f64 {
        let share = (grams - self.axes.low) / (self.axes.high - self.axes.low).max(1.0);
        self.top + self.height * (1.0 - share.clamp(0.0, 1.0))
    }
}

/// Weighings of a pup with its birth weight first.
fn points(facts: &Facts, pup: &Pup, now: Timestamp) -> Vec<(Timestamp, Grams)> {
    let birth = pup.birth_weight.map(|w| (pup.born_at, w));
    let mut points: Vec<(Timestamp, Grams)> = birth
        .into_iter()
        .chain(facts.weighings.iter().filter(|w| w.pup == pup.id && w.at <= now).map(|w| (w.at, w.weight)))
        .collect();
    points.sort_by_key(|(at, _)| *at);
    points
}

/// A gap of this long is not joined by a line: nobody knows what was between (our own, usability G-6).
const GAP_H: f64 = 48.0;

fn line(plot: &Plot<'_>, pup: &Pup, points: &[(Timestamp, Grams)]) -> String {
    let mut path = String::new();
    let mut last: Option<Timestamp> = None;
    for (at, grams) in points {
        let is_joined = last.is_some_and(|l| hours_between(l, *at).get() <= GAP_H);
        let (x, y) = (c(plot.x(age_h(pup, *at))), c(plot.y(grams.get())));
        // Writing into a text does not fail.
        let _ = write!(path, "{}{x} {y}", if is_joined { "L" } else { "M" });
        last = Some(*at);
    }
    path
}

/// A chart in a cell of the litter; its sentence stands above it.
pub fn small(here: &Here, pup: &Pup, axes: &Axes) -> Markup {
    let plot = Plot { axes, left: 4.0, top: 6.0, width: 192.0, height: 76.0 };
    let points = points(here.facts(), pup, here.now);
    html! {
        svg class="chart" viewBox="0 0 200 96" role="img" aria-label=(sentence_of(here.facts(), here.now, pup, &points)) {
            title { (sentence_of(here.facts(), here.now, pup, &points)) }
            path d="M4 82H196" stroke="currentColor" stroke-width="1" fill="none" opacity="0.6" {}
            @if let Some(birth) = pup.birth_weight {
                path d=(format!("M4 {0}H196", c(plot.y(birth.get())))) stroke="currentColor" stroke-width="1.5" stroke-dasharray="2 4" fill="none" {}
            }
            path d=(line(&plot, pup, &points)) stroke="currentColor" stroke-width="2.5" fill="none" stroke-linejoin="round" {}
            @for (at, grams) in &points {
                circle cx=(c(plot.x(age_h(pup, *at)))) cy=(c(plot.y(grams.get()))) r="2.2" fill="currentColor" {}
            }
        }
    }
}

fn sentence_of(facts: &Facts, at_now: Timestamp, pup: &Pup, points: &[(Timestamp, Grams)]) -> String {
    match (points.last(), points.len().checked_sub(2).map(|i| points[i])) {
        (Some((at, now)), Some((before_at, before))) => tell(
            "chart-change",
            &[
                ("pup", pup.id.0.as_str().into()),
                ("weight", facts.litter.weight_unit.print(*now).into()),
                ("at", when_for(facts, at_now, *at).into()),
                ("change", format_change(*now - before).into()),
                ("before", when_for(facts, at_now, before_at).into()),
            ],
        ),
        (Some((at, now)), None) => tell(
            "chart-one",
            &[
                ("pup", pup.id.0.as_str().into()),
                ("weight", facts.litter.weight_unit.print(*now).into()),
                ("at", when_for(facts, at_now, *at).into()),
            ],
        ),
        _ => tell("chart-none", &[("pup", pup.id.0.as_str().into())]),
    }
}

/// The full chart of one pup with its table.
pub fn weights(here: &Here, pup: &Pup, line_of: Option<&PupLine>) -> Markup {
    let facts = here.facts();
    let points = points(facts, pup, here.now);
    let sentence = sentence_of(facts, here.now, pup, &points);
    html! {
        figure {
            figcaption { (sentence) @if let Some(line) = line_of { @if let Some(p) = line.change_from_birth_percent { " " (tell("chart-from-birth", &[("percent", signed_percent(p).into())])) } } }
            @if let Some(drawn) = drawn(facts, pup, here.now) {
                (drawn.svg)
                p class="key-words" { (drawn.key) }
                (table(here, pup, &points))
            }
        }
    }
}

/// A chart for a page or a print.
pub struct Drawn {
    pub svg: Markup,
    pub sentence: String,
    pub key: String,
}

/// The weight line of one pup; none while it was never weighed.
pub fn drawn(facts: &Facts, pup: &Pup, now: Timestamp) -> Option<Drawn> {
    let axes = Axes::of(facts, now, &[pup]);
    let plot = Plot { axes: &axes, left: 52.0, top: 14.0, width: 296.0, height: 176.0 };
    let points = points(facts, pup, now);
    if points.is_empty() {
        return None;
    }
    let sentence = sentence_of(facts, now, pup, &points);
    let days = axes.hours / 24.0;
    let step = [1.0, 2.0, 7.0].into_iter().find(|s| days / s <= 10.0).unwrap_or(14.0);
    let floor = pup.birth_weight.map(|birth| lowest(&plot, birth, &axes));
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 400 236" role="img" aria-label=(sentence) {
            title { (sentence) }
            @for grams in ticks(axes.low, axes.high) {
                path d=(format!("M52 {0}H348", c(plot.y(grams)))) stroke="currentColor" stroke-width="0.75" fill="none" opacity="0.45" {}
                text x="46" y=(c(plot.y(grams) + 5.0)) font-size="14" text-anchor="end" fill="currentColor" { (whelpward_core::units::number(grams, 0, false)) }
            }
            @let mut day = 0.0;
            @while day <= days {
                path d=(format!("M{0} 190v5", c(plot.x(day * 24.0)))) stroke="currentColor" stroke-width="1.5" {}
                text x=(c(plot.x(day * 24.0))) y="210" font-size="14" text-anchor="middle" fill="currentColor" { (day) }
                @let () = day += step;
            }
            text x="200" y="230" font-size="14" text-anchor="middle" fill="currentColor" { (say("chart-days")) }
            @if axes.hours > 48.0 {
                path d=(format!("M{0} 14V190", c(plot.x(48.0)))) stroke="currentColor" stroke-width="1" stroke-dasharray="6 4" fill="none" opacity="0.8" {}
            }
            @if let Some(birth) = pup.birth_weight {
                path d=(format!("M52 {0}H348", c(plot.y(birth.get())))) stroke="currentColor" stroke-width="1.5" stroke-dasharray="2 4" fill="none" {}
                text x="352" y=(c(plot.y(birth.get()) + 5.0)) font-size="13" fill="currentColor" { (say("chart-birth")) }
            }
            @if let Some(floor) = &floor {
                path d=(floor) stroke="currentColor" stroke-width="1.5" stroke-dasharray="9 5" fill="none" {}
            }
            path d=(line(&plot, pup, &points)) stroke="currentColor" stroke-width="2.5" fill="none" stroke-linejoin="round" {}
            @for (at, grams) in &points {
                circle cx=(c(plot.x(age_h(pup, *at)))) cy=(c(plot.y(grams.get()))) r="3.5" fill="currentColor" {}
            }
            // Days with a feed by hand, by shape.
            @for feed in facts.feeds.iter().filter(|f| f.pup == pup.id && f.is_by_hand() && f.at <= now) {
                @let x = plot.x(age_h(pup, feed.at));
                path d=(format!("M{0} 189l3 -6h-6z", c(x))) fill="currentColor" {}
            }
        }
    };
    let not_zero = if axes.low > 0.0 { format!(" {}", say("chart-not-zero")) } else { String::new() };
    Some(Drawn { svg, sentence, key: say("chart-key") + &not_zero })
}

/// A percentage with its sign.
fn signed_percent(percent: f64) -> String {
    let sign = if percent > 0.0 { "+" } else { "" };
    format!("{sign}{}", whelpward_core::units::number(percent, 1, false))
}

/// The lowest published gain from the birth weight on, until day 28.
fn lowest(plot: &Plot<'_>, birth: Grams, axes: &Axes) -> String {
    let mut path = String::new();
    let last = (axes.hours / 24.0).min(28.0);
    let steps = 20;
    for i in 0..=steps {
        let day = last * f64::from(i) / f64::from(steps);
        let grams = birth.get() * lowest_published_multiple(day);
        if grams > axes.high {
            break;
        }
        let _ = write!(path, "{}{} {}", if i == 0 { "M" } else { "L" }, c(plot.x(day * 24.0)), c(plot.y(grams)));
    }
    path
}

fn ticks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low) / 4.0;
    let step = [5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 250.0, 500.0, 1000.0, 2000.0]
        .into_iter()
        .find(|s| *s >= rough)
        .unwrap_or(5000.0);
    let mut ticks = Vec::new();
    let mut at = (low / step).ceil() * step;
    while at <= high {
        ticks.push(at);
        at += step;
    }
    ticks
}

fn table(here: &Here, pup: &Pup, points: &[(Timestamp, Grams)]) -> Markup {
    html! {
        details class="fold" {
            summary { (say("chart-table")) }
            table {
                caption class="hidden" { (tell("chart-table-of", &[("pup", pup.id.0.as_str().into())])) }
                thead { tr { th scope="col" { (say("time")) } th scope="col" { (say("weigh-weight")) } th scope="col" { (say("weigh-change")) } } }
                tbody {
                    @for (i, (at, grams)) in points.iter().enumerate().rev() {
                        tr {
                            th scope="row" { (when(here, *at)) }
                            td { (weight(here, *grams)) }
                            td { @if i > 0 { (format_change(*grams - points[i - 1].1)) } @else { (say("chart-birth")) } }
                        }
                    }
                }
            }
        }
    }
}
