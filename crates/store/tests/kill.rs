//! Several writers, each a process of its own, ended by SIGKILL at random points.
//!
//! `WHELPWARD_KILLS` sets the number of rounds; 25 when it is not set, 500 in the stated size.
//!
//! What must hold after each round, for the facts that the writers made:
//!
//! - every fact that was acknowledged is in the book, with the content that was given;
//! - no fact is in the book that no writer had begun to save;
//! - of the facts of one save either all are there or none;
//! - SQLite: `PRAGMA integrity_check` says ok;
//! - the fold of the book equals the fold of the acknowledged facts and those saves without an
//!   acknowledgement that reached the disk (a writer may be ended between the two);
//! - what was not acknowledged can be saved again, and then is there once.
//!
//! Before the kill each writer is stopped (SIGSTOP), and it is asked whether one of them holds a
//! transaction open: in SQLite the write lock is taken, in PostgreSQL a session of the book is
//! inside a transaction. These rounds are counted.

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use common::{Dice, TestBook, all_facts, beside, contents, fact, id, litter, picture, pup, setting, time, void};
use sqlx::{Executor as _, Row as _};
use whelpward_core::book::{Fact, FactId, Kind};
use whelpward_store::{Outcome, Store};

const WRITERS: u32 = 3;
/// A new book after so many rounds: its making is then hit too, and reading it stays quick.
const ROUNDS_OF_ONE_BOOK: u64 = 10;

/// The facts of one save: new ones, sometimes with a correction or withdrawal of the save before.
fn facts_of(round: u32, writer: u32, save: u32) -> Vec<Fact> {
    let number = |save: u32, nth: u32| 1000 + ((round * WRITERS + writer) * 2000 + save) * 4 + nth;
    let place = time("2026-11-18T08:00Z") + jiff::SignedDuration::from_secs(i64::from(save) * 60);
    let grams = (300 + save % 50).to_string();
    let weighed = [("weighed_at", &*place.to_string()), ("weight", &*grams), ("unit", "g")];
    let fed = [("fed_at", &*place.to_string()), ("method", "bottle"), ("taken_ml", "7.5")];
    let mut facts = vec![
        fact(number(save, 0), Kind::Weighing, Some(id(1)), &weighed),
        fact(number(save, 1), Kind::Feed, Some(id(1)), &fed),
    ];
    let before = save.checked_sub(1).map(|s| id(number(s, 0)));
    match (save % 4, before) {
        (1, Some(before)) => {
            let mut correction = fact(number(save, 2), Kind::Weighing, Some(id(1)), &weighed);
            correction.supersedes = Some(before);
            facts.push(correction);
        }
        (3, Some(before)) => facts.push(void(number(save, 2), before)),
        _ => {}
    }
    for fact in &mut facts {
        fact.device = format!("writer {writer}");
    }
    facts
}

/// The writer: saves until it is killed, saying what it begins and what was acknowledged.
#[tokio::test]
#[ignore = "a process that the kill rounds start; by itself it does nothing"]
async fn writer_process() {
    let Ok(work) = std::env::var("WHELPWARD_WRITER") else { return };
    let [url, round, writer]: [&str; 3] = work.split('\n').collect::<Vec<_>>().try_into().unwrap();
    let (round, writer) = (round.parse().unwrap(), writer.parse().unwrap());
    let store = Store::open(url).await.unwrap();
    let say = |line: String| {
        let mut out = std::io::stdout().lock();
        writeln!(out, "{line}").and_then(|()| out.flush()).unwrap();
    };
    for save in 0..2000 {
        say(format!("begin {save}"));
        let outcomes = store.append(&facts_of(round, writer, save), time("2026-11-19T08:00Z")).await.unwrap();
        assert!(outcomes.iter().all(|o| matches!(o, Outcome::Saved { .. })), "{outcomes:?}");
        say(format!("saved {save}"));
    }
}

/// What one writer had said when it was ended.
#[derive(Default)]
struct Said {
    begun: BTreeSet<u32>,
    saved: BTreeSet<u32>,
}

fn start(url: &str, round: u32, writer: u32) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "writer_process", "--include-ignored", "--nocapture"])
        .env("WHELPWARD_WRITER", format!("{url}\n{round}\n{writer}"))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

