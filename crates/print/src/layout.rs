//! Where everything stands: a document becomes pages of words, lines and charts.
//!
//! Measures are points from the top left corner. A row of a table and a chart never split; a row that
//! is taller than a page becomes several rows.

use crate::document::{Block, Cell, Chart, Document, Size, Table, Text};
use crate::pdf::{Paper, PdfError};
use crate::tags::{Part, Role, Structure};
use crate::type_case::TypeCase;

const MM: f32 = 72.0 / 25.4;
/// At each edge, and above the foot.
pub const MARGIN: f32 = 14.0 * MM;
/// The foot's size of letters, and the room that it takes.
pub const FOOT_POINTS: f32 = 8.5;
const FOOT_ROOM: f32 = 10.0 * MM;
/// Above and below the words of a cell, and beside them.
const PAD: f32 = 3.0;
const LEADING: f32 = 1.28;

/// Something on a page.
pub enum Mark {
    /// Words from a point of the base line on.
    Words {
        x: f32,
        y: f32,
        words: String,
        is_bold: bool,
        points: f32,
    },
    Line {
        from: (f32, f32),
        to: (f32, f32),
        thick: f32,
    },
    Chart {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        drawing: Box<usvg::Tree>,
    },
}

/// One page; what belongs to no part is not read aloud.
#[derive(Default)]
pub struct Page {
    pub marks: Vec<(Option<Part>, Mark)>,
}

/// A heading with its page, for the list of contents.
pub struct Place {
    pub words: String,
    pub page: usize,
    pub y: f32,
}

pub struct Laid {
    pub pages: Vec<Page>,
    pub structure: Structure,
    pub headings: Vec<Place>,
    pub width: f32,
    pub height: f32,
}

/// Words of one look on a line, from `x` on.
struct Run {
    x: f32,
    words: String,
    is_bold: bool,
    points: f32,
}

struct Line {
    runs: Vec<Run>,
    /// From the top of this line to the top of the next.
    height: f32,
    /// From the top to the base line.
    rise: f32,
}

/// The words in lines that are no wider than this.
fn lines_of(case: &TypeCase, text: &Text, width: f32) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut runs: Vec<Run> = Vec::new();
    let mut x = 0.0;
    let smallest = text.0.iter().map(|s| s.size.points()).fold(Size::Body.points(), f32::min);
    let mut end = |runs: &mut Vec<Run>| {
        let points = runs.iter().map(|r| r.points).fold(smallest, f32::max);
        lines.push(Line { runs: std::mem::take(runs), height: points * LEADING, rise: points * 1.0 });
    };
    for span in &text.0 {
        let points = span.size.points();
        let words = case.settable(&span.words, span.is_bold);
        for word in words.split_inclusive([' ', '\n']) {
            let is_end = word.ends_with('\n');
            let word = word.trim_end_matches('\n');
            let wide = case.width(word.trim_end_matches(' '), span.is_bold, points);
            if x > 0.0 && x + wide > width {
                end(&mut runs);
                x = 0.0;
            }
            let mut rest = word;
            // A word wider than the line is cut where the line ends.
            while x + case.width(rest.trim_end_matches(' '), span.is_bold, points) > width {
                let mut fits = 0;
                for (at, c) in rest.char_indices() {
                    let next = at + c.len_utf8();
                    if fits > 0 && x + case.width(&rest[..next], span.is_bold, points) > width {
                        break;
                    }
                    fits = next;
                }
                if fits == rest.len() {
                    break;
                }
                runs.push(Run { x, words: rest[..fits].to_owned(), is_bold: span.is_bold, points });
                end(&mut runs);
                x = 0.0;
                rest = &rest[fits..];
            }
            let wide = case.width(rest, span.is_bold, points);
            match runs.last_mut() {
                Some(run) if run.is_bold == span.is_bold && run.points == points => run.words.push_str(rest),
                _ if rest.is_empty() => {}
                _ => runs.push(Run { x, words: rest.to_owned(), is_bold: span.is_bold, points }),
            }
            x += wide;
            if is_end {
                end(&mut runs);
                x = 0.0;
            }
        }
    }
    if !runs.is_empty() || text.0.is_empty() {
        end(&mut runs);
    }
    lines
}

fn height_of(lines: &[Line]) -> f32 {
    lines.iter().map(|l| l.height).sum()
}

