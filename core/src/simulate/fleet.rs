//! Many simulated stations at once: healthy ones and some of each fault.

use chrono::{DateTime, TimeDelta, Utc};

use super::conditions::Conditions;
use super::dice::Dice;
use super::fault::{Fault, FaultKind};
use super::station::{SimulatedStation, StationPlan, station};
use crate::station::StationCode;

/// What a simulated fleet is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetPlan {
    /// How stations are built and how readings scatter.
    pub conditions: Conditions,
    /// The seed everything follows from.
    pub seed: u64,
    /// The first visit of the first station.
    pub start: DateTime<Utc>,
    /// How long healthy stations are visited, in weeks.
    pub weeks: f64,
    /// Healthy stations.
    pub healthy: u32,
    /// Stations for each kind of `faults`.
    pub each: u32,
    /// The kinds of fault.
    pub faults: Vec<FaultKind>,
    /// Earliest and latest onset, in weeks after the first visit.
    pub onset_weeks: (f64, f64),
    /// How long a faulty station is visited after the onset, in weeks.
    pub after_onset_weeks: f64,
    /// Share of the visits at which a slip of the pen is made.
    pub slip_share: f64,
}

impl FleetPlan {
    /// The kinds of fault that detection figures are stated for.
    pub const STATED_FAULTS: [FaultKind; 10] = [
        FaultKind::PilotCreepUp,
        FaultKind::PilotCreepDown,
        FaultKind::SetPointMoved,
        FaultKind::FirstStagePassing,
        FaultKind::StrainerBlocking,
        FaultKind::SecondStageOpen,
        FaultKind::InterstageGaugeOff,
        FaultKind::OutletGaugeOff,
        FaultKind::OutletGaugeStuck,
        FaultKind::SupplyLow,
    ];

    /// Three years of 240 healthy stations and 60 of each stated fault, weekly.
    #[must_use]
    pub fn stated(conditions: Conditions, seed: u64) -> Self {
        Self {
            conditions,
            seed,
            start: DateTime::UNIX_EPOCH + TimeDelta::days(19_728),
            weeks: 156.0,
            healthy: 240,
            each: 60,
            faults: Self::STATED_FAULTS.to_vec(),
            onset_weeks: (40.0, 130.0),
            after_onset_weeks: 26.0,
            slip_share: 0.0,
        }
    }

    /// How many stations the fleet has.
    #[must_use]
    pub fn size(&self) -> u32 {
        let kinds = u32::try_from(self.faults.len()).unwrap_or(u32::MAX);
        self.healthy.saturating_add(self.each.saturating_mul(kinds))
    }

    /// Simulates station number `index`, counted from 0: first the healthy ones, then the faults.
    ///
    /// One at a time, so that a large fleet need not be held in memory.
    #[must_use]
    pub fn station(&self, index: u32) -> SimulatedStation {
        let mut dice = Dice::new(self.seed ^ 0x5afe_c0de, u64::from(index));
        let kind = index.checked_sub(self.healthy).and_then(|place| {
            let group = usize::try_from(place / self.each.max(1)).ok()?;
            self.faults.get(group).copied()
        });
        let fault = kind.map(|kind| Fault {
            kind,
            onset_weeks: dice.between(self.onset_weeks.0, self.onset_weeks.1),
            magnitude: kind.draw_magnitude(&mut dice),
        });
        let weeks = fault.map_or(self.weeks, |fault| {
            (fault.onset_weeks + self.after_onset_weeks).min(self.weeks.max(fault.onset_weeks))
        });
        let plan = StationPlan {
            code: code(index),
            name: format!("Station {}", index + 1),
            level: format!("Level {}", 100 + 20 * (index / 12)),
            order: index,
            start: self.start + TimeDelta::minutes(i64::from(index % 60) * 8),
            weeks,
            faults: fault.into_iter().collect(),
            slip_share: self.slip_share,
        };
        station(&self.conditions, &plan, self.seed, u64::from(index))
    }

    /// Simulates the whole fleet.
    #[must_use]
    pub fn stations(&self) -> Vec<SimulatedStation> {
        (0..self.size()).map(|index| self.station(index)).collect()
    }
}

fn code(index: u32) -> StationCode {
    let text = format!("S-{:04}", index + 1);
    match StationCode::parse(&text) {
        Ok(code) => code,
        Err(error) => unreachable!("letters, digits and a dash make a code: {error}"),
    }
}
