//! Builds small litters from the texts of a litter folder, for the rule tests.
//!
//! Every litter is invented. Birth is hour 0, and every time is given in hours from then on.
//! What a test sees came through [`parse`], as in real life.

#![allow(dead_code, reason = "each test file uses its own part of the builder")]

use std::fmt::Write;

use jiff::{SignedDuration, Timestamp};
use whelpward_core::assess::PupAssessment;
use whelpward_core::finding::{Finding, Level};
use whelpward_core::guide::checked::{self, Proposal};
use whelpward_core::guide::{CheckedInstruction, NextFeed, Refusal, RoundFeed};
use whelpward_core::need::{Need, NoneNeeded};
use whelpward_core::record::{Facts, FolderFiles, parse};
use whelpward_core::report::{self, Line, Today};
use whelpward_core::units::Millilitres;

/// Hour 0.
const BORN: &str = "2026-03-02T00:00:00Z";
/// The pup of every litter of one.
pub const PUP: &str = "Ash";
pub const DAY: f64 = 24.0;

/// The instant some hours after birth, to the second.
#[expect(clippy::cast_possible_truncation, reason = "a few weeks in seconds")]
pub fn at(hours: f64) -> Timestamp {
    let born: Timestamp = BORN.parse().unwrap();
    born.checked_add(SignedDuration::from_secs((hours * 3600.0).round() as i64)).unwrap()
}

/// The texts of a litter folder.
#[derive(Clone)]
pub struct Litter {
    is_whelped: bool,
    keys: String,
    dam: String,
    sections: String,
    weighings: String,
    feeds: String,
    checks: String,
    done: String,
}

impl Litter {
    /// A litter without pups yet: UTC, a scale of 1 g, one vet, a dam that nurses.
    pub fn new() -> Self {
        Self {
            is_whelped: true,
            keys: "expected_adult_weight_kg = 12\n".into(),
            dam: String::new(),
            sections: "[[vet]]\nname = \"Practice\"\nphone = \"000\"\n".into(),
            weighings: "pup,weighed_at,weight_g,taken\n".into(),
            feeds: "pup,fed_at,method,offered_ml,taken_ml,milk,weight_before_g,weight_after_g\n".into(),
            checks: "pup,checked_at,kind,value\n".into(),
            done: "pup,done_at,kind,value,product\n".into(),
        }
    }

    /// The dam is still expecting.
    pub fn expecting() -> Self {
        Self { is_whelped: false, ..Self::new() }
    }

    /// One pup beside its dam.
    pub fn nursing(birth_g: f64) -> Self {
        Self::new().pup(PUP, birth_g, "")
    }

    /// One pup fed wholly by hand from birth on, with a milk of this strength.
    pub fn hand_fed(birth_g: f64, kcal_per_ml: f64) -> Self {
        let keys = format!("rearing = \"hand_fed\"\nhand_fed_since = {BORN}");
        Self::new().pup(PUP, birth_g, &keys).milk(kcal_per_ml)
    }

    /// More keys of `[litter]`.
    pub fn keys(mut self, keys: &str) -> Self {
        writeln!(self.keys, "{keys}").unwrap();
        self
    }

    /// Keys of `[dam]`.
    pub fn dam(mut self, keys: &str) -> Self {
        writeln!(self.dam, "{keys}").unwrap();
        self
    }

    /// A whole section, with its heading.
    pub fn section(mut self, text: &str) -> Self {
        writeln!(self.sections, "{text}").unwrap();
        self
    }

    pub fn pup(self, id: &str, birth_g: f64, keys: &str) -> Self {
        self.pup_born(0.0, id, birth_g, keys)
    }

    pub fn pup_born(self, hours: f64, id: &str, birth_g: f64, keys: &str) -> Self {
        let born = at(hours);
        self.section(&format!(
            "[[pup]]\nid = \"{id}\"\nsex = \"female\"\nmarks = \"plain\"\nborn_at = {born}\nbirth_weight = {birth_g}\nunit = \"g\"\n{keys}"
        ))
    }

    /// A complete milk of this strength, in use.
    pub fn milk(self, kcal_per_ml: f64) -> Self {
        self.section(&format!(
            "[[milk]]\nid = \"replacer\"\nkind = \"puppy_ready\"\nin_use = true\nkcal_per_ml = {kcal_per_ml:?}"
        ))
    }

    pub fn taught_carer(self) -> Self {
        self.section("[[carer]]\nname = \"Carer\"\ntube_taught_by_vet = true")
    }

