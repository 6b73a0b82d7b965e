//! The record that goes home with a pup. It holds nothing of the other pups' new owners.

use whelpward_core::record::{Done, DoneKind, Pup};
use whelpward_core::report::stages::{HomeLine, ItemLine, PupStages, stages};
use whelpward_core::units::number;
use whelpward_print::{Block, Chart, Column, Document, Table, Text};

use super::source::Source;
use super::vet::{listed, sex, weight_table};
use crate::chart;
use crate::pup::left_word;
use crate::show::{ml, sentence};
use crate::words::{say, tell, word};

/// What was done with a product, in the order of the record.
const TREATED: [DoneKind; 2] = [DoneKind::Worming, DoneKind::Vaccination];

/// What has a date that comes next, in the order of the list.
const NEXT: [DoneKind; 4] = [DoneKind::Worming, DoneKind::Vaccination, DoneKind::Chip, DoneKind::VetCheck];

/// What was first seen, in the order in which it usually comes.
const FIRSTS: [DoneKind; 9] = [
    DoneKind::EyesOpen,
    DoneKind::EarsOpen,
    DoneKind::Stands,
    DoneKind::Walks,
    DoneKind::FirstTeeth,
    DoneKind::Laps,
    DoneKind::FirstFood,
    DoneKind::EatsByItself,
    DoneKind::Weaned,
];

/// Feeds that show how the pup is fed now.
const LAST_FEEDS: usize = 4;

pub fn document(source: &Source, pup: &Pup) -> Document {
    let done: Vec<&Done> = source.facts.done.iter().filter(|d| d.pup.as_ref() == Some(&pup.id)).collect();
    let of = |kind: DoneKind| done.iter().copied().filter(move |d| d.kind == kind);
    let mut blocks = vec![identity(source, pup, &done)];
    for kind in TREATED {
        blocks.push(Block::Heading(2, word("done", kind.word())));
        blocks.push(treatments(source, &of(kind).collect::<Vec<_>>(), kind));
    }
    blocks.push(Block::Heading(2, say("owner-vet-checks")));
    blocks.push(listed(of(DoneKind::VetCheck).map(|d| in_words(source, d)).collect()));
    blocks.push(Block::Heading(2, say("owner-medicines")));
    let medicines = source.given.iter().filter(|g| g.pup.as_ref() == Some(&pup.id.0));
    blocks.push(listed(
        medicines
            .map(|g| {
                let lot = if g.lot.is_empty() { String::new() } else { format!(", {} {}", say("owner-lot"), g.lot) };
                format!("{}: {} {}{lot}", source.date(g.at), g.product, g.as_given).into()
            })
            .collect(),
    ));
    blocks.push(Block::Heading(2, say("owner-feeding")));
    blocks.extend(feeding(source, pup, &done));
    blocks.push(Block::Heading(2, say("owner-firsts")));
    blocks.push(listed(FIRSTS.into_iter().flat_map(of).map(|d| in_words(source, d)).collect()));
    blocks.push(Block::Heading(2, say("owner-met")));
    let met = [DoneKind::Socialising, DoneKind::Outing, DoneKind::Nails];
    blocks.push(listed(met.into_iter().flat_map(of).map(|d| in_words(source, d)).collect()));
    blocks.push(Block::Heading(2, say("pup-weights")));
    if let Some(drawn) = chart::drawn(&source.facts, pup, source.now) {
        blocks.push(Block::Chart(Chart { svg: drawn.svg.into_string(), says: drawn.sentence, width_mm: 120.0 }));
        blocks.push(Block::Text(Text::default().small(drawn.key)));
    }
    blocks.push(weight_table(source, pup, None));
    blocks.extend(dates(source, pup));
    blocks.push(Block::Heading(2, say("owner-vets")));
    blocks.push(Block::Text(source.vets()));
    blocks.push(Block::Text(say("owner-next").into()));
    source.document(format!("{}: {}", say("owner-title"), pup.id.0), blocks, false)
}

