//! The scripted operator: looks up what is next in the logbook, does it at the rig, records it, and
//! loses power.
//!
//! All it knows of the procedure it reads from the logbook each time; only its hands are in the rig.

use winze_sync_format::{Decimal, RecordRef};

use super::desk::{bare, proper, why};
use crate::actions::*;
use crate::calibration::{Advice, DrawOff, HandTurns, Point, Steadiness, assist};
use crate::procedures::*;
use crate::query;
use crate::record::{ProcedureEnd, Role, StepOutcome, StepRecorded};
use crate::samples::Kept;
use crate::simulate::{Demand, IsolatingValve, Rig, RigConditions, RigStage, Vented};
use crate::units::{Typed, Unit, decimal_to_f64};
use crate::{Error, Result};

/// How an operator works.
#[allow(
    clippy::struct_excessive_bools,
    reason = "one for each mistake, in any mixture"
)]
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    pub branch: Branch,
    pub tries_wrong_order: bool,
    pub forgets_the_flow: bool,
    pub vents_too_short: bool,
    pub overshoots: bool,
    pub stops_short: bool,
}

impl Manner {
    pub fn careful(branch: Branch) -> Self {
        Self {
            branch,
            tries_wrong_order: false,
            forgets_the_flow: false,
            vents_too_short: false,
            overshoots: false,
            stops_short: false,
        }
    }
}

/// An operator with tablet and station.
pub struct Crew {
    kept: Option<Kept>,
    pub rig: Rig,
    at: RecordRef,
    manner: Manner,
    /// How often each mistake is still to be made.
    no_flow_left: u32,
    overshoots_left: u32,
    short_left: u32,
    records: u64,
    pub refusals: u32,
    pub back_offs: u32,
    pub undone: u32,
}

impl Crew {
    /// At a station as delivered.
    pub fn at(seed: u64, manner: Manner) -> Self {
        let rig = Rig::draw(&RigConditions::new_station(), seed, 3);
        Self::with(rig, ProcedureCode::SetUp, manner)
    }

    /// At a station in service that is off.
    pub fn in_service(seed: u64, manner: Manner) -> Self {
        let rig = Rig::draw(&RigConditions::in_service(), seed, 3);
        Self::with(rig, ProcedureCode::Recalibrate, manner)
    }

    fn with(rig: Rig, procedure: ProcedureCode, manner: Manner) -> Self {
        let mut kept = Kept::new(Role::Tablet, "Tablet A");
        revise_station(&mut kept.book, rig.station().clone(), "E".to_owned()).unwrap();
        let new = NewProcedure {
            procedure,
            station: rig.station().code.clone(),
            reason: Some(OpenReason::NewStation),
            note: String::new(),
            by: "A. Operator".to_owned(),
        };
        let at = open_procedure(&mut kept.book, new).unwrap();
        Self {
            kept: Some(kept),
            rig,
            at,
            manner,
            no_flow_left: u32::from(manner.forgets_the_flow) * 2,
            overshoots_left: u32::from(manner.overshoots),
            short_left: u32::from(manner.stops_short),
            records: 0,
            refusals: 0,
            back_offs: 0,
            undone: 0,
        }
    }

    fn kept(&mut self) -> &mut Kept {
        self.kept.as_mut().unwrap()
    }

    pub fn state(&self) -> ProcedureState {
        let book = &self.kept.as_ref().unwrap().book;
        query::procedure(book, self.at).unwrap().state.unwrap()
    }

    /// How far the factory's set point lies from the one wanted.
    pub fn off_share(&self) -> f64 {
        let wanted = self.rig.set_point().as_f64_pa() / 1.0e5;
        self.rig.truth().outlet_bar / wanted - 1.0
    }

    /// Works until nothing is next.
    pub fn work(&mut self) {
        for _ in 0..500 {
            let Some(next) = self.state().next else {
                return;
            };
            if self.manner.tries_wrong_order {
                self.try_everything_else(next);
            }
            self.do_step(next);
        }
        panic!("no end: {:?}", self.state().next);
    }

    /// Ends the procedure and lets the referee look.
    pub fn bring_into_service(&mut self) {
        let end = NewEnd {
            procedure: self.at,
            end: ProcedureEnd::Completed,
            done_by: "A. Operator".to_owned(),
            seen_by: String::new(),
            note: String::new(),
            by: "A. Operator".to_owned(),
        };
        let ended = close_procedure(&mut self.kept().book, end).unwrap();
        assert!(ended.state.is_in_service());
        self.lose_power();
        assert_eq!(self.state(), ended.state);
        assert_eq!(self.rig.hammers(), 0);
        let truth = self.rig.truth();
        assert!(truth.air.iter().all(|air| *air <= 0.0), "{:?}", truth.air);
        // Within the band, which is 10 % here.
        let wanted = self.rig.set_point().as_f64_pa() / 1.0e5;
        assert!((truth.outlet_needle_bar / wanted - 1.0).abs() < 0.1);
        for valve in [IsolatingValve::Upstream, IsolatingValve::Downstream] {
            assert!(self.rig.opening(valve) > 0.99);
        }
    }

