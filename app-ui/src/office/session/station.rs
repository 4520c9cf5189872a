//! One station in the session: its readings, the one on the dials, a change under way.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use winze_core::query::{self, StationDetail, Visit};
use winze_core::station::{Quantity, Station, StationCode};
use winze_core::{Logbook, Result};
use winze_sync_format::RecordRef;

use super::{Screen, Session};
use crate::messages::logbook_failed;
use crate::office::cursor::Cursor;
use crate::presenters::office_hydraulics::{Checked, Part, Room, checked, page_count};
use crate::presenters::office_station::Change;

/// Readings of one station that the window can turn through.
const READINGS: usize = 400;

/// Which side of a station is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Panel {
    /// Its readings, one of them on the dials, and the arithmetic of a verdict.
    #[default]
    Readings,
    /// Whether its two stages suit the duty.
    Hydraulics,
    /// Its definition, and a change of it.
    Definition,
}

impl Panel {
    /// All of them, in the order of their number keys.
    pub const ALL: [Self; 3] = [Self::Readings, Self::Hydraulics, Self::Definition];
}

pub(super) struct StationDesk {
    pub(super) code: StationCode,
    pub(super) detail: StationDetail,
    pub(super) visits: Vec<Visit>,
    definitions: BTreeMap<RecordRef, Station>,
    pub(super) at: Cursor,
    pub(super) quantity: Option<Quantity>,
    pub(super) panel: Panel,
    pub(super) change: Change,
    pub(super) checked: Checked,
    pub(super) sheet: SheetDesk,
}

/// Which part of the hydraulic check is shown, and which page of its recommendations.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct SheetDesk {
    pub(super) part: Part,
    pub(super) room: Room,
    pub(super) page: usize,
}

impl StationDesk {
    fn load(logbook: &Logbook, code: &StationCode) -> Result<Option<Self>> {
        let Some(detail) = query::station(logbook, code)? else {
            return Ok(None);
        };
        let visits = query::past_readings(logbook, code, READINGS)?;
        let mut definitions = BTreeMap::from([(detail.revision, detail.definition.clone())]);
        for visit in &visits {
            if let Entry::Vacant(place) = definitions.entry(visit.revision) {
                place.insert(query::definition_at(logbook, visit.revision)?);
            }
        }
        Ok(Some(Self {
            code: code.clone(),
            change: Change::of(&detail.definition),
            checked: checked(&detail.definition),
            sheet: SheetDesk::default(),
            detail,
            visits,
            definitions,
            at: Cursor::default(),
            quantity: None,
            panel: Panel::default(),
        }))
    }

    /// The reading on the dials with the definition it was judged against.
    pub(super) fn chosen(&self) -> Option<(&Visit, &Station)> {
        let visit = &self.visits[self.at.chosen(self.visits.len())?];
        Some((visit, self.definitions.get(&visit.revision)?))
    }

    /// The dials start at the newest reading that counts.
    fn choose_newest(&mut self) {
        let newest = self.visits.iter().position(Visit::counts).unwrap_or(0);
        self.at.choose(newest);
    }
}

impl Session {
    /// Opens a station.
    pub fn open_station(&mut self, code: &str) {
        let Ok(code) = StationCode::parse(code) else {
            return;
        };
        let Some(logbook) = &self.logbook else {
            self.busy();
            return;
        };
        match StationDesk::load(logbook, &code) {
            Ok(Some(mut desk)) => {
                if let Some(old) = &self.station {
                    desk.at = old.at;
                    desk.panel = old.panel;
                    desk.sheet = SheetDesk {
                        page: 0,
                        ..old.sheet
                    };
                }
                desk.choose_newest();
                self.week_fleet.choose(code.as_str());
                self.register.choose(code.as_str());
                self.station = Some(desk);
                self.go(Screen::Station);
                self.fields += 1;
            }
            Ok(None) => {
                self.failed(&logbook_failed(&winze_core::Error::UnknownStation {
                    station: code,
                }));
            }
            Err(error) => self.failed(&logbook_failed(&error)),
        }
    }

