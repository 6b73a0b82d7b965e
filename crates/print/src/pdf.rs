//! A document as PDF/UA-1: tagged, with its fonts embedded.
//!
//! krilla writes it, because it tags (headings, lists, real tables, figures with their sentence) and
//! refuses to write what the standard forbids; layout is ours. krilla-svg draws the very SVG of the pages.

use std::sync::Arc;

use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::{Accessibility, Configuration, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Size, Transform};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, SpanTag};
use krilla::text::{Font, TextDirection};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::document::{Document, PAGE, PAGES};
use crate::layout::{FOOT_POINTS, Laid, MARGIN, Mark, Page, lay_out};
use crate::type_case::{BOLD, FAMILY, REGULAR, TypeCase};

/// The paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    A4,
    Letter,
}

impl Paper {
    /// Its name as CSS writes it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }

    /// Width and height in points: 210 x 297 mm (ISO 216), 8.5 x 11 in.
    #[must_use]
    pub const fn points(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// Why no PDF could be made. Nothing the household wrote is lost by it.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    #[error("the embedded font does not read; this program was built wrongly")]
    Font,
    #[error("a chart could not be drawn: {0}")]
    Chart(String),
    #[error("the PDF could not be written: {0}; the same print as HTML (--html FILE) can be printed from a browser")]
    Write(String),
}

/// The document on this paper.
///
/// # Errors
/// A chart that is no SVG, or a document that the standard forbids.
pub fn pdf(document: &Document, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let case = TypeCase::new()?;
    let fonts = chart_fonts();
    let mut laid = lay_out(document, paper, &case, &fonts)?;
    let font = |data: &'static [u8]| Font::new(data.to_vec().into(), 0).ok_or(PdfError::Font);
    let ink = Ink { regular: font(REGULAR())?, bold: font(BOLD())?, case: &case };
    let settings =
        SerializeSettings { configuration: for_everyone()?, enable_tagging: true, ..SerializeSettings::default() };
    let mut file = krilla::Document::new_with(settings);
    let count = laid.pages.len();
    let size = PageSettings::from_wh(laid.width, laid.height).ok_or(PdfError::Font)?;
    for (place, page) in std::mem::take(&mut laid.pages).into_iter().enumerate() {
        let mut sheet = file.start_page_with(size.clone());
        let mut surface = sheet.surface();
        ink.page(&mut surface, page, &mut laid);
        ink.foot(&mut surface, document, &laid, place + 1, count);
        surface.finish();
        sheet.finish();
    }
    let mut contents = Outline::new();
    for heading in &laid.headings {
        let to = XyzDestination::new(heading.page, Point::from_xy(MARGIN, heading.y));
        contents.push_child(OutlineNode::new(heading.words.clone(), to));
    }
    file.set_outline(contents);
    file.set_metadata(
        Metadata::new()
            .title(case.settable(&document.title, true))
            .language(document.language.clone())
            .creator("whelpward".into()),
    );
    file.set_tag_tree(laid.structure.tree(&document.language));
    file.finish().map_err(|e| PdfError::Write(format!("{e:?}")))
}

fn for_everyone() -> Result<Configuration, PdfError> {
    ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| PdfError::Write(format!("{e:?}")))
}

fn chart_fonts() -> usvg::Options<'static> {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(REGULAR())));
    fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(BOLD())));
    for family in [usvg::fontdb::Family::SansSerif, usvg::fontdb::Family::Serif] {
        match family {
            usvg::fontdb::Family::SansSerif => fonts.set_sans_serif_family(FAMILY),
            _ => fonts.set_serif_family(FAMILY),
        }
    }
    usvg::Options { fontdb: Arc::new(fonts), font_family: FAMILY.into(), ..usvg::Options::default() }
}

struct Ink<'a> {
    regular: Font,
    bold: Font,
    case: &'a TypeCase,
}

