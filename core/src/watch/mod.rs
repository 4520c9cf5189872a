//! Watching a station over time: notices slow change early and is rarely wrong.
//!
//! Pure rules: no clock, no store, no text for people. Start at [`Watch::take`].

mod channel;
mod chart;
mod condition;
mod evidence;
mod find;
mod flag;
mod forecast;
mod restart;
mod setting;
mod state;
mod stuck;
pub mod trend;
mod view;
mod visit;
mod watcher;
mod weights;
mod whiten;

pub use chart::{Cusum, Signal};
pub use flag::{Flag, FlagQuantity, Rule};
pub use forecast::{Forecast, forecast};
pub use restart::Restart;
pub use setting::{Scale, Setting, Watched};
pub use visit::Visit;
pub use watcher::{Baseline, Outcome, Watch};
pub use weights::Weights;
