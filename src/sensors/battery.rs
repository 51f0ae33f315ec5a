//! Battery voltage, through the lead's divider.

use super::{Scale, Scene, Sensor};
use crate::domain::Measures;
use crate::scenario::BatterySpec;
use crate::simulation::Traces;

/// Leads on the battery.
pub fn sensor<'a>(spec: &BatterySpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
    let divider = spec.divider;
    Sensor {
        measures: Measures::BatteryVoltage,
        name: "Battery voltage".into(),
        cylinder: None,
        scale: Scale {
            unit: "V",
            per_volt: 1.0 / divider,
            at_zero_volts: 0.0,
        },
        noise_v: spec.noise_v,
        own_range_v: None,
        volts: Box::new(move |first, block| {
            Traces::sample(&scene.traces.battery_v, rate_hz, first, block);
            block.iter_mut().for_each(|v| *v *= divider);
        }),
    }
}
