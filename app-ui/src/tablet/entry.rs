//! What is being entered at one station: digits, flow, look-round, note, and the doubts that
//! were put. Knows no logbook and no window.

use winze_core::record::{AskedDoubt, DoubtReply, Tick, Ticks};
use winze_core::slips::{Answered, Doubt, PastReading, first_doubt, parse_entry};
use winze_core::station::{Quantity, Station};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{Entry, FlowState, Judgement, judge};
use winze_sync_format::Decimal;

use super::digits::after_key;

#[cfg(test)]
mod tests;

/// A value under entry: the digits and the unit they are meant in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// Digits so far; empty where nothing was typed.
    pub text: String,
    /// The dial's unit, unless the operator said that another was meant.
    pub unit: Unit,
}

/// The entry at one station.
#[derive(Debug, Clone)]
pub struct StationEntry {
    station: Station,
    past: Vec<PastReading>,
    cells: [Cell; 3],
    chosen: Quantity,
    /// Whether the next digit starts the value anew, as after choosing a gauge.
    is_fresh: bool,
    flow: FlowState,
    ticks: Ticks,
    note: String,
    asked: Vec<AskedDoubt>,
    answered: Vec<Answered>,
}

impl StationEntry {
    /// Starts an empty entry. `past` are earlier visits, oldest first, for the checks at entry.
    #[must_use]
    pub fn new(station: Station, past: Vec<PastReading>) -> Self {
        let cells = Quantity::ALL.map(|quantity| Cell {
            text: String::new(),
            unit: station.gauge(quantity).unit(),
        });
        Self {
            station,
            past,
            cells,
            chosen: Quantity::Inlet,
            is_fresh: false,
            flow: FlowState::NotNoted,
            ticks: Ticks::NONE,
            note: String::new(),
            asked: Vec::new(),
            answered: Vec::new(),
        }
    }

    /// The definition the entry is judged against.
    #[must_use]
    pub fn station(&self) -> &Station {
        &self.station
    }

    /// The digits of one gauge.
    #[must_use]
    pub fn cell(&self, quantity: Quantity) -> &Cell {
        &self.cells[quantity.index()]
    }

    /// The gauge that keys go to.
    #[must_use]
    pub fn chosen(&self) -> Quantity {
        self.chosen
    }

    /// What was noted of the flow.
    #[must_use]
    pub fn flow(&self) -> FlowState {
        self.flow
    }

    /// What was noticed on the look-round.
    #[must_use]
    pub fn ticks(&self) -> Ticks {
        self.ticks
    }

    /// The note.
    #[must_use]
    pub fn note(&self) -> &str {
        &self.note
    }

    /// The doubts that were put, with the replies.
    #[must_use]
    pub fn asked(&self) -> &[AskedDoubt] {
        &self.asked
    }

    /// Whether anything at all was entered.
    #[must_use]
    pub fn is_untouched(&self) -> bool {
        self.cells.iter().all(|cell| cell.text.is_empty())
            && self.flow == FlowState::NotNoted
            && !self.ticks.any()
            && self.note.is_empty()
    }

    /// What the digits of one gauge mean; `None` while they mean no number.
    #[must_use]
    pub fn value(&self, quantity: Quantity) -> Option<Typed> {
        let cell = self.cell(quantity);
        let digits = parse_entry(&cell.text).ok()?;
        Some(Typed::new(digits, cell.unit))
    }

    /// The three gauges as far as they mean numbers.
    #[must_use]
    pub fn entry(&self) -> Entry {
        let entry = Entry {
            flow: self.flow,
            ..Entry::default()
        };
        Quantity::ALL.into_iter().fold(entry, |entry, quantity| {
            entry.with(quantity, self.value(quantity))
        })
    }

    /// The verdicts on what is typed so far.
    #[must_use]
    pub fn judgement(&self) -> Judgement {
        judge(&self.station, &self.entry())
    }

    /// The one question worth asking before this entry is read back.
    #[must_use]
    pub fn doubt(&self) -> Option<Doubt> {
        first_doubt(&self.station, &self.past, &self.entry(), &self.answered)
    }

