//! How long it takes to save one fact durably, and to read and fold one litter, as the book grows.
//!
//! `cargo bench -p whelpward-store` prints the figures; no test asserts one. SQLite always; also
//! PostgreSQL where `WHELPWARD_BENCH_POSTGRES` names an empty database. `WHELPWARD_BENCH_FACTS`
//! is the largest book, 1,000,000 when not set.
//!
//! The facts are invented from their number alone: litters of 10,000 facts each, with 8 pups,
//! weighings, feeds and checks over 60 days.

use std::io::Write as _;
use std::sync::Arc;
use std::time::{Duration, Instant};

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use whelpward_core::book::{Fact, FactId, Kind, Receipt, fold};
use whelpward_core::report::today;
use whelpward_store::Store;

const OF_A_LITTER: u32 = 10_000;
const PUPS: u32 = 8;
const SAVES: usize = 400;

fn born() -> Timestamp {
    "2026-01-01T00:00:00Z".parse().expect("a time")
}

fn id(number: u32) -> FactId {
    FactId::from_parts(
        born() + SignedDuration::from_secs(i64::from(number)),
        u128::from(number) * 0x9E37_79B9_7F4A_7C15,
    )
}

/// The fact of this number.
fn fact(number: u32) -> Fact {
    let (litter, nth) = (number / OF_A_LITTER * OF_A_LITTER, number % OF_A_LITTER);
    // 60 days, evenly.
    let at = born() + SignedDuration::from_secs(i64::from(nth) * 60 * 86_400 / i64::from(OF_A_LITTER));
    let (when, pup) = (at.to_string(), litter + 2 + nth % PUPS);
    let (kind, of_pup, pairs): (Kind, bool, Vec<(&str, String)>) = match nth {
        0 => (
            Kind::Litter,
            false,
            vec![
                ("name", format!("Litter {}", number / OF_A_LITTER)),
                ("expected_adult_weight_kg", "12".into()),
                ("whelped_at", born().to_string()),
                ("time_zone", "Europe/Berlin".into()),
                ("scale_step_g", "1".into()),
            ],
        ),
        1 => (
            Kind::Milk,
            false,
            vec![
                ("id", "m".into()),
                ("kind", "puppy_ready".into()),
                ("in_use", "true".into()),
                ("kcal_per_ml", "1.1".into()),
            ],
        ),
        n if n < 2 + PUPS => (
            Kind::Pup,
            false,
            vec![
                ("id", format!("p{n}")),
                ("sex", "female".into()),
                ("marks", format!("collar {n}")),
                ("born_at", born().to_string()),
                ("birth_weight", "350".into()),
                ("unit", "g".into()),
            ],
        ),
        n if n % 3 == 0 => (
            Kind::Weighing,
            true,
            vec![
                ("weighed_at", when),
                ("weight", (350 + n / 7).to_string()),
                ("unit", "g".into()),
                ("taken", "before_feed".into()),
            ],
        ),
        n if n % 3 == 1 => (
            Kind::Feed,
            true,
            vec![
                ("fed_at", when),
                ("method", "bottle".into()),
                ("taken_ml", (7 + n / 200).to_string()),
                ("milk", "m".into()),
            ],
        ),
        _ => (
            Kind::Check,
            true,
            vec![("checked_at", when), ("kind", "rectal_temperature_c".into()), ("value", "37.2".into())],
        ),
    };
    let is_timed = kind.row().time_key.is_some() && of_pup;
    Fact {
        id: id(number),
        litter: id(litter),
        kind,
        pup: of_pup.then(|| id(pup)),
        body: pairs.into_iter().map(|(k, v)| (k.to_owned(), Value::from(v))).collect(),
        occurred: if is_timed { at } else { born() },
        zone: "Europe/Berlin".into(),
        carer: None,
        device: "bench".into(),
        supersedes: None,
        voids: None,
        receipt: Receipt::default(),
    }
}

