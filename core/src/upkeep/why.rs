//! Why a task is due when it is: stable codes with the figures behind them.
//!
//! Sentences for people are made in the app. A reason that narrows a window says by how many months
//! it takes off its end.

use chrono::NaiveDate;

use super::calendar::Interval;
use crate::hydraulics::{InletPoint, LimitKind, Stage};
use crate::procedures::Dirt;
use crate::record::{SkipReason, Tick};

/// From what the time is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CountedFrom {
    /// It was done.
    LastDone,
    /// The station was set up, and not looked after since as far as is known.
    SetUp,
    /// The oldest reading: it has been in use at least since then.
    FirstReading,
}

impl CountedFrom {
    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::LastDone => "last-done",
            Self::SetUp => "set-up",
            Self::FirstReading => "first-reading",
        }
    }
}

/// A reason.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// From what the time is counted.
    Counted {
        /// From what.
        from: CountedFrom,
        /// Since when.
        on: NaiveDate,
    },
    /// The usual time between two; common practice.
    UsualInterval {
        /// From.
        least: Interval,
        /// To.
        most: Interval,
    },
    /// It belongs to the calendar week.
    EachWeek,
    /// Nothing tells when it was done, or since when the station is in use.
    NothingKnown,
    /// Something says it was done on a day that has not come yet; that is not counted.
    DoneInFuture {
        /// That day.
        on: NaiveDate,
    },
    /// The station was passed by after the last reading.
    PassedBy {
        /// When.
        on: NaiveDate,
        /// Why.
        reason: SkipReason,
    },
    /// A stage works below the sigma that its maker states.
    CavitationBeyondLimit(CavitationMargin),
    /// A stage works close to the sigma that its maker states.
    CavitationNearLimit(CavitationMargin),
    /// Sigma or the maker's limit cannot be had for at least one stage: nothing is narrowed for it.
    CavitationNotKnown,
    /// Jobs on a stage are open.
    StageJobsOpen {
        /// How many.
        jobs: usize,
        /// Months taken off.
        months_off: u32,
    },
    /// The same thing was noticed again and again.
    NoticedOften {
        /// What.
        tick: Tick,
        /// On how many visits.
        visits: usize,
        /// Within how many days.
        within_days: u32,
        /// Months taken off.
        months_off: u32,
    },
    /// A stage's pressure was outside its band again and again.
    OutsideOften {
        /// On how many visits.
        visits: usize,
        /// Within how many days.
        within_days: u32,
        /// Months taken off.
        months_off: u32,
    },
    /// The inlet pressure falls since the strainer was cleaned: it fills, unless the supply falls.
    InletFalls(InletFall),
    /// The strainer was found dirty or broken when it was last cleaned.
    StrainerFound {
        /// When.
        on: NaiveDate,
        /// How.
        dirt: Dirt,
        /// Months taken off.
        months_off: u32,
    },
    /// A stage was worn when it was last opened, and left so.
    StageLeftWorn {
        /// Which.
        stage: Stage,
        /// When.
        on: NaiveDate,
        /// Months taken off.
        months_off: u32,
    },
    /// The strainer was cleaned again and again, so it catches much.
    CleanedOften {
        /// How often.
        times: usize,
        /// Within how many months.
        within_months: u32,
        /// Months taken off.
        months_off: u32,
    },
}

/// How close a stage works to cavitation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CavitationMargin {
    /// Which stage.
    pub stage: Stage,
    /// At which inlet pressure, the worst of the usual range.
    pub point: InletPoint,
    /// The cavitation index there.
    pub sigma: f64,
    /// The maker's limit.
    pub limit: f64,
    /// What the maker's limit stands for.
    pub kind: LimitKind,
    /// Months taken off.
    pub months_off: u32,
}

/// How fast the inlet pressure falls after a cleaning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InletFall {
    /// The first visit it rests on.
    pub since: NaiveDate,
    /// How many visits it rests on.
    pub visits: usize,
    /// Loss, per cent of the usual inlet pressure in a year.
    pub percent_per_year: f64,
    /// Lower confidence limit of that, 90 %.
    pub low_percent_per_year: f64,
    /// Upper confidence limit of that, 90 %.
    pub high_percent_per_year: f64,
    /// Probability that such a fall comes by chance.
    pub chance: f64,
    /// Months taken off.
    pub months_off: u32,
}

/// One figure of a reason.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A number; its unit is in its name.
    Number(f64),
    /// A whole number.
    Count(u64),
    /// A day.
    Day(NaiveDate),
    /// A stable code.
    Code(&'static str),
}

