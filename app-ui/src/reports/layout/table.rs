//! Tables, line by line: a row of few lines stays whole, a long one may go on on the next page; the
//! head comes along.

use std::rc::Rc;

use super::super::document::{Cell, Line, Sign, Table, Tone};
use super::super::face::{Faces, Run, Type};
use super::super::marks::{Ink, Mark, Outline, Part, Pen};
use super::super::paint;
use super::{CONTENT, Element, Piece};

/// A row of more lines may be torn.
const WHOLE_LINES: usize = 14;

/// White between columns.
const GUTTER: f32 = 10.0;

/// How tables are set at a scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    pub scale: f32,
    pub size: f32,
}

/// A line of a cell, set.
struct Laid {
    run: Run,
    ink: Ink,
    sign: Option<Sign>,
    indent: f32,
}

/// A column's place.
#[derive(Debug, Clone, Copy)]
struct Place {
    left: f32,
    width: f32,
    is_right: bool,
}

/// The type of a line at a size.
pub(super) fn type_of(tone: Tone, size: f32) -> (Type, Ink) {
    match tone {
        Tone::Plain => (Type::regular(size), Ink::Black),
        Tone::Strong => (Type::bold(size), Ink::Black),
        Tone::Quiet => (Type::regular(size * 0.88), Ink::Quiet),
    }
}

/// How far the text of a line stands right of its sign.
pub(super) fn indent_of(sign: Option<Sign>, size: f32) -> f32 {
    if sign.is_some() { size * 1.35 } else { 0.0 }
}

/// Lays tables out.
pub(super) struct Tables<'a> {
    pub faces: &'a Faces,
    pub elements: &'a mut Vec<Element>,
    pub number: usize,
    pub setting: Setting,
}

