//! A simulated two-stage station that is brought into service or recalibrated by hand: valves,
//! screw, air cocks and draw-off to act on, three gauges to read.
//!
//! For driving procedures and the calibration assistant; an operator under test acts and reads,
//! [`Rig::truth`] is for the referee only. Works in bar inside. Not for watching over years: see
//! [`super::station()`].

#[cfg(test)]
mod tests;

use super::conditions::Conditions;
use super::dice::Dice;
use super::pilot::{Pilot, PilotConditions};
use super::plant::Dial;
use super::station::{read_off, rounded_tenths};
use crate::station::{Station, StationCode, defaults};
use crate::units::{Pressure, Typed, Unit};
use crate::verdict::{Entry, FlowState};

/// How simulated stations for set-up are built.
#[derive(Debug, Clone, PartialEq)]
pub struct RigConditions {
    /// Gauges, inlet pressures, ratios. Unit (always bar) and scatter in time are not used here.
    pub plant: Conditions,
    /// Pilots.
    pub pilot: PilotConditions,
    /// Scatter of one careful look at a tapped gauge, in divisions.
    pub look_scatter_divisions: f64,
    /// Standard deviation of the draw-off from one reading to the next, as a share.
    pub flow_variation: f64,
    /// Whether fully backed off and empty, full of air, valves closed; else in service with the
    /// screw at a wrong pressure.
    pub is_new: bool,
}

impl RigConditions {
    /// A station that was never in service, as delivered.
    #[must_use]
    pub fn new_station() -> Self {
        Self {
            plant: Conditions::reference(),
            pilot: PilotConditions::reference(),
            look_scatter_divisions: 0.1,
            flow_variation: 0.1,
            is_new: true,
        }
    }

    /// A station in service, valves open, no air, whose outlet is off by up to a quarter.
    #[must_use]
    pub fn in_service() -> Self {
        Self {
            is_new: false,
            ..Self::new_station()
        }
    }
}

/// How much water the consumers below take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Demand {
    /// None.
    None,
    /// As little as there ever is.
    Minimum,
    /// As usual.
    Usual,
    /// More than the station is laid out for.
    Over,
}

impl Demand {
    /// Every demand, least first.
    pub const ALL: [Self; 4] = [Self::None, Self::Minimum, Self::Usual, Self::Over];

    /// Flow as a share of usual.
    const fn share(self) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Minimum => 0.2,
            Self::Usual => 1.0,
            Self::Over => 2.5,
        }
    }
}

/// An isolating valve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum IsolatingValve {
    /// Before the strainer and the inlet gauge.
    Upstream,
    /// After the outlet gauge.
    Downstream,
}

/// One of the two stages, as a place where air gathers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RigStage {
    /// The proportional stage.
    First,
    /// The pilot-operated stage.
    Second,
}

/// What comes out of an air cock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Vented {
    /// Nothing: there is no pressure behind it.
    Nothing,
    /// Air, or air and water.
    Air,
    /// Water without air.
    Water,
}

/// The truth about a rig, for the referee.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RigTruth {
    /// Outlet pressure once settled at usual flow, bar.
    pub outlet_bar: f64,
    /// What the outlet gauge's needle would point to then, read without error, bar.
    pub outlet_needle_bar: f64,
    /// Turns from here, by a perfect hand, until the needle points to the set point at usual flow.
    pub turns_to_set_point: f64,
    /// Air left in the two stages, 1 full, 0 none.
    pub air: [f64; 2],
}

/// Share of a full stroke a valve may be opened in one second without water hammer: common
/// practice, no source.
const SLOW_SHARE_PER_SECOND: f64 = 0.05;

/// Seconds of venting under pressure until a stage is free of air.
const VENT_SECONDS: f64 = 40.0;

/// A simulated station that is acted on.
#[derive(Debug, Clone)]
pub struct Rig {
    conditions: RigConditions,
    dice: Dice,
    pilot: Pilot,
    dials: [Dial; 3],
    station: Station,
    set_point_bar: f64,
    supply_bar: f64,
    true_ratio: f64,
    upstream: f64,
    downstream: f64,
    demand: Demand,
    air: [f64; 2],
    interstage_bar: f64,
    outlet_bar: f64,
    seconds: f64,
    hammers: u32,
}

