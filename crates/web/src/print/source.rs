//! What every print is made from, and the words that prints share.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp};

use whelpward_app::{Loaded, OwnLitters};
use whelpward_core::book::{Fact, FactId, Folded, Kind, Refused, whole_milliseconds};
use whelpward_core::record::{CHECK_KINDS, Check, CheckKind, CheckValue, Facts, Feed, Method, Pup, PupId, entries};
use whelpward_core::report::clock::{self, clock};
use whelpward_core::report::{self, PupLine, Today, VetLine};
use whelpward_core::review::{Batch, Beside};
use whelpward_core::units::{Grams, Millilitres, format_change};
use whelpward_print::{Block, Document, Foot, Text};

use crate::cue::letter;
use crate::show::ml;
use crate::words::{say, tell, word};

/// A medicine that was given, in the words in which it was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    pub at: Timestamp,
    /// None: the dam or the whole litter.
    pub pup: Option<String>,
    pub product: String,
    pub as_given: String,
    pub lot: String,
    pub by: Option<String>,
}

/// An entry that does not fit the others, such as one from before the pup's birth.
pub struct Uncounted {
    /// None: of the dam, the box or the litter.
    pub pup: Option<String>,
    pub says: String,
}

/// A litter as it was known at a time.
pub struct Source {
    pub facts: Facts,
    pub now: Timestamp,
    pub today: Today,
    /// Only a book holds these; oldest first.
    pub given: Vec<Given>,
    /// Entries whose time is to be taken with care, with the words for it; only a book knows.
    told: BTreeMap<(Kind, Option<String>, Timestamp), String>,
    /// Entries that the book holds and cannot count, with whose they are, in words.
    pub uncounted: Vec<Uncounted>,
    pub beside: Beside,
    /// Where a phone finds the page *now* of this litter; none while no phone can.
    pub address: Option<String>,
}

/// A longer name is set in small letters; none is cut, because the rest may be what tells two pups apart.
const LONG_NAME: usize = 30;

/// Advice on paper is old after this time (our own).
const OLD_AFTER: SignedDuration = SignedDuration::from_hours(24);

impl Source {
    /// From the facts of a folder or a book; `loaded` adds what only a book holds.
    #[must_use]
    pub fn new(facts: &Facts, loaded: Option<&Loaded>, now: Timestamp) -> Self {
        let mut given: Vec<Given> = loaded.map(|l| given_of(&l.folded, now)).unwrap_or_default();
        given.sort_by_key(|g| g.at);
        let beside = loaded.map(|l| beside_of(l, &given, now)).unwrap_or_default();
        let told = loaded.map(told_of).unwrap_or_default();
        let uncounted = loaded.map(|l| uncounted_of(l, now)).unwrap_or_default();
        let (today, facts) = (report::today(facts, now), facts.known_at(now));
        Self { facts, now, today, given, told, uncounted, beside, address: None }
    }

    /// With what the household's closed litters say, which a review shows.
    #[must_use]
    pub fn with_own(mut self, own: OwnLitters) -> Self {
        self.beside.own = own.all;
        self.beside.own_sizes = own.sizes;
        self
    }

    /// With the address of the page *now*, which only a running server knows.
    #[must_use]
    pub fn reached_at(self, address: String) -> Self {
        Self { address: Some(address), ..self }
    }

    /// The pup of this name; the one that is most in need where none was asked for.
    pub fn pup_asked(&self, name: Option<&str>) -> Result<&Pup, String> {
        let name = match name {
            Some(name) => name,
            None => match (self.today.pups.first(), self.facts.pups.first()) {
                (Some(line), _) => &line.pup,
                (None, Some(pup)) => &pup.id.0,
                (None, None) => return Err(say("print-no-pup")),
            },
        };
        self.facts.pups.iter().find(|p| p.id.0 == name).ok_or_else(|| {
            let names: Vec<&str> = self.facts.pups.iter().map(|p| p.id.0.as_str()).collect();
            tell("print-which-pup", &[("pup", name.into()), ("pups", names.join(", ").into())])
        })
    }

