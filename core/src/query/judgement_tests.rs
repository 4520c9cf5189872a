//! A station's judgement through a logbook: checks answered, work, what came late or was wrong.

use super::judgement::{StationJudgement, flags, judgement};
use super::need::{Need, fleet_by_need, fleet_by_need_at};
use crate::actions::{
    NewCheckAnswer, NewCorrection, NewReading, answer_check, correct_reading, record_reading,
    void_reading,
};
use crate::assess::{Leaving, RaisedRule};
use crate::clock::DAY_MS;
use crate::record::{Role, Tick, Ticks};
use crate::samples::{Kept, code, entry, reading};
use crate::suspects::{Cause, Check};
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState, Verdict};
use crate::watch::Watched;
use crate::{Error, Logbook};
use winze_sync_format::RecordRef;

mod work;

/// A station with quiet readings; the values wander a little, as real ones do.
struct Weekly {
    kept: Kept,
    week: u64,
}

const WEEK_MS: u32 = 7 * 86_400_000;

const WANDER: [i64; 8] = [0, 1, -1, 2, 0, -2, 1, -1];

impl Weekly {
    fn new() -> Self {
        let mut kept = Kept::new(Role::Tablet, "Tablet A");
        kept.define("T-01");
        Self { kept, week: 0 }
    }

    /// One reading a week later, the outlet so many hundredths of a bar off.
    fn read(&mut self, off: i64, ticks: Ticks) -> RecordRef {
        let step = usize::try_from(self.week).unwrap();
        let hundredths = |value| Typed::of(value, -2, Unit::Bar);
        let values = Entry {
            inlet: Some(hundredths(1000 + 10 * WANDER[step % 8])),
            interstage: Some(hundredths(
                400 + 4 * WANDER[step % 8] + WANDER[(step + 3) % 8],
            )),
            outlet: Some(hundredths(200 + WANDER[(step + 5) % 8] + off)),
            flow: FlowState::Flowing,
        };
        self.take(values, ticks)
    }

    fn take(&mut self, values: Entry, ticks: Ticks) -> RecordRef {
        self.week += 1;
        self.kept.clock.advance_ms(WEEK_MS);
        let new = NewReading {
            ticks,
            ..reading("T-01", values, 1000 + self.week)
        };
        record_reading(&mut self.kept.book, new).unwrap().at
    }

    fn quiet(&mut self, weeks: usize) {
        for _ in 0..weeks {
            self.read(0, Ticks::NONE);
        }
    }

    fn answer(&mut self, reading: RecordRef, check: Check, is_yes: bool) {
        self.kept.clock.advance_ms(60_000);
        let new = NewCheckAnswer {
            reading,
            check,
            is_yes,
            note: String::new(),
            by: "A. Operator".into(),
        };
        answer_check(&mut self.kept.book, new).unwrap();
    }

    fn judged(&self) -> StationJudgement {
        judged(&self.kept.book)
    }
}

/// The judgement, after making sure that what is kept is what the records come to.
fn judged(book: &Logbook) -> StationJudgement {
    let afresh = book.judge_afresh(&code("T-01")).unwrap();
    assert_eq!(book.read_judged(&code("T-01")).unwrap(), afresh);
    judgement(book, &code("T-01")).unwrap()
}

fn outlet_condition(judged: &StationJudgement) -> Option<&crate::assess::Condition> {
    let mut lasting = judged.lasting();
    lasting.find(|condition| condition.watched == Watched::Outlet)
}

/// Quiet for half a year, then the outlet 0.2 bar up at once; the reading that raised it.
fn moved() -> (Weekly, RecordRef) {
    let mut weekly = Weekly::new();
    weekly.quiet(26);
    for _ in 0..6 {
        weekly.read(20, Ticks::NONE);
        if let Some(condition) = outlet_condition(&weekly.judged()) {
            let reading = condition.reading;
            return (weekly, reading);
        }
    }
    panic!("a tenth up was not raised in six weeks");
}

#[test]
fn a_station_that_is_not_there_is_no_judgement() {
    let kept = Kept::new(Role::Tablet, "Tablet A");
    assert!(matches!(
        judgement(&kept.book, &code("T-01")),
        Err(Error::UnknownStation { .. })
    ));
    assert_eq!(fleet_by_need(&kept.book).unwrap(), vec![]);
}

