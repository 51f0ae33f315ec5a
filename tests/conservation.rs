//! Conservation, for any scenario that `check` accepts: gas, volume of the coolant, energy of the crank and
//! of a closed cylinder add up, and nothing leaves its physical bounds.
//!
//! `PROPTEST_CASES` sets the number of cases of each property.

mod lab;

use lab::random::{FIELDS, accepted, cases, flooded, put};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use waterjacket::math;
use waterjacket::render::cycle_heats;
use waterjacket::scenario::{Drawn, Mode, Scenario, Source};
use waterjacket::simulation::cylinder::{Contents, Inflow, pressure_rate};
use waterjacket::simulation::volume::VolumeTable;
use waterjacket::simulation::{STEP_S, Traces, crank, own_angle, run};
use waterjacket::vehicle::{R_AIR, Vehicle};

/// Captures are at most this long.
const LONGEST_S: f64 = 1.0;

/// One scenario and what happened.
struct Run {
    scenario: Scenario,
    vehicle: Vehicle,
    traces: Traces,
}

impl Run {
    fn of(drawn: &Drawn) -> Run {
        let scenario = drawn.scenario.clone();
        let vehicle = Vehicle::resolve(&scenario);
        let traces = run(&vehicle, &scenario.test, &cycle_heats(drawn));
        Run {
            scenario,
            vehicle,
            traces,
        }
    }

    fn keeps_its_books(&self) -> Result<(), TestCaseError> {
        self.stays_within_bounds()?;
        self.accounts_for_gas()?;
        self.accounts_for_volume()?;
        if self.scenario.test.mode == Mode::Cranking {
            self.accounts_for_work()?;
        }
        Ok(())
    }

    /// Finite, positive where it must be, and no higher than metal and coolant would bear to be asked.
    fn stays_within_bounds(&self) -> Result<(), TestCaseError> {
        let t = &self.traces;
        within("crank", &t.crank_rad, [-1e4, 1e4])?;
        // 9500 rpm forwards; backwards as compression throws a crank back, or the heat of a cycle that
        // burns too early, at its strongest.
        let heat_j = match self.scenario.test.mode {
            Mode::Idle => 2.0 * self.scenario.vehicle.engine.combustion.heat_j,
            Mode::Cranking => 0.0,
        };
        let thrown = (2.0 * heat_j / self.scenario.vehicle.engine.inertia_kg_m2).sqrt();
        within("speed", &t.speed_rad_s, [-thrown.max(100.0), 1000.0])?;
        let stall_a = self.scenario.vehicle.starter.open_circuit_v
            / (self.scenario.vehicle.starter.battery_ohm
                + self.scenario.vehicle.starter.starter_ohm);
        // A crank that is thrown back turns the motor into a generator against the battery.
        within("current", &t.current_a, [0.0, 3.0 * stall_a])?;
        for cylinder in &t.cylinder_pa {
            within("cylinder", cylinder, [100.0, 250e5])?;
        }
        for leak in &t.leak_kg_s {
            within("leak", leak, [-0.1, 0.1])?;
        }
        within("jacket", &t.jacket_pa, [100.0, 250e5])?;
        within("neck", &t.neck_pa, [100.0, 250e5])?;
        within("flow", &t.flow_m3_s, [-0.1, 0.1])?;
        let end = &t.end;
        within("jacket gas", &[end.jacket_gas_m3], [1e-12, 0.1])?;
        within("air pocket", &[end.pocket_m3], [0.0, 0.1])?;
        let masses = [end.pocket_kg, end.relieved_kg];
        within("gas", &masses, [0.0, 1.0])?;
        within("spilt", &[end.spilt_m3], [0.0, 1.0])?;
        for leak in &end.leaks {
            let all = [leak.mouth_kg, leak.in_kg, leak.back_kg, leak.drawn_m3];
            within("account", &all, [-1e-18, 1.0])?;
        }
        Ok(())
    }

    /// Out of the cylinders = in the jacket + in the neck + relieved + pulled back, to rounding.
    fn accounts_for_gas(&self) -> Result<(), TestCaseError> {
        let end = &self.traces.end;
        let passed: f64 = end.leaks.iter().map(|l| l.in_kg).sum();
        let left: f64 = end.leaks.iter().map(|l| l.mouth_kg + l.back_kg).sum();
        let parts = left + end.pocket_kg + end.relieved_kg;
        prop_assert!(
            (passed - parts).abs() <= 1e-9 * passed,
            "{passed} kg passed, {parts} kg are accounted for"
        );
        Ok(())
    }

