//! `winze hydraulics` as the engineer runs it: a register loaded, then one station checked.

use std::path::Path;
use std::process::{Command, Output};

const REGISTER: &str = "\
station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,interstage_span,outlet_span,\
spring_low,spring_high,first_stage_size_mm,first_stage_kv,first_stage_fl,first_stage_sigma,\
second_stage_size_mm,second_stage_kv,second_stage_fl,second_stage_sigma,altitude_m,\
water_temperature_c,downstream_max,relief_set,flow_min,flow_usual,flow_max
T-07,2.5,2.0,10,bar,1.6,16,16,16,1,5,50,20,0.9,1.5,50,20,0.95,1.3,0,20,5,3,3,10,20
T-08,2.5,30,150,psi,1.6,250,160,60,,,,,,,,,,,,,,,,,
";

fn winze(logbook: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_winze"))
        .args(arguments)
        .arg("--logbook")
        .arg(logbook)
        .output()
        .expect("the program runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("output is text")
}

#[test]
fn stations_of_a_register_are_checked_and_what_is_missing_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let register = folder.path().join("register.csv");
    std::fs::write(&register, REGISTER).expect("written");
    let logbook = folder.path().join("logbook");
    let register = register.to_str().expect("a plain path");
    let loaded = winze(&logbook, &["load", "--register", register]);
    assert_eq!(loaded.status.code(), Some(0), "{}", text(&loaded.stderr));

    // Complete, and nothing to object to.
    let sound = winze(&logbook, &["hydraulics", "T-07"]);
    let shown = text(&sound.stdout);
    assert_eq!(sound.status.code(), Some(0), "{shown}");
    assert!(shown.contains("Nothing to object to."), "{shown}");
    // Check value V-1: 10 to 4 to 2 bar at 10 m3/h needs Kv 4.08 and 7.07.
    for kv in ["4.08", "7.07"] {
        assert!(shown.contains(kv), "{shown}");
    }

    let short = winze(&logbook, &["hydraulics", "T-08", "--json"]);
    assert_eq!(short.status.code(), Some(1));
    let value: serde_json::Value = serde_json::from_slice(&short.stdout).expect("one object");
    assert_eq!(value["outcome"], "findings");
    assert_eq!(
        value["inlets"][0]["stages"][0]["sigma"],
        serde_json::Value::Null
    );
    assert_eq!(value["lacking"][0]["datum"], "water-temperature");

    let unknown = winze(&logbook, &["hydraulics", "T-99"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(text(&unknown.stderr).contains("T-99"));
}
