//! Taking over a register of stations, row by row already read and checked.

use std::collections::BTreeSet;

use crate::station::{Problem, Station, StationCode};
use crate::{Error, Logbook, Result};

use super::revise_station::{Planned, plan};
use super::{OnProgress, Progress, Stage};

/// What became of a register.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RegisterLoaded {
    /// Stations that were not known before.
    pub added: usize,
    /// Stations that were defined otherwise before.
    pub revised: usize,
    /// Stations whose definition was in force already.
    pub unchanged: usize,
    /// Stations that were not taken over, with the faults.
    pub refused: Vec<(StationCode, Vec<Problem>)>,
}

/// Stations written down with one sync.
const BATCH: usize = 256;

/// Takes over a register. Loading it again adds nothing; unsound definitions are left out and
/// reported.
///
/// # Errors
/// Those of writing; [`Error::Cancelled`] when stopped, with all whole batches kept.
pub fn load_register(
    logbook: &mut Logbook,
    stations: Vec<Station>,
    by: &str,
    progress: &mut OnProgress<'_>,
) -> Result<RegisterLoaded> {
    let mut loaded = RegisterLoaded::default();
    let total = Some(stations.len() as u64);
    let mut batch = Vec::new();
    let mut in_batch = BTreeSet::new();
    let mut done = 0;
    for station in stations {
        let code = station.code.clone();
        if !in_batch.insert(code.clone()) {
            // The sheet defines the station twice: the second is to replace the first.
            logbook.confirm(std::mem::take(&mut batch))?;
            in_batch.clear();
            in_batch.insert(code.clone());
        }
        let was_known = logbook.read_station(&code)?.is_some();
        match plan(logbook, station, by.to_owned()) {
            Ok(Planned::InForce(_)) => loaded.unchanged += 1,
            Ok(Planned::New(record)) => {
                batch.push(record);
                let count = if was_known {
                    &mut loaded.revised
                } else {
                    &mut loaded.added
                };
                *count += 1;
            }
            Err(Error::UnsoundDefinition { station, problems }) => {
                loaded.refused.push((station, problems));
            }
            Err(error) => return Err(error),
        }
        done += 1;
        if batch.len() == BATCH {
            logbook.confirm(std::mem::take(&mut batch))?;
            in_batch.clear();
            if !progress(Progress {
                stage: Stage::Writing,
                done,
                total,
            }) {
                return Err(Error::Cancelled);
            }
        }
    }
    logbook.confirm(batch)?;
    progress(Progress {
        stage: Stage::Writing,
        done,
        total,
    });
    Ok(loaded)
}
