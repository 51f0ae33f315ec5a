//! Slider-crank, closed cylinder, heat release, starter.

use crate::bench::{long_stroke_vehicle, rk4, six_vehicle};
use crate::table::{Table, Worst};
use waterjacket::math::{pow, radians};
use waterjacket::simulation::crank::{starter_current, starter_torque};
use waterjacket::simulation::cylinder::{Contents, Inflow, combustion_heat, pressure_rate};
use waterjacket::simulation::volume::{VolumeTable, slider_crank};
use waterjacket::vehicle::{Engine, R_AIR};

/// Heywood 1988, eq. 2.4 to 2.6 (cited from memory). The table holds 12 digits, and the equation is
/// a dozen operations: 1e-11. The cubics between 1024 places are good to 1e-10 of the volume and,
/// having one order less, 1e-7 of the slope's scale (also a unit test).
#[test]
fn volume_and_slope_are_the_slider_crank() {
    let reference = Table::read("slider_crank");
    for (name, vehicle) in [
        ("six", six_vehicle()),
        ("long_stroke", long_stroke_vehicle()),
    ] {
        let engine = &vehicle.engine;
        let clearance = engine.cylinders[0].clearance_m3;
        let table = VolumeTable::new(engine, clearance);
        let slope_scale = engine.piston_area_m2 * engine.crank_radius_m;
        let mut worst: [Worst; 4] = Default::default();
        for row in reference.of(name) {
            let deg = row.number("crank_deg");
            let (volume, slope) = (row.number("volume_m3"), row.number("slope_m3_per_rad"));
            let plain = slider_crank(engine, clearance, radians(deg));
            worst[0].relative(plain.0, volume, deg);
            worst[1].absolute(plain.1 / slope_scale, slope / slope_scale, deg);
            if deg < 360.0 {
                let fast = table.at(radians(deg));
                worst[2].relative(fast.m3, volume, deg);
                worst[3].absolute(fast.slope / slope_scale, slope / slope_scale, deg);
            }
        }
        worst[0].within(1e-11, &format!("{name}: volume, plain"));
        worst[1].within(1e-11, &format!("{name}: slope, plain"));
        worst[2].within(1e-10, &format!("{name}: volume, table"));
        worst[3].within(1e-7, &format!("{name}: slope, table"));
    }
}

/// Cantera's ideal-gas reactor with a moving wall, and `p V^gamma`. The step here is 0.1 ms,
/// in which the crank turns 0.11 deg: RK4 loses less than 1e-8 over the stroke,
/// and Cantera was asked for about as much.
#[test]
fn a_closed_cylinder_compresses_as_in_cantera() {
    let vehicle = six_vehicle();
    let engine = &vehicle.engine;
    let table = VolumeTable::new(engine, engine.cylinders[0].clearance_m3);
    let (speed, steps) = (20.0, 35);
    let h = radians(4.0) / speed / f64::from(steps);
    let mut state = [radians(-180.0), 98e3];
    let mass = 98e3 * table.at(state[0]).m3 / (R_AIR * 300.0);
    let [mut pressure, mut temperature, mut closed]: [Worst; 3] = Default::default();
    for row in Table::read("closed_cylinder").rows() {
        let own = Contents::new(state[1], mass, table.at(state[0]));
        let deg = row.number("crank_deg");
        pressure.relative(own.pressure_pa, row.number("cantera_pressure_pa"), deg);
        temperature.relative(own.temperature_k, row.number("cantera_temperature_k"), deg);
        closed.relative(own.pressure_pa, row.number("closed_form_pressure_pa"), deg);
        for _ in 0..steps {
            state = rk4(state, h, |[x, p]| {
                let volume = table.at(x);
                let own = Contents::new(p, mass, volume);
                let rate = pressure_rate(
                    engine.gamma,
                    own,
                    volume,
                    volume.slope * speed,
                    Inflow::default(),
                    0.0,
                );
                [speed, rate]
            });
        }
    }
    pressure.within(1e-7, "closed cylinder: pressure over Cantera's");
    temperature.within(1e-7, "closed cylinder: temperature over Cantera's");
    closed.within(1e-7, "closed cylinder: pressure over p V^gamma");
}

