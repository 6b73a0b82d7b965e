//! Opening a book: creates it, brings its layout up to date, and sets what makes it durable.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::Duration;

use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::migrate::{MigrateError, Migration, MigrationType, Migrator};
use sqlx::{AnyConnection, AnyPool, AssertSqlSafe, Connection as _, Executor as _, Row as _, SqlSafeStr as _};

use crate::StoreError;

/// Named one by one: the macro that reads the folder would compile the database drivers a second time.
pub(crate) static MIGRATIONS: LazyLock<Migrator> = LazyLock::new(|| {
    Migrator::with_migrations(vec![
        migration(1, "facts", include_str!("../migrations/0001_facts.sql")),
        migration(2, "set aside", include_str!("../migrations/0002_set_aside.sql")),
        migration(3, "access", include_str!("../migrations/0003_access.sql")),
        migration(4, "erased", include_str!("../migrations/0004_erased.sql")),
    ])
});

fn migration(number: i64, what: &'static str, sql: &'static str) -> Migration {
    Migration::new(number, what.into(), MigrationType::Simple, sql.into_sql_str(), false)
}

/// Which database holds the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

/// An open book.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) pool: AnyPool,
    engine: Engine,
    place: String,
    file: Option<FileIdentity>,
    copy_made: Option<PathBuf>,
}

/// Which file was opened: a path alone would not notice that the file was moved away.
#[derive(Debug, Clone)]
struct FileIdentity {
    path: PathBuf,
    number: Option<u64>,
}

/// How long a save waits for another program before it says that the book is busy.
const PATIENCE: Duration = Duration::from_secs(10);

/// Connections to a book of one household.
const CONNECTIONS: u32 = 8;

/// What is said first on each connection.
fn set_up(engine: Engine, patience: Duration) -> Vec<String> {
    let ms = patience.as_millis();
    match engine {
        // A transaction that has returned is on the disk. The time to wait comes first: changing
        // the journal needs the file for itself.
        Engine::Sqlite => vec![
            format!("PRAGMA busy_timeout = {ms}"),
            "PRAGMA journal_mode = WAL".into(),
            "PRAGMA synchronous = FULL".into(),
            "PRAGMA foreign_keys = ON".into(),
        ],
        // A laptop that falls asleep inside a transaction must not stop everybody else for ever.
        Engine::Postgres => vec![
            format!("SET lock_timeout = {ms}"),
            format!("SET idle_in_transaction_session_timeout = {}", 3 * ms),
            "SET synchronous_commit = on".into(),
        ],
    }
}

impl Store {
    /// Opens a book by a path or by `postgres://…`.
    ///
    /// # Errors
    /// What happened, what is safe, what to do.
    pub async fn open(database: &str) -> Result<Self, StoreError> {
        Self::open_patiently(database, PATIENCE).await
    }

    /// Opens a book; a save waits this long for another program that holds it.
    ///
    /// # Errors
    /// As for [`Store::open`].
    pub async fn open_patiently(database: &str, patience: Duration) -> Result<Self, StoreError> {
        if Self::is_postgres(database) {
            Self::open_postgres(database, None, patience).await
        } else {
            Self::open_file(Path::new(database.strip_prefix("sqlite:").unwrap_or(database)), patience).await
        }
    }

    /// Whether this names a PostgreSQL database.
    #[must_use]
    pub fn is_postgres(database: &str) -> bool {
        database.starts_with("postgres:") || database.starts_with("postgresql:")
    }

    /// The book in one schema of a PostgreSQL database; the schema is made where there is none.
    pub(crate) async fn open_schema(url: &str, schema: &str) -> Result<Self, StoreError> {
        Self::open_postgres(url, Some(schema), PATIENCE).await
    }

    /// Opens or creates an embedded book; its folder is created too.
    ///
    /// # Errors
    /// As for [`Store::open`].
    pub async fn open_sqlite(path: &Path) -> Result<Self, StoreError> {
        Self::open_file(path, PATIENCE).await
    }

