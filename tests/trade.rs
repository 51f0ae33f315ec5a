//! Facts of the trade, all common practice, held against the shipped lessons and their vehicles.
//!
//! `tests/behaviour.rs` holds the model's observations on a bench of its own, and `tests/lessons.rs` the lessons'
//! promises; here is what a technician would check first on any vehicle.

mod lab;

use lab::{Lab, mean, source};
use waterjacket::domain::Measures;
use waterjacket::scenario::Source;

/// A shipped lesson, by the number at the start of its name, with changes as [`lab::source`] takes them.
fn lesson(number: &str, changes: &str) -> Source {
    source(&text(number), changes)
}

fn text(number: &str) -> String {
    let file = names().into_iter().find(|n| n.starts_with(number)).unwrap();
    std::fs::read_to_string(format!("{}/{file}", folder())).unwrap()
}

fn folder() -> String {
    format!("{}/scenarios", env!("CARGO_MANIFEST_DIR"))
}

/// Names of the shipped scenarios.
fn names() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".yaml"))
        .collect();
    names.sort();
    names
}

fn channel(lab: &Lab, measures: Measures) -> usize {
    let channels = &lab.rendered.capture.card.channels;
    channels
        .iter()
        .position(|c| c.measures == measures)
        .unwrap()
}

/// A capture of a lesson's vehicle that shows the pressure in each cylinder, and the highest of each once
/// the crank turns evenly, kPa absolute, by cylinder number.
fn compression_test(number: &str, changes: &str) -> Vec<f64> {
    let n = Lab::of(&lesson(number, ""))
        .rendered
        .capture
        .card
        .engine
        .cylinders;
    let probes: Vec<String> = (1..=n)
        .map(|c| format!("{{sensor: probe, of: cylinder_pressure, cylinder: {c}}}"))
        .collect();
    let channels = format!("channels=[{}];{changes}", probes.join(", "));
    let lab = Lab::of(&lesson(number, &channels));
    let highest = |i| {
        lab.between(i, 1.5, 4.0)
            .into_iter()
            .fold(f64::MIN, f64::max)
    };
    (0..n).map(highest).collect()
}

/// Highest pulse of the lesson's pulse sensor once the crank turns evenly, V.
fn highest_pulse(source: &Source) -> f64 {
    let lab = Lab::of(source);
    let pulse = channel(&lab, Measures::NeckPulse);
    let values = lab.between(pulse, 1.0, lab.seconds());
    values.into_iter().fold(f64::MIN, f64::max)
}

/// Common practice: companions share a coil because they stand 360 degrees apart. Lessons with an even number
/// of evenly firing cylinders have them (`tests/lessons.rs`); no other engine does, and none of those can be
/// given shared coils.
#[test]
fn only_companions_share_a_coil() {
    let mut without = 0;
    for name in names() {
        let plate = Lab::of(&lesson(&name, "")).rendered.capture.card.engine;
        let have = |c: &u32| plate.companion(*c).is_some();
        let all = plate.firing_order.iter().all(have);
        let shared = lesson(&name, "vehicle.engine.coils=shared_pairs").draw(None, 0);
        assert_eq!(shared.is_ok(), all, "{name}");
        if !all {
            without += 1;
            let faults = shared.unwrap_err().to_string();
            assert!(faults.contains("no companion 360 deg away"), "{faults}");
        }
    }
    assert!(
        without >= 3,
        "engines of three, five and odd firing: {without}"
    );
}

/// Common practice: a sound engine cranks to 9 to 15 bar on the gauge at these ratios, and its cylinders read
/// within 25 % of each other; a cylinder that reads less than that is weak.
#[test]
fn sound_cylinders_read_within_a_quarter_and_a_worn_one_below() {
    for (number, worn) in [("10", 4), ("01", 0), ("20", 0)] {
        let peaks_kpa = compression_test(number, "test.plugs_out=[]");
        let gauge: Vec<f64> = peaks_kpa
            .iter()
            .map(|kpa| (kpa - 101.325) / 100.0)
            .collect();
        let best = gauge.iter().copied().fold(f64::MIN, f64::max);
        for (i, bar) in gauge.iter().enumerate() {
            if i + 1 == worn {
                assert!(*bar < 0.75 * best, "lesson {number}, worn: {gauge:?}");
            } else {
                assert!(*bar > 0.75 * best, "lesson {number}: {gauge:?}");
                assert!((9.0..15.0).contains(bar), "lesson {number}: {gauge:?}");
            }
        }
    }
}

