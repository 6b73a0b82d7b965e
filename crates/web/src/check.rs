//! Observations: of one pup, or of the dam, the box and the birth.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::{AppError, Observation, Seen, check};
use whelpward_core::book::FactId;
use whelpward_core::record::{About, CHECK_KINDS, CheckKindRow, ValueShape};

use crate::cue::{band, cue};
use crate::fault::Fault;
use crate::form::{Form, button, form, not_now, pad, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::sentence;
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
    kind: Option<String>,
}

/// The groups of the page with the kinds in each; a test sees that none is missing.
pub const GROUPS: &[(&str, &[&str])] = &[
    (
        "warmth",
        &[
            "rectal_temperature_c",
            "rectal_temperature_f",
            "skin_temperature_c",
            "ear_temperature_c",
            "infrared_temperature_c",
        ],
    ),
    ("mouth", &["suck", "palate", "gums"]),
    ("breath", &["breathing", "behaviour", "milk_at_nose"]),
    ("belly", &["belly", "stool", "urine"]),
    ("first-day", &["dried", "colostrum_seen"]),
    ("box", &["box_temperature_c", "box_temperature_f"]),
    (
        "dam",
        &[
            "dam_temperature_c",
            "dam_temperature_f",
            "dam_appetite",
            "dam_behaviour",
            "dam_glands",
            "dam_milk",
            "dam_discharge",
            "pups_with_dam",
        ],
    ),
    ("labour", &["labour", "straining"]),
];

/// Judged in white light only.
const IN_WHITE_LIGHT: &[&str] = &["gums", "stool", "palate", "dam_discharge"];

/// What one tap writes down when all is well.
const PUP_WELL: &[(&str, &str)] =
    &[("suck", "strong"), ("breathing", "easy"), ("behaviour", "active"), ("gums", "pink_moist"), ("belly", "soft")];
const DAM_WELL: &[(&str, &str)] =
    &[("dam_appetite", "normal"), ("dam_behaviour", "calm"), ("dam_glands", "normal"), ("dam_discharge", "none")];

fn rows(group: &[&str]) -> Vec<&'static CheckKindRow> {
    group.iter().filter_map(|w| CHECK_KINDS.iter().find(|r| r.word == *w)).collect()
}

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let pup = asked.pup.as_deref().filter(|p| !p.is_empty()).map(|p| here.pup(p)).transpose()?.map(|p| p.0);
    Ok(shown(&here, pup, None, None))
}

fn shown(here: &Here, pup: Option<FactId>, typed: Option<&Form>, problem: Option<&str>) -> Markup {
    let about = if pup.is_some() { About::Pup } else { About::Litter };
    let named = pup.map(|id| here.loaded.name_of(id).to_owned());
    let of = named.as_ref().and_then(|n| here.facts().pups.iter().find(|p| p.id.0 == *n));
    let well = if pup.is_some() { PUP_WELL } else { DAM_WELL };
    let hidden = pup.map(|p| p.to_string()).unwrap_or_default();
    let body = html! {
        h1 class="subject" {
            @match of {
                Some(pup) => { (cue(&pup.id.0, &pup.marks)) }
                None => { (say("check-dam-title")) }
            }
        }
        nav class="order" aria-label=(say("check-whom")) {
            a href=(here.to("check")) aria-current=[pup.is_none().then_some("step")] { span { (say("check-dam")) } }
            @for (id, one) in here.pups_here() {
                a href=(here.to(&format!("check?pup={id}"))) aria-current=[(Some(id) == pup).then_some("step")] {
                    (band(&one.id.0, &one.marks)) span { (one.id.0) }
                }
            }
        }
        (wrong(problem))
        (form(&here.visit, &here.to("check"), &html! {
            input type="hidden" name="pup" value=(hidden);
            @for (kind, value) in well { input type="hidden" name=(kind) value=(value); }
            button class="second" type="submit" {
                (say(if pup.is_some() { "check-pup-well" } else { "check-dam-well" }))
                small { (well.iter().map(|(k, v)| format!("{} {}", word("kind", k).to_lowercase(), word("value", v))).collect::<Vec<_>>().join(", ")) }
            }
        }))
        (form(&here.visit, &here.to("check"), &html! {
            input type="hidden" name="pup" value=(hidden);
            @for (name, group) in GROUPS {
                @let rows: Vec<_> = rows(group).into_iter().filter(|r| r.about == about).collect();
                @if !rows.is_empty() {
                    section {
                        h2 { (word("group", name)) }
                        @for row in rows { (one(row, typed)) }
                        @if group.iter().any(|g| IN_WHITE_LIGHT.contains(g)) {
                            p class="note" { (say("check-white")) " " a href="/white" { (say("check-white-open")) } }
                        }
                    }
                }
            }
            (not_now())
            button class="primary save" type="submit" { (say("check-save")) }
        }))
    };
    let title = named.map_or_else(|| say("check-dam-title"), |n| tell("check-title", &[("pup", n.into())]));
    frame(here, &title, Tab::Check, &body)
}

fn one(row: &CheckKindRow, typed: Option<&Form>) -> Markup {
    let typed = typed.map_or("", |t| t.get(row.word));
    html! {
        @match row.shape {
            ValueShape::Temperature { fahrenheit, .. } => {
                label class="field" { span { (word("kind", row.word)) }
                    span class="with-unit" {
                        input type="text" name=(row.word) value=(typed) inputmode="decimal" autocomplete="off" maxlength="6";
                        span class="unit" { (if fahrenheit { "°F" } else { "°C" }) }
                    }
                }
            }
            ValueShape::Words(words) => {
                fieldset class="choices" {
                    legend { (word("kind", row.word)) small { " " (row.meaning) } }
                    @for value in words {
                        label { input type="radio" name=(row.word) value=(value.text()) checked[value.text() == typed]; span { (word("value", value.text())) } }
                    }
                }
            }
        }
    }
}