    /// The pups that are in the litter now, in the order of their names.
    pub fn pups_here(&self) -> impl Iterator<Item = &Pup> {
        self.facts.pups.iter().filter(|p| p.is_here(self.now))
    }

    pub fn line(&self, pup: &PupId) -> Option<&PupLine> {
        self.today.pups.iter().find(|l| l.pup == pup.0)
    }

    /// `Fri 20 Nov, 03:15`: on paper "today" is over soon.
    pub fn when(&self, at: Timestamp) -> String {
        let zone = &self.facts.litter.zone;
        format!("{}, {}", clock::day(at, zone), clock(at, zone))
    }

    pub fn when_iso(&self, iso: &str) -> String {
        self.when(crate::show::instant(iso))
    }

    pub fn clock_iso(&self, iso: &str) -> String {
        clock(crate::show::instant(iso), &self.facts.litter.zone)
    }

    pub fn date(&self, at: Timestamp) -> String {
        at.to_zoned_datetime(self.facts.litter.zone.clone()).strftime("%-d %b %Y").to_string()
    }

    pub fn full_time(&self, at: Timestamp) -> String {
        clock::date_and_clock(at, &self.facts.litter.zone)
    }

    pub fn weight(&self, grams: Grams) -> String {
        self.facts.litter.weight_unit.print(grams)
    }

    pub fn weight_words(&self, line: &PupLine) -> String {
        let Some(weight) = &line.weight else { return say("never-weighed") };
        let at = line.weighed_at.as_deref().map(|iso| self.when_iso(iso)).unwrap_or_default();
        tell("weight-at", &[("weight", weight.as_str().into()), ("at", at.into())])
    }

    /// The same where a line is short; a weight of the last days needs no date.
    pub fn short_weight_words(&self, line: &PupLine) -> String {
        let at = line.weighed_at.as_deref().map(crate::show::instant);
        let (Some(weight), Some(at)) = (&line.weight, at) else { return self.weight_words(line) };
        if self.now.duration_since(at) > SignedDuration::from_hours(6 * 24) {
            return self.weight_words(line);
        }
        let at = at.to_zoned_datetime(self.facts.litter.zone.clone()).strftime("%a %H:%M").to_string();
        tell("weight-at", &[("weight", weight.as_str().into()), ("at", at.into())])
    }

    /// Weights of one pup with the one at birth first.
    pub fn weights(&self, pup: &Pup) -> Vec<(Timestamp, Grams)> {
        let mut all: Vec<_> = pup.birth_weight.map(|w| (pup.born_at, w)).into_iter().collect();
        all.extend(self.facts.weighings.iter().filter(|w| w.pup == pup.id).map(|w| (w.at, w.weight)));
        all.sort_by_key(|(at, _)| *at);
        all
    }

