//! Tests of the readings sheet: dialects, refusals, and what makes a row the same row.

use super::{ReadingRow, ReadingSheet};
use crate::sheet::{
    MomentFault, Notice, NumberFault, Refusal, RowReport, SheetError, SheetOptions,
    parse_site_offset,
};
use crate::units::{Typed, Unit};
use crate::verdict::FlowState;

fn read_with(text: &[u8], options: SheetOptions) -> (Vec<ReadingRow>, Vec<RowReport>) {
    let mut sheet = ReadingSheet::open(text, options).unwrap();
    let (mut good, mut refused) = (Vec::new(), Vec::new());
    while let Some(row) = sheet.next_row().unwrap() {
        match row {
            Ok(row) => good.push(row),
            Err(report) => refused.push(report),
        }
    }
    (good, refused)
}

fn read(text: &str) -> (Vec<ReadingRow>, Vec<RowReport>) {
    read_with(text.as_bytes(), SheetOptions::default())
}

const HEADING: &str = "station,taken_at,inlet,interstage,outlet,unit,flow,by,remark\n";

/// One row under the usual heading that must be refused: column and reason.
fn check_refused(row: &str, column: Option<&str>, refusal: &Refusal) {
    let good = "T-02,2025-03-03,10.1,4.0,2.0,bar,,,\n";
    let (kept, refused) = read(&format!("{HEADING}{row}\n{good}"));
    assert_eq!(refused.len(), 1, "{row}");
    assert_eq!(refused[0].line, 2, "{row}");
    assert_eq!(refused[0].column.as_deref(), column, "{row}");
    assert_eq!(&refused[0].refusal, refusal, "{row}");
    assert_eq!(kept.len(), 1, "{row}: the good row below must be kept");
}

#[test]
fn a_plain_row_is_read_whole() {
    let (rows, refused) = read(&format!(
        "{HEADING}t-01,2025-03-03 07:45,10.20,4.1,,bar,flowing,Ada,\"dripping, slow\"\n"
    ));
    assert!(refused.is_empty(), "{refused:?}");
    let row = &rows[0];
    assert_eq!((row.line, row.station.as_str()), (2, "T-01"));
    assert_eq!(row.taken_at.at.to_rfc3339(), "2025-03-03T07:45:00+00:00");
    assert_eq!(row.entry.inlet, Some(Typed::of(1020, -2, Unit::Bar)));
    assert_eq!(row.entry.interstage, Some(Typed::of(41, -1, Unit::Bar)));
    assert_eq!(
        (row.entry.outlet, row.entry.flow),
        (None, FlowState::Flowing)
    );
    assert_eq!(
        (row.by.as_str(), row.remark.as_str()),
        ("Ada", "dripping, slow")
    );
}

#[test]
fn semicolons_decimal_commas_and_a_byte_order_mark() {
    let (rows, refused) = read(
        "\u{feff}Station;Taken at;Inlet;Interstage;Outlet;Unit\r\n\
         # spring\r\n\
         T-01;2025-03-03;10,2;4,1;2,05;bar\r\n\
         T-01;2025-03-10;1,020;0,410;0,205;MPa\r\n",
    );
    assert!(refused.is_empty(), "{refused:?}");
    assert_eq!(rows[0].entry.outlet, Some(Typed::of(205, -2, Unit::Bar)));
    assert_eq!(
        rows[1].entry.inlet,
        Some(Typed::of(1020, -3, Unit::Megapascal))
    );
}

#[test]
fn each_row_has_its_own_unit_in_plain_words() {
    let (rows, refused) = read(
        "station,taken_at,inlet,interstage,outlet,unit\n\
         T-01,2025-03-03,10.2,4.1,2.0,bar\n\
         T-01,2025-03-04,1020,410,200,kPa\n\
         T-01,2025-03-05,148,59.5,29,psi\n\
         T-01,2025-03-06,104,41.8,20.4,m of water\n\
         T-01,2025-03-07,10.4,4.2,2.0,kgf/cm2\n\
         T-01,2025-03-08,148 psi,4.1,2.0,bar\n",
    );
    assert!(refused.is_empty(), "{refused:?}");
    let units: Vec<_> = rows
        .iter()
        .map(|row| row.entry.inlet.unwrap().unit)
        .collect();
    let expected = [
        Unit::Bar,
        Unit::Kilopascal,
        Unit::Psi,
        Unit::MetreOfWater,
        Unit::KilogramForcePerCm2,
        Unit::Psi,
    ];
    assert_eq!(units, expected);
    assert_eq!(rows[5].entry.outlet.unwrap().unit, Unit::Bar);
}

