//! One simulated station as the rest of the crate knows it: a definition and typed readings.

use chrono::{DateTime, TimeDelta, Utc};
use winze_sync_format::Decimal;

use super::conditions::Conditions;
use super::dice::Dice;
use super::fault::Fault;
use super::plant::{Dial, Look, Plant};
use super::slip::{Slip, inject_slips};
use crate::station::{Station, StationCode, defaults};
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState};

/// What to simulate at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationPlan {
    /// The code painted at the station.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// The level it belongs to.
    pub level: String,
    /// Place in the walking order.
    pub order: u32,
    /// The first visit.
    pub start: DateTime<Utc>,
    /// How long it is visited, in weeks.
    pub weeks: f64,
    /// What goes wrong.
    pub faults: Vec<Fault>,
    /// Share of the visits at which a slip of the pen is made.
    pub slip_share: f64,
}

/// One visit's reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SimulatedReading {
    /// When it was taken.
    pub taken_at: DateTime<Utc>,
    /// The values as typed.
    pub entry: Entry,
}

/// A simulated station, its readings in time order, and the truth about it.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedStation {
    /// The definition as a register would give it.
    pub station: Station,
    /// The readings, oldest first.
    pub readings: Vec<SimulatedReading>,
    /// What went wrong.
    pub faults: Vec<Fault>,
    /// When each fault of `faults` began.
    pub onsets: Vec<DateTime<Utc>>,
    /// Slips of the pen among the readings.
    pub slips: Vec<Slip>,
}

/// Simulates one station; the same arguments give the same station for ever.
#[must_use]
pub fn station(
    conditions: &Conditions,
    plan: &StationPlan,
    seed: u64,
    series: u64,
) -> SimulatedStation {
    let mut dice = Dice::new(seed, series);
    let mut plant = Plant::draw(conditions, &mut dice);
    let mut readings = Vec::new();
    let mut due_weeks = 0.0;
    while due_weeks < plan.weeks {
        let late = conditions.jitter_days / 7.0 * dice.normal();
        let is_missed = due_weeks > 0.0 && dice.happens(conditions.missed_share);
        // A late visit stays before the next one is due, so that readings come in time order.
        let most = 0.45 * conditions.interval_days / 7.0;
        let weeks = (due_weeks + late.clamp(-most, most)).max(0.0);
        due_weeks += conditions.interval_days.max(0.1) / 7.0;
        if !is_missed {
            let look = plant.visit(weeks, &plan.faults, &mut dice);
            readings.push(SimulatedReading {
                taken_at: after(plan.start, weeks),
                entry: entry(conditions, &plant, look, &mut dice),
            });
        }
    }
    let slips = inject_slips(&mut readings, plan.slip_share, &mut dice);
    SimulatedStation {
        station: definition(conditions, &plant, plan),
        readings,
        faults: plan.faults.clone(),
        onsets: plan
            .faults
            .iter()
            .map(|fault| after(plan.start, fault.onset_weeks))
            .collect(),
        slips,
    }
}

/// The moment `weeks` after `start`, to the second.
pub(super) fn after(start: DateTime<Utc>, weeks: f64) -> DateTime<Utc> {
    #[allow(
        clippy::cast_possible_truncation,
        reason = "simulated spans are some years: far below i64 seconds"
    )]
    let seconds = (weeks * 7.0 * 86_400.0).round() as i64;
    TimeDelta::try_seconds(seconds)
        .and_then(|delta| start.checked_add_signed(delta))
        .unwrap_or(start)
}

fn entry(conditions: &Conditions, plant: &Plant, look: Look, dice: &mut Dice) -> Entry {
    let mut typed = [None; 3];
    for (index, dial) in plant.dials.iter().enumerate() {
        if !dice.happens(conditions.blank_share) {
            typed[index] = Some(read_off(dial, look.steps[index], conditions.unit));
        }
    }
    let flow = match (conditions.still_share > 0.0, look.is_still) {
        (false, _) => FlowState::NotNoted,
        (true, true) => FlowState::Still,
        (true, false) => FlowState::Flowing,
    };
    Entry {
        inlet: typed[0],
        interstage: typed[1],
        outlet: typed[2],
        flow,
    }
}

/// The digits a reader types for a pointer at `step`: as many places as one step needs.
pub(super) fn read_off(dial: &Dial, step: i64, unit: Unit) -> Typed {
    // One step in 1e-4 bar: span_tenths * 1000 / steps, exact because steps divide 1000.
    let per_step = dial.span_tenths_bar * 1000 / dial.steps.max(1);
    let (mut mantissa, mut exponent, mut size) = (per_step * step, -4_i8, per_step);
    while exponent < 0 && size % 10 == 0 {
        mantissa /= 10;
        size /= 10;
        exponent += 1;
    }
    in_unit(Decimal { mantissa, exponent }, unit)
}

/// Writes a value in bar in a decimal multiple of the bar; other units come back in bar.
fn in_unit(bar: Decimal, unit: Unit) -> Typed {
    let (shift, unit) = match unit {
        Unit::Kilopascal => (2, Unit::Kilopascal),
        Unit::Megapascal => (-1, Unit::Megapascal),
        _ => (0, Unit::Bar),
    };
    let exponent = bar.exponent + shift;
    if exponent > 0 {
        let whole = bar.mantissa * 10_i64.pow(u32::from(exponent.unsigned_abs()));
        return Typed::of(whole, 0, unit);
    }
    Typed::of(bar.mantissa, exponent, unit)
}

/// The value to one decimal place.
pub(super) fn rounded_tenths(value: f64) -> Decimal {
    #[allow(clippy::cast_possible_truncation, reason = "pressures below 1000 bar")]
    let mantissa = (value * 10.0).round() as i64;
    Decimal {
        mantissa,
        exponent: -1,
    }
}

fn definition(conditions: &Conditions, plant: &Plant, plan: &StationPlan) -> Station {
    let class = rounded_tenths(plant.dials[0].class_percent);
    let unit = plant.unit();
    let [inlet, interstage, outlet] = plant
        .dials
        .map(|dial| in_unit(dial.span_bar(), unit).digits);
    let mut station = defaults::station(&defaults::RegisterRow {
        code: plan.code.clone(),
        unit: in_unit(rounded_tenths(0.0), unit).unit,
        ratio: rounded_tenths(plant.ratio),
        set_point: in_unit(rounded_tenths(plant.set_point_bar), unit).digits,
        inlet_typical: in_unit(rounded_tenths(plant.inlet_usual_bar), unit).digits,
        gauge_class: class,
        spans: [inlet, interstage, outlet],
    });
    for (gauge, dial) in [
        (&mut station.inlet, &plant.dials[0]),
        (&mut station.interstage, &plant.dials[1]),
        (&mut station.outlet, &plant.dials[2]),
    ] {
        gauge.division = in_unit(dial.division_bar(conditions.divisions), unit).digits;
    }
    station.name.clone_from(&plan.name);
    station.level.clone_from(&plan.level);
    station.order = plan.order;
    station
}
