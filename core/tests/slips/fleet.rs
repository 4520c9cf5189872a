//! An invented fleet of healthy stations, read weekly, with every draw from one number.
//!
//! Gauges of class 1.0 or 1.6 with a fixed error inside it, reading scatter of 0.2 division, values
//! read to a fifth of a division; inlet wandering 2 % with weekly correlation 0.6; ratio scatter of
//! 1.5 % between stations and 1 % friction; outlet scatter 0.8 % and 1.2 % droop with a flow that
//! varies by a quarter.

use winze_core::slips::PastReading;
use winze_core::station::{Quantity, Station, StationCode, defaults};
use winze_core::units::{Pressure, Typed, Unit};
use winze_core::verdict::{Entry, FlowState};
use winze_sync_format::Decimal;

/// A small reproducible source of chance (xorshift64*, Vigna 2016).
pub struct Chance(u64);

impl Chance {
    pub fn new(start: u64) -> Self {
        Self(start.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// Between 0 and 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }

    /// Standard normal (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// How a fleet differs from the reference one.
#[derive(Clone, Copy)]
pub struct Practice {
    pub wander: f64,
    pub friction: f64,
    pub outlet_scatter: f64,
    pub reading_divisions: f64,
    pub classes: [i64; 2],
    /// Whether values lie on fifths of a division; otherwise they are rounded to a decimal place.
    pub on_grid: bool,
}

/// The reference fleet.
pub const REFERENCE: Practice = Practice {
    wander: 0.02,
    friction: 0.01,
    outlet_scatter: 0.008,
    reading_divisions: 0.2,
    classes: [10, 16],
    on_grid: true,
};

/// Coarser gauges and a rougher supply than the rules were made with.
pub const ROUGH: Practice = Practice {
    wander: 0.03,
    friction: 0.015,
    outlet_scatter: 0.012,
    reading_divisions: 0.25,
    classes: [16, 25],
    on_grid: true,
};

/// The reference fleet, read by people who round to a decimal place.
pub const ROUNDED: Practice = Practice {
    on_grid: false,
    ..REFERENCE
};

/// A station with its hidden truth.
pub struct Simulated {
    pub station: Station,
    practice: Practice,
    ratio: f64,
    set_point_pa: f64,
    inlet_pa: f64,
    gauge_error_pa: [f64; 3],
    wander: f64,
    /// Healthy visits so far, oldest first.
    pub past: Vec<PastReading>,
}

fn spans(unit: Unit) -> &'static [i64] {
    match unit {
        Unit::Psi => &[15, 30, 60, 100, 160, 200, 300, 400, 600],
        Unit::Kilopascal => &[100, 160, 250, 400, 600, 1000, 1600, 2500, 4000],
        _ => &[1, 2, 4, 6, 10, 16, 25, 40],
    }
}

fn decimal(value: f64, places: u8) -> Decimal {
    format!("{value:.0$}", usize::from(places))
        .parse()
        .expect("a plain number")
}

impl Simulated {
    pub fn new(practice: Practice, chance: &mut Chance) -> Self {
        let unit = chance.pick(&[Unit::Bar, Unit::Bar, Unit::Bar, Unit::Psi, Unit::Kilopascal]);
        let nominal = chance.pick(&[2.0, 2.5, 3.0]);
        let inlet_bar = chance.between(6.0, 16.0);
        let set_bar = inlet_bar / nominal * chance.between(0.4, 0.75);
        let places = match unit {
            Unit::Bar => 1,
            _ => 0,
        };
        let written = |bar: f64, places| decimal(unit.from_pa(bar * 1.0e5), places);
        let (inlet, set_point) = (written(inlet_bar, places), written(set_bar, places));
        let span = |bar: f64| {
            let value = unit.from_pa(bar * 1.0e5);
            let fits = |span: &&i64| value <= 0.75 * **span as f64;
            Decimal::whole(*spans(unit).iter().find(fits).expect("a gauge large enough"))
        };
        let row = defaults::RegisterRow {
            code: StationCode::parse("S-1").expect("a code"),
            unit,
            ratio: decimal(nominal, 1),
            set_point,
            inlet_typical: inlet,
            gauge_class: Decimal::new(chance.pick(&practice.classes), -1),
            spans: [span(inlet_bar), span(inlet_bar / nominal), span(set_bar)],
        };
        let station = defaults::station(&row);
        let gauge_error_pa = Quantity::ALL.map(|quantity| {
            let largest = station.gauge(quantity).largest_error_pa(Pressure::ZERO);
            chance.between(-largest, largest)
        });
        Self {
            practice,
            ratio: nominal * (1.0 + 0.015 * chance.normal()),
            set_point_pa: Typed::new(set_point, unit).to_pressure().as_f64_pa(),
            inlet_pa: Typed::new(inlet, unit).to_pressure().as_f64_pa(),
            gauge_error_pa,
            wander: practice.wander * chance.normal(),
            past: Vec::new(),
            station,
        }
    }

    /// The next week's true pressures.
    fn week(&mut self, chance: &mut Chance) -> [f64; 3] {
        let practice = self.practice;
        self.wander = 0.6 * self.wander + 0.8 * practice.wander * chance.normal();
        let inlet = self.inlet_pa * (1.0 + self.wander);
        let interstage = inlet / self.ratio * (1.0 + practice.friction * chance.normal());
        let flow = 0.25 * chance.normal();
        let outlet = self.set_point_pa
            * (1.0 - 0.012 * (1.0 + flow) + practice.outlet_scatter * chance.normal());
        [inlet, interstage, outlet.min(interstage)]
    }

    /// What is read from the gauges at true pressures.
    pub fn read(&self, truth: [f64; 3], chance: &mut Chance) -> Entry {
        let mut entry = Entry {
            flow: FlowState::Flowing,
            ..Entry::default()
        };
        for (quantity, pa) in Quantity::ALL.into_iter().zip(truth) {
            let gauge = self.station.gauge(quantity);
            let division = gauge.division_pressure().as_f64_pa();
            let needle = pa
                + self.gauge_error_pa[quantity.index()]
                + self.practice.reading_divisions * division * chance.normal();
            let places = gauge
                .decimals()
                .saturating_sub(u8::from(!self.practice.on_grid));
            let step = if self.practice.on_grid {
                division * defaults::READ_STEP_DIVISIONS
            } else {
                gauge.unit().to_pa(0.1_f64.powi(i32::from(places)))
            };
            let read = (needle / step).round() * step;
            let shown = read.clamp(0.0, gauge.high.to_pressure().as_f64_pa());
            let digits = decimal(gauge.unit().from_pa(shown), places);
            entry = entry.with(quantity, Some(Typed::new(digits, gauge.unit())));
        }
        entry
    }

    /// The next week's reading, not yet among the past ones.
    pub fn visit(&mut self, chance: &mut Chance) -> Entry {
        let truth = self.week(chance);
        self.read(truth, chance)
    }

    /// The next week with the true pressures multiplied.
    pub fn changed_visit(&mut self, factors: [f64; 3], chance: &mut Chance) -> Entry {
        let truth = self.week(chance);
        let mut changed = [0, 1, 2].map(|i| truth[i] * factors[i]);
        changed[1] = changed[1].min(changed[0]);
        changed[2] = changed[2].min(changed[1]);
        self.read(changed, chance)
    }

    pub fn keep(&mut self, entry: Entry) {
        let taken_at_ms = i64::try_from(self.past.len()).expect("few visits") * 7 * 86_400_000;
        self.past.push(PastReading { taken_at_ms, entry });
    }
}
