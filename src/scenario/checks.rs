//! What no single field can know: whether the parts of a scenario fit each other.

use super::section::Reading;
use super::{CapState, MAX_LEAKS, Mode, ProbeOf, Scenario, SensorSpec};
use crate::math;

/// A hot system is not opened: scalding. Common practice is to wait until it is hand-warm.
const OPEN_BELOW_K: f64 = 273.15 + 50.0;
/// With less clearance the cylinder's gas follows its openings faster than the solver's step.
const MIN_CLEARANCE_M3: f64 = 15e-6;
/// A WAV file's own byte counter ends at 4 GiB, and readers differ above 2 GiB.
const MAX_WAV_BYTES: f64 = 2_147_483_648.0;
const MAX_CHANNELS: usize = 16;
/// An idling engine stays far below it (35 bar is usual); the solver's step and the sensors do not
/// go further.
const MAX_IDLE_PEAK_PA: f64 = 120e5;
/// A crank that follows its starter more quickly than this jumps between steps of the solver, s.
const MIN_STARTER_TIME_S: f64 = 1e-4;
/// A crank of less inertia per swept volume (kg m2/m3, 0.02 kg m2 a litre; 0.2 are usual) races or stops
/// within a revolution.
const MIN_INERTIA_PER_SWEPT: f64 = 20.0;

/// Adds a fault for everything that does not fit together.
pub fn check(s: &Scenario, reading: &Reading) {
    let fault = |path: &str, problem: String, remedy: &str| {
        reading.fault(path, (problem, remedy.to_string()))
    };
    let engine_sound = ["cylinders", "firing_order", "firing_intervals"]
        .iter()
        .all(|key| reading.sound(&format!("vehicle.engine.{key}")));
    if engine_sound {
        firing(s, &fault);
    }
    if reading.sound("vehicle.engine") {
        geometry(s, &fault);
        inertia(s, &fault);
    }
    if reading.sound("vehicle.engine") && reading.sound("test.mode") {
        combustion(s, &fault);
    }
    if reading.sound("vehicle.engine.inertia") && reading.sound("vehicle.starter") {
        starter(s, &fault);
    }
    if reading.sound("faults.leaks") && s.faults.leaks.len() > MAX_LEAKS {
        fault(
            "faults.leaks",
            format!("{} leaks", s.faults.leaks.len()),
            &format!("use at most {MAX_LEAKS}"),
        );
    }
    if reading.sound("vehicle.engine.cylinders") {
        cylinders_exist(s, reading, &fault);
    }
    if reading.sound("test") {
        test_setup(s, &fault);
    }
    if reading.sound("channels") {
        channels(s, &fault);
    }
    if reading.sound("acquisition") && reading.sound("test.duration") {
        acquisition(s, &fault);
    }
}

type Report<'a> = &'a dyn Fn(&str, String, &str);

fn firing(s: &Scenario, fault: Report) {
    let (n, order) = (s.engine.cylinders, &s.engine.firing_order);
    let path = "vehicle.engine.firing_order";
    if order.is_empty() {
        fault(
            path,
            "the firing order is missing".into(),
            "list the cylinder numbers in the order in which they fire",
        );
        return;
    }
    let missing: Vec<String> = (1..=n as u32)
        .filter(|c| !order.contains(c))
        .map(|c| c.to_string())
        .collect();
    if !missing.is_empty() {
        fault(
            path,
            format!("{order:?} misses cylinder {}", missing.join(", ")),
            "name each cylinder once",
        );
    }
    for (i, c) in order.iter().enumerate() {
        if *c as usize > n {
            fault(
                path,
                format!("{order:?} names cylinder {c} of an engine of {n}"),
                "name each cylinder once",
            );
        } else if order[..i].contains(c) {
            fault(
                path,
                format!("{order:?} names cylinder {c} twice"),
                "name each cylinder once",
            );
        }
    }
    let intervals = &s.engine.firing_intervals_rad;
    let path = "vehicle.engine.firing_intervals";
    let degrees: f64 = intervals.iter().map(|i| i.to_degrees()).sum();
    if !intervals.is_empty() && intervals.len() != n {
        fault(
            path,
            format!("{} intervals for {n} cylinders", intervals.len()),
            "give one for each cylinder of the firing order",
        );
    } else if !intervals.is_empty() && (degrees - 720.0).abs() > 1e-6 {
        fault(
            path,
            format!("the intervals add up to {degrees} deg"),
            "make them add up to 720 deg",
        );
    } else if s.engine.shared_coils && order.len() == n {
        let tdcs: Vec<f64> = (0..n).map(|k| tdc_degrees(s, k)).collect();
        let alone =
            (0..n).find(|a| !(0..n).any(|b| ((tdcs[*a] - tdcs[b]).abs() - 360.0).abs() < 1e-6));
        if let Some(a) = alone {
            fault(
                "vehicle.engine.coils",
                format!(
                    "cylinder {} has no companion 360 deg away to share a coil with",
                    order[a]
                ),
                "use `one_per_cylinder`",
            );
        }
    }
}

