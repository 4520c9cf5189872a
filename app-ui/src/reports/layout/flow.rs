//! Pieces onto pages.

use super::super::marks::{Mark, Part};
use super::{BOTTOM, FIRST_TOP, MARGIN, Piece, TOP};

/// The pages so far and where the last one has got to.
#[derive(Debug)]
pub(super) struct Flow {
    pages: Vec<Vec<Mark>>,
    y: f32,
    is_fresh: bool,
}

impl Default for Flow {
    fn default() -> Self {
        Self {
            pages: vec![Vec::new()],
            y: FIRST_TOP,
            is_fresh: true,
        }
    }
}

/// What a page holds at most.
pub(super) const CAPACITY: f32 = BOTTOM - TOP;

impl Flow {
    /// Puts every piece somewhere.
    pub fn run(mut self, pieces: Vec<Piece>) -> Vec<Vec<Mark>> {
        let mut group = Vec::new();
        for piece in pieces {
            let ends = !piece.holds_on;
            group.push(piece);
            if ends {
                self.place(std::mem::take(&mut group));
            }
        }
        self.place(group);
        self.pages
    }

    /// Places pieces that hold on to each other.
    fn place(&mut self, group: Vec<Piece>) {
        let Some(first) = group.first() else { return };
        let head = first.head.as_ref().map_or(0.0, |head| head.height);
        let whole: f32 = group.iter().map(|piece| piece.space + piece.height).sum();
        let fits_here = self.y + whole <= BOTTOM;
        let fits_on_one = head + whole - first.space <= CAPACITY;
        if !self.is_fresh && (first.begins_page || (!fits_here && fits_on_one)) {
            self.turn();
        }
        for piece in group {
            self.put(piece);
        }
    }

    fn put(&mut self, piece: Piece) {
        // Only where a group is taller than a page does a piece of it still not fit here.
        if !self.is_fresh && self.y + piece.space + piece.height > BOTTOM {
            self.turn();
        }
        if self.is_fresh {
            if let Some(head) = &piece.head {
                let again = head.marks.iter().cloned().map(|mark| Mark {
                    // Read out once, where the table begins.
                    part: Part::Furniture,
                    ..mark
                });
                self.draw(again.collect(), head.height);
            }
        } else {
            self.y += piece.space;
        }
        self.draw(piece.marks, piece.height);
    }

    fn draw(&mut self, marks: Vec<Mark>, height: f32) {
        let y = self.y;
        if let Some(page) = self.pages.last_mut() {
            page.extend(marks.into_iter().map(|mark| mark.moved(MARGIN, y)));
        }
        self.y += height;
        self.is_fresh = false;
    }

    fn turn(&mut self) {
        self.pages.push(Vec::new());
        self.y = TOP;
        self.is_fresh = true;
    }
}
