//! The truth of a capture: what happened, what of it can be seen, and how to render it again.

use super::card::Mode;
use super::checks::Checks;
use super::engine::EngineData;
use super::evidence::{Difficulty, Evidence};
use serde::{Deserialize, Serialize};

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
    pub engine: EngineData,
    /// How the engine was turned.
    pub mode: Mode,
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

/// The leak with the highest pulse at the sensor; one without a height comes last.
pub fn highest_pulse<'l>(leaks: impl IntoIterator<Item = &'l LeakTruth>) -> Option<&'l LeakTruth> {
    let height = |leak: &LeakTruth| leak.pulse_height.unwrap_or(0.0);
    let leaks = leaks.into_iter();
    leaks.max_by(|a, b| height(a).total_cmp(&height(b)))
}

impl Truth {
    /// The leaks whose pulses can be told.
    pub fn visible_leaks(&self) -> impl Iterator<Item = &LeakTruth> {
        self.leaks.iter().filter(|leak| leak.visible)
    }

    /// The leak that counts where one stands for the capture: of those whose pulses can be told, the one with the
    /// highest.
    pub fn leak_that_counts(&self) -> Option<&LeakTruth> {
        highest_pulse(self.visible_leaks())
    }

    /// The leak of a cylinder; of several, one whose pulses can be told.
    pub fn leak_of(&self, cylinder: u32) -> Option<&LeakTruth> {
        let leaks = self.leaks.iter().filter(|leak| leak.cylinder == cylinder);
        leaks.max_by_key(|leak| leak.visible)
    }

    /// Notes all by which the truth contradicts itself.
    pub fn check(&self, c: &mut Checks) {
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
        for (number, leak) in self.leaks.iter().enumerate() {
            c.cylinders(format!("leaks[{number}].cylinder"), [leak.cylinder], engine);
        }
        c.cylinders(
            "weak_cylinders",
            self.weak_cylinders.iter().copied(),
            engine,
        );
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
            c.cylinders(format!("tdcs[{number}].cylinder"), [tdc.cylinder], engine);
        }
        for (field, cylinders) in [
            ("evidence.visible", self.evidence.visible),
            ("evidence.hidden", self.evidence.hidden),
        ] {
            c.cylinders(field, cylinders.iter(), engine);
            for cylinder in cylinders.iter() {
                c.need(
                    self.leaks.iter().any(|leak| leak.cylinder == cylinder),
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