    /// SQLite does not wait where two programs switch a new book to its journal at once; one of them
    /// is refused on the spot, and tries again here.
    async fn open_file(path: &Path, patience: Duration) -> Result<Self, StoreError> {
        let began = std::time::Instant::now();
        loop {
            match Self::open_file_once(path, patience).await {
                Err(StoreError::Busy { .. }) if began.elapsed() < patience => {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                }
                done => return done,
            }
        }
    }

    async fn open_file_once(path: &Path, patience: Duration) -> Result<Self, StoreError> {
        let place = path.display().to_string();
        create_private(path)?;
        // Taken before anything is opened, and compared at the end: nobody may put another file
        // in its place in between.
        let file = FileIdentity { path: path.to_owned(), number: file_number(path) };
        let may_write = |error| match error {
            StoreError::Gone { .. } if !is_writable(path) => StoreError::ReadOnly { place: place.clone() },
            other => other,
        };
        // SQLite would open a write-protected book all the same, and lay write-protected files
        // beside it that stay in the way when the book can be written again.
        if let Err(error) = std::fs::OpenOptions::new().append(true).open(path) {
            return Err(not_opened(path, &error));
        }
        first_look(path, &place, patience).await.map_err(may_write)?;
        let url = format!("sqlite://{}?mode=rw", encoded(path));
        let first = set_up(Engine::Sqlite, patience);
        let pool = pool(&url, &place, CONNECTIONS, first, patience).await.map_err(may_write)?;
        let mut store = Self { pool, engine: Engine::Sqlite, place: place.clone(), file: Some(file), copy_made: None };
        store.copy_made = store.copy_before_change(path).await.map_err(may_write)?;
        store.migrate().await.map_err(may_write)?;
        store.still_there()?;
        Ok(store)
    }

    async fn open_postgres(url: &str, schema: Option<&str>, patience: Duration) -> Result<Self, StoreError> {
        // The place is shown in messages; a password must not be.
        let place = url.rsplit('@').next().unwrap_or(url).to_owned();
        let place =
            format!("PostgreSQL at {}", place.trim_start_matches("postgresql://").trim_start_matches("postgres://"));
        let mut first = set_up(Engine::Postgres, patience);
        if let Some(schema) = schema {
            first.push(format!("SET search_path TO {schema}"));
            make_schema(url, &place, schema).await?;
        }
        // A board has many homes, and a server has a hundred connections.
        let connections = if schema.is_some() { 2 } else { CONNECTIONS };
        let pool = pool(url, &place, connections, first, patience).await?;
        let store = Self { pool, engine: Engine::Postgres, place, file: None, copy_made: None };
        store.migrate().await?;
        Ok(store)
    }

    /// Two programs may start at once on an old or a new book. PostgreSQL makes the second wait; in
    /// SQLite its step fails because the first has just done it, and it looks again.
    async fn migrate(&self) -> Result<(), StoreError> {
        let mut tries = 0;
        loop {
            match self.migrate_once().await {
                Err(StoreError::Other { .. } | StoreError::Busy { .. })
                    if self.engine == Engine::Sqlite && tries < 20 =>
                {
                    tries += 1;
                    tokio::time::sleep(Duration::from_millis(20)).await;
                }
                done => return done,
            }
        }
    }

