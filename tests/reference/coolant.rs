//! The two compartments: their modes, a step, injected gas; and coolant drawn through a leak.

use crate::bench::{six, six_vehicle};
use crate::table::{Table, Worst};
use waterjacket::scenario::{CapSpec, CoolingSpec, LeakSpec};
use waterjacket::simulation::coolant::{Coolant, Drive};
use waterjacket::simulation::leak::{self, LeakFlow, Mouth};
use waterjacket::simulation::orifice::Gas;
use waterjacket::vehicle::R_AIR;

const AMBIENT_PA: f64 = 101_325.0;
const COOLANT_K: f64 = 298.15;

/// A sealed cooling system on its own, advanced by the classical Runge-Kutta method.
struct Tank {
    spec: CoolingSpec,
    cap: CapSpec,
    air: Gas,
    state: Coolant,
}

impl Tank {
    fn new(change: impl FnOnce(&mut CoolingSpec)) -> Tank {
        let vehicle = six_vehicle();
        let mut spec = vehicle.cooling;
        change(&mut spec);
        Tank {
            state: Coolant::at_rest(&spec, AMBIENT_PA, 0.0),
            cap: vehicle.cap,
            air: Gas::new(1.4),
            spec,
        }
    }

    fn advance(&mut self, flows: &[LeakFlow], h: f64) {
        let drive = Drive {
            pump_pa: 0.0,
            rise_pa_s: 0.0,
            ambient_pa: AMBIENT_PA,
            coolant_k: COOLANT_K,
        };
        let rate = |y: &Coolant| y.rate(&self.spec, &self.cap, &self.air, flows, drive);
        let y = self.state;
        let k1 = rate(&y);
        let k2 = rate(&y.after(&k1, h / 2.0));
        let k3 = rate(&y.after(&k2, h / 2.0));
        let k4 = rate(&y.after(&k3, h));
        self.state = y
            .after(&k1, h / 6.0)
            .after(&k2, h / 3.0)
            .after(&k3, h / 3.0)
            .after(&k4, h / 6.0);
    }

    fn let_go_from(&mut self, jacket_gauge_pa: f64) {
        self.state.jacket_pa += jacket_gauge_pa;
    }
}

/// The eigenvalues of the linear system (NumPy) and their closed form, `w^2 = (1/C_j + 1/C_n)/I`,
/// `zeta = R_1/(2 I w)`, agree to the table's digits. The model, let go from 1 Pa, is linear to
/// 1e-5; its frequency and damping are read off by fitting `d_(i+1) = a d_i + b d_(i-1)` to the
/// pressure difference, which a second-order system follows exactly: 1e-4.
#[test]
fn the_column_swings_at_its_natural_frequency() {
    let [mut closed, mut frequency, mut damping]: [Worst; 3] = Default::default();
    for row in Table::read("coolant_modes").rows() {
        let (pocket, hose) = (row.number("pocket_m3"), row.number("hose_m3_pa"));
        let mut tank = Tank::new(|spec| {
            spec.air_pocket_m3 = pocket;
            spec.jacket_compliance_m3_pa = hose;
            spec.neck_compliance_m3_pa = hose;
            spec.quadratic_resistance = 0.0;
        });
        let spec = &tank.spec;
        let give = |gas_m3: f64| hose + gas_m3 / (spec.polytropic * AMBIENT_PA);
        let jacket = give(spec.bubbles_m3) + spec.liquid_m3 / spec.bulk_modulus_pa;
        let inertance = spec.density_kg_m3 * spec.path_m / spec.path_area_m2;
        let natural = ((1.0 / jacket + 1.0 / give(pocket)) / inertance).sqrt();
        let place = format!("pocket {pocket} m3, hoses {hose} m3/Pa");
        let (w, zeta) = (row.number("natural_rad_s"), row.number("damping"));
        closed.relative(natural, w, &place);
        closed.relative(
            spec.laminar_resistance / (2.0 * inertance * natural),
            zeta,
            &place,
        );

        tank.let_go_from(1.0);
        let spacing = 50;
        let h = 1e-4;
        let mut difference = Vec::new();
        for i in 0..=40 * spacing {
            if i % spacing == 0 {
                difference.push(tank.state.jacket_pa - tank.state.neck_pa);
            }
            tank.advance(&[], h);
        }
        let (measured_w, measured_zeta) = mode(&difference, h * f64::from(spacing));
        frequency.relative(measured_w, w, &place);
        damping.relative(measured_zeta, zeta, &place);
    }
    closed.within(1e-10, "coolant modes: closed form over NumPy");
    frequency.within(1e-4, "coolant modes: frequency");
    damping.within(1e-4, "coolant modes: damping");
}