    /// The tablet dies and starts anew; every other time from nothing but its segments.
    fn lose_power(&mut self) {
        self.records += 1;
        let from_segments = self.records.is_multiple_of(2);
        let kept = self.kept.take().unwrap();
        self.kept = Some(kept.reopen_after(|dir| {
            if from_segments {
                std::fs::remove_file(dir.join("projection.sqlite")).unwrap();
            }
        }));
    }

    fn record(&mut self, body: StepRecorded) -> Result<StepSaved> {
        self.kept().clock.advance_ms(15_000);
        let nonce = (self.records + 1).to_be_bytes();
        let new = NewStep {
            outcome: body.outcome,
            measured: body.measured,
            ticks: body.ticks,
            branch: body.branch,
            points: body.points,
            out_of_order: body.out_of_order,
            despite: body.despite,
            ..NewStep::done(self.at, body.step, "A. Operator", nonce)
        };
        let saved = record_step(&mut self.kept().book, new)?;
        self.lose_power();
        // What is next after a dead battery is what was next before it.
        assert_eq!(self.state(), saved.state);
        Ok(saved)
    }

    /// Tries each step whose turn it is not; each is refused or needs a reason, and changes nothing.
    fn try_everything_else(&mut self, next: StepCode) {
        let before = self.state();
        let data = procedure(ProcedureCode::SetUp);
        let allowed: Vec<StepCode> = before.allowed().collect();
        for step in data.steps.iter().filter(|step| step.code != next) {
            if allowed.contains(&step.code) {
                continue;
            }
            let body = proper(data, step.code);
            let new = NewStep {
                measured: body.measured,
                ticks: body.ticks,
                branch: body.branch,
                points: body.points,
                ..NewStep::done(self.at, step.code, "A. Operator", [9; 8])
            };
            match record_step(&mut self.kept().book, new) {
                Err(Error::Procedure(
                    ProcedureError::Refused { .. } | ProcedureError::Settled { .. },
                )) => self.refusals += 1,
                other => panic!("{:?} at {next:?}: {other:?}", step.code),
            }
        }
        assert_eq!(self.state(), before);
    }

    fn do_step(&mut self, step: StepCode) {
        use StepCode as S;
        let data = procedure(if self.state().step(S::AsFound).is_some() {
            ProcedureCode::Recalibrate
        } else {
            ProcedureCode::SetUp
        });
        let mut body = proper(data, step);
        match step {
            S::ValvesClosed => {
                self.rig.set_valve(IsolatingValve::Upstream, 0.0, 20.0);
                self.rig.set_valve(IsolatingValve::Downstream, 0.0, 20.0);
            }
            S::SupplyPresent => {
                let main = self.rig.main_pressure();
                body.measured = vec![Measured::pressure(MeasureCode::Supply, main)];
            }
            S::FactorySetPoint => {
                #[allow(clippy::cast_possible_truncation, reason = "some bar")]
                let tenths = (self.rig.truth().outlet_bar * 10.0).round() as i64;
                let plate = Typed::of(tenths, -1, Unit::Bar);
                body.measured = vec![
                    Measured::pressure(MeasureCode::FactorySetPoint, plate),
                    self.wanted(),
                ];
            }
            S::WantedSetPoint => body.measured = vec![self.wanted()],
            S::Compatibility => body.despite = Some(why()),
            S::Branch => body.branch = Some(self.manner.branch),
            S::ScrewBackedOff => {
                self.rig.back_off();
                body.measured.clear();
            }
            S::OpenUpstream => self.open_slowly(IsolatingValve::Upstream, 1.0),
            S::OpenDownstreamPartly => self.open_slowly(IsolatingValve::Downstream, 0.5),
            S::OpenDownstream => self.open_slowly(IsolatingValve::Downstream, 1.0),
            S::VentFirst => body.measured = vec![Measured::air(self.vent(RigStage::First))],
            S::VentSecond => body.measured = vec![Measured::air(self.vent(RigStage::Second))],
            S::Flow => body.measured = vec![Measured::flow(self.draw())],
            S::Calibrate => return self.calibrate(),
            S::AsFound | S::AsLeft => body.measured = self.gauges(),
            S::LeftFigures => return self.look_at_figures(body),
            _ => {}
        }
        self.record(body).unwrap();
    }

    fn wanted(&self) -> Measured {
        let wanted = self.rig.station().second_stage.set_point;
        Measured::pressure(MeasureCode::WantedSetPoint, wanted)
    }

    fn open_slowly(&mut self, valve: IsolatingValve, opening: f64) {
        let from = self.rig.opening(valve);
        let steps = 10;
        for n in 1..=steps {
            let share = f64::from(n) / f64::from(steps);
            self.rig
                .set_valve(valve, from + share * (opening - from), 5.0);
        }
        self.rig.wait(60.0);
    }

    fn vent(&mut self, stage: RigStage) -> Air {
        let seconds = if self.manner.vents_too_short {
            15.0
        } else {
            60.0
        };
        self.rig.vent(stage, seconds);
        match self.rig.vent(stage, 1.0) {
            Vented::Water => Air::None,
            Vented::Air | Vented::Nothing => Air::Some,
        }
    }

