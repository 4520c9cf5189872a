//! Lays a document out on A4 pages: blocks become pieces, pieces flow from page to page.
//!
//! A piece is the smallest height that stays whole: a line, a row of dials, a chart. A piece can hold on
//! to the next one, and can bring a head along that is drawn again at the top of a page. Nothing is
//! cut, and nothing is written over something else: what does not fit goes to the next page.

mod blocks;
mod flow;
mod furniture;
mod table;

use super::document::Document;
use super::face::Faces;
use super::marks::{Mark, Part};
use flow::Flow;

/// Width of an A4 page, points.
pub const PAGE_WIDTH: f32 = 595.276;
/// Height of an A4 page, points.
pub const PAGE_HEIGHT: f32 = 841.89;
/// White left and right of everything.
pub const MARGIN: f32 = 51.0;
/// Where the first page begins.
const FIRST_TOP: f32 = 48.0;
/// Where the others begin, below their running head.
const TOP: f32 = 72.0;
/// Where every page ends, above its foot.
const BOTTOM: f32 = PAGE_HEIGHT - 62.0;
/// Width of what is between the margins.
pub const CONTENT: f32 = PAGE_WIDTH - 2.0 * MARGIN;

/// How small a page that must stay one may be set, smallest last.
const SCALES: [f32; 4] = [1.0, 0.94, 0.88, 0.82];

/// A thing that is read out as one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Element {
    /// A heading: 1 for the document, 2 for a section.
    Heading {
        /// Its level.
        level: u16,
        /// Its text.
        text: String,
    },
    /// Something to read.
    Paragraph,
    /// A place in a table.
    Cell {
        /// Which table, from 0.
        table: usize,
        /// Its row, heads first.
        row: usize,
        /// Whether it is a head.
        is_head: bool,
        /// How many columns it spans.
        span: u32,
    },
    /// A figure.
    Figure {
        /// What it shows, in words.
        alt: String,
    },
}

/// A document on its pages.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// What stands on each page.
    pub pages: Vec<Vec<Mark>>,
    /// What the marks belong to, in reading order.
    pub elements: Vec<Element>,
}

/// The smallest height that stays whole.
#[derive(Debug, Clone, Default)]
struct Piece {
    /// White above it, unless it begins a page.
    space: f32,
    /// Its height.
    height: f32,
    /// What it shows, from the upper left corner of the content.
    marks: Vec<Mark>,
    /// Whether it must stand on the same page as the next one.
    holds_on: bool,
    /// Whether it begins a page.
    begins_page: bool,
    /// What is drawn above it when it begins a page.
    head: Option<std::rc::Rc<Piece>>,
}

/// Lays a document out.
#[must_use]
pub fn lay_out(document: &Document, faces: &Faces) -> Layout {
    let mut compose = blocks::Compose::new(faces);
    compose.opening(document);
    compose.blocks(&document.blocks);
    let (pieces, elements) = compose.finish();
    let mut pages = Flow::default().run(pieces);
    let count = pages.len();
    for (index, page) in pages.iter_mut().enumerate() {
        page.extend(furniture::of_page(document, faces, index + 1, count));
        // Readers without a sense for tags take things as they come: element by element then.
        page.sort_by_key(|mark| match mark.part {
            Part::Element(element) => element,
            Part::Furniture => usize::MAX,
        });
    }
    Layout { pages, elements }
}
