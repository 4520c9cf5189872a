//! Working out many stations: the database is asked on this thread, events are judged on others.
//!
//! A merge may bring readings of hundreds of stations, and judging them is the longest part of what
//! follows it. Each station is judged by itself, so it does not matter which is finished first.

use std::sync::mpsc::{Receiver, Sender, channel, sync_channel};
use std::sync::{Mutex, PoisonError};

use super::database::Database;
use super::facts::Own;
use super::judged::{Done, Due};
use super::start::threads;
use crate::Result;
use crate::station::StationCode;

/// Is told how many stations are done and how many there are in all; says whether to go on judging.
pub(super) type GoesOn<'a> = dyn FnMut(u64, u64) -> bool + 'a;

/// Below this many stations another thread costs more than it brings.
const FEW: usize = 4;
/// Stations that may wait to be judged: bounds the memory that their events take.
const WAITING: usize = 2;

impl Database {
    /// Works out stations. To be called inside a transaction.
    pub(super) fn derive_stations(
        &self,
        own: &Own,
        stations: &[StationCode],
        goes_on: &mut GoesOn<'_>,
    ) -> Result<()> {
        if stations.len() < FEW {
            let mut judge = |due: Due| self.keep(due.judge());
            return self.each_station(own, stations, goes_on, &mut judge);
        }
        std::thread::scope(|scope| {
            let (send, waiting) = sync_channel(WAITING);
            let (finish, finished) = channel();
            let waiting = Mutex::new(waiting);
            // The receivers go when this closure ends, however it ends, and the threads with them.
            let waiting = std::sync::Arc::new(waiting);
            for _ in 0..threads() {
                let (waiting, finish) = (std::sync::Arc::clone(&waiting), finish.clone());
                scope.spawn(move || judge_all(&waiting, &finish));
            }
            drop((waiting, finish));
            let mut judge = |due: Due| {
                // The threads go only after this end of the channel: a panic of theirs is passed on
                // by the scope, and the transaction with it.
                let _ = send.send(due);
                finished.try_iter().try_for_each(|done| self.keep(done))
            };
            self.each_station(own, stations, goes_on, &mut judge)?;
            drop(send);
            finished.iter().try_for_each(|done| self.keep(done))
        })
    }

    fn each_station(
        &self,
        own: &Own,
        stations: &[StationCode],
        goes_on: &mut GoesOn<'_>,
        judge: &mut dyn FnMut(Due) -> Result<()>,
    ) -> Result<()> {
        let (mut is_wanted, mut done) = (true, 0);
        for code in stations {
            is_wanted = is_wanted && goes_on(done, stations.len() as u64);
            let (readings, plan) = self.derive_station(own, code)?;
            if !is_wanted {
                self.note_due(code)?;
            } else if let Some(due) = self.due_at(code, readings, &plan)? {
                judge(due)?;
            }
            done += 1;
        }
        Ok(())
    }
}

/// One thread: judges whatever waits, until nothing can come any more.
fn judge_all(waiting: &Mutex<Receiver<Due>>, finish: &Sender<Done>) {
    loop {
        let next = waiting
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .recv();
        let Ok(due) = next else { return };
        if finish.send(due.judge()).is_err() {
            return;
        }
    }
}
