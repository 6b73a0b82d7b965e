//! Erasing a litter and a person's name, on both databases: what goes is gone to the byte, the rest stays.

mod common;

use std::path::Path;

use common::{TestBook, fact, id, litter, pup, time, weighing};
use whelpward_core::book::{Fact, FactJson, Kind};
use whelpward_store::{AuditEntry, Device, Engine, Homes, Link, LinkKind, Outcome, Store, StoreError};

/// Letters that stand nowhere else, so that a file can be searched for them.
const NAME: &str = "Quillonia Vex";
const LITTER: &str = "Zephyrgorse";

fn now() -> jiff::Timestamp {
    time("2026-11-26T09:00Z")
}

fn by(carer: &str, fact: Fact) -> Fact {
    Fact { carer: Some(carer.to_owned()), ..fact }
}

/// A second litter, whose facts have numbers from 100 on.
fn other(fact: Fact) -> Fact {
    Fact { litter: id(100), ..fact }
}

fn facts() -> Vec<Fact> {
    let mut named = litter();
    named.body.insert("name".into(), LITTER.into());
    let second = Fact { id: id(100), litter: id(100), ..litter() };
    vec![
        named,
        pup(1, "Ash"),
        fact(2, Kind::Carer, None, &[("name", NAME)]),
        by(NAME, weighing(3, id(1), "2026-11-18T09:00Z", "301")),
        second,
        other(pup(101, "Yarrow")),
        other(fact(102, Kind::Carer, None, &[("name", NAME)])),
        other(by(NAME, weighing(103, id(101), "2026-11-18T09:00Z", "288"))),
        other(by("Robin", weighing(104, id(101), "2026-11-18T12:00Z", "290"))),
        other(fact(
            105,
            Kind::Note,
            None,
            &[("noted_at", "2026-11-18T12:00Z"), ("text", "quillonia vex rang, Robin wrote")],
        )),
    ]
}

async fn fill(store: &Store) {
    store.append(&facts(), now()).await.unwrap();
    let waiting = by(NAME, weighing(3, id(1), "2026-11-18T09:00Z", "310"));
    assert!(matches!(store.append(&[waiting], now()).await.unwrap()[0], Outcome::SetAside { .. }));
    let waiting = other(by(NAME, weighing(103, id(101), "2026-11-18T09:00Z", "310")));
    assert!(matches!(store.append(&[waiting], now()).await.unwrap()[0], Outcome::SetAside { .. }));
    let ms = now().as_millisecond();
    for (name, role) in [(NAME, "carer"), ("Robin", "helper")] {
        store.put_person(name, role, ms).await.unwrap();
        store.put_secret(&format!("pin {name}"), "hash", ms).await.unwrap();
        let device = Device {
            id: format!("phone-{role}"),
            label: format!("{name}, a phone"),
            role: role.into(),
            carer: name.into(),
            carer_role: String::new(),
            added_ms: ms,
            seen_ms: ms,
            ends_ms: ms + 1_000_000,
        };
        assert!(store.add_device(&device, &format!("token {role}"), 50, ms).await.unwrap());
        audit(store, name, "role-set", &format!("{name}: {role}")).await;
    }
    let link = Link {
        id: "link-1".into(),
        name: LITTER.into(),
        role: "reader".into(),
        litter: id(0).to_string(),
        made_ms: ms,
        ends_ms: ms + 1_000_000,
        used_ms: 0,
        ended_ms: 0,
    };
    store.add_link(LinkKind::Vet, &link, "token").await.unwrap();
    audit(store, "Robin", "vet-link-made", LITTER).await;
    audit(store, "Robin", "refused-gate", "POST /api/v1/tap: Ash").await;
    audit(store, "Robin", "refused-gate", "POST /api/v1/tap: Yarrow").await;
}

async fn audit(store: &Store, carer: &str, what: &str, detail: &str) {
    let text = str::to_owned;
    let entry = AuditEntry {
        at: now(),
        device: text("computer-1"),
        carer: text(carer),
        address: String::new(),
        what: text(what),
        detail: text(detail),
    };
    store.write_audit(&entry).await.unwrap();
}

