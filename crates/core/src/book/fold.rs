//! Any set of facts of one litter to the litter as it stands.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, OnceLock};

use super::questions::{Question, answers, settle_feeds, settle_weighings};
use super::{Fact, FactId, Kind, Receipt};
use crate::record::entries::{Draft, Instead, assemble, typed};
use crate::record::{Entry, Facts, Home, Problem};

/// The version of an entry that counts.
pub(super) struct Version {
    /// The first version: names the entry for ever.
    pub root: FactId,
    pub fact: Arc<Fact>,
}

/// A litter as its facts give it.
#[derive(Debug, Clone)]
pub struct Folded {
    /// None while the litter itself is missing or cannot be read.
    pub facts: Option<Facts>,
    /// Each pup's first fact with its name, in the order in which they were written down.
    pub pups: Vec<(FactId, String)>,
    pub questions: Vec<Question>,
    pub refused: Vec<Refused>,
    /// The facts that count, with the first version of each; sorted by id.
    counted: BTreeMap<FactId, (FactId, Arc<Fact>)>,
    /// The first version of each correction.
    roots: BTreeMap<FactId, FactId>,
    /// What stands in the folder: each fact with what its place in the litter changes of it.
    written: Vec<(Home, Arc<Fact>, Instead)>,
    entries: OnceLock<Vec<Entry>>,
}

/// A fact that counts but cannot be read beside the others.
#[derive(Debug, Clone)]
pub struct Refused {
    pub fact: FactId,
    pub problem: Problem,
}

/// One version of an entry.
#[derive(Debug, Clone)]
pub struct HistoryLine {
    pub fact: Arc<Fact>,
    pub counts: bool,
    pub voided_by: Option<FactId>,
}

impl Folded {
    /// Facts of a kind that count, in the order of their ids.
    pub fn of_kind(&self, kind: Kind) -> impl DoubleEndedIterator<Item = &Arc<Fact>> {
        self.counted.values().map(|(_, fact)| fact).filter(move |f| f.kind == kind)
    }

    /// The ids of the facts that count, sorted.
    pub fn counted(&self) -> impl ExactSizeIterator<Item = FactId> {
        self.counted.keys().copied()
    }

    /// The version that counts of the entry to which a fact belongs.
    #[must_use]
    pub fn current(&self, id: FactId) -> Option<&Arc<Fact>> {
        let root = self.roots.get(&id).copied().unwrap_or(id);
        self.counted.get(&id).or_else(|| self.counted.values().find(|(first, _)| *first == root)).map(|(_, fact)| fact)
    }

    #[must_use]
    pub fn pup_named(&self, name: &str) -> Option<FactId> {
        self.pups.iter().find(|(_, n)| n == name).map(|(id, _)| *id)
    }

    #[must_use]
    pub fn name_of(&self, pup: FactId) -> Option<&str> {
        self.pups.iter().find(|(id, _)| *id == pup).map(|(_, n)| n.as_str())
    }

    /// The same litter with these facts as the book holds them now: a receipt changes nothing of the
    /// state, so a fold from before they were saved is still right.
    #[must_use]
    pub fn with_receipts(mut self, saved: &[Arc<Fact>]) -> Self {
        let saved: HashMap<FactId, &Arc<Fact>> = saved.iter().map(|f| (f.id, f)).collect();
        let counted = self.counted.values_mut().map(|(_, fact)| fact);
        for held in counted.chain(self.written.iter_mut().map(|(_, fact, _)| fact)) {
            if let Some(fact) = saved.get(&held.id) {
                *held = Arc::clone(fact);
            }
        }
        self
    }

    /// What counts and reads, as the entries of a litter folder.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        self.entries.get_or_init(|| {
            let draft = |(home, fact, instead): &(Home, Arc<Fact>, Instead)| {
                Draft { home: *home, own: &fact.body, instead: instead.clone() }.entry()
            };
            self.written.iter().map(draft).collect()
        })
    }
}

/// Every version of the entry of one fact, oldest first.
#[must_use]
pub fn history(facts: &[Arc<Fact>], id: FactId) -> Vec<HistoryLine> {
    let tree = Tree::of(facts);
    let root = tree.root(id);
    let counts = tree.winners(&mut Vec::new()).get(&root).map(|f| f.id);
    let mut lines: Vec<HistoryLine> = tree
        .by_id
        .values()
        .filter(|f| f.kind != Kind::Void && tree.root(f.id) == root)
        .map(|f| HistoryLine {
            fact: Arc::clone(f),
            counts: counts == Some(f.id),
            voided_by: tree.voided.get(&f.id).copied(),
        })
        .collect();
    lines.sort_by_key(|l| l.fact.id);
    lines
}

