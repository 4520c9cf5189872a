//! Tests of the register: the short row, every optional column, and stations that cannot work.

use super::{RegisterRow, RegisterSheet};
use crate::sheet::station_cells::{parse_class, parse_span};
use crate::sheet::{DecimalMark, NumberFault, Refusal, RowReport, SheetOptions};
use crate::station::{AsmeGrade, Problem, defaults};
use crate::units::{Typed, Unit};

const HEADING: &str = "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,\
                       interstage_span,outlet_span";

fn read(text: &str) -> (Vec<RegisterRow>, Vec<RowReport>) {
    let mut sheet = RegisterSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
    let (mut good, mut refused) = (Vec::new(), Vec::new());
    while let Some(row) = sheet.next_row().unwrap() {
        match row {
            Ok(row) => good.push(row),
            Err(report) => refused.push(report),
        }
    }
    (good, refused)
}

fn read_row(extra_heading: &str, extra_cells: &str) -> RegisterRow {
    let (mut rows, refused) = read(&format!(
        "{HEADING}{extra_heading}\nT-01,2.5,2.0,10,bar,1.6,16,10,4{extra_cells}\n"
    ));
    assert!(refused.is_empty(), "{refused:?}");
    rows.remove(0)
}

fn check_refused(row: &str, column: Option<&str>, is_expected: impl FnOnce(&Refusal) -> bool) {
    let (kept, refused) = read(&format!(
        "{HEADING}\n{row}\nT-09,2.5,2.0,10,bar,1.6,16,10,4\n"
    ));
    assert_eq!(refused.len(), 1, "{row}");
    assert_eq!(
        (refused[0].line, refused[0].column.as_deref()),
        (2, column),
        "{row}"
    );
    assert!(
        is_expected(&refused[0].refusal),
        "{row}: {:?}",
        refused[0].refusal
    );
    assert_eq!(kept.len(), 1, "{row}: the good row below must be kept");
}

#[test]
fn short_row_takes_the_usual_assumptions() {
    let row = read_row("", "");
    let station = &row.station;
    assert!(row.concerns.is_empty(), "{:?}", row.concerns);
    assert_eq!(
        (station.code.as_str(), station.order, row.line),
        ("T-01", 1, 2)
    );
    assert_eq!(station.inlet.high, Typed::of(16, 0, Unit::Bar));
    assert_eq!(station.outlet.class.to_string(), "1.6");
    assert_eq!(station.second_stage.set_point, Typed::of(20, -1, Unit::Bar));
    assert_eq!(
        station.inlet_usual,
        defaults::usual_range(Typed::of(10, 0, Unit::Bar))
    );
    assert_eq!(
        station.first_stage.ratio_tolerance_percent,
        defaults::RATIO_TOLERANCE_NOMINAL_PERCENT
    );
}

#[test]
fn every_optional_column_arrives() {
    let (rows, refused) = read(&format!(
        "{HEADING},name,level,order,band,minimum_differential,spring_low,spring_high,inlet_low,\
         inlet_high,ratio_tolerance,as_left_ratio,as_left_on,inlet_class,interstage_division,\
         outlet_elevation_mm,outlet_checked_on,first_stage_size_mm,first_stage_kv,\
         second_stage_sigma,altitude_m,depth_m,water_temperature_c,downstream_max,relief_set,\
         flow_min,flow_usual,flow_max,hazards,access\n\
         T-07,2.5,2.0,10,bar,1.6,16,10,4,North drive,420,7,0.15,0.4,1,3.5,9,11,4,2.45,2024-05-01,\
         1.0,0.2,-350,2024-06-30,50,32.5,1.8,-420,900,24,6,4,2,10,18,low roof,ladder\n"
    ));
    assert!(refused.is_empty(), "{refused:?}");
    let station = &rows[0].station;
    let bar = |mantissa, exponent| Typed::of(mantissa, exponent, Unit::Bar);
    assert_eq!(
        (station.name.as_str(), station.level.as_str()),
        ("North drive", "420")
    );
    assert_eq!(station.order, 7);
    assert_eq!(station.second_stage.band, bar(15, -2));
    assert_eq!(
        station.second_stage.spring_range,
        Some((bar(1, 0), bar(35, -1)))
    );
    assert_eq!(
        (station.inlet_usual.low, station.inlet_usual.high),
        (bar(9, 0), bar(11, 0))
    );
    assert_eq!(
        station.first_stage.as_left_ratio.unwrap().to_string(),
        "2.45"
    );
    assert_eq!(
        station.first_stage.as_left_on.unwrap().to_string(),
        "2024-05-01"
    );
    assert_eq!(station.inlet.class.to_string(), "1.0");
    assert_eq!(station.interstage.division.to_string(), "0.2");
    assert_eq!(station.outlet.elevation_mm, -350);
    assert_eq!(
        station.first_stage.valve.rated_kv.unwrap().to_string(),
        "32.5"
    );
    assert_eq!(
        station
            .second_stage
            .valve
            .permitted_sigma
            .unwrap()
            .to_string(),
        "1.8"
    );
    assert_eq!(
        (station.site.altitude_m, station.site.depth_m),
        (Some(-420), Some(900))
    );
    assert_eq!(station.site.relief_set, Some(bar(4, 0)));
    assert_eq!(station.site.duty.max_m3_h.unwrap().to_string(), "18");
    assert_eq!(station.site.access, "ladder");
}

