//! A station's events in their order, and what they come to: flags, baselines, conditions.
//!
//! The [`Assessor`] knows readings; here the rest of a station's life joins it: what was noticed on
//! the look-round, checks that were answered, work that starts baselines anew. A plain value whose
//! state ([`Chronicle::to_bytes`]) has a bounded size, so that one more event costs the same after
//! ten years as after ten weeks.

use std::collections::VecDeque;

use chrono::{DateTime, Utc};

use super::assessor::{Assessor, Taken};
use super::event::{Answered, BaselineStart, BaselineWhy, Event, Restarted, Visited};
use super::raised::Raised;
use super::standing::{Condition, Hold};
use crate::record::{Tick, Ticks};
use crate::suspects::Sign;
use crate::watch::{Watch, Watched};

/// Look-rounds remembered: half a year of weekly ones.
const LOOKS: usize = 26;

/// A sign noticed at more than one in so many of the visits before belongs to the place and tells
/// nothing: common practice, no source.
const USUAL_ONE_IN: usize = 4;

/// One look-round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Looked {
    pub at: DateTime<Utc>,
    /// Which of [`Sign::ALL`] were noticed.
    pub signs: [bool; 3],
}

/// A station's life so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chronicle {
    pub(super) assessor: Assessor,
    pub(super) looks: VecDeque<Looked>,
    pub(super) standing: Vec<Condition>,
    /// The newest start of each quantity's baseline.
    pub(super) baselines: [Option<BaselineStart>; 3],
}

/// What an event comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Told {
    /// What a visit raised; suspects with signs and earlier answers taken into account.
    pub raised: Vec<Raised>,
    /// Baselines that start here.
    pub started: Vec<BaselineStart>,
    /// Distances of a visit's quantities from what was foreseen, in standard deviations.
    pub scores: [Option<f64>; 3],
    /// Whether a visit repeats the one before and was not counted.
    pub is_repeat: bool,
}

impl Chronicle {
    /// A station of which nothing is known yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The watch behind it.
    #[must_use]
    pub const fn watch(&self) -> &Watch {
        self.assessor.watch()
    }

    /// What stands now, in the order in which it was raised.
    #[must_use]
    pub fn standing(&self) -> &[Condition] {
        &self.standing
    }

    /// The newest baseline start of each quantity, by [`Watched::index`]; `None` before it was seen.
    #[must_use]
    pub const fn baselines(&self) -> &[Option<BaselineStart>; 3] {
        &self.baselines
    }

    /// Takes in what happened next. Events come in the order of time, an answer after the reading it
    /// is about; what comes later never changes what was said before.
    pub fn take(&mut self, event: &Event<'_>) -> Told {
        match event {
            Event::Visit(visited) => self.visit(visited),
            Event::Restart(restarted) => Told {
                started: self.restart(restarted),
                ..Told::default()
            },
            Event::Answer(answered) => {
                self.answer(*answered);
                Told::default()
            }
        }
    }

    fn visit(&mut self, visited: &Visited<'_>) -> Told {
        let before = Watched::ALL.map(|watched| self.watch().is_standing(watched));
        let Taken {
            mut raised,
            scores,
            begun,
            is_repeat,
        } = self.assessor.take(
            visited.definition,
            visited.at,
            &visited.entry,
            visited.is_confirmed,
        );
        let mut started = Vec::new();
        for (watched, begun) in Watched::ALL.into_iter().zip(begun) {
            if let Some(begun) = begun {
                let start = BaselineStart {
                    watched,
                    at: visited.at,
                    why: BaselineWhy::Watch(begun),
                };
                self.baselines[watched.index()] = Some(start);
                started.push(start);
            }
        }
        let now = Looked {
            at: visited.at,
            signs: signs_of(visited.ticks),
        };
        for flag in &mut raised {
            self.stand(flag, visited, before, now);
        }
        self.look(now);
        let (assessor, at) = (&self.assessor, visited.at);
        // What this very visit raised stands, a slip included.
        self.standing
            .retain(|condition| condition.stands(assessor) || condition.said_at == at);
        Told {
            raised,
            started,
            scores,
            is_repeat,
        }
    }

