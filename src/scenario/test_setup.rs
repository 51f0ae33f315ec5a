//! How the test is done.

use super::field::{common, from, tried};
use super::section::section;
use super::units::Dimension::*;

pub use crate::domain::Mode;

/// What closes the radiator neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CapState {
    /// The test adapter: nothing leaves.
    Sealed,
    /// A cap whose valve lifts at its rated pressure.
    Relief,
    /// Nothing: the neck breathes.
    Open,
}

section! {
    /// The set-up of the test, in SI units.
    pub struct TestSpec {
        /// how the engine is turned
        mode: Mode = choice("mode", &[
            ("cranking", Mode::Cranking, "turned by the starter, fuel off"),
            ("idle", Mode::Idle, "running by itself"),
        ]);
        /// length of the capture
        duration_s: f64 = quantity("duration", Time, "4 s", ["0.2 s", "120 s"]);
        /// when the starter engages
        key_on_s: f64 = quantity("key_on", Time, "0.25 s", ["0 s", "60 s"]);
        /// cylinders whose spark plug is out
        plugs_out: Vec<u32> = cylinders("plugs_out");
        /// effective area of an open plug hole
        plug_hole_area_m2: f64 = quantity("plug_hole_area", Area, tried("80 mm2"), ["20 mm2", "150 mm2"]);
        /// whether the coils can fire
        ignition_enabled: bool = choice("ignition", &[
            ("enabled", true, "coils fire; the fuel is off while cranking"),
            ("disabled", false, "no spark, no trigger"),
        ]);
        /// what closes the radiator neck
        cap: CapSpec = section("cap", CapSpec::visit);
        /// of the coolant (default: 25 C cranking, 85 C at idle)
        coolant_k: f64 = derived(
            "coolant_temperature", Temperature,
            common(if mode == Mode::Idle { "85 C" } else { "25 C" }), ["-20 C", "110 C"],
        );
        /// air pressure of the day and the place
        ambient_pa: f64 = quantity(
            "ambient", Pressure, from("101.325 kPa", "published: the standard atmosphere, ISO 2533"),
            ["60 kPa", "110 kPa"],
        );
        /// coolant pressure above ambient at the start
        start_gauge_pa: f64 = quantity("start_pressure", Pressure, "0 bar", ["0 bar", "1.5 bar"]);
        /// crank angle at rest, from compression TDC of the first cylinder of the firing order
        rest_rad: f64 = quantity("rest_angle", Angle, "-70 deg", ["-720 deg", "720 deg"]);
        /// what only an idling engine has
        idle: IdleSpec = section("idle", IdleSpec::visit);
    }
}

section! {
    /// What closes the radiator neck.
    pub struct CapSpec {
        /// what closes the neck
        state: CapState = choice("state", &[
            ("sealed", CapState::Sealed, "the test adapter lets nothing out"),
            ("relief", CapState::Relief, "a cap whose valve lifts at its rated pressure"),
            ("open", CapState::Open, "the neck breathes"),
        ]);
        /// rated pressure of the cap, above ambient
        relief_gauge_pa: f64 = quantity("relief", Pressure, common("1.1 bar"), ["0.05 bar", "2 bar"]);
        /// effective area of the lifted valve or the open neck
        area_m2: f64 = quantity("area", Area, "6 mm2", ["1 mm2", "20 mm2"]);
    }
}

section! {
    /// What only an idling engine has.
    pub struct IdleSpec {
        /// governed speed
        speed_rad_s: f64 = quantity("speed", RotationalSpeed, common("780 rpm"), ["500 rpm", "1500 rpm"]);
        /// slow rise while the coolant warms
        pressure_rise_pa_s: f64 = quantity("pressure_rise", PressureRate, "40 Pa/s", ["0 Pa/s", "5000 Pa/s"]);
        /// amplitude of the water pump's ripple along the column at the governed speed; the column's inertia lets
        /// little of a fast one through to the neck
        pump_ripple_pa: f64 = quantity("pump_ripple", Pressure, "0.15 kPa", ["0 kPa", "5 kPa"]);
        /// ripples per crank turn: blades times pulley ratio
        pump_ripple_per_turn: f64 = quantity("pump_ripple_per_turn", Ratio, "7.2", ["0.5", "20"]);
    }
}
