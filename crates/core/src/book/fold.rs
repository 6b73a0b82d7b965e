//! Any set of facts of one litter to the litter as it stands.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use serde_json::Value;

use super::questions::{Question, answers, settle_feeds, settle_weighings};
use super::{Fact, FactId, Kind};
use crate::record::entries::assemble;
use crate::record::{Entry, Facts, Home, Problem};

/// The version of an entry that counts.
#[derive(Debug, Clone)]
pub(super) struct Version {
    /// The first version: names the entry for ever.
    pub root: FactId,
    pub fact: Arc<Fact>,
    pub entry: Entry,
    pub is_left_out: bool,
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
    entries: Vec<Entry>,
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
        self.counted
            .get(&id)
            .map(|(_, f)| f)
            .or_else(|| self.counted.values().find(|(root, _)| *root == id).map(|(_, f)| f))
    }

    #[must_use]
    pub fn pup_named(&self, name: &str) -> Option<FactId> {
        self.pups.iter().find(|(_, n)| n == name).map(|(id, _)| *id)
    }

    #[must_use]
    pub fn name_of(&self, pup: FactId) -> Option<&str> {
        self.pups.iter().find(|(id, _)| *id == pup).map(|(_, n)| n.as_str())
    }

    /// What counts, as the entries of a litter folder.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
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

/// Which facts supersede and void which.
struct Tree<'f> {
    by_id: BTreeMap<FactId, &'f Arc<Fact>>,
    superseded: BTreeSet<FactId>,
    voided: BTreeMap<FactId, FactId>,
}

impl<'f> Tree<'f> {
    fn of(facts: &'f [Arc<Fact>]) -> Self {
        let by_id: BTreeMap<FactId, &Arc<Fact>> = facts.iter().map(|f| (f.id, f)).collect();
        let mut superseded = BTreeSet::new();
        let mut voids = Vec::new();
        for fact in by_id.values() {
            if let Some(target) = fact.supersedes
                && by_id.get(&target).is_some_and(|t| t.kind == fact.kind)
            {
                superseded.insert(target);
            }
            if let (Kind::Void, Some(target)) = (fact.kind, fact.voids) {
                voids.push((fact.id, target));
            }
        }
        // Latest first: a void that is itself void no longer takes anything out.
        let mut voided = BTreeMap::new();
        for (void, target) in voids.into_iter().rev() {
            if !voided.contains_key(&void) {
                voided.entry(target).or_insert(void);
            }
        }
        Self { by_id, superseded, voided }
    }

