//! Where the book of this person is when nothing else is said.

use std::path::PathBuf;

use etcetera::BaseStrategy as _;

use crate::AppError;

/// A database and the folder of what belongs to this machine.
#[derive(Debug, Clone)]
pub struct Place {
    /// A path, or `postgres://…`.
    pub database: String,
    /// Copies and the name of this machine are kept here.
    pub folder: PathBuf,
}

/// The usual place: `whelpward` in the data directory of the user, or the given ones instead.
///
/// # Errors
/// There is no home directory.
pub fn default_place(database: Option<&str>, folder: Option<PathBuf>) -> Result<Place, AppError> {
    let folder = match folder {
        Some(folder) => folder,
        None => etcetera::choose_base_strategy()
            .map_err(|_| AppError::Said("there is no home directory; name a place with --data DIR".into()))?
            .data_dir()
            .join("whelpward"),
    };
    let database = match database {
        Some(database) if !database.trim().is_empty() => database.to_owned(),
        _ => folder.join("book.sqlite").display().to_string(),
    };
    Ok(Place { database, folder })
}

impl Place {
    /// The name of this machine in the book: made once, kept in a file.
    ///
    /// # Errors
    /// The folder cannot be written.
    pub fn device(&self) -> Result<String, AppError> {
        let path = self.folder.join("device");
        let failed = |e: std::io::Error| AppError::Said(format!("{} cannot be written: {e}", path.display()));
        match std::fs::read_to_string(&path) {
            Ok(text) if !text.trim().is_empty() => Ok(text.trim().to_owned()),
            _ => {
                let name = format!("computer-{:08x}", rand::random::<u32>());
                std::fs::create_dir_all(&self.folder).map_err(failed)?;
                std::fs::write(&path, format!("{name}\n")).map_err(failed)?;
                Ok(name)
            }
        }
    }

    #[must_use]
    pub fn copies(&self) -> PathBuf {
        self.folder.join("copies")
    }
}
