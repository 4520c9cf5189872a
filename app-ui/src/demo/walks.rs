//! Who walks where on the day, and what is met there.

use winze_core::station::Quantity;
use winze_core::units::Typed;
use winze_core::verdict::Entry;

use super::mine::{Mine, MineStation};
use super::operator::{Act, Visit};
use super::team::Stop;
use super::unexpected;
use crate::messages::UserMessage;

/// The station two tablets read differently, from 1 in walking order.
pub const DISPUTED: usize = 7;
/// The station that is passed by because the way is closed.
const PASSED_BY: usize = 2;
/// Where the look-round finds something.
pub const LEAKING: usize = 4;
/// Where the outlet creeps up, and the operator looks whether somebody turned the screw.
pub const CREEPING: usize = 3;
/// Where the decimal point is forgotten at first.
const SLIP: usize = 12;
/// The reading that the bad stick loses, with what stands next to it.
pub const LOST: usize = 9;
/// Stations the visitor reads.
pub const VISITED: [usize; 2] = [2, 10];

impl Mine {
    fn stop(
        &self,
        number: usize,
        act: impl FnOnce(&MineStation) -> Act,
    ) -> Result<Stop, UserMessage> {
        let station = self.number(number);
        let station = station.ok_or_else(|| unexpected("a station is not there"))?;
        Ok((station.station.code.clone(), act(station)))
    }

    /// An ordinary visit.
    pub(super) fn plain(&self, number: usize) -> Result<Stop, UserMessage> {
        self.stop(number, |station| Act::Read(Visit::plain(station.today)))
    }

    /// Tablet A walks the upper levels and one station of the lower ones, which it misreads.
    pub(super) fn stops_of_a(&self) -> Result<Vec<Stop>, UserMessage> {
        let mut stops = Vec::new();
        for number in 1..DISPUTED {
            stops.push(match number {
                PASSED_BY => self.stop(number, |_| Act::Skip {
                    reason: "no-access",
                    note: "crosscut barred, rock being cleared",
                })?,
                CREEPING => self.stop(number, |station| {
                    Act::Read(Visit {
                        checks: &[("look-at-screw", false)],
                        ..Visit::plain(station.today)
                    })
                })?,
                LEAKING => self.stop(number, |station| {
                    Act::Read(Visit {
                        ticks: &["leak"],
                        note: "gland of the downstream valve drips",
                        ..Visit::plain(station.today)
                    })
                })?,
                _ => self.plain(number)?,
            });
        }
        stops.push(self.stop(DISPUTED, |station| {
            Act::Read(Visit::plain(misread(&station.today)))
        })?);
        Ok(stops)
    }

    /// Tablet B walks the lower levels.
    pub(super) fn stops_of_b(&self) -> Result<Vec<Stop>, UserMessage> {
        (DISPUTED..=self.stations.len())
            .map(|number| {
                self.stop(number, |station| {
                    Act::Read(Visit {
                        forgets_point: number == SLIP,
                        ..Visit::plain(station.today)
                    })
                })
            })
            .collect()
    }

    /// The visitor walks where it likes.
    pub(super) fn stops_of_visitor(&self) -> Result<Vec<Stop>, UserMessage> {
        VISITED
            .into_iter()
            .map(|number| self.plain(number))
            .collect()
    }
}

/// The outlet read two tenths of a bar too high: more than the dial allows, less than a slip.
fn misread(entry: &Entry) -> Entry {
    let outlet = entry.outlet.map(|value| {
        let digits = value.digits;
        let places = u32::from(digits.exponent.unsigned_abs());
        let more = 2 * 10_i64.pow(places.saturating_sub(1));
        Typed::of(digits.mantissa + more, digits.exponent, value.unit)
    });
    entry.with(Quantity::Outlet, outlet)
}
