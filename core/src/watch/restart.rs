//! What acts on a station make worthless of what the watch has learned.

/// What a set-up, recalibration, gauge change or repair starts anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Restart {
    /// Everything: set-up, or intrusive work on the station.
    Station,
    /// The inlet's usual pressure changed on purpose.
    Inlet,
    /// The first stage was repaired.
    FirstStage,
    /// The second stage was repaired or recalibrated.
    SecondStage,
    /// The inlet gauge was changed.
    InletGauge,
    /// The interstage gauge was changed.
    InterstageGauge,
    /// The outlet gauge was changed.
    OutletGauge,
}

impl Restart {
    /// The watched quantities that start anew.
    #[must_use]
    pub const fn quantities(self) -> [bool; 3] {
        match self {
            Self::Station => [true, true, true],
            Self::Inlet => [true, false, false],
            Self::FirstStage | Self::InterstageGauge => [false, true, false],
            Self::SecondStage | Self::OutletGauge => [false, false, true],
            Self::InletGauge => [true, true, false],
        }
    }

    /// The gauges whose repeats start anew.
    pub(super) const fn gauges(self) -> [bool; 3] {
        match self {
            Self::Station => [true, true, true],
            Self::InletGauge => [true, false, false],
            Self::InterstageGauge => [false, true, false],
            Self::OutletGauge => [false, false, true],
            Self::Inlet | Self::FirstStage | Self::SecondStage => [false, false, false],
        }
    }
}
