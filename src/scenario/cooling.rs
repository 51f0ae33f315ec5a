//! The cooling system as a scenario writes it.

use super::section::Section;
use super::units::Dimension::*;

/// The cooling system as specified, in SI units.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CoolingSpec {
    pub air_pocket_m3: f64,
    pub liquid_m3: f64,
    pub bubbles_m3: f64,
    pub jacket_compliance_m3_pa: f64,
    pub neck_compliance_m3_pa: f64,
    pub bulk_modulus_pa: f64,
    pub density_kg_m3: f64,
    pub polytropic: f64,
    pub path_m: f64,
    pub path_area_m2: f64,
    pub laminar_resistance: f64,
    pub quadratic_resistance: f64,
    pub drift_s: f64,
    pub gas_cooling_s: f64,
    pub acoustics: AcousticsSpec,
}

/// What decides the speed of sound in the passages from the leak to the neck.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct AcousticsSpec {
    pub void_fraction: f64,
    pub bore_m: f64,
    pub wall_m: f64,
    pub wall_modulus_pa: f64,
}

impl CoolingSpec {
    pub(super) fn read(s: &mut Section) -> Self {
        CoolingSpec {
            air_pocket_m3: s.quantity(
                "air_pocket",
                Volume,
                "200 mL",
                ["10 mL", "5 L"],
                "air under the neck, at ambient pressure",
            ),
            liquid_m3: s.quantity(
                "coolant",
                Volume,
                "5 L",
                ["0.5 L", "40 L"],
                "coolant in the jacket",
            ),
            bubbles_m3: s.quantity(
                "bubbles",
                Volume,
                "5 mL",
                ["1 mL", "500 mL"],
                "gas trapped in the jacket",
            ),
            jacket_compliance_m3_pa: s.quantity(
                "jacket_compliance",
                Compliance,
                "0.2 mL/kPa",
                ["0.02 mL/kPa", "20 mL/kPa"],
                "give of the hoses at the jacket; ten times as much for soft old ones",
            ),
            neck_compliance_m3_pa: s.quantity(
                "neck_compliance",
                Compliance,
                "0.2 mL/kPa",
                ["0.02 mL/kPa", "20 mL/kPa"],
                "give of the hoses and tank at the neck",
            ),
            bulk_modulus_pa: s.quantity(
                "bulk_modulus",
                Pressure,
                "2.2 GPa",
                ["1 GPa", "4 GPa"],
                "of the coolant without gas",
            ),
            density_kg_m3: s.quantity(
                "density",
                Density,
                "1060 kg/m3",
                ["900 kg/m3", "1200 kg/m3"],
                "of the coolant",
            ),
            polytropic: s.quantity(
                "polytropic",
                Ratio,
                "1.2",
                ["1", "1.4"],
                "exponent of the air pocket: 1 isothermal, 1.4 adiabatic",
            ),
            path_m: s.quantity(
                "path",
                Length,
                "0.8 m",
                ["0.1 m", "6 m"],
                "column of coolant from the leak to the neck",
            ),
            path_area_m2: s.quantity(
                "path_area",
                Area,
                "6 cm2",
                ["0.5 cm2", "40 cm2"],
                "cross-section of that column",
            ),
            laminar_resistance: s.quantity(
                "laminar_resistance",
                FlowResistance,
                "5e7 Pa s/m3",
                ["0 Pa s/m3", "1e9 Pa s/m3"],
                "pressure drop per flow of the column",
            ),
            quadratic_resistance: s.quantity(
                "quadratic_resistance",
                QuadraticResistance,
                "2e10 Pa s2/m6",
                ["0 Pa s2/m6", "1e12 Pa s2/m6"],
                "pressure drop per squared flow of the column",
            ),
            drift_s: s.quantity(
                "drift_time",
                Time,
                "8 s",
                ["0.5 s", "600 s"],
                "time constant of gas drifting from the jacket to the neck",
            ),
            gas_cooling_s: s.quantity(
                "gas_cooling_time",
                Time,
                "50 ms",
                ["5 ms", "1 s"],
                "time constant of injected gas cooling to the coolant",
            ),
            acoustics: s.section(
                "acoustics",
                "the passages' speed of sound, for the pure delay along the path",
                AcousticsSpec::read,
            ),
        }
    }
}

impl AcousticsSpec {
    fn read(s: &mut Section) -> Self {
        AcousticsSpec {
            void_fraction: s.quantity("void_fraction", Ratio, "0.1 %", ["0 %", "20 %"], "share of fine bubbles in the coolant of the path"),
            bore_m: s.quantity("bore", Length, "25 mm", ["5 mm", "100 mm"], "bore of the passages"),
            wall_m: s.quantity("wall", Length, "5 mm", ["1 mm", "30 mm"], "wall of the passages"),
            wall_modulus_pa: s.quantity("wall_modulus", Pressure, "70 GPa", ["1 MPa", "250 GPa"], "elasticity of the passages' wall (castings are rigid; the compliances already carry the hoses)"),
        }
    }
}
