//! What is wrong in a file, where, and what would be right.

/// One problem in a litter folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    pub file: &'static str,
    /// Counted from 1; 0 for the file as a whole.
    pub line: usize,
    /// Counted from 1: the character in `litter.toml`, the field in a table; 0 for the line as a whole.
    pub column: usize,
    /// The key or the column's name.
    pub name: String,
    pub found: String,
    pub allowed: String,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.file)?;
        if self.line > 0 {
            write!(f, ", line {}", self.line)?;
        }
        if self.column > 0 {
            write!(f, ", column {}", self.column)?;
        }
        if !self.name.is_empty() {
            write!(f, " ({})", self.name)?;
        }
        write!(f, ": found {}; allowed: {}", self.found, self.allowed)
    }
}

/// Quotes what was found, shortened so that a pasted page does not fill the screen.
pub(super) fn quoted(text: &str) -> String {
    if text.is_empty() {
        return "nothing".into();
    }
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    format!("\"{}\"", short.escape_debug())
}
