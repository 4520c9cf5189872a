//! Taking over years of readings from old sheets, row by row already read and checked.

use std::collections::{BTreeMap, BTreeSet};

use winze_sync_format::RecordRef;

use crate::record::{Body, Reading, Shown, Source, Ticks};
use crate::sheet::ReadingRow;
use crate::station::{Station, StationCode};
use crate::store::NewRecord;
use crate::verdict::judge;
use crate::{Error, Logbook, Result};

use super::{OnProgress, Progress, Stage};

/// What became of a sheet of readings.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingsLoaded {
    /// Readings that are new.
    pub added: u64,
    /// Rows that had been loaded before, or that stand in the sheet twice.
    pub already_there: u64,
    /// Rows that were not taken over.
    pub refused: Vec<RefusedRow>,
}

/// A row that was not taken over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedRow {
    /// Its line in the sheet, from 1.
    pub line: u64,
    /// The station it names.
    pub station: StationCode,
    /// Why it was refused.
    pub why: RefusedWhy,
}

/// Why a row was not taken over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RefusedWhy {
    /// No definition of the station counts here.
    UnknownStation,
    /// It holds no value.
    NothingRead,
}

/// Readings written down with one sync.
const BATCH: usize = 4096;

/// Takes over readings, each judged against the definition in force now. Loading the same rows again
/// adds nothing.
///
/// # Errors
/// Those of writing; [`Error::Cancelled`] when stopped, with all whole batches kept.
pub fn load_readings(
    logbook: &mut Logbook,
    rows: impl Iterator<Item = ReadingRow>,
    by: &str,
    progress: &mut OnProgress<'_>,
) -> Result<ReadingsLoaded> {
    let mut loaded = ReadingsLoaded::default();
    let mut definitions: BTreeMap<StationCode, Option<(Station, RecordRef)>> = BTreeMap::new();
    let mut batch: Vec<NewRecord> = Vec::with_capacity(BATCH);
    let mut in_batch: BTreeSet<[u8; 32]> = BTreeSet::new();
    let mut done = 0;
    for row in rows {
        done += 1;
        if !definitions.contains_key(&row.station) {
            let found = logbook.read_station(&row.station)?;
            let found = found.map(|detail| (detail.definition, detail.revision));
            definitions.insert(row.station.clone(), found);
        }
        let refuse = |why| RefusedRow {
            line: row.line,
            station: row.station.clone(),
            why,
        };
        let Some(Some((definition, revision))) = definitions.get(&row.station) else {
            loaded.refused.push(refuse(RefusedWhy::UnknownStation));
            continue;
        };
        if row.entry.is_empty() {
            loaded.refused.push(refuse(RefusedWhy::NothingRead));
            continue;
        }
        let digest = row.digest();
        let taken_ms = row.taken_at.unix_ms();
        if in_batch.contains(&digest) || logbook.has_sheet_row(&row.station, taken_ms, digest)? {
            loaded.already_there += 1;
            continue;
        }
        in_batch.insert(digest);
        batch.push(record_of(row, definition, *revision, digest, by));
        loaded.added += 1;
        if batch.len() == BATCH {
            logbook.confirm_unsettled(std::mem::take(&mut batch))?;
            in_batch.clear();
            if !progress(Progress {
                stage: Stage::Writing,
                done,
                total: None,
            }) {
                logbook.settle()?;
                return Err(Error::Cancelled);
            }
        }
    }
    logbook.confirm_unsettled(batch)?;
    logbook.settle()?;
    progress(Progress {
        stage: Stage::Writing,
        done,
        total: Some(done),
    });
    Ok(loaded)
}

fn record_of(
    row: ReadingRow,
    definition: &Station,
    revision: RecordRef,
    digest: [u8; 32],
    by: &str,
) -> NewRecord {
    let seconds = row.taken_at.at.offset().local_minus_utc();
    let body = Reading {
        shown: Shown::of(&judge(definition, &row.entry)),
        station: row.station,
        revision,
        round: None,
        entry: row.entry,
        ticks: Ticks::NONE,
        note: row.remark,
        doubts: Vec::new(),
        source: Source::Sheet {
            taken_ms: row.taken_at.unix_ms(),
            row: digest,
        },
        utc_offset_minutes: i16::try_from(seconds / 60).ok(),
    };
    let person = if row.by.is_empty() {
        by.to_owned()
    } else {
        row.by
    };
    // The nonce follows from the row, so that the same sheet gives the same records bar their place.
    let mut nonce = [0; 8];
    nonce.copy_from_slice(&digest[..8]);
    NewRecord::new(Body::Reading(Box::new(body)), person).with_nonce(nonce)
}
