//! What happens to a station, as far as judging its readings is concerned.
//!
//! Plain values: the store makes them of records, tests of nothing. In which order they come is the
//! caller's to say; see [`super::Chronicle`].

use chrono::{DateTime, Utc};
use winze_sync_format::RecordRef;

use crate::procedures::ProcedureCode;
use crate::record::Ticks;
use crate::station::{Quantity, Station};
use crate::suspects::Check;
use crate::upkeep::JobWork;
use crate::verdict::Entry;
use crate::watch::{Begun, Restart, Watched};

/// A reading that counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visited<'a> {
    /// Its record.
    pub reading: RecordRef,
    /// When the gauges were read.
    pub at: DateTime<Utc>,
    /// The definition it is watched under.
    pub definition: &'a Station,
    /// The values in force.
    pub entry: Entry,
    /// What was noticed on the look-round.
    pub ticks: Ticks,
    /// Whether the reader was asked about the values and said that they stand.
    pub is_confirmed: bool,
}

/// The work after which what was learned of a station no longer holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    /// The station was set up, or set up again after intrusive work.
    SetUp,
    /// The second stage was recalibrated.
    Recalibrated,
    /// A gauge was checked and put right, or exchanged for another of the same kind.
    GaugeChanged,
    /// A stage was overhauled.
    Overhauled,
    /// Strainer and control-loop filter were cleaned.
    Cleaned,
    /// The stages were opened and looked into.
    Inspected,
    /// The station was shut and brought back, or looked at.
    Other,
}

impl Work {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::SetUp,
        Self::Recalibrated,
        Self::GaugeChanged,
        Self::Overhauled,
        Self::Cleaned,
        Self::Inspected,
        Self::Other,
    ];

    /// What was done in a procedure.
    #[must_use]
    pub const fn of(procedure: ProcedureCode) -> Self {
        match procedure {
            ProcedureCode::SetUp => Self::SetUp,
            ProcedureCode::Recalibrate => Self::Recalibrated,
            ProcedureCode::YearlyClean => Self::Cleaned,
            ProcedureCode::InternalInspection => Self::Inspected,
            ProcedureCode::ReturnToService | ProcedureCode::WeeklyLookRound => Self::Other,
        }
    }

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::SetUp => "set-up",
            Self::Recalibrated => "recalibrated",
            Self::GaugeChanged => "gauge-changed",
            Self::Overhauled => "overhauled",
            Self::Cleaned => "cleaned",
            Self::Inspected => "inspected",
            Self::Other => "worked-on",
        }
    }
}

/// What a job that was done starts anew: common practice, no source.
#[must_use]
pub fn restarts_of_job(work: JobWork) -> Option<(Work, Restart)> {
    Some(match work {
        JobWork::CleanStrainer => (Work::Cleaned, Restart::Inlet),
        JobWork::OverhaulFirstStage => (Work::Overhauled, Restart::FirstStage),
        JobWork::OverhaulSecondStage => (Work::Overhauled, Restart::SecondStage),
        JobWork::Recalibrate => (Work::Recalibrated, Restart::SecondStage),
        JobWork::CheckGauge(quantity) => {
            let gauge = match quantity {
                Quantity::Inlet => Restart::InletGauge,
                Quantity::Interstage => Restart::InterstageGauge,
                Quantity::Outlet => Restart::OutletGauge,
            };
            (Work::GaugeChanged, gauge)
        }
        JobWork::StopLeak
        | JobWork::RepairDamage
        | JobWork::FindNoise
        | JobWork::DrainChamber
        | JobWork::ClearAccess
        | JobWork::LookIntoSupply
        | JobWork::Other => return None,
    })
}

/// Work that starts baselines anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Restarted {
    /// When it was done.
    pub at: DateTime<Utc>,
    /// What was done.
    pub work: Work,
    /// What starts anew.
    pub what: Restart,
    /// The record that says so.
    pub record: RecordRef,
}

/// A check that was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answered {
    /// When it was answered.
    pub at: DateTime<Utc>,
    /// The check.
    pub check: Check,
    /// The answer.
    pub is_yes: bool,
    /// The record that says so.
    pub record: RecordRef,
}

/// Something that happened to a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event<'a> {
    /// It was read.
    Visit(Visited<'a>),
    /// It was worked on.
    Restart(Restarted),
    /// A check was answered.
    Answer(Answered),
}

/// Why a baseline starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BaselineWhy {
    /// The watch began it: first visit, another definition, or a level that became usual.
    Watch(Begun),
    /// The station was worked on; the record says so.
    Work {
        /// What was done.
        work: Work,
        /// The record that says so.
        record: RecordRef,
    },
}

impl BaselineWhy {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Watch(Begun::FirstSeen) => "first-seen",
            Self::Watch(Begun::Changed(change)) => change.code(),
            Self::Watch(Begun::BecameUsual) => "became-usual",
            Self::Work { work, .. } => work.code(),
        }
    }
}

/// Where the baseline of a watched quantity starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BaselineStart {
    /// The quantity.
    pub watched: Watched,
    /// From when its readings count.
    pub at: DateTime<Utc>,
    /// Why.
    pub why: BaselineWhy,
}
