//! One station under entry: opened with its draft, shown, and changed by touch and key.

use winze_core::actions::{self, SavedDraft};
use winze_core::query::{self, StopState};
use winze_core::record::Tick;
use winze_core::slips::Doubt;
use winze_core::station::{Quantity, StationCode};
use winze_core::verdict::FlowState;
use winze_sync_format::RecordRef;

use super::closer::Closer;
use super::correct::{Correcting, Done};
use super::{Screen, Session};
use crate::messages;
use crate::presenters::dial::Scale;
use crate::presenters::station::{Around, ReadBackView, StationFrame, StationView};
use crate::presenters::view::{Choice, QuestionView, Sentences, Tone};
use crate::presenters::{doubt, moment, station};
use crate::tablet::draft::{self, DraftFrame};
use crate::tablet::entry::StationEntry;
use crate::tablet::past::Past;

/// What takes the station screen's place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sheet {
    /// The station itself.
    #[default]
    Gauges,
    /// A question about the entry, or about an entry left from another day.
    Question,
    /// The entry read back.
    ReadBack,
    /// The reasons to skip.
    Skip,
    /// The note.
    Note,
    /// Suspects and the next check.
    Finding,
    /// The strips of history.
    History,
    /// How a verdict was worked out.
    WorkedOut,
    /// Why a reading is corrected.
    Why,
}

impl Sheet {
    /// Whether it is one of the closer looks.
    #[must_use]
    pub const fn is_closer(self) -> bool {
        matches!(self, Self::Finding | Self::History | Self::WorkedOut)
    }
}

/// The station that is open.
pub struct OpenStation {
    pub(super) entry: StationEntry,
    pub(super) code: StationCode,
    pub(super) revision: RecordRef,
    pub(super) round: Option<RecordRef>,
    pub(super) kept: DraftFrame,
    pub(super) frame: StationFrame,
    pub(super) sheet: Sheet,
    pub(super) doubt: Option<Doubt>,
    /// An entry left from another round, until the operator has said what becomes of it.
    pub(super) left_over: Option<SavedDraft>,
    /// Skipping waits for a note.
    pub(super) skip_after_note: bool,
    /// Correcting waits for a note.
    pub(super) correct_after_note: bool,
    /// What the readings so far come to; `None` where that could not be read.
    pub(super) past: Option<Past>,
    pub(super) closer: Closer,
    /// The reading of this round, if there is one.
    pub(super) done: Option<Done>,
    pub(super) correcting: Option<Correcting>,
    /// What to say at the next station, once the reading is saved and something is to be looked at
    /// before going on.
    pub(super) saved: Option<Sentences>,
}

impl OpenStation {
    /// Shows a sentence until something is entered.
    pub(super) fn arrive(&mut self, said: Sentences) {
        self.frame.arrival = Some(said);
    }
}

const AFRESH: &str = "afresh";
pub(super) const TAKE_OVER: &str = "take-over";
const VISITS_FOR_CHECKS: usize = 26;

impl Session {
    /// Opens a station, with the draft of this round's entry if one was left.
    pub fn open_station(&mut self, code: &StationCode) {
        let round = self.open_round();
        let waiting = self.waiting();
        let (now_ms, offset) = self.now();
        let Some(logbook) = &self.logbook else {
            return;
        };
        let found = query::station(logbook, code)
            .and_then(|found| found.ok_or_else(|| unknown(code)))
            .and_then(|found| {
                let past = query::past_for_checks(logbook, code, VISITS_FOR_CHECKS)?;
                let left = actions::load_draft(logbook, &draft::name(code.as_str()))?;
                Ok((found, past, left))
            });
        let (found, past, left) = match found {
            Ok(found) => found,
            Err(error) => {
                self.trouble = messages::logbook_failed(&error).to_string();
                return;
            }
        };
        let stop = round.as_ref().and_then(|round| {
            let place = round.stops.iter().position(|stop| &stop.code == code)?;
            Some((place, round.stops.len(), &round.stops[place].state))
        });
        let frame = StationFrame {
            position: stop.map_or_else(String::new, |(place, of, _)| {
                format!("{} of {of}", place + 1)
            }),
            waiting,
            arrival: stop.and_then(|(_, _, state)| was_visited(state, offset)),
            ..StationFrame::default()
        };
        let done = stop.and_then(|(_, _, state)| done(state));
        let mut open = OpenStation {
            entry: StationEntry::new(found.definition, past),
            code: code.clone(),
            revision: found.revision,
            round: round.as_ref().map(|round| round.at),
            kept: DraftFrame {
                round: round.map_or_else(String::new, |round| round.at.to_string()),
                nonce: (self.around.nonce)(),
            },
            frame,
            sheet: Sheet::Gauges,
            doubt: None,
            left_over: None,
            skip_after_note: false,
            correct_after_note: false,
            past: None,
            closer: Closer::default(),
            done,
            correcting: None,
            saved: None,
        };
        if let Some(left) = left {
            open.take_draft(left, now_ms, offset);
        }
        self.station = Some(open);
        self.read_past();
        self.screen = Screen::Station;
        self.tag.clear();
    }