    async fn migrate_once(&self) -> Result<(), StoreError> {
        MIGRATIONS.run(&self.pool).await.map_err(|error| match error {
            MigrateError::VersionMissing(found) => StoreError::Newer { found, known: newest_step() },
            MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _) => self.error(&error),
            MigrateError::VersionMismatch(step) => StoreError::Other {
                place: self.place.clone(),
                why: format!("step {step} of its layout is not the one that this program knows"),
            },
            other => StoreError::Other { place: self.place.clone(), why: other.to_string() },
        })
    }

    /// A verified copy with the date in its name, when the layout is about to change.
    async fn copy_before_change(&self, path: &Path) -> Result<Option<PathBuf>, StoreError> {
        let Some(step) = self.layout_step().await? else { return Ok(None) };
        if step >= newest_step() {
            return Ok(None);
        }
        let stamp = jiff::Timestamp::now().strftime("%Y%m%dT%H%M%SZ").to_string();
        let name = format!("{}.before-step-{}.{stamp}", file_name(path), step + 1);
        // Another program may be doing the same at this very moment.
        loop {
            let copy = free_name(&path.with_file_name(&name));
            match self.copy_into(&copy).await {
                Ok(_) => return Ok(Some(copy)),
                Err(StoreError::File { path: taken, .. }) if taken == copy && copy.exists() => {}
                Err(e) => return Err(StoreError::NoCopyBeforeChange { why: e.to_string() }),
            }
        }
    }

    /// The last step of the layout that was applied; none in a new file.
    pub(crate) async fn layout_step(&self) -> Result<Option<i64>, StoreError> {
        let has_steps = sqlx::query("SELECT name FROM sqlite_master WHERE name = '_sqlx_migrations'")
            .fetch_optional(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        if has_steps.is_none() {
            return Ok(None);
        }
        let row = sqlx::query("SELECT MAX(version) AS step FROM _sqlx_migrations")
            .fetch_one(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(row.try_get::<Option<i64>, _>("step").unwrap_or(None))
    }

    #[must_use]
    pub fn engine(&self) -> Engine {
        self.engine
    }

    /// Where the book is, for messages; never with a password.
    #[must_use]
    pub fn place(&self) -> &str {
        &self.place
    }

    /// The copy that was made because the layout had to change.
    #[must_use]
    pub fn copy_made(&self) -> Option<&Path> {
        self.copy_made.as_deref()
    }

    pub(crate) fn error(&self, error: &sqlx::Error) -> StoreError {
        StoreError::from_sqlx(&self.place, error)
    }

    /// A file that was moved away or replaced would still take writes, and lose them.
    pub(crate) fn still_there(&self) -> Result<(), StoreError> {
        match &self.file {
            Some(file) if file_number(&file.path) != file.number || !file.path.exists() => Err(StoreError::Gone {
                place: self.place.clone(),
                why: "the file was moved, removed or replaced".into(),
            }),
            _ => Ok(()),
        }
    }

    pub async fn close(&self) {
        self.pool.close().await;
    }
}

/// The last step of the layout that this program knows.
pub(crate) fn newest_step() -> i64 {
    MIGRATIONS.iter().map(|m| m.version).max().unwrap_or(0)
}

/// Two programs may make a schema at once; the second finds it there.
async fn make_schema(url: &str, place: &str, schema: &str) -> Result<(), StoreError> {
    sqlx::any::install_default_drivers();
    let ours = |e: sqlx::Error| StoreError::from_sqlx(place, &e);
    let mut connection = AnyConnection::connect(url).await.map_err(ours)?;
    let made = connection.execute(AssertSqlSafe(format!("CREATE SCHEMA IF NOT EXISTS {schema}"))).await;
    let _ = connection.close().await;
    match made {
        Err(sqlx::Error::Database(e)) if e.is_unique_violation() => Ok(()),
        Err(e) => Err(ours(e)),
        Ok(_) => Ok(()),
    }
}

/// Connections are made ready with the lines of `set_up`.
async fn pool(
    url: &str,
    place: &str,
    connections: u32,
    set_up: Vec<String>,
    patience: Duration,
) -> Result<AnyPool, StoreError> {
    sqlx::any::install_default_drivers();
    let options: AnyConnectOptions = url.parse().map_err(|e| StoreError::from_sqlx(place, &e))?;
    AnyPoolOptions::new()
        .max_connections(connections)
        // Whoever waits behind seven others waits for as long as they may.
        .acquire_timeout(patience + patience / 2)
        .after_connect(move |connection, _| {
            let set_up = set_up.clone();
            Box::pin(async move {
                for line in set_up {
                    connection.execute(AssertSqlSafe(line)).await?;
                }
                Ok(())
            })
        })
        .connect_with(options)
        .await
        .map_err(|e| StoreError::from_sqlx(place, &e))
}

/// The first connection, outside the pool: the pool only says that it got none. Another program's
/// database is left as it is, to the byte.
async fn first_look(path: &Path, place: &str, patience: Duration) -> Result<(), StoreError> {
    sqlx::any::install_default_drivers();
    let ours = |e: sqlx::Error| StoreError::from_sqlx(place, &e);
    let url = format!("sqlite://{}?mode=rw", encoded(path));
    let mut connection = AnyConnection::connect(&url).await.map_err(ours)?;
    let look = async {
        let row = sqlx::query(
            "SELECT COUNT(*) AS tables, COALESCE(SUM(name = '_sqlx_migrations'), 0) AS steps FROM sqlite_master \
             WHERE type = 'table'",
        )
        .fetch_one(&mut connection)
        .await?;
        let (tables, steps): (i64, i64) = (row.try_get(0)?, row.try_get(1)?);
        let is_ours = tables == 0 || steps > 0;
        if is_ours {
            for line in set_up(Engine::Sqlite, patience) {
                connection.execute(AssertSqlSafe(line)).await?;
            }
        }
        Ok(is_ours)
    }
    .await;
    // What was looked at is what is reported.
    let _ = connection.close().await;
    if look.map_err(ours)? { Ok(()) } else { Err(StoreError::Damaged { place: place.to_owned() }) }
}

/// Whether this program may write the file and lay others beside it, as SQLite must.
fn is_writable(path: &Path) -> bool {
    let probe = path.with_file_name(format!(".{}.{}.probe", file_name(path), std::process::id()));
    let is_folder_writable = std::fs::File::create_new(&probe).is_ok();
    // It is empty; if it cannot be removed it does no harm.
    let _ = std::fs::remove_file(&probe);
    is_folder_writable && std::fs::OpenOptions::new().append(true).open(path).is_ok()
}

/// A name that no file has yet: with a number behind it where it must be.
pub(crate) fn free_name(path: &Path) -> PathBuf {
    let numbered = |n: u32| path.with_file_name(format!("{}-{n}", file_name(path)));
    std::iter::once(path.to_owned())
        .chain((2..10_000).map(numbered))
        .find(|p| !p.exists())
        .unwrap_or_else(|| path.to_owned())
}

/// A new book can be read and written by its owner alone.
fn create_private(path: &Path) -> Result<(), StoreError> {
    let failed = |e: &std::io::Error| not_opened(path, e);
    if path.exists() {
        return Ok(());
    }
    if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(|e| failed(&e))?;
    }
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(_) => Ok(()),
        // Another program was faster.
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        Err(e) => Err(failed(&e)),
    }
}

