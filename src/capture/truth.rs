//! The truth of a capture: what happened, what of it can be seen, and how to render it again.

use super::card::EnginePlate;
use super::json::{self, Checks, Document};
use crate::error::Faults;
use serde::{Deserialize, Serialize};
use std::fmt::Display;
use std::path::Path;

/// What the format line of a truth says.
pub const TRUTH_FORMAT: &str = "waterjacket truth 1";

/// Everything that is known about one capture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Name and version of this format, [`TRUTH_FORMAT`].
    pub format: String,
    /// The capture's name.
    pub capture: String,
    /// The scenario's title.
    pub title: String,
    /// What the scenario teaches.
    pub teaches: String,
    /// Version of the program that rendered the capture.
    pub version: String,
    /// Seed of the run.
    pub seed: u64,
    /// Number of the capture in the run.
    pub number: u64,
    /// SHA-256 of the WAV file, hexadecimal.
    pub wav_sha256: String,
    /// The engine's plate.
    pub engine: EnginePlate,
    /// `cranking` or `idle`.
    pub mode: String,
    /// Every leak of the vehicle, whether or not it passed gas.
    pub leaks: Vec<LeakTruth>,
    /// Cylinders worn enough to show a low hump.
    pub weak_cylinders: Vec<u32>,
    /// Every time a leak passed gas, in order of time.
    pub events: Vec<LeakEvent>,
    /// Compression TDC of every cylinder within the capture, in order of time.
    pub tdcs: Vec<Tdc>,
    /// What happened to each channel, in the card's order.
    pub channels: Vec<ChannelTruth>,
    /// Where the gas went.
    pub gas: GasAccount,
    /// What the evidence supports.
    pub evidence: Evidence,
    /// What makes the capture hard to read.
    #[serde(default)]
    pub difficulty: Difficulty,
    /// The scenario with every value drawn and every default written out; it renders this capture
    /// again to the last bit.
    pub scenario: serde_json::Value,
}

impl Truth {
    /// The truth's JSON: indented, with a line end at the end.
    pub fn to_json(&self) -> String {
        json::to_text(self)
    }

    /// Reads a truth from JSON; faults name `place`, then line and column or the field.
    pub fn from_json(place: impl Display, bytes: &[u8]) -> Result<Self, Faults> {
        json::parse(place, bytes)
    }

    /// Reads the truth at `path`, of 64 MiB at most.
    pub fn read(path: &Path) -> Result<Self, Faults> {
        json::read(path)
    }

    /// Writes the truth to `path`, whole or not at all; refuses one that [`Truth::read`] would
    /// refuse, or that holds a number that is not finite.
    pub fn write(&self, path: &Path) -> Result<(), Faults> {
        json::write(path, self)
    }

    /// All by which the truth contradicts itself; `place` names its file.
    pub fn check(&self, place: impl Display) -> Result<(), Faults> {
        let mut checks = Checks::of(place);
        Document::check(self, &mut checks);
        checks.finish()
    }
}

impl Document for Truth {
    const FORMAT: &'static str = TRUTH_FORMAT;

    fn check(&self, c: &mut Checks) {
        let wrong = format!("it says {:?}", self.format);
        c.need(self.format == TRUTH_FORMAT, "format", wrong, TRUTH_FORMAT);
        c.name(&self.capture);
        let hex = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
        c.need(
            self.wav_sha256.len() == 64 && self.wav_sha256.bytes().all(hex),
            "wav_sha256",
            format!("it is {:?}", self.wav_sha256),
            "give the 64 lower-case hexadecimal digits of the WAV's SHA-256",
        );
        let engine = &self.engine;
        engine.check(c);
        c.mode("mode", &self.mode);
        for (number, leak) in self.leaks.iter().enumerate() {
            c.cylinders(
                format!("leaks[{number}].cylinder"),
                [&leak.cylinder],
                engine,
            );
        }
        c.cylinders("weak_cylinders", &self.weak_cylinders, engine);
        for (number, event) in self.events.iter().enumerate() {
            let leaking = self.leaks.get(event.leak).map(|leak| leak.cylinder);
            c.need(
                leaking == Some(event.cylinder),
                format!("events[{number}]"),
                format!(
                    "leak {} is not one of cylinder {}",
                    event.leak, event.cylinder
                ),
                "give the index of the leak in `leaks`, and its cylinder",
            );
        }
        for (number, tdc) in self.tdcs.iter().enumerate() {
            c.cylinders(format!("tdcs[{number}].cylinder"), [&tdc.cylinder], engine);
        }
        for (field, cylinders) in [
            ("evidence.visible", &self.evidence.visible),
            ("evidence.hidden", &self.evidence.hidden),
        ] {
            c.cylinders(field, cylinders, engine);
            for cylinder in cylinders {
                c.need(
                    self.leaks.iter().any(|leak| leak.cylinder == *cylinder),
                    field,
                    format!("cylinder {cylinder} has no leak"),
                    "name cylinders of `leaks` only",
                );
            }
        }
    }
}

