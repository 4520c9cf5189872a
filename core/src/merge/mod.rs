//! What a set of records comes to: pure functions from facts to a plan.
//!
//! Merging itself is a set union and lives in the store. Here is everything that depends on more
//! than one record: which logs count ([`trust`]), which definition of a station is current, which
//! reading counts, and which questions a person must answer ([`questions`]).
//!
//! Nothing here knows a database, a file or the time, and no result depends on the order in which
//! facts are handed over.

pub mod clocks;
pub mod heads;
pub mod questions;
pub mod station_plan;
pub mod trust;

pub use questions::{
    Question, QuestionId, QuestionKind, QuestionState, copied_log_id, question_id,
};
pub use station_plan::{
    AnswerFact, CorrectionFact, ReadingFact, ReadingState, RevisionFact, Standing, StationFacts,
    StationPlan, plan_station,
};
pub use trust::{OwnLogs, Reach, Says, Statement, Trust, trust_of};
