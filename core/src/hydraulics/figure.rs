//! A figure of the check, or the data that would be needed for it.
//!
//! Not for failures of the equations on bare numbers; see [`super::liquid::SizingError`].

use std::fmt;

use thiserror::Error;

/// One of the two stages, in flow order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// The proportional stage.
    First,
    /// The adjustable stage.
    Second,
}

impl Stage {
    /// Both, in flow order.
    pub const ALL: [Self; 2] = [Self::First, Self::Second];

    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::First => "first-stage",
            Self::Second => "second-stage",
        }
    }

    /// Place in flow order, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::First => 0,
            Self::Second => 1,
        }
    }
}

/// A piece of the station's definition that a figure rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Datum {
    /// The range in which the inlet pressure usually lies.
    InletUsual,
    /// The ratio of the first stage.
    Ratio,
    /// The set point of the second stage.
    SetPoint,
    /// The difference the second stage needs across it.
    MinimumDifferential,
    /// The water temperature.
    WaterTemperature,
    /// The altitude of the station, or its depth.
    Height,
    /// The smallest draw-off.
    DutyMin,
    /// The usual draw-off.
    DutyUsual,
    /// The largest draw-off.
    DutyMax,
    /// The rated flow coefficient of a stage.
    RatedKv(Stage),
    /// The pressure recovery factor FL of a stage.
    RecoveryFactor(Stage),
    /// The permitted sigma of a stage, or its xFz.
    SigmaLimit(Stage),
    /// The nominal size of a stage.
    Size(Stage),
    /// The pilot spring's range.
    SpringRange,
    /// The highest pressure permitted downstream.
    DownstreamMax,
    /// The relief valve's set pressure.
    ReliefSet,
}

impl Datum {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::InletUsual => "inlet-usual",
            Self::Ratio => "ratio",
            Self::SetPoint => "set-point",
            Self::MinimumDifferential => "minimum-differential",
            Self::WaterTemperature => "water-temperature",
            Self::Height => "altitude-or-depth",
            Self::DutyMin => "duty-min",
            Self::DutyUsual => "duty-usual",
            Self::DutyMax => "duty-max",
            Self::RatedKv(Stage::First) => "first-stage-rated-kv",
            Self::RatedKv(Stage::Second) => "second-stage-rated-kv",
            Self::RecoveryFactor(Stage::First) => "first-stage-fl",
            Self::RecoveryFactor(Stage::Second) => "second-stage-fl",
            Self::SigmaLimit(Stage::First) => "first-stage-permitted-sigma",
            Self::SigmaLimit(Stage::Second) => "second-stage-permitted-sigma",
            Self::Size(Stage::First) => "first-stage-size",
            Self::Size(Stage::Second) => "second-stage-size",
            Self::SpringRange => "spring-range",
            Self::DownstreamMax => "downstream-max",
            Self::ReliefSet => "relief-set",
        }
    }
}

/// Why a piece of data is of no use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lack {
    /// The definition is silent.
    Missing(Datum),
    /// The definition gives a value that cannot be, such as a negative flow.
    Unusable(Datum),
}

impl Lack {
    /// What is lacking.
    #[must_use]
    pub const fn datum(self) -> Datum {
        match self {
            Self::Missing(datum) | Self::Unusable(datum) => datum,
        }
    }

    /// Whether a value is given but cannot be.
    #[must_use]
    pub const fn is_unusable(self) -> bool {
        matches!(self, Self::Unusable(_))
    }
}

impl fmt::Display for Lack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(datum) => write!(f, "{} is missing", datum.code()),
            Self::Unusable(datum) => write!(f, "{} is unusable", datum.code()),
        }
    }
}

/// Why a figure is not there.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Gap {
    /// Data is lacking: sorted, without repeats, never empty.
    #[error("lacking {}", list(.0))]
    Lacking(Vec<Lack>),
    /// The stage has nothing to reduce: the pressure before it is not above the one after it.
    #[error("no pressure drop across the stage")]
    NoDrop,
    /// The water would boil before it reaches the stage, so liquid equations do not hold.
    #[error("water boils before the stage")]
    Boils,
}

fn list(lacks: &[Lack]) -> String {
    let texts: Vec<String> = lacks.iter().map(ToString::to_string).collect();
    texts.join(", ")
}

impl Gap {
    /// A gap for one missing piece of data.
    pub(super) fn missing(datum: Datum) -> Self {
        Self::Lacking(vec![Lack::Missing(datum)])
    }

    /// A gap for one piece of data that cannot be.
    pub(super) fn unusable(datum: Datum) -> Self {
        Self::Lacking(vec![Lack::Unusable(datum)])
    }

    /// What is lacking; empty when more data would not help.
    #[must_use]
    pub fn lacks(&self) -> &[Lack] {
        match self {
            Self::Lacking(lacks) => lacks,
            Self::NoDrop | Self::Boils => &[],
        }
    }

    /// Both gaps as one. Where data would not help, that stands alone.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Lacking(mut all), Self::Lacking(more)) => {
                all.extend(more);
                all.sort_unstable();
                all.dedup();
                Self::Lacking(all)
            }
            (Self::Lacking(_), beyond_help) | (beyond_help, _) => beyond_help,
        }
    }
}

/// A figure, or why it is not there.
pub type Figure<T> = Result<T, Gap>;

/// Two figures as one, naming everything both lack.
pub(super) fn both<A, B>(first: Figure<A>, second: Figure<B>) -> Figure<(A, B)> {
    match (first, second) {
        (Ok(first), Ok(second)) => Ok((first, second)),
        (Err(first), Err(second)) => Err(first.and(second)),
        (Err(gap), Ok(_)) | (Ok(_), Err(gap)) => Err(gap),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_gaps_name_everything_once_and_in_order() {
        let temperature = || Gap::missing(Datum::WaterTemperature);
        let height: Figure<()> = Err(Gap::missing(Datum::Height));
        let joined = both::<(), _>(
            Err(temperature()),
            both::<_, ()>(height, Err(temperature())),
        );
        assert_eq!(
            joined.unwrap_err().lacks(),
            [
                Lack::Missing(Datum::WaterTemperature),
                Lack::Missing(Datum::Height)
            ]
        );
    }

    #[test]
    fn a_stage_without_drop_is_not_helped_by_data() {
        let lacking: Figure<()> = Err(Gap::missing(Datum::Height));
        assert_eq!(both(lacking, Err::<(), _>(Gap::NoDrop)), Err(Gap::NoDrop));
    }
}
