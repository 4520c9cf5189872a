//! Whether the two stages of a station suit their duty, and what happens when one fails.
//!
//! Start at [`check`], which turns a [`Station`](crate::station::Station) into a
//! [`HydraulicCheck`]: pressures and load per stage over the usual inlet range, required flow
//! coefficients over the duty flows, cavitation, set point, failure cases and recommendations.
//! Below it lie the equations themselves: [`liquid`] (sizing), [`fittings`] (reducers),
//! [`cavitation`] and [`reynolds`]; `core/FORMULAS.md` lists them with their proving tests.
//!
//! A figure that needs data the station does not have is a [`Gap`] naming what is missing, never a
//! guess. No generic damage band decides anything: a stage is held against the limit its own maker
//! states, or not at all. Text for people is made in the app.

mod advice;
pub mod cavitation;
mod check;
mod duty;
mod failure;
mod figure;
pub mod fittings;
mod inputs;
pub mod liquid;
mod load;
pub mod practice;
mod recommend;
pub mod reynolds;
mod window;

pub use advice::{Concern, Recommendation};
pub use check::{HydraulicCheck, SetPointCheck, SpringPlace, check, check_with};
pub use duty::{Choking, DutyFlow, RequiredKv, StageDuty};
pub use failure::{Failed, FailureCase, OverrangedGauge, Protection, Survivor};
pub use figure::{Datum, Figure, Gap, Lack, Stage};
pub use inputs::{AirBasis, Conditions};
pub use load::{Cavitation, ChokedDrop, InletCase, InletPoint, LimitKind, SigmaLimit, StageLoad};
pub use practice::Practice;
pub use window::RatioWindow;
