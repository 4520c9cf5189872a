//! Helps a hand that sets the second stage: from turns and pressures to the next turn of the screw.
//!
//! [`assist`] takes a [`Setting`] (what is to be reached, with which gauge and spring) and every
//! [`Point`] entered so far, and answers an [`Assistance`]: bar per turn, backlash, turns to go and
//! pressures foreseen, each with its 95 % interval, and one [`Advice`] with stable codes. It is a
//! pure function of what was entered: nothing is remembered between calls, so a point may be
//! corrected or left out. Any input gives an answer; nothing is NaN.
//!
//! It always comes from below: a set point reached while screwing in leaves no backlash behind it.
//! [`as_left`] is the value for the certificate, with its uncertainty. Not here: texts, and the
//! order of the steps around it (valves, air, lock nut). Formulas: `core/FORMULAS.md`, "Calibration".

mod advice;
mod as_left;
mod assist;
mod belief;
mod play;
mod point;
mod regression;
mod setting;
mod stops;
#[cfg(test)]
mod tests;
mod turns;

pub use advice::{Advice, Again, Drift, Note, RateBasis, Refusal, Span};
pub use as_left::{AsLeft, as_left};
pub use assist::{Assistance, assist};
pub use point::{DrawOff, Point, Steadiness};
pub use setting::{Setting, Start, TOLERANCE_SHARE};
pub use turns::HandTurns;