#[test]
fn ratio_of_zero_is_refused_with_the_figure() {
    check_refused("T-01,0,2.0,10,bar,1.6,16,10,4", Some("ratio"), |refusal| {
        matches!(refusal, Refusal::Definition { problem: Problem::RatioNotAboveOne { ratio }, .. }
            if ratio.to_string() == "0")
    });
}

#[test]
fn set_point_above_the_interstage_pressure_is_refused_with_both_figures() {
    check_refused(
        "T-01,2.5,4.5,10,bar,1.6,16,10,6",
        Some("set_point"),
        |refusal| {
            matches!(refusal, Refusal::Definition { problem: Problem::SetPointAboveInterstage { set_point, interstage }, .. }
            if set_point.pa() == 450_000 && interstage.pa() == 400_000)
        },
    );
}

#[test]
fn gauge_without_a_span_is_refused() {
    check_refused(
        "T-01,2.5,2.0,10,bar,1.6,0,10,4",
        Some("inlet_span"),
        |refusal| {
            matches!(
                refusal,
                Refusal::Definition {
                    problem: Problem::ZeroSpan { .. } | Problem::NotPositive { .. },
                    ..
                }
            )
        },
    );
}

#[test]
fn bad_cells_are_refused_by_column() {
    let not_a_number = |refusal: &Refusal| *refusal == Refusal::Number(NumberFault::NotANumber);
    check_refused(
        "T-01,two,2.0,10,bar,1.6,16,10,4",
        Some("ratio"),
        not_a_number,
    );
    check_refused(
        "T-01,2.5,2.0,10,bar,fine,16,10,4",
        Some("gauge_class"),
        not_a_number,
    );
    check_refused("T-01,2.5,2.0,10,bar,1.6,16,10,", Some("outlet_span"), |r| {
        *r == Refusal::Empty
    });
    check_refused("T-01,2.5,2.0,10,foo,1.6,16,10,4", Some("unit"), |r| {
        *r == Refusal::UnknownUnit
    });
    check_refused(
        "T 01,2.5,2.0,10,bar,1.6,16,10,4",
        Some("station"),
        |refusal| matches!(refusal, Refusal::Code(_)),
    );
}

#[test]
fn second_row_for_a_station_is_refused_with_the_first_line() {
    let row = "T-01,2.5,2.0,10,bar,1.6,16,10,4";
    let (kept, refused) = read(&format!("{HEADING}\n{row}\n{row}\n"));
    assert_eq!(kept.len(), 1);
    assert_eq!(
        refused[0].refusal,
        Refusal::RepeatedStation { first_line: 2 }
    );
}

#[test]
fn what_is_odd_but_usable_is_kept_as_a_concern() {
    // 16 bar on a 16 bar gauge: readable, but past what the gauge should carry all the time.
    let (rows, refused) = read(&format!("{HEADING}\nT-01,2.5,2.0,15,bar,1.6,16,10,4\n"));
    assert!(refused.is_empty(), "{refused:?}");
    assert!(
        rows[0]
            .concerns
            .iter()
            .any(|p| matches!(p, Problem::ExpectedAboveWorkingRange { .. })),
        "{:?}",
        rows[0].concerns
    );
}

#[test]
fn semicolon_register_with_words() {
    let (rows, refused) = read(
        "station;ratio;set point;inlet typical;unit;gauge class;inlet span;interstage span;outlet span\n\
         T-01;2,5:1;30 psi;9-11;bar;cl. 1,6;0-16;0..10;0 to 60 psi\n",
    );
    assert!(refused.is_empty(), "{refused:?}");
    let station = &rows[0].station;
    assert_eq!(station.second_stage.set_point, Typed::of(30, 0, Unit::Psi));
    assert_eq!(station.outlet.high, Typed::of(60, 0, Unit::Psi));
    assert_eq!(station.inlet_usual.low, Typed::of(9, 0, Unit::Bar));
}

#[test]
fn spans_in_their_spellings() {
    let bar = |mantissa, exponent| Typed::of(mantissa, exponent, Unit::Bar);
    let cases = [
        ("16", bar(0, 0), bar(16, 0)),
        ("0-16", bar(0, 0), bar(16, 0)),
        ("0 - 16 bar", bar(0, 0), bar(16, 0)),
        ("-1..5", bar(-1, 0), bar(5, 0)),
        ("-1-5", bar(-1, 0), bar(5, 0)),
        ("-1 to 5", bar(-1, 0), bar(5, 0)),
        ("0\u{2013}2.5", bar(0, 0), bar(25, -1)),
    ];
    for (text, low, high) in cases {
        assert_eq!(
            parse_span(text, DecimalMark::Point, Unit::Bar).unwrap(),
            (low, high),
            "{text}"
        );
    }
    for text in ["", "-", "16 apples", "1-2-3", "a..b", "bar"] {
        assert!(
            parse_span(text, DecimalMark::Point, Unit::Bar).is_err(),
            "{text}"
        );
    }
}

#[test]
fn classes_in_their_spellings() {
    for text in ["1.6", "1,6", "class 1.6", "Cl. 1.6", "kl 1,6", "1.6 %"] {
        let (class, grade) = parse_class(text, DecimalMark::Point).unwrap();
        assert_eq!((class.to_string().as_str(), grade), ("1.6", None), "{text}");
    }
    let (_, grade) = parse_class("grade B", DecimalMark::Point).unwrap();
    assert_eq!(grade, Some(AsmeGrade::GradeB));
    let (_, grade) = parse_class("2A", DecimalMark::Point).unwrap();
    assert_eq!(grade, Some(AsmeGrade::Grade2A));
}
