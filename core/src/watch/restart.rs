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

    /// A bit of its own.
    pub(crate) const fn bit(self) -> u8 {
        1 << self as u8
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

/// What a revised definition changed that the watch rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Change {
    /// The usual inlet pressure.
    UsualInlet,
    /// The ratio in use: nominal, or as left.
    Ratio,
    /// The set point.
    SetPoint,
    /// The inlet gauge: span, division, class or place.
    InletGauge,
    /// The interstage gauge, likewise.
    InterstageGauge,
    /// The outlet gauge, likewise.
    OutletGauge,
}

/// Why the watch began a baseline by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Begun {
    /// The quantity was seen for the first time.
    FirstSeen,
    /// The definition changed in what this quantity rests on.
    Changed(Change),
    /// A level that stood for half a year without anybody acting on it became the usual one.
    BecameUsual,
}

impl Change {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::UsualInlet,
        Self::Ratio,
        Self::SetPoint,
        Self::InletGauge,
        Self::InterstageGauge,
        Self::OutletGauge,
    ];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::UsualInlet => "usual-inlet-revised",
            Self::Ratio => "ratio-revised",
            Self::SetPoint => "set-point-revised",
            Self::InletGauge => "inlet-gauge-revised",
            Self::InterstageGauge => "interstage-gauge-revised",
            Self::OutletGauge => "outlet-gauge-revised",
        }
    }
}