fn not_opened(path: &Path, error: &std::io::Error) -> StoreError {
    let place = path.display().to_string();
    match error.kind() {
        std::io::ErrorKind::StorageFull => StoreError::DiskFull { place },
        std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => StoreError::ReadOnly { place },
        _ => StoreError::File { path: path.to_owned(), why: error.to_string() },
    }
}

fn file_name(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

#[cfg(unix)]
fn file_number(path: &Path) -> Option<u64> {
    use std::os::unix::fs::MetadataExt as _;
    std::fs::metadata(path).ok().map(|m| m.ino())
}

#[cfg(not(unix))]
fn file_number(_: &Path) -> Option<u64> {
    None
}

/// A path inside a URL: everything but letters, digits and a few marks is written as %XX.
pub(crate) fn encoded(path: &Path) -> String {
    let mut text = String::new();
    for byte in path.to_string_lossy().bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' | b'\\' | b':' => {
                text.push(char::from(byte));
            }
            other => text.push_str(&format!("%{other:02X}")),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::MIGRATIONS;

    #[test]
    fn every_numbered_file_is_a_step() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("migrations");
        let mut files: Vec<String> =
            folder.read_dir().unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        files.sort();
        let steps: Vec<String> =
            MIGRATIONS.iter().map(|m| format!("{:04}_{}.sql", m.version, m.description.replace(' ', "_"))).collect();
        assert_eq!(files, steps);
    }
}
