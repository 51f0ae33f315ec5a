//! Sensors: from physics to volts, one file a sensor.
//!
//! A [`Sensor`] gives noiseless volts at any later and later time; its noise is a number beside it.
//! Nothing here knows files or the converter.

mod battery;
mod clamp;
mod coil;
pub mod filter;
pub mod line;
mod probe;
mod pulse;
mod transducer;

pub use coil::spark_times;
pub use filter::Filter;
pub use line::arrivals;

use crate::capture::Measures;
use crate::scenario::{LineSpec, SensorSpec};
use crate::simulation::Traces;
use crate::vehicle::Vehicle;

/// What sensors look at.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// What happened.
    pub traces: &'a Traces,
    /// Delay along the coolant's path to the neck, s.
    pub acoustic_delay_s: f64,
    /// Whether the coils can fire, and whether companions share them.
    pub ignition: Ignition,
}

/// The ignition as the sensors see it.
#[derive(Clone, Copy, Debug)]
#[allow(missing_docs)]
pub struct Ignition {
    pub enabled: bool,
    pub shared_coils: bool,
    /// From compression TDC, rad.
    pub spark_rad: f64,
}

/// How volts become the measured quantity: `value = at_zero_volts + per_volt * v`.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Scale {
    pub unit: &'static str,
    pub per_volt: f64,
    pub at_zero_volts: f64,
}

/// A sensor in place.
pub struct Sensor<'a> {
    /// What it measures.
    pub measures: Measures,
    /// What its trace is called.
    pub name: String,
    /// The cylinder it sits on.
    pub cylinder: Option<u32>,
    /// Its calibration.
    pub scale: Scale,
    /// Random noise, root mean square, V.
    pub noise_v: f64,
    /// Full scale of an ideal converter, V; only truth probes bring their own.
    pub own_range_v: Option<f64>,
    volts: Box<dyn FnMut(f64) -> f64 + 'a>,
}

impl<'a> Sensor<'a> {
    /// The sensor of a channel that samples at `rate_hz`.
    pub fn new(spec: &SensorSpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
        match spec {
            SensorSpec::NeckPressure(transducer, line) => {
                let neck = arrivals(line, scene);
                let ambient_pa = scene.vehicle.ambient_pa;
                transducer::sensor(
                    transducer,
                    neck,
                    ambient_pa,
                    rate_hz,
                    Measures::NeckPressure,
                    None,
                )
            }
            SensorSpec::NeckPulse(pulse, line) => {
                pulse::sensor(pulse, line, arrivals(line, scene), rate_hz)
            }
            SensorSpec::CoilTrigger(coil) => coil::sensor(coil, scene),
            SensorSpec::CylinderPressure(sensor) => {
                let place = scene
                    .vehicle
                    .engine
                    .cylinders
                    .iter()
                    .position(|c| c.number == sensor.cylinder);
                let trace = place.map_or(Vec::new(), |p| scene.traces.cylinder_pa[p].clone());
                let ambient_pa = scene.vehicle.ambient_pa;
                let (measures, cylinder) = (Measures::CylinderPressure, Some(sensor.cylinder));
                transducer::sensor(
                    &sensor.transducer,
                    trace,
                    ambient_pa,
                    rate_hz,
                    measures,
                    cylinder,
                )
            }
            SensorSpec::StarterCurrent(clamp) => clamp::sensor(clamp, scene, rate_hz),
            SensorSpec::BatteryVoltage(battery) => battery::sensor(battery, scene),
            SensorSpec::Probe(probe) => probe::sensor(probe, scene),
        }
    }

    /// Noiseless output at time `t`; call with growing times, a sample apart.
    pub fn volts(&mut self, t: f64) -> f64 {
        (self.volts)(t)
    }
}

/// The line of a neck sensor; `None` for any other.
pub fn neck_line(spec: &SensorSpec) -> Option<&LineSpec> {
    match spec {
        SensorSpec::NeckPressure(_, line) | SensorSpec::NeckPulse(_, line) => Some(line),
        _ => None,
    }
}
