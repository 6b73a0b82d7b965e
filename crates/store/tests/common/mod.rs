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