fn listen(child: &mut Child) -> std::thread::JoinHandle<Said> {
    let out = BufReader::new(child.stdout.take().unwrap());
    std::thread::spawn(move || {
        let mut said = Said::default();
        for line in out.lines().map_while(Result::ok) {
            if let Some(save) = line.rsplit_once("begin ").and_then(|(_, n)| n.parse().ok()) {
                said.begun.insert(save);
            } else if let Some(save) = line.strip_prefix("saved ").and_then(|n| n.parse().ok()) {
                said.saved.insert(save);
            }
        }
        said
    })
}

/// Stops processes by their ids, so that it can be seen what they hold.
fn stop(children: &[Child]) {
    let ids: Vec<String> = children.iter().map(|c| c.id().to_string()).collect();
    Command::new("sh").args(["-c", &format!("kill -STOP {}", ids.join(" "))]).status().unwrap();
}

/// Whether a stopped writer holds a transaction open.
async fn is_in_a_transaction(url: &str) -> bool {
    if url.starts_with("postgres") {
        let pool = beside(url).await;
        let row = sqlx::query(
            "SELECT CAST(COUNT(*) AS BIGINT) FROM pg_stat_activity \
             WHERE datname = current_database() AND pid <> pg_backend_pid() AND state = 'idle in transaction'",
        )
        .fetch_one(&pool)
        .await
        .unwrap();
        pool.close().await;
        return row.get::<i64, _>(0) > 0;
    }
    if !std::path::Path::new(url).exists() {
        return false;
    }
    let pool = beside(url).await;
    pool.execute("PRAGMA busy_timeout = 0").await.unwrap();
    let is_held = pool.execute("BEGIN IMMEDIATE").await.is_err();
    pool.close().await;
    is_held
}