impl Tables<'_> {
    /// The pieces of a table.
    pub fn pieces(mut self, table: &Table) -> Vec<Piece> {
        let places = places(table);
        let head = self.head(table, &places).map(Rc::new);
        let mut pieces: Vec<Piece> = Vec::new();
        for (index, row) in table.rows.iter().enumerate() {
            let is_last = index + 1 == table.rows.len();
            // The head is a row of the element tree too.
            let number = index + 2;
            let mut lines = self.row(table, row, &places, number, is_last);
            for line in &mut lines {
                line.head.clone_from(&head);
            }
            pieces.append(&mut lines);
        }
        if let Some(head) = head {
            let mut first = (*head).clone();
            first.holds_on = !pieces.is_empty();
            pieces.insert(0, first);
        }
        pieces
    }

    fn element(&mut self, row: usize, is_head: bool, span: usize) -> Part {
        self.elements.push(Element::Cell {
            table: self.number,
            row,
            is_head,
            span: u32::try_from(span).unwrap_or(1),
        });
        Part::Element(self.elements.len() - 1)
    }

    fn head(&mut self, table: &Table, places: &[Place]) -> Option<Piece> {
        if table.columns.iter().all(|column| column.head.is_empty()) {
            return None;
        }
        let scale = self.setting.scale;
        let size = 8.0 * scale;
        let as_type = Type::regular(size);
        let mut piece = Piece::default();
        let mut y = 0.0;
        if !table.groups.is_empty() {
            let bold = Type::bold(size * 1.06);
            let mut next = 0;
            for group in &table.groups {
                // Columns without a group keep the row of the element tree complete.
                if group.from > next {
                    self.element(0, true, group.from - next);
                }
                next = group.to;
                let part = self.element(0, true, group.to - group.from);
                let (Some(first), Some(last)) = (
                    places.get(group.from),
                    places.get(group.to.saturating_sub(1)),
                ) else {
                    continue;
                };
                let run = self.faces.set(&group.title, bold);
                piece
                    .marks
                    .push(Mark::text(part, first.left, y + size, run, Ink::Black));
                let right = last.left + last.width;
                let under = y + size * 1.5;
                piece.marks.push(Mark::stroke(
                    Part::Furniture,
                    Outline::line(first.left, under, right, under),
                    Pen::solid(Ink::Quiet, 0.5 * scale),
                ));
            }
            y += size * 1.9;
        }
        let laid: Vec<Vec<Run>> = table
            .columns
            .iter()
            .zip(places)
            .map(|(column, place)| self.faces.wrap(&column.head, as_type, place.width))
            .collect();
        let lines = laid.iter().map(Vec::len).max().unwrap_or(0);
        for (runs, place) in laid.into_iter().zip(places) {
            let part = self.element(1, true, 1);
            // Heads stand on the lowest line.
            let first = lines - runs.len();
            for (index, run) in runs.into_iter().enumerate() {
                let x = place.start(run.width);
                let base = y + size + paint::count(first + index) * as_type.leading();
                piece.marks.push(Mark::text(part, x, base, run, Ink::Quiet));
            }
        }
        y += paint::count(lines) * as_type.leading() + 3.0 * scale;
        piece.marks.push(Mark::stroke(
            Part::Furniture,
            Outline::line(0.0, y, CONTENT, y),
            Pen::solid(Ink::Black, 0.8 * scale),
        ));
        piece.height = y + 0.5 * scale;
        Some(piece)
    }

    /// A row as pieces of one line each.
    fn row(
        &mut self,
        table: &Table,
        row: &[Cell],
        places: &[Place],
        number: usize,
        is_last: bool,
    ) -> Vec<Piece> {
        let Setting { scale, size } = self.setting;
        let cells: Vec<(Part, Vec<Laid>, Place)> = row
            .iter()
            .zip(places)
            .map(|(cell, &place)| {
                (
                    self.element(number, false, 1),
                    self.cell(cell, place),
                    place,
                )
            })
            .collect();
        let count = cells.iter().map(|(_, lines, _)| lines.len()).max();
        let count = count.unwrap_or(0).max(1);
        let pad = if table.is_ruled { 2.6 } else { 1.2 } * scale;
        let mut pieces: Vec<Piece> = (0..count)
            .map(|_| Piece {
                height: Type::regular(size).leading(),
                holds_on: count <= WHOLE_LINES,
                ..Piece::default()
            })
            .collect();
        for (part, lines, place) in cells {
            for (piece, line) in pieces.iter_mut().zip(lines) {
                let x = place.start(line.indent + line.run.width);
                if let Some(sign) = line.sign {
                    let (middle, radius) = (size * 0.68, size * 0.36);
                    let marks = paint::sign(part, sign, x + radius + 0.4, middle, radius);
                    piece.marks.extend(marks);
                }
                let text = Mark::text(part, x + line.indent, size, line.run, line.ink);
                piece.marks.push(text);
            }
        }
        if let Some(first) = pieces.first_mut() {
            first.height += pad;
            first.marks = first
                .marks
                .drain(..)
                .map(|mark| mark.moved(0.0, pad))
                .collect();
        }
        if let Some(last) = pieces.last_mut() {
            last.holds_on = false;
            if table.is_ruled {
                last.height += pad * 0.8;
                let width = if is_last { 0.8 } else { 0.35 } * scale;
                let ink = if is_last { Ink::Black } else { Ink::Hair };
                last.marks.push(Mark::stroke(
                    Part::Furniture,
                    Outline::line(0.0, last.height, CONTENT, last.height),
                    Pen::solid(ink, width),
                ));
                last.height += width;
            }
        }
        pieces
    }

    fn cell(&self, cell: &Cell, place: Place) -> Vec<Laid> {
        let size = self.setting.size;
        let mut laid = Vec::new();
        for Line { text, tone, sign } in &cell.0 {
            let (as_type, ink) = type_of(*tone, size);
            let indent = indent_of(*sign, size);
            let runs = self.faces.wrap(text, as_type, place.width - indent);
            for (index, run) in runs.into_iter().enumerate() {
                laid.push(Laid {
                    run,
                    ink,
                    sign: sign.filter(|_| index == 0),
                    indent,
                });
            }
        }
        laid
    }
}

impl Place {
    /// Where a line of this width starts.
    fn start(self, width: f32) -> f32 {
        if self.is_right {
            (self.left + self.width - width).max(self.left)
        } else {
            self.left
        }
    }
}

fn places(table: &Table) -> Vec<Place> {
    let shares: f32 = table.columns.iter().map(|column| column.share).sum();
    let gutters = GUTTER * (paint::count(table.columns.len()) - 1.0).max(0.0);
    let room = CONTENT - gutters;
    let mut left = 0.0;
    table
        .columns
        .iter()
        .map(|column| {
            let width = room * column.share / shares.max(0.01);
            let place = Place {
                left,
                width,
                is_right: column.is_right,
            };
            left += width + GUTTER;
            place
        })
        .collect()
}
