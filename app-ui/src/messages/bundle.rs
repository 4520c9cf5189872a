//! What is lost in a bundle or a segment, line by line.

use std::path::PathBuf;

use winze_sync_format::bundle::{BundleReport, SeqRange, TrailerFault, TrailerState};
use winze_sync_format::salvage::{Damage, DamageReason};

use super::{UserMessage, counted, grouped};

/// Exactly what a bundle lost: one sentence for each loss, none for a whole bundle.
#[must_use]
pub fn losses(report: &BundleReport) -> Vec<String> {
    let mut lines = Vec::new();
    if report.header.is_none() {
        lines.push("Its beginning is lost: who packed it is not known.".to_owned());
    }
    lines.extend(trailer(report.trailer).map(str::to_owned));
    lines.extend(report.damage.iter().map(damage));
    lines.extend(report.missing.iter().map(missing));
    if report.lost_track {
        lines.push(
            "It is damaged in more places than can be listed; more is missing than is named here."
                .to_owned(),
        );
    }
    lines
}

/// That records of unknown logbooks were left in a bundle, and what becomes of them.
#[must_use]
pub fn left_aside(records: u64) -> (String, String) {
    (
        format!(
            "{} of unknown logbooks left in the bundle.",
            counted(records, "record", "records")
        ),
        "So much is kept here already that nobody enrolled, and it must not fill the disk. Keep the \
         bundle: compare the eight words of the logbook it comes from, enrol it and merge the bundle \
         again."
            .to_owned(),
    )
}

/// What is wrong with the end of a bundle, if anything.
const fn trailer(state: TrailerState) -> Option<&'static str> {
    Some(match state {
        TrailerState::Whole => return None,
        TrailerState::Absent => "Its end is lost: it is cut short, or damaged there.",
        TrailerState::Disagrees(TrailerFault::Form) => "Its end is not in the agreed form.",
        TrailerState::Disagrees(TrailerFault::OtherBundle) => "Its end is that of another bundle.",
        TrailerState::Disagrees(TrailerFault::Ranges) => {
            "Its end declares other records than its beginning."
        }
        TrailerState::Disagrees(TrailerFault::Records) => {
            "Its end declares another number of records than there are."
        }
        TrailerState::Disagrees(TrailerFault::Length) => {
            "Its end declares another length than it has."
        }
        TrailerState::Disagrees(TrailerFault::Hash) => "Its bytes are not those that were written.",
        TrailerState::Disagrees(TrailerFault::Hint) => "Its last bytes are damaged.",
        TrailerState::Disagrees(TrailerFault::NotLast) => "Something was added behind its end.",
    })
}

/// One damaged stretch in a sentence.
#[must_use]
pub fn damage(damage: &Damage) -> String {
    format!(
        "Damaged: {} from byte {}; {}.",
        counted(damage.length, "byte", "bytes"),
        grouped(damage.offset),
        damage_reason(damage.reason)
    )
}

/// Why bytes belong to no record.
#[must_use]
pub fn damage_reason(reason: DamageReason) -> String {
    match reason {
        DamageReason::NotAnItem => "no record starts there".to_owned(),
        DamageReason::BadForm(class) => format!("not in the agreed form ({class})"),
        DamageReason::BadSignature => "the signature does not match".to_owned(),
        DamageReason::CutShort => "the file ends in the middle".to_owned(),
        DamageReason::Misplaced => "it does not belong there".to_owned(),
        DamageReason::Unreadable(kind) => format!("the drive gave an error ({kind})"),
        DamageReason::OverLimit(what) => format!("more {what} than are read from one file"),
    }
}

/// The stable name of a reason in `--json`.
#[must_use]
pub const fn damage_code(reason: DamageReason) -> &'static str {
    match reason {
        DamageReason::NotAnItem => "not-an-item",
        DamageReason::BadForm(class) => class,
        DamageReason::BadSignature => "bad-signature",
        DamageReason::CutShort => "cut-short",
        DamageReason::Misplaced => "misplaced",
        DamageReason::Unreadable(_) => "unreadable",
        DamageReason::OverLimit(_) => "over-limit",
    }
}

/// Records that were declared and not found.
#[must_use]
pub fn missing(range: &SeqRange) -> String {
    let log = range.log.short();
    if range.first == range.last {
        format!("Lost: record {} of logbook {log}.", range.first)
    } else {
        format!(
            "Lost: records {} to {} of logbook {log} ({}).",
            range.first,
            range.last,
            counted(range.count(), "record", "records")
        )
    }
}

/// Records of another logbook that never came here, between some that did.
#[must_use]
pub fn not_sent(range: &SeqRange) -> String {
    format!(
        "Not sent here: {} of logbook {}, from {} to {}.",
        counted(range.count(), "record", "records"),
        range.log.short(),
        range.first,
        range.last
    )
}

/// No record of this name was found.
#[must_use]
pub fn no_such_record(name: &str) -> UserMessage {
    UserMessage::new(
        format!("No whole record called {name} was found."),
        "Nothing was changed.",
        "Check the digits; name the logbook with --logbook, or the files to look in.",
    )
}

/// None of the files named holds a whole record.
#[must_use]
pub fn nothing_to_salvage(paths: &[PathBuf]) -> UserMessage {
    let names: Vec<_> = paths
        .iter()
        .map(|path| path.display().to_string())
        .collect();
    UserMessage::new(
        format!("There is no whole record in {}.", names.join(", ")),
        "Nothing was written, and nothing was changed.",
        "Name the files themselves, or another copy of them. What a tablet packed it still holds: \
         it can pack it again.",
    )
}

#[cfg(test)]
mod tests {
    use winze_sync_format::LogId;
    use winze_sync_format::bundle::SeqRange;
    use winze_sync_format::salvage::{Damage, DamageReason};

    use super::{damage, missing};

    #[test]
    fn losses_are_named_with_place_and_size() {
        let log = LogId([0xab; 32]);
        assert_eq!(
            missing(&SeqRange {
                log,
                first: 17,
                last: 17
            }),
            "Lost: record 17 of logbook abababab."
        );
        assert_eq!(
            missing(&SeqRange {
                log,
                first: 17,
                last: 18
            }),
            "Lost: records 17 to 18 of logbook abababab (2 records)."
        );
        let torn = Damage {
            offset: 41_200,
            length: 1,
            reason: DamageReason::BadSignature,
        };
        assert_eq!(
            damage(&torn),
            "Damaged: 1 byte from byte 41 200; the signature does not match."
        );
    }
}
