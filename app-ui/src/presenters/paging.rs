//! What fits on a page: lines of a list by halves, sentences by the lines they take.

use super::work_view::{Saying, TaskLine};

/// How much a page holds, as the window last said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Half lines of a list: a heading takes one, a line two.
    pub half_lines: usize,
    /// Characters in a line of text.
    pub chars: usize,
    /// Lines of text.
    pub lines: usize,
}

impl Default for Room {
    fn default() -> Self {
        Self {
            half_lines: 12,
            chars: 60,
            lines: 10,
        }
    }
}

/// The lines in pages, a heading repeated where its group goes on.
#[must_use]
pub fn lines(all: &[TaskLine], room: Room) -> Vec<Vec<TaskLine>> {
    let room = room.half_lines.max(4);
    let mut pages: Vec<Vec<TaskLine>> = vec![Vec::new()];
    let (mut used, mut heading): (usize, Option<&TaskLine>) = (0, None);
    let mut is_heading_due = false;
    for line in all {
        if line.is_heading {
            heading = Some(line);
            is_heading_due = true;
            continue;
        }
        let needed = 2 + usize::from(is_heading_due && heading.is_some());
        if used > 0 && used + needed > room {
            pages.push(Vec::new());
            used = 0;
            is_heading_due = heading.is_some();
        }
        let Some(page) = pages.last_mut() else {
            continue;
        };
        if let (true, Some(heading)) = (is_heading_due, heading) {
            page.push(heading.clone());
            used += 1;
        }
        is_heading_due = false;
        page.push(line.clone());
        used += 2;
    }
    pages
}

/// The sentences in pages. A sentence longer than a page has a page of its own.
#[must_use]
pub fn sayings(all: &[Saying], room: Room) -> Vec<Vec<Saying>> {
    let (chars, most) = (room.chars.max(20), room.lines.max(2));
    let mut pages: Vec<Vec<Saying>> = vec![Vec::new()];
    let mut used = 0;
    for saying in all {
        let takes = saying.text.chars().count().div_ceil(chars).max(1);
        if used > 0 && used + takes > most {
            pages.push(Vec::new());
            used = 0;
        }
        if let Some(page) = pages.last_mut() {
            page.push(saying.clone());
        }
        used += takes;
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room = Room {
        half_lines: 5,
        chars: 20,
        lines: 3,
    };

    #[test]
    fn headings_go_with_their_lines_and_come_again_on_the_next_page() {
        let line = |id: &str| TaskLine {
            id: id.to_owned(),
            ..TaskLine::default()
        };
        let all = [
            TaskLine::heading("A"),
            line("1"),
            line("2"),
            line("3"),
            TaskLine::heading("B"),
            line("4"),
        ];
        let pages = lines(&all, ROOM);
        let shown: Vec<Vec<&str>> = pages
            .iter()
            .map(|page| {
                let names = page.iter();
                names
                    .map(|line| {
                        if line.is_heading {
                            &line.title
                        } else {
                            &line.id
                        }
                    })
                    .map(String::as_str)
                    .collect()
            })
            .collect();
        assert_eq!(shown, [vec!["A", "1", "2"], vec!["A", "3"], vec!["B", "4"]]);
    }

    #[test]
    fn sentences_take_the_lines_they_need_and_none_is_lost() {
        let said = |n| Saying::plain("x".repeat(n));
        let all = [said(41), said(20), said(100), said(1)];
        let pages = sayings(&all, ROOM);
        let counts: Vec<usize> = pages.iter().map(Vec::len).collect();
        assert_eq!(counts, [1, 1, 1, 1]);
        assert_eq!(sayings(&[], ROOM), [Vec::new()]);
        assert_eq!(lines(&[], ROOM), [Vec::new()]);
    }
}