#[test]
fn a_change_stands_with_suspects_and_checks_and_its_visit_carries_the_flag() {
    let (weekly, reading) = moved();
    let judged = weekly.judged();
    let condition = outlet_condition(&judged).unwrap();
    assert!(condition.shift > 0.05 && condition.rule != RaisedRule::Slip);
    assert!(!condition.next_checks().is_empty());
    let visit = judged.visits.iter().find(|visit| visit.at == reading);
    let visit = visit.expect("the visit is listed");
    assert_eq!(visit.flags.len(), 1);
    assert_eq!(visit.flags[0].suspects, condition.suspects());
    let outlet = visit.gauges[2];
    let band = outlet.expected.expect("a set point");
    assert!(outlet.observed.unwrap() > band.target && band.high > band.low);
    assert!(judged.visits.is_sorted_by_key(|visit| visit.taken_at));
    let baseline = judged.now[0].baseline.expect("it was seen");
    assert!(baseline.visits > 20.0);
    let all = flags(&weekly.kept.book).unwrap();
    assert_eq!(all.len(), 1);
    assert_eq!((all[0].reading, &all[0].raised), (reading, &visit.flags[0]));
}

#[test]
fn an_answered_check_moves_the_suspects_and_is_not_proposed_again() {
    let (mut weekly, reading) = moved();
    let before = outlet_condition(&weekly.judged()).unwrap().clone();
    let suspect = before.suspects();
    assert!(suspect.of(Cause::OutletGaugeWrong) < 0.9);
    weekly.answer(reading, Check::TestOutletGauge, true);
    let judged = weekly.judged();
    let after = outlet_condition(&judged).unwrap();
    assert_eq!(
        after.suspects(),
        suspect.after(Check::TestOutletGauge, true)
    );
    assert_eq!(after.by_readings, before.by_readings);
    let proposed = after.next_checks();
    assert!(
        proposed
            .iter()
            .all(|advice| advice.check != Check::TestOutletGauge)
    );
    // The flag of that visit stays as it was told.
    let visit = judged
        .visits
        .iter()
        .find(|visit| visit.at == reading)
        .unwrap();
    assert_eq!(visit.flags[0].suspects, suspect);
    // A later answer to the same check replaces it.
    weekly.answer(reading, Check::TestOutletGauge, false);
    let judged = weekly.judged();
    let after = outlet_condition(&judged).unwrap();
    assert_eq!(
        after.suspects(),
        suspect.after(Check::TestOutletGauge, false)
    );
}

#[test]
fn a_check_answered_before_the_flag_does_not_count_for_it() {
    let mut weekly = Weekly::new();
    weekly.quiet(26);
    let early = weekly.read(0, Ticks::NONE);
    weekly.answer(early, Check::TestOutletGauge, false);
    let mut found = None;
    for _ in 0..6 {
        weekly.read(20, Ticks::NONE);
        found = outlet_condition(&weekly.judged()).cloned();
        if found.is_some() {
            break;
        }
    }
    let condition = found.expect("it is raised");
    assert_eq!(condition.answers, vec![]);
    assert_eq!(condition.suspects(), condition.by_readings);
}

#[test]
fn answers_of_two_tablets_count_whatever_the_order_in_which_they_come() {
    let (weekly, reading) = moved();
    let mut tablet = weekly.kept;
    let mut office = Kept::new(Role::Office, "Office");
    office.enrol(&tablet, "Tablet A", Role::Tablet);
    let bundle = tablet.pack(crate::actions::PackFor::Everything);
    office.merge(&[bundle]);
    let answer = |book: &mut Logbook, check, is_yes| {
        let new = NewCheckAnswer {
            reading,
            check,
            is_yes,
            note: "seen".into(),
            by: "C. Clerk".into(),
        };
        answer_check(book, new).unwrap();
    };
    for _ in 0..40 {
        office.clock.advance_ms(WEEK_MS);
    }
    answer(&mut office.book, Check::LookAtScrew, true);
    tablet.clock.advance_ms(90_000);
    answer(&mut tablet.book, Check::TestOutletGauge, false);
    let bundle = tablet.pack(crate::actions::PackFor::Everything);
    office.merge(&[bundle]);
    let judged = judged(&office.book);
    let condition = outlet_condition(&judged).unwrap();
    let checks: Vec<Check> = condition
        .answers
        .iter()
        .map(|answer| answer.check)
        .collect();
    assert_eq!(checks, [Check::TestOutletGauge, Check::LookAtScrew]);
    assert_eq!(condition.suspects().first(), Some(Cause::SetPointMoved));
}

#[test]
fn damage_noticed_with_the_flag_speaks_for_the_gauge_unless_it_is_always_ticked() {
    let with_ticks = |quiet: Ticks| {
        let mut weekly = Weekly::new();
        for _ in 0..26 {
            weekly.read(0, quiet);
        }
        for _ in 0..6 {
            weekly.read(20, Ticks::NONE.with(Tick::Damage));
            if let Some(condition) = outlet_condition(&weekly.judged()) {
                return condition.clone();
            }
        }
        panic!("not raised");
    };
    let fresh = with_ticks(Ticks::NONE);
    assert_eq!(fresh.signs, [crate::suspects::Sign::Damage]);
    assert!(
        fresh.suspects().of(Cause::OutletGaugeWrong)
            > fresh.by_readings.of(Cause::OutletGaugeWrong)
    );
    let usual = with_ticks(Ticks::NONE.with(Tick::Damage));
    assert_eq!(usual.signs, []);
    assert_eq!(usual.suspects(), usual.by_readings);
    let other = with_ticks(Ticks::NONE.with(Tick::Access).with(Tick::Flooding));
    assert_eq!(other.suspects(), fresh.suspects());
}

