//! Crank, starter and battery.
//!
//! `J dw/dt = T_gas + T_drive - T_friction`, `T_gas = sum (p - p_amb) dV/dtheta`. The starter is a
//! permanent-magnet motor behind a one-way clutch: `I = max(0, (V_oc - K w)/(R_batt + R_starter))`,
//! `T_drive = eta K I`, terminals at `V_oc - I R_batt`. At idle the gas drives, and the governor's load
//! torque (accessories when positive, more air when negative) holds the set speed.
//! Limits: no inductance, no piston inertia, a battery without memory.

use crate::scenario::StarterSpec;
use crate::vehicle::Engine;

/// Below this speed friction fades, so that a resting crank stays at rest.
const CREEP_RAD_S: f64 = 0.5;
/// The governor's proportional and integral gain over the crank's inertia, 1/s and 1/s2 (chosen by
/// us: slow enough to leave cycle-to-cycle roughness alone).
const GOVERNOR_PER_S: f64 = 2.0;
const GOVERNOR_PER_S2: f64 = 1.0;

/// Current through the starter, A.
#[inline(always)]
pub fn starter_current(starter: &StarterSpec, speed_rad_s: f64) -> f64 {
    let driving_v = starter.open_circuit_v - starter.motor_constant_v_s * speed_rad_s;
    (driving_v / (starter.battery_ohm + starter.starter_ohm)).max(0.0)
}

/// Torque at the crank from that current, N m.
#[inline(always)]
pub fn starter_torque(starter: &StarterSpec, current_a: f64) -> f64 {
    starter.efficiency * starter.motor_constant_v_s * current_a
}

/// Friction at this speed, N m; it opposes the motion.
#[inline(always)]
pub fn friction(engine: &Engine, speed_rad_s: f64) -> f64 {
    let sign = (speed_rad_s / CREEP_RAD_S).clamp(-1.0, 1.0);
    engine.friction_nm * sign + engine.viscous_friction_nm_s * speed_rad_s
}

/// The governor's load torque at this speed, N m, and the rate of its integral, N m/s. A load brakes and
/// fades with the speed as friction does; it never turns the crank backwards. `haste` speeds the governor
/// up, for an engine that settles before the capture begins.
#[inline(always)]
pub fn governor(
    engine: &Engine,
    speed_rad_s: f64,
    set_rad_s: f64,
    integral_nm: f64,
    haste: f64,
) -> (f64, f64) {
    let j = engine.inertia_kg_m2 * haste;
    let error_rad_s = speed_rad_s - set_rad_s;
    let load_nm = integral_nm + GOVERNOR_PER_S * j * error_rad_s;
    let grip = (speed_rad_s / CREEP_RAD_S).clamp(0.0, 1.0);
    (
        if load_nm > 0.0 {
            load_nm * grip
        } else {
            load_nm
        },
        GOVERNOR_PER_S2 * haste * j * error_rad_s,
    )
}
