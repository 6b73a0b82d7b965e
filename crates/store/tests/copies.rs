//! Copies of a book, putting one back, a change of the layout, and moving between databases.

mod common;

use std::path::{Path, PathBuf};

use common::{all_facts, beside, contents, litter, old_layout, pup, some_weighings, time};
use whelpward_core::book::Fact;
use whelpward_store::{AuditEntry, Carried, Device, Link, LinkKind, Store, StoreError, restore_sqlite, verify_copy};

fn received() -> jiff::Timestamp {
    time("2026-11-19T08:00Z")
}

async fn book_with(folder: &Path, name: &str, how_many: u32) -> (Store, PathBuf, Vec<Fact>) {
    let path = folder.join(name);
    let store = Store::open_sqlite(&path).await.unwrap();
    let facts: Vec<Fact> = [litter(), pup(1, "Ash")].into_iter().chain(some_weighings(10, how_many)).collect();
    store.append(&facts, received()).await.unwrap();
    (store, path, facts)
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn copies_made_while_others_write_hold_what_was_acknowledged_before() {
    let folder = tempfile::tempdir().unwrap();
    let (store, _, _) = book_with(folder.path(), "book.sqlite", 10).await;
    let writer = tokio::spawn({
        let store = store.clone();
        async move {
            for n in 0..150 {
                store.append(&some_weighings(1000 + n * 5, 5), received()).await.unwrap();
            }
        }
    });
    let mut made = 0;
    while !writer.is_finished() {
        let before = store.count().await.unwrap();
        let copy = folder.path().join(format!("copy-{made}.sqlite"));
        let info = store.copy_into(&copy).await.unwrap();
        assert!(info.facts >= before, "{} of {before}", info.facts);
        assert_eq!(info.facts % 5, 2, "a save of five facts is never cut in two");
        assert_eq!(verify_copy(&copy).await.unwrap(), info);
        made += 1;
    }
    writer.await.unwrap();
    assert!(made > 1);
    // A copy is a book: opened by itself it gives the same litter.
    let last = folder.path().join("last.sqlite");
    store.copy_into(&last).await.unwrap();
    let copy = Store::open_sqlite(&last).await.unwrap();
    assert_eq!(copy.digest().await.unwrap(), store.digest().await.unwrap());
    assert_eq!(common::picture(&all_facts(&copy).await), common::picture(&all_facts(&store).await));
}

#[tokio::test]
async fn verifying_finds_every_flipped_byte_a_cut_and_a_missing_checksum() {
    let folder = tempfile::tempdir().unwrap();
    let (store, _, _) = book_with(folder.path(), "book.sqlite", 40).await;
    let copy = folder.path().join("copy.sqlite");
    store.copy_into(&copy).await.unwrap();
    let good = std::fs::read(&copy).unwrap();
    let sidecar = folder.path().join("copy.sqlite.sha256");
    let mut places: Vec<usize> = (0..good.len()).step_by(good.len() / 60).collect();
    places.push(good.len() - 1);
    for place in places {
        let mut bad = good.clone();
        bad[place] ^= 1;
        std::fs::write(&copy, &bad).unwrap();
        assert!(verify_copy(&copy).await.is_err(), "byte {place}");
    }
    for length in [0, 10, good.len() / 2, good.len() - 4096] {
        std::fs::write(&copy, &good[..length]).unwrap();
        assert!(verify_copy(&copy).await.is_err(), "{length} bytes");
    }
    std::fs::write(&copy, &good).unwrap();
    verify_copy(&copy).await.unwrap();
    let text = std::fs::read_to_string(&sidecar).unwrap();
    std::fs::remove_file(&sidecar).unwrap();
    let error = verify_copy(&copy).await.unwrap_err().to_string();
    assert!(error.contains("copy.sqlite.sha256") && error.contains("missing"), "{error}");
    std::fs::write(&sidecar, text.replace(&text[..8], "00000000")).unwrap();
    let error = verify_copy(&copy).await.unwrap_err().to_string();
    assert!(error.contains("has changed since it was made") && error.contains("Do not rely on it"), "{error}");
    // The sidecar is as the usual program reads it.
    std::fs::write(&sidecar, text).unwrap();
    let check = std::process::Command::new("sha256sum")
        .args(["--check", "--status", "copy.sqlite.sha256"])
        .current_dir(folder.path())
        .status();
    assert!(check.unwrap().success());
    assert!(verify_copy(&folder.path().join("none.sqlite")).await.is_err());
}

#[tokio::test]
async fn a_copy_is_never_written_over_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let (store, _, _) = book_with(folder.path(), "book.sqlite", 1).await;
    let there = folder.path().join("there.sqlite");
    std::fs::write(&there, "mine").unwrap();
    let error = store.copy_into(&there).await.unwrap_err().to_string();
    assert!(error.contains("there is a file of that name") && error.contains("Nothing was changed"), "{error}");
    assert_eq!(std::fs::read_to_string(&there).unwrap(), "mine");
}

