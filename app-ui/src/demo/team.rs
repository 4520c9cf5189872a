//! The demo's tablets: made, let into the office, and walked by their operators.

use std::path::{Path, PathBuf};

use winze_core::Logbook;
use winze_core::actions::{NewRound, open_round};
use winze_core::query::{not_yet_at_office, rounds};
use winze_core::record::Role;
use winze_core::station::StationCode;

use super::folders::DayClock;
use super::operator::{self, Act};
use super::summary::RoundSummary;
use super::unexpected;
use crate::messages::{UserMessage, logbook_failed};
use crate::tablet::session::{Session, Surroundings};

/// One tablet and its operator.
pub struct Tablet {
    /// What it is called.
    pub name: &'static str,
    /// Its logbook's folder.
    pub folder: PathBuf,
    by: &'static str,
    /// Present but while the folder is copied.
    session: Option<Session>,
    clock: DayClock,
    mark: u8,
}

/// What an operator does at one station.
pub type Stop = (StationCode, Act);

impl Tablet {
    /// Makes a tablet with an empty logbook.
    pub fn make(
        name: &'static str,
        by: &'static str,
        folder: PathBuf,
        clock: &DayClock,
        mark: u8,
    ) -> Result<Self, UserMessage> {
        let logbook = clock.create(&folder, Role::Tablet, name)?;
        let session = Some(session(logbook, by, mark));
        Ok(Self {
            name,
            folder,
            by,
            session,
            clock: clock.clone(),
            mark,
        })
    }

    /// The session.
    pub fn session(&mut self) -> Result<&mut Session, UserMessage> {
        self.session
            .as_mut()
            .ok_or_else(|| unexpected("a tablet is switched off"))
    }

    /// The logbook.
    pub fn logbook(&self) -> Result<&Logbook, UserMessage> {
        let logbook = self.session.as_ref().and_then(Session::logbook);
        logbook.ok_or_else(|| unexpected("a tablet has no logbook"))
    }

    /// Switches the tablet off for as long as `act` lasts, as a dead battery would.
    pub fn while_off<T>(
        &mut self,
        act: impl FnOnce(&Path) -> Result<T, UserMessage>,
    ) -> Result<T, UserMessage> {
        self.session = None;
        let result = act(&self.folder)?;
        let logbook = self.clock.open(&self.folder)?;
        self.session = Some(session(logbook, self.by, self.mark));
        Ok(result)
    }

    /// Takes in what lies on the stick, and lets the office count after comparing its words.
    pub fn join(&mut self, stick: &Path) -> Result<(), UserMessage> {
        let session = self.session()?;
        operator::take(session, stick)?;
        operator::trust_office(session);
        Ok(())
    }

    /// Opens a round of these stops.
    pub fn open_round(&mut self, title: &str, stops: &[Stop]) -> Result<(), UserMessage> {
        let new = NewRound {
            title: title.to_owned(),
            stations: stops.iter().map(|(code, _)| code.clone()).collect(),
            by: self.by.to_owned(),
        };
        // Which tablet walks what is agreed before it starts; the screen offers all stations.
        self.on_logbook(|logbook| {
            let opened = open_round(logbook, new);
            opened.map(|_| ()).map_err(|error| logbook_failed(&error))
        })
    }

    /// Acts on the logbook itself, where the screens are not what is shown.
    pub fn on_logbook<T>(
        &mut self,
        act: impl FnOnce(&mut Logbook) -> Result<T, UserMessage>,
    ) -> Result<T, UserMessage> {
        let mut logbook = self
            .session
            .take()
            .and_then(Session::into_logbook)
            .ok_or_else(|| unexpected("a tablet has no logbook"))?;
        let result = act(&mut logbook);
        self.session = Some(session(logbook, self.by, self.mark));
        result
    }

    /// Walks to these stops, some minutes apart.
    pub fn walk(&mut self, stops: &[Stop]) -> Result<(), UserMessage> {
        for (code, act) in stops {
            self.clock.advance(9);
            operator::act(self.session()?, code, act)?;
        }
        Ok(())
    }

    /// Closes the round.
    pub fn close_round(&mut self) -> Result<(), UserMessage> {
        let session = self.session()?;
        session.go_to_round();
        session.ask_close();
        let is_asked = session.round_question().is_some();
        if is_asked {
            Err(unexpected("stations were left on the round"))
        } else {
            Ok(())
        }
    }

    /// Own records that no office has acknowledged.
    pub fn waiting(&self) -> Result<u64, UserMessage> {
        not_yet_at_office(self.logbook()?).map_err(|error| logbook_failed(&error))
    }

    /// What became of the newest round.
    pub fn round_summary(&self, noticed: Vec<String>) -> Result<RoundSummary, UserMessage> {
        let rounds = rounds(self.logbook()?, 1).map_err(|error| logbook_failed(&error))?;
        let round = rounds
            .first()
            .ok_or_else(|| unexpected("a round is not there"))?;
        Ok(RoundSummary {
            tablet: self.name.to_owned(),
            stations: round.stops.len(),
            read: round.done(),
            skipped: round.skipped(),
            noticed,
        })
    }
}

fn session(logbook: Logbook, by: &str, mark: u8) -> Session {
    let count = std::cell::Cell::new(0_u32);
    // Unlike on every tablet and after every start; a real one takes them from the system.
    let start = u32::try_from(logbook.start_report().records).unwrap_or(0);
    let around = Surroundings {
        by: by.to_owned(),
        places: Box::new(Vec::new),
        nonce: Box::new(move || {
            count.set(count.get() + 1);
            let number = u64::from(start) << 24 | u64::from(count.get());
            let mut nonce = number.to_be_bytes();
            nonce[0] = mark;
            nonce
        }),
    };
    Session::new(logbook, around)
}
