//! What no single field can know: whether the parts of a scenario fit each other.

use super::reading::Reading;
use super::{CapState, EngineSpec, MAX_LEAKS, Mode, ProbeOf, Scenario, SensorSpec};
use crate::error::{Fault, Kind};
use crate::math;
use std::fmt::Display;

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

/// Adds a fault for everything that does not fit together. What depends on faulty fields is not checked.
pub fn check(s: &Scenario, reading: &Reading) {
    let check = Check { s, reading };
    let sound = |path: &str| reading.sound(path);
    let of_engine = |key: &str| reading.sound(&format!("vehicle.engine.{key}"));
    if ["cylinders", "firing_order", "firing_intervals"]
        .into_iter()
        .all(of_engine)
    {
        check.firing();
    }
    if sound("vehicle.engine") {
        check.geometry();
        if sound("test.mode") {
            check.combustion();
        }
    }
    if of_engine("inertia") && sound("vehicle.starter") {
        check.starter();
    }
    let leaks = s.faults.leaks.len();
    if sound("faults.leaks") && leaks > MAX_LEAKS {
        let remedy = format!("use at most {MAX_LEAKS}");
        check.fault("faults.leaks", format!("{leaks} leaks"), remedy);
    }
    if of_engine("cylinders") {
        check.cylinders_exist();
    }
    if sound("test") {
        check.test_setup();
    }
    if sound("channels") {
        check.channels();
    }
    if sound("acquisition") && sound("test.duration") {
        check.acquisition();
    }
}

struct Check<'a> {
    s: &'a Scenario,
    reading: &'a Reading,
}

