//! What stands at a station: flagged and not over, with everything learned about it since.
//!
//! A flag is a moment; a [`Condition`] is what it leaves behind until it clears. Whether a quantity's
//! condition stands is the watch's to say; here it is kept together with signs and answered checks.

use chrono::{DateTime, Utc};
use winze_sync_format::RecordRef;

use super::assessor::Assessor;
use super::event::Answered;
use super::raised::{Raised, RaisedRule};
use crate::station::Quantity;
use crate::suspects::{Advice, Ranking, Sign, next_checks};
use crate::watch::{FlagQuantity, Watched};

/// What keeps a condition standing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hold {
    /// The watch's condition of these quantities.
    Watch([bool; 3]),
    /// The watch's stuck gauge.
    Stuck(usize),
    /// A pressure outside its band.
    Band(Quantity),
    /// The newest visit: a slip is over with the next reading or with its correction.
    Newest,
}

impl Hold {
    pub fn of(raised: &Raised, before: [bool; 3], assessor: &Assessor) -> Self {
        let place = raised.watched.index();
        match raised.rule {
            RaisedRule::Slip => Self::Newest,
            RaisedRule::Stuck => Self::Stuck(place),
            RaisedRule::Outside => Self::Band(Quantity::ALL[place]),
            RaisedRule::Drift | RaisedRule::Jump => {
                let mut held = [false; 3];
                for watched in Watched::ALL {
                    let index = watched.index();
                    held[index] = assessor.watch().is_standing(watched) && !before[index];
                }
                held[place] = true;
                Self::Watch(held)
            }
        }
    }

    fn stands(self, assessor: &Assessor) -> bool {
        match self {
            Self::Watch(held) => Watched::ALL
                .into_iter()
                .any(|watched| held[watched.index()] && assessor.watch().is_standing(watched)),
            Self::Stuck(gauge) => assessor.watch().is_stuck(gauge),
            Self::Band(quantity) => assessor.is_outside(quantity),
            Self::Newest => false,
        }
    }
}

/// A condition that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// The rule that raised it last.
    pub rule: RaisedRule,
    /// What it is about.
    pub quantity: FlagQuantity,
    /// The watched quantity in which it shows.
    pub watched: Watched,
    /// The visit that raised it first.
    pub raised_at: DateTime<Utc>,
    /// The visit at which it was said last.
    pub said_at: DateTime<Utc>,
    /// The reading of that visit: what an answered check is about.
    pub reading: RecordRef,
    /// When it probably began, where that is estimated.
    pub onset: Option<DateTime<Utc>>,
    /// How far the quantity was off when it was said last, as a logarithm (0.05 is about 5 % up); 0
    /// where that has no meaning.
    pub shift: f64,
    /// Whether it has grown clearly worse since it was first raised.
    pub is_worse: bool,
    /// The suspects as the readings alone have them.
    pub by_readings: Ranking,
    /// What was noticed on look-rounds while it lasted, each once.
    pub signs: Vec<Sign>,
    /// Checks answered since it was raised, in the order of time; of each check the last answer.
    pub answers: Vec<Answered>,
    pub(super) hold: Hold,
}

impl Condition {
    pub(super) fn new(raised: &Raised, reading: RecordRef, hold: Hold) -> Self {
        Self {
            rule: raised.rule,
            quantity: raised.quantity,
            watched: raised.watched,
            raised_at: raised.at,
            said_at: raised.at,
            reading,
            onset: raised.onset,
            shift: raised.shift,
            is_worse: raised.is_worse,
            by_readings: raised.suspects,
            signs: Vec::new(),
            answers: Vec::new(),
            hold,
        }
    }

    /// What may be behind it, by the readings, the signs and the answered checks.
    #[must_use]
    pub fn suspects(&self) -> Ranking {
        let seen =
            (self.signs.iter()).fold(self.by_readings, |ranking, sign| ranking.with_sign(*sign));
        (self.answers.iter()).fold(seen, |ranking, answer| {
            ranking.after(answer.check, answer.is_yes)
        })
    }

    /// The checks worth their time now, best first; those answered already are left out.
    #[must_use]
    pub fn next_checks(&self) -> Vec<Advice> {
        let mut checks = next_checks(&self.suspects());
        checks.retain(|advice| {
            let answered = |answer: &Answered| answer.check == advice.check;
            !self.answers.iter().any(answered)
        });
        checks
    }

    /// Whether it is about a single value that was probably not meant.
    #[must_use]
    pub fn is_slip(&self) -> bool {
        self.rule == RaisedRule::Slip
    }

    pub(super) fn stands(&self, assessor: &Assessor) -> bool {
        self.hold.stands(assessor)
    }

    /// Whether a new flag says the same condition again.
    pub(super) fn is_same(&self, raised: &Raised) -> bool {
        let place = raised.watched.index();
        match (self.hold, raised.rule) {
            (Hold::Watch(held), RaisedRule::Drift | RaisedRule::Jump) => held[place],
            // What the watch tells takes over from a band that was left.
            (Hold::Band(quantity), RaisedRule::Drift | RaisedRule::Jump | RaisedRule::Outside) => {
                quantity.index() == place
            }
            (Hold::Stuck(gauge), RaisedRule::Stuck) => gauge == place,
            _ => false,
        }
    }

    /// Takes over a flag that says it again; what was learned since it began is kept.
    pub(super) fn say_again(&mut self, raised: &Raised, reading: RecordRef, hold: Hold) {
        self.rule = raised.rule;
        self.quantity = raised.quantity;
        self.watched = raised.watched;
        self.said_at = raised.at;
        self.reading = reading;
        self.onset = raised.onset.or(self.onset);
        self.shift = raised.shift;
        self.is_worse |= raised.is_worse;
        self.by_readings = raised.suspects;
        self.hold = match (self.hold, hold) {
            (Hold::Watch(old), Hold::Watch(new)) => {
                Hold::Watch([0, 1, 2].map(|index| old[index] || new[index]))
            }
            (_, hold) => hold,
        };
    }

    pub(super) fn notice(&mut self, signs: impl IntoIterator<Item = Sign>) {
        for sign in signs {
            // A slip of the pen makes no noise.
            if !self.is_slip() && !self.signs.contains(&sign) {
                self.signs.push(sign);
            }
        }
        self.signs.sort_unstable();
    }

    pub(super) fn answer(&mut self, answered: Answered) {
        self.answers.retain(|answer| answer.check != answered.check);
        self.answers.push(answered);
    }
}
