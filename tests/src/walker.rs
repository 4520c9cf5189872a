//! Somebody at a station with a tablet: goes through whole procedures by tapping keys by their label,
//! and notes where each tap landed.
//!
//! Decides like an operator, by the step on the screen; what a key does is the program's.

use std::rc::Rc;

use i_slint_backend_testing::{AccessibleRole, ElementHandle, ElementQuery, mock_elapsed_time};
use slint::LogicalPosition;
use slint::platform::PointerEventButton;
use winze_app_ui::bindings::tablet::Tablet;
use winze_app_ui::messages::procedures;
use winze_app_ui::presenters::words;
use winze_app_ui::tablet::step_entry::StepEntry;
use winze_core::Logbook;
use winze_core::procedures::{
    Act, Branch, Dirt, DrawOff, Inside, Measurand, MeasureCode, OpenReason, ProcedureCode, Step,
    StepCode,
};

use crate::screen::{self, SETTLE};

/// What the three gauges show before the work, in bar.
pub const AS_FOUND: [&str; 3] = ["10.2", "4.1", "2.3"];
/// What they show after it.
pub const AS_LEFT: [&str; 3] = ["10.2", "4.1", "2.0"];
/// The set point wanted, in bar.
pub const WANTED: &str = "2.0";
/// The outlet while the screw is turned in, until it is set, in bar.
const OUTLETS: [&str; 3] = ["1.2", "1.6", "2.0"];
/// More steps than any procedure has.
const STEPS_MOST: usize = 60;

/// One tap.
#[derive(Debug, Clone)]
pub struct Tap {
    /// The key's label.
    pub label: String,
    /// The middle of the key, in logical pixels of the window.
    pub at: LogicalPosition,
    /// The step that is begun with this tap.
    pub begins: Option<StepCode>,
}

/// Somebody with a tablet.
pub struct Walker {
    tablet: Rc<Tablet>,
    taps: Vec<Tap>,
    begins: Option<StepCode>,
}

impl Walker {
    /// Takes a tablet whose window is of a size in logical pixels. The thread needs a platform; see
    /// [`screen::without_display`].
    #[must_use]
    pub fn with(logbook: Logbook, width: f32, height: f32) -> Self {
        Self {
            tablet: screen::tablet(logbook, width, height),
            taps: Vec::new(),
            begins: None,
        }
    }

    /// The taps since the last call.
    pub fn taps(&mut self) -> Vec<Tap> {
        std::mem::take(&mut self.taps)
    }

    /// The labels of all keys on the screen.
    #[must_use]
    pub fn labels(&self) -> Vec<String> {
        let keys = self.keys(|_| true);
        let labels = keys.iter().filter_map(ElementHandle::accessible_label);
        labels.map(String::from).collect()
    }

    /// Whether a key with this label is on the screen.
    #[must_use]
    pub fn has(&self, label: &str) -> bool {
        !self.keys(|own| own == label).is_empty()
    }

    /// Whether a key with this label can be pressed.
    #[must_use]
    pub fn can(&self, label: &str) -> bool {
        let keys = self.keys(|own| own == label);
        keys.iter()
            .any(|key| key.accessible_enabled() != Some(false))
    }

    /// Taps a key.
    ///
    /// # Panics
    /// When there is not exactly one that can be pressed.
    pub fn tap(&mut self, label: &str) {
        let keys = self.keys(|own| own == label);
        let [key] = keys.as_slice() else {
            panic!(
                "{} keys {label:?} at {:?}; there are {:?}",
                keys.len(),
                self.here(),
                self.labels()
            );
        };
        assert!(
            key.accessible_enabled() != Some(false),
            "{label:?} is off at {:?}",
            self.here()
        );
        let (corner, size) = (key.absolute_position(), key.size());
        self.taps.push(Tap {
            label: label.to_owned(),
            at: LogicalPosition::new(corner.x + size.width / 2.0, corner.y + size.height / 2.0),
            begins: self.begins.take(),
        });
        key.mock_single_click(PointerEventButton::Left);
        mock_elapsed_time(SETTLE);
    }

    /// Taps a key if it is there and can be pressed.
    pub fn tap_if(&mut self, label: &str) -> bool {
        let can = self.can(label);
        if can {
            self.tap(label);
        }
        can
    }

    /// Taps digits and decimal points.
    pub fn tap_digits(&mut self, digits: &str) {
        for digit in digits.chars() {
            match digit {
                '.' => self.tap("decimal point"),
                digit => self.tap(&digit.to_string()),
            }
        }
    }

    /// The step on the screen.
    #[must_use]
    pub fn here(&self) -> Option<StepCode> {
        self.step().map(|step| step.code)
    }

    /// Starts the round and opens a procedure at a station.
    pub fn open(&mut self, station: &str, procedure: ProcedureCode) {
        self.tap_if("Start the round");
        self.tap(&format!("Open {station}"));
        self.tap("work here");
        self.tap("Open a procedure");
        self.tap(&words::capital(procedures::procedure(procedure)));
        let due = procedures::open_reason(Some(OpenReason::Due), "");
        self.tap_if(&words::capital(&due));
    }

    /// Goes through a procedure from the step on the screen to its end and closes it.
    ///
    /// # Panics
    /// When a step does not come to its end.
    pub fn finish(&mut self, branch: Branch) {
        for _ in 0..STEPS_MOST {
            // After a look at a step that is settled.
            self.tap_if("Go on with the next");
            let Some(step) = self.next() else {
                let close = self.one_that_starts("Close it");
                return self.tap(&close);
            };
            self.do_step(step, branch);
        }
        panic!("no end after {STEPS_MOST} steps, at {:?}", self.here());
    }

