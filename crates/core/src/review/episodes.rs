//! Warnings and what came of them, as far as the record tells.
//!
//! - A *warning* of a pup lasts while it stands at "needs help" or "ring the vet", by the assessment of
//!   that time with what was known then; one that begins within a day of the last one goes on with it.
//! - *Trouble* of a pup is what the record shows of it: it died or was put to sleep, a vet gave an order for
//!   it, it was given a medicine, or feeding it by hand began after its first day while the dam nursed (a
//!   dam that is taken off her pups is her trouble, not theirs).
//! - A warning was *right* when trouble began during it or within [`OUTLOOK_H`] after its end, and *late* when
//!   that was less than [`LATE_WARNING_H`] after its beginning. Else it is *undecided* until [`OUTLOOK_H`] after its
//!   end, and *false* from then on: a pup that was helped in time without any of these is among the false ones,
//!   because the record cannot tell them apart.
//! - Trouble that no warning preceded within [`OUTLOOK_H`] was *missed*.
//!
//! All these words are our own definitions.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::gaps::is_off_the_dam;
use super::{Beside, middle};
use crate::assess::assess;
use crate::finding::{Level, Standing};
use crate::record::{Facts, LeftWhy, PupId, Rearing, hours_after, hours_between};

/// A warning with less than this before the trouble came late.
pub const LATE_WARNING_H: f64 = 12.0;
/// How long after a warning trouble still belongs to it.
pub const OUTLOOK_H: f64 = 72.0;
/// Warnings closer than this are one.
const JOINED_H: f64 = 24.0;
/// The litter is looked at where something was written down, at most this often.
const LOOK_H: f64 = 3.0;

/// How the warnings did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, JsonSchema)]
pub struct Warnings {
    pub warnings: usize,
    pub right: usize,
    /// Of the right ones.
    pub late: usize,
    /// Without trouble so far, and too new to be called false.
    pub undecided: usize,
    pub false_ones: usize,
    pub troubles: usize,
    pub missed: usize,
}

/// One warning of one pup.
#[derive(Debug, Clone, PartialEq)]
pub struct Episode {
    pub pup: PupId,
    /// When its first sign was seen.
    pub sign: Timestamp,
    pub from: Timestamp,
    pub to: Timestamp,
}

/// Every warning, in the order of their beginnings.
pub fn episodes(facts: &Facts, now: Timestamp) -> Vec<Episode> {
    let mut times: Vec<Timestamp> =
        facts.weighings.iter().map(|w| w.at).chain(facts.checks.iter().map(|c| c.at)).filter(|at| *at <= now).collect();
    times.sort();
    let mut all: Vec<Episode> = Vec::new();
    let mut looked: Option<Timestamp> = None;
    for (place, at) in times.iter().enumerate() {
        // The last entry of a round is looked at, so that all of the round is known.
        let is_soon = |next: &Timestamp| hours_between(*at, *next).get() < 1.0;
        if times.get(place + 1).is_some_and(is_soon) && looked.is_some_and(|l| hours_between(l, *at).get() < LOOK_H) {
            continue;
        }
        looked = Some(*at);
        for pup in assess(&facts.known_at(*at), *at).pups {
            if pup.standing < Standing::NeedsHelp {
                continue;
            }
            let urgent = pup.findings.iter().filter(|f| f.level >= Level::NeedsHelp);
            let sign = urgent.filter_map(|f| f.since).min().unwrap_or(*at).min(*at);
            let open = all.iter_mut().rev().find(|e| e.pup == pup.pup.id);
            match open {
                Some(open) if hours_between(open.to, *at).get() <= JOINED_H => open.to = *at,
                _ => all.push(Episode { pup: pup.pup.id.clone(), sign, from: *at, to: *at }),
            }
        }
    }
    all
}

/// Pup and time of everything that the record shows of trouble.
fn troubles(facts: &Facts, beside: &Beside, now: Timestamp) -> Vec<(PupId, Timestamp)> {
    let mut all: Vec<(PupId, Timestamp)> = Vec::new();
    for pup in &facts.pups {
        let lost = pup.left.filter(|l| matches!(l.why, LeftWhy::Died | LeftWhy::PutToSleep) && l.at <= now);
        all.extend(lost.map(|l| (pup.id.clone(), l.at)));
        let first = facts.hand_feeds(&pup.id).next().map(|f| f.at);
        let is_nursed = facts.dam.with_pups && pup.rearing != Rearing::HandFed;
        let is_the_pups = |at: &Timestamp| is_nursed && pup.age(*at).get() > 24.0 && !is_off_the_dam(facts, *at, *at);
        all.extend(first.filter(is_the_pups).map(|at| (pup.id.clone(), at)));
    }
    all.extend(facts.orders.iter().map(|o| (o.pup.clone(), o.given_at)));
    all.extend(beside.given.iter().map(|(pup, at)| (PupId(pup.clone()), *at)));
    all.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    // What follows within the outlook belongs to the same trouble.
    all.dedup_by(|later, first| later.0 == first.0 && hours_between(first.1, later.1).get() <= OUTLOOK_H);
    all
}

