//! The list of stations with its pages and the chosen station.

use crate::presenters::office_fleet::pages;
use crate::presenters::office_view::{FleetLine, Page};
use crate::presenters::office_week::fleet_page;

/// A list of stations.
#[derive(Debug, Clone, Default)]
pub struct FleetList {
    lines: Vec<FleetLine>,
    fits: usize,
    page: usize,
    chosen: Option<String>,
}

impl FleetList {
    /// Takes in the stations; the chosen one stays chosen if it is still there.
    pub fn fill(&mut self, lines: Vec<FleetLine>) {
        self.lines = lines;
        let is_there = |code: &String| self.codes().any(|other| other == code);
        if !self.chosen.as_ref().is_some_and(is_there) {
            let first = self.codes().next().map(str::to_owned);
            self.chosen = first;
        }
        self.show_chosen();
    }

    /// Takes in how many lines there is room for. Answers whether that changes anything.
    pub fn fit(&mut self, lines: usize) -> bool {
        let changes = self.fits != lines;
        self.fits = lines;
        if changes {
            self.show_chosen();
        }
        changes
    }

    /// The code of the chosen station.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.chosen.as_deref()
    }

    /// Chooses a station and turns to its page.
    pub fn choose(&mut self, code: &str) {
        self.chosen = Some(code.to_owned());
        self.show_chosen();
    }

    /// Goes back to the first station.
    pub fn start(&mut self) {
        let first = self.codes().next().map(str::to_owned);
        self.chosen = first;
        self.show_chosen();
    }

    /// The code of the station some places after another one; `None` past the ends.
    #[must_use]
    pub fn beside(&self, code: &str, by: isize) -> Option<&str> {
        let now = self.codes().position(|other| other == code)?;
        self.codes().nth(now.checked_add_signed(by)?)
    }

    /// Chooses the station some places after the chosen one, and stops at the ends.
    pub fn step(&mut self, by: isize) {
        let codes: Vec<String> = self.codes().map(str::to_owned).collect();
        let is_chosen = |code: &String| Some(code) == self.chosen.as_ref();
        let now = codes.iter().position(is_chosen).unwrap_or(0);
        let to = now
            .saturating_add_signed(by)
            .min(codes.len().saturating_sub(1));
        self.chosen = codes.into_iter().nth(to);
        self.show_chosen();
    }

    /// Turns pages; the first station of the new page is chosen.
    pub fn turn(&mut self, by: isize) {
        let pages = self.pages();
        let to = self
            .page
            .saturating_add_signed(by)
            .min(pages.len().saturating_sub(1));
        if to != self.page {
            self.page = to;
            let first = pages[to].iter().find(|line| !line.is_heading);
            self.chosen = first.map(|line| line.code.clone());
        }
    }

    /// All lines, on whatever page.
    #[must_use]
    pub fn lines(&self) -> &[FleetLine] {
        &self.lines
    }

    /// How many stations there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.codes().count()
    }

    /// The page shown. The chosen station is marked if the keyboard is in this list.
    #[must_use]
    pub fn view(&self, has_keyboard: bool) -> (Vec<FleetLine>, Page) {
        let chosen = self.chosen().filter(|_| has_keyboard);
        fleet_page(&self.pages(), chosen, self.page)
    }

    fn codes(&self) -> impl Iterator<Item = &str> {
        self.lines
            .iter()
            .filter(|line| !line.is_heading)
            .map(|line| line.code.as_str())
    }

    fn pages(&self) -> Vec<Vec<FleetLine>> {
        pages(&self.lines, self.fits)
    }

    fn show_chosen(&mut self) {
        let chosen = self.chosen.clone();
        let holds = |page: &Vec<FleetLine>| {
            page.iter()
                .any(|line| !line.is_heading && Some(&line.code) == chosen.as_ref())
        };
        self.page = self.pages().iter().position(holds).unwrap_or(0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;
    use crate::presenters::office_fleet::{Order, fleet};

    fn lines(find: &str) -> Vec<FleetLine> {
        fleet(&samples::snapshot(), &[], find, Order::Walk)
    }

    #[test]
    fn page_follows_the_chosen_station() {
        let mut list = FleetList::default();
        list.fit(6);
        list.fill(lines(""));
        assert_eq!(list.chosen(), Some("T-01"));
        list.step(7);
        assert_eq!(list.chosen(), Some("T-08"));
        let (lines, page) = list.view(true);
        assert!(
            lines
                .iter()
                .any(|line| line.code == "T-08" && line.is_chosen)
        );
        assert!(page.can_back);
        list.turn(-99);
        assert_eq!(list.chosen(), Some("T-01"));
        list.step(-1);
        assert_eq!(list.chosen(), Some("T-01"), "it stops at the ends");
    }

    #[test]
    fn station_that_is_no_longer_found_is_not_chosen() {
        let mut list = FleetList::default();
        list.fit(20);
        list.fill(lines(""));
        list.choose("T-07");
        list.fill(lines("T-02"));
        assert_eq!(list.chosen(), Some("T-02"));
        list.fill(Vec::new());
        assert_eq!((list.chosen(), list.count()), (None, 0));
    }
}