fn tdc_degrees(s: &Scenario, place: usize) -> f64 {
    match s.engine.firing_intervals_rad.get(..place) {
        Some(before) if !s.engine.firing_intervals_rad.is_empty() => {
            before.iter().map(|i| i.to_degrees()).sum()
        }
        _ => 720.0 / s.engine.cylinders as f64 * place as f64,
    }
}

fn geometry(s: &Scenario, fault: Report) {
    let e = &s.engine;
    if e.rod_m < 0.55 * e.stroke_m {
        fault(
            "vehicle.engine.rod",
            format!(
                "a rod of {} mm cannot follow a stroke of {} mm",
                e.rod_m * 1e3,
                e.stroke_m * 1e3
            ),
            "use a rod longer than 0.55 strokes; 1.5 to 2 strokes are usual",
        );
    }
    let clearance = std::f64::consts::FRAC_PI_4 * e.bore_m * e.bore_m * e.stroke_m
        / (e.compression_ratio - 1.0);
    if clearance < MIN_CLEARANCE_M3 {
        fault(
            "vehicle.engine.compression_ratio",
            format!(
                "the clearance volume of a cylinder would be {:.1} mL",
                clearance * 1e6
            ),
            "use a larger bore or stroke or a lower ratio: at least 15 mL",
        );
    }
}

fn inertia(s: &Scenario, fault: Report) {
    let e = &s.engine;
    let swept = std::f64::consts::FRAC_PI_4 * e.bore_m * e.bore_m * e.stroke_m;
    let least = MIN_INERTIA_PER_SWEPT * swept * e.cylinders as f64;
    if e.inertia_kg_m2 < least {
        fault(
            "vehicle.engine.inertia",
            format!(
                "{} kg m2 cannot carry {:.1} L past their compression",
                e.inertia_kg_m2,
                swept * e.cylinders as f64 * 1e3
            ),
            &format!("use at least {least:.2} kg m2; 0.2 kg m2 a litre are usual"),
        );
    }
}

/// The highest pressure of an idling engine, were all its heat released at TDC.
fn combustion(s: &Scenario, fault: Report) {
    let e = &s.engine;
    let swept = std::f64::consts::FRAC_PI_4 * e.bore_m * e.bore_m * e.stroke_m;
    let clearance = swept / (e.compression_ratio - 1.0);
    let compressed = e.manifold.idle_pa * math::pow(e.compression_ratio, e.gamma);
    let room = MAX_IDLE_PEAK_PA - compressed;
    let most_j = room * clearance / (e.gamma - 1.0);
    if s.test.mode == Mode::Idle && e.combustion.heat_j > most_j {
        fault(
            "vehicle.engine.combustion.heat",
            format!(
                "{:.0} J would drive a cylinder of {:.2} L to {:.0} bar",
                e.combustion.heat_j,
                swept * 1e3,
                (compressed + (e.gamma - 1.0) * e.combustion.heat_j / clearance) * 1e-5
            ),
            &format!("use at most {most_j:.0} J; 760 J a litre are usual at idle"),
        );
    }
}

fn starter(s: &Scenario, fault: Report) {
    let m = &s.starter;
    let grip = m.efficiency * m.motor_constant_v_s * m.motor_constant_v_s;
    let time_s = s.engine.inertia_kg_m2 * (m.battery_ohm + m.starter_ohm) / grip;
    if s.test.mode == Mode::Cranking && time_s < MIN_STARTER_TIME_S {
        fault(
            "vehicle.starter.motor_constant",
            format!(
                "the starter would bring the crank to speed in {:.3} ms",
                time_s * 1e3
            ),
            "use a smaller constant, more resistance or more inertia: at least 0.1 ms; 50 ms are usual",
        );
    }
}

fn cylinders_exist(s: &Scenario, reading: &Reading, fault: Report) {
    let n = s.engine.cylinders as u32;
    let exists = |path: String, c: u32| {
        if c > n && reading.sound(&path) {
            fault(
                &path,
                format!("there is no cylinder {c}"),
                &format!("this engine has cylinders 1 to {n}"),
            );
        }
    };
    let once = |path: &str, all: &[u32]| {
        for (i, c) in all.iter().enumerate() {
            if all[..i].contains(c) {
                fault(
                    path,
                    format!("cylinder {c} stands here twice"),
                    "name it once",
                );
            }
        }
    };
    let lists: [(&str, &str, Vec<u32>); 4] = [
        (
            "faults.leaks",
            ".cylinder",
            s.faults.leaks.iter().map(|l| l.cylinder).collect(),
        ),
        (
            "faults.worn",
            ".cylinder",
            s.faults.worn.iter().map(|w| w.cylinder).collect(),
        ),
        (
            "faults.misfires",
            ".cylinder",
            s.faults.misfires.iter().map(|m| m.cylinder).collect(),
        ),
        ("test.plugs_out", "", s.test.plugs_out.clone()),
    ];
    for (path, field, cylinders) in &lists {
        for (i, c) in cylinders.iter().enumerate() {
            exists(format!("{path}[{i}]{field}"), *c);
        }
        if reading.sound(path) {
            once(path, cylinders);
        }
    }
    if reading.sound("channels") {
        for (i, channel) in s.channels.iter().enumerate() {
            if let Some(c) = channel.sensor.cylinder() {
                exists(format!("channels[{i}].cylinder"), c);
            }
        }
    }
}

