//! What the safety rules say, worked out from the invented litter alone.

use std::fmt::Write as _;

use jiff::Timestamp;
use whelpward_core::report::{self, Feed, FindingLine, PupLine, Today};

use super::folder::NAMES;
use super::litter::{DAY, H, Litter, Pup};

/// A litter with the answer that was given for it.
pub struct Case {
    pub litter: Litter,
    pub today: Today,
}

/// Writes the folder, reads it through the public parser and asks what to do now.
pub fn ask(litter: &Litter) -> Case {
    let mut litter = litter.clone();
    litter.drop_impossible_feeds();
    let today = report::today(&litter.texts().facts(), litter.at(0));
    Case { litter, today }
}

/// A planned feed: seconds from now, and the instruction.
pub struct Planned<'a> {
    pub at: i64,
    pub feed: &'a Feed,
}

impl Planned<'_> {
    /// Whether the amount is given only after this condition.
    pub fn has(&self, condition: &str) -> bool {
        self.feed.only_after.iter().any(|c| c.contains(condition))
    }
}

/// One pup beside what was said about it.
pub struct Seen<'a> {
    pub name: &'static str,
    pub pup: &'a Pup,
    pub line: &'a PupLine,
    pub feeds: Vec<Planned<'a>>,
}

impl Case {
    /// Every pup that is here.
    pub fn pups(&self) -> Vec<Seen<'_>> {
        NAMES
            .into_iter()
            .zip(&self.litter.pups)
            .filter(|(_, pup)| pup.is_here())
            .map(|(name, pup)| Seen {
                name,
                pup,
                line: self.today.pups.iter().find(|l| l.pup == name).expect("a pup that is here has its line"),
                feeds: self.feeds_of(name),
            })
            .collect()
    }

    /// Every amount shown for a pup anywhere, in order of time.
    pub fn feeds_of(&self, name: &str) -> Vec<Planned<'_>> {
        let rounds = self.today.rounds.iter().flat_map(|r| &r.feeds);
        let now = self.today.do_now.iter().flat_map(|a| &a.feeds);
        let next = self.today.pups.iter().filter_map(|p| p.next_feed.as_ref());
        let mut feeds: Vec<Planned<'_>> = Vec::new();
        for feed in rounds.chain(now).chain(next).filter(|f| f.pup == name) {
            let at = self.seconds_from_now(&feed.at);
            if !feeds.iter().any(|p| p.at == at && same_amount(p.feed.amount_ml, feed.amount_ml)) {
                feeds.push(Planned { at, feed });
            }
        }
        feeds.sort_by_key(|p| p.at);
        feeds
    }

    pub fn seconds_from_now(&self, iso: &str) -> i64 {
        let at: Timestamp = iso.parse().expect("times in the report are ISO 8601");
        at.as_second() - self.litter.now
    }

    /// The answer's most urgent level about dam, box and litter whose code satisfies a test.
    pub fn litter_level(&self, code: impl Fn(&str) -> bool) -> u8 {
        self.today
            .do_now
            .iter()
            .filter(|a| a.pups.is_empty() && code(&a.code))
            .map(|a| level(&a.kind))
            .max()
            .unwrap_or(0)
    }
}

/// A text with ordinary spaces: a number is kept beside its unit by one that does not break.
pub fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

