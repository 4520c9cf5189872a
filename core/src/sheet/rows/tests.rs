//! Tests of the row reader: the published rules first, then this program's own choices.

use std::fmt::Write;
use std::io::{self, Read};

use super::{Next, ROW_BYTES_MAX, Row, Rows};

/// Reads everything; a fault is shown as `line/cell fault`.
fn read(bytes: &[u8]) -> (Vec<Vec<String>>, Vec<String>) {
    let mut rows = Rows::open(bytes).unwrap();
    let (mut row, mut good, mut faults) = (Row::default(), Vec::new(), Vec::new());
    loop {
        match rows.next_row(&mut row).unwrap() {
            Next::Row => good.push(row.cells().map(str::to_owned).collect()),
            Next::Fault { line, cell, fault } => faults.push(format!("{line}/{cell} {fault:?}")),
            Next::End => return (good, faults),
        }
    }
}

fn check(input: &str, expected: &[&[&str]]) {
    let (rows, faults) = read(input.as_bytes());
    assert_eq!(rows, expected, "{input:?}");
    assert!(faults.is_empty(), "{input:?}: {faults:?}");
}

fn lines_of(input: &[u8]) -> Vec<u64> {
    let mut rows = Rows::open(input).unwrap();
    let (mut row, mut lines) = (Row::default(), Vec::new());
    while rows.next_row(&mut row).unwrap() == Next::Row {
        lines.push(row.line);
    }
    lines
}

// F-1: the rules of RFC 4180 section 2, each with the example printed there.

#[test]
fn f1_rule_1_each_record_on_its_own_line() {
    check(
        "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
        &[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]],
    );
}

#[test]
fn f1_rule_2_last_record_may_lack_its_break() {
    check(
        "aaa,bbb,ccc\r\nzzz,yyy,xxx",
        &[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]],
    );
}

#[test]
fn f1_rule_4_spaces_belong_to_the_cell() {
    check("a, b ,c", &[&["a", " b ", "c"]]);
}

#[test]
fn f1_rule_5_quotes_are_optional() {
    check(
        "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx",
        &[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]],
    );
}

#[test]
fn f1_rule_6_a_quoted_cell_may_hold_a_line_break() {
    check(
        "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx",
        &[&["aaa", "b\r\nbb", "ccc"], &["zzz", "yyy", "xxx"]],
    );
    check("\"a,a\",b", &[&["a,a", "b"]]);
}

#[test]
fn f1_rule_7_a_quote_is_doubled_inside_quotes() {
    check("\"aaa\",\"b\"\"bb\",\"ccc\"", &[&["aaa", "b\"bb", "ccc"]]);
}

#[test]
fn f1_empty_cells_are_cells() {
    check("a,,c\r\n,,\r\n", &[&["a", "", "c"], &["", "", ""]]);
    check("\"\",\"\"", &[&["", ""]]);
}

// Beyond the standard: the choices named at the head of the module.

#[test]
fn byte_order_mark_is_not_part_of_the_first_name() {
    check(
        "\u{feff}station,ratio\nT-01,2.5\n",
        &[&["station", "ratio"], &["T-01", "2.5"]],
    );
}

#[test]
fn lf_and_lone_cr_end_a_row_too() {
    check("a,b\nc,d\n", &[&["a", "b"], &["c", "d"]]);
    check("a,b\rc,d\r", &[&["a", "b"], &["c", "d"]]);
}

#[test]
fn separator_is_found_in_the_first_real_line() {
    check(
        "# a,b,c,d,e\n\nx;y;z\n1,5;2;3\n",
        &[&["x", "y", "z"], &["1,5", "2", "3"]],
    );
    check("x\ty\n1,5\t2\n", &[&["x", "y"], &["1,5", "2"]]);
    check("\"a;b;c\",d\n1,2\n", &[&["a;b;c", "d"], &["1", "2"]]);
    check("sep=;\r\na,b;c\r\n", &[&["a,b", "c"]]);
}

#[test]
fn comments_and_blank_lines_are_no_rows() {
    check(
        "# by hand\r\na,b\r\n\r\n   \r\n#c,d\r\n\"#e\",f",
        &[&["a", "b"], &["#e", "f"]],
    );
}

#[test]
fn quote_inside_a_plain_cell_is_an_inch() {
    check("a,3\" pipe,c\n", &[&["a", "3\" pipe", "c"]]);
}

#[test]
fn spaces_around_quotes_are_dropped() {
    check("a, \"b, b\" ,c\n", &[&["a", "b, b", "c"]]);
}

