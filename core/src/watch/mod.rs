//! Watching a station over time: notices slow change early and is rarely wrong.
//!
//! Pure rules: no clock, no store, no text for people. Start at [`Watch::take`], which takes one
//! [`Visit`] and answers an [`Outcome`]; [`crate::assess`] joins it with slips and verdicts.
//!
//! # How it works
//!
//! Three quantities are watched, each the logarithm of a ratio: inlet over usual inlet, inlet over
//! interstage over ratio, outlet over set point ([`Watched`]). For each of them
//!
//! 1. the memory is taken out (`whiten`): an inlet that was high last week is high this week, and
//!    charts of it would signal without end. How long the memory is, older visits tell;
//! 2. level and spread are kept with their uncertainty, starting from the station's uncertainty
//!    budget ([`Setting`]), so that the fourth visit can already say something (`channel`, `view`);
//! 3. a two-sided CUSUM over the last [half year](Watch) tells whether anything is worth weighing;
//! 4. if so, every cause of the closed list is weighed against "nothing changed": with its shape (a
//!    step, a ramp, more scatter, one wild value), its range of sizes, and every visit at which it
//!    may have begun (`evidence`). The likelihood ratio is that of two Student densities, because
//!    level and spread are integrated out;
//! 5. a flag is raised when the weighted sum exceeds a threshold ([`Weights`]). The same evidence,
//!    with priors instead of weights, gives the probabilities of the suspects;
//! 6. a flagged condition stands until it clears, and is said again only when clearly worse
//!    (`condition`). Its visits never become baseline, unless nobody acts for half a year.
//!
//! A gauge that shows the very same value again and again is judged by the probability of its
//! repeats (`stuck`).
//!
//! # What it costs
//!
//! Old visits are sums, the last 26 are kept one by one: a visit costs the same after ten weeks and
//! after ten years, and the state ([`Watch::to_bytes`]) has a fixed size. Everything follows from
//! what was known at the visit, so a shorter history raises the same flags.
//!
//! # Why not a plain chart
//!
//! Shewhart limits and a CUSUM on a learned baseline raise two to four false flags a station-year
//! on the reference fleet, a fixed limit finds half of the faults in a quarter; the example
//! `watch_table` prints all beside this rule. Formulas are in `core/FORMULAS.md`.

mod channel;
mod chart;
mod condition;
mod evidence;
mod find;
mod flag;
mod forecast;
mod log_sum;
mod restart;
mod setting;
mod sizes;
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
pub(crate) use forecast::HORIZON_WEEKS;
pub use forecast::{Forecast, Trend, forecast, trend};
pub use restart::{Begun, Change, Restart};
pub use setting::{Scale, Setting, Watched};
pub(crate) use state::VERSION as STATE_VERSION;
pub use visit::Visit;
pub use watcher::{Baseline, Outcome, Watch};
pub use weights::Weights;
