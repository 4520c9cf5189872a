//! The laws of merging, over random sets of records: the same set gives the same projection, in
//! whatever order, portions and number of times it comes.
//!
//! The sets hold everything that could make an order matter: enrolments and revocations by several
//! logs of each other, corrections and definitions that do and do not know of each other, answers to
//! questions that are not there yet, copied logs, records nobody understands.

use proptest::prelude::*;

use super::judged::kept_of;
use super::world::{Draw, World, shuffled};
use crate::Logbook;
use crate::actions::{PackFor, merge_bundles};
use crate::record::{Body, LogOpened, Role};
use crate::samples::{Kept, carry_on, station};
use crate::store::database::Database;
use crate::store::facts::Own;
use crate::store::insert::{Dirty, Put};
use winze_sync_format::{ClockReading, ClockStatus, Draft, LogHead, LogKey, SignedRecord, seal};

/// Puts records in, portion by portion, working everything out after each.
pub fn projected(own: &Own, records: &[SignedRecord], portion: usize) -> String {
    let database = Database::in_memory().unwrap();
    let first = Dirty {
        trust: true,
        ..Dirty::default()
    };
    database.derive(own, first).unwrap();
    for part in records.chunks(portion.max(1)) {
        let mut dirty = Dirty::default();
        for record in part {
            database.put(record, &mut dirty).unwrap();
        }
        database.note_dirty(&dirty).unwrap();
        let noted = database.noted_dirty().unwrap();
        database.derive(own, noted).unwrap();
    }
    let mut dump = String::new();
    database.dump(&mut dump).unwrap();
    // Not part of the projection, yet it follows from the same set.
    dump + &kept_of(&database)
}

proptest! {
    /// Laws 1, 2, 3, 5, 6, 8, 11, 12, 13: any order, any portions, any repetition; one record at a
    /// time as all at once.
    #[test]
    fn the_same_set_gives_the_same_projection(seed in any::<u64>(), portion in 1_usize..12) {
        let world = World::of(seed, 40);
        let own = world.own();
        let at_once = projected(&own, &world.records, usize::MAX);
        let mut again = shuffled(&world.records, seed ^ 1);
        prop_assert!(at_once == projected(&own, &again, portion), "seed {seed}, portion {portion}");
        again.extend(shuffled(&world.records, seed ^ 2).into_iter().take(15));
        let again = shuffled(&again, seed ^ 3);
        prop_assert!(at_once == projected(&own, &again, 1), "seed {seed}, one at a time");
    }

    /// Laws 4 and 7: every record stays, byte for byte, understood or not, forked or not.
    #[test]
    fn nothing_ever_leaves_the_set(seed in any::<u64>()) {
        let world = World::of(seed, 40);
        let own = world.own();
        let database = Database::in_memory().unwrap();
        let mut dirty = Dirty { trust: true, ..Dirty::default() };
        for record in shuffled(&world.records, seed) {
            prop_assert_ne!(database.put(&record, &mut dirty).unwrap(), Put::Held);
            prop_assert_eq!(database.put(&record, &mut dirty).unwrap(), Put::Held);
        }
        database.derive(&own, dirty).unwrap();
        for record in &world.records {
            prop_assert!(database.holds(&record.reference()).unwrap());
            let found = database.find_item(record.reference()).unwrap().unwrap();
            prop_assert_eq!(found.item(), record.item());
        }
    }
}

#[test]
fn random_sets_hold_everything_that_could_make_an_order_matter() {
    let mut dumps = String::new();
    for seed in 0..120 {
        let world = World::of(seed, 80);
        dumps.push_str(&projected(&world.own(), &world.records, usize::MAX));
    }
    for sign in [
        "\nfork\t",
        "\nnot-understood\t",
        "\ntrust\t",
        "\nskipped\t",
        "\nround-closed\t",
        "\nacknowledgement\t",
        "\nbacked-up\t",
        "\"copied-log\"\t-",
        "\"readings\"",
        "\"revisions\"",
        "\"corrections\"",
        "\"answered\"",
        "\"answered-differently\"",
        "\"open\"",
        "\"repeats\"",
        "\"set-aside\"",
        "\"void\"",
    ] {
        assert!(dumps.contains(sign), "no random set shows {sign:?}");
    }
}

