//! `winze hydraulics STATION`: whether the two stages of a station suit their duty, and what
//! happens when one sticks open.
//!
//! Outcome `findings` when anything is recommended, missing data included. Nothing is written.
//!
//! `--json` prints one object. Pressures are whole pascals, gauge unless the name says absolute;
//! flows m3/h; powers W; `null` stands for a figure whose data is named under `lacking`, or that a
//! stage with nothing to reduce does not have. The parts are in [`super::hydraulics_json`].
//!
//! ```json
//! {"command":"hydraulics","outcome":"findings","station":"T-07",
//!  "conditions":{"water_temperature_c":20.0,"density_kg_m3":998.2,"vapour_pressure_pa_absolute":2339.2,
//!    "air_pressure_pa_absolute":101325.0,"air_basis":"altitude"},
//!  "inlets":[{"point":"low","inlet_pa":900000,"interstage_pa":360000,"outlet_pa":200000,"starved":false,
//!    "stages":[{"stage":"first-stage","upstream_pa":900000,"downstream_pa":360000,"drop_pa":540000,
//!      "share":0.77,"sigma":1.85,"sigma_limit":1.5,"sigma_limit_kind":"permitted","keeps_limit":true,
//!      "choked_drop_pa":809000,"choked":false,
//!      "duties":[{"flow":"min","flow_m3_h":3.0,"kv":1.29,"choking":"no","share_of_rated":0.065,
//!        "power_w":450.0,"outlet_velocity_m_s":0.42}]}]}],
//!  "set_point":{"set_point_pa":200000,"needed_pa":230000,"interstage_expected_pa":360000,
//!    "interstage_least_pa":324000,"margin_pa":94000,"spring_share":0.25},
//!  "ratio_window":{"from":1.38,"up_to":3.52,"suits":true},
//!  "failures":[{"failed":"first-stage-open","interstage_pa":1100000,"outlet_pa":200000,
//!    "protection":"within-permitted","survivor":{"stage":"second-stage","sigma":1.33,
//!      "sigma_limit":1.5,"sigma_limit_kind":"permitted","keeps_limit":false,"choked":true},
//!    "overranged":["interstage"]}],
//!  "recommendations":[{"code":"survivor-would-cavitate","concern":"poor",
//!    "stage":"second-stage","failed":"first-stage-open","what":"...","next":"..."}],
//!  "lacking":[{"datum":"relief-set","why":"missing"}]}
//! ```

use std::fmt::Write as _;

use winze_core::hydraulics::check;
use winze_core::query;
use winze_core::station::StationCode;

use super::hydraulics_json::CheckJson;
use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::hydraulics::nothing_to_check;
use crate::messages::{UserMessage, logbook_failed};
use crate::presenters::hydraulics::{Sheet, Table, sheet};

/// Arguments of `winze hydraulics`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Code of the station.
    #[arg(value_name = "STATION")]
    station: String,
    #[command(flatten)]
    place: Place,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let no_such = || {
        UserMessage::new(
            format!("There is no station {} in this logbook.", args.station),
            "Nothing was changed.",
            "Check the code, or load the register first.",
        )
    };
    let code = StationCode::parse(&args.station).map_err(|_| no_such())?;
    let logbook = args.place.open()?;
    let found = query::station(&logbook, &code).map_err(|error| logbook_failed(&error))?;
    let station = found.ok_or_else(no_such)?.definition;
    let check = check(&station).map_err(|gap| nothing_to_check(&gap))?;
    let outcome = Outcome::of_findings(!check.recommendations.is_empty());
    let mut output = Output::new(args.json);
    print(&mut output, &sheet(&station, &check));
    output.json(&CheckJson::new(outcome, &station, &check));
    Ok(outcome)
}

fn print(output: &mut Output, sheet: &Sheet) {
    output.line(&sheet.title);
    for table in &sheet.tables {
        output.line("");
        for line in lines(table) {
            output.line(line);
        }
    }
    output.line("");
    if sheet.findings.is_empty() {
        output.line("Nothing to object to.");
    }
    for finding in &sheet.findings {
        output.line(format!(
            "{}: {} {}",
            finding.word, finding.what, finding.next
        ));
    }
}

/// A table with its columns side by side.
fn lines(table: &Table) -> Vec<String> {
    let width = |text: &str| text.chars().count();
    let names = table.rows.iter().map(|row| width(&row.name)).max();
    let names = names.unwrap_or(0);
    let columns = table.rows.iter().map(|row| row.cells.len()).max();
    let widths: Vec<usize> = (0..columns.unwrap_or(0))
        .map(|column| {
            let cells = table.rows.iter().filter_map(|row| row.cells.get(column));
            let head = table.columns.get(column);
            let all = cells.chain(head).map(|text| width(text));
            all.max().unwrap_or(0)
        })
        .collect();
    let laid_out = |name: &str, cells: &[String]| {
        let mut line = format!("  {name:names$}");
        for (cell, &width) in cells.iter().zip(&widths) {
            // Writing to a text cannot fail.
            let _ = write!(line, "  {cell:>width$}");
        }
        line.trim_end().to_owned()
    };
    let mut all = vec![table.title.clone()];
    if !table.columns.is_empty() {
        all.push(laid_out("", &table.columns));
    }
    all.extend(table.rows.iter().map(|row| laid_out(&row.name, &row.cells)));
    if !table.note.is_empty() {
        all.push(format!("  {}", table.note));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::hydraulics::{Row, Subject};

    #[test]
    fn columns_line_up() {
        let row = |name: &str, cells: [&str; 2]| Row {
            name: name.into(),
            cells: cells.map(String::from).into(),
        };
        let table = Table {
            subject: Subject::Pressures,
            title: "Pressures".into(),
            columns: vec!["lowest".into(), "highest".into()],
            rows: vec![
                row("inlet", ["9.00 bar", "11.00 bar"]),
                row("interstage", ["3.60 bar", "4.40 bar"]),
            ],
            note: "Gauge.".into(),
        };
        assert_eq!(
            lines(&table),
            [
                "Pressures",
                "                lowest    highest",
                "  inlet       9.00 bar  11.00 bar",
                "  interstage  3.60 bar   4.40 bar",
                "  Gauge.",
            ]
        );
    }
}
