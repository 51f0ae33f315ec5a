//! The public card of a capture: all that a technician at the car would know.

use serde::{Deserialize, Serialize};

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
        Some(self.firing_intervals_deg[..place].iter().sum())
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
