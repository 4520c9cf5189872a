//! What must hold in the simulated world after every day and at its end.

use std::collections::BTreeSet;

use winze_sync_format::{LogId, RecordRef, SignedRecord};

use super::super::laws::projected;
use super::super::world::shuffled;
use super::days::{STATIONS, Site};
use crate::query;
use crate::query::LogStanding;
use crate::samples::code;

impl Site {
    pub fn check_day(&mut self) {
        self.check_safe();
        self.check_what_counts();
        self.check_arrived();
        let n = self.draw.below(self.devices.len());
        self.check_projection(n);
        // Opened anew, it finds everything as it was.
        let before = self.devices[n].book().dump_projection().unwrap();
        let restored = self.draw.below(2) == 0;
        self.devices[n].kill(restored);
        let book = self.devices[n].book();
        assert_eq!(book.start_report().restored_to_segments, 0, "{book:?}");
        let after = book.dump_projection().unwrap();
        assert!(
            before == after,
            "{}: another after a kill",
            self.devices[n].name
        );
    }

    /// Nothing that was called safe is lost.
    pub fn check_safe(&mut self) {
        for device in &mut self.devices {
            let safe = device.safe.clone();
            for at in safe {
                assert!(
                    query::holds(device.book(), at).unwrap(),
                    "{}: {at} lost",
                    device.name
                );
            }
        }
    }

    /// What is shown follows from the records alone, in whatever order they came.
    pub fn check_projection(&mut self, n: usize) {
        let order = self.draw.below(usize::MAX) as u64;
        let device = &mut self.devices[n];
        let shown = device.book().dump_projection().unwrap();
        let records = device.records();
        let own = device.book().own.clone();
        let anew = projected(&own, &shuffled(&records, order), records.len() / 2 + 1);
        // The dump of a logbook begins with its name; behind the projection stands what is kept.
        let shown = shown.splitn(3, '\n').nth(2).unwrap();
        assert!(
            anew.starts_with(shown),
            "{}: another than its records",
            device.name
        );
    }

    /// At the first office nothing counts of a log nobody enrolled, and nothing behind the place from
    /// which it said that a log does not count.
    pub fn check_what_counts(&mut self) {
        let (revoked, enrolled) = (self.revoked.clone(), self.enrolled.clone());
        let book = self.devices[0].book();
        let own = book.log_id();
        for text in STATIONS {
            for visit in query::past_readings(book, &code(text), usize::MAX >> 1).unwrap() {
                let at = visit.at;
                let may_count = at.log == own
                    || enrolled.contains(&at.log)
                        && match revoked.get(&at.log) {
                            None => true,
                            Some(last) => last.is_some_and(|last| at.seq <= last),
                        };
                assert!(visit.is_held || may_count, "{at} counts");
            }
        }
        for log in query::logs(book).unwrap() {
            if let Some(last) = revoked.get(&log.log) {
                let standing = log.standing;
                let is_limited = match standing {
                    LogStanding::Revoked { last_seq } => last_seq <= *last,
                    LogStanding::Held => true,
                    LogStanding::Own | LogStanding::Counts => false,
                };
                assert!(
                    is_limited,
                    "{} stands as {standing:?} although revoked",
                    log.log
                );
            }
        }
    }

    /// Nothing is called arrived that no office has.
    pub fn check_arrived(&mut self) {
        for n in 2..self.devices.len() {
            let (own, safe) = (self.devices[n].log, self.devices[n].safe.clone());
            let logs = query::logs(self.devices[n].book()).unwrap();
            let view = logs.iter().find(|view| view.log == own);
            let Some(arrived) = view.and_then(|view| view.acknowledged_to) else {
                continue;
            };
            for at in safe {
                if at.log == own && at.seq <= arrived {
                    assert!(
                        self.at_an_office_is(at),
                        "{}: {at} is called arrived",
                        self.devices[n].name
                    );
                }
            }
        }
    }

    fn at_an_office_is(&mut self, at: RecordRef) -> bool {
        (0..2).any(|n| query::holds(self.devices[n].book(), at).unwrap())
    }

    pub fn check_end(&mut self) {
        self.check_safe();
        self.check_what_counts();
        self.check_arrived();
        let safe: Vec<RecordRef> = self.devices.iter().flat_map(|d| d.safe.clone()).collect();
        let newer = self.newer.records.clone();
        let mut sets = BTreeSet::new();
        for n in 0..self.devices.len() {
            let records = self.devices[n].records();
            let names: BTreeSet<RecordRef> = records.iter().map(SignedRecord::reference).collect();
            for at in &safe {
                assert!(
                    names.contains(at),
                    "{at} did not arrive at {}",
                    self.devices[n].name
                );
            }
            // Records of a newer program went through all hands unchanged.
            for record in &newer {
                let here = records
                    .iter()
                    .find(|here| here.reference() == record.reference());
                assert_eq!(here.map(SignedRecord::item), Some(record.item()));
            }
            sets.insert(names);
        }
        assert_eq!(sets.len(), 1, "the same was brought to all");
        for n in [0, 1, self.devices.len() - 1] {
            self.check_projection(n);
        }
        self.check_copies();
        for n in 0..self.devices.len() {
            self.devices[n].kill(false);
            let book = self.devices[n].book();
            assert!(book.start_report().is_clean(), "{:?}", book.start_report());
        }
    }

    /// A log that two devices went on with is known to be one at both offices, with both branches.
    fn check_copies(&mut self) {
        let records = self.devices[0].records();
        let mut places: Vec<(LogId, u64)> = records.iter().map(|r| (r.log(), r.seq())).collect();
        places.sort_unstable();
        let twice: BTreeSet<LogId> = places
            .windows(2)
            .filter(|pair| pair[0] == pair[1])
            .map(|pair| pair[0].0)
            .collect();
        for n in 0..2 {
            for view in query::logs(self.devices[n].book()).unwrap() {
                assert_eq!(view.is_copied, twice.contains(&view.log), "{}", view.log);
            }
        }
        for device in &self.devices {
            assert!(
                device.is_copied || !twice.contains(&device.log),
                "{}",
                device.name
            );
        }
        self.tally.forks += twice.len() as u64;
    }

    /// Everything shown by every device, for comparing two runs.
    pub fn dumps(&mut self) -> Vec<String> {
        let dump = |device: &mut super::device::Device| device.book().dump_projection().unwrap();
        self.devices.iter_mut().map(dump).collect()
    }
}
