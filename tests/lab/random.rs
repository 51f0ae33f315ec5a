//! Random scenarios over the whole ranges of their fields.
//!
//! A field is left at its default, put at either end of its range, or anywhere between, so that the
//! corners of the model come up as often as its middle. A failing scenario shrinks towards defaults.

use proptest::prelude::*;
use serde_json::{Map, Value, json};
use waterjacket::math;
use waterjacket::scenario::{Drawn, Mode, Source};

/// A numeric field: its path, the ends of its range, their unit.
pub type Field = (&'static str, f64, f64, &'static str);

/// Every numeric field of the vehicle and the test that has a range of its own.
pub const FIELDS: &[Field] = &[
    ("vehicle.engine.bore", 50.0, 150.0, "mm"),
    ("vehicle.engine.stroke", 40.0, 180.0, "mm"),
    ("vehicle.engine.rod", 50.0, 400.0, "mm"),
    ("vehicle.engine.compression_ratio", 6.0, 16.0, ""),
    ("vehicle.engine.gamma", 1.2, 1.41, ""),
    ("vehicle.engine.ring_area", 0.0, 20.0, "mm2"),
    ("vehicle.engine.inertia", 0.05, 10.0, "kg m2"),
    ("vehicle.engine.friction", 2.0, 400.0, "N m"),
    ("vehicle.engine.viscous_friction", 0.0, 10.0, "N m s/rad"),
    ("vehicle.engine.wall_temperature", -40.0, 300.0, "C"),
    ("vehicle.engine.spark", -60.0, 20.0, "deg"),
    ("vehicle.engine.manifold.cranking", 20.0, 110.0, "kPa"),
    ("vehicle.engine.manifold.idle", 15.0, 110.0, "kPa"),
    ("vehicle.engine.manifold.temperature", -40.0, 120.0, "C"),
    (
        "vehicle.engine.manifold.exhaust_cranking",
        -40.0,
        400.0,
        "C",
    ),
    ("vehicle.engine.manifold.exhaust_idle", 0.0, 900.0, "C"),
    ("vehicle.engine.valves.intake_area", 0.2, 15.0, "cm2"),
    ("vehicle.engine.valves.exhaust_area", 0.2, 15.0, "cm2"),
    ("vehicle.engine.combustion.start", -60.0, 30.0, "deg"),
    ("vehicle.engine.combustion.duration", 20.0, 120.0, "deg"),
    ("vehicle.engine.combustion.heat", 20.0, 3000.0, "J"),
    ("vehicle.engine.combustion.variation", 0.0, 40.0, "%"),
    ("vehicle.starter.open_circuit_voltage", 9.0, 30.0, "V"),
    ("vehicle.starter.battery_resistance", 1.0, 100.0, "mohm"),
    ("vehicle.starter.starter_resistance", 2.0, 200.0, "mohm"),
    ("vehicle.starter.motor_constant", 0.1, 3.0, "V s/rad"),
    ("vehicle.starter.efficiency", 20.0, 100.0, "%"),
    ("vehicle.starter.charging_voltage", 9.0, 30.0, "V"),
    ("vehicle.cooling.air_pocket", 10.0, 5000.0, "mL"),
    ("vehicle.cooling.coolant", 0.5, 40.0, "L"),
    ("vehicle.cooling.bubbles", 1.0, 500.0, "mL"),
    ("vehicle.cooling.jacket_compliance", 0.02, 20.0, "mL/kPa"),
    ("vehicle.cooling.neck_compliance", 0.02, 20.0, "mL/kPa"),
    ("vehicle.cooling.bulk_modulus", 1.0, 4.0, "GPa"),
    ("vehicle.cooling.density", 900.0, 1200.0, "kg/m3"),
    ("vehicle.cooling.polytropic", 1.0, 1.4, ""),
    ("vehicle.cooling.path", 0.1, 6.0, "m"),
    ("vehicle.cooling.path_area", 0.5, 40.0, "cm2"),
    ("vehicle.cooling.laminar_resistance", 0.0, 1e9, "Pa s/m3"),
    (
        "vehicle.cooling.quadratic_resistance",
        0.0,
        1e12,
        "Pa s2/m6",
    ),
    ("vehicle.cooling.drift_time", 0.5, 600.0, "s"),
    ("vehicle.cooling.gas_cooling_time", 5.0, 1000.0, "ms"),
    ("vehicle.cooling.acoustics.void_fraction", 0.0, 20.0, "%"),
    ("vehicle.cooling.acoustics.bore", 5.0, 100.0, "mm"),
    ("vehicle.cooling.acoustics.wall", 1.0, 30.0, "mm"),
    (
        "vehicle.cooling.acoustics.wall_modulus",
        0.001,
        250.0,
        "GPa",
    ),
    ("test.plug_hole_area", 20.0, 150.0, "mm2"),
    ("test.cap.relief", 0.05, 2.0, "bar"),
    ("test.cap.area", 1.0, 20.0, "mm2"),
    ("test.coolant_temperature", -20.0, 110.0, "C"),
    ("test.ambient", 60.0, 110.0, "kPa"),
    ("test.start_pressure", 0.0, 1.5, "bar"),
    ("test.rest_angle", -720.0, 720.0, "deg"),
    ("test.idle.speed", 500.0, 1500.0, "rpm"),
    ("test.idle.pressure_rise", 0.0, 5000.0, "Pa/s"),
    ("test.idle.pump_ripple", 0.0, 5.0, "kPa"),
    ("test.idle.pump_ripple_per_turn", 0.5, 20.0, ""),
];