async fn write_out(store: &Store) {
    let waiting = store.set_aside().await.unwrap().last().map_or(0, |w| w.seq);
    store.put_written_out(store.last_seq().await.unwrap(), waiting).await.unwrap();
}

/// All that the book says in words.
async fn words(store: &Store) -> String {
    let mut text = String::new();
    for fact in store.page(0, 10_000).await.unwrap() {
        text.push_str(&serde_json::to_string(&FactJson::from(&fact)).unwrap());
    }
    for waiting in store.set_aside().await.unwrap() {
        text.push_str(&waiting.entry);
    }
    text.push_str(&format!("{:?}", store.people().await.unwrap()));
    text.push_str(&format!("{:?}", store.devices(now().as_millisecond()).await.unwrap()));
    text.push_str(&format!("{:?}", store.open_links(LinkKind::Vet, now().as_millisecond()).await.unwrap()));
    text.push_str(&format!("{:?}", store.audit_before(i64::MAX, 1000).await.unwrap()));
    text
}

fn is_on_disk(book: &TestBook, text: &str) -> bool {
    let (path, wanted) = (Path::new(&book.url), text.as_bytes());
    let name = path.file_name().unwrap().to_str().unwrap();
    let files = path.parent().unwrap().read_dir().unwrap().map(|e| e.unwrap().path());
    files.filter(|p| p.file_name().unwrap().to_str().unwrap().starts_with(name)).any(|p| {
        let bytes = std::fs::read(p).unwrap();
        bytes.windows(wanted.len()).any(|window| window.eq_ignore_ascii_case(wanted))
    })
}

async fn a_litter(book: TestBook) {
    let store = &book.store;
    fill(store).await;
    let others: Vec<String> = store.facts(id(100), 0).await.unwrap().iter().map(Fact::content).collect();

    let (names, pups) = ([LITTER.to_owned()], ["Ash".to_owned()]);
    // Nothing goes before all of it is in a ZIP; one weighing more, and it is not.
    assert!(matches!(store.erase_litter(id(0), &names, &pups, now()).await, Err(StoreError::NotWrittenOut { .. })));
    write_out(store).await;
    store.append(&[weighing(50, id(1), "2026-11-18T15:00Z", "305")], now()).await.unwrap();
    assert!(matches!(store.erase_litter(id(0), &names, &pups, now()).await, Err(StoreError::NotWrittenOut { .. })));
    assert_eq!(store.facts(id(0), 0).await.unwrap().len(), 5);
    write_out(store).await;
    // What pages advised may come in behind.
    let advice = fact(51, Kind::Advice, None, &[("advised_at", "2026-11-18T15:00Z"), ("said", "[]")]);
    store.append(&[advice], now()).await.unwrap();

    let erased = store.erase_litter(id(0), &names, &pups, now()).await.unwrap();
    assert_eq!((erased.facts, erased.others, erased.not_cleaned), (6, 4, None));
    let audit = format!("{:?}", store.audit_before(i64::MAX, 100).await.unwrap());
    assert!(!audit.contains("Ash") && audit.contains("tap: Yarrow"), "{audit}");
    assert_eq!(store.erasures().await.unwrap(), 1);
    assert!(store.facts(id(0), 0).await.unwrap().is_empty());
    assert!(!words(store).await.contains(LITTER));
    assert_eq!(store.facts(id(100), 0).await.unwrap().iter().map(Fact::content).collect::<Vec<_>>(), others);
    if store.engine() == Engine::Sqlite {
        assert!(!is_on_disk(&book, LITTER), "the file still has the litter");
        assert!(is_on_disk(&book, NAME), "the search finds what is there");
    }

    // A phone that was away, or a program that still has the litter in memory, brings nothing of it back.
    let late = weighing(60, id(1), "2026-11-18T18:00Z", "306");
    let with_other = other(weighing(160, id(101), "2026-11-18T18:00Z", "296"));
    let refused = store.append(&[with_other.clone(), late.clone()], now()).await;
    assert!(matches!(refused, Err(StoreError::Erased { .. })));
    assert_eq!(store.facts(id(100), 0).await.unwrap().len(), others.len());
    store.append(&[with_other], now()).await.unwrap();
    // Unless a person reads a ZIP that holds it.
    store.allow_again([id(0)].into_iter()).await.unwrap();
    assert!(matches!(store.append(&[late], now()).await.unwrap()[0], Outcome::Saved { .. }));
}

