//! Copies of the book: when one is due, which are kept, whether the newest is good.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::{SignedDuration, Timestamp};
use whelpward_store::{CopyInfo, Engine, sidecar, verify_copy};

use crate::{AppError, Book, litters};

/// How many copies are kept (usability O-61).
#[derive(Debug, Clone, Copy)]
pub struct Keep {
    pub hourly: usize,
    pub daily: usize,
    pub weekly: usize,
}

impl Default for Keep {
    fn default() -> Self {
        Self { hourly: 24, daily: 14, weekly: 12 }
    }
}

/// Where copies are laid.
#[derive(Debug, Clone)]
pub struct Backups {
    pub folder: PathBuf,
    /// A second folder or a USB stick.
    pub second: Option<PathBuf>,
    pub keep: Keep,
}

/// What a run did.
#[derive(Debug, Clone)]
pub struct BackupDone {
    pub path: PathBuf,
    pub info: CopyInfo,
    pub removed: usize,
    /// What went wrong with the second folder.
    pub second_failed: Option<String>,
    /// Why the book on the disk still has bytes of what was erased.
    pub not_cleaned: Option<String>,
}

/// A litter younger than this is copied every hour (usability O-61).
const YOUNG: SignedDuration = SignedDuration::from_hours(14 * 24);
/// A newest good copy older than this is warned about (usability O-61).
const OLD: SignedDuration = SignedDuration::from_hours(26);

/// Makes a verified copy and removes those that are no longer kept.
///
/// # Errors
/// No copy was made; the book is as it was.
pub async fn run(book: &Book, to: &Backups, now: Timestamp) -> Result<BackupDone, AppError> {
    // Once more, where the bytes of what was erased could not be cleared away at once; the copy is made all the same.
    let not_cleaned = book.store.clean_up().await.err();
    // Of two in one second, the later has the next second in its name.
    let name_at =
        |second: i64| format!("book-{}.sqlite", (now + SignedDuration::from_secs(second)).strftime("%Y%m%dT%H%M%SZ"));
    let name = (0..60).map(name_at).find(|name| !to.folder.join(name).exists()).unwrap_or_else(|| name_at(0));
    let path = to.folder.join(&name);
    let info = if book.store.engine() == Engine::Sqlite {
        book.store.copy_into(&path).await?
    } else {
        // A book on PostgreSQL is copied into an embedded one, which needs no server to be read.
        let between = to.folder.join(format!("{name}.arriving"));
        let copy = whelpward_store::Store::open_sqlite(&between).await?;
        let taken = copy.take_over(&book.store, |_| {}).await.map(drop);
        let info = match taken {
            Ok(()) => copy.copy_into(&path).await,
            Err(error) => Err(error),
        };
        copy.close().await;
        for end in ["", "-wal", "-shm"] {
            // What is left of the way is not needed any more.
            let _ = std::fs::remove_file(to.folder.join(format!("{name}.arriving{end}")));
        }
        info?
    };
    let mut removed = thin_out(&to.folder, to.keep, now);
    let mut second_failed = None;
    if let Some(second) = &to.second {
        let done = std::fs::create_dir_all(second)
            .and_then(|()| std::fs::copy(&path, second.join(&name)))
            .and_then(|_| std::fs::copy(sidecar(&path), sidecar(&second.join(&name))));
        match done {
            Ok(_) => match verify_copy(&second.join(&name)).await {
                Ok(_) => removed += thin_out(second, to.keep, now),
                Err(e) => second_failed = Some(e.to_string()),
            },
            Err(e) => second_failed = Some(format!("{}: {e}", second.display())),
        }
    }
    Ok(BackupDone { path, info, removed, second_failed, not_cleaned })
}

/// Copies in a folder with the times in their names, oldest first.
fn copies(folder: &Path) -> Vec<(Timestamp, PathBuf)> {
    let mut found: Vec<(Timestamp, PathBuf)> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|file| Some((copied_at(file.file_name().to_str()?)?, file.path())))
        .collect();
    found.sort();
    found
}

/// When a copy was made, by its name.
#[must_use]
pub fn copied_at(name: &str) -> Option<Timestamp> {
    let stamp = name.strip_prefix("book-")?.strip_suffix(".sqlite")?;
    let at = jiff::civil::DateTime::strptime("%Y%m%dT%H%M%SZ", stamp).ok()?;
    jiff::tz::TimeZone::UTC.to_timestamp(at).ok()
}

/// What became of the copies when something was erased.
#[derive(Debug)]
pub struct CopiesAfter {
    /// A copy of the book as it is now.
    pub newest: Result<PathBuf, AppError>,
    pub removed: usize,
    /// Older ones, which still hold what was erased.
    pub left: Vec<PathBuf>,
}

/// Makes a copy of a book from which something was erased, and removes the older ones where that is wanted: not
/// where no new one could be made, for the book would then have none.
pub async fn copies_after_erasing(
    book: &Book,
    to: &Backups,
    beside: &Path,
    remove_older: bool,
    now: Timestamp,
) -> CopiesAfter {
    let newest = run(book, to, now).await.map(|done| done.path);
    let older = former_copies(book, to, beside, newest.as_deref().ok());
    let count = older.len();
    let left = if remove_older && newest.is_ok() { remove_copies(older) } else { older };
    CopiesAfter { newest, removed: count - left.len(), left }
}

