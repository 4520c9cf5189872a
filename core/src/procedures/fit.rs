//! Whether a station, its set point and its duty suit each other: asked before water flows, and once
//! more of what is left behind.
//!
//! Pure figures with a level each. *Stop* asks: people decide, and going on needs a stated reason.
//! Limits of its own are common practice, no source; the rest is [`crate::hydraulics`] and
//! [`crate::verdict`].

use crate::hydraulics::{Concern, FailureCase, Gap, HydraulicCheck, Recommendation, check};
use crate::record::ShownFigure;
use crate::station::{Quantity, Station};
use crate::units::{Pressure, Typed};
use crate::verdict::{Entry, Judged, StationState, Verdict, at_datum, judge};

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// It fits.
    Fits,
    /// It works; worth knowing.
    Note,
    /// Stop and ask: going on needs a stated reason.
    Stop,
}

impl Level {
    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Fits => "fits",
            Self::Note => "note",
            Self::Stop => "stop",
        }
    }

    /// The number kept in records. Never renumber.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Self::Fits => 0,
            Self::Note => 1,
            Self::Stop => 2,
        }
    }

    /// The level kept in records under `number`.
    #[must_use]
    pub const fn from_number(number: u64) -> Option<Self> {
        match number {
            0 => Some(Self::Fits),
            1 => Some(Self::Note),
            2 => Some(Self::Stop),
            _ => None,
        }
    }
}

/// The share of the spring's range at either end in which a set point is noted as near the end:
/// common practice, no source.
const SPRING_END_SHARE: f64 = 0.1;

/// One finding with its figures.
#[derive(Debug, Clone, PartialEq)]
pub enum Fit {
    /// The factory set point against the one wanted.
    FactorySetPoint {
        /// As it came.
        factory: Pressure,
        /// Wanted.
        wanted: Pressure,
        /// How far they may lie apart.
        band: Pressure,
    },
    /// The spring does not reach the factory set point: plate, reading or spring is not what it
    /// seems.
    FactoryOutsideSpring {
        /// As it came.
        factory: Pressure,
        /// Lowest set point of the spring.
        low: Pressure,
        /// Highest set point of the spring.
        high: Pressure,
    },
    /// Where the set point wanted lies in the spring's range.
    WantedInSpring {
        /// Wanted.
        wanted: Pressure,
        /// Lowest set point of the spring.
        low: Pressure,
        /// Highest set point of the spring.
        high: Pressure,
        /// Place in the range, 0 at the low and 1 at the high end.
        share: f64,
    },
    /// The spring's range is not known.
    SpringNotKnown,
    /// The interstage pressure at the lowest usual inlet against what the set point needs.
    InterstageAtLowest {
        /// Wanted.
        wanted: Pressure,
        /// Wanted plus minimum differential.
        needed: Pressure,
        /// To expect at the lowest usual inlet pressure.
        expected: Pressure,
        /// The least it may be there within the ratio's tolerance.
        least: Pressure,
    },
    /// The supply found against the usual inlet range.
    Supply {
        /// Found before the upstream valve, or at the inlet gauge.
        found: Pressure,
        /// Lower end of the usual range.
        low: Pressure,
        /// Upper end of the usual range.
        high: Pressure,
        /// The least with which the set point can be held.
        needed: Pressure,
    },
    /// Something the hydraulic check advises.
    Hydraulic(Recommendation),
    /// There is nothing to check: the definition does not say enough.
    NotChecked(Gap),
    /// One gauge of what is left behind, judged.
    Left {
        /// Which gauge.
        quantity: Quantity,
        /// Read, at the station datum.
        observed: Pressure,
        /// Lower end of its band.
        low: Pressure,
        /// Upper end of its band.
        high: Pressure,
        /// The verdict.
        verdict: Verdict,
    },
    /// What is left behind was read without flow: the outlet shows lock-up only.
    LeftWithoutFlow,
    /// The second stage is starved: the supply does not suffice for the set point.
    LeftStarved,
    /// A gauge was not read.
    LeftNotRead(Quantity),
}