/// The middle, and what 95 and 99 of 100 stay below, in ms.
fn quantiles(mut times: Vec<Duration>) -> String {
    times.sort();
    let ms = |percent: usize| times[(times.len() - 1) * percent / 100].as_secs_f64() * 1000.0;
    format!("{:8.2} {:8.2} {:8.2}", ms(50), ms(95), ms(99))
}

/// What the disk takes for 4 kB by itself.
fn disk(folder: &std::path::Path) -> String {
    let mut file = std::fs::File::create(folder.join("plain")).expect("a file");
    let times = (0..SAVES)
        .map(|_| {
            let start = Instant::now();
            file.write_all(&[1; 4096]).and_then(|()| file.sync_data()).expect("room");
            start.elapsed()
        })
        .collect();
    quantiles(times)
}

async fn measure(name: &str, url: &str, largest: u32) {
    println!("\n{name}                               p50      p95      p99 (ms)");
    let store = Store::open(url).await.expect("an empty book");
    let mut next = 0;
    // Saves of the measurements themselves come behind all others.
    let mut extra = 2_000_000_000;
    let now = born() + SignedDuration::from_hours(24 * 60);
    for size in [1_000, 10_000, 100_000, 1_000_000].into_iter().filter(|s| *s <= largest) {
        let start = Instant::now();
        while next < size {
            let end = size.min(next + 5_000);
            let facts: Vec<Fact> = (next..end).map(fact).collect();
            store.append(&facts, now).await.expect("saved");
            next = end;
        }
        let filled = start.elapsed();
        let mut times = Vec::new();
        for _ in 0..SAVES {
            // In the litter of the second fact of its own, so that no litter that is read grows.
            let mut one = fact(14);
            one.id = id(extra);
            one.litter = id(extra / OF_A_LITTER * OF_A_LITTER);
            extra += 1;
            let start = Instant::now();
            store.append(&[one], now).await.expect("saved");
            times.push(start.elapsed());
        }
        println!("save one fact, {size:>9} in the book  {}   (filled in {filled:.1?})", quantiles(times));
        let litters = (size / OF_A_LITTER).max(1);
        let (mut reads, mut folds, mut todays, mut news) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut facts_of_one = 0;
        for n in 0..30 {
            let litter = id(n * 7 % litters * OF_A_LITTER);
            let start = Instant::now();
            let facts: Vec<Arc<Fact>> = store.facts(litter, 0).await.expect("read").into_iter().map(Arc::new).collect();
            reads.push(start.elapsed());
            let last = facts.last().map_or(0, |f| f.receipt.seq);
            let start = Instant::now();
            let folded = fold(&facts);
            folds.push(start.elapsed());
            assert!(folded.refused.is_empty() && folded.questions.is_empty(), "{:?}", folded.refused.first());
            let litter_facts = folded.facts.expect("a litter");
            let start = Instant::now();
            let answer = today(&litter_facts, now);
            todays.push(start.elapsed());
            assert_eq!(answer.pups.len(), PUPS as usize);
            let start = Instant::now();
            store.facts(litter, last).await.expect("read");
            news.push(start.elapsed());
            facts_of_one = facts.len();
        }
        println!("  read a litter of {facts_of_one:>6} facts     {}", quantiles(reads));
        println!("  fold it                          {}", quantiles(folds));
        println!("  today from the fold              {}", quantiles(todays));
        println!("  read what is new (nothing)       {}", quantiles(news));
    }
    store.close().await;
}

fn main() {
    let largest = std::env::var("WHELPWARD_BENCH_FACTS").ok().and_then(|n| n.parse().ok()).unwrap_or(1_000_000);
    let folder = tempfile::tempdir().expect("a folder");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    println!("the disk: 4 kB and fdatasync        {}", disk(folder.path()));
    runtime.block_on(async {
        measure("SQLite    ", &folder.path().join("book.sqlite").display().to_string(), largest).await;
        if let Ok(url) = std::env::var("WHELPWARD_BENCH_POSTGRES") {
            measure("PostgreSQL", &url, largest).await;
        }
    });
}
