//! What is wrong with the vehicle.

use super::field::{from, tried};
use super::section::section;
use super::units::Dimension::*;

/// Most leaks of a vehicle.
pub const MAX_LEAKS: usize = 4;

section! {
    /// All faults of the vehicle; a healthy one has none.
    #[derive(Default)]
    pub struct FaultsSpec {
        /// leaks from a cylinder into the coolant jacket
        leaks: Vec<LeakSpec> = list("leaks", LeakSpec::visit);
        /// cylinders with worn rings
        worn: Vec<WornSpec> = list("worn", WornSpec::visit);
        /// cylinders that miss combustions at idle
        misfires: Vec<MisfireSpec> = list("misfires", MisfireSpec::visit);
    }
}

section! {
    /// A leak, in SI units.
    pub struct LeakSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// effective area when fully open
        area_m2: f64 = required("area", Area, ["0.0001 mm2", "3 mm2"]);
        /// pressure above the jacket's at which it lifts: 0 for an open crack, 2 to 8 bar for a gasket that lifts
        opens_at_pa: f64 = quantity(
            "opens_at", Pressure, from("0 bar", "chosen by us: an open crack"), ["0 bar", "60 bar"],
        );
        /// further pressure over which it opens fully
        span_pa: f64 = quantity("opens_over", Pressure, tried("1 bar"), ["0.05 bar", "20 bar"]);
        /// share of the area that stays open the other way; 0 seals like a flap
        pull_back: f64 = quantity("pull_back", Ratio, tried("0.5"), ["0", "1"]);
    }
}

section! {
    /// A cylinder with worn rings.
    pub struct WornSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// effective leak area past the rings: 1.5 to 5 mm2 when worn
        ring_area_m2: f64 = required("ring_area", Area, ["0.5 mm2", "20 mm2"]);
    }
}

section! {
    /// A cylinder that misfires.
    pub struct MisfireSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// share of cycles without combustion
        share: f64 = required("share", Ratio, ["0 %", "100 %"]);
    }
}
