//! Pressure transducer: second-order response, a straight calibration, and an end to its output.

use super::filter::Filter;
use super::{Scale, Sensor};
use crate::capture::Measures;
use crate::math::TAU;
use crate::scenario::TransducerSpec;
use crate::simulation::Traces;

/// The output runs on by this share of its span beyond both ends.
const OVERRUN: f64 = 0.1;

/// A transducer on the absolute pressure `trace_pa`.
pub fn sensor<'a>(
    spec: &TransducerSpec,
    trace_pa: Vec<f64>,
    ambient_pa: f64,
    rate_hz: f64,
    measures: Measures,
    cylinder: Option<u32>,
) -> Sensor<'a> {
    let spec = spec.clone();
    let zero_pa = if spec.absolute { 0.0 } else { ambient_pa };
    let [low_pa, high_pa] = spec.span_pa;
    let [low_v, high_v] = spec.output_v;
    let volts_per_pa = (high_v - low_v) / (high_pa - low_pa);
    let overrun_v = OVERRUN * (high_v - low_v);
    let kpa_per_volt = 1e-3 / volts_per_pa;
    let place = match cylinder {
        Some(c) => format!("Cylinder {c} pressure"),
        None => "Neck pressure".to_string(),
    };
    let mut response = Filter::second_order(TAU * spec.bandwidth_hz, spec.damping, rate_hz);
    Sensor {
        measures,
        name: if spec.absolute {
            format!("{place}, absolute")
        } else {
            place
        },
        cylinder,
        scale: Scale {
            unit: "kPa",
            per_volt: kpa_per_volt,
            at_zero_volts: low_pa * 1e-3 - low_v * kpa_per_volt,
        },
        noise_v: spec.noise_v,
        own_range_v: None,
        volts: Box::new(move |t| {
            let pressure = response.next(Traces::at(&trace_pa, t) - zero_pa);
            let ideal =
                low_v + (pressure - low_pa) * volts_per_pa + spec.offset_v + spec.drift_v_s * t;
            ideal.clamp(low_v - overrun_v, high_v + overrun_v)
        }),
    }
}
