//! Builds facts of one litter by hand. A fact number `n` is made `n` seconds after hour 0.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use whelpward_core::book::{Fact, FactId, Folded, Kind, Question, Receipt, fold};
use whelpward_core::record::Facts;

pub fn time(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// 18 November 2026, at this time of day.
pub fn clock(hour_minute: &str) -> String {
    format!("2026-11-18T{hour_minute}Z")
}

pub fn id(n: u32) -> FactId {
    let made = time("2026-11-18T00:00Z") + SignedDuration::from_secs(i64::from(n));
    FactId::from_parts(made, u128::from(n) * 0x9E37_79B9_7F4A_7C15)
}

pub fn fact(n: u32, kind: Kind, pup: Option<u32>, pairs: &[(&str, &str)]) -> Fact {
    let body: whelpward_core::book::Values = pairs.iter().map(|(k, v)| ((*k).to_owned(), Value::from(*v))).collect();
    let said = kind.row().time_key.and_then(|k| body.get(k)).and_then(Value::as_str);
    let fact = Fact {
        id: id(n),
        litter: id(0),
        kind,
        pup: pup.map(id),
        occurred: said.map_or_else(|| time("2026-11-18T00:00Z"), time),
        body,
        zone: "Europe/Berlin".into(),
        carer: None,
        device: "phone".into(),
        supersedes: None,
        voids: None,
        receipt: Receipt::default(),
    };
    assert_eq!(fact.look_over(), None, "the test's own fact {n} is well formed");
    fact
}

/// Small changes to a fact, in the words of the stories.
pub trait But: Sized {
    fn by(self, carer: &str) -> Self;
    fn on(self, device: &str) -> Self;
    fn instead_of(self, n: u32) -> Self;
    fn with(self, name: &str, value: impl Into<Value>) -> Self;
}

impl But for Fact {
    fn by(mut self, carer: &str) -> Self {
        self.carer = Some(carer.into());
        self
    }
    fn on(mut self, device: &str) -> Self {
        self.device = device.into();
        self
    }
    fn instead_of(mut self, n: u32) -> Self {
        self.supersedes = Some(id(n));
        self
    }
    fn with(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.body.insert(name.into(), value.into());
        self
    }
}

pub fn litter() -> Fact {
    fact(
        0,
        Kind::Litter,
        None,
        &[
            ("name", "Heather"),
            ("expected_adult_weight_kg", "12"),
            ("whelped_at", &clock("00:00")),
            ("time_zone", "Europe/Berlin"),
            ("scale_step_g", "1"),
        ],
    )
}

pub fn pup(n: u32, name: &str) -> Fact {
    fact(
        n,
        Kind::Pup,
        None,
        &[
            ("id", name),
            ("sex", "female"),
            ("marks", "plain"),
            ("born_at", &clock("00:00")),
            ("birth_weight", "300"),
            ("unit", "g"),
        ],
    )
}

pub fn carer(n: u32, name: &str) -> Fact {
    fact(n, Kind::Carer, None, &[("name", name)])
}

pub fn milk(n: u32, name: &str, in_use: bool) -> Fact {
    fact(n, Kind::Milk, None, &[("id", name), ("kind", "puppy_powder"), ("kcal_per_ml", "1.3")]).with("in_use", in_use)
}

pub fn weighing(n: u32, pup: u32, at: &str, grams: &str) -> Fact {
    fact(n, Kind::Weighing, Some(pup), &[("weighed_at", &clock(at)), ("weight", grams), ("unit", "g")])
}

pub fn feed(n: u32, pup: u32, at: &str, taken_ml: &str) -> Fact {
    fact(n, Kind::Feed, Some(pup), &[("fed_at", &clock(at)), ("method", "bottle"), ("taken_ml", taken_ml)])
}

pub fn void(n: u32, target: u32) -> Fact {
    Fact { voids: Some(id(target)), ..raw_void(n) }
}

fn raw_void(n: u32) -> Fact {
    let mut fact = fact(n, Kind::Note, None, &[("noted_at", &clock("00:00")), ("text", "x")]);
    fact.kind = Kind::Void;
    fact.body.clear();
    fact
}

pub fn answer(n: u32, answer: &str, first: u32, second: u32) -> Fact {
    let (first, second) = (id(first).to_string(), id(second).to_string());
    fact(n, Kind::Answer, None, &[("answer", answer), ("first", &first), ("second", &second)])
}

/// The litter, the pup 1 called Ash, and what a story adds.
pub fn story(more: impl IntoIterator<Item = Fact>) -> Folded {
    fold_all([litter(), pup(1, "Ash")].into_iter().chain(more))
}

pub fn fold_all(facts: impl IntoIterator<Item = Fact>) -> Folded {
    let facts: Vec<Arc<Fact>> = facts.into_iter().map(Arc::new).collect();
    let folded = fold(&facts);
    let backwards: Vec<Arc<Fact>> = facts.iter().rev().cloned().collect();
    assert_eq!(picture(&folded), picture(&fold(&backwards)), "the order of arrival plays no part");
    folded
}

pub fn facts(folded: &Folded) -> &Facts {
    folded.facts.as_ref().expect("the litter reads")
}

/// Pup and grams of each weighing, in the order of time.
pub fn grams(folded: &Folded) -> Vec<(&str, f64)> {
    facts(folded).weighings.iter().map(|w| (w.pup.0.as_str(), w.weight.get())).collect()
}

/// Millilitres of each feed and whether it may be the same as another, in the order of time.
pub fn feeds(folded: &Folded) -> Vec<(f64, bool)> {
    facts(folded).feeds.iter().map(|f| (f.taken.unwrap().get(), f.maybe_the_same)).collect()
}

pub fn pups(folded: &Folded) -> Vec<&str> {
    facts(folded).pups.iter().map(|p| p.id.0.as_str()).collect()
}

pub fn refused(folded: &Folded) -> Vec<FactId> {
    folded.refused.iter().map(|r| r.fact).collect()
}

pub fn is_settled(folded: &Folded) {
    assert_eq!(folded.questions, Vec::<Question>::new());
    assert_eq!(refused(folded), Vec::<FactId>::new(), "{:?}", folded.refused);
}

/// All that a fold says, but for the receipts.
pub fn picture(folded: &Folded) -> String {
    let counted: Vec<String> = folded.counted().map(|id| folded.current(id).unwrap().content()).collect();
    let entries: Vec<_> = folded.entries().iter().map(|e| (e.home.name(), &e.values)).collect();
    format!(
        "{:#?}\n{:#?}\n{:#?}\n{:#?}\n{counted:#?}\n{entries:#?}",
        folded.facts, folded.pups, folded.questions, folded.refused
    )
}
