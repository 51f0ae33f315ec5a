//! The cooling system as a scenario writes it.

use super::field::{from, tried};
use super::section::section;
use super::units::Dimension::*;

section! {
    /// The cooling system as specified, in SI units.
    pub struct CoolingSpec {
        /// air under the neck, at ambient pressure
        air_pocket_m3: f64 = quantity("air_pocket", Volume, "200 mL", ["10 mL", "5 L"]);
        /// coolant in the jacket
        liquid_m3: f64 = quantity("coolant", Volume, tried("5 L"), ["0.5 L", "40 L"]);
        /// gas trapped in the jacket
        bubbles_m3: f64 = quantity("bubbles", Volume, tried("5 mL"), ["1 mL", "500 mL"]);
        /// give of the hoses at the jacket; ten times as much for soft old ones
        jacket_compliance_m3_pa: f64 = quantity(
            "jacket_compliance", Compliance, tried("0.2 mL/kPa"), ["0.02 mL/kPa", "20 mL/kPa"],
        );
        /// give of the hoses and tank at the neck
        neck_compliance_m3_pa: f64 = quantity(
            "neck_compliance", Compliance, tried("0.2 mL/kPa"), ["0.02 mL/kPa", "20 mL/kPa"],
        );
        /// of the coolant without gas
        bulk_modulus_pa: f64 = quantity(
            "bulk_modulus", Pressure, from("2.2 GPa", "from memory: water, 2.2 GPa"), ["1 GPa", "4 GPa"],
        );
        /// of the coolant
        density_kg_m3: f64 = quantity(
            "density", Density, from("1060 kg/m3", "from memory: half glycol by volume"), ["900 kg/m3", "1200 kg/m3"],
        );
        /// exponent of the air pocket: 1 isothermal, 1.4 adiabatic
        polytropic: f64 = quantity(
            "polytropic", Ratio, from("1.2", "chosen by us: between isothermal and adiabatic"), ["1", "1.4"],
        );
        /// column of coolant from the leak to the neck
        path_m: f64 = quantity("path", Length, tried("0.8 m"), ["0.1 m", "6 m"]);
        /// cross-section of that column
        path_area_m2: f64 = quantity("path_area", Area, tried("6 cm2"), ["0.5 cm2", "40 cm2"]);
        /// pressure drop per flow of the column
        laminar_resistance: f64 = quantity(
            "laminar_resistance", FlowResistance, tried("5e7 Pa s/m3"), ["0 Pa s/m3", "1e9 Pa s/m3"],
        );
        /// pressure drop per squared flow of the column
        quadratic_resistance: f64 = quantity(
            "quadratic_resistance", QuadraticResistance, tried("2e10 Pa s2/m6"), ["0 Pa s2/m6", "1e12 Pa s2/m6"],
        );
        /// time constant of gas drifting from the jacket to the neck
        drift_s: f64 = quantity("drift_time", Time, tried("8 s"), ["0.5 s", "600 s"]);
        /// time constant of injected gas cooling to the coolant
        gas_cooling_s: f64 = quantity("gas_cooling_time", Time, tried("50 ms"), ["5 ms", "1 s"]);
        /// the passages' speed of sound, for the pure delay along the path
        acoustics: AcousticsSpec = section("acoustics", AcousticsSpec::visit);
    }
}

section! {
    /// What decides the speed of sound in the passages from the leak to the neck.
    pub struct AcousticsSpec {
        /// share of fine bubbles in the coolant of the path
        void_fraction: f64 = quantity("void_fraction", Ratio, "0.1 %", ["0 %", "20 %"]);
        /// bore of the passages
        bore_m: f64 = quantity("bore", Length, "25 mm", ["5 mm", "100 mm"]);
        /// wall of the passages
        wall_m: f64 = quantity("wall", Length, "5 mm", ["1 mm", "30 mm"]);
        /// elasticity of the passages' wall (castings are rigid; the compliances already carry the hoses)
        wall_modulus_pa: f64 = quantity(
            "wall_modulus", Pressure, from("70 GPa", "from memory: cast aluminium"), ["1 MPa", "250 GPa"],
        );
    }
}
