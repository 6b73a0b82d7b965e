//! What goes wrong with disks, files, servers and other programs. Each time: a sentence that says
//! what happened, what is safe and what to do; nothing acknowledged is lost; the next save works
//! when the cause is gone.
//!
//! The small disk is a tmpfs that the test mounts, which needs root (as `scripts/test` has). What
//! file permissions forbid is tried as another user, since root may do everything.

mod common;

use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use common::{all_facts, beside, contents, id, litter, pup, some_weighings, time};
use sqlx::Executor as _;
use whelpward_core::book::Fact;
use whelpward_store::{Outcome, Store, StoreError};

/// Long enough for a healthy book, short enough for a test.
const PATIENCE: Duration = Duration::from_millis(300);

fn received() -> jiff::Timestamp {
    time("2026-11-19T08:00Z")
}

async fn open(url: &str) -> Result<Store, StoreError> {
    Store::open_patiently(url, PATIENCE).await
}

/// The three parts of every sentence.
fn says(error: &StoreError, happened: &str, safe: &str, to_do: &str) {
    let text = error.to_string();
    for part in [happened, safe, to_do] {
        assert!(text.contains(part), "{part:?} is not in: {text}");
    }
}

/// A book with the litter, a pup and ten weighings, all acknowledged.
async fn filled(store: &Store) -> Vec<Fact> {
    let facts: Vec<Fact> = [litter(), pup(1, "Ash")].into_iter().chain(some_weighings(10, 10)).collect();
    let outcomes = store.append(&facts, received()).await.unwrap();
    assert!(outcomes.iter().all(Outcome::is_in_the_book));
    facts
}

async fn holds_exactly(store: &Store, facts: &[Fact]) {
    assert_eq!(contents(&all_facts(store).await), contents(facts));
}

fn in_folder() -> (tempfile::TempDir, PathBuf, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let url = path.display().to_string();
    (folder, path, url)
}

fn is_root() -> bool {
    std::fs::metadata("/proc/self").unwrap().uid() == 0
}

/// A disk of a few hundred kilobytes, gone at the end.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    fn of(kilobytes: u32) -> Self {
        let disk = Self(tempfile::tempdir().unwrap());
        disk.mount(&format!("size={kilobytes}k"), "tmpfs");
        disk
    }

    fn mount(&self, options: &str, what: &str) {
        let done =
            Command::new("mount").args(["-t", "tmpfs", "-o", options, what]).arg(self.0.path()).status().unwrap();
        assert!(done.success(), "a small disk needs root");
    }

    fn grow(&self, kilobytes: u32) {
        self.mount(&format!("remount,size={kilobytes}k"), "tmpfs");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // The folder below it is removed next; a disk that stays is seen by whoever runs the test.
        let _ = Command::new("umount").arg("-l").arg(self.0.path()).status();
    }
}

