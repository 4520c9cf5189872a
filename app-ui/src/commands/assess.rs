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

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use chrono::{DateTime, SecondsFormat, Utc};
use serde::Serialize;
use winze_core::Logbook;
use winze_core::assess::{Assessor, Raised};
use winze_core::query::{self, Visit};
use winze_core::record::DoubtReply;
use winze_core::station::{Quantity, StationCode};
use winze_core::suspects::next_checks;
use winze_core::units::Unit;
use winze_core::verdict::Entry as Values;

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
}

/// Something raised, and where.
pub(crate) struct Flag {
    /// The station.
    pub station: StationCode,
    /// What was raised, and when.
    pub raised: Raised,
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
    let (stations, flags) = flags(&logbook)?;
    let mut output = Output::new(args.json);
    for flag in &flags {
        output.json(&json(flag));
        for line in words(flag) {
            output.line(line);
        }
    }
    output.line(format!(
        "{stations} stations assessed, {} flags raised.",
        flags.len()
    ));
    Ok(Outcome::of_findings(!flags.is_empty()))
}

/// How many stations there are, and everything raised at them, in the order of time.
pub(crate) fn flags(logbook: &Logbook) -> Result<(usize, Vec<Flag>), UserMessage> {
    let stations = query::stations(logbook).map_err(|error| logbook_failed(&error))?;
    let mut flags = Vec::new();
    for row in &stations {
        flags.extend(assess(logbook, &row.code)?);
    }
    flags.sort_by(|a, b| (a.raised.at, &a.station).cmp(&(b.raised.at, &b.station)));
    Ok((stations.len(), flags))
}

fn assess(logbook: &Logbook, code: &StationCode) -> Result<Vec<Flag>, UserMessage> {
    let failed = |error| logbook_failed(&error);
    let mut visits = query::past_readings(logbook, code, usize::MAX).map_err(failed)?;
    visits.reverse();
    let mut definitions = BTreeMap::new();
    let mut assessor = Assessor::new();
    let mut flags = Vec::new();
    for visit in visits.iter().filter(|visit| visit.counts()) {
        // A time outside the calendar cannot be placed among the others.
        let Some(at) = DateTime::<Utc>::from_timestamp_millis(visit.taken_ms) else {
            continue;
        };
        let definition = match definitions.entry(visit.revision) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(place) => {
                place.insert(query::definition_at(logbook, visit.revision).map_err(failed)?)
            }
        };
        let raised = assessor.take(definition, at, &visit.entry, is_confirmed(visit));
        flags.extend(raised.raised.into_iter().map(|raised| Flag {
            station: code.clone(),
            raised,
        }));
    }
    Ok(flags)
}

/// Whether the operator was asked about the values and said that they stand.
fn is_confirmed(visit: &Visit) -> bool {
    visit
        .doubts
        .iter()
        .any(|doubt| doubt.reply == DoubtReply::AsTyped && doubt.typed == visit.entry)
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