/// How the time of an entry came in: the receipt of the version that said it. A correction of the weight alone
/// leaves the time as late and as uncertain as it was; one of the time has its own receipt.
#[must_use]
pub fn receipt_of_time<'f>(facts: &'f [Arc<Fact>], fact: &'f Fact) -> &'f Receipt {
    let is_of_the_same_time = |f: &Fact| f.kind == fact.kind && (f.occurred - fact.occurred).as_secs() == 0;
    let mut said = fact;
    // No more steps than there are facts, because what came from elsewhere may go in a ring.
    for _ in facts {
        let Some(earlier) = said.supersedes.and_then(|id| facts.iter().find(|f| f.id == id)) else { break };
        if !is_of_the_same_time(earlier) {
            break;
        }
        said = earlier;
    }
    &said.receipt
}

/// Which facts supersede and void which.
struct Tree<'f> {
    by_id: BTreeMap<FactId, &'f Arc<Fact>>,
    /// The version that each correction takes the place of; without rings.
    earlier: BTreeMap<FactId, FactId>,
    superseded: BTreeSet<FactId>,
    /// What is taken out, with the void that does it.
    voided: BTreeMap<FactId, FactId>,
}

impl<'f> Tree<'f> {
    fn of(facts: &'f [Arc<Fact>]) -> Self {
        let by_id: BTreeMap<FactId, &Arc<Fact>> = facts.iter().map(|f| (f.id, f)).collect();
        let mut earlier = BTreeMap::new();
        let mut voids = BTreeMap::new();
        for fact in by_id.values() {
            if let Some(target) = fact.supersedes
                && by_id.get(&target).is_some_and(|t| t.kind == fact.kind)
            {
                earlier.insert(fact.id, target);
            }
            if let (Kind::Void, Some(target)) = (fact.kind, fact.voids) {
                voids.insert(fact.id, target);
            }
        }
        break_rings(&mut earlier);
        let superseded = earlier.values().copied().collect();
        Self { by_id, earlier, superseded, voided: voided(&voids) }
    }

    /// The first version, as far back as it is known.
    fn root(&self, id: FactId) -> FactId {
        let mut at = id;
        while let Some(earlier) = self.earlier.get(&at) {
            at = *earlier;
        }
        at
    }

    /// The counting version of each entry, by the entry's first fact.
    fn winners(&self, questions: &mut Vec<Question>) -> BTreeMap<FactId, &'f Arc<Fact>> {
        let mut winners: BTreeMap<FactId, &Arc<Fact>> = BTreeMap::new();
        let mut withdrawn: Vec<(FactId, FactId)> = Vec::new();
        for (id, fact) in &self.by_id {
            if fact.kind == Kind::Void {
                continue;
            }
            if self.voided.contains_key(id) {
                withdrawn.push((self.root(*id), *id));
                continue;
            }
            if self.superseded.contains(id) {
                continue;
            }
            // Ids ascend, so the one made last stays.
            if let Some(other) = winners.insert(self.root(*id), fact) {
                questions.push(Question::CorrectedTwice { counts: *id, other: other.id });
            }
        }
        for (root, withdrawn) in withdrawn {
            if let Some(counts) = winners.get(&root) {
                questions.push(Question::WithdrawnAndCorrected { counts: counts.id, withdrawn });
            }
        }
        winners
    }
}

/// Facts that supersede each other in a ring: the one made first begins it.
fn break_rings(earlier: &mut BTreeMap<FactId, FactId>) {
    let mut done = BTreeSet::new();
    let mut firsts = Vec::new();
    for &start in earlier.keys() {
        let mut path = Vec::new();
        let mut at = Some(start);
        while let Some(id) = at.filter(|id| !done.contains(id)) {
            if let Some(begin) = path.iter().position(|p| *p == id) {
                firsts.extend(path[begin..].iter().min().copied());
                break;
            }
            path.push(id);
            at = earlier.get(&id).copied();
        }
        done.extend(path);
    }
    for first in firsts {
        earlier.remove(&first);
    }
}

