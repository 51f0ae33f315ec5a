//! The vehicle's plate and starter as a scenario writes them.

use super::field::{Preset, common, from, tried};
use super::forms::Limits;
use super::section::section;
use super::units::Dimension::*;

pub use crate::domain::Layout;

section! {
    /// The engine as specified, in SI units; angles from a cylinder's own compression TDC.
    pub struct EngineSpec {
        /// how the cylinders lie
        layout: Layout = choice("layout", &[
            ("inline", Layout::Inline, "cylinders in one row"),
            ("vee", Layout::Vee, "two rows at an angle"),
            ("flat", Layout::Flat, "two rows opposed"),
        ]);
        /// number of cylinders
        cylinders: usize = integer("cylinders", Preset::required(), [1, 12]);
        /// cylinder numbers in the order in which they fire
        firing_order: Vec<u32> = cylinders("firing_order");
        /// crank angle from each cylinder of the firing order to the next, adding up to 720 deg; leave out for
        /// even firing
        firing_intervals_rad: Vec<f64> = values("firing_intervals", &Limits::new(Angle, ["20 deg", "720 deg"]));
        /// how the ignition coils are shared
        shared_coils: bool = choice("coils", &[
            ("one_per_cylinder", false, "each cylinder has a coil of its own"),
            ("shared_pairs", true, "companions share a coil that fires both (wasted spark)"),
        ]);
        /// cylinder bore
        bore_m: f64 = quantity("bore", Length, common("86 mm"), ["50 mm", "150 mm"]);
        /// piston stroke
        stroke_m: f64 = quantity("stroke", Length, common("86 mm"), ["40 mm", "180 mm"]);
        /// connecting rod length (default: 1.75 strokes)
        rod_m: f64 = derived("rod", Length, common(format!("{} m", 1.75 * stroke_m)), ["50 mm", "400 mm"]);
        /// geometric compression ratio
        compression_ratio: f64 = quantity("compression_ratio", Ratio, common("9.6"), ["6", "16"]);
        /// ratio of specific heats of the cylinder gas
        gamma: f64 = quantity(
            "gamma", Ratio, from("1.38", "from memory: hot air with residual gas"), ["1.2", "1.41"],
        );
        /// effective leak area past sound rings
        ring_area_m2: f64 = quantity("ring_area", Area, tried("0.5 mm2"), ["0 mm2", "20 mm2"]);
        /// crank, flywheel and starter through its gears (default: grows with displacement, 0.6 kg m2 at 3 L)
        inertia_kg_m2: f64 = derived(
            "inertia", Inertia,
            tried(format!("{} kg m2", 0.2 + 0.4 * total_l(bore_m, stroke_m, cylinders) / 3.0)),
            ["0.05 kg m2", "10 kg m2"],
        );
        /// constant friction torque, warm (default: grows with displacement, 40 N m at 3 L)
        friction_nm: f64 = derived(
            "friction", Torque,
            tried(format!("{} N m", 40.0 * total_l(bore_m, stroke_m, cylinders) / 3.0)),
            ["2 N m", "400 N m"],
        );
        /// friction torque per crank speed (default: grows with displacement, 0.4 N m s/rad at 3 L)
        viscous_friction_nm_s: f64 = derived(
            "viscous_friction", RotationalFriction,
            tried(format!("{} N m s/rad", 0.4 * total_l(bore_m, stroke_m, cylinders) / 3.0)),
            ["0 N m s/rad", "10 N m s/rad"],
        );
        /// cylinder wall (default: the coolant's temperature)
        wall_k: Option<f64> = optional(
            "wall_temperature", Limits::new(Temperature, ["-40 C", "300 C"]),
        );
        /// when the coil fires, from compression TDC
        spark_rad: f64 = quantity("spark", Angle, common("-8 deg"), ["-60 deg", "20 deg"]);
        /// the air before and behind the valves
        manifold: ManifoldSpec = section("manifold", ManifoldSpec::visit);
        /// valve events, from compression TDC, and effective areas
        valves: ValvesSpec = section("valves", |s, own| ValvesSpec::visit(s, own, bore_m));
        /// heat release at idle
        combustion: CombustionSpec = section(
            "combustion", |s, own| CombustionSpec::visit(s, own, swept_l(bore_m, stroke_m)),
        );
    }
}

fn swept_l(bore_m: f64, stroke_m: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * bore_m * bore_m * stroke_m * 1e3
}

