//! What an open page keeps to go on without the program, as JSON: `report::ahead` with what the
//! screens need beside it. Script shows it only while the program cannot be reached.

use axum::response::IntoResponse;
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use whelpward_core::book::open_claims;
use whelpward_core::record::WeightUnit;
use whelpward_core::record::format::PUP_WEIGHT_G;
use whelpward_core::report;

use crate::cue::{band, cue};
use crate::events::as_json;
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, kept_page};
use crate::live::last_place;
use crate::words::say;

/// The texts that script shows by itself.
fn words() -> Value {
    let all = [
        ("away-title", say("away-title")),
        ("away-text", say("away-text")),
        ("away-text-opens-again", say("away-text-opens-again")),
        ("away-as-known", say("away-as-known")),
        ("away-next-round", say("away-next-round")),
        ("away-no-round", say("away-no-round")),
        ("away-weigh", say("away-weigh")),
        ("away-feed", say("away-feed")),
        ("away-check", say("away-check")),
        ("away-back", say("away-back")),
        ("away-kept", say("away-kept")),
        ("away-not-planned", say("away-not-planned")),
        ("away-plan-old", say("away-plan-old")),
        ("away-no-milk", say("away-no-milk")),
        ("away-smaller", say("away-smaller")),
        ("away-fed-as-shown", say("away-fed-as-shown")),
        ("away-checked-and-fed", say("away-checked-and-fed")),
        ("away-temperature", say("away-temperature")),
        ("away-too-cold", say("away-too-cold")),
        ("away-too-hot", say("away-too-hot")),
        ("away-vet-now", say("away-vet-now")),
        ("away-vet-now-do-not-wait", say("away-vet-now-do-not-wait")),
        ("away-other", say("away-other")),
        ("away-taken", say("away-taken")),
        ("away-save", say("away-save")),
        ("away-save-weight", say("away-save-weight")),
        ("away-save-ml", say("away-save-ml")),
        ("away-last", say("away-last")),
        ("away-never-weighed", say("away-never-weighed")),
        ("away-unusual", say("away-unusual")),
        ("away-again", say("away-again")),
        ("away-keep", say("away-keep")),
        ("away-tenth-lost", say("away-tenth-lost")),
        ("away-fed-lately", say("away-fed-lately")),
        ("away-same-feed", say("away-same-feed")),
        ("away-another-feed", say("away-another-feed")),
        ("away-early", say("away-early")),
        ("away-changed", say("away-changed")),
        ("away-show-new", say("away-show-new")),
        ("away-given", say("away-given")),
        ("away-not-fed", say("away-not-fed")),
        ("away-number", say("away-number")),
        ("away-range", say("away-range")),
        ("away-more-than-it-weighs", say("away-more-than-it-weighs")),
        ("away-most", say("away-most")),
        ("away-above-most", say("away-above-most")),
        ("away-only-after", say("away-only-after")),
        ("away-all-weighed", say("away-all-weighed")),
        ("away-all-fed", say("away-all-fed")),
        ("away-stop", say("away-stop")),
        ("away-looked-at-later", say("away-looked-at-later")),
        ("outbox-set-aside", say("outbox-set-aside")),
        ("outbox-again", say("outbox-again")),
        ("outbox-why", say("outbox-why")),
        ("late-feed", say("late-feed")),
        ("late-to-feed", say("late-to-feed")),
        ("method-bottle", say("method-bottle")),
        ("weigh-weight", say("weigh-weight")),
        ("check-white", say("check-white")),
        ("method-tube", say("method-tube")),
    ];
    all.into_iter().map(|(key, text)| (key.to_owned(), Value::String(text))).collect::<Map<_, _>>().into()
}

pub async fn page(here: Here) -> Result<impl IntoResponse, Fault> {
    // What is shown as advice is written down as advice.
    let today = whelpward_app::today(&here.book, &here.who(), here.litter, here.now).await?;
    let facts = here.facts();
    let pups: Vec<Value> = here
        .pups_here()
        .into_iter()
        .map(|(id, pup)| {
            let (name, marks) = (&pup.id.0, &pup.marks);
            let (cue, band) = (cue(name, marks).into_string(), band(name, marks).into_string());
            json!({ "id": id.to_string(), "name": name, "cue": cue, "band": band })
        })
        .collect();
    let claims: Vec<Value> = open_claims(&here.loaded.folded, here.now)
        .into_iter()
        .map(|f| json!({ "who": f.carer, "device": f.device, "at": f.occurred.to_string() }))
        .collect();
    Ok(as_json(&json!({
        "server_now_ms": here.visit.clock.as_millisecond(),
        "now_ms": here.now.as_millisecond(),
        "place": last_place(&here.loaded),
        "unit": facts.litter.weight_unit.word(),
        "unit_sign": sign(facts.litter.weight_unit),
        "g_per_unit": [whelpward_core::units::GRAMS_PER_POUND, whelpward_core::units::GRAMS_PER_OUNCE],
        "weight_g": [PUP_WEIGHT_G.0, PUP_WEIGHT_G.1],
        "ahead": report::ahead(facts, here.now),
        "pups": pups,
        "claims": claims,
        "words": words(),
        "phones": crate::show::phones(&today.vets).into_string(),
    })))
}

fn sign(unit: WeightUnit) -> &'static str {
    match unit {
        WeightUnit::Gram => "g",
        WeightUnit::Ounce => "oz",
        WeightUnit::PoundOunce => "lb oz",
    }
}

/// A page without anything of the litter's day, for a phone to keep: opened while the program is away, it
/// shows the plan that the phone has, and nothing that was true when the page was kept.
pub async fn frame(here: Here) -> Markup {
    // Script makes it light by day where the hour decides.
    let body = html! {
        h1 { (say("away-title")) }
        p data-frame data-theme=(here.visit.theme.word()) data-none=(say("away-frame-none")) { (say("away-frame")) }
    };
    kept_page(&here, &say("away-title"), Tab::Now, &body)
}