/// One leak, with its totals over the capture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeakTruth {
    /// The leaking cylinder.
    pub cylinder: u32,
    /// Effective area when fully open, mm2.
    pub area_mm2: f64,
    /// Pressure above the jacket's at which it lifts, bar.
    pub opens_at_bar: f64,
    /// Whether the cylinder's plug was out, so that no pressure could build up in it.
    pub plug_out: bool,
    /// Gas that went into the jacket, mg.
    pub gas_in_mg: f64,
    /// Gas pulled back into the cylinder, mg.
    pub gas_back_mg: f64,
    /// Coolant drawn into the cylinder, mL.
    pub coolant_drawn_ml: f64,
    /// Number of events that passed gas.
    pub events: usize,
    /// Mean lag from compression TDC to the steepest rise at the sensor, ms; `None` without events.
    pub lag_ms: Option<f64>,
    /// The same in crank degrees.
    pub lag_deg: Option<f64>,
    /// Mean pulse height at the sensor in the unit of its channel; `None` without events or sensor.
    pub pulse_height: Option<f64>,
    /// Pulse height over the noise of that channel; `None` likewise.
    pub pulse_over_noise: Option<f64>,
    /// Whether its pulses can be told in the capture.
    pub visible: bool,
}

/// One passage of gas through a leak, around one compression TDC of its cylinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeakEvent {
    /// Index into [`Truth::leaks`].
    pub leak: usize,
    /// The leaking cylinder.
    pub cylinder: u32,
    /// Compression TDC, s from the start of the capture.
    pub tdc_s: f64,
    /// When gas began to pass, s.
    pub gas_start_s: f64,
    /// When gas stopped passing, s.
    pub gas_end_s: f64,
    /// Mass of gas passed, mg.
    pub mass_mg: f64,
    /// Steepest rise at the neck sensor, s; `None` if the capture has no such sensor or ends before.
    pub steepest_s: Option<f64>,
    /// From TDC to the steepest rise, ms.
    pub lag_ms: Option<f64>,
    /// The same in crank degrees.
    pub lag_deg: Option<f64>,
    /// Height of the pulse at the sensor, in the unit of its channel.
    pub height: Option<f64>,
}

/// One compression TDC.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tdc {
    /// The cylinder.
    pub cylinder: u32,
    /// Time, s from the start of the capture.
    pub time_s: f64,
}

/// What happened to one channel on its way to the file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ChannelTruth {
    /// The channel's name.
    pub name: String,
    /// Samples that ran out of the range.
    pub clipped_samples: u64,
    /// Random noise, hum, vibration and quantisation together, root mean square, in the channel's unit.
    pub noise_rms: f64,
}

/// Where the combustion gas went; the parts add up to `passed_mg`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GasAccount {
    /// Out of the cylinders through the leaks, mg.
    pub passed_mg: f64,
    /// Still in the jacket at the end, mg.
    pub in_jacket_mg: f64,
    /// In the air pocket at the neck at the end, mg.
    pub in_neck_mg: f64,
    /// Let out by the cap, mg.
    pub relieved_mg: f64,
    /// Pulled back into the cylinders, mg.
    pub pulled_back_mg: f64,
}

/// What makes a capture hard to read: each part, and the whole, from 0 (easy) to 1 (hard).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Difficulty {
    /// The whole.
    pub total: f64,
    /// Lag, in firing intervals.
    pub lag: f64,
    /// Noise beside the pulse.
    pub noise: f64,
    /// A sync that leaves a pair, or nothing.
    pub sync: f64,
    /// A second leak, seen or hidden.
    pub second_leak: f64,
    /// Worn cylinders that draw suspicion.
    pub decoy: f64,
    /// Samples out of range.
    pub clipping: f64,
}

