//! A closer look at the open station: suspects and the next check, history, arithmetic.

use winze_core::actions::{self, NewCheckAnswer};
use winze_core::record::DoubtReply;
use winze_core::station::Quantity;
use winze_core::suspects::Check;
use winze_core::verdict::Entry;

use super::station::{OpenStation, Sheet};
use super::{Screen, Session};
use crate::messages;
use crate::presenters::chart::Plot;
use crate::presenters::closer::{self, WorkedOut};
use crate::presenters::course::{Course, Finding};
use crate::presenters::finding::{self, FindingView};
use crate::presenters::flag::{self, FlagLine};
use crate::presenters::history::{self, HistoryView, Part, Reach};
use crate::presenters::view::Choice;
use crate::tablet::past::Past;

/// What the closer look shows of what there is.
#[derive(Default)]
pub(super) struct Closer {
    /// Which finding.
    pub finding: usize,
    /// How many checks were passed over.
    pub passed: usize,
    /// Which part of the past.
    pub part: Part,
    /// Whose arithmetic.
    pub quantity: Option<Quantity>,
}

/// The frame of the closer look.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CloserView {
    /// The ways to look.
    pub tabs: Vec<Choice>,
    /// On the key that leads on: to the next station, or back to the gauges.
    pub go_on: String,
    /// What went wrong last, or empty.
    pub trouble: String,
    /// Label of the key that corrects the reading, or empty.
    pub correct: String,
}

impl OpenStation {
    /// What stands, with the entry tried out as soon as all three gauges are typed.
    pub(super) fn findings(&self, now_ms: i64) -> Vec<Finding> {
        let Some(past) = &self.past else {
            return Vec::new();
        };
        let entry = self.entry.entry();
        let is_whole = Quantity::ALL.iter().all(|one| entry.get(*one).is_some());
        if !is_whole || self.saved.is_some() || self.correcting.is_some() {
            return past.course.standing.clone();
        }
        let asked = self.entry.asked();
        let is_confirmed = asked.iter().any(|asked| asked.reply == DoubtReply::AsTyped);
        past.tried(
            self.entry.station(),
            now_ms,
            entry,
            self.entry.ticks(),
            is_confirmed,
        )
    }

    fn finding(&self, now_ms: i64) -> Option<(Finding, usize)> {
        let all = self.findings(now_ms);
        let chosen = all.get(self.closer.finding % all.len().max(1)).cloned();
        Some((chosen?, all.len()))
    }
}

impl Session {
    /// The flag under the dials; none while nothing stands.
    pub(super) fn flag_line(&self, open: &OpenStation) -> Option<FlagLine> {
        let (now_ms, offset) = self.now();
        let all = open.findings(now_ms);
        let first = all.first()?;
        let mut line = flag::line(first, now_ms, offset);
        if all.len() > 1 {
            line.heading = format!("{}, and {} more", line.heading, all.len() - 1);
        }
        Some(line)
    }

    /// Reads the open station's past anew.
    pub(super) fn read_past(&mut self) {
        let (Some(open), Some(logbook)) = (&mut self.station, &self.logbook) else {
            return;
        };
        match Past::read(logbook, &open.code, open.entry.station()) {
            Ok(past) => open.past = Some(past),
            // The gauges can be read all the same.
            Err(error) => open.frame.trouble = messages::logbook_failed(&error).to_string(),
        }
    }

    /// Looks closer: at the suspects where something stands, else at the history.
    pub fn look_closer(&mut self) {
        let (now_ms, _) = self.now();
        if let Some(open) = &mut self.station {
            let has_finding = !open.findings(now_ms).is_empty();
            open.closer.finding = 0;
            open.closer.passed = 0;
            open.sheet = if has_finding {
                Sheet::Finding
            } else {
                Sheet::History
            };
        }
    }

    /// Changes what is looked at, by the tab's id.
    pub fn look_at(&mut self, id: &str) {
        let sheet = match id {
            closer::FINDING => Sheet::Finding,
            closer::HISTORY => Sheet::History,
            closer::WORKED_OUT => Sheet::WorkedOut,
            _ => return,
        };
        self.show(sheet);
    }

    /// The frame of the closer look.
    #[must_use]
    pub fn closer_view(&self) -> Option<CloserView> {
        let open = self.station.as_ref()?;
        let (now_ms, _) = self.now();
        let on = match open.sheet {
            Sheet::Finding => closer::FINDING,
            Sheet::History => closer::HISTORY,
            _ => closer::WORKED_OUT,
        };
        Some(CloserView {
            tabs: closer::tabs(on, !open.findings(now_ms).is_empty()),
            go_on: match (&open.saved, self.next_after_saved()) {
                (None, _) => "Back to the gauges".to_owned(),
                (Some(_), Some(next)) => format!("Go on to {next}"),
                (Some(_), None) => "Back to the round".to_owned(),
            },
            trouble: open.frame.trouble.clone(),
            correct: if open.saved.is_some() {
                self.correct_label()
            } else {
                String::new()
            },
        })
    }

