//! Named random sub-streams: every draw depends only on (seed, capture number, purpose).
//!
//! A new purpose therefore never shifts the draws of another, and captures may be rendered in any
//! order. The generator is ChaCha with 8 rounds, keyed by the SHA-256 of the stream's name.

use crate::math;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardUniform};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

/// One sub-stream of a capture's randomness.
pub struct Stream {
    rng: ChaCha8Rng,
}

impl Stream {
    /// The stream of `purpose` in capture number `capture` of a run seeded with `seed`.
    pub fn new(seed: u64, capture: u64, purpose: &str) -> Self {
        use rand::SeedableRng;
        let name = format!("waterjacket stream 1/{seed}/{capture}/{purpose}");
        Stream {
            rng: ChaCha8Rng::from_seed(Sha256::digest(name.as_bytes()).into()),
        }
    }

    /// Uniform in [0, 1).
    pub fn uniform(&mut self) -> f64 {
        StandardUniform.sample(&mut self.rng)
    }

    /// A whole number in 0..n, each equally likely.
    pub fn below(&mut self, n: usize) -> usize {
        use rand::RngExt;
        // A fixed width, so that 32-bit and 64-bit machines draw alike.
        self.rng.random_range(0..n as u64) as usize
    }

    /// Standard normal, by the ziggurat.
    pub fn normal(&mut self) -> f64 {
        use rand::Rng;
        let bits = self.rng.next_u64();
        self.normal_from(&ZIGGURAT, bits)
    }

    /// Adds noise of this root mean square to every sample of a block.
    pub fn add_noise(&mut self, rms: f64, block: &mut [f64]) {
        use rand::Rng;
        let ziggurat = &*ZIGGURAT;
        // The generator makes many numbers at once with less ado than one after the other.
        const CHUNK: usize = 128;
        let mut bytes = [0; 8 * CHUNK];
        for chunk in block.chunks_mut(CHUNK) {
            let bytes = &mut bytes[..8 * chunk.len()];
            self.rng.fill_bytes(bytes);
            for (v, bits) in chunk.iter_mut().zip(bytes.as_chunks().0) {
                *v += rms * self.normal_from(ziggurat, u64::from_le_bytes(*bits));
            }
        }
    }

    /// A draw that begins with these bits, and takes more from the stream if they do not decide it.
    #[inline(always)]
    fn normal_from(&mut self, ziggurat: &Ziggurat, mut bits: u64) -> f64 {
        use rand::Rng;
        loop {
            // Eight bits choose the layer, 53 others the place in it.
            let layer = (bits & 0xff) as usize;
            let share = (bits as i64 >> 11) as f64 * (1.0 / (1u64 << 52) as f64);
            let x = share * ziggurat.edges[layer];
            if x.abs() < ziggurat.edges[layer + 1] {
                return x;
            }
            if let Some(x) = self.at_the_edge(ziggurat, layer, x) {
                return x;
            }
            bits = self.rng.next_u64();
        }
    }

    /// The one draw in eighty that does not fall where a layer lies under the curve for certain.
    #[cold]
    fn at_the_edge(&mut self, ziggurat: &Ziggurat, layer: usize, x: f64) -> Option<f64> {
        if layer == 0 {
            // Beyond the last layer, by Marsaglia's method of the tail (1964).
            loop {
                let beyond = -math::ln(1.0 - self.uniform()) / TAIL;
                let y = -math::ln(1.0 - self.uniform());
                if 2.0 * y >= beyond * beyond {
                    return Some(f64::copysign(TAIL + beyond, x));
                }
            }
        }
        let [low, high] = [ziggurat.heights[layer], ziggurat.heights[layer + 1]];
        (low + (high - low) * self.uniform() < density(x)).then_some(x)
    }
}

/// Layers of equal area that cover the normal curve (Marsaglia and Tsang, Journal of Statistical Software
/// 5(8), 2000; 256 layers, eight random bits apart from the place, as Doornik advised in 2005; both cited
/// from memory). `rand_distr` has it as well, but takes its exponentials from the platform.
struct Ziggurat {
    /// Half the width of each layer, from the lowest, which holds the tail as well, to the top: 0.
    edges: [f64; LAYERS + 1],
    /// The curve at those edges.
    heights: [f64; LAYERS + 1],
}

