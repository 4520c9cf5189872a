//! A simulated pilot of a second stage: screw, spring, backlash, droop, lock-up and slow settling.
//!
//! Works in bar and turns as plain numbers. What a gauge shows of it, and the valves around it,
//! are in `rig`; an assistant under test must see only those. Magnitudes are invented, close to
//! practice.

use super::dice::Dice;

/// How simulated pilots differ from each other; (low, high) pairs are drawn from evenly.
#[derive(Debug, Clone, PartialEq)]
pub struct PilotConditions {
    /// Turns that take the nominal spring through its range, to draw from.
    pub turns_through_range: Vec<f64>,
    /// How far the spring rate lies from nominal at most, as a share, either way.
    pub rate_spread: f64,
    /// How much the rate changes over the range at most, as a share, either way.
    pub curvature: f64,
    /// Turns lost when the screw changes direction.
    pub backlash_turns: (f64, f64),
    /// Turns from fully backed off until the spring is touched.
    pub free_turns: (f64, f64),
    /// Fall of the outlet pressure from hardly any to usual flow, as a share.
    pub droop: (f64, f64),
    /// Rise of the outlet pressure without flow, as a share.
    pub lock_up: (f64, f64),
    /// Time constant with which the outlet follows, in seconds.
    pub settle_s: (f64, f64),
    /// Standard deviation of one movement of the hand around what it meant, in turns.
    pub hand_turns: f64,
}

impl PilotConditions {
    /// The pilots that the published figures are for.
    #[must_use]
    pub fn reference() -> Self {
        Self {
            turns_through_range: vec![8.0, 10.0, 12.0],
            rate_spread: 0.3,
            curvature: 0.06,
            backlash_turns: (0.02, 0.2),
            free_turns: (0.2, 2.0),
            droop: (0.005, 0.03),
            lock_up: (0.02, 0.06),
            settle_s: (5.0, 40.0),
            hand_turns: 0.012,
        }
    }

    /// Worn pilots: twice the backlash, more droop, slower, a rougher hand.
    #[must_use]
    pub fn worn() -> Self {
        Self {
            backlash_turns: (0.1, 0.4),
            droop: (0.02, 0.06),
            settle_s: (20.0, 60.0),
            hand_turns: 0.02,
            ..Self::reference()
        }
    }
}

/// One simulated pilot.
#[derive(Debug, Clone, PartialEq)]
pub struct Pilot {
    /// Lowest pressure marked on the spring, bar.
    pub spring_low_bar: f64,
    /// Highest pressure marked on the spring, bar.
    pub spring_high_bar: f64,
    /// Bar per turn in the middle of the range.
    pub rate_bar_per_turn: f64,
    /// Change of the rate over the range, as a share.
    pub curvature: f64,
    /// What remains at the outlet with the spring loose and water flowing, bar.
    pub rest_bar: f64,
    /// Turns lost at a change of direction.
    pub backlash_turns: f64,
    /// Turns from fully backed off until the spring is touched.
    pub free_turns: f64,
    /// Fall from hardly any to usual flow, as a share.
    pub droop: f64,
    /// Rise without flow, as a share.
    pub lock_up: f64,
    /// Time constant of the outlet, seconds.
    pub settle_s: f64,
    hand_turns: f64,
    screw: f64,
    seat: f64,
}

/// Share of the spring's upper mark at which its coils touch and the screw comes to a stop.
const COILS_TOUCH: f64 = 1.15;

impl Pilot {
    /// Draws a pilot whose spring is marked from `low_bar` to `high_bar`, fully backed off.
    #[must_use]
    pub fn draw(
        conditions: &PilotConditions,
        low_bar: f64,
        high_bar: f64,
        dice: &mut Dice,
    ) -> Self {
        let nominal = (high_bar - low_bar) / dice.pick(&conditions.turns_through_range, 10.0);
        let mut drawn = |(low, high): (f64, f64)| dice.between(low, high);
        let spread = conditions.rate_spread;
        let rate_bar_per_turn = nominal * drawn((1.0 - spread, 1.0 + spread));
        let curvature = drawn((-conditions.curvature, conditions.curvature));
        let backlash_turns = drawn(conditions.backlash_turns);
        let pilot = Self {
            spring_low_bar: low_bar,
            spring_high_bar: high_bar,
            rate_bar_per_turn,
            curvature,
            rest_bar: 0.25 * low_bar * drawn((0.0, 1.0)),
            backlash_turns,
            free_turns: drawn(conditions.free_turns),
            droop: drawn(conditions.droop),
            lock_up: drawn(conditions.lock_up),
            settle_s: drawn(conditions.settle_s),
            hand_turns: conditions.hand_turns,
            screw: 0.0,
            seat: 0.0,
        };
        let slack = drawn((0.0, 1.0)) * backlash_turns;
        Self {
            seat: slack,
            ..pilot
        }
    }

    /// The pressure the spring asks for with its seat `seat` turns in from fully backed off.
    ///
    /// # Formula
    ///
    /// ```text
    /// p = k c (1 + q (k c / p_high - 1/2)),   c = max(0, seat - free turns)
    /// ```
    fn spring_bar(&self, seat: f64) -> f64 {
        let linear = self.rate_bar_per_turn * (seat - self.free_turns).max(0.0);
        let bent = 1.0 + self.curvature * (linear / self.spring_high_bar - 0.5);
        (linear * bent).max(self.rest_bar)
    }