#[test]
fn time_without_offset_is_the_sites() {
    let options = SheetOptions {
        site_offset: parse_site_offset("+02:00").unwrap(),
        usual_unit: Some(Unit::Bar),
    };
    let text = "station,taken_at,inlet,interstage,outlet\n\
                T-01,2025-03-03 07:45,10,4,2\n\
                T-01,2025-03-03T07:45:00Z,10,4,2\n";
    let (rows, _) = read_with(text.as_bytes(), options);
    assert_eq!(
        rows[1].taken_at.unix_ms() - rows[0].taken_at.unix_ms(),
        2 * 3_600_000
    );
    assert_eq!(rows[0].entry.inlet.unwrap().unit, Unit::Bar);
}

#[test]
fn bad_news_is_read_and_not_judged() {
    let (rows, refused) = read(&format!(
        "{HEADING}T-01,2025-03-03,-0.3,99,150,bar,still,,swapped\nX-99,2025-03-04,-,n/a,1.0,bar,,,\n"
    ));
    assert!(refused.is_empty(), "{refused:?}");
    assert_eq!(rows[0].entry.inlet, Some(Typed::of(-3, -1, Unit::Bar)));
    assert_eq!(
        (rows[1].entry.inlet, rows[1].entry.interstage),
        (None, None)
    );
}

#[test]
fn refusals_name_column_and_reason_and_keep_the_rest() {
    use NumberFault::{Grouped, NotANumber, PowerOfTen, TwoMarks};
    let number = |fault| Refusal::Number(fault);
    check_refused(
        "T-01,2025-03-03,ten,4.1,2.0,bar,,,",
        Some("inlet"),
        &number(NotANumber),
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1.0,2.0,bar,,,",
        Some("interstage"),
        &number(TwoMarks),
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1,1e308,bar,,,",
        Some("outlet"),
        &number(PowerOfTen),
    );
    check_refused(
        "T-01,2025-03-03,\"1,020\",4.1,2,bar,,,",
        Some("inlet"),
        &number(Grouped),
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1,2.0,bara,,,",
        Some("unit"),
        &Refusal::UnknownUnit,
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1,2.0,,,,",
        Some("unit"),
        &Refusal::Empty,
    );
    check_refused(
        ",2025-03-03,10.2,4.1,2.0,bar,,,",
        Some("station"),
        &Refusal::Empty,
    );
    check_refused(
        "T-01,,10.2,4.1,2.0,bar,,,",
        Some("taken_at"),
        &Refusal::Empty,
    );
    let moment = Refusal::Moment;
    check_refused(
        "T-01,3/3/2025,10.2,4.1,2.0,bar,,,",
        Some("taken_at"),
        &moment(MomentFault::Shape),
    );
    check_refused(
        "T-01,2025-02-29,10.2,4.1,2.0,bar,,,",
        Some("taken_at"),
        &moment(MomentFault::NoSuchDay),
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1,2.0,bar,maybe,,",
        Some("flow"),
        &Refusal::Flow,
    );
    check_refused("T-01,2025-03-03,,-,,bar,,,", None, &Refusal::NothingRead);
    check_refused(
        "T-01,2025-03-03,10,2,4,1,2.0,bar,,,",
        None,
        &Refusal::TooManyCells {
            cells: 11,
            expected: 9,
        },
    );
    check_refused(
        "T-01,2025-03-03,10.2,4.1",
        None,
        &Refusal::TooFewCells {
            cells: 4,
            expected: 9,
        },
    );
    let long = "x".repeat(3000);
    check_refused(
        &format!("T-01,2025-03-03,10.2,4.1,2.0,bar,,,{long}"),
        Some("remark"),
        &Refusal::TextTooLong { max: 2048 },
    );
}