async fn a_name(book: TestBook) {
    let store = &book.store;
    fill(store).await;
    assert!(matches!(store.erase_name(NAME, now()).await, Err(StoreError::NotWrittenOut { .. })));
    write_out(store).await;
    let before = store.page(0, 1000).await.unwrap();

    let erased = store.erase_name(NAME, now()).await.unwrap();
    assert_eq!((erased.facts, erased.instead.as_deref(), erased.not_cleaned), (5, Some("Person 1"), None));
    let text = words(store).await.to_lowercase();
    assert!(!text.contains(&NAME.to_lowercase()), "{text}");
    assert!(text.contains("person 1 rang, robin wrote") && text.contains("person 1: carer"));
    if store.engine() == Engine::Sqlite {
        assert!(!is_on_disk(&book, NAME), "the file still has the name");
        assert!(is_on_disk(&book, "Robin"), "the search finds what is there");
    }

    // A phone that had no answer sends it once more: it is there, and the name does not come back with it.
    let again = by(NAME, weighing(3, id(1), "2026-11-18T09:00Z", "301"));
    assert!(matches!(store.append(&[again], now()).await.unwrap()[0], Outcome::AlreadyThere { seq: 4 }));

    // Places, times, weights and pups are those of before.
    let after = store.page(0, 1000).await.unwrap();
    assert_eq!(after.len(), before.len());
    for (a, b) in after.iter().zip(&before) {
        assert_eq!(
            (a.id, a.receipt.clone(), a.occurred, a.pup, a.amount()),
            (b.id, b.receipt.clone(), b.occurred, b.pup, b.amount())
        );
    }
    // The one is gone with PIN and phone, the other stays.
    let people = store.people().await.unwrap();
    assert_eq!(people.iter().map(|p| (p.name.as_str(), p.has_pin)).collect::<Vec<_>>(), [("Robin", true)]);
    let devices = store.devices(now().as_millisecond()).await.unwrap();
    assert_eq!(devices.iter().map(|d| d.carer.as_str()).collect::<Vec<_>>(), ["Robin"]);

    // The next one has a name of its own, also in a book that was rebuilt from a ZIP and counts anew.
    let rebuilt = common::sqlite().await;
    rebuilt.store.rebuild(&after).await.unwrap();
    write_out(&rebuilt.store).await;
    let erased = rebuilt.store.erase_name("Robin", now()).await.unwrap();
    assert_eq!(erased.instead.as_deref(), Some("Person 2"));
}

