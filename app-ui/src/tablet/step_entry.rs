//! What is being entered at one step of a procedure: ticks, values, choices, a turn of the screw.
//! Knows no logbook and no window.

use std::collections::BTreeMap;

use winze_core::calibration::{DrawOff, HandTurns, Point, Steadiness};
use winze_core::procedures::{
    Act, Air, Branch, Dirt, Inside, Measurand, MeasureCode, Measured, Step, StepCode, TickCode,
    Value, flow_state,
};
use winze_core::slips::PastReading;
use winze_core::station::{Quantity, Station};
use winze_core::units::{Typed, Unit};
use winze_sync_format::Decimal;

use super::digits::Digits;
use super::entry::StationEntry;

/// How many thirty-seconds one entry of turns goes to at most: more than any hand turns at once.
const TURNED_MOST: i32 = 40 * 32;

/// The entry at one step.
#[derive(Debug, Clone)]
pub struct StepEntry {
    step: &'static Step,
    /// Keeps a step from being recorded twice.
    pub nonce: [u8; 8],
    /// The dials, at a step that reads the gauges.
    pub gauges: Option<StationEntry>,
    /// Pressures and turns that are typed, in the step's order.
    pub numbers: Vec<(MeasureCode, Digits)>,
    /// Which of the numbers the keys go to.
    pub chosen: usize,
    /// What is chosen from short lists, by code.
    pub picked: BTreeMap<MeasureCode, String>,
    /// What is ticked.
    pub ticks: Vec<TickCode>,
    /// Whether the step is said to be done, or looked at, where nothing is ticked or measured.
    pub is_said: bool,
    /// The way on, at a choice.
    pub branch: Option<Branch>,
    /// A free note.
    pub note: String,
    /// How far the screw was turned since the last reading; `None` until somebody says.
    pub turned: Option<HandTurns>,
    /// Whether the needle stands.
    pub steadiness: Steadiness,
}

impl StepEntry {
    /// Starts an empty entry. `past` are earlier visits, oldest first, for the checks at entry.
    #[must_use]
    pub fn new(
        step: &'static Step,
        station: &Station,
        past: Vec<PastReading>,
        nonce: [u8; 8],
    ) -> Self {
        let gauges = step
            .reads_gauges()
            .then(|| StationEntry::new(station.clone(), past));
        let outlet = station.gauge(Quantity::Outlet).unit();
        let unit = |code: MeasureCode| match code {
            MeasureCode::Supply => station.gauge(Quantity::Inlet).unit(),
            _ => outlet,
        };
        let mut numbers: Vec<(MeasureCode, Digits)> = step
            .measures
            .iter()
            .map(|measure| measure.code)
            .filter(|code| gauges.is_none() || code.gauge().is_none())
            .filter(|code| matches!(code.measurand(), Measurand::Pressure | Measurand::Turns))
            .map(|code| (code, Digits::empty(unit(code))))
            .collect();
        if step.act == Act::Calibrate {
            let interstage = station.gauge(Quantity::Interstage).unit();
            numbers = vec![
                (MeasureCode::Outlet, Digits::empty(outlet)),
                (MeasureCode::Interstage, Digits::empty(interstage)),
            ];
        }
        Self {
            step,
            nonce,
            gauges,
            numbers,
            chosen: 0,
            picked: BTreeMap::new(),
            ticks: Vec::new(),
            is_said: false,
            branch: None,
            note: String::new(),
            turned: None,
            steadiness: Steadiness::NotNoted,
        }
    }