    /// What the gas takes up, the hoses and the squeezed coolant give, or has been drawn or spilt.
    ///
    /// From the rates of the jacket, `V_gas' = (C_j + V_liq/K) p_j' + q + drawn`, and of the neck,
    /// `V_air' = C_n p_n' - q + spilt - swollen`; their sum holds over any time, and for the solver to
    /// rounding, because it is linear in the state.
    fn accounts_for_volume(&self) -> Result<(), TestCaseError> {
        let (spec, end) = (&self.vehicle.cooling, &self.traces.end);
        let start_pa = self.vehicle.ambient_pa + self.scenario.test.start_gauge_pa;
        let stiff = spec.jacket_compliance_m3_pa + spec.liquid_m3 / spec.bulk_modulus_pa;
        let parts = [
            end.jacket_gas_m3 - spec.bubbles_m3,
            end.pocket_m3 - spec.air_pocket_m3,
            -stiff * (end.jacket_pa - start_pa),
            -spec.neck_compliance_m3_pa * (end.neck_pa - start_pa),
            -end.leaks.iter().map(|l| l.drawn_m3).sum::<f64>(),
            -end.spilt_m3,
            end.swollen_m3,
        ];
        let size = parts.iter().map(|p| p.abs()).sum::<f64>() + spec.air_pocket_m3;
        let gap: f64 = parts.iter().sum();
        prop_assert!(gap.abs() <= 1e-9 * size, "{gap} m3 of {parts:?}");
        Ok(())
    }

    /// The crank's kinetic energy changes by the work of gas and starter less friction.
    ///
    /// The work is the traces' by the trapezoidal rule. Where the power rises or falls all through a step,
    /// the rule is off by at most half a step of the change, so that half a step of all changes bounds the
    /// error; what swings within a step is allowed for by twice as much.
    fn accounts_for_work(&self) -> Result<(), TestCaseError> {
        let (t, engine) = (&self.traces, &self.vehicle.engine);
        let tables: Vec<VolumeTable> = engine
            .cylinders
            .iter()
            .map(|c| VolumeTable::new(engine, c.clearance_m3))
            .collect();
        let power = |i: usize| {
            let speed = t.speed_rad_s[i];
            let starter_nm = crank::starter_torque(&self.vehicle.starter, t.current_a[i]);
            let mut torque = starter_nm - crank::friction(engine, speed);
            for (place, cylinder) in engine.cylinders.iter().enumerate() {
                let (x, _) = own_angle(t.crank_rad[i], cylinder.tdc_rad);
                let over = t.cylinder_pa[place][i] - self.vehicle.ambient_pa;
                torque += over * tables[place].at(x).slope;
            }
            torque * speed
        };
        let powers: Vec<f64> = (0..t.speed_rad_s.len()).map(power).collect();
        let steps = powers.windows(2);
        let work: f64 = steps.clone().map(|w| STEP_S * (w[0] + w[1]) / 2.0).sum();
        let off: f64 = steps.map(|w| STEP_S * (w[1] - w[0]).abs()).sum();
        let energy = |speed: f64| 0.5 * engine.inertia_kg_m2 * speed * speed;
        let gained = energy(t.speed_rad_s[powers.len() - 1]) - energy(t.speed_rad_s[0]);
        prop_assert!(
            (gained - work).abs() <= off + 1e-6,
            "{gained} J gained by {work} J of work, give or take {off} J"
        );
        Ok(())
    }
}

fn within(what: &str, values: &[f64], [low, high]: [f64; 2]) -> Result<(), TestCaseError> {
    for (i, value) in values.iter().enumerate() {
        prop_assert!(
            value.is_finite() && (low..=high).contains(value),
            "{what} is {value} at step {i}, not within {low} to {high}"
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(900))]

    #[test]
    fn a_cranking_engine_keeps_its_books(case in accepted(LONGEST_S, Mode::Cranking)) {
        Run::of(&case.drawn).keeps_its_books()?;
    }
}

proptest! {
    #![proptest_config(cases(250))]

    #[test]
    fn an_idling_engine_keeps_its_books(case in accepted(LONGEST_S, Mode::Idle)) {
        Run::of(&case.drawn).keeps_its_books()?;
    }

    #[test]
    fn a_flooded_cooling_system_keeps_its_books(case in flooded(LONGEST_S)) {
        Run::of(&case.drawn).keeps_its_books()?;
    }
}

