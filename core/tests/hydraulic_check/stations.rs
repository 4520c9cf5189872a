//! Invented stations for the checks.

use winze_core::station::defaults::{RegisterRow, station as from_row};
use winze_core::station::{Duty, Station, UsualRange, Valve};
use winze_core::units::{Pressure, Typed, Unit};
use winze_sync_format::Decimal;

/// Whole bars and tenths as a pressure.
pub fn bar(bar: f64) -> Pressure {
    Pressure::from_f64_pa(bar * 1.0e5).expect("a number")
}

/// A decimal from its digits.
pub fn decimal(digits: &str) -> Decimal {
    digits.parse().expect("digits")
}

/// A station as the shortest register row gives it: 9 to 11 bar, ratio 2.5, set point 2 bar.
pub fn bare_station() -> Station {
    from_row(&RegisterRow {
        code: "T-07".parse().expect("a code"),
        unit: Unit::Bar,
        ratio: decimal("2.5"),
        set_point: decimal("2"),
        inlet_typical: decimal("10"),
        gauge_class: decimal("1.6"),
        spans: [decimal("16"), decimal("10"), decimal("4")],
    })
}

/// The same with everything the check asks for, and nothing for it to object to.
pub fn station() -> Station {
    let mut station = bare_station();
    station.inlet_usual = UsualRange {
        low: Typed::of(9, 0, Unit::Bar),
        high: Typed::of(11, 0, Unit::Bar),
    };
    let valve = Valve {
        size_mm: Some(50),
        rated_kv: Some(decimal("20")),
        fl: Some(decimal("0.9")),
        permitted_sigma: Some(decimal("1.5")),
        xfz: None,
    };
    station.first_stage.valve = valve.clone();
    station.second_stage.valve = valve;
    station.second_stage.spring_range =
        Some((Typed::of(1, 0, Unit::Bar), Typed::of(5, 0, Unit::Bar)));
    station.site.water_temperature_c = Some(decimal("20"));
    station.site.altitude_m = Some(0);
    station.site.downstream_max = Some(Typed::of(5, 0, Unit::Bar));
    station.site.duty = Duty {
        min_m3_h: Some(decimal("3")),
        usual_m3_h: Some(decimal("10")),
        max_m3_h: Some(decimal("20")),
    };
    station.site.relief_set = Some(Typed::of(3, 0, Unit::Bar));
    station.outlet.high = Typed::of(16, 0, Unit::Bar);
    station.interstage.high = Typed::of(16, 0, Unit::Bar);
    station
}
