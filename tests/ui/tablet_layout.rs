//! Sizes and places on every screen of the tablet, lying and upright: large enough for a glove,
//! on the glass, and none over another.

use i_slint_backend_testing::ElementHandle;
use winze_app_ui::tablet::session::{Session, Sheet};
use winze_core::station::Quantity;

use crate::glass::{Glass, LANDSCAPE, PORTRAIT};

/// 72 px are 12 mm on a ten-inch tablet of 1280 x 800.
const TOUCH: f32 = 72.0;
/// Half a pixel, for places that layouts share out.
const SLACK: f32 = 0.5;

struct Area {
    name: String,
    left: f32,
    top: f32,
    right: f32,
    bottom: f32,
}

impl Area {
    fn of(key: &ElementHandle) -> Self {
        let (at, size) = (key.absolute_position(), key.size());
        Self {
            name: key.accessible_label().unwrap_or_default().into(),
            left: at.x,
            top: at.y,
            right: at.x + size.width,
            bottom: at.y + size.height,
        }
    }

    /// One element may be found twice, once as itself and once as what it inherits.
    fn is_same(&self, other: &Self) -> bool {
        let close = |a: f32, b: f32| (a - b).abs() < SLACK;
        self.name == other.name
            && close(self.left, other.left)
            && close(self.top, other.top)
            && close(self.right, other.right)
            && close(self.bottom, other.bottom)
    }

    fn meets(&self, other: &Self) -> bool {
        self.left + SLACK < other.right
            && other.left + SLACK < self.right
            && self.top + SLACK < other.bottom
            && other.top + SLACK < self.bottom
    }
}

/// Measures every key on the screen.
pub fn check(glass: &Glass, size: (f32, f32), screen: &str) {
    let areas: Vec<Area> = glass.pressable().iter().map(Area::of).collect();
    assert!(
        !areas.is_empty(),
        "{screen}: nothing to press, so nothing proved"
    );
    for area in &areas {
        let (width, height) = (area.right - area.left, area.bottom - area.top);
        let name = &area.name;
        assert!(!name.is_empty(), "{screen}: a key without a name");
        assert!(
            width + SLACK >= TOUCH && height + SLACK >= TOUCH,
            "{screen} {size:?}: {name:?} is {width} x {height}"
        );
        let is_on_glass = area.left >= -SLACK
            && area.top >= -SLACK
            && area.right <= size.0 + SLACK
            && area.bottom <= size.1 + SLACK;
        assert!(
            is_on_glass,
            "{screen} {size:?}: {name:?} at {} {} to {} {}",
            area.left, area.top, area.right, area.bottom
        );
    }
    for (index, one) in areas.iter().enumerate() {
        for other in &areas[index + 1..] {
            assert!(
                one.is_same(other) || !one.meets(other),
                "{screen} {size:?}: {:?} lies over {:?}",
                one.name,
                other.name
            );
        }
    }
}

type Step = (&'static str, fn(&mut Session));

/// Acts that lead through every screen and sheet, each with the name of where it leads.
const WAY: &[Step] = &[
    ("register", |_| {}),
    ("round", Session::act_next),
    ("closing", Session::ask_close),
    ("round again", |session| session.answer_round("go-on")),
    ("station", Session::act_next),
    ("station with a value", |session| {
        "150".chars().for_each(|key| session.key(key));
    }),
    ("note", Session::ask_note),
    ("station again", Session::change),
    ("reasons", Session::ask_skip),
    ("station once more", Session::change),
    ("doubt", Session::ask_read_back),
    ("read back", |session| session.answer("as-typed")),
    ("next station", Session::save),
    ("a station that is done", |session| session.open_tag("T-01")),
    ("history of one reading", Session::look_closer),
    ("arithmetic", |session| session.look_at("worked-out")),
    ("gauges again", Session::go_on),
    ("correction", Session::start_correction),
    ("correction read back", |session| {
        session.erase();
        session.ask_read_back();
        if session.question().is_some() {
            session.answer("as-typed");
        }
    }),
    ("why it is corrected", Session::save),
    ("left as it was", |session| {
        session.change();
        session.ask_skip();
    }),
    ("hand-over", Session::go_to_hand_over),
    ("who is who", Session::go_to_who),
    ("about", Session::go_to_about),
];

#[test]
fn every_key_is_large_enough_on_the_glass_and_clear_of_others() {
    for size in [LANDSCAPE, PORTRAIT] {
        for stations in [3, 14] {
            let glass = Glass::with_stations(stations, size);
            for (screen, act) in WAY {
                glass.tablet.act(*act);
                glass.resize(size);
                check(&glass, size, screen);
            }
        }
    }
}

/// What stands at a station, looked into from the gauges on.
const WAY_INTO_A_FLAG: &[Step] = &[
    ("a flag that stands", |session| session.open_tag("T-01")),
    ("suspects of what stands", Session::look_closer),
    ("another check", Session::pass_check),
    ("gauges with a flag", Session::go_on),
    ("flag of an entry", |session| {
        for (quantity, value) in Quantity::ALL.into_iter().zip(["10.2", "4.1", "2.3"]) {
            session.choose_gauge(quantity);
            value.chars().for_each(|key| session.key(key));
        }
    }),
    ("read back with a flag", |session| {
        session.ask_read_back();
        while session.question().is_some() && session.sheet() == Some(Sheet::Question) {
            session.answer("as-typed");
        }
    }),
    ("suspects after saving", Session::save),
    ("an answer", |session| {
        let check = session.finding_view().and_then(|view| view.check);
        session.answer_check(&check.expect("a check").code, false);
    }),
    ("three strips", |session| session.look_at("history")),
    ("a quarter of them", |session| session.reach("quarter")),
    ("earlier", |session| session.move_in_time(-1)),
    ("its arithmetic", |session| session.look_at("worked-out")),
];

#[test]
fn every_key_of_a_flagged_station_is_large_enough_and_clear_of_others() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_creeping_outlet(size);
        for (screen, act) in WAY_INTO_A_FLAG {
            glass.tablet.act(*act);
            glass.resize(size);
            check(&glass, size, screen);
        }
    }
}

