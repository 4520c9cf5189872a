//! The tray: each bundle as it was read, what a merge brought, what was lost.

use std::collections::BTreeMap;
use std::io::ErrorKind;

use winze_core::actions::{BundleMerged, MergeReport};
use winze_sync_format::LogId;
use winze_sync_format::bundle::{BundleReport, SeqRange, TrailerState};

use super::office_time as time;
use super::office_view::{BundleLine, Fact, LossLine};
use super::view::{Figure, Tone};
use crate::messages::{counted, left_aside};
use crate::office::snapshot::Snapshot;
use crate::office::tray::{Condition, TrayEntry, condition};

/// Most losses of one bundle that are listed one by one.
const LISTED_LOSSES: usize = 6;

/// One line for a bundle that holds `new` records that are not here yet.
#[must_use]
pub fn line(snapshot: &Snapshot, entry: &TrayEntry, new: u64, is_chosen: bool) -> BundleLine {
    let (tone, word) = state(entry, new);
    let records = entry.report().map_or(0, |report| report.records);
    BundleLine {
        id: entry.path.display().to_string(),
        tone,
        word: word.to_owned(),
        from: from(entry),
        records: match entry.condition() {
            Condition::Unreadable | Condition::NotABundle => String::new(),
            _ => counted(records, "record", "records"),
        },
        sentence: sentence(snapshot, entry, new),
        is_chosen,
    }
}

fn state(entry: &TrayEntry, new: u64) -> (Tone, &'static str) {
    match entry.condition() {
        Condition::Whole if new == 0 => (Tone::None, "here"),
        Condition::Whole => (Tone::Within, "whole"),
        Condition::CutShort => (Tone::Caution, "cut short"),
        Condition::Damaged => (Tone::Caution, "damaged"),
        Condition::NotABundle => (Tone::Outside, "no bundle"),
        Condition::Unreadable => (Tone::Outside, "unreadable"),
    }
}

fn from(entry: &TrayEntry) -> String {
    let header = entry.report().and_then(|report| report.header.as_ref());
    match header {
        Some(header) if header.person.is_empty() => header.label.clone(),
        Some(header) => format!("{}, packed by {}", header.label, header.person),
        None => entry.name(),
    }
}

fn sentence(snapshot: &Snapshot, entry: &TrayEntry, new: u64) -> String {
    let exporter = entry.report().and_then(|report| report.header.as_ref());
    if new == 0 && exporter.is_some_and(|header| header.exporter == snapshot.own) {
        return "Packed here, for the tablets.".to_owned();
    }
    let Some(report) = entry.report() else {
        return "The file cannot be opened. Nothing was changed.".to_owned();
    };
    if entry.condition() == Condition::NotABundle {
        return "No record was found in this file.".to_owned();
    }
    let news = if new == 0 {
        "Everything in it is here already.".to_owned()
    } else {
        format!("{new} of them not here yet.")
    };
    match missing_words(snapshot, &report.missing) {
        missing if missing.is_empty() => news,
        missing => format!("{news} Missing: {missing}."),
    }
}

/// "2 records of North (118 to 119)", for each logbook.
fn missing_words(snapshot: &Snapshot, missing: &[SeqRange]) -> String {
    let mut by_log: BTreeMap<LogId, (u64, Vec<String>)> = BTreeMap::new();
    for range in missing {
        let (count, places) = by_log.entry(range.log).or_default();
        *count = count.saturating_add(range.count());
        places.push(if range.first == range.last {
            range.first.to_string()
        } else {
            format!("{} to {}", range.first, range.last)
        });
    }
    let parts = by_log.iter().map(|(log, (count, places))| {
        let shown = places
            .iter()
            .take(LISTED_LOSSES)
            .cloned()
            .collect::<Vec<_>>()
            .join(", ");
        let more = if places.len() > LISTED_LOSSES {
            ", \u{2026}"
        } else {
            ""
        };
        format!(
            "{} of {} (no. {shown}{more})",
            counted(*count, "record", "records"),
            snapshot.log_name(*log)
        )
    });
    parts.collect::<Vec<_>>().join("; ")
}

