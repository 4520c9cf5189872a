//! What steps measure, and the values that come of it.

use winze_sync_format::Decimal;

use super::list::closed_list;
use crate::calibration::DrawOff;
use crate::station::Quantity;
use crate::units::Typed;
use crate::verdict::FlowState;

closed_list! {
    /// Something measured or found at a step.
    MeasureCode {
        /// The pressure before the upstream isolating valve.
        Supply = "supply",
        /// The inlet gauge.
        Inlet = "inlet",
        /// The interstage gauge.
        Interstage = "interstage",
        /// The outlet gauge.
        Outlet = "outlet",
        /// The set point on the factory's or bench's plate.
        FactorySetPoint = "factory-set-point",
        /// The set point wanted.
        WantedSetPoint = "wanted-set-point",
        /// How far the screw was backed off.
        TurnsBackedOff = "turns-backed-off",
        /// How much water is drawn.
        Flow = "flow",
        /// Whether air still came at the last venting.
        Air = "air",
        /// How often it was vented.
        Ventings = "ventings",
        /// What the strainer looked like when it came out.
        StrainerFound = "strainer-found",
        /// In what state the inside was found.
        InsideFound = "inside-found",
    }
}

/// In what a measure is expressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measurand {
    /// A pressure, digits and unit as typed.
    Pressure,
    /// Turns of the adjusting screw.
    Turns,
    /// A whole number.
    Count,
    /// One of [`DrawOff`].
    DrawOff,
    /// One of [`Air`].
    Air,
    /// One of [`Dirt`].
    Dirt,
    /// One of [`Inside`].
    Inside,
}

impl MeasureCode {
    /// In what it is expressed.
    #[must_use]
    pub const fn measurand(self) -> Measurand {
        match self {
            Self::Supply
            | Self::Inlet
            | Self::Interstage
            | Self::Outlet
            | Self::FactorySetPoint
            | Self::WantedSetPoint => Measurand::Pressure,
            Self::TurnsBackedOff => Measurand::Turns,
            Self::Ventings => Measurand::Count,
            Self::Flow => Measurand::DrawOff,
            Self::Air => Measurand::Air,
            Self::StrainerFound => Measurand::Dirt,
            Self::InsideFound => Measurand::Inside,
        }
    }

    /// The station's gauge it is read from, if it is one.
    #[must_use]
    pub const fn gauge(self) -> Option<Quantity> {
        match self {
            Self::Inlet => Some(Quantity::Inlet),
            Self::Interstage => Some(Quantity::Interstage),
            Self::Outlet => Some(Quantity::Outlet),
            _ => None,
        }
    }
}

/// The flow state of a reading taken with a draw-off.
#[must_use]
pub const fn flow_state(draw_off: DrawOff) -> FlowState {
    match draw_off {
        DrawOff::Usual | DrawOff::Minimum => FlowState::Flowing,
        DrawOff::None => FlowState::Still,
    }
}

closed_list! {
    /// Whether air came when a stage was vented.
    Air {
        /// None any more.
        None = "none",
        /// Air still came.
        Some = "some",
    }
}

closed_list! {
    /// What a strainer looked like.
    Dirt {
        /// Clean.
        Clean = "clean",
        /// A little in it.
        Light = "light",
        /// Much in it.
        Heavy = "heavy",
        /// Broken or holed.
        Damaged = "damaged",
    }
}

closed_list! {
    /// In what state a stage was found inside.
    Inside {
        /// As new.
        Sound = "sound",
        /// Worn, and left so.
        Worn = "worn",
        /// Parts were renewed.
        Renewed = "renewed",
    }
}

/// A value measured or found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Value {
    /// See [`Measurand::Pressure`].
    Pressure(Typed),
    /// See [`Measurand::Turns`]; turns in are positive.
    Turns(Decimal),
    /// See [`Measurand::Count`].
    Count(u32),
    /// See [`Measurand::DrawOff`].
    DrawOff(DrawOff),
    /// See [`Measurand::Air`].
    Air(Air),
    /// See [`Measurand::Dirt`].
    Dirt(Dirt),
    /// See [`Measurand::Inside`].
    Inside(Inside),
}

impl Value {
    /// In what it is expressed.
    #[must_use]
    pub const fn measurand(self) -> Measurand {
        match self {
            Self::Pressure(_) => Measurand::Pressure,
            Self::Turns(_) => Measurand::Turns,
            Self::Count(_) => Measurand::Count,
            Self::DrawOff(_) => Measurand::DrawOff,
            Self::Air(_) => Measurand::Air,
            Self::Dirt(_) => Measurand::Dirt,
            Self::Inside(_) => Measurand::Inside,
        }
    }

    /// Whether both mean the same: 4.1 bar and 4.10 bar do.
    #[must_use]
    pub fn agrees_with(self, other: Self) -> bool {
        match (self, other) {
            (Self::Pressure(one), Self::Pressure(two)) => one.to_pressure() == two.to_pressure(),
            _ => self == other,
        }
    }
}

/// A value with what it is a value of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measured {
    /// Of what.
    pub code: MeasureCode,
    /// The value; of the code's measurand.
    pub value: Value,
}

impl Measured {
    /// A pressure as typed.
    #[must_use]
    pub const fn pressure(code: MeasureCode, typed: Typed) -> Self {
        Self {
            code,
            value: Value::Pressure(typed),
        }
    }

    /// How much water is drawn.
    #[must_use]
    pub const fn flow(flow: DrawOff) -> Self {
        Self {
            code: MeasureCode::Flow,
            value: Value::DrawOff(flow),
        }
    }

    /// Whether air came.
    #[must_use]
    pub const fn air(air: Air) -> Self {
        Self {
            code: MeasureCode::Air,
            value: Value::Air(air),
        }
    }
}