/// The numeric fields of a leak.
pub const LEAK_FIELDS: &[Field] = &[
    ("area", 0.0001, 3.0, "mm2"),
    ("opens_at", 0.0, 60.0, "bar"),
    ("opens_over", 0.05, 20.0, "bar"),
    ("pull_back", 0.0, 1.0, ""),
];

/// Firing orders, and the intervals of the odd ones.
const ENGINES: &[(&[u32], &[f64])] = &[
    (&[1, 3, 4, 2], &[]),
    (&[1, 5, 3, 6, 2, 4], &[]),
    (&[1, 3, 2], &[]),
    (&[1], &[]),
    (&[1, 2], &[]),
    (&[1, 2], &[180.0, 540.0]),
    (&[2, 1], &[20.0, 700.0]),
    (&[1, 2, 4, 5, 3], &[]),
    (
        &[1, 4, 3, 6, 2, 5],
        &[90.0, 150.0, 90.0, 150.0, 90.0, 150.0],
    ),
    (&[1, 8, 4, 3, 6, 5, 7, 2], &[]),
    (&[1, 6, 5, 10, 2, 7, 3, 8, 4, 9], &[]),
    (&[1, 12, 5, 8, 3, 10, 6, 7, 2, 11, 4, 9], &[]),
];

/// A share of a range: an end, or anywhere between.
fn share() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(1.0), 0.0..=1.0]
}

/// For each of `fields` a value or nothing.
fn values(fields: &'static [Field]) -> impl Strategy<Value = Vec<(&'static str, String)>> {
    let one = prop::option::weighted(0.25, share());
    prop::collection::vec(one, fields.len()).prop_map(move |shares| {
        let given = fields.iter().zip(shares);
        given
            .filter_map(|(field, share)| Some((field.0, value(field, share?))))
            .collect()
    })
}

/// The value at this share of a range; ratios are even over ranges that span decades.
fn value((_, low, high, unit): &Field, share: f64) -> String {
    // The ends are met exactly.
    let number = if share == 0.0 {
        *low
    } else if share == 1.0 {
        *high
    } else if *low > 0.0 && high / low >= 10.0 {
        low * math::pow(high / low, share)
    } else if *low == 0.0 {
        high * share * share * share
    } else {
        low + (high - low) * share
    };
    format!("{number} {unit}").trim().into()
}

