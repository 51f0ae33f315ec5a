//! The physics: state, derivatives, solver; noiseless traces come out.
//!
//! The state advances by a Runge-Kutta method of third order with a fixed step of [`SOLVER_STEP_S`]; the
//! traces keep a value every [`STEP_S`], the one within a step from the rates that the step has anyway. Each
//! file beside this one holds one piece with its equation. Nothing here knows noise or volts.

mod bank;
pub mod coolant;
pub mod crank;
pub mod cylinder;
pub mod leak;
pub mod orifice;
#[cfg(test)]
mod plain;
mod state;
pub mod table;
mod traces;
pub mod valves;
pub mod volume;

pub use coolant::{Coolant, LeakAccount};
pub use cylinder::own_angle;
pub use traces::{Passing, Traces};

use crate::math;
use crate::scenario::{Mode, TestSpec};
use crate::vehicle::{MAX_CYLINDERS, MAX_LEAKS, R_AIR, Vehicle};
use bank::{Bank, Extra, Now};
use coolant::Drive;
use leak::{LeakFlow, Mouth};
use orifice::Gas;
use state::{Sights, Signals, State};

/// Time from one value of the traces to the next, s.
pub const STEP_S: f64 = 1e-4;
/// The solver's step, s.
pub const SOLVER_STEP_S: f64 = 2.0 * STEP_S;
/// A crank that follows its starter more quickly than this, s, is taken in steps of [`STEP_S`]; the usual
/// time is fifty times as long.
const QUICK_STARTER_S: f64 = 5.0 * SOLVER_STEP_S;
/// An idling engine runs this long before the capture begins, so that it has settled.
const SETTLE_S: f64 = 2.0;
/// The governor is this much quicker meanwhile (chosen by us).
const SETTLING_HASTE: f64 = 4.0;
/// Ratio of specific heats of air at ordinary temperature, for the cap's orifice.
const GAMMA_AIR: f64 = 1.4;

/// Heat of each cylinder's cycles over its mean, by place in the firing order, then cycle.
pub type CycleHeats = Vec<Vec<f64>>;

/// One vehicle under one test, ready to run, with its cylinders in `N` lanes.
struct Model<'a, const N: usize> {
    vehicle: &'a Vehicle,
    test: &'a TestSpec,
    heats: &'a CycleHeats,
    burnt: Gas,
    air: Gas,
    bank: Bank<N>,
    /// Leaks are shut while an engine settles.
    leaks_open: bool,
}

/// What the solver passes in [`SOLVER_STEP_S`]: its start, and [`STEP_S`] later.
struct Passed<const N: usize> {
    start: Sights<N>,
    signals: Signals,
    middle: Sights<N>,
    middle_signals: Signals,
}

/// Runs the test and gives its traces, from the start of the capture to its end.
///
/// `heats` holds the combustion's variation; a cranking engine does not use it. Times in the result
/// count from the capture's start.
pub fn run(vehicle: &Vehicle, test: &TestSpec, heats: &CycleHeats) -> Traces {
    let mut traces = Traces::default();
    run_into(&mut traces, vehicle, test, heats);
    traces
}

/// As [`run`], with the result in traces of an earlier run, whose room is used again.
pub fn run_into(traces: &mut Traces, vehicle: &Vehicle, test: &TestSpec, heats: &CycleHeats) {
    let (starter, engine) = (&vehicle.starter, &vehicle.engine);
    let torque_per_rad_s =
        starter.efficiency * starter.motor_constant_v_s * starter.motor_constant_v_s
            / (starter.battery_ohm + starter.starter_ohm);
    let quick = engine.inertia_kg_m2 < QUICK_STARTER_S * torque_per_rad_s;
    run_in_lanes(traces, vehicle, test, heats, quick.then_some(1));
}

