//! The body of a station definition, field by field.
//!
//! Not here: what makes a definition sound (see [`crate::station`]); any definition can be written.

use chrono::NaiveDate;
use winze_sync_format::canonical::Reader;

use super::round::read_code;
use super::wire::{Fields, ReadExt, Value, in_map};
use super::{BodyError, BodyResult};
use crate::station::{
    AsmeGrade, Duty, FirstStage, Gauge, SecondStage, Site, Station, UsualRange, Valve,
};
use crate::units::{Typed, Unit};

/// Day number of 1970-01-01 in chrono's count from the year 1.
const EPOCH_DAY: i32 = 719_163;

pub(super) fn fields(station: &Station) -> Fields<'_> {
    Fields::new()
        .put(0, station.code.as_str())
        .put(1, station.name.as_str())
        .put(2, station.level.as_str())
        .put(3, station.order)
        .put(4, station.unit.number())
        .put(5, gauge_fields(&station.inlet))
        .put(6, gauge_fields(&station.interstage))
        .put(7, gauge_fields(&station.outlet))
        .put(8, first_stage_fields(&station.first_stage))
        .put(9, second_stage_fields(&station.second_stage))
        .put(10, pair(station.inlet_usual.low, station.inlet_usual.high))
        .put_map(11, site_fields(&station.site))
}

pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Station> {
    Ok(Station {
        code: reader.need(0, read_code)?,
        name: reader.need(1, |reader| Ok(reader.text()?.to_owned()))?,
        level: reader.need(2, |reader| Ok(reader.text()?.to_owned()))?,
        order: reader.need(3, |reader| reader.uint32("order"))?,
        unit: reader.need(4, |reader| {
            Unit::from_number(reader.uint()?).ok_or(BodyError::field("unit", "not used here"))
        })?,
        inlet: reader.need(5, |reader| in_map(reader, read_gauge))?,
        interstage: reader.need(6, |reader| in_map(reader, read_gauge))?,
        outlet: reader.need(7, |reader| in_map(reader, read_gauge))?,
        first_stage: reader.need(8, |reader| in_map(reader, read_first_stage))?,
        second_stage: reader.need(9, |reader| in_map(reader, read_second_stage))?,
        inlet_usual: reader.need(10, |reader| {
            let (low, high) = read_pair(reader)?;
            Ok(UsualRange { low, high })
        })?,
        site: reader
            .maybe(11, |reader| in_map(reader, read_site))?
            .unwrap_or_default(),
    })
}

fn gauge_fields(gauge: &Gauge) -> Fields<'_> {
    Fields::new()
        .put(0, gauge.low)
        .put(1, gauge.high)
        .put(2, gauge.class)
        .put_some(3, gauge.grade.map(AsmeGrade::code))
        .put(4, gauge.division)
        .put(5, gauge.elevation_mm)
        .put_some(6, gauge.checked_on.map(day_number))
}

fn read_gauge(reader: &mut Reader<'_>) -> BodyResult<Gauge> {
    Ok(Gauge {
        low: reader.need(0, ReadExt::typed)?,
        high: reader.need(1, ReadExt::typed)?,
        class: reader.need(2, |reader| Ok(reader.decimal()?))?,
        grade: reader.maybe(3, |reader| {
            AsmeGrade::from_code(reader.text()?).ok_or(BodyError::field("grade", "not known"))
        })?,
        division: reader.need(4, |reader| Ok(reader.decimal()?))?,
        elevation_mm: reader.need(5, |reader| reader.int32("elevation"))?,
        checked_on: reader.maybe(6, read_day)?,
    })
}

fn first_stage_fields(stage: &FirstStage) -> Fields<'_> {
    Fields::new()
        .put(0, stage.ratio)
        .put(1, stage.ratio_tolerance_percent)
        .put_some(2, stage.as_left_ratio)
        .put_some(3, stage.as_left_on.map(day_number))
        .put_map(4, valve_fields(&stage.valve))
}

fn read_first_stage(reader: &mut Reader<'_>) -> BodyResult<FirstStage> {
    Ok(FirstStage {
        ratio: reader.need(0, |reader| Ok(reader.decimal()?))?,
        ratio_tolerance_percent: reader.need(1, |reader| Ok(reader.decimal()?))?,
        as_left_ratio: reader.maybe(2, |reader| Ok(reader.decimal()?))?,
        as_left_on: reader.maybe(3, read_day)?,
        valve: reader
            .maybe(4, |reader| in_map(reader, read_valve))?
            .unwrap_or_default(),
    })
}

