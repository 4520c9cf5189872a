//! Words for people: every error, refusal and finding of the libraries as one plain message.
//!
//! A message says what happened, what is safe, and what to do. The windows and the commands show
//! the same texts. No `match` here has a wildcard arm, so that a new variant in a library does not
//! compile until somebody has found words for it. Not here: verdicts and doubts on the station
//! screen, which the presenters word.

mod bundle;
mod file;
pub mod fit;
mod format;
pub mod hydraulics;
mod logbook;
mod new_log;
pub mod number;
pub mod picture;
mod procedure_failed;
pub mod procedures;
mod record;
pub mod reports;
pub mod setting;
mod sheet;
mod station;
pub mod steps;
pub mod upkeep;
pub mod watch;
mod window;

use std::fmt;

pub use bundle::{
    damage, damage_code, damage_reason, left_aside, losses, missing, no_such_record, not_sent,
    nothing_to_salvage,
};
pub use file::file_failed;
pub use format::format_failed;
pub use logbook::{logbook_failed, short_of_space};
pub use new_log::new_log_begun;
pub use procedure_failed::procedure_failed;
pub use record::body_not_understood;
pub use sheet::{notice, row_refused, sheet_failed};
pub use station::{problem, problem_in_words};
pub use window::window_failed;

/// What to do about a key that is lost. It is never copied (two holders of one key would write two
/// logbooks under one name), so nobody can put a copy back; the records do not need it.
const NEW_KEY: &str = "A key is never copied, so a lost one cannot be replaced. Make a new logbook \
     in another folder, and merge the .seg files of this one into the office\u{2019}s logbook: what \
     they hold counts there as before.";

/// What people read when something did not go as asked, or needs a look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UserMessage {
    /// What happened, with the figures.
    pub what: String,
    /// What is safe: what was kept, what was not touched.
    pub safe: String,
    /// What to do now.
    pub next: String,
}

impl UserMessage {
    /// Puts the three sentences together.
    pub fn new(what: impl Into<String>, safe: impl Into<String>, next: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            safe: safe.into(),
            next: next.into(),
        }
    }
}

impl fmt::Display for UserMessage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [&self.what, &self.safe, &self.next];
        let mut first = true;
        for part in parts.into_iter().filter(|part| !part.is_empty()) {
            if !first {
                f.write_str(" ")?;
            }
            f.write_str(part)?;
            first = false;
        }
        Ok(())
    }
}

/// A count with its noun: `1 record`, `3 records`.
#[must_use]
pub fn counted(count: u64, one: &str, many: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{} {many}", grouped(count))
    }
}

/// A whole number with thin gaps between thousands, so that 80 000 can be read at a glance.
#[must_use]
pub fn grouped(count: u64) -> String {
    let digits = count.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) && digits.len() > 4 {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::{UserMessage, counted, grouped};

    #[test]
    fn empty_parts_leave_no_gap() {
        let message = UserMessage::new("It rained.", "", "Wait.");
        assert_eq!(message.to_string(), "It rained. Wait.");
    }

    #[test]
    fn counts_read_well() {
        assert_eq!(counted(1, "record", "records"), "1 record");
        assert_eq!(counted(0, "record", "records"), "0 records");
        assert_eq!(grouped(9_999), "9999");
        assert_eq!(grouped(80_000), "80 000");
        assert_eq!(grouped(1_234_567), "1 234 567");
    }
}