impl Fit {
    /// The stable code, used in records and exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::FactorySetPoint { .. } => "factory-set-point",
            Self::FactoryOutsideSpring { .. } => "factory-outside-spring",
            Self::WantedInSpring { .. } => "wanted-in-spring",
            Self::SpringNotKnown => "spring-not-known",
            Self::InterstageAtLowest { .. } => "interstage-at-lowest",
            Self::Supply { .. } => "supply",
            Self::Hydraulic(advice) => advice.code(),
            Self::NotChecked(_) => "not-checked",
            Self::Left {
                quantity: Quantity::Inlet,
                ..
            } => "left-inlet",
            Self::Left {
                quantity: Quantity::Interstage,
                ..
            } => "left-interstage",
            Self::Left {
                quantity: Quantity::Outlet,
                ..
            } => "left-outlet",
            Self::LeftWithoutFlow => "left-without-flow",
            Self::LeftStarved => "left-starved",
            Self::LeftNotRead(_) => "left-not-read",
        }
    }

    /// How grave it is.
    #[must_use]
    pub fn level(&self) -> Level {
        match self {
            Self::FactorySetPoint {
                factory,
                wanted,
                band,
            } => note_if((*factory - *wanted).abs() > *band),
            Self::FactoryOutsideSpring { .. } | Self::LeftStarved => Level::Stop,
            Self::WantedInSpring { share, .. } => {
                if (0.0..=1.0).contains(share) {
                    note_if((share - 0.5).abs() > 0.5 - SPRING_END_SHARE)
                } else {
                    Level::Stop
                }
            }
            Self::InterstageAtLowest {
                needed,
                expected,
                least,
                ..
            } => {
                if expected < needed {
                    Level::Stop
                } else {
                    note_if(least < needed)
                }
            }
            Self::Supply {
                found,
                low,
                high,
                needed,
            } => {
                if found < needed {
                    Level::Stop
                } else {
                    note_if(found < low || found > high)
                }
            }
            Self::Hydraulic(advice) => match advice.concern() {
                Concern::Danger | Concern::DoesNotWork => Level::Stop,
                Concern::Poor | Concern::Consider | Concern::Incomplete => Level::Note,
            },
            Self::NotChecked(_)
            | Self::SpringNotKnown
            | Self::LeftWithoutFlow
            | Self::LeftNotRead(_) => Level::Note,
            Self::Left {
                quantity, verdict, ..
            } => match verdict {
                Verdict::Within => Level::Fits,
                // What the supply does today is not what the work left behind.
                Verdict::Outside if *quantity != Quantity::Inlet => Level::Stop,
                Verdict::Unsure | Verdict::Outside => Level::Note,
            },
        }
    }
}

const fn note_if(is_odd: bool) -> Level {
    if is_odd { Level::Note } else { Level::Fits }
}

/// The gravest level of some findings.
#[must_use]
pub fn worst(findings: &[Fit]) -> Level {
    let levels = findings.iter().map(Fit::level);
    levels.max().unwrap_or(Level::Fits)
}

/// What is kept in a record of the findings that were shown: those that do not simply fit.
#[must_use]
pub fn shown(findings: &[Fit]) -> Vec<ShownFigure> {
    let figures = findings.iter().map(|finding| ShownFigure {
        code: finding.code().to_owned(),
        level: finding.level(),
    });
    figures
        .filter(|figure| figure.level > Level::Fits)
        .collect()
}

/// What is known when compatibility is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FitQuestion {
    /// The set point wanted; the definition's when absent.
    pub wanted: Option<Typed>,
    /// The set point as it came.
    pub factory: Option<Typed>,
    /// The pressure found before the station, or at its inlet gauge.
    pub supply: Option<Typed>,
}

/// Whether a station suits its duty, before water flows.
#[derive(Debug, Clone, PartialEq)]
pub struct Compatibility {
    /// The findings, those that fit included, gravest first.
    pub findings: Vec<Fit>,
    /// The whole hydraulic check with the set point wanted, or what it lacks.
    pub check: Result<HydraulicCheck, Gap>,
}

impl Compatibility {
    /// The gravest level.
    #[must_use]
    pub fn worst(&self) -> Level {
        worst(&self.findings)
    }

    /// First, second and both stages stuck open; empty where nothing could be checked.
    #[must_use]
    pub fn failures(&self) -> &[FailureCase] {
        self.check.as_ref().map_or(&[], |check| &check.failures)
    }
}

