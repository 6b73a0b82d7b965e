//! The page for the vet: one pup in nine parts, the last of which says what is not known.

use whelpward_core::book::Kind;
use whelpward_core::record::{CheckKind, LeftWhy, Pup, PupId};
use whelpward_core::report::box_temperature;
use whelpward_core::units::number;
use whelpward_print::{Block, Chart, Column, Document, Table, Text};

use super::source::Source;
use crate::chart;
use crate::show::{age_words, gain_words, sentence};
use crate::words::{say, tell, word};

const LAST_FEEDS: usize = 6;
const LAST_CHECKS: usize = 8;
/// Newest weights in the table beside the chart.
const LAST_WEIGHTS: usize = 10;

/// Seen of the dam, in the order in which a vet asks.
const DAM: [CheckKind; 6] = [
    CheckKind::DamTemperature,
    CheckKind::DamAppetite,
    CheckKind::DamDischarge,
    CheckKind::DamGlands,
    CheckKind::DamMilk,
    CheckKind::DamBehaviour,
];

pub fn document(source: &Source, pup: &Pup) -> Document {
    let mut blocks = vec![Block::Text(source.vets())];
    if let Some(said) = &source.today.if_no_answer {
        blocks.push(Block::Text(sentence(&said.text).into()));
    }
    blocks.push(Block::Text(who(source)));
    blocks.push(Block::Heading(2, say("vet-why")));
    blocks.extend(why(source, pup));
    blocks.push(Block::Heading(2, tell("vet-pup", &[("pup", pup.id.0.as_str().into())])));
    blocks.extend(about(source, pup));
    blocks.push(Block::Heading(2, say("vet-mates")));
    blocks.push(mates(source, pup));
    blocks.push(Block::Heading(2, say("vet-dam-title")));
    blocks.push(Block::Text(sentence(&source.today.dam).into()));
    blocks.push(Block::Text(DAM.map(|kind| source.last_seen(None, kind)).join("; ").into()));
    blocks.push(Block::Heading(2, say("vet-box")));
    blocks.push(Block::Text(the_box(source).into()));
    blocks.push(Block::Heading(2, say("vet-given")));
    blocks.push(given(source, pup));
    blocks.push(Block::Heading(2, say("vet-unknown")));
    blocks.push(unknown(source, pup));
    blocks.push(Block::NewPage);
    blocks.push(Block::Heading(2, say("pup-weights")));
    blocks.extend(weights(source, pup));
    source.document(format!("{}: {}", say("vet-title"), pup.id.0), blocks, true)
}

fn who(source: &Source) -> Text {
    let facts = &source.facts;
    let mut text = Text::default().bold(format!("{}. ", facts.litter.name));
    if let Some(dam) = &facts.dam.name {
        text = text.plain(format!("{} ", tell("vet-dam-name", &[("dam", dam.as_str().into())])));
    }
    text = text.plain(match &facts.litter.breed {
        Some(breed) => format!("{breed}. "),
        None => format!("{} ", say("vet-no-breed")),
    });
    if let Some(weight) = facts.dam.weight {
        let weight = format!("{}\u{a0}kg", number(weight.get() / 1000.0, 1, false));
        text = text.plain(format!("{} ", tell("vet-dam-weight", &[("weight", weight.into())])));
    }
    let lost = facts
        .pups
        .iter()
        .filter_map(|p| p.left.filter(|l| l.at <= source.now))
        .filter(|l| matches!(l.why, LeftWhy::Stillborn | LeftWhy::Died | LeftWhy::PutToSleep))
        .count();
    let counts =
        [("born", source.today.pups_born.into()), ("here", source.today.pups_here.into()), ("lost", lost.into())];
    text = text.plain(tell("vet-counts", &counts));
    match facts.litter.whelped_at {
        Some(at) => text.plain(format!(" {}", tell("vet-born", &[("at", source.full_time(at).into())]))),
        None => text,
    }
}

