//! Causal, incremental, finite: for any simulated history.

use proptest::prelude::*;
use winze_core::simulate::{Conditions, Fault, FaultKind};
use winze_core::suspects::Cause;
use winze_core::units::Pressure;
use winze_core::verdict::FlowState;
use winze_core::watch::{Restart, Setting, Visit, Watch, Watched, Weights};

use crate::{day, simulated, visits, watch};

fn histories() -> impl Strategy<Value = (Setting, Vec<Visit>)> {
    let kinds = prop::sample::select(FaultKind::ALL.to_vec());
    (0_u64..10_000, kinds, 2.0..50.0, 0.0..0.2, 0_u8..3).prop_map(
        |(seed, kind, onset_weeks, magnitude, conditions)| {
            let conditions = match conditions {
                0 => Conditions::reference(),
                1 => Conditions::coarse(),
                _ => Conditions::irregular(),
            };
            let fault = Fault {
                kind,
                onset_weeks,
                magnitude,
            };
            let simulated = simulated(&conditions, seed, 70.0, Some(fault));
            (Setting::of(&simulated.station), visits(&simulated))
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_shorter_history_raises_the_same_flags((setting, visits) in histories(), upto in 0_usize..70) {
        let upto = upto.min(visits.len());
        let (all, _) = watch(&setting, &visits);
        let (shorter, _) = watch(&setting, &visits[..upto]);
        let end = visits[..upto].last().map(|visit| visit.at);
        let known: Vec<_> = all.into_iter().filter(|flag| Some(flag.at) <= end).collect();
        prop_assert_eq!(shorter, known);
    }

    #[test]
    fn a_stored_state_goes_on_as_if_it_had_never_stopped((setting, visits) in histories()) {
        let weights = Weights::default();
        let (mut through, mut stored) = (Watch::new(), Watch::new());
        for visit in &visits {
            let one = through.take(&weights, &setting, visit);
            let other = stored.take(&weights, &setting, visit);
            prop_assert_eq!(one, other);
            let bytes = stored.to_bytes();
            stored = Watch::from_bytes(&bytes).expect("a state reads back");
            prop_assert_eq!(&stored, &through);
            prop_assert_eq!(bytes, through.to_bytes());
        }
    }

    #[test]
    fn a_cut_or_foreign_state_is_not_read((setting, visits) in histories(), cut in 0_usize..10_000) {
        let bytes = watch(&setting, &visits).1.to_bytes();
        let cut = cut % bytes.len();
        prop_assert_eq!(Watch::from_bytes(&bytes[..cut]), None);
        let mut other = bytes;
        other[0] = other[0].wrapping_add(1);
        prop_assert_eq!(Watch::from_bytes(&other), None);
    }

    #[test]
    fn a_damaged_state_never_panics(
        (setting, visits) in histories(),
        place in 0_usize..10_000,
        value in any::<u8>(),
    ) {
        let mut bytes = watch(&setting, &visits).1.to_bytes();
        let place = place % bytes.len();
        bytes[place] = value;
        if let Some(mut watch) = Watch::from_bytes(&bytes) {
            for visit in &visits {
                watch.take(&Weights::default(), &setting, visit);
            }
        }
    }

    #[test]
    fn any_pressures_at_any_times_give_finite_numbers(
        seed in 0_u64..1000,
        readings in prop::collection::vec(
            (-400_i64..4000, prop::option::of(any::<i64>()), prop::option::of(-10_000_i64..3_000_000),
             prop::option::of(0_i64..2_000_000), 0_u8..3, 0_u8..20),
            0..60,
        ),
    ) {
        let simulated = simulated(&Conditions::reference(), seed, 1.0, None);
        let setting = Setting::of(&simulated.station);
        let (weights, mut watch) = (Weights::default(), Watch::new());
        for (days, inlet, interstage, outlet, flow, act) in readings {
            match act {
                0 => watch.restart(Restart::Station),
                1 => watch.restart(Restart::SecondStage),
                2 => watch.restart(Restart::InletGauge),
                _ => {}
            }
            let flow = match flow {
                0 => FlowState::Still,
                1 => FlowState::Flowing,
                _ => FlowState::NotNoted,
            };
            let pressures = [inlet, interstage, outlet].map(|pa| pa.map(Pressure::from_pa));
            let visit = Visit { at: day(days), pressures, flow };
            let outcome = watch.take(&weights, &setting, &visit);
            prop_assert!(outcome.scores.iter().flatten().all(|score| score.is_finite()));
            for flag in outcome.flags {
                prop_assert!(flag.shift.is_finite());
                prop_assert!(flag.onset.is_none_or(|onset| onset <= flag.at.max(day(4000))));
                let total: f64 = Cause::ALL.into_iter().map(|cause| flag.suspects.of(cause)).sum();
                prop_assert!((total - 1.0).abs() < 1e-9, "{total}");
            }
            for watched in Watched::ALL {
                if let Some(baseline) = watch.baseline(watched) {
                    prop_assert!(baseline.level.is_finite() && baseline.spread > 0.0);
                }
            }
        }
    }
}
