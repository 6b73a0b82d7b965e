//! What must change nothing: the order of rows, the unit, a row written twice, the future.

use proptest::prelude::*;
use serde_json::{Value, to_value};
use whelpward_core::report::today;

use super::config;
use super::generate::{any_litter, fed_litter};
use super::litter::{Check, Feed, Litter, Pup, Weight};
use super::oracle::ask;

fn shuffled<T: Clone>(things: &[T], keys: &[u32]) -> Vec<T> {
    let mut order: Vec<usize> = (0..things.len()).collect();
    order.sort_by_key(|i| u64::from(keys[i % keys.len()]).wrapping_mul(2_654_435_761 + *i as u64) % 65_521);
    order.into_iter().map(|i| things[i].clone()).collect()
}

/// Facts at the very same second, which only their content can put in order.
fn with_ties(mut litter: Litter) -> Litter {
    for pup in &mut litter.pups {
        let Pup { weighings, feeds, checks, .. } = pup;
        if let [first, .., last] = &mut weighings[..] {
            last.ago = first.ago;
        }
        if let [first, .., last] = &mut feeds[..] {
            last.ago = first.ago;
        }
        let ago = checks.first().map(|c| c.ago);
        for check in checks.iter_mut() {
            check.ago = ago.unwrap_or_default();
        }
    }
    litter
}

/// Sentences may print the last digit of a number otherwise (26.25 mL is 26.2 or 26.3 mL), and
/// name a weight as it was typed; numbers, times and names may not differ.
fn differs(a: &Value, b: &Value, path: &str) -> Option<String> {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => {
            if !a.keys().eq(b.keys()) {
                return Some(format!("{path}: other keys"));
            }
            a.iter().zip(b).find_map(|((key, x), (_, y))| match key.as_str() {
                "because" | "reading" => None,
                _ => differs(x, y, &format!("{path}/{key}")),
            })
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().find_map(|(i, (x, y))| differs(x, y, &format!("{path}/{i}")))
        }
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64()?, y.as_f64()?);
            ((x - y).abs() > 1e-6 * (1.0 + x.abs())).then(|| format!("{path}: {x} and {y}"))
        }
        (Value::String(x), Value::String(y)) if x.contains(char::is_whitespace) => {
            let words = |text: &str| text.replace(|c: char| c.is_ascii_digit() || c == '.', "");
            (words(x) != words(y)).then(|| format!("{path}: {x} and {y}"))
        }
        _ => (a != b).then(|| format!("{path}: {a} and {b}")),
    }
}

/// The same weight in g, as exactly as the format can hold it: twelve characters.
fn in_grams(weight: Weight) -> String {
    let grams = weight.grams();
    let whole = grams.trunc().to_string().len();
    format!("{grams:.*}", 11 - whole)
}

