//! Writes down what was done or first seen, for several pups at once, and whose dates are listed.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};
use serde_json::Value;

use whelpward_app::{AppError, Did, did};
use whelpward_core::book::{FactId, Kind};
use whelpward_core::record::{DONE_KINDS, DoneFor, DoneKind, DoneKindRow, DoneShape, ProductRule};
use whelpward_core::report::stages::{DateLine, StagesReport};

use crate::cue::cue;
use crate::fault::Fault;
use crate::form::{Form, choice, field, form, not_now, tick, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    kind: Option<String>,
    /// Names of pups that are ticked already, with a line between.
    pups: Option<String>,
    dam: Option<String>,
}

/// The page on which an open date is written down.
pub fn address(here: &Here, date: &DateLine) -> String {
    let kind = match date.code.as_str() {
        "first-food" => "first_food",
        "vet-check" | "vet-check-weekly" => "vet_check",
        code => code,
    };
    let ids: Vec<String> = date.pups.iter().filter_map(|p| here.pup_id(p)).map(|id| id.to_string()).collect();
    let dam = if date.dam { "&dam=yes" } else { "" };
    here.to(&format!("stages/write?kind={kind}&pups={}{dam}", ids.join("_")))
}

/// What the fields hold when the page is opened or comes back.
#[derive(Default)]
struct Filled {
    pups: Vec<FactId>,
    dam: bool,
    texts: Vec<(&'static str, String)>,
}

impl Filled {
    fn text(&self, name: &str) -> &str {
        self.texts.iter().find(|(n, _)| *n == name).map_or("", |(_, t)| t)
    }
}

const TEXTS: [&str; 6] = ["value", "product", "lot", "as_given", "by", "note"];

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let Some(kind) = asked.kind else { return Ok(menu(&here)) };
    let kind = DoneKind::from_word(&kind).ok_or(Fault::NotFound)?;
    let pups = asked.pups.unwrap_or_default().split('_').filter_map(|id| id.parse().ok()).collect();
    let filled = Filled { pups, dam: asked.dam.is_some(), texts: Vec::new() };
    Ok(shown(&here, kind.row(), &filled, None))
}

/// Which of the kinds.
fn menu(here: &Here) -> Markup {
    let body = html! {
        h1 { (say("stages-write")) }
        ul class="menu" {
            @for row in DONE_KINDS {
                li { a class="button" href=(here.to(&format!("stages/write?kind={}", row.word))) { (word("done", row.word)) } }
            }
        }
    };
    frame(here, &say("stages-write"), Tab::More, &body)
}

fn shown(here: &Here, row: &DoneKindRow, filled: &Filled, problem: Option<&str>) -> Markup {
    let title = word("done", row.word);
    let body = html! {
        h1 { (title) }
        p class="note" { (row.meaning) }
        (wrong(problem))
        (form(&here.visit, &here.to("stages/write"), &html! {
            input type="hidden" name="kind" value=(row.word);
            fieldset class="choices" {
                legend { (say("stages-for-whom")) }
                @for (id, pup) in here.pups_here() {
                    label {
                        input type="checkbox" name="pup" value=(id) checked[filled.pups.contains(&id)];
                        (cue(&pup.id.0, &pup.marks))
                    }
                }
            }
            @if row.about == DoneFor::PupOrDam { (tick("dam", &say("stages-dam-too"), filled.dam)) }
            (fields(row, |name| filled.text(name).to_owned()))
            (not_now())
            button class="primary save" type="submit" { (say("stages-save")) }
        }))
    };
    frame(here, &title, Tab::More, &body)
}

/// What may stand beside a kind, in the order of the page.
pub fn names(row: &DoneKindRow) -> Vec<&'static str> {
    let product = (row.product != ProductRule::Never).then_some("product");
    let value = (row.shape != DoneShape::Nothing).then_some("value");
    let mut names: Vec<_> = product.into_iter().chain(value).collect();
    if row.product == ProductRule::Must {
        names.extend(["lot", "as_given"]);
    }
    names.extend(["by", "note"]);
    names
}

