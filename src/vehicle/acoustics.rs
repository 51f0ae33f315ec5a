//! Speed of sound in bubbly coolant between elastic walls.
//!
//! `1/(rho c^2) = a/(g p) + (1 - a)/K + D/(E e)`: Wood's mixture (A Textbook of Sound, 1930) with the
//! wall term of Korteweg (1878), both cited from memory. `a` void fraction, `g p` the bubbles'
//! adiabatic bulk modulus, `K` the liquid's, `D` bore, `e` wall, `E` its elasticity.
//! Limits: bubbles far below resonance; thin walls. Rubber hoses are carried by the lumped
//! compliances, so that the wall here should be a casting's or a pipe's.

use crate::scenario::CoolingSpec;

/// Ratio of specific heats of the air in the bubbles.
const GAMMA_AIR: f64 = 1.4;
/// Density of the bubbles' gas at 1 bar and 20 C, kg/m3; it hardly matters.
const GAS_DENSITY: f64 = 1.19;

/// Speed of sound along the coolant's path at absolute pressure `pressure_pa`, m/s.
pub fn wave_speed(cooling: &CoolingSpec, pressure_pa: f64) -> f64 {
    let a = &cooling.acoustics;
    let density = (1.0 - a.void_fraction) * cooling.density_kg_m3
        + a.void_fraction * GAS_DENSITY * pressure_pa / 1e5;
    let mixture = a.void_fraction / (GAMMA_AIR * pressure_pa)
        + (1.0 - a.void_fraction) / cooling.bulk_modulus_pa;
    let wall = a.bore_m / (a.wall_modulus_pa * a.wall_m);
    1.0 / (density * (mixture + wall)).sqrt()
}
