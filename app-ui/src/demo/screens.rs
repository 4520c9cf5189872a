//! Pictures of the screens, from copies of the logbooks as they were in the middle of the day.
//!
//! Copies, so that nothing typed for a picture gets into a logbook of the demo. They are drawn
//! without a display, each screen upright and lying, and one of each window in bright light.

use std::path::{Path, PathBuf};
use std::rc::Rc;

use winze_core::station::Quantity;

use super::folders::{DayClock, Folders};
use super::unexpected;
use crate::bindings::office::Office;
use crate::bindings::office_pictures;
use crate::bindings::tablet::Tablet;
use crate::messages::{UserMessage, file_failed, logbook_failed};
use crate::office::session::Session as OfficeSession;
use crate::pictures::{PictureError, Pictures};
use crate::presenters::{closer, doubt};
use crate::tablet::session::{Session, Surroundings};

/// The two sizes of a tablet's screen: lying and upright.
const SIZES: [(u32, u32); 2] = [(1280, 800), (800, 1280)];

/// Keeps a copy of a logbook that is closed, for the pictures.
///
/// # Errors
/// When it cannot be copied.
pub fn keep(from: &Path, to: &Path) -> Result<(), UserMessage> {
    let failed = |error: std::io::Error| file_failed("written", to, &error);
    std::fs::create_dir_all(to).map_err(failed)?;
    for entry in std::fs::read_dir(from).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if let Some(name) = path.file_name().filter(|_| path.is_file()) {
            std::fs::copy(&path, to.join(name)).map_err(failed)?;
        }
    }
    Ok(())
}

/// Puts copies of the bundles into the tray of a kept office.
///
/// # Errors
/// When they cannot be copied.
pub fn keep_tray(bundles: &[PathBuf], kept_office: &Path) -> Result<(), UserMessage> {
    let tray = kept_office.join("tray");
    let failed = |error: std::io::Error| file_failed("written", &tray, &error);
    std::fs::create_dir_all(&tray).map_err(failed)?;
    for path in bundles {
        if let Some(name) = path.file_name() {
            std::fs::copy(path, tray.join(name)).map_err(failed)?;
        }
    }
    Ok(())
}

/// Draws every screen; answers the files, as named below the demo's folder.
///
/// # Errors
/// When the process shows windows already, or a picture cannot be written.
pub fn draw(folders: &Folders, clock: &DayClock) -> Result<Vec<String>, UserMessage> {
    let pictures = Pictures::start().map_err(|error| failed(&error))?;
    let easel = Easel {
        pictures,
        folder: folders.pictures.clone(),
    };
    let mut files = easel.tablet(clock, &folders.kept_tablet, &folders.bundles)?;
    files.extend(easel.office(clock, &folders.kept_office, office_pictures::draw)?);
    files.extend(easel.office(clock, &folders.kept_works, office_pictures::draw_upkeep)?);
    files.sort();
    Ok(files)
}

fn failed(error: &PictureError) -> UserMessage {
    unexpected(format!("a picture could not be made: {error}."))
}

struct Easel {
    pictures: Pictures,
    folder: PathBuf,
}

impl Easel {
    /// Draws the window as it stands, in both sizes.
    fn both(&self, tablet: &Rc<Tablet>, name: &str) -> Result<Vec<String>, UserMessage> {
        let mut files = Vec::new();
        for (width, height) in SIZES {
            let file = format!("tablet-{name}-{width}x{height}.png");
            let picture = self.pictures.draw(&tablet.window, width, height);
            picture
                .and_then(|picture| picture.save(&self.folder.join(&file)))
                .map_err(|error| failed(&error))?;
            files.push(format!("pictures/{file}"));
        }
        Ok(files)
    }

    /// Draws screens of the office on a kept logbook.
    fn office(
        &self,
        clock: &DayClock,
        kept: &Path,
        draw: office_pictures::Draw,
    ) -> Result<Vec<String>, UserMessage> {
        let session = OfficeSession::new(clock.open(kept)?).map_err(|e| logbook_failed(&e))?;
        let office = Office::new(session).map_err(|error| failed(&error.into()))?;
        let mut files = Vec::new();
        draw(&self.pictures, &office, &mut |name, picture| {
            let file = format!("{name}.png");
            picture.save(&self.folder.join(&file))?;
            files.push(format!("pictures/{file}"));
            Ok(())
        })
        .map_err(|error| failed(&error))?;
        Ok(files)
    }

