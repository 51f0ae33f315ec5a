//! Discrete filters by the bilinear transform, `s = 2 f_s (1 - z^-1)/(1 + z^-1)`, without prewarping.
//!
//! Direct form I: what comes from the inputs needs no waiting for the last output. Stable at every sample
//! rate; a corner near or above half the rate is bent towards it, as the transform does.

use crate::math::TAU;

/// A filter of first or second order.
#[derive(Clone, Debug, PartialEq)]
pub struct Filter {
    /// Coefficients of `1, z^-1, z^-2` of the numerator.
    pub b: [f64; 3],
    /// Likewise of the denominator, the first being 1.
    pub a: [f64; 3],
    /// The last input and output and those before them; `None` before the first.
    past: Option<[[f64; 2]; 2]>,
}

impl Filter {
    /// The digital twin of `(b2 s^2 + b1 s + b0)/(a2 s^2 + a1 s + a0)`, arguments highest power first.
    pub fn bilinear([b2, b1, b0]: [f64; 3], [a2, a1, a0]: [f64; 3], rate_hz: f64) -> Filter {
        let k = 2.0 * rate_hz;
        let first_order = b2 == 0.0 && a2 == 0.0;
        let expand = |c2: f64, c1: f64, c0: f64| {
            if first_order {
                // Expanded to second order, both sides would share a factor `1 + z^-1`: a pole on the
                // unit circle that never fades.
                return [c1 * k + c0, c0 - c1 * k, 0.0];
            }
            [
                c2 * k * k + c1 * k + c0,
                2.0 * (c0 - c2 * k * k),
                c2 * k * k - c1 * k + c0,
            ]
        };
        let (b, a) = (expand(b2, b1, b0), expand(a2, a1, a0));
        Filter {
            b: b.map(|c| c / a[0]),
            a: a.map(|c| c / a[0]),
            past: None,
        }
    }

    /// First-order low pass.
    pub fn low_pass(corner_hz: f64, rate_hz: f64) -> Filter {
        let w = TAU * corner_hz;
        Filter::bilinear([0.0, 0.0, w], [0.0, 1.0, w], rate_hz)
    }

    /// First-order high pass with time constant `tau_s`.
    pub fn high_pass(tau_s: f64, rate_hz: f64) -> Filter {
        Filter::bilinear([0.0, tau_s, 0.0], [0.0, tau_s, 1.0], rate_hz)
    }

    /// Second-order low pass with natural frequency `natural_rad_s`.
    pub fn second_order(natural_rad_s: f64, damping: f64, rate_hz: f64) -> Filter {
        let w = natural_rad_s;
        Filter::bilinear([0.0, 0.0, w * w], [1.0, 2.0 * damping * w, w * w], rate_hz)
    }

    /// Filters a block in its place. The filter starts as if its first input had lasted for ever.
    pub fn run(&mut self, block: &mut [f64]) {
        let (b, a) = (self.b, self.a);
        let Some(first) = block.first() else { return };
        let [[mut x1, mut x2], [mut y1, mut y2]] = self.past.unwrap_or_else(|| {
            let y = first * (b[0] + b[1] + b[2]) / (a[0] + a[1] + a[2]);
            [[*first; 2], [y; 2]]
        });
        for value in block {
            let x = *value;
            let y = (b[0] * x + (b[1] * x1 + b[2] * x2) - a[2] * y2) - a[1] * y1;
            (x1, x2) = (x, x1);
            (y1, y2) = (y, y1);
            *value = y;
        }
        self.past = Some([[x1, x2], [y1, y2]]);
    }

    /// The next output; see [`Filter::run`].
    pub fn next(&mut self, x: f64) -> f64 {
        let mut block = [x];
        self.run(&mut block);
        block[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;

    /// SciPy 1.17.1: `b, a = signal.bilinear([w*w], [1, 1.4*w, w*w], 1000)` with `w = 200 pi`, then
    /// `signal.lfilter(b, a, [1, 2, -1, 0.5, 3], zi=signal.lfilter_zi(b, a))`.
    #[test]
    fn coefficients_and_samples_agree_with_scipy() {
        let mut filter = Filter::second_order(100.0 * TAU, 0.7, 1e3);
        let b = [
            0.064_150_031_956_514_24,
            0.128_300_063_913_028_48,
            0.064_150_031_956_514_24,
        ];
        let a = [1.0, -1.171_651_369_792_534_8, 0.428_251_497_618_591_8];
        let y = [
            1.0,
            1.064_150_031_956_513_8,
            1.075_161_472_814_084_6,
            0.836_065_583_472_789,
            0.711_587_971_067_388_2,
        ];
        for i in 0..3 {
            assert!((filter.b[i] - b[i]).abs() < 1e-15 && (filter.a[i] - a[i]).abs() < 1e-14);
        }
        for (x, expected) in [1.0, 2.0, -1.0, 0.5, 3.0].into_iter().zip(y) {
            let got = filter.next(x);
            assert!((got - expected).abs() < 1e-14, "{got} {expected}");
        }
    }

    #[test]
    fn a_filter_starts_at_rest_on_its_first_input() {
        for mut filter in [
            Filter::low_pass(30.0, 1e3),
            Filter::second_order(500.0, 0.7, 1e3),
        ] {
            for _ in 0..50 {
                assert!((filter.next(3.0) - 3.0).abs() < 1e-12);
            }
        }
        let mut high = Filter::high_pass(0.04, 1e3);
        assert!(high.next(3.0).abs() < 1e-12);
    }

    /// A ramp of slope r into a high pass of time constant tau ends at r tau; after the ramp the
    /// output decays by exp(-t/tau) (closed form).
    #[test]
    fn a_held_value_fades_from_a_high_pass() {
        let (rate, tau, slope) = (10_000.0, 0.04, 5.0);
        let mut filter = Filter::high_pass(tau, rate);
        filter.next(0.0);
        let mut y = 0.0;
        for i in 1..=5000 {
            y = filter.next(slope * i as f64 / rate);
        }
        let expected = slope * tau * (1.0 - math::exp(-0.5 / tau));
        assert!((y / expected - 1.0).abs() < 1e-4, "{y} {expected}");
        for _ in 0..400 {
            filter.next(slope * 0.5);
        }
        let held = filter.next(slope * 0.5);
        assert!(
            (held / (expected * math::exp(-0.0401 / tau)) - 1.0).abs() < 2e-3,
            "{held}"
        );
    }
}
