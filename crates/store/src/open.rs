//! Opening a book: creates it, brings its layout up to date, and sets what makes it durable.

use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::{AnyPool, Executor as _, Row as _};

use crate::StoreError;

pub(crate) static MIGRATIONS: Migrator = sqlx::migrate!("./migrations");

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

/// Of one SQLite connection. A transaction that has returned is on the disk.
const PRAGMAS: &[&str] = &[
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA busy_timeout = 10000",
];

impl Store {
    /// Opens a book by a path or by `postgres://…`.
    ///
    /// # Errors
    /// What happened, what is safe, what to do.
    pub async fn open(database: &str) -> Result<Self, StoreError> {
        if database.starts_with("postgres:") || database.starts_with("postgresql:") {
            Self::open_postgres(database).await
        } else {
            Self::open_sqlite(Path::new(database.strip_prefix("sqlite:").unwrap_or(database))).await
        }
    }

    /// Opens or creates an embedded book; its folder is created too.
    ///
    /// # Errors
    /// As for [`Store::open`].
    pub async fn open_sqlite(path: &Path) -> Result<Self, StoreError> {
        let place = path.display().to_string();
        create_private(path)?;
        let url = format!("sqlite://{}?mode=rw", encoded(path));
        let pool = pool(&url, &place, true).await?;
        let mut store = Self {
            pool,
            engine: Engine::Sqlite,
            place,
            file: Some(FileIdentity { path: path.to_owned(), number: file_number(path) }),
            copy_made: None,
        };
        store.copy_made = store.copy_before_change(path).await?;
        store.migrate().await?;
        Ok(store)
    }

    async fn open_postgres(url: &str) -> Result<Self, StoreError> {
        // The place is shown in messages; a password must not be.
        let place = url.rsplit('@').next().unwrap_or(url).to_owned();
        let place =
            format!("PostgreSQL at {}", place.trim_start_matches("postgresql://").trim_start_matches("postgres://"));
        let pool = pool(url, &place, false).await?;
        let store = Self { pool, engine: Engine::Postgres, place, file: None, copy_made: None };
        store.migrate().await?;
        Ok(store)
    }

    async fn migrate(&self) -> Result<(), StoreError> {
        MIGRATIONS.run(&self.pool).await.map_err(|error| match error {
            MigrateError::VersionMissing(found) => StoreError::Newer { found, known: newest_step() },
            MigrateError::Execute(error) => self.error(&error),
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
        let copy = path.with_file_name(name);
        let failed = |e: StoreError| StoreError::NoCopyBeforeChange { why: e.to_string() };
        self.copy_into(&copy).await.map_err(failed)?;
        Ok(Some(copy))
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

async fn pool(url: &str, place: &str, is_sqlite: bool) -> Result<AnyPool, StoreError> {
    sqlx::any::install_default_drivers();
    let options: AnyConnectOptions = url.parse().map_err(|e| StoreError::from_sqlx(place, &e))?;
    AnyPoolOptions::new()
        .max_connections(8)
        .acquire_timeout(Duration::from_secs(15))
        .after_connect(move |connection, _| {
            Box::pin(async move {
                if is_sqlite {
                    for pragma in PRAGMAS {
                        connection.execute(*pragma).await?;
                    }
                }
                Ok(())
            })
        })
        .connect_with(options)
        .await
        .map_err(|e| StoreError::from_sqlx(place, &e))
}

/// A new book can be read and written by its owner alone.
fn create_private(path: &Path) -> Result<(), StoreError> {
    let failed = |e: &std::io::Error| match e.kind() {
        std::io::ErrorKind::StorageFull => StoreError::DiskFull { place: path.display().to_string() },
        std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
            StoreError::ReadOnly { place: path.display().to_string() }
        }
        _ => StoreError::File { path: path.to_owned(), why: e.to_string() },
    };
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
