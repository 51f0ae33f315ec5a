//! Named random sub-streams: every draw depends only on (seed, capture number, purpose).
//!
//! A new purpose therefore never shifts the draws of another, and captures may be rendered in any
//! order. The generator is ChaCha with 8 rounds, keyed by the SHA-256 of the stream's name.

use crate::math;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, UnitDisc};
use sha2::{Digest, Sha256};

/// One sub-stream of a capture's randomness.
pub struct Stream {
    rng: ChaCha8Rng,
    spare_normal: Option<f64>,
}

impl Stream {
    /// The stream of `purpose` in capture number `capture` of a run seeded with `seed`.
    pub fn new(seed: u64, capture: u64, purpose: &str) -> Self {
        use rand::SeedableRng;
        let name = format!("waterjacket stream 1/{seed}/{capture}/{purpose}");
        Stream {
            rng: ChaCha8Rng::from_seed(Sha256::digest(name.as_bytes()).into()),
            spare_normal: None,
        }
    }

    /// Uniform in [0, 1).
    pub fn uniform(&mut self) -> f64 {
        use rand::RngExt;
        self.rng.random()
    }

    /// A whole number in 0..n, each equally likely.
    pub fn below(&mut self, n: usize) -> usize {
        use rand::RngExt;
        // A fixed width, so that 32-bit and 64-bit machines draw alike.
        self.rng.random_range(0..n as u64) as usize
    }

    /// Standard normal by Marsaglia's polar method (SIAM Review 6, 1964, 260-264).
    ///
    /// `rand_distr`'s own normal takes its logarithm from the platform; its unit disc does not, and
    /// [`math::ln`] makes the rest portable.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare_normal.take() {
            return spare;
        }
        loop {
            let [x, y]: [f64; 2] = UnitDisc.sample(&mut self.rng);
            let s = x * x + y * y;
            if s > 0.0 && s < 1.0 {
                let scale = (-2.0 * math::ln(s) / s).sqrt();
                self.spare_normal = Some(y * scale);
                return x * scale;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_depends_on_every_part_of_its_name() {
        let first = |s, c, p| Stream::new(s, c, p).uniform();
        let base = first(1, 2, "noise");
        assert_eq!(base, first(1, 2, "noise"));
        assert_ne!(base, first(2, 2, "noise"));
        assert_ne!(base, first(1, 3, "noise"));
        assert_ne!(base, first(1, 2, "noise "));
    }

    #[test]
    fn normal_has_mean_zero_and_unit_variance() {
        let mut stream = Stream::new(7, 0, "test");
        let n = 200_000;
        let draws: Vec<f64> = (0..n).map(|_| stream.normal()).collect();
        let mean = draws.iter().sum::<f64>() / n as f64;
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n as f64;
        // Five standard errors: 5/sqrt(n) and 5*sqrt(2/n).
        assert!(mean.abs() < 0.0112, "{mean}");
        assert!((variance - 1.0).abs() < 0.0158, "{variance}");
    }
}