const LAYERS: usize = 256;
/// Where the tail begins, so that 256 layers of equal area end at the top of the curve; a unit test checks it.
const TAIL: f64 = 3.654_152_885_361_009;

static ZIGGURAT: LazyLock<Ziggurat> = LazyLock::new(Ziggurat::new);

/// The normal curve, 1 at its top.
fn density(x: f64) -> f64 {
    math::exp(-0.5 * x * x)
}

impl Ziggurat {
    fn new() -> Ziggurat {
        let (mut edges, mut heights) = ([0.0; LAYERS + 1], [0.0; LAYERS + 1]);
        let area = layer_area();
        // The lowest layer is as wide as makes a box of it with the tail.
        edges[0] = area / density(TAIL);
        edges[1] = TAIL;
        for i in 1..LAYERS {
            heights[i] = density(edges[i]);
            // The top layer ends at the top, but for rounding.
            let above = heights[i] + area / edges[i];
            edges[i + 1] = if i + 1 < LAYERS {
                (-2.0 * math::ln(above)).sqrt()
            } else {
                0.0
            };
        }
        heights[LAYERS] = 1.0;
        Ziggurat { edges, heights }
    }
}

/// Area of the lowest layer and so of each: the box below the curve at [`TAIL`], and the tail.
fn layer_area() -> f64 {
    TAIL * density(TAIL)
        + (math::PI / 2.0).sqrt() * libm::erfc(TAIL * std::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_distr::StandardNormal;

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

    #[test]
    fn every_sample_of_a_block_gets_noise_of_its_own() {
        for n in [1, 5, 127, 128, 129, 300] {
            let mut block = vec![0.0; n];
            Stream::new(9, 0, "test").add_noise(1.0, &mut block);
            block.push(0.0);
            block.sort_by(f64::total_cmp);
            assert!(block.windows(2).all(|w| w[0] < w[1]), "{n}");
        }
    }

    /// The layers end at the top of the curve.
    #[test]
    fn the_ziggurat_closes() {
        let z = Ziggurat::new();
        let top = z.heights[LAYERS - 1] + layer_area() / z.edges[LAYERS - 1];
        assert!((top - 1.0).abs() < 1e-12, "{top}");
        assert!(z.edges.windows(2).all(|w| w[0] > w[1]));
    }

    /// Shares of draws below some values, against the normal distribution's (`libm`'s error function), and
    /// in the tail beyond the last layer, where one in 3900 falls. Five standard errors.
    #[test]
    fn normal_draws_are_distributed_as_the_normal() {
        let mut stream = Stream::new(8, 0, "test");
        let n = 2_000_000;
        let mut draws = vec![0.0; n];
        stream.add_noise(1.0, &mut draws);
        for x in [
            -4.0, -3.66, -3.0, -2.0, -1.0, -0.3, 0.0, 0.1, 0.7, 1.5, 2.5, 3.5, 3.7, 4.1,
        ] {
            let share = draws.iter().filter(|d| **d < x).count() as f64 / n as f64;
            let p = 0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2);
            let error = (p * (1.0 - p) / n as f64).sqrt();
            assert!((share - p).abs() < 5.0 * error, "{x}: {share} {p}");
        }
        // `rand_distr`'s own ziggurat, drawn as often: each share has the same error, and the two together its
        // root of two.
        let theirs: Vec<f64> = (0..n)
            .map(|_| StandardNormal.sample(&mut stream.rng))
            .collect();
        for x in [-3.66, -2.0, -0.3, 0.0, 0.7, 2.5, 3.7] {
            let share = |of: &[f64]| of.iter().filter(|d| **d < x).count() as f64 / n as f64;
            let (ours, theirs) = (share(&draws), share(&theirs));
            let error = (2.0 * ours * (1.0 - ours) / n as f64).sqrt();
            assert!((ours - theirs).abs() < 5.0 * error, "{x}: {ours} {theirs}");
        }
        let fourth = draws.iter().map(|x| x * x * x * x).sum::<f64>() / n as f64;
        // The variance of the fourth power is 96.
        assert!(
            (fourth - 3.0).abs() < 5.0 * (96.0 / n as f64).sqrt(),
            "{fourth}"
        );
    }
}
