//! What a job is and what it is raised from: two closed lists with stable codes.

use crate::record::Tick;
use crate::station::Quantity;
use crate::suspects::Cause;

/// What is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum JobWork {
    /// Find the leak and make it tight.
    StopLeak,
    /// Repair or replace what is broken or corroded.
    RepairDamage,
    /// Find out what makes noise or shakes.
    FindNoise,
    /// Get rid of the water in the chamber.
    DrainChamber,
    /// Clear the way in.
    ClearAccess,
    /// Find out what became of the pressure before the station.
    LookIntoSupply,
    /// Clean the main strainer.
    CleanStrainer,
    /// Overhaul the first stage.
    OverhaulFirstStage,
    /// Overhaul the second stage, its pilot or its control loop.
    OverhaulSecondStage,
    /// Recalibrate the second stage.
    Recalibrate,
    /// Check or replace a gauge.
    CheckGauge(Quantity),
    /// Something else, said in the note.
    Other,
}

impl JobWork {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 14] = [
        Self::StopLeak,
        Self::RepairDamage,
        Self::FindNoise,
        Self::DrainChamber,
        Self::ClearAccess,
        Self::LookIntoSupply,
        Self::CleanStrainer,
        Self::OverhaulFirstStage,
        Self::OverhaulSecondStage,
        Self::Recalibrate,
        Self::CheckGauge(Quantity::Inlet),
        Self::CheckGauge(Quantity::Interstage),
        Self::CheckGauge(Quantity::Outlet),
        Self::Other,
    ];

    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::StopLeak => "stop-leak",
            Self::RepairDamage => "repair-damage",
            Self::FindNoise => "find-noise",
            Self::DrainChamber => "drain-chamber",
            Self::ClearAccess => "clear-access",
            Self::LookIntoSupply => "look-into-supply",
            Self::CleanStrainer => "clean-strainer",
            Self::OverhaulFirstStage => "overhaul-first-stage",
            Self::OverhaulSecondStage => "overhaul-second-stage",
            Self::Recalibrate => "recalibrate",
            Self::CheckGauge(Quantity::Inlet) => "check-inlet-gauge",
            Self::CheckGauge(Quantity::Interstage) => "check-interstage-gauge",
            Self::CheckGauge(Quantity::Outlet) => "check-outlet-gauge",
            Self::Other => "other",
        }
    }

    /// Finds the work with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|work| work.code() == code)
    }

    /// The number in records.
    pub(crate) const fn number(self) -> u64 {
        match self {
            Self::StopLeak => 1,
            Self::RepairDamage => 2,
            Self::FindNoise => 3,
            Self::DrainChamber => 4,
            Self::ClearAccess => 5,
            Self::LookIntoSupply => 6,
            Self::CleanStrainer => 7,
            Self::OverhaulFirstStage => 8,
            Self::OverhaulSecondStage => 9,
            Self::Recalibrate => 10,
            Self::CheckGauge(Quantity::Inlet) => 11,
            Self::CheckGauge(Quantity::Interstage) => 12,
            Self::CheckGauge(Quantity::Outlet) => 13,
            Self::Other => 14,
        }
    }

    /// Finds the work with this number.
    pub(crate) fn from_number(number: u64) -> Option<Self> {
        Self::ALL.into_iter().find(|work| work.number() == number)
    }

    /// Whether the work is on a stage itself, so that it bears on when to look inside.
    #[must_use]
    pub const fn is_on_a_stage(self) -> bool {
        matches!(self, Self::OverhaulFirstStage | Self::OverhaulSecondStage)
    }

    /// What is usually to be done about something noticed.
    #[must_use]
    pub const fn for_tick(tick: Tick) -> Self {
        match tick {
            Tick::Leak => Self::StopLeak,
            Tick::Damage => Self::RepairDamage,
            Tick::Noise => Self::FindNoise,
            Tick::Flooding => Self::DrainChamber,
            Tick::Access => Self::ClearAccess,
        }
    }

    /// What is usually to be done about a suspected cause; nothing for a slip of the pen, which is
    /// corrected and not repaired, nor for a stuck gauge of which it is not said which.
    #[must_use]
    pub const fn for_suspect(cause: Cause, quantity: Option<Quantity>) -> Option<Self> {
        match cause {
            Cause::SupplyLow | Cause::SupplyHigh => Some(Self::LookIntoSupply),
            Cause::StrainerBlocking => Some(Self::CleanStrainer),
            Cause::FirstStagePassing | Cause::FirstStageSticking => Some(Self::OverhaulFirstStage),
            Cause::SecondStageOpen => Some(Self::OverhaulSecondStage),
            Cause::SecondStageRising | Cause::SecondStageFalling | Cause::SetPointMoved => {
                Some(Self::Recalibrate)
            }
            Cause::InletGaugeWrong => Some(Self::CheckGauge(Quantity::Inlet)),
            Cause::InterstageGaugeWrong => Some(Self::CheckGauge(Quantity::Interstage)),
            Cause::OutletGaugeWrong => Some(Self::CheckGauge(Quantity::Outlet)),
            Cause::GaugeStuck => match quantity {
                Some(quantity) => Some(Self::CheckGauge(quantity)),
                None => None,
            },
            Cause::EntrySlip => None,
        }
    }
}

