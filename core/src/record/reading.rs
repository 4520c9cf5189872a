//! The body of a reading: the three gauges of one visit exactly as typed, and what was shown and
//! asked when they were.

use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::round::{read_code, read_utc_offset};
use super::wire::{Fields, ReadExt, Value, in_map};
use super::{BodyError, BodyResult, Shown};
use crate::slips::Doubt;
use crate::station::{Quantity, StationCode};
use crate::verdict::{Entry, FlowState};

/// Something noticed on the look-round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tick {
    /// Water where it should not be.
    Leak,
    /// Something broken or corroded.
    Damage,
    /// Noise or shaking.
    Noise,
    /// Water standing in the chamber.
    Flooding,
    /// The way in is obstructed.
    Access,
}

impl Tick {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 5] = [
        Self::Leak,
        Self::Damage,
        Self::Noise,
        Self::Flooding,
        Self::Access,
    ];

    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Leak => "leak",
            Self::Damage => "damage",
            Self::Noise => "noise",
            Self::Flooding => "flooding",
            Self::Access => "access",
        }
    }

    const fn bit(self) -> u64 {
        match self {
            Self::Leak => 1,
            Self::Damage => 2,
            Self::Noise => 4,
            Self::Flooding => 8,
            Self::Access => 16,
        }
    }
}

/// What was noticed on the look-round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Ticks(u64);

impl Ticks {
    /// Nothing noticed.
    pub const NONE: Self = Self(0);

    /// The same, with one more.
    #[must_use]
    pub const fn with(self, tick: Tick) -> Self {
        Self(self.0 | tick.bit())
    }

    /// The same, with one changed to its opposite.
    #[must_use]
    pub const fn toggled(self, tick: Tick) -> Self {
        Self(self.0 ^ tick.bit())
    }

    /// Says whether this was noticed.
    #[must_use]
    pub const fn has(self, tick: Tick) -> bool {
        self.0 & tick.bit() != 0
    }

    /// Says whether anything was noticed.
    #[must_use]
    pub const fn any(self) -> bool {
        self.0 != 0
    }

    /// Lists what was noticed, in the order in which they are offered.
    pub fn iter(self) -> impl Iterator<Item = Tick> {
        Tick::ALL.into_iter().filter(move |tick| self.has(*tick))
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        match reader.uint()? {
            bits @ 1..=31 => Ok(Self(bits)),
            _ => Err(BodyError::field("ticks", "none, or unknown ones")),
        }
    }
}

/// What the operator said to a doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DoubtReply {
    /// It is as typed.
    AsTyped,
    /// The likely value was meant, and is what the reading holds.
    Likely,
    /// It was typed anew, and the new value is what the reading holds.
    TypedAnew,
}

impl DoubtReply {
    const ALL: [Self; 3] = [Self::AsTyped, Self::Likely, Self::TypedAnew];

    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::AsTyped => "as-typed",
            Self::Likely => "likely",
            Self::TypedAnew => "typed-anew",
        }
    }

    const fn number(self) -> u64 {
        match self {
            Self::AsTyped => 1,
            Self::Likely => 2,
            Self::TypedAnew => 3,
        }
    }
}

/// A doubt that was put to the operator, and the reply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedDoubt {
    /// Stable code of the doubt.
    pub code: String,
    /// The gauge in doubt, if it was one.
    pub quantity: Option<Quantity>,
    /// What had been typed when the doubt was put.
    pub typed: Entry,
    /// What was offered as likely meant.
    pub likely: Option<Entry>,
    /// What the operator said.
    pub reply: DoubtReply,
}

impl AskedDoubt {
    /// What is to be kept of a doubt that was put about `typed`.
    #[must_use]
    pub fn of(doubt: &Doubt, typed: Entry, reply: DoubtReply) -> Self {
        Self {
            code: doubt.kind.code().to_owned(),
            quantity: doubt.quantity,
            typed,
            likely: doubt.likely,
            reply,
        }
    }

    fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.code.as_str())
            .put_some(1, self.quantity.map(quantity_number))
            .put(2, entry_fields(&self.typed))
            .put_some(3, self.likely.as_ref().map(entry_fields))
            .put(4, self.reply.number())
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            code: reader.need(0, |reader| Ok(reader.text()?.to_owned()))?,
            quantity: reader.maybe(1, read_quantity)?,
            typed: reader.need(2, |reader| in_map(reader, read_entry))?,
            likely: reader.maybe(3, |reader| in_map(reader, read_entry))?,
            reply: reader.need(4, |reader| {
                let number = reader.uint()?;
                DoubtReply::ALL
                    .into_iter()
                    .find(|reply| reply.number() == number)
                    .ok_or(BodyError::field("reply", "not on the list"))
            })?,
        })
    }
}

/// Where a reading comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Source {
    /// Confirmed on the spot: taken when the record was made.
    #[default]
    OnTheSpot,
    /// Loaded from an old sheet.
    Sheet {
        /// When the sheet says it was taken, milliseconds since 1970-01-01T00:00:00Z.
        taken_ms: i64,
        /// SHA-256 of the row, so that loading the sheet again adds nothing.
        row: [u8; 32],
    },
}

