//! From values of the core to structs that are ready to show: texts, tones, geometry.
//!
//! Pure functions without a window; nothing here knows Slint.

pub mod dial;
