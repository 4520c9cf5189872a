//! What records about logs that go on in others, clocks and signing on say, in plain sentences.

use winze_core::record::{ClockObserved, LogContinued, NewLogWhy, OfficeReplaced, Side};

use super::{moment, named, role_with_article, with_quote};

pub(super) fn log_continued(body: &LogContinued) -> Vec<String> {
    vec![
        format!(
            "Opens a new log for {} logbook \"{}\".",
            role_with_article(body.role),
            body.label
        ),
        format!(
            "It goes on from record {}: {}.",
            named(&body.former),
            why(body.why)
        ),
    ]
}

/// Says why a logbook went on in a new log.
#[must_use]
pub const fn why(why: NewLogWhy) -> &'static str {
    match why {
        NewLogWhy::OtherMachine => "its folder is on another machine than before",
        NewLogWhy::OtherInstallation => "the program was set up anew on this machine",
        NewLogWhy::OtherFolder => "its folder was moved, copied or put back",
        NewLogWhy::RolledBack => "its folder is an older copy; more of it had been handed over",
        NewLogWhy::Copied => "another device writes under the same key",
        NewLogWhy::Restored => "it was brought back from a backup",
        NewLogWhy::KeyReplaced => "its key was replaced on purpose",
    }
}

pub(super) fn office_replaced(body: &OfficeReplaced) -> Vec<String> {
    let lines = vec![
        format!(
            "The office that writes this goes on in logbook {}.",
            body.log.short()
        ),
        format!("Its words: {}.", body.log.words().join(" ")),
        format!(
            "Its own records count no further than record {}.",
            body.last_seq
        ),
    ];
    with_quote(lines, "Reason", &body.reason)
}

pub(super) fn clock_observed(body: &ClockObserved) -> Vec<String> {
    let side = match body.side {
        Side::At => "exactly",
        Side::NotBefore => "not before",
        Side::NotAfter => "not after",
    };
    let minutes = body.monotonic_ms / 60_000;
    vec![
        format!(
            "The clock of logbook {}, {minutes} min after that device was started, was read {side} \
             {} by the office\u{2019}s clock.",
            body.log.short(),
            moment(body.office_ms, None)
        ),
        "Readings whose clock disagrees are shown at the time worked out from this.".to_owned(),
    ]
}

#[cfg(test)]
mod tests {
    use winze_core::record::Body;
    use winze_sync_format::LogId;

    use super::super::body;
    use super::{ClockObserved, Side};

    #[test]
    fn a_clock_is_told_in_words() {
        let observed = ClockObserved {
            log: LogId([1; 32]),
            boot: [0; 16],
            monotonic_ms: 90 * 60_000,
            office_ms: 1_735_689_600_000,
            side: Side::NotAfter,
        };
        let lines = body(&Body::ClockObserved(observed));
        assert!(
            lines[0].contains("90 min") && lines[0].contains("not after 2025-01-01 00:00 UTC"),
            "{lines:?}"
        );
    }
}