    /// The turn at which the coils touch.
    fn last_turn(&self) -> f64 {
        self.free_turns + COILS_TOUCH * self.spring_high_bar / self.rate_bar_per_turn
    }

    /// A hand means to turn the screw by `turns`, in being positive; answers whether it came to a
    /// stop before that.
    pub fn turn(&mut self, turns: f64, dice: &mut Dice) -> bool {
        if turns == 0.0 || !turns.is_finite() {
            return false;
        }
        let meant = self.screw + turns;
        let moved = meant + self.hand_turns * dice.normal();
        // A hand never turns the wrong way, however it slips.
        let moved = if turns > 0.0 {
            moved.max(self.screw)
        } else {
            moved.min(self.screw)
        };
        self.place(moved);
        meant < 0.0 || meant > self.last_turn()
    }

    /// Backs the screw off until the spring is loose.
    pub fn back_off(&mut self) {
        self.place(0.0);
    }

    /// Moves the screw to exactly `screw`; the seat follows with its play.
    fn place(&mut self, screw: f64) {
        self.screw = screw.clamp(0.0, self.last_turn());
        self.seat = self
            .seat
            .clamp(self.screw, self.screw + self.backlash_turns);
    }

    /// Screws in from fully backed off until it holds `bar` at usual flow, as a factory would; the
    /// play that is left is any part of the backlash.
    pub fn preset(&mut self, bar: f64, dice: &mut Dice) {
        self.back_off();
        let turns = self.turns_to(bar, 1.0);
        self.place(turns);
        let play = self.backlash_turns * dice.unit();
        self.screw -= play.min(self.screw);
    }

    /// The pressure held once settled, with the supply sufficing.
    ///
    /// `flow` as a share of usual; none shows lock-up.
    #[must_use]
    pub fn held_bar(&self, flow: f64) -> f64 {
        self.at_flow(self.spring_bar(self.seat), flow)
    }

    fn at_flow(&self, spring_bar: f64, flow: f64) -> f64 {
        if flow > 0.0 {
            (spring_bar * (1.0 - self.droop * flow)).max(0.0)
        } else {
            spring_bar * (1.0 + self.lock_up)
        }
    }

    /// The truth that an assistant tries to foresee: turns from here until `bar` is held at `flow`
    /// by turning in; negative where it must be turned out. Not limited to the spring's range.
    #[must_use]
    pub fn turns_to(&self, bar: f64, flow: f64) -> f64 {
        let (mut low, mut high) = (0.0, 4.0 * self.last_turn());
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if self.at_flow(self.spring_bar(middle), flow) < bar {
                low = middle;
            } else {
                high = middle;
            }
        }
        if high >= self.seat {
            high - self.screw
        } else {
            high - self.backlash_turns - self.screw
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pilot(seed: u64) -> (Pilot, Dice) {
        let mut dice = Dice::new(seed, 77);
        let conditions = PilotConditions {
            hand_turns: 0.0,
            ..PilotConditions::reference()
        };
        (Pilot::draw(&conditions, 1.0, 10.0, &mut dice), dice)
    }

    #[test]
    fn turning_in_raises_and_the_turns_foreseen_reach_the_pressure() {
        for seed in 0..40 {
            let (mut pilot, mut dice) = pilot(seed);
            pilot.turn(4.0, &mut dice);
            let before = pilot.held_bar(1.0);
            let turns = pilot.turns_to(6.0, 1.0);
            assert!(turns > 0.0 && before < 6.0);
            pilot.turn(turns, &mut dice);
            assert!((pilot.held_bar(1.0) - 6.0).abs() < 1e-9);
            // Down again: the backlash is lost first.
            let down = pilot.turns_to(5.0, 1.0);
            assert!(down < -1.0 / (1.5 * pilot.rate_bar_per_turn));
            pilot.turn(-0.9 * pilot.backlash_turns, &mut dice);
            assert!((pilot.held_bar(1.0) - 6.0).abs() < 1e-9);
            let down = pilot.turns_to(5.0, 1.0);
            pilot.turn(down, &mut dice);
            assert!((pilot.held_bar(1.0) - 5.0).abs() < 1e-9);
        }
    }

    #[test]
    fn flow_lowers_the_pressure_and_none_locks_up() {
        let (mut pilot, mut dice) = pilot(3);
        pilot.preset(5.0, &mut dice);
        assert!((pilot.held_bar(1.0) - 5.0).abs() < 1e-9);
        assert!(pilot.held_bar(0.2) > 5.0 && pilot.held_bar(2.0) < 5.0);
        assert!(pilot.held_bar(0.0) > pilot.held_bar(0.2));
    }

    #[test]
    fn the_screw_stops_where_the_coils_touch() {
        let (mut pilot, mut dice) = pilot(4);
        assert!(pilot.turn(100.0, &mut dice));
        let most = pilot.held_bar(0.01);
        assert!(most < 1.2 * pilot.spring_high_bar, "{most}");
        assert!(pilot.turn(-100.0, &mut dice));
        assert!(pilot.held_bar(1.0) <= pilot.rest_bar);
    }

    #[test]
    fn rates_lie_within_thirty_per_cent_of_nominal() {
        for seed in 0..200 {
            let (pilot, _) = pilot(seed);
            let turns = 9.0 / pilot.rate_bar_per_turn;
            assert!((8.0 / 1.3..=12.0 / 0.7).contains(&turns), "{turns}");
        }
    }
}
