//! The red-flag card on paper.

use whelpward_core::report::{Said, red_flags};
use whelpward_print::{Block, Document, Text};

use super::source::Source;
use crate::words::say;

pub fn document(source: &Source) -> Document {
    let card = red_flags();
    let mut sources = Vec::new();
    let mut blocks = vec![Block::Text(source.vets()), Block::Framed(say("help-caution").into())];
    blocks.extend(part(&say("help-steps"), &card.steps, &mut sources));
    blocks.extend(part(&say("help-pup"), &card.pup, &mut sources));
    blocks.extend(part(&say("help-dam"), &card.dam, &mut sources));
    for one in &card.emergencies {
        blocks.extend(part(one.what, &one.steps, &mut sources));
    }
    blocks.push(Block::Heading(2, say("help-sources")));
    let numbered: Vec<String> = sources.iter().enumerate().map(|(i, text)| format!("{} {text}", i + 1)).collect();
    blocks.push(Block::Text(Text::default().small(numbered.join(". ") + ".")));
    source.document(format!("{}: {}", say("help-title"), source.facts.litter.name), blocks, false)
}

/// The lines, each with the number of its source: a card must be read at a glance.
fn part(title: &str, said: &[Said], sources: &mut Vec<String>) -> [Block; 2] {
    let mut numbered = |one: &Said| {
        let known = sources.iter().position(|s| *s == one.source.source);
        let place = known.unwrap_or_else(|| {
            sources.push(one.source.source.clone());
            sources.len() - 1
        });
        Text::default().plain(&one.text).small(format!(" [{}]", place + 1))
    };
    [Block::Heading(2, title.to_owned()), Block::List(said.iter().map(&mut numbered).collect())]
}
