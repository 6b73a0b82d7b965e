//! A document as HTML.

use std::fmt::Write as _;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::document::{Block, Cell, Document, Foot, PAGE, PAGES, Size, Table, Text};
use crate::{Paper, STYLE};

/// The document without a frame, for a page that brings its own head.
#[must_use]
pub fn body(document: &Document) -> Markup {
    html! {
        article class=(if document.is_wide { "paper wide" } else { "paper" }) lang=(document.language) {
            h1 { (document.title) }
            @for block in &document.blocks { (part(block)) }
            // On paper it stands below every page, out of the style sheet.
            footer class="paper-foot" { (document.foot.text) }
        }
    }
}

/// A file of its own, that needs nothing beside it.
#[must_use]
pub fn file(document: &Document, paper: Paper) -> String {
    let style = format!("{STYLE}{}@page {{ size: {}; }}\n", foot_style(&document.foot), paper.word());
    html! {
        (DOCTYPE)
        html lang=(document.language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (document.title) }
                style { (PreEscaped(style)) }
            }
            body { main { (body(document)) } }
        }
    }
    .into_string()
}

/// The style that puts the foot below every printed page.
#[must_use]
pub fn foot_style(foot: &Foot) -> String {
    let mut number = String::new();
    let mut rest = foot.page_words.as_str();
    while let Some((name, at)) =
        [PAGE, PAGES].into_iter().filter_map(|name| rest.find(name).map(|at| (name, at))).min_by_key(|(_, at)| *at)
    {
        let counter = if name == PAGE { "page" } else { "pages" };
        // Writing into a text does not fail.
        let _ = write!(number, "{} counter({counter}) ", quoted(&rest[..at]));
        rest = &rest[at + name.len()..];
    }
    number.push_str(&quoted(rest));
    format!("@page {{ @bottom-left {{ content: {}; }} @bottom-right {{ content: {number}; }} }}\n", quoted(&foot.text))
}

/// Text as CSS writes it; whatever could end it, or the element around it, is written as a number.
fn quoted(text: &str) -> String {
    let mut css = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' | '<' | '>' | '&' => {
                let _ = write!(css, "\\{:06x}", u32::from(c));
            }
            // CSS takes no zero and a line ends a string.
            c if c.is_control() => css.push(' '),
            c => css.push(c),
        }
    }
    css + "\""
}

fn part(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Heading(2, words) => { h2 { (words) } }
            Block::Heading(_, words) => { h3 { (words) } }
            Block::Text(text) => { p { (words(text)) } }
            Block::Framed(text) => { p class="framed" { (words(text)) } }
            Block::List(items) => { ul { @for item in items { li { (words(item)) } } } }
            Block::Table(table) => { (grid(table)) }
            Block::Chart(chart) => {
                figure class="paper-chart" { figcaption { (chart.says) } (PreEscaped(&chart.svg)) }
            }
            Block::Beside(texts, chart) => {
                div class="beside" { div { @for text in texts { p { (words(text)) } } } (PreEscaped(&chart.svg)) }
            }
            Block::Write(label, lines) => {
                div class="write" { div class="line" { p { (label) } } @for _ in 1..*lines { div class="line" {} } }
            }
            Block::NewPage => { hr class="new-page"; }
        }
    }
}

fn words(text: &Text) -> Markup {
    html! {
        @for span in &text.0 {
            @match (span.size, span.is_bold) {
                (Size::Large, _) => { strong class="far" { (span.words) } }
                (Size::Small, _) => { small { (span.words) } }
                (Size::Body, true) => { strong { (span.words) } }
                (Size::Body, false) => { (span.words) }
            }
        }
    }
}

fn grid(table: &Table) -> Markup {
    let whole: f32 = table.columns.iter().map(|c| c.share).sum();
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(table.caption) {
            table class=(if table.row_mm > 9.0 { "paper-grid tall" } else { "paper-grid" }) {
                caption class="hidden" { (table.caption) }
                // A share as an attribute: a page lets no style stand in it.
                colgroup { @for column in &table.columns { col width=(format!("{:.1}%", 100.0 * column.share / whole)); } }
                thead { tr { @for column in &table.columns { th scope="col" { (words(&column.head)) } } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (place, cell) in row.iter().enumerate() {
                                @if place == 0 { th scope="row" { (lines(cell)) } } @else { td { (lines(cell)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn lines(cell: &Cell) -> Markup {
    html! { @for (i, text) in cell.iter().enumerate() { @if i > 0 { br; } (words(text)) } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_leave_the_foot() {
        let foot = Foot { text: "\"; } </style><b>\\\n".into(), page_words: "Page {page} of {pages}.".into() };
        let style = foot_style(&foot);
        assert!(!style.contains('<') && !style.contains("\";  }") && style.lines().count() == 1, "{style}");
        assert!(style.contains(r#""Page " counter(page) " of " counter(pages) ".""#), "{style}");
    }
}
