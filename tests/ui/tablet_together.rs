//! Two tablets at one procedure, below without a word of each other: what they measured apart is shown
//! to both, one of them is taken back, and both come to the same.

use std::path::PathBuf;
use std::sync::Arc;

use tempfile::TempDir;
use winze_app_ui::office::board::{Board, is_in_dispute};
use winze_core::actions::{self, PackFor};
use winze_core::clock::FixedClock;
use winze_core::procedures::{Branch, Closing, MeasureCode, ProcedureCode, StepCode, Value};
use winze_core::record::Role;
use winze_core::{Logbook, query};
use winze_tests::samples::{MONDAY_MS, bar, code, station};
use winze_tests::walker::{AS_FOUND, Walker};

use crate::glass::{LANDSCAPE, PORTRAIT, start_platform};

const STATION: &str = "T-07";
const HOUR_MS: i64 = 3_600_000;

/// An office and two tablets, each switched off unless somebody works with it.
struct Site {
    folder: TempDir,
    size: (f32, f32),
    hours: i64,
}

impl Site {
    fn held(size: (f32, f32)) -> Self {
        start_platform();
        let made = Self {
            folder: tempfile::tempdir().expect("a folder"),
            size,
            hours: 0,
        };
        let clock = || Arc::new(FixedClock::at(MONDAY_MS));
        let mut office =
            Logbook::create(&made.book("office"), Role::Office, "office", clock()).expect("office");
        let stations = vec![station(STATION), station("T-08")];
        actions::load_register(&mut office, stations, "clerk", &mut |_| true).expect("loaded");
        for name in ["a", "b"] {
            let tablet =
                Logbook::create(&made.book(name), Role::Tablet, name, clock()).expect("a tablet");
            let log = tablet.log_id();
            actions::enrol_logbook(
                &mut office,
                log,
                format!("tablet {name}"),
                Role::Tablet,
                "clerk".to_owned(),
            )
            .expect("enrolled");
        }
        drop(office);
        for name in ["a", "b"] {
            let mut tablet = made.open(name);
            let office = made.open("office").log_id();
            actions::enrol_logbook(
                &mut tablet,
                office,
                "office".to_owned(),
                Role::Office,
                "clerk".to_owned(),
            )
            .expect("enrolled");
        }
        made
    }

    fn book(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn open(&self, name: &str) -> Logbook {
        let clock = Arc::new(FixedClock::at(MONDAY_MS + self.hours * HOUR_MS));
        Logbook::open(&self.book(name), clock).expect("opened")
    }

    /// Somebody switches a tablet on, an hour after whatever came before.
    fn with(&mut self, name: &str) -> Walker {
        self.hours += 1;
        Walker::with(self.open(name), self.size.0, self.size.1)
    }

    fn carry(&self, from: &str, to: &str, what: PackFor) {
        let stick = tempfile::tempdir().expect("a stick");
        let mut giver = self.open(from);
        let packed = actions::pack_bundle(&mut giver, stick.path(), what, "clerk", &mut |_| true);
        let path = match packed {
            Ok(packed) => packed.path,
            // All of it is there already.
            Err(winze_core::Error::NothingToPack) => return,
            Err(error) => panic!("{error}"),
        };
        let mut taker = self.open(to);
        actions::merge_bundles(&mut taker, &[path], &mut |_| true).expect("merged");
    }

    /// Both tablets come up, and go down again with what the office knows.
    fn meet(&mut self) {
        self.hours += 1;
        for name in ["a", "b"] {
            self.carry(name, "office", PackFor::Office);
        }
        for name in ["a", "b"] {
            self.carry("office", name, PackFor::Tablets);
        }
    }

    fn check(&self, check: impl Fn(&winze_core::procedures::ProcedureState)) {
        for name in ["a", "b", "office"] {
            let logbook = self.open(name);
            let all = query::procedures_at(&logbook, &code(STATION)).expect("read");
            assert_eq!(all.len(), 1, "at {name}");
            check(all[0].state.as_ref().expect("known"));
        }
    }
}

/// Up to the step that both do apart.
fn begin(site: &mut Site) {
    site.meet();
    let mut first = site.with("a");
    first.open(STATION, ProcedureCode::SetUp);
    while first.here() != Some(StepCode::SupplyPresent) {
        first.do_steps(1, Branch::Keep);
    }
    drop(first);
    site.meet();
}

#[test]
fn what_two_tablets_measured_apart_is_shown_and_one_of_them_taken_back() {
    for size in [LANDSCAPE, PORTRAIT] {
        let mut site = Site::held(size);
        begin(&mut site);
        // Below, each by itself.
        let mut first = site.with("a");
        first.do_steps(1, Branch::Keep);
        drop(first);
        let mut second = site.with("b");
        second.tap("Start the round");
        second.tap(&format!("Open {STATION}"));
        second.tap("work here");
        second.tap("Set-up");
        assert_eq!(second.here(), Some(StepCode::SupplyPresent));
        second.tap_digits("8.0");
        second.go_on();
        drop(second);
        site.meet();

        // Both know, and nothing rests on either value.
        site.check(|state| {
            assert_eq!(state.disputed, [StepCode::SupplyPresent]);
            let supply = state.value(StepCode::SupplyPresent, MeasureCode::Supply);
            assert_eq!(supply, None);
        });
        let is_pressing = |site: &Site| {
            let board = Board::load(&site.open("office")).expect("read");
            board
                .procedures
                .iter()
                .any(|view| view.state.as_ref().is_some_and(is_in_dispute))
        };
        assert!(is_pressing(&site));
        let mut first = site.with("a");
        first.tap("All steps");
        first.tap("6  Usual pressure before the upstream valve");
        let both = first.labels();
        let offers: Vec<&String> = (both.iter())
            .filter(|label| label.starts_with("Take back that of"))
            .collect();
        assert_eq!(offers.len(), 2, "{both:?}");
        first.tap(offers[1]);
        first.tap("Two tablets disagree, this one is wrong");
        first.finish(Branch::Keep);
        drop(first);
        site.meet();
        site.check(|state| {
            let supply = state.value(StepCode::SupplyPresent, MeasureCode::Supply);
            assert_eq!(supply, Some(Value::Pressure(bar(AS_FOUND[0]))));
            let step = state.step(StepCode::SupplyPresent).expect("there");
            // Taken back, never erased.
            assert_eq!(step.entries.len(), 2);
            assert!(matches!(state.closing, Closing::Completed(_)));
            assert!(state.is_in_service());
        });
        assert!(!is_pressing(&site));
        // The other tablet is not led back to it.
        assert!(site.with("b").has("Open T-07"));
    }
}