/// What is known of a bundle.
#[must_use]
pub fn facts(snapshot: &Snapshot, entry: &TrayEntry) -> Vec<Fact> {
    let offset = snapshot.week.utc_offset_minutes;
    let mut facts = vec![Fact::new("size", format!("{} bytes", grouped(entry.bytes)))];
    let Some(report) = entry.report() else {
        return facts;
    };
    if let Some(header) = &report.header {
        facts.push(Fact::new(
            "packed",
            time::moment_and_year(header.clock.wall_ms, offset),
        ));
        facts.push(Fact::new("from", snapshot.log_name(header.exporter)));
        let declared = counted(header.records, "record", "records");
        facts.push(Fact::new("declares", declared));
    }
    facts.push(Fact::new(
        "found",
        counted(report.records, "whole record", "whole records"),
    ));
    if report.newer > 0 {
        facts.push(Fact::new(
            "newer",
            counted(report.newer, "record", "records"),
        ));
    }
    facts
}

/// What a bundle lacks, one line for each kind of loss.
#[must_use]
pub fn losses(snapshot: &Snapshot, name: &str, report: Option<&BundleReport>) -> Vec<LossLine> {
    let Some(report) = report else {
        return vec![LossLine {
            tone: Tone::Outside,
            head: format!("{name} cannot be opened."),
            sentence: "Nothing of it was taken in. Try the stick in another slot, or copy the bundle again."
                .to_owned(),
        }];
    };
    let loss = |tone, head: String, sentence: String| LossLine {
        tone,
        head,
        sentence,
    };
    let mut lines = Vec::new();
    match condition(report) {
        Condition::Whole => return lines,
        Condition::NotABundle => {
            let sentence = "Nothing of it was taken in, and nothing was changed.".to_owned();
            return vec![loss(
                Tone::Outside,
                format!("{name} holds no record."),
                sentence,
            )];
        }
        Condition::CutShort | Condition::Damaged | Condition::Unreadable => {}
    }
    let missing = missing_words(snapshot, &report.missing);
    if !missing.is_empty() {
        lines.push(loss(
            Tone::Caution,
            format!("Missing: {missing}."),
            "What is missing is still on the tablet: ask for another bundle. All else is kept."
                .to_owned(),
        ));
    }
    for damage in report.damage.iter().take(LISTED_LOSSES) {
        lines.push(loss(
            Tone::Caution,
            format!(
                "{} damaged from byte {}.",
                counted(damage.length, "byte", "bytes"),
                grouped(damage.offset)
            ),
            format!("Reason: {}.", crate::messages::damage_reason(damage.reason)),
        ));
    }
    if report.damage.len() > LISTED_LOSSES {
        let more = report.damage.len() - LISTED_LOSSES;
        let head = format!(
            "{} more.",
            counted(more as u64, "damaged part", "damaged parts")
        );
        lines.push(loss(Tone::Caution, head, String::new()));
    }
    if report.header.is_none() {
        let sentence =
            "Who packed it, and what belongs in it, is not known for certain.".to_owned();
        lines.push(loss(
            Tone::Caution,
            "Its beginning is lost.".to_owned(),
            sentence,
        ));
    }
    if report.trailer != TrailerState::Whole {
        let head = match report.trailer {
            TrailerState::Absent => "Its end is lost.",
            _ => "Its end does not agree with the rest.",
        };
        let sentence = "Every whole record was found all the same.".to_owned();
        lines.push(loss(Tone::Caution, head.to_owned(), sentence));
    }
    lines
}

/// Digits in groups of three.
fn grouped(number: u64) -> String {
    crate::messages::grouped(number)
}