    /// Change over the last so many hours, by the weight nearest to their beginning, with the hours that
    /// really passed; none where no weight is near.
    pub fn gain_over(&self, pup: &Pup, hours: f64) -> Option<String> {
        let weights = self.weights(pup);
        let (last, now) = *weights.last()?;
        let passed = |at: Timestamp| whelpward_core::record::hours_between(at, last).get();
        let off = |at: Timestamp| (passed(at) - hours).abs();
        let (at, before) =
            *weights.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0))).filter(|(at, _)| off(*at) <= hours / 4.0)?;
        let hours = whelpward_core::units::number(passed(at), 0, false);
        Some(tell("print-gain", &[("change", format_change(now - before).into()), ("hours", hours.into())]))
    }

    /// One pup as it is told on paper: letter, name, marks.
    pub fn cue(pup: &Pup) -> Text {
        let (name, marks) = (format!(" {} ", pup.id.0), pup.marks.as_str());
        let sign = Text::default().large(letter(&pup.id.0, marks));
        let named = if pup.id.0.chars().count() > LONG_NAME { sign.small(name) } else { sign.bold(name) };
        named.small(marks)
    }

    /// The time of an entry of one pup, or of dam and box, with the words for one that is late or uncertain.
    pub fn when_told(&self, kind: Kind, pup: Option<&PupId>, at: Timestamp) -> String {
        self.with_told(self.when(at), kind, pup, at)
    }

    /// The same with the year.
    pub fn full_time_told(&self, kind: Kind, pup: Option<&PupId>, at: Timestamp) -> String {
        self.with_told(self.full_time(at), kind, pup, at)
    }

    fn with_told(&self, time: String, kind: Kind, pup: Option<&PupId>, at: Timestamp) -> String {
        match self.told.get(&(kind, pup.map(|p| p.0.clone()), whole_milliseconds(at))) {
            Some(told) => format!("{time} ({told})"),
            None => time,
        }
    }

    pub fn feed_words(&self, feed: &Feed) -> String {
        let what = match feed.method {
            Method::Nursing => say("event-nursing"),
            method => {
                let taken = feed.taken.map_or_else(|| say("not-recorded"), |t| ml(t.get()));
                tell("event-feed", &[("amount", taken.into()), ("method", word("method", method.word()).into())])
            }
        };
        let by = feed.carer.as_ref().map(|c| format!(", {c}")).unwrap_or_default();
        format!("{}: {what}{by}", self.when_told(Kind::Feed, Some(&feed.pup), feed.at))
    }

    pub fn check_words(&self, check: &Check) -> String {
        format!("{}: {}", self.when_told(Kind::Check, check.pup.as_ref(), check.at), check_value(check))
    }

    /// The newest check of a kind, of one pup or of dam and box.
    pub fn last_seen(&self, pup: Option<&PupId>, kind: CheckKind) -> String {
        match self.facts.latest(pup, kind) {
            Some(check) => format!("{} ({})", check_value(check), self.when_told(Kind::Check, pup, check.at)),
            None => format!("{}: {}", kind_word(kind), say("not-recorded")),
        }
    }

    pub fn vets(&self) -> Text {
        let mut text = Text::default();
        if self.today.vets.is_empty() {
            return text.plain(say("no-vet"));
        }
        for (place, VetLine { name, phone, hours }) in self.today.vets.iter().enumerate() {
            let hours = hours.as_ref().map(|h| format!(" ({h})")).unwrap_or_default();
            let gap = if place == 0 { "" } else { "   " };
            text = text.large(format!("{gap}{phone}")).plain(format!(" {name}{hours}"));
        }
        text
    }

    /// What stands below each page. `is_advice`: it is old after a day.
    pub fn foot(&self, is_advice: bool) -> Foot {
        let zone = self.facts.litter.zone.iana_name().unwrap_or("UTC").to_owned();
        let mark = if self.today.example_note.is_some() { format!("{} ", say("example-mark")) } else { String::new() };
        let mut text = mark
            + &tell(
                "print-made",
                &[
                    ("litter", self.facts.litter.name.as_str().into()),
                    ("at", self.full_time(self.now).into()),
                    ("zone", zone.into()),
                ],
            );
        if let Some(at) = self.facts.weighings.iter().map(|w| w.at).max() {
            text += " ";
            text += &tell("print-weights", &[("at", self.full_time(at).into())]);
        }
        if is_advice {
            let old = self.now.saturating_add(OLD_AFTER).unwrap_or(self.now);
            text += " ";
            text += &tell("print-old", &[("at", self.full_time(old).into())]);
        }
        let page_words =
            tell("print-page", &[("page", whelpward_print::PAGE.into()), ("pages", whelpward_print::PAGES.into())]);
        Foot { text, page_words }
    }

    pub fn document(&self, title: String, blocks: Vec<Block>, is_advice: bool) -> Document {
        Document { title, language: "en".into(), is_wide: false, blocks, foot: self.foot(is_advice) }
    }
}

