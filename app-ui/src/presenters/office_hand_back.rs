//! The way back to the tablets: what the bundle carries, and whether the stick may be taken out.

use winze_core::actions::Packed;
use winze_core::query::{LogStanding, LogView};

use super::office_view::{Fact, PlaceLine};
use super::view::Tone;
use crate::messages::counted;
use crate::office::snapshot::Snapshot;
use crate::tablet::session::Place;

/// What a bundle for the tablets carries, number and name.
#[must_use]
pub fn carries(snapshot: &Snapshot) -> Vec<Fact> {
    let stations = snapshot.stations.len() as u64;
    let answers: usize = snapshot
        .questions
        .iter()
        .map(|question| question.view.answers.len())
        .sum();
    let others = others(snapshot);
    let enrolled = others
        .iter()
        .filter(|log| log.standing == LogStanding::Counts)
        .count() as u64;
    let acknowledged = others.iter().filter(|log| log.whole_to.is_some()).count() as u64;
    let line = |number: u64, one: &str, many: &str| {
        Fact::new(if number == 1 { one } else { many }, number.to_string())
    };
    vec![
        line(stations, "station definition", "station definitions"),
        line(
            answers as u64,
            "answer to a question",
            "answers to questions",
        ),
        line(enrolled, "enrolled logbook", "enrolled logbooks"),
        line(
            acknowledged,
            "acknowledgement: what arrived here from a tablet",
            "acknowledgements: what arrived here from each tablet",
        ),
    ]
}

fn others(snapshot: &Snapshot) -> Vec<&LogView> {
    let is_other = |log: &&LogView| {
        !matches!(log.standing, LogStanding::Own | LogStanding::Held) && log.records > 0
    };
    snapshot.logs.iter().filter(is_other).collect()
}

/// How far each tablet's records are here.
#[must_use]
pub fn reaches(snapshot: &Snapshot) -> Vec<Fact> {
    let facts: Vec<Fact> = others(snapshot)
        .into_iter()
        .map(|log| {
            let here = counted(log.records, "record", "records");
            match (log.whole_to, log.newest) {
                (Some(whole), Some(newest)) if whole < newest => Fact::new(
                    log.name.clone(),
                    format!(
                        "{here} here, {} missing before the newest",
                        missing(log, newest)
                    ),
                )
                .with(Tone::Caution),
                (None, Some(newest)) => Fact::new(
                    log.name.clone(),
                    format!(
                        "{here} here, {} missing before the newest",
                        missing(log, newest)
                    ),
                )
                .with(Tone::Caution),
                _ => Fact::new(log.name.clone(), format!("{here} here, none missing"))
                    .with(Tone::Within),
            }
        })
        .collect();
    if facts.is_empty() {
        return vec![Fact::new(
            "none yet",
            "No enrolled tablet has sent a record.",
        )];
    }
    facts
}

/// How many records before the newest one of a log are not here. A log that was copied can hold
/// two records for one place, so this is at least zero.
fn missing(log: &LogView, newest: u64) -> u64 {
    newest.saturating_add(1).saturating_sub(log.records)
}

/// The places a bundle can be written to.
#[must_use]
pub fn places(found: &[Place], folder: &str) -> Vec<PlaceLine> {
    found
        .iter()
        .map(|place| {
            let path = place.path.display().to_string();
            PlaceLine {
                is_chosen: path == folder,
                label: place.label.clone(),
                detail: path.clone(),
                id: path,
            }
        })
        .collect()
}

/// What to say of a bundle that was written and read back.
#[must_use]
pub fn packed(packed: &Packed) -> (String, Vec<Fact>) {
    let name = packed
        .path
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let folder = packed
        .path
        .parent()
        .map_or_else(String::new, |folder| folder.display().to_string());
    let hash: Vec<String> = packed
        .sha256
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let sentence = format!(
        "{} written, read back, and the same to the last byte.",
        counted(packed.records, "record", "records")
    );
    let facts = vec![
        Fact::new("file", name),
        Fact::new("in", folder),
        Fact::new(
            "size",
            format!("{} bytes", crate::messages::grouped(packed.bytes)),
        ),
        Fact::new("SHA-256 begins", hash.concat()),
    ];
    (sentence, facts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;

    #[test]
    fn bundle_names_what_it_carries() {
        let lines: Vec<String> = carries(&samples::snapshot())
            .into_iter()
            .map(|fact| format!("{} {}", fact.value, fact.name))
            .collect();
        assert_eq!(
            lines[..3],
            [
                "12 station definitions",
                "0 answers to questions",
                "2 enrolled logbooks"
            ]
        );
    }

    #[test]
    fn gap_in_a_tablets_records_is_a_caution() {
        let mut snapshot = samples::snapshot();
        snapshot.logs[1].newest = Some(410);
        let facts = reaches(&snapshot);
        assert_eq!(facts[0].tone, Tone::Caution);
        assert_eq!(
            facts[0].value,
            "402 records here, 9 missing before the newest"
        );
        assert_eq!(facts[1].tone, Tone::Within);
    }
}
