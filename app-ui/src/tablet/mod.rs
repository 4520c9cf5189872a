//! The tablet: what the operator's window does, without the window.
//!
//! [`session`] is the state machine: intents in, views out. Start there.

pub mod contacts;
pub mod digits;
pub mod draft;
pub mod entry;
pub mod past;
pub mod places;
pub mod session;
pub mod step_draft;
pub mod step_entry;