fn test_setup(s: &Scenario, fault: Report) {
    let t = &s.test;
    if t.mode == Mode::Idle && !t.plugs_out.is_empty() {
        fault(
            "test.plugs_out",
            "a plug hole stands open on a running engine".into(),
            "put the plugs in, or use `mode: cranking`",
        );
    }
    if t.mode == Mode::Idle && !t.ignition_enabled {
        fault(
            "test.ignition",
            "an engine without ignition does not idle".into(),
            "use `enabled`, or `mode: cranking`",
        );
    }
    if t.mode == Mode::Cranking && t.key_on_s >= t.duration_s {
        fault(
            "test.key_on",
            format!(
                "the starter engages at {} s of a capture of {} s",
                t.key_on_s, t.duration_s
            ),
            "engage it before the capture ends",
        );
    }
    match t.cap.state {
        CapState::Open if t.coolant_k > OPEN_BELOW_K => fault(
            "test.cap.state",
            format!(
                "the neck is open with coolant at {:.0} C; it scalds",
                t.coolant_k - 273.15
            ),
            "a hot system is never opened: let it cool below 50 C, or seal the neck",
        ),
        CapState::Open if t.start_gauge_pa > 0.0 => {
            fault(
                "test.start_pressure",
                "an open neck holds no pressure".into(),
                "use 0 bar, or close the neck",
            );
        }
        CapState::Relief if t.start_gauge_pa > t.cap.relief_gauge_pa => {
            fault(
                "test.start_pressure",
                "it lies above the cap's relief pressure".into(),
                "start below the relief pressure",
            );
        }
        _ => {}
    }
}

fn channels(s: &Scenario, fault: Report) {
    let n = s.channels.len();
    if n == 0 || n > MAX_CHANNELS {
        fault(
            "channels",
            format!("{n} channels"),
            &format!("record 1 to {MAX_CHANNELS} channels"),
        );
    }
    let mut in_cylinder = Vec::new();
    for (i, channel) in s.channels.iter().enumerate() {
        let path = format!("channels[{i}]");
        match &channel.sensor {
            SensorSpec::NeckPressure(_, line) | SensorSpec::NeckPulse(_, line)
                if line.rise_m.abs() > line.length_m =>
            {
                fault(
                    &format!("{path}.line.rise"),
                    format!("it rises {} m", line.rise_m),
                    "rise at most the line's length",
                );
            }
            SensorSpec::CylinderPressure(sensor) => {
                in_cylinder.push(sensor.cylinder);
                if s.test.plugs_out.contains(&sensor.cylinder) {
                    fault(
                        &format!("{path}.cylinder"),
                        format!(
                            "cylinder {} has its plug out and a transducer in the same hole",
                            sensor.cylinder
                        ),
                        "take the cylinder out of test.plugs_out; the transducer stands in place of the plug",
                    );
                }
            }
            SensorSpec::Probe(probe)
                if probe.of == ProbeOf::LeakFlow
                    && !s.faults.leaks.iter().any(|l| l.cylinder == probe.cylinder) =>
            {
                fault(
                    &format!("{path}.cylinder"),
                    format!("cylinder {} has no leak to probe", probe.cylinder),
                    "probe a leaking cylinder",
                );
            }
            _ => {}
        }
    }
    if in_cylinder.len() > 1 {
        fault(
            "channels",
            format!("{} in-cylinder transducers", in_cylinder.len()),
            "use one; the others keep their plugs",
        );
    }
}

fn acquisition(s: &Scenario, fault: Report) {
    let rate = s.acquisition.sample_rate_hz;
    if rate.fract() != 0.0 {
        fault(
            "acquisition.sample_rate",
            format!("{rate} Hz"),
            "a WAV file holds whole numbers of hertz",
        );
    }
    let bytes = s.test.duration_s * rate * s.channels.len() as f64 * 2.0;
    if bytes >= MAX_WAV_BYTES - 1024.0 {
        fault(
            "acquisition.sample_rate",
            format!(
                "{} s at {rate} Hz in {} channels make {:.2} GiB",
                s.test.duration_s,
                s.channels.len(),
                bytes / (1u64 << 30) as f64
            ),
            "stay below 2 GiB: a shorter test, a lower rate or fewer channels",
        );
    }
}

impl SensorSpec {
    /// The cylinder a sensor sits on, if it sits on one.
    pub fn cylinder(&self) -> Option<u32> {
        match self {
            SensorSpec::CoilTrigger(coil) => Some(coil.cylinder),
            SensorSpec::CylinderPressure(sensor) => Some(sensor.cylinder),
            SensorSpec::Probe(probe)
                if matches!(probe.of, ProbeOf::CylinderPressure | ProbeOf::LeakFlow) =>
            {
                Some(probe.cylinder)
            }
            _ => None,
        }
    }
}
