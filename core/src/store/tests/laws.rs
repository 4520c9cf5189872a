//! The laws of merging, over random sets of records: the same set gives the same projection, in
//! whatever order, portions and number of times it comes.
//!
//! The sets hold everything that could make an order matter: enrolments and revocations by several
//! logs of each other, corrections and definitions that do and do not know of each other, answers to
//! questions that are not there yet, copied logs, records nobody understands.

use proptest::prelude::*;

use super::world::{Draw, World, shuffled};
use crate::Logbook;
use crate::actions::{PackFor, merge_bundles};
use crate::record::Role;
use crate::samples::{Kept, carry_on};
use crate::store::database::Database;
use crate::store::facts::Own;
use crate::store::insert::{Dirty, Put};
use winze_sync_format::SignedRecord;

/// Puts records in, portion by portion, working everything out after each.
fn projected(own: &Own, records: &[SignedRecord], portion: usize) -> String {
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
    dump
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Laws 1, 2, 3, 5, 6, 8, 11, 12, 13: any order, any portions, any repetition; one record at a
    /// time as all at once.
    #[test]
    fn the_same_set_gives_the_same_projection(seed in any::<u64>(), portion in 1_usize..12) {
        let world = World::of(seed, 40);
        let own = world.own();
        let at_once = projected(&own, &world.records, usize::MAX);
        let mut again = shuffled(&world.records, seed ^ 1);
        prop_assert_eq!(&at_once, &projected(&own, &again, portion));
        again.extend(shuffled(&world.records, seed ^ 2).into_iter().take(15));
        let again = shuffled(&again, seed ^ 3);
        prop_assert_eq!(&at_once, &projected(&own, &again, 1));
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
        "\"copied-log\"",
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
