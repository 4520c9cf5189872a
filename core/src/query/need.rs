//! The fleet, what needs attention first at the top, with the reason.

use chrono::{DateTime, Utc};

use super::StationRow;
use super::judgement::{JudgedVisit, QuantityNow, judged, quantities_now};
use crate::assess::{Condition, Leaving, Outlook};
use crate::clock::DAY_MS;
use crate::station::{Quantity, StationCode};
use crate::suspects::Cause;
use crate::units::Pressure;
use crate::verdict::Verdict;
use crate::watch::{FlagQuantity, Watched};
use crate::{Logbook, Result};

/// A band left within so many days is a reason by itself: a quarter.
const LEAVES_SOON_DAYS: i64 = 91;

/// Not read for more than so many days is a reason: a weekly round missed twice.
const NOT_READ_DAYS: i64 = 15;

/// Why a station needs attention. The first named need it most.
#[derive(Debug, Clone, PartialEq)]
pub enum Need {
    /// At the newest visit a pressure was outside its band.
    Outside {
        /// The gauge.
        quantity: Quantity,
        /// What it showed, at the datum.
        observed: Pressure,
        /// The end of the band that it lies beyond.
        limit: Pressure,
    },
    /// A condition stands.
    Stands {
        /// What it is about.
        quantity: FlagQuantity,
        /// When it was raised.
        since: DateTime<Utc>,
        /// How far the quantity was off when it was said last, as a logarithm; 0 without meaning.
        shift: f64,
        /// Whether it has grown clearly worse.
        is_worse: bool,
        /// The first suspect with its probability.
        suspect: Option<(Cause, f64)>,
    },
    /// A pressure leaves its band within a quarter if it goes on as it does.
    LeavesSoon {
        /// The watched quantity.
        watched: Watched,
        /// The likely date.
        likely: DateTime<Utc>,
        /// The earliest date.
        earliest: DateTime<Utc>,
    },
    /// A value of the newest visit was probably not meant.
    Slip {
        /// The gauge.
        quantity: FlagQuantity,
    },
    /// At the newest visit the gauges could not tell whether a pressure was in its band.
    Unsure {
        /// The gauge.
        quantity: Quantity,
        /// Probability that it was, 0 to 1.
        probability: f64,
    },
    /// Not read for more than two weeks.
    NotRead {
        /// Days since the last reading.
        days: i64,
    },
    /// Never read.
    NeverRead,
    /// Definitions disagree and nobody has decided.
    Disputed,
}

impl Need {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Outside { .. } => "outside",
            Self::Stands { is_worse: true, .. } => "stands-worse",
            Self::Stands { .. } => "stands",
            Self::LeavesSoon { .. } => "leaves-soon",
            Self::Slip { .. } => "slip",
            Self::Unsure { .. } => "unsure",
            Self::NotRead { .. } => "not-read",
            Self::NeverRead => "never-read",
            Self::Disputed => "disputed",
        }
    }

    /// The place in the order, most pressing first, and how pressing it is among its own (higher
    /// first).
    fn weight(&self) -> (u8, f64) {
        #[allow(
            clippy::cast_precision_loss,
            reason = "pascals and days are far below 2^53"
        )]
        match self {
            Self::Outside {
                observed, limit, ..
            } => {
                let size = limit.abs().as_f64_pa().max(1.0);
                (0, (*observed - *limit).abs().as_f64_pa() / size)
            }
            Self::Stands {
                is_worse: true,
                shift,
                ..
            } => (1, shift.abs()),
            Self::LeavesSoon { likely, .. } => (2, -(likely.timestamp() as f64)),
            Self::Stands { shift, .. } => (3, shift.abs()),
            Self::Slip { .. } => (4, 0.0),
            Self::Disputed => (5, 0.0),
            Self::Unsure { probability, .. } => (6, -probability),
            Self::NotRead { days } => (7, *days as f64),
            Self::NeverRead => (8, 0.0),
        }
    }
}

/// A station with what it needs.
#[derive(Debug, Clone, PartialEq)]
pub struct StationNeed {
    /// Its code.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// The level or place it belongs to.
    pub level: String,
    /// When it was last read, milliseconds since 1970.
    pub last_ms: Option<i64>,
    /// The worst verdict of the newest reading, worked out with today's rules.
    pub worst: Option<Verdict>,
    /// Why it needs attention, the most pressing reason first; empty where nothing calls for it.
    pub needs: Vec<Need>,
}

