//! `winze load` on real files: what is taken, what is refused, and that nothing else is touched.

use std::path::Path;

use tempfile::TempDir;
use winze_tests::command::{Ran, run};

const REGISTER: &str = "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,\
                        interstage_span,outlet_span\n\
                        T-01,2.5,2.0,10,bar,1.6,16,10,4\n\
                        T-02,2.5,30,150,psi,1.6,230,100,60\n";

const READINGS: &str = "station,taken_at,inlet,interstage,outlet,unit\n\
                        T-01,2025-03-03 07:00,10.2,4.1,2.0,bar\n\
                        T-02,2025-03-03 07:20,148,59.5,30,psi\n\
                        T-01,2025-03-10,10.1,4.0,,bar\n";

struct Site {
    folder: TempDir,
}

impl Site {
    fn new() -> Self {
        let site = Self {
            folder: tempfile::tempdir().expect("a folder"),
        };
        site.write("register.csv", REGISTER.as_bytes());
        site.write("readings.csv", READINGS.as_bytes());
        site
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path().join(name), bytes).expect("written");
    }

    fn winze(&self, arguments: &[&str]) -> Ran {
        run(env!("CARGO_BIN_EXE_winze-commands"), self.path(), arguments)
    }

    fn load(&self, more: &[&str]) -> Ran {
        let mut arguments = vec!["load", "--logbook", "book", "--json"];
        arguments.extend(more);
        self.winze(&arguments)
    }

    /// Loads one sheet of readings on top of the register.
    fn load_readings(&self, bytes: &[u8]) -> Ran {
        self.write("some.csv", bytes);
        self.load(&["--register", "register.csv", "--readings", "some.csv"])
    }
}

#[test]
fn whole_sheets_are_taken_and_loading_them_again_adds_nothing() {
    let site = Site::new();
    let sheets = ["--register", "register.csv", "--readings", "readings.csv"];
    let first = site.load(&sheets);
    assert_eq!(first.code, Some(0), "{first:?}");
    let json = first.json();
    assert_eq!(json["command"], "load");
    assert_eq!(json["outcome"], "done");
    assert_eq!(json["created"], true);
    assert_eq!(json["register"]["added"], 2);
    assert_eq!(json["readings"]["added"], 3);
    assert!(
        first.err.is_empty(),
        "a bar only on a terminal: {}",
        first.err
    );

    let json = site.load(&sheets).json();
    assert_eq!(json["created"], false);
    assert_eq!(
        (
            json["register"]["added"].as_u64(),
            json["register"]["unchanged"].as_u64()
        ),
        (Some(0), Some(2))
    );
    assert_eq!(
        (
            json["readings"]["added"].as_u64(),
            json["readings"]["already_there"].as_u64()
        ),
        (Some(0), Some(3))
    );
}

#[test]
fn the_same_readings_in_another_dialect_add_nothing() {
    let site = Site::new();
    site.load(&["--register", "register.csv", "--readings", "readings.csv"]);
    let again = site.load_readings(
        "\u{feff}# copied by hand\r\nTaken at;Station;Outlet;Interstage;Inlet;Unit\r\n\
         2025-03-03T08:00:00+01:00;t-01;2,00;4,10;10,2;bar(g)\r\n"
            .as_bytes(),
    );
    let json = again.json();
    assert_eq!(again.code, Some(0), "{again:?}");
    assert_eq!(json["readings"]["already_there"], 1);
}

#[test]
fn each_bad_row_is_reported_once_and_costs_nothing_but_itself() {
    let site = Site::new();
    let ran = site.load_readings(
        b"station,taken_at,inlet,interstage,outlet,unit,colour\n\
          T-01,2025-03-03,ten,4.1,2.0,bar,red\n\
          T-01,2025-03-03,10.2,4.1.0,2.0,bar,red\n\
          T-01,2025-03-03,10.2,4.1,1e308,bar,red\n\
          X-99,2025-03-03,10.2,4.1,2.0,bar,red\n\
          T-01,2025-02-30,10.2,4.1,2.0,bar,red\n\
          T-01,2025-03-03,10.2,4.1,2.0,bara,red\n\
          T-01,2025-03-04,10,2,4,1,2.0,bar,red\n\
          T-01,2025-03-05,10.2,4.1,2.0,bar,\"red\n\
          T-01,2025-03-06,10.2,4.1,2.0,bar,red\n\
          T-01,2025-03-07,10.2,4",
    );
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["outcome"], "findings");
    assert_eq!(json["readings"]["added"], 1);
    let refused = json["readings"]["refused"].as_array().expect("a list");
    let found: Vec<_> = refused
        .iter()
        .map(|row| {
            let column = row["column"].as_str().unwrap_or("-");
            (
                row["line"].as_u64().expect("a line"),
                column,
                row["reason"].as_str().expect("a reason"),
            )
        })
        .collect();
    let expected = [
        (2, "inlet", "not-a-number"),
        (3, "interstage", "second-decimal-mark"),
        (4, "outlet", "power-of-ten"),
        (5, "station", "unknown-station"),
        (6, "taken_at", "no-such-day"),
        (7, "unit", "unknown-unit"),
        (8, "-", "too-many-cells"),
        (9, "colour", "open-quote"),
        (11, "-", "cut-short"),
    ];
    assert_eq!(found, expected);
    for row in refused {
        let message = row["message"].as_str().expect("a message");
        assert!(message.contains("Only this row was left out."), "{message}");
    }
    let notices = json["readings"]["notices"].to_string();
    assert!(notices.contains("colour"), "{notices}");
}