fn identity(source: &Source, pup: &Pup, done: &[&Done]) -> Block {
    let facts = &source.facts;
    let none = || say("not-recorded");
    let value = |kind: DoneKind| done.iter().rev().find(|d| d.kind == kind).and_then(|d| d.value.typed());
    let dated = |kind: DoneKind| done.iter().rev().find(|d| d.kind == kind).map(|d| source.date(d.at));
    let chip = match (value(DoneKind::Chip), dated(DoneKind::Chip)) {
        (Some(number), Some(date)) => tell("owner-chip-on", &[("number", number.into()), ("date", date.into())]),
        _ => none(),
    };
    let birth = pup.birth_weight.map_or_else(none, |w| source.weight(w));
    let line = |key: String, text: String| vec![vec![Text::default().bold(key)], vec![text.into()]];
    let mut rows = vec![
        line(say("owner-name"), pup.id.0.clone()),
        line(say("owner-breed"), facts.litter.breed.clone().unwrap_or_else(none)),
        line(say("owner-sex"), sex(pup)),
        line(say("owner-marks"), if pup.marks.is_empty() { none() } else { pup.marks.clone() }),
        line(say("owner-born"), source.full_time(pup.born_at)),
        line(say("owner-birth-weight"), birth),
        line(say("owner-litter"), facts.litter.name.clone()),
        line(say("owner-dam"), facts.dam.name.clone().unwrap_or_else(none)),
        line(word("done", "chip"), chip),
        line(word("done", "new_owner"), value(DoneKind::NewOwner).unwrap_or_else(none)),
        line(word("done", "home_day"), value(DoneKind::HomeDay).unwrap_or_else(none)),
    ];
    if let Some(left) = pup.left.filter(|l| l.at <= source.now) {
        let words = format!("{}, {}", left_word(left.why), source.date(left.at));
        rows.push(line(say("owner-left"), words));
    }
    let columns = vec![Column::new(say("owner-what"), 1.0), Column::new(say("owner-recorded"), 2.5)];
    Block::Table(Table { caption: say("owner-identity"), columns, rows, row_mm: 0.0 })
}

fn treatments(source: &Source, done: &[&Done], kind: DoneKind) -> Block {
    if done.is_empty() {
        return Block::Text(say("not-recorded").into());
    }
    let none = || say("not-recorded");
    let rows = done
        .iter()
        .map(|d| {
            let product = match d.value.typed() {
                Some(against) if kind == DoneKind::Vaccination => {
                    format!("{} ({against})", d.product.clone().unwrap_or_else(none))
                }
                _ => d.product.clone().unwrap_or_else(none),
            };
            [
                source.date(d.at),
                product,
                d.lot.clone().unwrap_or_else(none),
                d.as_given.clone().unwrap_or_else(none),
                d.by.clone().unwrap_or_else(none),
            ]
            .map(|text| vec![text.into()])
            .to_vec()
        })
        .collect();
    let columns = vec![
        Column::new(say("owner-date"), 1.2),
        Column::new(say("owner-product"), 2.2),
        Column::new(say("owner-lot"), 1.3),
        Column::new(say("owner-as-given"), 1.6),
        Column::new(say("owner-by"), 1.5),
    ];
    Block::Table(Table { caption: word("done", kind.word()), columns, rows, row_mm: 0.0 })
}

fn in_words(source: &Source, done: &Done) -> Text {
    let mut text = Text::default().plain(format!("{}: {}", source.date(done.at), word("done", done.kind.word())));
    let value = match (done.kind, done.value.typed()) {
        (DoneKind::VetCheck, Some(value)) => Some(word("check", &value)),
        (_, value) => value,
    };
    for more in [value, done.product.clone(), done.by.clone(), done.note.clone()].into_iter().flatten() {
        text = text.plain(format!(", {more}"));
    }
    text
}

