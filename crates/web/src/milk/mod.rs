//! The shelf, the milk in use, and the card for mixing exactly this round; beside them the
//! comparison with bitch's milk and the blend of what is in the kitchen.

pub mod blend;
pub mod compare;

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::{AppError, Ask, Mixed, mix, shelve};
use whelpward_core::book::Kind;
use whelpward_core::record::{Values, entries};
use whelpward_core::report::{self, BatchLine, PowderLine};
use whelpward_core::units::{Celsius, Grams, KcalPerMl, format_quantity, number};

use crate::fault::Fault;
use crate::form::{Form, button, choice, field, form, not_now, tick, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{ml, sentence, when, when_iso};
use crate::start::typed_value;
use crate::words::{say, tell, word};

const KINDS: [&str; 8] = ["puppy_powder", "puppy_ready", "goat", "goat_powder", "cow", "bitch", "home_blend", "other"];
const NUMBERS: [&str; 6] = ["kcal_per_ml", "powder_g", "water_ml", "scoop_g", "water_temperature_c", "keeps_hours"];

pub async fn page(here: Here) -> Markup {
    shown(&here, None, None, None)
}

fn shown(here: &Here, typed: Option<&Form>, problem: Option<&str>, look: Option<&Ask>) -> Markup {
    let today = report::today(here.facts(), here.now);
    let body = html! {
        h1 { (say("milk-title")) }
        (wrong(problem))
        @if let (Some(ask), Some(typed)) = (look, typed) { (second_look(here, typed, ask)) }
        @if let Some(why) = &today.no_amounts_because { p class="note" { (sentence(why)) } }
        @match &today.batch {
            Some(batch) => { (card(here, batch)) }
            None => { p { (say("milk-no-batch")) } }
        }
        (batches(here))
        @if !today.milk_notes.is_empty() {
            section {
                h2 { (say("milk-notes")) }
                ul { @for said in &today.milk_notes { li { (said.text) " " small { (said.source.source) } } } }
            }
        }
        (shelf(here))
        p class="row" {
            a class="button" href=(here.to("milk/compare")) { (say("compare-title")) }
            a class="button" href=(here.to("milk/blend")) { (say("blend-title")) }
        }
        (new_milk(here, typed))
    };
    frame(here, &say("milk-title"), Tab::More, &body)
}

fn grams(value: f64) -> String {
    format_quantity(value, &Grams::ROW)
}
fn strength(value: f64) -> String {
    format_quantity(value, &KcalPerMl::ROW)
}
fn celsius(value: f64) -> String {
    format_quantity(value, &Celsius::ROW)
}

/// Both ways round: powder and water to milk, with a check line.
pub fn card(here: &Here, batch: &BatchLine) -> Markup {
    html! {
        section class="mix" {
            h2 { (tell("mix-title", &[("milk", batch.milk.as_str().into()), ("at", when_iso(here, &batch.for_round_at).into())])) }
            @if let Some(powder) = &batch.powder { (recipe(powder, batch)) } @else { p class="number-large" { (ml(batch.volume_ml)) } }
            p { (tell("mix-of-it", &[("fed", ml(batch.fed_ml).into()), ("kit", ml(batch.stays_in_the_kit_ml).into())])) }
            p { (tell("mix-feed-at", &[("low", celsius(batch.feed_at_c[0]).into()), ("high", celsius(batch.feed_at_c[1]).into())])) }
            @if batch.must_cool { p class="condition" { (say("mix-cool")) } }
            p { (tell("mix-throw", &[("warm", when_iso(here, &batch.throw_away_leftovers_at).into()), ("cold", when_iso(here, &batch.throw_away_refrigerated_at).into())])) }
            (form(&here.visit, &here.to("milk/mixed"), &html! {
                input type="hidden" name="volume_ml" value=(number(batch.volume_ml, 1, false).replace('\u{202f}', ""));
                @if let Some(powder) = &batch.powder {
                    input type="hidden" name="powder_g" value=(number(powder.powder_g, 1, false).replace('\u{202f}', ""));
                    input type="hidden" name="water_ml" value=(number(powder.water_ml, 1, false).replace('\u{202f}', ""));
                }
                button class="primary" type="submit" { (say("mix-done")) }
                (not_now())
            }))
            details class="fold" {
                summary { (say("why")) }
                p { (tell("mix-strength", &[("strength", strength(batch.strength_kcal_per_ml).into())])) }
                ul { @for cite in &batch.sources { li { (cite.source) } } }
            }
        }
    }
}

fn recipe(powder: &PowderLine, batch: &BatchLine) -> Markup {
    html! {
        p class="number-large" { (tell("mix-recipe", &[("powder", grams(powder.powder_g).into()), ("water", ml(powder.water_ml).into())])) }
        p { (tell("mix-makes", &[("volume", ml(batch.volume_ml).into()), ("wanted", ml(batch.wanted_ml).into())])) }
        @if powder.is_more_than_wanted { p class="condition" { (say("mix-use-part")) } }
        @if let Some(scoops) = powder.scoops { p { (tell("mix-scoops", &[("scoops", number(scoops, 2, false).into())])) } }
        p { (tell("mix-water", &[
            ("hot", ml(powder.hot_water_ml).into()), ("hotC", celsius(powder.hot_water_c).into()),
            ("cold", ml(powder.cold_water_ml).into()), ("coldC", celsius(powder.cold_water_c).into()),
            ("mixed", celsius(batch.mixing_temperature_c).into()),
        ])) }
    }
}

/// Batches that are not yet to be thrown away, and the last one that is.
fn batches(here: &Here) -> Markup {
    let text = |f: &whelpward_core::book::Fact, key: &str| f.body.get(key).map(entries::typed).unwrap_or_default();
    let last: Vec<_> = here.loaded.folded.of_kind(Kind::Batch).rev().take(3).collect();
    html! {
        @if !last.is_empty() {
            section {
                h2 { (say("mix-in-fridge")) }
                ul {
                    @for fact in last {
                        @let discard: Option<jiff::Timestamp> = text(fact, "discard_by").parse().ok();
                        li {
                            a href=(here.to(&format!("entry/{}", fact.id))) {
                                (tell("mix-batch", &[("volume", text(fact, "volume_ml").into()), ("milk", text(fact, "milk").into()), ("at", when(here, fact.occurred).into())]))
                            }
                            " "
                            @match discard {
                                Some(at) if at <= here.now => { strong { (say("mix-throw-now")) } }
                                Some(at) => { (tell("mix-throw-at", &[("at", when(here, at).into())])) }
                                None => {}
                            }
                        }
                    }
                }
            }
        }
    }
}

fn shelf(here: &Here) -> Markup {
    html! {
        section {
            h2 { (say("milk-shelf")) }
            @if here.facts().milks.is_empty() { p { (say("milk-none")) } }
            ul class="cards" {
                @for milk in &here.facts().milks {
                    li class="card" {
                        strong { (milk.id) }
                        @if let Some(kcal) = milk.label_strength { span { (strength(kcal.get())) } }
                        @if let Some(recipe) = &milk.recipe { span { (tell("mix-recipe", &[("powder", grams(recipe.powder.get()).into()), ("water", ml(recipe.water.get()).into())])) } }
                        @if milk.in_use { span { "✓ " (say("milk-in-use")) } }
                        @else { (button(&here.visit, &here.to("milk"), "second", &[("id", &milk.id), ("use", "yes")], &html! { (say("milk-use")) })) }
                    }
                }
            }
        }
    }
}

fn new_milk(here: &Here, typed: Option<&Form>) -> Markup {
    let of = |name: &str| typed.map_or("", |t| t.get(name)).to_owned();
    let kinds = KINDS.map(|k| (k.to_owned(), word("milk-kind", k)));
    html! {
        details class="fold" open[typed.is_some()] {
            summary { (say("milk-new")) }
            p { (say("milk-new-text")) }
            (form(&here.visit, &here.to("milk"), &html! {
                (field("id", &say("milk-name"), "text", &of("id"), ""))
                (choice("kind", &say("milk-kind"), &kinds, &of("kind")))
                (field("kcal_per_ml", &say("milk-kcal"), "decimal", &of("kcal_per_ml"), &say("milk-kcal-hint")))
                (field("powder_g", &say("milk-powder"), "decimal", &of("powder_g"), &say("milk-powder-hint")))
                (field("water_ml", &say("milk-water"), "decimal", &of("water_ml"), ""))
                (field("scoop_g", &say("milk-scoop"), "decimal", &of("scoop_g"), ""))
                (field("water_temperature_c", &say("milk-temperature"), "decimal", &of("water_temperature_c"), ""))
                (field("keeps_hours", &say("milk-keeps"), "decimal", &of("keeps_hours"), &say("milk-keeps-hint")))
                (tick("use", &say("milk-use"), typed.is_none_or(|t| t.get("use") == "yes")))
                button class="primary" type="submit" { (say("milk-save")) }
            }))
        }
    }
}

/// Every batch follows this ratio, so it is read back once; the form below stays as it was typed.
fn second_look(here: &Here, typed: &Form, ask: &Ask) -> Markup {
    html! {
        section class="question" role="alert" {
            h2 { (say("milk-second-look")) }
            p { (sentence(&ask.what)) }
            (form(&here.visit, &here.to("milk"), &html! {
                @for (name, value) in typed.kept() { input type="hidden" name=(name) value=(value); }
                input type="hidden" name="looked" value="yes";
                button class="primary" type="submit" { (say("milk-label-same")) }
            }))
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let mut body = Values::new();
    for name in ["id", "kind"] {
        if let Some(text) = typed.filled(name) {
            body.insert(name.into(), Value::String(text));
        }
    }
    for name in NUMBERS {
        if let Some(text) = typed.filled(name) {
            body.insert(name.into(), typed_value(&text));
        }
    }
    if typed.get("use") == "yes" {
        body.insert("in_use".into(), Value::Bool(true));
    }
    let is_looked_at = typed.get("looked") == "yes";
    match shelve(&here.book, &here.who(), here.litter, body, is_looked_at, here.now).await {
        Ok(saved) => Ok(here.after("milk", saved)),
        Err(AppError::Refused { what, allowed }) => {
            let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(&here, Some(&typed), Some(&text), None)).into_response())
        }
        Err(AppError::Ask(ask)) => {
            Ok((StatusCode::CONFLICT, shown(&here, Some(&typed), None, Some(&ask))).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

pub async fn mixed(here: Here, typed: Form) -> Result<Response, Fault> {
    let at = typed.at(&here).map_err(AppError::Said)?;
    let ask = Mixed {
        litter: here.litter,
        at,
        milk: None,
        volume_ml: typed.get("volume_ml").to_owned(),
        powder_g: typed.filled("powder_g"),
        water_ml: typed.filled("water_ml"),
        is_kept: false,
    };
    let saved = mix(&here.book, &here.who(), ask, here.now).await?;
    Ok(here.after("milk", saved))
}
