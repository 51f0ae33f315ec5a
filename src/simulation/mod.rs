//! The physics: state, derivatives, solver; noiseless traces come out.
//!
//! The state advances by the classical Runge-Kutta method of fourth order with a fixed step of
//! [`STEP_S`]. Each file beside this one holds one piece with its equation. Nothing here knows noise
//! or volts.

pub mod coolant;
pub mod crank;
pub mod cylinder;
pub mod leak;
pub mod orifice;
mod traces;
pub mod volume;

pub use coolant::{Coolant, LeakAccount};
pub use cylinder::own_angle;
pub use traces::{Passing, Traces};

use crate::math;
use crate::scenario::{Mode, TestSpec};
use crate::vehicle::{MAX_CYLINDERS, MAX_LEAKS, Vehicle};
use coolant::Drive;
use cylinder::{Contents, Inflow, Surroundings};
use leak::{LeakFlow, Mouth};
use orifice::Gas;
use volume::VolumeTable;

/// The solver's step, s.
pub const STEP_S: f64 = 1e-4;
/// An idling engine runs this long before the capture begins, so that it has settled.
const SETTLE_S: f64 = 2.0;
/// The governor is this much quicker meanwhile (chosen by us).
const SETTLING_HASTE: f64 = 4.0;
/// Ratio of specific heats of air at ordinary temperature, for the cap's orifice.
const GAMMA_AIR: f64 = 1.4;

/// Heat of each cylinder's cycles over its mean, by place in the firing order, then cycle.
pub type CycleHeats = Vec<Vec<f64>>;

/// All that changes, and equally its rate of change.
#[derive(Clone, Copy, Debug)]
struct State {
    crank_rad: f64,
    speed_rad_s: f64,
    governor_nm: f64,
    pressure_pa: [f64; MAX_CYLINDERS],
    mass_kg: [f64; MAX_CYLINDERS],
    coolant: Coolant,
}

/// What an evaluation yields besides the rates.
#[derive(Clone, Copy, Debug, Default)]
struct Signals {
    current_a: f64,
    battery_v: f64,
    leak_kg_s: [f64; MAX_LEAKS],
}

impl State {
    fn after(&self, rate: &State, dt: f64, cylinders: usize, leaks: usize) -> State {
        let mut next = State {
            crank_rad: self.crank_rad + dt * rate.crank_rad,
            speed_rad_s: self.speed_rad_s + dt * rate.speed_rad_s,
            governor_nm: self.governor_nm + dt * rate.governor_nm,
            coolant: self.coolant.after(&rate.coolant, dt, leaks),
            ..*self
        };
        for i in 0..cylinders {
            next.pressure_pa[i] += dt * rate.pressure_pa[i];
            next.mass_kg[i] += dt * rate.mass_kg[i];
        }
        next
    }
}

/// One vehicle under one test, ready to run.
struct Model<'a> {
    vehicle: &'a Vehicle,
    test: &'a TestSpec,
    heats: &'a CycleHeats,
    burnt: Gas,
    air: Gas,
    volumes: Vec<VolumeTable>,
    /// Leaks are shut while an engine settles.
    leaks_open: bool,
    step_s: f64,
}

/// Runs the test and gives its traces, from the start of the capture to its end.
///
/// `heats` holds the combustion's variation; a cranking engine does not use it. Times in the result
/// count from the capture's start.
pub fn run(vehicle: &Vehicle, test: &TestSpec, heats: &CycleHeats) -> Traces {
    run_finer(vehicle, test, heats, 1)
}