/// The last meals by hand with their milk, the food that was written down, and how much a day.
fn feeding(source: &Source, pup: &Pup, done: &[&Done]) -> Vec<Block> {
    let mut items: Vec<Text> = Vec::new();
    if let Some(food) = done.iter().rev().find(|d| d.kind == DoneKind::FirstFood) {
        items.push(in_words(source, food));
    }
    if let Some(weaned) = done.iter().find(|d| d.kind == DoneKind::Weaned) {
        items.push(in_words(source, weaned));
    }
    if let Some(need) = source.line(&pup.id).and_then(|l| l.need.as_ref()) {
        let feeds = number(f64::from(need.feeds_per_day), 0, false);
        let words = [("amount", ml(need.by_hand_ml).into()), ("feeds", feeds.into())];
        items.push(tell("owner-by-hand", &words).into());
    }
    let last = source.facts.feeds.iter().rev().filter(|f| f.pup == pup.id && f.is_by_hand()).take(LAST_FEEDS);
    items.extend(last.map(|feed| {
        let milk = feed.milk.as_ref().map(|m| format!(", {m}")).unwrap_or_default();
        Text::from(format!("{}{milk}", source.feed_words(feed)))
    }));
    let mut blocks = vec![listed(items)];
    blocks.push(Block::Write(say("owner-feeding-write"), 3));
    blocks
}

/// What comes next and when it may go home; nothing for a pup that has left, whose new owner plans.
fn dates(source: &Source, pup: &Pup) -> Vec<Block> {
    let report = stages(&source.facts, source.now);
    let Some(mine) = report.pups.iter().find(|p| p.pup == pup.id.0) else { return Vec::new() };
    let mut blocks = vec![Block::Heading(2, say("owner-dates")), next_dates(mine)];
    blocks.push(Block::Heading(3, say("owner-home")));
    blocks.extend(home(&mine.home));
    blocks
}

fn next_dates(mine: &PupStages) -> Block {
    let rows = NEXT
        .into_iter()
        .map(|kind| {
            let of = |states: &[&str]| {
                let is_it = |i: &&ItemLine| i.record_as.as_deref() == Some(kind.word()) && states.contains(&&*i.state);
                mine.items.iter().filter(is_it).collect::<Vec<_>>()
            };
            let (when, rule) = match (of(&["late", "due", "coming"]).first(), of(&["done"]).last()) {
                (Some(next), _) => (window(next), Some(*next)),
                (None, Some(done)) => (
                    tell("owner-done-on", &[("day", done.done_on.as_deref().map_or_else(String::new, day).into())]),
                    None,
                ),
                (None, None) => (say("owner-no-date"), None),
            };
            let grounds = rule.map_or_else(Vec::new, |item| {
                vec![sentence(&item.because).into(), Text::default().small(&item.source.source)]
            });
            vec![vec![Text::default().bold(word("done", kind.word()))], vec![when.into()], grounds]
        })
        .collect();
    let columns = vec![
        Column::new(say("owner-what"), 1.2),
        Column::new(say("owner-when"), 1.6),
        Column::new(say("owner-rule"), 3.2),
    ];
    Block::Table(Table { caption: say("owner-dates"), columns, rows, row_mm: 0.0 })
}

/// `late: 13 Oct 2026 to 27 Oct 2026`.
fn window(item: &ItemLine) -> String {
    let days = match (&item.from, &item.to) {
        (Some(from), Some(to)) if from != to => {
            tell("stages-from-to", &[("from", day(from).into()), ("to", day(to).into())])
        }
        (Some(on), _) => day(on),
        (None, Some(by)) => tell("stages-by", &[("day", day(by).into())]),
        (None, None) => say("owner-no-date"),
    };
    if item.state == "late" { format!("{}: {days}", word("date", "late")) } else { days }
}

fn home(line: &HomeLine) -> Vec<Block> {
    let earliest = [("day", day(&line.earliest).into()), ("law", line.law.as_str().into())];
    let grounds = line.conditions.iter().map(|c| {
        let met = say(if c.is_met { "stages-met" } else { "stages-not-met" });
        Text::default().plain(format!("{met} {} ", sentence(&c.text))).small(&c.source.source)
    });
    vec![Block::Text(tell("owner-earliest", &earliest).into()), Block::List(grounds.collect())]
}

/// A day with its year: this paper is kept.
fn day(iso: &str) -> String {
    iso.parse().map_or_else(|_| iso.to_owned(), |d: jiff::civil::Date| d.strftime("%-d %b %Y").to_string())
}
