//! What one visit says: the three gauges as typed, and whether water was flowing.

use crate::station::Quantity;
use crate::units::Typed;

/// Whether water was flowing through the station when it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum FlowState {
    /// No flow: the outlet shows lock-up only.
    Still,
    /// Water was flowing.
    Flowing,
    /// Nobody noted it; judged as flowing.
    #[default]
    NotNoted,
}

impl FlowState {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Still => "still",
            Self::Flowing => "flowing",
            Self::NotNoted => "not-noted",
        }
    }
}

/// The gauges of one visit as typed. A gauge that could not be read is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Entry {
    /// The inlet gauge.
    pub inlet: Option<Typed>,
    /// The interstage gauge.
    pub interstage: Option<Typed>,
    /// The outlet gauge.
    pub outlet: Option<Typed>,
    /// Whether water was flowing.
    pub flow: FlowState,
}

impl Entry {
    /// All three gauges, flow not noted.
    #[must_use]
    pub const fn of(inlet: Typed, interstage: Typed, outlet: Typed) -> Self {
        Self {
            inlet: Some(inlet),
            interstage: Some(interstage),
            outlet: Some(outlet),
            flow: FlowState::NotNoted,
        }
    }

    /// One gauge.
    #[must_use]
    pub const fn get(&self, quantity: Quantity) -> Option<Typed> {
        match quantity {
            Quantity::Inlet => self.inlet,
            Quantity::Interstage => self.interstage,
            Quantity::Outlet => self.outlet,
        }
    }

    /// The same entry with one gauge replaced.
    #[must_use]
    pub const fn with(mut self, quantity: Quantity, value: Option<Typed>) -> Self {
        match quantity {
            Quantity::Inlet => self.inlet = value,
            Quantity::Interstage => self.interstage = value,
            Quantity::Outlet => self.outlet = value,
        }
        self
    }

    /// Whether no gauge was read.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.inlet.is_none() && self.interstage.is_none() && self.outlet.is_none()
    }

    /// Whether all three gauges were read.
    #[must_use]
    pub const fn is_complete(&self) -> bool {
        self.inlet.is_some() && self.interstage.is_some() && self.outlet.is_some()
    }
}