impl Why {
    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Counted { .. } => "counted-from",
            Self::UsualInterval { .. } => "usual-interval",
            Self::EachWeek => "each-week",
            Self::NothingKnown => "nothing-known",
            Self::DoneInFuture { .. } => "done-in-future",
            Self::PassedBy { .. } => "passed-by",
            Self::CavitationBeyondLimit(_) => "cavitation-beyond-limit",
            Self::CavitationNearLimit(_) => "cavitation-near-limit",
            Self::CavitationNotKnown => "cavitation-not-known",
            Self::StageJobsOpen { .. } => "stage-jobs-open",
            Self::NoticedOften { .. } => "noticed-often",
            Self::OutsideOften { .. } => "outside-often",
            Self::InletFalls(_) => "inlet-falls",
            Self::StrainerFound { .. } => "strainer-found",
            Self::StageLeftWorn { .. } => "stage-left-worn",
            Self::CleanedOften { .. } => "cleaned-often",
        }
    }

    /// How many months it takes off the end of a window; 0 for what narrows nothing.
    #[must_use]
    pub const fn months_off(&self) -> u32 {
        match self {
            Self::CavitationBeyondLimit(margin) | Self::CavitationNearLimit(margin) => {
                margin.months_off
            }
            Self::InletFalls(fall) => fall.months_off,
            Self::StageJobsOpen { months_off, .. }
            | Self::NoticedOften { months_off, .. }
            | Self::OutsideOften { months_off, .. }
            | Self::StrainerFound { months_off, .. }
            | Self::StageLeftWorn { months_off, .. }
            | Self::CleanedOften { months_off, .. } => *months_off,
            _ => 0,
        }
    }

    /// The figures behind it, by name, in a fixed order.
    #[must_use]
    pub fn figures(&self) -> Vec<(&'static str, Figure)> {
        let count = |n: usize| Figure::Count(n as u64);
        let months = |n: u32| ("months_off", Figure::Count(u64::from(n)));
        match self {
            Self::Counted { from, on } => vec![
                ("from", Figure::Code(from.code())),
                ("on", Figure::Day(*on)),
            ],
            Self::UsualInterval { least, most } => {
                vec![figure_of("least", *least), figure_of("most", *most)]
            }
            Self::EachWeek | Self::NothingKnown | Self::CavitationNotKnown => Vec::new(),
            Self::DoneInFuture { on } => vec![("on", Figure::Day(*on))],
            Self::PassedBy { on, reason } => vec![
                ("on", Figure::Day(*on)),
                ("reason", Figure::Code(reason.code())),
            ],
            Self::CavitationBeyondLimit(margin) | Self::CavitationNearLimit(margin) => vec![
                ("stage", Figure::Code(margin.stage.code())),
                ("inlet", Figure::Code(margin.point.code())),
                ("sigma", Figure::Number(margin.sigma)),
                ("limit", Figure::Number(margin.limit)),
                ("limit_kind", Figure::Code(margin.kind.code())),
                months(margin.months_off),
            ],
            Self::StageJobsOpen { jobs, months_off } => {
                vec![("jobs", count(*jobs)), months(*months_off)]
            }
            Self::NoticedOften {
                tick,
                visits,
                within_days,
                months_off,
            } => vec![
                ("noticed", Figure::Code(tick.code())),
                ("visits", count(*visits)),
                ("within_days", Figure::Count(u64::from(*within_days))),
                months(*months_off),
            ],
            Self::OutsideOften {
                visits,
                within_days,
                months_off,
            } => vec![
                ("visits", count(*visits)),
                ("within_days", Figure::Count(u64::from(*within_days))),
                months(*months_off),
            ],
            Self::InletFalls(fall) => vec![
                ("since", Figure::Day(fall.since)),
                ("visits", count(fall.visits)),
                ("percent_per_year", Figure::Number(fall.percent_per_year)),
                (
                    "low_percent_per_year",
                    Figure::Number(fall.low_percent_per_year),
                ),
                (
                    "high_percent_per_year",
                    Figure::Number(fall.high_percent_per_year),
                ),
                ("chance", Figure::Number(fall.chance)),
                months(fall.months_off),
            ],
            Self::StrainerFound {
                on,
                dirt,
                months_off,
            } => vec![
                ("on", Figure::Day(*on)),
                ("found", Figure::Code(dirt.code())),
                months(*months_off),
            ],
            Self::StageLeftWorn {
                stage,
                on,
                months_off,
            } => vec![
                ("stage", Figure::Code(stage.code())),
                ("on", Figure::Day(*on)),
                months(*months_off),
            ],
            Self::CleanedOften {
                times,
                within_months,
                months_off,
            } => vec![
                ("times", count(*times)),
                ("within_months", Figure::Count(u64::from(*within_months))),
                months(*months_off),
            ],
        }
    }
}

fn figure_of(end: &'static str, interval: Interval) -> (&'static str, Figure) {
    match (end, interval) {
        ("least", Interval::Days(days)) => ("least_days", Figure::Count(u64::from(days))),
        ("least", Interval::Months(months)) => ("least_months", Figure::Count(u64::from(months))),
        (_, Interval::Days(days)) => ("most_days", Figure::Count(u64::from(days))),
        (_, Interval::Months(months)) => ("most_months", Figure::Count(u64::from(months))),
    }
}
