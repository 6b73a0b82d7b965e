//! Databases for the tests: a fresh SQLite file, or a fresh database of the PostgreSQL that
//! `scripts/test` starts and names in `WHELPWARD_TEST_POSTGRES`.

#![allow(dead_code, reason = "each test program uses a part")]

use std::sync::atomic::{AtomicU64, Ordering};

use jiff::Timestamp;
use whelpward_core::book::{Fact, FactId, Kind, Receipt, Values};
use whelpward_store::Store;

/// An open book that is gone when the test ends.
pub struct TestBook {
    pub store: Store,
    pub url: String,
    _folder: Option<tempfile::TempDir>,
}

pub async fn sqlite() -> TestBook {
    let folder = tempfile::tempdir().unwrap();
    let url = folder.path().join("book.sqlite").display().to_string();
    TestBook { store: Store::open(&url).await.unwrap(), url, _folder: Some(folder) }
}

pub async fn postgres() -> TestBook {
    let url = fresh_postgres().await;
    TestBook { store: Store::open(&url).await.unwrap(), url, _folder: None }
}

/// A new empty database on the test server.
pub async fn fresh_postgres() -> String {
    use sqlx::Executor as _;
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    let server = std::env::var("WHELPWARD_TEST_POSTGRES")
        .expect("WHELPWARD_TEST_POSTGRES names a PostgreSQL server for tests; scripts/test starts one");
    sqlx::any::install_default_drivers();
    let name = format!("book_{}_{}", std::process::id(), NUMBER.fetch_add(1, Ordering::Relaxed));
    let pool = sqlx::AnyPool::connect(&format!("{server}/postgres")).await.unwrap();
    pool.execute(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}"))).await.unwrap();
    pool.close().await;
    format!("{server}/{name}")
}

pub fn time(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// An id made `n` seconds after the start of the stories.
pub fn id(n: u32) -> FactId {
    let made = time("2026-11-18T08:00Z") + jiff::SignedDuration::from_secs(i64::from(n));
    FactId::from_parts(made, u128::from(n) * 0x9E37_79B9_7F4A_7C15)
}

pub fn body(pairs: &[(&str, &str)]) -> Values {
    pairs.iter().map(|(k, v)| ((*k).to_owned(), serde_json::Value::from(*v))).collect()
}

/// A well-formed fact of the litter `id(0)`.
pub fn fact(n: u32, kind: Kind, pup: Option<FactId>, pairs: &[(&str, &str)]) -> Fact {
    let body = body(pairs);
    let occurred = kind
        .row()
        .time_key
        .and_then(|k| body.get(k))
        .and_then(|t| t.as_str())
        .map_or_else(|| time("2026-11-18T08:00Z"), time);
    Fact {
        id: id(n),
        litter: id(0),
        kind,
        pup,
        body,
        occurred,
        zone: "Europe/Berlin".into(),
        carer: None,
        device: "test".into(),
        supersedes: None,
        voids: None,
        receipt: Receipt::default(),
    }
}

pub fn litter() -> Fact {
    fact(
        0,
        Kind::Litter,
        None,
        &[
            ("name", "Heather"),
            ("expected_adult_weight_kg", "12"),
            ("whelped_at", "2026-11-18T08:00Z"),
            ("time_zone", "Europe/Berlin"),
            ("scale_step_g", "1"),
        ],
    )
}

pub fn pup(n: u32, name: &str) -> Fact {
    fact(
        n,
        Kind::Pup,
        None,
        &[
            ("id", name),
            ("sex", "female"),
            ("marks", "plain"),
            ("born_at", "2026-11-18T08:00Z"),
            ("birth_weight", "300"),
            ("unit", "g"),
        ],
    )
}

pub fn weighing(n: u32, pup: FactId, at: &str, grams: &str) -> Fact {
    fact(n, Kind::Weighing, Some(pup), &[("weighed_at", at), ("weight", grams), ("unit", "g")])
}

/// A void of another fact.
pub fn void(n: u32, target: FactId) -> Fact {
    Fact { voids: Some(target), ..fact(n, Kind::Void, None, &[]) }
}

/// The litter, a pup and this many weighings; numbers `from` on.
pub fn some_weighings(from: u32, how_many: u32) -> Vec<Fact> {
    let start = time("2026-11-18T08:00Z");
    (from..from + how_many)
        .map(|n| {
            let at = (start + jiff::SignedDuration::from_mins(i64::from(n))).to_string();
            weighing(n, id(1), &at, &(300 + n % 100).to_string())
        })
        .collect()
}

/// The text of a setting, read as a number.
pub fn setting(name: &str, when_not_set: u64) -> u64 {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(when_not_set)
}

/// One connection to the same database beside the store.
pub async fn beside(url: &str) -> sqlx::AnyPool {
    sqlx::any::install_default_drivers();
    let url = if url.starts_with("postgres") { url.to_owned() } else { format!("sqlite://{url}?mode=rw") };
    sqlx::any::AnyPoolOptions::new().max_connections(1).connect(&url).await.unwrap()
}

/// What `PRAGMA integrity_check` says of a file.
pub async fn integrity(path: &str) -> String {
    let pool = beside(path).await;
    let row = sqlx::query("PRAGMA integrity_check").fetch_one(&pool).await.unwrap();
    pool.close().await;
    sqlx::Row::get(&row, 0)
}

/// Every fact of the book, in its order.
pub async fn all_facts(store: &Store) -> Vec<Fact> {
    let mut all: Vec<Fact> = Vec::new();
    loop {
        let after = all.last().map_or(0, |f| f.receipt.seq);
        let page = store.page(after, 5000).await.unwrap();
        if page.is_empty() {
            return all;
        }
        all.extend(page);
    }
}

/// Every part of each fact that its maker gave, sorted.
pub fn contents(facts: &[Fact]) -> Vec<String> {
    let mut all: Vec<String> = facts.iter().map(|f| format!("{} {}", f.id, f.content())).collect();
    all.sort();
    all
}

/// The litter that facts give, without their receipts.
pub fn picture(facts: &[Fact]) -> String {
    let facts: Vec<std::sync::Arc<Fact>> = facts.iter().cloned().map(std::sync::Arc::new).collect();
    let folded = whelpward_core::book::fold(&facts);
    let counted: Vec<FactId> = folded.counted().collect();
    format!("{:?}\n{:?}\n{:?}\n{:?}\n{counted:?}", folded.facts, folded.pups, folded.questions, folded.refused)
}

/// A generator of numbers of our own (SplitMix64): a seed names a case for ever.
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % below
    }
}

