//! From values of the core to structs that are ready to show: texts, tones, geometry.
//!
//! Pure functions without a window; nothing here knows Slint. Everything said to the operator
//! in words is made in this folder or in the markup, nowhere else.

pub mod assistant;
pub mod care;
pub mod chart;
pub mod closer;
pub mod correction;
pub mod course;
pub mod dial;
pub mod doubt;
pub mod due;
pub mod finding;
pub mod flag;
pub mod gauge;
pub mod hand_over;
pub mod history;
pub mod hydraulics;
pub mod moment;
pub mod office_attention;
pub mod office_category;
pub mod office_due;
pub mod office_fleet;
pub mod office_hand_back;
pub mod office_held;
pub mod office_hydraulics;
pub mod office_jobs;
pub mod office_need;
pub mod office_papers;
pub mod office_procedures;
pub mod office_questions;
pub mod office_station;
pub mod office_station_view;
pub mod office_steps;
pub mod office_sum;
pub mod office_time;
pub mod office_tray;
pub mod office_upkeep;
pub mod office_view;
pub mod office_week;
pub mod paging;
pub mod procedure;
pub mod round;
pub mod sentence;
pub mod station;
pub mod step;
pub mod turns_plot;
pub mod view;
pub mod who;
pub mod words;
pub mod work_view;

#[cfg(test)]
pub(crate) mod samples;