pub async fn save(here: Here, typed: Form) -> Result<Response, Fault> {
    let pup = typed.filled("pup").map(|p| here.pup(&p)).transpose()?.map(|p| p.0);
    let refused =
        |text: &str| (StatusCode::UNPROCESSABLE_ENTITY, shown(&here, pup, Some(&typed), Some(text))).into_response();
    let at = match typed.at(&here) {
        Ok(at) => at,
        Err(text) => return Ok(refused(&text)),
    };
    let filled = CHECK_KINDS.iter().filter_map(|row| Some((row.word, typed.filled(row.word)?)));
    let seen: Vec<Seen> = filled.map(|(kind, value)| Seen { kind: kind.into(), value }).collect();
    if seen.is_empty() {
        return Ok(refused(&say("check-nothing")));
    }
    let ask = Observation { litter: here.litter, pup, at, seen, note: typed.filled("note") };
    let saved = match check(&here.book, &here.who(), ask, here.now).await {
        Ok(saved) => saved,
        Err(AppError::Refused { what, allowed }) => {
            return Ok(refused(&tell("refused", &[("what", what.into()), ("allowed", allowed.into())])));
        }
        Err(other) => return Err(other.into()),
    };
    let back = match typed.get("back") {
        "feed" => pup.map(|p| format!("feed?pup={p}")),
        "birth" => Some("birth".into()),
        "box" => Some("box".into()),
        "expecting" => Some("expecting".into()),
        _ => None,
    };
    let page = back.unwrap_or_else(|| pup.map_or_else(|| "now".into(), |p| format!("pup/{p}")));
    Ok(here.after(&page, saved))
}

/// One reading with the pad: a temperature.
pub async fn measure_page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let pup = asked.pup.as_deref().filter(|p| !p.is_empty()).map(|p| here.pup(p)).transpose()?.map(|p| p.0);
    let row = CHECK_KINDS.iter().find(|r| Some(r.word) == asked.kind.as_deref()).ok_or(Fault::NotFound)?;
    let ValueShape::Temperature { fahrenheit, .. } = row.shape else { return Err(Fault::NotFound) };
    if (row.about == About::Pup) != pup.is_some() {
        return Err(Fault::NotFound);
    }
    let named = pup.map(|id| here.loaded.name_of(id).to_owned());
    let of = named.as_ref().and_then(|n| here.facts().pups.iter().find(|p| p.id.0 == *n));
    let unit = if fahrenheit { "°F" } else { "°C" };
    let back = match (pup, row.word) {
        (Some(_), _) => "feed",
        (None, "box_temperature_c" | "box_temperature_f") => "box",
        (None, "dam_temperature_c" | "dam_temperature_f") if here.facts().pups.is_empty() => "expecting",
        (None, _) => "",
    };
    let body = html! {
        div class="entry" data-entry {
            div class="row between" {
                p class="step" { (word("kind", row.word)) }
                a class="button quiet" href=(here.to(if back.is_empty() { "now" } else { back })) { (say("finish")) }
            }
            h1 class="subject" {
                @match of {
                    Some(pup) => { (cue(&pup.id.0, &pup.marks)) }
                    None => { (say(if row.word.starts_with("dam") { "check-dam-title" } else { "check-box-title" })) }
                }
            }
            p class="note" { (sentence(row.meaning)) }
            (form(&here.visit, &here.to("check"), &html! {
                input type="hidden" name="pup" value=(pup.map(|p| p.to_string()).unwrap_or_default());
                input type="hidden" name="back" value=(back);
                label class="number" { span { (word("kind", row.word)) }
                    input type="text" name=(row.word) inputmode="decimal" autocomplete="off" maxlength="6" data-number;
                    span class="unit" { (unit) } }
                (pad("halves"))
                button class="primary save" type="submit" data-save=(tell("measure-save-value", &[("value", "{}".into()), ("unit", unit.into())])) { (say("check-save")) }
                (not_now())
            }))
        }
    };
    Ok(frame(&here, &word("kind", row.word), Tab::None, &body))
}

/// One tap that writes one observation down.
pub fn tap(here: &Here, pup: Option<FactId>, kind: &str, value: &str, back: &str, label: &str) -> Markup {
    button(
        &here.visit,
        &here.to("check"),
        "second",
        &[("pup", &pup.map(|p| p.to_string()).unwrap_or_default()), (kind, value), ("back", back)],
        &html! { (label) },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_check_stands_on_a_page() {
        let mut shown: Vec<&str> = GROUPS.iter().flat_map(|(_, kinds)| *kinds).copied().collect();
        let mut all: Vec<&str> = CHECK_KINDS.iter().map(|r| r.word).collect();
        shown.sort_unstable();
        all.sort_unstable();
        assert_eq!(shown, all);
    }

    #[test]
    fn what_one_tap_writes_down_is_the_first_and_well_word_of_each_kind() {
        for (kind, value) in PUP_WELL.iter().chain(DAM_WELL) {
            let row = CHECK_KINDS.iter().find(|r| r.word == *kind).unwrap();
            let ValueShape::Words(words) = row.shape else { panic!("{kind} has no words") };
            assert_eq!(words[0].text(), *value, "{kind}");
        }
    }
}