/// A book in which names hold each other, are written in capitals, or stand outside the entries only.
async fn names_that_are_alike(book: TestBook) {
    let store = &book.store;
    let facts = [
        litter(),
        pup(1, "ANA"),
        fact(2, Kind::Carer, None, &[("name", "Ana")]),
        fact(3, Kind::Carer, None, &[("name", "Ana Maria")]),
        by("ana", weighing(4, id(1), "2026-11-18T09:00Z", "301")),
        by("Ana Maria", weighing(5, id(1), "2026-11-18T12:00Z", "305")),
        by("Ana Maria", fact(6, Kind::Note, None, &[("noted_at", "2026-11-18T12:00Z"), ("text", "Ana's turn")])),
    ];
    store.append(&facts, now()).await.unwrap();
    let ms = now().as_millisecond();
    for name in ["ANA", "Ana Maria"] {
        store.put_person(name, "carer", ms).await.unwrap();
        let device = Device {
            id: format!("phone of {}", name.len()),
            label: "a phone".into(),
            role: "carer".into(),
            carer: name.into(),
            carer_role: String::new(),
            added_ms: ms,
            seen_ms: ms,
            ends_ms: ms + 1_000_000,
        };
        assert!(store.add_device(&device, name, 50, ms).await.unwrap());
    }
    audit(store, "Ana Maria", "role-set", "Lou Fenn: helper").await;
    audit(store, "Ana Maria", "person-removed", "Lou Fenn").await;
    audit(store, "Ana Maria", "refused-gate", "POST /api/v1/tap: ANA").await;
    write_out(store).await;
    let beside = store.people_beside().await.unwrap();
    assert!(beside.contains(&"Lou Fenn".to_owned()), "who left the household can be erased: {beside:?}");

    let erased = store.erase_name("Ana", now()).await.unwrap();
    assert_eq!((erased.facts, erased.not_cleaned), (3, None));
    let after = store.facts(id(0), 0).await.unwrap();
    let carers: Vec<_> = after.iter().filter(|f| f.kind == Kind::Carer).map(|f| f.body["name"].clone()).collect();
    assert_eq!(carers, ["Person 1", "Ana Maria"]);
    assert_eq!(after.iter().filter(|f| f.carer.as_deref() == Some("Ana Maria")).count(), 2);
    let people = store.people().await.unwrap();
    assert_eq!(people.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["Ana Maria"]);
    let devices = store.devices(ms).await.unwrap();
    assert_eq!(devices.iter().map(|d| d.carer.as_str()).collect::<Vec<_>>(), ["Ana Maria"]);
    let audit = format!("{:?}", store.audit_before(i64::MAX, 100).await.unwrap());
    assert!(audit.contains("tap: ANA") && audit.contains("carer: \"Ana Maria\""), "{audit}");

    // A note that comes once more is known, so that the name does not come back among what waits.
    assert!(matches!(store.append(&[facts[6].clone()], now()).await.unwrap()[0], Outcome::AlreadyThere { .. }));
    assert!(store.set_aside().await.unwrap().is_empty());

    store.erase_name("Lou Fenn", now()).await.unwrap();
    assert!(!format!("{:?}", store.audit_before(i64::MAX, 100).await.unwrap()).contains("Lou"));
}

/// Many facts, while others save over the same few connections.
async fn while_others_save(book: TestBook) {
    let store = &book.store;
    store.append(&[litter(), pup(1, "Ash")], now()).await.unwrap();
    let at = |n: u32| by(NAME, weighing(n, id(1), "2026-11-18T09:00Z", "301"));
    store.append(&(1000..3000).map(at).collect::<Vec<_>>(), now()).await.unwrap();
    write_out(store).await;
    // More than there are connections, and each begins anew at once, so that all of them wait for the lock.
    let is_over = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
    let saves: Vec<_> = (0..12)
        .map(|n| {
            let (store, is_over) = (store.clone(), is_over.clone());
            tokio::spawn(async move {
                let mut saved = 0;
                while !is_over.load(std::sync::atomic::Ordering::Relaxed) {
                    let next = weighing(5000 + 1_000_000 * n + saved, id(1), "2026-11-18T09:00Z", "302");
                    assert!(matches!(store.append(&[next], now()).await.unwrap()[0], Outcome::Saved { .. }));
                    saved += 1;
                }
                saved
            })
        })
        .collect();
    let erased = store.erase_name(NAME, now()).await.unwrap();
    is_over.store(true, std::sync::atomic::Ordering::Relaxed);
    assert_eq!((erased.facts, erased.instead.as_deref()), (2000, Some("Person 1")));
    let mut saved = 0;
    for save in saves {
        saved += usize::try_from(save.await.unwrap()).unwrap();
    }
    let facts = store.facts(id(0), 0).await.unwrap();
    assert!(saved > 0);
    assert_eq!(facts.len(), 2002 + saved);
    assert_eq!(facts.iter().filter(|f| f.carer.as_deref() == Some("Person 1")).count(), 2000);
}

