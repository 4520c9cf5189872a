//! `winze demo`: an invented mine with its tablets, its office and a year of readings.
//!
//! With `--headless DIR` the whole day runs without a display and leaves in DIR: `bundles/` (one of
//! them damaged), `sheets/`, the logbooks `tablet-a/`, `tablet-b/` and `office/`, `pictures/` of
//! every screen in two sizes, `due.ics`, `summary.json` and `summary.txt`. It ends with 1, done with findings,
//! and with 2 only where something failed.
//!
//! Without it the day runs until the bundles lie in the office's tray, and the windows open: each
//! is a program of its own on its own logbook, as in a mine. Where there is no display the command
//! says so and runs the whole day headless.
//!
//! `--json` prints what stands in `summary.json` on one line, with `command` and `outcome`.

use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::time::{Duration, Instant};

use serde::Serialize;

use super::output::{Output, note};
use super::{CommandResult, Outcome};
use crate::demo::{self, SEED, Summary, Until};
use crate::messages::{UserMessage, file_failed};

/// A window that ends with a failure sooner than this was never open.
const OPENING: Duration = Duration::from_secs(10);

/// Arguments of `winze demo`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Run the whole day without a display and leave everything in this new or empty folder.
    #[arg(long, value_name = "DIR", conflicts_with = "folder")]
    headless: Option<PathBuf>,
    /// Where the windows' logbooks are made: a new or empty folder; a temporary one when absent.
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
    /// What everything but the keys follows from.
    #[arg(long, default_value_t = SEED)]
    seed: u64,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct Json<'a> {
    command: &'static str,
    #[serde(flatten)]
    summary: &'a Summary,
}

pub(super) fn run(args: &Args) -> CommandResult {
    if let Some(folder) = &args.headless {
        return headless(folder, args);
    }
    let folder = args.folder.clone().unwrap_or_else(temporary);
    if !has_display() {
        note("There is no display, so the whole day runs without windows.");
        return headless(&folder, args);
    }
    windows(&folder, args)
}

fn headless(folder: &Path, args: &Args) -> CommandResult {
    let started = Instant::now();
    let summary = demo::run(folder, args.seed, demo::usual_day(), Until::End)?;
    let mut output = Output::new(args.json);
    output.line(summary.to_text());
    output.line(format!(
        "Everything is in {}. It took {:.1} s.",
        folder.display(),
        started.elapsed().as_secs_f64()
    ));
    output.json(&Json {
        command: "demo",
        summary: &summary,
    });
    Ok(Outcome::Findings)
}

fn windows(folder: &Path, args: &Args) -> CommandResult {
    note("Making the invented mine and its year of readings.");
    let today = demo::day_until(chrono::Utc::now());
    let summary = demo::run(folder, args.seed, today, Until::Tray)?;
    let mut output = Output::new(args.json);
    output.line(format!(
        "The tablet has a round to walk; the office has {} in its tray, {}.",
        summary.bundles.len().saturating_sub(1),
        folder.join("bundles").display()
    ));
    output.line(format!("Everything is in {}.", folder.display()));
    drop(output);
    let bundles = folder.join("bundles");
    let children = [
        start("tablet", &folder.join("tablet-a"), "Ada", None)?,
        start("office", &folder.join("office"), "M. Clerk", Some(&bundles))?,
    ];
    let (opened, mut has_failed) = (Instant::now(), false);
    for mut child in children {
        let status = child.wait();
        has_failed |= !status.is_ok_and(|status| status.success());
    }
    if has_failed && opened.elapsed() > OPENING {
        return Err(UserMessage::new(
            "A window was ended before it was closed.",
            "What it showed as saved is safe.",
            "Open it again with `winze tablet` or `winze office` on the same logbook.",
        ));
    }
    if has_failed {
        note("A window could not be opened, so the whole day runs without windows.");
        return headless(&folder.join("headless"), args);
    }
    Ok(Outcome::Findings)
}

/// Starts a window as a program of its own.
fn start(
    window: &str,
    logbook: &Path,
    by: &str,
    tray: Option<&Path>,
) -> Result<Child, UserMessage> {
    let program =
        std::env::current_exe().map_err(|error| file_failed("read", Path::new("winze"), &error))?;
    let mut command = Command::new(&program);
    command
        .arg(window)
        .arg("--logbook")
        .arg(logbook)
        .args(["--by", by]);
    if let Some(tray) = tray {
        command.arg("--tray").arg(tray);
    }
    command
        .spawn()
        .map_err(|error| file_failed("read", &program, &error))
}

/// Whether there is somewhere to show a window. Elsewhere than on Linux there always is.
fn has_display() -> bool {
    let is_set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || is_set("DISPLAY") || is_set("WAYLAND_DISPLAY")
}

/// A folder of this run's own; the operating system clears it away some day.
fn temporary() -> PathBuf {
    let now = chrono::Utc::now().format("%Y%m%d-%H%M%S%3f");
    std::env::temp_dir().join(format!("winze-demo-{now}-{}", std::process::id()))
}
