//! The verdicts as they were shown, kept in a record for good.
//!
//! A later program may judge the same values otherwise; what the operator saw stays.

use winze_sync_format::canonical::Reader;

use super::wire::{Fields, ReadExt, Value};
use super::{BodyError, BodyResult};
use crate::station::Quantity;
use crate::verdict::{Judged, Judgement, StationState, Verdict};

/// One verdict as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ShownVerdict {
    /// What was said.
    pub verdict: Verdict,
    /// Lower end of the band, pascals at the station datum.
    pub low_pa: i64,
    /// Upper end of the band, pascals at the station datum.
    pub high_pa: i64,
    /// The probability that the true value lies in the band, in millionths.
    pub probability_millionths: u32,
}

/// The verdicts on one visit as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Shown {
    /// How the second stage stood.
    pub state: StationState,
    /// The inlet, if it was read and anything could be expected.
    pub inlet: Option<ShownVerdict>,
    /// Between the stages, likewise.
    pub interstage: Option<ShownVerdict>,
    /// The outlet, likewise.
    pub outlet: Option<ShownVerdict>,
}

impl Default for Shown {
    fn default() -> Self {
        Self {
            state: StationState::Normal,
            inlet: None,
            interstage: None,
            outlet: None,
        }
    }
}

impl Shown {
    /// What is to be kept of a judgement.
    #[must_use]
    pub fn of(judgement: &Judgement) -> Self {
        Self {
            state: judgement.state,
            inlet: judgement.inlet.as_ref().map(ShownVerdict::of),
            interstage: judgement.interstage.as_ref().map(ShownVerdict::of),
            outlet: judgement.outlet.as_ref().map(ShownVerdict::of),
        }
    }

    /// The verdict on one gauge.
    #[must_use]
    pub const fn get(&self, quantity: Quantity) -> Option<ShownVerdict> {
        match quantity {
            Quantity::Inlet => self.inlet,
            Quantity::Interstage => self.interstage,
            Quantity::Outlet => self.outlet,
        }
    }

    /// The worst verdict; none when nothing could be judged.
    #[must_use]
    pub fn worst(&self) -> Option<Verdict> {
        [self.inlet, self.interstage, self.outlet]
            .into_iter()
            .flatten()
            .map(|shown| shown.verdict)
            .max()
    }

    pub(super) fn fields<'a>(&self) -> Fields<'a> {
        let state: Option<u64> = match self.state {
            StationState::Normal => None,
            StationState::Starved => Some(1),
            StationState::LockUp => Some(2),
        };
        Fields::new()
            .put_some(0, state)
            .put_some(1, self.inlet.map(ShownVerdict::value))
            .put_some(2, self.interstage.map(ShownVerdict::value))
            .put_some(3, self.outlet.map(ShownVerdict::value))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let state = reader.maybe(0, |reader| match reader.uint()? {
            1 => Ok(StationState::Starved),
            2 => Ok(StationState::LockUp),
            _ => Err(BodyError::field("state", "not one that is written")),
        })?;
        Ok(Self {
            state: state.unwrap_or(StationState::Normal),
            inlet: reader.maybe(1, ShownVerdict::read)?,
            interstage: reader.maybe(2, ShownVerdict::read)?,
            outlet: reader.maybe(3, ShownVerdict::read)?,
        })
    }
}

impl ShownVerdict {
    /// What is to be kept of one judged pressure.
    #[must_use]
    pub fn of(judged: &Judged) -> Self {
        Self {
            verdict: judged.verdict,
            low_pa: judged.expectation.low.pa(),
            high_pa: judged.expectation.high.pa(),
            probability_millionths: millionths(judged.probability),
        }
    }

    fn value<'a>(self) -> Value<'a> {
        Value::List(vec![
            Value::Uint(self.verdict.number()),
            Value::Int(self.low_pa),
            Value::Int(self.high_pa),
            Value::Uint(u64::from(self.probability_millionths)),
        ])
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        if reader.array()? != 4 {
            return Err(BodyError::field(
                "shown",
                "not verdict, band and probability",
            ));
        }
        let verdict = Verdict::from_number(reader.uint()?)
            .ok_or(BodyError::field("verdict", "not on the list"))?;
        let (low_pa, high_pa) = (reader.int()?, reader.int()?);
        let probability_millionths = reader.uint32("probability")?;
        if probability_millionths > 1_000_000 {
            return Err(BodyError::field("probability", "above one"));
        }
        reader.end()?;
        Ok(Self {
            verdict,
            low_pa,
            high_pa,
            probability_millionths,
        })
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the value is brought within 0 to 1,000,000 before the conversion"
)]
fn millionths(probability: f64) -> u32 {
    // A probability that is not a number would convert to 0, "certainly outside"; there is none,
    // since the rules never answer one.
    (probability.clamp(0.0, 1.0) * 1.0e6).round() as u32
}