    /// The first version, as far back as it is known. A ring of ids ends where it began.
    fn root(&self, id: FactId) -> FactId {
        let mut seen = BTreeSet::from([id]);
        let mut at = id;
        while let Some(earlier) = self.by_id.get(&at).and_then(|f| f.supersedes) {
            let fits = self.by_id.get(&earlier).is_some_and(|e| e.kind == self.by_id[&at].kind);
            if !fits || !seen.insert(earlier) {
                break;
            }
            at = earlier;
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

/// Folds facts of one litter into the litter.
///
/// The result is the same for any order of the facts, and for any of them given twice.
#[must_use]
pub fn fold(facts: &[Arc<Fact>]) -> Folded {
    let tree = Tree::of(facts);
    let mut questions = Vec::new();
    let winners = tree.winners(&mut questions);

    let pups = named_pups(&winners, &mut questions);
    let names: HashMap<FactId, &str> = pups.iter().map(|(id, name)| (*id, name.as_str())).collect();
    let leavings = leavings(&winners);
    let in_use = winners
        .values()
        .filter(|f| f.kind == Kind::Milk && f.body.get("in_use") == Some(&Value::Bool(true)))
        .map(|f| f.id)
        .max();

    let mut versions: BTreeMap<Kind, Vec<Version>> = BTreeMap::new();
    let mut refused = Vec::new();
    let mut same_named: BTreeMap<(Kind, String), usize> = BTreeMap::new();
    for (root, fact) in &winners {
        let Some(home) = fact.kind.home() else {
            continue;
        };
        let mut values = fact.body.clone();
        match fact.kind {
            Kind::Litter if fact.litter != *root => continue,
            Kind::Pup => {
                values.insert("id".into(), names[root].into());
                if let Some(leaving) = leavings.get(root) {
                    values.extend(leaving.body.iter().filter(|(k, _)| k.starts_with("left_")).map(own));
                }
            }
            Kind::Milk if in_use.is_some_and(|id| id != fact.id) => {
                values.remove("in_use");
            }
            _ => {}
        }
        if fact.kind.is_in_envelope("carer")
            && let Some(carer) = &fact.carer
        {
            values.insert("carer".into(), carer.as_str().into());
        }
        if fact.kind.is_in_envelope("pup")
            && let Some(pup) = fact.pup
        {
            if let Some(name) = names.get(&pup) {
                values.insert("pup".into(), (*name).into());
            } else {
                refused.push(Refused { fact: fact.id, problem: no_such_pup(home) });
                continue;
            }
        }
        let version =
            Version { root: *root, fact: Arc::clone(fact), entry: Entry { home, values }, is_left_out: false };
        let of_kind = versions.entry(fact.kind).or_default();
        // Two carers, milks or foods of one name are one; the one made last is right.
        if let Some(key) = fact.kind.row().name_key.filter(|_| fact.kind != Kind::Pup)
            && let Some(Value::String(name)) = fact.body.get(key)
        {
            if let Some(place) = same_named.get(&(fact.kind, name.clone())) {
                let there: &mut Version = &mut of_kind[*place];
                if there.fact.id < version.fact.id {
                    *there = version;
                }
                continue;
            }
            same_named.insert((fact.kind, name.clone()), of_kind.len());
        }
        of_kind.push(version);
    }

    let answered = answers(winners.values().copied().filter(|f| f.kind == Kind::Answer));
    if let Some(feeds) = versions.get_mut(&Kind::Feed) {
        settle_feeds(feeds, &answered, &mut questions);
    }
    if let Some(weighings) = versions.get_mut(&Kind::Weighing) {
        settle_weighings(weighings, &mut questions);
    }

    let (sources, entries): (Vec<FactId>, Vec<Entry>) =
        versions.into_values().flatten().filter(|v| !v.is_left_out).map(|v| (v.fact.id, v.entry)).unzip();
    let (assembled, problems) = assemble(&entries);
    refused.extend(problems.into_iter().map(|(place, problem)| Refused { fact: sources[place], problem }));
    questions.sort();
    questions.dedup();
    refused.sort_by(|a, b| (a.fact, &a.problem).cmp(&(b.fact, &b.problem)));
    Folded {
        facts: assembled,
        pups,
        questions,
        refused,
        counted: winners.into_iter().map(|(root, f)| (f.id, (root, Arc::clone(f)))).collect(),
        entries,
    }
}

fn own((name, value): (&String, &Value)) -> (String, Value) {
    (name.clone(), value.clone())
}

fn no_such_pup(home: Home) -> Problem {
    Problem {
        file: home.name(),
        line: 0,
        column: 0,
        name: "pup".into(),
        found: "a pup that is not in the book".into(),
        allowed: "a pup of this litter".into(),
    }
}

/// Pups by the order in which they were written down; a second one of a name gets a number.
fn named_pups(winners: &BTreeMap<FactId, &Arc<Fact>>, questions: &mut Vec<Question>) -> Vec<(FactId, String)> {
    let mut pups: Vec<(FactId, String)> = Vec::new();
    for (root, fact) in winners.iter().filter(|(_, f)| f.kind == Kind::Pup) {
        let name = fact.body.get("id").map(crate::record::entries::typed).unwrap_or_default();
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

/// The leaving that counts for each pup: of several, the one made last.
fn leavings<'f>(winners: &BTreeMap<FactId, &'f Arc<Fact>>) -> BTreeMap<FactId, &'f Arc<Fact>> {
    let mut leavings: BTreeMap<FactId, &Arc<Fact>> = BTreeMap::new();
    for fact in winners.values().filter(|f| f.kind == Kind::Leaving) {
        if let Some(pup) = fact.pup {
            let last = leavings.entry(pup).or_insert(fact);
            if last.id < fact.id {
                *last = fact;
            }
        }
    }
    leavings
}
