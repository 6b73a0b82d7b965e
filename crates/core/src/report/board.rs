//! Every pup of several households by urgency.

use jiff::Timestamp;

use super::{Action, Today};

/// The kinds of [`Action`], the most urgent first, as one household's own list has them.
const KINDS: &[&str] = &["vet now", "vet today", "needs help", "withheld", "feed now", "keep watch", "weigh now"];

/// One pup, or the dam, the box or the birth of a litter, with the most urgent thing that is to be done.
#[derive(Debug, Clone, Copy)]
pub struct BoardLine<'t> {
    /// Which of the litters that were given.
    pub litter: usize,
    /// The pup; none where it is about the dam, the box or the birth.
    pub pup: Option<&'t str>,
    /// doing well, keep watch, needs help or ring the vet; none where it is not about a pup.
    pub standing: Option<&'t str>,
    /// Nothing where nothing is to be done now.
    pub action: Option<&'t Action>,
}

/// A line for every pup of these litters, and one for each dam, box and birth that needs something. The most
/// urgent stands first; of the same kind, the one that has waited longest; then in the order given.
#[must_use]
pub fn board(litters: &[Today]) -> Vec<BoardLine<'_>> {
    let mut lines: Vec<BoardLine<'_>> = litters.iter().enumerate().flat_map(of_litter).collect();
    lines.sort_by_key(|line| {
        let waits = line.action.and_then(|a| a.since.as_deref()).and_then(|t| t.parse::<Timestamp>().ok());
        (line.action.map_or(KINDS.len(), rank), waits.unwrap_or(Timestamp::MAX))
    });
    lines
}

fn rank(action: &Action) -> usize {
    KINDS.iter().position(|kind| *kind == action.kind).unwrap_or(KINDS.len())
}

fn of_litter((litter, today): (usize, &Today)) -> impl Iterator<Item = BoardLine<'_>> {
    let most_urgent = |of: &dyn Fn(&&Action) -> bool| today.do_now.iter().filter(of).min_by_key(|a| rank(a));
    let pups: Vec<BoardLine<'_>> = today
        .pups
        .iter()
        .map(|pup| BoardLine {
            litter,
            pup: Some(&pup.pup),
            standing: Some(&pup.standing),
            action: most_urgent(&|a| a.pups.contains(&pup.pup)),
        })
        .collect();
    let others = today.do_now.iter().filter(|action| action.pups.is_empty()).map(move |action| BoardLine {
        litter,
        pup: None,
        standing: None,
        action: Some(action),
    });
    pups.into_iter().chain(others)
}