/// As [`run`], with a step of [`STEP_S`] over `substeps`. For measuring what the step costs in accuracy.
pub fn run_finer(vehicle: &Vehicle, test: &TestSpec, heats: &CycleHeats, substeps: u32) -> Traces {
    let mut traces = Traces::default();
    run_in_lanes(&mut traces, vehicle, test, heats, Some(substeps));
    traces
}

/// Runs with the cylinders in as many lanes as they need, an even number: the processor works in pairs.
fn run_in_lanes(
    traces: &mut Traces,
    vehicle: &Vehicle,
    test: &TestSpec,
    heats: &CycleHeats,
    substeps: Option<u32>,
) {
    const { assert!(MAX_CYLINDERS <= 12) };
    match vehicle.engine.cylinders.len() {
        ..=2 => Model::<2>::new(vehicle, test, heats).run(traces, substeps),
        3..=4 => Model::<4>::new(vehicle, test, heats).run(traces, substeps),
        5..=6 => Model::<6>::new(vehicle, test, heats).run(traces, substeps),
        7..=8 => Model::<8>::new(vehicle, test, heats).run(traces, substeps),
        9..=10 => Model::<10>::new(vehicle, test, heats).run(traces, substeps),
        _ => Model::<12>::new(vehicle, test, heats).run(traces, substeps),
    }
}

impl<'a, const N: usize> Model<'a, N> {
    fn new(vehicle: &'a Vehicle, test: &'a TestSpec, heats: &'a CycleHeats) -> Self {
        let burnt = Gas::new(vehicle.engine.gamma);
        Model {
            vehicle,
            test,
            heats,
            bank: Bank::new(vehicle, &burnt),
            burnt,
            air: Gas::new(GAMMA_AIR),
            leaks_open: false,
        }
    }

    fn run(mut self, traces: &mut Traces, substeps: Option<u32>) {
        let mut state = self.at_start();
        if self.vehicle.mode == Mode::Idle {
            let steps = (SETTLE_S / SOLVER_STEP_S).round() as usize;
            for i in 0..steps {
                let t = (i as f64 - steps as f64) * SOLVER_STEP_S;
                self.advance(t, &mut state, substeps);
            }
        }
        self.leaks_open = true;
        let steps = (self.test.duration_s / SOLVER_STEP_S).ceil() as usize + 1;
        traces.restart(self.vehicle, 2 * steps + 1);
        for i in 0..steps {
            let passed = self.advance(i as f64 * SOLVER_STEP_S, &mut state, substeps);
            traces.push(&passed.start, &passed.signals);
            traces.push(&passed.middle, &passed.middle_signals);
        }
        let t = steps as f64 * SOLVER_STEP_S;
        let (_, signals) = self.rate(t >= self.test.key_on_s, &state);
        traces.push(&state.sights(), &signals);
        traces.end = state.coolant;
    }

    fn at_start(&self) -> State<N> {
        let v = self.vehicle;
        let mut state = State {
            crank_rad: self.test.rest_rad,
            speed_rad_s: 0.0,
            governor_nm: 0.0,
            pressure_pa: [v.ambient_pa; N],
            mass_kg: [1.0; N],
            coolant: Coolant::at_rest(&v.cooling, v.ambient_pa, self.test.start_gauge_pa),
        };
        if v.mode == Mode::Idle {
            state.speed_rad_s = self.test.idle.speed_rad_s;
        }
        for i in 0..v.engine.cylinders.len() {
            let m3 = self.bank.volume(i, state.crank_rad).m3;
            state.mass_kg[i] = v.ambient_pa * m3 / (R_AIR * v.engine.wall_k);
        }
        state
    }

