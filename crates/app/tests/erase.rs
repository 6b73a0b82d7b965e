//! Erasing, as two programs on one book see it.

use std::path::Path;

use jiff::Timestamp;
use whelpward_app::access::{By, Role, put_person, vet_link};
use whelpward_app::{
    AppError, Backups, Book, Keep, Target, back_up, copies_after_erasing, erase, everything_in, everything_out, find,
    folder_in, people, would_go,
};
use whelpward_core::book::{FactId, Kind};
use whelpward_core::record::FolderFiles;
use whelpward_core::report::today;
use whelpward_store::{Store, StoreError};

const ROBIN: &str = "Robin";

fn now() -> Timestamp {
    "2026-11-26T09:00Z".parse().unwrap()
}

fn by() -> By {
    By { device: "computer-1".into(), carer: ROBIN.into(), address: String::new() }
}

async fn open(folder: &Path) -> Book {
    Book::new(Store::open_sqlite(&folder.join("book.sqlite")).await.unwrap())
}

/// Two invented litters, in which Robin is a carer.
async fn two_litters(folder: &Path) -> Book {
    let book = open(folder).await;
    for example in ["working-household", "ordinary-litter"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(example);
        let files = FolderFiles::gather(|name| Ok::<_, ()>(std::fs::read(path.join(name)).ok())).unwrap();
        folder_in(&book, &files, now()).await.unwrap().unwrap();
    }
    book
}

async fn litter(book: &Book, name: &str) -> FactId {
    find(book, Some(name)).await.unwrap().id
}

/// What the program tells of a litter, as text.
async fn told(book: &Book, litter: FactId) -> String {
    let loaded = book.load(litter).await.unwrap();
    assert!(loaded.folded.refused.is_empty());
    let facts = loaded.facts().unwrap();
    let at = facts.litter.example.as_ref().unwrap().at;
    serde_json::to_string(&today(facts, at)).unwrap()
}

async fn write_out(book: &Book) -> Vec<u8> {
    let out = everything_out(book, now()).await.unwrap();
    out.is_kept(book, &by(), now()).await.unwrap();
    out.zip
}

#[tokio::test]
async fn without_a_name_the_program_says_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let (book, other) = (two_litters(folder.path()).await, open(folder.path()).await);
    put_person(&book.store, &by(), ROBIN, Role::Carer, now()).await.unwrap();
    let coppice = litter(&book, "Coppice").await;
    let before = told(&book, coppice).await;
    assert!(before.contains(ROBIN), "the plan names who does it");
    assert!(people(&book).await.unwrap().contains(ROBIN));
    write_out(&book).await;

    let target = Target::Person(ROBIN.into());
    let error = erase(&other, &by(), &target, "Rob", now()).await.unwrap_err();
    assert!(matches!(&error, AppError::Refused { allowed, .. } if allowed.contains(ROBIN)), "{error}");
    assert_eq!(told(&book, coppice).await, before);
    let erased = erase(&other, &by(), &target, " Robin ", now()).await.unwrap();
    assert_eq!(erased.instead.as_deref(), Some("Person 1"));

    // The program that had the litter in memory says the same, but for the name.
    assert_eq!(told(&book, coppice).await, before.replace(ROBIN, "Person 1"));
    assert!(!people(&book).await.unwrap().contains(ROBIN));
    let audit = book.store.audit_before(i64::MAX, 100).await.unwrap();
    let last = &audit[0].entry;
    assert_eq!(
        (last.what.as_str(), last.detail.as_str(), last.carer.as_str()),
        ("name-erased", "Person 1", "Person 1")
    );
    assert!(audit.iter().all(|line| !format!("{line:?}").contains(ROBIN)), "{audit:?}");
}

