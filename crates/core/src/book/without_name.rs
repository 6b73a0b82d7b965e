//! Takes a person's name out of a fact: the one change that is ever made to a fact (usability O-26).
//!
//! What happened, when, to which pup and by how much stays as it is. Names of pups, milks and foods
//! are never touched, also where a person has the same one.

use serde_json::Value;

use super::{Fact, Kind};
use crate::record::{DoneKind, DoneShape};

/// Keys in which people write about people: a name there gives way wherever it stands between other words.
const WORDS: &[&str] = &["note", "text", "why", "as_prescribed", "as_given"];

/// Keys inside of what was advised that name a pup or are words of ours.
const NO_WORDS: &[&str] = &["kind", "code", "method", "pup", "pups"];

/// Stands in the place of a name that was erased, before a number.
pub const ERASED_PERSON: &str = "Person ";

/// Whether this key of this kind of fact may hold the name of a person.
#[must_use]
pub fn may_name_a_person(kind: Kind, key: &str) -> bool {
    // Who came to the house, who took the pup, who was to do it.
    let people = match kind {
        Kind::Carer => &["name"][..],
        Kind::Vet => &["name", "hours"],
        Kind::VetOrder | Kind::Medicine => &["vet"],
        Kind::Done => &["by", "value"],
        Kind::Advice => &["said"],
        _ => &[],
    };
    people.contains(&key) || WORDS.contains(&key)
}

impl Fact {
    /// The fact with another name in the place of a person's; none where that name is not in it.
    #[must_use]
    pub fn without_name(&self, name: &str, instead: &str) -> Option<Self> {
        let mut fact = self.clone();
        if fact.carer.as_deref().is_some_and(|carer| is_name(carer, name)) {
            fact.carer = Some(instead.to_owned());
        }
        for (key, value) in &mut fact.body {
            if self.kind == Kind::Carer && key == "name" {
                // Entries point at a carer by the whole name: Ana goes, and Ana Maria stays who she is.
                if value.as_str().is_some_and(|carer| is_name(carer, name)) {
                    *value = instead.into();
                }
            } else if may_name_a_person(self.kind, key) && !(key == "value" && is_table_word(self)) {
                take_out(value, name, instead);
            }
        }
        (fact.carer != self.carer || fact.body != self.body).then_some(fact)
    }

    /// The names of people that stand in the fact by themselves.
    pub fn people(&self) -> impl Iterator<Item = &str> {
        let key = match self.kind {
            Kind::Carer | Kind::Vet => "name",
            Kind::VetOrder | Kind::Medicine => "vet",
            Kind::Done if self.done_kind() == Some(DoneKind::NewOwner) => "value",
            _ => "by",
        };
        let named = self.body.get(key).and_then(Value::as_str);
        self.carer.as_deref().into_iter().chain(named).map(str::trim).filter(|name| !name.is_empty())
    }

    /// Whether this is `there`, but for names that were erased there: a phone or an older file brings it again.
    #[must_use]
    pub fn is_same_but_for_erased_names(&self, there: &Self) -> bool {
        let mut fact = self.clone();
        if let (Some(own), Some(carer)) = (&self.carer, &there.carer)
            && is_text_but_for_erased_names(own, carer)
        {
            fact.carer = Some(carer.clone());
        }
        for (key, value) in &mut fact.body {
            let text = there.body.get(key).filter(|_| may_name_a_person(self.kind, key));
            if let (Some(own), Some(text)) = (value.as_str(), text.and_then(Value::as_str))
                && is_text_but_for_erased_names(own, text)
            {
                *value = text.into();
            }
        }
        fact.content() == there.content()
    }

    fn done_kind(&self) -> Option<DoneKind> {
        DoneKind::from_word(self.body.get("kind")?.as_str()?)
    }
}

/// A value that is a word, a number or a day of a table, and not a text that a person wrote.
fn is_table_word(fact: &Fact) -> bool {
    let shape = fact.done_kind().map(|kind| kind.row().shape);
    !matches!(shape, Some(DoneShape::AnyText | DoneShape::Text))
}

