//! How verdicts fall on healthy stations judged by a short register row alone.

use winze_core::station::Quantity;
use winze_core::verdict::{Verdict, judge};

use crate::fleet::{Chance, Practice, REFERENCE, ROUGH, Simulated};

/// Per quantity: within, unsure, outside.
fn fall(practice: Practice, start: u64) -> [[u32; 3]; 3] {
    let mut counts = [[0; 3]; 3];
    for number in 0..150 {
        let mut chance = Chance::new(start + number);
        let mut simulated = Simulated::new(practice, &mut chance);
        for _ in 0..52 {
            let entry = simulated.visit(&mut chance);
            for judged in judge(&simulated.station, &entry).iter() {
                let verdict = usize::try_from(judged.verdict.number()).expect("three verdicts");
                counts[judged.quantity.index()][verdict] += 1;
            }
        }
    }
    counts
}

#[test]
fn healthy_stations_are_next_to_never_called_outside() {
    for (name, practice, start) in [
        ("reference", REFERENCE, 21_000_003),
        ("rougher", ROUGH, 23_000_003),
    ] {
        let counts = fall(practice, start);
        for quantity in Quantity::ALL {
            let [within, unsure, outside] = counts[quantity.index()];
            let whole = f64::from(within + unsure + outside);
            eprintln!(
                "{name:10} {:10} {:6.2} % {:6.2} % {:6.3} %",
                quantity.code(),
                100.0 * f64::from(within) / whole,
                100.0 * f64::from(unsure) / whole,
                100.0 * f64::from(outside) / whole,
            );
            assert!(
                f64::from(outside) <= 0.001 * whole,
                "{name} {quantity:?}: {outside} outside"
            );
        }
    }
}

/// A pressure clearly out is never called within.
#[test]
fn clear_faults_are_never_called_within() {
    for (factors, quantity) in [
        ([0.7, 0.7, 1.0], Quantity::Inlet),
        ([1.0, 1.35, 1.0], Quantity::Interstage),
        ([1.0, 1.0, 1.35], Quantity::Outlet),
    ] {
        for number in 0..200 {
            let mut chance = Chance::new(29_000_003 + number);
            let mut simulated = Simulated::new(REFERENCE, &mut chance);
            let entry = simulated.changed_visit(factors, &mut chance);
            let judgement = judge(&simulated.station, &entry);
            let verdict = judgement.get(quantity).expect("it was read").verdict;
            assert_ne!(verdict, Verdict::Within, "{factors:?}: {judgement:?}");
        }
    }
}