impl Rig {
    /// Draws a station; the same arguments give the same station and the same scatter for ever.
    #[must_use]
    pub fn draw(conditions: &RigConditions, seed: u64, series: u64) -> Self {
        let mut dice = Dice::new(seed, series);
        let plant = Conditions {
            reading_scatter_divisions: conditions.look_scatter_divisions,
            ..conditions.plant.clone()
        };
        let (low, high) = plant.inlet_bar;
        let supply_bar = (dice.between(low, high) * 10.0).round() / 10.0;
        let ratio = dice.pick(&plant.ratios, 2.5);
        let interstage_bar = supply_bar / ratio;
        let set_point_bar = (interstage_bar * dice.between(0.45, 0.65) * 10.0).round() / 10.0;
        let class = dice.pick(&plant.gauge_classes_percent, 1.0);
        let dials = [supply_bar, interstage_bar, set_point_bar]
            .map(|usual| Dial::draw(&plant, usual, class, &mut dice));
        let spring = [(0.5, 3.0), (1.0, 7.0), (1.0, 10.0)]
            .into_iter()
            .find(|(_, high)| set_point_bar <= 0.8 * high)
            .unwrap_or((2.0, 16.0));
        let pilot = Pilot::draw(&conditions.pilot, spring.0, spring.1, &mut dice);
        let true_ratio = ratio * (1.0 + plant.ratio_scatter * dice.normal());
        let station = definition(&plant, &dials, supply_bar, ratio, set_point_bar, spring);
        let mut rig = Self {
            conditions: conditions.clone(),
            dice,
            pilot,
            dials,
            station,
            set_point_bar,
            supply_bar,
            true_ratio,
            upstream: 0.0,
            downstream: 0.0,
            demand: Demand::Usual,
            air: [1.0, 1.0],
            interstage_bar: 0.0,
            outlet_bar: 0.0,
            seconds: 0.0,
            hammers: 0,
        };
        let preset_bar = set_point_bar * (1.0 + 0.25 * (2.0 * rig.dice.unit() - 1.0));
        if !conditions.is_new {
            rig.put_in_service();
        }
        rig.pilot.preset(preset_bar, &mut rig.dice);
        rig.wait(600.0);
        rig.seconds = 0.0;
        rig
    }

    /// Valves open, air gone; for tests that begin after that.
    pub fn put_in_service(&mut self) {
        (self.upstream, self.downstream) = (1.0, 1.0);
        self.air = [0.0, 0.0];
        self.wait(600.0);
    }

    /// The definition an engineer would give it. Set point, spring range and ratio are as nominal.
    #[must_use]
    pub const fn station(&self) -> &Station {
        &self.station
    }

    /// Seconds gone since it was drawn.
    #[must_use]
    pub const fn seconds(&self) -> f64 {
        self.seconds
    }

    /// How often a valve was opened so fast that water hammer is to be expected.
    #[must_use]
    pub const fn hammers(&self) -> u32 {
        self.hammers
    }

    /// How far a valve is open, 0 to 1.
    #[must_use]
    pub const fn opening(&self, valve: IsolatingValve) -> f64 {
        match valve {
            IsolatingValve::Upstream => self.upstream,
            IsolatingValve::Downstream => self.downstream,
        }
    }

    /// Brings a valve to an opening of 0 to 1 within `seconds`. Opening an empty or flowing line
    /// faster than a twentieth of the stroke a second counts as water hammer.
    pub fn set_valve(&mut self, valve: IsolatingValve, opening: f64, seconds: f64) {
        let wanted = if opening.is_finite() {
            opening.clamp(0.0, 1.0)
        } else {
            0.0
        };
        let seconds = sane_seconds(seconds);
        let place = match valve {
            IsolatingValve::Upstream => &mut self.upstream,
            IsolatingValve::Downstream => &mut self.downstream,
        };
        let stroke = wanted - *place;
        *place = wanted;
        if stroke > SLOW_SHARE_PER_SECOND * seconds.max(1.0) * 1.000_001 {
            self.hammers += 1;
        }
        self.wait(seconds);
    }

    /// Consumers take more or less.
    pub fn set_demand(&mut self, demand: Demand) {
        self.demand = demand;
        self.wait(1.0);
    }

    /// Turns the adjusting screw, in being positive; answers whether it came to a stop.
    pub fn turn(&mut self, turns: f64) -> bool {
        let stopped = self.pilot.turn(turns, &mut self.dice);
        // A turn takes some seconds: slowly, following the pressure.
        self.wait(4.0 * turns.abs().min(50.0));
        stopped
    }

    /// Backs the screw off fully, so that the spring is loose.
    pub fn back_off(&mut self) {
        self.pilot.back_off();
        self.wait(30.0);
    }

    /// Opens an air cock for some seconds.
    pub fn vent(&mut self, stage: RigStage, seconds: f64) -> Vented {
        let (place, bar) = match stage {
            RigStage::First => (0, self.interstage_bar),
            RigStage::Second => (1, self.outlet_bar),
        };
        let seconds = sane_seconds(seconds);
        let before = self.air[place];
        if bar > 0.2 {
            self.air[place] = (before - seconds / VENT_SECONDS).max(0.0);
        }
        self.wait(seconds);
        match (bar > 0.2, before > 0.0) {
            (false, _) => Vented::Nothing,
            (true, true) => Vented::Air,
            (true, false) => Vented::Water,
        }
    }

