//! What must hold for any bytes as an old sheet. A plain test feeds it spoilt samples; `tests/fuzz`
//! feeds it what a coverage-guided search thinks up.

use std::io::{self, Read};

use winze_core::record::{Body, Kind};
use winze_core::sheet::rows::{Next, Row, Rows};
use winze_core::sheet::{ReadingRow, ReadingSheet, RegisterSheet, SheetError, SheetOptions};
use winze_core::units::Typed;

const READINGS: &str = "station,taken_at,inlet,interstage,outlet,unit,flow,by,remark\n";

/// Gives one byte, then two, then three, ...
struct Slow<'a>(&'a [u8], usize);

impl Read for Slow<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.1 += 1;
        let count = self.1.min(out.len());
        self.0.read(&mut out[..count])
    }
}

/// Rows end, whatever the bytes; how the source gives them changes nothing; a row that was taken,
/// written plainly, is taken again as the same reading; a station that was taken fits in a record.
pub fn sheet(data: &[u8]) {
    let rows = rows_of(data);
    assert!(rows.len() <= data.len() + 1);
    assert_eq!(rows_of(Slow(data, 0)), rows);
    readings(data);
    readings(&[READINGS.as_bytes(), data].concat());
    let Ok(mut register) = RegisterSheet::open(data, SheetOptions::default()) else {
        return;
    };
    let mut count = 0;
    while let Some(row) = register.next_row().expect("memory does not fail") {
        count += 1;
        assert!(count <= data.len());
        match row {
            Ok(row) => {
                let body = Body::StationRevision(Box::new(row.station));
                let bytes = body.encode().expect("what was read can be recorded");
                let again = Body::decode(Kind::StationRevision.number(), &bytes);
                assert_eq!(again.expect("what was written can be read"), body);
            }
            Err(report) => assert!(report.found.chars().count() <= 63, "{report:?}"),
        }
    }
}

fn rows_of(source: impl Read) -> Vec<Result<Vec<String>, String>> {
    let mut rows = Rows::open(source).expect("memory does not fail");
    let (mut row, mut all) = (Row::default(), Vec::new());
    loop {
        match rows.next_row(&mut row).expect("memory does not fail") {
            Next::Row => all.push(Ok(row.cells().map(str::to_owned).collect())),
            Next::Fault { line, fault, .. } => all.push(Err(format!("{line} {fault}"))),
            Next::End => return all,
        }
    }
}

fn readings(data: &[u8]) {
    let mut sheet = match ReadingSheet::open(data, SheetOptions::default()) {
        Ok(sheet) => sheet,
        Err(SheetError::Read { source, .. }) => panic!("memory does not fail: {source}"),
        Err(_) => return,
    };
    let (mut count, mut line) = (0, 0);
    while let Some(row) = sheet.next_row().expect("memory does not fail") {
        count += 1;
        assert!(count <= data.len());
        match row {
            Ok(row) => {
                assert!(row.line > line, "lines rise");
                line = row.line;
                assert_eq!(again(&row).digest(), row.digest());
            }
            Err(report) => assert!(report.found.chars().count() <= 63, "{report:?}"),
        }
    }
}

/// The same reading, written plainly and read again.
fn again(row: &ReadingRow) -> ReadingRow {
    let gauge = |typed: Option<Typed>| {
        typed.map_or_else(String::new, |typed| {
            format!("{} {}", typed.digits, typed.unit.symbol())
        })
    };
    let text = format!(
        "{READINGS}{},{},{},{},{},,{},,\n",
        row.station,
        row.taken_at.at.to_rfc3339(),
        gauge(row.entry.inlet),
        gauge(row.entry.interstage),
        gauge(row.entry.outlet),
        match row.entry.flow.code() {
            "not-noted" => "",
            code => code,
        },
    );
    let mut sheet = ReadingSheet::open(text.as_bytes(), SheetOptions::default()).expect("a sheet");
    let found = sheet.next_row().expect("memory does not fail");
    match found.expect("one row") {
        Ok(found) => found,
        Err(report) => panic!("{report:?} in {text}"),
    }
}

/// What to start from.
pub fn seeds() -> Vec<Vec<u8>> {
    let texts = [
        "T-07,2026-03-02T06:00:00Z,10.2,4.1,2.0,bar,flowing,A. Other,\"said, \"\"so\"\"\"\n\
         T-08,2026-03-02,150 psi,,2.0,bar,still,,\nT-09,2026-03-02 06:15,-,n/a,\u{2013},kPa,,,\n",
        "sep=;\nStation;Taken_at;Inlet;Interstage;Outlet;Unit;Remark\r\n# old\r\n\
         T-1;2025-12-31 23:59:59;1.020,5;4,10;2;kPa;\"two\r\nlines\"\r\n\
         T-2;2025-02-30;x;y;z;mm\r\nT-3;2025-02-28 07:45 +01:00;1,2;0,5;-0,1;kg/cm2;\r\n",
        "station\ttaken_at\tinlet\tinterstage\toutlet\tunit\nT 1\t2026-01-01T00:00:00+05:30\t33 ft\t\
         10 m H2O\t1 500 000\tMPa\nT-2\t\"open\n",
        "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,interstage_span,outlet_span,\
         name,level,order,band,hazards,inlet_checked_on,first_stage_kv,altitude_m\n\
         T-07,2.5,2.0,10,bar,1.6,16,0-10,0..4,Upper,L3,4,0.2,\"steep, wet\",2025-06-01,12,420\n\
         T-08,2.5:1,29 psi,140-160 psi,psi,A,0-230,0 to 150,-1..5,,,,,,,,\n",
    ];
    let mut all: Vec<Vec<u8>> = texts.iter().map(|text| text.as_bytes().to_vec()).collect();
    let wide = |text: &str| [&[0xff, 0xfe][..], &utf16(text)].concat();
    all.push(wide(&format!("{READINGS}{}", texts[0])));
    all.push(
        b"\xef\xbb\xbfstation;taken_at;inlet;interstage;outlet;unit\nT-1;2026-01-01;1;1;1;k\xdfa\n"
            .to_vec(),
    );
    all
}

fn utf16(text: &str) -> Vec<u8> {
    text.encode_utf16().flat_map(u16::to_le_bytes).collect()
}
