//! Reads and writes the files of a litter folder.

use std::io::ErrorKind;
use std::path::Path;

use whelpward_core::record::{Facts, FolderFiles, Problem, parse};

/// Reads and parses a folder; the error is the whole message for the person.
pub fn read(folder: &Path) -> Result<Facts, String> {
    parse(&files(folder)?).map_err(|found| problems(folder, &found))
}

/// The bytes of its files.
pub fn files(folder: &Path) -> Result<FolderFiles, String> {
    if !folder.is_dir() {
        return Err(format!(
            "{}: no such folder\nhint: name a folder with a file litter.toml in it; docs/FORMAT.md shows one",
            folder.display()
        ));
    }
    let file = |name: &str| match std::fs::read(folder.join(name)) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(format!("{}: cannot be read: {error}", folder.join(name).display())),
    };
    FolderFiles::gather(file)
}

/// Every problem with its place, for the person.
pub fn problems(folder: &Path, problems: &[Problem]) -> String {
    let mut message = String::new();
    for problem in problems {
        message.push_str(&format!("{}/{problem}\n", folder.display()));
    }
    let count = problems.len();
    let word = if count == 1 { "problem" } else { "problems" };
    message.push_str(&format!("{count} {word}; nothing was loaded\nhint: docs/FORMAT.md lists every key and column"));
    message
}

/// Writes the files into a new folder; an old one is never written over.
pub fn write(folder: &Path, files: &FolderFiles) -> Result<(), String> {
    if folder.exists() {
        return Err(format!("{}: there is something of that name\nallowed: a new folder", folder.display()));
    }
    let said = |e: std::io::Error| format!("{}: cannot be written: {e}", folder.display());
    std::fs::create_dir_all(folder).map_err(said)?;
    files.each().try_for_each(|(name, bytes)| std::fs::write(folder.join(name), bytes).map_err(said))
}
