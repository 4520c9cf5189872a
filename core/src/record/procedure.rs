//! Bodies about procedures: opened, a step recorded, a step undone, closed.
//!
//! Codes are written as text, so that a record still tells what was done when read in twenty years.
//! What a step rests on stands in the envelope's references; what it all comes to, and which of it
//! counts, is decided in [`crate::procedures`].

use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::round::{read_code, read_utc_offset};
use super::wire::{Fields, ReadExt, Value, in_map};
use super::{BodyError, BodyResult};
use crate::calibration::{DrawOff, Point, Steadiness};
use crate::procedures::{
    Air, Branch, Dirt, Inside, Level, Measurand, MeasureCode, Measured, OpenReason, ProcedureCode,
    Reason, ReasonCode, StepCode, TickCode, Value as Measure,
};
use crate::station::StationCode;

/// A procedure is opened at a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProcedureOpened {
    /// Which.
    pub procedure: ProcedureCode,
    /// The edition of its data.
    pub edition: u32,
    /// The station.
    pub station: StationCode,
    /// Why, where it says.
    pub reason: Option<OpenReason>,
    /// More about it.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl ProcedureOpened {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.procedure.code())
            .put(1, self.edition)
            .put(2, self.station.as_str())
            .put_some(3, self.reason.map(OpenReason::code))
            .put_text(4, &self.note)
            .put(5, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            procedure: reader.need(0, |reader| {
                listed(reader, "procedure", ProcedureCode::from_code)
            })?,
            edition: reader.need(1, |reader| reader.uint32("edition"))?,
            station: reader.need(2, read_code)?,
            reason: reader.maybe(3, |reader| listed(reader, "reason", OpenReason::from_code))?,
            note: reader.maybe_text(4, "note")?,
            utc_offset_minutes: reader.need(5, read_utc_offset)?,
        })
    }
}

/// How a step came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StepOutcome {
    /// It was done.
    Done,
    /// It is going on: turns of a calibration, each kept as it is made.
    GoingOn,
    /// It was passed over.
    PassedOver(Reason),
}

/// A figure that was shown at a step, with how grave it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownFigure {
    /// Stable code of the finding.
    pub code: String,
    /// How grave.
    pub level: Level,
}

/// A step was done, goes on or was passed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepRecorded {
    /// The procedure: the record that opened it.
    pub procedure: RecordRef,
    /// The station, as the record that opened it says.
    pub station: StationCode,
    /// Which step.
    pub step: StepCode,
    /// How it came out.
    pub outcome: StepOutcome,
    /// What was measured.
    pub measured: Vec<Measured>,
    /// What was ticked.
    pub ticks: Vec<TickCode>,
    /// The branch chosen.
    pub branch: Option<Branch>,
    /// Turns of the screw.
    pub points: Vec<Point>,
    /// What the figures said.
    pub figures: Vec<ShownFigure>,
    /// Why it was done before steps that come first.
    pub out_of_order: Option<Reason>,
    /// Why the work went on although the figures said stop.
    pub despite: Option<Reason>,
    /// The reading that was taken with it.
    pub reading: Option<RecordRef>,
    /// A free note.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl StepRecorded {
    /// A step that was done, with nothing further said.
    #[must_use]
    pub const fn done(procedure: RecordRef, station: StationCode, step: StepCode) -> Self {
        Self {
            procedure,
            station,
            step,
            outcome: StepOutcome::Done,
            measured: Vec::new(),
            ticks: Vec::new(),
            branch: None,
            points: Vec::new(),
            figures: Vec::new(),
            out_of_order: None,
            despite: None,
            reading: None,
            note: String::new(),
            utc_offset_minutes: 0,
        }
    }

    /// One of the values measured.
    #[must_use]
    pub fn value(&self, code: MeasureCode) -> Option<Measure> {
        let mut found = self.measured.iter().filter(|one| one.code == code);
        found.next().map(|one| one.value)
    }

    pub(super) fn fields(&self) -> Fields<'_> {
        let (outcome, reason): (u64, _) = match &self.outcome {
            StepOutcome::Done => (1, None),
            StepOutcome::GoingOn => (2, None),
            StepOutcome::PassedOver(reason) => (3, Some(reason_fields(reason))),
        };
        let measured = self.measured.iter().map(measured_value).collect();
        let ticks = self.ticks.iter().map(|tick| Value::Text(tick.code()));
        let points = self.points.iter().map(point_value).collect();
        let figures = self.figures.iter().map(figure_value).collect();
        Fields::new()
            .put(0, self.procedure)
            .put(1, self.station.as_str())
            .put(2, self.step.code())
            .put(3, outcome)
            .put_some(4, reason)
            .put_list(5, measured)
            .put_list(6, ticks.collect())
            .put_some(7, self.branch.map(Branch::code))
            .put_list(8, points)
            .put_list(9, figures)
            .put_some(10, self.out_of_order.as_ref().map(reason_fields))
            .put_some(11, self.despite.as_ref().map(reason_fields))
            .put_some(12, self.reading)
            .put_text(13, &self.note)
            .put(14, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let procedure = reader.need(0, ReadExt::reference)?;
        let station = reader.need(1, read_code)?;
        let step = reader.need(2, |reader| listed(reader, "step", StepCode::from_code))?;
        let outcome = reader.need(3, |reader| Ok(reader.uint()?))?;
        let reason = reader.maybe(4, read_reason)?;
        let outcome = match (outcome, reason) {
            (1, None) => StepOutcome::Done,
            (2, None) => StepOutcome::GoingOn,
            (3, Some(reason)) => StepOutcome::PassedOver(reason),
            _ => return Err(BodyError::field("outcome", "not one that is written")),
        };
        Ok(Self {
            procedure,
            station,
            step,
            outcome,
            measured: reader.maybe_list(5, "measured", read_measured)?,
            ticks: reader.maybe_list(6, "ticks", |reader| {
                listed(reader, "tick", TickCode::from_code)
            })?,
            branch: reader.maybe(7, |reader| listed(reader, "branch", Branch::from_code))?,
            points: reader.maybe_list(8, "points", read_point)?,
            figures: reader.maybe_list(9, "figures", read_figure)?,
            out_of_order: reader.maybe(10, read_reason)?,
            despite: reader.maybe(11, read_reason)?,
            reading: reader.maybe(12, ReadExt::reference)?,
            note: reader.maybe_text(13, "note")?,
            utc_offset_minutes: reader.need(14, read_utc_offset)?,
        })
    }
}

