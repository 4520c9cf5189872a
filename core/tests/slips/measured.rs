//! The three figures: slips caught, meant value right, good readings questioned.

use std::collections::BTreeMap;

use winze_core::slips::{Doubt, DoubtKind, first_doubt};
use winze_core::station::Quantity;
use winze_core::verdict::Entry;

use crate::fleet::{Chance, Practice, REFERENCE, ROUGH, ROUNDED, Simulated};
use crate::inject::{Slip, inject};

#[derive(Default, Clone, Copy)]
struct Count {
    made: u32,
    caught: u32,
    right: u32,
}

#[derive(Default)]
struct Measured {
    good: u32,
    questioned: u32,
    by_slip: BTreeMap<Slip, Count>,
    by_kind: BTreeMap<DoubtKind, u32>,
}

impl Measured {
    fn good_reading(&mut self, simulated: &Simulated, entry: &Entry) {
        self.good += 1;
        if let Some(doubt) = first_doubt(&simulated.station, &simulated.past, entry, &[]) {
            self.questioned += 1;
            *self.by_kind.entry(doubt.kind).or_default() += 1;
        }
    }

    /// Types `entry` with a slip; answers what was typed, where there was room for the slip.
    fn slipped(
        &mut self,
        slip: Slip,
        simulated: &Simulated,
        entry: &Entry,
        chance: &mut Chance,
    ) -> Option<Entry> {
        let (typed, meant) = inject(slip, &simulated.station, entry, chance)?;
        let count = self.by_slip.entry(slip).or_default();
        count.made += 1;
        if let Some(doubt) = first_doubt(&simulated.station, &simulated.past, &typed, &[]) {
            count.caught += 1;
            count.right += u32::from(is_right(&doubt, &meant));
        }
        Some(typed)
    }

    fn total(&self, counts: impl Fn(Slip) -> bool) -> Count {
        self.by_slip.iter().filter(|(slip, _)| counts(**slip)).fold(
            Count::default(),
            |sum, (_, one)| Count {
                made: sum.made + one.made,
                caught: sum.caught + one.caught,
                right: sum.right + one.right,
            },
        )
    }
}

/// Whether the value offered is the one meant, to half a per cent of each value.
fn is_right(doubt: &Doubt, meant: &Entry) -> bool {
    doubt.likely.is_some_and(|likely| {
        Quantity::ALL.into_iter().all(|quantity| {
            let pa = |entry: &Entry| {
                entry
                    .get(quantity)
                    .map(|typed| typed.to_pressure().as_f64_pa())
            };
            match (pa(&likely), pa(meant)) {
                (Some(a), Some(b)) => (a - b).abs() <= 0.005 * b.abs(),
                (a, b) => a == b,
            }
        })
    })
}

/// Follows `stations` for `weeks`; from the fifth visit on every tenth reading is also typed with
/// each slip. What is kept as past is the good reading, or one of the slips when `uncorrected`.
fn measure(
    practice: Practice,
    start: u64,
    stations: usize,
    weeks: usize,
    uncorrected: bool,
) -> Measured {
    let mut measured = Measured::default();
    for number in 0..stations {
        let mut chance = Chance::new(start + number as u64);
        let mut simulated = Simulated::new(practice, &mut chance);
        for week in 0..weeks {
            let entry = simulated.visit(&mut chance);
            measured.good_reading(&simulated, &entry);
            let mut kept = entry;
            if week >= 4 && week % 10 == number % 10 {
                for slip in Slip::ALL {
                    let typed = measured.slipped(slip, &simulated, &entry, &mut chance);
                    if uncorrected && chance.below(3) == 0 {
                        kept = typed.unwrap_or(kept);
                    }
                }
            }
            simulated.keep(kept);
        }
    }
    measured
}

fn share(part: u32, whole: u32) -> f64 {
    f64::from(part) / f64::from(whole.max(1))
}

fn print(title: &str, measured: &Measured) {
    eprintln!("{title}");
    for (slip, count) in &measured.by_slip {
        eprintln!(
            "  {:16} made {:5}  caught {:6.2} %  right {:6.2} %",
            format!("{slip:?}"),
            count.made,
            100.0 * share(count.caught, count.made),
            100.0 * share(count.right, count.caught),
        );
    }
    for (name, total) in [
        ("named", measured.total(|slip| NAMED.contains(&slip))),
        ("all", measured.total(|_| true)),
    ] {
        eprintln!(
            "  {name:16} made {:5}  caught {:6.2} %  right {:6.2} %",
            total.made,
            100.0 * share(total.caught, total.made),
            100.0 * share(total.right, total.caught),
        );
    }
    eprintln!(
        "  good readings {} questioned {:.3} % {:?}",
        measured.good,
        100.0 * share(measured.questioned, measured.good),
        measured.by_kind,
    );
}

