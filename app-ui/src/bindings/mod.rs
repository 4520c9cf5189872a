//! Where views and intents meet the markup: the only files that use Slint.

pub mod convert;
mod rows;
pub mod tablet;