    /// Sends keys to a gauge.
    pub fn choose(&mut self, quantity: Quantity) {
        self.chosen = quantity;
        self.is_fresh = true;
    }

    /// The next gauge in flow order that has no value; the next one if all have.
    #[must_use]
    pub fn next_gauge(&self) -> Quantity {
        let after = (1..=3).map(|step| Quantity::ALL[(self.chosen.index() + step) % 3]);
        let empty = after
            .clone()
            .find(|quantity| self.cell(*quantity).text.is_empty());
        empty
            .or_else(|| after.clone().next())
            .unwrap_or(self.chosen)
    }

    /// Sends keys to the next gauge.
    pub fn next(&mut self) {
        self.choose(self.next_gauge());
    }

    /// Takes a digit or the decimal point for the chosen gauge; anything else is ignored.
    pub fn key(&mut self, key: char) {
        let before = if self.is_fresh {
            ""
        } else {
            &self.cell(self.chosen).text
        };
        if let Some(text) = after_key(before, key) {
            self.put(self.chosen, text, None);
        }
    }

    /// Takes the last character of the chosen gauge away.
    pub fn erase(&mut self) {
        let mut text = self.cell(self.chosen).text.clone();
        text.pop();
        self.put(self.chosen, text, None);
    }

    /// Takes a touch on a dial's scale: 0 at its low end, 1 at its high end. The value is the
    /// nearest fifth of a division, which is as fine as people read a needle.
    pub fn touch_dial(&mut self, quantity: Quantity, fraction: f64) {
        self.chosen = quantity;
        let gauge = self.station.gauge(quantity);
        let low = gauge.low.value_in(gauge.unit());
        let value = low + fraction.clamp(0.0, 1.0) * (gauge.high.value() - low);
        if let Some(steps) = self.steps_of(quantity, value) {
            self.put_steps(quantity, steps);
        }
        self.is_fresh = true;
    }

    /// Moves the chosen gauge's value by fifths of a division, staying on the dial. Without a
    /// value there is nothing to move.
    pub fn nudge(&mut self, by: i64) {
        let quantity = self.chosen;
        let gauge = self.station.gauge(quantity);
        let Some(value) = self
            .value(quantity)
            .map(|value| value.value_in(gauge.unit()))
        else {
            return;
        };
        let ends = (gauge.low.value_in(gauge.unit()), gauge.high.value());
        let steps = self.steps_of(quantity, value).map(|steps| steps + by);
        let low = self.steps_of(quantity, ends.0);
        let high = self.steps_of(quantity, ends.1);
        if let (Some(steps), Some(low), Some(high)) = (steps, low, high) {
            // A value off the dial is moved towards it, not onto it.
            let steps = if by < 0 {
                steps.max(low)
            } else {
                steps.min(high)
            };
            self.put_steps(quantity, steps);
        }
        self.is_fresh = true;
    }

    /// One step of [`Self::nudge`] as the dial would show it; empty for a dial without divisions.
    #[must_use]
    pub fn nudge_step(&self) -> String {
        let step = fifth(self.station.gauge(self.chosen).division);
        match trimmed(step) {
            step if step.mantissa > 0 => step.to_string(),
            _ => String::new(),
        }
    }

    /// Notes whether water flows; noting the same again takes it back.
    pub fn toggle_flow(&mut self, flow: FlowState) {
        self.flow = if self.flow == flow {
            FlowState::NotNoted
        } else {
            flow
        };
    }

    /// Ticks or unticks something on the look-round.
    pub fn toggle_tick(&mut self, tick: Tick) {
        self.ticks = self.ticks.toggled(tick);
    }

    /// Replaces the note.
    pub fn set_note(&mut self, note: &str) {
        note.trim().clone_into(&mut self.note);
    }