/// Compares what is wanted, what came and what the supply gives with what the station is.
#[must_use]
pub fn compatibility(station: &Station, question: &FitQuestion) -> Compatibility {
    let station = wanting(station, question.wanted);
    let second = &station.second_stage;
    let wanted = second.set_point.to_pressure();
    let spring = second
        .spring_range
        .map(|(low, high)| (low.to_pressure(), high.to_pressure()));
    let mut findings = Vec::new();
    if let Some(factory) = question.factory.map(Typed::to_pressure) {
        findings.push(Fit::FactorySetPoint {
            factory,
            wanted,
            band: second.band.to_pressure(),
        });
        if let Some((low, high)) = spring
            && !(low..=high).contains(&factory)
        {
            findings.push(Fit::FactoryOutsideSpring { factory, low, high });
        }
    }
    findings.push(match spring {
        Some((low, high)) if low < high => Fit::WantedInSpring {
            wanted,
            low,
            high,
            share: (wanted - low).as_f64_pa() / (high - low).as_f64_pa(),
        },
        _ => Fit::SpringNotKnown,
    });
    let check = check(&station);
    match &check {
        Ok(check) => {
            findings.push(Fit::InterstageAtLowest {
                wanted,
                needed: check.set_point.needed,
                expected: check.set_point.interstage_expected,
                least: check.set_point.interstage_least,
            });
            let advice = check.recommendations.iter().filter(|advice| {
                // Said above, with the same figures.
                !matches!(
                    advice,
                    Recommendation::SetPointTooNearInterstage { .. }
                        | Recommendation::SetPointOutsideSpring { .. }
                )
            });
            findings.extend(advice.cloned().map(Fit::Hydraulic));
        }
        Err(gap) => findings.push(Fit::NotChecked(gap.clone())),
    }
    findings.extend(supply(&station, question.supply));
    // Stable: within a level the order above stays.
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.level()));
    Compatibility { findings, check }
}

/// The supply found against the usual inlet range and against what the set point needs.
///
/// # Formula
/// `needed = (set point + minimum differential) R`, the ratio as it stands.
fn supply(station: &Station, found: Option<Typed>) -> Option<Fit> {
    let found = at_datum(station, Quantity::Inlet, found?);
    let second = &station.second_stage;
    let least = second.set_point.to_pressure() + second.minimum_differential.to_pressure();
    let ratio = station.first_stage.ratio_in_use()?;
    Some(Fit::Supply {
        found,
        low: station.inlet_usual.low.to_pressure(),
        high: station.inlet_usual.high.to_pressure(),
        needed: Pressure::from_f64_pa(least.as_f64_pa() * ratio)?,
    })
}

/// Judges what is left behind against the set point wanted.
#[must_use]
pub fn left(station: &Station, wanted: Option<Typed>, entry: &Entry) -> Vec<Fit> {
    let judgement = judge(&wanting(station, wanted), entry);
    let mut findings = Vec::new();
    match judgement.state {
        StationState::Normal => {}
        StationState::Starved => findings.push(Fit::LeftStarved),
        StationState::LockUp => findings.push(Fit::LeftWithoutFlow),
    }
    let gauges = [
        (Quantity::Inlet, &judgement.inlet),
        (Quantity::Interstage, &judgement.interstage),
        (Quantity::Outlet, &judgement.outlet),
    ];
    for (quantity, judged) in gauges {
        if entry.get(quantity).is_none() {
            findings.push(Fit::LeftNotRead(quantity));
        } else if let Some(judged) = judged {
            findings.push(of_judged(judged));
        }
    }
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.level()));
    findings
}

fn of_judged(judged: &Judged) -> Fit {
    Fit::Left {
        quantity: judged.quantity,
        observed: judged.observed,
        low: judged.expectation.low,
        high: judged.expectation.high,
        verdict: judged.verdict,
    }
}

/// The station with another set point.
fn wanting(station: &Station, wanted: Option<Typed>) -> Station {
    let mut station = station.clone();
    if let Some(wanted) = wanted {
        station.second_stage.set_point = wanted;
    }
    station
}