    fn draw(&mut self) -> DrawOff {
        if self.no_flow_left > 0 {
            self.no_flow_left -= 1;
            self.rig.set_demand(Demand::None);
            return DrawOff::None;
        }
        self.rig.set_demand(Demand::Usual);
        self.rig.wait(300.0);
        DrawOff::Usual
    }

    fn gauges(&mut self) -> Vec<Measured> {
        self.rig.set_demand(Demand::Usual);
        self.rig.wait(300.0);
        let entry = self.rig.read();
        vec![
            Measured::pressure(MeasureCode::Inlet, entry.inlet.unwrap()),
            Measured::pressure(MeasureCode::Interstage, entry.interstage.unwrap()),
            Measured::pressure(MeasureCode::Outlet, entry.outlet.unwrap()),
            Measured::flow(DrawOff::Usual),
        ]
    }

    /// Follows the assistant; each reading is a record of its own.
    fn calibrate(&mut self) {
        for _ in 0..60 {
            let points = self.state().turns();
            let book = &self.kept.as_ref().unwrap().book;
            let setting = query::procedure_calibration(book, self.at).unwrap();
            let screw = points
                .last()
                .map_or(0.0, |point| decimal_to_f64(point.turns));
            let advice = assist(&setting, &points).advice;
            let is_short = self.short_left > 0 && points.len() >= 3;
            match advice {
                Advice::Reached { .. } => return self.finish(screw),
                _ if is_short => {
                    self.short_left -= 1;
                    return self.finish(screw);
                }
                Advice::ReadFirst | Advice::ReadAgain(_) => self.read_point(screw),
                Advice::Wait(_) => {
                    self.rig.wait(60.0);
                    self.read_point(screw);
                }
                Advice::TurnIn { turns, .. } => {
                    let mut by = turns.turns();
                    if self.overshoots_left > 0 && points.len() >= 2 {
                        self.overshoots_left -= 1;
                        // The script knows where the set point lies, so as to pass it for sure.
                        let beyond = self.rig.truth().turns_to_set_point + 1.5;
                        by = HandTurns::at_least(beyond).turns();
                    }
                    self.turn(screw, by);
                }
                Advice::BackOff { turns, .. } => {
                    self.back_offs += 1;
                    self.turn(screw, -turns.turns());
                }
                Advice::Stop(refusal) => panic!("{refusal:?} after {points:?}"),
            }
        }
        panic!("not reached: {:?}", self.state().turns());
    }

    fn turn(&mut self, screw: f64, by: f64) {
        self.rig.turn(by);
        self.rig.wait(120.0);
        // With air behind it a needle swings and cannot be followed: out with it as soon as there is
        // pressure. The venting afterwards is a step of its own all the same.
        for stage in [RigStage::First, RigStage::Second] {
            if self.rig.vent(stage, 1.0) == Vented::Air {
                self.rig.vent(stage, 60.0);
                self.rig.wait(120.0);
            }
        }
        self.read_point(screw + by);
    }

    fn point(&mut self, screw: f64) -> Point {
        let entry = self.rig.read();
        Point {
            turns: turns(screw),
            pressure: entry.outlet.unwrap(),
            draw_off: DrawOff::Usual,
            steadiness: Steadiness::Standing,
            interstage: entry.interstage,
        }
    }

    fn read_point(&mut self, screw: f64) {
        let mut body = bare(StepCode::Calibrate);
        body.outcome = StepOutcome::GoingOn;
        body.points = vec![self.point(screw)];
        self.record(body).unwrap();
    }

    fn finish(&mut self, screw: f64) {
        let mut body = bare(StepCode::Calibrate);
        body.points = vec![self.point(screw)];
        self.record(body).unwrap();
    }

    /// When the figures say stop, the calibration is taken back and done anew.
    fn look_at_figures(&mut self, body: StepRecorded) {
        let why = Unfit::FiguresSayStop;
        match self.record(body) {
            Ok(_) => {}
            Err(Error::Procedure(ProcedureError::Refused { why: refused, .. }))
                if refused == why =>
            {
                self.undone += 1;
                assert!(self.undone < 3, "the figures go on saying stop");
                let undo = NewUndo {
                    procedure: self.at,
                    step: StepCode::Calibrate,
                    record: None,
                    reason: "the outlet is off".to_owned(),
                    by: "A. Operator".to_owned(),
                };
                undo_step(&mut self.kept().book, undo).unwrap();
                self.lose_power();
                assert_eq!(self.state().next, Some(StepCode::Calibrate));
                self.rig.back_off();
                self.rig.wait(300.0);
            }
            Err(error) => panic!("{error}"),
        }
    }
}

/// Turns as a hand counts them.
fn turns(screw: f64) -> Decimal {
    #[allow(clippy::cast_possible_truncation, reason = "some turns")]
    let thirty_seconds = (screw * 32.0).round() as i32;
    HandTurns::of_thirty_seconds(thirty_seconds).to_decimal()
}
