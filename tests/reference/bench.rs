//! The vehicle that the tables assume, and a plain Runge-Kutta step.

use waterjacket::scenario::{Drawn, Source};
use waterjacket::vehicle::Vehicle;

/// The six of `cranking.py`; every field that is not written is at its default, as there.
const SIX: &str = "
vehicle:
  engine:
    cylinders: 6
    firing_order: [1, 5, 3, 6, 2, 4]
    bore: 92 mm
    stroke: 82.8 mm
    rod: 145 mm
    compression_ratio: 9.6
faults:
  leaks: [{cylinder: 3, area: 0.05 mm2, opens_at: 3 bar}]
test: {mode: cranking, duration: 2 s, plugs_out: [4]}
channels: [{sensor: neck_pulse, line: {length: 0 m}}]
";

/// The long-stroke engine of `slider_crank.csv`.
const LONG_STROKE: &str = "
vehicle:
  engine: {cylinders: 1, firing_order: [1], bore: 70 mm, stroke: 105 mm, rod: 150 mm, compression_ratio: 12.5}
channels: [{sensor: neck_pressure}]
";

pub fn six() -> Drawn {
    drawn(SIX)
}

pub fn six_vehicle() -> Vehicle {
    Vehicle::resolve(&six().scenario)
}

pub fn long_stroke_vehicle() -> Vehicle {
    Vehicle::resolve(&drawn(LONG_STROKE).scenario)
}

fn drawn(text: &str) -> Drawn {
    let source = Source::parse("reference", text.as_bytes());
    source
        .and_then(|s| s.draw(None, 0))
        .unwrap_or_else(|f| panic!("{f}"))
}

/// One step of the classical Runge-Kutta method of a small system that does not know the time.
pub fn rk4<const N: usize>(y: [f64; N], h: f64, rate: impl Fn([f64; N]) -> [f64; N]) -> [f64; N] {
    let after = |k: [f64; N], dt: f64| std::array::from_fn(|i| y[i] + dt * k[i]);
    let k1 = rate(y);
    let k2 = rate(after(k1, h / 2.0));
    let k3 = rate(after(k2, h / 2.0));
    let k4 = rate(after(k3, h));
    std::array::from_fn(|i| y[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
}
