//! A step's entry as text, kept after every act: see [`super::draft`]. A draft is no record.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use winze_core::calibration::{HandTurns, Steadiness};
use winze_core::procedures::{Branch, MeasureCode, StepCode, TickCode};
use winze_sync_format::RecordRef;

use super::digits::Digits;
use super::draft::{self, DraftFrame};
use super::step_entry::StepEntry;

#[derive(Serialize, Deserialize)]
struct Kept {
    nonce: [u8; 8],
    gauges: Option<String>,
    numbers: Vec<(String, String, String)>,
    picked: BTreeMap<String, String>,
    ticks: Vec<String>,
    is_said: bool,
    branch: Option<String>,
    note: String,
    turned: Option<i32>,
    steadiness: String,
}

/// Names the draft of a step.
#[must_use]
pub fn name(procedure: &RecordRef, step: StepCode) -> String {
    format!("procedure/{procedure}/{}", step.code())
}

/// Writes an entry as a draft.
#[must_use]
pub fn write(entry: &StepEntry) -> String {
    let frame = DraftFrame {
        round: String::new(),
        nonce: entry.nonce,
    };
    let numbers = entry.numbers.iter();
    let picked = entry.picked.iter();
    let kept = Kept {
        nonce: entry.nonce,
        gauges: entry
            .gauges
            .as_ref()
            .map(|gauges| draft::write(&frame, gauges)),
        numbers: numbers
            .map(|(code, digits)| {
                let unit = digits.unit.code().to_owned();
                (code.code().to_owned(), digits.text.clone(), unit)
            })
            .collect(),
        picked: picked
            .map(|(code, picked)| (code.code().to_owned(), picked.clone()))
            .collect(),
        ticks: entry
            .ticks
            .iter()
            .map(|tick| tick.code().to_owned())
            .collect(),
        is_said: entry.is_said,
        branch: entry.branch.map(|branch| branch.code().to_owned()),
        note: entry.note.clone(),
        turned: entry.turned.map(HandTurns::thirty_seconds),
        steadiness: entry.steadiness.code().to_owned(),
    };
    // Plain structs of texts and numbers always have a JSON form.
    serde_json::to_string(&kept).unwrap_or_default()
}

/// Puts a draft into `entry`; nothing changes, and `false` comes back, when it is not readable.
#[must_use]
pub fn read(text: &str, entry: &mut StepEntry) -> bool {
    let mut restored = entry.clone();
    let is_read = restore(text, &mut restored).is_some();
    if is_read {
        *entry = restored;
    }
    is_read
}

fn restore(text: &str, entry: &mut StepEntry) -> Option<()> {
    let kept: Kept = serde_json::from_str(text).ok()?;
    match (&mut entry.gauges, &kept.gauges) {
        (Some(gauges), Some(text)) => {
            draft::read(text, gauges)?;
        }
        (None, None) => {}
        _ => return None,
    }
    for (code, text, unit) in kept.numbers {
        let code = MeasureCode::from_code(&code)?;
        let (_, digits) = entry.numbers.iter_mut().find(|(of, _)| *of == code)?;
        *digits = Digits::of(text, unit.parse().ok()?);
    }
    for (code, picked) in kept.picked {
        entry.picked.insert(MeasureCode::from_code(&code)?, picked);
    }
    for tick in kept.ticks {
        let tick = TickCode::from_code(&tick)?;
        entry.step().ticks.contains(&tick).then_some(())?;
        entry.ticks.push(tick);
    }
    entry.branch = match kept.branch {
        Some(code) => Some(Branch::from_code(&code)?),
        None => None,
    };
    entry.nonce = kept.nonce;
    entry.is_said = kept.is_said;
    entry.note = kept.note;
    entry.turned = kept.turned.map(HandTurns::of_thirty_seconds);
    entry.steadiness = Steadiness::from_code(&kept.steadiness)?;
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::procedures::{ProcedureCode, procedure};

    #[test]
    fn draft_brings_back_every_kind_of_step() {
        for code in ProcedureCode::ALL {
            for step in procedure(*code).steps {
                let mut entry = StepEntry::new(step, &samples::station(), Vec::new(), [1; 8]);
                "1.5".chars().for_each(|key| entry.key(key));
                step.ticks.iter().for_each(|tick| entry.toggle_tick(*tick));
                for measure in step.measures {
                    entry.pick(measure.code, "usual");
                }
                entry.note = "wet, \"cold\"".to_owned();
                entry.turn(-5);
                entry.branch = Some(Branch::Keep);
                let text = write(&entry);
                let mut again = StepEntry::new(step, &samples::station(), Vec::new(), [2; 8]);
                assert!(read(&text, &mut again), "{:?}", step.code);
                assert_eq!(write(&again), text);
                assert_eq!(again.measured(), entry.measured());
            }
        }
    }

    #[test]
    fn unreadable_draft_changes_nothing() {
        let step = procedure(ProcedureCode::Recalibrate).step(StepCode::Prepare);
        let step = step.expect("a step of it");
        let mut entry = StepEntry::new(step, &samples::station(), Vec::new(), [1; 8]);
        for text in ["", "{}", "null"] {
            assert!(!read(text, &mut entry));
        }
        assert!(entry.is_untouched());
    }
}
