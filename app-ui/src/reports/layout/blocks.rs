//! Blocks into pieces.

use super::super::document::{Block, Cell, Column, Document, Fact, Line, Table};
use super::super::face::{Faces, Type};
use super::super::marks::{Ink, Mark, Outline, Part, Pen};
use super::super::{charts, dials, paint, qr};
use super::flow::CAPACITY;
use super::table::{Setting, Tables, indent_of, type_of};
use super::{CONTENT, Element, Piece, SCALES};
use crate::messages::reports as words;

/// Size of text for reading, points.
const BODY: f32 = 9.4;
/// Size of text in small tables.
const SMALL: f32 = 8.4;
/// A table of less height is not torn.
const SMALL_TABLE: f32 = 170.0;
/// Side of the QR code.
const CODE: f32 = 82.0;

/// Blocks so far, as pieces.
pub(super) struct Compose<'a> {
    faces: &'a Faces,
    scale: f32,
    tables: usize,
    pieces: Vec<Piece>,
    elements: Vec<Element>,
}

impl<'a> Compose<'a> {
    /// Nothing so far.
    pub fn new(faces: &'a Faces) -> Self {
        Self {
            faces,
            scale: 1.0,
            tables: 0,
            pieces: Vec::new(),
            elements: Vec::new(),
        }
    }

    /// The pieces, and what their marks belong to.
    pub fn finish(self) -> (Vec<Piece>, Vec<Element>) {
        (self.pieces, self.elements)
    }

    fn element(&mut self, element: Element) -> Part {
        self.elements.push(element);
        Part::Element(self.elements.len() - 1)
    }

    /// Title, subject and how things stand; the code of the id at the right.
    pub fn opening(&mut self, document: &Document) {
        let opening = &document.opening;
        let room = CONTENT - CODE - 28.0;
        let mut piece = Piece::default();
        let mut y = 0.0;
        let heading = self.element(Element::Heading {
            level: 1,
            text: document.title.clone(),
        });
        let mut lines = |part, text: &str, as_type: Type, ink, above: f32| {
            if text.is_empty() {
                return;
            }
            y += above;
            for run in self.faces.wrap(text, as_type, room) {
                y += as_type.size;
                piece.marks.push(Mark::text(part, 0.0, y, run, ink));
                y += as_type.leading() - as_type.size;
            }
        };
        lines(heading, &document.title, Type::bold(24.0), Ink::Black, 0.0);
        let subject = Part::Element(self.elements.len());
        self.elements.push(Element::Paragraph);
        lines(subject, &opening.subject, Type::bold(14.0), Ink::Black, 3.0);
        lines(
            subject,
            &opening.place,
            Type::regular(11.0),
            Ink::Quiet,
            1.0,
        );
        y += 7.0;
        for state in &opening.states {
            let part = self.element(Element::Paragraph);
            let (as_type, ink) = type_of(state.tone, 10.2);
            let indent = indent_of(state.sign, 10.2);
            let runs = self.faces.wrap(&state.text, as_type, room - indent);
            for (index, run) in runs.into_iter().enumerate() {
                if let Some(sign) = state.sign.filter(|_| index == 0) {
                    let marks = paint::sign(part, sign, 4.2, y + 6.9, 3.7);
                    piece.marks.extend(marks);
                }
                piece
                    .marks
                    .push(Mark::text(part, indent, y + 10.2, run, ink));
                y += Type::regular(10.2).leading() + 0.6;
            }
        }
        let below = self.code(document, &mut piece.marks);
        y = y.max(below) + 9.0;
        piece.marks.push(Mark::stroke(
            Part::Furniture,
            Outline::line(0.0, y, CONTENT, y),
            Pen::solid(Ink::Black, 1.4),
        ));
        piece.height = y + 4.0;
        self.pieces.push(piece);
    }

