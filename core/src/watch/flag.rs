//! What the watch says: a flag with its rule, its quantity and its suspects.

use chrono::{DateTime, Utc};

use super::setting::Watched;
use crate::suspects::{Cause, Ranking};

/// The rule that raised a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rule {
    /// A change over several visits.
    Drift,
    /// A change at once.
    Jump,
    /// A gauge shows the same value again and again.
    Stuck,
}

impl Rule {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Drift => "drift",
            Self::Jump => "jump",
            Self::Stuck => "stuck",
        }
    }
}

/// What a flag is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FlagQuantity {
    /// The inlet pressure.
    Inlet,
    /// The first stage's ratio.
    FirstStage,
    /// The outlet pressure.
    Outlet,
    /// The inlet gauge itself.
    InletGauge,
    /// The interstage gauge itself.
    InterstageGauge,
    /// The outlet gauge itself.
    OutletGauge,
}

impl FlagQuantity {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Inlet,
        Self::FirstStage,
        Self::Outlet,
        Self::InletGauge,
        Self::InterstageGauge,
        Self::OutletGauge,
    ];

    /// The three gauges, in flow order.
    pub const GAUGES: [Self; 3] = [Self::InletGauge, Self::InterstageGauge, Self::OutletGauge];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::FirstStage => "first-stage",
            Self::Outlet => "outlet",
            Self::InletGauge => "inlet-gauge",
            Self::InterstageGauge => "interstage-gauge",
            Self::OutletGauge => "outlet-gauge",
        }
    }

    /// What a flag is about when `cause` leads and `watched` shows it.
    #[must_use]
    pub const fn of(cause: Cause, watched: Watched) -> Self {
        match (cause, watched) {
            (Cause::InletGaugeWrong, _) => Self::InletGauge,
            (Cause::InterstageGaugeWrong, _) => Self::InterstageGauge,
            (Cause::OutletGaugeWrong, _) => Self::OutletGauge,
            (_, Watched::Inlet) => Self::Inlet,
            (_, Watched::FirstStage) => Self::FirstStage,
            (_, Watched::Outlet) => Self::Outlet,
        }
    }
}

/// Something to look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Flag {
    /// The visit that raised it.
    pub at: DateTime<Utc>,
    /// The rule.
    pub rule: Rule,
    /// What it is about.
    pub quantity: FlagQuantity,
    /// The watched quantity in which it shows; for a stuck gauge the one that gauge belongs to.
    pub watched: Watched,
    /// When the condition probably began; `None` where that is not estimated.
    pub onset: Option<DateTime<Utc>>,
    /// How far the quantity is off, as a logarithm (0.05 is about 5 % up).
    pub shift: f64,
    /// Whether it stood before and has grown clearly worse.
    pub is_worse: bool,
    /// What may be behind it.
    pub suspects: Ranking,
}