#[tokio::test]
async fn restoring_keeps_a_verified_copy_of_what_was_there() {
    let folder = tempfile::tempdir().unwrap();
    let (store, path, old) = book_with(folder.path(), "book.sqlite", 10).await;
    let copy = folder.path().join("copy.sqlite");
    store.copy_into(&copy).await.unwrap();
    let more = some_weighings(5000, 7);
    store.append(&more, received()).await.unwrap();
    store.close().await;
    let (info, kept) = restore_sqlite(&copy, &path, received()).await.unwrap();
    assert_eq!(info.facts, 12);
    let kept = kept.unwrap();
    assert_eq!(verify_copy(&kept).await.unwrap().facts, 19);
    let store = Store::open_sqlite(&path).await.unwrap();
    assert_eq!(contents(&all_facts(&store).await), contents(&old));
    // And back again: nothing was lost by it. The second within one second takes another name.
    store.close().await;
    let (_, second) = restore_sqlite(&kept, &path, received()).await.unwrap();
    assert_ne!(second.unwrap(), kept);
    let store = Store::open_sqlite(&path).await.unwrap();
    assert_eq!(contents(&all_facts(&store).await), contents(&[old, more].concat()));
    store.close().await;
    // To a new machine.
    let new = folder.path().join("new machine/data/book.sqlite");
    let (_, none) = restore_sqlite(&copy, &new, received()).await.unwrap();
    assert_eq!(none, None);
    assert_eq!(Store::open_sqlite(&new).await.unwrap().count().await.unwrap(), 12);
}

#[tokio::test]
async fn a_bad_copy_is_not_put_back() {
    let folder = tempfile::tempdir().unwrap();
    let (store, path, facts) = book_with(folder.path(), "book.sqlite", 10).await;
    let copy = folder.path().join("copy.sqlite");
    store.copy_into(&copy).await.unwrap();
    store.close().await;
    let mut bytes = std::fs::read(&copy).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    std::fs::write(&copy, bytes).unwrap();
    let before = files(folder.path());
    restore_sqlite(&copy, &path, received()).await.unwrap_err();
    assert_eq!(files(folder.path()), before);
    let store = Store::open_sqlite(&path).await.unwrap();
    assert_eq!(contents(&all_facts(&store).await), contents(&facts));
}

#[tokio::test]
async fn nothing_is_put_in_the_place_of_a_book_that_another_program_has_open() {
    let folder = tempfile::tempdir().unwrap();
    let (store, path, mut facts) = book_with(folder.path(), "book.sqlite", 10).await;
    let copy = folder.path().join("copy.sqlite");
    store.copy_into(&copy).await.unwrap();
    let more = some_weighings(5000, 1);
    store.append(&more, received()).await.unwrap();
    facts.extend(more);
    let error = restore_sqlite(&copy, &path, received()).await.unwrap_err();
    assert!(matches!(error, StoreError::Busy { .. }), "{error:?}");
    assert!(error.to_string().contains("Close the other program"), "{error}");
    assert!(!files(folder.path()).iter().any(|n| n.contains("before-restore")), "{:?}", files(folder.path()));
    // The other program writes on as if nothing had been.
    let more = some_weighings(6000, 1);
    store.append(&more, received()).await.unwrap();
    facts.extend(more);
    assert_eq!(contents(&all_facts(&store).await), contents(&facts));
    store.close().await;
    restore_sqlite(&copy, &path, received()).await.unwrap();
}