    /// From time `t` on by [`SOLVER_STEP_S`]: in one step, or in steps of [`STEP_S`] over `substeps`.
    fn advance(&self, t: f64, y: &mut State<N>, substeps: Option<u32>) -> Passed<N> {
        const ROUNDING_S: f64 = 1e-9;
        let key_s = self.test.key_on_s;
        // The key is on or off for a whole step: a step that saw both would be off by a share of the
        // starter's kick, and the method no better than first order. So a step ends where the key turns.
        let keyed_within = key_s - t > ROUNDING_S && t + SOLVER_STEP_S - key_s > ROUNDING_S;
        if substeps.is_none() && !keyed_within {
            return self.step(t, y, SOLVER_STEP_S);
        }
        let mut through = |from_s: f64| {
            let substeps = substeps.unwrap_or(1);
            let h = STEP_S / f64::from(substeps);
            let start = y.sights();
            let mut signals = None;
            for i in 0..substeps {
                let t = from_s + f64::from(i) * h;
                let before_key = key_s - t;
                let passed = if (ROUNDING_S..h - ROUNDING_S).contains(&before_key) {
                    let passed = self.step(t, y, before_key);
                    self.step(key_s, y, h - before_key);
                    passed
                } else {
                    self.step(t, y, h)
                };
                signals.get_or_insert(passed.signals);
            }
            (start, signals.unwrap_or_default())
        };
        let (start, signals) = through(t);
        let (middle, middle_signals) = through(t + STEP_S);
        Passed {
            start,
            signals,
            middle,
            middle_signals,
        }
    }

    /// One step of the Runge-Kutta method of third order whose error is least (Ralston, Mathematics of
    /// Computation 16, 1962; the advancing half of Bogacki and Shampine's pair, 1989; cited from memory).
    ///
    /// The middle is of second order, with what the linear part of the third asks for; its signals are the
    /// second rate's, taken there as well.
    fn step(&self, t: f64, y: &mut State<N>, h: f64) -> Passed<N> {
        let keyed = t + 0.5 * h >= self.test.key_on_s;
        let (k1, signals) = self.rate(keyed, y);
        let (k2, middle_signals) = self.rate(keyed, &y.moved([&k1], [0.5 * h]));
        let (k3, _) = self.rate(keyed, &y.moved([&k2], [0.75 * h]));
        let k = [&k1, &k2, &k3];
        let passed = Passed {
            start: y.sights(),
            signals,
            middle: y
                .sights()
                .moved(k, [5.0 * h / 18.0, 3.0 * h / 18.0, h / 18.0]),
            middle_signals,
        };
        *y = y.moved(k, [2.0 * h / 9.0, 3.0 * h / 9.0, 4.0 * h / 9.0]);
        passed
    }

    /// The rate of change of the whole state.
    fn rate(&self, keyed: bool, y: &State<N>) -> (State<N>, Signals) {
        let v = self.vehicle;
        let engine = &v.engine;
        let speed = y.speed_rad_s;
        let now = Now {
            crank_rad: y.crank_rad,
            speed_rad_s: speed,
            pressure_pa: &y.pressure_pa,
            mass_kg: &y.mass_kg,
        };
        let mut extra = Extra {
            mass: [0.0; N],
            enthalpy_w: [0.0; N],
            heat_w: [0.0; N],
        };
        let mut leak_flows = [LeakFlow::default(); MAX_LEAKS];
        if self.leaks_open {
            self.leak(y, now, &mut extra, &mut leak_flows);
        }
        if v.mode == Mode::Idle {
            self.burn(y, &mut extra);
        }
        let (mut pressure_pa, mut mass_kg) = ([0.0; N], [0.0; N]);
        let gas_nm = self
            .bank
            .rates(&self.burnt, now, &extra, &mut pressure_pa, &mut mass_kg);
        let mut torque = gas_nm - crank::friction(engine, speed);
        let mut signals = Signals::default();
        let mut governor_nm = 0.0;
        match v.mode {
            Mode::Cranking => {
                if keyed {
                    signals.current_a = crank::starter_current(&v.starter, speed);
                }
                signals.battery_v =
                    v.starter.open_circuit_v - signals.current_a * v.starter.battery_ohm;
                torque += crank::starter_torque(&v.starter, signals.current_a);
            }
            Mode::Idle => {
                let set = self.test.idle.speed_rad_s;
                let haste = if self.leaks_open { 1.0 } else { SETTLING_HASTE };
                let (load, integral_rate) =
                    crank::governor(engine, speed, set, y.governor_nm, haste);
                torque -= load;
                governor_nm = integral_rate;
                signals.battery_v = v.starter.charging_v;
            }
        }
        for (signal, flow) in signals.leak_kg_s.iter_mut().zip(&leak_flows) {
            *signal = flow.forward_kg_s - flow.back_kg_s;
        }
        let leak_flows = &leak_flows[..v.leaks.len()];
        let coolant = y
            .coolant
            .rate(&v.cooling, &v.cap, &self.air, leak_flows, self.drive(y));
        let rate = State {
            crank_rad: speed,
            speed_rad_s: torque / engine.inertia_kg_m2,
            governor_nm,
            pressure_pa,
            mass_kg,
            coolant,
        };
        (rate, signals)
    }

