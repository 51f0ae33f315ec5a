//! The public card of a capture: all that a technician at the car would know.

use super::json::{self, Checks, Document};
use super::name::check_name;
use super::wav;
use crate::error::Faults;
use serde::{Deserialize, Serialize};
use std::fmt::Display;
use std::path::Path;

/// Most cylinders of an engine.
pub const MAX_CYLINDERS: usize = 24;

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
    pub engine: EnginePlate,
    /// How the test was set up.
    pub set_up: SetUp,
    /// One entry for each channel of the WAV, in its order.
    pub channels: Vec<ChannelCard>,
    /// Cautions of the work, to be read before repeating it on a car.
    pub cautions: Vec<String>,
}

impl Card {
    /// The card's JSON: indented, with a line end at the end.
    pub fn to_json(&self) -> String {
        json::to_text(self)
    }

    /// Reads a card from JSON; faults name `place`, then line and column or the field.
    pub fn from_json(place: impl Display, bytes: &[u8]) -> Result<Self, Faults> {
        json::parse(place, bytes)
    }

    /// Reads the card at `path`, of 64 MiB at most.
    pub fn read(path: &Path) -> Result<Self, Faults> {
        json::read(path)
    }

    /// Writes the card to `path`, whole or not at all; refuses one that [`Card::read`] would refuse.
    pub fn write(&self, path: &Path) -> Result<(), Faults> {
        json::write(path, self)
    }

    /// All by which the card contradicts itself; `place` names its file.
    pub fn check(&self, place: impl Display) -> Result<(), Faults> {
        let mut checks = Checks::of(place);
        Document::check(self, &mut checks);
        checks.finish()
    }
}

impl Document for Card {
    const FORMAT: &'static str = CARD_FORMAT;

    fn check(&self, c: &mut Checks) {
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
            (1..=wav::MAX_CHANNELS).contains(&count),
            "channels",
            format!("there are {count}"),
            "list 1 to 64 channels",
        );
        c.need(
            self.frames > 0 && wav::bytes_needed(self.frames, count) < wav::LIMIT_BYTES,
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

impl Checks {
    /// Notes a capture's name that is no safe file name.
    pub(super) fn name(&mut self, name: &str) {
        if let Err(fault) = check_name(name) {
            let problem = format!("{}: {}", fault.place, fault.problem);
            self.need(false, "capture", problem, fault.remedy);
        }
    }

    /// Notes cylinders that the engine lacks.
    pub(super) fn cylinders<'a>(
        &mut self,
        field: impl Display,
        cylinders: impl IntoIterator<Item = &'a u32>,
        engine: &EnginePlate,
    ) {
        for cylinder in cylinders {
            self.need(
                engine.firing_place(*cylinder).is_some(),
                &field,
                format!("the engine has no cylinder {cylinder}"),
                "name a cylinder of the firing order",
            );
        }
    }

    /// Notes a mode that is none.
    pub(super) fn mode(&mut self, field: &str, mode: &str) {
        self.need(
            matches!(mode, "cranking" | "idle"),
            field,
            format!("it says {mode:?}"),
            "`cranking` or `idle`",
        );
    }
}

/// What stands on an engine's plate and in its manual.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EnginePlate {
    /// The (invented) vehicle.
    pub vehicle: String,
    /// `inline`, `vee` or `flat`.
    pub layout: String,
    /// Number of cylinders.
    pub cylinders: usize,
    /// Cylinder numbers in the order in which they fire.
    pub firing_order: Vec<u32>,
    /// Crank degrees from each cylinder of the firing order to the next; they add up to 720.
    pub firing_intervals_deg: Vec<f64>,
    /// Swept volume of all cylinders, litres.
    pub displacement_l: f64,
    /// Geometric compression ratio.
    pub compression_ratio: f64,
    /// Whether each cylinder has a coil of its own or shares one with its companion.
    pub shared_coils: bool,
}

