//! Looking ahead: where a quantity goes if it goes on as it does, in pressures, for a fan and a
//! sentence.
//!
//! Only what was read goes in. Nothing is said after a step, from too few visits, or about a
//! wandering inlet before a drift of it was flagged; see [`Watch::trend`].

use chrono::{DateTime, TimeDelta, Utc};

use crate::station::{Quantity, Station};
use crate::units::Pressure;
use crate::watch::{HORIZON_WEEKS, Setting, Trend, Watch, Watched};

/// How far a fan reaches when the band is not left before, weeks: a quarter.
const REACH_WEEKS: f64 = 13.0;

/// How far it reaches at most, weeks.
const REACH_MOST_WEEKS: f64 = 52.0;

/// Points of a fan after its start.
const POINTS: u8 = 8;

/// One date of a fan, at the station datum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutlookPoint {
    /// The date.
    pub at: DateTime<Utc>,
    /// With the slope that is lowest within its 90 % limits.
    pub low: Pressure,
    /// With the likely slope.
    pub likely: Pressure,
    /// With the slope that is highest within its 90 % limits.
    pub high: Pressure,
}

/// Whether and when a pressure leaves its band if it goes on as it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Leaving {
    /// Its fitted line is outside already: that is a verdict, not an outlook.
    Left {
        /// Whether it is above the band.
        is_upward: bool,
    },
    /// It leaves.
    Leaves {
        /// Whether at the upper end.
        is_upward: bool,
        /// With the steepest slope within the 90 % limits.
        earliest: DateTime<Utc>,
        /// With the likely slope.
        likely: DateTime<Utc>,
        /// With the flattest; `None` when that takes longer than two years.
        latest: Option<DateTime<Utc>>,
    },
    /// It moves, but does not reach an end of its band within two years.
    NotWithinTwoYears {
        /// Whether it moves upwards.
        is_upward: bool,
    },
    /// No slope that chance does not explain as well.
    NoTrend,
}

impl Leaving {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Left { .. } => "left",
            Self::Leaves { .. } => "leaves",
            Self::NotWithinTwoYears { .. } => "not-within-two-years",
            Self::NoTrend => "no-trend",
        }
    }
}

/// Where a pressure goes if it goes on as it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The watched quantity; for the first stage the ratio.
    pub watched: Watched,
    /// The gauge in whose pressure it is told. The first stage is told as the interstage pressure
    /// at the inlet pressure of the last visits.
    pub quantity: Quantity,
    /// The band, low and high, at the datum.
    pub band: (Pressure, Pressure),
    /// Visits it rests on.
    pub visits: usize,
    /// The fitted line at the first of them: `(when, pressure)`.
    pub from: (DateTime<Utc>, Pressure),
    /// The fitted line at the last of them, where the fan starts.
    pub now: (DateTime<Utc>, Pressure),
    /// Slope now, Pa a week: lowest, likely, highest (90 % limits).
    pub weekly_pa: (f64, f64, f64),
    /// The same as a share of the pressure, a week (0.004 is 0.4 % a week).
    pub weekly_share: (f64, f64, f64),
    /// Standard deviation of single visits around the line, Pa.
    pub scatter_pa: f64,
    /// Probability that such a slope comes by chance (Mann-Kendall, two-sided).
    pub chance: f64,
    /// The fan: its start first, evenly spaced, up to where the band is left, or a quarter.
    pub fan: Vec<OutlookPoint>,
    /// Whether and when it leaves its band.
    pub leaving: Leaving,
}

/// Turns the measure of a watched quantity into the pressure of a gauge.
struct Gauge {
    /// Pressure where the measure is zero, Pa.
    at_zero_pa: f64,
    /// 1, or -1 where a higher measure is a lower pressure.
    sign: f64,
}

impl Gauge {
    fn of(watch: &Watch, setting: &Setting, watched: Watched) -> Option<Self> {
        let inlet_pa = setting.inlet_usual_pa;
        Some(match watched {
            Watched::Inlet => Self {
                at_zero_pa: inlet_pa?,
                sign: 1.0,
            },
            Watched::FirstStage => {
                let now = watch.recent_middle(Watched::Inlet).unwrap_or(0.0);
                Self {
                    at_zero_pa: inlet_pa? * now.exp() / setting.ratio?,
                    sign: -1.0,
                }
            }
            Watched::Outlet => Self {
                at_zero_pa: setting.set_point_pa?,
                sign: 1.0,
            },
        })
    }

    fn pa(&self, measure: f64) -> f64 {
        self.at_zero_pa * (self.sign * measure).exp()
    }

    fn pressure(&self, measure: f64) -> Option<Pressure> {
        Pressure::from_f64_pa(self.pa(measure))
    }

    /// The two pressures in ascending order.
    fn ordered(&self, low: f64, high: f64) -> Option<(Pressure, Pressure)> {
        let (one, other) = (self.pressure(low)?, self.pressure(high)?);
        Some((one.min(other), one.max(other)))
    }
}

