//! What follows from the figures: recommendations as data, with the figures they rest on.
//!
//! When each is raised is decided in [`super::recommend`]; the words are the app's.

use super::duty::DutyFlow;
use super::failure::{Failed, OverrangedGauge};
use super::figure::{Lack, Stage};
use super::load::{InletPoint, SigmaLimit};
use super::window::RatioWindow;
use crate::units::Pressure;

/// How grave a recommendation is, gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Concern {
    /// What is downstream may see more than it is permitted.
    Danger,
    /// The station cannot do its duty.
    DoesNotWork,
    /// It works, but wears, hunts or has nothing in hand.
    Poor,
    /// It works; something simpler may do.
    Consider,
    /// The check is not complete.
    Incomplete,
}

impl Concern {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::DoesNotWork => "does-not-work",
            Self::Poor => "poor",
            Self::Consider => "consider",
            Self::Incomplete => "incomplete",
        }
    }
}

/// One recommendation with its figures.
#[derive(Debug, Clone, PartialEq)]
pub enum Recommendation {
    /// A failure puts more on the pipework downstream than it is permitted, and nothing opens.
    DownstreamUnprotected {
        /// What has failed.
        failed: Failed,
        /// Outlet pressure then.
        outlet: Pressure,
        /// How far above what is permitted.
        excess: Pressure,
        /// Set pressure of the relief valve, if there is one (it is set too high).
        relief: Option<Pressure>,
    },
    /// At the lowest usual inlet pressure the second stage lacks the pressure it needs, or lacks
    /// it at the far end of the ratio's tolerance.
    SetPointTooNearInterstage {
        /// The set point.
        set_point: Pressure,
        /// Interstage pressure it needs.
        needed: Pressure,
        /// Interstage pressure to expect.
        expected: Pressure,
        /// The least within the ratio's tolerance.
        least: Pressure,
    },
    /// The pilot spring does not reach the set point.
    SetPointOutsideSpring {
        /// The set point.
        set_point: Pressure,
        /// Lowest set point of the spring.
        low: Pressure,
        /// Highest set point of the spring.
        high: Pressure,
    },
    /// At the largest known flow and the lowest inlet pressure a stage needs nearly all of its
    /// rated Kv, or more than it has.
    StageUndersized {
        /// Which stage.
        stage: Stage,
        /// Which flow.
        flow: DutyFlow,
        /// Kv needed.
        required_kv: f64,
        /// Kv needed over Kv rated.
        share: f64,
    },
    /// At the smallest known flow and the highest inlet pressure a stage needs so little of its
    /// rated Kv that it works on its seat.
    StageOversized {
        /// Which stage.
        stage: Stage,
        /// Which flow.
        flow: DutyFlow,
        /// Kv needed.
        required_kv: f64,
        /// Kv needed over Kv rated.
        share: f64,
    },
    /// At the highest usual inlet pressure a stage falls below its own limit on sigma.
    StageWouldCavitate {
        /// Which stage.
        stage: Stage,
        /// Its sigma.
        sigma: f64,
        /// Its limit.
        limit: SigmaLimit,
        /// The ratios that would suit both stages and the supply, where there are any.
        window: Option<RatioWindow>,
    },
    /// A stage is choked: more drop passes no more water.
    StageChoked {
        /// Which stage.
        stage: Stage,
        /// At which inlet pressure, the highest first.
        point: InletPoint,
        /// Its drop.
        drop: Pressure,
        /// The drop from which it is choked.
        choked_drop: Pressure,
    },
    /// No ratio keeps both stages within their own limits on sigma.
    TwoStagesNotEnough {
        /// The ratio the second stage would need at least.
        second_from: f64,
        /// The ratio the first stage bears at most.
        first_up_to: f64,
    },
    /// The second stage alone would take the whole drop within its own limit and rating, and the
    /// pipework downstream is protected even with both stages open.
    TwoStagesNotNeeded {
        /// Its sigma with the whole drop.
        sigma: f64,
        /// Its limit.
        limit: SigmaLimit,
        /// Share of rated Kv at the largest flow.
        share: f64,
    },
    /// With one stage stuck open the other falls below its own limit on sigma, or is choked.
    SurvivorWouldCavitate {
        /// What has failed.
        failed: Failed,
        /// The stage that still works.
        stage: Stage,
        /// Its sigma then.
        sigma: f64,
        /// Its limit, where the maker states one.
        limit: Option<SigmaLimit>,
        /// Whether it is choked, where FL is known.
        is_choked: Option<bool>,
    },
    /// With a stage stuck open a gauge is driven past its full scale. Raised once for each gauge.
    GaugeOverranged {
        /// What has failed: the first failure that does it, single ones first.
        failed: Failed,
        /// The gauge and its pressures.
        gauge: OverrangedGauge,
    },
    /// Data is lacking; what it would allow is not checked.
    DataLacking {
        /// What is lacking.
        lacks: Vec<Lack>,
    },
}

