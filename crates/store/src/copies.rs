//! Copies of an embedded book: made while it is in use, verified, put back.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use sha2::{Digest as _, Sha256};
use sqlx::Row as _;
use sqlx::any::{AnyConnectOptions, AnyPoolOptions};

use crate::digest::hex;
use crate::open::{encoded, free_name};
use crate::{Store, StoreError};

/// How long putting a copy back waits for other programs to let go of the book.
const WAIT_FOR_OTHERS: std::time::Duration = std::time::Duration::from_secs(2);

/// Numbers the copies that this program makes.
static COPIES: AtomicU64 = AtomicU64::new(0);

/// What a good copy holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CopyInfo {
    pub facts: i64,
    pub last_seq: i64,
    pub sha256: String,
}

impl Store {
    /// Copies the book into a new file while it may be in use, and verifies the copy:
    /// `PRAGMA integrity_check`, the number of facts, the last place; a file with the SHA-256
    /// is laid beside it, as `sha256sum --check` reads it.
    ///
    /// # Errors
    /// There is a file of that name, or the copy is not good; it is then removed.
    pub async fn copy_into(&self, path: &Path) -> Result<CopyInfo, StoreError> {
        self.still_there()?;
        if path.exists() {
            return Err(StoreError::File { path: path.to_owned(), why: "there is a file of that name".into() });
        }
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
        if let Some(folder) = folder {
            std::fs::create_dir_all(folder)
                .map_err(|e| StoreError::File { path: folder.to_owned(), why: e.to_string() })?;
        }
        // Under another name until it is known to be good, and one that no other copy has.
        let number = COPIES.fetch_add(1, Ordering::Relaxed);
        let unfinished = with_end(path, &format!(".{}-{number}.unfinished", std::process::id()));
        let remove = |p: &Path| {
            // It may not exist; the copy that failed is what is reported.
            let _ = std::fs::remove_file(p);
        };
        remove(&unfinished);
        let made = self.copy_and_verify(&unfinished).await;
        match made {
            Ok(info) => {
                let io = |e: std::io::Error| StoreError::File { path: path.to_owned(), why: e.to_string() };
                // Taken at once or not at all: renaming would write over a file.
                if let Err(error) = std::fs::File::create_new(path) {
                    remove(&unfinished);
                    return Err(io(error));
                }
                std::fs::rename(&unfinished, path).map_err(io)?;
                let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
                std::fs::write(sidecar(path), format!("{}  {name}\n", info.sha256)).map_err(io)?;
                Ok(info)
            }
            Err(error) => {
                remove(&unfinished);
                Err(error)
            }
        }
    }

    /// Leaves the book as one file that no other program has open, if nothing came in after this
    /// place. SQLite gives up its journal only to the last program that has the file open; as long
    /// as another one has, a save of it could be lost with the file.
    async fn leave_alone(&self, copied: i64) -> Result<(), StoreError> {
        let busy = || StoreError::Busy { place: self.place().to_owned() };
        let url = format!("sqlite://{}?mode=rw", encoded(Path::new(self.place())));
        let options: AnyConnectOptions = url.parse().map_err(|e| self.error(&e))?;
        self.pool.close().await;
        let pool = AnyPoolOptions::new().max_connections(1).connect_with(options).await.map_err(|e| self.error(&e))?;
        let alone = async {
            sqlx::query(sqlx::AssertSqlSafe(format!("PRAGMA busy_timeout = {}", WAIT_FOR_OTHERS.as_millis())))
                .execute(&pool)
                .await?;
            let mode: String = sqlx::query("PRAGMA journal_mode = DELETE").fetch_one(&pool).await?.try_get(0)?;
            let last: i64 = sqlx::query("SELECT COALESCE(MAX(seq), 0) FROM fact").fetch_one(&pool).await?.try_get(0)?;
            Ok::<_, sqlx::Error>(mode == "delete" && last == copied)
        }
        .await;
        pool.close().await;
        match alone {
            Ok(true) => Ok(()),
            Ok(false) => Err(busy()),
            Err(error) => Err(self.error(&error)),
        }
    }

    async fn copy_and_verify(&self, path: &Path) -> Result<CopyInfo, StoreError> {
        // A book that is just being created has no table yet.
        let has_facts = self.layout_step().await?.is_some();
        let (count, last) = if has_facts { (self.count().await?, self.last_seq().await?) } else { (0, 0) };
        sqlx::query("VACUUM INTO $1")
            .bind(path.to_string_lossy().into_owned())
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        std::fs::File::open(path)
            .and_then(|f| f.sync_all())
            .map_err(|e| StoreError::File { path: path.to_owned(), why: e.to_string() })?;
        let info = read_copy(path).await?;
        // Others may have written while it was made: never fewer than before.
        if info.facts < count || info.last_seq < last {
            return Err(StoreError::CopyDiffers { why: format!("{} of {count} facts", info.facts) });
        }
        Ok(info)
    }
}

/// The file with the SHA-256 beside a copy.
#[must_use]
pub fn sidecar(path: &Path) -> PathBuf {
    with_end(path, ".sha256")
}

fn with_end(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    PathBuf::from(name)
}

fn remove_copy(path: &Path) {
    for end in ["", ".sha256"] {
        // The reason why the copy is not needed is what is reported.
        let _ = std::fs::remove_file(with_end(path, end));
    }
}

