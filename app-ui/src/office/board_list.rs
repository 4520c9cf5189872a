//! A list of upkeep with its pages and the chosen line. A line with a sentence takes two rows, any
//! other one; a page that begins within a level names it again.

use crate::presenters::office_upkeep::BoardLine;
use crate::presenters::office_view::Page;

/// The most rows that a line takes.
const ROWS_OF_LINE: usize = 2;

/// Rows that a line takes.
fn rows_of(line: &BoardLine) -> usize {
    if line.sentence.is_empty() {
        1
    } else {
        ROWS_OF_LINE
    }
}

/// A list with its pages.
#[derive(Debug, Clone, Default)]
pub struct BoardList {
    lines: Vec<BoardLine>,
    rows: usize,
    chosen: Option<String>,
}

impl BoardList {
    /// Takes in the lines; the chosen one stays chosen if it is still there, else the one that took
    /// its place is.
    pub fn fill(&mut self, lines: Vec<BoardLine>) {
        let place = self.place();
        self.lines = lines;
        if self.place().is_none() {
            let last = self.count().saturating_sub(1);
            self.chosen = self.id_at(place.unwrap_or(0).min(last));
        }
    }

    /// Takes in how many rows there is room for. Answers whether that changes anything.
    pub fn fit(&mut self, rows: usize) -> bool {
        let rows = rows.max(ROWS_OF_LINE + 1);
        let changes = self.rows != rows;
        self.rows = rows;
        changes
    }

    /// How many rows there is room for.
    #[must_use]
    pub const fn rows(&self) -> usize {
        self.rows
    }

