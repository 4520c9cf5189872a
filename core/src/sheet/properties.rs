//! What must hold for any bytes and any cells: no panic, no endless reading, nothing lost between
//! the quotes.

use std::fmt::Write as _;

use proptest::collection::vec;
use proptest::prelude::*;

use super::rows::{Next, Row, Rows};
use super::{DecimalMark, ReadingSheet, RegisterSheet, SheetOptions, parse_moment, parse_number};
use super::{parse_unit_words, station_cells};
use crate::units::Unit;

/// A cell written so that RFC 4180 gives it back: always in quotes, quotes doubled.
fn quoted(cell: &str) -> String {
    format!("\"{}\"", cell.replace('"', "\"\""))
}

/// Text as it stands in sheets, with everything that has a meaning to the reader.
fn cell() -> impl Strategy<Value = String> {
    "[a-zäß0-9 ,;\"#\\t.\\-]{0,12}(\r\n|\n|\r)?[a-z\",]{0,4}"
}

fn read_all(bytes: &[u8]) -> (Vec<Vec<String>>, usize) {
    let mut rows = Rows::open(bytes).expect("memory does not fail");
    let (mut row, mut good, mut faults) = (Row::default(), Vec::new(), 0);
    loop {
        match rows.next_row(&mut row).expect("memory does not fail") {
            Next::Row => good.push(row.cells().map(str::to_owned).collect()),
            Next::Fault { .. } => faults += 1,
            Next::End => return (good, faults),
        }
    }
}

proptest! {
    #[test]
    fn quoted_cells_come_back_as_they_were(
        rows in vec(vec(cell(), 2..5), 1..8),
        separator in prop::sample::select(vec![',', ';', '\t']),
        line_break in prop::sample::select(vec!["\n", "\r\n"]),
    ) {
        // The first line names the separator, so that cells may hold the others freely.
        let mut text = format!("sep={separator}{line_break}");
        for row in &rows {
            let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
            write!(text, "{}{line_break}", cells.join(&separator.to_string())).expect("a string");
        }
        let (found, faults) = read_all(text.as_bytes());
        prop_assert_eq!(faults, 0);
        prop_assert_eq!(found, rows);
    }

    #[test]
    fn no_bytes_make_the_readers_panic_or_run_on(bytes in vec(any::<u8>(), 0..600)) {
        let (rows, faults) = read_all(&bytes);
        prop_assert!(rows.len() + faults <= bytes.len() + 1);
        for heading in [
            "station,taken_at,inlet,interstage,outlet,unit\n",
            "station;taken_at;inlet;interstage;outlet;unit\n",
        ] {
            let text = [heading.as_bytes(), &bytes].concat();
            if let Ok(mut sheet) = ReadingSheet::open(text.as_slice(), SheetOptions::default()) {
                let mut count = 0;
                while let Ok(Some(_)) = sheet.next_row() {
                    count += 1;
                    prop_assert!(count <= bytes.len() + 1);
                }
            }
        }
        let _ = RegisterSheet::open(bytes.as_slice(), SheetOptions::default());
    }

    #[test]
    fn no_text_makes_a_cell_panic(text in "\\PC{0,40}") {
        let _ = parse_number(&text, DecimalMark::Point);
        let _ = parse_number(&text, DecimalMark::Comma);
        let _ = parse_moment(&text, SheetOptions::default().site_offset);
        let _ = parse_unit_words(&text);
        let _ = station_cells::parse_span(&text, DecimalMark::Comma, Unit::Bar);
        let _ = station_cells::parse_class(&text, DecimalMark::Point);
    }

    #[test]
    fn plain_numbers_keep_their_digits(mantissa in -99_999_999_i64..=99_999_999, places in 0..6_usize) {
        let digits = format!("{:0width$}", mantissa.unsigned_abs(), width = places + 1);
        let (whole, fraction) = digits.split_at(digits.len() - places);
        let sign = if mantissa < 0 { "-" } else { "" };
        for (mark, point) in [(DecimalMark::Point, "."), (DecimalMark::Comma, ",")] {
            let point = if places == 0 { "" } else { point };
            let found = parse_number(&format!("{sign}{whole}{point}{fraction}"), mark);
            let found = found.expect("plain digits");
            prop_assert_eq!(found.mantissa, mantissa);
            prop_assert_eq!(usize::from(found.exponent.unsigned_abs()), places);
        }
    }

    #[test]
    fn an_open_quote_costs_only_its_own_row(rows in 1..40_usize, broken in 0..40_usize) {
        let broken = broken % rows;
        let mut text = String::from("a,b\n");
        for number in 0..rows {
            let quote = if number == broken { "\"" } else { "" };
            writeln!(text, "{number},{quote}x").expect("a string");
        }
        let (found, faults) = read_all(text.as_bytes());
        prop_assert_eq!(faults, 1);
        prop_assert_eq!(found.len(), rows);
    }
}
