//! A world in small: tablets and offices over some days, with everything that goes wrong with sticks,
//! disks, clocks, copies and people, drawn from one number. After every day it is checked that nothing
//! that was called safe is lost, that what is shown follows from the records alone, that nothing
//! counts that must not, and that nothing is called arrived that no office has.
//!
//! A few worlds run with the other tests. The long run, on every core, with its count:
//!
//! ```text
//! cargo test --release -p winze-core --lib tests::sim -- --include-ignored --nocapture
//! # every night others; and one of them again
//! WINZE_FROM=$(date +%Y%m%d)0000 WINZE_WORLDS=5000 cargo test --release ... (as above)
//! WINZE_FROM=4711 WINZE_WORLDS=1 cargo test --release ... (as above)
//! ```

#![allow(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    reason = "the long run tells its count and how long it took"
)]

mod checks;
mod days;
mod device;
mod tally;

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use days::Site;
use tally::Tally;

use super::world::number_from_environment;

/// Lives through a world; on a failure says how to see it again.
fn live(seed: u64) -> Tally {
    let lived = catch_unwind(AssertUnwindSafe(|| {
        let mut site = Site::of(seed);
        site.live();
        site.tally
    }));
    lived.unwrap_or_else(|panicked| {
        println!("world {seed} failed; again: WINZE_FROM={seed} WINZE_WORLDS=1");
        resume_unwind(panicked)
    })
}

#[test]
fn some_worlds_lose_nothing_and_agree() {
    let mut all = Tally::default();
    for seed in 0..6 {
        all.add(&live(seed));
    }
    // Otherwise little was tried.
    assert!(all.safe > 100, "{all}");
}

#[test]
fn one_number_is_one_world() {
    let worlds = [3, 3].map(|seed| {
        let mut site = Site::of(seed);
        site.live();
        site.dumps()
    });
    assert!(worlds[0] == worlds[1]);
}

#[test]
#[ignore = "twenty thousand worlds"]
fn twenty_thousand_worlds_lose_nothing_and_agree() {
    let worlds = number_from_environment("WINZE_WORLDS", 20_000);
    let from = number_from_environment("WINZE_FROM", 1_000_000);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let (next, done) = (AtomicU64::new(from), AtomicU64::new(0));
    let all = Mutex::new(Tally::default());
    let start = Instant::now();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= from + worlds {
                        return;
                    }
                    let tally = live(seed);
                    let mut all = all.lock().unwrap();
                    all.add(&tally);
                    let done = done.fetch_add(1, Ordering::Relaxed) + 1;
                    if done.is_multiple_of(100) || done == worlds {
                        let took_s = start.elapsed().as_secs();
                        println!("{done} worlds from {from} on in {took_s} s: {all}; 0 lost");
                    }
                }
            });
        }
    });
}

/// Spoils something in a world that was lived through; says whether the checks notice.
fn notices(
    seed: u64,
    spoil: impl FnOnce(&mut Site) -> bool,
    check: impl FnOnce(&mut Site),
) -> bool {
    let mut site = Site::of(seed);
    site.live();
    check_quietly(&mut site, Site::check_day).unwrap();
    assert!(spoil(&mut site), "world {seed} has nothing to spoil");
    check_quietly(&mut site, check).is_err()
}

fn check_quietly(site: &mut Site, check: impl FnOnce(&mut Site)) -> std::thread::Result<()> {
    catch_unwind(AssertUnwindSafe(|| check(site)))
}

/// Checks that could not fail would prove nothing.
#[test]
fn the_checks_notice_what_they_are_for() {
    let lost = |site: &mut Site| {
        let mut at = site.devices[2].safe[0];
        at.id.0[0] ^= 1;
        site.devices[2].safe.push(at);
        true
    };
    assert!(notices(3, lost, Site::check_safe));
    let shown = |site: &mut Site| spoil_database(site, 0, "UPDATE station SET walk_order = 77");
    assert!(notices(3, shown, |site| site.check_projection(0)));
    let counts = |site: &mut Site| {
        let log = site.devices[2].log;
        site.enrolled.remove(&log);
        true
    };
    assert!(notices(3, counts, Site::check_what_counts));
    let arrived = |site: &mut Site| {
        // As if the tablet had been told of what it wrote after the offices were last seen.
        site.devices[2].clock.advance_ms(60_000);
        let text = days::STATIONS[0];
        let new = crate::samples::reading(text, crate::samples::entry(100, 40, 20), u64::MAX);
        let saved = |book: &mut crate::Logbook| {
            crate::actions::record_reading(book, new).map(|saved| saved.at)
        };
        site.devices[2].act(saved).unwrap();
        let own = site.devices[2].log;
        let sql = format!(
            "INSERT INTO acknowledgement (target, log, seq, id, to_seq, to_id, wall_ms)
             SELECT r.log, t.log, 900000, zeroblob(32), r.seq, r.id, 0
             FROM record r JOIN trust t ON t.role = 'office'
             WHERE r.log = (SELECT n FROM log WHERE id = X'{own}') ORDER BY r.seq DESC LIMIT 1"
        );
        spoil_database(site, 2, &sql)
    };
    assert!(notices(3, arrived, Site::check_arrived));
}

fn spoil_database(site: &mut Site, n: usize, sql: &str) -> bool {
    let connection = &site.devices[n].book().database.connection;
    connection.execute(sql, []).unwrap() > 0
}