/// Natural frequency and damping of samples of a decaying oscillation, by least squares.
fn mode(d: &[f64], spacing_s: f64) -> (f64, f64) {
    let [mut xx, mut xy, mut yy, mut xz, mut yz] = [0.0; 5];
    for w in d.windows(3) {
        let (y, x, z) = (w[0], w[1], w[2]);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xz += x * z;
        yz += y * z;
    }
    let determinant = xx * yy - xy * xy;
    let a = (xz * yy - yz * xy) / determinant;
    let b = (yz * xx - xz * xy) / determinant;
    let radius = (-b).sqrt();
    let decay = -libm::log(radius) / spacing_s;
    let turning = libm::acos(a / (2.0 * radius)) / spacing_s;
    let natural = libm::hypot(decay, turning);
    (natural, decay / natural)
}

/// SciPy's DOP853 at rtol 1e-10 on the whole, non-linear system, 20 kPa let go. RK4 at a
/// step of 0.1 ms, `w h` = 0.006, loses `(w h)^4/120` a radian, 1e-11: 1e-8 of the step
/// leaves room for DOP853.
#[test]
fn a_pressure_step_runs_as_in_scipy() {
    let mut tank = Tank::new(|_| ());
    tank.let_go_from(2e4);
    let [mut jacket, mut neck, mut flow]: [Worst; 3] = Default::default();
    for row in Table::read("coolant_step").rows() {
        let t = row.number("time_s");
        jacket.absolute(tank.state.jacket_pa / 2e4, row.number("jacket_pa") / 2e4, t);
        neck.absolute(tank.state.neck_pa / 2e4, row.number("neck_pa") / 2e4, t);
        flow.absolute(
            tank.state.flow_m3_s / 2e-4,
            row.number("flow_m3_s") / 2e-4,
            t,
        );
        for _ in 0..50 {
            tank.advance(&[], 1e-4);
        }
    }
    jacket.within(1e-8, "coolant step: jacket, of 20 kPa");
    neck.within(1e-8, "coolant step: neck, of 20 kPa");
    flow.within(1e-8, "coolant step: flow, of 0.2 L/s");
}

/// Where the model is smooth, its error falls with the fourth power of the step: the same 20 kPa
/// let go, after 50 ms, at 8, 4 and 2 ms against 0.1 ms.
#[test]
fn the_coolant_converges_at_fourth_order() {
    let neck = |h: f64, steps: usize| {
        let mut tank = Tank::new(|_| ());
        tank.let_go_from(2e4);
        (0..steps).for_each(|_| tank.advance(&[], h));
        tank.state.neck_pa
    };
    let fine = neck(1e-4, 480);
    let error = [(8e-3, 6), (4e-3, 12), (2e-3, 24)].map(|(h, steps)| (neck(h, steps) - fine).abs());
    for pair in error.windows(2) {
        let order = libm::log2(pair[0] / pair[1]);
        println!("coolant: order {order:.2}");
        assert!(
            (3.6..4.6).contains(&order),
            "order {order}, errors {error:?}"
        );
    }
}