/// Looks ahead for one quantity, its last visit taken at `last`; `None` where nothing can be said.
///
/// # Formula
/// ```text
/// pressure(t) = pressure now * exp(slope (t - now))
/// ```
/// with the Theil-Sen slope of the logarithms and its 90 % limits. For the first stage the pressure
/// is p1 / ratio with the middle of the last inlet pressures as p1.
///
/// # Source
/// As [`trend`](crate::watch::trend()).
#[must_use]
pub fn outlook(
    watch: &Watch,
    definition: &Station,
    watched: Watched,
    last: DateTime<Utc>,
) -> Option<Outlook> {
    let setting = Setting::of(definition);
    let band = Setting::bands(definition)[watched.index()]?;
    let gauge = Gauge::of(watch, &setting, watched)?;
    let trend = watch.trend(watched)?;
    let leaving = leaving(&trend, band, last, gauge.sign < 0.0);
    let pressure_now = gauge.pa(trend.fitted);
    let (low, high) = trend.slope.limits;
    let likely = trend.slope.slope;
    let share = if gauge.sign < 0.0 {
        (-high, -likely, -low)
    } else {
        (low, likely, high)
    };
    let earlier = trend.slope.intercept + likely * trend.weeks.0;
    Some(Outlook {
        watched,
        quantity: Quantity::ALL[watched.index()],
        band: gauge.ordered(band.0, band.1)?,
        visits: trend.visits,
        from: (watch.moment(trend.weeks.0)?, gauge.pressure(earlier)?),
        now: (last, gauge.pressure(trend.fitted)?),
        weekly_pa: (
            share.0 * pressure_now,
            share.1 * pressure_now,
            share.2 * pressure_now,
        ),
        weekly_share: share,
        scatter_pa: trend.scatter * pressure_now,
        chance: trend.chance,
        fan: fan(&trend, &gauge, last, reach_weeks(&leaving, last)),
        leaving,
    })
}

fn leaving(trend: &Trend, band: (f64, f64), last: DateTime<Utc>, is_turned: bool) -> Leaving {
    let rises = trend.slope.slope > 0.0;
    let turned = |is_upward: bool| is_upward != is_turned;
    if trend.fitted > band.1 || trend.fitted < band.0 {
        return Leaving::Left {
            is_upward: turned(trend.fitted > band.1),
        };
    }
    if !trend.is_clear() {
        return Leaving::NoTrend;
    }
    let is_upward = turned(rises);
    let (flat, steep) = if rises {
        trend.slope.limits
    } else {
        (-trend.slope.limits.1, -trend.slope.limits.0)
    };
    let room = if rises {
        band.1 - trend.fitted
    } else {
        trend.fitted - band.0
    };
    let when = |weekly: f64| {
        let weeks = room / weekly;
        (weekly > 0.0 && weeks <= HORIZON_WEEKS)
            .then(|| after(last, weeks))
            .flatten()
    };
    match (when(steep), when(trend.slope.slope.abs())) {
        (Some(earliest), Some(likely)) => Leaving::Leaves {
            is_upward,
            earliest,
            likely,
            latest: when(flat),
        },
        _ => Leaving::NotWithinTwoYears { is_upward },
    }
}

/// How far the fan reaches: a little past the likely date on which the band is left.
fn reach_weeks(leaving: &Leaving, last: DateTime<Utc>) -> f64 {
    let Leaving::Leaves { likely, latest, .. } = leaving else {
        return REACH_WEEKS;
    };
    #[allow(clippy::cast_precision_loss, reason = "at most two years of seconds")]
    let weeks = |at: DateTime<Utc>| (at - last).num_seconds() as f64 / 604_800.0;
    latest
        .map_or(1.5 * weeks(*likely), weeks)
        .clamp(REACH_WEEKS, REACH_MOST_WEEKS)
}

fn fan(trend: &Trend, gauge: &Gauge, last: DateTime<Utc>, reach_weeks: f64) -> Vec<OutlookPoint> {
    let (low, high) = trend.slope.limits;
    (0..=POINTS)
        .filter_map(|place| {
            let weeks = reach_weeks * f64::from(place) / f64::from(POINTS);
            let line = |weekly: f64| trend.fitted + weekly * weeks;
            let (low, high) = gauge.ordered(line(low), line(high))?;
            Some(OutlookPoint {
                at: after(last, weeks)?,
                low,
                likely: gauge.pressure(line(trend.slope.slope))?,
                high,
            })
        })
        .collect()
}

fn after(last: DateTime<Utc>, weeks: f64) -> Option<DateTime<Utc>> {
    #[allow(
        clippy::cast_possible_truncation,
        reason = "at most two years of seconds"
    )]
    let seconds = (weeks * 604_800.0) as i64;
    last.checked_add_signed(TimeDelta::try_seconds(seconds)?)
}