    /// A vet's order for the pup, given at an hour.
    pub fn order(self, hours: f64, keys: &str) -> Self {
        self.section(&format!("[[vet_order]]\npup = \"{PUP}\"\ngiven_at = {}\nvet = \"Dr Test\"\n{keys}", at(hours)))
    }

    pub fn weigh(self, hours: f64, grams: f64) -> Self {
        self.weigh_of(PUP, hours, grams)
    }

    pub fn weigh_of(mut self, pup: &str, hours: f64, grams: f64) -> Self {
        // As a scale that shows tenths of a gram.
        let grams = (grams * 10.0).round() / 10.0;
        writeln!(self.weighings, "{pup},{},{grams},before_feed", at(hours)).unwrap();
        self
    }

    /// Daily weighings, each this many percent above the last, up to and at the last hour.
    pub fn grows(mut self, birth_g: f64, percent_a_day: f64, last_h: f64) -> Self {
        let mut hours = last_h % DAY;
        while hours <= last_h + 1e-9 {
            if hours > 0.0 {
                let grams = birth_g * (1.0 + percent_a_day / 100.0).powf(hours / DAY);
                self = self.weigh(hours, grams);
            }
            hours += DAY;
        }
        self
    }

    pub fn check(self, hours: f64, kind: &str, value: &str) -> Self {
        self.check_of(PUP, hours, kind, value)
    }

    /// A check of another pup, or with an empty name of the dam, the box or the litter.
    pub fn check_of(mut self, pup: &str, hours: f64, kind: &str, value: &str) -> Self {
        writeln!(self.checks, "{pup},{},{kind},{value}", at(hours)).unwrap();
        self
    }

    /// Something done for a pup, or first seen of it; with an empty name for the dam.
    pub fn did(mut self, pup: &str, hours: f64, kind: &str, value: &str, product: &str) -> Self {
        writeln!(self.done, "{pup},{},{kind},{value},{product}", at(hours)).unwrap();
        self
    }

    pub fn rectal(self, hours: f64, celsius: &str) -> Self {
        self.check(hours, "rectal_temperature_c", celsius)
    }

    pub fn dam_check(self, hours: f64, kind: &str, value: &str) -> Self {
        self.check_of("", hours, kind, value)
    }

    /// A bottle, all of it taken.
    pub fn bottle(self, hours: f64, ml: f64) -> Self {
        self.bottle_left(hours, ml, ml)
    }

    pub fn bottle_left(mut self, hours: f64, offered: f64, taken: f64) -> Self {
        writeln!(self.feeds, "{PUP},{},bottle,{offered},{taken},replacer,,", at(hours)).unwrap();
        self
    }

    /// A bottle of which nobody wrote down what was taken.
    pub fn bottle_unrecorded(mut self, hours: f64, offered: f64) -> Self {
        writeln!(self.feeds, "{PUP},{},bottle,{offered},,replacer,,", at(hours)).unwrap();
        self
    }

    /// A nursing, weighed before and after.
    pub fn nursed(mut self, hours: f64, before_g: f64, after_g: f64) -> Self {
        writeln!(self.feeds, "{PUP},{},nursing,,,,{before_g},{after_g}", at(hours)).unwrap();
        self
    }

    pub fn facts(&self) -> Facts {
        let whelped = if self.is_whelped { format!("whelped_at = {BORN}\n") } else { String::new() };
        let toml = format!(
            "format = 1\n[litter]\nname = \"Invented\"\ntime_zone = \"UTC\"\nscale_step_g = 1\n{whelped}{}\n[dam]\n{}\n{}",
            self.keys, self.dam, self.sections
        );
        let bytes = |text: &str| Some(text.as_bytes().to_vec());
        parse(&FolderFiles {
            litter_toml: bytes(&toml),
            weighings_csv: bytes(&self.weighings),
            feeds_csv: bytes(&self.feeds),
            checks_csv: bytes(&self.checks),
            done_csv: bytes(&self.done),
            ..FolderFiles::default()
        })
        .unwrap_or_else(|problems| panic!("{problems:#?}\n{toml}\n{}\n{}\n{}", self.weighings, self.feeds, self.checks))
    }

    /// The whole line at an hour.
    pub fn line(&self, now: f64) -> Line {
        Line::run(&self.facts(), at(now))
    }

    pub fn today(&self, now: f64) -> Today {
        report::today(&self.facts(), at(now))
    }