/// The fields of a kind with their texts.
pub fn fields(row: &DoneKindRow, text: impl Fn(&str) -> String) -> Markup {
    html! {
        @for name in names(row) {
            @if name == "value" { (value(row, &text(name))) }
            @else { (field(name, &word("done-field", name), "text", &text(name), "")) }
            @if name == "as_given" { p class="note" { (say("stages-vet-decides")) } }
        }
    }
}

fn value(row: &DoneKindRow, typed: &str) -> Markup {
    let label = match row.kind {
        DoneKind::Chip => say("stages-value-chip"),
        DoneKind::HomeDay => say("stages-value-day"),
        DoneKind::NewOwner => say("stages-value-owner"),
        DoneKind::Vaccination => say("stages-value-against"),
        _ => say("stages-value-what"),
    };
    match row.shape {
        DoneShape::Nothing => html! {},
        DoneShape::Words(words) => {
            let words: Vec<(String, String)> =
                words.iter().map(|w| (w.text().to_owned(), word("value", w.text()))).collect();
            choice("value", &say("stages-value-found"), &words, typed)
        }
        DoneShape::ChipNumber => field("value", &label, "numeric", typed, &say("stages-chip-hint")),
        DoneShape::Day => field("value", &label, "text", typed, &say("stages-day-hint")),
        DoneShape::AnyText | DoneShape::Text => field("value", &label, "text", typed, ""),
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let row = DoneKind::from_word(typed.get("kind")).ok_or(Fault::NotFound)?.row();
    let ids = typed.kept().filter(|(name, _)| *name == "pup").map(|(_, id)| here.pup(id).map(|p| p.0));
    let filled = Filled {
        pups: ids.collect::<Result<_, _>>()?,
        dam: !typed.get("dam").is_empty(),
        texts: TEXTS.iter().map(|name| (*name, typed.get(name).to_owned())).collect(),
    };
    let refused =
        |text: &str| (StatusCode::UNPROCESSABLE_ENTITY, shown(&here, row, &filled, Some(text))).into_response();
    let at = match typed.at(&here) {
        Ok(at) => at,
        Err(text) => return Ok(refused(&text)),
    };
    if filled.pups.is_empty() && !filled.dam {
        return Ok(refused(&say("stages-nobody")));
    }
    let text = |name: &str| Some(filled.text(name).to_owned()).filter(|t| !t.is_empty());
    let ask = Did {
        kind: row.word.into(),
        pups: filled.pups.clone(),
        dam: filled.dam,
        value: text("value"),
        product: text("product"),
        lot: text("lot"),
        as_given: text("as_given"),
        by: text("by"),
        note: text("note"),
    };
    match did(&here.book, &here.who(), here.litter, ask, at, here.now).await {
        Ok(saved) => Ok(here.after("stages", saved)),
        Err(AppError::Refused { what, allowed }) => {
            Ok(refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())])))
        }
        Err(other) => Err(other.into()),
    }
}

/// The guidelines and the law, to choose.
pub fn choose(here: &Here, report: &StagesReport) -> Markup {
    html! {
        details class="fold" {
            summary { (say("stages-choose")) }
            (form(&here.visit, &here.to("stages/choose"), &html! {
                @for line in &report.choices {
                    @let known: Vec<(String, String)> = line.allowed.iter().map(|w| (w.clone(), word("chosen", w))).collect();
                    @let open = (String::new(), say("stages-no-choice"));
                    @let chosen = if line.is_chosen { line.chosen.as_str() } else { "" };
                    (choice(&line.key, &word("choice", &line.key), &[vec![open], known].concat(), chosen))
                }
                button class="second" type="submit" { (say("stages-choose-save")) }
            }))
        }
    }
}

pub async fn chosen(here: Here, typed: Form) -> Result<Response, Fault> {
    let keys = ["worming_guideline", "vaccination_guideline", "home_law"];
    let body = keys.map(|key| (key.to_owned(), typed.filled(key).map_or(Value::Null, Value::from)));
    let saved =
        whelpward_app::put(&here.book, &here.who(), here.litter, Kind::Litter, None, body.into(), here.now).await?;
    Ok(here.after("stages", saved))
}