/// How well the capture ties a pulse to a cylinder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sync {
    /// One mark in 720 degrees: one cylinder can be named.
    Full,
    /// One mark in 360 degrees: a pair of companions can be named, no more.
    Pair,
    /// No mark: no cylinder can be named.
    None,
}

/// What the capture lets a careful reader say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// How well a pulse can be tied to a cylinder.
    pub sync: Sync,
    /// Cylinders whose leak pulses can be told in the capture, ascending.
    pub visible: Vec<u32>,
    /// Cylinders that leak but show nothing here, ascending.
    pub hidden: Vec<u32>,
    /// Calls that score in full, best first, as they would stand in a call sheet.
    pub supported: Vec<String>,
    /// Why, in one sentence each.
    pub reasons: Vec<String>,
}

#[cfg(test)]
mod tests {
    use super::super::example;
    use super::*;
    use proptest::prelude::*;

    /// Asserts that a truth changed by `change` is refused at `field`, and there alone.
    #[track_caller]
    fn refused(field: &str, change: impl FnOnce(&mut Truth)) {
        let mut truth = example::truth();
        change(&mut truth);
        let faults = truth.check("x.truth.json").expect_err("it was accepted");
        let places: Vec<_> = faults.0.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(places, [format!("x.truth.json: {field}")], "{faults}");
    }

    #[test]
    fn a_truth_comes_back_from_its_file_to_the_last_bit() {
        let mut truth = example::truth();
        truth.seed = u64::MAX;
        truth.events[0].mass_mg = 0.1 + 0.2;
        truth.gas.in_neck_mg = f64::MIN_POSITIVE / 3.0;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.truth.json");
        truth.write(&path).unwrap();
        assert_eq!(Truth::read(&path), Ok(truth.clone()));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), truth.to_json());
    }

    #[test]
    fn a_truth_that_cannot_be_is_refused() {
        refused("format", |truth| truth.format = "waterjacket card 1".into());
        refused("capture", |truth| truth.capture.clear());
        refused("wav_sha256", |truth| truth.wav_sha256 = "AB".repeat(32));
        refused("wav_sha256", |truth| truth.wav_sha256.truncate(63));
        refused("engine.firing_order", |truth| {
            truth.engine.firing_order[5] = 5
        });
        refused("mode", |truth| truth.mode.clear());
        refused("leaks[1].cylinder", |truth| {
            let mut leak = truth.leaks[0].clone();
            leak.cylinder = 7;
            truth.leaks.push(leak);
        });
        refused("weak_cylinders", |truth| truth.weak_cylinders.push(0));
        refused("events[0]", |truth| truth.events[0].leak = 1);
        refused("events[0]", |truth| truth.events[0].cylinder = 1);
        refused("tdcs[0].cylinder", |truth| truth.tdcs[0].cylinder = 0);
        refused("evidence.visible", |truth| truth.evidence.visible = vec![1]);
        refused("evidence.hidden", |truth| truth.evidence.hidden = vec![2]);
    }

    #[test]
    fn a_number_that_is_not_finite_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.truth.json");
        let changes: [fn(&mut Truth); 3] = [
            |truth| truth.gas.passed_mg = f64::NAN,
            |truth| truth.leaks[0].lag_ms = Some(f64::NAN),
            |truth| truth.events[0].height = Some(f64::INFINITY),
        ];
        for change in changes {
            let mut truth = example::truth();
            change(&mut truth);
            let words = truth.write(&path).unwrap_err().to_string();
            assert!(words.contains("not finite"), "{words}");
            assert!(!path.exists());
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn damaged_json_does_no_harm(
            damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
            length in any::<prop::sample::Index>(),
            cut: bool,
        ) {
            let mut bytes = example::truth().to_json().into_bytes();
            for (at, byte) in damage {
                let at = at.index(bytes.len());
                bytes[at] = byte;
            }
            if cut {
                bytes.truncate(length.index(bytes.len()));
            }
            if let Ok(truth) = Truth::from_json("x", &bytes) {
                for event in &truth.events {
                    prop_assert!(truth.engine.tdc_deg(truth.leaks[event.leak].cylinder).is_some());
                }
            }
        }
    }
}
