//! How a simulated fleet is built and how its readings scatter.
//!
//! Numbers only; no station is drawn here. Invented, close to practice.

use crate::units::Unit;

/// Everything about a simulated fleet that is not a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// The unit of gauges and readings: bar, kilopascal or megapascal; any other gives bar.
    pub unit: Unit,
    /// Gauge classes to draw from, in per cent of span; the fixed error lies inside.
    pub gauge_classes_percent: Vec<f64>,
    /// Divisions of a gauge scale over its span.
    pub divisions: u32,
    /// Parts of a division to which a value is read. `divisions * read_parts` must divide 1000.
    pub read_parts: u32,
    /// Standard deviation of one look at a pointer, in divisions.
    pub reading_scatter_divisions: f64,
    /// First-stage ratios to draw from.
    pub ratios: Vec<f64>,
    /// Lowest and highest usual inlet pressure, in bar.
    pub inlet_bar: (f64, f64),
    /// Standard deviation of the inlet's wandering, as a share.
    pub inlet_wander: f64,
    /// Correlation of the inlet's wandering over one week.
    pub inlet_weekly_correlation: f64,
    /// Standard deviation of the true ratio between stations, as a share.
    pub ratio_scatter: f64,
    /// Standard deviation of the first stage's friction at each visit, as a share.
    pub ratio_friction: f64,
    /// Standard deviation of the outlet pressure at each visit, as a share.
    pub outlet_scatter: f64,
    /// Fall of the outlet pressure from no flow to usual flow, as a share.
    pub droop: f64,
    /// Standard deviation of the flow, as a share of the usual.
    pub flow_variation: f64,
    /// Share of the visits that find no flow.
    pub still_share: f64,
    /// Days between visits.
    pub interval_days: f64,
    /// Standard deviation of the visit day, in days.
    pub jitter_days: f64,
    /// Share of the visits that are missed.
    pub missed_share: f64,
    /// Share of the values of single gauges that are not written down.
    pub blank_share: f64,
}

impl Conditions {
    /// The reference fleet: the conditions that the published table of detection figures is for.
    #[must_use]
    pub fn reference() -> Self {
        Self {
            unit: Unit::Bar,
            gauge_classes_percent: vec![1.0, 1.6],
            divisions: 50,
            read_parts: 5,
            reading_scatter_divisions: 0.2,
            ratios: vec![2.0, 2.5, 3.0],
            inlet_bar: (8.0, 16.0),
            inlet_wander: 0.02,
            inlet_weekly_correlation: 0.6,
            ratio_scatter: 0.015,
            ratio_friction: 0.01,
            outlet_scatter: 0.008,
            droop: 0.012,
            flow_variation: 0.25,
            still_share: 0.0,
            interval_days: 7.0,
            jitter_days: 0.0,
            missed_share: 0.0,
            blank_share: 0.0,
        }
    }

    /// Good gauges, read finely, and a steady main.
    #[must_use]
    pub fn fine() -> Self {
        Self {
            gauge_classes_percent: vec![0.6, 1.0],
            reading_scatter_divisions: 0.15,
            inlet_wander: 0.012,
            inlet_weekly_correlation: 0.4,
            ratio_friction: 0.006,
            outlet_scatter: 0.005,
            ..Self::reference()
        }
    }

    /// Poor gauges, read to half a division, and a restless main.
    #[must_use]
    pub fn coarse() -> Self {
        Self {
            gauge_classes_percent: vec![1.6, 2.5],
            read_parts: 2,
            reading_scatter_divisions: 0.3,
            ratios: vec![1.6, 2.0, 3.5],
            inlet_bar: (5.0, 20.0),
            inlet_wander: 0.03,
            inlet_weekly_correlation: 0.75,
            ratio_friction: 0.014,
            outlet_scatter: 0.011,
            ..Self::reference()
        }
    }

    /// Visits that come when they can: jitter, missed weeks, blanks and still water.
    #[must_use]
    pub fn irregular() -> Self {
        Self {
            still_share: 0.05,
            jitter_days: 1.5,
            missed_share: 0.12,
            blank_share: 0.01,
            ..Self::reference()
        }
    }
}
