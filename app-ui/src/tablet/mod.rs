//! The tablet: what the operator's window does, without the window.

pub mod contacts;
