//! The physics of one simulated station: true pressures, gauges with fixed errors, looks at them.
//!
//! Works in bar as plain numbers; typed values and definitions are made in `station`.
//! A plant knows no calendar: the caller says how many weeks have passed.

use winze_sync_format::Decimal;

use super::conditions::Conditions;
use super::dice::Dice;
use super::fault::{Effects, Fault};
use crate::units::Unit;

/// Usual spans in tenths of a bar: the preferred ranges of EN 837-1.
const SPANS_TENTHS_BAR: [i64; 10] = [6, 10, 16, 25, 40, 60, 100, 160, 250, 400];

/// Largest share of the span at which a gauge is chosen to work: common practice, no source.
const WORKING_SHARE: f64 = 0.68;

/// Loss of a wide open second stage at usual flow, as a share of the interstage pressure.
const OPEN_LOSS: f64 = 0.04;

/// Rise of the outlet without flow over the set point, as a share: common practice, no source.
const LOCK_UP: f64 = 0.04;

/// A simulated gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dial {
    /// Span in tenths of a bar; the scale begins at zero.
    pub span_tenths_bar: i64,
    /// Class in per cent of span.
    pub class_percent: f64,
    /// Fixed error as a share of span, inside the class.
    error_share: f64,
    /// Steps over the span that a reading can take.
    pub steps: i64,
    /// Scatter of one look, in steps.
    scatter_steps: f64,
    last_step: Option<i64>,
}

impl Dial {
    pub(super) fn draw(
        conditions: &Conditions,
        usual_bar: f64,
        class_percent: f64,
        dice: &mut Dice,
    ) -> Self {
        let span_tenths_bar = SPANS_TENTHS_BAR
            .into_iter()
            .find(|tenths| usual_bar <= WORKING_SHARE * in_bar(*tenths))
            .unwrap_or(400);
        Self {
            span_tenths_bar,
            class_percent,
            error_share: dice.between(-0.01, 0.01) * class_percent,
            steps: i64::from(conditions.divisions) * i64::from(conditions.read_parts),
            scatter_steps: conditions.reading_scatter_divisions * f64::from(conditions.read_parts),
            last_step: None,
        }
    }

    /// The span as a decimal number of bar.
    pub(super) const fn span_bar(&self) -> Decimal {
        Decimal::new(self.span_tenths_bar, -1)
    }

    /// One division as a decimal number of bar, exact because divisions divide 1000.
    pub(super) fn division_bar(&self, divisions: u32) -> Decimal {
        Decimal::new(
            self.span_tenths_bar * 1000 / i64::from(divisions.max(1)),
            -4,
        )
    }

    /// How far the needle points above the truth, bar.
    pub(super) fn fixed_error_bar(&self) -> f64 {
        self.error_share * in_bar(self.span_tenths_bar)
    }

    /// Looks at the gauge: the reading in whole steps of its scale.
    pub(super) fn look(
        &mut self,
        true_bar: f64,
        off_share: f64,
        is_stuck: bool,
        dice: &mut Dice,
    ) -> i64 {
        #[allow(clippy::cast_precision_loss, reason = "at most 1000 steps")]
        let steps = self.steps as f64;
        let share = true_bar / in_bar(self.span_tenths_bar) + self.error_share + off_share;
        let seen = share * steps + self.scatter_steps * dice.normal();
        #[allow(clippy::cast_possible_truncation, reason = "clamped to the scale")]
        let moved = seen.round().clamp(0.0, steps) as i64;
        let step = match self.last_step {
            Some(last) if is_stuck => last,
            _ => moved,
        };
        self.last_step = Some(step);
        step
    }
}

fn in_bar(tenths: i64) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "at most 400")]
    let tenths = tenths as f64;
    tenths / 10.0
}

/// One simulated station between two visits.
#[derive(Debug, Clone)]
pub(super) struct Plant {
    pub inlet_usual_bar: f64,
    pub ratio: f64,
    pub set_point_bar: f64,
    pub dials: [Dial; 3],
    true_ratio: f64,
    wander: f64,
    last_weeks: Option<f64>,
    last_inlet_bar: f64,
    conditions: Conditions,
}

/// What one visit finds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Look {
    /// Readings in steps of the three gauges, in flow order.
    pub steps: [i64; 3],
    pub is_still: bool,
}

impl Plant {
    /// Draws a station.
    pub fn draw(conditions: &Conditions, dice: &mut Dice) -> Self {
        let (low, high) = conditions.inlet_bar;
        let inlet_usual_bar = (dice.between(low, high) * 10.0).round() / 10.0;
        let ratio = dice.pick(&conditions.ratios, 2.5);
        let interstage = inlet_usual_bar / ratio;
        // The second stage takes off a third to a half, so that it stays in control.
        let set_point_bar = (interstage * dice.between(0.45, 0.65) * 10.0).round() / 10.0;
        let class = dice.pick(&conditions.gauge_classes_percent, 1.0);
        let dials = [inlet_usual_bar, interstage, set_point_bar]
            .map(|usual| Dial::draw(conditions, usual, class, dice));
        Self {
            inlet_usual_bar,
            ratio,
            set_point_bar,
            dials,
            true_ratio: ratio * (1.0 + conditions.ratio_scatter * dice.normal()),
            wander: conditions.inlet_wander * dice.normal(),
            last_weeks: None,
            last_inlet_bar: inlet_usual_bar,
            conditions: conditions.clone(),
        }
    }