    /// Waits.
    ///
    /// The interstage pressure follows at once (in steps of a second), the outlet with the time
    /// constant of the pilot. Without flow the outlet can rise, not fall.
    pub fn wait(&mut self, seconds: f64) {
        let seconds = sane_seconds(seconds);
        self.seconds += seconds;
        let flow = self.flow();
        self.interstage_bar = self.interstage_at(flow);
        let wide_open = self.interstage_bar * (1.0 - 0.04 * flow * flow).max(0.3);
        let held = self.pilot.held_bar(flow).min(wide_open);
        let settled = if flow > 0.0 {
            held
        } else {
            held.max(self.outlet_bar)
        };
        let kept = libm::exp(-seconds / self.pilot.settle_s);
        self.outlet_bar = settled + (self.outlet_bar - settled) * kept;
    }

    /// Flow as a share of usual.
    #[must_use]
    pub fn flow(&self) -> f64 {
        let throttled = 1.0 - (1.0 - self.downstream).powi(2);
        if self.upstream > 0.0 {
            self.demand.share() * throttled
        } else {
            0.0
        }
    }

    fn inlet_at(&self, flow: f64) -> f64 {
        if self.upstream <= 0.0 {
            return 0.0;
        }
        let lost = 0.01 * flow * flow * (1.0 / self.upstream.powi(2)).min(50.0);
        self.supply_bar * (1.0 - lost).max(0.1)
    }

    fn interstage_at(&self, flow: f64) -> f64 {
        if self.upstream <= 0.0 {
            // Closed in: the pressure stays until something below takes water.
            let takes = self.downstream > 0.0 && self.demand != Demand::None;
            return if takes { 0.0 } else { self.interstage_bar };
        }
        self.inlet_at(flow) / self.true_ratio * (1.0 - 0.01 * flow * flow)
    }

    /// Reads the three gauges once, as typed to a fifth of a division; trapped air makes the
    /// needles swing. The flow state is what an operator sees at the consumers.
    pub fn read(&mut self) -> Entry {
        let flow = self.flow();
        let wobble = self.conditions.flow_variation * self.dice.normal();
        let outlet = self.outlet_bar * (1.0 - self.pilot.droop * flow * wobble);
        let unrest = [
            0.0,
            0.04 * self.air[0],
            0.06 * self.air[1] + 0.02 * self.air[0],
        ];
        let pressures = [self.inlet_at(flow), self.interstage_bar, outlet];
        let mut typed = [None; 3];
        for (index, dial) in self.dials.iter_mut().enumerate() {
            let swung = pressures[index] * (1.0 + unrest[index] * self.dice.normal());
            let mark = dial.look(swung.max(0.0), 0.0, false, &mut self.dice);
            typed[index] = Some(read_off(dial, mark, Unit::Bar));
        }
        Entry {
            inlet: typed[0],
            interstage: typed[1],
            outlet: typed[2],
            flow: if flow > 0.0 {
                FlowState::Flowing
            } else {
                FlowState::Still
            },
        }
    }

    /// The pressure of the main before the upstream isolating valve, as its own gauge shows it.
    #[must_use]
    pub fn main_pressure(&self) -> Typed {
        Typed::new(rounded_tenths(self.supply_bar), Unit::Bar)
    }

    /// The truth, for the referee only.
    #[must_use]
    pub fn truth(&self) -> RigTruth {
        let held = self.pilot.held_bar(1.0);
        let off = self.dials[2].fixed_error_bar();
        RigTruth {
            outlet_bar: held,
            outlet_needle_bar: held + off,
            turns_to_set_point: self.pilot.turns_to(self.set_point_bar - off, 1.0),
            air: self.air,
        }
    }

    /// The pilot, for the referee only.
    #[must_use]
    pub const fn pilot(&self) -> &Pilot {
        &self.pilot
    }

    /// The set point as a pressure.
    #[must_use]
    pub fn set_point(&self) -> Pressure {
        self.station.second_stage.set_point.to_pressure()
    }
}

fn sane_seconds(seconds: f64) -> f64 {
    if seconds.is_finite() {
        seconds.clamp(0.0, 1.0e6)
    } else {
        0.0
    }
}

fn definition(
    plant: &Conditions,
    dials: &[Dial; 3],
    supply_bar: f64,
    ratio: f64,
    set_point_bar: f64,
    spring: (f64, f64),
) -> Station {
    let code = match StationCode::parse("RIG-1") {
        Ok(code) => code,
        Err(error) => unreachable!("letters, digits and a dash make a code: {error}"),
    };
    let bar = |value: f64| rounded_tenths(value);
    let mut station = defaults::station(&defaults::RegisterRow {
        code,
        unit: Unit::Bar,
        ratio: bar(ratio),
        set_point: bar(set_point_bar),
        inlet_typical: bar(supply_bar),
        gauge_class: bar(dials[0].class_percent),
        spans: dials.map(|dial| dial.span_bar()),
    });
    for (gauge, dial) in [
        &mut station.inlet,
        &mut station.interstage,
        &mut station.outlet,
    ]
    .into_iter()
    .zip(dials)
    {
        gauge.division = dial.division_bar(plant.divisions);
    }
    station.second_stage.spring_range = Some((
        Typed::new(bar(spring.0), Unit::Bar),
        Typed::new(bar(spring.1), Unit::Bar),
    ));
    station
}