    /// What the station screen shows; `None` while no station is open.
    #[must_use]
    pub fn station_view(&self) -> Option<StationView> {
        let open = self.station.as_ref()?;
        let flag = self.flag_line(open);
        let around = Around {
            has_past: open.past.as_ref().is_some_and(|past| past.newest.is_some()),
            correct: self.correct_label(),
            flag,
        };
        Some(station::station(&open.entry, &open.frame, &around))
    }

    /// The sheet in the station screen's place.
    #[must_use]
    pub fn sheet(&self) -> Option<Sheet> {
        self.station.as_ref().map(|open| open.sheet)
    }

    /// The entry, for those who look without the window.
    #[must_use]
    pub fn entry(&self) -> Option<&StationEntry> {
        self.station.as_ref().map(|open| &open.entry)
    }

    /// The question of [`Sheet::Question`].
    #[must_use]
    pub fn question(&self) -> Option<QuestionView> {
        let open = self.station.as_ref()?;
        if let Some(left) = &open.left_over {
            let (now_ms, offset) = self.now();
            return Some(about_left_over(left, now_ms, offset));
        }
        let doubt = open.doubt.as_ref()?;
        Some(doubt::question(
            open.entry.station(),
            &open.entry.entry(),
            doubt,
        ))
    }

    /// What [`Sheet::ReadBack`] shows.
    #[must_use]
    pub fn read_back(&self) -> Option<ReadBackView> {
        let open = self.station.as_ref()?;
        let flag = self.flag_line(open);
        let was = open.correcting.map(|correcting| correcting.before);
        Some(station::read_back(&open.entry, flag, was.as_ref()))
    }

    /// What went wrong last with this station, or empty.
    #[must_use]
    pub fn station_trouble(&self) -> String {
        self.station
            .as_ref()
            .map_or_else(String::new, |open| open.frame.trouble.clone())
    }

    /// Sends keys to a gauge.
    pub fn choose_gauge(&mut self, quantity: Quantity) {
        self.edit(|entry| entry.choose(quantity));
    }

    /// Takes a digit or the decimal point.
    pub fn key(&mut self, key: char) {
        self.edit(|entry| entry.key(key));
    }

    /// Takes the last character away.
    pub fn erase(&mut self) {
        self.edit(StationEntry::erase);
    }

    /// Sends keys to the next gauge.
    pub fn next_gauge(&mut self) {
        self.edit(StationEntry::next);
    }

    /// Moves the chosen value by fifths of a division.
    pub fn nudge(&mut self, by: i64) {
        self.edit(|entry| entry.nudge(by));
    }

    /// A finger is on a dial, at shares of its side from the upper left corner. On the scale it
    /// sets the value, anywhere else it chooses the gauge.
    pub fn touch_dial(&mut self, quantity: Quantity, x: f64, y: f64) {
        let Some(open) = &mut self.station else {
            return;
        };
        open.frame.arrival = None;
        match Scale::fraction_at(x, y) {
            Some(fraction) => open.entry.touch_dial(quantity, fraction),
            None => open.entry.choose(quantity),
        }
    }

    /// The finger has left the dial: what it set is kept.
    pub fn release_dial(&mut self) {
        self.keep_draft();
    }

    /// Ticks or unticks something on the look-round, by its code.
    pub fn toggle_look_round(&mut self, id: &str) {
        if let Some(tick) = Tick::ALL.into_iter().find(|tick| tick.code() == id) {
            self.edit(|entry| entry.toggle_tick(tick));
        }
    }

