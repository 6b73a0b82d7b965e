//! Writes the calendar files of the core into a folder, one for each carer; a file that is already
//! there is renewed, so that a calendar that took it in takes the change in too.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use whelpward_core::report::calendar;
use whelpward_core::report::stages::StagesReport;
use whelpward_core::report::timetable::TimetableReport;

/// Writes a file for each carer of the plan; all rounds go to everyone when nobody is named.
pub fn write(report: &TimetableReport, dir: &Path, with_amounts: bool) -> Result<Vec<PathBuf>, String> {
    write_files("feeds", dir, &calendar::carers(report), |carer, before| {
        calendar::feeds(report, carer, with_amounts, before)
    })
}

/// Writes the dates of the stages, the same for each carer; one file when nobody is named.
pub fn write_dates(report: &StagesReport, dir: &Path) -> Result<Vec<PathBuf>, String> {
    let carers: Vec<&str> = report.carers.iter().map(String::as_str).collect();
    write_files("dates", dir, &carers, |carer, before| calendar::dates(report, carer, before))
}

/// One file for each carer; `text` gets what stands in it from before.
fn write_files(
    about: &str,
    dir: &Path,
    carers: &[&str],
    text: impl Fn(Option<&str>, &str) -> String,
) -> Result<Vec<PathBuf>, String> {
    let said = |error: std::io::Error, path: &Path| format!("{}: cannot be written: {error}", path.display());
    std::fs::create_dir_all(dir).map_err(|e| said(e, dir))?;
    let mut written = Vec::new();
    for (carer, name) in calendar::files(about, carers) {
        let path = dir.join(name);
        let before = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
            Err(error) => return Err(format!("{}: cannot be read: {error}", path.display())),
        };
        std::fs::write(&path, text(carer, &before)).map_err(|e| said(e, &path))?;
        written.push(path);
    }
    Ok(written)
}
