//! Seeded random draws whose results never change between runs, machines or releases.
//!
//! For the simulator and for tests; not for keys or anything secret.
//! The generator is PCG XSL RR 128/64 from `rand_pcg` (value-stable by its own promise); the
//! distributions are written out here because distribution crates change their algorithms.

use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;

/// A source of reproducible draws.
#[derive(Debug, Clone)]
pub struct Dice {
    generator: Pcg64,
}

/// One step of the `SplitMix64` mixer (Steele, Lea and Flood, 2014): spreads nearby numbers apart.
fn split_mix(mut z: u64) -> u64 {
    z = z.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Dice {
    /// Opens the series number `series` of `seed`.
    ///
    /// Different series of one seed are unrelated, so that adding a station to a fleet does not
    /// change the others.
    #[must_use]
    pub fn new(seed: u64, series: u64) -> Self {
        let high = split_mix(split_mix(seed) ^ series.rotate_left(32));
        let low = split_mix(high ^ split_mix(series));
        let state = (u128::from(high) << 64) | u128::from(low);
        Self {
            generator: Pcg64::new(state, 0x0a02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96),
        }
    }

    /// Draws from the uniform distribution on `[0, 1)`, in steps of 2^-53.
    pub fn unit(&mut self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit a double exactly")]
        let whole = (self.generator.next_u64() >> 11) as f64;
        whole / 9_007_199_254_740_992.0
    }

    /// Draws uniformly between `low` and `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Draws from the normal distribution with mean 0 and standard deviation 1.
    ///
    /// # Formula
    /// `sqrt(-2 ln(1 - u)) cos(2 pi v)` with u, v uniform.
    ///
    /// # Source
    /// Box and Muller 1958. The logarithm and cosine are `libm`'s, so that every machine agrees.
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        radius * libm::cos(std::f64::consts::TAU * self.unit())
    }

    /// Tells whether an event of the given probability happens.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Draws -1 or 1 with equal probability.
    pub fn sign(&mut self) -> f64 {
        if self.happens(0.5) { 1.0 } else { -1.0 }
    }

    /// Draws an index below `count`; 0 when `count` is 0.
    pub fn index(&mut self, count: usize) -> usize {
        if count == 0 {
            return 0;
        }
        #[allow(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "counts here are small and the draw is in [0, count)"
        )]
        let drawn = (self.unit() * count as f64) as usize;
        drawn.min(count - 1)
    }

    /// Draws one of `choices`; the first stands in where the draw cannot be made.
    pub fn pick<T: Copy>(&mut self, choices: &[T], otherwise: T) -> T {
        let index = self.index(choices.len());
        choices.get(index).copied().unwrap_or(otherwise)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pins the generator: a change here changes every simulated fleet.
    #[test]
    fn draws_of_a_seed_stay_as_they_are() {
        let mut dice = Dice::new(1, 2);
        let first: Vec<f64> = (0..3).map(|_| dice.unit()).collect();
        let mut again = Dice::new(1, 2);
        let second: Vec<f64> = (0..3).map(|_| again.unit()).collect();
        assert_eq!(first, second);
        let mut other = Dice::new(1, 3);
        assert!((other.unit() - first[0]).abs() > 1e-6);
    }

    #[test]
    fn normal_draws_have_mean_zero_and_unit_spread() {
        let mut dice = Dice::new(7, 0);
        let n = 20_000;
        let draws: Vec<f64> = (0..n).map(|_| dice.normal()).collect();
        let mean = draws.iter().sum::<f64>() / f64::from(n);
        let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(n - 1);
        // Four standard errors: 1/sqrt(n) for the mean, sqrt(2/n) for the variance.
        assert!(mean.abs() < 4.0 / f64::from(n).sqrt());
        assert!((variance - 1.0).abs() < 4.0 * (2.0 / f64::from(n)).sqrt());
    }

    #[test]
    fn index_stays_inside_and_survives_an_empty_list() {
        let mut dice = Dice::new(3, 1);
        assert!((0..1000).all(|_| dice.index(3) < 3));
        assert_eq!(dice.index(0), 0);
        assert_eq!(dice.pick::<u8>(&[], 9), 9);
    }
}
