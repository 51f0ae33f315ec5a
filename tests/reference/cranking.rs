//! The whole cranking system against its twin, and what the step costs.

use crate::bench::{six, six_vehicle};
use crate::table::{Table, Worst};
use waterjacket::math::degrees;
use waterjacket::simulation::crank::starter_current;
use waterjacket::simulation::{STEP_S, Traces, run, run_finer};

/// `cranking.py` writes the whole system a second time, SciPy's DOP853 integrates it for 2 s at
/// rtol 1e-10. Ours, at the default step, differs by 1.1e-4 deg of crank and by 4e-6 of each
/// pressure's range, which is the step's doing (see below). Asked for: a third of that again for the
/// processor's sake, far below the 0.05 deg and 1e-3 that a capture could show.
#[test]
fn the_cranking_six_is_its_twin() {
    let vehicle = six_vehicle();
    let traces = run(&vehicle, &six().scenario.test, &Vec::new());
    let place = vehicle.engine.cylinders.iter().position(|c| c.number == 1);
    let cylinder = &traces.cylinder_pa[place.unwrap()];
    let table = Table::read("cranking");
    let range = |column: &str| {
        let values: Vec<f64> = table.rows().map(|r| r.number(column)).collect();
        values.iter().copied().fold(f64::MIN, f64::max)
            - values.iter().copied().fold(f64::MAX, f64::min)
    };
    let mut crank = Worst::default();
    for row in table.rows() {
        let t = row.number("time_s");
        crank.absolute(
            degrees(traces.crank_rad[step(t)]),
            row.number("crank_deg"),
            t,
        );
    }
    crank.within(1.5e-4, "cranking: crank, deg");
    for (column, trace) in [
        ("cylinder_1_pa", cylinder),
        ("jacket_pa", &traces.jacket_pa),
        ("neck_pa", &traces.neck_pa),
    ] {
        let (mut worst, range) = (Worst::default(), range(column));
        for row in table.rows() {
            let t = row.number("time_s");
            worst.absolute(trace[step(t)] / range, row.number(column) / range, t);
        }
        worst.within(5.5e-6, &format!("cranking: {column}, of its range"));
    }
}

fn step(t: f64) -> usize {
    (t / STEP_S).round() as usize
}

/// Against a forty times finer step the default one is within 1.1e-4 deg, 3 Pa in the cylinder and
/// 0.014 Pa at the neck. The method is of third order; the whole is not, because its slopes jump: at
/// pressure ratios of 0.99 and 1, where the leak lifts and is wide open, as friction sets in, and between the
/// places of the tables. A step over such a kink is off by its square, so that the whole falls at about
/// second order: measured 1.9 for the crank and the cylinder, 2.3 for the neck, from the default step
/// to an eighth of it. An event that is smeared over a step, or a term held for one, would make it 1.
#[test]
fn the_error_falls_with_the_step() {
    let vehicle = six_vehicle();
    let test = six().scenario.test;
    let finer = |substeps| run_finer(&vehicle, &test, &Vec::new(), substeps);
    let runs = [run(&vehicle, &test, &Vec::new()), finer(4), finer(20)];
    let error = |of: fn(&Traces) -> &Vec<f64>, i: usize| {
        let pairs = of(&runs[i]).iter().zip(of(&runs[2]));
        pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    };
    let check = |what: &str, of: fn(&Traces) -> &Vec<f64>, unit: f64, tolerance: f64| {
        let (coarse, eighth) = (error(of, 0) * unit, error(of, 1) * unit);
        let order = libm::log2(coarse / eighth) / 3.0;
        println!("step: {what}: {coarse:.1e} of {tolerance:.0e}, order {order:.2}");
        assert!(
            coarse <= tolerance,
            "{what}: {coarse:e}, allowed {tolerance:e}"
        );
        assert!(
            order > 1.3,
            "{what}: order {order}, {coarse:e} to {eighth:e}"
        );
    };
    check("crank, deg", |t| &t.crank_rad, degrees(1.0), 2e-4);
    check("first cylinder, Pa", |t| &t.cylinder_pa[0], 1.0, 5.0);
    check("neck, Pa", |t| &t.neck_pa, 1.0, 2e-2);
}

/// The key may turn anywhere in a step, at its middle and at its end: the default step is as good for each.
/// A step that is off by half of itself at the key is off by 0.1 deg ever after.
#[test]
fn the_key_turns_anywhere_in_a_step() {
    let vehicle = six_vehicle();
    let mut test = six().scenario.test;
    test.duration_s = 1.0;
    for key_on_s in [0.0, 0.25, 0.25003, 0.2501, 0.25017, 0.2502] {
        test.key_on_s = key_on_s;
        let coarse = run(&vehicle, &test, &Vec::new());
        let fine = run_finer(&vehicle, &test, &Vec::new(), 20);
        let pairs = coarse.crank_rad.iter().zip(&fine.crank_rad);
        let off = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(degrees(off) < 2e-4, "{key_on_s} s: {} deg", degrees(off));
    }
}

/// What the traces keep from within a step belongs to the same instant as the rest: the starter's current is
/// the motor's line at that speed. A value a tenth of a millisecond early is off by 1 A at the inrush.
#[test]
fn current_and_speed_are_of_the_same_instant() {
    let vehicle = six_vehicle();
    let test = six().scenario.test;
    let traces = run(&vehicle, &test, &Vec::new());
    let keyed = step(test.key_on_s) + 1;
    for (i, speed) in traces.speed_rad_s.iter().enumerate().skip(keyed) {
        let off = traces.current_a[i] - starter_current(&vehicle.starter, *speed);
        assert!(off.abs() < 0.05, "{i}: {off} A");
    }
}
