//! Sensors: from physics to volts, one file a sensor.
//!
//! A [`Sensor`] gives noiseless volts, a block of samples after the other; its noise is a number beside it.
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

use crate::domain::Measures;
use crate::scenario::SensorSpec;
use crate::simulation::Traces;
use crate::vehicle::Vehicle;
use std::borrow::Cow;

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
    volts: Box<Volts<'a>>,
}

/// Fills a block with noiseless volts, given the number of its first sample.
type Volts<'a> = dyn FnMut(u64, &mut [f64]) + 'a;

impl<'a> Sensor<'a> {
    /// The sensor of a channel that samples at `rate_hz`.
    pub fn new(spec: &SensorSpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
        let arrived = spec
            .neck_line()
            .map_or(Vec::new(), |line| arrivals(line, scene));
        Sensor::with_arrivals(spec, scene, rate_hz, arrived.into())
    }

    /// As [`Sensor::new`], if the [`arrivals`] of a neck sensor are known already.
    pub fn with_arrivals(
        spec: &SensorSpec,
        scene: Scene<'a>,
        rate_hz: f64,
        arrived_pa: Cow<'a, [f64]>,
    ) -> Sensor<'a> {
        match spec {
            SensorSpec::NeckPressure(neck) => {
                let ambient_pa = scene.vehicle.ambient_pa;
                transducer::sensor(
                    &neck.transducer,
                    arrived_pa,
                    ambient_pa,
                    rate_hz,
                    Measures::NeckPressure,
                    None,
                )
            }
            SensorSpec::NeckPulse(neck) => {
                pulse::sensor(&neck.pulse, &neck.line, arrived_pa, rate_hz)
            }
            SensorSpec::CoilTrigger(coil) => coil::sensor(coil, scene, rate_hz),
            SensorSpec::CylinderPressure(sensor) => {
                let place = scene
                    .vehicle
                    .engine
                    .cylinders
                    .iter()
                    .position(|c| c.number == sensor.cylinder);
                let trace = place.map_or(&[][..], |p| &scene.traces.cylinder_pa[p]);
                let ambient_pa = scene.vehicle.ambient_pa;
                let (measures, cylinder) = (Measures::CylinderPressure, Some(sensor.cylinder));
                transducer::sensor(
                    &sensor.transducer,
                    trace.into(),
                    ambient_pa,
                    rate_hz,
                    measures,
                    cylinder,
                )
            }
            SensorSpec::StarterCurrent(clamp) => clamp::sensor(clamp, scene, rate_hz),
            SensorSpec::BatteryVoltage(battery) => battery::sensor(battery, scene, rate_hz),
            SensorSpec::Probe(probe) => probe::sensor(probe, scene, rate_hz),
        }
    }

    /// Fills `block` with the noiseless output from sample number `first` on, V; call with block after
    /// block.
    pub fn volts(&mut self, first: u64, block: &mut [f64]) {
        (self.volts)(first, block)
    }
}