    /// The code and, below it, the id in letters; answers where it ends.
    fn code(&mut self, document: &Document, marks: &mut Vec<Mark>) -> f32 {
        if document.id.is_empty() {
            return 0.0;
        }
        let part = self.element(Element::Figure {
            alt: words::code_alt(&document.id_of, &document.id),
        });
        let left = CONTENT - CODE;
        let Some(code) = qr::outline(&document.id, left, 0.0, CODE) else {
            return 0.0;
        };
        marks.push(Mark::fill(part, code, Ink::Black));
        let part = self.element(Element::Paragraph);
        let small = Type::regular(6.6);
        let mut y = CODE + 10.0;
        let letters: Vec<char> = document.id.chars().collect();
        let lines = letters.chunks(16).map(|line| {
            let eights: Vec<String> = line.chunks(8).map(|eight| eight.iter().collect()).collect();
            eights.join(" ")
        });
        for line in std::iter::once(document.id_of.clone()).chain(lines) {
            for run in self.faces.wrap(&line, small, CODE) {
                marks.push(Mark::text(part, left, y, run, Ink::Quiet));
                y += small.leading();
            }
        }
        y - small.leading()
    }

    /// Blocks one after another. What is said of a table stays with it.
    pub fn blocks(&mut self, blocks: &[Block]) {
        for (index, block) in blocks.iter().enumerate() {
            self.block(block);
            let next = blocks.get(index + 1);
            if let (Block::Text(_), Some(Block::Table(_) | Block::Facts(_))) = (block, next)
                && let Some(last) = self.pieces.last_mut()
            {
                last.holds_on = true;
            }
        }
    }

    /// One block.
    fn block(&mut self, block: &Block) {
        let scale = self.scale;
        match block {
            Block::Heading(text) => self.heading(text, 2),
            Block::Subheading(text) => self.heading(text, 3),
            Block::Text(line) => self.text(line),
            Block::Facts(facts) => self.facts(facts),
            Block::Table(table) => self.table(table, 3.0),
            Block::Dials(dials) => {
                let alt = words::dials_alt(dials);
                let part = self.element(Element::Figure { alt });
                let marks = dials::paint(self.faces, dials, part, CONTENT, scale);
                self.figure(marks, dials::height(scale));
            }
            Block::Turns(chart) => {
                let alt = chart.alt.clone();
                let part = self.element(Element::Figure { alt });
                let marks = charts::turns(self.faces, chart, part, CONTENT, scale);
                self.figure(marks, charts::turns_height(scale));
            }
            Block::History(chart) => {
                let alt = chart.alt.clone();
                let part = self.element(Element::Figure { alt });
                let marks = charts::history(self.faces, chart, part, CONTENT, scale);
                self.figure(marks, charts::history_height(chart, scale));
            }
            Block::ToFill(rows) => rows.iter().for_each(|row| self.ruled_line(row)),
            Block::OnePage(blocks) => self.one_page(blocks),
        }
    }

    fn figure(&mut self, marks: Vec<Mark>, height: f32) {
        self.pieces.push(Piece {
            space: 6.0 * self.scale,
            height,
            marks,
            ..Piece::default()
        });
    }

    fn heading(&mut self, text: &str, level: u16) {
        let part = self.element(Element::Heading {
            level,
            text: text.to_owned(),
        });
        let (size, above) = if level > 2 { (BODY, 9.0) } else { (12.0, 15.0) };
        let as_type = Type::bold(size * self.scale);
        let lines = self.faces.wrap(text, as_type, CONTENT);
        for (index, run) in lines.into_iter().enumerate() {
            self.pieces.push(Piece {
                space: if index == 0 { above * self.scale } else { 0.0 },
                height: as_type.leading(),
                marks: vec![Mark::text(part, 0.0, as_type.size, run, Ink::Black)],
                holds_on: true,
                ..Piece::default()
            });
        }
    }

