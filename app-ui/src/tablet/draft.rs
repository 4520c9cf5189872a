//! A station's entry as text, kept after every act so that closing the window, or a dead
//! battery, costs nothing that was typed. A draft is no record and proves nothing.

use serde::{Deserialize, Serialize};
use winze_core::record::{AskedDoubt, DoubtReply, Tick, Ticks};
use winze_core::station::Quantity;
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{Entry, FlowState};

use super::entry::{Cell, Restored, StationEntry};

#[derive(Serialize, Deserialize)]
struct Kept {
    round: String,
    nonce: [u8; 8],
    cells: [KeptValue; 3],
    chosen: String,
    flow: String,
    ticks: Vec<String>,
    note: String,
    asked: Vec<KeptDoubt>,
}

#[derive(Serialize, Deserialize)]
struct KeptValue {
    digits: String,
    unit: String,
}

#[derive(Serialize, Deserialize)]
struct KeptDoubt {
    code: String,
    quantity: Option<String>,
    typed: KeptEntry,
    likely: Option<KeptEntry>,
    reply: String,
}

#[derive(Serialize, Deserialize)]
struct KeptEntry {
    values: [Option<KeptValue>; 3],
    flow: String,
}

/// What belongs to an entry besides what was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DraftFrame {
    /// The round it was begun on; empty for none.
    pub round: String,
    /// The nonce that keeps a reading from being confirmed twice.
    pub nonce: [u8; 8],
}

/// Names the draft of a station.
#[must_use]
pub fn name(code: &str) -> String {
    format!("station/{code}")
}

/// Writes an entry as a draft.
#[must_use]
pub fn write(frame: &DraftFrame, entry: &StationEntry) -> String {
    let kept = Kept {
        round: frame.round.clone(),
        nonce: frame.nonce,
        cells: Quantity::ALL.map(|quantity| {
            let cell = entry.cell(quantity);
            KeptValue {
                digits: cell.text.clone(),
                unit: cell.unit.code().to_owned(),
            }
        }),
        chosen: entry.chosen().code().to_owned(),
        flow: entry.flow().code().to_owned(),
        ticks: entry
            .ticks()
            .iter()
            .map(|tick| tick.code().to_owned())
            .collect(),
        note: entry.note().to_owned(),
        asked: entry.asked().iter().map(keep_doubt).collect(),
    };
    // Plain structs of texts and numbers always have a JSON form.
    serde_json::to_string(&kept).unwrap_or_default()
}

/// Puts a draft into `entry`; `None`, and nothing changed, when it is not readable.
#[must_use]
pub fn read(text: &str, entry: &mut StationEntry) -> Option<DraftFrame> {
    let kept: Kept = serde_json::from_str(text).ok()?;
    let mut cells = Vec::new();
    for value in &kept.cells {
        cells.push(Cell {
            text: value.digits.clone(),
            unit: value.unit.parse().ok()?,
        });
    }
    let ticks = kept.ticks.iter().try_fold(Ticks::NONE, |ticks, code| {
        let tick = Tick::ALL.into_iter().find(|tick| tick.code() == code)?;
        Some(ticks.with(tick))
    })?;
    let restored = Restored {
        chosen: quantity(&kept.chosen)?,
        flow: flow(&kept.flow)?,
        ticks,
        note: kept.note,
        asked: kept.asked.iter().map(doubt).collect::<Option<_>>()?,
    };
    entry.restore(cells.try_into().ok()?, restored);
    Some(DraftFrame {
        round: kept.round,
        nonce: kept.nonce,
    })
}

fn keep_doubt(asked: &AskedDoubt) -> KeptDoubt {
    KeptDoubt {
        code: asked.code.clone(),
        quantity: asked.quantity.map(|quantity| quantity.code().to_owned()),
        typed: keep_entry(&asked.typed),
        likely: asked.likely.as_ref().map(keep_entry),
        reply: asked.reply.code().to_owned(),
    }
}

fn keep_entry(entry: &Entry) -> KeptEntry {
    KeptEntry {
        values: Quantity::ALL.map(|quantity| {
            entry.get(quantity).map(|value| KeptValue {
                digits: value.digits.to_string(),
                unit: value.unit.code().to_owned(),
            })
        }),
        flow: entry.flow.code().to_owned(),
    }
}

fn doubt(kept: &KeptDoubt) -> Option<AskedDoubt> {
    let replies = [
        DoubtReply::AsTyped,
        DoubtReply::Likely,
        DoubtReply::TypedAnew,
    ];
    Some(AskedDoubt {
        code: kept.code.clone(),
        quantity: match &kept.quantity {
            Some(code) => Some(quantity(code)?),
            None => None,
        },
        typed: entry(&kept.typed)?,
        likely: match &kept.likely {
            Some(likely) => Some(entry(likely)?),
            None => None,
        },
        reply: replies
            .into_iter()
            .find(|reply| reply.code() == kept.reply)?,
    })
}

fn entry(kept: &KeptEntry) -> Option<Entry> {
    let mut entry = Entry {
        flow: flow(&kept.flow)?,
        ..Entry::default()
    };
    for (quantity, value) in Quantity::ALL.into_iter().zip(&kept.values) {
        if let Some(value) = value {
            let unit: Unit = value.unit.parse().ok()?;
            let value = Typed::new(value.digits.parse().ok()?, unit);
            entry = entry.with(quantity, Some(value));
        }
    }
    Some(entry)
}

fn quantity(code: &str) -> Option<Quantity> {
    Quantity::ALL
        .into_iter()
        .find(|quantity| quantity.code() == code)
}

fn flow(code: &str) -> Option<FlowState> {
    [FlowState::Still, FlowState::Flowing, FlowState::NotNoted]
        .into_iter()
        .find(|flow| flow.code() == code)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    #[test]
    fn draft_brings_back_all_that_was_entered() {
        let mut entry = StationEntry::new(samples::station(), Vec::new());
        for key in "150".chars() {
            entry.key(key);
        }
        let doubt = entry.doubt().expect("doubtful");
        entry.answer(&doubt, DoubtReply::TypedAnew, None);
        for key in "10.".chars() {
            entry.key(key);
        }
        entry.toggle_tick(Tick::Noise);
        entry.toggle_flow(FlowState::Still);
        entry.set_note("glass cracked, \"bezel\" loose");
        entry.choose(Quantity::Outlet);
        let frame = DraftFrame {
            round: "r1".to_owned(),
            nonce: [7; 8],
        };
        let text = write(&frame, &entry);

        let mut again = StationEntry::new(samples::station(), Vec::new());
        assert_eq!(read(&text, &mut again), Some(frame.clone()));
        assert_eq!(again.cell(Quantity::Inlet).text, "10.");
        assert_eq!(again.chosen(), Quantity::Outlet);
        assert_eq!(again.asked(), entry.asked());
        assert_eq!(again.note(), entry.note());
        assert_eq!(write(&frame, &again), text);
    }

    #[test]
    fn unreadable_draft_changes_nothing() {
        let mut entry = StationEntry::new(samples::station(), Vec::new());
        for text in ["", "{}", "null", "{\"round\":1}"] {
            assert_eq!(read(text, &mut entry), None);
        }
        assert!(entry.is_untouched());
    }
}
