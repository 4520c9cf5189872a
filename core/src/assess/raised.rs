//! What is raised: the rule, what it is about, the suspects.

use chrono::{DateTime, Utc};

use crate::suspects::Ranking;
use crate::verdict::Entry;
use crate::watch::{FlagQuantity, Rule, Watched};

/// The rule that raised something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RaisedRule {
    /// A change over several visits.
    Drift,
    /// A change at once.
    Jump,
    /// A gauge shows the same value again and again.
    Stuck,
    /// A pressure outside its band, as sure as the gauges allow.
    Outside,
    /// The value written down is probably not the one that stood on the gauge.
    Slip,
}

impl RaisedRule {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Drift,
        Self::Jump,
        Self::Stuck,
        Self::Outside,
        Self::Slip,
    ];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Drift => "drift",
            Self::Jump => "jump",
            Self::Stuck => "stuck",
            Self::Outside => "outside",
            Self::Slip => "slip",
        }
    }
}

impl From<Rule> for RaisedRule {
    fn from(rule: Rule) -> Self {
        match rule {
            Rule::Drift => Self::Drift,
            Rule::Jump => Self::Jump,
            Rule::Stuck => Self::Stuck,
        }
    }
}

/// Something raised at a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Raised {
    /// The visit.
    pub at: DateTime<Utc>,
    /// The rule.
    pub rule: RaisedRule,
    /// What it is about.
    pub quantity: FlagQuantity,
    /// The watched quantity in which it shows.
    pub watched: Watched,
    /// When the condition probably began, where that is estimated.
    pub onset: Option<DateTime<Utc>>,
    /// How far the quantity is off its usual, as a logarithm; 0 where that has no meaning.
    pub shift: f64,
    /// Whether the condition stood before and has grown clearly worse.
    pub is_worse: bool,
    /// What may be behind it.
    pub suspects: Ranking,
    /// For a slip: the values probably meant.
    pub likely: Option<Entry>,
}
