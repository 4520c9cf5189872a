//! `register.csv`: one station in each row.
//!
//! Required columns: `station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,
//! interstage_span,outlet_span`. Pressures are in the row's unit unless a cell names its own
//! (`0-230 psi`). A span is `16` (from zero), `0-16`, `-1..5` or `0 to 16`; `inlet_typical` may be
//! such a range too. A gauge class is that of EN 837-1 (`1.6`) or a grade of ASME B40.100 (`A`).
//!
//! Optional columns, an empty cell meaning the usual assumption of `station::defaults`:
//!
//! | column | meaning, unit |
//! |---|---|
//! | `name`, `level`, `order` | what people call it; where it belongs; place in the walking order |
//! | `band`, `minimum_differential` | allowed either side of the set point; needed across stage two |
//! | `spring_low`, `spring_high` | what the pilot spring reaches (both or neither) |
//! | `inlet_low`, `inlet_high` | usual inlet range (both or neither) |
//! | `ratio_tolerance`, `as_left_ratio`, `as_left_on` | per cent; inlet over interstage; date |
//! | `{gauge}_class`, `{gauge}_division` | of `inlet`, `interstage`, `outlet`; division as pressure |
//! | `{gauge}_elevation_mm`, `{gauge}_checked_on` | above the station datum; date |
//! | `{stage}_size_mm`, `{stage}_kv` | of `first_stage`, `second_stage`; m3/h at 1 bar |
//! | `{stage}_fl`, `{stage}_sigma`, `{stage}_xfz` | recovery; permitted index; onset of noise |
//! | `altitude_m`, `depth_m` | above sea level; below the surface |
//! | `water_temperature_c`, `air_temperature_c` | degC |
//! | `downstream_max`, `relief_set` | highest permitted; relief valve opens |
//! | `flow_min`, `flow_usual`, `flow_max` | m3/h |
//! | `hazards`, `access` | in the engineer's words |

use std::collections::HashMap;
use std::io::Read;

use super::SheetOptions;
use super::report::{Notice, Refusal, RowReport, SheetError};
use super::rows::Row;
use super::station_cells::{CellRefusal, column_of, station_from};
use super::table::{Known, Step, Table};
use crate::station::{Problem, Station, StationCode};

const KNOWN: Known = Known {
    required: &[
        "station",
        "ratio",
        "set_point",
        "inlet_typical",
        "gauge_class",
        "inlet_span",
        "interstage_span",
        "outlet_span",
    ],
    optional: &[
        "unit",
        "name",
        "level",
        "order",
        "band",
        "minimum_differential",
        "spring_low",
        "spring_high",
        "inlet_low",
        "inlet_high",
        "ratio_tolerance",
        "as_left_ratio",
        "as_left_on",
        "inlet_class",
        "interstage_class",
        "outlet_class",
        "inlet_division",
        "interstage_division",
        "outlet_division",
        "inlet_elevation_mm",
        "interstage_elevation_mm",
        "outlet_elevation_mm",
        "inlet_checked_on",
        "interstage_checked_on",
        "outlet_checked_on",
        "first_stage_size_mm",
        "first_stage_kv",
        "first_stage_fl",
        "first_stage_sigma",
        "first_stage_xfz",
        "second_stage_size_mm",
        "second_stage_kv",
        "second_stage_fl",
        "second_stage_sigma",
        "second_stage_xfz",
        "altitude_m",
        "depth_m",
        "water_temperature_c",
        "air_temperature_c",
        "downstream_max",
        "relief_set",
        "flow_min",
        "flow_usual",
        "flow_max",
        "hazards",
        "access",
    ],
    needs_unit: true,
};

/// One station as written in a register.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterRow {
    /// Line on which the row starts, from 1.
    pub line: u64,
    /// The definition.
    pub station: Station,
    /// What is odd about it but does not keep it from being used.
    pub concerns: Vec<Problem>,
}

/// A register, read row by row.
#[derive(Debug)]
pub struct RegisterSheet<R> {
    table: Table<R>,
    row: Row,
    options: SheetOptions,
    seen: HashMap<StationCode, u64>,
    rows: u32,
}

impl<R: Read> RegisterSheet<R> {
    /// Opens a register and reads its heading.
    ///
    /// # Errors
    /// A [`SheetError`] when the source fails or the heading is not one of a register.
    pub fn open(source: R, options: SheetOptions) -> Result<Self, SheetError> {
        let known = Known {
            needs_unit: options.usual_unit.is_none(),
            ..KNOWN
        };
        let table = Table::open(source, known)?;
        let seen = HashMap::new();
        Ok(Self {
            table,
            row: Row::default(),
            options,
            seen,
            rows: 0,
        })
    }

    /// Things noticed so far; complete once the register has been read to its end.
    #[must_use]
    pub fn notices(&self) -> Vec<Notice> {
        self.table.notices()
    }

    /// Bytes taken from the source so far, for progress.
    #[must_use]
    pub fn bytes_read(&self) -> u64 {
        self.table.bytes_read()
    }

    /// The next row: a station, or a report on why there is none in it; `None` at the end.
    ///
    /// A station that cannot work (a ratio of zero, a set point at or above the interstage
    /// pressure, a gauge without a span) is refused with the first such problem and its figures.
    ///
    /// # Errors
    /// [`SheetError::Read`] when the source fails; rows delivered before remain good.
    pub fn next_row(&mut self) -> Result<Option<Result<RegisterRow, RowReport>>, SheetError> {
        Ok(match self.table.next_row(&mut self.row)? {
            Step::End => None,
            Step::Refused(report) => Some(Err(report)),
            Step::Row => {
                self.rows = self.rows.saturating_add(1);
                let result = self.parse();
                Some(result.map_err(|CellRefusal { column, refusal }| {
                    let column = column.and_then(|name| self.table.column(&name));
                    self.table.refuse(&self.row, column, refusal)
                }))
            }
        })
    }

    fn parse(&mut self) -> Result<RegisterRow, CellRefusal> {
        let row = &self.row;
        let cell = |name: &str| {
            let index = self.table.column(name);
            index.and_then(|index| row.cell(index)).unwrap_or("").trim()
        };
        // Where no order is given, the register's own order is the walking order.
        let station = station_from(&cell, self.table.mark(), self.options, self.rows)?;
        if let Some(&first_line) = self.seen.get(&station.code) {
            return Err(CellRefusal::of(
                "station",
                Refusal::RepeatedStation { first_line },
            ));
        }
        let mut problems = station.problems();
        let fatal = problems.iter().position(Problem::is_fatal);
        if let Some(index) = fatal {
            let problem = problems.swap_remove(index);
            let column = Some(column_of(&problem).to_owned());
            return Err(CellRefusal {
                column,
                refusal: Refusal::Definition {
                    problem,
                    unit: station.unit,
                },
            });
        }
        self.seen.insert(station.code.clone(), row.line);
        Ok(RegisterRow {
            line: row.line,
            station,
            concerns: problems,
        })
    }
}

#[cfg(test)]
mod tests;
