//! `winze assess`: goes through every station's readings in the order they were taken and says what
//! each of them raised: slow or sudden change, a gauge that never moves, a pressure outside its
//! band, a probable slip of the pen.
//!
//! A flag stands at the visit that raised it and uses nothing that was not known then. A condition
//! that merely goes on is not raised again until it has cleared or grown clearly worse. Readings
//! that do not count here (held, set aside) are left out. Nothing is written.
//!
//! `--json`, one object per line and flag, in the order of time:
//!
//! ```json
//! {"station":"T-03","taken_at":"2026-05-12T07:30:00Z","rule":"drift","quantity":"outlet",
//!  "suspects":[{"cause":"second-stage-rising","probability":0.91}]}
//! {"station":"T-08","taken_at":"2026-06-02T08:10:00Z","rule":"slip","quantity":"inlet-gauge",
//!  "suspects":[{"cause":"entry-slip","probability":0.99}],
//!  "likely":{"inlet":10.2,"interstage":4.1,"outlet":2.0,"unit":"bar"}}
//! ```
//!
//! `rule` is `drift`, `jump`, `stuck`, `outside` or `slip`; suspects come most probable first;
//! `likely` stands with a `slip` only, `null` for a gauge not read. Outcome `findings` when
//! anything was raised.
//!
//! `--arithmetic` adds the arithmetic of every verdict: an object for each pressure of each reading
//! that counts, before the flags of that reading. It has `verdict` and no `rule`:
//!
//! ```json
//! {"station":"T-03","taken_at":"2026-05-12T07:30:00Z","gauge":"outlet","typed":"2.16 bar",
//!  "head_pa":0,"observed_pa":216000,
//!  "expected":{"basis":"set-point","low_pa":180000,"target_pa":200000,"high_pa":220000},
//!  "budget":[{"source":"gauge-class","gauge":"outlet","half_width_pa":6400.0,
//!    "distribution":"rectangular","divisor":1.732,"sensitivity":1.0,"contribution_pa":3695.0}],
//!  "uncertainty_pa":3901.0,"above_low":9.2,"below_high":1.0,"probability":0.84,
//!  "verdict":"unsure"}
//! ```
//!
//! Pressures in pascals, `observed_pa` at the station datum with `head_pa` added to what was
//! `typed`. `contribution_pa` is `half_width_pa` over `divisor` times `sensitivity` without its
//! sign, `uncertainty_pa` their square sum's root, `above_low` and `below_high` the distances from
//! the band's ends in such uncertainties, `probability` that of lying in the band. `ratio` stands in
//! `expected` where the band rests on one. `basis`, `source` and `distribution` are the codes of
//! `winze_core::verdict`.

use chrono::SecondsFormat;
use serde::Serialize;
use winze_core::Logbook;
use winze_core::query;
pub(crate) use winze_core::query::StationFlag as Flag;
use winze_core::station::{Quantity, StationCode};
use winze_core::suspects::next_checks;
use winze_core::units::Unit;
use winze_core::verdict::Entry as Values;

use super::assess_arithmetic::{self as arithmetic, Definitions};
use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, logbook_failed, watch};

/// Suspects less probable than this are not printed in words.
const PROBABILITY_SAID: f64 = 0.05;

/// Arguments of `winze assess`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    place: Place,
    /// Print one JSON object per flag.
    #[arg(long)]
    pub json: bool,
    /// Also print the arithmetic of every verdict.
    #[arg(long)]
    arithmetic: bool,
    /// One station only.
    #[arg(long, value_name = "CODE")]
    station: Option<String>,
}

#[derive(Debug, Serialize)]
struct FlagJson<'a> {
    station: &'a str,
    taken_at: String,
    rule: &'static str,
    quantity: &'static str,
    suspects: Vec<SuspectJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    likely: Option<LikelyJson>,
}

#[derive(Debug, Serialize)]
struct SuspectJson {
    cause: &'static str,
    probability: f64,
}

#[derive(Debug, Serialize)]
struct LikelyJson {
    inlet: Option<f64>,
    interstage: Option<f64>,
    outlet: Option<f64>,
    unit: &'static str,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let logbook = args.place.open()?;
    let wanted = (args.station.as_deref())
        .map(|text| known_station(&logbook, text))
        .transpose()?;
    let (mut stations, mut flags) = flags(&logbook)?;
    if let Some(wanted) = &wanted {
        stations = 1;
        flags.retain(|flag| flag.station == *wanted);
    }
    let mut output = Output::new(args.json);
    if args.arithmetic {
        print_all(&logbook, wanted.as_ref(), &flags, &mut output)?;
    } else {
        for flag in &flags {
            print(flag, &mut output);
        }
    }
    output.line(format!(
        "{stations} stations assessed, {} flags raised.",
        flags.len()
    ));
    Ok(Outcome::of_findings(!flags.is_empty()))
}