    pub fn json(&self, now: f64) -> serde_json::Value {
        serde_json::to_value(self.today(now)).unwrap()
    }

    /// What the limits make of a feed for the one pup, planned at `now` for another hour.
    pub fn propose(&self, now: f64, at_h: f64, planned_ml: f64) -> Result<CheckedInstruction, Refusal> {
        let (facts, line) = (self.facts().known_at(at(now)), self.line(now));
        let strength = &line.milk.as_ref().expect("a milk in use").strength;
        let pup = &line.assessment.pups[0];
        let need = line.needs[0].as_ref().expect("a pup fed by hand");
        let given = checked::given(&facts, pup, strength);
        let planned = Millilitres::new(planned_ml).unwrap();
        checked::check(
            &facts,
            &Proposal { pup, need, at: at(at_h), planned, covers_h: 0.0, strength, by_tube: false, staff: &[] },
            &given,
            at(now),
        )
    }

    /// The level of a finding about the one pup, by its code.
    pub fn level(&self, now: f64, code: &str) -> Option<Level> {
        self.finding(now, code).map(|f| f.level)
    }

    /// A finding about the one pup, in plain spaces.
    pub fn finding(&self, now: f64, code: &str) -> Option<Finding> {
        let finding = pup(&self.line(now)).findings.iter().find(|f| f.code == code).cloned()?;
        Some(Finding { says: plain(&finding.says), action: plain(&finding.action), ..finding })
    }

    /// The level of a finding about the dam, the box or the birth, by its code.
    pub fn litter_level(&self, now: f64, code: &str) -> Option<Level> {
        self.line(now).assessment.litter_findings.iter().find(|f| f.code == code).map(|f| f.level)
    }

    pub fn need(&self, now: f64) -> Result<Need, NoneNeeded> {
        self.line(now).needs[0].clone()
    }

    /// The next feed of the one pup, or the words that stand in its place.
    pub fn next(&self, now: f64) -> Result<CheckedInstruction, String> {
        match &self.line(now).guide.next[0] {
            NextFeed::Feed(feed) => Ok(feed.clone()),
            NextFeed::Withheld(why) => Err(why.words()),
            NextFeed::NoneNeeded(none) => Err(none.words()),
        }
    }
}

/// A text with plain spaces, whichever kind keeps its numbers and units on one line.
pub fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

/// The only pup of a litter of one.
pub fn pup(line: &Line) -> &PupAssessment {
    let [pup] = &line.assessment.pups[..] else { panic!("a litter of one") };
    pup
}

/// Every amount of the next 24 hours, with its hour after `now`.
pub fn amounts(line: &Line, now: f64) -> Vec<(f64, f64)> {
    let instructions = line.guide.rounds.iter().flat_map(whelpward_core::guide::GuidedRound::instructions);
    instructions.map(|i| ((i.at() - at(now)).as_secs_f64() / 3600.0, i.amount().get())).collect()
}

/// Every reason for a feed that is withheld in the next 24 hours.
pub fn withheld(line: &Line) -> Vec<Refusal> {
    let feeds = line.guide.rounds.iter().flat_map(|r| &r.feeds);
    feeds
        .filter_map(|f| match f {
            RoundFeed::Withheld { why, .. } => Some(why.clone()),
            RoundFeed::Feed(_) => None,
        })
        .collect()
}

/// What must be true before a feed, in the words of the report.
pub fn only_after(feed: &CheckedInstruction) -> Vec<String> {
    feed.conditions().iter().map(|c| plain(&c.words())).collect()
}

/// Whether a condition beginning with these words stands before a feed.
pub fn asks(feed: &CheckedInstruction, words: &str) -> bool {
    only_after(feed).iter().any(|c| c.starts_with(words))
}

/// Every amount of milk anywhere in the report's JSON.
pub fn amounts_in(json: &serde_json::Value) -> Vec<f64> {
    let mut found = Vec::new();
    visit(json, &mut |object| found.extend(object.get("amount_ml").and_then(serde_json::Value::as_f64)));
    found
}

/// Calls `see` with every object of a JSON value.
pub fn visit(json: &serde_json::Value, see: &mut impl FnMut(&serde_json::Map<String, serde_json::Value>)) {
    match json {
        serde_json::Value::Object(map) => {
            see(map);
            map.values().for_each(|v| visit(v, see));
        }
        serde_json::Value::Array(items) => items.iter().for_each(|v| visit(v, see)),
        _ => {}
    }
}