/// What a merge brought, as large figures.
#[must_use]
pub fn result(report: &MergeReport) -> Vec<Figure> {
    let sum = |of: fn(&BundleMerged) -> u64| report.bundles.iter().map(of).sum::<u64>();
    let held = sum(|bundle| bundle.held_back.values().sum());
    let missing = sum(|bundle| {
        bundle
            .report
            .as_ref()
            .map_or(0, BundleReport::missing_count)
    });
    let figure = |name: &str, value: u64, tone| Figure {
        name: name.to_owned(),
        value: grouped(value),
        tone: if value == 0 { Tone::None } else { tone },
        ..Figure::default()
    };
    vec![
        figure("records new", report.new_records(), Tone::Within),
        figure("of them readings", report.new_readings(), Tone::None),
        figure(
            "here already",
            sum(|bundle| bundle.already_held),
            Tone::None,
        ),
        figure("held, of unknown", held, Tone::Act),
        figure("missing", missing, Tone::Caution),
    ]
}

/// What a merge could not bring, each loss under its bundle.
#[must_use]
pub fn result_losses(snapshot: &Snapshot, report: &MergeReport) -> Vec<LossLine> {
    let mut lines = Vec::new();
    if report.was_cancelled {
        lines.push(LossLine {
            tone: Tone::Caution,
            head: "Stopped before the end.".to_owned(),
            sentence: "What was taken in until then is kept. Merge again to take in the rest."
                .to_owned(),
        });
    }
    for bundle in &report.bundles {
        let name = bundle_name(bundle);
        lines.extend(lost(snapshot, &name, bundle));
        if bundle.refused > 0 {
            lines.push(LossLine {
                tone: Tone::Caution,
                head: format!(
                    "{name}: {} not taken in.",
                    counted(bundle.refused, "record", "records")
                ),
                sentence:
                    "Their numbers are beyond what any logbook reaches; no tablet writes such."
                        .to_owned(),
            });
        }
        if bundle.left_aside > 0 {
            let (head, sentence) = left_aside(bundle.left_aside);
            lines.push(LossLine {
                tone: Tone::Act,
                head: format!("{name}: {head}"),
                sentence,
            });
        }
        if bundle.not_understood > 0 {
            lines.push(LossLine {
                tone: Tone::Caution,
                head: format!(
                    "{name}: {} not understood by this version.",
                    counted(bundle.not_understood, "record", "records")
                ),
                sentence: "They are kept, and count once this program is renewed.".to_owned(),
            });
        }
    }
    for (log, count) in held_back(report) {
        lines.push(LossLine {
            tone: Tone::Act,
            head: format!(
                "{} of {} held.",
                counted(count, "record", "records"),
                snapshot.log_name(log)
            ),
            sentence: "The logbook is unknown here. Compare its eight words, then they count."
                .to_owned(),
        });
    }
    lines
}

/// What one bundle could not bring, in one line.
fn lost(snapshot: &Snapshot, name: &str, bundle: &BundleMerged) -> Option<LossLine> {
    let report = match (&bundle.report, bundle.unreadable) {
        (Some(report), _) => report,
        // A bundle that was not come to before the merge was stopped.
        (None, None) => return None,
        (None, Some(ErrorKind::NotFound)) => {
            return Some(LossLine {
                tone: Tone::Outside,
                head: format!("{name} is no longer there."),
                sentence: "Nothing of it was taken in. Is the stick still in?".to_owned(),
            });
        }
        (None, Some(_)) => return losses(snapshot, name, None).pop(),
    };
    let state = match condition(report) {
        Condition::Whole => return None,
        Condition::CutShort => "cut short",
        Condition::Damaged | Condition::Unreadable => "damaged",
        Condition::NotABundle => return losses(snapshot, name, Some(report)).pop(),
    };
    let missing = missing_words(snapshot, &report.missing);
    let head = if missing.is_empty() {
        format!("{name}, {state}: no record is missing.")
    } else {
        format!("{name}, {state}: {missing} missing.")
    };
    let spoilt: u64 = report.damage.iter().map(|damage| damage.length).sum();
    let spoilt = if spoilt == 0 {
        String::new()
    } else {
        format!("{} cannot be read. ", counted(spoilt, "byte", "bytes"))
    };
    let rest = if missing.is_empty() {
        "All records were found and kept."
    } else {
        "All else is kept. What is missing is still on the tablet: ask for another bundle."
    };
    Some(LossLine {
        tone: Tone::Caution,
        head,
        sentence: format!("{spoilt}{rest}"),
    })
}