pub fn kind_word(kind: CheckKind) -> String {
    CHECK_KINDS.iter().find(|r| r.kind == kind).map(|r| word("kind", r.word)).unwrap_or_default()
}

fn check_value(check: &Check) -> String {
    let value = match check.value {
        CheckValue::Temperature(t) => t.to_string(),
        CheckValue::Word(w) => word("value", w.text()),
    };
    format!("{}: {value}", kind_word(check.kind))
}

/// By kind, pup and time, as a fact and the record that is read from it both have them.
fn told_of(loaded: &Loaded) -> BTreeMap<(Kind, Option<String>, Timestamp), String> {
    let mut told = BTreeMap::new();
    for kind in [Kind::Weighing, Kind::Feed, Kind::Check, Kind::MedicineGiven] {
        for fact in loaded.folded.of_kind(kind) {
            let Some(marks) = crate::told::marks(&loaded.all, fact) else { continue };
            let pup = fact.pup.and_then(|id| loaded.folded.name_of(id)).map(str::to_owned);
            let said = kind.row().time_key.and_then(|key| fact.body.get(key)).map(entries::typed);
            let at = said.and_then(|text| text.parse().ok()).unwrap_or(fact.occurred);
            told.insert((kind, pup, whole_milliseconds(at)), marks);
        }
    }
    told
}

fn uncounted_of(loaded: &Loaded, now: Timestamp) -> Vec<Uncounted> {
    let of_refused = |refused: &Refused| {
        let fact = loaded.folded.current(refused.fact).filter(|f| f.occurred <= now)?;
        let words = [
            ("at", clock::date_and_clock(fact.occurred, &loaded.zone()).into()),
            ("what", crate::pup::what_words(fact).into()),
            ("allowed", refused.problem.allowed.as_str().into()),
        ];
        let pup = fact.pup.and_then(|id| loaded.folded.name_of(id)).map(str::to_owned);
        Some(Uncounted { pup, says: tell("print-uncounted", &words) })
    };
    loaded.folded.refused.iter().filter_map(of_refused).collect()
}

fn given_of(folded: &Folded, now: Timestamp) -> Vec<Given> {
    folded
        .of_kind(Kind::MedicineGiven)
        .filter(|fact| fact.occurred <= now)
        .map(|fact| {
            let text = |key: &str| fact.body.get(key).map(entries::typed).unwrap_or_default();
            Given {
                at: fact.occurred,
                pup: fact.pup.and_then(|id| folded.name_of(id)).map(str::to_owned),
                product: text("product"),
                as_given: text("as_given"),
                lot: text("lot"),
                by: fact.carer.clone(),
            }
        })
        .collect()
}

fn beside_of(loaded: &Loaded, given: &[Given], now: Timestamp) -> Beside {
    let number = |fact: &Fact, key: &str| {
        fact.body.get(key).map(entries::typed).and_then(|text| text.replace(',', ".").parse::<f64>().ok())
    };
    let batches = loaded.folded.of_kind(Kind::Batch).filter(|f| f.occurred <= now).filter_map(|fact| {
        let volume = Millilitres::new(number(fact, "volume_ml")?).ok()?;
        Some(Batch { at: fact.occurred, volume, powder: number(fact, "powder_g").and_then(|g| Grams::new(g).ok()) })
    });
    let is_weighing = |id: &FactId| loaded.all.iter().any(|f| f.id == *id && f.kind == Kind::Weighing);
    let corrected = loaded.all.iter().filter(|f| f.supersedes.or(f.voids).as_ref().is_some_and(is_weighing)).count();
    Beside {
        batches: batches.collect(),
        corrected_weighings: corrected,
        given: given.iter().filter_map(|g| Some((g.pup.clone()?, g.at))).collect(),
        ..Beside::default()
    }
}