    /// Takes the reply to `doubt`, which was put about the entry as it stands. `likely` is the
    /// entry the operator chose instead, for [`DoubtReply::Likely`].
    pub fn answer(&mut self, doubt: &Doubt, reply: DoubtReply, likely: Option<Entry>) {
        self.asked.push(AskedDoubt {
            code: doubt.kind.code().to_owned(),
            quantity: doubt.quantity,
            typed: self.entry(),
            likely: doubt.likely,
            reply,
        });
        match reply {
            DoubtReply::AsTyped => self.answered.push(doubt.stands()),
            DoubtReply::Likely => {
                let meant = likely.or(doubt.likely);
                for quantity in Quantity::ALL {
                    let value = meant.and_then(|meant| meant.get(quantity));
                    if let Some(value) = value
                        && Some(value) != self.value(quantity)
                    {
                        self.put(quantity, value.digits.to_string(), Some(value.unit));
                    }
                }
            }
            DoubtReply::TypedAnew => self.choose(doubt.quantity.unwrap_or(Quantity::Inlet)),
        }
    }

    /// Puts the values of a saved reading on the gauges, to be corrected.
    pub fn fill(&mut self, saved: &Entry) {
        for quantity in Quantity::ALL {
            if let Some(value) = saved.get(quantity) {
                self.put(quantity, value.digits.to_string(), Some(value.unit));
            }
        }
        self.flow = saved.flow;
        self.is_fresh = true;
    }

    fn put(&mut self, quantity: Quantity, text: String, unit: Option<Unit>) {
        let unit = unit.unwrap_or_else(|| self.station.gauge(quantity).unit());
        self.cells[quantity.index()] = Cell { text, unit };
        self.is_fresh = false;
        // What stood for the value before does not stand for another.
        self.answered
            .retain(|answer| answer.quantity.is_some_and(|about| about != quantity));
    }

    fn put_steps(&mut self, quantity: Quantity, steps: i64) {
        let gauge = self.station.gauge(quantity);
        let step = fifth(gauge.division);
        let value = Decimal {
            mantissa: steps.saturating_mul(step.mantissa),
            exponent: step.exponent,
        };
        let places = trimmed(step).places();
        let exact = i8::try_from(places)
            .ok()
            .and_then(|places| value.at_exponent(-places))
            .and_then(|mantissa| i64::try_from(mantissa).ok());
        let text = match exact {
            Some(mantissa) => Decimal {
                mantissa,
                exponent: -i8::try_from(places).unwrap_or(0),
            },
            None => value,
        };
        self.put(quantity, text.to_string(), None);
    }

    /// How many fifths of a division a value on the dial is; `None` for a dial without divisions.
    #[allow(
        clippy::cast_possible_truncation,
        reason = "clamped to a range that i64 holds"
    )]
    fn steps_of(&self, quantity: Quantity, value: f64) -> Option<i64> {
        let step = fifth(self.station.gauge(quantity).division).to_f64();
        (step > 0.0 && value.is_finite()).then(|| (value / step).round().clamp(-1e9, 1e9) as i64)
    }

    pub(super) fn restore(&mut self, cells: [Cell; 3], rest: Restored) {
        self.cells = cells;
        self.chosen = rest.chosen;
        self.flow = rest.flow;
        self.ticks = rest.ticks;
        self.note = rest.note;
        self.asked = rest.asked;
        self.is_fresh = true;
    }
}

/// What a draft brings back besides the digits.
pub(super) struct Restored {
    pub(super) chosen: Quantity,
    pub(super) flow: FlowState,
    pub(super) ticks: Ticks,
    pub(super) note: String,
    pub(super) asked: Vec<AskedDoubt>,
}

/// A fifth of a division, exactly.
fn fifth(division: Decimal) -> Decimal {
    Decimal {
        mantissa: division.mantissa.saturating_mul(2),
        exponent: division.exponent.saturating_sub(1),
    }
}

/// The same value without trailing zeros behind the point.
fn trimmed(mut value: Decimal) -> Decimal {
    while value.exponent < 0 && value.mantissa != 0 && value.mantissa % 10 == 0 {
        value.mantissa /= 10;
        value.exponent += 1;
    }
    value
}
