//! The bytes of a file as text, and the text as records with their lines.
//!
//! Our own splitter, because two things matter here that general readers leave out: the line of
//! every record after blank lines and line breaks inside quotes, and a quote that is never
//! closed, which would swallow the rest of the file as one cell.

use std::borrow::Cow;

use super::{Problem, Separator, whole_file};

/// How the bytes were read as text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    Utf8,
    Utf16,
    /// Not Unicode: read as Windows-1252, which can turn letters of other code pages into wrong ones.
    Windows1252,
}

/// Windows-1252 from 0x80 to 0x9F; the rest equals Latin-1. `\0` has no character.
const WINDOWS_1252_HIGH: [char; 32] = [
    '€', '\0', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\0', 'Ž', '\0', '\0', '‘', '’', '“', '”', '•',
    '–', '—', '˜', '™', 'š', '›', 'œ', '\0', 'ž', 'Ÿ',
];

const A_TABLE: &str = "a table saved as CSV, best as \"CSV UTF-8\"";

/// The text of a file, with line ends made one.
pub(super) fn decode(bytes: &[u8]) -> Result<(String, Encoding), Problem> {
    let refuse = |found: &str| Err(whole_file(0, found.into(), A_TABLE.into()));
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return refuse("a workbook, not a text file");
    }
    let (text, encoding) = match bytes {
        [0xFF, 0xFE, rest @ ..] => match utf16(rest, u16::from_le_bytes) {
            Some(text) => (text, Encoding::Utf16),
            None => return refuse("damaged UTF-16"),
        },
        [0xFE, 0xFF, rest @ ..] => match utf16(rest, u16::from_be_bytes) {
            Some(text) => (text, Encoding::Utf16),
            None => return refuse("damaged UTF-16"),
        },
        _ => {
            let plain = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
            match std::str::from_utf8(plain) {
                Ok(text) => (text.to_owned(), Encoding::Utf8),
                Err(_) => match windows_1252(plain) {
                    Some(text) => (text, Encoding::Windows1252),
                    None => return refuse("bytes that are no text"),
                },
            }
        }
    };
    if text.contains('\0') {
        return refuse("zero bytes (not text, or UTF-16 without its mark)");
    }
    let text = if text.contains('\r') { text.replace("\r\n", "\n").replace('\r', "\n") } else { text };
    Ok((text, encoding))
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Option<String> {
    let pairs = bytes.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return None;
    }
    let units: Vec<u16> = pairs.map(|pair| unit([pair[0], pair[1]])).collect();
    String::from_utf16(&units).ok()
}

fn windows_1252(bytes: &[u8]) -> Option<String> {
    bytes
        .iter()
        .map(|&byte| match byte {
            0x80..=0x9F => Some(WINDOWS_1252_HIGH[usize::from(byte) - 0x80]).filter(|c| *c != '\0'),
            _ => Some(char::from(byte)),
        })
        .collect()
}

/// One record with the line on which it begins.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Record<'t> {
    pub line: usize,
    pub cells: Vec<Cow<'t, str>>,
}

impl Record<'_> {
    /// A cell counted from 0, trimmed; nothing where the line is shorter.
    pub(super) fn cell(&self, place: usize) -> &str {
        self.cells.get(place).map_or("", |cell| cell.trim())
    }

    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// The separator that a first line `sep=;` names, and the text after that line.
pub(super) fn named_separator(text: &str) -> (Option<Separator>, &str, usize) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first.trim_start_matches('"').strip_prefix("sep=").map(|s| s.trim_end_matches('"')) {
        Some(mark) => match Separator::ALL.into_iter().find(|s| s.mark() == mark) {
            Some(separator) => (Some(separator), rest, 2),
            None => (None, text, 1),
        },
        None => (None, text, 1),
    }
}

/// Splits a text into records; blank lines are left out. A cell in double quotes may hold the
/// separator, line breaks, and quotes written twice.
pub(super) fn split(text: &str, separator: Separator, first_line: usize) -> Result<Vec<Record<'_>>, Problem> {
    let mark = separator.byte();
    let bytes = text.as_bytes();
    let mut records = Vec::new();
    let (mut at, mut line) = (0, first_line);
    while at < bytes.len() {
        if bytes[at] == b'\n' {
            at += 1;
            line += 1;
            continue;
        }
        let start = line;
        let mut cells = Vec::new();
        loop {
            let (cell, after) = if bytes.get(at) == Some(&b'"') {
                quoted_cell(text, at, mark, &mut line)?
            } else {
                let end = end_of_plain(bytes, at, mark);
                (Cow::Borrowed(&text[at..end]), end)
            };
            cells.push(cell);
            at = after + 1;
            if bytes.get(after) != Some(&mark) {
                break;
            }
        }
        line += 1;
        let record = Record { line: start, cells };
        // A line of spaces or of nothing at all; one with separators stays and counts as blanks.
        if record.cells.len() > 1 || !record.is_blank() {
            records.push(record);
        }
    }
    Ok(records)
}

fn end_of_plain(bytes: &[u8], from: usize, mark: u8) -> usize {
    bytes[from..].iter().position(|b| *b == mark || *b == b'\n').map_or(bytes.len(), |n| from + n)
}

fn quoted_cell<'t>(text: &'t str, from: usize, mark: u8, line: &mut usize) -> Result<(Cow<'t, str>, usize), Problem> {
    let bytes = text.as_bytes();
    let opened = *line;
    let mut cell = String::new();
    let mut at = from + 1;
    loop {
        let Some(length) = bytes[at..].iter().position(|b| *b == b'"') else {
            return Err(whole_file(opened, "a quote that is never closed".into(), "quotes in pairs".into()));
        };
        let part = &text[at..at + length];
        *line += part.matches('\n').count();
        cell.push_str(part);
        at += length + 1;
        if bytes.get(at) != Some(&b'"') {
            break;
        }
        cell.push('"');
        at += 1;
    }
    // What follows a closing quote belongs to the cell, as every reader of such files has it.
    let end = end_of_plain(bytes, at, mark);
    cell.push_str(&text[at..end]);
    Ok((Cow::Owned(cell), end))
}
