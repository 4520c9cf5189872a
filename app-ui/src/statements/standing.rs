//! Whether a record counts in a logbook, and why not, in plain sentences.

use winze_core::merge::Standing;
use winze_core::query::{LogStanding, LogView, RecordView};
use winze_core::record::Body;

use super::named;

/// Says whether a record counts, and if not, why; `log` is its log as this logbook sees it.
#[must_use]
pub fn counts(view: &RecordView, log: Option<&LogView>) -> (bool, Vec<String>) {
    if view.is_held {
        return (false, vec![held(view, log)]);
    }
    if let Some(why) = &view.not_understood {
        let line = format!("It does not count: it is not understood here ({why}). It is kept.");
        return (false, vec![line]);
    }
    let Some(state) = view.state.filter(|_| is_reading(view)) else {
        return (true, vec!["It counts.".to_owned()]);
    };
    let mut lines = Vec::new();
    let counts = match state.standing {
        Standing::Counts => {
            lines.push("It counts.".to_owned());
            true
        }
        Standing::Open => {
            lines.push("It counts, and a question about it is open.".to_owned());
            true
        }
        Standing::Repeats(of) => {
            let of = named(&of);
            lines.push(format!(
                "It does not count: it says again what reading {of} says."
            ));
            false
        }
        Standing::SetAside(by) => {
            let by = named(&by);
            lines.push(format!(
                "It does not count: answer {by} prefers another reading."
            ));
            false
        }
        Standing::Void(by) => {
            let by = named(&by);
            lines.push(format!(
                "It does not count: answer {by} says that it is void."
            ));
            false
        }
    };
    if let Some(by) = &state.corrected_by {
        lines.push(format!("Its values are those of correction {}.", named(by)));
    }
    if state.correction_disputed {
        lines.push("Corrections of it disagree, so the values first written are used.".to_owned());
    }
    (counts, lines)
}

fn is_reading(view: &RecordView) -> bool {
    matches!(view.body, Some(Body::Reading(_)))
}

fn held(view: &RecordView, log: Option<&LogView>) -> String {
    match log.map(|log| log.standing) {
        Some(LogStanding::Revoked {
            last_seq: Some(last),
        }) => format!(
            "It does not count: its logbook counts up to record {last}, and this is record {}.",
            view.at.seq
        ),
        Some(LogStanding::Revoked { last_seq: None }) => {
            "It does not count: nothing of its logbook counts any more.".to_owned()
        }
        _ => "It does not count: its logbook is not enrolled here. It is kept, and counts once \
              the eight words were compared."
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use winze_core::merge::{ReadingState, Standing};
    use winze_core::query::RecordView;
    use winze_sync_format::{LogId, RecordId, RecordRef};

    use super::counts;

    fn view() -> RecordView {
        RecordView {
            at: name(3),
            prev: None,
            is_linked: true,
            kind: 51,
            person: String::new(),
            clock: None,
            refs: Vec::new(),
            body: None,
            not_understood: None,
            log_name: String::new(),
            is_held: false,
            state: None,
            item: Vec::new(),
        }
    }

    fn name(seq: u64) -> RecordRef {
        RecordRef {
            log: LogId([0xab; 32]),
            seq,
            id: RecordId([0xcd; 32]),
        }
    }

    #[test]
    fn what_is_held_or_not_understood_does_not_count() {
        assert_eq!(counts(&view(), None), (true, vec!["It counts.".to_owned()]));
        let held = RecordView {
            is_held: true,
            ..view()
        };
        let (is_counted, lines) = counts(&held, None);
        assert!(
            !is_counted && lines[0].contains("not enrolled"),
            "{lines:?}"
        );
        let odd = RecordView {
            not_understood: Some("kind 59".to_owned()),
            // Only a reading has a standing of its own.
            state: Some(ReadingState {
                standing: Standing::Void(name(1)),
                ..ReadingState::default()
            }),
            ..view()
        };
        let (is_counted, lines) = counts(&odd, None);
        assert!(!is_counted && lines[0].contains("kind 59"), "{lines:?}");
    }
}
