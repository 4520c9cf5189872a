//! A scripted pair of hands: does a procedure step by step through the same actions as a tablet, with
//! a simulated pilot under the screw.
//!
//! It does what the state says comes next, measures what a step asks for, turns the screw as the
//! assistant advises, and stops when that says "reached".

use winze_core::Logbook;
use winze_core::actions::{
    NewEnd, NewProcedure, NewStep, close_procedure, open_procedure, record_step,
};
use winze_core::calibration::{Advice, DrawOff, Point, Steadiness, assist};
use winze_core::procedures::{
    Act, Air, Branch, Dirt, Measure, MeasureCode, Measured, OpenReason, ProcedureCode,
    ProcedureError, Reason, ReasonCode, Step, StepCode, Unfit, Value,
};
use winze_core::query::{procedure, procedure_calibration};
use winze_core::record::{ProcedureEnd, StepOutcome};
use winze_core::simulate::{Dice, Pilot};
use winze_core::station::{Gauge, Quantity, Station};
use winze_core::units::{Typed, decimal_to_f64};
use winze_sync_format::{Decimal, RecordRef};

use super::folders::DayClock;
use super::unexpected;
use crate::messages::{UserMessage, logbook_failed};

/// More turns than any setting in the demo takes.
const TURNS_MOST: usize = 40;

/// The station as the hands find and leave it.
pub struct Plant {
    /// Its definition.
    pub station: Station,
    /// What the gauges show before the work, bar: inlet, interstage, outlet.
    pub before: [f64; 3],
    /// What inlet and interstage show after it.
    pub after: [f64; 2],
    /// The pilot under the screw.
    pub pilot: Pilot,
    /// Chance.
    pub dice: Dice,
    /// The set point it came with, for a set-up.
    pub factory: Typed,
    /// What the strainer looked like.
    pub strainer: Dirt,
}

/// What is to be done.
pub struct Job {
    /// Which procedure.
    pub procedure: ProcedureCode,
    /// Why.
    pub reason: OpenReason,
    /// More about it.
    pub note: &'static str,
    /// A step that is passed over, with the reason.
    pub passed_over: Option<(StepCode, ReasonCode, &'static str)>,
    /// Who does it.
    pub by: &'static str,
    /// Who looks it over.
    pub seen_by: &'static str,
    /// Begins every nonce.
    pub mark: u8,
}

/// Does a procedure from its opening to its end; answers the record that opened it.
///
/// # Errors
/// What an action refuses, and that the procedure came to no end.
pub fn work(
    logbook: &mut Logbook,
    clock: &DayClock,
    plant: &mut Plant,
    job: &Job,
) -> Result<RecordRef, UserMessage> {
    let opening = NewProcedure {
        procedure: job.procedure,
        station: plant.station.code.clone(),
        reason: Some(job.reason),
        note: job.note.to_owned(),
        by: job.by.to_owned(),
    };
    let at = open_procedure(logbook, opening).map_err(|error| logbook_failed(&error))?;
    let mut hands = Hands {
        clock,
        plant,
        job,
        at,
        nonces: 0,
    };
    hands.every_step(logbook)?;
    clock.advance(2);
    let end = NewEnd {
        procedure: at,
        end: ProcedureEnd::Completed,
        done_by: job.by.to_owned(),
        seen_by: job.seen_by.to_owned(),
        note: String::new(),
        by: job.by.to_owned(),
    };
    close_procedure(logbook, end).map_err(|error| logbook_failed(&error))?;
    Ok(at)
}

struct Hands<'a> {
    clock: &'a DayClock,
    plant: &'a mut Plant,
    job: &'a Job,
    at: RecordRef,
    nonces: u32,
}