/// Records of a step are taken back; they stay, and so do their values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepUndone {
    /// The procedure.
    pub procedure: RecordRef,
    /// The station, as the record that opened it says.
    pub station: StationCode,
    /// Which step.
    pub step: StepCode,
    /// The records taken back, at least one.
    pub records: Vec<RecordRef>,
    /// Why.
    pub reason: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl StepUndone {
    pub(super) fn fields(&self) -> Fields<'_> {
        let records = self.records.iter().copied().map(Value::Reference);
        Fields::new()
            .put(0, self.procedure)
            .put(1, self.station.as_str())
            .put(2, self.step.code())
            .put_list(3, records.collect())
            .put_text(4, &self.reason)
            .put(5, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            procedure: reader.need(0, ReadExt::reference)?,
            station: reader.need(1, read_code)?,
            step: reader.need(2, |reader| listed(reader, "step", StepCode::from_code))?,
            records: reader.maybe_list(3, "records", ReadExt::reference)?,
            reason: reader.maybe_text(4, "reason")?,
            utc_offset_minutes: reader.need(5, read_utc_offset)?,
        })
    }
}

/// How a procedure ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ProcedureEnd {
    /// It is complete.
    Completed,
    /// It is given up.
    Abandoned,
}

/// A procedure ends. The records it rests on stand in the envelope's references.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProcedureClosed {
    /// The procedure.
    pub procedure: RecordRef,
    /// The station, as the record that opened it says.
    pub station: StationCode,
    /// How.
    pub end: ProcedureEnd,
    /// Who did the work, as typed for the certificate.
    pub done_by: String,
    /// Who looked it over, as typed; empty for nobody.
    pub seen_by: String,
    /// A remark; when given up, why.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl ProcedureClosed {
    pub(super) fn fields(&self) -> Fields<'_> {
        let end: u64 = match self.end {
            ProcedureEnd::Completed => 1,
            ProcedureEnd::Abandoned => 2,
        };
        Fields::new()
            .put(0, self.procedure)
            .put(1, self.station.as_str())
            .put(2, end)
            .put_text(3, &self.done_by)
            .put_text(4, &self.seen_by)
            .put_text(5, &self.note)
            .put(6, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            procedure: reader.need(0, ReadExt::reference)?,
            station: reader.need(1, read_code)?,
            end: reader.need(2, |reader| match reader.uint()? {
                1 => Ok(ProcedureEnd::Completed),
                2 => Ok(ProcedureEnd::Abandoned),
                _ => Err(BodyError::field("end", "neither completed nor given up")),
            })?,
            done_by: reader.maybe_text(3, "done by")?,
            seen_by: reader.maybe_text(4, "seen by")?,
            note: reader.maybe_text(5, "note")?,
            utc_offset_minutes: reader.need(6, read_utc_offset)?,
        })
    }
}