proptest! {
    #![proptest_config(cases(200))]

    /// `dU = -p dV` with `U = p V/(gamma - 1)`, all the way round; and back at the start the pressure is
    /// the start's. The tolerance is the solver's error at a step of up to 0.9 degrees.
    #[test]
    fn a_closed_adiabatic_cylinder_keeps_its_energy(
        case in accepted(LONGEST_S, Mode::Cranking),
        speed_rad_s in 5.0..160.0_f64,
        start in 0.0..1.0_f64,
    ) {
        let engine = Vehicle::resolve(&case.drawn.scenario).engine;
        let table = VolumeTable::new(&engine, engine.cylinders[0].clearance_m3);
        let steps = (math::TAU / (speed_rad_s * STEP_S)).ceil();
        let h = math::TAU / (speed_rad_s * steps);
        let start_rad = start * math::TAU;
        let gas_kg = 1e5 * table.at(start_rad - math::TAU).m3 / (R_AIR * 300.0);
        // Pressure and the work the gas has done, over time.
        let rate = |t: f64, [p, _]: [f64; 2]| {
            let (x, _) = own_angle(start_rad + speed_rad_s * t, 0.0);
            let volume = table.at(x);
            let own = Contents::new(p, gas_kg, volume);
            let volume_rate = volume.slope * speed_rad_s;
            let closed = Inflow::default();
            let dp = pressure_rate(engine.gamma, own, volume, volume_rate, closed, 0.0);
            [dp, p * volume_rate]
        };
        let inner = |t: f64, p: f64| {
            let (x, _) = own_angle(start_rad + speed_rad_s * t, 0.0);
            p * table.at(x).m3 / (engine.gamma - 1.0)
        };
        let mut y = [1e5, 0.0];
        let (start_j, mut most_j) = (inner(0.0, y[0]), 0.0_f64);
        for i in 0..steps as usize {
            let t = i as f64 * h;
            let after = |k: [f64; 2], dt: f64| [y[0] + dt * k[0], y[1] + dt * k[1]];
            let k1 = rate(t, y);
            let k2 = rate(t + h / 2.0, after(k1, h / 2.0));
            let k3 = rate(t + h / 2.0, after(k2, h / 2.0));
            let k4 = rate(t + h, after(k3, h));
            for part in 0..2 {
                y[part] += h / 6.0 * (k1[part] + 2.0 * k2[part] + 2.0 * k3[part] + k4[part]);
            }
            let own_j = inner(t + h, y[0]);
            most_j = most_j.max(own_j);
            let gap = own_j - start_j + y[1];
            prop_assert!(gap.abs() <= 1e-6 * most_j, "{gap} J of {most_j} J, step {i}");
        }
        prop_assert!((y[0] / 1e5 - 1.0).abs() < 1e-5, "{} Pa", y[0]);
    }
}

/// Scenarios that once broke the books: pressures below zero, volumes without gas, a crank braked into
/// turning backwards, numbers that were none.
#[test]
fn what_broke_the_books_once_breaks_them_no_more() {
    let folder = format!("{}/tests/fixtures/scenarios", env!("CARGO_MANIFEST_DIR"));
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.display().to_string();
        let source = Source::parse(&name, &std::fs::read(path).unwrap());
        let drawn = source.and_then(|s| s.draw(None, 0));
        let run = Run::of(&drawn.unwrap_or_else(|f| panic!("{f}")));
        run.keeps_its_books()
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        seen += 1;
    }
    assert_eq!(seen, 6);
}

/// The random scenarios know every quantity of vehicle and test, and the ends of its range: `check` takes
/// both ends for in range, and nothing beyond.
#[test]
fn random_scenarios_cover_the_whole_ranges() {
    let in_range = |path: &str, number: f64, unit: &str| {
        let mut tree = Map::new();
        put(&mut tree, path, json!(format!("{number} {unit}")));
        let faults = Source::from_tree("x", Value::Object(tree)).draw(None, 0);
        let faults = faults.expect_err("it lacks an engine").0;
        !faults
            .iter()
            .any(|f| f.path() == path && f.problem.ends_with("out of range"))
    };
    for (path, low, high, unit) in FIELDS {
        let beyond = 1e-3 * (high - low);
        assert!(
            in_range(path, *low, unit) && in_range(path, *high, unit),
            "{path}"
        );
        assert!(
            !in_range(path, low - beyond, unit) && !in_range(path, high + beyond, unit),
            "{path} goes further"
        );
    }
    let mut known: BTreeSet<String> = FIELDS.iter().map(|f| f.0.into()).collect();
    // These depend on others, and the generator makes them so.
    let fitted = [
        "vehicle.engine.firing_intervals",
        "vehicle.engine.valves.intake",
        "vehicle.engine.valves.exhaust",
        "test.duration",
        "test.key_on",
    ];
    known.extend(fitted.map(String::from));
    let mut quantities = BTreeSet::new();
    for section in ["vehicle", "test"] {
        collect(
            &Scenario::schema()["properties"][section],
            section,
            &mut quantities,
        );
    }
    assert_eq!(known, quantities);
}

fn collect(node: &Value, path: &str, quantities: &mut BTreeSet<String>) {
    match node["properties"].as_object() {
        Some(properties) => {
            for (key, below) in properties {
                collect(below, &format!("{path}.{key}"), quantities);
            }
        }
        None if node["description"]
            .as_str()
            .is_some_and(|d| d.contains(". From ")) =>
        {
            quantities.insert(path.into());
        }
        None => {}
    }
}