#[tokio::test]
async fn an_erased_litter_is_gone_for_a_program_that_has_it_in_memory_and_a_zip_brings_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let (book, other) = (two_litters(folder.path()).await, open(folder.path()).await);
    let coppice = litter(&book, "Coppice").await;
    let orchard = litter(&book, "Orchard").await;
    let (before, orchard_before) = (told(&book, coppice).await, told(&book, orchard).await);
    let target = Target::Litter(coppice);
    assert!(!would_go(&book, &target).await.unwrap().is_written_out);
    let error = erase(&other, &by(), &target, "Coppice", now()).await.unwrap_err();
    assert!(matches!(error, AppError::Store(StoreError::NotWrittenOut { .. })), "{error}");
    let zip = write_out(&book).await;
    let would_go = would_go(&book, &target).await.unwrap();
    let loaded = book.load(coppice).await.unwrap();
    let count = |kind: Kind| loaded.all.iter().filter(|f| f.kind == kind).count();
    assert!(would_go.is_written_out);
    assert_eq!((would_go.facts, would_go.weighings), (loaded.all.len(), count(Kind::Weighing)));

    let erased = erase(&other, &by(), &target, "Coppice", now()).await.unwrap();
    assert_eq!(erased.facts, i64::try_from(loaded.all.len()).unwrap());
    assert!(matches!(book.load(coppice).await, Err(AppError::Said(_))));
    let late = book.save(Some(&loaded), vec![(**loaded.all.last().unwrap()).clone()], now()).await;
    assert!(matches!(late, Err(AppError::Store(StoreError::Erased { .. }))), "a save that had begun before");
    assert_eq!(told(&book, orchard).await, orchard_before);

    let arrived = everything_in(&book, &zip, now()).await.unwrap();
    assert_eq!((arrived.added, arrived.set_aside), (loaded.all.len(), 0));
    assert_eq!(told(&other, coppice).await, before);
}

#[tokio::test]
async fn a_former_name_of_the_litter_goes_from_the_audit() {
    let folder = tempfile::tempdir().unwrap();
    let book = two_litters(folder.path()).await;
    let coppice = litter(&book, "Coppice").await;
    vet_link(&book.store, &by(), coppice, ("Coppice", 1), now()).await.unwrap();
    let first = book.load(coppice).await.unwrap().folded.of_kind(Kind::Litter).next().unwrap().clone();
    let mut renamed = (*first).clone();
    renamed.id = book.new_id(now());
    renamed.supersedes = Some(first.id);
    renamed.body.insert("name".into(), "Spinney".into());
    let loaded = book.load(coppice).await.unwrap();
    book.save(Some(&loaded), vec![renamed], now()).await.unwrap();
    write_out(&book).await;
    erase(&book, &by(), &Target::Litter(coppice), "Spinney", now()).await.unwrap();
    let audit = format!("{:?}", book.store.audit_before(i64::MAX, 100).await.unwrap());
    assert!(audit.contains("vet-link-made") && !audit.contains("Coppice"), "{audit}");
}

#[tokio::test]
async fn older_copies_go_only_where_there_is_a_new_one_and_those_of_another_book_stay() {
    let folder = tempfile::tempdir().unwrap();
    let book = two_litters(folder.path()).await;
    let file = |name: &str| folder.path().join(name);
    let good = Backups { folder: file("copies"), second: None, keep: Keep::default() };
    let older = back_up(&book, &good, now()).await.unwrap().path;
    let beside =
        [file("book.sqlite.before-step-4.20261101T000000Z"), file("other.sqlite.before-step-4.20261101T000000Z")];
    for path in &beside {
        std::fs::write(path, "a copy").unwrap();
    }
    std::fs::write(file("no folder"), "").unwrap();
    let bad = Backups { folder: file("no folder"), second: Some(file("copies")), ..good.clone() };
    let after = copies_after_erasing(&book, &bad, folder.path(), true, now()).await;
    assert!(after.newest.is_err() && after.removed == 0 && older.exists());
    assert_eq!(after.left, [beside[0].clone(), older.clone()]);

    // In the same second: the name is taken, and the new one has another.
    let after = copies_after_erasing(&book, &good, folder.path(), true, now()).await;
    let newest = after.newest.unwrap();
    assert!(newest.exists() && newest != older && !older.exists());
    assert!(!beside[0].exists() && beside[1].exists());
}
