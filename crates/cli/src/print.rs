//! `whelpward print`: a print as a PDF or HTML file, without a browser.

use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::PossibleValuesParser;
use jiff::Timestamp;
use whelpward_print::{Paper, html, pdf};
use whelpward_web::print::{Print, Source, document};

use crate::book::{self, Failed, Which};
use crate::folder;

#[derive(Args)]
pub struct Asked {
    /// What to print
    #[arg(value_parser = PossibleValuesParser::new(Print::ALL.map(Print::word)))]
    print: String,
    /// A litter folder; the book when left out
    folder: Option<PathBuf>,
    /// The pup, for a print about one; the one most in need when left out
    #[arg(long, value_name = "NAME")]
    pup: Option<String>,
    /// Print as of this time instead of now, as in 2026-11-20T03:15+01:00
    #[arg(long)]
    at: Option<Timestamp>,
    /// a4 or letter
    #[arg(long, default_value = "a4", value_parser = ["a4", "letter"])]
    paper: String,
    /// Write a tagged PDF into this file
    #[arg(long, value_name = "FILE", required_unless_present = "html")]
    pdf: Option<PathBuf>,
    /// Write one HTML file, to print from a browser
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

pub fn run(which: &Which, asked: &Asked, clock: Timestamp) -> Result<String, Failed> {
    let source = if let Some(path) = &asked.folder {
        let facts = folder::read(path)?;
        let example_at = facts.litter.example.as_ref().map(|e| e.at);
        Source::new(&facts, None, asked.at.or(example_at).unwrap_or(clock))
    } else {
        book::source(which, asked.at, clock)?
    };
    let print = Print::from_word(&asked.print).ok_or_else(|| format!("there is no print {}", asked.print))?;
    let made = document(print, &source, asked.pup.as_deref())?;
    let paper = if asked.paper == "letter" { Paper::Letter } else { Paper::A4 };
    let mut said = String::new();
    if let Some(file) = &asked.html {
        said += &written(file, html::file(&made, paper).as_bytes(), &made.title)?;
    }
    if let Some(file) = &asked.pdf {
        let bytes = pdf::pdf(&made, paper).map_err(|e| e.to_string())?;
        said += &written(file, &bytes, &made.title)?;
    }
    Ok(said)
}

/// Beside the old file first, so that a full disk leaves that one whole.
fn written(file: &Path, bytes: &[u8], title: &str) -> Result<String, Failed> {
    let fault = |what: &std::io::Error| {
        format!(
            "{} could not be written: {what}. Give a file in a folder that there is and that you may write in.",
            file.display()
        )
    };
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut beside = tempfile::NamedTempFile::new_in(folder).map_err(|e| fault(&e))?;
    std::io::Write::write_all(&mut beside, bytes).map_err(|e| fault(&e))?;
    beside.persist(file).map_err(|e| fault(&e.error))?;
    Ok(format!("{title}: {}\n", file.display()))
}