/// The slips the targets are about. Doubled keys and missing digits are measured beside them: a
/// missing last digit often changes less than the supply does in a week, and which digit was meant
/// cannot be known.
const NAMED: [Slip; 7] = [
    Slip::UnitAll,
    Slip::UnitOne,
    Slip::PointDropped,
    Slip::PointShifted,
    Slip::PointsAllDropped,
    Slip::DigitsSwapped,
    Slip::GaugesSwapped,
];

fn assert_targets(measured: &Measured) {
    let named = measured.total(|slip| NAMED.contains(&slip));
    assert!(
        named.made > 1_000,
        "{} slips are too few to tell",
        named.made
    );
    assert!(
        share(named.caught, named.made) >= 0.98,
        "caught {}",
        share(named.caught, named.made)
    );
    assert!(
        share(named.right, named.caught) >= 0.95,
        "right {}",
        share(named.right, named.caught)
    );
    let all = measured.total(|_| true);
    assert!(
        share(all.caught, all.made) >= 0.97,
        "caught of all {}",
        share(all.caught, all.made)
    );
    let questioned = share(measured.questioned, measured.good);
    assert!(questioned <= 0.002, "questioned {questioned}");
}

#[test]
fn slips_on_the_reference_fleet() {
    let measured = measure(REFERENCE, 1_000_003, 60, 90, false);
    print("reference fleet", &measured);
    assert_targets(&measured);
}

#[test]
fn slips_on_a_rougher_fleet() {
    let measured = measure(ROUGH, 7_000_003, 60, 90, false);
    print("rougher fleet", &measured);
    assert_targets(&measured);
}

#[test]
fn slips_on_a_fleet_read_in_round_numbers() {
    let measured = measure(ROUNDED, 3_000_003, 60, 90, false);
    print("rounded fleet", &measured);
    assert_targets(&measured);
}

/// Old sheets hold slips that nobody corrected: about one visit in ten here.
#[test]
fn slips_with_uncorrected_slips_in_the_past() {
    let measured = measure(REFERENCE, 5_000_003, 60, 90, true);
    print("uncorrected slips in the past", &measured);
    assert_targets(&measured);
}

/// Nothing is known yet but the register row: the first four visits.
#[test]
fn slips_at_the_first_visits() {
    let mut measured = Measured::default();
    for number in 0..120 {
        let mut chance = Chance::new(11_000_003 + number);
        let mut simulated = Simulated::new(REFERENCE, &mut chance);
        for _ in 0..4 {
            let entry = simulated.visit(&mut chance);
            measured.good_reading(&simulated, &entry);
            for slip in Slip::ALL {
                measured.slipped(slip, &simulated, &entry, &mut chance);
            }
            simulated.keep(entry);
        }
    }
    print("first four visits", &measured);
    let named = measured.total(|slip| NAMED.contains(&slip));
    assert!(share(named.caught, named.made) >= 0.95);
    assert!(share(named.right, named.caught) >= 0.93);
    assert!(share(measured.questioned, measured.good) <= 0.005);
}

/// The tablet asks gauge by gauge: a half-typed entry must not be questioned for what is missing.
#[test]
fn half_typed_entries_are_seldom_questioned() {
    let (mut asked, mut made) = (0, 0);
    for number in 0..60 {
        let mut chance = Chance::new(13_000_003 + number);
        let mut simulated = Simulated::new(REFERENCE, &mut chance);
        for _ in 0..60 {
            let entry = simulated.visit(&mut chance);
            for half in [
                entry
                    .with(Quantity::Interstage, None)
                    .with(Quantity::Outlet, None),
                entry.with(Quantity::Outlet, None),
                entry.with(Quantity::Inlet, None),
                entry.with(Quantity::Interstage, None),
            ] {
                made += 1;
                let doubt = first_doubt(&simulated.station, &simulated.past, &half, &[]);
                asked += u32::from(doubt.is_some());
            }
            simulated.keep(entry);
        }
    }
    eprintln!(
        "half-typed entries questioned {:.3} %",
        100.0 * share(asked, made)
    );
    assert!(share(asked, made) <= 0.002, "{asked} of {made}");
}

