//! The sheet for the fridge: one day of feeds, with a box for each to write in.

use jiff::SignedDuration;
use whelpward_core::report::{Feed, RoundLine, red_flags};
use whelpward_core::units::{Grams, format_quantity};
use whelpward_print::{Block, Cell, Column, Document, Table, Text};

use super::source::Source;
use crate::show::{amount, at_most, instant, ml, sentence};
use crate::words::{say, tell, word};

/// More rounds than this need paper laid across.
const ROUNDS_UPRIGHT: usize = 8;

pub fn document(source: &Source) -> Document {
    let today = &source.today;
    let day = source.now.saturating_add(SignedDuration::from_hours(24)).unwrap_or(source.now);
    let rounds: Vec<&RoundLine> = today.rounds.iter().filter(|r| instant(&r.at) < day).collect();
    let mut first = Text::default().plain(source.full_time(source.now));
    let mut blocks = Vec::new();
    match rounds.first() {
        None => {
            blocks.push(Block::Text(first));
            blocks.push(Block::Text(say("sheet-no-feeds").into()));
        }
        Some(next) => {
            first = first.plain(". ").large(tell("feed-next-round", &[("at", source.when_iso(&next.at).into())]));
            blocks.push(Block::Text(first));
            let common = common_condition(&rounds);
            if let Some(what) = &common {
                blocks.push(Block::Text(
                    Text::default().bold(tell("sheet-all-first", &[("what", what.as_str().into())])),
                ));
            }
            blocks.push(Block::Table(table(source, &rounds, common.as_deref())));
            blocks.push(Block::Text(Text::default().small(say("sheet-boxes"))));
        }
    }
    blocks.extend(recipe(source));
    blocks.push(Block::Framed(Text::default().bold(format!("{}: ", say("sheet-stop"))).plain(say("feed-stop"))));
    // The last two are about weights, which the sheet does not show anew.
    let flags: Vec<String> = red_flags().pup.into_iter().take(6).map(|said| said.text).collect();
    blocks.push(Block::Text(flags.join(" ").into()));
    let mut ring = source.vets();
    ring.0.insert(0, Text::default().bold(format!("{} ", say("sheet-ring"))).0.remove(0));
    blocks.push(Block::Text(ring));
    blocks.push(Block::Write(say("sheet-later"), 1));
    let title = format!("{}: {}", say("sheet-title"), today.litter);
    Document { is_wide: rounds.len() > ROUNDS_UPRIGHT, ..source.document(title, blocks, true) }
}

/// What must be true before each pup's first feed, where it is the same for all of several.
fn common_condition(rounds: &[&RoundLine]) -> Option<String> {
    let first = rounds.first()?;
    let said: Vec<String> = first.feeds.iter().map(|f| f.only_after.join(", ")).collect();
    let shared = said.iter().min_by_key(|t| t.len())?;
    (said.len() > 1 && !shared.is_empty() && said.iter().all(|t| t.starts_with(shared.as_str())))
        .then(|| shared.clone())
}

fn table(source: &Source, rounds: &[&RoundLine], common: Option<&str>) -> Table {
    let mut columns = vec![Column::new(say("pup"), 3.2), Column::new(say("sheet-a-feed"), 3.4)];
    for round in rounds {
        let mut head = Text::default().plain(source.clock_iso(&round.at));
        for shift in &round.carers {
            head = head.small(format!(" {}", shift.carer));
        }
        columns.push(Column::new(head, 1.0));
    }
    let rows = source
        .pups_here()
        .map(|pup| {
            let mine: Vec<Option<&Feed>> = rounds.iter().map(|r| r.feeds.iter().find(|f| f.pup == pup.id.0)).collect();
            let given: Vec<&Feed> = mine.iter().flatten().copied().collect();
            let same = Same {
                amount: given.windows(2).all(|two| amount(two[0]) == amount(two[1])),
                how: given.windows(2).all(|two| at_most(two[0]) == at_most(two[1]) && two[0].method == two[1].method),
            };
            let mut who = Source::cue(pup);
            if let Some(line) = source.line(&pup.id) {
                who.push(Text::default().small(source.weight_words(line)));
            }
            // Why the next feed is none; later ones may have their own reasons, and a dash.
            let held = rounds.iter().take(if given.is_empty() { rounds.len() } else { 1 });
            let held = held.flat_map(|r| &r.withheld).find(|w| w.pup == pup.id.0);
            let mut row: Vec<Cell> = vec![who, day_cell(&given, same, held.map(|w| w.because.as_str()), common)];
            row.extend(mine.into_iter().map(|feed| match feed {
                Some(feed) => round_cell(feed, same),
                None => vec!["–".into()],
            }));
            row
        })
        .collect();
    Table { caption: say("sheet-table"), columns, rows, row_mm: 14.0 }
}

/// What is alike in all feeds of a pup, and so is said once.
#[derive(Clone, Copy)]
struct Same {
    amount: bool,
    /// The way, and the most that may be given.
    how: bool,
}

fn how_words(feed: &Feed) -> Text {
    let most = tell("sheet-most", &[("most", at_most(feed).into())]);
    Text::default().small(format!("{}, {most}", word("method", &feed.method)))
}

/// The amount of every feed, where all are alike, and what must be true first.
fn day_cell(given: &[&Feed], same: Same, held: Option<&str>, common: Option<&str>) -> Cell {
    let mut cell = Vec::new();
    if let Some(because) = held {
        cell.push(Text::default().bold(sentence(because)));
    }
    let Some(feed) = given.first() else {
        if held.is_none() {
            cell.push(say("sheet-by-dam").into());
        }
        return cell;
    };
    cell.push(if same.amount { Text::default().large(amount(feed)) } else { say("sheet-each").into() });
    if same.how {
        cell.push(how_words(feed));
    }
    // What is open at the next feed is open at none of the later ones; the next one counts.
    let what = feed.only_after.join(", ");
    let what = what.strip_prefix(common.unwrap_or_default()).unwrap_or(&what).trim_start_matches(", ");
    if !what.is_empty() {
        cell.push(Text::default().small(tell("sheet-first", &[("what", what.into())])));
    }
    cell
}

fn round_cell(feed: &Feed, same: Same) -> Cell {
    let mut cell = Vec::new();
    if !same.amount {
        cell.push(Text::default().large(amount(feed)));
    }
    if !same.how {
        cell.push(how_words(feed));
    }
    cell.push(Text::default().small("\u{a0}"));
    cell.push(Text::default().small(say("sheet-passed")));
    cell
}

fn recipe(source: &Source) -> Vec<Block> {
    let Some(batch) = &source.today.batch else { return Vec::new() };
    let mut text = Text::default().bold(format!("{} ", tell("sheet-milk", &[("milk", batch.milk.as_str().into())])));
    if let Some(powder) = &batch.powder {
        let recipe = tell(
            "mix-recipe",
            &[("powder", format_quantity(powder.powder_g, &Grams::ROW).into()), ("water", ml(powder.water_ml).into())],
        );
        let makes =
            tell("mix-makes", &[("volume", ml(batch.volume_ml).into()), ("wanted", ml(batch.wanted_ml).into())]);
        text = text.large(recipe).plain(format!(". {makes} "));
    }
    vec![Block::Text(text.plain(say("sheet-mixed")))]
}
