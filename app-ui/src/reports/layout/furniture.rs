//! What stands on every page around the content: running head, id, page number.

use super::super::document::Document;
use super::super::face::{Faces, Type};
use super::super::marks::{Ink, Mark, Outline, Part, Pen};
use super::{CONTENT, MARGIN, PAGE_HEIGHT, PAGE_WIDTH};
use crate::messages::reports as words;

/// The furniture of page `number` of `count`.
pub(super) fn of_page(
    document: &Document,
    faces: &Faces,
    number: usize,
    count: usize,
) -> Vec<Mark> {
    let part = Part::Furniture;
    let right = PAGE_WIDTH - MARGIN;
    let hair = |y| {
        let line = Outline::line(MARGIN, y, right, y);
        Mark::stroke(part, line, Pen::solid(Ink::Hair, 0.5))
    };
    let mut marks = Vec::new();
    if number > 1 {
        let kind = faces.set(&document.title, Type::bold(8.6));
        let left = MARGIN + kind.width + 10.0;
        let room = right - left;
        marks.push(Mark::text(part, MARGIN, 44.0, kind, Ink::Black));
        let running = one_line(faces, &document.running, Type::regular(8.6), room);
        marks.push(Mark::text(part, left, 44.0, running, Ink::Quiet));
        marks.push(hair(51.0));
    }
    let foot = PAGE_HEIGHT - 36.0;
    marks.push(hair(foot - 12.0));
    let pages = faces.set(&words::page_of(number, count), Type::regular(8.2));
    let left = right - pages.width;
    let room = CONTENT - pages.width - 16.0;
    let id = format!("{} {}", document.id_of, document.id);
    let id = id.trim_end();
    let id = one_line(faces, id, Type::regular(7.4), room);
    marks.push(Mark::text(part, MARGIN, foot, id, Ink::Quiet));
    marks.push(Mark::text(part, left, foot, pages, Ink::Black));
    marks
}

/// A text on one line: cut at a letter, with dots, where it is too long.
fn one_line(faces: &Faces, text: &str, as_type: Type, room: f32) -> super::super::face::Run {
    let run = faces.set(text, as_type);
    if run.width <= room {
        return run;
    }
    let mut short: Vec<char> = text.chars().collect();
    loop {
        short.pop();
        let cut: String = short.iter().chain(['\u{2026}'].iter()).collect();
        let run = faces.set(&cut, as_type);
        if run.width <= room || short.is_empty() {
            return run;
        }
    }
}