/// Where the model is smooth, its error falls with the fourth power of the step: the same
/// compression to TDC in steps of 12, 6 and 3 deg against `p V^gamma`.
#[test]
fn a_closed_cylinder_converges_at_fourth_order() {
    let vehicle = six_vehicle();
    let engine = &vehicle.engine;
    let clearance = engine.cylinders[0].clearance_m3;
    let table = VolumeTable::new(engine, clearance);
    let error = [15, 30, 60].map(|steps| {
        let mut state = [radians(-180.0), 98e3];
        for _ in 0..steps {
            state = rk4(state, radians(180.0) / f64::from(steps), |[x, p]| {
                let volume = table.at(x);
                let own = Contents::new(p, 1e-3, volume);
                let inflow = Inflow::default();
                [
                    1.0,
                    pressure_rate(engine.gamma, own, volume, volume.slope, inflow, 0.0),
                ]
            });
        }
        (state[1] / 98e3 / pow(engine_ratio(engine, clearance), engine.gamma) - 1.0).abs()
    });
    for pair in error.windows(2) {
        let order = libm::log2(pair[0] / pair[1]);
        println!("closed cylinder: order {order:.2}");
        assert!(
            (3.6..4.6).contains(&order),
            "order {order}, errors {error:?}"
        );
    }
}

fn engine_ratio(engine: &Engine, clearance_m3: f64) -> f64 {
    let volume = |deg: f64| slider_crank(engine, clearance_m3, radians(deg)).0;
    volume(180.0) / volume(0.0)
}

/// Wiebe's function is a Weibull distribution, which SciPy has (Heywood ch. 9, cited from memory).
/// The rate is the same formula: 1e-11 for the table's digits. The burnt share is its integral by
/// Simpson's rule on tenths of a degree: 1e-9.
#[test]
fn heat_is_released_by_wiebes_function() {
    let vehicle = six_vehicle();
    let rate = |deg: f64| combustion_heat(&vehicle.engine, radians(deg), 1.0, 1.0);
    let (mut rates, mut shares) = (Worst::default(), Worst::default());
    let mut burnt = 0.0;
    for row in Table::read("wiebe").rows() {
        let deg = row.number("crank_deg");
        if deg > -14.0 {
            for i in 0..10 {
                let from = deg - 1.0 + 0.1 * f64::from(i);
                burnt +=
                    radians(0.1) / 6.0 * (rate(from) + 4.0 * rate(from + 0.05) + rate(from + 0.1));
            }
        }
        shares.absolute(burnt, row.number("burnt_share"), deg);
        if deg < 43.0 {
            rates.absolute(rate(deg), row.number("rate_per_rad"), deg);
        }
    }
    rates.within(1e-11, "Wiebe: rate of burning");
    shares.within(1e-9, "Wiebe: share burnt");
}

/// Stall, no load and the straight line between them, of a permanent-magnet motor. A few products:
/// 1e-11 of the stall values.
#[test]
fn the_starter_runs_on_its_motor_line() {
    let starter = six_vehicle().starter;
    let (mut currents, mut torques) = (Worst::default(), Worst::default());
    let stall = starter_current(&starter, 0.0);
    let stall_torque = starter_torque(&starter, stall);
    for row in Table::read("starter").rows() {
        let speed = row.number("speed_rad_s");
        let current = starter_current(&starter, speed);
        currents.absolute(current / stall, row.number("current_a") / stall, speed);
        let torque = starter_torque(&starter, current);
        torques.absolute(
            torque / stall_torque,
            row.number("torque_nm") / stall_torque,
            speed,
        );
    }
    currents.within(1e-11, "starter: current");
    torques.within(1e-11, "starter: torque");
}
