//! Portable transcendental functions: the same bits on every machine.
//!
//! The standard library leaves `sin`, `exp` and their kin to the platform, which may differ in the
//! last bit; the pure-Rust `libm` does not. Everything that reaches a capture calls these.

pub use libm::{cos, exp, log as ln, pow, sin};
pub use std::f64::consts::{PI, TAU};

/// Degrees of crank angle from radians.
pub fn degrees(rad: f64) -> f64 {
    rad * (180.0 / PI)
}

/// Radians from degrees of crank angle.
pub fn radians(deg: f64) -> f64 {
    deg * (PI / 180.0)
}

/// Value and slope at share `u` (0 to 1) of an interval of this `width`, by the cubic that has the
/// given values and slopes at its ends (Hermite).
pub fn hermite(
    u: f64,
    width: f64,
    [from, from_slope]: [f64; 2],
    [to, to_slope]: [f64; 2],
) -> (f64, f64) {
    let (rise, start, end) = (to - from, from_slope * width, to_slope * width);
    let c2 = 3.0 * rise - 2.0 * start - end;
    let c3 = start + end - 2.0 * rise;
    (
        from + u * (start + u * (c2 + u * c3)),
        (start + u * (2.0 * c2 + 3.0 * u * c3)) / width,
    )
}

/// `x^(2/5)` of a positive, finite `x`: the fifth root of the square, by three of Halley's steps from
/// an estimate on the bits of the number. Within 1e-12 of [`pow`] and several times as fast, which
/// counts where each evaluation of each cylinder needs one.
pub fn pow_two_fifths(x: f64) -> f64 {
    let square = x * x;
    // The bits of a float are nearly its logarithm; four fifths of those of 1 restore the exponent.
    const FOUR_FIFTHS_OF_ONE: u64 = 0x3ff0_0000_0000_0000 / 5 * 4;
    let mut root = f64::from_bits(square.to_bits() / 5 + FOUR_FIFTHS_OF_ONE);
    for _ in 0..3 {
        let fifth = (root * root) * (root * root) * root;
        root *= (2.0 * fifth + 3.0 * square) / (3.0 * fifth + 2.0 * square);
    }
    root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_fifths_agree_with_the_library() {
        let mut x = 1e-12;
        while x < 1e12 {
            assert!((pow_two_fifths(x) / pow(x, 0.4) - 1.0).abs() < 1e-12, "{x}");
            x *= 1.01;
        }
    }

    #[test]
    fn a_cubic_is_its_own_hermite() {
        let f = |x: f64| [x * x * x - x, 3.0 * x * x - 1.0];
        let (value, slope) = hermite(0.3, 2.0, f(1.0), f(3.0));
        assert!((value - f(1.6)[0]).abs() < 1e-12 && (slope - f(1.6)[1]).abs() < 1e-12);
    }
}
