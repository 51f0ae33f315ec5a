//! Where a crank angle lies in the tables of volume and valves.

use super::volume::PLACES;
use crate::math::{self, TAU};

/// Places in a cycle of two revolutions.
pub const CYCLE_PLACES: usize = 2 * PLACES;

/// A crank angle as the tables see it: a cell of the cycle, and the share of it that is passed.
#[derive(Clone, Copy, Debug, Default)]
pub struct Place {
    /// 0 to [`CYCLE_PLACES`], whole cycles fallen away.
    pub cell: usize,
    /// 0 to 1.
    pub share: f64,
}

impl Place {
    /// Places in a radian.
    pub const PER_RAD: f64 = PLACES as f64 / TAU;

    /// The place at so many places from where the table begins; any number up to 2^50.
    #[inline(always)]
    pub fn new(places: f64) -> Place {
        let (whole, share) = math::whole_and_share(places);
        Place {
            cell: whole & (CYCLE_PLACES - 1),
            share,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_wrap_and_share_out() {
        for (places, cell, share) in [
            (0.25, 0, 0.25),
            (2047.75, 2047, 0.75),
            (2048.5, 0, 0.5),
            (-0.25, 2047, 0.75),
            (-2048.75, 2047, 0.25),
            (1e6 + 0.125, 1_000_000 % 2048, 0.125),
        ] {
            let place = Place::new(places);
            assert_eq!((place.cell, place.share), (cell, share), "{places}");
        }
    }
}
