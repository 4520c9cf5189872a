//! The walks: an ordinary station, and every procedure on each of its branches.

use std::path::Path;

use winze_core::procedures::{Branch, ProcedureCode};
use winze_tests::screen::ORDINARY_READING;
use winze_tests::walker::{Tap, Walker};

use crate::stored::{self, STATION};
use crate::{HEIGHT, Result, WIDTH};

/// One walk.
pub struct Walk {
    /// What it is called.
    pub name: &'static str,
    what: What,
}

enum What {
    /// The gauges of an ordinary station are read.
    Reading,
    /// A procedure is done; where a count stands, the program is killed after so many steps.
    Procedure(ProcedureCode, Branch, Option<usize>),
}

/// The taps from one start of the program to its end.
pub struct Part {
    pub taps: Vec<Tap>,
}

/// Every walk.
pub const WALKS: [Walk; 9] = [
    Walk {
        name: "reading",
        what: What::Reading,
    },
    of("weekly-look-round", ProcedureCode::WeeklyLookRound),
    of("yearly-clean", ProcedureCode::YearlyClean),
    of("internal-inspection", ProcedureCode::InternalInspection),
    of("return-to-service", ProcedureCode::ReturnToService),
    Walk {
        name: "recalibrate",
        what: What::Procedure(ProcedureCode::Recalibrate, Branch::Recalibrate, None),
    },
    of("set-up-kept", ProcedureCode::SetUp),
    Walk {
        name: "set-up-set-anew",
        what: What::Procedure(ProcedureCode::SetUp, Branch::Recalibrate, None),
    },
    Walk {
        name: "battery-empty",
        what: What::Procedure(ProcedureCode::YearlyClean, Branch::Keep, Some(5)),
    },
];

const fn of(name: &'static str, code: ProcedureCode) -> Walk {
    Walk {
        name,
        what: What::Procedure(code, Branch::Keep, None),
    }
}

impl Walk {
    /// Makes the walk on a window without a display; says where the taps went.
    pub fn without_display(&self, folder: &Path) -> Result<Vec<Part>> {
        let (width, height) = (f32::from(WIDTH), f32::from(HEIGHT));
        let mut walker = Walker::with(stored::logbook(folder)?, width, height);
        match self.what {
            What::Reading => {
                walker.tap("Start the round");
                walker.tap(&format!("Open {STATION}"));
                for label in ORDINARY_READING {
                    walker.tap(label);
                }
            }
            What::Procedure(code, branch, None) => {
                walker.open(STATION, code);
                walker.finish(branch);
            }
            What::Procedure(code, branch, Some(steps)) => {
                walker.open(STATION, code);
                walker.do_steps(steps, branch);
                let before = walker.taps();
                drop(walker);
                let mut walker = Walker::with(stored::again(folder)?, width, height);
                walker.finish(branch);
                let after = walker.taps();
                return Ok(vec![Part { taps: before }, Part { taps: after }]);
            }
        }
        Ok(vec![Part {
            taps: walker.taps(),
        }])
    }

    /// Checks what the walk left behind.
    pub fn check(&self, folder: &Path) -> Result<String> {
        match self.what {
            What::Reading => stored::check_reading(folder, ["10.2", "4.1", "2.0"]),
            What::Procedure(code, branch, _) => stored::check_procedure(folder, code, branch),
        }
    }
}