#[tokio::test]
async fn a_book_that_was_emptied_and_filled_from_an_older_zip_counts_on() {
    let book = common::sqlite().await;
    let store = &book.store;
    let facts = [litter(), pup(1, "Ash"), weighing(2, id(1), "2026-11-18T09:00Z", "301")];
    store.append(&facts, now()).await.unwrap();
    let older = store.page(0, 2).await.unwrap();
    write_out(store).await;
    let (names, pups) = ([LITTER.to_owned()], ["Ash".to_owned()]);
    store.erase_litter(id(0), &names, &pups, now()).await.unwrap();
    store.allow_again([id(0)].into_iter()).await.unwrap();
    store.rebuild(&older).await.unwrap();
    // What is written now is in no ZIP, though its place might have been in one.
    store.append(&[weighing(9, id(1), "2026-11-18T12:00Z", "305")], now()).await.unwrap();
    let early = store.erase_litter(id(0), &names, &pups, now()).await;
    assert!(matches!(early, Err(StoreError::NotWrittenOut { .. })), "{early:?}");
}

#[tokio::test]
async fn sqlite_tells_names_apart() {
    names_that_are_alike(common::sqlite().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_tells_names_apart() {
    names_that_are_alike(common::postgres().await).await;
}

#[tokio::test]
async fn sqlite_erases_a_name_while_others_save() {
    while_others_save(common::sqlite().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_erases_a_name_while_others_save() {
    while_others_save(common::postgres().await).await;
}

#[tokio::test]
async fn sqlite_erases_a_litter() {
    a_litter(common::sqlite().await).await;
}

#[tokio::test]
async fn sqlite_erases_a_name() {
    a_name(common::sqlite().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_erases_a_litter() {
    a_litter(common::postgres().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_erases_a_name() {
    a_name(common::postgres().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_says_that_a_reader_keeps_old_rows() {
    let book = common::postgres().await;
    fill(&book.store).await;
    write_out(&book.store).await;
    // Such as a dump: it writes nothing and holds none of the tables, but sees the book as it was.
    let pool = sqlx::AnyPool::connect(&book.url).await.unwrap();
    let mut reader = pool.begin().await.unwrap();
    sqlx::query("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ").execute(&mut *reader).await.unwrap();
    sqlx::query("SELECT value FROM counter").fetch_all(&mut *reader).await.unwrap();
    let erased = book.store.erase_name(NAME, now()).await.unwrap();
    assert!(erased.not_cleaned.is_some_and(|why| why.contains("transaction open")));
    reader.rollback().await.unwrap();
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_forgets_at_the_board_which_homes_a_person_saw_and_leaves_the_homes() {
    let homes = Homes::open(&common::fresh_postgres().await, "00").await.unwrap();
    let home = homes.add("North", "00", now()).await.unwrap();
    let north = homes.store(&home).await.unwrap();
    fill(&north).await;
    homes.board.put_person(NAME, "carer", 1).await.unwrap();
    homes.let_see(NAME, home.number, true).await.unwrap();
    assert_eq!(homes.seen_by(NAME).await.unwrap(), [home.number]);
    homes.board.erase_name(NAME, now()).await.unwrap();
    assert!(homes.seen_by(NAME).await.unwrap().is_empty());
    assert!(words(&north).await.contains(NAME), "a home is a book of its own");
}

/// Somebody reads while it is erased: the old bytes stay in the journal, and go the next time.
#[tokio::test]
async fn what_could_not_be_cleared_away_at_once_is_cleared_later() {
    let book = common::sqlite().await;
    let store = Store::open_patiently(&book.url, std::time::Duration::from_millis(100)).await.unwrap();
    fill(&store).await;
    write_out(&store).await;
    assert_eq!(store.clean_up().await, Ok(()), "nothing to do");
    let reader = common::beside(&book.url).await;
    let mut reading = reader.begin().await.unwrap();
    sqlx::query("SELECT id FROM fact LIMIT 1").fetch_all(&mut *reading).await.unwrap();
    let erased = store.erase_litter(id(0), &[LITTER.to_owned()], &[], now()).await.unwrap();
    let why = erased.not_cleaned.expect("a reader holds the journal");
    assert!(!why.is_empty() && is_on_disk(&book, LITTER));
    assert!(store.clean_up().await.is_err(), "still read");
    reading.rollback().await.unwrap();
    reader.close().await;
    // Also by a program that was started since.
    let later = Store::open(&book.url).await.unwrap();
    assert_eq!(later.clean_up().await, Ok(()));
    assert!(!is_on_disk(&book, LITTER));
    assert_eq!(later.clean_up().await, Ok(()));
}