    #[inline(always)]
    fn leak(&self, y: &State<N>, now: Now<N>, extra: &mut Extra<N>, flows: &mut [LeakFlow]) {
        let leaks = &self.vehicle.leaks;
        let give = y.coolant.jacket_give(&self.vehicle.cooling);
        let share = give / (SOLVER_STEP_S * leaks.len() as f64);
        for (l, leak) in leaks.iter().enumerate() {
            let mouth = Mouth {
                jacket_pa: y.coolant.jacket_pa,
                coolant_k: self.vehicle.coolant_k,
                density_kg_m3: self.vehicle.cooling.density_kg_m3,
                gas_kg: y.coolant.leaks[l].mouth_kg,
            };
            let i = leak.place;
            let (pressure_pa, kelvin) = (y.pressure_pa[i], self.bank.kelvin(i, now));
            let flow = leak::flow(&leak.spec, &self.burnt, pressure_pa, kelvin, mouth);
            let flow = flow.held(leak.spec.opens_at_pa, pressure_pa, mouth, share);
            extra.mass[i] += flow.back_kg_s - flow.forward_kg_s;
            extra.enthalpy_w[i] +=
                R_AIR * (flow.back_kg_s * mouth.coolant_k - flow.forward_kg_s * kelvin);
            flows[l] = flow;
        }
    }

    #[inline(always)]
    fn burn(&self, y: &State<N>, extra: &mut Extra<N>) {
        let engine = &self.vehicle.engine;
        for (i, c) in engine.cylinders.iter().enumerate().filter(|(_, c)| c.fires) {
            let (x, cycle) = own_angle(y.crank_rad, c.tdc_rad);
            let heat_j = engine.combustion.heat_j * self.heat_share(i, cycle);
            extra.heat_w[i] = cylinder::combustion_heat(engine, x, y.speed_rad_s, heat_j);
        }
    }

    #[inline(always)]
    fn heat_share(&self, place: usize, cycle: i64) -> f64 {
        let shares = &self.heats[place];
        shares[cycle.rem_euclid(shares.len() as i64) as usize]
    }

    #[inline(always)]
    fn drive(&self, y: &State<N>) -> Drive {
        let v = self.vehicle;
        let idle = &self.test.idle;
        let (mut pump_pa, mut rise_pa_s) = (0.0, 0.0);
        if v.mode == Mode::Idle {
            let relative = y.speed_rad_s / idle.speed_rad_s;
            let angle = idle.pump_ripple_per_turn * y.crank_rad;
            pump_pa = idle.pump_ripple_pa * relative * relative * math::sin(angle);
            // The capture starts at its stated pressure.
            rise_pa_s = if self.leaks_open {
                idle.pressure_rise_pa_s
            } else {
                0.0
            };
        }
        Drive {
            pump_pa,
            rise_pa_s,
            ambient_pa: v.ambient_pa,
            coolant_k: v.coolant_k,
        }
    }
}