    /// Keeps what a flag is about, and gives the flag what else is known of it.
    fn stand(&mut self, flag: &mut Raised, visited: &Visited<'_>, before: [bool; 3], now: Looked) {
        let hold = Hold::of(flag, before, &self.assessor);
        let known = self
            .standing
            .iter()
            .position(|condition| condition.is_same(flag) && condition.stands(&self.assessor));
        let mut condition = match known {
            Some(place) => {
                let mut condition = self.standing.remove(place);
                condition.say_again(flag, visited.reading, hold);
                condition
            }
            None => Condition::new(flag, visited.reading, hold),
        };
        let since = condition.onset.unwrap_or(visited.at);
        condition.notice(self.signs_since(since, now));
        flag.suspects = condition.suspects();
        match known {
            Some(place) => self.standing.insert(place, condition),
            None => self.standing.push(condition),
        }
    }

    /// Remembers a look-round, and gives what stood before its signs.
    fn look(&mut self, now: Looked) {
        let mut standing = std::mem::take(&mut self.standing);
        for condition in &mut standing {
            if condition.said_at != now.at {
                let since = condition.onset.unwrap_or(condition.raised_at);
                condition.notice(self.signs_since(since.max(now.at), now));
            }
        }
        self.standing = standing;
        self.looks.push_back(now);
        if self.looks.len() > LOOKS {
            self.looks.pop_front();
        }
    }

    /// The signs noticed from a moment on, those that are usual at this station left out.
    fn signs_since(&self, since: DateTime<Utc>, now: Looked) -> Vec<Sign> {
        let earlier: Vec<&Looked> = (self.looks.iter()).filter(|look| look.at < since).collect();
        let noticed = |place: usize| {
            let later = self.looks.iter().filter(|look| look.at >= since);
            now.signs[place] || later.into_iter().any(|look| look.signs[place])
        };
        let is_usual = |place: usize| {
            let often = earlier.iter().filter(|look| look.signs[place]).count();
            often * USUAL_ONE_IN > earlier.len()
        };
        (Sign::ALL.into_iter().enumerate())
            .filter(|(place, _)| noticed(*place) && !is_usual(*place))
            .map(|(_, sign)| sign)
            .collect()
    }

    fn restart(&mut self, restarted: &Restarted) -> Vec<BaselineStart> {
        self.assessor.restart(restarted.what);
        let assessor = &self.assessor;
        let touched = restarted.what.quantities();
        self.standing.retain(|condition| {
            let is_touched = touched[condition.watched.index()];
            match condition.hold {
                // Whether a band is left, the next readings say anew.
                Hold::Band(_) | Hold::Newest => !is_touched,
                Hold::Watch(_) | Hold::Stuck(_) => condition.stands(assessor),
            }
        });
        let mut started = Vec::new();
        for watched in Watched::ALL {
            if touched[watched.index()] {
                let start = BaselineStart {
                    watched,
                    at: restarted.at,
                    why: BaselineWhy::Work {
                        work: restarted.work,
                        record: restarted.record,
                    },
                };
                self.baselines[watched.index()] = Some(start);
                started.push(start);
            }
        }
        started
    }

    fn answer(&mut self, answered: Answered) {
        for condition in &mut self.standing {
            condition.answer(answered);
        }
    }
}

/// What of the look-round's ticks says something about a cause.
fn signs_of(ticks: Ticks) -> [bool; 3] {
    Sign::ALL.map(|sign| {
        ticks.has(match sign {
            Sign::Leak => Tick::Leak,
            Sign::Damage => Tick::Damage,
            Sign::Noise => Tick::Noise,
        })
    })
}
