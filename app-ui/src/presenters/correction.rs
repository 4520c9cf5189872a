//! Why a saved reading is corrected, to be chosen with one touch.

use super::view::Choice;

/// Reason that asks for a note of its own.
pub const OTHER: &str = "other";

/// The reasons, as the record will carry them; the last asks for a note.
#[must_use]
pub fn reasons() -> Vec<Choice> {
    [
        "misread the gauge",
        "typed another value than read",
        "gauges exchanged",
        "another unit was meant",
    ]
    .into_iter()
    .map(|reason| Choice::new(reason, super::words::capital(reason)))
    .chain([Choice::new(OTHER, "Something else: write a note")])
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_but_the_last_is_what_the_record_carries() {
        let reasons = reasons();
        assert_eq!(reasons.last().map(|last| last.id.as_str()), Some(OTHER));
        assert!(
            reasons
                .iter()
                .all(|one| !one.id.is_empty() && !one.label.is_empty())
        );
    }
}