impl Ink<'_> {
    fn page(&self, surface: &mut Surface<'_>, page: Page, laid: &mut Laid) {
        for (part, mark) in page.marks {
            let tag = match (&part, &mark) {
                (None, Mark::Words { .. }) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::PaginationOther)),
                (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                (Some(_), Mark::Words { .. }) => ContentTag::Span(SpanTag::empty()),
                (Some(_), _) => ContentTag::Other,
            };
            let name = surface.start_tagged(tag);
            self.mark(surface, mark);
            surface.end_tagged();
            if let Some(part) = part {
                laid.structure.mark(part, name);
            }
        }
    }

    fn mark(&self, surface: &mut Surface<'_>, mark: Mark) {
        match mark {
            Mark::Words { x, y, words, is_bold, points } => self.words(surface, (x, y), &words, is_bold, points),
            Mark::Line { from, to, thick } => {
                let mut path = PathBuilder::new();
                path.move_to(from.0, from.1);
                path.line_to(to.0, to.1);
                surface.set_fill(None);
                surface.set_stroke(Some(Stroke {
                    paint: rgb::Color::black().into(),
                    width: thick,
                    ..Stroke::default()
                }));
                if let Some(path) = path.finish() {
                    surface.draw_path(&path);
                }
                surface.set_stroke(None);
            }
            Mark::Chart { x, y, width, height, drawing } => {
                surface.push_transform(&Transform::from_translate(x, y));
                if let Some(size) = Size::from_wh(width, height) {
                    surface.draw_svg(&drawing, size, SvgSettings::default());
                }
                surface.pop();
            }
        }
    }

    fn words(&self, surface: &mut Surface<'_>, at: (f32, f32), words: &str, is_bold: bool, points: f32) {
        let font = if is_bold { &self.bold } else { &self.regular };
        surface.set_fill(Some(Fill { paint: rgb::Color::black().into(), ..Fill::default() }));
        surface.set_stroke(None);
        surface.draw_text(Point::from_xy(at.0, at.1), font.clone(), points, words, false, TextDirection::Auto);
    }

    fn foot(&self, surface: &mut Surface<'_>, document: &Document, laid: &Laid, page: usize, pages: usize) {
        let number = document.foot.page_words.replace(PAGES, &pages.to_string()).replace(PAGE, &page.to_string());
        let number = self.case.settable(&number, false);
        let wide = self.case.width(&number, false, FOOT_POINTS);
        let base = laid.height - MARGIN;
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
        self.words(surface, (laid.width - MARGIN - wide, base), &number, false, FOOT_POINTS);
        // What is too long for one line of the foot goes on in a second, and then ends.
        let room = laid.width - 2.0 * MARGIN - wide - 12.0;
        let text = self.case.settable(&document.foot.text, false).replace('\n', " ");
        let (first, rest) = self.fitting(&text, room);
        let (second, more) = self.fitting(rest.trim_start(), room);
        let above = if second.is_empty() { base } else { base - FOOT_POINTS * 1.2 };
        self.words(surface, (MARGIN, above), first, false, FOOT_POINTS);
        if !second.is_empty() {
            let end = if more.is_empty() { String::new() } else { "…".to_owned() };
            self.words(surface, (MARGIN, base), &format!("{second}{end}"), false, FOOT_POINTS);
        }
        surface.end_tagged();
    }

    /// As much as fits, ending at a gap where there is one; and the rest.
    fn fitting<'t>(&self, text: &'t str, room: f32) -> (&'t str, &'t str) {
        if self.case.width(text, false, FOOT_POINTS) <= room {
            return (text, "");
        }
        let ends = text.char_indices().map(|(at, c)| at + c.len_utf8());
        let fits =
            ends.take_while(|end| self.case.width(&text[..*end], false, FOOT_POINTS) <= room - 8.0).last().unwrap_or(0);
        let cut = text[..fits].rfind(' ').filter(|at| *at > 0).unwrap_or(fits);
        text.split_at(cut)
    }
}