    /// The unit its gauges are marked in.
    pub const fn unit(&self) -> Unit {
        self.conditions.unit
    }

    /// The plant runs on to `weeks` after the first visit and is looked at.
    pub fn visit(&mut self, weeks: f64, faults: &[Fault], dice: &mut Dice) -> Look {
        let effects = Effects::at(faults, weeks);
        let is_still = dice.happens(self.conditions.still_share);
        let pressures = self.pressures_bar(weeks, &effects, is_still, dice);
        let mut steps = [0; 3];
        for (index, dial) in self.dials.iter_mut().enumerate() {
            steps[index] = dial.look(
                pressures[index],
                effects.gauge_off[index],
                effects.gauge_stuck[index],
                dice,
            );
        }
        Look { steps, is_still }
    }

    fn pressures_bar(
        &mut self,
        weeks: f64,
        effects: &Effects,
        is_still: bool,
        dice: &mut Dice,
    ) -> [f64; 3] {
        self.wander_on(weeks, dice);
        let inlet =
            self.inlet_usual_bar * libm::exp(self.wander) * effects.supply * effects.strainer;
        let friction = self.conditions.ratio_friction * dice.normal()
            + self.sticking_share(inlet, effects.sticking, dice);
        let interstage =
            (inlet / self.true_ratio * effects.passing * (1.0 + friction)).clamp(0.0, inlet);
        let flow = if is_still {
            0.0
        } else {
            (1.0 + self.conditions.flow_variation * dice.normal()).clamp(0.1, 2.0)
        };
        let scatter = 1.0 + self.conditions.outlet_scatter * dice.normal();
        let lock_up = if is_still { LOCK_UP } else { 0.0 };
        let held = self.set_point_bar
            * effects.set_point
            * (1.0 + lock_up - self.conditions.droop * flow)
            * scatter;
        let wide_open = interstage * (1.0 - OPEN_LOSS * flow * flow).max(0.5);
        let outlet = if effects.open {
            wide_open
        } else {
            held.min(wide_open)
        };
        [inlet, interstage, outlet.max(0.0)]
    }

    /// Lets the inlet wander: an Ornstein-Uhlenbeck step over the elapsed time.
    fn wander_on(&mut self, weeks: f64, dice: &mut Dice) {
        let Some(last) = self.last_weeks.replace(weeks) else {
            return;
        };
        let kept = libm::pow(
            self.conditions.inlet_weekly_correlation,
            (weeks - last).max(0.0),
        );
        let fresh = self.conditions.inlet_wander * libm::sqrt(1.0 - kept * kept);
        self.wander = kept * self.wander + fresh * dice.normal();
    }

    /// A sticking first stage stays behind the inlet's last move.
    fn sticking_share(&mut self, inlet_bar: f64, band: f64, dice: &mut Dice) -> f64 {
        let last = std::mem::replace(&mut self.last_inlet_bar, inlet_bar);
        if band <= 0.0 {
            return 0.0;
        }
        -band * (inlet_bar - last).signum() * dice.between(0.3, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plant(seed: u64) -> (Plant, Dice) {
        let mut dice = Dice::new(seed, 0);
        (Plant::draw(&Conditions::reference(), &mut dice), dice)
    }

    #[test]
    fn gauges_work_in_the_lower_two_thirds_of_their_span() {
        for seed in 0..50 {
            let (plant, _) = plant(seed);
            for (dial, usual) in plant.dials.iter().zip([
                plant.inlet_usual_bar,
                plant.inlet_usual_bar / plant.ratio,
                plant.set_point_bar,
            ]) {
                let share = usual / in_bar(dial.span_tenths_bar);
                assert!((0.3..=WORKING_SHARE).contains(&share), "share {share}");
            }
        }
    }

    #[test]
    fn the_inlet_wanders_by_two_per_cent_with_weekly_correlation() {
        let (mut plant, mut dice) = plant(11);
        let weeks = 4000;
        let walk: Vec<f64> = (0..weeks)
            .map(|week| {
                plant.wander_on(f64::from(week), &mut dice);
                plant.wander
            })
            .collect();
        let variance = walk.iter().map(|x| x * x).sum::<f64>() / f64::from(weeks);
        let lagged = walk.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / f64::from(weeks);
        // Standard errors of a correlated series of this length are about 3 %.
        assert!((variance.sqrt() - 0.02).abs() < 0.0015);
        assert!((lagged / variance - 0.6).abs() < 0.06);
    }

    #[test]
    fn an_open_second_stage_shows_nearly_the_interstage_pressure() {
        let (mut plant, mut dice) = plant(5);
        let open = Effects {
            open: true,
            ..Effects::default()
        };
        let [_, interstage, outlet] = plant.pressures_bar(1.0, &open, false, &mut dice);
        assert!(outlet > 0.8 * interstage && outlet < interstage);
    }

    #[test]
    fn a_stuck_gauge_repeats_itself() {
        let (mut plant, mut dice) = plant(6);
        let stuck = Fault {
            kind: super::super::FaultKind::OutletGaugeStuck,
            onset_weeks: 1.0,
            magnitude: 0.0,
        };
        let seen: Vec<i64> = (0..20)
            .map(|week| plant.visit(f64::from(week), &[stuck], &mut dice).steps[2])
            .collect();
        assert!(seen.windows(2).all(|pair| pair[0] == pair[1]));
    }
}