/// Reads a code of a closed list.
fn listed<T>(
    reader: &mut Reader<'_>,
    field: &'static str,
    find: impl Fn(&str) -> Option<T>,
) -> BodyResult<T> {
    find(reader.text()?).ok_or(BodyError::field(field, "not on the list"))
}

fn reason_fields(reason: &Reason) -> Fields<'_> {
    Fields::new()
        .put(0, reason.code.code())
        .put_text(1, &reason.note)
}

fn read_reason(reader: &mut Reader<'_>) -> BodyResult<Reason> {
    in_map(reader, |reader| {
        Ok(Reason {
            code: reader.need(0, |reader| listed(reader, "reason", ReasonCode::from_code))?,
            note: reader.maybe_text(1, "note")?,
        })
    })
}

fn measured_value<'a>(measured: &Measured) -> Value<'a> {
    let value = match measured.value {
        Measure::Pressure(typed) => typed.into(),
        Measure::Turns(turns) => turns.into(),
        Measure::Count(count) => count.into(),
        Measure::DrawOff(flow) => flow.code().into(),
        Measure::Air(air) => air.code().into(),
        Measure::Dirt(dirt) => dirt.code().into(),
        Measure::Inside(inside) => inside.code().into(),
    };
    Value::List(vec![measured.code.code().into(), value])
}

fn read_measured(reader: &mut Reader<'_>) -> BodyResult<Measured> {
    if reader.array()? != 2 {
        return Err(BodyError::field("measured", "not what and its value"));
    }
    let code = listed(reader, "measure", MeasureCode::from_code)?;
    let value = match code.measurand() {
        Measurand::Pressure => Measure::Pressure(reader.typed()?),
        Measurand::Turns => Measure::Turns(reader.decimal()?),
        Measurand::Count => Measure::Count(reader.uint32("count")?),
        Measurand::DrawOff => Measure::DrawOff(listed(reader, "draw-off", DrawOff::from_code)?),
        Measurand::Air => Measure::Air(listed(reader, "air", Air::from_code)?),
        Measurand::Dirt => Measure::Dirt(listed(reader, "dirt", Dirt::from_code)?),
        Measurand::Inside => Measure::Inside(listed(reader, "inside", Inside::from_code)?),
    };
    reader.end()?;
    Ok(Measured { code, value })
}

fn point_value<'a>(point: &Point) -> Value<'a> {
    let steadiness = match point.steadiness {
        Steadiness::NotNoted => None,
        noted => Some(noted.code()),
    };
    Value::Map(
        Fields::new()
            .put(0, point.turns)
            .put(1, point.pressure)
            .put(2, point.draw_off.code())
            .put_some(3, steadiness)
            .put_some(4, point.interstage),
    )
}

fn read_point(reader: &mut Reader<'_>) -> BodyResult<Point> {
    in_map(reader, |reader| {
        Ok(Point {
            turns: reader.need(0, |reader| Ok(reader.decimal()?))?,
            pressure: reader.need(1, ReadExt::typed)?,
            draw_off: reader.need(2, |reader| listed(reader, "draw-off", DrawOff::from_code))?,
            steadiness: reader
                .maybe(3, |reader| {
                    listed(reader, "steadiness", Steadiness::from_code)
                })?
                .unwrap_or_default(),
            interstage: reader.maybe(4, ReadExt::typed)?,
        })
    })
}

fn figure_value(figure: &ShownFigure) -> Value<'_> {
    Value::List(vec![
        figure.code.as_str().into(),
        Value::Uint(figure.level.number()),
    ])
}

fn read_figure(reader: &mut Reader<'_>) -> BodyResult<ShownFigure> {
    if reader.array()? != 2 {
        return Err(BodyError::field("figure", "not code and level"));
    }
    let code = reader.text()?.to_owned();
    let level =
        Level::from_number(reader.uint()?).ok_or(BodyError::field("level", "not on the list"))?;
    reader.end()?;
    Ok(ShownFigure { code, level })
}
