//! A printed page as plain data ([`Document`]), and the two things that are made of it: HTML for a
//! browser to print ([`html`]) and a tagged PDF ([`pdf`]). Each print is so written once.
//!
//! It knows nothing of litters: every word comes from the caller.

mod document;
pub mod html;
mod layout;
pub mod pdf;
mod tags;
mod type_case;

pub use document::{Block, Cell, Chart, Column, Document, Foot, PAGE, PAGES, Size, Span, Table, Text};
pub use pdf::{Paper, PdfError};

/// How a document looks on a screen and on paper; in a page it stands beside the page's own style.
pub const STYLE: &str = include_str!("print.css");
