//! Where the seat of the spring is when the screw has been turned to and fro with play between.

use super::setting::Start;

/// Possible backlash, turns, with the weight given beforehand: common practice, no source.
const BACKLASHES: [(f64, f64); 8] = [
    (0.01, 0.10),
    (0.04, 0.15),
    (0.08, 0.20),
    (0.12, 0.20),
    (0.16, 0.15),
    (0.22, 0.10),
    (0.30, 0.07),
    (0.40, 0.03),
];

/// The backlash assumed where nothing was turned back yet and only upward moves matter.
const BACKLASH_MIDDLE: f64 = 0.12;

/// Possible free travel from fully backed off: up to this many turns, in sixteenths, the weight
/// falling by e with each [`FREE_SCALE`]; common practice, no source.
const FREE_SIXTEENTHS: u32 = 64;
const FREE_SCALE: f64 = 2.0;

/// One guess of how the screw plays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Play {
    /// Turns in lost before the seat moves, from the first point.
    pub lost: f64,
    /// Turns lost at a change of direction.
    pub backlash: f64,
    /// The spring is loose at the first point and cannot get looser.
    pub is_loose: bool,
}

/// Where the seat is after some turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seat {
    /// Turns the seat has moved in since the first point.
    pub turns: f64,
    /// Turns in that will be lost before it moves further in, 0 or more.
    pub slack_in: f64,
    /// Turns out that will be lost before it moves out, 0 or more.
    pub slack_out: f64,
}

impl Play {
    /// Follows the screw through `turns`, starting at 0, and answers the seat at each.
    ///
    /// # Formula
    ///
    /// ```text
    /// seat' = min(max(seat, turns - lost), turns - lost + backlash),  not below 0 when loose
    /// ```
    ///
    /// # Source
    ///
    /// The play (backlash) operator, as in Krasnosel'skii and Pokrovskii, Systems with Hysteresis,
    /// 1989.
    pub fn follow(&self, turns: impl Iterator<Item = f64>) -> Vec<Seat> {
        let mut seat = 0.0_f64;
        turns
            .map(|turns| {
                let pushed = turns - self.lost;
                seat = seat.max(pushed).min(pushed + self.backlash);
                if self.is_loose {
                    seat = seat.max(0.0);
                }
                Seat {
                    turns: seat,
                    slack_in: (seat - pushed).max(0.0),
                    slack_out: (pushed + self.backlash - seat).max(0.0),
                }
            })
            .collect()
    }
}

/// The guesses with their weights beforehand. `has_turned_back` tells whether the backlash plays
/// any part yet; `start` how the first point of these stops was come by.
pub(super) fn guesses(start: Start, has_turned_back: bool) -> Vec<(Play, f64)> {
    match start {
        Start::AsFound => {
            let mut guesses = Vec::with_capacity(3 * BACKLASHES.len());
            for (backlash, weight) in BACKLASHES {
                for share in [0.0, 0.5, 1.0] {
                    let play = Play {
                        lost: share * backlash,
                        backlash,
                        is_loose: false,
                    };
                    guesses.push((play, weight / 3.0));
                }
            }
            guesses
        }
        Start::BackedOff => {
            let backlashes: &[(f64, f64)] = if has_turned_back {
                &BACKLASHES
            } else {
                &[(BACKLASH_MIDDLE, 1.0)]
            };
            let mut guesses = Vec::new();
            for sixteenths in 0..=FREE_SIXTEENTHS {
                let lost = f64::from(sixteenths) / 16.0;
                let falling = (-lost / FREE_SCALE).exp();
                for &(backlash, weight) in backlashes {
                    let play = Play {
                        lost,
                        backlash,
                        is_loose: true,
                    };
                    guesses.push((play, weight * falling));
                }
            }
            guesses
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_seat_follows_with_its_play() {
        let play = Play {
            lost: 0.05,
            backlash: 0.2,
            is_loose: false,
        };
        let turns = [0.0, 1.0, 0.9, 0.5, 0.6, 1.0];
        let seats = play.follow(turns.into_iter());
        let expected = [0.0, 0.95, 0.95, 0.65, 0.65, 0.95];
        for (seat, expected) in seats.iter().zip(expected) {
            assert!((seat.turns - expected).abs() < 1e-12, "{seats:?}");
            assert!((seat.slack_in + seat.slack_out - 0.2).abs() < 1e-12);
        }
        assert!((seats[2].slack_in - 0.1).abs() < 1e-12);
    }

    #[test]
    fn a_loose_spring_answers_after_its_free_travel() {
        let play = Play {
            lost: 1.5,
            backlash: 0.1,
            is_loose: true,
        };
        let seats = play.follow([0.0, 1.0, 2.0, -1.0].into_iter());
        let moved: Vec<f64> = seats.iter().map(|seat| seat.turns).collect();
        assert_eq!(moved, [0.0, 0.0, 0.5, 0.0]);
        assert!((seats[1].slack_in - 0.5).abs() < 1e-12);
    }

    #[test]
    fn weights_beforehand_are_positive() {
        for start in [Start::AsFound, Start::BackedOff] {
            for turned_back in [false, true] {
                let guesses = guesses(start, turned_back);
                assert!(guesses.iter().all(|(_, weight)| *weight > 0.0));
            }
        }
    }
}