#[tokio::test]
#[ignore = "needs root, to mount a small disk; scripts/test runs it"]
async fn a_full_disk_loses_nothing_and_takes_saves_again_when_there_is_room() {
    let disk = SmallDisk::of(600);
    let path = disk.0.path().join("book.sqlite");
    let store = open(&path.display().to_string()).await.unwrap();
    let mut acknowledged = filled(&store).await;
    let mut n = 1000;
    let error = loop {
        let facts = some_weighings(n, 20);
        n += 20;
        match store.append(&facts, received()).await {
            Ok(outcomes) => {
                assert!(outcomes.iter().all(Outcome::is_in_the_book));
                acknowledged.extend(facts);
            }
            Err(error) => break error,
        }
        assert!(n < 100_000, "the disk never filled");
    };
    assert!(matches!(error, StoreError::DiskFull { .. }), "{error:?}");
    says(&error, "disk is full, so this was not saved", "Everything saved before is safe", "Make room");
    assert!(acknowledged.len() > 100);
    holds_exactly(&store, &acknowledged).await;
    // A copy does not fit either; nothing half is left.
    let copy = disk.0.path().join("copy.sqlite");
    let error = store.copy_into(&copy).await.unwrap_err();
    assert!(matches!(error, StoreError::DiskFull { .. }), "{error:?}");
    let left: Vec<_> = std::fs::read_dir(disk.0.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert!(left.iter().all(|n| n.to_string_lossy().starts_with("book.sqlite")), "{left:?}");
    // Opening it on the full disk works as well: reading needs no room.
    store.close().await;
    let store = open(&path.display().to_string()).await.unwrap();
    holds_exactly(&store, &acknowledged).await;
    // Room again, without opening it anew.
    disk.grow(4000);
    let facts = some_weighings(n, 20);
    store.append(&facts, received()).await.unwrap();
    acknowledged.extend(facts);
    holds_exactly(&store, &acknowledged).await;
    store.close().await;
    assert_eq!(common::integrity(&path.display().to_string()).await, "ok");
}

#[tokio::test]
#[ignore = "needs root, to mount a small disk; scripts/test runs it"]
async fn an_old_layout_stays_as_it_is_when_there_is_no_room_for_its_copy() {
    let disk = SmallDisk::of(400);
    let path = disk.0.path().join("book.sqlite");
    let url = path.display().to_string();
    common::old_layout(&url, 1, &[litter(), pup(1, "Ash")]).await;
    std::fs::write(disk.0.path().join("filler"), vec![0; 400_000]).unwrap_err();
    let before = std::fs::read(&path).unwrap();
    let error = open(&url).await.unwrap_err();
    assert!(matches!(error, StoreError::NoCopyBeforeChange { .. } | StoreError::DiskFull { .. }), "{error:?}");
    assert_eq!(common::newest_step_of(&url).await, 1, "{error}");
    assert_eq!(before, std::fs::read(&path).unwrap());
    disk.grow(4000);
    let store = open(&url).await.unwrap();
    assert!(store.copy_made().is_some());
    assert_eq!(store.count().await.unwrap(), 2);
    store.close().await;
}

/// Runs one test of this program as a user who may not do everything.
fn as_a_plain_user(test: &str, folder: &Path) {
    use std::os::unix::process::CommandExt as _;
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", test, "--include-ignored", "--nocapture"]).env("WHELPWARD_FOLDER", folder);
    if is_root() {
        const NOBODY: u32 = 65_534;
        for entry in std::fs::read_dir(folder).unwrap() {
            std::os::unix::fs::chown(entry.unwrap().path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        std::os::unix::fs::chown(folder, Some(NOBODY), Some(NOBODY)).unwrap();
        command.uid(NOBODY).gid(NOBODY);
    }
    let done = command.output().unwrap();
    let out = String::from_utf8_lossy(&done.stdout);
    assert!(done.status.success() && out.contains("1 passed"), "{out}\n{}", String::from_utf8_lossy(&done.stderr));
}

fn allow(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}

#[tokio::test]
async fn a_folder_or_file_that_cannot_be_written_says_so_and_works_again() {
    let (folder, path, url) = in_folder();
    let store = open(&url).await.unwrap();
    filled(&store).await;
    store.close().await;
    allow(&path, 0o644);
    as_a_plain_user("read_only_places", folder.path());
}

#[tokio::test]
#[ignore = "a process of another user that the test above starts; by itself it does nothing"]
async fn read_only_places() {
    let Ok(folder) = std::env::var("WHELPWARD_FOLDER") else { return };
    let folder = PathBuf::from(folder);
    let path = folder.join("book.sqlite");
    let url = path.display().to_string();
    let whole: Vec<Fact> = [litter(), pup(1, "Ash")].into_iter().chain(some_weighings(10, 10)).collect();
    let more = some_weighings(100, 1);
    let refused = |error: StoreError| {
        assert!(matches!(error, StoreError::ReadOnly { .. }), "{error:?}");
        says(&error, "cannot be written, so this was not saved", "Everything saved before is safe", "Allow writing");
    };
    // The folder; then the file in it.
    allow(&folder, 0o555);
    refused(open(&url).await.unwrap_err());
    allow(&folder, 0o755);
    allow(&path, 0o444);
    match open(&url).await {
        Ok(store) => {
            refused(store.append(&more, received()).await.unwrap_err());
            store.close().await;
        }
        Err(error) => refused(error),
    }
    // A folder in which no book can be made.
    allow(&path, 0o644);
    let inner = folder.join("inner");
    std::fs::create_dir(&inner).unwrap();
    allow(&inner, 0o555);
    refused(open(&inner.join("new.sqlite").display().to_string()).await.unwrap_err());
    allow(&inner, 0o755);
    // The cause is gone.
    let store = open(&url).await.unwrap();
    store.append(&more, received()).await.unwrap();
    holds_exactly(&store, &[whole, more].concat()).await;
    store.close().await;
    assert_eq!(common::integrity(&url).await, "ok");
}

fn is_damaged(error: &StoreError) {
    assert!(matches!(error, StoreError::Damaged { .. }), "{error:?}");
    says(error, "is damaged or is not a book", "Nothing was changed", "restore the newest good copy");
}

#[tokio::test]
async fn a_file_that_is_no_book_is_refused_and_left_as_it_is() {
    let (folder, path, url) = in_folder();
    // A text, a database of another program, a book whose first bytes were overwritten.
    std::fs::write(&path, "dear diary, ".repeat(500)).unwrap();
    let before = std::fs::read(&path).unwrap();
    is_damaged(&open(&url).await.unwrap_err());
    assert_eq!(std::fs::read(&path).unwrap(), before);

    let other = folder.path().join("other.sqlite");
    std::fs::write(&other, "").unwrap();
    let pool = beside(&other.display().to_string()).await;
    pool.execute("CREATE TABLE photo (name TEXT)").await.unwrap();
    pool.close().await;
    let before = std::fs::read(&other).unwrap();
    is_damaged(&open(&other.display().to_string()).await.unwrap_err());
    assert_eq!(std::fs::read(&other).unwrap(), before, "not even its journal was changed");

    std::fs::remove_file(&path).unwrap();
    let store = open(&url).await.unwrap();
    filled(&store).await;
    store.close().await;
    let good = std::fs::read(&path).unwrap();
    let mut bad = good.clone();
    bad[..64].fill(0);
    std::fs::write(&path, &bad).unwrap();
    is_damaged(&open(&url).await.unwrap_err());
    assert_eq!(std::fs::read(&path).unwrap(), bad);
    std::fs::write(&path, good).unwrap();
    assert_eq!(open(&url).await.unwrap().count().await.unwrap(), 12);
}

#[tokio::test]
async fn a_page_that_was_overwritten_is_noticed_and_the_book_is_restored_from_its_copy() {
    let (folder, path, url) = in_folder();
    let store = open(&url).await.unwrap();
    let mut facts = filled(&store).await;
    let more = some_weighings(1000, 400);
    store.append(&more, received()).await.unwrap();
    facts.extend(more);
    let copy = folder.path().join("copy.sqlite");
    store.copy_into(&copy).await.unwrap();
    store.close().await;
    let mut bytes = std::fs::read(&path).unwrap();
    let page = usize::from(u16::from_be_bytes([bytes[16], bytes[17]]));
    // Every third page behind those that hold the layout.
    for number in (12..bytes.len() / page).step_by(3) {
        bytes[number * page..(number + 1) * page].fill(0xff);
    }
    std::fs::write(&path, bytes).unwrap();
    let store = open(&url).await.unwrap();
    is_damaged(&store.digest().await.unwrap_err());
    let second = folder.path().join("second.sqlite");
    is_damaged(&store.copy_into(&second).await.unwrap_err());
    assert!(!second.exists(), "no bad copy is left to rely on");
    store.close().await;
    let (_, kept) = whelpward_store::restore_sqlite(&copy, &path, received()).await.unwrap();
    assert!(kept.unwrap().exists(), "the damaged file is kept");
    let store = open(&url).await.unwrap();
    holds_exactly(&store, &facts).await;
    store.append(&some_weighings(5000, 1), received()).await.unwrap();
    store.close().await;
}

async fn newer(book: common::TestBook) {
    let facts = filled(&book.store).await;
    let pool = beside(&book.url).await;
    pool.execute(
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time) \
         SELECT 900, 'of next year', success, checksum, 0 FROM _sqlx_migrations WHERE version = 1",
    )
    .await
    .unwrap();
    book.store.close().await;
    let error = open(&book.url).await.unwrap_err();
    assert!(matches!(error, StoreError::Newer { found: 900, .. }), "{error:?}");
    says(&error, "written by a newer whelpward", "Nothing was changed", "Use the newer program");
    pool.execute("DELETE FROM _sqlx_migrations WHERE version = 900").await.unwrap();
    pool.close().await;
    let store = open(&book.url).await.unwrap();
    holds_exactly(&store, &facts).await;
    store.close().await;
}

#[tokio::test]
async fn sqlite_of_a_newer_program_is_left_alone() {
    newer(common::sqlite().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_of_a_newer_program_is_left_alone() {
    newer(common::postgres().await).await;
}

#[tokio::test]
async fn a_file_that_was_moved_or_replaced_takes_no_saves_until_it_is_back() {
    let (folder, path, url) = in_folder();
    let store = open(&url).await.unwrap();
    let mut facts = filled(&store).await;
    let gone = |error: StoreError| {
        assert!(matches!(error, StoreError::Gone { .. }), "{error:?}");
        says(&error, "moved, removed or replaced", "What was acknowledged before is safe", "enter it again");
    };
    let away = folder.path().join("away.sqlite");
    std::fs::rename(&path, &away).unwrap();
    gone(store.append(&some_weighings(100, 1), received()).await.unwrap_err());
    assert!(!path.exists(), "no empty book takes its place");
    std::fs::write(&path, "another file").unwrap();
    gone(store.append(&some_weighings(100, 1), received()).await.unwrap_err());
    gone(store.put_aside("x", "y", "z", "why", received()).await.unwrap_err());
    gone(store.copy_into(&folder.path().join("copy.sqlite")).await.unwrap_err());
    std::fs::rename(&away, &path).unwrap();
    let more = some_weighings(100, 1);
    store.append(&more, received()).await.unwrap();
    facts.extend(more);
    holds_exactly(&store, &facts).await;
    store.close().await;
    assert_eq!(common::integrity(&url).await, "ok");
}

async fn busy(book: common::TestBook, hold: &'static str) {
    let facts = filled(&book.store).await;
    book.store.close().await;
    let store = open(&book.url).await.unwrap();
    let other = beside(&book.url).await;
    let mut held = other.acquire().await.unwrap();
    held.execute(hold).await.unwrap();
    if hold == "BEGIN" {
        held.execute("UPDATE counter SET value = value WHERE name = 'fact'").await.unwrap();
    }
    let error = store.append(&some_weighings(100, 1), received()).await.unwrap_err();
    assert!(matches!(error, StoreError::Busy { .. }), "{error:?}");
    says(&error, "another program has held it", "This was not saved", "Close the other program");
    // Reading does not wait.
    holds_exactly(&store, &facts).await;
    held.execute("ROLLBACK").await.unwrap();
    drop(held);
    other.close().await;
    let more = some_weighings(100, 1);
    store.append(&more, received()).await.unwrap();
    holds_exactly(&store, &[facts, more].concat()).await;
    store.close().await;
}

#[tokio::test]
async fn sqlite_says_when_another_program_holds_it_too_long() {
    busy(common::sqlite().await, "BEGIN IMMEDIATE").await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_says_when_another_program_holds_it_too_long() {
    busy(common::postgres().await, "BEGIN").await;
}

/// Two programs on one book: each waits for the other, and both see everything.
async fn two_programs(book: common::TestBook) {
    let facts = filled(&book.store).await;
    let other = Store::open(&book.url).await.unwrap();
    let write = |store: Store, from: u32| async move {
        for n in 0..40 {
            let outcome = store.append(&some_weighings(from + n, 1), received()).await.unwrap();
            assert!(matches!(outcome[0], Outcome::Saved { .. }));
        }
    };
    let tasks = [
        tokio::spawn(write(book.store.clone(), 1000)),
        tokio::spawn(write(other.clone(), 2000)),
        // The same facts from two sides at once: saved once.
        tokio::spawn(meet(book.store.clone())),
        tokio::spawn(meet(other.clone())),
    ];
    for task in tasks {
        task.await.unwrap();
    }
    let all = [facts, some_weighings(1000, 40), some_weighings(2000, 40), some_weighings(3000, 20)].concat();
    holds_exactly(&book.store, &all).await;
    holds_exactly(&other, &all).await;
    other.close().await;
    book.store.close().await;
}

async fn meet(store: Store) {
    for n in 0..20 {
        let outcomes = store.append(&some_weighings(3000 + n, 1), received()).await.unwrap();
        assert!(outcomes[0].is_in_the_book());
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_programs_write_into_one_sqlite_book() {
    two_programs(common::sqlite().await).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn two_programs_write_into_one_postgres_book() {
    two_programs(common::postgres().await).await;
}

async fn opened_by_many_at_once(url: &str, facts: i64) {
    let opening: Vec<_> = (0..6)
        .map(|_| {
            let url = url.to_owned();
            tokio::spawn(async move { Store::open(&url).await.map_err(|e| e.to_string()) })
        })
        .collect();
    for store in opening {
        let store = store.await.unwrap().unwrap();
        assert_eq!(store.count().await.unwrap(), facts);
        store.close().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn several_programs_start_at_once_on_a_new_or_an_old_sqlite_book() {
    for _ in 0..5 {
        let (_folder, _, url) = in_folder();
        opened_by_many_at_once(&url, 0).await;
        let (_folder, _, url) = in_folder();
        common::old_layout(&url, 1, &[litter(), pup(1, "Ash")]).await;
        opened_by_many_at_once(&url, 2).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn several_programs_start_at_once_on_a_new_postgres_book() {
    for _ in 0..3 {
        opened_by_many_at_once(&common::fresh_postgres().await, 0).await;
    }
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_without_the_right_to_write_says_so() {
    let book = common::postgres().await;
    let facts = filled(&book.store).await;
    let name = format!("reader_{}", std::process::id());
    let pool = beside(&book.url).await;
    let may_read = format!(
        "CREATE ROLE {name} LOGIN; GRANT SELECT ON ALL TABLES IN SCHEMA public TO {name}; \
         GRANT CREATE ON SCHEMA public TO {name}"
    );
    pool.execute(sqlx::AssertSqlSafe(may_read)).await.unwrap();
    let (server, rest) = book.url.split_once('@').unwrap();
    let scheme = server.split_once("://").unwrap().0;
    let reader = open(&format!("{scheme}://{name}@{rest}")).await.unwrap();
    holds_exactly(&reader, &facts).await;
    let error = reader.append(&some_weighings(100, 1), received()).await.unwrap_err();
    assert!(matches!(error, StoreError::ReadOnly { .. }), "{error:?}");
    says(&error, "cannot be written", "Everything saved before is safe", "Allow writing");
    reader.close().await;
    let drop = format!("DROP OWNED BY {name}; DROP ROLE {name}");
    pool.execute(sqlx::AssertSqlSafe(drop)).await.unwrap();
    pool.close().await;
}

/// A PostgreSQL of the test's own, which it may end.
struct Server {
    folder: tempfile::TempDir,
    port: u16,
}

impl Server {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        if is_root() {
            let done = Command::new("chown").arg("postgres").arg(folder.path()).status().unwrap();
            assert!(done.success(), "PostgreSQL does not run as root; it needs a user postgres");
        }
        let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let server = Self { folder, port };
        server.run("initdb", &["-U", "app", "--auth=trust", "-E", "UTF8", "--no-sync"]);
        server.start();
        server
    }

    fn run(&self, program: &str, args: &[&str]) {
        let places = std::env::split_paths(&std::env::var_os("PATH").unwrap()).collect::<Vec<_>>();
        let installed =
            std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().map(|e| e.unwrap().path().join("bin"));
        let program = places.into_iter().chain(installed).map(|p| p.join(program)).find(|p| p.exists());
        let program = program.expect("PostgreSQL is installed");
        let mut command = if is_root() {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=postgres", "--regid=postgres", "--init-groups"]).arg(program);
            command
        } else {
            Command::new(program)
        };
        let data = self.folder.path().join("data");
        let done = command
            .current_dir(self.folder.path())
            .env("LC_ALL", "C")
            .arg("-D")
            .arg(data)
            .args(args)
            .stdout(std::process::Stdio::null())
            .status()
            .unwrap();
        assert!(done.success(), "{args:?}");
    }

    fn start(&self) {
        let place = self.folder.path().display();
        let options = format!("-c listen_addresses=127.0.0.1 -p {} -k {place}", self.port);
        let log = format!("{place}/log");
        self.run("pg_ctl", &["-l", &log, "-w", "-o", &options, "start"]);
    }

    /// As by a power cut: nobody is told, nothing is finished.
    fn end(&self) {
        self.run("pg_ctl", &["-m", "immediate", "-w", "stop"]);
    }

    fn url(&self) -> String {
        format!("postgres://app@127.0.0.1:{}/postgres", self.port)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let pid = self.folder.path().join("data/postmaster.pid");
        if pid.exists() {
            self.end();
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "needs PostgreSQL installed; scripts/test installs it"]
async fn a_postgres_that_ends_in_the_middle_loses_nothing_and_takes_saves_again() {
    let server = Server::new();
    let store = open(&server.url()).await.unwrap();
    let mut facts = filled(&store).await;
    // It ends while a program writes.
    let writer = tokio::spawn({
        let store = store.clone();
        async move {
            let mut saved = Vec::new();
            for n in 0..100_000 {
                let one = some_weighings(1000 + n, 1);
                match store.append(&one, received()).await {
                    Ok(_) => saved.extend(one),
                    Err(error) => return (saved, one, error),
                }
            }
            panic!("the server did not end");
        }
    });
    tokio::time::sleep(Duration::from_millis(200)).await;
    server.end();
    let (saved, cut_off, error) = writer.await.unwrap();
    assert!(!saved.is_empty());
    facts.extend(saved);
    let gone = |error: &StoreError| {
        assert!(matches!(error, StoreError::Gone { .. }), "{error:?}");
        says(error, "cannot be reached", "What was acknowledged before is safe", "Start the database");
    };
    gone(&error);
    gone(&store.append(&cut_off, received()).await.unwrap_err());
    gone(&open(&server.url()).await.unwrap_err());
    server.start();
    // Sent again, by the same open book. Whether the last save had reached the disk is not known.
    let outcome = store.append(&cut_off, received()).await.unwrap();
    assert!(outcome[0].is_in_the_book());
    facts.extend(cut_off);
    holds_exactly(&store, &facts).await;
    assert_eq!(store.facts(id(0), 0).await.unwrap().len(), facts.len());
    store.close().await;
}
