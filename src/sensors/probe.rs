//! Truth probes: quantities as they are, for instructors and developers.

use super::{Scale, Scene, Sensor};
use crate::domain::Measures;
use crate::math::TAU;
use crate::scenario::{ProbeOf, ProbeSpec};
use crate::simulation::{STEP_S, Traces};

/// A probe; one volt stands for one unit, without noise.
pub fn sensor<'a>(spec: &ProbeSpec, scene: Scene<'a>, rate_hz: f64) -> Sensor<'a> {
    let traces = scene.traces;
    let ambient = scene.vehicle.ambient_pa;
    let place = scene
        .vehicle
        .engine
        .cylinders
        .iter()
        .position(|c| c.number == spec.cylinder);
    let leak = scene
        .vehicle
        .leaks
        .iter()
        .position(|l| Some(l.place) == place);
    let scaled = |trace: &[f64], zero: f64, factor: f64| -> Vec<f64> {
        trace.iter().map(|x| (x - zero) * factor).collect()
    };
    let (name, unit, values) = match spec.of {
        ProbeOf::CrankAngle => {
            let angle = (0..traces.crank_rad.len())
                .map(|i| traces.cycle_deg(i))
                .collect();
            ("Crank angle".to_string(), "deg", angle)
        }
        ProbeOf::CrankSpeed => (
            "Crank speed".into(),
            "rpm",
            scaled(&traces.speed_rad_s, 0.0, 60.0 / TAU),
        ),
        ProbeOf::CylinderPressure => {
            let trace = place.map_or(Vec::new(), |p| scaled(&traces.cylinder_pa[p], 0.0, 1e-3));
            (
                format!("Cylinder {} pressure, true", spec.cylinder),
                "kPa",
                trace,
            )
        }
        ProbeOf::JacketPressure => (
            "Jacket pressure, true".into(),
            "kPa",
            scaled(&traces.jacket_pa, ambient, 1e-3),
        ),
        ProbeOf::NeckPressure => (
            "Neck pressure, true".into(),
            "kPa",
            scaled(&traces.neck_pa, ambient, 1e-3),
        ),
        ProbeOf::ColumnFlow => (
            "Column flow".into(),
            "mL/s",
            scaled(&traces.flow_m3_s, 0.0, 1e6),
        ),
        ProbeOf::LeakFlow => {
            let trace = leak.map_or(vec![0.0; traces.crank_rad.len()], |l| {
                scaled(&traces.leak_kg_s[l], 0.0, 1e6)
            });
            (format!("Leak flow {}", spec.cylinder), "mg/s", trace)
        }
    };
    let largest = values.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    let wraps = spec.of == ProbeOf::CrankAngle;
    Sensor {
        measures: Measures::Probe,
        name,
        cylinder: None,
        scale: Scale {
            unit,
            per_volt: 1.0,
            at_zero_volts: 0.0,
        },
        noise_v: 0.0,
        own_range_v: Some(1.05 * largest.max(1e-6)),
        // A line drawn between 719 and 0 degrees would run through angles that never were.
        volts: Box::new(move |first, block| match wraps {
            true => {
                for (i, v) in (first..).zip(block) {
                    let step = (i as f64 / rate_hz / STEP_S) as usize;
                    *v = values[step.min(values.len() - 1)];
                }
            }
            false => Traces::sample(&values, rate_hz, first, block),
        }),
    }
}
