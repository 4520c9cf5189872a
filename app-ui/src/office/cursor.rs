//! Where the keyboard is in a list that is shown page by page.

use crate::presenters::office_view::Page;

/// A page before the window told how many lines it has room for.
const LINES_AT_FIRST: usize = 8;

/// A place in a list and the page that shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cursor {
    fits: usize,
    first: usize,
    chosen: usize,
}

impl Default for Cursor {
    fn default() -> Self {
        Self {
            fits: LINES_AT_FIRST,
            first: 0,
            chosen: 0,
        }
    }
}

impl Cursor {
    /// The chosen place, which may lie past the end of a list that grew shorter.
    #[must_use]
    pub fn chosen(&self, length: usize) -> Option<usize> {
        (length > 0).then(|| self.chosen.min(length - 1))
    }

    /// Takes in how many lines there is room for. Answers whether that changes anything.
    pub fn fit(&mut self, lines: usize) -> bool {
        let lines = lines.max(1);
        let changes = lines != self.fits;
        self.fits = lines;
        if changes {
            self.first = self.chosen / lines * lines;
        }
        changes
    }

    /// Chooses a place and turns to its page.
    pub fn choose(&mut self, place: usize) {
        self.chosen = place;
        self.first = place / self.fits * self.fits;
    }

    /// Moves the chosen place by some lines, and stops at the ends.
    pub fn step(&mut self, by: isize, length: usize) {
        let now = self.chosen.min(length.saturating_sub(1));
        let last = length.saturating_sub(1);
        self.choose(now.saturating_add_signed(by).min(last));
    }

    /// Turns pages; the first line of the new page is chosen.
    pub fn turn(&mut self, pages: isize, length: usize) {
        let page = self.first / self.fits;
        let last = length.saturating_sub(1) / self.fits;
        let to = page.saturating_add_signed(pages).min(last);
        if to != page {
            self.first = to * self.fits;
            self.chosen = self.first;
        }
    }

    /// The places shown.
    #[must_use]
    pub fn shown(&self, length: usize) -> std::ops::Range<usize> {
        let first = if self.first < length { self.first } else { 0 };
        first..(first + self.fits).min(length)
    }

    /// Says which part of the list is shown.
    #[must_use]
    pub fn page(&self, length: usize) -> Page {
        let shown = self.shown(length);
        Page {
            text: if length == 0 {
                String::new()
            } else {
                format!("{} to {} of {length}", shown.start + 1, shown.end)
            },
            can_back: shown.start > 0,
            can_on: shown.end < length,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn page_follows_the_chosen_line() {
        let mut cursor = Cursor::default();
        cursor.fit(4);
        cursor.step(5, 10);
        assert_eq!((cursor.chosen(10), cursor.shown(10)), (Some(5), 4..8));
        cursor.step(-5, 10);
        assert_eq!((cursor.chosen(10), cursor.shown(10)), (Some(0), 0..4));
        cursor.step(99, 10);
        assert_eq!((cursor.chosen(10), cursor.shown(10)), (Some(9), 8..10));
        assert_eq!(cursor.page(10).text, "9 to 10 of 10");
        assert!(cursor.page(10).can_back && !cursor.page(10).can_on);
    }

    #[test]
    fn turning_stops_at_the_ends() {
        let mut cursor = Cursor::default();
        cursor.fit(4);
        cursor.turn(-1, 10);
        assert_eq!(cursor.shown(10), 0..4);
        cursor.turn(7, 10);
        assert_eq!((cursor.chosen(10), cursor.shown(10)), (Some(8), 8..10));
    }

    #[test]
    fn list_that_grew_shorter_still_shows_something() {
        let mut cursor = Cursor::default();
        cursor.fit(4);
        cursor.step(9, 10);
        assert_eq!((cursor.chosen(2), cursor.shown(2)), (Some(1), 0..2));
        assert_eq!((cursor.chosen(0), cursor.shown(0)), (None, 0..0));
        assert_eq!(cursor.page(0), Page::default());
    }

    #[test]
    fn room_for_more_lines_keeps_the_chosen_one_in_sight() {
        let mut cursor = Cursor::default();
        cursor.fit(2);
        cursor.step(5, 20);
        assert!(cursor.fit(4));
        assert!(!cursor.fit(4));
        assert!(cursor.shown(20).contains(&5));
    }
}