impl EnginePlate {
    /// Notes a firing order and intervals that cannot be, by which the methods here would go wrong.
    pub(super) fn check(&self, c: &mut Checks) {
        let n = self.cylinders;
        c.need(
            (1..=MAX_CYLINDERS).contains(&n),
            "engine.cylinders",
            format!("there are {n}"),
            format!("give 1 to {MAX_CYLINDERS} cylinders"),
        );
        let mut sorted = self.firing_order.clone();
        sorted.sort_unstable();
        c.need(
            sorted.len() == n && sorted.iter().zip(1..).all(|(own, due)| *own == due),
            "engine.firing_order",
            format!(
                "{n} cylinders cannot fire in the order {:?}",
                self.firing_order
            ),
            format!("name each of the cylinders 1 to {n} once"),
        );
        let intervals = &self.firing_intervals_deg;
        let turn: f64 = intervals.iter().sum();
        c.need(
            intervals.len() == n
                && intervals.iter().all(|deg| *deg > 0.0)
                && (turn - 720.0).abs() < 0.01,
            "engine.firing_intervals_deg",
            format!("they are {intervals:?}"),
            format!("give {n} positive intervals that add up to 720"),
        );
        c.need(
            matches!(self.layout.as_str(), "inline" | "vee" | "flat"),
            "engine.layout",
            format!("it says {:?}", self.layout),
            "`inline`, `vee` or `flat`",
        );
        c.need(
            self.displacement_l > 0.0 && self.displacement_l.is_finite(),
            "engine.displacement_l",
            format!("it is {}", self.displacement_l),
            "give litres above 0",
        );
        c.need(
            self.compression_ratio > 1.0 && self.compression_ratio.is_finite(),
            "engine.compression_ratio",
            format!("it is {}", self.compression_ratio),
            "give a ratio above 1",
        );
    }

    /// Place of a cylinder in the firing order, from 0; `None` for a cylinder the engine lacks.
    pub fn firing_place(&self, cylinder: u32) -> Option<usize> {
        self.firing_order.iter().position(|c| *c == cylinder)
    }

    /// The cylinder `steps` places later in the firing order (earlier when negative).
    pub fn neighbour(&self, cylinder: u32, steps: isize) -> Option<u32> {
        let n = self.firing_order.len() as isize;
        let place = self.firing_place(cylinder)? as isize;
        Some(self.firing_order[(place + steps).rem_euclid(n) as usize])
    }

    /// Compression TDC of a cylinder, crank degrees after that of the first in the firing order.
    pub fn tdc_deg(&self, cylinder: u32) -> Option<f64> {
        let place = self.firing_place(cylinder)?;
        Some(self.firing_intervals_deg.get(..place)?.iter().sum())
    }

    /// The cylinder whose pistons move with this one's, a revolution apart (its wasted-spark
    /// companion); `None` where the crank has none, as in an engine of three or five.
    pub fn companion(&self, cylinder: u32) -> Option<u32> {
        let own = self.tdc_deg(cylinder)?;
        self.firing_order.iter().copied().find(|other| {
            let apart = (self.tdc_deg(*other).unwrap_or(own) - own).rem_euclid(720.0);
            (apart - 360.0).abs() < 1e-6
        })
    }
}

/// How the test was set up; all of it visible to whoever did it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetUp {
    /// `cranking` or `idle`.
    pub mode: String,
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
    fn check(&self, c: &mut Checks, engine: &EnginePlate) {
        c.mode("set_up.mode", &self.mode);
        c.cylinders("set_up.plugs_out", &self.plugs_out, engine);
        let field = "set_up.in_cylinder_transducer";
        c.cylinders(field, &self.in_cylinder_transducer, engine);
        c.need(
            self.coolant_c.is_finite(),
            "set_up.coolant_c",
            format!("it is {}", self.coolant_c),
            "give degrees Celsius",
        );
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

    fn check(&self, c: &mut Checks, field: &str, engine: &EnginePlate, named_before: bool) {
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
        c.cylinders(format!("{field}.cylinder"), &self.cylinder, engine);
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

#[cfg(test)]
mod tests;