    /// Opens the station some places on in the list that this one was opened from.
    pub fn move_station(&mut self, by: isize) {
        let Some(desk) = &self.station else {
            return;
        };
        let list = match self.before {
            Screen::Stations => &self.register,
            _ => &self.week_fleet,
        };
        if let Some(code) = list.beside(desk.code.as_str(), by).map(str::to_owned) {
            self.open_station(&code);
        }
    }

    pub(super) fn reload_station(&mut self) {
        let (Some(logbook), Some(old)) = (&self.logbook, &self.station) else {
            return;
        };
        // When it fails it is kept as it was; the failure shows when the station is opened again.
        if let Ok(Some(desk)) = StationDesk::load(logbook, &old.code) {
            self.station = Some(StationDesk {
                at: old.at,
                quantity: old.quantity,
                panel: old.panel,
                sheet: old.sheet,
                ..desk
            });
        }
    }

    /// Puts a reading on the dials.
    pub fn choose_reading(&mut self, id: &str) {
        if let Some(desk) = &mut self.station
            && let Some(place) = desk
                .visits
                .iter()
                .position(|visit| visit.at.to_string() == id)
        {
            desk.at.choose(place);
            desk.quantity = None;
        }
    }

    /// Shows the arithmetic of one gauge, counted from 0 in flow order.
    pub fn choose_gauge(&mut self, gauge: usize) {
        if let Some(desk) = &mut self.station {
            desk.quantity = Quantity::ALL.get(gauge).copied();
            desk.panel = Panel::Readings;
        }
    }

    /// Shows another part of the hydraulic check.
    pub fn show_part(&mut self, part: Part) {
        if let Some(desk) = &mut self.station {
            desk.sheet.part = part;
        }
    }

    /// Takes in how much room the recommendations have.
    pub fn fit_findings(&mut self, room: Room) -> bool {
        self.station.as_mut().is_some_and(|desk| {
            let changes = desk.sheet.room != room;
            desk.sheet.room = room;
            changes
        })
    }

    /// Turns the pages of the recommendations.
    pub fn turn_findings(&mut self, by: isize) {
        if let Some(desk) = &mut self.station {
            let last = page_count(&desk.checked, desk.sheet.room).saturating_sub(1);
            desk.sheet.page = desk.sheet.page.saturating_add_signed(by).min(last);
        }
    }

    /// Shows another side of the station.
    pub fn show_panel(&mut self, panel: Panel) {
        if let Some(desk) = &mut self.station {
            desk.panel = panel;
            self.fields += 1;
        }
    }

    /// Takes in a change of set point and band as it is typed.
    pub fn type_change(&mut self, set_point: &str, band: &str) {
        if let Some(desk) = &mut self.station {
            desk.change = Change {
                set_point: set_point.to_owned(),
                band: band.to_owned(),
            };
        }
    }

    /// Takes in how many lines the table of readings has room for.
    pub fn fit_readings(&mut self, lines: usize) -> bool {
        self.station.as_mut().is_some_and(|desk| desk.at.fit(lines))
    }

    /// Turns the pages of the table of readings.
    pub fn turn_readings(&mut self, by: isize) {
        if let Some(desk) = &mut self.station {
            desk.at.turn(by, desk.visits.len());
            desk.quantity = None;
        }
    }

    pub(super) fn step_reading(&mut self, by: isize) {
        if let Some(desk) = &mut self.station {
            desk.at.step(by, desk.visits.len());
            desk.quantity = None;
        }
    }

    /// Shows the arithmetic of the gauge before or after.
    pub(super) fn step_gauge(&mut self, by: isize) {
        let now = self.station_page().chosen_gauge;
        self.choose_gauge(now.saturating_add_signed(by).min(Quantity::ALL.len() - 1));
    }
}