/// What is taken out, with the void that does it. A void that a standing void takes out no longer
/// does anything; voids in a ring do nothing.
fn voided(voids: &BTreeMap<FactId, FactId>) -> BTreeMap<FactId, FactId> {
    let mut against: BTreeMap<FactId, Vec<FactId>> = BTreeMap::new();
    for (void, target) in voids {
        against.entry(*target).or_default().push(*void);
    }
    // By what speaks against each, not by time: the clocks of two phones differ.
    let mut stands: BTreeMap<FactId, bool> = BTreeMap::new();
    loop {
        let decided = stands.len();
        for void in voids.keys() {
            let by: &[FactId] = against.get(void).map_or(&[], Vec::as_slice);
            if by.iter().all(|v| stands.contains_key(v)) {
                stands.insert(*void, !by.iter().any(|v| stands[v]));
            }
        }
        if stands.len() == decided {
            break;
        }
    }
    voids.iter().filter(|(void, _)| stands.get(*void) == Some(&true)).map(|(void, target)| (*target, *void)).collect()
}

/// Folds facts of one litter into the litter.
///
/// The result is the same for any order of the facts, and for any of them given twice.
#[must_use]
pub fn fold(facts: &[Arc<Fact>]) -> Folded {
    let tree = Tree::of(facts);
    let mut questions = Vec::new();
    let winners = tree.winners(&mut questions);
    let pups = named_pups(&winners, &mut questions);
    let mut refused = Vec::new();
    let (versions, mut drafts) = versions(&winners, &pups, &mut refused);
    let answered = answers(winners.values().copied().filter(|f| f.kind == Kind::Answer), |id| tree.root(id));
    let assembled = assemble(&mut drafts, |events| {
        settle_feeds(events.feeds, &versions, &answered, &mut questions);
        settle_weighings(events.weighings, &versions, &mut questions);
    });
    let problems = assembled.refused.into_iter();
    refused.extend(problems.map(|(place, problem)| Refused { fact: versions[place].fact.id, problem }));
    let drafts = drafts.into_iter().zip(&versions).zip(assembled.counts);
    let written = drafts.filter(|(_, counts)| *counts).map(|((d, v), _)| (d.home, Arc::clone(&v.fact), d.instead));
    let written = written.collect();
    questions.sort();
    questions.dedup();
    refused.sort_by(|a, b| (a.fact, &a.problem).cmp(&(b.fact, &b.problem)));
    Folded {
        facts: assembled.facts,
        pups,
        questions,
        refused,
        roots: tree.earlier.keys().map(|id| (*id, tree.root(*id))).collect(),
        counted: winners.into_iter().map(|(root, f)| (f.id, (root, Arc::clone(f)))).collect(),
        written,
        entries: OnceLock::new(),
    }
}