fn take_out(value: &mut Value, name: &str, instead: &str) {
    match value {
        // What was advised is a text that is itself JSON.
        Value::String(text) => match serde_json::from_str::<Value>(text) {
            Ok(mut inner @ (Value::Object(_) | Value::Array(_))) => {
                let before = inner.clone();
                take_out(&mut inner, name, instead);
                if inner != before {
                    *text = inner.to_string();
                }
            }
            _ => *text = text_without_name(text, name, instead),
        },
        Value::Array(values) => values.iter_mut().for_each(|v| take_out(v, name, instead)),
        Value::Object(values) => {
            values
                .iter_mut()
                .filter(|(key, _)| !NO_WORDS.contains(&key.as_str()))
                .for_each(|(_, v)| take_out(v, name, instead));
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Whether a text is `there`, but that it has other words wherever a person was erased there.
fn is_text_but_for_erased_names(text: &str, there: &str) -> bool {
    let mut parts: Vec<&str> = there.split(ERASED_PERSON).collect();
    let Some(last) = parts.pop().filter(|_| !parts.is_empty()) else { return false };
    let behind_number = |part: &'_ str| {
        let behind = part.trim_start_matches(|c: char| c.is_ascii_digit());
        (behind.len() < part.len()).then_some(part.len() - behind.len())
    };
    let mut rest = text;
    for (place, part) in parts.iter().enumerate() {
        if place == 0 {
            let Some(behind) = rest.strip_prefix(part) else { return false };
            rest = behind;
            continue;
        }
        let Some((digits, first)) = behind_number(part).zip(rest.chars().next()) else { return false };
        // A name has at least one letter.
        let (from, wanted) = (&rest[first.len_utf8()..], &part[digits..]);
        let Some(at) = from.find(wanted) else { return false };
        rest = &from[at + wanted.len()..];
    }
    behind_number(last).is_some_and(|digits| rest.strip_suffix(&last[digits..]).is_some_and(|name| !name.is_empty()))
}

/// Whether a name is this one, in capitals or not.
#[must_use]
pub fn is_name(text: &str, name: &str) -> bool {
    text.trim().to_lowercase() == name.trim().to_lowercase()
}

/// A text with another name wherever this one stands as whole words, in capitals or not.
#[must_use]
pub fn text_without_name(text: &str, name: &str, instead: &str) -> String {
    let wanted: Vec<char> = name.trim().chars().collect();
    let letters: Vec<char> = text.chars().collect();
    let is_inside_a_word = |at: Option<&char>| at.is_some_and(|c| c.is_alphanumeric());
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < letters.len() {
        let end = at + wanted.len();
        let is_it = !wanted.is_empty()
            && end <= letters.len()
            && letters[at..end].iter().zip(&wanted).all(|(a, b)| a.to_lowercase().eq(b.to_lowercase()))
            && !is_inside_a_word(at.checked_sub(1).and_then(|before| letters.get(before)))
            && !is_inside_a_word(letters.get(end));
        if is_it {
            out.push_str(instead);
            at = end;
        } else {
            out.push(letters[at]);
            at += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{FactId, KINDS, Receipt, Values};
    use crate::record::format::Shape;

    fn fact(kind: Kind, carer: Option<&str>, body: Value) -> Fact {
        let at = "2026-11-20T03:00Z".parse().unwrap();
        let Value::Object(body) = body else { panic!("an object: {body}") };
        let body: Values = body.into_iter().collect();
        let id = FactId::from_parts(at, 1);
        Fact {
            id,
            litter: id,
            kind,
            pup: None,
            body,
            occurred: at,
            zone: "UTC".into(),
            carer: carer.map(str::to_owned),
            device: "computer-1".into(),
            supersedes: None,
            voids: None,
            receipt: Receipt::default(),
        }
    }

    #[test]
    fn a_name_gives_way_as_whole_words_only() {
        let without = |text: &str| text_without_name(text, "Robin", "Person 1");
        assert_eq!(without("Robin's turn, then robin; ROBIN."), "Person 1's turn, then Person 1; Person 1.");
        assert_eq!(without("Robinson saw a robinia"), "Robinson saw a robinia");
        assert_eq!(without(""), "");
        assert_eq!(text_without_name("Ask Ana María Ñu now", "ana maría ñu", "Person 2"), "Ask Person 2 now");
        assert_eq!(text_without_name("anything", " ", "Person 1"), "anything");
    }

    #[test]
    fn what_happened_stays_and_who_did_it_goes() {
        let weighing = fact(
            Kind::Weighing,
            Some("Robin"),
            serde_json::json!({ "weight": "119", "unit": "g", "note": "as robin said" }),
        );
        let without = weighing.without_name("Robin", "Person 1").unwrap();
        assert_eq!(without.carer.as_deref(), Some("Person 1"));
        assert_eq!(without.body["note"], "as Person 1 said");
        assert_eq!(
            (&without.body["weight"], without.occurred, without.id),
            (&weighing.body["weight"], weighing.occurred, weighing.id)
        );
        assert_eq!(weighing.without_name("Rob", "Person 1"), None);
        assert_eq!(without.without_name("Robin", "Person 2"), None);
    }

    #[test]
    fn pups_milks_and_words_of_the_tables_keep_their_names() {
        for (kind, body) in [
            (Kind::Pup, serde_json::json!({ "id": "Robin", "marks": "red" })),
            (Kind::Milk, serde_json::json!({ "id": "Robin" })),
            (Kind::Feed, serde_json::json!({ "method": "Robin", "milk": "Robin" })),
            (Kind::Check, serde_json::json!({ "kind": "suck", "value": "Robin" })),
            (Kind::Done, serde_json::json!({ "kind": "vet_check", "value": "Robin" })),
            (Kind::Weighing, serde_json::json!({ "weight": 119, "unit": "Robin" })),
        ] {
            assert_eq!(fact(kind, None, body).without_name("Robin", "Person 1"), None, "{kind:?}");
        }
    }

    #[test]
    fn a_vet_a_new_owner_and_what_was_advised_are_found() {
        let owner = fact(Kind::Done, Some("Ash"), serde_json::json!({ "kind": "new_owner", "value": "Kim Vale" }));
        assert_eq!(owner.people().collect::<Vec<_>>(), ["Ash", "Kim Vale"]);
        assert_eq!(owner.without_name("kim vale", "Person 1").unwrap().body["value"], "Person 1");
        let vet = fact(Kind::Vet, None, serde_json::json!({ "name": "Dr Kim Vale", "phone": "000" }));
        assert_eq!(vet.without_name("Kim Vale", "Person 1").unwrap().body["name"], "Dr Person 1");
        let said = serde_json::json!({ "tasks": [{ "who": "Kim Vale", "amount_ml": 4.5 }] }).to_string();
        let advice = fact(Kind::Advice, None, serde_json::json!({ "said": said }));
        let without = advice.without_name("Kim Vale", "Person \"1\"").unwrap();
        let inner: Value = serde_json::from_str(without.body["said"].as_str().unwrap()).unwrap();
        assert_eq!(inner["tasks"][0], serde_json::json!({ "who": "Person \"1\"", "amount_ml": 4.5 }));
    }

    #[test]
    fn who_has_the_name_as_a_part_stays() {
        let carer = fact(Kind::Carer, None, serde_json::json!({ "name": "Ana Maria" }));
        assert_eq!(carer.without_name("Ana", "Person 1"), None);
        assert_eq!(carer.without_name("ana maria", "Person 1").unwrap().body["name"], "Person 1");
    }

    #[test]
    fn pups_and_ways_to_feed_stay_in_what_was_advised() {
        let said = serde_json::json!({ "do_now": [
            { "kind": "feed now", "pups": ["Robin"], "what_to_do": "Robin feeds", "feeds": [{ "pup": "Robin", "method": "tube" }] },
        ] });
        let advice = fact(Kind::Advice, None, serde_json::json!({ "said": said.to_string() }));
        assert_eq!(advice.without_name("Tube", "Person 1"), None);
        let without = advice.without_name("Robin", "Person 1").unwrap();
        let inner: Value = serde_json::from_str(without.body["said"].as_str().unwrap()).unwrap();
        assert_eq!(inner["do_now"][0]["what_to_do"], "Person 1 feeds");
        assert_eq!(
            (&inner["do_now"][0]["pups"][0], &inner["do_now"][0]["feeds"]),
            (&said["do_now"][0]["pups"][0], &said["do_now"][0]["feeds"])
        );
    }

    #[test]
    fn what_a_phone_brings_again_is_known_though_a_name_was_erased() {
        let weighing =
            |carer: &str, weight: &str| fact(Kind::Weighing, Some(carer), serde_json::json!({ "weight": weight }));
        let there = weighing("Robin", "119").without_name("Robin", "Person 1").unwrap();
        assert!(weighing("Robin", "119").is_same_but_for_erased_names(&there));
        assert!(!weighing("Robin", "118").is_same_but_for_erased_names(&there), "another weight");
        assert!(!weighing("Robin", "119").is_same_but_for_erased_names(&weighing("Ash", "119")), "nobody was erased");
        let order = |carer: &str, vet: &str| {
            fact(Kind::Medicine, Some(carer), serde_json::json!({ "vet": vet, "product": "drops" }))
        };
        assert!(order("Robin", "Kim").is_same_but_for_erased_names(&order("Person 2", "Person 1")));
        let note = |text: &str| fact(Kind::Note, None, serde_json::json!({ "text": text }));
        let told = "Kim A. rang, then Robin's vet";
        let there = note("Person 1 rang, then Person 22's vet");
        assert!(note(told).is_same_but_for_erased_names(&there));
        for other in ["Kim A. rang, then Robin's dog", "rang, then Robin's vet", "Kim rang", ""] {
            assert!(!note(other).is_same_but_for_erased_names(&there), "{other}");
        }
        assert!(!note(told).is_same_but_for_erased_names(&note("Person of ours rang, then Robin's vet")));
    }

    /// A new key must be looked at: it holds names or words of people, or it never does.
    #[test]
    fn every_key_with_text_is_decided() {
        const NO_PEOPLE: &[&str] = &[
            "id",
            "pup",
            "milk",
            "kind",
            "product",
            "lot",
            "program_version",
            "facts_digest",
            "first",
            "second",
            "phone",
            "marks",
            "breed",
            "name",
        ];
        for row in KINDS {
            for key in row.kind.keys() {
                if matches!(key.shape, Shape::Text | Shape::Long) {
                    let is_decided = may_name_a_person(row.kind, key.name) || NO_PEOPLE.contains(&key.name);
                    assert!(is_decided || (row.kind, key.name) == (Kind::Check, "value"), "{}.{}", row.word, key.name);
                }
            }
        }
    }
}
