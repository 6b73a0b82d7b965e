//! The open book: loads litters, makes ids, saves facts that read beside the others.

use std::collections::HashMap;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use jiff::tz::TimeZone;

use whelpward_core::book::{Fact, FactId, Folded, Kind, Receipt, Values, fold, whole_milliseconds};
use whelpward_core::record::Facts;
use whelpward_store::{Outcome, Store};

use crate::AppError;

/// Who acts, on which machine.
#[derive(Debug, Clone)]
pub struct Who {
    pub carer: Option<String>,
    pub device: String,
}

/// The book, with the litters that were read lately.
pub struct Book {
    pub store: Store,
    litters: Mutex<HashMap<FactId, Arc<Loaded>>>,
    /// For each litter the fold that the last save made, until it is loaded again.
    folded: Mutex<HashMap<FactId, FoldedAhead>>,
    last_id: Mutex<(i64, u128)>,
    /// How often something had been erased when this was last asked.
    erasures: AtomicI64,
}

/// A litter as a save found that it will read.
struct FoldedAhead {
    /// The last place of the book that was known then, and what was saved behind it, in order.
    after: i64,
    saved: Vec<FactId>,
    folded: Folded,
}

impl FoldedAhead {
    /// Whether it is made of these facts, `newer` being all of the litter behind the place `after`.
    fn is_of(&self, after: i64, newer: &[Arc<Fact>]) -> bool {
        self.after == after && newer.iter().map(|f| f.id).eq(self.saved.iter().copied())
    }
}

/// A litter as it stands in the book.
#[derive(Debug)]
pub struct Loaded {
    pub id: FactId,
    pub folded: Folded,
    /// Every fact, also those that no longer count.
    pub all: Vec<Arc<Fact>>,
    pub last_seq: i64,
    /// How often something had been erased from the book: once more, and this is no longer true.
    erasures: i64,
}

impl Loaded {
    /// The facts that count.
    ///
    /// # Errors
    /// The litter itself cannot be read.
    pub fn facts(&self) -> Result<&Facts, AppError> {
        self.folded.facts.as_ref().ok_or_else(|| {
            let why = self.folded.refused.first().map_or_else(String::new, |r| format!(": {}", r.problem));
            AppError::Said(format!("this litter cannot be read{why}"))
        })
    }

    /// The pup of this name; the error names those that there are.
    ///
    /// # Errors
    /// There is none of that name.
    pub fn pup(&self, name: &str) -> Result<FactId, AppError> {
        let wanted = name.trim();
        let exact = self.folded.pup_named(wanted);
        let same = |(_, n): &&(FactId, String)| n.to_lowercase() == wanted.to_lowercase();
        exact.or_else(|| self.folded.pups.iter().find(same).map(|(id, _)| *id)).ok_or_else(|| {
            let names: Vec<&str> = self.folded.pups.iter().map(|(_, n)| n.as_str()).collect();
            let allowed = if names.is_empty() {
                "no pup is written down yet; write down the birth first".into()
            } else {
                names.join(", ")
            };
            AppError::refused(format!("there is no pup \"{wanted}\" in this litter"), allowed)
        })
    }

    #[must_use]
    pub fn name_of(&self, pup: FactId) -> &str {
        self.folded.name_of(pup).unwrap_or("a pup")
    }

    #[must_use]
    pub fn zone(&self) -> TimeZone {
        self.folded.facts.as_ref().map_or(TimeZone::UTC, |f| f.litter.zone.clone())
    }

    /// A time as it is typed into a fact: to the second, with the litter's offset.
    #[must_use]
    pub fn typed_time(&self, at: Timestamp) -> String {
        let second = Timestamp::from_second(at.as_second()).unwrap_or(at);
        whelpward_core::report::clock::iso(second, &self.zone())
    }
}

impl Book {
    #[must_use]
    pub fn new(store: Store) -> Self {
        Self {
            store,
            litters: Mutex::default(),
            folded: Mutex::default(),
            last_id: Mutex::default(),
            erasures: AtomicI64::new(0),
        }
    }

    /// Forgets what is in memory when something was erased, here or by another program.
    fn heed_erasures(&self, erasures: i64) {
        if self.erasures.swap(erasures, Ordering::Relaxed) != erasures {
            self.litters.lock().unwrap_or_else(PoisonError::into_inner).clear();
            self.folded.lock().unwrap_or_else(PoisonError::into_inner).clear();
        }
    }