    /// Draws a station with a flag: under its dials, after saving, looked into, and corrected.
    fn closer(&self, tablet: &Rc<Tablet>) -> Result<Vec<String>, UserMessage> {
        let mut files = Vec::new();
        tablet.act(|session| session.open_tag(FLAGGED));
        tablet.act(type_as_last_time);
        files.extend(self.both(tablet, "station-flag")?);
        tablet.act(Session::ask_read_back);
        files.extend(self.both(tablet, "read-back-flag")?);
        tablet.act(Session::save);
        files.extend(self.both(tablet, "suspects")?);
        tablet.act(|session| {
            let check = session.finding_view().and_then(|view| view.check);
            session.answer_check(&check.unwrap_or_default().code, false);
        });
        files.extend(self.both(tablet, "suspects-answered")?);
        tablet.act(|session| session.look_at(closer::HISTORY));
        files.extend(self.both(tablet, "history")?);
        tablet.set_bright(true);
        files.extend(self.both(tablet, "history-bright")?);
        tablet.set_bright(false);
        tablet.act(|session| session.reach("quarter"));
        files.extend(self.both(tablet, "history-quarter")?);
        tablet.act(|session| session.look_at(closer::WORKED_OUT));
        files.extend(self.both(tablet, "worked-out")?);
        tablet.act(Session::start_correction);
        files.extend(self.both(tablet, "correct")?);
        tablet.act(|session| {
            session.choose_gauge(Quantity::Inlet);
            session.nudge(1);
            session.ask_read_back();
            session.answer(doubt::AS_TYPED);
        });
        files.extend(self.both(tablet, "correct-read-back")?);
        tablet.act(Session::save);
        files.extend(self.both(tablet, "correct-why")?);
        tablet.act(|session| {
            session.open_tag(OUTSIDE);
            session.look_closer();
            session.look_at(closer::HISTORY);
        });
        files.extend(self.both(tablet, "history-outside")?);
        Ok(files)
    }

    /// Draws what is due, the work at a station, and a recalibration up to the screw.
    fn work(&self, tablet: &Rc<Tablet>) -> Result<Vec<String>, UserMessage> {
        let mut files = Vec::new();
        for (name, acts) in WORK {
            if *name == "due" {
                tablet.act(Session::go_to_due);
            }
            for act in *acts {
                tablet.act(|session| session.work_act(act));
            }
            files.extend(self.both(tablet, name)?);
        }
        for (name, value, acts) in AT_THE_SCREW {
            tablet.act(|session| {
                session.work_act("pick:flow:usual");
                session.work_act("steady:standing");
                value.chars().for_each(|key| session.work_key(key));
            });
            files.extend(self.both(tablet, name)?);
            for act in *acts {
                tablet.act(|session| session.work_act(act));
            }
        }
        Ok(files)
    }

    fn tablet(
        &self,
        clock: &DayClock,
        kept: &Path,
        stick: &Path,
    ) -> Result<Vec<String>, UserMessage> {
        let place = crate::tablet::session::Place {
            label: "Stick".to_owned(),
            path: stick.to_path_buf(),
        };
        let around = Surroundings {
            by: "Ada".to_owned(),
            places: Box::new(move || vec![place.clone()]),
            nonce: Box::new(|| [0xd; 8]),
        };
        let session = Session::new(clock.open(kept)?, around);
        let tablet = Tablet::new(session).map_err(|error| failed(&error.into()))?;
        let mut files = self.both(&tablet, "round")?;
        tablet.act(Session::act_next);
        files.extend(self.both(&tablet, "station")?);
        type_station(&tablet);
        files.extend(self.both(&tablet, "station-read")?);
        tablet.set_bright(true);
        files.extend(self.both(&tablet, "station-read-bright")?);
        tablet.set_bright(false);
        tablet.act(Session::ask_read_back);
        files.extend(self.both(&tablet, "read-back")?);
        tablet.act(Session::change);
        tablet.act(Session::ask_skip);
        files.extend(self.both(&tablet, "skip")?);
        tablet.act(Session::change);
        tablet.act(Session::ask_note);
        files.extend(self.both(&tablet, "note")?);
        tablet.act(Session::change);
        tablet.act(forget_a_point);
        tablet.act(Session::ask_read_back);
        files.extend(self.both(&tablet, "question")?);
        files.extend(self.closer(&tablet)?);
        files.extend(self.work(&tablet)?);
        tablet.act(Session::go_to_hand_over);
        files.extend(self.both(&tablet, "hand-over")?);
        tablet.act(Session::go_to_who);
        files.extend(self.both(&tablet, "who")?);
        tablet.act(Session::go_to_about);
        files.extend(self.both(&tablet, "about")?);
        Ok(files)
    }
}

