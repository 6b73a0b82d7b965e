//! Sheets to write on, for when a pen is nearer than a screen. The page "from paper" takes them over.

use whelpward_print::{Block, Column, Document, Table, Text};

use super::source::Source;
use crate::words::{say, tell};

/// As many feeds as fit below each other.
const BLANK_FEEDS: usize = 17;

pub fn weigh_sheet(source: &Source) -> Document {
    let unit = crate::weigh::unit_sign(source.facts.litter.weight_unit);
    let columns = vec![
        Column::new(say("pup"), 2.6),
        Column::new(say("blank-last"), 2.2),
        Column::new(say("time"), 1.3),
        Column::new(tell("blank-weight", &[("unit", unit.into())]), 1.6),
        Column::new(say("weigh-change"), 1.3),
        Column::new(say("note-label"), 2.0),
    ];
    let rows = source
        .pups_here()
        .map(|pup| {
            let last = source.line(&pup.id).map_or_else(|| say("never-weighed"), |l| source.weight_words(l));
            vec![vec![Source::cue(pup)], vec![last.into()], vec![], vec![], vec![], vec![]]
        })
        .collect();
    let blocks = vec![
        Block::Text(say("blank-weigh-how").into()),
        Block::Table(Table { caption: say("blank-weigh-title"), columns, rows, row_mm: 14.0 }),
        Block::Write(say("sheet-later"), 1),
    ];
    source.document(format!("{}: {}", say("blank-weigh-title"), source.facts.litter.name), blocks, true)
}

pub fn feed_sheet(source: &Source) -> Document {
    let columns = vec![
        Column::new(say("time"), 1.4),
        Column::new(say("pup"), 2.2),
        Column::new(say("blank-offered"), 1.2),
        Column::new(say("blank-taken"), 1.2),
        Column::new(say("blank-method"), 1.5),
        Column::new(say("blank-who"), 1.5),
        Column::new(say("blank-passed"), 1.3),
        Column::new(say("note-label"), 2.0),
    ];
    let rows = vec![vec![Vec::new(); columns.len()]; BLANK_FEEDS];
    let names: Vec<String> =
        source.pups_here().map(|p| format!("{} {}", crate::cue::letter(&p.id.0, &p.marks), p.id.0)).collect();
    let blocks = vec![
        Block::Text(Text::default().plain(say("blank-feed-how"))),
        Block::Text(Text::default().bold(format!("{}: ", say("blank-pups"))).plain(names.join(", "))),
        Block::Table(Table { caption: say("blank-feed-title"), columns, rows, row_mm: 9.5 }),
    ];
    source.document(format!("{}: {}", say("blank-feed-title"), source.facts.litter.name), blocks, true)
}