fn total_l(bore_m: f64, stroke_m: f64, cylinders: usize) -> f64 {
    swept_l(bore_m, stroke_m) * cylinders as f64
}

section! {
    /// Pressures and temperature of the air before the intake valves.
    pub struct ManifoldSpec {
        /// absolute pressure while cranking
        cranking_pa: f64 = quantity("cranking", Pressure, "98 kPa", ["20 kPa", "110 kPa"]);
        /// absolute pressure at idle
        idle_pa: f64 = quantity("idle", Pressure, common("38 kPa"), ["15 kPa", "110 kPa"]);
        /// intake air
        intake_k: f64 = quantity("temperature", Temperature, common("27 C"), ["-40 C", "120 C"]);
        /// gas behind the exhaust valves while cranking
        exhaust_cranking_k: f64 = quantity("exhaust_cranking", Temperature, "50 C", ["-40 C", "400 C"]);
        /// gas behind the exhaust valves at idle
        exhaust_idle_k: f64 = quantity("exhaust_idle", Temperature, "450 C", ["0 C", "900 C"]);
    }
}

/// How much of the area of a bore of 92 mm, which valves of 4.0 and 3.5 cm2 suit, another bore has.
fn to_92_mm(bore_m: f64) -> f64 {
    (bore_m / 0.092) * (bore_m / 0.092)
}

section! {
    /// Valve events and areas.
    pub struct ValvesSpec(bore_m: f64) {
        /// intake valve opens and closes
        intake_rad: [f64; 2] = span(
            "intake", Angle, tried(["-370 deg", "-115 deg"]), ["-420 deg", "-60 deg"],
        );
        /// exhaust valve opens and closes
        exhaust_rad: [f64; 2] = span("exhaust", Angle, tried(["130 deg", "368 deg"]), ["60 deg", "420 deg"]);
        /// largest effective intake area (default: grows with the bore's area)
        intake_area_m2: f64 = derived(
            "intake_area", Area, tried(format!("{} m2", 4.0e-4 * to_92_mm(bore_m))), ["0.2 cm2", "15 cm2"],
        );
        /// largest effective exhaust area (default: grows with the bore's area)
        exhaust_area_m2: f64 = derived(
            "exhaust_area", Area, tried(format!("{} m2", 3.5e-4 * to_92_mm(bore_m))), ["0.2 cm2", "15 cm2"],
        );
    }
}

section! {
    /// Heat release at idle.
    pub struct CombustionSpec(swept_l: f64) {
        /// start of heat release, from compression TDC
        start_rad: f64 = quantity("start", Angle, tried("-12 deg"), ["-60 deg", "30 deg"]);
        /// length of heat release
        duration_rad: f64 = quantity("duration", Angle, tried("55 deg"), ["20 deg", "120 deg"]);
        /// heat per cylinder and cycle at idle (default: grows with the cylinder, 420 J at 0.55 L)
        heat_j: f64 = derived("heat", Energy, tried(format!("{} J", 420.0 * swept_l / 0.55)), ["20 J", "3 kJ"]);
        /// standard deviation of the heat from cycle to cycle, over its mean
        variation: f64 = quantity("variation", Ratio, tried("12 %"), ["0 %", "40 %"]);
    }
}

section! {
    /// Starter and battery.
    pub struct StarterSpec {
        /// battery at rest
        open_circuit_v: f64 = quantity("open_circuit_voltage", Voltage, common("12.5 V"), ["9 V", "30 V"]);
        /// internal resistance of the battery
        battery_ohm: f64 = quantity("battery_resistance", Resistance, tried("6 mohm"), ["1 mohm", "100 mohm"]);
        /// cable, brushes and armature
        starter_ohm: f64 = quantity("starter_resistance", Resistance, tried("12 mohm"), ["2 mohm", "200 mohm"]);
        /// back-EMF per crank speed, through the gears
        motor_constant_v_s: f64 = quantity(
            "motor_constant", MotorConstant, tried("0.49 V s/rad"), ["0.1 V s/rad", "3 V s/rad"],
        );
        /// of the gears
        efficiency: f64 = quantity("efficiency", Ratio, tried("80 %"), ["20 %", "100 %"]);
        /// battery terminals with the engine running
        charging_v: f64 = quantity("charging_voltage", Voltage, common("14.1 V"), ["9 V", "30 V"]);
    }
}
