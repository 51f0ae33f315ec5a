//! Coil trigger: a pulse each time the coil of one cylinder fires.
//!
//! A coil of its own fires once in 720 degrees; a coil shared with the companion fires once in 360,
//! before compression TDC and before exhaust TDC alike (wasted spark). Without ignition, nothing.

use super::{Ignition, Scale, Scene, Sensor};
use crate::domain::Measures;
use crate::math::TAU;
use crate::scenario::CoilSpec;
use crate::simulation::Traces;
use crate::vehicle::{CYCLE_RAD, Vehicle};

/// When the coil of `cylinder` fires, s, in order.
pub fn spark_times(
    vehicle: &Vehicle,
    traces: &Traces,
    ignition: Ignition,
    cylinder: u32,
) -> Vec<f64> {
    let own = vehicle
        .engine
        .cylinders
        .iter()
        .find(|c| c.number == cylinder);
    match own {
        Some(own) if ignition.enabled => {
            let period = if ignition.shared_coils {
                TAU
            } else {
                CYCLE_RAD
            };
            traces.passings(own.tdc_rad + ignition.spark_rad, period)
        }
        _ => Vec::new(),
    }
}

/// A trigger on one cylinder's coil.
pub fn sensor<'a>(spec: &CoilSpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
    let times = spark_times(scene.vehicle, scene.traces, scene.ignition, spec.cylinder);
    let (height_v, width_s) = (spec.height_v, spec.width_s);
    let mut next = 0;
    Sensor {
        measures: Measures::CoilTrigger,
        name: format!("Coil trigger {}", spec.cylinder),
        cylinder: Some(spec.cylinder),
        scale: Scale {
            unit: "V",
            per_volt: 1.0,
            at_zero_volts: 0.0,
        },
        noise_v: spec.noise_v,
        own_range_v: None,
        volts: Box::new(move |first, block| {
            // The first sample at or after a time.
            let sample = |t: f64| (t * rate_hz).ceil() as u64;
            block.fill(0.0);
            let end = first + block.len() as u64;
            while let Some(start_s) = times.get(next) {
                let (from, to) = (sample(*start_s), sample(start_s + width_s));
                if from < end {
                    let within = |i: u64| (i.clamp(first, end) - first) as usize;
                    block[within(from)..within(to)].fill(height_v);
                }
                if to > end {
                    break;
                }
                next += 1;
            }
        }),
    }
}
