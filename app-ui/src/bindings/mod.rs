//! Where views and intents meet the markup: the only files that use Slint.

pub mod convert;
pub mod office;
mod office_convert;
pub mod office_pictures;
mod office_show;
mod office_show_station;
mod office_upkeep;
mod rows;
pub mod tablet;
