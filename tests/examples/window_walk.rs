//! Walks one station in the real window, by pointer, and checks what was stored.
//!
//! Usage: `window_walk PROGRAM PICTURE`, with a display and `xdotool` and `import` at hand. The
//! same taps are first made on a window without a display, which tells where each key lies; then
//! the program is started on an equal logbook and the pointer goes to the same places.

use std::path::Path;
use std::process::{Child, Command};
use std::sync::Arc;
use std::thread::sleep;
use std::time::Duration;

use slint::LogicalPosition;
use winze_core::actions::load_register;
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_core::{Logbook, query};
use winze_tests::screen::ORDINARY_READING;
use winze_tests::{samples, screen};

type Result<T> = std::result::Result<T, Box<dyn std::error::Error>>;

const WIDTH: u16 = 1280;
const HEIGHT: u16 = 800;
/// A person's pace; the window refuses a second touch of one key within 150 ms.
const BETWEEN_TAPS: Duration = Duration::from_millis(250);
const WINDOW_AWAITED: Duration = Duration::from_secs(30);
/// From the round: start it, then open its first station.
const WAY_TO_STATION: [&str; 2] = ["Start the round", "Open T-07"];

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, program, picture] = arguments.as_slice() else {
        return Err("usage: window_walk PROGRAM PICTURE".into());
    };
    let folder = tempfile::tempdir()?;
    let places = dry_run(&folder.path().join("dry"));

    let real = folder.path().join("real");
    drop(logbook(&real)?);
    let mut child = Command::new(program)
        .arg("tablet")
        .arg("--logbook")
        .arg(&real)
        .spawn()?;
    let walked = walk(&mut child, &places, picture);
    child.kill()?;
    child.wait()?;
    walked?;
    check(&real)
}

fn logbook(folder: &Path) -> Result<Logbook> {
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let mut logbook = Logbook::create(folder, Role::Tablet, "tablet a", clock)?;
    let stations = vec![samples::station("T-07"), samples::station("T-08")];
    load_register(&mut logbook, stations, "tester", &mut |_| true)?;
    Ok(logbook)
}

fn dry_run(folder: &Path) -> Vec<(&'static str, LogicalPosition)> {
    screen::without_display();
    let stations = vec![samples::station("T-07"), samples::station("T-08")];
    let logbook = screen::tablet_logbook(folder, stations);
    let tablet = screen::tablet(logbook, f32::from(WIDTH), f32::from(HEIGHT));
    WAY_TO_STATION
        .into_iter()
        .chain(ORDINARY_READING)
        .map(|label| (label, screen::tap(&tablet.window, label)))
        .collect()
}

fn xdotool(arguments: &[&str]) -> Result<String> {
    let output = Command::new("xdotool").args(arguments).output()?;
    if !output.status.success() {
        return Err(format!("xdotool {arguments:?}: {}", output.status).into());
    }
    Ok(String::from_utf8(output.stdout)?.trim().to_owned())
}

fn find_window(child: &mut Child) -> Result<String> {
    let pause = Duration::from_millis(200);
    let mut waited = Duration::ZERO;
    while waited < WINDOW_AWAITED {
        if let Some(status) = child.try_wait()? {
            return Err(format!("the program ended before its window came: {status}").into());
        }
        if let Ok(found) = xdotool(&["search", "--onlyvisible", "--name", "^Winze$"])
            && let Some(window) = found.lines().next()
        {
            return Ok(window.to_owned());
        }
        sleep(pause);
        waited += pause;
    }
    Err("no window came".into())
}

fn walk(child: &mut Child, places: &[(&str, LogicalPosition)], picture: &str) -> Result<()> {
    let window = find_window(child)?;
    xdotool(&["windowmove", "--sync", &window, "0", "0"]).ok();
    xdotool(&[
        "windowsize",
        &window,
        &WIDTH.to_string(),
        &HEIGHT.to_string(),
    ])?;
    xdotool(&["windowfocus", "--sync", &window])?;
    sleep(Duration::from_secs(1));
    for (number, (label, place)) in places.iter().enumerate() {
        let (x, y) = (place.x.round().to_string(), place.y.round().to_string());
        xdotool(&["mousemove", "--window", &window, &x, &y])?;
        sleep(BETWEEN_TAPS);
        xdotool(&["click", "1"])?;
        sleep(BETWEEN_TAPS);
        println!("{number:2} {label} at {x}, {y}");
        if label.ends_with("read back") {
            Command::new("import")
                .args(["-window", "root", picture])
                .status()?;
        }
    }
    Ok(())
}

fn check(folder: &Path) -> Result<()> {
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let logbook = Logbook::open(folder, clock)?;
    let visits = query::past_readings(&logbook, &samples::code("T-07"), 9)?;
    let [visit] = visits.as_slice() else {
        return Err(format!("{} readings were stored, not one", visits.len()).into());
    };
    let meant = samples::entry("10.2", "4.1", "2.0");
    let same = visit.entry.inlet == meant.inlet
        && visit.entry.interstage == meant.interstage
        && visit.entry.outlet == meant.outlet;
    if !same {
        return Err(format!("stored {:?}, tapped {meant:?}", visit.entry).into());
    }
    println!("the reading tapped in the window is stored: {}", visit.at);
    Ok(())
}