#[test]
fn lines_are_counted_as_an_editor_counts_them() {
    assert_eq!(
        lines_of(b"a,b\r\n\"x\r\ny\nz\",1\r\n# c\r\n\r\nlast,2"),
        [1, 2, 7]
    );
    assert_eq!(lines_of(b"sep=;\na;b\nc;d"), [2, 3]);
}

#[test]
fn open_quote_costs_its_own_row_only() {
    let (rows, faults) = read(b"a,b\n1,\"open\n2,x\n3,y\n");
    assert_eq!(rows, [["a", "b"], ["2", "x"], ["3", "y"]]);
    assert_eq!(faults, ["2/1 OpenQuote"]);
}

#[test]
fn open_quote_that_meets_a_later_quote_costs_its_own_row_only() {
    let (rows, faults) = read(b"a,b\n1,\"open\n2,x\n3,\"y\"\n");
    assert_eq!(rows, [["a", "b"], ["2", "x"], ["3", "y"]]);
    assert_eq!(faults, ["2/1 StrayQuote { found: 'y' }"]);
}

#[test]
fn open_quote_in_a_long_file_costs_its_own_row_only() {
    let mut text = b"a,b\n1,\"open\n".to_vec();
    let count = ROW_BYTES_MAX / 2;
    text.extend(b"2,x\n".repeat(count));
    let (rows, faults) = read(&text);
    assert_eq!(
        (rows.len(), faults),
        (count + 1, vec!["2/1 OpenQuote".to_owned()])
    );
}

#[test]
fn overlong_row_is_passed_over() {
    let mut text = b"a,b\n1,".to_vec();
    text.extend(std::iter::repeat_n(b'x', 3 * ROW_BYTES_MAX));
    text.extend(b"\r\n2,y\r\n");
    let (rows, faults) = read(&text);
    assert_eq!(rows, [["a", "b"], ["2", "y"]]);
    assert_eq!(faults, ["2/1 TooLong"]);
}

#[test]
fn file_cut_inside_a_row_is_marked_unfinished() {
    let mut rows = Rows::open(&b"a,b\n1,2"[..]).unwrap();
    let mut row = Row::default();
    rows.next_row(&mut row).unwrap();
    assert!(!row.is_unfinished);
    rows.next_row(&mut row).unwrap();
    assert!(row.is_unfinished);
}

#[test]
fn old_single_byte_text_is_read_and_marked() {
    let mut rows = Rows::open(&b"a,b\n1,20 \xb0C\n"[..]).unwrap();
    let mut row = Row::default();
    rows.next_row(&mut row).unwrap();
    rows.next_row(&mut row).unwrap();
    assert_eq!((row.cell(1), row.was_recoded), (Some("20 °C"), true));
}

/// Gives one byte at a time, the worst a source may do.
struct Drops<'a>(&'a [u8]);

impl Read for Drops<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = usize::from(!self.0.is_empty() && !into.is_empty());
        into[..count].copy_from_slice(&self.0[..count]);
        self.0 = &self.0[count..];
        Ok(count)
    }
}

#[test]
fn rows_do_not_depend_on_how_the_bytes_arrive() {
    // Long enough to cross the block border at every offset of a row.
    let mut text = String::from("station;remark\r\n");
    for number in 0..12_000 {
        write!(text, "T-{number};\"a \"\"{number}\"\"\r\nb\"\r\n").unwrap();
    }
    let whole = read(text.as_bytes());
    assert_eq!(whole.0.len(), 12_001);
    assert_eq!(whole.0[12_000], ["T-11999", "a \"11999\"\r\nb"]);
    let mut rows = Rows::open(Drops(text.as_bytes())).unwrap();
    let (mut row, mut count) = (Row::default(), 0);
    while rows.next_row(&mut row).unwrap() == Next::Row {
        assert!(
            row.cells().eq(whole.0[count].iter().map(String::as_str)),
            "row {count}"
        );
        count += 1;
    }
    assert_eq!(count, whole.0.len());
}

#[test]
fn every_cut_of_a_sheet_gives_the_rows_before_it() {
    let text = b"a,b,c\r\n1,\"x\r\ny\",3\r\n4,5,6\r\n";
    let (all, _) = read(text);
    for length in 0..text.len() {
        let (rows, _) = read(&text[..length]);
        let whole = rows.len().saturating_sub(1);
        assert_eq!(rows[..whole], all[..whole], "cut at {length}");
    }
}
