//! Tablet and office: whose logbook this is, and which others are known here.

use winze_core::query::{LogStanding, LogView};
use winze_core::record::Role;

use super::view::{ListLine, Tone};
use super::words;

/// The screen of words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WhoScreen {
    /// What this logbook is called.
    pub label: String,
    /// Its eight words.
    pub words: Vec<String>,
    /// What they are for.
    pub sentence: String,
    /// The other logbooks known here.
    pub others: Vec<ListLine>,
    /// What they are, or that there are none.
    pub others_hint: String,
}

/// Shows the logs of a logbook, the own first as `logs` lists them.
#[must_use]
pub fn who(logs: &[LogView]) -> WhoScreen {
    let own = logs.iter().find(|log| log.standing == LogStanding::Own);
    let others: Vec<_> = logs
        .iter()
        .filter(|log| log.standing != LogStanding::Own)
        .map(line)
        .collect();
    WhoScreen {
        label: own.map_or_else(String::new, |log| log.name.clone()),
        words: own.map_or_else(Vec::new, |log| {
            log.words.iter().map(|word| (*word).to_owned()).collect()
        }),
        sentence: "Read these eight words to the office. When it sees the same, it enrols this \
                   tablet, and its readings count."
            .to_owned(),
        others_hint: if others.is_empty() {
            "Nothing has come from an office yet. Take in what the office sent at the hand-over."
        } else {
            "Heard of here. What an office sends counts once its eight words have been compared: \
             touch it."
        }
        .to_owned(),
        others,
    }
}

fn line(log: &LogView) -> ListLine {
    let (tone, status) = match log.standing {
        LogStanding::Own => (Tone::None, "this one"),
        LogStanding::Counts => (Tone::Within, "counts"),
        LogStanding::Held => (Tone::Caution, "held, not counted"),
        LogStanding::Revoked { .. } => (Tone::Outside, "no longer counts"),
    };
    ListLine {
        id: log.log.to_string(),
        code: role(log.role).to_owned(),
        name: format!(
            "{}, {}",
            log.name,
            words::count(log.records, "record", "records")
        ),
        tone,
        status: status.to_owned(),
        ..ListLine::default()
    }
}

/// What to do while the words of another logbook are shown.
pub const COMPARE: &str = "Ask the other side to read out its eight words. Are all eight these, in this \
                           order?";

/// Names a role.
#[must_use]
pub const fn role(role: Option<Role>) -> &'static str {
    match role {
        Some(Role::Office) => "office",
        Some(Role::Tablet) => "tablet",
        None => "unknown",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn logbook_without_others_says_how_to_hear_of_one() {
        let screen = who(&[]);
        assert!(screen.others_hint.starts_with("Nothing has come"));
        assert!(screen.label.is_empty() && screen.words.is_empty());
    }
}
