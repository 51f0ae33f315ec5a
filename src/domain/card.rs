//! The public card of a capture: all that a technician at the car would know.

use super::capture::{MAX_CHANNELS, WAV_LIMIT_BYTES, wav_bytes};
use super::checks::Checks;
use super::engine::EngineData;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What the format line of a card says.
pub const CARD_FORMAT: &str = "waterjacket card 1";

/// Everything public about one capture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Card {
    /// Name and version of this format, [`CARD_FORMAT`].
    pub format: String,
    /// The capture's name; its files are called after it.
    pub capture: String,
    /// The complaint and what was done, in words that give nothing away.
    pub brief: String,
    /// Samples per second of every channel.
    pub sample_rate_hz: f64,
    /// Samples in each channel.
    pub frames: u64,
    /// The engine's plate.
    pub engine: EngineData,
    /// How the test was set up.
    pub set_up: SetUp,
    /// One entry for each channel of the WAV, in its order.
    pub channels: Vec<ChannelCard>,
    /// Cautions of the work, to be read before repeating it on a car.
    pub cautions: Vec<String>,
}

impl Card {
    /// Notes all by which the card contradicts itself.
    pub fn check(&self, c: &mut Checks) {
        let wrong = format!("it says {:?}", self.format);
        c.need(self.format == CARD_FORMAT, "format", wrong, CARD_FORMAT);
        c.name(&self.capture);
        c.need(
            self.sample_rate_hz > 0.0 && self.sample_rate_hz <= f64::from(u32::MAX),
            "sample_rate_hz",
            format!("it is {}", self.sample_rate_hz),
            "give the samples per second, above 0 and with at most 32 bits",
        );
        let count = self.channels.len();
        c.need(
            (1..=MAX_CHANNELS).contains(&count),
            "channels",
            format!("there are {count}"),
            "list 1 to 64 channels",
        );
        c.need(
            self.frames > 0 && wav_bytes(self.frames, count) < WAV_LIMIT_BYTES,
            "frames",
            format!("it is {}", self.frames),
            "give the samples of each channel: at least 1, and a WAV below 2 GiB",
        );
        self.engine.check(c);
        self.set_up.check(c, &self.engine);
        for (number, channel) in self.channels.iter().enumerate() {
            let named_before = self.channels[..number]
                .iter()
                .any(|o| o.name == channel.name);
            channel.check(
                c,
                &format!("channels[{number}]"),
                &self.engine,
                named_before,
            );
        }
    }
}

/// How the test was set up; all of it visible to whoever did it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetUp {
    /// How the engine was turned.
    pub mode: Mode,
    /// Cylinders whose spark plug was taken out.
    pub plugs_out: Vec<u32>,
    /// Cylinder that has a pressure transducer in place of its plug.
    pub in_cylinder_transducer: Option<u32>,
    /// Whether the ignition could fire its coils.
    pub ignition_enabled: bool,
    /// What closed the radiator neck, in words.
    pub cap: String,
    /// Coolant temperature, degrees Celsius.
    pub coolant_c: f64,
}

impl SetUp {
    fn check(&self, c: &mut Checks, engine: &EngineData) {
        c.cylinders("set_up.plugs_out", self.plugs_out.iter().copied(), engine);
        let field = "set_up.in_cylinder_transducer";
        c.cylinders(field, self.in_cylinder_transducer, engine);
        c.need(
            self.coolant_c.is_finite(),
            "set_up.coolant_c",
            format!("it is {}", self.coolant_c),
            "give degrees Celsius",
        );
    }
}

/// How the engine is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// By the starter, fuel off.
    Cranking,
    /// By itself.
    Idle,
}

/// The word of its JSON.
impl fmt::Display for Mode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// One channel of the capture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ChannelCard {
    /// What the trace is called, by what it measures.
    pub name: String,
    /// The measured quantity.
    pub measures: Measures,
    /// Unit of the scaled value: `kPa`, `V`, `A`, `deg`, `rpm`, `mL/s`, `mg/s`.
    pub unit: String,
    /// Value per count of the 16-bit sample; value = `offset + scale_per_count * count`.
    pub scale_per_count: f64,
    /// Value at count 0.
    pub offset: f64,
    /// Effective bits of the converter; lower bits of a sample are zero.
    pub bits: u32,
    /// The input range in volts at the converter, low and high.
    pub range_v: [f64; 2],
    /// Whether a held value is blocked (AC coupling).
    pub ac_coupled: bool,
    /// Whether the trace is turned upside down.
    pub inverted: bool,
    /// The cylinder the sensor sits on, where it belongs to one (coil trigger, in-cylinder transducer).
    pub cylinder: Option<u32>,
}

impl ChannelCard {
    /// The value of a count, in the channel's unit.
    pub fn value(&self, count: i16) -> f64 {
        self.offset + self.scale_per_count * f64::from(count)
    }

    fn check(&self, c: &mut Checks, field: &str, engine: &EngineData, named_before: bool) {
        let printable = |text: &str| !text.chars().any(char::is_control);
        c.need(
            !self.name.trim().is_empty() && printable(&self.name) && !named_before,
            format!("{field}.name"),
            format!("it is {:?}", self.name),
            "give each channel a name of its own in printable letters",
        );
        c.need(
            printable(&self.unit),
            format!("{field}.unit"),
            format!("it is {:?}", self.unit),
            "use printable letters",
        );
        c.need(
            self.value(i16::MIN).is_finite() && self.value(i16::MAX).is_finite(),
            format!("{field}.scale_per_count"),
            format!("with offset {} it is {}", self.offset, self.scale_per_count),
            "give a scale and an offset that make every value a finite number",
        );
        c.need(
            (1..=16).contains(&self.bits),
            format!("{field}.bits"),
            format!("it is {}", self.bits),
            "give 1 to 16 bits",
        );
        let [low, high] = self.range_v;
        c.need(
            low < high && low.is_finite() && high.is_finite(),
            format!("{field}.range_v"),
            format!("it is {low} to {high}"),
            "give the lower voltage, then the higher",
        );
        c.cylinders(format!("{field}.cylinder"), self.cylinder, engine);
    }
}

/// What a channel measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measures {
    /// Pressure at the radiator neck, by a transducer that holds it.
    NeckPressure,
    /// Pulses at the radiator neck, by a piezo sensor that cannot hold a pressure.
    NeckPulse,
    /// Trigger of an ignition coil.
    CoilTrigger,
    /// Pressure in one cylinder, in place of its plug.
    CylinderPressure,
    /// Starter current.
    StarterCurrent,
    /// Battery voltage.
    BatteryVoltage,
    /// A truth probe, for instructors and developers only.
    Probe,
}

/// The word of its JSON.
impl fmt::Display for Measures {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}