/// As [`run`], with each step divided into `substeps`; the traces keep a value a [`STEP_S`]. For
/// measuring what the step costs in accuracy.
pub fn run_finer(vehicle: &Vehicle, test: &TestSpec, heats: &CycleHeats, substeps: u32) -> Traces {
    let mut model = Model {
        vehicle,
        test,
        heats,
        burnt: Gas::new(vehicle.engine.gamma),
        air: Gas::new(GAMMA_AIR),
        volumes: vehicle
            .engine
            .cylinders
            .iter()
            .map(|c| VolumeTable::new(&vehicle.engine, c.clearance_m3))
            .collect(),
        leaks_open: false,
        step_s: STEP_S / f64::from(substeps),
    };
    let mut state = model.at_start();
    if vehicle.mode == Mode::Idle {
        let steps = (SETTLE_S / STEP_S).round() as usize;
        for i in 0..steps {
            state = model
                .advance((i as f64 - steps as f64) * STEP_S, &state, substeps)
                .0;
        }
    }
    model.leaks_open = true;
    let steps = (test.duration_s / STEP_S).ceil() as usize + 1;
    let mut traces = Traces::with_capacity(vehicle, steps + 1);
    for i in 0..=steps {
        let (next, signals) = model.advance(i as f64 * STEP_S, &state, substeps);
        traces.push(&state, &signals);
        if i < steps {
            state = next;
        }
    }
    traces.end = state.coolant;
    traces
}

