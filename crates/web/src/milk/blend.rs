//! The best blend of what is in the kitchen: a stop-gap, and it says so first.
//!
//! Asked for by an address, because nothing is saved: a blend can be looked at again.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_core::milk::blend::{Request, Stage};
use whelpward_core::milk::foods::{self, Food, Kind};
use whelpward_core::record::{MilkKind, hours_between};
use whelpward_core::report::milk::{self as report, BlendReport, LimitLine, NoBlendReport};
use whelpward_core::units::{Grams, Millilitres, figure, number, parse_decimal, signed_percent};

use super::compare::ratio_words;
use super::{grams, strength};
use crate::fault::Fault;
use crate::form::{choice, field, form, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{ml, sentence, wide_table};
use crate::words::{say, tell, word};

/// Draws of the simulation and its seed, as on the command line.
const DRAWS: (u32, u64) = (2000, 1);

/// What was typed, so that nothing of it is lost.
struct Typed(Vec<(String, String)>);

impl Typed {
    fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(n, _)| n == name).map(|(_, v)| v.trim())
    }

    fn has_food(&self, id: &str) -> bool {
        self.0.iter().any(|(n, v)| n == "food" && v == id)
    }

    /// The form was sent, not only opened.
    fn is_asked(&self) -> bool {
        self.get("volume_ml").is_some()
    }
}

