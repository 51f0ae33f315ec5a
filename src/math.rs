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

/// `x`, of at most 2^50 in size, as a whole number and what lies between it and `x`, 0 to 1. The whole
/// number is in two's complement; a whole `x` may be taken as the number before it and 1.
#[inline(always)]
pub fn whole_and_share(x: f64) -> (usize, f64) {
    // Next to 1.5 * 2^52 floats are the whole numbers, and their low bits count them: one addition rounds,
    // for many numbers at once, where a conversion has to look after what does not fit.
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    let rounded = (x - 0.5) + WHOLE;
    const LOW: u64 = 0xffff_ffff;
    ((rounded.to_bits() & LOW) as usize, x - (rounded - WHOLE))
}

/// `x^(2/5)` of a positive, normal `x` by a table of cubics over the bits of the number: 32 to each doubling.
/// Within 1e-8 of [`pow`] from 2^-44 to 2^8, and [`pow`] itself beyond. Many times as fast, which counts
/// where each evaluation of each cylinder needs one.
#[derive(Clone, Debug)]
pub struct TwoFifths {
    cells: Vec<[f64; 4]>,
}

impl TwoFifths {
    /// Bits of the mantissa that choose a cell, and those below, which give the share of it.
    const CHOOSING: u32 = 5;
    const SHARING: u32 = f64::MANTISSA_DIGITS - 1 - Self::CHOOSING;
    /// The exponents of the first cell and beyond the last.
    const DOUBLINGS: [i32; 2] = [-44, 8];
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    const FIRST: u64 = (Self::ONE >> Self::SHARING)
        .wrapping_add_signed((Self::DOUBLINGS[0] as i64) << Self::CHOOSING);

    /// The table.
    pub fn new() -> TwoFifths {
        let count = (Self::DOUBLINGS[1] - Self::DOUBLINGS[0]) << Self::CHOOSING;
        let node = |i: u64| {
            let x = f64::from_bits((Self::FIRST + i) << Self::SHARING);
            let power = pow(x, 0.4);
            (x, [power, 0.4 * power / x])
        };
        let mut from = node(0);
        let cells = (1..=count as u64).map(|i| {
            let to = node(i);
            let cell = cubic(to.0 - from.0, [from.1, to.1]);
            from = to;
            cell
        });
        TwoFifths {
            cells: cells.collect(),
        }
    }

    /// The power of `x`.
    #[inline(always)]
    pub fn of(&self, x: f64) -> f64 {
        let bits = x.to_bits();
        match self
            .cells
            .get(((bits >> Self::SHARING).wrapping_sub(Self::FIRST)) as usize)
        {
            Some(cell) => {
                // The low bits behind the exponent of 1 are 1 and the share of a cell, over 32.
                let low = bits & ((1 << Self::SHARING) - 1);
                let share =
                    (f64::from_bits(Self::ONE | low) - 1.0) * f64::from(1 << Self::CHOOSING);
                cubic_at(cell, share)
            }
            None => pow(x, 0.4),
        }
    }
}

impl Default for TwoFifths {
    fn default() -> Self {
        TwoFifths::new()
    }
}

/// Coefficients of the cubic, by the share of an interval of this width, that has these values and slopes
/// at its ends (Hermite).
pub fn cubic(width: f64, [[from, from_slope], [to, to_slope]]: [[f64; 2]; 2]) -> [f64; 4] {
    let (rise, start, end) = (to - from, from_slope * width, to_slope * width);
    let c2 = 3.0 * rise - 2.0 * start - end;
    [from, start, c2, start + end - 2.0 * rise]
}

/// Value of a [`cubic`] at share `u`, 0 to 1.
#[inline(always)]
pub fn cubic_at([c0, c1, c2, c3]: &[f64; 4], u: f64) -> f64 {
    // In pairs, which the processor works at side by side.
    (c0 + u * c1) + (u * u) * (c2 + u * c3)
}

/// Rise per interval of a [`cubic`] at share `u`.
#[inline(always)]
pub fn cubic_rise([_, c1, c2, c3]: &[f64; 4], u: f64) -> f64 {
    c1 + u * (2.0 * c2 + 3.0 * (u * c3))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Over the whole table and a doubling beyond each end of it.
    #[test]
    fn two_fifths_agree_with_the_library() {
        let table = TwoFifths::new();
        let mut x = 2e-14;
        while x < 600.0 {
            let off = table.of(x) / pow(x, 0.4) - 1.0;
            assert!(off.abs() < 1e-8, "{x}: {off}");
            x *= 1.0003;
        }
    }

    #[test]
    fn a_cubic_is_its_own() {
        let f = |x: f64| [x * x * x - x, 3.0 * x * x - 1.0];
        let c = cubic(2.0, [f(1.0), f(3.0)]);
        assert!((cubic_at(&c, 0.3) - f(1.6)[0]).abs() < 1e-12);
        assert!((cubic_rise(&c, 0.3) / 2.0 - f(1.6)[1]).abs() < 1e-12);
    }

    #[test]
    fn a_number_is_its_whole_and_its_share() {
        for (x, whole, share) in [
            (0.25, 0, 0.25),
            (7.5, 7, 0.5),
            (1e9 + 0.75, 1_000_000_000, 0.75),
        ] {
            assert_eq!(whole_and_share(x), (whole, share));
        }
        assert_eq!(whole_and_share(-0.25), (0xffff_ffff, 0.75));
    }
}
