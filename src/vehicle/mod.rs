//! The resolved vehicle: numbers in SI, ready for the simulation; no time, no randomness.

mod acoustics;

pub use crate::scenario::MAX_LEAKS;
pub use acoustics::wave_speed;

use crate::math::TAU;
use crate::scenario::{
    CapSpec, CapState, CombustionSpec, CoolingSpec, EngineSpec, IdleSpec, LeakSpec, Mode, Scenario,
    SensorSpec, StarterSpec, TestSpec, ValvesSpec,
};

/// Specific gas constant of air, J/(kg K) (cited from memory: 8.314 46 J/(mol K) over 28.965 g/mol).
pub const R_AIR: f64 = 287.05;
/// A full cycle of four strokes, rad.
pub const CYCLE_RAD: f64 = 2.0 * TAU;
/// Most cylinders an engine may have.
pub const MAX_CYLINDERS: usize = 12;
/// A cylinder's walls run hotter than the coolant once the engine fires (chosen by us).
const RUNNING_WALL_RISE_K: f64 = 60.0;

/// Everything the simulation needs to know.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Vehicle {
    pub mode: Mode,
    pub engine: Engine,
    pub starter: StarterSpec,
    pub cooling: CoolingSpec,
    pub cap: CapSpec,
    pub idle: IdleSpec,
    pub leaks: Vec<Leak>,
    pub ambient_pa: f64,
    pub coolant_k: f64,
}

/// The engine with its cylinders in firing order.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Engine {
    pub cylinders: Vec<Cylinder>,
    pub piston_area_m2: f64,
    pub crank_radius_m: f64,
    /// Connecting rod length over crank radius.
    pub rod_ratio: f64,
    pub bore_m: f64,
    pub gamma: f64,
    pub wall_k: f64,
    pub intake_pa: f64,
    pub intake_k: f64,
    pub exhaust_k: f64,
    pub valves: ValvesSpec,
    pub combustion: CombustionSpec,
    pub inertia_kg_m2: f64,
    pub friction_nm: f64,
    pub viscous_friction_nm_s: f64,
}

/// One cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Cylinder {
    /// Its number on the engine.
    pub number: u32,
    /// Its compression TDC after that of the first in the firing order, rad.
    pub tdc_rad: f64,
    /// Volume at TDC with whatever stands in the plug hole, m3.
    pub clearance_m3: f64,
    /// Effective area past the rings, m2.
    pub ring_area_m2: f64,
    /// Effective area of the open plug hole, m2; 0 with a plug or a transducer in it.
    pub plug_hole_m2: f64,
    /// Whether it can burn: it has a plug with a spark.
    pub fires: bool,
}

/// A leak, tied to a cylinder's place in the firing order.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Leak {
    pub place: usize,
    pub spec: LeakSpec,
}

impl Vehicle {
    /// The vehicle of a checked scenario, as the test leaves it.
    pub fn resolve(s: &Scenario) -> Vehicle {
        let engine = Engine::resolve(s);
        let place = |c: u32| engine.cylinders.iter().position(|x| x.number == c);
        let leaks = s
            .faults
            .leaks
            .iter()
            .filter_map(|l| {
                Some(Leak {
                    place: place(l.cylinder)?,
                    spec: l.clone(),
                })
            })
            .collect();
        Vehicle {
            mode: s.test.mode,
            starter: s.vehicle.starter.clone(),
            cooling: s.vehicle.cooling.clone(),
            cap: s.test.cap.clone(),
            idle: s.test.idle.clone(),
            leaks,
            ambient_pa: s.test.ambient_pa,
            coolant_k: s.test.coolant_k,
            engine,
        }
    }

    /// Time a pressure change takes along the path from the leak to the neck, s: length over the
    /// speed of sound of the bubbly coolant in its passages.
    pub fn acoustic_delay_s(&self, start_gauge_pa: f64) -> f64 {
        self.cooling.path_m / wave_speed(&self.cooling, self.ambient_pa + start_gauge_pa)
    }
}

impl Engine {
    fn resolve(s: &Scenario) -> Engine {
        let e = &s.vehicle.engine;
        let piston_area_m2 = std::f64::consts::FRAC_PI_4 * e.bore_m * e.bore_m;
        let idle = s.test.mode == Mode::Idle;
        let wall_rise = if idle { RUNNING_WALL_RISE_K } else { 0.0 };
        Engine {
            cylinders: cylinders(e, &s.test, s, piston_area_m2),
            piston_area_m2,
            crank_radius_m: e.stroke_m / 2.0,
            rod_ratio: 2.0 * e.rod_m / e.stroke_m,
            bore_m: e.bore_m,
            gamma: e.gamma,
            wall_k: e.wall_k.unwrap_or(s.test.coolant_k + wall_rise),
            intake_pa: if idle {
                e.manifold.idle_pa
            } else {
                e.manifold.cranking_pa
            },
            intake_k: e.manifold.intake_k,
            exhaust_k: if idle {
                e.manifold.exhaust_idle_k
            } else {
                e.manifold.exhaust_cranking_k
            },
            valves: e.valves.clone(),
            combustion: e.combustion.clone(),
            inertia_kg_m2: e.inertia_kg_m2,
            friction_nm: e.friction_nm,
            viscous_friction_nm_s: e.viscous_friction_nm_s,
        }
    }
}

fn cylinders(e: &EngineSpec, test: &TestSpec, s: &Scenario, piston_area_m2: f64) -> Vec<Cylinder> {
    let transducer = s.channels.iter().find_map(|c| match &c.sensor {
        SensorSpec::CylinderPressure(sensor) => Some(sensor),
        _ => None,
    });
    let intervals = firing_intervals_rad(e);
    let mut tdc_rad = 0.0;
    e.firing_order
        .iter()
        .zip(intervals)
        .map(|(number, interval)| {
            let dead = transducer
                .filter(|t| t.cylinder == *number)
                .map(|t| t.dead_volume_m3);
            let open = test.plugs_out.contains(number);
            let worn = s.faults.worn.iter().find(|w| w.cylinder == *number);
            let cylinder = Cylinder {
                number: *number,
                tdc_rad,
                clearance_m3: piston_area_m2 * e.stroke_m / (e.compression_ratio - 1.0)
                    + dead.unwrap_or(0.0),
                ring_area_m2: worn.map_or(e.ring_area_m2, |w| w.ring_area_m2),
                plug_hole_m2: if open { test.plug_hole_area_m2 } else { 0.0 },
                fires: test.ignition_enabled && !open && dead.is_none(),
            };
            tdc_rad += interval;
            cylinder
        })
        .collect()
}

/// Crank angle from each cylinder of the firing order to the next, rad.
pub fn firing_intervals_rad(e: &EngineSpec) -> Vec<f64> {
    match e.firing_intervals_rad.is_empty() {
        true => vec![CYCLE_RAD / e.cylinders as f64; e.cylinders],
        false => e.firing_intervals_rad.clone(),
    }
}

/// Pascals in a pound-force per square inch (NIST Special Publication 811, appendix B).
const PA_PER_PSI: f64 = 6_894.757;

/// What closes the neck, in words for the card.
pub fn cap_words(cap: &CapSpec) -> String {
    match cap.state {
        CapState::Sealed => "sealed by the test adapter".into(),
        CapState::Relief => format!(
            "closed by a cap rated {:.2} bar ({:.0} psi)",
            cap.relief_gauge_pa / 1e5,
            cap.relief_gauge_pa / PA_PER_PSI
        ),
        CapState::Open => "open".into(),
    }
}