fn second_stage_fields(stage: &SecondStage) -> Fields<'_> {
    Fields::new()
        .put(0, stage.set_point)
        .put(1, stage.band)
        .put(2, stage.minimum_differential)
        .put_some(3, stage.spring_range.map(|(low, high)| pair(low, high)))
        .put_map(4, valve_fields(&stage.valve))
}

fn read_second_stage(reader: &mut Reader<'_>) -> BodyResult<SecondStage> {
    Ok(SecondStage {
        set_point: reader.need(0, ReadExt::typed)?,
        band: reader.need(1, ReadExt::typed)?,
        minimum_differential: reader.need(2, ReadExt::typed)?,
        spring_range: reader.maybe(3, read_pair)?,
        valve: reader
            .maybe(4, |reader| in_map(reader, read_valve))?
            .unwrap_or_default(),
    })
}

fn valve_fields(valve: &Valve) -> Fields<'_> {
    Fields::new()
        .put_some(0, valve.size_mm)
        .put_some(1, valve.rated_kv)
        .put_some(2, valve.fl)
        .put_some(3, valve.permitted_sigma)
        .put_some(4, valve.xfz)
}

fn read_valve(reader: &mut Reader<'_>) -> BodyResult<Valve> {
    Ok(Valve {
        size_mm: reader.maybe(0, |reader| reader.uint32("size"))?,
        rated_kv: reader.maybe(1, |reader| Ok(reader.decimal()?))?,
        fl: reader.maybe(2, |reader| Ok(reader.decimal()?))?,
        permitted_sigma: reader.maybe(3, |reader| Ok(reader.decimal()?))?,
        xfz: reader.maybe(4, |reader| Ok(reader.decimal()?))?,
    })
}

fn site_fields(site: &Site) -> Fields<'_> {
    Fields::new()
        .put_some(0, site.altitude_m)
        .put_some(1, site.depth_m)
        .put_some(2, site.water_temperature_c)
        .put_some(3, site.air_temperature_c)
        .put_some(4, site.downstream_max)
        .put_some(5, site.relief_set)
        .put_some(6, site.duty.min_m3_h)
        .put_some(7, site.duty.usual_m3_h)
        .put_some(8, site.duty.max_m3_h)
        .put_text(9, &site.hazards)
        .put_text(10, &site.access)
}

fn read_site(reader: &mut Reader<'_>) -> BodyResult<Site> {
    Ok(Site {
        altitude_m: reader.maybe(0, |reader| reader.int32("altitude"))?,
        depth_m: reader.maybe(1, |reader| reader.int32("depth"))?,
        water_temperature_c: reader.maybe(2, |reader| Ok(reader.decimal()?))?,
        air_temperature_c: reader.maybe(3, |reader| Ok(reader.decimal()?))?,
        downstream_max: reader.maybe(4, ReadExt::typed)?,
        relief_set: reader.maybe(5, ReadExt::typed)?,
        duty: Duty {
            min_m3_h: reader.maybe(6, |reader| Ok(reader.decimal()?))?,
            usual_m3_h: reader.maybe(7, |reader| Ok(reader.decimal()?))?,
            max_m3_h: reader.maybe(8, |reader| Ok(reader.decimal()?))?,
        },
        hazards: reader.maybe_text(9, "hazards")?,
        access: reader.maybe_text(10, "access")?,
    })
}

fn pair<'a>(low: Typed, high: Typed) -> Value<'a> {
    Value::List(vec![low.into(), high.into()])
}

fn read_pair(reader: &mut Reader<'_>) -> BodyResult<(Typed, Typed)> {
    if reader.array()? != 2 {
        return Err(BodyError::field("range", "not two pressures"));
    }
    let ends = (reader.typed()?, reader.typed()?);
    reader.end()?;
    Ok(ends)
}

pub(super) fn day_number(day: NaiveDate) -> i32 {
    use chrono::Datelike;
    day.num_days_from_ce().saturating_sub(EPOCH_DAY)
}

pub(super) fn read_day(reader: &mut Reader<'_>) -> BodyResult<NaiveDate> {
    let day = reader.int32("day")?;
    day.checked_add(EPOCH_DAY)
        .and_then(NaiveDate::from_num_days_from_ce_opt)
        .ok_or(BodyError::field("day", "outside the calendar"))
}
