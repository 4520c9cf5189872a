//! What matters to the office now: new, outside, unsure, missed, questions, held.

use std::collections::BTreeMap;

use winze_sync_format::RecordRef;

use super::{LogView, QuestionView, StationRow, StopState, Visit};
use crate::clock::{DAY_MS, MINUTE_MS};
use crate::station::StationCode;
use crate::verdict::Verdict;
use crate::{Logbook, Result};

/// The office's overview.
#[derive(Debug, Clone, PartialEq)]
pub struct Overview {
    /// How many stations there are.
    pub stations: usize,
    /// How many readings count in all.
    pub readings: u64,
    /// The newest merge.
    pub last_merge: Option<MergeRun>,
    /// Readings the newest merge brought that count, newest first.
    pub new: Vec<Visit>,
    /// Stations whose newest reading is outside, in walking order.
    pub outside: Vec<StationConcern>,
    /// Stations whose newest reading is unsure, in walking order.
    pub unsure: Vec<StationConcern>,
    /// Stations that should have been read and were not, in walking order.
    pub missed: Vec<Missed>,
    /// Questions to be decided.
    pub questions: Vec<QuestionView>,
    /// Logs with records that are kept but not counted.
    pub held: Vec<LogView>,
    /// Stations whose definitions disagree.
    pub disputed_stations: Vec<StationCode>,
    /// How many records are kept without being understood.
    pub not_understood: u64,
}

/// A station whose newest reading needs a look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationConcern {
    /// What people call the station.
    pub name: String,
    /// The reading.
    pub visit: Visit,
}

/// A station that was missed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missed {
    /// The station.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// Why it is on the list.
    pub why: MissedWhy,
    /// When it was last read, milliseconds since 1970.
    pub last_ms: Option<i64>,
}

/// Why a station is on the list of missed ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MissedWhy {
    /// It was on a round of this week or of the last seven days, and was neither read nor skipped.
    LeftOut {
        /// The round.
        round: RecordRef,
    },
    /// It was skipped on a round of this week or of the last seven days, and not read since.
    Skipped {
        /// The round.
        round: RecordRef,
    },
    /// It was not read this week (Monday to Sunday, local time).
    NotThisWeek,
}

/// One merge as it was run here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MergeRun {
    /// When it ended, milliseconds since 1970.
    pub finished_ms: i64,
    /// How many bundles it took.
    pub bundles: u64,
    /// How many records were new.
    pub new_records: u64,
    /// How many of them were readings.
    pub new_readings: u64,
}

/// Makes the overview of the week that the logbook's clock shows.
///
/// # Errors
/// The database's.
pub fn overview(logbook: &Logbook) -> Result<Overview> {
    let clock = logbook.clock();
    overview_at(logbook, clock.now().wall_ms, clock.utc_offset_minutes())
}

/// Makes the overview of the week around `now_ms` (milliseconds since 1970), with local time
/// `utc_offset_minutes` ahead of UTC.
///
/// # Errors
/// The database's.
pub fn overview_at(logbook: &Logbook, now_ms: i64, utc_offset_minutes: i16) -> Result<Overview> {
    let rows = logbook.read_stations()?;
    let (readings, not_understood) = logbook.count_readings()?;
    let concern = |wanted: Verdict| -> Result<Vec<StationConcern>> {
        rows.iter()
            .filter_map(|row| {
                row.last
                    .filter(|last| last.worst == Some(wanted))
                    .map(|last| (row, last))
            })
            .map(|(row, last)| {
                let visit = logbook.read_visit(last.at)?;
                Ok(StationConcern {
                    name: row.name.clone(),
                    visit,
                })
            })
            .collect()
    };
    Ok(Overview {
        stations: rows.len(),
        readings,
        last_merge: logbook.read_last_merge()?,
        new: logbook.read_arrived()?,
        outside: concern(Verdict::Outside)?,
        unsure: concern(Verdict::Unsure)?,
        missed: missed(logbook, &rows, now_ms, utc_offset_minutes)?,
        questions: logbook.read_questions(false)?,
        held: logbook
            .read_logs()?
            .into_iter()
            .filter(|log| log.held > 0)
            .collect(),
        disputed_stations: rows
            .iter()
            .filter(|row| row.is_disputed)
            .map(|row| row.code.clone())
            .collect(),
        not_understood,
    })
}

/// Monday, 00:00 local time, of the week around a moment, in UTC milliseconds.
///
/// # Formula
/// 1970-01-01 was a Thursday, so day `d` since then is day `(d + 3) mod 7` of its week from Monday.
#[must_use]
pub fn week_start_ms(now_ms: i64, utc_offset_minutes: i16) -> i64 {
    let offset_ms = i64::from(utc_offset_minutes) * MINUTE_MS;
    let day = now_ms.saturating_add(offset_ms).div_euclid(DAY_MS);
    let monday = day - (day + 3).rem_euclid(7);
    monday.saturating_mul(DAY_MS).saturating_sub(offset_ms)
}

fn missed(
    logbook: &Logbook,
    rows: &[StationRow],
    now_ms: i64,
    utc_offset_minutes: i16,
) -> Result<Vec<Missed>> {
    let week_ms = week_start_ms(now_ms, utc_offset_minutes);
    // Rounds of the last seven days too: on Monday the office merges what was walked last week.
    let from_ms = week_ms.min(now_ms.saturating_sub(7 * DAY_MS));
    let mut on_rounds: BTreeMap<StationCode, (i64, MissedWhy)> = BTreeMap::new();
    for at in logbook.rounds_between(from_ms, i64::MAX)? {
        let round = logbook.read_round(at)?;
        for stop in round.stops {
            let why = match stop.state {
                StopState::Left => MissedWhy::LeftOut { round: at },
                StopState::Skipped { .. } => MissedWhy::Skipped { round: at },
                StopState::Done { .. } => continue,
            };
            on_rounds.insert(stop.code, (round.opened_ms, why));
        }
    }
    let mut missed = Vec::new();
    for row in rows {
        let last_ms = row.last.map(|last| last.taken_ms);
        let why = match on_rounds.get(&row.code) {
            Some((opened_ms, why)) if last_ms.is_none_or(|last| last < *opened_ms) => *why,
            _ if last_ms.is_none_or(|last| last < week_ms) => MissedWhy::NotThisWeek,
            _ => continue,
        };
        missed.push(Missed {
            code: row.code.clone(),
            name: row.name.clone(),
            why,
            last_ms,
        });
    }
    Ok(missed)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-01-05 was a Monday.
    const MONDAY_MS: i64 = 20_458 * DAY_MS;

    #[test]
    fn a_week_starts_on_monday_local_time() {
        assert_eq!(week_start_ms(MONDAY_MS, 0), MONDAY_MS);
        assert_eq!(week_start_ms(MONDAY_MS + 7 * DAY_MS - 1, 0), MONDAY_MS);
        assert_eq!(week_start_ms(MONDAY_MS - 1, 0), MONDAY_MS - 7 * DAY_MS);
        // Two hours east, Monday has begun while it is still Sunday in UTC.
        let two_hours = 120 * MINUTE_MS;
        assert_eq!(
            week_start_ms(MONDAY_MS - two_hours, 120),
            MONDAY_MS - two_hours
        );
        assert_eq!(week_start_ms(-1, 0), -3 * DAY_MS);
    }

    #[test]
    fn absurd_moments_do_no_harm() {
        let _ = (week_start_ms(i64::MAX, 840), week_start_ms(i64::MIN, -840));
    }
}
