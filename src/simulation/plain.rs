//! The plain twin of [`super::bank`]: one cylinder after the other, straight from the equations, without
//! tables of the angle and with the powers and sines of `libm`. The tests compare the two.

use super::bank::{Bank, Extra, Now};
use super::cylinder::{Contents, Surroundings, openings, own_angle, pressure_rate, wall_heat};
use super::orifice::Gas;
use super::volume::{Volume, slider_crank, wall_term};
use crate::math;
use crate::random::Stream;
use crate::scenario::Source;
use crate::vehicle::{R_AIR, Vehicle};

/// Rates of pressure and mass of each cylinder, and the torque on the crank.
fn rates<const N: usize>(
    vehicle: &Vehicle,
    gas: &Gas,
    now: Now<N>,
    extra: &Extra<N>,
) -> ([[f64; 2]; N], f64) {
    let engine = &vehicle.engine;
    let piston_speed = 2.0 * engine.crank_radius_m * now.speed_rad_s.abs() / math::PI;
    let around = Surroundings {
        intake: (engine.intake_pa, engine.intake_k),
        exhaust: (vehicle.ambient_pa, engine.exhaust_k),
        ambient: (vehicle.ambient_pa, engine.intake_k),
        piston_speed_term: math::pow(piston_speed + 1.4, 0.8),
    };
    let mut rates = [[0.0; 2]; N];
    let mut torque_nm = 0.0;
    for (i, c) in engine.cylinders.iter().enumerate() {
        let (x, _) = own_angle(now.crank_rad, c.tdc_rad);
        let (m3, slope) = slider_crank(engine, c.clearance_m3, x);
        let wall_term = wall_term(engine, m3).0;
        let volume = Volume {
            m3,
            slope,
            wall_term,
        };
        let own = Contents::new(now.pressure_pa[i], now.mass_kg[i], volume);
        let areas = (c.ring_area_m2, c.plug_hole_m2);
        let mut inflow = openings(engine, gas, &around, x, own, m3, areas);
        inflow.mass += extra.mass[i];
        inflow.mass_kelvin += extra.enthalpy_w[i] / R_AIR;
        let heat_w = wall_heat(engine, &around, own, volume) + extra.heat_w[i];
        let volume_rate = slope * now.speed_rad_s;
        let pressure = pressure_rate(engine.gamma, own, volume, volume_rate, inflow, heat_w);
        rates[i] = [pressure, inflow.mass];
        torque_nm += (own.pressure_pa - vehicle.ambient_pa) * slope;
    }
    (rates, torque_nm)
}

/// An odd number of cylinders that fire unevenly, one without its plug, one with a transducer in its place,
/// worn rings: whatever sets lanes apart.
const VEHICLE: &str = "
vehicle:
  engine: {cylinders: 5, firing_order: [1, 2, 4, 5, 3], firing_intervals: [120 deg, 150 deg, 150 deg, 140 deg, 160 deg]}
faults: {worn: [{cylinder: 5, ring_area: 4 mm2}]}
test: {plugs_out: [2]}
channels: [{sensor: neck_pressure}, {sensor: cylinder_pressure, cylinder: 4}]
";

/// At 20 000 random instants. The tolerance is of each rate's own largest terms: 1e-7 is what the tables of
/// the volume's slope (1e-7), of psi (1e-8) and of the power (1e-8) allow, and a share of 1e-5 of the
/// valves' largest areas counts where a valve begins to open.
#[test]
fn the_bank_is_its_plain_twin() {
    let source = Source::parse("twin", VEHICLE.as_bytes()).and_then(|s| s.draw(None, 0));
    let drawn = source.unwrap_or_else(|f| panic!("{f}"));
    let vehicle = Vehicle::resolve(&drawn.scenario);
    let engine = &vehicle.engine;
    let gas = Gas::new(engine.gamma);
    let bank = Bank::<6>::new(&vehicle, &gas);
    let mut stream = Stream::new(3, 0, "twin");
    let mut worst = [0.0_f64; 3];
    for _ in 0..20_000 {
        let mut between = |low: f64, high: f64| low + (high - low) * stream.uniform();
        let crank_rad = between(-500.0, 500.0);
        let speed_rad_s = between(-20.0, 90.0);
        let mut pressure_pa = [vehicle.ambient_pa; 6];
        let mut mass_kg = [1.0; 6];
        let mut extra = Extra {
            mass: [0.0; 6],
            enthalpy_w: [0.0; 6],
            heat_w: [0.0; 6],
        };
        for (i, c) in engine.cylinders.iter().enumerate() {
            let m3 = slider_crank(engine, c.clearance_m3, crank_rad - c.tdc_rad).0;
            pressure_pa[i] = math::exp(between(math::ln(2e4), math::ln(6e6)));
            mass_kg[i] = pressure_pa[i] * m3 / (R_AIR * between(250.0, 2000.0));
            extra.mass[i] = between(-1e-3, 1e-3);
            extra.enthalpy_w[i] = extra.mass[i] * R_AIR * 500.0;
            extra.heat_w[i] = between(0.0, 1e4);
        }
        let now = Now {
            crank_rad,
            speed_rad_s,
            pressure_pa: &pressure_pa,
            mass_kg: &mass_kg,
        };
        let (mut pressures, mut masses) = ([0.0; 6], [0.0; 6]);
        let torque = bank.rates(&gas, now, &extra, &mut pressures, &mut masses);
        let (plain, plain_torque) = rates(&vehicle, &gas, now, &extra);
        for (i, c) in engine.cylinders.iter().enumerate() {
            let m3 = slider_crank(engine, c.clearance_m3, crank_rad - c.tdc_rad).0;
            // What the largest valve passes, and what the crank does at its quickest.
            let flux = pressure_pa[i].max(vehicle.ambient_pa) / (R_AIR * 250.0_f64).sqrt();
            let scale_kg_s = engine.valves.intake_area_m2 * flux;
            let swept = engine.piston_area_m2 * engine.crank_radius_m;
            let work_w = pressure_pa[i] * swept * 90.0;
            let scale_pa_s = (work_w + scale_kg_s * R_AIR * 2000.0) / m3;
            let off = [
                (pressures[i] - plain[i][0]).abs() / scale_pa_s,
                (masses[i] - plain[i][1]).abs() / scale_kg_s,
                (torque - plain_torque).abs() / (1e7 * swept),
            ];
            for (worst, off) in worst.iter_mut().zip(off) {
                *worst = worst.max(off);
            }
        }
        assert_eq!([pressures[5], masses[5]], [0.0; 2], "an empty lane rests");
    }
    assert!(
        worst[0] < 1e-5 && worst[1] < 1e-5 && worst[2] < 1e-7,
        "{worst:?}"
    );
}