#[test]
fn a_slip_stands_until_the_next_reading_or_its_correction() {
    let mut weekly = Weekly::new();
    weekly.quiet(12);
    let slip = weekly.take(entry(100, 40, 200), Ticks::NONE);
    let judged = weekly.judged();
    assert_eq!(judged.standing.len(), 1);
    assert!(judged.standing[0].is_slip());
    assert_eq!(judged.lasting().count(), 0);
    let needs = fleet_by_need(&weekly.kept.book).unwrap();
    assert!(needs[0].needs.iter().any(|need| need.code() == "slip"));
    let correction = NewCorrection {
        reading: slip,
        entry: entry(100, 40, 20),
        reason: "the point".into(),
        by: "C. Clerk".into(),
    };
    correct_reading(&mut weekly.kept.book, correction).unwrap();
    let corrected = weekly.judged();
    assert_eq!(corrected.standing, vec![]);
    assert!(corrected.visits.iter().all(|visit| visit.flags.is_empty()));
}

#[test]
fn a_void_reading_takes_its_flag_with_it() {
    let mut weekly = Weekly::new();
    weekly.quiet(12);
    let slip = weekly.take(entry(100, 40, 200), Ticks::NONE);
    assert_eq!(flags(&weekly.kept.book).unwrap().len(), 1);
    void_reading(
        &mut weekly.kept.book,
        slip,
        "not this station".into(),
        "C.".into(),
    )
    .unwrap();
    assert_eq!(flags(&weekly.kept.book).unwrap(), vec![]);
    assert_eq!(weekly.judged().visits.len(), 12);
}

#[test]
fn a_creep_is_foreseen_in_pascals_with_a_fan_that_opens() {
    let mut weekly = Weekly::new();
    weekly.quiet(26);
    for week in 1..=9 {
        weekly.read(week, Ticks::NONE);
    }
    let judged = weekly.judged();
    let outlook = judged.now[2].outlook.as_ref().expect("a steady creep");
    assert_eq!(outlook.watched, Watched::Outlet);
    // Half a hundredth a week on 2 bar: 1000 Pa, seen from where the drift began.
    let (low, likely, high) = outlook.weekly_pa;
    assert!(low <= likely && likely <= high);
    assert!((200.0..2500.0).contains(&likely), "{likely}");
    let band = outlook.band;
    assert!((band.0.pa() - 180_000).abs() <= 1 && (band.1.pa() - 220_000).abs() <= 1);
    let Leaving::Leaves {
        is_upward,
        earliest,
        likely,
        latest,
    } = outlook.leaving
    else {
        panic!("{:?}", outlook.leaving)
    };
    assert!(is_upward && earliest <= likely && latest.is_none_or(|latest| likely <= latest));
    let fan = &outlook.fan;
    assert_eq!(fan[0].at, outlook.now.0);
    assert!(fan.windows(2).all(|pair| {
        let width = |place: usize| pair[place].high - pair[place].low;
        pair[0].at < pair[1].at && width(0) <= width(1)
    }));
    assert!(
        fan.iter()
            .all(|point| point.low <= point.likely && point.likely <= point.high)
    );
    // Where the likely line of the fan crosses the band is the likely date.
    let crossing = fan.iter().find(|point| point.likely > band.1);
    assert!(crossing.is_none_or(|point| point.at >= likely));
}

#[test]
fn the_fleet_lists_what_needs_attention_first_with_its_reason() {
    let mut kept = Kept::new(Role::Office, "Office");
    for name in ["T-01", "T-02", "T-03", "T-04"] {
        kept.define(name);
    }
    kept.read("T-01", (100, 40, 20));
    kept.read("T-02", (100, 40, 29));
    kept.read("T-03", (100, 40, 22));
    let fleet = fleet_by_need(&kept.book).unwrap();
    let listed: Vec<(&str, Option<&str>)> = fleet
        .iter()
        .map(|one| (one.code.as_str(), one.needs.first().map(Need::code)))
        .collect();
    assert_eq!(
        listed,
        [
            ("T-02", Some("outside")),
            ("T-03", Some("unsure")),
            ("T-04", Some("never-read")),
            ("T-01", None),
        ]
    );
    assert_eq!(fleet[0].worst, Some(Verdict::Outside));
    let later = kept.book.clock().now().wall_ms + 40 * DAY_MS;
    let fleet = fleet_by_need_at(&kept.book, later).unwrap();
    let quiet = fleet
        .iter()
        .find(|one| one.code.as_str() == "T-01")
        .unwrap();
    assert_eq!(quiet.needs, vec![Need::NotRead { days: 40 }]);
}