impl Hands<'_> {
    /// Does whatever comes next until nothing is left.
    fn every_step(&mut self, logbook: &mut Logbook) -> Result<(), UserMessage> {
        // Every step of the longest procedure, and every turn of the screw.
        for _ in 0..(2 * TURNS_MOST) {
            let view = procedure(logbook, self.at).map_err(|error| logbook_failed(&error))?;
            let known = view.known_state();
            let (data, state) = known.map_err(|error| logbook_failed(&error.into()))?;
            let Some(next) = state.next else {
                return Ok(());
            };
            let step = data
                .step(next)
                .ok_or_else(|| unexpected("a step is not there."))?;
            if step.act == Act::Calibrate {
                self.set(logbook)?;
            } else {
                self.clock.advance(4);
                self.one(logbook, step)?;
            }
        }
        Err(unexpected(format!(
            "the {} came to no end.",
            self.job.procedure.code()
        )))
    }

    fn new_step(&mut self, step: StepCode) -> NewStep {
        self.nonces += 1;
        let number = u64::from(self.nonces) | u64::from(self.job.mark) << 56;
        NewStep::done(self.at, step, self.job.by, number.to_be_bytes())
    }

    fn one(&mut self, logbook: &mut Logbook, step: &'static Step) -> Result<(), UserMessage> {
        let mut new = self.new_step(step.code);
        match self.job.passed_over {
            Some((code, why, note)) if code == step.code => {
                new.outcome = StepOutcome::PassedOver(Reason::new(why, note));
            }
            _ => {
                new.measured = step
                    .measures
                    .iter()
                    .map(|&measure| self.measure(step, measure))
                    .collect();
                if step.act == Act::TickAll {
                    new.ticks = step.ticks.to_vec();
                }
                if step.act == Act::Choose {
                    new.branch = Some(Branch::Recalibrate);
                }
            }
        }
        if step.code == StepCode::ScrewBackedOff {
            self.plant.pilot.back_off();
        }
        let Err(refusal) = record_step(logbook, new.clone()) else {
            return Ok(());
        };
        let asks = matches!(
            &refusal,
            winze_core::Error::Procedure(ProcedureError::Refused {
                why: Unfit::FiguresSayStop,
                ..
            })
        );
        if !asks {
            return Err(logbook_failed(&refusal));
        }
        let why = "looked at with the engineer, who lets it go on";
        new.despite = Some(Reason::new(ReasonCode::ResponsibleDecided, why));
        let again = record_step(logbook, new);
        again.map(|_| ()).map_err(|error| logbook_failed(&error))
    }

    fn measure(&self, step: &Step, measure: Measure) -> Measured {
        let is_found = step.code == StepCode::AsFound;
        let gauge = |quantity: Quantity| {
            let plant = &self.plant;
            let [inlet, interstage] = plant.after;
            let shown = match quantity {
                _ if is_found => plant.before[quantity.index()],
                Quantity::Inlet => inlet,
                Quantity::Interstage => interstage,
                Quantity::Outlet => plant.pilot.held_bar(1.0),
            };
            Value::Pressure(read(plant.station.gauge(quantity), shown))
        };
        let value = match measure.code {
            MeasureCode::Inlet | MeasureCode::Supply => gauge(Quantity::Inlet),
            MeasureCode::Interstage => gauge(Quantity::Interstage),
            MeasureCode::Outlet => gauge(Quantity::Outlet),
            MeasureCode::FactorySetPoint => Value::Pressure(self.plant.factory),
            MeasureCode::WantedSetPoint => {
                Value::Pressure(self.plant.station.second_stage.set_point)
            }
            MeasureCode::TurnsBackedOff => Value::Turns(Decimal::new(8, 0)),
            MeasureCode::Flow => Value::DrawOff(DrawOff::Usual),
            MeasureCode::Air => Value::Air(Air::None),
            MeasureCode::Ventings => Value::Count(2),
            MeasureCode::StrainerFound => Value::Dirt(self.plant.strainer),
            MeasureCode::InsideFound => Value::Inside(winze_core::procedures::Inside::Sound),
        };
        Measured {
            code: measure.code,
            value,
        }
    }

    /// Turns the screw as the assistant advises, recording each turn, until the set point is
    /// reached.
    fn set(&mut self, logbook: &mut Logbook) -> Result<(), UserMessage> {
        let setting = procedure_calibration(logbook, self.at);
        let setting = setting.map_err(|error| logbook_failed(&error))?;
        let mut points: Vec<Point> = Vec::new();
        let mut thirty_seconds = 0_i64;
        for _ in 0..TURNS_MOST {
            self.clock.advance(2);
            let shown = self.plant.pilot.held_bar(1.0);
            points.push(Point {
                draw_off: DrawOff::Usual,
                steadiness: Steadiness::Standing,
                ..Point::of(
                    turns_of(thirty_seconds),
                    read(self.plant.station.gauge(Quantity::Outlet), shown),
                )
            });
            let advice = assist(&setting, &points).advice;
            let turns = match advice {
                Advice::TurnIn { turns, .. } => i64::from(turns.thirty_seconds()),
                Advice::BackOff { turns, .. } => -i64::from(turns.thirty_seconds()),
                Advice::ReadFirst | Advice::ReadAgain(_) | Advice::Wait(_) => 0,
                Advice::Reached { .. } => return self.turn_recorded(logbook, &points, true),
                Advice::Stop(why) => {
                    return Err(unexpected(format!("the setting stopped: {}.", why.code())));
                }
            };
            self.turn_recorded(logbook, &points, false)?;
            thirty_seconds += turns;
            let turned = decimal_to_f64(turns_of(turns));
            self.plant.pilot.turn(turned, &mut self.plant.dice);
        }
        Err(unexpected("the set point was not reached."))
    }

    fn turn_recorded(
        &mut self,
        logbook: &mut Logbook,
        points: &[Point],
        is_last: bool,
    ) -> Result<(), UserMessage> {
        let mut new = self.new_step(StepCode::Calibrate);
        new.points = points.last().copied().into_iter().collect();
        if !is_last {
            new.outcome = StepOutcome::GoingOn;
        }
        let saved = record_step(logbook, new);
        saved.map(|_| ()).map_err(|error| logbook_failed(&error))
    }
}

/// Thirty-seconds of a turn as turns, without noughts at the end: a thirty-second is 0.03125.
fn turns_of(thirty_seconds: i64) -> Decimal {
    let (mut mantissa, mut exponent) = (thirty_seconds * 3_125, -5);
    while exponent < 0 && mantissa % 10 == 0 {
        mantissa /= 10;
        exponent += 1;
    }
    Decimal::new(mantissa, exponent)
}

/// A pressure in bar as an eye reads it: to a fifth of a division.
fn read(gauge: &Gauge, bar: f64) -> Typed {
    let step = decimal_to_f64(gauge.division) / 5.0;
    let rounded = if step > 0.0 {
        (bar / step).round() * step
    } else {
        bar
    };
    let pressure = winze_core::units::Pressure::from_f64_pa(rounded * 1.0e5);
    let pressure = pressure.unwrap_or(winze_core::units::Pressure::ZERO);
    Typed::new(
        pressure.to_decimal(gauge.unit(), gauge.decimals()),
        gauge.unit(),
    )
}
