//! Single slips by name, on the trade's example station: 10 bar, ratio 2.5, set to 2 bar.

use proptest::prelude::*;
use winze_core::slips::{Answered, Doubt, DoubtKind, PastReading, first_doubt, parse_entry};
use winze_core::station::{Quantity, Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{Entry, FlowState};
use winze_sync_format::Decimal;

const WEEK_MS: i64 = 7 * 86_400_000;

fn station() -> Station {
    defaults::station(&defaults::RegisterRow {
        code: StationCode::parse("T-07").unwrap(),
        unit: Unit::Bar,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(2),
        inlet_typical: Decimal::whole(10),
        gauge_class: Decimal::new(16, -1),
        spans: [Decimal::whole(16), Decimal::whole(10), Decimal::whole(4)],
    })
}

fn bar(text: &str) -> Typed {
    Typed::new(parse_entry(text).unwrap(), Unit::Bar)
}

fn entry(inlet: &str, interstage: &str, outlet: &str) -> Entry {
    Entry::of(bar(inlet), bar(interstage), bar(outlet))
}

/// Twelve ordinary weeks.
fn past() -> Vec<PastReading> {
    let weeks = [
        ("10.2", "4.10", "2.00"),
        ("10.0", "4.02", "1.98"),
        ("9.9", "3.98", "2.02"),
        ("10.1", "4.06", "2.00"),
        ("10.3", "4.14", "1.97"),
        ("10.2", "4.08", "2.01"),
        ("9.8", "3.94", "2.02"),
        ("10.0", "4.00", "1.99"),
        ("10.1", "4.04", "2.01"),
        ("10.4", "4.16", "2.00"),
        ("10.2", "4.10", "1.98"),
        ("10.1", "4.05", "2.01"),
    ];
    weeks
        .iter()
        .zip(0..)
        .map(|(&(inlet, interstage, outlet), week)| PastReading {
            taken_at_ms: week * WEEK_MS,
            entry: entry(inlet, interstage, outlet),
        })
        .collect()
}

#[track_caller]
fn doubt(typed: Entry) -> Doubt {
    first_doubt(&station(), &past(), &typed, &[]).expect("a doubt")
}

#[track_caller]
fn assert_doubt(typed: Entry, kind: DoubtKind, quantity: Option<Quantity>, meant: Entry) {
    let doubt = doubt(typed);
    assert_eq!((doubt.kind, doubt.quantity), (kind, quantity), "{doubt:?}");
    let likely = doubt.likely.expect("a likely value");
    for quantity in Quantity::ALL {
        let pa = |entry: &Entry| entry.get(quantity).unwrap().to_pressure();
        assert_eq!(pa(&likely), pa(&meant), "{quantity:?}: {doubt:?}");
    }
    assert!(doubt.probability > 0.5 && doubt.probability <= 1.0);
}

#[test]
fn an_ordinary_reading_is_not_questioned() {
    for typed in [
        entry("10.1", "4.04", "2.00"),
        entry("9.8", "3.90", "2.05"),
        entry("10.5", "4.20", "1.95"),
        // Fewer digits than usual.
        entry("10", "4", "2"),
    ] {
        assert_eq!(
            first_doubt(&station(), &past(), &typed, &[]),
            None,
            "{typed:?}"
        );
    }
    assert_eq!(
        first_doubt(&station(), &[], &entry("10.1", "4.04", "2.00"), &[]),
        None
    );
    assert_eq!(
        first_doubt(&station(), &past(), &Entry::default(), &[]),
        None
    );
}

#[test]
fn psi_typed_on_bar_gauges() {
    let meant = entry("150", "60", "30");
    let psi = Quantity::ALL.into_iter().fold(meant, |entry, quantity| {
        entry.with(
            quantity,
            entry.get(quantity).map(|typed| Typed {
                unit: Unit::Psi,
                ..typed
            }),
        )
    });
    assert_doubt(entry("150", "60", "30"), DoubtKind::UnitSlip, None, psi);
    // Also with no past, and on the first gauge alone.
    let first = first_doubt(&station(), &[], &entry("150", "60", "30"), &[]).unwrap();
    assert_eq!(first.likely, Some(psi));
    let alone = Entry {
        inlet: Some(bar("150")),
        ..Entry::default()
    };
    let doubt = first_doubt(&station(), &past(), &alone, &[]).unwrap();
    assert_eq!(doubt.kind, DoubtKind::UnitSlip);
    assert_eq!(doubt.likely.unwrap().inlet.unwrap().unit, Unit::Psi);
}

#[test]
fn one_gauge_read_on_its_psi_scale() {
    let meant = entry("10.1", "4.04", "29").with(
        Quantity::Outlet,
        Some(Typed {
            unit: Unit::Psi,
            ..bar("29")
        }),
    );
    let typed = entry("10.1", "4.04", "29");
    assert_doubt(typed, DoubtKind::UnitSlip, Some(Quantity::Outlet), meant);
}

#[test]
fn decimal_point_left_out_or_moved() {
    let outlet = Some(Quantity::Outlet);
    let right = entry("10.1", "4.04", "2.01");
    assert_doubt(
        entry("10.1", "4.04", "201"),
        DoubtKind::DecimalSlip,
        outlet,
        right,
    );
    assert_doubt(
        entry("10.1", "4.04", "0.201"),
        DoubtKind::DecimalSlip,
        outlet,
        right,
    );
    let inlet = Some(Quantity::Inlet);
    assert_doubt(
        entry("101", "4.04", "2.01"),
        DoubtKind::DecimalSlip,
        inlet,
        right,
    );
    assert_doubt(
        entry("1.01", "4.04", "2.01"),
        DoubtKind::DecimalSlip,
        inlet,
        right,
    );
    assert_doubt(
        entry("101", "404", "201"),
        DoubtKind::DecimalSlip,
        None,
        right,
    );
}

#[test]
fn digits_swapped() {
    let right = entry("10.1", "4.10", "2.01");
    let swapped = DoubtKind::DigitsSwapped;
    assert_doubt(
        entry("10.1", "1.40", "2.01"),
        swapped,
        Some(Quantity::Interstage),
        right,
    );
    assert_doubt(
        entry("10.1", "4.10", "0.21"),
        swapped,
        Some(Quantity::Outlet),
        right,
    );
    let right = entry("10.2", "4.10", "2.01");
    assert_doubt(
        entry("12.0", "4.10", "2.01"),
        swapped,
        Some(Quantity::Inlet),
        right,
    );
    assert_doubt(
        entry("01.2", "4.10", "2.01"),
        swapped,
        Some(Quantity::Inlet),
        right,
    );
}

#[test]
fn gauges_swapped_with_each_other() {
    let right = entry("10.1", "4.04", "2.01");
    for typed in [
        entry("4.04", "10.1", "2.01"),
        entry("10.1", "2.01", "4.04"),
        entry("2.01", "4.04", "10.1"),
        entry("2.01", "10.1", "4.04"),
    ] {
        assert_doubt(typed, DoubtKind::GaugesSwapped, None, right);
    }
}

#[test]
fn a_key_pressed_twice() {
    let typed = entry("10.1", "44.04", "2.01");
    let right = entry("10.1", "4.04", "2.01");
    assert_doubt(
        typed,
        DoubtKind::DigitAdded,
        Some(Quantity::Interstage),
        right,
    );
}

#[test]
fn a_stray_minus() {
    let typed = entry("10.1", "-4.04", "2.01");
    let right = entry("10.1", "4.04", "2.01");
    assert_doubt(
        typed,
        DoubtKind::Negative,
        Some(Quantity::Interstage),
        right,
    );
}

#[test]
fn what_no_gauge_can_show_is_always_questioned() {
    for (typed, kind, quantity) in [
        (
            entry("17.3", "4.04", "2.01"),
            DoubtKind::AboveSpan,
            Quantity::Inlet,
        ),
        (
            entry("10.1", "4.04", "4.6"),
            DoubtKind::AboveSpan,
            Quantity::Outlet,
        ),
        (
            entry("10.1", "4.04", "-0.7"),
            DoubtKind::Negative,
            Quantity::Outlet,
        ),
        (
            entry("5.1", "6.7", "2.01"),
            DoubtKind::Order,
            Quantity::Interstage,
        ),
    ] {
        let doubt = doubt(typed);
        assert_eq!(doubt.quantity, Some(quantity), "{doubt:?}");
        assert!(doubt.kind == kind || doubt.likely.is_some(), "{doubt:?}");
    }
}

#[test]
fn a_lone_jump_is_questioned_and_a_common_one_is_not() {
    let alone = doubt(entry("14.3", "4.04", "2.01"));
    assert_eq!(
        (alone.kind, alone.quantity),
        (DoubtKind::AboveWorkingRange, Some(Quantity::Inlet))
    );
    let low = doubt(entry("10.1", "4.04", "0.7"));
    assert_eq!(
        (low.kind, low.quantity),
        (DoubtKind::Jump, Some(Quantity::Outlet))
    );
    // Supply lost: all three fall together, which no slip does.
    for typed in [entry("7.1", "2.84", "2.01"), entry("4.6", "1.84", "1.75")] {
        assert_eq!(
            first_doubt(&station(), &past(), &typed, &[]),
            None,
            "{typed:?}"
        );
    }
}

#[test]
fn bad_news_that_is_true_is_not_questioned() {
    for typed in [
        // Second stage creeping, wide open; first stage passing; supply low.
        entry("10.1", "4.04", "2.14"),
        entry("10.1", "4.04", "3.90"),
        entry("10.1", "4.53", "2.01"),
        entry("8.6", "3.44", "2.00"),
    ] {
        assert_eq!(
            first_doubt(&station(), &past(), &typed, &[]),
            None,
            "{typed:?}"
        );
    }
}

#[test]
fn the_operators_answer_stands() {
    let typed = entry("10.1", "4.04", "0.201");
    let first = doubt(typed);
    assert_eq!(
        first_doubt(&station(), &past(), &typed, &[first.stands()]),
        None
    );
    // Another gauge may still be doubted, once.
    let typed = entry("1.01", "4.04", "0.201");
    let mut answered = Vec::new();
    while let Some(doubt) = first_doubt(&station(), &past(), &typed, &answered) {
        assert!(
            answered
                .iter()
                .all(|answer: &Answered| answer.quantity != doubt.quantity)
        );
        answered.push(doubt.stands());
    }
    assert!((2..=3).contains(&answered.len()), "{answered:?}");
    // An answer about all gauges ends the questions about their values.
    let typed = entry("150", "60", "30");
    let all = doubt(typed).stands();
    assert_eq!(all.quantity, None);
    assert_eq!(first_doubt(&station(), &past(), &typed, &[all]), None);
}

#[test]
fn a_gauge_that_never_moves_is_asked_about_once_and_again_when_the_run_has_doubled() {
    let station = station();
    let mut visits = past();
    let mut asked = Vec::new();
    for week in 0..24 {
        let inlet = ["10.0", "10.2", "10.1", "9.9"][week % 4];
        let between = ["4.00", "4.08", "4.03", "3.97"][week % 4];
        let typed = entry(inlet, between, "2.03");
        if let Some(doubt) = first_doubt(&station, &visits, &typed, &[]) {
            assert_eq!(
                (doubt.kind, doubt.quantity, doubt.likely),
                (DoubtKind::SameAsEver, Some(Quantity::Outlet), None)
            );
            assert_eq!(
                first_doubt(&station, &visits, &typed, &[doubt.stands()]),
                None
            );
            asked.push(week);
        }
        let taken_at_ms = WEEK_MS * i64::try_from(12 + week).unwrap();
        visits.push(PastReading {
            taken_at_ms,
            entry: typed,
        });
    }
    assert!((1..=2).contains(&asked.len()), "asked in weeks {asked:?}");
    assert!(
        (3..=12).contains(&asked[0]),
        "first asked in week {}",
        asked[0]
    );
}

#[test]
fn reading_again_within_the_hour_is_no_repeat() {
    let mut visits = past();
    let last = visits.last().unwrap().taken_at_ms;
    let typed = entry("10.1", "4.04", "2.03");
    for minutes in 1..20 {
        let taken_at_ms = last + WEEK_MS + minutes * 60_000;
        visits.push(PastReading {
            taken_at_ms,
            entry: typed,
        });
    }
    assert_eq!(first_doubt(&station(), &visits, &typed, &[]), None);
}

#[test]
fn a_clock_that_jumps_does_not_matter() {
    let mut visits = past();
    visits[3].taken_at_ms = i64::MIN;
    visits[7].taken_at_ms = i64::MAX;
    assert_eq!(
        first_doubt(&station(), &visits, &entry("10.1", "4.04", "2.00"), &[]),
        None
    );
}

fn any_typed() -> impl Strategy<Value = Typed> {
    let digits = prop_oneof![
        (any::<i64>(), any::<i8>()).prop_map(|(m, e)| Decimal::new(m, e)),
        (-2000..20_000_i64, -3..=1_i8).prop_map(|(m, e)| Decimal::new(m, e)),
    ];
    (digits, 0..7_usize).prop_map(|(digits, unit)| Typed::new(digits, Unit::ALL[unit]))
}

fn any_entry() -> impl Strategy<Value = Entry> {
    let value = || proptest::option::of(any_typed());
    (value(), value(), value(), any::<bool>()).prop_map(|(inlet, interstage, outlet, still)| {
        let flow = if still {
            FlowState::Still
        } else {
            FlowState::NotNoted
        };
        Entry {
            inlet,
            interstage,
            outlet,
            flow,
        }
    })
}

/// Definitions with a few absurd numbers in them.
fn any_station() -> impl Strategy<Value = Station> {
    (
        proptest::collection::vec(any_typed(), 9),
        any::<[bool; 9]>(),
    )
        .prop_map(|(absurd, put)| {
            let mut station = station();
            let fields = [
                &mut station.inlet.low,
                &mut station.inlet.high,
                &mut station.interstage.high,
                &mut station.outlet.high,
                &mut station.second_stage.set_point,
                &mut station.second_stage.band,
                &mut station.second_stage.minimum_differential,
                &mut station.inlet_usual.low,
                &mut station.inlet_usual.high,
            ];
            for ((field, value), put) in fields.into_iter().zip(&absurd).zip(put) {
                if put {
                    *field = *value;
                }
            }
            if put[0] && put[1] {
                station.first_stage.ratio = absurd[0].digits;
                station.outlet.division = absurd[1].digits;
                station.outlet.class = absurd[2].digits;
            }
            station
        })
}

proptest! {
    #[test]
    fn any_entry_gives_a_sound_doubt_or_none(
        station in any_station(),
        typed in any_entry(),
        before in proptest::collection::vec(any_entry(), 0..30),
    ) {
        let past: Vec<_> = before
            .into_iter()
            .zip(0..)
            .map(|(entry, week)| PastReading { taken_at_ms: week * WEEK_MS, entry })
            .collect();
        let mut answered: Vec<Answered> = Vec::new();
        // However absurd, the questions come to an end: each gauge at most twice, and all of them.
        for _ in 0..8 {
            let Some(doubt) = first_doubt(&station, &past, &typed, &answered) else { break };
            prop_assert!((0.0..=1.0).contains(&doubt.probability), "{doubt:?}");
            prop_assert!(!answered.contains(&doubt.stands()), "asked twice: {doubt:?}");
            answered.push(doubt.stands());
        }
        prop_assert!(answered.len() < 8, "{answered:?}");
    }
}