/// Found by the property above: two definitions at one place of a copied log are a question about
/// the station and another about the log, and neither may take the other's place.
#[test]
fn a_copied_log_whose_branches_define_one_station_is_two_questions() {
    let world = World::of(13_236_407_248_658_018_655, 40);
    let dump = projected(&world.own(), &world.records, usize::MAX);
    let key = LogKey::from_seed(&[7; 32]);
    let own = Own {
        log: key.log_id(),
        role: Role::Office,
        label: String::new(),
    };
    let records = forked_definitions(&key);
    let at_once = projected(&own, &records, usize::MAX);
    for kind in ["\"revisions\"", "\"copied-log\""] {
        assert_eq!(at_once.matches(kind).count(), 1, "{kind} in {at_once}");
    }
    let backwards: Vec<SignedRecord> = records.into_iter().rev().collect();
    assert!(at_once == projected(&own, &backwards, 1));
    assert!(dump == projected(&world.own(), &shuffled(&world.records, 5), 1));
}

/// A log whose second place holds two definitions of one station.
fn forked_definitions(key: &LogKey) -> Vec<SignedRecord> {
    let mut head = LogHead::empty(key.log_id());
    let clock = ClockReading {
        wall_ms: 0,
        status: ClockStatus::HandSet,
        boot: [0; 16],
        monotonic_ms: 0,
    };
    let write = |head: &mut LogHead, body: &Body| {
        let draft = Draft {
            kind: body.kind().number(),
            clock,
            person: String::new(),
            refs: Vec::new(),
            body: body.encode().unwrap(),
            nonce: [0; 8],
        };
        seal(key, head, draft).unwrap()
    };
    let opened = LogOpened {
        role: Role::Office,
        label: String::new(),
    };
    let mut records = vec![write(&mut head, &Body::LogOpened(opened))];
    for name in ["north", "south"] {
        let mut definition = station("T-01");
        definition.name = name.to_owned();
        let mut branch = head;
        records.push(write(
            &mut branch,
            &Body::StationRevision(Box::new(definition)),
        ));
    }
    records
}

/// Bundles of two tablets, an unknown one and the office itself: every order, twice, and in parts.
#[test]
fn bundles_in_any_order_twice_and_in_parts_give_the_same_projection() {
    let mut office = Kept::new(Role::Office, "Office");
    office.define("T-01");
    let mut tablets: Vec<Kept> = ["A", "B", "Stray"]
        .iter()
        .map(|label| Kept::new(Role::Tablet, label))
        .collect();
    let mut bundles = Vec::new();
    let definitions = office.pack(PackFor::Everything);
    for (n, tablet) in tablets.iter_mut().enumerate() {
        tablet.merge(std::slice::from_ref(&definitions));
        tablet.enrol(&office, "Office", Role::Office);
        // Held until then: the definitions of a log that does not count yet.
        tablet.read("T-01", (100, 40, 20 + 6 * i64::try_from(n).unwrap()));
        if n < 2 {
            bundles.push(tablet.pack(PackFor::Office));
        }
        tablet.read("T-01", (101, 40, 20));
        bundles.push(tablet.pack(PackFor::Everything));
    }
    office.enrol(&tablets[0], "A", Role::Tablet);
    bundles.push(office.pack(PackFor::Everything));
    office.enrol(&tablets[1], "B", Role::Tablet);
    // A torn copy of one of them travels as well.
    let whole = std::fs::read(&bundles[1]).unwrap();
    let torn = office.folder.path().join("torn.winze");
    std::fs::write(&torn, &whole[..whole.len() / 2]).unwrap();
    bundles.push(torn);

    let dir = office.dir();
    let Kept {
        book,
        clock,
        folder,
        ..
    } = office;
    drop(book);
    let mut expected: Option<String> = None;
    for n in 0..24_u64 {
        let copy = folder.path().join(format!("copy-{n}"));
        std::fs::create_dir(&copy).unwrap();
        for entry in std::fs::read_dir(&dir).unwrap() {
            let entry = entry.unwrap();
            std::fs::copy(entry.path(), copy.join(entry.file_name())).unwrap();
        }
        let mut book = Logbook::open(&copy, clock.clone()).unwrap();
        let mut order = bundles.clone();
        order.extend(
            bundles
                .iter()
                .take(usize::try_from(n % 3).unwrap())
                .cloned(),
        );
        let mut draw = Draw::of(n);
        for n in (1..order.len()).rev() {
            order.swap(n, draw.below(n + 1));
        }
        // All at once, or a few at a time.
        for part in order.chunks(1 + draw.below(order.len())) {
            merge_bundles(&mut book, part, &mut carry_on).unwrap();
        }
        let dump = book.dump_projection().unwrap();
        assert!(
            dump.contains("\"open\""),
            "nothing to disagree about:\n{dump}"
        );
        let expected = expected.get_or_insert_with(|| dump.clone());
        assert!(*expected == dump, "order {n} gives another projection");
        book.rebuild().unwrap();
        assert!(
            *expected == book.dump_projection().unwrap(),
            "rebuilt {n} differs"
        );
    }
}
