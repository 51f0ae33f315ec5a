//! The vehicle's plate and starter as a scenario writes them.

use super::section::Section;
use super::units::Dimension::*;

/// The engine as specified, in SI units; angles from a cylinder's own compression TDC.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct EngineSpec {
    pub layout: Layout,
    pub cylinders: usize,
    pub firing_order: Vec<u32>,
    /// Empty for an even-firing engine.
    pub firing_intervals_rad: Vec<f64>,
    pub shared_coils: bool,
    pub bore_m: f64,
    pub stroke_m: f64,
    pub rod_m: f64,
    pub compression_ratio: f64,
    pub gamma: f64,
    pub ring_area_m2: f64,
    pub inertia_kg_m2: f64,
    pub friction_nm: f64,
    pub viscous_friction_nm_s: f64,
    pub wall_k: Option<f64>,
    pub spark_rad: f64,
    pub manifold: ManifoldSpec,
    pub valves: ValvesSpec,
    pub combustion: CombustionSpec,
}

pub use crate::domain::Layout;

/// Pressures and temperature of the air before the intake valves.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ManifoldSpec {
    pub cranking_pa: f64,
    pub idle_pa: f64,
    pub intake_k: f64,
    pub exhaust_cranking_k: f64,
    pub exhaust_idle_k: f64,
}

/// Valve events and areas.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ValvesSpec {
    pub intake_rad: [f64; 2],
    pub exhaust_rad: [f64; 2],
    pub intake_area_m2: f64,
    pub exhaust_area_m2: f64,
}

/// Heat release at idle.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CombustionSpec {
    pub start_rad: f64,
    pub duration_rad: f64,
    pub heat_j: f64,
    pub variation: f64,
}

/// Starter and battery.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct StarterSpec {
    pub open_circuit_v: f64,
    pub battery_ohm: f64,
    pub starter_ohm: f64,
    pub motor_constant_v_s: f64,
    pub efficiency: f64,
    pub charging_v: f64,
}

impl EngineSpec {
    pub(super) fn read(s: &mut Section) -> Self {
        let layout = s.choice(
            "layout",
            &[
                ("inline", Layout::Inline, "cylinders in one row"),
                ("vee", Layout::Vee, "two rows at an angle"),
                ("flat", Layout::Flat, "two rows opposed"),
            ],
            "how the cylinders lie",
        );
        let cylinders = s.integer("cylinders", None, [1, 12], "number of cylinders") as usize;
        let firing_order = s.integers(
            "firing_order",
            [1, 12],
            "cylinder numbers in the order in which they fire",
        );
        let firing_intervals_rad = s.quantities(
            "firing_intervals",
            Angle,
            ["20 deg", "720 deg"],
            "crank angle from each cylinder of the firing order to the next, adding up to 720 deg; leave out for even firing",
        );
        let shared_coils = s.choice(
            "coils",
            &[
                (
                    "one_per_cylinder",
                    false,
                    "each cylinder has a coil of its own",
                ),
                (
                    "shared_pairs",
                    true,
                    "companions share a coil that fires both (wasted spark)",
                ),
            ],
            "how the ignition coils are shared",
        );
        let bore_m = s.quantity(
            "bore",
            Length,
            "86 mm",
            ["50 mm", "150 mm"],
            "cylinder bore",
        );
        let stroke_m = s.quantity(
            "stroke",
            Length,
            "86 mm",
            ["40 mm", "180 mm"],
            "piston stroke",
        );
        let rod = format!("{} m", 1.75 * stroke_m);
        let rod_m = s.derived(
            "rod",
            Length,
            &rod,
            ["50 mm", "400 mm"],
            "connecting rod length (default: 1.75 strokes)",
        );
        let compression_ratio = s.quantity(
            "compression_ratio",
            Ratio,
            "9.6",
            ["6", "16"],
            "geometric compression ratio",
        );
        let swept_l = std::f64::consts::FRAC_PI_4 * bore_m * bore_m * stroke_m * 1e3;
        let total_l = swept_l * cylinders as f64;
        let gamma = s.quantity(
            "gamma",
            Ratio,
            "1.38",
            ["1.2", "1.41"],
            "ratio of specific heats of the cylinder gas",
        );
        let ring_area_m2 = s.quantity(
            "ring_area",
            Area,
            "0.5 mm2",
            ["0 mm2", "20 mm2"],
            "effective leak area past sound rings",
        );
        let inertia = format!("{} kg m2", 0.2 + 0.4 * total_l / 3.0);
        let friction = format!("{} N m", 40.0 * total_l / 3.0);
        let viscous = format!("{} N m s/rad", 0.4 * total_l / 3.0);
        EngineSpec {
            layout,
            cylinders,
            firing_order: firing_order.into_iter().map(|c| c as u32).collect(),
            firing_intervals_rad,
            shared_coils,
            bore_m,
            stroke_m,
            rod_m,
            compression_ratio,
            gamma,
            ring_area_m2,
            inertia_kg_m2: s.derived(
                "inertia", Inertia, &inertia, ["0.05 kg m2", "10 kg m2"],
                "crank, flywheel and starter through its gears (default: grows with displacement, 0.6 kg m2 at 3 L)",
            ),
            friction_nm: s.derived(
                "friction", Torque, &friction, ["2 N m", "400 N m"],
                "constant friction torque, warm (default: grows with displacement, 40 N m at 3 L)",
            ),
            viscous_friction_nm_s: s.derived(
                "viscous_friction", RotationalFriction, &viscous, ["0 N m s/rad", "10 N m s/rad"],
                "friction torque per crank speed (default: grows with displacement, 0.4 N m s/rad at 3 L)",
            ),
            wall_k: s.given("wall_temperature").then(|| {
                s.derived("wall_temperature", Temperature, "25 C", ["-40 C", "300 C"], "cylinder wall (default: the coolant's temperature)")
            }),
            spark_rad: s.quantity("spark", Angle, "-8 deg", ["-60 deg", "20 deg"], "when the coil fires, from compression TDC"),
            manifold: s.section("manifold", "the air before and behind the valves", ManifoldSpec::read),
            valves: s.section("valves", "valve events, from compression TDC, and effective areas", |s| ValvesSpec::read(s, bore_m)),
            combustion: s.section("combustion", "heat release at idle", |s| CombustionSpec::read(s, swept_l)),
        }
    }
}