proptest! {
    #![proptest_config(config())]

    /// "row order change nothing", also where two rows share a second.
    #[test]
    fn the_order_of_rows_changes_nothing(litter in any_litter(), keys in prop::collection::vec(any::<u32>(), 7), has_ties in any::<bool>()) {
        let litter = if has_ties { with_ties(litter) } else { litter };
        let texts = litter.texts();
        let mut other = texts.clone();
        other.pups = shuffled(&texts.pups, &keys);
        other.weighings = shuffled(&texts.weighings, &keys);
        other.feeds = shuffled(&texts.feeds, &keys);
        other.checks = shuffled(&texts.checks, &keys);
        let a = to_value(today(&texts.facts(), litter.at(0))).expect("serializes");
        let b = to_value(today(&other.facts(), litter.at(0))).expect("serializes");
        prop_assert!(a == b, "{:?}\n{:?}", differs(&a, &b, ""), other);
    }

    /// The same row twice is the same fact.
    #[test]
    fn a_row_written_twice_changes_nothing(litter in any_litter()) {
        let texts = litter.texts();
        let mut other = texts.clone();
        for rows in [&mut other.weighings, &mut other.feeds, &mut other.checks] {
            rows.extend(rows.clone());
        }
        let a = to_value(today(&texts.facts(), litter.at(0))).expect("serializes");
        let b = to_value(today(&other.facts(), litter.at(0))).expect("serializes");
        prop_assert!(a == b, "{:?}", differs(&a, &b, ""));
    }

    /// "input unit … change nothing": ounces, pounds and ounces, and the same weights in g.
    #[test]
    fn the_unit_of_a_weight_changes_nothing(litter in fed_litter(), is_pounds in any::<bool>()) {
        let mut litter = litter;
        for pup in &mut litter.pups {
            // A slip is known by its digits, which are others in another unit: not asked here.
            pup.weighings.retain(|_| !pup.has_slip);
            // Slopes over seconds blow a billionth of a gram up to anything.
            let mut last = pup.age;
            pup.weighings.sort_by_key(|w| -w.ago);
            pup.weighings.retain(|w| {
                let is_apart = last - w.ago >= 600;
                if is_apart { last = w.ago; }
                is_apart
            });
            let unit = if is_pounds { 2 } else { 1 };
            pup.birth = pup.birth.map(|w| Weight::nearest(w.grams(), unit));
            for w in &mut pup.weighings { w.weight = Weight::nearest(w.weight.grams(), unit); }
        }
        let ours = ask(&litter);
        if !ours.today.doubts.is_empty() {
            return Ok(());
        }
        let litter = &ours.litter;
        let mut grams = litter.texts();
        for (text, pup) in grams.pups.iter_mut().zip(&litter.pups) {
            if let Some(w) = pup.birth {
                *text = text.replace(&format!("\"{}\"\nunit = \"{}\"", w.text(), w.unit()), &format!("\"{}\"\nunit = \"g\"", in_grams(w)));
            }
        }
        let mut rows = grams.weighings.iter_mut();
        for w in litter.pups.iter().flat_map(|p| &p.weighings) {
            let row = rows.next().expect("a row for each weighing");
            *row = row.replace(&format!(",{},{}", w.weight.text(), w.weight.unit()), &format!(",{},g", in_grams(w.weight)));
        }
        let theirs = today(&grams.facts(), litter.at(0));
        if !theirs.doubts.is_empty() {
            return Ok(());
        }
        let a = to_value(&ours.today).expect("serializes");
        let b = to_value(theirs).expect("serializes");
        let difference = differs(&a, &b, "");
        prop_assert!(difference.is_none(), "{difference:?}\n{grams:?}");
    }

    /// What is written for a later time changes nothing but the count of entries left out.
    #[test]
    fn what_lies_in_the_future_changes_nothing(litter in any_litter(), later in any_litter()) {
        let mut with = litter.clone();
        for (pup, other) in with.pups.iter_mut().zip(&later.pups) {
            pup.weighings.retain(|w| w.ago >= 0);
            // Within any weight, so that a later weighing makes no recorded feed impossible.
            pup.feeds.retain(|f| f.ago >= 0 && f.at_most().is_none_or(|ml| ml <= 30.0));
            pup.checks.retain(|c| c.ago >= 0);
            if pup.order.as_ref().is_some_and(|o| o.given < 0) { pup.order = None; }
            for w in &other.weighings { pup.weighings.push(super::litter::Weighing { ago: -1 - w.ago.abs(), ..w.clone() }); }
            for c in &other.checks { pup.checks.push(Check { ago: -1 - c.ago.abs(), ..c.clone() }); }
            for f in &other.feeds { pup.feeds.push(Feed { ago: -1 - f.ago.abs(), milk: None, offered: None, taken: None, ..f.clone() }); }
        }
        let mut without = with.clone();
        without.checks.retain(|c| c.ago >= 0);
        for pup in &mut without.pups {
            pup.weighings.retain(|w| w.ago >= 0);
            pup.feeds.retain(|f| f.ago >= 0);
            pup.checks.retain(|c| c.ago >= 0);
        }
        let (mut a, mut b) = (ask(&with).today, ask(&without).today);
        for answer in [&mut a, &mut b] {
            answer.missing.retain(|m| !m.contains("were left out"));
        }
        let (a, b) = (to_value(a).expect("serializes"), to_value(b).expect("serializes"));
        prop_assert!(a == b, "{:?}", differs(&a, &b, ""));
    }
}
