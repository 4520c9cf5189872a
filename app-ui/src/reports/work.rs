//! What was done at a station in one procedure: the plain account that a document is made from.
//!
//! Core values and texts of steps only; nothing is formatted here, nothing is judged.

use winze_core::station::Station;
use winze_core::units::Typed;
use winze_core::verdict::Entry;
use winze_sync_format::RecordRef;

/// What kind of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WorkKind {
    /// A station brought into service.
    SetUp,
    /// The second stage set anew.
    Recalibration,
    /// Strainer and control loop cleaned.
    YearlyClean,
    /// The valves opened up and looked into.
    Inspection,
}

impl WorkKind {
    /// Every kind.
    pub const ALL: [Self; 4] = [
        Self::SetUp,
        Self::Recalibration,
        Self::YearlyClean,
        Self::Inspection,
    ];

    /// The code of its document in commands and file names.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::SetUp => "certificate",
            Self::Recalibration => "recalibration",
            Self::YearlyClean => "yearly",
            Self::Inspection => "inspection",
        }
    }

    /// The kind with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

/// Who recorded something, when and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Act {
    /// The record.
    pub at: RecordRef,
    /// When, milliseconds since 1970-01-01T00:00:00Z by that logbook's clock.
    pub wall_ms: i64,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
    /// The name as typed.
    pub by: String,
    /// What the logbook is called; empty for an unknown one.
    pub log_name: String,
}

/// How the work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// Every step done, or passed over with a reason.
    Completed,
    /// Given up.
    Abandoned,
}

/// The end of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// Who and when.
    pub act: Act,
    /// How.
    pub ending: Ending,
    /// What was noted.
    pub note: String,
}

/// The gauges, read as found or as left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingDone {
    /// Who and when.
    pub act: Act,
    /// What they showed.
    pub entry: Entry,
}

/// How much water was drawn while the screw was turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Draw {
    /// The usual draw-off.
    Usual,
    /// The smallest draw-off: accepted, and noted as not ideal.
    Minimum,
}

/// The outlet pressure after a turn of the screw.
#[derive(Debug, Clone, PartialEq)]
pub struct PointRead {
    /// Turns in from where the screw first stood; negative is further out.
    pub turns: f64,
    /// As read.
    pub outlet: Typed,
    /// The flow then.
    pub draw: Draw,
    /// Who and when.
    pub act: Act,
}

/// What a turn does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerTurn {
    /// Outlet pressure per turn in, Pa.
    pub pa: f64,
    /// The ends of its 95 % interval, Pa, where there are points enough for one.
    pub interval_pa: Option<(f64, f64)>,
    /// Where the fitted line stands at no turns, Pa.
    pub at_zero_pa: f64,
    /// From and to which turns it holds.
    pub holds: (f64, f64),
}

/// The setting of the second stage.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Setting {
    /// The readings in order.
    pub points: Vec<PointRead>,
    /// What a turn does, where it could be found.
    pub per_turn: Option<PerTurn>,
    /// Play of the screw, turns, where it was found.
    pub backlash_turns: Option<f64>,
}

/// How a step stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StepState {
    /// Done.
    Done,
    /// Passed over, with the reason.
    PassedOver {
        /// Why.
        reason: String,
    },
    /// Done once and taken back, with the reason.
    TakenBack {
        /// Why.
        reason: String,
    },
    /// Begun, and not at its end.
    GoingOn,
    /// Recorded differently by two tablets; nobody has decided.
    Disputed,
    /// Not done.
    Open,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepDone {
    /// What was to do.
    pub title: String,
    /// How it stands.
    pub state: StepState,
    /// Who and when; none for an open step.
    pub act: Option<Act>,
    /// What was measured, each with its name.
    pub values: Vec<String>,
    /// What was ticked.
    pub ticks: Vec<String>,
    /// What was noted.
    pub note: String,
    /// Why it was done out of its order, or empty.
    pub out_of_order: String,
}

/// A caution that stands at steps of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionNoted {
    /// What it says.
    pub text: String,
    /// At which steps it stands, numbered from 1.
    pub steps: Vec<usize>,
    /// Who recorded those steps, as typed; without repeats.
    pub by: Vec<String>,
}

/// Something found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Of what.
    pub what: String,
    /// In what state.
    pub how: String,
    /// Whether it is worth a second look.
    pub is_notable: bool,
}

/// A record of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordDone {
    /// What it says, in some words.
    pub what: String,
    /// Who and when.
    pub act: Act,
}

/// A visit before or after the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PastVisit {
    /// When, milliseconds since 1970-01-01T00:00:00Z.
    pub wall_ms: i64,
    /// What the gauges showed.
    pub entry: Entry,
}

/// One procedure at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkDone {
    /// What kind of work.
    pub kind: WorkKind,
    /// The definition that holds as left.
    pub station: Station,
    /// Its record.
    pub revision: Option<RecordRef>,
    /// The definition that held as found, where it was another.
    pub before: Option<Station>,
    /// Who began it and when. The record's id is the id of the document.
    pub opened: Act,
    /// Why it was done, as typed.
    pub reason: String,
    /// Its end, if it has one.
    pub closed: Option<Closing>,
    /// The set point the second stage came with, where it was read.
    pub factory_set_point: Option<Typed>,
    /// Whether that was kept, where it was decided.
    pub keeps_setting: Option<bool>,
    /// The gauges as found.
    pub as_found: Option<ReadingDone>,
    /// The gauges as left.
    pub as_left: Option<ReadingDone>,
    /// How the second stage was set, where it was.
    pub setting: Option<Setting>,
    /// What was found on opening things up.
    pub findings: Vec<Finding>,
    /// Parts used, in words.
    pub parts: Vec<String>,
    /// Who did the work, as typed at its end; empty where nobody was named.
    pub done_by: String,
    /// Who looked it over, as typed at its end; empty for nobody.
    pub seen_by: String,
    /// Every step in its order.
    pub steps: Vec<StepDone>,
    /// Every caution in order of step.
    pub cautions: Vec<CautionNoted>,
    /// Visits before and after, in order of time.
    pub visits: Vec<PastVisit>,
    /// Every record of the work in order of time, the first and the last included.
    pub records: Vec<RecordDone>,
}
