//! The windows and commands of Winze.
//!
//! Start at `tablet` for what the operator's window does, at `presenters` for what it shows,
//! at `bindings` for how both meet the markup under `ui/`. No rule about pressures, records
//! or merging lives here.

pub mod bindings;
pub mod calendar;
pub mod clock;
pub mod commands;
pub mod demo;
pub mod messages;
pub mod office;
pub mod papers;
pub mod pictures;
pub mod presenters;
pub mod reports;
pub mod sheets;
pub mod statements;
pub mod tablet;
pub mod whereabouts;

/// What the markup compiler makes of `ui/app.slint`: windows, adapters, plain structs.
#[allow(
    missing_docs,
    clippy::all,
    clippy::pedantic,
    reason = "generated code; its documentation is the markup"
)]
pub mod markup {
    slint::include_modules!();
}