    fn next_after_saved(&self) -> Option<String> {
        let open = self.station.as_ref()?;
        open.round?;
        let round = winze_core::query::open_round(self.logbook.as_ref()?).ok()??;
        Some(round.next_after(&open.code)?.code.as_str().to_owned())
    }

    /// Leads on: to the next station after saving, else back to the gauges.
    pub fn go_on(&mut self) {
        let Some(open) = &mut self.station else {
            return;
        };
        match open.saved.take() {
            Some(said) => {
                let (code, round) = (open.code.clone(), open.round);
                self.go_on_after(&code, round, said);
            }
            None => self.change(),
        }
    }

    /// Suspects and the next check.
    #[must_use]
    pub fn finding_view(&self) -> Option<FindingView> {
        let open = self.station.as_ref()?;
        let (chosen, of) = open.finding(self.now().0)?;
        Some(finding::finding(
            &chosen,
            of,
            open.closer.passed,
            self.now(),
        ))
    }

    /// Shows the next of several findings.
    pub fn next_finding(&mut self) {
        if let Some(open) = &mut self.station {
            open.closer.finding += 1;
            open.closer.passed = 0;
        }
    }

    /// Passes over a check that cannot be done now.
    pub fn pass_check(&mut self) {
        if let Some(open) = &mut self.station {
            open.closer.passed += 1;
        }
    }

    /// Records the answer to a check, by its code; the ranking follows it.
    pub fn answer_check(&mut self, code: &str, is_yes: bool) {
        let by = self.around.by.clone();
        let (now_ms, _) = self.now();
        let (Some(open), Some(logbook)) = (&mut self.station, &mut self.logbook) else {
            return;
        };
        let found = open.finding(now_ms).and_then(|(chosen, _)| chosen.reading);
        let (Some(check), Some(reading)) = (Check::from_code(code), found) else {
            return;
        };
        let new = NewCheckAnswer {
            reading,
            check,
            is_yes,
            note: String::new(),
            by,
        };
        match actions::answer_check(logbook, new) {
            Ok(_) => {
                open.closer.passed = 0;
                open.frame.trouble.clear();
                self.read_past();
            }
            Err(error) => open.frame.trouble = messages::logbook_failed(&error).to_string(),
        }
    }

    /// The window tells how large a strip's plot is, pixels.
    pub fn strips_sized(&mut self, width: f64, height: f64) {
        self.plot = Plot { width, height };
    }

    /// The strips.
    #[must_use]
    pub fn history_view(&self) -> Option<HistoryView> {
        let open = self.station.as_ref()?;
        let none = Course::default();
        let course = open.past.as_ref().map_or(&none, |past| &past.course);
        let station = open.entry.station();
        Some(history::history(
            station,
            course,
            open.closer.part,
            self.plot,
            self.now(),
        ))
    }

    /// Shows more or less of the past, by the key's id.
    pub fn reach(&mut self, id: &str) {
        if let (Some(open), Some(reach)) = (&mut self.station, Reach::from_id(id)) {
            open.closer.part = Part { reach, back: 0 };
        }
    }

    /// Goes back or on in time by half of what is shown.
    pub fn move_in_time(&mut self, by: i32) {
        let can = self
            .history_view()
            .map(|view| (view.can_earlier, view.can_later));
        if let (Some(open), Some((can_earlier, can_later))) = (&mut self.station, can)
            && (if by > 0 { can_later } else { can_earlier })
        {
            open.closer.part.back = open.closer.part.back.saturating_add_signed(-by.signum());
        }
    }

    /// The arithmetic of a verdict.
    #[must_use]
    pub fn worked_out(&self) -> Option<WorkedOut> {
        let open = self.station.as_ref()?;
        let quantity = open.closer.quantity.unwrap_or(open.entry.chosen());
        Some(closer::worked_out(
            open.entry.station(),
            &open.entry.entry(),
            open.past.as_ref().and_then(|past| past.newest),
            quantity,
            self.now(),
        ))
    }

    /// Chooses whose arithmetic is shown.
    pub fn work_out(&mut self, quantity: Quantity) {
        if let Some(open) = &mut self.station {
            open.closer.quantity = Some(quantity);
        }
    }

    /// The newest reading of the open station.
    #[must_use]
    pub fn newest_reading(&self) -> Option<Entry> {
        let past = self.station.as_ref()?.past.as_ref()?;
        past.newest.map(|(entry, _)| entry)
    }

    /// Whether the closer look is on.
    #[must_use]
    pub fn is_looking_closer(&self) -> bool {
        self.screen == Screen::Station && self.sheet().is_some_and(Sheet::is_closer)
    }
}
