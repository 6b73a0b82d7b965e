//! Copies, the whole book as a file, and another database.

use std::io::Write as _;
use std::path::Path;

use jiff::Timestamp;
use serde_json::json;
use whelpward_app::{Backups, Keep, Place, back_up, everything_in, everything_out, move_book, newest_good};
use whelpward_store::{restore_sqlite, verify_copy};

use super::{Failed, Open, Which, show};

fn file_error(path: &Path) -> impl Fn(std::io::Error) -> Failed + '_ {
    move |e| Failed::Message(format!("{}: {e}", path.display()))
}

pub async fn export_all(open: &Open, file: &Path) -> Result<String, Failed> {
    if file.exists() {
        return Err(Failed::Message(format!("{}: there is a file of that name\nallowed: a new name", file.display())));
    }
    let out = everything_out(&open.book, open.now).await?;
    let written = std::fs::File::create_new(file).and_then(|mut f| f.write_all(&out.zip).and_then(|()| f.sync_all()));
    written.map_err(file_error(file))?;
    out.is_kept(&open.book, &open.by(), open.now).await?;
    Ok(format!("{} facts written into {}.\n", out.facts, file.display()))
}

pub async fn import_all(open: &Open, file: &Path) -> Result<String, Failed> {
    let bytes = std::fs::read(file).map_err(file_error(file))?;
    let arrived = everything_in(&open.book, &bytes, open.now).await?;
    if arrived.is_rebuilt {
        return Ok(format!("The book was empty and now holds the same {} facts.\n", arrived.added));
    }
    Ok(format!(
        "{} facts added, {} were there, {} are kept for you to look at (whelpward questions).\n",
        arrived.added, arrived.there_before, arrived.set_aside
    ))
}

/// Copies of one of several homes lie in a folder of their own: of the copies in a folder the older ones go.
pub fn backups(place: &Place, home: Option<&str>, to: Option<&Path>, second: Option<&Path>) -> Backups {
    let folder = || home.map_or_else(|| place.copies(), |home| place.copies().join(folder_name(home)));
    Backups {
        folder: to.map_or_else(folder, Path::to_owned),
        second: second.map(Path::to_owned),
        keep: Keep::default(),
    }
}

/// Another name for each home, whatever characters it has; in capitals or not it is the same home.
fn folder_name(home: &str) -> String {
    let mut name = String::from("home-");
    for byte in home.trim().to_lowercase().bytes() {
        if byte.is_ascii_alphanumeric() {
            name.push(char::from(byte));
        } else {
            name.push_str(&format!("_{byte:02x}"));
        }
    }
    name
}

pub async fn backup(open: &Open, to: Option<&Path>, second: Option<&Path>, is_json: bool) -> Result<String, Failed> {
    let done = back_up(&open.book, &backups(&open.place, open.home.as_deref(), to, second), open.now).await?;
    if is_json {
        return show::pretty(&json!({
            "path": done.path, "facts": done.info.facts, "last_seq": done.info.last_seq,
            "sha256": done.info.sha256, "removed": done.removed, "second_failed": done.second_failed,
        }));
    }
    let mut text = format!("{}: {} facts, verified.\n", done.path.display(), done.info.facts);
    if done.removed > 0 {
        text.push_str(&format!(
            "{} older copies removed; 24 hourly, 14 daily and 12 weekly ones stay.\n",
            done.removed
        ));
    }
    if let Some(why) = &done.not_cleaned {
        text.push_str(&format!("The bytes of what was erased are not cleared away yet: {why}\n"));
    }
    if let Some(why) = &done.second_failed {
        text.push_str(&format!("The second copy was NOT made: {why}\n"));
    }
    Ok(text)
}

pub async fn verify(which: &Which, copy: Option<&Path>, now: Timestamp) -> Result<String, Failed> {
    if let Some(copy) = copy {
        let info = verify_copy(copy).await?;
        return Ok(format!("{}: good, {} facts, SHA-256 {}.\n", copy.display(), info.facts, info.sha256));
    }
    let place = whelpward_app::default_place(which.database.as_deref(), which.data.clone())?;
    let (good, warning) = newest_good(&backups(&place, which.home.as_deref(), None, None), now).await;
    let mut text = String::new();
    if let Some((path, info)) = good {
        text.push_str(&format!("{}: good, {} facts.\n", path.display(), info.facts));
    }
    match warning {
        Some(warning) if text.is_empty() => Err(Failed::Message(warning)),
        Some(warning) => Ok(text + &warning + "\n"),
        None => Ok(text),
    }
}

pub async fn restore(which: &Which, copy: &Path, now: Timestamp) -> Result<String, Failed> {
    let place = whelpward_app::default_place(which.database.as_deref(), which.data.clone())?;
    if place.database.starts_with("postgres") {
        return Err(Failed::Message(
            "a copy is put back into a file; give --database FILE, then whelpward move to PostgreSQL".into(),
        ));
    }
    let (info, kept) = restore_sqlite(copy, Path::new(&place.database), now).await?;
    let mut text = format!("The book is back as in {}: {} facts.\n", copy.display(), info.facts);
    if let Some(kept) = kept {
        text.push_str(&format!("The book as it was before is kept in {}.\n", kept.display()));
    }
    Ok(text)
}

pub async fn move_to(open: &Open, to: &str) -> Result<String, Failed> {
    let count = open.book.store.count().await?;
    let bar = indicatif::ProgressBar::new(u64::try_from(count).unwrap_or(0));
    let moved = move_book(&open.book.store, to, |done| bar.set_position(u64::try_from(done).unwrap_or(0))).await?;
    bar.finish_and_clear();
    Ok(format!(
        "{} facts moved and compared: the same.\n  from    {}\n  to      {}\n  SHA-256 {}\n\
         Moved and compared too: {}, {}, {} of \"Who did what when\".\n\
         Not moved: who is signed in, and open links. Let each phone in again, and\n\
         make the vet's link anew.\n\
         The old book is unchanged. From now on give --database, or set\nWHELPWARD_DATABASE.\n",
        moved.holds.count,
        moved.from,
        moved.to,
        moved.holds.sha256,
        counted(moved.access.people, "person", "people"),
        counted(moved.access.secrets, "password or PIN", "passwords and PINs"),
        counted(moved.access.audit, "line", "lines"),
    ))
}

pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_home_has_its_own_folder_of_copies() {
        let place = Place { database: String::new(), folder: "data".into() };
        let folder = |home: Option<&str>| backups(&place, home, None, None).folder;
        assert_eq!(folder(None), Path::new("data/copies"));
        assert_eq!(folder(Some("Ana's home")), Path::new("data/copies/home-ana_27s_20home"));
        assert_eq!(folder(Some("ana's HOME ")), folder(Some("Ana's home")));
        assert_ne!(folder(Some("a/b")), folder(Some("a-b")));
        assert_eq!(folder(Some("../x")).parent(), Some(Path::new("data/copies")));
    }
}