fn same_amount(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

/// Levels in order: 4 vet now, 3 vet today, 2 needs help, 1 keep watch, 0 note.
pub fn level(words: &str) -> u8 {
    match words {
        "vet now" => 4,
        "vet today" => 3,
        "needs help" | "feed now" | "withheld" => 2,
        "keep watch" | "weigh now" => 1,
        _ => 0,
    }
}

pub const VET_NOW: u8 = 4;
pub const VET_TODAY: u8 = 3;
pub const NEEDS_HELP: u8 = 2;
pub const KEEP_WATCH: u8 = 1;

#[expect(clippy::cast_precision_loss, reason = "ages of pups")]
pub fn hours(seconds: i64) -> f64 {
    seconds as f64 / H as f64
}

/// "below 35.0 °C (days 0–6) or 36.0 °C (days 7–20)"; days 21 to 30 keep 36.0 as the floor of
/// "36.0–36.9 °C: watch". In thousandths of a degree.
pub fn cold_below(age: i64) -> i64 {
    if age < 7 * DAY { 35_000 } else { 36_000 }
}

impl Seen<'_> {
    /// Rectal readings known now: seconds ago and thousandths of °C, oldest first.
    pub fn rectal(&self) -> Vec<(i64, i64)> {
        readings(self.pup, &["rectal_temperature_c", "rectal_temperature_f"])
    }

    /// Skin, ear and infrared readings.
    pub fn other_readings(&self) -> Vec<(i64, i64)> {
        readings(self.pup, &["skin_temperature_c", "ear_temperature_c", "infrared_temperature_c"])
    }

    pub fn age_at(&self, planned: &Planned<'_>) -> i64 {
        self.pup.age + planned.at
    }

    /// Most mL in one stomach: below 20 per kg before 24 h of age, then at most 40.
    pub fn stomach(&self, planned: &Planned<'_>) -> f64 {
        let per_kg = if self.age_at(planned) < 24 * H { 20.0 } else { 40.0 };
        per_kg * planned.feed.weight_g / 1000.0
    }

    pub fn findings(&self) -> &[FindingLine] {
        &self.line.findings
    }

    /// The most urgent level of this pup.
    pub fn level(&self) -> u8 {
        self.findings().iter().map(|f| level(&f.level)).max().unwrap_or(0)
    }

    /// The level of findings whose code satisfies a test.
    pub fn level_of(&self, code: impl Fn(&str) -> bool) -> u8 {
        self.findings().iter().filter(|f| code(&f.code)).map(|f| level(&f.level)).max().unwrap_or(0)
    }

    /// Known weighings and the birth weight: seconds ago and g, oldest first.
    pub fn weights(&self) -> Vec<(i64, f64)> {
        let birth = self.pup.birth.map(|w| (self.pup.age, w.grams()));
        let weighed = self.pup.weighings.iter().filter(|w| w.ago >= 0).map(|w| (w.ago, w.weight.grams()));
        let mut all: Vec<(i64, f64)> = birth.into_iter().chain(weighed).collect();
        all.sort_by_key(|w| -w.0);
        all
    }

    /// Hand feeds known now, oldest first.
    pub fn hand_feeds(&self) -> Vec<&super::litter::Feed> {
        let mut feeds: Vec<_> = self.pup.feeds.iter().filter(|f| f.is_by_hand() && f.ago >= 0).collect();
        feeds.sort_by_key(|f| -f.ago);
        feeds
    }

    /// The vet's order in force at a time (seconds from now), if it was given by now.
    pub fn order_at(&self, at: i64) -> Option<&super::litter::Order> {
        self.pup.order.as_ref().filter(|o| o.given >= 0 && o.until_in.is_none_or(|until| until > at))
    }

    pub fn order_ends_inside_the_plan(&self) -> bool {
        self.pup.order.as_ref().and_then(|o| o.until_in).is_some_and(|until| (0..=DAY).contains(&until))
    }

    /// No weight of this pup is in doubt, and no slip was put in.
    pub fn is_clean(&self, case: &Case) -> bool {
        !self.pup.has_slip && !case.today.doubts.iter().any(|d| d.pup == self.name)
    }

    /// What a failure prints.
    pub fn story(&self) -> String {
        let mut text = format!("{}: standing {}, warmth {}", self.name, self.line.standing, self.line.warmth);
        for f in self.findings() {
            let _ = write!(text, "\n  [{}] {}: {} / {}", f.level, f.code, f.because, f.what_to_do);
        }
        for p in &self.feeds {
            let f = p.feed;
            let _ = write!(
                text,
                "\n  in {:.2} h {} mL by {} on {} g, after {:?}",
                hours(p.at),
                f.amount_ml,
                f.method,
                f.weight_g,
                f.only_after
            );
        }
        let _ = write!(text, "\n  none because {:?}", self.line.no_feed_because);
        text
    }
}

#[expect(clippy::cast_possible_truncation, reason = "temperatures")]
fn readings(pup: &Pup, kinds: &[&str]) -> Vec<(i64, i64)> {
    let mut all = Vec::new();
    for kind in kinds {
        for check in pup.checks_of(kind) {
            let number: f64 = check.value.parse().expect("a temperature");
            let celsius = if kind.ends_with("_f") { (number - 32.0) * 5.0 / 9.0 } else { number };
            all.push((check.ago, (celsius * 1000.0).round() as i64));
        }
    }
    all.sort_by_key(|r| -r.0);
    all
}
