//! The closed list of things that come round again at a station.

use crate::station::Quantity;

/// A thing to be done again and again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Task {
    /// Look for leaks and damage, and read the three gauges.
    LookRound,
    /// Clean the main strainer and the control loop's filter.
    YearlyClean,
    /// Open both stages and look inside.
    InternalInspection,
    /// Check a gauge against a better one.
    GaugeCheck(Quantity),
}

impl Task {
    /// All of them, in the order in which they are listed.
    pub const ALL: [Self; 6] = [
        Self::LookRound,
        Self::YearlyClean,
        Self::InternalInspection,
        Self::GaugeCheck(Quantity::Inlet),
        Self::GaugeCheck(Quantity::Interstage),
        Self::GaugeCheck(Quantity::Outlet),
    ];

    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::LookRound => "look-round",
            Self::YearlyClean => "yearly-clean",
            Self::InternalInspection => "internal-inspection",
            Self::GaugeCheck(Quantity::Inlet) => "inlet-gauge-check",
            Self::GaugeCheck(Quantity::Interstage) => "interstage-gauge-check",
            Self::GaugeCheck(Quantity::Outlet) => "outlet-gauge-check",
        }
    }

    /// Finds the task with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|task| task.code() == code)
    }

    /// The number in records.
    pub(crate) const fn number(self) -> u64 {
        match self {
            Self::LookRound => 1,
            Self::YearlyClean => 2,
            Self::InternalInspection => 3,
            Self::GaugeCheck(Quantity::Inlet) => 4,
            Self::GaugeCheck(Quantity::Interstage) => 5,
            Self::GaugeCheck(Quantity::Outlet) => 6,
        }
    }

    /// Finds the task with this number.
    pub(crate) fn from_number(number: u64) -> Option<Self> {
        Self::ALL.into_iter().find(|task| task.number() == number)
    }
}
