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
