//! The way from the neck to the sensor: the path's delay, and the tube.
//!
//! - The delay along the coolant's path shifts the neck's trace.
//! - A slug of coolant in the tube is a mass against the air behind it: natural frequency
//!   `1/sqrt(I C)` with inertance `I = rho L_s/A` and the air's compliance `C = V/(g p)`, damped by
//!   Poiseuille's resistance `8 mu L_s/(pi r^4)`.
//! - The rest is a closed line: a wave runs its length, is thrown back by the closed end and again, upside
//!   down, by the neck: `y(t) = (1 + a^2) x(t - T) - a^2 y(t - 2T)`, `T = (L + V_end/A)/c`,
//!   `a = exp(-R' L/(2 Z))` with Poiseuille's `R'` per length and `Z = rho c/A`. Delay, the resonance at
//!   a quarter wave and its damping are one equation here, so that the travel time is not counted
//!   twice, as a delay before a lumped resonator would.
//!
//! Limits: laminar, frequency-independent loss, so that real lines ring less; the end volume counts as
//! further length, good while it is smaller than the line's own.

use super::Scene;
use super::filter::Filter;
use crate::math;
use crate::scenario::LineSpec;
use crate::simulation::{STEP_S, Traces};
use crate::vehicle::{R_AIR, wave_speed};

/// Air in the line: ratio of specific heats, temperature, viscosity (cited from memory).
const GAMMA_AIR: f64 = 1.4;
const LINE_K: f64 = 298.15;
const AIR_VISCOSITY: f64 = 1.85e-5;
const GRAVITY: f64 = 9.806_65;
/// A shorter line is no line.
const SHORTEST_M: f64 = 0.05;

/// A tube's fluid.
struct Fluid {
    speed_m_s: f64,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
}

/// Absolute pressure at the sensor's end of the line, a value a step of the traces, Pa.
pub fn arrivals(line: &LineSpec, scene: Scene) -> Vec<f64> {
    let neck = &scene.traces.neck_pa;
    let mut trace = Traces::delayed(neck, scene.acoustic_delay_s);
    if line.length_m < SHORTEST_M {
        return trace;
    }
    let cooling = &scene.vehicle.cooling;
    let pressure_pa = neck[0];
    let area = math::PI / 4.0 * line.bore_m * line.bore_m;
    let coolant = Fluid {
        speed_m_s: wave_speed(cooling, pressure_pa),
        density_kg_m3: cooling.density_kg_m3,
        viscosity_pa_s: line.coolant_viscosity_pa_s,
    };
    let air = Fluid {
        speed_m_s: (GAMMA_AIR * R_AIR * LINE_K).sqrt(),
        density_kg_m3: pressure_pa / (R_AIR * LINE_K),
        viscosity_pa_s: AIR_VISCOSITY,
    };
    let slug_m = line.length_m * line.coolant_share;
    let air_m = line.length_m - slug_m;
    if air_m < SHORTEST_M {
        reverberate(&mut trace, line, area, line.length_m, &coolant);
    } else {
        if slug_m > 0.0 {
            let inertance = coolant.density_kg_m3 * slug_m / area;
            let compliance = (area * air_m + line.end_volume_m3) / (GAMMA_AIR * pressure_pa);
            let resistance = poiseuille(&coolant, line.bore_m) * slug_m;
            let natural = 1.0 / (inertance * compliance).sqrt();
            let damping = 0.5 * resistance * (compliance / inertance).sqrt();
            let mut slug = Filter::second_order(natural, damping, 1.0 / STEP_S);
            slug.run(&mut trace);
        }
        reverberate(&mut trace, line, area, air_m, &air);
    }
    let head_pa = coolant.density_kg_m3 * GRAVITY * line.rise_m * line.coolant_share;
    trace.iter_mut().for_each(|p| *p -= head_pa);
    trace
}

/// Laminar resistance per length, Pa s/m4.
fn poiseuille(fluid: &Fluid, bore_m: f64) -> f64 {
    let radius2 = bore_m * bore_m / 4.0;
    8.0 * fluid.viscosity_pa_s / (math::PI * radius2 * radius2)
}

fn reverberate(trace: &mut [f64], line: &LineSpec, area: f64, length_m: f64, fluid: &Fluid) {
    let effective_m = length_m + line.end_volume_m3 / area;
    let travel = effective_m / fluid.speed_m_s / STEP_S;
    if travel < 1.0 {
        return;
    }
    let impedance = fluid.density_kg_m3 * fluid.speed_m_s / area;
    let a = math::exp(-poiseuille(fluid, line.bore_m) * length_m / (2.0 * impedance));
    let input = trace.to_vec();
    let start = input[0];
    // The delays are the same all along, and so is the share at which they fall between two steps.
    let delayed = |steps: f64| {
        let whole = steps.ceil();
        (whole as usize, whole - steps)
    };
    let earlier = |of: &[f64], i: usize, (whole, share): (usize, f64)| {
        if i < whole {
            return start;
        }
        of[i - whole] + (of[i - whole + 1] - of[i - whole]) * share
    };
    let (once, twice) = (delayed(travel), delayed(2.0 * travel));
    let (first, echo) = (1.0 + a * a, a * a);
    for i in 0..trace.len() {
        trace[i] = first * earlier(&input, i, once) - echo * earlier(trace, i, twice);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(length_m: f64, end_volume_m3: f64) -> LineSpec {
        LineSpec {
            length_m,
            bore_m: 4e-3,
            end_volume_m3,
            coolant_share: 0.0,
            rise_m: 0.0,
            coolant_viscosity_pa_s: 3.4e-3,
        }
    }

    /// The distributed line of 1 m and 4 mm with 1 mL at its end resonates at 80 Hz: the smallest root
    /// of `tan(w L/c) = A c/(w V)` with c = 343 m/s, solved here by bisection.
    #[test]
    fn the_line_resonates_where_the_distributed_line_does() {
        let (area, c, v) = (math::PI / 4.0 * 16e-6, 343.0, 1e-6);
        let (mut low, mut high) = (1.0, math::PI / 2.0 * c - 1.0);
        for _ in 0..60 {
            let w = (low + high) / 2.0;
            if math::sin(w / c) / math::cos(w / c) < area * c / (w * v) {
                low = w
            } else {
                high = w
            }
        }
        let distributed_hz = low / math::TAU;
        assert!((distributed_hz - 79.6).abs() < 1.0, "{distributed_hz}");
        let mut step: Vec<f64> = (0..20_000)
            .map(|i| if i < 10 { 0.0 } else { 1.0 })
            .collect();
        let air = Fluid {
            speed_m_s: c,
            density_kg_m3: 1.19,
            viscosity_pa_s: AIR_VISCOSITY,
        };
        reverberate(&mut step, &line(1.0, v), area, 1.0, &air);
        let crossings: Vec<usize> = (1..step.len())
            .filter(|i| step[i - 1] < 1.0 && step[*i] >= 1.0)
            .collect();
        let cycles = 8;
        let hz = cycles as f64 / ((crossings[cycles] - crossings[0]) as f64 * STEP_S);
        assert!(
            (hz / distributed_hz - 1.0).abs() < 0.02,
            "{hz} {distributed_hz}"
        );
        assert!((step[19_999] - 1.0).abs() < 0.05, "it settles on the input");
    }
}