/// What is pressed for each picture of the work at a station. Steps before the screw are passed over
/// with a reason: the demo's own day does them in full.
const WORK: &[(&str, &[&str])] = &[
    ("due", &[]),
    ("work", &["station:T-03"]),
    ("procedures", &["open"]),
    ("step", &["procedure:recalibrate", "why:outlet-off"]),
    ("step-pass", &["pass"]),
    ("step-gauges", &["because:responsible-decided"]),
    ("steps", &["steps"]),
    (
        "step-flow",
        &[
            "leave",
            "pass",
            "because:responsible-decided",
            "pass",
            "because:responsible-decided",
            "pass",
            "because:responsible-decided",
        ],
    ),
    (
        "screw",
        &[
            "pick:flow:usual",
            "act",
            "pass",
            "because:responsible-decided",
        ],
    ),
];

/// What is read and then pressed at the screw.
const AT_THE_SCREW: &[(&str, &str, &[&str])] = &[
    ("screw-first", "2.19", &["keep", "turn:-8"]),
    ("screw-turned", "2.02", &["keep"]),
];

/// A station of the upper levels where something grows wrong.
const FLAGGED: &str = "T-03";
/// One where it has grown so far that a pressure is outside its band.
const OUTSIDE: &str = "T-05";

/// Types what the open station showed at its newest reading.
fn type_as_last_time(session: &mut Session) {
    let newest = session.newest_reading();
    for quantity in Quantity::ALL {
        let Some(typed) = newest.and_then(|newest| newest.get(quantity)) else {
            continue;
        };
        session.choose_gauge(quantity);
        typed
            .digits
            .to_string()
            .chars()
            .for_each(|key| session.key(key));
    }
    session.toggle_flow("flowing");
}

/// Types values the station should show: the middles of its expected bands, as far as its dials
/// can show them.
fn type_station(tablet: &Rc<Tablet>) {
    tablet.act(|session| {
        let Some(entry) = session.entry() else { return };
        let station = entry.station().clone();
        let middle = station.inlet_usual.middle();
        let ratio = station.first_stage.ratio_in_use().unwrap_or(1.0);
        let interstage = winze_core::units::Pressure::from_f64_pa(middle.as_f64_pa() / ratio);
        let set_point = station.second_stage.set_point.to_pressure();
        let values = [Some(middle), interstage, Some(set_point)];
        for (quantity, value) in Quantity::ALL.into_iter().zip(values) {
            let Some(value) = value else { continue };
            let gauge = station.gauge(quantity);
            let digits = value
                .to_decimal(gauge.unit(), gauge.decimals().min(1))
                .to_string();
            session.choose_gauge(quantity);
            digits.chars().for_each(|key| session.key(key));
        }
        session.toggle_flow("flowing");
    });
}

/// Types the outlet value anew without its decimal point.
fn forget_a_point(session: &mut Session) {
    session.choose_gauge(Quantity::Outlet);
    let Some(entry) = session.entry() else { return };
    let Some(typed) = entry.entry().outlet else {
        return;
    };
    let digits = typed.digits.to_string();
    digits.chars().for_each(|_| session.erase());
    digits
        .chars()
        .filter(|key| *key != '.')
        .for_each(|key| session.key(key));
}