    /// The step.
    #[must_use]
    pub const fn step(&self) -> &'static Step {
        self.step
    }

    /// Whether keys of a keypad go anywhere.
    #[must_use]
    pub fn has_keypad(&self) -> bool {
        self.gauges.is_some() || !self.numbers.is_empty()
    }

    /// Whether the step is settled by saying that it was done, or looked at.
    #[must_use]
    pub const fn is_settled_by_saying(&self) -> bool {
        matches!(
            self.step.act,
            Act::Do | Act::CheckFigures | Act::TickNoticed
        )
    }

    /// What a typed number means.
    #[must_use]
    pub fn number(&self, code: MeasureCode) -> Option<Typed> {
        let mut found = self.numbers.iter().filter(|(of, _)| *of == code);
        found.next().and_then(|(_, digits)| digits.value())
    }

    /// Takes a key of the keypad.
    pub fn key(&mut self, key: char) {
        match (&mut self.gauges, self.numbers.get_mut(self.chosen)) {
            (Some(gauges), _) => gauges.key(key),
            (None, Some((_, digits))) => digits.key(key),
            (None, None) => {}
        }
    }

    /// Takes the last character away.
    pub fn erase(&mut self) {
        match (&mut self.gauges, self.numbers.get_mut(self.chosen)) {
            (Some(gauges), _) => gauges.erase(),
            (None, Some((_, digits))) => digits.erase(),
            (None, None) => {}
        }
    }

    /// Sends keys to the next value.
    pub fn next(&mut self) {
        match &mut self.gauges {
            Some(gauges) => gauges.next(),
            None => self.choose((self.chosen + 1) % self.numbers.len().max(1)),
        }
    }

    /// Sends keys to one of the typed numbers.
    pub fn choose(&mut self, index: usize) {
        if let Some((_, digits)) = self.numbers.get_mut(index) {
            digits.renew();
            self.chosen = index;
        }
    }

    /// Ticks or unticks an item of the step's list.
    pub fn toggle_tick(&mut self, tick: TickCode) {
        if !self.step.ticks.contains(&tick) {
            return;
        }
        match self.ticks.iter().position(|one| *one == tick) {
            Some(at) => {
                self.ticks.remove(at);
            }
            None => self.ticks.push(tick),
        }
        if self.step.act == Act::TickNoticed {
            self.is_said = false;
        }
    }

    /// Says, or takes back, that it was done or looked at; on a look-round that nothing is amiss.
    pub fn toggle_said(&mut self) {
        self.is_said = !self.is_said;
        if self.step.act == Act::TickNoticed {
            self.ticks.clear();
        }
    }

    /// Picks from a short list, by code; picking the same again takes it back.
    pub fn pick(&mut self, measure: MeasureCode, code: &str) {
        let is_same = self.picked.get(&measure).is_some_and(|old| old == code);
        if is_same {
            self.picked.remove(&measure);
        } else {
            self.picked.insert(measure, code.to_owned());
        }
        if let (MeasureCode::Flow, Some(gauges)) = (measure, &mut self.gauges) {
            let wanted = DrawOff::from_code(code).map(flow_state);
            if let Some(flow) = wanted
                && (gauges.flow() == flow) == is_same
            {
                gauges.toggle_flow(flow);
            }
        }
    }

    /// Moves what is said of the screw by so many thirty-seconds.
    pub fn turn(&mut self, thirty_seconds: i32) {
        let now = self.turned.map_or(0, HandTurns::thirty_seconds);
        let turned = now
            .saturating_add(thirty_seconds)
            .clamp(-TURNED_MOST, TURNED_MOST);
        self.turned = Some(HandTurns::of_thirty_seconds(turned));
    }

    /// How much water is drawn, as picked.
    #[must_use]
    pub fn draw_off(&self) -> Option<DrawOff> {
        DrawOff::from_code(self.picked.get(&MeasureCode::Flow)?)
    }

    fn value(&self, code: MeasureCode) -> Option<Value> {
        if let (Some(quantity), Some(gauges)) = (code.gauge(), &self.gauges) {
            return gauges.value(quantity).map(Value::Pressure);
        }
        let picked = || self.picked.get(&code).map(String::as_str);
        match code.measurand() {
            Measurand::Pressure => self.number(code).map(Value::Pressure),
            Measurand::Turns => self.number(code).map(|typed| Value::Turns(typed.digits)),
            Measurand::Count => picked()?.parse().ok().map(Value::Count),
            Measurand::DrawOff => DrawOff::from_code(picked()?).map(Value::DrawOff),
            Measurand::Air => Air::from_code(picked()?).map(Value::Air),
            Measurand::Dirt => Dirt::from_code(picked()?).map(Value::Dirt),
            Measurand::Inside => Inside::from_code(picked()?).map(Value::Inside),
        }
    }

    /// Everything measured so far.
    #[must_use]
    pub fn measured(&self) -> Vec<Measured> {
        let measures = self.step.measures.iter();
        measures
            .filter_map(|measure| {
                Some(Measured {
                    code: measure.code,
                    value: self.value(measure.code)?,
                })
            })
            .collect()
    }

    /// What of the step's needs is not entered yet: ticks, then measures.
    #[must_use]
    pub fn lacking(&self) -> (usize, Vec<MeasureCode>) {
        let ticks = if self.step.act == Act::TickAll {
            self.step.ticks.len() - self.ticks.len()
        } else {
            0
        };
        let needed = self
            .step
            .measures
            .iter()
            .filter(|measure| measure.is_needed);
        let missing = needed.filter(|measure| self.value(measure.code).is_none());
        (ticks, missing.map(|measure| measure.code).collect())
    }

    /// Whether all the step asks is there.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        let (ticks, measures) = self.lacking();
        ticks == 0
            && measures.is_empty()
            && match self.step.act {
                Act::Do | Act::CheckFigures => self.is_said,
                Act::TickNoticed => self.is_said || !self.ticks.is_empty(),
                Act::Choose => self.branch.is_some(),
                Act::Calibrate => false,
                // A step that only wishes for a value is done without it, once somebody says so.
                Act::Measure => self.is_said || self.step.measures.iter().any(|m| m.is_needed),
                Act::TickAll => true,
            }
    }

    /// Whether something typed has to be read back before it is recorded.
    #[must_use]
    pub fn wants_read_back(&self) -> bool {
        self.measured()
            .iter()
            .any(|one| matches!(one.value, Value::Pressure(_) | Value::Turns(_)))
    }

    /// The reading at the screw, once all of it is said; `before` are the readings so far.
    #[must_use]
    pub fn point(&self, before: &[Point]) -> Option<Point> {
        let turns = match before.last() {
            None => Decimal::whole(0),
            Some(last) => sum(last.turns, self.turned?.to_decimal())?,
        };
        Some(Point {
            turns,
            pressure: self.number(MeasureCode::Outlet)?,
            draw_off: self.draw_off()?,
            steadiness: self.steadiness,
            interstage: self.number(MeasureCode::Interstage),
        })
    }

    /// Whether anything at all was entered.
    #[must_use]
    pub fn is_untouched(&self) -> bool {
        self.gauges.as_ref().is_none_or(StationEntry::is_untouched)
            && self
                .numbers
                .iter()
                .all(|(_, digits)| digits.text.is_empty())
            && self.picked.is_empty()
            && self.ticks.is_empty()
            && !self.is_said
            && self.branch.is_none()
            && self.note.is_empty()
            && self.turned.is_none()
    }

    /// The unit a number is typed in.
    #[must_use]
    pub fn unit_of(&self, code: MeasureCode) -> Option<Unit> {
        let mut found = self.numbers.iter().filter(|(of, _)| *of == code);
        found.next().map(|(_, digits)| digits.unit)
    }

    /// The code of the step.
    #[must_use]
    pub const fn code(&self) -> StepCode {
        self.step.code
    }
}