    fn held(&self, litter: FactId, erasures: i64) -> Option<Arc<Loaded>> {
        let litters = self.litters.lock().unwrap_or_else(PoisonError::into_inner);
        litters.get(&litter).filter(|held| held.erasures == erasures).cloned()
    }

    /// A new id; two made in one millisecond keep their order.
    #[must_use]
    pub fn new_id(&self, now: Timestamp) -> FactId {
        let mut last = self.last_id.lock().unwrap_or_else(PoisonError::into_inner);
        let now = now.as_millisecond();
        *last = if now > last.0 { (now, rand::random::<u128>() >> 1) } else { (last.0, last.1.wrapping_add(1)) };
        FactId::from_parts(Timestamp::from_millisecond(last.0).unwrap_or_default(), last.1)
    }

    /// A litter, from memory as far as it is still the newest.
    ///
    /// # Errors
    /// The book cannot be read, or there is no such litter.
    pub async fn load(&self, litter: FactId) -> Result<Arc<Loaded>, AppError> {
        // Asked before the facts are read: what is erased meanwhile is then seen the next time.
        let erasures = self.store.erasures().await?;
        self.heed_erasures(erasures);
        let held = self.held(litter, erasures);
        let after = held.as_ref().map_or(0, |l| l.last_seq);
        let newer = self.store.facts(litter, after).await?;
        if let Some(held) = held.filter(|_| newer.is_empty()) {
            return Ok(held);
        }
        if newer.is_empty() {
            return Err(AppError::Said("there is no such litter in this book".into()));
        }
        let before = self.held(litter, erasures);
        // Another call may have read the same facts meanwhile: by id, each once.
        let mut all: Vec<Arc<Fact>> = before.map_or_else(Vec::new, |l| l.all.clone());
        let seen = all.last().map_or(0, |f| f.receipt.seq);
        let newer: Vec<Arc<Fact>> = newer.into_iter().filter(|f| f.receipt.seq > seen).map(Arc::new).collect();
        all.extend(newer.iter().cloned());
        let ahead = self.folded.lock().unwrap_or_else(PoisonError::into_inner).remove(&litter);
        let folded = match ahead.filter(|ahead| ahead.is_of(seen, &newer)) {
            Some(ahead) => ahead.folded.with_receipts(&newer),
            None => fold(&all),
        };
        let last_seq = all.last().map_or(0, |f| f.receipt.seq);
        let loaded = Arc::new(Loaded { id: litter, folded, last_seq, all, erasures });
        let mut litters = self.litters.lock().unwrap_or_else(PoisonError::into_inner);
        if litters.len() >= MOST_IN_MEMORY && !litters.contains_key(&litter) {
            litters.clear();
        }
        litters.insert(litter, Arc::clone(&loaded));
        Ok(loaded)
    }

    /// Saves facts that read well beside those of their litter; else nothing is saved.
    ///
    /// # Errors
    /// The first thing that is wrong, or the book cannot be written.
    pub async fn save(
        &self,
        loaded: Option<&Loaded>,
        facts: Vec<Fact>,
        now: Timestamp,
    ) -> Result<Vec<Arc<Fact>>, AppError> {
        let folded = read_beside(loaded, &facts)?;
        self.save_as(loaded, facts, folded, now).await
    }

    /// Saves facts that were folded with [`read_beside`] already: folding is most of the work of a save.
    ///
    /// # Errors
    /// The book cannot be written, or holds one of the ids with other content.
    pub(crate) async fn save_as(
        &self,
        loaded: Option<&Loaded>,
        facts: Vec<Fact>,
        folded: Folded,
        now: Timestamp,
    ) -> Result<Vec<Arc<Fact>>, AppError> {
        let outcomes = self.store.append(&facts, whole_milliseconds(now)).await?;
        if let Some(Outcome::SetAside { why }) = outcomes.iter().find(|o| !o.is_in_the_book()) {
            return Err(AppError::Said(format!("not saved, kept for you to look at: {why}")));
        }
        if let Some(first) = facts.first() {
            let saved = facts.iter().map(|f| f.id).collect();
            let ahead = FoldedAhead { after: loaded.map_or(0, |l| l.last_seq), saved, folded };
            self.folded.lock().unwrap_or_else(PoisonError::into_inner).insert(first.litter, ahead);
        }
        Ok(facts.into_iter().map(Arc::new).collect())
    }
}