pub fn lay_out(document: &Document, paper: Paper, case: &TypeCase, fonts: &usvg::Options) -> Result<Laid, PdfError> {
    let (short, long) = paper.points();
    let (width, height) = if document.is_wide { (long, short) } else { (short, long) };
    let mut press = Press {
        case,
        fonts,
        width,
        bottom: height - MARGIN - FOOT_ROOM,
        y: MARGIN,
        pages: vec![Page::default()],
        structure: Structure::default(),
        headings: Vec::new(),
    };
    press.heading(1, &document.title, 0.0);
    for (i, block) in document.blocks.iter().enumerate() {
        press.block(block, document.blocks.get(i + 1))?;
    }
    Ok(Laid { pages: press.pages, structure: press.structure, headings: press.headings, width, height })
}

/// A drawing with its size on the page.
struct Drawn {
    width: f32,
    height: f32,
    drawing: Box<usvg::Tree>,
}

struct Press<'a> {
    case: &'a TypeCase,
    fonts: &'a usvg::Options<'a>,
    width: f32,
    bottom: f32,
    y: f32,
    pages: Vec<Page>,
    structure: Structure,
    headings: Vec<Place>,
}

impl Press<'_> {
    fn room(&self) -> f32 {
        self.width - 2.0 * MARGIN
    }

    fn put(&mut self, part: Option<Part>, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push((part, mark));
        }
    }

    fn new_page(&mut self) {
        self.pages.push(Page::default());
        self.y = MARGIN;
    }

    /// Begins a page where this height no longer fits.
    fn keep(&mut self, height: f32) {
        if self.y + height > self.bottom && self.y > MARGIN {
            self.new_page();
        }
    }

    fn write(&mut self, lines: Vec<Line>, left: f32, part: Part) {
        for line in lines {
            self.keep(line.height);
            let y = self.y + line.rise;
            for run in line.runs {
                let Run { x, words, is_bold, points } = run;
                self.put(Some(part), Mark::Words { x: left + x, y, words, is_bold, points });
            }
            self.y += line.height;
        }
    }

    fn heading(&mut self, level: u8, words: &str, follows: f32) {
        let points = match level {
            1 => 16.0,
            2 => 12.0,
            _ => 11.0,
        };
        let mut lines = lines_of(self.case, &Text::default().bold(words), self.room() * 11.0 / points);
        // The lines were set at 11 pt in a narrower room; here they grow.
        for line in &mut lines {
            let grow = points / Size::Body.points();
            line.height *= grow;
            line.rise *= grow;
            for run in &mut line.runs {
                run.x *= grow;
                run.points = points;
            }
        }
        if self.y > MARGIN {
            self.y += 5.0;
        }
        self.keep(height_of(&lines) + follows);
        self.headings.push(Place { words: self.case.settable(words, true), page: self.pages.len() - 1, y: self.y });
        let part = self.structure.add(Role::Heading(level, self.case.settable(words, true)), None);
        self.write(lines, MARGIN, part);
        self.y += 2.0;
    }

    fn block(&mut self, block: &Block, next: Option<&Block>) -> Result<(), PdfError> {
        match block {
            Block::Heading(level, words) => {
                let follows = match next {
                    // Sentence and drawing of a chart, a heading row and a row, two lines of text.
                    Some(Block::Chart(chart)) => chart.width_mm * MM * 0.6 + 30.0,
                    Some(Block::Table(table)) => 45.0 + table.row_mm * MM,
                    _ => 30.0,
                };
                self.heading((*level).clamp(2, 3), words, follows);
            }
            Block::Text(text) => {
                let part = self.structure.add(Role::Paragraph, None);
                let lines = lines_of(self.case, text, self.room());
                self.write(lines, MARGIN, part);
                self.y += 3.0;
            }
            Block::Framed(text) => self.framed(text),
            Block::List(items) => self.list(items),
            Block::Table(table) => self.table(table),
            Block::Chart(chart) => {
                let drawn = self.drawn(chart)?;
                let says = lines_of(self.case, &chart.says.as_str().into(), self.room());
                self.keep(drawn.height + height_of(&says) + 4.0);
                let caption = self.structure.add(Role::Paragraph, None);
                self.write(says, MARGIN, caption);
                self.y += self.place(drawn, chart, MARGIN) + 4.0;
            }
            Block::Beside(texts, chart) => self.beside(texts, chart)?,
            Block::Write(label, count) => {
                const PEN: f32 = 9.0 * MM;
                let lines = lines_of(self.case, &label.as_str().into(), self.room());
                let first = height_of(&lines).max(PEN);
                self.keep(first + f32::from(count.saturating_sub(1)) * PEN);
                // The words stand on the first line.
                let mut below = self.y + first;
                self.y = below - height_of(&lines);
                let part = self.structure.add(Role::Paragraph, None);
                self.write(lines, MARGIN, part);
                for _ in 0..*count {
                    self.y = below;
                    below += PEN;
                    let (from, to) = ((MARGIN, self.y), (self.width - MARGIN, self.y));
                    self.put(None, Mark::Line { from, to, thick: 0.6 });
                }
                self.y += 5.0;
            }
            Block::NewPage => self.new_page(),
        }
        Ok(())
    }

    fn drawn(&self, chart: &Chart) -> Result<Drawn, PdfError> {
        let drawing = usvg::Tree::from_str(&chart.svg, self.fonts).map_err(|e| PdfError::Chart(e.to_string()))?;
        let width = (chart.width_mm * MM).min(self.room());
        let height = width * drawing.size().height() / drawing.size().width();
        Ok(Drawn { width, height, drawing: Box::new(drawing) })
    }

    /// Puts a drawing where the page has come to, and gives its height.
    fn place(&mut self, drawn: Drawn, chart: &Chart, x: f32) -> f32 {
        let Drawn { width, height, drawing } = drawn;
        let figure = self.structure.add(Role::Figure(self.case.settable(&chart.says, false)), None);
        self.put(Some(figure), Mark::Chart { x, y: self.y, width, height, drawing });
        height
    }

    fn beside(&mut self, texts: &[Text], chart: &Chart) -> Result<(), PdfError> {
        const GAP: f32 = 8.0;
        const APART: f32 = 3.0;
        let drawn = self.drawn(chart)?;
        let room = self.room() - drawn.width - GAP;
        let texts: Vec<Vec<Line>> = texts.iter().map(|text| lines_of(self.case, text, room)).collect();
        let tall: f32 = texts.iter().map(|lines| height_of(lines) + APART).sum();
        self.keep(tall.max(drawn.height));
        // Read after the words, drawn before them: a long text may go on over the page.
        let words: Vec<Part> = texts.iter().map(|_| self.structure.add(Role::Paragraph, None)).collect();
        let (page, top) = (self.pages.len(), self.y);
        let x = self.width - MARGIN - drawn.width;
        let below = top + self.place(drawn, chart, x);
        for (lines, part) in texts.into_iter().zip(words) {
            self.write(lines, MARGIN, part);
            self.y += APART;
        }
        if self.pages.len() == page {
            self.y = self.y.max(below);
        }
        self.y += 1.0;
        Ok(())
    }

    fn framed(&mut self, text: &Text) {
        let lines = lines_of(self.case, text, self.room() - 4.0 * PAD);
        let height = height_of(&lines) + 4.0 * PAD;
        self.keep(height);
        self.outline(MARGIN, self.y, self.room(), height, 1.5);
        let part = self.structure.add(Role::Paragraph, None);
        let below = self.y + height + 4.0;
        self.y += 2.0 * PAD;
        self.write(lines, MARGIN + 2.0 * PAD, part);
        self.y = below;
    }

    fn outline(&mut self, x: f32, y: f32, width: f32, height: f32, thick: f32) {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        for i in 0..4 {
            self.put(None, Mark::Line { from: corners[i], to: corners[(i + 1) % 4], thick });
        }
    }

    fn list(&mut self, items: &[Text]) {
        const INDENT: f32 = 12.0;
        let list = self.structure.add(Role::List, None);
        for item in items {
            let lines = lines_of(self.case, item, self.room() - INDENT);
            self.keep(lines.first().map_or(0.0, |l| l.height));
            if let Some(first) = lines.first() {
                let y = self.y + first.rise;
                let points = Size::Body.points();
                self.put(None, Mark::Words { x: MARGIN + 2.0, y, words: "•".into(), is_bold: false, points });
            }
            let one = self.structure.add(Role::Item, Some(list));
            let body = self.structure.add(Role::ItemBody, Some(one));
            self.write(lines, MARGIN + INDENT, body);
            self.y += 1.5;
        }
        self.y += 3.0;
    }

    fn table(&mut self, table: &Table) {
        let whole: f32 = table.columns.iter().map(|c| c.share).sum();
        let widths: Vec<f32> = table.columns.iter().map(|c| self.room() * c.share / whole).collect();
        let head: Vec<Cell> = table
            .columns
            .iter()
            .map(|c| {
                vec![Text(
                    c.head
                        .0
                        .iter()
                        .cloned()
                        .map(|mut s| {
                            s.is_bold = true;
                            s
                        })
                        .collect(),
                )]
            })
            .collect();
        let set = |cells: &[Cell]| -> Vec<Vec<Line>> {
            cells
                .iter()
                .zip(&widths)
                .map(|(cell, width)| cell.iter().flat_map(|t| lines_of(self.case, t, width - 2.0 * PAD)).collect())
                .collect()
        };
        let tall = |cells: &[Vec<Line>]| cells.iter().map(|c| height_of(c)).fold(0.0, f32::max) + 2.0 * PAD;
        let head_height = tall(&set(&head));
        let most = self.bottom - MARGIN - head_height;
        let mut rows: Vec<(bool, Vec<Vec<Line>>)> = Vec::new();
        for row in &table.rows {
            rows.extend(cut(set(row), most).into_iter().enumerate().map(|(i, part)| (i == 0, part)));
        }
        let heads = set(&head);
        let again = set(&head);
        let least = |i: usize| rows.get(i).map_or(0.0, |(_, cells)| tall(cells).max(table.row_mm * MM));
        let heights: Vec<f32> = (0..rows.len()).map(least).collect();
        self.keep(head_height + heights.first().copied().unwrap_or(0.0));
        let caption = self.case.settable(&table.caption, false);
        let part = self.structure.add(Role::Table(caption), None);
        let top = self.structure.add(Role::Head, Some(part));
        let first = self.structure.add(Role::Row, Some(top));
        let mut column_heads = Vec::new();
        for _ in &widths {
            column_heads.push(Some(self.structure.add(Role::ColumnHead, Some(first))));
        }
        self.row(heads, &widths, head_height, &column_heads);
        let mut body = None;
        let mut parts: Vec<Option<Part>> = Vec::new();
        for ((is_first, cells), height) in rows.into_iter().zip(heights) {
            if self.y + height > self.bottom {
                self.new_page();
                let copy = again.iter().map(|lines| lines.iter().map(Line::copy).collect()).collect();
                self.row(copy, &widths, head_height, &vec![None; widths.len()]);
            }
            if is_first {
                let body = *body.get_or_insert_with(|| self.structure.add(Role::Body, Some(part)));
                let row = self.structure.add(Role::Row, Some(body));
                parts.clear();
                for place in 0..cells.len() {
                    let role = if place == 0 { Role::RowHead } else { Role::Data };
                    parts.push(Some(self.structure.add(role, Some(row))));
                }
            }
            self.row(cells, &widths, height, &parts);
        }
        self.y += 6.0;
    }

    fn row(&mut self, cells: Vec<Vec<Line>>, widths: &[f32], height: f32, parts: &[Option<Part>]) {
        let mut x = MARGIN;
        let top = self.y;
        for ((lines, width), part) in cells.into_iter().zip(widths).zip(parts) {
            self.outline(x, top, *width, height, 0.5);
            let mut y = top + PAD;
            for line in lines {
                for run in line.runs {
                    let Run { x: off, words, is_bold, points } = run;
                    self.put(*part, Mark::Words { x: x + PAD + off, y: y + line.rise, words, is_bold, points });
                }
                y += line.height;
            }
            x += width;
        }
        self.y = top + height;
    }
}

impl Line {
    fn copy(&self) -> Self {
        let run = |r: &Run| Run { x: r.x, words: r.words.clone(), is_bold: r.is_bold, points: r.points };
        Self { runs: self.runs.iter().map(run).collect(), height: self.height, rise: self.rise }
    }
}

/// The lines of a row in as many rows as it takes for none to be taller than a page.
fn cut(mut cells: Vec<Vec<Line>>, most: f32) -> Vec<Vec<Vec<Line>>> {
    let mut rows = Vec::new();
    loop {
        let mut later: Vec<Vec<Line>> = Vec::new();
        for cell in &mut cells {
            let mut height = 2.0 * PAD;
            let fits = cell
                .iter()
                .take_while(|l| {
                    height += l.height;
                    height <= most
                })
                .count()
                .max(1);
            later.push(cell.split_off(fits.min(cell.len())));
        }
        let is_done = later.iter().all(Vec::is_empty);
        rows.push(std::mem::replace(&mut cells, later));
        if is_done {
            return rows;
        }
    }
}
