//! How the test is done.

use super::section::Section;
use super::units::Dimension::*;

/// The set-up of the test, in SI units.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct TestSpec {
    pub mode: Mode,
    pub duration_s: f64,
    pub key_on_s: f64,
    pub plugs_out: Vec<u32>,
    pub plug_hole_area_m2: f64,
    pub ignition_enabled: bool,
    pub cap: CapSpec,
    pub coolant_k: f64,
    pub ambient_pa: f64,
    pub start_gauge_pa: f64,
    pub rest_rad: f64,
    pub idle: IdleSpec,
}

pub use crate::domain::Mode;

/// What closes the radiator neck.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CapSpec {
    pub state: CapState,
    pub relief_gauge_pa: f64,
    pub area_m2: f64,
}

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

/// What only an idling engine has.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct IdleSpec {
    pub speed_rad_s: f64,
    pub pressure_rise_pa_s: f64,
    pub pump_ripple_pa: f64,
    pub pump_ripple_per_turn: f64,
}

impl TestSpec {
    pub(super) fn read(s: &mut Section) -> Self {
        let mode = s.choice(
            "mode",
            &[
                (
                    "cranking",
                    Mode::Cranking,
                    "turned by the starter, fuel off",
                ),
                ("idle", Mode::Idle, "running by itself"),
            ],
            "how the engine is turned",
        );
        TestSpec {
            mode,
            duration_s: s.quantity("duration", Time, "4 s", ["0.2 s", "120 s"], "length of the capture"),
            key_on_s: s.quantity("key_on", Time, "0.25 s", ["0 s", "60 s"], "when the starter engages"),
            plugs_out: s.integers("plugs_out", [1, 12], "cylinders whose spark plug is out").into_iter().map(|c| c as u32).collect(),
            plug_hole_area_m2: s.quantity("plug_hole_area", Area, "80 mm2", ["20 mm2", "150 mm2"], "effective area of an open plug hole"),
            ignition_enabled: s.choice(
                "ignition",
                &[("enabled", true, "coils fire; the fuel is off while cranking"), ("disabled", false, "no spark, no trigger")],
                "whether the coils can fire",
            ),
            cap: s.section("cap", "what closes the radiator neck", |s| CapSpec {
                state: s.choice(
                    "state",
                    &[
                        ("sealed", CapState::Sealed, "the test adapter lets nothing out"),
                        ("relief", CapState::Relief, "a cap whose valve lifts at its rated pressure"),
                        ("open", CapState::Open, "the neck breathes"),
                    ],
                    "what closes the neck",
                ),
                relief_gauge_pa: s.quantity("relief", Pressure, "1.1 bar", ["0.05 bar", "2 bar"], "rated pressure of the cap, above ambient"),
                area_m2: s.quantity("area", Area, "6 mm2", ["1 mm2", "20 mm2"], "effective area of the lifted valve or the open neck"),
            }),
            coolant_k: s.derived("coolant_temperature", Temperature, if mode == Mode::Idle { "85 C" } else { "25 C" }, ["-20 C", "110 C"], "of the coolant (default: 25 C cranking, 85 C at idle)"),
            ambient_pa: s.quantity("ambient", Pressure, "101.325 kPa", ["60 kPa", "110 kPa"], "air pressure of the day and the place"),
            start_gauge_pa: s.quantity("start_pressure", Pressure, "0 bar", ["0 bar", "1.5 bar"], "coolant pressure above ambient at the start"),
            rest_rad: s.quantity("rest_angle", Angle, "-70 deg", ["-720 deg", "720 deg"], "crank angle at rest, from compression TDC of the first cylinder of the firing order"),
            idle: s.section("idle", "what only an idling engine has", |s| IdleSpec {
                speed_rad_s: s.quantity("speed", RotationalSpeed, "780 rpm", ["500 rpm", "1500 rpm"], "governed speed"),
                pressure_rise_pa_s: s.quantity("pressure_rise", PressureRate, "40 Pa/s", ["0 Pa/s", "5000 Pa/s"], "slow rise while the coolant warms"),
                pump_ripple_pa: s.quantity("pump_ripple", Pressure, "0.15 kPa", ["0 kPa", "5 kPa"], "amplitude of the water pump's ripple along the column at the governed speed; the column's inertia lets little of a fast one through to the neck"),
                pump_ripple_per_turn: s.quantity("pump_ripple_per_turn", Ratio, "7.2", ["0.5", "20"], "ripples per crank turn: blades times pulley ratio"),
            }),
        }
    }
}