/// The litter as it would be with these facts; nothing is saved.
///
/// # Errors
/// One of them does not read, or names a carer or milk that is not on record.
pub(crate) fn read_beside(loaded: Option<&Loaded>, facts: &[Fact]) -> Result<Folded, AppError> {
    for fact in facts {
        if let Some(wrong) = fact.look_over() {
            return Err(AppError::refused(wrong, "see docs/FORMAT.md"));
        }
    }
    let mut all: Vec<Arc<Fact>> = loaded.map_or_else(Vec::new, |l| l.all.clone());
    all.extend(facts.iter().cloned().map(Arc::new));
    let folded = fold(&all);
    if let Some(refused) = folded.refused.iter().find(|r| facts.iter().any(|f| f.id == r.fact)) {
        return Err(AppError::of_problem(&refused.problem));
    }
    let Some(litter) = &folded.facts else {
        return Err(AppError::refused("the litter would no longer read", "see docs/FORMAT.md"));
    };
    facts.iter().try_for_each(|fact| known_names(fact, litter))?;
    Ok(folded)
}

/// A new entry names a carer and a milk that are on record: a slip in a name is caught while it
/// is typed. (An old entry whose carer was withdrawn later still counts.)
fn known_names(fact: &Fact, litter: &Facts) -> Result<(), AppError> {
    let known = |what: &str, name: Option<&str>, names: Vec<&str>| match name {
        Some(name) if !names.contains(&name) => Err(AppError::refused(
            format!("{what} \"{name}\""),
            if names.is_empty() { format!("a {what} on record first: whelpward add {what}") } else { names.join(", ") },
        )),
        _ => Ok(()),
    };
    if matches!(fact.kind, Kind::Weighing | Kind::Feed | Kind::Check | Kind::Done) {
        known("carer", fact.carer.as_deref(), litter.carers.iter().map(|c| c.name.as_str()).collect())?;
    }
    if matches!(fact.kind, Kind::Feed | Kind::Batch) {
        let milk = fact.body.get("milk").and_then(|m| m.as_str());
        known("milk", milk, litter.milks.iter().map(|m| m.id.as_str()).collect())?;
    }
    Ok(())
}

/// Litters kept in memory; a household has a few, an organisation looks at many.
const MOST_IN_MEMORY: usize = 200;

/// A fact about to be saved.
pub(crate) struct Draft<'a> {
    pub book: &'a Book,
    pub who: &'a Who,
    pub litter: FactId,
    pub zone: String,
    pub now: Timestamp,
}

impl<'a> Draft<'a> {
    pub fn of(book: &'a Book, who: &'a Who, loaded: &Loaded, now: Timestamp) -> Self {
        Self { book, who, litter: loaded.id, zone: zone_name(&loaded.zone()), now }
    }

    /// A fact; it happened at the time that its body says, or now.
    pub fn fact(&self, kind: Kind, pup: Option<FactId>, body: Values) -> Fact {
        let said = kind.row().time_key.and_then(|k| body.get(k)).and_then(|t| t.as_str());
        let occurred = said.and_then(|t| t.parse().ok()).unwrap_or(self.now);
        Fact {
            id: self.book.new_id(self.now),
            litter: self.litter,
            kind,
            pup,
            body,
            occurred: whole_milliseconds(occurred),
            zone: self.zone.clone(),
            carer: self.who.carer.clone(),
            device: self.who.device.clone(),
            supersedes: None,
            voids: None,
            receipt: Receipt { is_late: is_late(occurred, self.now, kind), ..Receipt::default() },
        }
    }
}

/// Written down more than twelve hours afterwards (usability O-33).
pub(crate) fn is_late(occurred: Timestamp, now: Timestamp, kind: Kind) -> bool {
    let is_told_later = matches!(kind, Kind::Weighing | Kind::Feed | Kind::Check | Kind::MedicineGiven);
    is_told_later && now.duration_since(occurred).as_hours() >= 12
}

pub(crate) fn zone_name(zone: &TimeZone) -> String {
    zone.iana_name().unwrap_or("UTC").to_owned()
}

/// Names with values from pairs; empty texts are left out.
pub(crate) fn values<const N: usize>(pairs: [(&str, Option<String>); N]) -> Values {
    pairs
        .into_iter()
        .filter_map(|(name, text)| Some((name.to_owned(), serde_json::Value::String(text.filter(|t| !t.is_empty())?))))
        .collect()
}

/// A time that a person gave, not in the future by more than the clocks may differ.
pub(crate) fn not_in_the_future(at: Timestamp, now: Timestamp) -> Result<Timestamp, AppError> {
    if at.duration_since(now).as_mins() >= 5 {
        return Err(AppError::refused(
            format!("{at} is in the future (this computer's clock says {now})"),
            "a time that has been; check the date",
        ));
    }
    Ok(at)
}
