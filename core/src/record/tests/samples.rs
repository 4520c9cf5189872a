//! One body of every kind with every optional field, for the other tests.

use chrono::NaiveDate;
use winze_sync_format::{Decimal, LogId, RecordId};

use super::{at, succession, upkeep};
use crate::calibration::{DrawOff, Point, Steadiness};
use crate::merge::question_id;
use crate::procedures::{
    Air, Branch, Dirt, Inside, Level, MeasureCode, Measured, OpenReason, ProcedureCode, Reason,
    ReasonCode, StepCode, TickCode, Value as Measure,
};
use crate::record::*;
use crate::samples::{code, entry, station};
use crate::station::{AsmeGrade, Duty, Quantity, Site, UsualRange, Valve};
use crate::suspects::Check;
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState, StationState, Verdict};

/// A station with every optional field present.
pub(super) fn full_station() -> Station {
    let tenths = |mantissa| Decimal {
        mantissa,
        exponent: -1,
    };
    let valve = Valve {
        size_mm: Some(80),
        rated_kv: Some(tenths(1005)),
        fl: Some(tenths(9)),
        permitted_sigma: Some(tenths(15)),
        xfz: Some(tenths(3)),
    };
    let mut station = station("T-07");
    station.name = "North drive".into();
    station.level = "Level 420".into();
    station.order = 7;
    // What the defaults fill in is written out too.
    station.inlet_usual = UsualRange {
        low: Typed::of(90, -1, Unit::Bar),
        high: Typed::of(11, 0, Unit::Bar),
    };
    station.second_stage.band = Typed::of(2, -1, Unit::Bar);
    station.second_stage.minimum_differential = Typed::of(30, 0, Unit::Kilopascal);
    station.first_stage.ratio_tolerance_percent = Decimal {
        mantissa: 10,
        exponent: 0,
    };
    let divisions = [(32, -2), (2, -1), (8, -2)];
    let gauges = [
        &mut station.inlet,
        &mut station.interstage,
        &mut station.outlet,
    ];
    for (gauge, (mantissa, exponent)) in gauges.into_iter().zip(divisions) {
        gauge.division = Decimal { mantissa, exponent };
    }
    station.inlet.grade = Some(AsmeGrade::Grade1A);
    station.inlet.elevation_mm = -450;
    station.inlet.checked_on = NaiveDate::from_ymd_opt(2025, 11, 3);
    station.first_stage.as_left_ratio = Some(Decimal {
        mantissa: 252,
        exponent: -2,
    });
    station.first_stage.as_left_on = NaiveDate::from_ymd_opt(1969, 7, 21);
    station.first_stage.valve = valve.clone();
    station.second_stage.spring_range =
        Some((Typed::of(5, -1, Unit::Bar), Typed::of(35, -1, Unit::Bar)));
    station.second_stage.valve = valve;
    station.site = Site {
        altitude_m: Some(-300),
        depth_m: Some(420),
        water_temperature_c: Some(tenths(185)),
        air_temperature_c: Some(tenths(270)),
        downstream_max: Some(Typed::of(60, -1, Unit::Bar)),
        relief_set: Some(Typed::of(80, 0, Unit::Psi)),
        duty: Duty {
            min_m3_h: Some(tenths(5)),
            usual_m3_h: Some(tenths(80)),
            max_m3_h: None,
        },
        hazards: "low roof".into(),
        access: "ladder".into(),
    };
    station
}

pub(super) fn full_reading() -> Reading {
    // Written out, so that a change of the rules changes nothing about the bytes pinned below.
    let verdict = |verdict, low_pa, high_pa, probability_millionths| {
        Some(ShownVerdict {
            verdict,
            low_pa,
            high_pa,
            probability_millionths,
        })
    };
    let shown = Shown {
        state: StationState::Starved,
        inlet: verdict(Verdict::Within, 900_000, 1_100_000, 998_877),
        interstage: verdict(Verdict::Unsure, 367_200, 448_800, 500_000),
        outlet: verdict(Verdict::Outside, -1, 220_000, 0),
    };
    Reading {
        station: code("T-07"),
        revision: at(1),
        round: Some(at(2)),
        entry: Entry {
            flow: FlowState::Flowing,
            ..entry(102, 41, 30)
        },
        ticks: Ticks::NONE.with(Tick::Leak).with(Tick::Access),
        note: "drips at the flange".into(),
        doubts: vec![AskedDoubt {
            code: "decimal-slip".into(),
            quantity: Some(Quantity::Inlet),
            typed: entry(1020, 41, 30),
            likely: Some(entry(102, 41, 30)),
            reply: DoubtReply::Likely,
        }],
        shown,
        source: Source::OnTheSpot,
        utc_offset_minutes: Some(-210),
    }
}