#[test]
fn first_start_without_stations_is_laid_out_too() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_stations(0, size);
        check(&glass, size, "first start");
        glass.click("Go to the hand-over");
        glass.resize(size);
        check(&glass, size, "hand-over");
    }
}

/// Every page on which a station is looked after.
const WAY_OF_WORK: &[Step] = &[
    ("what is due", Session::go_to_due),
    ("with what may be early", |session| {
        session.work_act("with-early");
    }),
    ("work at a station", |session| {
        session.work_act("station:T-01");
    }),
    ("a task", |session| session.work_act("task:look-round")),
    ("days", |session| session.work_act("note-done")),
    ("a day typed", |session| session.work_act("write")),
    ("work again", |session| {
        session.work_back();
        session.work_back();
        session.work_back();
    }),
    ("work to raise", |session| session.work_act("raise")),
    ("with a job", |session| session.work_act("work:stop-leak")),
    ("a job", |session| session.work_act("job:0")),
    ("a part", |session| session.work_act("part")),
    ("not needed", |session| {
        session.work_back();
        session.work_act("not-needed");
    }),
    ("procedures", |session| {
        session.work_back();
        session.work_back();
        session.work_act("open");
    }),
    ("why", |session| session.work_act("procedure:set-up")),
    ("prepare", |session| session.work_act("why:new-station")),
    ("note", |session| session.work_act("note")),
    ("pass over", |session| {
        session.work_back();
        session.work_act("pass");
    }),
    ("all steps", |session| {
        session.work_back();
        session.work_act("steps");
    }),
    ("give up", |session| session.work_act("give-up")),
    ("installation", |session| {
        session.work_act_on("installation-firm");
    }),
    ("strainer", |session| session.work_act_on("strainer-clean")),
    ("supply", |session| session.work_act_on("supply-present")),
    ("two numbers", |session| {
        session.work_act_on("factory-set-point");
    }),
    ("figures", |session| session.work_act_on("compatibility")),
    ("branch", |session| session.work_act_on("branch")),
    ("upstream", |session| session.work_act_on("open-upstream")),
    ("venting", |session| session.work_act_on("vent-first")),
    ("gauges of a step", |session| session.work_act_on("as-left")),
];

/// The calibration assistant, from the first reading to a turn that goes too far.
const WAY_AT_THE_SCREW: &[Step] = &[
    ("before the first reading", |session| {
        session.open_tag("T-01");
        session.go_to_station_work();
        for act in ["open", "procedure:recalibrate", "why:outlet-off"] {
            session.work_act(act);
        }
        for _ in 0..4 {
            session.work_act("pass");
            session.work_act("because:responsible-decided");
        }
        session.work_act("pick:flow:minimum");
        session.work_act("act");
        session.work_act("pass");
        session.work_act("because:responsible-decided");
        let here = session.step_entry().map(|entry| entry.code().code());
        assert_eq!(here, Some("calibrate"));
    }),
    ("first reading", |session| {
        session.work_act("pick:flow:minimum");
        session.work_act("steady:standing");
        "1.50".chars().for_each(|key| session.work_key(key));
    }),
    ("first reading kept", |session| session.work_act("keep")),
    ("turn that goes too far", |session| {
        for _ in 0..16 {
            session.work_act("turn:8");
        }
    }),
    ("no flow", |session| {
        session.work_act("pick:flow:none");
        "1.90".chars().for_each(|key| session.work_key(key));
    }),
    ("second reading", |session| {
        session.work_act("pick:flow:minimum");
    }),
    ("second reading kept", |session| session.work_act("keep")),
    ("turned back", |session| {
        session.work_act("pick:flow:minimum");
        session.work_act("steady:standing");
        session.work_act("turn:-8");
        "1.85".chars().for_each(|key| session.work_key(key));
        session.work_act("keep");
    }),
    ("with a dead band", |session| session.work_act("turn:1")),
];

#[test]
fn every_key_at_the_screw_is_large_enough_and_clear_of_others() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_stations(2, size);
        for (screen, act) in WAY_AT_THE_SCREW {
            glass.tablet.act(*act);
            glass.resize(size);
            check(&glass, size, screen);
        }
    }
}

/// Shows a step from wherever the procedure is.
trait ShowStep {
    fn work_act_on(&mut self, step: &str);
}

impl ShowStep for Session {
    fn work_act_on(&mut self, step: &str) {
        self.work_act(&format!("step:{step}"));
    }
}

#[test]
fn every_key_for_looking_after_a_station_is_large_enough_and_clear_of_others() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_stations(14, size);
        for (screen, act) in WAY_OF_WORK {
            glass.tablet.act(*act);
            glass.resize(size);
            check(&glass, size, screen);
        }
    }
}