fn print(flag: &Flag, output: &mut Output) {
    output.json(&json(flag));
    for line in words(flag) {
        output.line(line);
    }
}

/// Prints the arithmetic of every reading, and behind it what the reading raised.
fn print_all(
    logbook: &Logbook,
    wanted: Option<&StationCode>,
    flags: &[Flag],
    output: &mut Output,
) -> Result<(), UserMessage> {
    let stations = query::stations(logbook).map_err(|error| logbook_failed(&error))?;
    let mut readings = Vec::new();
    for row in stations {
        if wanted.is_none_or(|wanted| *wanted == row.code) {
            readings.extend(arithmetic::readings(logbook, &row.code)?);
        }
    }
    readings.sort_by(|a, b| (a.at, &a.station).cmp(&(b.at, &b.station)));
    let mut definitions = Definitions::default();
    let mut flags = flags.iter().peekable();
    for reading in &readings {
        let here = (reading.at, &reading.station);
        while let Some(flag) = flags.next_if(|flag| (flag.raised.at, &flag.station) < here) {
            print(flag, output);
        }
        if let Some((station, judged)) = definitions.judged(logbook, reading) {
            for judged in &judged {
                output.json(&arithmetic::json(reading, judged));
                for line in arithmetic::text(reading, station, judged) {
                    output.line(line);
                }
            }
        }
    }
    flags.for_each(|flag| print(flag, output));
    Ok(())
}

/// A station of the register by its code.
fn known_station(logbook: &Logbook, text: &str) -> Result<StationCode, UserMessage> {
    let unknown = || {
        UserMessage::new(
            format!("There is no station {text} in this logbook."),
            "Nothing was changed.",
            "Check the code, or load the register first.",
        )
    };
    let code = StationCode::parse(text).map_err(|_| unknown())?;
    let found = query::station(logbook, &code).map_err(|error| logbook_failed(&error))?;
    found.map(|_| code).ok_or_else(unknown)
}

/// How many stations there are, and everything raised at them, in the order of time.
pub(crate) fn flags(logbook: &Logbook) -> Result<(usize, Vec<Flag>), UserMessage> {
    let stations = query::stations(logbook).map_err(|error| logbook_failed(&error))?;
    let flags = query::flags(logbook).map_err(|error| logbook_failed(&error))?;
    Ok((stations.len(), flags))
}

fn json(flag: &Flag) -> FlagJson<'_> {
    let raised = &flag.raised;
    let suspects = raised.suspects.in_order().into_iter();
    FlagJson {
        station: flag.station.as_str(),
        taken_at: raised.at.to_rfc3339_opts(SecondsFormat::Secs, true),
        rule: raised.rule.code(),
        quantity: raised.quantity.code(),
        suspects: suspects
            .map(|suspect| SuspectJson {
                cause: suspect.cause.code(),
                probability: suspect.probability,
            })
            .collect(),
        likely: raised.likely.as_ref().map(likely),
    }
}

fn likely(entry: &Values) -> LikelyJson {
    let typed = [Quantity::Inlet, Quantity::Interstage, Quantity::Outlet]
        .into_iter()
        .find_map(|quantity| entry.get(quantity));
    let unit = typed.map_or(Unit::Bar, |typed| typed.unit);
    let value = |quantity| entry.get(quantity).map(|typed| typed.value_in(unit));
    LikelyJson {
        inlet: value(Quantity::Inlet),
        interstage: value(Quantity::Interstage),
        outlet: value(Quantity::Outlet),
        unit: unit.code(),
    }
}

fn words(flag: &Flag) -> Vec<String> {
    let raised = &flag.raised;
    let again = if raised.is_worse {
        ", worse than before"
    } else {
        ""
    };
    let mut lines = vec![format!(
        "{} {}: {}, {}{again}.",
        raised.at.format("%Y-%m-%d %H:%M"),
        flag.station.as_str(),
        watch::quantity(raised.quantity),
        watch::rule(raised.rule),
    )];
    let suspects: Vec<String> = raised
        .suspects
        .in_order()
        .into_iter()
        .filter(|suspect| suspect.probability >= PROBABILITY_SAID)
        .map(|suspect| {
            let percent = 100.0 * suspect.probability;
            format!("{} ({percent:.0} %)", watch::cause(suspect.cause))
        })
        .collect();
    if !suspects.is_empty() {
        lines.push(format!("  Suspected: {}.", suspects.join("; ")));
    }
    if let Some(advice) = next_checks(&raised.suspects).first() {
        let cautions: Vec<&str> = advice.cautions.iter().map(|c| watch::caution(*c)).collect();
        let care = if cautions.is_empty() {
            String::new()
        } else {
            format!(" Caution: {}.", cautions.join(", "))
        };
        lines.push(format!(
            "  Tells most: {}, about {:.0} minutes.{care}",
            watch::check(advice.check),
            advice.minutes
        ));
    }
    lines
}
