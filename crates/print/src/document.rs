//! What a printed page holds, in the order in which it is read.

/// One print.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// The heading of the first page, and the title of the file.
    pub title: String,
    /// Of the texts, as BCP 47 writes it.
    pub language: String,
    /// On paper laid across.
    pub is_wide: bool,
    pub blocks: Vec<Block>,
    pub foot: Foot,
}

/// What stands below every page.
#[derive(Debug, Clone, PartialEq)]
pub struct Foot {
    pub text: String,
    /// With [`PAGE`] and [`PAGES`] where the numbers go.
    pub page_words: String,
}

/// Stands for the number of the page.
pub const PAGE: &str = "{page}";
/// Stands for how many pages there are.
pub const PAGES: &str = "{pages}";

/// One part of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading of level 2 or 3; the title is level 1.
    Heading(u8, String),
    Text(Text),
    /// Set in a frame: what must not be overlooked.
    Framed(Text),
    List(Vec<Text>),
    Table(Table),
    Chart(Chart),
    /// Paragraphs with a small picture at their right; its sentence is only said to a screen reader.
    Beside(Vec<Text>, Chart),
    /// Words on the first of so many lines to write on.
    Write(String, u8),
    /// What follows begins on a page of its own.
    NewPage,
}

/// Words of one paragraph.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text(pub Vec<Span>);

/// Words that look alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    pub words: String,
    pub is_bold: bool,
    pub size: Size,
}

/// How large letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// 9 pt: sources, small marks in a cell.
    Small,
    /// 11 pt.
    Body,
    /// 16 pt: what is read from a metre away.
    Large,
}

impl Size {
    #[must_use]
    pub const fn points(self) -> f32 {
        match self {
            Self::Small => 9.0,
            Self::Body => 11.0,
            Self::Large => 16.0,
        }
    }
}

impl Text {
    fn with(mut self, words: impl Into<String>, is_bold: bool, size: Size) -> Self {
        self.0.push(Span { words: words.into(), is_bold, size });
        self
    }
    #[must_use]
    pub fn plain(self, words: impl Into<String>) -> Self {
        self.with(words, false, Size::Body)
    }
    #[must_use]
    pub fn bold(self, words: impl Into<String>) -> Self {
        self.with(words, true, Size::Body)
    }
    #[must_use]
    pub fn small(self, words: impl Into<String>) -> Self {
        self.with(words, false, Size::Small)
    }
    #[must_use]
    pub fn large(self, words: impl Into<String>) -> Self {
        self.with(words, true, Size::Large)
    }
    /// The words without their looks.
    #[must_use]
    pub fn words(&self) -> String {
        self.0.iter().map(|s| s.words.as_str()).collect()
    }
}

impl From<&str> for Text {
    fn from(words: &str) -> Self {
        Self::default().plain(words)
    }
}
impl From<String> for Text {
    fn from(words: String) -> Self {
        Self::default().plain(words)
    }
}

/// Paragraphs of one cell; none leaves it empty to write in.
pub type Cell = Vec<Text>;

/// A table with one heading row; the first cell of each row heads it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Said to a screen reader, not printed.
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
    /// Height of a row at least, for a pen.
    pub row_mm: f32,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    pub head: Text,
    /// Share of the width.
    pub share: f32,
}

impl Column {
    #[must_use]
    pub fn new(head: impl Into<Text>, share: f32) -> Self {
        Self { head: head.into(), share }
    }
}

/// A chart as SVG, which holds only shapes and short labels.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    pub svg: String,
    /// What it shows, in one sentence; printed above it where it stands alone.
    pub says: String,
    pub width_mm: f32,
}
