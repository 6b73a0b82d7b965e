//! The two cuts of the one family that is embedded, and how wide words are in it.
//!
//! The condensed sans of `DejaVu` has every script of Europe (Latin, Greek, Cyrillic, Armenian, Georgian) and
//! is free to embed. What it lacks is shown as U+FFFD, because a PDF must not hold a missing glyph.

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size as AtSize};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider as _};

use crate::pdf::PdfError;

pub const REGULAR: fn() -> &'static [u8] = dejavu::sans_condensed::regular;
pub const BOLD: fn() -> &'static [u8] = dejavu::sans_condensed::bold;
/// The family's name, for charts.
pub const FAMILY: &str = "DejaVu Sans";

const MISSING: char = '\u{fffd}';

struct Cut {
    charmap: Charmap<'static>,
    widths: GlyphMetrics<'static>,
}

impl Cut {
    fn new(data: &'static [u8]) -> Result<Self, PdfError> {
        let font = FontRef::new(data).map_err(|_| PdfError::Font)?;
        Ok(Self { charmap: font.charmap(), widths: font.glyph_metrics(AtSize::new(1.0), LocationRef::default()) })
    }
}

/// Both cuts, ready to measure.
pub struct TypeCase {
    regular: Cut,
    bold: Cut,
}

impl TypeCase {
    pub fn new() -> Result<Self, PdfError> {
        Ok(Self { regular: Cut::new(REGULAR())?, bold: Cut::new(BOLD())? })
    }

    fn cut(&self, is_bold: bool) -> &Cut {
        if is_bold { &self.bold } else { &self.regular }
    }

    /// Width in points, without kerning, which only makes words narrower.
    pub fn width(&self, words: &str, is_bold: bool, points: f32) -> f32 {
        let cut = self.cut(is_bold);
        let of = |c| cut.charmap.map(c).and_then(|glyph| cut.widths.advance_width(glyph)).unwrap_or(0.0);
        words.chars().map(of).sum::<f32>() * points
    }

    /// The words with what cannot be set replaced: gaps for control characters, a mark for the rest.
    pub fn settable(&self, words: &str, is_bold: bool) -> String {
        let has = |c| self.cut(is_bold).charmap.map(c).is_some_and(|glyph| glyph.to_u32() != 0);
        words
            .chars()
            .filter_map(|c| match c {
                '\n' => Some('\n'),
                // Marks of direction and joining have no shape of their own.
                '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' => None,
                c if c.is_control() => Some(' '),
                '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..='\u{10ffff}' => Some(MISSING),
                c if has(c) => Some(c),
                _ => Some(MISSING),
            })
            .collect()
    }
}
