//! Milks and foods beside bitch's milk, in the same measures.

use axum::extract::Query;
use maud::{Markup, html};

use whelpward_core::milk::foods::{self, Food};
use whelpward_core::report::milk::{self as report, CompareReport, CompareRequest, MilkLine, PartsLine};
use whelpward_core::units::{Grams, Kcal, figure, format_quantity, number};

use super::strength;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{ml, sentence, wide_table};
use crate::words::{say, tell, word};

/// Compared when nothing was chosen: what households reach for.
const USUAL: [&str; 2] = ["goat_milk", "cow_milk"];

/// Rows of the tables: the key of the text, and the figure.
type Row = (&'static str, fn(&PartsLine) -> Option<f64>);

const ROWS: [Row; 8] = [
    ("energy", |p| Some(p.energy_kcal)),
    ("water", |p| Some(p.water_g)),
    ("protein", |p| Some(p.protein_g)),
    ("fat", |p| Some(p.fat_g)),
    ("carbohydrate", |p| Some(p.carbohydrate_g)),
    ("lactose", |p| Some(p.lactose_g)),
    ("calcium", |p| p.calcium_mg),
    ("phosphorus", |p| p.phosphorus_mg),
];

pub async fn page(here: Here, Query(asked): Query<Vec<(String, String)>>) -> Markup {
    let facts = here.facts();
    let shelf = foods::shelf(&facts.foods);
    let named: Vec<&str> = asked.iter().filter(|(n, _)| n == "food").map(|(_, v)| v.as_str()).collect();
    let is_asked = asked.iter().any(|(n, _)| n == "asked");
    let is_chosen =
        |food: &Food| if is_asked { named.contains(&food.id.as_str()) } else { USUAL.contains(&food.id.as_str()) };
    let pup = report::lightest(facts, here.now);
    let (name, weight, age_h) = match pup {
        Some((name, weight, age_h)) => (Some(name), weight, age_h),
        None => (None, report::EXAMPLE_PUP.0, report::EXAMPLE_PUP.1),
    };
    let answer = report::compare(&CompareRequest {
        milks: facts.milks.clone(),
        foods: shelf.iter().filter(|f| is_chosen(f)).cloned().collect(),
        recipes: Vec::new(),
        pup: name,
        weight,
        age_h,
        energy: Some(facts.litter.energy),
    });
    let body = html! {
        h1 { (say("compare-title")) }
        p { (tell("compare-for", &[
            ("pup", answer.pup.clone().unwrap_or_else(|| say("compare-a-pup")).into()),
            ("weight", format_quantity(answer.pup_weight_g, &Grams::ROW).into()),
            ("day", number(answer.pup_age_days.floor(), 0, false).into()),
        ])) }
        @for milk in &answer.milks { (one(milk, &answer)) }
        (by_day(&answer))
        p class="caution" { (say("compare-caution")) }
        (choose(&here, &shelf, &is_chosen))
    };
    frame(&here, &say("compare-title"), Tab::More, &body)
}

fn one(milk: &MilkLine, answer: &CompareReport) -> Markup {
    let like = answer.milks.first().filter(|l| l.name != milk.name).and_then(|l| l.per_100kcal.as_ref());
    html! {
        section {
            h2 {
                (sentence_case(&milk.name))
                @if let Some(kcal) = milk.strength_kcal_per_ml { ": " (strength(kcal)) }
            }
            (asks(milk, answer.natural_lactose_g_per_kg_day))
            @for warning in &milk.warnings { p class="note" { (sentence(&warning.text)) " " small { (warning.source.source) } } }
            (parts(milk, like))
            @if let Some(ratio) = milk.calcium_to_phosphorus { p { (ratio_words(ratio)) } }
            @if !milk.source.is_empty() { p class="source" { (say("compare-figures")) " " (sentence(&milk.source)) } }
            @if !milk.not_published.is_empty() {
                p class="source" { (tell("compare-not-read", &[("figures", milk.not_published.join(", ").into())])) }
            }
        }
    }
}

/// The first letter large; the rest as it is written.
fn sentence_case(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

pub(super) fn ratio_words(ratio: f64) -> String {
    tell("compare-ratio", &[("ratio", number(ratio, 2, false).into())])
}

fn parts(milk: &MilkLine, like: Option<&PartsLine>) -> Markup {
    let (Some(weight), Some(volume)) = (&milk.per_100g, &milk.per_100ml) else { return html! {} };
    let energy = milk.per_100kcal.as_ref();
    let cell = |value: Option<f64>| value.map_or_else(|| say("compare-not-known"), figure);
    let name = sentence_case(&milk.name);
    html! {
        (wide_table(&name, &html! {
            thead { tr {
                th scope="col" { span class="hidden" { (say("compare-part")) } }
                th scope="col" { (say("compare-100g")) }
                th scope="col" { (say("compare-100ml")) }
                @if energy.is_some() { th scope="col" { (say("compare-100kcal")) } }
                @if like.is_some() { th scope="col" { (say("compare-bitch")) } }
            } }
            tbody {
                @for (key, of) in ROWS {
                    tr {
                        th scope="row" { (word("part", key)) }
                        td { (cell(of(weight))) }
                        td { (cell(of(volume))) }
                        @if let Some(p) = energy { td { (cell(of(p))) } }
                        @if let Some(p) = like { td { (cell(of(p))) } }
                    }
                }
            }
        }))
    }
}

/// What a day on this milk alone would be: a comparison, no instruction.
fn asks(milk: &MilkLine, natural: f64) -> Markup {
    let (Some(day), Some(volume), Some(most), Some(feeds)) =
        (milk.day_kcal, milk.day_ml, milk.largest_feed_ml, milk.fewest_feeds_per_day)
    else {
        return html! {};
    };
    html! {
        p { (tell("compare-day", &[
            ("day", format_quantity(day, &Kcal::ROW).into()),
            ("volume", ml(volume.round()).into()),
            ("feeds", feeds.into()),
            ("most", ml(most).into()),
        ])) }
        @if let Some(lactose) = milk.lactose_g_per_kg_day {
            p { (tell("compare-lactose", &[
                ("lactose", number(lactose, 1, false).into()),
                ("natural", number(natural, 1, false).into()),
            ])) }
        }
    }
}

fn by_day(answer: &CompareReport) -> Markup {
    let mut sources: Vec<&str> = answer.bitch_by_day.iter().map(|r| r.source.source.as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    html! {
        details class="fold" {
            summary { (say("compare-by-day")) }
            p { (say("compare-by-day-text")) }
            (wide_table(&say("compare-by-day"), &html! {
                thead { tr {
                    th scope="col" { (say("compare-days")) }
                    th scope="col" { (say("compare-part")) }
                    th scope="col" { (say("compare-litre")) }
                } }
                tbody {
                    @for r in &answer.bitch_by_day {
                        tr {
                            th scope="row" { (r.days) }
                            td { (r.what) }
                            td { (range(r.low, r.high)) " " (r.unit_per_litre) }
                        }
                    }
                }
            }))
            p class="source" { (tell("compare-read-in", &[("sources", sources.join("; ").into())])) }
        }
    }
}

fn range(low: f64, high: f64) -> String {
    let [low, high] = [low, high].map(|v| number(v, 1, false));
    if low == high { low } else { tell("compare-range", &[("low", low.into()), ("high", high.into())]) }
}

fn choose(here: &Here, shelf: &[Food], is_chosen: &dyn Fn(&Food) -> bool) -> Markup {
    html! {
        details class="fold" {
            summary { (say("compare-choose")) }
            form method="get" action=(here.to("milk/compare")) {
                input type="hidden" name="asked" value="yes";
                fieldset class="choices" {
                    legend { (say("compare-foods")) }
                    @for food in shelf {
                        label { input type="checkbox" name="food" value=(food.id) checked[is_chosen(food)]; span { (food.name) } }
                    }
                }
                button class="primary" type="submit" { (say("compare-do")) }
            }
        }
    }
}