/// Copies of the book but the one in `newest`: in both folders, and those that this program laid beside the book
/// before it changed the layout or put a copy back; for a book on a server those of its former file, in `beside`.
fn former_copies(book: &Book, to: &Backups, beside: &Path, newest: Option<&Path>) -> Vec<PathBuf> {
    let file = Path::new(book.store.place());
    let (beside, start) = match (book.store.engine(), file.file_name().and_then(|name| name.to_str())) {
        // The folder may hold another book too.
        (Engine::Sqlite, Some(name)) => (file.parent().filter(|p| p != &Path::new("")).unwrap_or(Path::new(".")), name),
        _ => (beside, ""),
    };
    let newest = newest.and_then(Path::file_name);
    let folders = std::iter::once(&to.folder).chain(&to.second);
    let mut found: Vec<PathBuf> =
        folders.flat_map(|f| copies(f)).map(|(_, path)| path).filter(|p| p.file_name() != newest).collect();
    let is_former = |name: &str| {
        let parts = [".before-step-", ".before-restore."];
        name.strip_prefix(start).is_some_and(|end| {
            parts.iter().any(|part| if start.is_empty() { end.contains(part) } else { end.starts_with(part) })
        })
    };
    let files = std::fs::read_dir(beside).into_iter().flatten().flatten();
    found.extend(
        files.filter(|f| f.file_name().to_str().is_some_and(is_former)).map(|f| f.path()).filter(|p| !is_sidecar(p)),
    );
    found.sort();
    found
}

fn is_sidecar(path: &Path) -> bool {
    path.extension().is_some_and(|end| end == "sha256")
}

/// Removes copies with their checksums; gives those that could not be removed.
fn remove_copies(copies: Vec<PathBuf>) -> Vec<PathBuf> {
    let mut left = copies;
    left.retain(|path| {
        let is_gone = std::fs::remove_file(path).is_ok();
        if is_gone {
            // Its checksum is of no use without it.
            let _ = std::fs::remove_file(sidecar(path));
        }
        !is_gone
    });
    left
}

fn thin_out(folder: &Path, keep: Keep, now: Timestamp) -> usize {
    let found = copies(folder);
    let times: Vec<Timestamp> = found.iter().map(|(at, _)| *at).collect();
    let kept = which_to_keep(&times, keep, now);
    let over: Vec<PathBuf> = found.into_iter().filter(|(at, _)| !kept.contains(at)).map(|(_, path)| path).collect();
    over.len() - remove_copies(over.clone()).len()
}

/// Which copies stay: the newest of each of the last hours, days and weeks that have one.
/// The newest copy of all always stays.
#[must_use]
pub fn which_to_keep(times: &[Timestamp], keep: Keep, now: Timestamp) -> BTreeSet<Timestamp> {
    let mut kept = BTreeSet::new();
    for (hours, most) in [(1, keep.hourly), (24, keep.daily), (7 * 24, keep.weekly)] {
        let slot = |at: Timestamp| at.as_second().div_euclid(hours * 3600);
        let mut newest_of_slot = std::collections::BTreeMap::new();
        for at in times.iter().filter(|t| **t <= now) {
            let newest = newest_of_slot.entry(slot(*at)).or_insert(*at);
            *newest = (*newest).max(*at);
        }
        kept.extend(newest_of_slot.into_values().rev().take(most));
    }
    // A clock that was set back must not remove the copies made before.
    kept.extend(times.iter().filter(|t| **t > now));
    kept.extend(times.iter().max());
    kept
}

/// When the next copy is due: every hour beside a litter in its first two weeks, else every day.
///
/// # Errors
/// The book cannot be read.
pub async fn next_due(book: &Book, to: &Backups, now: Timestamp) -> Result<Timestamp, AppError> {
    let Some((last, _)) = copies(&to.folder).pop() else { return Ok(now) };
    let is_young = litters(book)
        .await?
        .iter()
        .any(|l| !l.is_closed && l.whelped_at.is_some_and(|at| now.duration_since(at) < YOUNG && at <= now));
    Ok(last + if is_young { SignedDuration::from_hours(1) } else { SignedDuration::from_hours(24) })
}

/// The newest copy that is good, and a warning when it is old or there is none.
pub async fn newest_good(to: &Backups, now: Timestamp) -> (Option<(PathBuf, CopyInfo)>, Option<String>) {
    for (at, path) in copies(&to.folder).into_iter().rev() {
        if let Ok(info) = verify_copy(&path).await {
            let age = now.duration_since(at);
            let warning = (age > OLD).then(|| {
                format!("The newest good copy of the book is {} h old. Make one: whelpward backup", age.as_hours())
            });
            return (Some((path, info)), warning);
        }
    }
    (None, Some("There is no good copy of the book yet. Make one: whelpward backup".into()))
}
