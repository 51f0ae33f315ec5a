//! Current clamp on the starter cable: gain, zero error, bandwidth.

use super::filter::Filter;
use super::{Scale, Scene, Sensor};
use crate::domain::Measures;
use crate::scenario::ClampSpec;
use crate::simulation::Traces;

/// A clamp on the starter current.
pub fn sensor<'a>(spec: &ClampSpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
    let (gain, zero_v) = (spec.gain_v_a, spec.zero_v);
    let mut response = Filter::low_pass(spec.bandwidth_hz, rate_hz);
    Sensor {
        measures: Measures::StarterCurrent,
        name: "Starter current".into(),
        cylinder: None,
        scale: Scale {
            unit: "A",
            per_volt: 1.0 / gain,
            at_zero_volts: 0.0,
        },
        noise_v: spec.noise_v,
        own_range_v: None,
        volts: Box::new(move |first, block| {
            Traces::sample(&scene.traces.current_a, rate_hz, first, block);
            response.run(block);
            block.iter_mut().for_each(|v| *v = gain * *v + zero_v);
        }),
    }
}
