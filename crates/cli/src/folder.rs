//! Reads the files of a litter folder.

use std::io::ErrorKind;
use std::path::Path;

use whelpward_core::record::{Facts, FolderFiles, parse};

/// Reads and parses a folder; the error is the whole message for the person.
pub fn read(folder: &Path) -> Result<Facts, String> {
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
    let files = FolderFiles {
        litter_toml: file("litter.toml")?,
        weighings_csv: file("weighings.csv")?,
        feeds_csv: file("feeds.csv")?,
        checks_csv: file("checks.csv")?,
        foods_csv: file("foods.csv")?,
    };
    parse(&files).map_err(|problems| {
        let mut message = String::new();
        for problem in &problems {
            message.push_str(&format!("{}/{problem}\n", folder.display()));
        }
        let count = problems.len();
        let word = if count == 1 { "problem" } else { "problems" };
        message
            .push_str(&format!("{count} {word}; nothing was loaded\nhint: docs/FORMAT.md lists every key and column"));
        message
    })
}