    /// The id of the chosen line.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.place()?;
        self.chosen.as_deref()
    }

    /// Chooses a line.
    pub fn choose(&mut self, id: &str) {
        if self.ids().any(|other| other == id) {
            self.chosen = Some(id.to_owned());
        }
    }

    /// Chooses the first line.
    pub fn start(&mut self) {
        self.chosen = self.id_at(0);
    }

    /// Chooses the line some places on, and stops at the ends.
    pub fn step(&mut self, by: isize) {
        let last = self.count().saturating_sub(1);
        let now = self.place().unwrap_or(0);
        self.chosen = self.id_at(now.saturating_add_signed(by).min(last));
    }

    /// Turns pages; the first line of the new page is chosen.
    pub fn turn(&mut self, by: isize) {
        let pages = self.pages();
        let last = pages.len().saturating_sub(1);
        let now = self.page_of_chosen(&pages);
        let to = now.saturating_add_signed(by).min(last);
        if to != now {
            let first = pages[to].iter().find(|line| !line.is_heading);
            self.chosen = first.map(|line| line.id.clone());
        }
    }

    /// How many lines there are, headings not counted.
    #[must_use]
    pub fn count(&self) -> usize {
        self.ids().count()
    }

    /// The page with the chosen line.
    #[must_use]
    pub fn view(&self) -> (Vec<BoardLine>, Page) {
        let pages = self.pages();
        let at = self.page_of_chosen(&pages);
        let is_line = |line: &&BoardLine| !line.is_heading;
        let lengths: Vec<usize> = pages
            .iter()
            .map(|page| page.iter().filter(is_line).count())
            .collect();
        let mut page = pages.into_iter().nth(at).unwrap_or_default();
        for line in &mut page {
            line.is_chosen = !line.is_heading && Some(&line.id) == self.chosen.as_ref();
        }
        let before: usize = lengths.iter().take(at).sum();
        let shown = lengths.get(at).copied().unwrap_or(0);
        let turning = Page {
            text: if shown == 0 {
                String::new()
            } else {
                format!("{} to {} of {}", before + 1, before + shown, self.count())
            },
            can_back: at > 0,
            can_on: at + 1 < lengths.len(),
        };
        (page, turning)
    }

    fn ids(&self) -> impl Iterator<Item = &str> {
        let lines = self.lines.iter().filter(|line| !line.is_heading);
        lines.map(|line| line.id.as_str())
    }

    fn id_at(&self, place: usize) -> Option<String> {
        self.ids().nth(place).map(str::to_owned)
    }

    fn place(&self) -> Option<usize> {
        let chosen = self.chosen.as_deref()?;
        self.ids().position(|id| id == chosen)
    }

    fn page_of_chosen(&self, pages: &[Vec<BoardLine>]) -> usize {
        let holds = |page: &Vec<BoardLine>| {
            page.iter()
                .any(|line| !line.is_heading && Some(&line.id) == self.chosen.as_ref())
        };
        pages.iter().position(holds).unwrap_or(0)
    }

    fn pages(&self) -> Vec<Vec<BoardLine>> {
        let mut pages: Vec<Vec<BoardLine>> = Vec::new();
        let mut page: Vec<BoardLine> = Vec::new();
        let mut rows = 0;
        let mut level: Option<&BoardLine> = None;
        let mut is_new_level = false;
        for line in &self.lines {
            if line.is_heading {
                level = Some(line);
                is_new_level = true;
                continue;
            }
            // A heading goes with the line below it.
            let heading = usize::from(is_new_level);
            if !page.is_empty() && rows + heading + rows_of(line) > self.rows {
                pages.push(std::mem::take(&mut page));
                rows = 0;
            }
            if let Some(level) = level.filter(|_| is_new_level || page.is_empty()) {
                page.push(level.clone());
                rows += 1;
            }
            is_new_level = false;
            page.push(line.clone());
            rows += rows_of(line);
        }
        if !page.is_empty() {
            pages.push(page);
        }
        pages
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels with so many lines each.
    fn lines(levels: &[usize]) -> Vec<BoardLine> {
        let mut lines = Vec::new();
        for (level, count) in levels.iter().enumerate() {
            lines.push(BoardLine {
                is_heading: true,
                name: format!("Level {level}"),
                ..BoardLine::default()
            });
            lines.extend((0..*count).map(|place| BoardLine {
                id: format!("{level}.{place}"),
                sentence: if place == 2 { "" } else { "Why." }.to_owned(),
                ..BoardLine::default()
            }));
        }
        lines
    }

    fn list(levels: &[usize], rows: usize) -> BoardList {
        let mut list = BoardList::default();
        list.fit(rows);
        list.fill(lines(levels));
        list
    }

    #[test]
    fn page_never_takes_more_rows_than_there_are_and_names_its_level() {
        for rows in 3..20 {
            let mut list = list(&[3, 1, 5], rows);
            let mut seen = 0;
            loop {
                let (page, turning) = list.view();
                let used: usize = page.iter().map(rows_of).sum();
                assert!(used <= rows, "{rows}: {page:?}");
                assert!(page[0].is_heading, "{rows}: {page:?}");
                assert!(!page.last().is_some_and(|line| line.is_heading));
                seen += page.iter().filter(|line| !line.is_heading).count();
                if !turning.can_on {
                    break;
                }
                list.turn(1);
            }
            assert_eq!(seen, 9, "{rows}");
        }
    }

    #[test]
    fn chosen_line_stays_in_sight_or_gives_way_to_the_next() {
        let mut list = list(&[4, 4], 9);
        assert_eq!(list.chosen(), Some("0.0"));
        list.step(6);
        assert_eq!(list.chosen(), Some("1.2"));
        assert!(list.view().0.iter().any(|line| line.is_chosen));
        let mut fewer = lines(&[4, 4]);
        fewer.retain(|line| line.id != "1.2");
        list.fill(fewer);
        assert_eq!(list.chosen(), Some("1.3"), "the line that took its place");
        list.fill(Vec::new());
        assert_eq!((list.chosen(), list.count()), (None, 0));
        assert_eq!(list.view().1, Page::default());
    }
}