pub fn judge(facts: &Facts, beside: &Beside, episodes: &[Episode], now: Timestamp) -> Warnings {
    let troubles = troubles(facts, beside, now);
    let is_of =
        |e: &Episode, pup: &PupId, at: Timestamp| e.pup == *pup && e.from <= at && at <= hours_after(e.to, OUTLOOK_H);
    let first = |e: &Episode| troubles.iter().filter(|(pup, at)| is_of(e, pup, *at)).map(|(_, at)| *at).min();
    let right: Vec<(&Episode, Timestamp)> = episodes.iter().filter_map(|e| Some((e, first(e)?))).collect();
    let is_undecided = |e: &&Episode| first(e).is_none() && now <= hours_after(e.to, OUTLOOK_H);
    let undecided = episodes.iter().filter(is_undecided).count();
    Warnings {
        warnings: episodes.len(),
        right: right.len(),
        late: right.iter().filter(|(e, at)| hours_between(e.from, *at).get() < LATE_WARNING_H).count(),
        undecided,
        false_ones: episodes.len() - right.len() - undecided,
        troubles: troubles.len(),
        missed: troubles.iter().filter(|(pup, at)| !episodes.iter().any(|e| is_of(e, pup, *at))).count(),
    }
}

/// Middle hours from the first sign of a warning to the first hand feed, check or vet's order of that pup.
pub fn hours_to_action(facts: &Facts, episodes: &[Episode]) -> Option<f64> {
    let acted = |e: &Episode| {
        let feeds = facts.hand_feeds(&e.pup).map(|f| f.at);
        let checks = facts.checks.iter().filter(|c| c.pup.as_ref() == Some(&e.pup)).map(|c| c.at);
        let orders = facts.orders.iter().filter(|o| o.pup == e.pup).map(|o| o.given_at);
        let first = feeds.chain(checks).chain(orders).filter(|at| *at >= e.sign).min()?;
        Some(hours_between(e.sign, first).get())
    };
    middle(episodes.iter().filter_map(acted).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One pup, a warning of the third day, and what is known so many hours after its end; in the second litter the pup
    /// died in the fifth day.
    fn judged(hours_later: f64, has_died: bool) -> Warnings {
        let died = if has_died { "left_at = 2026-03-06T12:00:00Z\nleft_why = \"died\"\n" } else { "" };
        let toml = format!(
            "format = 1\n[litter]\nname = \"Fern\"\nbreed = \"Maltese\"\ntime_zone = \"UTC\"\nscale_step_g = 1\n\
             whelped_at = 2026-03-02T00:00:00Z\n[[pup]]\nid = \"Ash\"\nsex = \"female\"\nmarks = \"plain\"\n\
             born_at = 2026-03-02T00:00:00Z\n{died}"
        );
        let files = crate::record::FolderFiles { litter_toml: Some(toml.into()), ..Default::default() };
        let facts = crate::record::parse(&files).unwrap();
        let at = |text: &str| text.parse::<Timestamp>().unwrap();
        let (from, to) = (at("2026-03-04T06:00:00Z"), at("2026-03-04T12:00:00Z"));
        let warning = Episode { pup: facts.pups[0].id.clone(), sign: from, from, to };
        judge(&facts, &Beside::default(), &[warning], hours_after(to, hours_later))
    }

    #[test]
    fn a_warning_is_false_only_when_trouble_can_no_longer_belong_to_it() {
        let undecided = Warnings { warnings: 1, undecided: 1, ..Warnings::default() };
        assert_eq!(judged(0.0, false), undecided);
        assert_eq!(judged(OUTLOOK_H, false), undecided, "trouble at this very time would make it right");
        let false_one = Warnings { warnings: 1, false_ones: 1, ..Warnings::default() };
        assert_eq!(judged(OUTLOOK_H + 0.1, false), false_one);
        // It died 48 h after the end: until then nobody knew.
        assert_eq!(judged(47.0, true), undecided);
        assert_eq!(judged(48.0, true), Warnings { warnings: 1, right: 1, troubles: 1, ..Warnings::default() });
    }
}