/// A reading of one station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The station.
    pub station: StationCode,
    /// The definition it was judged against and that was shown.
    pub revision: RecordRef,
    /// The round it was taken on, if on one.
    pub round: Option<RecordRef>,
    /// The gauges as typed.
    pub entry: Entry,
    /// What was noticed on the look-round.
    pub ticks: Ticks,
    /// A free note.
    pub note: String,
    /// The doubts that were put, in order.
    pub doubts: Vec<AskedDoubt>,
    /// The verdicts shown.
    pub shown: Shown,
    /// Where it comes from.
    pub source: Source,
    /// How far local time was ahead of UTC, minutes, where known.
    pub utc_offset_minutes: Option<i16>,
}

impl Reading {
    pub(super) fn fields(&self) -> Fields<'_> {
        let doubts = self
            .doubts
            .iter()
            .map(|doubt| Value::Map(doubt.fields()))
            .collect();
        let (taken_ms, row) = match &self.source {
            Source::OnTheSpot => (None, None),
            Source::Sheet { taken_ms, row } => (Some(*taken_ms), Some(row)),
        };
        Fields::new()
            .put(0, self.station.as_str())
            .put(1, self.revision)
            .put_some(2, self.round)
            .put(3, entry_fields(&self.entry))
            .put_some(4, self.ticks.any().then_some(self.ticks.0))
            .put_text(5, &self.note)
            .put_list(6, doubts)
            .put_map(7, self.shown.fields())
            .put_some(8, taken_ms)
            .put_some(9, row)
            .put_some(10, self.utc_offset_minutes.map(i32::from))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            station: reader.need(0, read_code)?,
            revision: reader.need(1, ReadExt::reference)?,
            round: reader.maybe(2, ReadExt::reference)?,
            entry: reader.need(3, |reader| in_map(reader, read_entry))?,
            ticks: reader.maybe(4, Ticks::read)?.unwrap_or_default(),
            note: reader.maybe_text(5, "note")?,
            doubts: reader.maybe_list(6, "doubts", |reader| in_map(reader, AskedDoubt::read))?,
            shown: reader
                .maybe(7, |reader| in_map(reader, Shown::read))?
                .unwrap_or_default(),
            source: match (
                reader.maybe(8, |reader| Ok(reader.int()?))?,
                reader.maybe(9, |reader| Ok(reader.fixed_bytes()?))?,
            ) {
                (None, None) => Source::OnTheSpot,
                (Some(taken_ms), Some(row)) => Source::Sheet { taken_ms, row },
                _ => {
                    return Err(BodyError::field(
                        "source",
                        "time and row of a sheet go together",
                    ));
                }
            },
            utc_offset_minutes: reader.maybe(10, read_utc_offset)?,
        })
    }

    /// When the gauges were read, given the wall time of the record.
    ///
    /// # Units
    /// Milliseconds since 1970-01-01T00:00:00Z.
    #[must_use]
    pub const fn taken_ms(&self, record_wall_ms: i64) -> i64 {
        match self.source {
            Source::OnTheSpot => record_wall_ms,
            Source::Sheet { taken_ms, .. } => taken_ms,
        }
    }
}

pub(super) const fn quantity_number(quantity: Quantity) -> u64 {
    match quantity {
        Quantity::Inlet => 1,
        Quantity::Interstage => 2,
        Quantity::Outlet => 3,
    }
}

fn read_quantity(reader: &mut Reader<'_>) -> BodyResult<Quantity> {
    match reader.uint()? {
        1 => Ok(Quantity::Inlet),
        2 => Ok(Quantity::Interstage),
        3 => Ok(Quantity::Outlet),
        _ => Err(BodyError::field("quantity", "not one of the three gauges")),
    }
}

/// The gauges as typed: 1 to 3 in flow order, 0 the flow unless not noted.
pub(super) fn entry_fields<'a>(entry: &Entry) -> Fields<'a> {
    let flow: Option<u64> = match entry.flow {
        FlowState::NotNoted => None,
        FlowState::Still => Some(1),
        FlowState::Flowing => Some(2),
    };
    Fields::new()
        .put_some(0, flow)
        .put_some(1, entry.inlet)
        .put_some(2, entry.interstage)
        .put_some(3, entry.outlet)
}

pub(super) fn read_entry(reader: &mut Reader<'_>) -> BodyResult<Entry> {
    let flow = reader.maybe(0, |reader| match reader.uint()? {
        1 => Ok(FlowState::Still),
        2 => Ok(FlowState::Flowing),
        _ => Err(BodyError::field("flow", "neither still nor flowing")),
    })?;
    Ok(Entry {
        inlet: reader.maybe(1, ReadExt::typed)?,
        interstage: reader.maybe(2, ReadExt::typed)?,
        outlet: reader.maybe(3, ReadExt::typed)?,
        flow: flow.unwrap_or(FlowState::NotNoted),
    })
}