/// Verifies a copy: its SHA-256, `PRAGMA integrity_check`, and that its facts can be read.
///
/// # Errors
/// What is wrong with it.
pub async fn verify_copy(path: &Path) -> Result<CopyInfo, StoreError> {
    let bytes = std::fs::read(path).map_err(|e| StoreError::File { path: path.to_owned(), why: e.to_string() })?;
    let is_as_made = std::fs::read_to_string(sidecar(path))
        .map(|text| text.split_whitespace().next() == Some(hex(&Sha256::digest(&bytes)).as_str()));
    drop(bytes);
    match is_as_made {
        Ok(true) => read_copy(path).await,
        Ok(false) => Err(StoreError::CopyDiffers { why: format!("{} has changed since it was made", path.display()) }),
        Err(_) => Err(StoreError::CopyDiffers {
            why: format!("the file {} with its SHA-256 is missing", sidecar(path).display()),
        }),
    }
}

async fn read_copy(path: &Path) -> Result<CopyInfo, StoreError> {
    let place = path.display().to_string();
    let file = |why: String| StoreError::File { path: path.to_owned(), why };
    let bytes = std::fs::read(path).map_err(|e| file(e.to_string()))?;
    let sha256 = hex(&Sha256::digest(&bytes));
    drop(bytes);
    sqlx::any::install_default_drivers();
    let as_ours = |e: sqlx::Error| StoreError::from_sqlx(&place, &e);
    // Immutable: looking at a copy must not lay files beside it.
    let url = format!("sqlite://{}?mode=ro&immutable=true", encoded(path));
    let options: AnyConnectOptions = url.parse().map_err(as_ours)?;
    let pool = AnyPoolOptions::new().max_connections(1).connect_with(options).await.map_err(as_ours)?;
    let read = async {
        let sound: String = sqlx::query("PRAGMA integrity_check").fetch_one(&pool).await?.try_get(0)?;
        if sound != "ok" {
            return Ok(Err(sound));
        }
        let has_facts =
            sqlx::query("SELECT name FROM sqlite_master WHERE name = 'fact'").fetch_optional(&pool).await?.is_some();
        if !has_facts {
            return Ok(Err("it is a database, but not a book".to_owned()));
        }
        let row =
            sqlx::query("SELECT CAST(COUNT(*) AS BIGINT), COALESCE(MAX(seq), 0) FROM fact").fetch_one(&pool).await?;
        Ok::<_, sqlx::Error>(Ok((row.try_get::<i64, _>(0)?, row.try_get::<i64, _>(1)?)))
    }
    .await;
    pool.close().await;
    match read {
        Ok(Ok((facts, last_seq))) => Ok(CopyInfo { facts, last_seq, sha256 }),
        Ok(Err(why)) => Err(file(why)),
        Err(error) => Err(as_ours(error)),
    }
}

/// Makes a verified copy of a book after which nothing was saved, and leaves the book closed.
async fn keep_as_copy(book: &Path, aside: &Path) -> Result<(), StoreError> {
    let store = Store::open_patiently(&book.display().to_string(), WAIT_FOR_OTHERS).await?;
    let kept = match store.copy_into(aside).await {
        Ok(copied) => store.leave_alone(copied.last_seq).await.inspect_err(|_| remove_copy(aside)),
        Err(error) => Err(error),
    };
    store.close().await;
    kept
}

/// Puts a copy in the place of a book. The copy is verified first; a book that is there is
/// itself copied beside it before anything is written.
///
/// Gives what the copy holds, and where the former book now is.
///
/// # Errors
/// Nothing was changed.
pub async fn restore_sqlite(
    copy: &Path,
    book: &Path,
    now: jiff::Timestamp,
) -> Result<(CopyInfo, Option<PathBuf>), StoreError> {
    let info = verify_copy(copy).await?;
    let file = |e: std::io::Error| StoreError::File { path: book.to_owned(), why: e.to_string() };
    let name = book.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let stamp = now.strftime("%Y%m%dT%H%M%SZ").to_string();
    let mut kept = None;
    if book.exists() {
        let aside = free_name(&book.with_file_name(format!("{name}.before-restore.{stamp}")));
        match keep_as_copy(book, &aside).await {
            Ok(()) => {}
            // A damaged book cannot be copied by the database; its files still can, and what was
            // saved last may stand in the file beside it.
            Err(StoreError::Damaged { .. }) => {
                for end in ["", "-wal"] {
                    let (from, to) = (with_end(book, end), with_end(&aside, end));
                    if from.exists() {
                        std::fs::copy(from, to).map_err(file)?;
                    }
                }
            }
            Err(other) => return Err(other),
        }
        kept = Some(aside);
    }
    let arriving = book.with_file_name(format!("{name}.arriving"));
    if let Some(folder) = book.parent().filter(|p| !p.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(file)?;
    }
    std::fs::copy(copy, &arriving).map_err(file)?;
    std::fs::File::open(&arriving).and_then(|f| f.sync_all()).map_err(file)?;
    for left_over in ["-wal", "-shm"] {
        let path = with_end(book, left_over);
        if path.exists() {
            std::fs::remove_file(path).map_err(file)?;
        }
    }
    std::fs::rename(&arriving, book).map_err(file)?;
    Ok((info, kept))
}
