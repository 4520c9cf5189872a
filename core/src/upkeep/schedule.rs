//! How often each task comes round, and the window in which it may be done.
//!
//! Every length here is **common practice, no source**: weekly, yearly, an internal inspection every
//! three to five years under average conditions. They are values, not rules: a station may be given
//! others.

use chrono::NaiveDate;

use super::calendar::{Interval, monday_of, sunday_of};
use super::task::Task;

/// How a task comes round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Schedule {
    /// Once in every ISO week, on any of its days.
    EachWeek,
    /// Counted from the day it was last done.
    Counted {
        /// Before this it is too early to count for anything.
        earliest: Interval,
        /// When it is due.
        due: Interval,
        /// After this it is overdue; never shorter than `due`.
        latest: Interval,
    },
}

/// The days between which a task is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Window {
    /// The first day on which it makes sense.
    pub earliest: NaiveDate,
    /// The day on which it is due.
    pub due: NaiveDate,
    /// The last day; from the next on it is overdue.
    pub latest: NaiveDate,
}

impl Schedule {
    /// The usual schedule of a task.
    ///
    /// # Source
    /// Common practice, no source. A yearly task may be done two months early and one month late;
    /// an internal inspection is due in the middle of its three to five years.
    #[must_use]
    pub const fn usual(task: Task) -> Self {
        match task {
            Task::LookRound => Self::EachWeek,
            Task::YearlyClean | Task::GaugeCheck(_) => Self::Counted {
                earliest: Interval::Months(10),
                due: Interval::Months(12),
                latest: Interval::Months(13),
            },
            Task::InternalInspection => Self::Counted {
                earliest: Interval::Months(INSPECTION_LEAST_MONTHS),
                due: Interval::Months(48),
                latest: Interval::Months(INSPECTION_MOST_MONTHS),
            },
        }
    }

    /// The window after the task was done on `day`.
    ///
    /// An early completion moves the rhythm and so does a late one: what is counted is wear and
    /// dirt since the work, not anniversaries. The weekly look-round is the exception: it belongs to
    /// the calendar week, however often it is done in it. A later `day` never gives an earlier
    /// window.
    #[must_use]
    pub fn window_after(self, day: NaiveDate) -> Window {
        match self {
            Self::EachWeek => {
                let monday = monday_of(Interval::Days(7).after(day));
                Window {
                    earliest: monday,
                    due: monday,
                    latest: sunday_of(monday),
                }
            }
            Self::Counted {
                earliest,
                due,
                latest,
            } => {
                let due = due.after(day);
                Window {
                    earliest: earliest.after(day).min(due),
                    due,
                    latest: latest.after(day).max(due),
                }
            }
        }
    }
}

/// The shortest time between internal inspections, months. Common practice, no source.
pub const INSPECTION_LEAST_MONTHS: u32 = 36;

/// The longest time between internal inspections, months. Common practice, no source.
pub const INSPECTION_MOST_MONTHS: u32 = 60;