impl Model<'_> {
    fn at_start(&self) -> State {
        let v = self.vehicle;
        let mut state = State {
            crank_rad: self.test.rest_rad,
            speed_rad_s: 0.0,
            governor_nm: 0.0,
            pressure_pa: [v.ambient_pa; MAX_CYLINDERS],
            mass_kg: [1.0; MAX_CYLINDERS],
            coolant: Coolant::at_rest(&v.cooling, v.ambient_pa, self.test.start_gauge_pa),
        };
        if v.mode == Mode::Idle {
            state.speed_rad_s = self.test.idle.speed_rad_s;
        }
        for (i, c) in v.engine.cylinders.iter().enumerate() {
            let (x, _) = own_angle(state.crank_rad, c.tdc_rad);
            let volume = self.volumes[i].at(x);
            state.mass_kg[i] = v.ambient_pa * volume.m3 / (crate::vehicle::R_AIR * v.engine.wall_k);
        }
        state
    }

    /// One [`STEP_S`] in so many steps; also the signals at its start.
    fn advance(&self, t: f64, y: &State, substeps: u32) -> (State, Signals) {
        let (mut next, signals) = self.step(t, y);
        for i in 1..substeps {
            next = self.step(t + f64::from(i) * self.step_s, &next).0;
        }
        (next, signals)
    }

    /// One step of the classical Runge-Kutta method; also the signals at its start.
    fn step(&self, t: f64, y: &State) -> (State, Signals) {
        let (n, l) = (
            self.vehicle.engine.cylinders.len(),
            self.vehicle.leaks.len(),
        );
        let h = self.step_s;
        let half = 0.5 * h;
        // The key is on or off for a whole step: a step that saw both would be off by a share of the
        // starter's kick, and the method no better than first order.
        let keyed = t + half >= self.test.key_on_s;
        let (k1, signals) = self.rate(keyed, y);
        let (k2, _) = self.rate(keyed, &y.after(&k1, half, n, l));
        let (k3, _) = self.rate(keyed, &y.after(&k2, half, n, l));
        let (k4, _) = self.rate(keyed, &y.after(&k3, h, n, l));
        let sixth = h / 6.0;
        let next = y
            .after(&k1, sixth, n, l)
            .after(&k2, 2.0 * sixth, n, l)
            .after(&k3, 2.0 * sixth, n, l)
            .after(&k4, sixth, n, l);
        (next, signals)
    }

    /// The rate of change of the whole state.
    fn rate(&self, keyed: bool, y: &State) -> (State, Signals) {
        let v = self.vehicle;
        let engine = &v.engine;
        let speed = y.speed_rad_s;
        let mut rate = State {
            crank_rad: speed,
            speed_rad_s: 0.0,
            governor_nm: 0.0,
            pressure_pa: [0.0; MAX_CYLINDERS],
            mass_kg: [0.0; MAX_CYLINDERS],
            coolant: Coolant::default(),
        };
        let mut signals = Signals::default();
        let piston_speed = 2.0 * engine.crank_radius_m * speed.abs() / math::PI;
        let piston_speed_term = math::exp(0.8 * math::ln(piston_speed + 1.4));
        let around = Surroundings {
            intake: (engine.intake_pa, engine.intake_k),
            exhaust: (v.ambient_pa, engine.exhaust_k),
            ambient: (v.ambient_pa, engine.intake_k),
            piston_speed_term,
        };
        let mut leak_flows = [LeakFlow::default(); MAX_LEAKS];
        let mut torque = 0.0;
        for (i, c) in engine.cylinders.iter().enumerate() {
            let (x, cycle) = own_angle(y.crank_rad, c.tdc_rad);
            let volume = self.volumes[i].at(x);
            let own = Contents::new(y.pressure_pa[i], y.mass_kg[i], volume);
            let mut inflow = cylinder::openings(
                engine,
                &self.burnt,
                &around,
                x,
                own,
                volume.m3,
                (c.ring_area_m2, c.plug_hole_m2),
            );
            self.leaks_of(i, y, own, &mut inflow, &mut leak_flows);
            let mut heat_w = cylinder::wall_heat(engine, &around, own, volume);
            if v.mode == Mode::Idle && c.fires {
                let heat_j = engine.combustion.heat_j * self.heat_share(i, cycle);
                heat_w += cylinder::combustion_heat(engine, x, speed, heat_j);
            }
            let volume_rate = volume.slope * speed;
            rate.mass_kg[i] = inflow.mass;
            rate.pressure_pa[i] =
                cylinder::pressure_rate(engine.gamma, own, volume, volume_rate, inflow, heat_w);
            torque += (own.pressure_pa - v.ambient_pa) * volume.slope;
        }
        torque -= crank::friction(engine, speed);
        match v.mode {
            Mode::Cranking => {
                signals.current_a = if keyed {
                    crank::starter_current(&v.starter, speed)
                } else {
                    0.0
                };
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
                rate.governor_nm = integral_rate;
                signals.battery_v = v.starter.charging_v;
            }
        }
        rate.speed_rad_s = torque / engine.inertia_kg_m2;
        let leaks = v.leaks.len();
        for (signal, flow) in signals.leak_kg_s.iter_mut().zip(&leak_flows) {
            *signal = flow.forward_kg_s - flow.back_kg_s;
        }
        let drive = self.drive(y);
        rate.coolant = y
            .coolant
            .rate(&v.cooling, &v.cap, &self.air, &leak_flows[..leaks], drive);
        (rate, signals)
    }

    fn leaks_of(
        &self,
        place: usize,
        y: &State,
        own: Contents,
        inflow: &mut Inflow,
        flows: &mut [LeakFlow],
    ) {
        let leaks = &self.vehicle.leaks;
        for (l, leak) in leaks.iter().enumerate() {
            if leak.place != place || !self.leaks_open {
                continue;
            }
            let mouth = Mouth {
                jacket_pa: y.coolant.jacket_pa,
                coolant_k: self.vehicle.coolant_k,
                density_kg_m3: self.vehicle.cooling.density_kg_m3,
                gas_kg: y.coolant.leaks[l].mouth_kg,
            };
            let give = y.coolant.jacket_give(&self.vehicle.cooling);
            let flow = leak::flow(
                &leak.spec,
                &self.burnt,
                own.pressure_pa,
                own.temperature_k,
                mouth,
            )
            .held(
                leak.spec.opens_at_pa,
                own.pressure_pa,
                mouth,
                give / (self.step_s * leaks.len() as f64),
            );
            inflow.add(-flow.forward_kg_s, own.temperature_k);
            inflow.add(flow.back_kg_s, mouth.coolant_k);
            flows[l] = flow;
        }
    }

    fn heat_share(&self, place: usize, cycle: i64) -> f64 {
        let shares = &self.heats[place];
        shares[cycle.rem_euclid(shares.len() as i64) as usize]
    }

    fn drive(&self, y: &State) -> Drive {
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