/// A SQLite book as an older program left it: only the first steps of the layout, with facts in it.
pub async fn old_layout(path: &str, step: i64, facts: &[Fact]) {
    let steps = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/migrations")).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.split('_').next().unwrap().parse::<i64>().unwrap() <= step {
            std::fs::copy(entry.path(), steps.path().join(name)).unwrap();
        }
    }
    std::fs::write(path, "").unwrap();
    let pool = beside(path).await;
    sqlx::migrate::Migrator::new(steps.path()).await.unwrap().run(&pool).await.unwrap();
    let mut tx = pool.begin().await.unwrap();
    for (fact, seq) in facts.iter().zip(1_i64..) {
        sqlx::query(
            "INSERT INTO fact (id, seq, litter, kind, pup, body, amount, occurred_ms, zone, carer, device, \
             supersedes, voids, received_ms, is_time_uncertain, is_late) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, '', $10, '', '', 0, 0, 0)",
        )
        .bind(fact.id.to_string())
        .bind(seq)
        .bind(fact.litter.to_string())
        .bind(fact.kind.word())
        .bind(fact.pup.map(|p| p.to_string()).unwrap_or_default())
        .bind(serde_json::to_string(&fact.body).unwrap())
        .bind(fact.amount())
        .bind(fact.occurred.as_millisecond())
        .bind(fact.zone.as_str())
        .bind(fact.device.as_str())
        .execute(&mut *tx)
        .await
        .unwrap();
    }
    sqlx::query("UPDATE counter SET value = $1 WHERE name = 'fact'")
        .bind(i64::try_from(facts.len()).unwrap())
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    pool.close().await;
}

/// The last step of the layout of a SQLite file.
pub async fn newest_step_of(path: &str) -> i64 {
    let pool = beside(path).await;
    let row = sqlx::query("SELECT MAX(version) FROM _sqlx_migrations").fetch_one(&pool).await.unwrap();
    pool.close().await;
    sqlx::Row::get(&row, 0)
}
