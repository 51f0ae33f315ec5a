//! One cylinder: the balance of the gas in it.
//!
//! Gas: one zone, open, ideal: `dm/dt = sum m'`,
//! `dp/dt = [-g p dV/dt + g R sum(m' T_up) + (g - 1) Q] / V`.
//! Wall heat: Hohenberg (SAE 790825, 1979), `h = 130 V^-0.06 p^0.8 T^-0.4 (s_p + 1.4)^0.8`, p in bar.
//! Combustion: Wiebe with a = 5 and m = 2, `x_b = 1 - exp(-5 u^3)`.
//! Limits: no waves in the manifolds, no fuel vapour, one gamma, crevices are part of the rings. Openings
//! that would equalise a cylinder within the solver's step are narrowed until they do not, which an
//! engine with usual valves and plug holes hardly meets.
//! What is here is plain; the solver works by `bank`, which does the same for all cylinders at once.

use super::SOLVER_STEP_S;
use super::orifice::Gas;
use super::valves::valve_area;
use super::volume::Volume;
use crate::math;
use crate::vehicle::{CYCLE_RAD, Engine, R_AIR};

/// The Wiebe curve's two constants.
const WIEBE_A: f64 = 5.0;
const WIEBE_EXPONENT: f64 = 3.0;
/// Most of a pressure difference that all openings of a cylinder together take away in a step, to
/// first order; the solver is stable up to 2.51 (chosen by us).
pub(super) const QUICKEST: f64 = 2.0;
/// The factor of Hohenberg's equation.
pub(super) const HOHENBERG: f64 = 130.0;
/// `(1e-5)^(0.8/0.4)`: Hohenberg's pressure counts in bar.
pub(super) const BAR_TERM: f64 = 1e-10;

/// What the surroundings of the cylinders are during one evaluation.
#[derive(Clone, Copy, Debug)]
pub struct Surroundings {
    /// Gas before the intake valve: pressure and temperature.
    pub intake: (f64, f64),
    /// Gas behind the exhaust valve.
    pub exhaust: (f64, f64),
    /// Air outside and in the crankcase.
    pub ambient: (f64, f64),
    /// `(s_p + 1.4)^0.8` of Hohenberg's equation.
    pub piston_speed_term: f64,
}

/// Gas in a cylinder.
#[derive(Clone, Copy, Debug)]
pub struct Contents {
    /// Pa.
    pub pressure_pa: f64,
    /// kg.
    pub mass_kg: f64,
    /// K.
    pub temperature_k: f64,
}

/// Mass and enthalpy entering a cylinder; outflow is negative.
#[derive(Clone, Copy, Debug, Default)]
pub struct Inflow {
    /// Sum of m', kg/s.
    pub mass: f64,
    /// Sum of m' T_up, kg K/s.
    pub mass_kelvin: f64,
}

/// Angle from a cylinder's own compression TDC, in [-2 pi, 2 pi), and the number of its cycle.
#[inline(always)]
pub fn own_angle(crank_rad: f64, tdc_rad: f64) -> (f64, i64) {
    let turns = (crank_rad - tdc_rad) * (1.0 / CYCLE_RAD) + 0.5;
    let towards_zero = turns as i64;
    let cycle = towards_zero - i64::from(towards_zero as f64 > turns);
    ((turns - cycle as f64 - 0.5) * CYCLE_RAD, cycle)
}

impl Contents {
    /// From the state variables.
    pub fn new(pressure_pa: f64, mass_kg: f64, volume: Volume) -> Contents {
        let temperature_k = pressure_pa * volume.m3 / (mass_kg * R_AIR);
        Contents {
            pressure_pa,
            mass_kg,
            temperature_k,
        }
    }
}

impl Inflow {
    /// Adds the exchange through an opening with gas at `(pressure, temperature)`.
    pub fn through(&mut self, gas: &Gas, area_m2: f64, own: Contents, other: (f64, f64)) {
        if area_m2 > 0.0 {
            if own.pressure_pa > other.0 {
                self.add(
                    -gas.mass_flow(area_m2, own.pressure_pa, own.temperature_k, other.0),
                    own.temperature_k,
                );
            } else {
                self.add(
                    gas.mass_flow(area_m2, other.0, other.1, own.pressure_pa),
                    other.1,
                );
            }
        }
    }

    /// Adds a flow with the temperature of its upstream side.
    pub fn add(&mut self, mass: f64, upstream_k: f64) {
        self.mass += mass;
        self.mass_kelvin += mass * upstream_k;
    }
}

/// Valves, rings and plug hole at angle `x`.
pub fn openings(
    engine: &Engine,
    gas: &Gas,
    around: &Surroundings,
    x: f64,
    own: Contents,
    volume_m3: f64,
    (ring_m2, plug_hole_m2): (f64, f64),
) -> Inflow {
    let valves = &engine.valves;
    let mut openings = [
        (
            valve_area(x, valves.intake_rad, valves.intake_area_m2)[0],
            around.intake,
        ),
        (
            valve_area(x, valves.exhaust_rad, valves.exhaust_area_m2)[0],
            around.exhaust,
        ),
        (ring_m2, around.ambient),
        (plug_hole_m2, around.ambient),
    ];
    let hottest_k = own.temperature_k.max(around.intake.1).max(around.exhaust.1);
    let per_area = gas.gamma * gas.steepest() * (R_AIR * hottest_k).sqrt() * SOLVER_STEP_S;
    let (total, most) = (
        openings.iter().map(|o| o.0).sum::<f64>(),
        QUICKEST * volume_m3 / per_area,
    );
    if total > most {
        openings.iter_mut().for_each(|o| o.0 *= most / total);
    }
    let mut inflow = Inflow::default();
    for (area_m2, other) in openings {
        inflow.through(gas, area_m2, own, other);
    }
    inflow
}

/// Heat from the walls into the gas, W (negative while the gas is hotter).
pub fn wall_heat(engine: &Engine, around: &Surroundings, own: Contents, volume: Volume) -> f64 {
    // With T = p V/(m R), V^-0.06 p^0.8 T^-0.4 = V^-0.46 (p m R)^0.4, pressure in bar and pascal.
    let gas = math::pow(own.pressure_pa * own.mass_kg * (R_AIR * BAR_TERM), 0.4);
    let coefficient = HOHENBERG * around.piston_speed_term * gas;
    -coefficient * volume.wall_term * (own.temperature_k - engine.wall_k)
}

/// Rate of heat release at angle `x` of a cycle that releases `heat_j`, W; a crank that rocks back does
/// not take it back.
pub fn combustion_heat(engine: &Engine, x: f64, speed_rad_s: f64, heat_j: f64) -> f64 {
    let c = &engine.combustion;
    let u = (x - c.start_rad) / c.duration_rad;
    if !(0.0..=1.0).contains(&u) {
        return 0.0;
    }
    let slope = WIEBE_A * WIEBE_EXPONENT * u * u * math::exp(-WIEBE_A * u * u * u);
    heat_j * slope / c.duration_rad * speed_rad_s.max(0.0)
}

/// `dp/dt` of the cylinder's gas, Pa/s.
pub fn pressure_rate(
    gamma: f64,
    own: Contents,
    volume: Volume,
    volume_rate: f64,
    inflow: Inflow,
    heat_w: f64,
) -> f64 {
    (-gamma * own.pressure_pa * volume_rate
        + gamma * R_AIR * inflow.mass_kelvin
        + (gamma - 1.0) * heat_w)
        / volume.m3
}