/// Eight injections of 2 mg into 205 mL, isothermal. Between rigid walls they make eight equal
/// steps of `m R T/V`; hoses take more of each as they stretch. Each injection lasts 10 ms and then
/// rests until the column has settled to e^-25: 1e-9 of the pressure leaves room for RK4.
#[test]
fn equal_injections_make_equal_steps() {
    let table = Table::read("pocket_steps");
    for (walls, hose) in [("rigid", 0.0), ("elastic", 2e-10)] {
        let mut tank = pocket(hose);
        let injection = LeakFlow {
            forward_kg_s: 2e-4,
            forward_k: COOLANT_K,
            ..LeakFlow::default()
        };
        let (mut worst, mut steps) = (Worst::default(), Worst::default());
        let mut before = f64::NAN;
        for row in table.of(walls) {
            let count = row.number("injections");
            worst.relative(tank.state.neck_pa, row.number("pressure_pa"), count);
            if walls == "rigid" && count > 0.0 {
                let step = 2e-6 * R_AIR * COOLANT_K / 205e-6;
                steps.relative(tank.state.neck_pa - before, step, count);
            }
            before = tank.state.neck_pa;
            (0..100).for_each(|_| tank.advance(&[injection], 1e-4));
            (0..10_000).for_each(|_| tank.advance(&[LeakFlow::default()], 1e-4));
        }
        worst.within(1e-9, &format!("injections, {walls}: pressure"));
        if walls == "rigid" {
            steps.within(1e-9, "injections, rigid: step");
        }
    }
}

/// Gas that drifts from the jacket to the neck at one temperature changes no pressure (Boyle).
#[test]
fn drifting_gas_changes_no_pressure() {
    let mut tank = pocket(2e-10);
    let injection = LeakFlow {
        forward_kg_s: 2e-4,
        forward_k: COOLANT_K,
        ..LeakFlow::default()
    };
    (0..500).for_each(|_| tank.advance(&[injection], 1e-4));
    (0..10_000).for_each(|_| tank.advance(&[LeakFlow::default()], 1e-4));
    let (before, passed) = (tank.state.neck_pa, tank.state.leaks[0].mouth_kg);
    tank.spec.drift_s = 0.2;
    (0..60_000).for_each(|_| tank.advance(&[LeakFlow::default()], 1e-4));
    assert!(tank.state.leaks[0].mouth_kg < 1e-9 * passed);
    assert!(
        (tank.state.pocket_kg / passed - 1.0).abs() < 1e-9,
        "it arrives"
    );
    let after = tank.state.neck_pa;
    assert!((after / before - 1.0).abs() < 1e-9, "{before} {after}");
}

/// Isothermal, 5 mL of bubbles and 200 mL of air, incompressible coolant, no drift, a column that
/// settles fast.
fn pocket(hose_m3_pa: f64) -> Tank {
    Tank::new(|spec| {
        spec.polytropic = 1.0;
        spec.bulk_modulus_pa = f64::INFINITY;
        spec.jacket_compliance_m3_pa = hose_m3_pa;
        spec.neck_compliance_m3_pa = hose_m3_pa;
        spec.laminar_resistance = 1.5e8;
        spec.quadratic_resistance = 0.0;
        spec.drift_s = f64::INFINITY;
    })
}

/// Coolant drawn back, `Q = Cd A sqrt(2 dp/rho)`, with the density of half glycol by volume from
/// CoolProp at 20, 60 and 90 C. The same product and root: 1e-11. The default density lies between
/// the ends of that range.
#[test]
fn coolant_is_drawn_back_through_an_orifice() {
    let spec = LeakSpec {
        cylinder: 1,
        area_m2: 0.2e-6,
        opens_at_pa: 3e5,
        span_pa: 1e5,
        pull_back: 0.5,
    };
    let gas = Gas::new(1.38);
    let mut worst = Worst::default();
    let mut densities = Vec::new();
    for row in Table::read("pull_back").rows() {
        let density = row.number("density_kg_m3");
        let drop = row.number("pressure_drop_pa");
        let mouth = Mouth {
            jacket_pa: 2e5,
            coolant_k: COOLANT_K,
            density_kg_m3: density,
            gas_kg: 0.0,
        };
        let flow = leak::flow(&spec, &gas, 2e5 - drop, 320.0, mouth);
        assert_eq!((flow.forward_kg_s, flow.back_kg_s), (0.0, 0.0));
        worst.relative(
            flow.drawn_m3_s,
            row.number("flow_m3_s"),
            format!("{density} kg/m3, {drop} Pa"),
        );
        densities.push(density);
    }
    worst.within(1e-11, "pull-back: flow");
    let default = six().scenario.vehicle.cooling.density_kg_m3;
    let lowest = densities.iter().copied().fold(f64::MAX, f64::min);
    let highest = densities.iter().copied().fold(f64::MIN, f64::max);
    assert!((lowest..highest).contains(&default), "{default} kg/m3");
}
