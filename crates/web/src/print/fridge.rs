//! The sheet for the fridge: one day of feeds, with a box for each to write in.

use jiff::{SignedDuration, Timestamp};
use whelpward_core::record::Pup;
use whelpward_core::report::{Feed, RoundLine, red_flags};
use whelpward_core::units::{Grams, format_quantity};
use whelpward_print::{Block, Cell, Chart, Column, Document, Table, Text};

use super::source::Source;
use crate::access::qr_picture;
use crate::show::{amount, at_most, instant, ml, sentence};
use crate::words::{say, tell, word};

/// More rounds than this need paper laid across.
const ROUNDS_UPRIGHT: usize = 8;
/// More rounds than this leave a column too narrow for large letters.
const ROUNDS_LARGE: usize = 6;
/// Each of its dots is half a millimetre then, which a phone reads at arm's length (our own).
const CODE_MM: f32 = 24.0;

pub fn document(source: &Source) -> Document {
    let today = &source.today;
    // From the minute of the first round on, which may have been due already: no time stands there twice.
    let begins = today.rounds.first().map_or(source.now, |r| instant(&r.at).min(source.now));
    let minute = Timestamp::from_second(begins.as_second() - begins.as_second().rem_euclid(60)).unwrap_or(begins);
    let day = minute.saturating_add(SignedDuration::from_hours(24)).unwrap_or(begins);
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
    let mut ring = source.vets();
    ring.0.insert(0, Text::default().bold(format!("{} ", say("sheet-ring"))).0.remove(0));
    blocks.extend(with_code(source, flags.join(" ").into(), ring));
    blocks.push(Block::Write(say("sheet-later"), 1));
    let title = format!("{}: {}", say("sheet-title"), today.litter);
    Document { is_wide: rounds.len() > ROUNDS_UPRIGHT, ..source.document(title, blocks, true) }
}

/// When to ring and whom, beside a code that leads a phone to the litter where one can reach it.
fn with_code(source: &Source, when: Text, whom: Text) -> Vec<Block> {
    let Some(address) = &source.address else { return vec![Block::Text(when), Block::Text(whom)] };
    let says = tell("sheet-code-says", &[("address", address.as_str().into())]);
    let svg = qr_picture(address, &says).into_string();
    let when = when.small(format!(" {}", say("sheet-code")));
    vec![Block::Beside(vec![when, whom], Chart { svg, says, width_mm: CODE_MM })]
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
    let mut columns = vec![Column::new(say("pup"), 3.8), Column::new(say("sheet-a-feed"), 3.1)];
    for round in rounds {
        let at = source.clock_iso(&round.at);
        // A narrow column has no room for large letters, and a time must not break.
        let mut head = if is_narrow(rounds) { Text::default().small(at) } else { Text::default().plain(at) };
        for shift in &round.carers {
            head = head.small(format!(" {}", shift.carer));
        }
        columns.push(Column::new(head, 1.0));
    }
    let rows = source.pups_here().map(|pup| row(source, pup, rounds, common)).collect();
    Table { caption: say("sheet-table"), columns, rows, row_mm: 14.0 }
}

fn row(source: &Source, pup: &Pup, rounds: &[&RoundLine], common: Option<&str>) -> Vec<Cell> {
    let mine: Vec<Option<&Feed>> = rounds.iter().map(|r| r.feeds.iter().find(|f| f.pup == pup.id.0)).collect();
    let given: Vec<Planned<'_>> = rounds
        .iter()
        .zip(&mine)
        .filter_map(|(round, feed)| Some(Planned { at: source.clock_iso(&round.at), feed: (*feed)? }))
        .collect();
    let mut who = Source::cue(pup);
    if let Some(line) = source.line(&pup.id) {
        let gap = if pup.marks.is_empty() { "" } else { "; " };
        who = who.small(format!("{gap}{}", source.short_weight_words(line)));
    }
    // Why the next feed is none; later ones may have their own reasons, and a dash.
    let held = rounds.iter().take(if given.is_empty() { rounds.len() } else { 1 });
    let held = held.flat_map(|r| &r.withheld).find(|w| w.pup == pup.id.0);
    let mut row: Vec<Cell> = vec![vec![who], day_cell(&given, held.map(|w| w.because.as_str()), common)];
    // Room for the amount: above the ticks, or below them where they take two lines.
    let ticks = Text::default().small(say("sheet-passed"));
    let ticks = if is_narrow(rounds) { vec![ticks] } else { vec![Text::default().small("\u{a0}"), ticks] };
    row.extend(mine.iter().map(|feed| if feed.is_some() { ticks.clone() } else { vec!["–".into()] }));
    row
}

fn is_narrow(rounds: &[&RoundLine]) -> bool {
    rounds.len() > ROUNDS_LARGE
}

/// A feed with the time of its round.
struct Planned<'f> {
    at: String,
    feed: &'f Feed,
}

/// What is alike in one feed after another is said once, with the time from which it is so.
fn runs<T: PartialEq>(given: &[Planned<'_>], of: impl Fn(&Feed) -> T) -> Vec<(String, T)> {
    let mut runs: Vec<(String, T)> = Vec::new();
    for Planned { at, feed } in given {
        let value = of(feed);
        if runs.last().is_none_or(|(_, last)| *last != value) {
            runs.push((at.clone(), value));
        }
    }
    runs
}

fn from_words(at: &str) -> String {
    tell("sheet-from", &[("at", at.into())])
}

/// The amount of every feed, the way, the most, and what must be true first.
fn day_cell(given: &[Planned<'_>], held: Option<&str>, common: Option<&str>) -> Cell {
    let mut cell = Vec::new();
    if let Some(because) = held {
        cell.push(Text::default().bold(sentence(because)));
    }
    let Some(Planned { feed, .. }) = given.first() else {
        if held.is_none() {
            cell.push(say("sheet-by-dam").into());
        }
        return cell;
    };
    for (i, (at, amount)) in runs(given, amount).into_iter().enumerate() {
        let from = if i == 0 { Text::default() } else { Text::default().small(format!("{} ", from_words(&at))) };
        cell.push(from.large(amount));
    }
    let ways = runs(given, |f| format!("{}, {}", word("method", &f.method), most_words(f)));
    let ways: Vec<String> = ways
        .into_iter()
        .enumerate()
        .map(|(i, (at, way))| if i == 0 { way } else { format!("{} {way}", from_words(&at)) })
        .collect();
    cell.push(Text::default().small(ways.join("; ")));
    // What is open at the next feed is open at none of the later ones; the next one counts.
    let what = feed.only_after.join(", ");
    let what = what.strip_prefix(common.unwrap_or_default()).unwrap_or(&what).trim_start_matches(", ");
    if !what.is_empty() {
        cell.push(Text::default().small(tell("sheet-first", &[("what", what.into())])));
    }
    cell
}

fn most_words(feed: &Feed) -> String {
    tell("sheet-most", &[("most", at_most(feed).into())])
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