pub async fn page(here: Here, Query(asked): Query<Vec<(String, String)>>) -> Result<Response, Fault> {
    let typed = Typed(asked);
    let shelf: Vec<Food> =
        foods::shelf(&here.facts().foods).into_iter().filter(|f| f.kind.left_out().is_none()).collect();
    if !typed.is_asked() {
        return Ok(shown(&here, &typed, &shelf, None, &html! {}).into_response());
    }
    let request = match request(&here, &typed, &shelf) {
        Ok(request) => request,
        Err(problem) => {
            let page = shown(&here, &typed, &shelf, Some(&problem), &html! {});
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    // The search takes some tenths of a second: beside the other pages, not before them.
    let answer = tokio::task::spawn_blocking(move || report::blend(&request)).await.map_err(|_| Fault::NoAnswer)?;
    let part = match &answer {
        Ok(blend) => result(&here, blend),
        Err(none) => no_blend(none),
    };
    Ok(shown(&here, &typed, &shelf, None, &part).into_response())
}

/// Reads what was typed, or says what is wrong and what is allowed.
fn request(here: &Here, typed: &Typed, shelf: &[Food]) -> Result<Request, String> {
    let facts = here.facts();
    let chosen: Vec<Food> = shelf.iter().filter(|f| typed.has_food(&f.id)).cloned().collect();
    if chosen.is_empty() {
        return Err(say("blend-which"));
    }
    let volume = checked(typed, "volume_ml", "blend-volume", 1.0, 5_000.0)?;
    let step = checked(typed, "step_g", "blend-step", 0.01, 50.0)?;
    let spread = checked(typed, "spread", "blend-spread", 0.0, 1.0)?;
    let at_most = match typed.get("at_most") {
        None | Some("") => None,
        Some(text) => Some(
            text.parse()
                .ok()
                .filter(|n| (2..=9).contains(n))
                .ok_or_else(|| refused("blend-at-most", text, 2.0, 9.0))?,
        ),
    };
    let day = facts.litter.whelped_at.filter(|at| *at <= here.now).map(|at| hours_between(at, here.now).get() / 24.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a birth that was")]
    let day = day.map(|d| d.floor() as u32);
    Ok(Request {
        foods: chosen,
        others: foods::built_in().to_vec(),
        volume: Millilitres::new(volume).map_err(|e| e.to_string())?,
        stage: if typed.get("aim") == Some("day21") { Stage::Day21 } else { Stage::Mature },
        spread,
        at_most,
        step: Grams::new(step).map_err(|e| e.to_string())?,
        least: Vec::new(),
        budget: None,
        draws: DRAWS.0,
        seed: DRAWS.1,
        replacer: facts
            .milks
            .iter()
            .find(|m| matches!(m.kind, MilkKind::PuppyPowder | MilkKind::PuppyReady))
            .map(|m| m.id.clone()),
        day,
    })
}

fn checked(typed: &Typed, name: &str, label: &str, min: f64, max: f64) -> Result<f64, String> {
    let text = typed.get(name).unwrap_or_default();
    let number = parse_decimal(text).ok().filter(|n| (min..=max).contains(n));
    number.ok_or_else(|| refused(label, text, min, max))
}

fn refused(label: &str, text: &str, min: f64, max: f64) -> String {
    tell(
        "blend-refused",
        &[
            ("what", say(label).into()),
            ("found", text.into()),
            ("min", number(min, 2, false).into()),
            ("max", number(max, 0, false).into()),
        ],
    )
}

fn shown(here: &Here, typed: &Typed, shelf: &[Food], problem: Option<&str>, answer: &Markup) -> Markup {
    let body = html! {
        h1 { (say("blend-title")) }
        p class="condition" { (whelpward_core::milk::blend::HEADING) }
        (wrong(problem))
        (answer)
        (ask(here, typed, shelf))
    };
    frame(here, &say("blend-title"), Tab::More, &body)
}

/// What is in the house comes first: what has a stock or an own label is ticked.
fn ask(here: &Here, typed: &Typed, shelf: &[Food]) -> Markup {
    let is_in_house = |f: &Food| f.stock.is_some() || f.kind == Kind::Label;
    let is_ticked = |f: &Food| if typed.is_asked() { typed.has_food(&f.id) } else { is_in_house(f) };
    let (house, other): (Vec<&Food>, Vec<&Food>) = shelf.iter().partition(|f| is_in_house(f));
    let or = |name: &str, usual: &str| typed.get(name).unwrap_or(usual).to_owned();
    let step = number(here.facts().litter.scale_step.get(), 2, false);
    let most: Vec<(String, String)> = std::iter::once((String::new(), say("blend-any")))
        .chain((2..=9).map(|n| (n.to_string(), tell("blend-foods-at-most", &[("count", n.into())]))))
        .collect();
    let aims = ["mature", "day21"].map(|a| (a.to_owned(), word("aim", a)));
    html! {
        form method="get" action=(here.to("milk/blend")) {
            @for (label, foods) in [(say("blend-house"), house), (say("blend-kitchen"), other)] {
                @if !foods.is_empty() {
                    fieldset class="choices" {
                        legend { (label) }
                        @for food in foods {
                            label { input type="checkbox" name="food" value=(food.id) checked[is_ticked(food)]; span { (food.name) } }
                        }
                    }
                }
            }
            p class="note" { (say("blend-left-out")) }
            (field("volume_ml", &say("blend-volume"), "decimal", &or("volume_ml", "200"), ""))
            label class="field" {
                span { (say("blend-spread")) }
                input type="range" name="spread" min="0" max="1" step="0.05" value=(or("spread", "0.5"));
                small class="row between" { span { (say("blend-spread-low")) } span { (say("blend-spread-high")) } }
            }
            (choice("at_most", &say("blend-at-most"), &most, &or("at_most", "")))
            (choice("aim", &say("blend-aim"), &aims, &or("aim", "mature")))
            (field("step_g", &say("blend-step"), "decimal", &or("step_g", &step), ""))
            button class="primary save" type="submit" { (say("blend-do")) }
        }
    }
}

fn result(here: &Here, blend: &BlendReport) -> Markup {
    let [low, high] = blend.strength_range_kcal_per_ml;
    html! {
        section class="mix" {
            h2 { (tell("blend-recipe", &[("volume", ml(blend.wanted_ml.round()).into())])) }
            @for note in &blend.notes { p class="note" { (sentence(&note.text)) " " small { (note.source.source) } } }
            @if !blend.is_weighable { p class="condition" { (say("blend-not-weighable")) } }
            ul class="feeds" {
                @for part in blend.recipe.iter().filter(|p| p.weigh_g > 0.0) {
                    li { strong { (grams(part.weigh_g)) } " " (part.name) " " small { (tell("blend-about", &[("volume", ml(part.volume_ml.round()).into())])) } }
                }
            }
            p { (tell("blend-makes", &[
                ("volume", ml(blend.volume_ml.round()).into()),
                ("strength", strength(blend.strength_kcal_per_ml).into()),
                ("low", number(low, 2, false).into()),
                ("high", strength(high).into()),
            ])) }
            p { (say("blend-how")) }
            @if let Some(cost) = blend.cost { p { (tell("blend-cost", &[("cost", number(cost, 2, false).into())])) } }
        }
        section {
            h2 { (say("blend-meets")) }
            p { (tell("blend-against", &[("aim", blend.aim.as_str().into())])) }
            (wide_table(&say("blend-meets"), &html! {
                thead { tr {
                    th scope="col" { (say("compare-part")) }
                    th scope="col" { (say("blend-got")) }
                    th scope="col" { (say("blend-target")) }
                    th scope="col" { (say("blend-off")) }
                } }
                tbody {
                    @for r in &blend.reached {
                        tr {
                            th scope="row" { (r.nutrient) ", " (r.unit_in_100g) }
                            td { (figure(r.got)) }
                            td { (figure(r.target)) }
                            td { (signed_percent(r.off_percent)) }
                        }
                    }
                }
            }))
            @if let Some(ratio) = blend.calcium_to_phosphorus { p { (ratio_words(ratio)) } }
            p { (tell("blend-misses", &[
                ("misses", figure(blend.misses_percent).into()),
                ("exact", figure(blend.exact_misses_percent).into()),
            ])) }
            @if !blend.is_proven_best { p { (say("blend-not-proven")) } }
        }
        (limits(blend))
        (sure(blend))
        section {
            h2 { (say("blend-plan")) }
            (form(&here.visit, &here.to("milk"), &html! {
                input type="hidden" name="kind" value="home_blend";
                input type="hidden" name="kcal_per_ml" value=(format!("{:.2}", blend.strength_kcal_per_ml));
                (field("id", &say("milk-name"), "text", "blend", ""))
                button class="second" type="submit" { (say("blend-shelf")) }
            }))
        }
        p class="source" { (say("rule")) " " (blend.heading.source.source) ". " (say("blend-method")) " " (blend.method.source) "." }
        h2 { (say("blend-change")) }
    }
}

/// Limits that hold the blend back, by how much; a gain that no one would see is left out.
fn limits(blend: &BlendReport) -> Markup {
    let held: Vec<(&LimitLine, f64)> = blend
        .limits
        .iter()
        .filter_map(|l| Some((l, l.misses_without_percent.filter(|w| blend.exact_misses_percent - w >= 0.1)?)))
        .collect();
    html! {
        section {
            h2 { (say("blend-limits")) }
            @if held.is_empty() { p { (say("blend-no-limit")) } }
            ul {
                @for (limit, without) in held {
                    li { (tell("blend-limit", &[
                        ("limit", limit.limit.as_str().into()),
                        ("without", figure(without).into()),
                        ("exact", figure(blend.exact_misses_percent).into()),
                    ])) }
                }
            }
            @if let Some(help) = &blend.would_help_most {
                p { (tell("blend-help", &[("food", help.name.as_str().into()), ("misses", figure(help.misses_percent).into())])) }
            }
        }
    }
}

fn sure(blend: &BlendReport) -> Markup {
    html! {
        details class="fold" {
            summary { (say("blend-sure")) }
            p { (tell("blend-draws", &[
                ("draws", number(f64::from(blend.simulation_draws), 0, false).into()),
                ("varies", blend.varies.source.as_str().into()),
            ])) }
            ul {
                @for limit in &blend.limits {
                    @if let Some(chance) = limit.chance {
                        li { (tell("blend-kept", &[
                            ("limit", limit.limit.as_str().into()),
                            ("chance", number((100.0 * chance).floor(), 0, false).into()),
                        ])) }
                    }
                }
            }
        }
    }
}

fn no_blend(none: &NoBlendReport) -> Markup {
    html! {
        section class="gate" {
            h2 { (say("blend-none")) }
            p { (sentence(&none.because)) }
            @if !none.conflict.is_empty() {
                ul {
                    @for c in &none.conflict {
                        li {
                            (c.limit)
                            @if let Some(least) = c.would_have_to_allow { "; " (tell("blend-would-have", &[("least", figure(least).into())])) }
                        }
                    }
                }
                p { (say("blend-other-food")) }
            }
        }
    }
}
