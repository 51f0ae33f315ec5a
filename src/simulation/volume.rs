//! A cylinder's volume over crank angle: the slider-crank, from a table.
//!
//! `V = V_c + A_p a (1 + L - cos x - sqrt(L^2 - sin^2 x))` with `L` the rod ratio (Heywood, Internal
//! Combustion Engine Fundamentals, 1988, eq. 2.4 to 2.6, cited from memory). The table holds cubics for
//! `V`, whose own slope is the slope used, so that the work done on the gas is exactly what the crank
//! gives; and cubics for the volume's part in the wall heat. [`slider_crank`] and [`wall_term`] are the
//! plain twins that the tests hold it against.

use super::table::Place;
use crate::math::{self, TAU};
use crate::vehicle::Engine;

/// Places of the tables in a revolution; a power of two, so that whole turns fall away with the high bits.
pub const PLACES: usize = 1024;

/// Volume at one crank angle.
#[derive(Clone, Copy, Debug)]
pub struct Volume {
    /// m3.
    pub m3: f64,
    /// m3/rad.
    pub slope: f64,
    /// `V^-0.46` times the surface of head, piston and liner: the volume's part in the wall heat.
    pub wall_term: f64,
}

/// One revolution of a cylinder.
#[derive(Clone, Debug)]
pub struct VolumeTable {
    /// Cubics of volume and wall term.
    cells: Vec<[[f64; 4]; 2]>,
}

/// Volume and slope (m3, m3/rad) at angle `x` from TDC, straight from the equation.
pub fn slider_crank(engine: &Engine, clearance_m3: f64, x: f64) -> (f64, f64) {
    let (sin, cos) = (math::sin(x), math::cos(x));
    let root = (engine.rod_ratio * engine.rod_ratio - sin * sin).sqrt();
    let swept = engine.piston_area_m2 * engine.crank_radius_m;
    let volume = clearance_m3 + swept * (1.0 + engine.rod_ratio - cos - root);
    (volume, swept * sin * (1.0 + cos / root))
}

/// `V^-0.46 (2 A_p + pi B V/A_p)` of a volume, and its slope over the volume.
pub fn wall_term(engine: &Engine, m3: f64) -> (f64, f64) {
    let power = math::pow(m3, -0.46);
    let liner_per_m3 = math::PI * engine.bore_m / engine.piston_area_m2;
    let surface = 2.0 * engine.piston_area_m2 + liner_per_m3 * m3;
    (
        power * surface,
        power * (liner_per_m3 - 0.46 * surface / m3),
    )
}

impl VolumeTable {
    /// The table of a cylinder with this volume at TDC.
    pub fn new(engine: &Engine, clearance_m3: f64) -> VolumeTable {
        const WIDTH: f64 = TAU / PLACES as f64;
        let node = |i: usize| {
            let (m3, slope) = slider_crank(engine, clearance_m3, WIDTH * i as f64);
            let (wall, wall_slope) = wall_term(engine, m3);
            [[m3, slope], [wall, wall_slope * slope]]
        };
        let mut from = node(0);
        let cells = (1..=PLACES).map(|i| {
            let to = node(i);
            let cell = [0, 1].map(|part| math::cubic(WIDTH, [from[part], to[part]]));
            from = to;
            cell
        });
        VolumeTable {
            cells: cells.collect(),
        }
    }

    /// Volume at angle `x` from TDC, rad.
    pub fn at(&self, x: f64) -> Volume {
        self.at_place(Place::new(x * Place::PER_RAD))
    }

    /// Volume at a place counted from TDC.
    #[inline(always)]
    pub fn at_place(&self, place: Place) -> Volume {
        let [volume, wall] = &self.cells[place.cell & (PLACES - 1)];
        Volume {
            m3: math::cubic_at(volume, place.share),
            slope: math::cubic_rise(volume, place.share) * Place::PER_RAD,
            wall_term: math::cubic_at(wall, place.share),
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
            let wall = wall_term(&engine, volume).0;
            assert!((v.wall_term / wall - 1.0).abs() < 1e-9, "{x}");
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