fn held_back(report: &MergeReport) -> BTreeMap<LogId, u64> {
    let mut held = BTreeMap::new();
    for (log, count) in report.bundles.iter().flat_map(|bundle| &bundle.held_back) {
        *held.entry(*log).or_default() += count;
    }
    held
}

/// Names a merged bundle: who packed it, or its file.
fn bundle_name(bundle: &BundleMerged) -> String {
    let header = bundle
        .report
        .as_ref()
        .and_then(|report| report.header.as_ref());
    match header {
        Some(header) if !header.label.is_empty() => format!("Bundle of {}", header.label),
        _ => bundle
            .path
            .file_name()
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::{samples, tray};

    fn range(n: u8, first: u64, last: u64) -> SeqRange {
        SeqRange {
            log: samples::at(n, 0).log,
            first,
            last,
        }
    }

    #[test]
    fn missing_records_are_named_by_logbook_and_number() {
        let snapshot = samples::snapshot();
        let missing = [range(1, 4, 4), range(1, 7, 9)];
        assert_eq!(
            missing_words(&snapshot, &missing),
            "4 records of Tablet North (no. 4, 7 to 9)"
        );
        let unknown = [range(77, 0, 0)];
        let words = missing_words(&snapshot, &unknown);
        assert!(words.starts_with("1 record of logbook "), "{words}");
    }

    #[test]
    fn long_list_of_missing_records_is_cut_but_counted() {
        let snapshot = samples::snapshot();
        let missing: Vec<SeqRange> = (0..20).map(|n| range(1, 2 * n, 2 * n)).collect();
        let words = missing_words(&snapshot, &missing);
        assert!(
            words.starts_with("20 records of Tablet North (no. 0, 2, 4, 6, 8, 10, \u{2026})"),
            "{words}"
        );
    }

    #[test]
    fn bundle_with_nothing_new_says_so() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = samples::bundle(folder.path());
        let entry = tray::read(&path, &mut |_| true).expect("not stopped");
        let snapshot = samples::snapshot();
        let line_with = |new| line(&snapshot, &entry, new, false);
        assert_eq!(line_with(24).word, "whole");
        assert_eq!(line_with(24).sentence, "24 of them not here yet.");
        assert_eq!(line_with(0).word, "here");
        assert_eq!(line_with(0).sentence, "Everything in it is here already.");
        assert_eq!(line_with(24).from, "Tablet North, packed by R. Ostrow");
    }

    #[test]
    fn merge_that_was_stopped_says_what_it_kept() {
        let report = MergeReport {
            bundles: Vec::new(),
            was_cancelled: true,
        };
        let lines = result_losses(&samples::snapshot(), &report);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].sentence.contains("is kept"));
    }

    #[test]
    fn file_that_went_away_is_told_as_such() {
        let bundle = BundleMerged {
            path: "/stick/a.winze".into(),
            unreadable: Some(ErrorKind::NotFound),
            report: None,
            new_records: 0,
            new_readings: 0,
            already_held: 0,
            held_back: BTreeMap::new(),
            not_understood: 0,
            refused: 0,
            left_aside: 0,
            left_logs: BTreeMap::new(),
            new_log: None,
        };
        let mut report = MergeReport {
            bundles: vec![bundle],
            was_cancelled: false,
        };
        let lines = result_losses(&samples::snapshot(), &report);
        assert_eq!(lines[0].head, "a.winze is no longer there.");
        report.bundles[0].left_aside = 3;
        let lines = result_losses(&samples::snapshot(), &report);
        assert_eq!(
            lines[1].head,
            "a.winze: 3 records of unknown logbooks left in the bundle."
        );
    }
}
