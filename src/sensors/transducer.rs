//! Pressure transducer: second-order response, a straight calibration, and an end to its output.

use super::filter::Filter;
use super::{Scale, Sensor};
use crate::domain::Measures;
use crate::math::TAU;
use crate::scenario::TransducerSpec;
use crate::simulation::Traces;
use std::borrow::Cow;

/// The output runs on by this share of its span beyond both ends.
const OVERRUN: f64 = 0.1;

/// A transducer on the absolute pressure `trace_pa`.
pub fn sensor<'a>(
    spec: &TransducerSpec,
    trace_pa: Cow<'a, [f64]>,
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
    let drift_v_sample = spec.drift_v_s / rate_hz;
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
        volts: Box::new(move |first, block| {
            Traces::sample(&trace_pa, rate_hz, first, block);
            block.iter_mut().for_each(|p| *p -= zero_pa);
            response.run(block);
            let at_zero_pa = low_v - low_pa * volts_per_pa + spec.offset_v;
            for (i, v) in (first..).zip(block) {
                let drift_v = drift_v_sample * i as f64;
                let ideal = at_zero_pa + *v * volts_per_pa + drift_v;
                *v = ideal.clamp(low_v - overrun_v, high_v + overrun_v);
            }
        }),
    }
}
