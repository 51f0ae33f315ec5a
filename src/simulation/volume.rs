//! A cylinder's volume over crank angle: the slider-crank, from a table.
//!
//! `V = V_c + A_p a (1 + L - cos x - sqrt(L^2 - sin^2 x))` with `L` the rod ratio (Heywood, Internal
//! Combustion Engine Fundamentals, 1988, eq. 2.4 to 2.6, cited from memory). The table holds `V` and
//! its slope, joined by cubics whose own slope is the slope used, so that the work done on the gas
//! is exactly what the crank gives. [`slider_crank`] is the plain twin that the tests hold it against.

use crate::math::{self, TAU};
use crate::vehicle::Engine;

/// Places of the table in a revolution; a power of two, so that scaling is exact.
const PLACES: usize = 1024;

/// Volume at one crank angle.
#[derive(Clone, Copy, Debug)]
pub struct Volume {
    /// m3.
    pub m3: f64,
    /// m3/rad.
    pub slope: f64,
    /// `V^-0.46`, the volume's part in the wall heat.
    pub heat_term: f64,
}

/// One revolution of a cylinder.
pub struct VolumeTable {
    nodes: Vec<Volume>,
}

/// Volume and slope (m3, m3/rad) at angle `x` from TDC, straight from the equation.
pub fn slider_crank(engine: &Engine, clearance_m3: f64, x: f64) -> (f64, f64) {
    let (sin, cos) = (math::sin(x), math::cos(x));
    let root = (engine.rod_ratio * engine.rod_ratio - sin * sin).sqrt();
    let swept = engine.piston_area_m2 * engine.crank_radius_m;
    let volume = clearance_m3 + swept * (1.0 + engine.rod_ratio - cos - root);
    (volume, swept * sin * (1.0 + cos / root))
}

impl VolumeTable {
    /// The table of a cylinder with this volume at TDC.
    pub fn new(engine: &Engine, clearance_m3: f64) -> VolumeTable {
        let node = |i: usize| {
            let (m3, slope) = slider_crank(engine, clearance_m3, TAU * i as f64 / PLACES as f64);
            Volume {
                m3,
                slope,
                heat_term: math::pow(m3, -0.46),
            }
        };
        VolumeTable {
            nodes: (0..=PLACES).map(node).collect(),
        }
    }

    /// Volume at angle `x` from TDC, x in [-2 pi, 2 pi).
    pub fn at(&self, x: f64) -> Volume {
        const WIDTH: f64 = TAU / PLACES as f64;
        let place = (x + TAU) * (1.0 / WIDTH);
        let whole = place as usize;
        let u = place - whole as f64;
        let i = whole & (PLACES - 1);
        let (a, b) = (&self.nodes[i], &self.nodes[i + 1]);
        let (m3, slope) = math::hermite(u, WIDTH, [a.m3, a.slope], [b.m3, b.slope]);
        Volume {
            m3,
            slope,
            heat_term: a.heat_term + u * (b.heat_term - a.heat_term),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Source;
    use crate::vehicle::Vehicle;

    fn engine() -> (Engine, f64) {
        let text = b"vehicle: {engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}}\nchannels: [{sensor: neck_pressure}]";
        let drawn = Source::parse("test", text).unwrap().draw(None, 0).unwrap();
        let engine = Vehicle::resolve(&drawn.scenario).engine;
        let clearance = engine.cylinders[0].clearance_m3;
        (engine, clearance)
    }

    #[test]
    fn the_table_is_the_slider_crank() {
        let (engine, clearance) = engine();
        let table = VolumeTable::new(&engine, clearance);
        for i in 0..7200 {
            let x = (i as f64 * 0.2 - 719.9) * math::PI / 360.0;
            let (volume, slope) = slider_crank(&engine, clearance, x);
            let v = table.at(x);
            assert!(
                (v.m3 / volume - 1.0).abs() < 1e-10,
                "{x}: {} {volume}",
                v.m3
            );
            assert!(
                (v.slope - slope).abs() < 1e-7 * engine.piston_area_m2 * engine.crank_radius_m,
                "{x}"
            );
            assert!(
                (v.heat_term / math::pow(volume, -0.46) - 1.0).abs() < 2e-5,
                "{x}"
            );
        }
    }

    /// Swept over clearance volume is the compression ratio less one (definition).
    #[test]
    fn the_stroke_sweeps_what_the_plate_says() {
        let (engine, clearance) = engine();
        let (bottom, _) = slider_crank(&engine, clearance, math::PI);
        let (top, _) = slider_crank(&engine, clearance, 0.0);
        assert!((bottom / top - 9.6).abs() < 1e-9, "{}", bottom / top);
    }
}
