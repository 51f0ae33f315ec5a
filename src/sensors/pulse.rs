//! Piezo pulse sensor: it feels the change of pressure and cannot hold it.
//!
//! A high pass (its charge leaks away with one time constant), a low pass, a gain and an end to its
//! output. Coolant in its line takes part of its gain.

use super::filter::Filter;
use super::{Scale, Sensor};
use crate::domain::Measures;
use crate::scenario::{LineSpec, PulseSpec};
use crate::simulation::Traces;
use std::borrow::Cow;

/// A pulse sensor on the pressure `trace_pa`.
pub fn sensor<'a>(
    spec: &PulseSpec,
    line: &LineSpec,
    trace_pa: Cow<'a, [f64]>,
    rate_hz: f64,
) -> Sensor<'a> {
    let sign = if spec.negative { -1.0 } else { 1.0 };
    let wetness = 1.0 - line.coolant_share * (1.0 - spec.wet_gain);
    let gain = sign * spec.gain_v_pa * wetness;
    let saturation_v = spec.saturation_v;
    let mut fading = Filter::high_pass(spec.decay_s, rate_hz);
    let mut slow = Filter::low_pass(spec.low_pass_hz, rate_hz);
    Sensor {
        measures: Measures::NeckPulse,
        name: "Neck pulse".into(),
        cylinder: None,
        scale: Scale {
            unit: "V",
            per_volt: 1.0,
            at_zero_volts: 0.0,
        },
        noise_v: spec.noise_v,
        own_range_v: None,
        volts: Box::new(move |first, block| {
            Traces::sample(&trace_pa, rate_hz, first, block);
            fading.run(block);
            slow.run(block);
            for v in block {
                *v = (gain * *v).clamp(-saturation_v, saturation_v);
            }
        }),
    }
}