/// Puts a value at a path of a tree.
pub fn put(tree: &mut Map<String, Value>, path: &str, value: Value) {
    match path.split_once('.') {
        None => {
            tree.insert(path.into(), value);
        }
        Some((head, rest)) => {
            let below = tree.entry(head).or_insert_with(|| json!({}));
            put(below.as_object_mut().unwrap(), rest, value);
        }
    }
}

/// Which cylinders something is the matter with: at most `most` of them.
fn cylinders(most: usize) -> impl Strategy<Value = Vec<prop::sample::Index>> {
    prop::collection::vec(any::<prop::sample::Index>(), 0..=most)
}

fn chosen(order: &[u32], places: &[prop::sample::Index]) -> Vec<u32> {
    let mut chosen: Vec<u32> = places.iter().map(|i| *i.get(order)).collect();
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}

/// Scenarios of one mode, most of which `check` accepts; captures last at most `longest_s`.
pub fn trees(longest_s: f64, mode: Mode) -> impl Strategy<Value = Value> {
    let faults = (
        cylinders(4),
        prop::collection::vec(values(LEAK_FIELDS), 4),
        cylinders(3),
        cylinders(2),
        cylinders(3),
    );
    let test = (
        0.3..longest_s,
        0.0..0.9,
        prop::sample::select(&["sealed", "relief", "open"][..]),
        any::<bool>(),
    );
    let spans = prop::option::weighted(0.2, (share(), share(), share(), share()));
    (
        prop::sample::select(ENGINES),
        values(FIELDS),
        spans,
        faults,
        test,
        0..1000_u64,
    )
        .prop_map(
            move |((order, intervals), values, spans, faults, test, seed)| {
                let idle = mode == Mode::Idle;
                let (duration_s, key_on, cap, ignition) = test;
                let (leaking, leak_values, worn, missing, plugs) = faults;
                let mut tree = Map::new();
                for (path, value) in values {
                    // An open neck is neither hot nor under pressure, which `check` refuses.
                    let barred =
                        ["test.coolant_temperature", "test.start_pressure"].contains(&path);
                    if !(barred && cap == "open") {
                        put(&mut tree, path, json!(value));
                    }
                }
                if cap == "open" {
                    put(&mut tree, "test.coolant_temperature", json!("40 C"));
                }
                let mut set = |path: &str, value: Value| put(&mut tree, path, value);
                set("seed", json!(seed));
                set("vehicle.engine.cylinders", json!(order.len()));
                set("vehicle.engine.firing_order", json!(order));
                let intervals: Vec<_> = intervals.iter().map(|i| format!("{i} deg")).collect();
                set("vehicle.engine.firing_intervals", json!(intervals));
                if let Some((a, b, c, d)) = spans {
                    let deg =
                        |from: f64, to: f64, share| format!("{} deg", from + (to - from) * share);
                    let span = |from, to, a: f64, b: f64| {
                        json!([deg(from, to, a.min(b)), deg(from, to, a.max(b))])
                    };
                    set("vehicle.engine.valves.intake", span(-420.0, -60.0, a, b));
                    set("vehicle.engine.valves.exhaust", span(60.0, 420.0, c, d));
                }
                let leaks: Vec<Value> = chosen(order, &leaking)
                    .into_iter()
                    .zip(leak_values)
                    .map(|(cylinder, values)| {
                        let mut leak = Map::new();
                        leak.insert("cylinder".into(), json!(cylinder));
                        leak.insert("area".into(), json!("0.05 mm2"));
                        leak.extend(values.into_iter().map(|(k, v)| (k.into(), json!(v))));
                        Value::Object(leak)
                    })
                    .collect();
                set("faults.leaks", json!(leaks));
                let of = |places: &[_], key: &str, value: &str| -> Value {
                    let cylinders = chosen(order, places).into_iter();
                    cylinders
                        .map(|c| json!({"cylinder": c, key: value}))
                        .collect()
                };
                set("faults.worn", of(&worn, "ring_area", "20 mm2"));
                set("faults.misfires", of(&missing, "share", "60 %"));
                set("test.mode", json!(if idle { "idle" } else { "cranking" }));
                set("test.duration", json!(format!("{duration_s} s")));
                set(
                    "test.key_on",
                    json!(format!("{} s", key_on * key_on * duration_s)),
                );
                set("test.cap.state", json!(cap));
                if !idle {
                    set("test.plugs_out", json!(chosen(order, &plugs)));
                    let word = if ignition { "enabled" } else { "disabled" };
                    set("test.ignition", json!(word));
                }
                set(
                    "channels",
                    json!([
                        {"sensor": "neck_pressure"},
                        {"sensor": "neck_pulse"},
                        {"sensor": "coil_trigger", "cylinder": order[0]},
                        {"sensor": "starter_current"},
                        {"sensor": "battery_voltage", "coupling": "ac", "inverted": true},
                        {"sensor": "probe", "of": "cylinder_pressure", "cylinder": order[0]},
                    ]),
                );
                set("acquisition.sample_rate", json!("2 kHz"));
                Value::Object(tree)
            },
        )
}