/// What a job is raised from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum JobCause {
    /// Something noticed on the look-round.
    Noticed(Tick),
    /// A pressure outside its band.
    Outside(Quantity),
    /// A suspected cause.
    Suspected(Cause),
    /// Neither: somebody says so.
    Person,
}

impl JobCause {
    /// Stable code, used in records and exports: `noticed:leak`, `outside:outlet`,
    /// `suspected:strainer-blocking`, `person`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Noticed(Tick::Leak) => "noticed:leak",
            Self::Noticed(Tick::Damage) => "noticed:damage",
            Self::Noticed(Tick::Noise) => "noticed:noise",
            Self::Noticed(Tick::Flooding) => "noticed:flooding",
            Self::Noticed(Tick::Access) => "noticed:access",
            Self::Outside(Quantity::Inlet) => "outside:inlet",
            Self::Outside(Quantity::Interstage) => "outside:interstage",
            Self::Outside(Quantity::Outlet) => "outside:outlet",
            Self::Suspected(cause) => suspected(cause),
            Self::Person => "person",
        }
    }

    /// All of them.
    pub fn all() -> impl Iterator<Item = Self> {
        let noticed = Tick::ALL.into_iter().map(Self::Noticed);
        let outside = Quantity::ALL.into_iter().map(Self::Outside);
        let suspected = Cause::ALL.into_iter().map(Self::Suspected);
        noticed
            .chain(outside)
            .chain(suspected)
            .chain([Self::Person])
    }

    /// Finds the cause with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::all().find(|cause| cause.code() == code)
    }
}

const fn suspected(cause: Cause) -> &'static str {
    match cause {
        Cause::SupplyLow => "suspected:supply-low",
        Cause::SupplyHigh => "suspected:supply-high",
        Cause::StrainerBlocking => "suspected:strainer-blocking",
        Cause::FirstStagePassing => "suspected:first-stage-passing",
        Cause::FirstStageSticking => "suspected:first-stage-sticking",
        Cause::SecondStageRising => "suspected:second-stage-rising",
        Cause::SecondStageFalling => "suspected:second-stage-falling",
        Cause::SecondStageOpen => "suspected:second-stage-open",
        Cause::SetPointMoved => "suspected:set-point-moved",
        Cause::InletGaugeWrong => "suspected:inlet-gauge-wrong",
        Cause::InterstageGaugeWrong => "suspected:interstage-gauge-wrong",
        Cause::OutletGaugeWrong => "suspected:outlet-gauge-wrong",
        Cause::GaugeStuck => "suspected:gauge-stuck",
        Cause::EntrySlip => "suspected:entry-slip",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_and_numbers_read_back() {
        for work in JobWork::ALL {
            assert_eq!(JobWork::from_code(work.code()), Some(work));
            assert_eq!(JobWork::from_number(work.number()), Some(work));
        }
        for cause in JobCause::all() {
            assert_eq!(JobCause::from_code(cause.code()), Some(cause));
        }
        for cause in Cause::ALL {
            let code = JobCause::Suspected(cause).code();
            assert_eq!(code, format!("suspected:{}", cause.code()));
        }
        for tick in Tick::ALL {
            let code = JobCause::Noticed(tick).code();
            assert_eq!(code, format!("noticed:{}", tick.code()));
        }
        assert_eq!(JobCause::from_code("noticed:gremlin"), None);
    }
}