#[test]
fn what_was_found_is_repeated_short() {
    let cell = "é".repeat(500);
    let (_, refused) = read(&format!("{HEADING}T-01,2025-03-03,{cell},4.1,2.0,bar,,,\n"));
    assert_eq!(refused[0].found, format!("{}...", "é".repeat(60)));
}

#[test]
fn file_cut_short_is_told_from_a_short_row() {
    let (rows, refused) = read(&format!(
        "{HEADING}T-01,2025-03-03,10,4,2,bar,,,\nT-02,2025-03-03,10,4"
    ));
    assert_eq!(rows.len(), 1);
    assert_eq!(
        refused[0].refusal,
        Refusal::CutShort {
            cells: 4,
            expected: 9
        }
    );
    assert!(refused[0].file_ends_here);
}

#[test]
fn unknown_columns_are_reported_with_their_place() {
    let text =
        "station,taken_at,inlet,interstage,outlet,unit,weather,\nT-01,2025-03-03,10,4,2,bar,dry,\n";
    let mut sheet = ReadingSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
    assert!(sheet.next_row().unwrap().unwrap().is_ok());
    let expected = [Notice::UnknownColumn {
        name: "weather".to_owned(),
        position: 7,
    }];
    assert_eq!(sheet.notices(), expected);
}

#[test]
fn old_single_byte_text_keeps_the_row_and_is_noticed() {
    let text = b"station,taken_at,inlet,interstage,outlet,unit,remark\n\
                 T-01,2025-03-03,10,4,2,bar,20 \xb0C\n";
    let mut sheet = ReadingSheet::open(&text[..], SheetOptions::default()).unwrap();
    assert_eq!(sheet.next_row().unwrap().unwrap().unwrap().remark, "20 °C");
    assert_eq!(
        sheet.notices(),
        [Notice::Recoded {
            rows: 1,
            first_line: 2
        }]
    );
}

#[test]
fn sheets_that_are_none_are_refused_whole() {
    let open = |text: &'static [u8]| ReadingSheet::open(text, SheetOptions::default()).err();
    assert!(matches!(open(b""), Some(SheetError::Empty)));
    assert!(matches!(
        open(b"# only a comment\n\n"),
        Some(SheetError::Empty)
    ));
    assert!(matches!(open(b"\xff\xfes\0t\0"), Some(SheetError::Utf16)));
    let missing = open(b"station,when,inlet,outlet\n");
    let expected = ["taken_at", "interstage", "unit"];
    assert!(
        matches!(&missing, Some(SheetError::MissingColumns { missing, .. }) if *missing == expected),
        "{missing:?}"
    );
    let twice = open(b"station,taken_at,inlet,interstage,outlet,unit,Inlet\n");
    assert!(matches!(
        twice,
        Some(SheetError::RepeatedColumn {
            first: 3,
            second: 7,
            ..
        })
    ));
}

#[test]
fn the_same_reading_in_another_dialect_has_the_same_digest() {
    let (a, _) = read(&format!(
        "{HEADING}T-01,2025-03-03 07:45,10.20,4.1,2.0,bar,still,Ada,x\n"
    ));
    let (b, _) = read(
        "taken_at;station;inlet;interstage;outlet;unit;flow\n\
         2025-03-03T08:45+01:00;t-01;10,2;4,10;2;bar(g);STILL\n",
    );
    assert_eq!(a[0].digest(), b[0].digest());
}

#[test]
fn any_other_reading_has_another_digest() {
    let rows = "T-01,2025-03-03,10.2,4.1,2.0,bar,,,\n\
                T-02,2025-03-03,10.2,4.1,2.0,bar,,,\n\
                T-01,2025-03-04,10.2,4.1,2.0,bar,,,\n\
                T-01,2025-03-03,10.2,4.1,2.0,psi,,,\n\
                T-01,2025-03-03,10.2,4.1,,bar,,,\n\
                T-01,2025-03-03,10.2,,4.1,bar,,,\n\
                T-01,2025-03-03,10.2,4.1,2.0,bar,still,,\n\
                T-01,2025-03-03,102,4.1,2.0,bar,,,\n";
    let (rows, _) = read(&format!("{HEADING}{rows}"));
    let digests: std::collections::HashSet<_> = rows.iter().map(ReadingRow::digest).collect();
    assert_eq!(digests.len(), 8);
}
