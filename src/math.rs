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
