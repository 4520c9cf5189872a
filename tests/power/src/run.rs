//! Walking through a recorded day and checking what a crash would leave at each moment.

use std::collections::{BTreeMap, HashSet};

use crate::check::{Broken, Promised, check};
use crate::disk::{Event, Operation, PowerDisk};
use crate::images::{Cut, Numbers};
use crate::medium::Medium;
use crate::work::Recorded;

/// How thoroughly.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// Which cuts are tried at each moment, each so many times.
    pub cuts: &'static [(Cut, u32)],
    /// Every so many images the logbook must also go on working.
    pub goes_on_every: u64,
    /// The first of the numbers that choose.
    pub seed: u64,
    /// Moments are looked at one in so many.
    pub one_in: usize,
    /// Only moments of this operation, if any is named.
    pub only: Option<Operation>,
    /// Of every so many opened images the check itself is cut again, at each of its moments; 0 for
    /// none.
    pub again_every: u64,
}

impl Plan {
    /// The power fails.
    pub const POWER: Self = Self {
        cuts: &[
            (Cut::AllDropped, 1),
            (Cut::AllKept, 1),
            (Cut::Subset, 4),
            (Cut::Torn, 2),
            (Cut::NamesReordered, 2),
        ],
        goes_on_every: 16,
        seed: 1,
        one_in: 1,
        only: None,
        again_every: 400,
    };
    /// The process is killed: the system keeps everything that reached it.
    pub const KILL: Self = Self {
        cuts: &[(Cut::AllKept, 1), (Cut::KilledAmid, 8)],
        goes_on_every: 16,
        seed: 1,
        one_in: 1,
        only: None,
        again_every: 400,
    };
    /// While the logbook recovers from a crash it crashes again.
    const AGAIN: Self = Self {
        cuts: &[(Cut::AllDropped, 1), (Cut::AllKept, 1), (Cut::Subset, 1)],
        goes_on_every: u64::MAX,
        seed: 1,
        one_in: 1,
        only: None,
        again_every: 0,
    };
}

/// What was looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Count {
    /// Images made.
    pub images: u64,
    /// Images that differed from all others of the same lasting state and promises, and were opened.
    pub opened: u64,
    /// Images on which the logbook also went on working.
    pub went_on: u64,
    /// Images, among all, of a second crash during the start after the first.
    pub twice: u64,
    /// Moments looked at, by what was under way.
    pub moments: BTreeMap<Operation, u64>,
    /// Images by how they were cut.
    pub by_cut: BTreeMap<Cut, u64>,
}

impl Count {
    /// Adds another count.
    pub fn add(&mut self, other: &Self) {
        self.images += other.images;
        self.opened += other.opened;
        self.went_on += other.went_on;
        self.twice += other.twice;
        for (operation, moments) in &other.moments {
            *self.moments.entry(*operation).or_default() += moments;
        }
        for (cut, images) in &other.by_cut {
            *self.by_cut.entry(*cut).or_default() += images;
        }
    }
}

/// A broken promise, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// What was broken.
    pub broken: Broken,
    /// After which event of the trace.
    pub event: usize,
    /// How it was cut.
    pub cut: Cut,
    /// What was under way.
    pub doing: Option<Operation>,
}

/// Checks a recorded day on a disk, whose content is replaced.
///
/// # Errors
/// The first broken promise.
pub fn run(disk: &PowerDisk, recorded: &Recorded, plan: &Plan) -> Result<Count, Violation> {
    let mut walk = Walk::new(disk, *plan, recorded.before.clone(), Promised::default());
    for (index, event) in recorded.events.iter().enumerate() {
        walk.step(index, event)?;
    }
    Ok(walk.count)
}

/// Where the walk through a trace is.
struct Walk<'a> {
    disk: &'a PowerDisk,
    plan: Plan,
    medium: Medium,
    promised: Promised,
    numbers: Numbers,
    /// Images opened since what lasts or what was promised has changed.
    seen: HashSet<u64>,
    state: (u64, u64),
    /// What was under way last; the moment behind the end of an operation belongs to it.
    under_way: Operation,
    count: Count,
}

impl<'a> Walk<'a> {
    fn new(disk: &'a PowerDisk, plan: Plan, medium: Medium, promised: Promised) -> Self {
        Self {
            disk,
            plan,
            medium,
            under_way: promised.doing.unwrap_or(Operation::Create),
            promised,
            numbers: Numbers::new(plan.seed),
            seen: HashSet::new(),
            state: (u64::MAX, 0),
            count: Count::default(),
        }
    }

    fn step(&mut self, index: usize, event: &Event) -> Result<(), Violation> {
        let (is_mark, may_differ) = match event {
            Event::Marked(mark) => {
                self.promised.note(mark);
                (true, true)
            }
            event => (false, self.medium.apply(event)),
        };
        self.under_way = self.promised.doing.unwrap_or(self.under_way);
        let is_meant = self.plan.only.is_none_or(|only| only == self.under_way);
        if !may_differ || !is_meant {
            return Ok(());
        }
        if self.plan.one_in > 1 && self.numbers.below(self.plan.one_in) != 0 {
            return Ok(());
        }
        if !is_mark {
            *self.count.moments.entry(self.under_way).or_default() += 1;
        }
        let state = (self.medium.version, self.promised.version);
        if self.state != state {
            self.state = state;
            self.seen.clear();
        }
        for (cut, times) in self.plan.cuts {
            for _ in 0..*times {
                let doing = self.promised.doing;
                self.look(*cut).map_err(|broken| Violation {
                    broken,
                    event: index,
                    cut: *cut,
                    doing,
                })?;
            }
        }
        Ok(())
    }

    fn look(&mut self, cut: Cut) -> Result<(), Broken> {
        let image = self.medium.image(cut, &mut self.numbers);
        self.count.images += 1;
        *self.count.by_cut.entry(cut).or_default() += 1;
        if !self.seen.insert(image.digest) {
            return Ok(());
        }
        self.count.opened += 1;
        self.disk.load(image.files);
        let again = self.plan.again_every;
        if again > 0 && self.count.opened.is_multiple_of(again) {
            return self.look_again();
        }
        let goes_on = self.count.opened.is_multiple_of(self.plan.goes_on_every);
        self.count.went_on += u64::from(goes_on);
        check(self.disk, &self.promised, goes_on)
    }

    /// Records the start after a crash and lets it crash at each of its moments.
    fn look_again(&mut self) -> Result<(), Broken> {
        let before = self.disk.start_recording();
        let outcome = check(self.disk, &self.promised, false);
        let events = self.disk.stop_recording();
        outcome?;
        let plan = Plan {
            seed: self.numbers.draw(),
            ..Plan::AGAIN
        };
        let mut walk = Walk::new(self.disk, plan, before, self.promised.clone());
        for (index, event) in events.iter().enumerate() {
            walk.step(index, event)
                .map_err(|violation| violation.broken)?;
        }
        self.count.images += walk.count.images;
        self.count.opened += walk.count.opened;
        self.count.twice += walk.count.images;
        Ok(())
    }
}