/// PostgreSQL finishes what it was told before the client went away.
async fn until_the_server_has_noticed(url: &str) {
    if !url.starts_with("postgres") {
        return;
    }
    let pool = beside(url).await;
    for _ in 0..1000 {
        let row = sqlx::query(
            "SELECT CAST(COUNT(*) AS BIGINT) FROM pg_stat_activity \
             WHERE datname = current_database() AND pid <> pg_backend_pid() AND backend_type = 'client backend'",
        )
        .fetch_one(&pool)
        .await
        .unwrap();
        if row.get::<i64, _>(0) == 0 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    pool.close().await;
}

#[derive(Default)]
struct Tally {
    in_a_transaction: u64,
    inside_a_save: u64,
    saved_without_word: u64,
    acknowledged: usize,
}

async fn rounds(new_book: impl AsyncFn() -> TestBook) {
    let rounds = setting("WHELPWARD_KILLS", 25);
    let mut dice = Dice(setting("WHELPWARD_SEED", 20_261_125));
    let mut tally = Tally::default();
    let mut book = None;
    let mut expected: BTreeMap<FactId, Fact> = BTreeMap::new();
    for round in 0..rounds {
        if round % ROUNDS_OF_ONE_BOOK == 0 {
            let fresh = new_book().await;
            fresh.store.append(&[litter(), pup(1, "Ash")], time("2026-11-19T08:00Z")).await.unwrap();
            fresh.store.close().await;
            expected = [litter(), pup(1, "Ash")].into_iter().map(|f| (f.id, f)).collect();
            book = Some(fresh);
        }
        let url = book.as_ref().unwrap().url.clone();
        let nth = u32::try_from(round).unwrap();
        let mut children: Vec<Child> = (0..WRITERS).map(|writer| start(&url, nth, writer)).collect();
        let listeners: Vec<_> = children.iter_mut().map(listen).collect();
        tokio::time::sleep(Duration::from_micros(20_000 + dice.roll(180_000))).await;
        stop(&children);
        tally.in_a_transaction += u64::from(is_in_a_transaction(&url).await);
        for child in &mut children {
            child.kill().unwrap();
            child.wait().unwrap();
        }
        let said: Vec<Said> = listeners.into_iter().map(|l| l.join().unwrap()).collect();
        until_the_server_has_noticed(&url).await;
        check(&url, nth, &said, &mut expected, &mut tally).await;
    }
    println!(
        "{rounds} rounds of {WRITERS} writers: {} ended with a transaction open, {} inside a save; {} saves \
         acknowledged and kept, {} more on the disk without a word",
        tally.in_a_transaction, tally.inside_a_save, tally.acknowledged, tally.saved_without_word
    );
    assert!(tally.acknowledged > usize::try_from(rounds).unwrap(), "the writers hardly wrote");
    assert!(tally.in_a_transaction * 5 >= rounds, "at least every fifth round hits an open transaction");
}

async fn check(url: &str, round: u32, said: &[Said], expected: &mut BTreeMap<FactId, Fact>, tally: &mut Tally) {
    if !url.starts_with("postgres") {
        assert_eq!(common::integrity(url).await, "ok", "round {round}");
    }
    let store = Store::open(url).await.unwrap();
    let there: BTreeMap<FactId, Fact> = all_facts(&store).await.into_iter().map(|f| (f.id, f)).collect();
    let mut cut_off = Vec::new();
    for (writer, said) in (0..).zip(said) {
        tally.acknowledged += said.saved.len();
        tally.inside_a_save += u64::from(said.begun.len() > said.saved.len());
        for &save in &said.begun {
            let facts = facts_of(round, writer, save);
            let how_many = facts.iter().filter(|f| there.contains_key(&f.id)).count();
            assert!(how_many == 0 || how_many == facts.len(), "round {round}: half of a save");
            if said.saved.contains(&save) {
                assert_eq!(how_many, facts.len(), "round {round}: writer {writer} was told that {save} is saved");
            } else {
                tally.saved_without_word += u64::from(how_many > 0);
                cut_off.push((how_many > 0, facts.clone()));
            }
            if how_many > 0 {
                expected.extend(facts.into_iter().map(|f| (f.id, f)));
            }
        }
    }
    let (read, given): (Vec<Fact>, Vec<Fact>) = (there.into_values().collect(), expected.values().cloned().collect());
    assert_eq!(contents(&read), contents(&given), "round {round}: the book and what was given");
    assert_eq!(picture(&read), picture(&given), "round {round}: the fold");
    // A device that was cut off sends again.
    for (is_there, facts) in cut_off {
        for outcome in store.append(&facts, time("2026-11-19T09:00Z")).await.unwrap() {
            assert_eq!(matches!(outcome, Outcome::AlreadyThere { .. }), is_there, "round {round}");
            assert!(outcome.is_in_the_book(), "round {round}");
        }
        expected.extend(facts.into_iter().map(|f| (f.id, f)));
    }
    let places: BTreeSet<i64> = all_facts(&store).await.iter().map(|f| f.receipt.seq).collect();
    assert_eq!(places.len(), expected.len(), "round {round}: each fact has a place of its own");
    store.close().await;
}

#[tokio::test]
async fn sqlite_keeps_what_was_acknowledged_when_writers_are_killed() {
    rounds(common::sqlite).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_keeps_what_was_acknowledged_when_writers_are_killed() {
    rounds(common::postgres).await;
}

/// A new book is made by several programs at once, and they are killed while they make it.
#[tokio::test]
async fn a_book_whose_making_was_cut_off_is_made_the_next_time() {
    let mut dice = Dice(7);
    for round in 0..setting("WHELPWARD_KILLS", 25).div_ceil(5) {
        let folder = tempfile::tempdir().unwrap();
        let url = folder.path().join("book.sqlite").display().to_string();
        // The writers save into a litter that is not there yet; that is allowed.
        let mut children: Vec<Child> = (0..WRITERS).map(|writer| start(&url, 0, writer)).collect();
        let listeners: Vec<_> = children.iter_mut().map(listen).collect();
        tokio::time::sleep(Duration::from_micros(5_000 + dice.roll(60_000))).await;
        for child in &mut children {
            child.kill().unwrap();
            child.wait().unwrap();
        }
        let said: Vec<Said> = listeners.into_iter().map(|l| l.join().unwrap()).collect();
        let mut tally = Tally::default();
        Store::open(&url).await.unwrap_or_else(|e| panic!("round {round}: {e}")).close().await;
        check(&url, 0, &said, &mut BTreeMap::new(), &mut tally).await;
    }
}