    fn text(&mut self, line: &Line) {
        let part = self.element(Element::Paragraph);
        let size = BODY * self.scale;
        let (as_type, ink) = type_of(line.tone, size);
        let indent = indent_of(line.sign, size);
        // Long lines are hard to follow; this is about a hundred letters.
        let room = (CONTENT * 0.93 - indent).max(1.0);
        let lines = self.faces.wrap(&line.text, as_type, room);
        let count = lines.len();
        for (index, run) in lines.into_iter().enumerate() {
            let mut marks = Vec::new();
            if let Some(sign) = line.sign.filter(|_| index == 0) {
                let radius = size * 0.36;
                marks.extend(paint::sign(part, sign, radius + 0.4, size * 0.68, radius));
            }
            marks.push(Mark::text(part, indent, size, run, ink));
            self.pieces.push(Piece {
                space: if index == 0 { 4.0 * self.scale } else { 0.0 },
                height: as_type.leading(),
                marks,
                // No line of a paragraph stands alone on a page.
                holds_on: index + 1 < count && (index == 0 || index + 2 == count),
                ..Piece::default()
            });
        }
    }

    /// Labels and values in two columns, read row by row.
    fn facts(&mut self, facts: &[Fact]) {
        let half = facts.len().div_ceil(2);
        let cells = |fact: Option<&Fact>| match fact {
            Some(fact) => [Cell::quiet(&fact.label), fact.value.clone()],
            None => [Cell::default(), Cell::default()],
        };
        let rows = (0..half).map(|row| {
            let [label, value] = cells(facts.get(row));
            let [other, other_value] = cells(facts.get(half + row));
            vec![label, value, other, other_value]
        });
        let table = Table {
            columns: [1.0, 1.8, 1.1, 1.5]
                .map(|share| Column::left("", share))
                .into(),
            rows: rows.collect(),
            ..Table::default()
        };
        self.table(&table, 5.0);
    }

    fn table(&mut self, table: &Table, space: f32) {
        let size = if table.is_small { SMALL } else { BODY } * self.scale;
        let tables = Tables {
            faces: self.faces,
            elements: &mut self.elements,
            number: self.tables,
            setting: Setting {
                scale: self.scale,
                size,
            },
        };
        let mut pieces = tables.pieces(table);
        self.tables += 1;
        let whole: f32 = pieces.iter().map(|piece| piece.height).sum();
        let count = pieces.len();
        if whole < SMALL_TABLE {
            pieces
                .iter_mut()
                .take(count.saturating_sub(1))
                .for_each(|piece| piece.holds_on = true);
        }
        if let Some(first) = pieces.first_mut() {
            first.space = space * self.scale;
        }
        self.pieces.append(&mut pieces);
    }

    /// A ruled line in three parts with what belongs there below it.
    fn ruled_line(&mut self, row: &[String; 3]) {
        let part = self.element(Element::Paragraph);
        let as_type = Type::regular(7.6 * self.scale);
        let (gap, y) = (16.0, 27.0 * self.scale);
        let room = CONTENT - 2.0 * gap;
        let mut left = 0.0;
        let mut piece = Piece {
            height: y + as_type.leading() + 2.0,
            ..Piece::default()
        };
        for (text, share) in row.iter().zip([0.38, 0.2, 0.42]) {
            let width = room * share;
            piece.marks.push(Mark::stroke(
                Part::Furniture,
                Outline::line(left, y, left + width, y),
                Pen::solid(Ink::Quiet, 0.6),
            ));
            // One line is all that fits under the rule.
            if let Some(run) = self.faces.wrap(text, as_type, width).into_iter().next() {
                let base = y + as_type.size + 1.5;
                piece
                    .marks
                    .push(Mark::text(part, left, base, run, Ink::Quiet));
            }
            left += width + gap;
        }
        self.pieces.push(piece);
    }

    /// Blocks on a page of their own, as large as they can be set there.
    fn one_page(&mut self, blocks: &[Block]) {
        let before = self.scale;
        let mut best = Vec::new();
        let (elements, tables) = (self.elements.len(), self.tables);
        for scale in SCALES {
            self.elements.truncate(elements);
            self.tables = tables;
            self.scale = scale;
            let mut rest = std::mem::take(&mut self.pieces);
            self.blocks(blocks);
            std::mem::swap(&mut self.pieces, &mut rest);
            best = rest;
            let whole: f32 = best.iter().map(|piece| piece.space + piece.height).sum();
            if whole <= CAPACITY {
                break;
            }
        }
        self.scale = before;
        if let Some(first) = best.first_mut() {
            first.begins_page = true;
        }
        self.pieces.append(&mut best);
    }
}
