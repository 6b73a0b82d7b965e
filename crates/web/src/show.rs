//! Numbers, times and standings as the pages show them.

use jiff::Timestamp;
use maud::{Markup, html};

use whelpward_core::record::Facts;
use whelpward_core::report::{Action, Cite, Feed, PupLine, VetLine, clock};
use whelpward_core::units::{Grams, Millilitres, format_quantity, tie_numbers};

use crate::here::Here;
use crate::words::{say, tell};

/// An instant of the report; it writes only instants that read.
pub fn instant(iso: &str) -> Timestamp {
    iso.parse().unwrap_or_default()
}

/// `03:15`, with the day where it is another day.
pub fn when(here: &Here, at: Timestamp) -> String {
    when_for(here.facts(), here.now, at)
}

/// The same for whoever has no page: a print.
pub fn when_for(facts: &Facts, now: Timestamp, at: Timestamp) -> String {
    let zone = &facts.litter.zone;
    let day = |t: Timestamp| t.to_zoned_datetime(zone.clone()).date();
    if day(at) == day(now) { clock(at, zone) } else { format!("{} {}", clock::day(at, zone), clock(at, zone)) }
}

pub fn when_iso(here: &Here, iso: &str) -> String {
    when(here, instant(iso))
}

/// `2 h 5 min`.
pub fn span(from: Timestamp, to: Timestamp) -> String {
    let minutes = to.duration_since(from).as_mins().max(0);
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m}\u{a0}min"),
        (h, 0) => format!("{h}\u{a0}h"),
        (h, m) => format!("{h}\u{a0}h {m}\u{a0}min"),
    }
}

/// An amount comes from a checked instruction only.
pub fn amount(feed: &Feed) -> String {
    ml(feed.amount_ml)
}

/// The amount as a field carries it: what stood on the button is what is saved.
pub fn amount_number(feed: &Feed) -> String {
    whelpward_core::units::number(feed.amount_ml, 1, false)
}

pub fn at_most(feed: &Feed) -> String {
    ml(feed.at_most_ml)
}

/// A volume that was recorded, mixed, or is part of a batch.
pub fn ml(value: f64) -> String {
    format_quantity(value, &Millilitres::ROW)
}

pub fn weight(here: &Here, grams: Grams) -> String {
    here.facts().litter.weight_unit.print(grams)
}

/// How a feed is given, with who may.
pub fn how(feed: &Feed) -> String {
    match feed.tube_carers.as_slice() {
        [] => tell("by-method", &[("method", feed.method.as_str().into())]),
        carers => tell("by-tube-only", &[("carers", carers.join(", ").into())]),
    }
}

/// Starts with a capital, ends with a full stop, and keeps units beside their numbers.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let text: String = chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect());
    let text = if text.ends_with(['.', '!', '?', ':']) || text.is_empty() { text } else { format!("{text}.") };
    tie_numbers(&text)
}

/// A standing or level by word, shape and place.
pub fn badge(words: &str) -> Markup {
    let (class, shape) = match words {
        "vet now" | "ring the vet" => ("badge badge-now", "■"),
        "vet today" => ("badge badge-now", "◆"),
        "needs help" | "withheld" => ("badge badge-help", "▲"),
        "keep watch" | "feed now" | "weigh now" => ("badge badge-watch", "●"),
        _ => ("badge badge-well", "✓"),
    };
    let words = if words == "withheld" { say("badge-withheld") } else { words.to_owned() };
    html! { span class=(class) { span aria-hidden="true" { (shape) " " } (words) } }
}

/// A table that scrolls by itself where the screen is narrower, with its name for those who hear it.
pub fn wide_table(title: &str, rows: &Markup) -> Markup {
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(title) {
            table class="figures" {
                caption class="hidden" { (title) }
                (rows)
            }
        }
    }
}

/// Where a rule comes from, in small letters.
pub fn source(cite: Option<&Cite>) -> Markup {
    html! {
        @if let Some(cite) = cite { p class="source" { (say("rule")) " " (cite.source) } }
    }
}

/// Actions that say the same of the same, told together.
pub fn grouped(actions: &[Action]) -> impl Iterator<Item = &[Action]> {
    actions
        .chunk_by(|a, b| a.kind == b.kind && a.about == b.about && a.what_to_do == b.what_to_do && a.feeds.is_empty())
}

/// Numbers to ring, each a target of its own.
pub fn phones(vets: &[VetLine]) -> Markup {
    html! {
        @if vets.is_empty() {
            p class="wrong" { (say("no-vet")) }
        } @else {
            ul class="phones" {
                @for vet in vets {
                    li {
                        a class="button" href={ "tel:" (dialled(&vet.phone)) } {
                            span class="phone" { (vet.phone) } " " (vet.name)
                            @if let Some(hours) = &vet.hours { ", " (hours) }
                        }
                    }
                }
            }
        }
    }
}

/// Digits and a plus only, so that a typed number cannot become another kind of address.
fn dialled(phone: &str) -> String {
    phone.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect()
}

/// Weight and gain in words.
pub fn weight_words(here: &Here, line: &PupLine) -> String {
    let Some(weight) = &line.weight else { return say("never-weighed") };
    let at = line.weighed_at.as_deref().map(|iso| when_iso(here, iso)).unwrap_or_default();
    tell("weight-at", &[("weight", weight.as_str().into()), ("at", at.into())])
}

pub fn gain_words(line: &PupLine) -> Option<String> {
    let growth = line.growth.as_ref().filter(|g| g.is_enough_data)?;
    let (gain, about) = (growth.shown.gain_per_day.as_str(), growth.shown.give_or_take.as_str());
    Some(tell("gain-per-day", &[("gain", gain.into()), ("about", about.into())]))
}

pub fn age_words(hours: f64) -> String {
    let whole = hours.max(0.0).floor();
    if whole < 72.0 {
        tell("age-hours", &[("hours", whole.into())])
    } else {
        tell("age-days", &[("days", (whole / 24.0).floor().into())])
    }
}