#[tokio::test]
async fn before_the_layout_changes_a_verified_dated_copy_is_made() {
    for step in [1, 2, 3] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book.sqlite");
        let url = path.display().to_string();
        let facts: Vec<Fact> = [litter(), pup(1, "Ash")].into_iter().chain(some_weighings(10, 30)).collect();
        old_layout(&url, step, &facts).await;
        let newest = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/migrations")).unwrap().count();
        let is_old = i64::try_from(newest).unwrap() > step;
        let store = Store::open(&url).await.unwrap();
        assert_eq!(store.copy_made().is_some(), is_old);
        assert_eq!(contents(&all_facts(&store).await), contents(&facts));
        store.append(&some_weighings(5000, 1), received()).await.unwrap();
        if let Some(copy) = store.copy_made() {
            let name = copy.file_name().unwrap().to_string_lossy().into_owned();
            assert!(name.starts_with(&format!("book.sqlite.before-step-{}.2", step + 1)), "{name}");
            assert_eq!(verify_copy(copy).await.unwrap().facts, 32);
            assert_eq!(common::newest_step_of(&copy.display().to_string()).await, step, "as it was");
        }
        store.close().await;
        assert!(Store::open(&url).await.unwrap().copy_made().is_none(), "once");
    }
}

fn audit_entry(what: &str) -> AuditEntry {
    let nobody = String::new;
    let at = time("2026-11-20T08:00Z");
    AuditEntry {
        at,
        device: "phone-1".into(),
        carer: "Kim".into(),
        address: nobody(),
        what: what.into(),
        detail: nobody(),
    }
}

/// People, a password, a PIN that was tried twice, a device, a link and a long audit; gives what is known of them.
async fn let_in(book: &common::TestBook) -> String {
    let store = &book.store;
    store.put_person("Kim", "breeder", 1).await.unwrap();
    store.put_person("Ro\u{308}bin", "helper", 2).await.unwrap();
    store.put_secret("household", "hash of the password", 3).await.unwrap();
    store.put_secret("pin Kim", "hash of the PIN", 4).await.unwrap();
    for _ in 0..2 {
        store.count_try("pin Kim", 5, |n| n).await.unwrap();
    }
    let (id, label) = ("phone-1".to_owned(), "Kim's phone".to_owned());
    let (role, carer, carer_role) = ("breeder".to_owned(), "Kim".to_owned(), String::new());
    let device = Device { id, label, role, carer, carer_role, added_ms: 6, seen_ms: 7, ends_ms: 9_000 };
    assert!(store.add_device(&device, "token", 50, 6).await.unwrap());
    let (id, name, role, litter) = ("link-1".into(), "Kim".into(), "breeder".into(), String::new());
    let link = Link { id, name, role, litter, made_ms: 8, ends_ms: 9_000, used_ms: 0, ended_ms: 0 };
    store.add_link(LinkKind::Phone, &link, "link").await.unwrap();
    for n in 0..2001 {
        store.write_audit(&audit_entry(&format!("did-{n}"))).await.unwrap();
    }
    who_may(book).await
}

/// What a book says of who may come in, as text.
async fn who_may(book: &common::TestBook) -> String {
    let pool = beside(&book.url).await;
    let secrets = sqlx::query(
        "SELECT owner, hash, CAST(tries AS BIGINT), CAST(closed_until_ms AS BIGINT) FROM secret ORDER BY owner",
    );
    let secrets = secrets.fetch_all(&pool).await.unwrap();
    let secrets: Vec<(String, String, i64, i64)> = secrets
        .iter()
        .map(|r| (sqlx::Row::get(r, 0), sqlx::Row::get(r, 1), sqlx::Row::get(r, 2), sqlx::Row::get(r, 3)))
        .collect();
    pool.close().await;
    let audit = book.store.audit_before(i64::MAX, 5000).await.unwrap();
    format!("{:?} {secrets:?} {audit:?}", book.store.people().await.unwrap())
}