/// A step with every field; no real one has them all.
pub(super) fn full_step() -> StepRecorded {
    let pressure = |code, tenths| Measured::pressure(code, Typed::of(tenths, -1, Unit::Bar));
    let other = |value, code| Measured { code, value };
    StepRecorded {
        procedure: at(5),
        station: code("T-07"),
        step: StepCode::Calibrate,
        outcome: StepOutcome::PassedOver(Reason::new(ReasonCode::Other, "frozen")),
        measured: vec![
            pressure(MeasureCode::Outlet, 20),
            other(
                Measure::Turns(Decimal::new(-25, -1)),
                MeasureCode::TurnsBackedOff,
            ),
            other(Measure::Count(3), MeasureCode::Ventings),
            other(Measure::Dirt(Dirt::Heavy), MeasureCode::StrainerFound),
            other(Measure::Inside(Inside::Worn), MeasureCode::InsideFound),
            Measured::flow(DrawOff::Minimum),
            Measured::air(Air::Some),
        ],
        ticks: vec![TickCode::LockNut, TickCode::Cap],
        branch: Some(Branch::Recalibrate),
        points: vec![Point {
            turns: Decimal::new(125, -2),
            pressure: Typed::of(198, -2, Unit::Bar),
            draw_off: DrawOff::Minimum,
            steadiness: Steadiness::Standing,
            interstage: Some(Typed::of(41, -1, Unit::Bar)),
        }],
        figures: vec![ShownFigure {
            code: "left-outlet".into(),
            level: Level::Stop,
        }],
        out_of_order: Some(Reason::new(ReasonCode::OrderOfPlace, "")),
        despite: Some(Reason::new(ReasonCode::ResponsibleDecided, "by radio")),
        reading: Some(at(8)),
        note: "slow".into(),
        utc_offset_minutes: 120,
    }
}

fn attachment_added() -> Body {
    Body::AttachmentAdded(Box::new(AttachmentAdded {
        media: MediaType::Jpeg,
        length: 57_347,
        sha256: [3; 32],
        chunks: vec![
            ChunkName {
                sha256: [4; 32],
                length: 57_344,
            },
            ChunkName {
                sha256: [5; 32],
                length: 3,
            },
        ],
        about: at(9),
        station: code("T-07"),
        taken_ms: Some(1_764_054_000_000),
        note: "the gland".into(),
        utc_offset_minutes: 60,
    }))
}

fn correction() -> Body {
    Body::Correction(Box::new(Correction {
        reading: at(4),
        station: code("T-07"),
        entry: entry(102, 41, 20),
        shown: Shown {
            state: StationState::LockUp,
            ..Shown::default()
        },
        reason: "misread".into(),
    }))
}

/// One body of every kind, with every optional field.
pub(super) fn one_of_each() -> Vec<Body> {
    let about = vec![at(1), at(2)];
    vec![
        Body::LogOpened(LogOpened {
            role: Role::Tablet,
            label: "Tablet A".into(),
        }),
        Body::Enrolment(Enrolment {
            log: LogId([9; 32]),
            name: "Tablet A".into(),
            role: Role::Tablet,
        }),
        Body::Revocation(Revocation {
            log: LogId([9; 32]),
            last_seq: Some(1000),
            reason: "lost".into(),
        }),
        Body::StationRevision(Box::new(full_station())),
        Body::RoundOpened(RoundOpened {
            title: "Week 2".into(),
            stations: vec![code("T-07"), code("T-08")],
            utc_offset_minutes: 120,
        }),
        Body::RoundClosed(RoundClosed {
            round: at(3),
            note: "all dry".into(),
        }),
        Body::StationSkipped(StationSkipped {
            round: at(3),
            station: code("T-08"),
            reason: SkipReason::NotSafe,
            note: "bad air".into(),
        }),
        Body::Reading(Box::new(full_reading())),
        correction(),
        Body::CheckAnswered(CheckAnswered {
            station: code("T-07"),
            check: Check::TapGauge,
            is_yes: true,
            note: "it jumped by half a bar".into(),
        }),
        upkeep::job_raised(),
        upkeep::job_closed(),
        upkeep::task_done(),
        succession::log_continued(),
        succession::office_replaced(),
        succession::clock_observed(),
        Body::Answer(Answer {
            question: question_id(&about),
            about,
            station: Some(code("T-07")),
            choice: Choice::Prefer(at(2)),
            note: "the second dial was cleaned".into(),
        }),
        Body::Acknowledgement(Acknowledgement {
            log: LogId([9; 32]),
            seq: 17,
            id: RecordId([8; 32]),
        }),
        Body::BackedUp(Acknowledgement {
            log: LogId([6; 32]),
            seq: 11,
            id: RecordId([5; 32]),
        }),
        attachment_added(),
        Body::AttachmentChunk(AttachmentChunk {
            bytes: vec![0xff, 0xd8, 0xff],
        }),
        Body::ProcedureOpened(Box::new(ProcedureOpened {
            procedure: ProcedureCode::SetUp,
            edition: 1,
            station: code("T-07"),
            reason: Some(OpenReason::NewStation),
            note: "first of the level".into(),
            utc_offset_minutes: 60,
        })),
        Body::StepRecorded(Box::new(full_step())),
        Body::StepUndone(Box::new(StepUndone {
            procedure: at(5),
            station: code("T-07"),
            step: StepCode::Flush,
            records: vec![at(6), at(7)],
            reason: "the wrong valve".into(),
            utc_offset_minutes: -60,
        })),
        Body::ProcedureClosed(Box::new(ProcedureClosed {
            procedure: at(5),
            station: code("T-07"),
            end: ProcedureEnd::Completed,
            done_by: "A. Operator".into(),
            seen_by: "E. Engineer".into(),
            note: "dry".into(),
            utc_offset_minutes: 0,
        })),
    ]
}
