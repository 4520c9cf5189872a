//! A progress bar on standard error, only when that is a terminal.

use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

use winze_core::actions::{Progress, Stage};

/// Time between two redraws; faster is only work.
const REDRAW: Duration = Duration::from_millis(100);

/// Width of the bar in characters.
const WIDTH: usize = 30;

/// A progress bar; it disappears when dropped.
#[derive(Debug)]
pub(super) struct Bar {
    is_shown: bool,
    drawn: Option<Instant>,
}

impl Bar {
    pub fn new() -> Self {
        Self {
            is_shown: io::stderr().is_terminal(),
            drawn: None,
        }
    }

    /// Shows how far an action has come. Answers `true`: commands are stopped by ending them.
    pub fn step(&mut self, progress: Progress) -> bool {
        self.draw(stage(progress.stage), progress.done, progress.total);
        true
    }

    /// Shows `done` of `total` under a word for what is going on.
    pub fn draw(&mut self, what: &str, done: u64, total: Option<u64>) {
        let is_due = self.drawn.is_none_or(|at| at.elapsed() >= REDRAW);
        if !self.is_shown || !is_due {
            return;
        }
        self.drawn = Some(Instant::now());
        let _ = write!(io::stderr(), "\r{}", bar(what, done, total));
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        if self.drawn.is_some() {
            let _ = write!(io::stderr(), "\r\u{1b}[K");
        }
    }
}

const fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Reading => "reading",
        Stage::Writing => "writing",
        Stage::WorkingOut => "working out",
        Stage::ReadingBack => "reading back",
    }
}

fn bar(what: &str, done: u64, total: Option<u64>) -> String {
    let Some(total) = total.filter(|total| *total > 0) else {
        return format!("{what:<12} {done}");
    };
    let done = done.min(total);
    // Percentages fit into any integer.
    let percent = usize::try_from(u128::from(done) * 100 / u128::from(total)).unwrap_or(100);
    let filled = percent * WIDTH / 100;
    format!(
        "{what:<12} [{}{}] {percent:>3} %",
        "=".repeat(filled),
        " ".repeat(WIDTH - filled)
    )
}

#[cfg(test)]
mod tests {
    use super::bar;

    #[test]
    fn bar_fills_with_what_is_done() {
        assert_eq!(
            bar("reading", 0, Some(4)),
            format!("reading      [{}]   0 %", " ".repeat(30))
        );
        assert_eq!(
            bar("reading", 9, Some(4)),
            format!("reading      [{}] 100 %", "=".repeat(30))
        );
        assert_eq!(bar("writing", 7, None), "writing      7");
    }
}
