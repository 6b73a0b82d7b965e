//! `whelpward did`: what was done for pups, or first seen of them.

use whelpward_core::book::FactId;
use whelpward_core::record::{DONE_KINDS, DoneKind};

use super::args::Did;
use super::{Failed, Open, show, time};

pub async fn run(open: &Open, ask: Did) -> Result<String, Failed> {
    let litter = open.litter().await?;
    let loaded = open.book.load(litter.id).await?;
    let kind = ask.kind.trim().replace(['-', ' '], "_").to_lowercase();
    if DoneKind::from_word(&kind).is_none() {
        let words: Vec<&str> = DONE_KINDS.iter().map(|k| k.word).collect();
        let message = format!("\"{}\" is nothing that is written down so\nallowed: {}", ask.kind, words.join(", "));
        return Err(Failed::Message(message));
    }
    let mut pups: Vec<FactId> = Vec::new();
    let mut dam = false;
    let is_word = |name: &str, word: &str| name.eq_ignore_ascii_case(word) && loaded.folded.pup_named(name).is_none();
    for name in &ask.whom {
        if is_word(name, "all") {
            let here = loaded.facts()?.pups.iter().filter(|p| p.is_here(open.now));
            pups.extend(here.filter_map(|p| loaded.folded.pup_named(&p.id.0)));
        } else if is_word(name, "dam") {
            dam = true;
        } else {
            pups.push(loaded.pup(name)?);
        }
    }
    pups.sort_unstable();
    pups.dedup();
    let at = time::read(ask.when.at.as_deref(), &loaded.zone(), open.now)?;
    let did = whelpward_app::Did {
        kind,
        pups,
        dam,
        value: ask.value,
        product: ask.product,
        lot: ask.lot,
        as_given: ask.as_given,
        by: ask.by,
        note: ask.when.note,
    };
    let saved = whelpward_app::did(&open.book, &open.who, litter.id, did, at, open.now).await?;
    show::saved(&saved, ask.out.json)
}
