//! The hand-over screen: what is not yet at the office, and what came of writing or taking in.

use std::path::Path;

use winze_core::actions::{BundleMerged, MergeReport, Packed};
use winze_sync_format::bundle::BundleReport;

use super::view::{Choice, Tone};
use super::words;
use crate::messages::left_aside;

/// What came of an act at the hand-over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Outcome {
    /// Tone of the result.
    pub tone: Tone,
    /// The result, to be read from afar.
    pub result: String,
    /// The rest of it.
    pub detail: String,
    /// Whether words must be compared before all that was taken in counts.
    pub must_compare: bool,
}

/// The hand-over screen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HandOverScreen {
    /// How much is not yet at the office.
    pub heading: String,
    /// What that means.
    pub detail: String,
    /// Sticks and folders to choose from.
    pub places: Vec<Choice>,
    /// What to do when there is none; empty otherwise.
    pub places_hint: String,
    /// Whether taking in comes first, as on a tablet without stations.
    pub take_comes_first: bool,
    /// Whether a place is chosen.
    pub can_act: bool,
    /// Whether an act is under way.
    pub is_busy: bool,
    /// How far it is, 0 to 1.
    pub progress: f32,
    /// What came of the last act.
    pub outcome: Outcome,
}

/// Says how much waits, for the head line of other screens; empty when nothing does.
#[must_use]
pub fn waiting(not_at_office: u64) -> String {
    if not_at_office == 0 {
        String::new()
    } else {
        format!("{not_at_office} not yet at the office")
    }
}

/// Says how much waits, and what that means.
#[must_use]
pub fn heading(not_at_office: u64) -> (String, String) {
    if not_at_office == 0 {
        return (
            "The office has everything".to_owned(),
            "All that was written down here has been acknowledged by the office.".to_owned(),
        );
    }
    (
        format!(
            "{} not yet at the office",
            words::count(not_at_office, "record is", "records are")
        ),
        "They wait until the office has answered that it holds them; handing them over twice does \
         no harm."
            .to_owned(),
    )
}

/// A file's length as people say it.
fn length(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} bytes"),
        1_000..1_000_000 => format!("{}.{} kB", bytes / 1_000, bytes % 1_000 / 100),
        _ => format!("{}.{} MB", bytes / 1_000_000, bytes % 1_000_000 / 100_000),
    }
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// Says that a bundle was written and read back.
#[must_use]
pub fn given(packed: &Packed) -> Outcome {
    Outcome {
        tone: Tone::Within,
        result: "Written and read back. It is safe to remove the stick.".to_owned(),
        detail: format!(
            "{}, {}\n{}",
            words::count(packed.records, "record", "records"),
            length(packed.bytes),
            file_name(&packed.path)
        ),
        must_compare: false,
    }
}

/// Says what was taken in.
#[must_use]
pub fn taken(report: &MergeReport) -> Outcome {
    if report.bundles.is_empty() {
        return Outcome {
            tone: Tone::None,
            result: "Nothing from the office was found there.".to_owned(),
            detail: "Bundles end in .winze. Is it the right stick?".to_owned(),
            must_compare: false,
        };
    }
    let new = report.new_records();
    let held: u64 = report
        .bundles
        .iter()
        .flat_map(|bundle| bundle.held_back.values())
        .sum();
    let damaged: Vec<String> = report
        .bundles
        .iter()
        .filter(|bundle| !bundle.is_whole())
        .map(damage)
        .collect();
    let mut detail = vec![format!(
        "Read from {}.",
        words::count(report.bundles.len() as u64, "bundle", "bundles")
    )];
    if held > 0 {
        detail.push(format!(
            "{} kept but not counted: compare the words with the office first.",
            words::count(held, "record is", "records are")
        ));
    }
    if report.left_aside() > 0 {
        let (left, sentence) = left_aside(report.left_aside());
        detail.push(format!("{left} {sentence}"));
    }
    if report.was_cancelled {
        detail.push("It was stopped before the end; take it in again.".to_owned());
    }
    detail.extend(damaged.iter().cloned());
    Outcome {
        tone: if damaged.is_empty() && held + report.left_aside() == 0 && !report.was_cancelled {
            Tone::Within
        } else {
            Tone::Caution
        },
        result: match new {
            0 => "Nothing new: it was all here already.".to_owned(),
            new => format!(
                "Taken in: {} new.",
                words::count(new, "record is", "records are")
            ),
        },
        detail: detail.join(" "),
        must_compare: held > 0,
    }
}

fn damage(bundle: &BundleMerged) -> String {
    let name = file_name(&bundle.path);
    if bundle.unreadable.is_some() {
        return format!("{name} could not be opened.");
    }
    let missing = bundle
        .report
        .as_ref()
        .map_or(0, BundleReport::missing_count);
    if missing == 0 {
        format!("{name} is damaged; every whole record was taken in.")
    } else {
        format!(
            "{name} is damaged: {} missing, all others were taken in. Ask the office for it again.",
            words::count(missing, "record is", "records are")
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_waiting_is_said_plainly() {
        assert_eq!(waiting(0), "");
        assert_eq!(waiting(14), "14 not yet at the office");
        assert_eq!(heading(0).0, "The office has everything");
        assert_eq!(heading(1).0, "1 record is not yet at the office");
    }

    #[test]
    fn written_bundle_is_safe_to_remove() {
        let outcome = given(&Packed {
            path: "/media/blue/tablet-a-0-13.winze".into(),
            bytes: 5_632,
            records: 14,
            sha256: [0; 32],
        });
        assert_eq!(outcome.tone, Tone::Within);
        assert!(outcome.result.contains("safe to remove"));
        assert_eq!(outcome.detail, "14 records, 5.6 kB\ntablet-a-0-13.winze");
    }

    #[test]
    fn empty_stick_and_unopened_bundle_are_told_apart() {
        let empty = taken(&MergeReport::default());
        assert!(empty.result.starts_with("Nothing from the office"));
        let report = MergeReport {
            bundles: vec![BundleMerged {
                path: "/media/blue/a.winze".into(),
                unreadable: Some(std::io::ErrorKind::PermissionDenied),
                report: None,
                refused: 0,
                new_records: 0,
                new_readings: 0,
                already_held: 0,
                held_back: std::collections::BTreeMap::new(),
                not_understood: 0,
                left_aside: 0,
                left_logs: std::collections::BTreeMap::new(),
                new_log: None,
            }],
            was_cancelled: false,
        };
        let outcome = taken(&report);
        assert_eq!(outcome.tone, Tone::Caution);
        assert!(
            outcome.detail.contains("a.winze could not be opened"),
            "{}",
            outcome.detail
        );
    }
}