async fn moved(from: common::TestBook, to: common::TestBook, back: common::TestBook) {
    let facts: Vec<Fact> = [litter(), pup(1, "Ash")].into_iter().chain(some_weighings(10, 4500)).collect();
    // In several saves with a duplicate and a conflict, so that places are skipped.
    for some in facts.chunks(700) {
        from.store.append(some, received()).await.unwrap();
    }
    from.store.append(&facts[..3], received()).await.unwrap();
    let mut other = facts[5].clone();
    other.device = "another".into();
    from.store.append(&[other], received()).await.unwrap();
    let before = from.store.digest().await.unwrap();
    assert_eq!(before.count, 4502);
    let known = let_in(&from).await;
    let mut seen = 0;
    let there = to.store.take_over(&from.store, |n| seen = n).await.unwrap();
    assert_eq!((&there, seen), (&before, 4502));
    assert_eq!(to.store.set_aside().await.unwrap().len(), 1);
    assert_eq!(who_may(&to).await, known);
    assert_eq!(to.store.same_access(&from.store).await.unwrap(), Carried { people: 2, secrets: 2, audit: 2001 });
    // Nobody is signed in there, no link opens anything, and the audit still knows the device by name.
    assert!(from.store.device("token", 5_000).await.unwrap().is_some());
    for hash in ["token", "moved phone-1"] {
        let found = to.store.device(hash, 5_000).await.unwrap();
        assert!(found.is_none(), "{found:?}");
    }
    assert!(to.store.link(LinkKind::Phone, "link").await.unwrap().is_none());
    assert_eq!(to.store.device_labels().await.unwrap(), [("phone-1".to_owned(), "Kim's phone".to_owned())]);
    // The audit goes on behind its last line.
    to.store.write_audit(&audit_entry("later")).await.unwrap();
    assert_eq!(to.store.audit_before(i64::MAX, 1).await.unwrap()[0].seq, 2002);
    let error = to.store.same_access(&from.store).await.unwrap_err();
    assert!(error.to_string().contains("audit"), "a line too many is seen: {error}");
    // The place goes on behind the last one.
    to.store.append(&some_weighings(9000, 1), received()).await.unwrap();
    assert_eq!(to.store.last_seq().await.unwrap(), before.last_seq + 1);
    let error = to.store.take_over(&from.store, |_| ()).await.unwrap_err();
    assert!(matches!(error, StoreError::NotEmpty { count: 4503, .. }), "{error:?}");
    assert!(error.to_string().contains("nothing was written over"), "{error}");
    let home = back.store.take_over(&to.store, |_| ()).await.unwrap();
    assert_eq!(home, to.store.digest().await.unwrap());
    let all = [facts, some_weighings(9000, 1)].concat();
    assert_eq!(contents(&all_facts(&back.store).await), contents(&all));
    for book in [from, to, back] {
        book.store.close().await;
    }
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn a_household_moves_to_postgres_and_back() {
    moved(common::sqlite().await, common::postgres().await, common::sqlite().await).await;
}

#[tokio::test]
async fn a_household_moves_to_another_file() {
    moved(common::sqlite().await, common::sqlite().await, common::sqlite().await).await;
}

#[tokio::test]
async fn a_book_is_rebuilt_from_its_facts_with_their_places_all_or_none() {
    let folder = tempfile::tempdir().unwrap();
    let (store, _, _) = book_with(folder.path(), "book.sqlite", 50).await;
    let facts = all_facts(&store).await;
    let other = Store::open_sqlite(&folder.path().join("other.sqlite")).await.unwrap();
    let twice = [facts.clone(), facts[..1].to_vec()].concat();
    other.rebuild(&twice).await.unwrap_err();
    assert_eq!(other.count().await.unwrap(), 0);
    other.rebuild(&facts).await.unwrap();
    assert_eq!(other.digest().await.unwrap(), store.digest().await.unwrap());
    let pool = beside(&folder.path().join("other.sqlite").display().to_string()).await;
    let row = sqlx::query("SELECT value FROM counter WHERE name = 'fact'").fetch_one(&pool).await.unwrap();
    assert_eq!(sqlx::Row::get::<i64, _>(&row, 0), store.last_seq().await.unwrap());
}

#[tokio::test]
async fn a_book_is_taken_over_while_others_save_into_it() {
    let (from, to) = (common::sqlite().await, common::sqlite().await);
    from.store.append(&some_weighings(1, 3000), received()).await.unwrap();
    let is_over = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
    let (store, stop) = (from.store.clone(), is_over.clone());
    let saves = tokio::spawn(async move {
        let mut next = 10_000;
        while !stop.load(std::sync::atomic::Ordering::Relaxed) {
            store.append(&some_weighings(next, 1), received()).await.unwrap();
            next += 1;
        }
    });
    from.store.append(&some_weighings(9000, 1), received()).await.unwrap();
    let holds = to.store.take_over(&from.store, |_| ()).await.unwrap();
    is_over.store(true, std::sync::atomic::Ordering::Relaxed);
    saves.await.unwrap();
    assert!(holds.count >= 3001 && holds.last_seq < from.store.last_seq().await.unwrap(), "others went on: {holds:?}");
}