/// The versions that belong into a folder, each with its entry at the same place.
fn versions<'f>(
    winners: &BTreeMap<FactId, &'f Arc<Fact>>,
    pups: &[(FactId, String)],
    refused: &mut Vec<Refused>,
) -> (Vec<Version>, Vec<Draft<'f>>) {
    let names: HashMap<FactId, &str> = pups.iter().map(|(id, name)| (*id, name.as_str())).collect();
    let leavings = leavings(winners, refused);
    let mut by_kind: BTreeMap<Kind, Vec<(Version, Draft<'f>)>> = BTreeMap::new();
    let mut same_named: HashMap<(Kind, String), usize> = HashMap::new();
    for (root, fact) in winners {
        let Some(home) = fact.kind.home() else { continue };
        let mut instead: Instead = Vec::new();
        match fact.kind {
            Kind::Litter if fact.litter != *root => continue,
            Kind::Litter => {
                // "When the first pup was born": until somebody says it of the litter, the pups do.
                let first = pups.iter().filter_map(|(pup, _)| winners.get(pup)).map(|f| f.occurred).min();
                if let (false, Some(first)) = (fact.body.contains_key("whelped_at"), first) {
                    instead.push(("whelped_at", Some(first.to_string().into())));
                }
            }
            Kind::Pup => {
                instead.push(("id", Some(names[root].into())));
                if let Some(leaving) = leavings.get(root) {
                    instead.extend(["left_at", "left_why"].map(|name| (name, leaving.body.get(name).cloned())));
                }
            }
            _ => {}
        }
        if fact.kind.is_in_envelope("carer")
            && let Some(carer) = &fact.carer
        {
            instead.push(("carer", Some(carer.as_str().into())));
        }
        if fact.kind.is_in_envelope("pup")
            && let Some(pup) = fact.pup
        {
            if let Some(name) = names.get(&pup) {
                instead.push(("pup", Some((*name).into())));
            } else {
                refused.push(Refused { fact: fact.id, problem: no_such_pup(fact.kind) });
                continue;
            }
        }
        let version = (Version { root: *root, fact: Arc::clone(fact) }, Draft { home, own: &fact.body, instead });
        let of_kind = by_kind.entry(fact.kind).or_default();
        // Two carers, milks or foods of one name are one, and there is one dam; the one made last is right.
        if let Some(name) = only_one_of(fact, home) {
            if let Some(place) = same_named.get(&(fact.kind, name.clone())) {
                let there = &mut of_kind[*place];
                if there.0.fact.id < version.0.fact.id {
                    *there = version;
                }
                continue;
            }
            same_named.insert((fact.kind, name), of_kind.len());
        }
        of_kind.push(version);
    }
    if let Some(milks) = by_kind.get_mut(&Kind::Milk) {
        let is_in_use = |d: &Draft<'_>| d.value("in_use").is_some_and(|v| typed(v).trim() == "true");
        let last = milks.iter().filter(|(_, d)| is_in_use(d)).map(|(v, _)| v.fact.id).max();
        for (version, draft) in milks {
            if Some(version.fact.id) != last {
                draft.instead.push(("in_use", None));
            }
        }
    }
    by_kind.into_values().flatten().unzip()
}

/// The name of which there can be only one entry; every pup is a pup of its own.
fn only_one_of(fact: &Fact, home: Home) -> Option<String> {
    match (fact.kind.row().name_key, home) {
        _ if fact.kind == Kind::Pup => None,
        (Some(key), _) => fact.body.get(key).map(|name| typed(name).trim().to_owned()),
        (None, Home::Section(section)) if !section.repeated => Some(String::new()),
        _ => None,
    }
}

fn no_such_pup(kind: Kind) -> Problem {
    problem_of(kind, "pup", "a pup that is not in the book".into(), "a pup of this litter".into())
}

fn problem_of(kind: Kind, name: &str, found: String, allowed: String) -> Problem {
    let file = kind.home().map_or(kind.word(), Home::name);
    Problem { file, line: 0, column: 0, name: name.into(), found, allowed }
}

/// Pups by the order in which they were written down; a second one of a name gets a number.
fn named_pups(winners: &BTreeMap<FactId, &Arc<Fact>>, questions: &mut Vec<Question>) -> Vec<(FactId, String)> {
    let mut pups: Vec<(FactId, String)> = Vec::new();
    for (root, fact) in winners.iter().filter(|(_, f)| f.kind == Kind::Pup) {
        let name = fact.body.get("id").map(typed).unwrap_or_default().trim().to_owned();
        let mut unique = name.clone();
        let mut number = 1;
        while let Some((first, _)) = pups.iter().find(|(_, n)| *n == unique) {
            if number == 1 {
                questions.push(Question::SameName { first: *first, second: *root });
            }
            number += 1;
            unique = format!("{name} ({number})");
        }
        pups.push((*root, unique));
    }
    pups
}

/// The leaving that counts for each pup: of several, the one made last. One that cannot be true
/// is refused here, so that it does not take the pup with it.
fn leavings<'f>(
    winners: &BTreeMap<FactId, &'f Arc<Fact>>,
    refused: &mut Vec<Refused>,
) -> BTreeMap<FactId, &'f Arc<Fact>> {
    let mut leavings: BTreeMap<FactId, &Arc<Fact>> = BTreeMap::new();
    for fact in winners.values().filter(|f| f.kind == Kind::Leaving) {
        let Some(id) = fact.pup else { continue };
        let problem = match winners.get(&id).filter(|p| p.kind == Kind::Pup) {
            None => no_such_pup(fact.kind),
            Some(pup) if fact.occurred < pup.occurred => {
                let allowed = format!("a time not before this pup's birth, {}", pup.occurred);
                problem_of(fact.kind, "left_at", fact.occurred.to_string(), allowed)
            }
            Some(_) => {
                let last = leavings.entry(id).or_insert(fact);
                if last.id < fact.id {
                    *last = fact;
                }
                continue;
            }
        };
        refused.push(Refused { fact: fact.id, problem });
    }
    leavings
}
