//! What is wrong with the vehicle.

use super::section::Section;
use super::units::Dimension::*;

/// Most leaks of a vehicle.
pub const MAX_LEAKS: usize = 4;

/// All faults of the vehicle; a healthy one has none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaultsSpec {
    /// Leaks from a cylinder into the jacket.
    pub leaks: Vec<LeakSpec>,
    /// Cylinders with worn rings.
    pub worn: Vec<WornSpec>,
    /// Cylinders that miss combustions at idle.
    pub misfires: Vec<MisfireSpec>,
}

/// A leak, in SI units.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct LeakSpec {
    pub cylinder: u32,
    pub area_m2: f64,
    pub opens_at_pa: f64,
    pub span_pa: f64,
    pub pull_back: f64,
}

/// A cylinder with worn rings.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct WornSpec {
    pub cylinder: u32,
    pub ring_area_m2: f64,
}

/// A cylinder that misfires.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct MisfireSpec {
    pub cylinder: u32,
    pub share: f64,
}

fn cylinder(s: &mut Section) -> u32 {
    s.integer("cylinder", None, [1, 12], "the cylinder's number") as u32
}

impl FaultsSpec {
    pub(super) fn read(s: &mut Section) -> Self {
        FaultsSpec {
            leaks: s.list("leaks", "leaks from a cylinder into the coolant jacket", |s| LeakSpec {
                cylinder: cylinder(s),
                area_m2: s.quantity("area", Area, "", ["0.0001 mm2", "3 mm2"], "effective area when fully open"),
                opens_at_pa: s.quantity("opens_at", Pressure, "0 bar", ["0 bar", "60 bar"], "pressure above the jacket's at which it lifts: 0 for an open crack, 2 to 8 bar for a gasket that lifts"),
                span_pa: s.quantity("opens_over", Pressure, "1 bar", ["0.05 bar", "20 bar"], "further pressure over which it opens fully"),
                pull_back: s.quantity("pull_back", Ratio, "0.5", ["0", "1"], "share of the area that stays open the other way; 0 seals like a flap"),
            }),
            worn: s.list("worn", "cylinders with worn rings", |s| WornSpec {
                cylinder: cylinder(s),
                ring_area_m2: s.quantity("ring_area", Area, "", ["0.5 mm2", "20 mm2"], "effective leak area past the rings: 1.5 to 5 mm2 when worn"),
            }),
            misfires: s.list("misfires", "cylinders that miss combustions at idle", |s| MisfireSpec {
                cylinder: cylinder(s),
                share: s.quantity("share", Ratio, "", ["0 %", "100 %"], "share of cycles without combustion"),
            }),
        }
    }
}