impl Recommendation {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::DownstreamUnprotected { .. } => "downstream-unprotected",
            Self::SetPointTooNearInterstage { .. } => "set-point-too-near-interstage",
            Self::SetPointOutsideSpring { .. } => "set-point-outside-spring",
            Self::StageUndersized { .. } => "stage-undersized",
            Self::StageOversized { .. } => "stage-oversized",
            Self::StageWouldCavitate { .. } => "stage-would-cavitate",
            Self::StageChoked { .. } => "stage-choked",
            Self::TwoStagesNotEnough { .. } => "two-stages-not-enough",
            Self::TwoStagesNotNeeded { .. } => "two-stages-not-needed",
            Self::SurvivorWouldCavitate { .. } => "survivor-would-cavitate",
            Self::GaugeOverranged { .. } => "gauge-overranged",
            Self::DataLacking { .. } => "data-lacking",
        }
    }

    /// The stage it is about, if it is about one.
    #[must_use]
    pub const fn stage(&self) -> Option<Stage> {
        match self {
            Self::StageUndersized { stage, .. }
            | Self::StageOversized { stage, .. }
            | Self::StageWouldCavitate { stage, .. }
            | Self::StageChoked { stage, .. }
            | Self::SurvivorWouldCavitate { stage, .. } => Some(*stage),
            Self::DownstreamUnprotected { .. }
            | Self::SetPointTooNearInterstage { .. }
            | Self::SetPointOutsideSpring { .. }
            | Self::TwoStagesNotEnough { .. }
            | Self::TwoStagesNotNeeded { .. }
            | Self::GaugeOverranged { .. }
            | Self::DataLacking { .. } => None,
        }
    }

    /// The failure it is about, if it is about one.
    #[must_use]
    pub const fn failed(&self) -> Option<Failed> {
        match self {
            Self::DownstreamUnprotected { failed, .. }
            | Self::SurvivorWouldCavitate { failed, .. }
            | Self::GaugeOverranged { failed, .. } => Some(*failed),
            Self::SetPointTooNearInterstage { .. }
            | Self::SetPointOutsideSpring { .. }
            | Self::StageUndersized { .. }
            | Self::StageOversized { .. }
            | Self::StageWouldCavitate { .. }
            | Self::StageChoked { .. }
            | Self::TwoStagesNotEnough { .. }
            | Self::TwoStagesNotNeeded { .. }
            | Self::DataLacking { .. } => None,
        }
    }

    /// How grave it is.
    #[must_use]
    pub fn concern(&self) -> Concern {
        match self {
            Self::DownstreamUnprotected { .. } => Concern::Danger,
            Self::SetPointTooNearInterstage {
                needed, expected, ..
            } if expected < needed => Concern::DoesNotWork,
            Self::StageUndersized { share, .. } if *share > 1.0 => Concern::DoesNotWork,
            Self::SetPointOutsideSpring { .. } => Concern::DoesNotWork,
            Self::SetPointTooNearInterstage { .. }
            | Self::StageUndersized { .. }
            | Self::StageOversized { .. }
            | Self::StageWouldCavitate { .. }
            | Self::StageChoked { .. }
            | Self::TwoStagesNotEnough { .. }
            | Self::SurvivorWouldCavitate { .. }
            | Self::GaugeOverranged { .. } => Concern::Poor,
            Self::TwoStagesNotNeeded { .. } => Concern::Consider,
            Self::DataLacking { .. } => Concern::Incomplete,
        }
    }
}
