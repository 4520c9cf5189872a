//! `winze simulate`: writes the sheets of a simulated fleet, with the truth beside them.
//!
//! `register.csv` and `readings.csv` are such as `winze load` takes; `truth.csv` says which fault
//! began when. The same seed gives the same files. Files that are there already are not touched.
//!
//! `--json`:
//!
//! ```json
//! {"command":"simulate","outcome":"done","folder":"DIR","seed":1,"stations":840,"readings":98280}
//! ```

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::simulate::sheets::{
    READINGS_HEADING, REGISTER_HEADING, TRUTH_HEADING, reading_rows, register_row, truth_rows,
};
use winze_core::simulate::{Conditions, FleetPlan};

use super::output::Output;
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, file_failed};

/// Arguments of `winze simulate`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder to write to; made if need be.
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Number the fleet follows from.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How the fleet is made and read.
    #[arg(long, value_enum, default_value_t = Kind::Reference)]
    conditions: Kind,
    /// Healthy stations.
    #[arg(long, default_value_t = 240)]
    healthy: u32,
    /// Stations for each kind of fault.
    #[arg(long, default_value_t = 60)]
    each: u32,
    /// Weeks that healthy stations are visited.
    #[arg(long, default_value_t = 156, value_parser = clap::value_parser!(u32).range(1..=5200))]
    weeks: u32,
    /// Share of visits at which a slip of the pen is made, in per cent.
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u32).range(0..=100))]
    slips: u32,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// Close to practice.
    Reference,
    /// Finer gauges, steadier supply.
    Fine,
    /// Coarser gauges, a restless supply.
    Coarse,
    /// Visits missed and gauges left unread.
    Irregular,
}

impl Kind {
    fn conditions(self) -> Conditions {
        match self {
            Self::Reference => Conditions::reference(),
            Self::Fine => Conditions::fine(),
            Self::Coarse => Conditions::coarse(),
            Self::Irregular => Conditions::irregular(),
        }
    }
}

#[derive(Debug, Serialize)]
struct SimulatedJson<'a> {
    command: &'static str,
    outcome: &'static str,
    folder: &'a Path,
    seed: u64,
    stations: u32,
    readings: usize,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut plan = FleetPlan::stated(args.conditions.conditions(), args.seed);
    plan.healthy = args.healthy;
    plan.each = args.each;
    plan.weeks = f64::from(args.weeks);
    // Every fault begins early enough to be seen, and late enough for a quiet time before it.
    let latest_weeks = (plan.weeks - plan.after_onset_weeks).max(plan.weeks / 2.0);
    plan.onset_weeks = (plan.onset_weeks.0.min(latest_weeks), latest_weeks);
    plan.slip_share = f64::from(args.slips) / 100.0;
    std::fs::create_dir_all(&args.folder)
        .map_err(|error| file_failed("made", &args.folder, &error))?;
    let mut register = Sheet::create(&args.folder.join("register.csv"), REGISTER_HEADING)?;
    let mut readings = Sheet::create(&args.folder.join("readings.csv"), READINGS_HEADING)?;
    let mut truth = Sheet::create(&args.folder.join("truth.csv"), TRUTH_HEADING)?;
    let mut count = 0;
    for index in 0..plan.size() {
        let station = plan.station(index);
        count += station.readings.len();
        register.write(&register_row(&station))?;
        readings.write(&reading_rows(&station))?;
        truth.write(&truth_rows(&station))?;
    }
    for sheet in [register, readings, truth] {
        sheet.finish()?;
    }
    let mut output = Output::new(args.json);
    output.line(format!(
        "{} stations with {count} readings are in {}, and what is wrong with them in truth.csv.",
        plan.size(),
        args.folder.display()
    ));
    output.json(&SimulatedJson {
        command: "simulate",
        outcome: Outcome::Done.code(),
        folder: &args.folder,
        seed: args.seed,
        stations: plan.size(),
        readings: count,
    });
    Ok(Outcome::Done)
}

/// A sheet being written.
struct Sheet {
    path: PathBuf,
    file: BufWriter<File>,
}

impl Sheet {
    fn create(path: &Path, heading: &str) -> Result<Self, UserMessage> {
        let file = File::create_new(path).map_err(|error| file_failed("written", path, &error))?;
        let mut sheet = Self {
            path: path.to_owned(),
            file: BufWriter::new(file),
        };
        sheet.write(heading)?;
        Ok(sheet)
    }

    fn write(&mut self, text: &str) -> Result<(), UserMessage> {
        self.file
            .write_all(text.as_bytes())
            .map_err(|error| file_failed("written", &self.path, &error))
    }

    fn finish(mut self) -> Result<(), UserMessage> {
        self.file
            .flush()
            .map_err(|error| file_failed("written", &self.path, &error))
    }
}
