//! The areas of intake and exhaust valve over the cycle, from a table of the crank angle.
//!
//! `A sin^2(pi (x - x_o)/(x_c - x_o))` while open; angles outside of [-2 pi, 2 pi) wrap into it. The cubics
//! are good to 1e-9 of the largest area, but for the cells in which a valve begins or ends to open, where
//! they are off by 1e-5 of it. [`valve_area`] is the plain twin.

use super::table::{CYCLE_PLACES, Place};
use crate::math;
use crate::scenario::ValvesSpec;
use crate::vehicle::CYCLE_RAD;

/// Effective areas of a cylinder's two valves, m2.
#[derive(Clone, Copy, Debug, Default)]
#[allow(missing_docs)]
pub struct Areas {
    pub intake_m2: f64,
    pub exhaust_m2: f64,
}

/// The cycle of a cylinder's valves, from its compression TDC on.
#[derive(Clone, Debug)]
pub struct ValveTable {
    /// Cubics of the areas of intake and exhaust; `None` while both are shut.
    cells: Vec<Option<[[f64; 4]; 2]>>,
}

/// Effective area of a valve that opens at `span[0]` and closes at `span[1]`, at angle `x` in
/// [-2 pi, 2 pi), m2; and its slope, m2/rad.
pub fn valve_area(x: f64, span: [f64; 2], largest_m2: f64) -> [f64; 2] {
    let wrapped = [x, x - CYCLE_RAD, x + CYCLE_RAD];
    match wrapped.iter().find(|x| **x > span[0] && **x < span[1]) {
        None => [0.0, 0.0],
        Some(x) => {
            let per_rad = math::PI / (span[1] - span[0]);
            let (sin, cos) = (
                math::sin(per_rad * (x - span[0])),
                math::cos(per_rad * (x - span[0])),
            );
            [
                largest_m2 * sin * sin,
                2.0 * largest_m2 * per_rad * sin * cos,
            ]
        }
    }
}

impl ValveTable {
    /// The table of these valves.
    pub fn new(valves: &ValvesSpec) -> ValveTable {
        const WIDTH: f64 = CYCLE_RAD / CYCLE_PLACES as f64;
        let node = |i: usize| {
            let x = WIDTH * i as f64;
            let x = if x < CYCLE_RAD / 2.0 {
                x
            } else {
                x - CYCLE_RAD
            };
            [
                valve_area(x, valves.intake_rad, valves.intake_area_m2),
                valve_area(x, valves.exhaust_rad, valves.exhaust_area_m2),
            ]
        };
        let mut from = node(0);
        let cells = (1..=CYCLE_PLACES).map(|i| {
            let to = node(i % CYCLE_PLACES);
            let open = from != to || from != [[0.0; 2]; 2];
            let cell =
                open.then(|| [0, 1].map(|valve| math::cubic(WIDTH, [from[valve], to[valve]])));
            from = to;
            cell
        });
        ValveTable {
            cells: cells.collect(),
        }
    }

    /// The areas at a place counted from compression TDC; never below zero.
    #[inline(always)]
    pub fn at(&self, place: Place) -> Areas {
        match &self.cells[place.cell] {
            None => Areas::default(),
            Some([intake, exhaust]) => Areas {
                intake_m2: math::cubic_at(intake, place.share).max(0.0),
                exhaust_m2: math::cubic_at(exhaust, place.share).max(0.0),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_the_valves() {
        let valves = ValvesSpec {
            intake_rad: [-370.0, -115.0].map(math::radians),
            intake_area_m2: 4e-4,
            exhaust_rad: [130.0, 368.0].map(math::radians),
            exhaust_area_m2: 3.5e-4,
        };
        let table = ValveTable::new(&valves);
        let mut shut = 0;
        for i in 0..7200 {
            let x = math::radians(0.1 * f64::from(i) - 359.95);
            let areas = table.at(Place::new(x * Place::PER_RAD));
            for (area, span, largest) in [
                (areas.intake_m2, valves.intake_rad, valves.intake_area_m2),
                (areas.exhaust_m2, valves.exhaust_rad, valves.exhaust_area_m2),
            ] {
                let plain = valve_area(x, span, largest)[0];
                // Half a degree around the ends holds the cells that contain them.
                let ends = span.iter().flat_map(|e| [*e, e - CYCLE_RAD, e + CYCLE_RAD]);
                let tolerance = match ends.into_iter().any(|e| (x - e).abs() < 0.009) {
                    true => 1e-5,
                    false => 1e-9,
                };
                assert!(
                    (area - plain).abs() <= tolerance * largest,
                    "{x}: {area} {plain}"
                );
            }
            shut += usize::from(areas.intake_m2 == 0.0 && areas.exhaust_m2 == 0.0);
        }
        // From -115 to 130 deg.
        assert!((2440..=2460).contains(&shut), "{shut}");
    }
}