/// Common practice: a cylinder without its plug makes no compression, so that its hump is missing in the
/// starter's current, on an oddly firing engine too.
#[test]
fn a_removed_plug_leaves_a_gap_in_the_humps_of_an_odd_engine() {
    let out = 5;
    let lab = Lab::of(&lesson("20", &format!("test.plugs_out=[{out}]")));
    let current = channel(&lab, Measures::StarterCurrent);
    let humps = |cylinder: u32| -> Vec<f64> {
        let tdcs = lab.rendered.truth.tdcs.iter();
        tdcs.filter(|t| t.cylinder == cylinder && t.time_s > 1.0 && t.time_s < 3.8)
            .map(|t| mean(&lab.between(current, t.time_s - 0.015, t.time_s + 0.005)))
            .collect()
    };
    let gap = humps(out).into_iter().fold(f64::MIN, f64::max);
    for cylinder in [1, 2, 3, 4, 6] {
        let least = humps(cylinder).into_iter().fold(f64::MAX, f64::min);
        assert!(
            least > gap + 40.0,
            "cylinder {cylinder}: {least} A, the gap {gap} A"
        );
    }
}

/// Common practice: fill the system to the neck before the test; the lower the coolant, the more air, the
/// smaller the pulses.
#[test]
fn the_less_coolant_the_smaller_the_pulses() {
    let pulses = ["60 mL", "200 mL", "600 mL", "2 L"].map(|air| {
        highest_pulse(&lesson(
            "18",
            &format!("vehicle.cooling.air_pocket={air};channels[1].range=5 V"),
        ))
    });
    for pair in pulses.windows(2) {
        assert!(pair[1] < 0.6 * pair[0], "{pulses:?}");
    }
}

/// Common practice: with the suspect's plug out nothing drives gas into the coolant, and the pulses end; with
/// another's out they stay.
#[test]
fn the_suspects_plug_ends_the_pulses() {
    let before = highest_pulse(&lesson("18", ""));
    let after = highest_pulse(&lesson("19", ""));
    let other = highest_pulse(&lesson("19", "test.plugs_out=[2]"));
    assert!(after < 0.05 * before, "{before} V before, {after} V after");
    assert!(
        (other / before - 1.0).abs() < 0.2,
        "{before} V before, {other} V without plug 2"
    );
}

/// Common practice: a piezo element makes charge from a change of pressure, which leaks away; it cannot show
/// what a transducer beside it holds.
#[test]
fn a_piezo_sensor_cannot_hold_a_pressure() {
    let lab = Lab::of(&lesson("02", "faults.leaks=[];test.start_pressure=25 kPa"));
    let late = |measures| mean(&lab.between(channel(&lab, measures), 2.0, 4.0));
    let (held_kpa, piezo_v) = (late(Measures::NeckPressure), late(Measures::NeckPulse));
    assert!((held_kpa - 25.0).abs() < 1.0, "{held_kpa} kPa held");
    // 25 kPa at 0.5 V/kPa were 12.5 V, had it arrived at once.
    assert!(piezo_v.abs() < 0.02, "{piezo_v} V");
}

/// Common practice: the starter turns the engine evenly and compresses the same air each time, while
/// combustion differs from cycle to cycle; so does what it drives into the coolant.
#[test]
fn pulses_are_steadier_while_cranking_than_at_idle() {
    let variation = |changes: &str| {
        let lab = Lab::of(&lesson("18", changes));
        let heights: Vec<f64> = (lab.rendered.truth.events.iter())
            .filter(|e| e.tdc_s > 1.0)
            .filter_map(|e| e.height)
            .collect();
        assert!(heights.len() >= 4, "{heights:?}");
        let m = mean(&heights);
        let squares: Vec<f64> = heights.iter().map(|h| (h - m) * (h - m)).collect();
        mean(&squares).sqrt() / m
    };
    let cranking = variation("");
    let idle = variation("test.mode=idle");
    assert!(
        idle > 2.0 * cranking,
        "{idle} at idle, {cranking} while cranking"
    );
}

/// Common practice: caps of passenger cars are rated 0.9 to 1.1 bar; a system that gas is driven into stands
/// at its cap's rating, and never far above.
#[test]
fn a_cap_holds_the_system_at_its_rating() {
    for rating_kpa in [90.0, 100.0, 110.0] {
        let changes = format!(
            "test.cap.relief={rating_kpa} kPa;test.start_pressure={} kPa;faults.leaks[0].opens_at=2 bar;channels[0].span=[0 kPa, 200 kPa]",
            rating_kpa - 2.0
        );
        let lab = Lab::of(&lesson("14", &changes));
        let neck = lab.between(channel(&lab, Measures::NeckPressure), 4.0, 6.0);
        let highest = neck.iter().copied().fold(f64::MIN, f64::max);
        // The valve is fully open 15 kPa above its rating.
        assert!(
            (rating_kpa - 5.0..rating_kpa + 10.0).contains(&mean(&neck))
                && highest < rating_kpa + 15.0,
            "rated {rating_kpa} kPa: {} kPa, at most {highest} kPa",
            mean(&neck)
        );
        assert!(
            lab.rendered.truth.gas.relieved_mg > 0.0,
            "rated {rating_kpa} kPa"
        );
    }
}