    /// Does so many steps.
    pub fn do_steps(&mut self, count: usize, branch: Branch) {
        for _ in 0..count {
            if let Some(step) = self.next() {
                self.do_step(step, branch);
            }
        }
    }

    /// The step whose turn it is, brought to the screen.
    fn next(&mut self) -> Option<&'static Step> {
        let next = self.tablet.act(|session| {
            let state = session.going_procedure().and_then(|view| view.state);
            state.and_then(|state| state.next)
        })?;
        self.step().filter(|step| step.code == next)
    }

    fn step(&self) -> Option<&'static Step> {
        self.tablet
            .act(|session| session.step_entry().map(StepEntry::step))
    }

    /// Does the step on the screen.
    fn do_step(&mut self, step: &'static Step, branch: Branch) {
        self.begins = Some(step.code);
        match step.act {
            Act::Choose => self.tap(match branch {
                Branch::Keep => "Keep the set point",
                Branch::Recalibrate => "Set it anew",
            }),
            Act::Calibrate => return self.calibrate(),
            Act::Do | Act::TickAll | Act::TickNoticed | Act::Measure | Act::CheckFigures => {}
        }
        if step.act != Act::TickNoticed {
            for tick in step.ticks {
                self.tap(&words::capital(procedures::tick(*tick)));
            }
        }
        self.type_numbers(step);
        for measure in step.measures {
            if let Some(label) = choice(measure.code) {
                self.tap(&label);
            }
        }
        for said in ["It is done", "The figures are looked at", "Nothing amiss"] {
            self.tap_if(said);
        }
        self.go_on();
    }

    /// Types the gauges, or the numbers of a step.
    fn type_numbers(&mut self, step: &Step) {
        if step.reads_gauges() {
            let is_found = step.code == StepCode::AsFound;
            let values = if is_found { AS_FOUND } else { AS_LEFT };
            for (value, next) in values.iter().zip(["next: interstage", "next: outlet", ""]) {
                self.tap_digits(value);
                if !next.is_empty() {
                    self.tap(next);
                }
            }
            return;
        }
        let numbers: Vec<MeasureCode> = (step.measures.iter().map(|measure| measure.code))
            .filter(|code| matches!(code.measurand(), Measurand::Pressure | Measurand::Turns))
            .collect();
        for (place, code) in numbers.iter().enumerate() {
            self.tap_digits(match code {
                MeasureCode::Supply => AS_FOUND[0],
                MeasureCode::TurnsBackedOff => "4",
                _ => WANTED,
            });
            if place + 1 < numbers.len() {
                let next = self.one_that_starts("next: ");
                self.tap(&next);
            }
        }
    }

    /// Turns the screw in from well below the set point.
    fn calibrate(&mut self) {
        for (place, outlet) in OUTLETS.iter().chain([&WANTED; 2]).enumerate() {
            match place {
                0 => {}
                1 | 2 => self.tap("in 1/4"),
                _ => self.tap("not turned"),
            }
            self.tap_digits(outlet);
            self.tap("needle stands");
            let keep = if place == 0 {
                "Keep this first reading"
            } else {
                "Keep this reading"
            };
            // Without flow nothing is kept.
            if !self.can(keep) {
                self.tap(procedures::draw_off(DrawOff::Usual));
            }
            if self.tap_if("Keep it: set") {
                return;
            }
            self.tap(keep);
        }
    }

    /// Records the step on the screen: read back where something was typed, with a reason where one is asked for.
    pub fn go_on(&mut self) {
        for label in ["Done: go on", "Go on: say why", "Read back"] {
            if self.tap_if(label) {
                break;
            }
        }
        for _ in 0..4 {
            let doubts =
                self.keys(|own| own.starts_with("It does read") || own == "They are as typed");
            let Some(label) = doubts.first().and_then(ElementHandle::accessible_label) else {
                break;
            };
            self.tap(&label);
        }
        self.tap_if("Decided by whoever is responsible");
        self.tap_if("Record it and go on");
    }

    fn keys(&self, is_it: impl Fn(&str) -> bool) -> Vec<ElementHandle> {
        [AccessibleRole::Button, AccessibleRole::Checkbox]
            .into_iter()
            .flat_map(|role| {
                ElementQuery::from_root(&self.tablet.window)
                    .match_accessible_role(role)
                    .find_all()
            })
            .filter(|key| key.accessible_label().is_some_and(|own| is_it(&own)))
            .collect()
    }

    fn one_that_starts(&self, start: &str) -> String {
        let keys = self.keys(|own| own.starts_with(start));
        let label = keys.first().and_then(ElementHandle::accessible_label);
        label.map_or_else(
            || panic!("no key {start:?}; there are {:?}", self.labels()),
            String::from,
        )
    }
}

/// What is picked from a short list.
fn choice(code: MeasureCode) -> Option<String> {
    Some(match code.measurand() {
        Measurand::Pressure | Measurand::Turns => return None,
        Measurand::Count => "once".to_owned(),
        Measurand::DrawOff => procedures::draw_off(DrawOff::Usual).to_owned(),
        Measurand::Air => "no air any more".to_owned(),
        Measurand::Dirt => procedures::dirt(Dirt::Light).to_owned(),
        Measurand::Inside => procedures::inside(Inside::Sound).to_owned(),
    })
}
