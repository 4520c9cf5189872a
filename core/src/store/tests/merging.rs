//! Merges of many stations: judged on several threads as on one, and stopped at any point without a
//! trace in what is shown.

use std::path::PathBuf;

use winze_sync_format::SignedRecord;
use winze_sync_format::bundle::read_bundle;

use super::judged::kept_of;
use crate::actions::{MergeReport, PackFor, Stage, merge_bundles, pack_bundle, record_reading};
use crate::record::Role;
use crate::samples::{Kept, carry_on, code, entry, reading};
use crate::store::insert::Dirty;
use crate::{Logbook, query};

const STATIONS: [&str; 6] = ["T-01", "T-02", "T-03", "T-04", "T-05", "T-06"];

/// An office that knows the stations, and a bundle with twelve readings of each.
fn office_and_bundle() -> (Kept, Kept, PathBuf) {
    let mut office = Kept::new(Role::Office, "Office");
    let mut tablet = Kept::new(Role::Tablet, "A");
    for station in STATIONS {
        office.define(station);
    }
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "Office", Role::Office);
    tablet.merge(&[office.pack(PackFor::Tablets)]);
    for week in 0..12 {
        tablet.clock.advance_ms(7 * 86_400_000);
        office.clock.advance_ms(7 * 86_400_000 + 3_600_000);
        for station in STATIONS {
            tablet.read(station, (100 + week % 3, 40, 20 + week / 6));
        }
    }
    let bundle = tablet.pack(PackFor::Office);
    (office, tablet, bundle)
}

fn due(kept: &Kept) -> i64 {
    let connection = &kept.book.database.connection;
    connection
        .query_row("SELECT count(*) FROM judge_due", [], |row| row.get(0))
        .unwrap()
}

/// Merges until `stop_at` stations are worked out.
fn merge_until(office: &mut Kept, bundle: PathBuf, stop_at: u64) -> MergeReport {
    merge_bundles(&mut office.book, &[bundle], &mut |at| {
        at.stage != Stage::WorkingOut || at.done < stop_at
    })
    .unwrap()
}

#[test]
fn a_merge_stopped_while_working_out_shows_what_a_whole_one_does() {
    for stop_at in [0, 2, 5] {
        let (mut office, _tablet, bundle) = office_and_bundle();
        let report = merge_until(&mut office, bundle, stop_at);
        assert!(report.was_cancelled);
        assert_eq!(report.new_readings(), 72);
        assert_eq!(due(&office), 6 - i64::try_from(stop_at).unwrap());
        let shown = |office: &Kept| {
            let judged = STATIONS.map(|station| query::judgement(&office.book, &code(station)));
            (
                office.dump(),
                judged.map(|judged| format!("{:?}", judged.unwrap())),
                query::fleet_by_need(&office.book)
                    .map(|fleet| format!("{fleet:?}"))
                    .unwrap(),
            )
        };
        let before = shown(&office);
        for station in STATIONS {
            let afresh = office.book.judge_afresh(&code(station)).unwrap();
            assert_eq!(office.book.read_judged(&code(station)).unwrap(), afresh);
        }
        // Opening it anew judges what was left.
        let mut office = office.reopen();
        assert_eq!(due(&office), 0);
        assert_eq!(shown(&office), before);
        let kept = kept_of(&office.book.database);
        office.book.rebuild().unwrap();
        assert_eq!(kept_of(&office.book.database), kept);
        assert_eq!(shown(&office), before);
    }
}

#[test]
fn a_merge_stopped_while_reading_leaves_everything_to_be_judged_later() {
    let (mut office, tablet, bundle) = office_and_bundle();
    let report = merge_bundles(&mut office.book, std::slice::from_ref(&bundle), &mut |_| {
        false
    })
    .unwrap();
    assert!(report.was_cancelled);
    let again = office.merge(&[bundle]);
    assert!(again.is_whole());
    assert_eq!(
        report.new_records() + again.new_records(),
        u64::try_from(STATIONS.len() * 12).unwrap() + 2
    );
    assert_eq!(due(&office), 0);
    drop(tablet);
}