#[test]
fn bad_news_is_taken_as_it_is() {
    let site = Site::new();
    let ran = site.load_readings(
        b"station,taken_at,inlet,interstage,outlet,unit\n\
          T-01,2025-03-03,-0.4,4.1,2.0,bar\n\
          T-01,2025-03-04,99,4.1,2.0,bar\n\
          T-01,2025-03-05,150,60,30,bar\n\
          T-01,2025-03-06,4.1,10.2,2.0,bar\n",
    );
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(ran.json()["readings"]["added"], 4);
}

#[test]
fn stations_that_cannot_work_are_refused_with_their_figures() {
    let site = Site::new();
    site.write(
        "register.csv",
        b"station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,interstage_span,outlet_span\n\
          T-01,0,2.0,10,bar,1.6,16,10,4\n\
          T-02,2.5,4.5,10,bar,1.6,16,10,6\n\
          T-03,2.5,2.0,10,bar,1.6,16,10,4\n",
    );
    let ran = site.load(&["--register", "register.csv"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["register"]["added"], 1);
    let refused = &json["register"]["refused"];
    assert_eq!(refused[0]["reason"], "ratio-not-above-one");
    assert_eq!(refused[0]["found"], "0");
    assert_eq!(refused[1]["reason"], "set-point-above-interstage");
    let message = refused[1]["message"].as_str().expect("a message");
    assert!(
        message.contains("4.50 bar") && message.contains("4.00 bar"),
        "{message}"
    );
}

#[test]
fn files_that_are_no_sheets_leave_no_logbook_behind() {
    let site = Site::new();
    site.write("empty.csv", b"");
    site.write("other.csv", b"name,age\nAda,36\n");
    site.write("wide.csv", b"\xff\xfes\0t\0");
    std::fs::create_dir(site.path().join("folder.csv")).expect("a folder");
    let cases = [
        ("missing.csv", "There is no file"),
        ("folder.csv", "is a folder"),
        ("empty.csv", "no heading"),
        ("other.csv", "lacks station"),
        ("wide.csv", "UTF-16"),
        ("register.csv/x.csv", "part of the path is a file"),
    ];
    for (name, expected) in cases {
        let ran = site.load(&["--register", "register.csv", "--readings", name]);
        assert_eq!(ran.code, Some(2), "{name}: {ran:?}");
        let json = ran.json();
        assert_eq!(json["outcome"], "not-done", "{name}");
        let message = format!("{} {}", json["message"]["what"], json["message"]["next"]);
        assert!(message.contains(expected), "{name}: {message}");
        assert!(ran.err.contains(expected), "{name}: {}", ran.err);
        assert!(!site.path().join("book").exists(), "{name}");
    }
}

#[test]
fn logbook_that_cannot_be_made_is_named_and_nothing_is_lost() {
    let site = Site::new();
    let ran = site.winze(&[
        "load",
        "--register",
        "register.csv",
        "--logbook",
        "readings.csv",
    ]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("readings.csv"), "{}", ran.err);
    let kept = std::fs::read(site.path().join("readings.csv")).expect("still there");
    assert_eq!(kept, READINGS.as_bytes());
}

#[test]
fn unknown_offset_and_unit_are_refused_before_anything_is_read() {
    let site = Site::new();
    for (flag, value) in [("--offset", "noon"), ("--unit", "bara")] {
        let ran = site.load(&["--register", "register.csv", flag, value]);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert!(ran.err.contains(value), "{}", ran.err);
        assert!(!site.path().join("book").exists());
    }
}

#[test]
fn offset_and_unit_stand_in_where_the_sheet_is_silent() {
    let site = Site::new();
    site.write(
        "some.csv",
        b"station,taken_at,inlet,interstage,outlet\nT-01,2025-03-03 09:00,10.2,4.1,2.0\n",
    );
    let ran = site.load(&[
        "--register",
        "register.csv",
        "--readings",
        "some.csv",
        "--offset",
        "+02:00",
        "--unit",
        "bar",
    ]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    // The same instant and values as the first row of the plain sheet.
    let json = site.load(&["--readings", "readings.csv"]).json();
    assert_eq!(json["readings"]["already_there"], 1, "{json}");
}