impl Check<'_> {
    fn fault(&self, path: &str, problem: impl Display, remedy: impl Display) {
        let fault = Fault::of(Kind::Conflict, problem, remedy);
        self.reading.fault(path, fault);
    }

    fn firing(&self) {
        let engine = &self.s.vehicle.engine;
        let (n, order) = (engine.cylinders, &engine.firing_order);
        let path = "vehicle.engine.firing_order";
        if order.is_empty() {
            let remedy = "list the cylinder numbers in the order in which they fire";
            return self.fault(path, "the firing order is missing", remedy);
        }
        let once = "name each cylinder once";
        let missing = (1..=n as u32).filter(|c| !order.contains(c));
        let missing: Vec<String> = missing.map(|c| c.to_string()).collect();
        if !missing.is_empty() {
            let missing = missing.join(", ");
            self.fault(path, format!("{order:?} misses cylinder {missing}"), once);
        }
        for (i, c) in order.iter().enumerate() {
            if *c as usize > n {
                let problem = format!("{order:?} names cylinder {c} of an engine of {n}");
                self.fault(path, problem, once);
            } else if order[..i].contains(c) {
                self.fault(path, format!("{order:?} names cylinder {c} twice"), once);
            }
        }
        let intervals = &engine.firing_intervals_rad;
        let path = "vehicle.engine.firing_intervals";
        let degrees: f64 = intervals.iter().map(|i| i.to_degrees()).sum();
        if !intervals.is_empty() && intervals.len() != n {
            let problem = format!("{} intervals for {n} cylinders", intervals.len());
            self.fault(
                path,
                problem,
                "give one for each cylinder of the firing order",
            );
        } else if !intervals.is_empty() && (degrees - 720.0).abs() > 1e-6 {
            let problem = format!("the intervals add up to {degrees} deg");
            self.fault(path, problem, "make them add up to 720 deg");
        } else if engine.shared_coils && order.len() == n {
            let tdcs: Vec<f64> = (0..n).map(|k| tdc_degrees(engine, k)).collect();
            let companion = |a: f64| tdcs.iter().any(|b| ((a - b).abs() - 360.0).abs() < 1e-6);
            if let Some(alone) = (0..n).find(|a| !companion(tdcs[*a])) {
                let alone = order[alone];
                let problem =
                    format!("cylinder {alone} has no companion 360 deg away to share a coil with");
                self.fault("vehicle.engine.coils", problem, "use `one_per_cylinder`");
            }
        }
    }

    fn geometry(&self) {
        let e = &self.s.vehicle.engine;
        if e.rod_m < 0.55 * e.stroke_m {
            let (rod, stroke) = (e.rod_m * 1e3, e.stroke_m * 1e3);
            self.fault(
                "vehicle.engine.rod",
                format!("a rod of {rod} mm cannot follow a stroke of {stroke} mm"),
                "use a rod longer than 0.55 strokes; 1.5 to 2 strokes are usual",
            );
        }
        if clearance_m3(e) < MIN_CLEARANCE_M3 {
            let clearance_ml = clearance_m3(e) * 1e6;
            self.fault(
                "vehicle.engine.compression_ratio",
                format!("the clearance volume of a cylinder would be {clearance_ml:.1} mL"),
                "use a larger bore or stroke or a lower ratio: at least 15 mL",
            );
        }
        let total_m3 = swept_m3(e) * e.cylinders as f64;
        let least = MIN_INERTIA_PER_SWEPT * swept_m3(e) * e.cylinders as f64;
        if e.inertia_kg_m2 < least {
            let (inertia, total_l) = (e.inertia_kg_m2, total_m3 * 1e3);
            self.fault(
                "vehicle.engine.inertia",
                format!("{inertia} kg m2 cannot carry {total_l:.1} L past their compression"),
                format!("use at least {least:.2} kg m2; 0.2 kg m2 a litre are usual"),
            );
        }
    }

    /// The highest pressure of an idling engine, were all its heat released at TDC.
    fn combustion(&self) {
        let e = &self.s.vehicle.engine;
        let heat_j = e.combustion.heat_j;
        let compressed = e.manifold.idle_pa * math::pow(e.compression_ratio, e.gamma);
        let room = MAX_IDLE_PEAK_PA - compressed;
        let most_j = room * clearance_m3(e) / (e.gamma - 1.0);
        if self.s.test.mode == Mode::Idle && heat_j > most_j {
            let swept_l = swept_m3(e) * 1e3;
            let bar = (compressed + (e.gamma - 1.0) * heat_j / clearance_m3(e)) * 1e-5;
            self.fault(
                "vehicle.engine.combustion.heat",
                format!("{heat_j:.0} J would drive a cylinder of {swept_l:.2} L to {bar:.0} bar"),
                format!("use at most {most_j:.0} J; 760 J a litre are usual at idle"),
            );
        }
    }

    fn starter(&self) {
        let m = &self.s.vehicle.starter;
        let grip = m.efficiency * m.motor_constant_v_s * m.motor_constant_v_s;
        let inertia = self.s.vehicle.engine.inertia_kg_m2;
        let time_s = inertia * (m.battery_ohm + m.starter_ohm) / grip;
        if self.s.test.mode == Mode::Cranking && time_s < MIN_STARTER_TIME_S {
            let time_ms = time_s * 1e3;
            self.fault(
                "vehicle.starter.motor_constant",
                format!("the starter would bring the crank to speed in {time_ms:.3} ms"),
                "use a smaller constant, more resistance or more inertia: at least 0.1 ms; 50 ms are usual",
            );
        }
    }

    fn cylinders_exist(&self) {
        let Scenario { faults, test, .. } = self.s;
        self.are_cylinders(
            "faults.leaks",
            ".cylinder",
            faults.leaks.iter().map(|l| l.cylinder),
        );
        self.are_cylinders(
            "faults.worn",
            ".cylinder",
            faults.worn.iter().map(|w| w.cylinder),
        );
        let misfires = faults.misfires.iter().map(|m| m.cylinder);
        self.are_cylinders("faults.misfires", ".cylinder", misfires);
        self.are_cylinders("test.plugs_out", "", test.plugs_out.iter().copied());
        if self.reading.sound("channels") {
            for (i, channel) in self.s.channels.iter().enumerate() {
                if let Some(c) = channel.sensor.cylinder() {
                    self.exists(&format!("channels[{i}].cylinder"), c);
                }
            }
        }
    }

    /// Each of a list of cylinders exists, and stands there once.
    fn are_cylinders(&self, path: &str, field: &str, all: impl Iterator<Item = u32>) {
        let all: Vec<u32> = all.collect();
        for (i, c) in all.iter().enumerate() {
            self.exists(&format!("{path}[{i}]{field}"), *c);
        }
        if self.reading.sound(path) {
            let twice = all
                .iter()
                .enumerate()
                .filter(|(i, c)| all[..*i].contains(c));
            for (i, c) in twice {
                let path = format!("{path}[{i}]{field}");
                self.fault(
                    &path,
                    format!("cylinder {c} stands here twice"),
                    "name it once",
                );
            }
        }
    }

    fn exists(&self, path: &str, c: u32) {
        let n = self.s.vehicle.engine.cylinders as u32;
        if c > n && self.reading.sound(path) {
            let remedy = format!("this engine has cylinders 1 to {n}");
            self.fault(path, format!("there is no cylinder {c}"), remedy);
        }
    }

    fn test_setup(&self) {
        let t = &self.s.test;
        let idle = t.mode == Mode::Idle;
        if idle && !t.plugs_out.is_empty() {
            self.fault(
                "test.plugs_out",
                "a plug hole stands open on a running engine",
                "put the plugs in, or use `mode: cranking`",
            );
        }
        if idle && !t.ignition_enabled {
            self.fault(
                "test.ignition",
                "an engine without ignition does not idle",
                "use `enabled`, or `mode: cranking`",
            );
        }
        if !idle && t.key_on_s >= t.duration_s {
            let (key_on, duration) = (t.key_on_s, t.duration_s);
            self.fault(
                "test.key_on",
                format!("the starter engages at {key_on} s of a capture of {duration} s"),
                "engage it before the capture ends",
            );
        }
        match t.cap.state {
            CapState::Open if t.coolant_k > OPEN_BELOW_K => {
                let coolant_c = t.coolant_k - 273.15;
                self.fault(
                    "test.cap.state",
                    format!("the neck is open with coolant at {coolant_c:.0} C; it scalds"),
                    "a hot system is never opened: let it cool below 50 C, or seal the neck",
                );
            }
            CapState::Open if t.start_gauge_pa > 0.0 => self.fault(
                "test.start_pressure",
                "an open neck holds no pressure",
                "use 0 bar, or close the neck",
            ),
            CapState::Relief if t.start_gauge_pa > t.cap.relief_gauge_pa => self.fault(
                "test.start_pressure",
                "it lies above the cap's relief pressure",
                "start below the relief pressure",
            ),
            _ => {}
        }
    }

    fn channels(&self) {
        let n = self.s.channels.len();
        if n == 0 || n > MAX_CHANNELS {
            let remedy = format!("record 1 to {MAX_CHANNELS} channels");
            self.fault("channels", format!("{n} channels"), remedy);
        }
        let mut in_cylinder = 0;
        for (i, channel) in self.s.channels.iter().enumerate() {
            let path = |key: &str| format!("channels[{i}].{key}");
            let line = channel.sensor.neck_line();
            if let Some(line) = line.filter(|l| l.rise_m.abs() > l.length_m) {
                let problem = format!("it rises {} m", line.rise_m);
                self.fault(
                    &path("line.rise"),
                    problem,
                    "rise at most the line's length",
                );
            }
            match &channel.sensor {
                SensorSpec::CylinderPressure(sensor) => {
                    in_cylinder += 1;
                    let c = sensor.cylinder;
                    if self.s.test.plugs_out.contains(&c) {
                        self.fault(
                            &path("cylinder"),
                            format!("cylinder {c} has its plug out and a transducer in the same hole"),
                            "take the cylinder out of test.plugs_out; the transducer stands in place of the plug",
                        );
                    }
                }
                SensorSpec::Probe(probe) if probe.of == ProbeOf::LeakFlow => {
                    let c = probe.cylinder;
                    if !self.s.faults.leaks.iter().any(|l| l.cylinder == c) {
                        let problem = format!("cylinder {c} has no leak to probe");
                        self.fault(&path("cylinder"), problem, "probe a leaking cylinder");
                    }
                }
                _ => {}
            }
        }
        if in_cylinder > 1 {
            let problem = format!("{in_cylinder} in-cylinder transducers");
            self.fault("channels", problem, "use one; the others keep their plugs");
        }
    }

    fn acquisition(&self) {
        let path = "acquisition.sample_rate";
        let (rate, duration_s) = (self.s.acquisition.sample_rate_hz, self.s.test.duration_s);
        if rate.fract() != 0.0 {
            self.fault(
                path,
                format!("{rate} Hz"),
                "a WAV file holds whole numbers of hertz",
            );
        }
        let n = self.s.channels.len();
        let bytes = duration_s * rate * n as f64 * 2.0;
        if bytes >= MAX_WAV_BYTES - 1024.0 {
            let gib = bytes / (1u64 << 30) as f64;
            self.fault(
                path,
                format!("{duration_s} s at {rate} Hz in {n} channels make {gib:.2} GiB"),
                "stay below 2 GiB: a shorter test, a lower rate or fewer channels",
            );
        }
    }
}

fn swept_m3(e: &EngineSpec) -> f64 {
    std::f64::consts::FRAC_PI_4 * e.bore_m * e.bore_m * e.stroke_m
}

fn clearance_m3(e: &EngineSpec) -> f64 {
    swept_m3(e) / (e.compression_ratio - 1.0)
}

fn tdc_degrees(e: &EngineSpec, place: usize) -> f64 {
    match e.firing_intervals_rad.get(..place) {
        Some(before) if !e.firing_intervals_rad.is_empty() => {
            before.iter().map(|i| i.to_degrees()).sum()
        }
        _ => 720.0 / e.cylinders as f64 * place as f64,
    }
}
