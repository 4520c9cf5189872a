//! A pressure gauge and the largest error its class allows it.

use chrono::NaiveDate;
use winze_sync_format::Decimal;

use crate::units::{Pressure, Typed, Unit, decimal_to_f64};

/// Which of the three gauges, in flow order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Before the first stage (p1).
    Inlet,
    /// Between the stages (p2).
    Interstage,
    /// After the second stage (p3).
    Outlet,
}

impl Quantity {
    /// The three, in flow order.
    pub const ALL: [Self; 3] = [Self::Inlet, Self::Interstage, Self::Outlet];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::Interstage => "interstage",
            Self::Outlet => "outlet",
        }
    }

    /// Place in flow order, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Inlet => 0,
            Self::Interstage => 1,
            Self::Outlet => 2,
        }
    }
}

/// Accuracy grades of ASME B40.100, marked on gauges of American make instead of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the names are the standard's own")]
pub enum AsmeGrade {
    Grade4A,
    Grade3A,
    Grade2A,
    Grade1A,
    GradeA,
    GradeB,
    GradeC,
    GradeD,
}

impl AsmeGrade {
    /// Every grade, finest first.
    pub const ALL: [Self; 8] = [
        Self::Grade4A,
        Self::Grade3A,
        Self::Grade2A,
        Self::Grade1A,
        Self::GradeA,
        Self::GradeB,
        Self::GradeC,
        Self::GradeD,
    ];

    /// The mark on the dial, also the code in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Grade4A => "4A",
            Self::Grade3A => "3A",
            Self::Grade2A => "2A",
            Self::Grade1A => "1A",
            Self::GradeA => "A",
            Self::GradeB => "B",
            Self::GradeC => "C",
            Self::GradeD => "D",
        }
    }

    /// The grade with this mark.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|grade| grade.code().eq_ignore_ascii_case(code.trim()))
    }

    /// The largest error, per cent of span, at `fraction` of the span (0 at the low end).
    ///
    /// At exactly a quarter and three quarters the stricter middle value is answered.
    ///
    /// # Source
    ///
    /// ASME B40.100 (lower quarter / middle half / upper quarter); pattern as restated in public
    /// excerpts, not checked against the printed standard.
    #[must_use]
    pub fn percent_of_span(self, fraction: f64) -> f64 {
        let (outer, middle) = match self {
            Self::Grade4A => (0.1, 0.1),
            Self::Grade3A => (0.25, 0.25),
            Self::Grade2A => (0.5, 0.5),
            Self::Grade1A => (1.0, 1.0),
            Self::GradeA => (2.0, 1.0),
            Self::GradeB => (3.0, 2.0),
            Self::GradeC => (4.0, 3.0),
            Self::GradeD => (5.0, 5.0),
        };
        if (0.25..=0.75).contains(&fraction) {
            middle
        } else {
            outer
        }
    }
}

/// A gauge as fitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gauge {
    /// The lower end of the scale, usually 0.
    pub low: Typed,
    /// The upper end of the scale.
    pub high: Typed,
    /// Accuracy class of EN 837-1: largest error in per cent of span, the same all along the scale.
    pub class: Decimal,
    /// The grade of ASME B40.100 where the dial carries one; it then stands instead of `class`.
    pub grade: Option<AsmeGrade>,
    /// The pressure between two neighbouring marks, in the unit of `high`.
    pub division: Decimal,
    /// Height of the gauge above the station datum, millimetres; negative below.
    pub elevation_mm: i32,
    /// The day it was last fitted, checked against a better one, or adjusted.
    pub checked_on: Option<NaiveDate>,
}

impl Gauge {
    /// The unit marked on the dial.
    #[must_use]
    pub const fn unit(&self) -> Unit {
        self.high.unit
    }

    /// Upper minus lower end of the scale; may be zero or negative in a bad definition.
    #[must_use]
    pub fn span(&self) -> Pressure {
        self.high.to_pressure() - self.low.to_pressure()
    }

    /// One division as a pressure; zero or negative in a bad definition.
    #[must_use]
    pub fn division_pressure(&self) -> Pressure {
        Typed::new(self.division, self.unit()).to_pressure()
    }

    /// The largest error the class (or grade) allows at `reading`, pascals, never negative.
    ///
    /// # Source
    ///
    /// EN 837-1:1996 Table 11: per cent of span, constant along the scale (check value G-1).
    #[must_use]
    pub fn largest_error_pa(&self, reading: Pressure) -> f64 {
        let span = self.span().as_f64_pa().max(0.0);
        let percent = match self.grade {
            Some(grade) => {
                let above = (reading - self.low.to_pressure()).as_f64_pa();
                grade.percent_of_span(if span > 0.0 { above / span } else { 0.0 })
            }
            None => decimal_to_f64(self.class).clamp(0.0, 100.0),
        };
        span * percent / 100.0
    }

    /// The highest pressure the gauge should carry all the time: three quarters of full scale.
    ///
    /// # Source
    ///
    /// EN 837-2 (selection), recalled; common practice (check value G-2).
    #[must_use]
    pub fn working_max(&self) -> Pressure {
        let high = self.high.to_pressure().as_f64_pa();
        let share = super::defaults::WORKING_SHARE_STEADY;
        Pressure::from_f64_pa(high * share).unwrap_or(Pressure::ZERO)
    }

    /// Whether the dial has a mark for this pressure.
    #[must_use]
    pub fn reaches(&self, reading: Pressure) -> bool {
        (self.low.to_pressure()..=self.high.to_pressure()).contains(&reading)
    }

    /// Decimal places that show a fifth of a division in the dial's unit, at most 4.
    #[must_use]
    pub fn decimals(&self) -> u8 {
        let step = decimal_to_f64(self.division) * super::defaults::READ_STEP_DIVISIONS;
        let mut decimals = 0;
        let mut place = 1.0;
        // A step of 0.02 needs two places, one of 0.05 too, one of 0.1 one place.
        while decimals < 4 && step.is_finite() && step > 0.0 && place > step * 1.000_001 {
            place /= 10.0;
            decimals += 1;
        }
        decimals
    }
}