/// A register is seldom right: inlet a quarter off, ratio a tenth off, set point moved since.
#[test]
fn a_wrong_register_row_does_not_keep_asking() {
    let (mut asked, mut made) = (0, 0);
    for number in 0..100 {
        let mut chance = Chance::new(17_000_003 + number);
        let mut simulated = Simulated::new(REFERENCE, &mut chance);
        let factors = chance.pick(&[
            [1.25, 1.25, 1.0],
            [0.75, 0.75, 1.0],
            [1.0, 1.1, 1.0],
            [1.0, 0.9, 1.0],
            [1.0, 1.0, 1.15],
            [1.0, 1.0, 0.85],
        ]);
        for _ in 0..20 {
            let entry = simulated.changed_visit(factors, &mut chance);
            made += 1;
            let doubt = first_doubt(&simulated.station, &simulated.past, &entry, &[]);
            asked += u32::from(doubt.is_some());
            simulated.keep(entry);
        }
    }
    eprintln!(
        "with a wrong register row questioned {:.3} %",
        100.0 * share(asked, made)
    );
    assert!(share(asked, made) <= 0.02, "{asked} of {made}");
}

/// Slow change is no slip either: how many readings of a drifting station are questioned.
#[test]
fn slow_drifts_are_seldom_questioned() {
    let drifts: [(&str, [f64; 3]); 4] = [
        ("pilot creeping up 1 % a week", [1.0, 1.0, 1.01]),
        ("pilot creeping down 1 % a week", [1.0, 1.0, 0.99]),
        ("first stage passing 1.2 % a week", [1.0, 1.012, 1.0]),
        ("strainer 1.2 % a week", [0.988, 0.988, 1.0]),
    ];
    for (name, weekly) in drifts {
        let (mut asked, mut made) = (0, 0);
        for number in 0..60 {
            let mut chance = Chance::new(31_000_003 + number);
            let mut simulated = Simulated::new(REFERENCE, &mut chance);
            for week in -20..30 {
                let factors = weekly.map(|factor: f64| factor.powi(week.max(0)));
                let entry = simulated.changed_visit(factors, &mut chance);
                if week >= 0 {
                    made += 1;
                    let doubt = first_doubt(&simulated.station, &simulated.past, &entry, &[]);
                    asked += u32::from(doubt.is_some());
                }
                simulated.keep(entry);
            }
        }
        eprintln!("{name:34} questioned {:.3} %", 100.0 * share(asked, made));
        assert!(share(asked, made) <= 0.01, "{name}: {asked} of {made}");
    }
}

/// Bad news is not a slip: how often a true, lasting change is questioned over a quarter.
#[test]
fn true_changes_are_seldom_questioned() {
    let changes: [(&str, [f64; 3]); 8] = [
        ("supply 20 % low", [0.8, 0.8, 1.0]),
        ("set point 8 % up", [1.0, 1.0, 1.08]),
        ("set point 8 % down", [1.0, 1.0, 0.92]),
        ("first stage passing 12 %", [1.0, 1.12, 1.0]),
        ("first stage sticking 10 %", [1.0, 0.9, 1.0]),
        ("inlet gauge 6 % high", [1.06, 1.0, 1.0]),
        ("outlet 15 % up", [1.0, 1.0, 1.15]),
        ("second stage wide open", [1.0, 1.0, 9.0]),
    ];
    let (stations, weeks) = (60, 13);
    let mut all = 0;
    for (name, factors) in changes {
        let (mut first, mut asked) = (0, 0);
        for number in 0..stations {
            let mut chance = Chance::new(900_001 + u64::from(number));
            let mut simulated = Simulated::new(REFERENCE, &mut chance);
            for _ in 0..30 {
                let entry = simulated.visit(&mut chance);
                simulated.keep(entry);
            }
            for week in 0..weeks {
                let entry = simulated.changed_visit(factors, &mut chance);
                let doubt = first_doubt(&simulated.station, &simulated.past, &entry, &[]);
                first += u32::from(week == 0 && doubt.is_some());
                asked += u32::from(doubt.is_some());
                simulated.keep(entry);
            }
        }
        all += asked;
        eprintln!(
            "{name:28} first visit questioned {:5.1} %, {:.2} questions in {weeks} visits",
            100.0 * share(first, stations),
            share(asked, stations),
        );
        assert!(
            share(asked, stations) <= 2.0,
            "{name}: {asked} questions on {stations} stations"
        );
    }
    assert!(share(all, 8 * stations) <= 0.5, "{all} questions in all");
}