/// A scenario that `check` accepts; a failing test shows it as it would stand in a file.
#[derive(Clone)]
pub struct Case {
    pub drawn: Drawn,
    text: String,
}

impl Case {
    /// `None` if it is refused.
    pub fn of(tree: Value) -> Option<Case> {
        let text = tree.to_string();
        let drawn = Source::from_tree("random", tree).draw(None, 0).ok()?;
        Some(Case { drawn, text })
    }
}

impl std::fmt::Debug for Case {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

/// Scenarios of one mode that `check` accepts.
pub fn accepted(longest_s: f64, mode: Mode) -> impl Strategy<Value = Case> {
    trees(longest_s, mode).prop_filter_map("refused", Case::of)
}

/// The same with four wide leaks into a small, stiff system with little gas in it, as stiff as any.
pub fn flooded(longest_s: f64) -> impl Strategy<Value = Case> {
    let modes = prop_oneof![Just(Mode::Cranking), Just(Mode::Idle)];
    let trees = modes.prop_flat_map(move |mode| trees(longest_s, mode));
    let small = prop::collection::vec(any::<bool>(), 6);
    (trees, small).prop_filter_map("refused", |(mut tree, small)| {
        let order = tree["vehicle"]["engine"]["firing_order"].clone();
        let leaks: Vec<Value> = (order.as_array()?.iter().take(4))
            .map(|c| json!({"cylinder": c, "area": "3 mm2", "pull_back": 1}))
            .collect();
        let map = tree.as_object_mut()?;
        put(map, "faults.leaks", json!(leaks));
        let fields = [
            ("vehicle.cooling.bubbles", "1 mL"),
            ("vehicle.cooling.air_pocket", "10 mL"),
            ("vehicle.cooling.jacket_compliance", "0.02 mL/kPa"),
            ("vehicle.cooling.neck_compliance", "0.02 mL/kPa"),
            ("vehicle.cooling.gas_cooling_time", "1 s"),
            ("vehicle.cooling.polytropic", "1.4"),
        ];
        for ((path, value), _) in fields.iter().zip(small).filter(|(_, small)| *small) {
            put(map, path, json!(value));
        }
        Case::of(tree)
    })
}

/// How many cases to run: `PROPTEST_CASES` if it is set, else `usual`.
pub fn cases(usual: u32) -> ProptestConfig {
    let asked = std::env::var("PROPTEST_CASES").ok();
    ProptestConfig {
        cases: asked.and_then(|n| n.parse().ok()).unwrap_or(usual),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}