    /// Notes the flow, by its code.
    pub fn toggle_flow(&mut self, id: &str) {
        let states = [FlowState::Flowing, FlowState::Still];
        if let Some(flow) = states.into_iter().find(|flow| flow.code() == id) {
            self.edit(|entry| entry.toggle_flow(flow));
        }
    }

    pub(super) fn show(&mut self, sheet: Sheet) {
        if let Some(open) = &mut self.station {
            open.sheet = sheet;
        }
    }

    pub(super) fn edit(&mut self, act: impl FnOnce(&mut StationEntry)) {
        if let Some(open) = &mut self.station {
            open.frame.arrival = None;
            act(&mut open.entry);
            self.keep_draft();
        }
    }

    pub(super) fn keep_draft(&mut self) {
        let (Some(open), Some(logbook)) = (&mut self.station, &mut self.logbook) else {
            return;
        };
        if open.correcting.is_some() {
            // Taken for a new reading, a correction under way would be saved a second time.
            open.frame.trouble.clear();
            return;
        }
        let name = draft::name(open.code.as_str());
        let kept = if open.entry.is_untouched() {
            actions::clear_draft(logbook, &name)
        } else {
            actions::save_draft(logbook, &name, &draft::write(&open.kept, &open.entry))
        };
        open.frame.trouble = match kept {
            Ok(()) => String::new(),
            Err(error) => messages::logbook_failed(&error).to_string(),
        };
    }
}

impl OpenStation {
    /// Takes a draft found on arrival: on the round it was begun on it simply goes on, else the
    /// operator is asked, because a week-old value must not pass for today's.
    fn take_draft(&mut self, left: SavedDraft, now_ms: i64, offset: i16) {
        let mut probe = self.entry.clone();
        match draft::read(&left.content, &mut probe) {
            Some(kept) if kept.round == self.kept.round => self.restore(&left, now_ms, offset),
            Some(_) => {
                self.left_over = Some(left);
                self.sheet = Sheet::Question;
            }
            None => {}
        }
    }

    pub(super) fn restore(&mut self, left: &SavedDraft, now_ms: i64, offset: i16) {
        let round = self.kept.round.clone();
        if let Some(kept) = draft::read(&left.content, &mut self.entry) {
            self.kept = DraftFrame { round, ..kept };
            self.frame.arrival = Some(Sentences {
                meaning: format!(
                    "Typed {} at {} and not saved yet.",
                    moment::day(left.saved_ms, now_ms, offset),
                    moment::time(left.saved_ms, offset)
                ),
                advice: "Go on, or read back.".to_owned(),
                tone: Tone::None,
            });
        }
    }
}

fn unknown(code: &StationCode) -> winze_core::Error {
    winze_core::Error::UnknownStation {
        station: code.clone(),
    }
}

pub(super) fn read_now() -> Sentences {
    Sentences {
        meaning: String::new(),
        advice: "Touch a dial where its needle stands, or type the value.".to_owned(),
        tone: Tone::None,
    }
}

fn was_visited(state: &StopState, offset: i16) -> Option<Sentences> {
    let meaning = match state {
        StopState::Left => return None,
        StopState::Done { taken_ms, .. } => format!(
            "Read at {} on this round. A new reading will stand in its place.",
            moment::time(*taken_ms, offset)
        ),
        StopState::Skipped { .. } => {
            "Skipped on this round. A reading will stand in its place.".to_owned()
        }
    };
    Some(Sentences {
        meaning,
        ..read_now()
    })
}

fn done(state: &StopState) -> Option<Done> {
    match *state {
        StopState::Done {
            reading, taken_ms, ..
        } => Some(Done { reading, taken_ms }),
        StopState::Left | StopState::Skipped { .. } => None,
    }
}

fn about_left_over(left: &SavedDraft, now_ms: i64, offset: i16) -> QuestionView {
    QuestionView {
        question: format!(
            "Values typed {} were never saved. Take them?",
            moment::day(left.saved_ms, now_ms, offset)
        ),
        detail: "They are from another walk-round.".to_owned(),
        answers: vec![
            Choice {
                is_on: true,
                ..Choice::new(AFRESH, "Start afresh")
            },
            Choice::new(TAKE_OVER, "Take them over"),
        ],
    }
}