fn why(source: &Source, pup: &Pup) -> Vec<Block> {
    let reasons: Vec<_> =
        source.today.do_now.iter().filter(|a| a.pups.contains(&pup.id.0) && a.kind != "feed now").collect();
    let mut blocks: Vec<Block> = reasons
        .iter()
        .take(4)
        .map(|reason| {
            let since = reason.since.as_ref().map_or_else(String::new, |since| {
                format!(" {}", tell("since", &[("at", source.when_iso(since).into())]))
            });
            let text = Text::default().bold(format!("{}: ", reason.kind));
            Block::Text(text.plain(format!("{}{since}", sentence(&reason.because))))
        })
        .collect();
    if blocks.is_empty() {
        let standing = source.line(&pup.id).map_or_else(|| say("vet-not-here"), |l| l.standing.clone());
        let words = [("pup", pup.id.0.as_str().into()), ("standing", standing.into())];
        blocks.push(Block::Text(tell("vet-no-reason", &words).into()));
    }
    blocks
}

fn about(source: &Source, pup: &Pup) -> Vec<Block> {
    let age = pup.age(source.now).get();
    let mut text = Text::default().plain(format!("{}. ", pup.marks));
    if pup.marks.is_empty() {
        text = Text::default();
    }
    let hours = number(age.max(0.0).floor(), 0, false);
    text = text.bold(tell("vet-age", &[("age", age_words(age).into()), ("hours", hours.into())]));
    text = text.plain(", ").plain(sex(pup)).plain(". ");
    let birth = pup.birth_weight.map_or_else(|| say("not-recorded"), |w| source.weight(w));
    let line = source.line(&pup.id);
    let band = line.map(|l| l.birth_band.clone()).unwrap_or_default();
    text = text.plain(tell("vet-birth", &[("weight", birth.into()), ("band", band.into())]));
    let mut blocks = vec![Block::Text(text)];
    if let Some(line) = line {
        let mut now = Text::default().bold(source.weight_words(line));
        if let Some(percent) = line.change_from_birth_percent {
            let sign = if percent > 0.0 { "+" } else { "" };
            let percent = format!("{sign}{}", number(percent, 1, false));
            now = now.plain(format!(". {}", tell("chart-from-birth", &[("percent", percent.into())])));
        }
        for hours in [24.0, 48.0] {
            if let Some(gain) = source.gain_over(pup, hours) {
                now = now.plain(format!(" {gain}"));
            }
        }
        if let Some(gain) = gain_words(line) {
            now = now.plain(format!(" {}", sentence(&gain)));
        }
        blocks.push(Block::Text(now));
    }
    blocks.push(Block::Text(source.last_seen(Some(&pup.id), CheckKind::RectalTemperature).into()));
    let feeds: Vec<String> = source
        .facts
        .feeds
        .iter()
        .rev()
        .filter(|f| f.pup == pup.id)
        .take(LAST_FEEDS)
        .map(|f| source.feed_words(f))
        .collect();
    blocks.push(row(&say("vet-feeds"), &feeds));
    let checks: Vec<String> = source
        .facts
        .checks
        .iter()
        .rev()
        .filter(|c| c.pup.as_ref() == Some(&pup.id))
        .take(LAST_CHECKS)
        .map(|c| source.check_words(c))
        .collect();
    blocks.push(row(&say("vet-checks"), &checks));
    blocks
}

/// Entries behind each other, so that all of the page fits on one sheet.
fn row(label: &str, items: &[String]) -> Block {
    let words = if items.is_empty() { say("not-recorded") } else { items.join("; ") };
    Block::Text(Text::default().bold(format!("{label}: ")).plain(words))
}

pub fn sex(pup: &Pup) -> String {
    use whelpward_core::record::Sex;
    let text = match pup.sex {
        Sex::Female => "female",
        Sex::Male => "male",
        Sex::Unknown => "unknown",
    };
    word("sex", text)
}

/// A list, or that nothing is recorded.
pub fn listed(items: Vec<Text>) -> Block {
    if items.is_empty() { Block::Text(say("not-recorded").into()) } else { Block::List(items) }
}

fn mates(source: &Source, pup: &Pup) -> Block {
    listed(
        source
            .today
            .pups
            .iter()
            .filter(|l| l.pup != pup.id.0)
            .map(|mate| {
                let gain = gain_words(mate).map(|g| format!(", {g}")).unwrap_or_default();
                Text::default().bold(format!("{}: ", mate.pup)).plain(format!(
                    "{}. {}{gain}",
                    mate.standing,
                    source.weight_words(mate)
                ))
            })
            .collect(),
    )
}