/// Lists all stations, those that need attention most first, then in walking order; by the logbook's
/// clock.
///
/// # Errors
/// The database's.
pub fn fleet_by_need(logbook: &Logbook) -> Result<Vec<StationNeed>> {
    fleet_by_need_at(logbook, logbook.clock().now().wall_ms)
}

/// The same as it stood at `now_ms`, milliseconds since 1970.
///
/// # Errors
/// The database's.
pub fn fleet_by_need_at(logbook: &Logbook, now_ms: i64) -> Result<Vec<StationNeed>> {
    let mut fleet = Vec::new();
    for row in logbook.read_stations()? {
        let chronicle = logbook.read_chronicle(&row.code)?;
        let newest = newest_visit(logbook, &row)?;
        let definition = logbook.read_definition(row.revision)?;
        let now = quantities_now(&chronicle, &definition, newest.as_ref());
        fleet.push(station_need(
            row,
            newest.as_ref(),
            chronicle.standing(),
            &now,
            now_ms,
        ));
    }
    // A stable sort: walking order among equals.
    fleet.sort_by(|a, b| {
        let weight = |need: &StationNeed| {
            let none = (u8::MAX, 0.0);
            need.needs.first().map_or(none, Need::weight)
        };
        let (a, b) = (weight(a), weight(b));
        a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))
    });
    Ok(fleet)
}

fn newest_visit(logbook: &Logbook, row: &StationRow) -> Result<Option<JudgedVisit>> {
    let newest = logbook.read_counted_visits(&row.code, 1)?;
    let Some(visit) = newest.first() else {
        return Ok(None);
    };
    // A definition that is not here yet leaves nothing to judge against.
    Ok(logbook
        .read_definition(visit.revision)
        .ok()
        .and_then(|definition| judged(visit, &definition, Vec::new())))
}

fn station_need(
    row: StationRow,
    newest: Option<&JudgedVisit>,
    standing: &[Condition],
    now: &[QuantityNow; 3],
    now_ms: i64,
) -> StationNeed {
    let last_ms = row.last.map(|last| last.taken_ms);
    let mut needs: Vec<Need> = standing.iter().map(stands).collect();
    for quantity in Quantity::ALL {
        let Some(gauge) = newest.map(|visit| visit.gauges[quantity.index()]) else {
            continue;
        };
        let (Some(observed), Some(band)) = (gauge.observed, gauge.expected) else {
            continue;
        };
        match gauge.verdict {
            Some(Verdict::Outside) => needs.push(Need::Outside {
                quantity,
                observed,
                limit: if observed > band.target {
                    band.high
                } else {
                    band.low
                },
            }),
            Some(Verdict::Unsure) => needs.push(Need::Unsure {
                quantity,
                probability: gauge.probability.unwrap_or(0.5),
            }),
            _ => {}
        }
    }
    let outlooks = now.iter().filter_map(|now| now.outlook.as_ref());
    needs.extend(outlooks.filter_map(|outlook| leaves_soon(outlook, now_ms)));
    if row.is_disputed {
        needs.push(Need::Disputed);
    }
    match last_ms {
        None => needs.push(Need::NeverRead),
        Some(last_ms) => {
            let days = now_ms.saturating_sub(last_ms) / DAY_MS;
            if days >= NOT_READ_DAYS {
                needs.push(Need::NotRead { days });
            }
        }
    }
    needs.sort_by(|a, b| {
        let (a, b) = (a.weight(), b.weight());
        a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))
    });
    StationNeed {
        code: row.code,
        name: row.name,
        level: row.level,
        last_ms,
        worst: newest.and_then(JudgedVisit::worst),
        needs,
    }
}

fn stands(condition: &Condition) -> Need {
    if condition.is_slip() {
        return Need::Slip {
            quantity: condition.quantity,
        };
    }
    let suspects = condition.suspects();
    Need::Stands {
        quantity: condition.quantity,
        since: condition.raised_at,
        shift: condition.shift,
        is_worse: condition.is_worse,
        suspect: suspects.first().map(|cause| (cause, suspects.of(cause))),
    }
}

fn leaves_soon(outlook: &Outlook, now_ms: i64) -> Option<Need> {
    let Leaving::Leaves {
        earliest, likely, ..
    } = outlook.leaving
    else {
        return None;
    };
    let days = (likely.timestamp_millis().saturating_sub(now_ms)) / DAY_MS;
    (days <= LEAVES_SOON_DAYS).then_some(Need::LeavesSoon {
        watched: outlook.watched,
        likely,
        earliest,
    })
}