#[test]
fn stations_judged_on_several_threads_come_to_the_same_as_one_by_one() {
    let (mut office, _tablet, bundle) = office_and_bundle();
    office.merge(&[bundle]);
    let at_once = kept_of(&office.book.database);
    assert!(at_once.lines().count() >= STATIONS.len());
    let database = &office.book.database;
    let empty = "DELETE FROM judged; DELETE FROM judged_note";
    database.connection.execute_batch(empty).unwrap();
    for station in STATIONS {
        let mut dirty = Dirty::default();
        dirty.stations.insert(station.to_owned());
        database.derive(&office.book.own, dirty).unwrap();
    }
    assert_eq!(kept_of(database), at_once);
}

/// Found by the simulated world: once a tablet holds the branch of its copy, the acknowledgement of
/// that branch must not make it believe that its own has arrived.
#[test]
fn the_acknowledgement_of_a_copys_branch_says_nothing_about_the_own_one() {
    let mut office = Kept::new(Role::Office, "Office");
    let mut tablet = Kept::new(Role::Tablet, "A");
    office.define("T-01");
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "Office", Role::Office);
    tablet.merge(&[office.pack(PackFor::Tablets)]);
    let copy = tablet.folder.path().join("copy");
    tablet = tablet.reopen_after(|dir| {
        std::fs::create_dir(&copy).unwrap();
        for entry in std::fs::read_dir(dir).unwrap() {
            let entry = entry.unwrap();
            std::fs::copy(entry.path(), copy.join(entry.file_name())).unwrap();
        }
    });
    // The copy reads more and comes to the office, the tablet does not.
    let mut twin = Logbook::open(&copy, tablet.clock.clone()).unwrap();
    for n in 0..4 {
        let new = reading("T-01", entry(97, 39, 20), 900 + n);
        record_reading(&mut twin, new).unwrap();
    }
    let own = tablet.read("T-01", (103, 41, 20));
    let from_twin = pack_bundle(
        &mut twin,
        tablet.folder.path(),
        PackFor::Office,
        "",
        &mut carry_on,
    );
    office.merge(&[from_twin.unwrap().path]);
    tablet.merge(&[office.pack(PackFor::Everything)]);
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 6);
    office.merge(&[tablet.pack(PackFor::Office)]);
    assert!(query::holds(&office.book, own).unwrap());
    tablet.merge(&[office.pack(PackFor::Tablets)]);
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 0);
}

/// Of each record of a tablet in turn one byte is spoilt on the stick. What is acknowledged ends before
/// it, also where it is the first: else the tablet would never bring it again.
#[test]
fn nothing_is_acknowledged_beyond_the_first_record_that_is_lacking() {
    let (_, tablet, bundle) = office_and_bundle();
    let whole = std::fs::read(&bundle).unwrap();
    let all = read_bundle(&*whole).records.into_iter();
    let own: Vec<_> = all
        .filter(|record| record.log() == tablet.book.log_id())
        .collect();
    assert!(own.len() > 70);
    for lacking in own.iter().take(4).chain(own.last()) {
        let mut office = Kept::new(Role::Office, "Office");
        office.enrol(&tablet, "A", Role::Tablet);
        let item = lacking.item();
        let start = whole
            .windows(item.len())
            .position(|bytes| bytes == item)
            .unwrap();
        let mut spoilt = whole.clone();
        spoilt[start + item.len() / 2] ^= 1;
        let path = bundle.with_file_name(format!("spoilt-{}.winze", lacking.seq()));
        std::fs::write(&path, spoilt).unwrap();
        office.merge(&[path]);
        office.pack(PackFor::Tablets);
        let acknowledged = office
            .book
            .acknowledged_by_us(tablet.book.log_id())
            .unwrap();
        assert_eq!(acknowledged, lacking.seq().checked_sub(1));
        // It comes with the next stick.
        office.merge(std::slice::from_ref(&bundle));
        office.pack(PackFor::Tablets);
        let acknowledged = office
            .book
            .acknowledged_by_us(tablet.book.log_id())
            .unwrap();
        assert_eq!(acknowledged, own.last().map(SignedRecord::seq));
    }
}
