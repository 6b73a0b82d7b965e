//! The body of a posted form: taken apart as the pages do it, then every typed value read out of it, and the fields
//! as entries beside the others of a litter.
#![no_main]

use std::pin::pin;
use std::sync::{Arc, LazyLock};
use std::task::{Context, Poll, Waker};

use axum::body::Body;
use axum::extract::{Form, FromRequest, Request};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use libfuzzer_sys::fuzz_target;
use whelpward_core::book::{AboutPup, Fact, FactId, FactJson, KINDS, Kind, Receipt, fold};
use whelpward_core::record::{CHECK_KINDS, Values, WeightUnit};
use whelpward_core::report::clock::iso;

#[path = "../../crates/web/src/fields.rs"]
mod fields;
use fields::Fields;

/// A litter with one pup of five days.
const BEFORE: &str = r#"{"id":"01a1e099-3760-71cc-b86a-acc4c0df6a7a","litter":"01a1e099-3760-71cc-b86a-acc4c0df6a7a","kind":"litter","body":{"breed":"Maltese","name":"Heather","scale_step_g":1,"time_zone":"Europe/Berlin","whelped_at":"2026-10-20T20:05:00+02:00"},"occurred_at":"2026-10-20T18:05:00Z","zone":"Europe/Berlin","device":"folder"}
{"id":"01a1e099-3760-756b-a213-45b85f61ebb7","litter":"01a1e099-3760-71cc-b86a-acc4c0df6a7a","kind":"pup","body":{"birth_weight":158,"born_at":"2026-10-20T20:05:00+02:00","id":"Ling","marks":"green","sex":"female","unit":"g"},"occurred_at":"2026-10-20T18:05:00Z","zone":"Europe/Berlin","device":"folder"}"#;

static LITTER: LazyLock<Vec<Arc<Fact>>> = LazyLock::new(|| {
    let read = |line| serde_json::from_str::<FactJson>(line).expect("JSON").read().expect("a fact");
    BEFORE.lines().map(read).map(Arc::new).collect()
});

/// As the pages take it apart: the extractor of the same library for the same type.
fn decoded(body: &[u8]) -> Option<Fields> {
    let request = Request::post("/")
        .header("content-type", "application/x-www-form-urlencoded")
        .body(Body::from(body.to_vec()))
        .expect("a request");
    let mut form = pin!(Form::<Vec<(String, String)>>::from_request(request, &()));
    // All of the body is there: nothing is waited for.
    let Poll::Ready(form) = form.as_mut().poll(&mut Context::from_waker(Waker::noop())) else {
        panic!("a body that is there was waited for");
    };
    form.ok().map(|Form(sent)| Fields::new(sent))
}

/// Every byte by its number, which any reader of forms takes.
fn encoded(kept: &[(String, String)]) -> Vec<u8> {
    let bytes = |text: &str| text.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
    let pairs: Vec<String> = kept.iter().map(|(name, value)| format!("{}={}", bytes(name), bytes(value))).collect();
    pairs.join("&").into_bytes()
}

fn kept(fields: &Fields) -> Vec<(String, String)> {
    fields.kept().map(|(name, value)| (name.to_owned(), value.to_owned())).collect()
}

fn fact(kind: Kind, occurred: Timestamp, body: Values) -> Fact {
    let pup = (kind.row().about_pup == AboutPup::Always || kind == Kind::Check).then_some(LITTER[1].id);
    Fact {
        id: FactId::from_parts(occurred, 7),
        litter: LITTER[0].id,
        kind,
        pup,
        body,
        occurred,
        zone: "Europe/Berlin".into(),
        carer: None,
        device: "phone".into(),
        supersedes: None,
        voids: None,
        receipt: Receipt::default(),
    }
}

fuzz_target!(|sent: &[u8]| {
    let Some(fields) = decoded(sent) else { return };
    // A question sends the fields again: none is lost by that, and none changes.
    let kept = kept(&fields);
    assert_eq!(self::kept(&decoded(&encoded(&kept)).expect("our own form")), kept);

    for (name, _) in &kept {
        assert_eq!(fields.filled(name).unwrap_or_default(), fields.get(name));
        if let Some(id) = fields.fact(name) {
            assert_eq!(id.to_string().parse(), Ok(id));
        }
    }
    let zone = TimeZone::get("Europe/Berlin").expect("bundled");
    let now: Timestamp = "2026-10-25T03:30+01:00".parse().expect("a time");
    let at = fields.time(now, &zone).unwrap_or(now);
    let weight = fields.weight();
    for unit in [WeightUnit::Gram, WeightUnit::Ounce, WeightUnit::PoundOunce] {
        if let Ok(weight) = unit.parse(&weight) {
            assert!(weight.get().is_finite() && weight.get() >= 0.0, "{}", unit.word());
        }
    }

    // The fields as an entry of each kind, and each kind of check with its value.
    let text = |text: &str| serde_json::Value::String(text.to_owned());
    let mut made = Vec::new();
    for row in KINDS.iter().filter(|row| row.kind != Kind::Void) {
        let names = row.kind.keys();
        let filled = names.iter().filter_map(|key| Some((key.name.to_owned(), text(&fields.filled(key.name)?))));
        let mut body: Values = filled.collect();
        if body.is_empty() {
            continue;
        }
        if row.kind == Kind::Weighing {
            body.insert("weight".into(), text(&weight));
        }
        if let Some(key) = row.time_key {
            body.insert(key.into(), text(&iso(at, &zone)));
        }
        made.push(fact(row.kind, at, body));
    }
    for row in CHECK_KINDS {
        let Some(value) = fields.filled(row.word) else { continue };
        let pairs = [("checked_at", iso(at, &zone)), ("kind", row.word.to_owned()), ("value", value)];
        made.push(fact(Kind::Check, at, pairs.into_iter().map(|(name, said)| (name.into(), text(&said))).collect()));
    }
    for fact in made.into_iter().filter(|fact| fact.look_over().is_none()) {
        let is_of_a_table = matches!(fact.kind, Kind::Weighing | Kind::Feed | Kind::Check | Kind::Done);
        let line = serde_json::to_string(&FactJson::from(&fact)).expect("JSON");
        assert_eq!(serde_json::from_str::<FactJson>(&line).expect("our own JSON").read(), Ok(fact.clone()));
        let id = fact.id;
        let folded = fold(&[&LITTER[..], &[Arc::new(fact)]].concat());
        assert!(folded.facts.is_some() || !is_of_a_table, "one entry blanks the litter");
        assert!(
            folded.refused.iter().all(|refused| refused.fact == id || !is_of_a_table),
            "one entry takes others with it"
        );
    }
});
