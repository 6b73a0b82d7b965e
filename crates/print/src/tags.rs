//! The structure of a PDF: what a screen reader hears, apart from where it stands on the page.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagTree};

/// What one part is.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    Heading(u8, String),
    Paragraph,
    List,
    Item,
    ItemBody,
    Table(String),
    Head,
    Body,
    Row,
    ColumnHead,
    RowHead,
    Data,
    /// With the sentence that a chart shows.
    Figure(String),
}

/// Names one part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part(usize);

struct Made {
    role: Role,
    parts: Vec<usize>,
    marks: Vec<Identifier>,
}

/// The parts of a document as they are laid out.
#[derive(Default)]
pub struct Structure {
    made: Vec<Made>,
    top: Vec<usize>,
}

impl Structure {
    /// A part within another, or at the top.
    pub fn add(&mut self, role: Role, within: Option<Part>) -> Part {
        let place = self.made.len();
        self.made.push(Made { role, parts: Vec::new(), marks: Vec::new() });
        match within {
            Some(Part(outer)) => self.made[outer].parts.push(place),
            None => self.top.push(place),
        }
        Part(place)
    }

    /// What was drawn for a part.
    pub fn mark(&mut self, part: Part, identifier: Identifier) {
        self.made[part.0].marks.push(identifier);
    }

    pub fn tree(mut self, language: &str) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        for place in std::mem::take(&mut self.top) {
            tree.push(self.group(place));
        }
        tree
    }

    fn group(&mut self, place: usize) -> TagGroup {
        let made = &mut self.made[place];
        let (parts, marks) = (std::mem::take(&mut made.parts), std::mem::take(&mut made.marks));
        let mut group = match made.role.clone() {
            Role::Heading(level, words) => {
                TagGroup::new(Tag::Hn(NonZeroU16::new(u16::from(level)).unwrap_or(NonZeroU16::MIN), Some(words)))
            }
            Role::Paragraph => TagGroup::new(Tag::P),
            Role::List => TagGroup::new(Tag::L(ListNumbering::Disc)),
            Role::Item => TagGroup::new(Tag::LI),
            Role::ItemBody => TagGroup::new(Tag::LBody),
            Role::Table(caption) => TagGroup::new(Tag::Table.with_summary(Some(caption))),
            Role::Head => TagGroup::new(Tag::THead),
            Role::Body => TagGroup::new(Tag::TBody),
            Role::Row => TagGroup::new(Tag::TR),
            Role::ColumnHead => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
            Role::RowHead => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
            Role::Data => TagGroup::new(Tag::TD),
            Role::Figure(says) => TagGroup::new(Tag::Figure(Some(says))),
        };
        for mark in marks {
            group.push(Node::Leaf(mark));
        }
        for part in parts {
            group.push(self.group(part));
        }
        group
    }
}