impl ManifoldSpec {
    fn read(s: &mut Section) -> Self {
        ManifoldSpec {
            cranking_pa: s.quantity(
                "cranking",
                Pressure,
                "98 kPa",
                ["20 kPa", "110 kPa"],
                "absolute pressure while cranking",
            ),
            idle_pa: s.quantity(
                "idle",
                Pressure,
                "38 kPa",
                ["15 kPa", "110 kPa"],
                "absolute pressure at idle",
            ),
            intake_k: s.quantity(
                "temperature",
                Temperature,
                "27 C",
                ["-40 C", "120 C"],
                "intake air",
            ),
            exhaust_cranking_k: s.quantity(
                "exhaust_cranking",
                Temperature,
                "50 C",
                ["-40 C", "400 C"],
                "gas behind the exhaust valves while cranking",
            ),
            exhaust_idle_k: s.quantity(
                "exhaust_idle",
                Temperature,
                "450 C",
                ["0 C", "900 C"],
                "gas behind the exhaust valves at idle",
            ),
        }
    }
}

impl ValvesSpec {
    fn read(s: &mut Section, bore_m: f64) -> Self {
        // 4.0 and 3.5 cm2 suit a bore of 92 mm; other bores in proportion to their area.
        let scale = (bore_m / 0.092) * (bore_m / 0.092);
        let (intake, exhaust) = (
            format!("{} m2", 4.0e-4 * scale),
            format!("{} m2", 3.5e-4 * scale),
        );
        ValvesSpec {
            intake_rad: s.span(
                "intake",
                Angle,
                ["-370 deg", "-115 deg"],
                ["-420 deg", "-60 deg"],
                "intake valve opens and closes",
            ),
            exhaust_rad: s.span(
                "exhaust",
                Angle,
                ["130 deg", "368 deg"],
                ["60 deg", "420 deg"],
                "exhaust valve opens and closes",
            ),
            intake_area_m2: s.derived(
                "intake_area",
                Area,
                &intake,
                ["0.2 cm2", "15 cm2"],
                "largest effective intake area (default: grows with the bore's area)",
            ),
            exhaust_area_m2: s.derived(
                "exhaust_area",
                Area,
                &exhaust,
                ["0.2 cm2", "15 cm2"],
                "largest effective exhaust area (default: grows with the bore's area)",
            ),
        }
    }
}

impl CombustionSpec {
    fn read(s: &mut Section, swept_l: f64) -> Self {
        let heat = format!("{} J", 420.0 * swept_l / 0.55);
        CombustionSpec {
            start_rad: s.quantity("start", Angle, "-12 deg", ["-60 deg", "30 deg"], "start of heat release, from compression TDC"),
            duration_rad: s.quantity("duration", Angle, "55 deg", ["20 deg", "120 deg"], "length of heat release"),
            heat_j: s.derived("heat", Energy, &heat, ["20 J", "3 kJ"], "heat per cylinder and cycle at idle (default: grows with the cylinder, 420 J at 0.55 L)"),
            variation: s.quantity("variation", Ratio, "12 %", ["0 %", "40 %"], "standard deviation of the heat from cycle to cycle, over its mean"),
        }
    }
}

impl StarterSpec {
    pub(super) fn read(s: &mut Section) -> Self {
        StarterSpec {
            open_circuit_v: s.quantity(
                "open_circuit_voltage",
                Voltage,
                "12.5 V",
                ["9 V", "30 V"],
                "battery at rest",
            ),
            battery_ohm: s.quantity(
                "battery_resistance",
                Resistance,
                "6 mohm",
                ["1 mohm", "100 mohm"],
                "internal resistance of the battery",
            ),
            starter_ohm: s.quantity(
                "starter_resistance",
                Resistance,
                "12 mohm",
                ["2 mohm", "200 mohm"],
                "cable, brushes and armature",
            ),
            motor_constant_v_s: s.quantity(
                "motor_constant",
                MotorConstant,
                "0.49 V s/rad",
                ["0.1 V s/rad", "3 V s/rad"],
                "back-EMF per crank speed, through the gears",
            ),
            efficiency: s.quantity(
                "efficiency",
                Ratio,
                "80 %",
                ["20 %", "100 %"],
                "of the gears",
            ),
            charging_v: s.quantity(
                "charging_voltage",
                Voltage,
                "14.1 V",
                ["9 V", "30 V"],
                "battery terminals with the engine running",
            ),
        }
    }
}