fn the_box(source: &Source) -> String {
    let report = box_temperature::box_temperature(&source.facts, source.now);
    let last: Vec<String> = report
        .readings
        .iter()
        .rev()
        .take(3)
        .map(|r| {
            let target = r.target.map_or_else(String::new, |(low, high)| {
                let bounds = [("low", low.to_string().into()), ("high", high.to_string().into())];
                format!(" ({})", tell("vet-box-target", &bounds))
            });
            format!("{}: {}{target}", source.when_told(Kind::Check, None, r.at), r.temperature)
        })
        .collect();
    if last.is_empty() { say("box-never") } else { last.join("; ") }
}

fn given(source: &Source, pup: &Pup) -> Block {
    listed(
        source
            .given
            .iter()
            .filter(|g| g.pup.as_ref().is_none_or(|p| *p == pup.id.0))
            .map(|g| {
                let by = g.by.as_ref().map(|b| format!(", {b}")).unwrap_or_default();
                let whom = if g.pup.is_none() { format!(" ({})", say("vet-given-all")) } else { String::new() };
                let pup = g.pup.clone().map(PupId);
                let at = source.when_told(Kind::MedicineGiven, pup.as_ref(), g.at);
                format!("{at}: {} {}{by}{whom}", g.product, g.as_given).into()
            })
            .collect(),
    )
}

fn weights(source: &Source, pup: &Pup) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(drawn) = chart::drawn(&source.facts, pup, source.now) {
        blocks.push(Block::Chart(Chart { svg: drawn.svg.into_string(), says: drawn.sentence, width_mm: 95.0 }));
        blocks.push(Block::Text(Text::default().small(drawn.key)));
    }
    blocks.push(weight_table(source, pup, Some(LAST_WEIGHTS)));
    blocks
}

/// Weights of one pup, newest first; all of them, or the last ones.
pub fn weight_table(source: &Source, pup: &Pup, most: Option<usize>) -> Block {
    let weights = source.weights(pup);
    if weights.is_empty() {
        return Block::Text(say("never-weighed").into());
    }
    let rows = weights
        .iter()
        .enumerate()
        .rev()
        .take(most.unwrap_or(usize::MAX))
        .map(|(i, (at, grams))| {
            let change = match i.checked_sub(1).map(|before| weights[before]) {
                Some((before_at, before)) => {
                    let hours = whelpward_core::record::hours_between(before_at, *at).get();
                    let words = [
                        ("change", whelpward_core::units::format_change(*grams - before).into()),
                        ("hours", number(hours, 0, false).into()),
                    ];
                    tell("print-change", &words)
                }
                None => say("chart-birth"),
            };
            vec![
                vec![source.full_time_told(Kind::Weighing, Some(&pup.id), *at).into()],
                vec![source.weight(*grams).into()],
                vec![change.into()],
            ]
        })
        .collect();
    let columns = vec![
        Column::new(say("time"), 2.0),
        Column::new(say("weigh-weight"), 1.0),
        Column::new(say("weigh-change"), 1.5),
    ];
    let caption = tell("chart-table-of", &[("pup", pup.id.0.as_str().into())]);
    Block::Table(Table { caption, columns, rows, row_mm: 0.0 })
}

/// What the program misses, and what nobody wrote down of this pup.
fn unknown(source: &Source, pup: &Pup) -> Block {
    let mut items: Vec<Text> = source.today.missing.iter().map(|text| sentence(text).into()).collect();
    let has = |kind: CheckKind| source.facts.latest(Some(&pup.id), kind).is_some();
    let missing: Vec<String> = [
        CheckKind::RectalTemperature,
        CheckKind::Suck,
        CheckKind::Stool,
        CheckKind::Urine,
        CheckKind::Gums,
        CheckKind::Palate,
    ]
    .into_iter()
    .filter(|kind| !has(*kind))
    .map(super::source::kind_word)
    .collect();
    if !missing.is_empty() {
        let words = [("pup", pup.id.0.as_str().into()), ("what", missing.join(", ").into())];
        items.push(tell("vet-never-checked", &words).into());
    }
    if source.facts.feeds.iter().any(|f| f.pup == pup.id && f.is_by_hand() && f.taken.is_none()) {
        items.push(say("vet-untold-amounts").into());
    }
    let is_of_pup = |of: &Option<String>| of.as_ref().is_none_or(|name| *name == pup.id.0);
    items.extend(source.uncounted.iter().filter(|u| is_of_pup(&u.pup)).map(|u| u.says.as_str().into()));
    items.push(say("vet-parity").into());
    Block::List(items)
}
