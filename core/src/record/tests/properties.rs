//! Properties of the bodies: whatever is written is read again, and no bytes do harm.

use proptest::prelude::*;
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::samples::one_of_each;
use crate::record::*;
use crate::samples::code;
use crate::station::Quantity;
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState, StationState, Verdict};

fn any_typed() -> impl Strategy<Value = Typed> {
    (any::<i64>(), -9_i8..9, 0_u64..20).prop_filter_map("a unit", |(mantissa, exponent, unit)| {
        let unit = Unit::from_number(unit)?;
        Some(Typed::of(mantissa, exponent, unit))
    })
}

fn any_entry() -> impl Strategy<Value = Entry> {
    let gauge = || proptest::option::of(any_typed());
    let flow = prop_oneof![
        Just(FlowState::Still),
        Just(FlowState::Flowing),
        Just(FlowState::NotNoted)
    ];
    (gauge(), gauge(), gauge(), flow).prop_map(|(inlet, interstage, outlet, flow)| Entry {
        inlet,
        interstage,
        outlet,
        flow,
    })
}

fn any_reference() -> impl Strategy<Value = RecordRef> {
    (any::<[u8; 32]>(), any::<u64>(), any::<[u8; 32]>()).prop_map(|(log, seq, id)| RecordRef {
        log: LogId(log),
        seq,
        id: RecordId(id),
    })
}

fn any_shown() -> impl Strategy<Value = Shown> {
    let one = || {
        proptest::option::of(
            (0_u64..3, any::<i64>(), any::<i64>(), 0_u32..=1_000_000).prop_map(
                |(verdict, low_pa, high_pa, probability_millionths)| ShownVerdict {
                    verdict: Verdict::from_number(verdict).unwrap(),
                    low_pa,
                    high_pa,
                    probability_millionths,
                },
            ),
        )
    };
    let state = prop_oneof![
        Just(StationState::Normal),
        Just(StationState::Starved),
        Just(StationState::LockUp)
    ];
    (state, one(), one(), one()).prop_map(|(state, inlet, interstage, outlet)| Shown {
        state,
        inlet,
        interstage,
        outlet,
    })
}

fn any_source() -> impl Strategy<Value = Source> {
    prop_oneof![
        Just(Source::OnTheSpot),
        (any::<i64>(), any::<[u8; 32]>())
            .prop_map(|(taken_ms, row)| Source::Sheet { taken_ms, row }),
    ]
}

fn any_reading() -> impl Strategy<Value = Reading> {
    let doubt = (any_entry(), proptest::option::of(any_entry()), ".{1,12}").prop_map(
        |(typed, likely, code)| AskedDoubt {
            code,
            quantity: Some(Quantity::Outlet),
            typed,
            likely,
            reply: DoubtReply::AsTyped,
        },
    );
    (
        (
            any_reference(),
            proptest::option::of(any_reference()),
            any_entry(),
            any_shown(),
        ),
        (
            proptest::collection::vec(doubt, 0..3),
            ".{0,40}",
            any_source(),
            0_usize..32,
        ),
        proptest::option::of(-1439_i16..1440),
    )
        .prop_map(|(refs, rest, utc_offset_minutes)| {
            let (revision, round, entry, shown) = refs;
            let (doubts, note, source, ticks) = rest;
            let ticked = Tick::ALL
                .into_iter()
                .enumerate()
                .filter(|(n, _)| ticks >> n & 1 == 1);
            let ticks = ticked.fold(Ticks::NONE, |ticks, (_, tick)| ticks.with(tick));
            let station = code("L420/ND.3");
            Reading {
                station,
                revision,
                round,
                entry,
                ticks,
                note,
                doubts,
                shown,
                source,
                utc_offset_minutes,
            }
        })
}

proptest! {
    #[test]
    fn any_reading_is_read_as_it_was_written(reading in any_reading()) {
        let body = Body::Reading(Box::new(reading));
        let bytes = body.encode().unwrap();
        prop_assert_eq!(Body::decode(Kind::Reading.number(), &bytes).unwrap(), body);
    }

    #[test]
    fn any_bytes_are_read_without_harm(kind in 9_u64..65, bytes in any::<Vec<u8>>()) {
        if let Ok(body) = Body::decode(kind, &bytes) {
            prop_assert_eq!(body.encode().unwrap(), bytes);
        }
    }

    /// Changed bytes reach deeper than random ones.
    #[test]
    fn changed_bodies_are_read_without_harm(
        which in 0_usize..Kind::ALL.len(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
    ) {
        let body = one_of_each().swap_remove(which);
        let mut bytes = body.encode().unwrap();
        for (place, value) in changes {
            let place = place.index(bytes.len());
            bytes[place] = value;
        }
        if let Ok(read) = Body::decode(body.kind().number(), &bytes) {
            prop_assert_eq!(read.encode().unwrap(), bytes);
        }
    }
}