/// Adds two numbers of turns exactly; `None` beyond what a record holds.
fn sum(one: Decimal, two: Decimal) -> Option<Decimal> {
    let exponent = one.exponent.min(two.exponent);
    let mantissa = one
        .at_exponent(exponent)?
        .checked_add(two.at_exponent(exponent)?)?;
    let mut sum = Decimal {
        mantissa: i64::try_from(mantissa).ok()?,
        exponent,
    };
    while sum.exponent < 0 && sum.mantissa % 10 == 0 {
        sum.mantissa /= 10;
        sum.exponent += 1;
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::procedures::{ProcedureCode, procedure};

    fn entry(procedure_code: ProcedureCode, code: StepCode) -> StepEntry {
        let step = procedure(procedure_code).step(code).expect("a step of it");
        StepEntry::new(step, &samples::station(), Vec::new(), [1; 8])
    }

    #[test]
    fn nothing_is_whole_before_somebody_has_said_something() {
        for code in ProcedureCode::ALL {
            for step in procedure(*code).steps {
                let entry = StepEntry::new(step, &samples::station(), Vec::new(), [1; 8]);
                assert!(!entry.is_whole() && entry.is_untouched(), "{:?}", step.code);
            }
        }
    }

    #[test]
    fn gauges_and_draw_off_make_a_whole_reading() {
        let mut entry = entry(ProcedureCode::Recalibrate, StepCode::AsFound);
        for value in ["10.2", "4.1", "2.0"] {
            value.chars().for_each(|key| entry.key(key));
            entry.next();
        }
        assert!(!entry.is_whole(), "draw-off is not said");
        entry.pick(MeasureCode::Flow, "minimum");
        assert!(entry.is_whole());
        let gauges = entry.gauges.as_ref().expect("dials");
        assert_eq!(gauges.flow(), winze_core::verdict::FlowState::Flowing);
        entry.pick(MeasureCode::Flow, "usual");
        let gauges = entry.gauges.as_ref().expect("dials");
        assert_eq!(gauges.flow(), winze_core::verdict::FlowState::Flowing);
        assert_eq!(entry.measured().len(), 4);
        assert!(entry.wants_read_back());
    }

    #[test]
    fn turns_add_up_exactly_from_the_first_reading_on() {
        let mut entry = entry(ProcedureCode::Recalibrate, StepCode::Calibrate);
        "1.5".chars().for_each(|key| entry.key(key));
        assert_eq!(entry.point(&[]), None, "draw-off is not said");
        entry.pick(MeasureCode::Flow, "usual");
        let first = entry.point(&[]).expect("the first needs no turn");
        assert_eq!(first.turns, Decimal::whole(0));
        assert_eq!(
            entry.point(&[first]),
            None,
            "it is not said how far it was turned"
        );
        entry.turn(44);
        let second = entry.point(&[first]).expect("whole");
        assert_eq!(second.turns.to_string(), "1.375");
        entry.turn(-76);
        let third = entry.point(&[first, second]).expect("whole");
        assert_eq!(third.turns.to_string(), "0.375");
    }

    #[test]
    fn nothing_amiss_and_something_noticed_exclude_each_other() {
        let mut entry = entry(ProcedureCode::WeeklyLookRound, StepCode::Look);
        entry.toggle_said();
        assert!(entry.is_whole());
        entry.toggle_tick(TickCode::Leak);
        assert!(!entry.is_said && entry.is_whole());
        entry.toggle_said();
        assert!(entry.ticks.is_empty() && entry.is_whole());
    }
}
