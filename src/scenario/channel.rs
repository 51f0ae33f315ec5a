//! The channels of a capture: a sensor, its disturbances and the converter behind it.

use super::section::Section;
use super::units::Dimension::*;

/// One channel, in SI units.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ChannelSpec {
    pub sensor: SensorSpec,
    pub input: InputSpec,
    pub disturbances: DisturbanceSpec,
}

/// A sensor and what it sits on.
#[derive(Clone, Debug, PartialEq)]
pub enum SensorSpec {
    /// Pressure at the radiator neck, held.
    NeckPressure(TransducerSpec, LineSpec),
    /// Pulses at the radiator neck.
    NeckPulse(PulseSpec, LineSpec),
    /// Coil of one cylinder.
    CoilTrigger(CoilSpec),
    /// Transducer in a cylinder, in place of its plug.
    CylinderPressure(CylinderSensorSpec),
    /// Clamp on the starter cable.
    StarterCurrent(ClampSpec),
    /// Battery terminals.
    BatteryVoltage(BatterySpec),
    /// A truth probe.
    Probe(ProbeSpec),
}

/// A pressure transducer.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct TransducerSpec {
    pub absolute: bool,
    pub span_pa: [f64; 2],
    pub output_v: [f64; 2],
    pub bandwidth_hz: f64,
    pub damping: f64,
    pub offset_v: f64,
    pub drift_v_s: f64,
    pub noise_v: f64,
}

/// A piezo pulse sensor.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct PulseSpec {
    pub decay_s: f64,
    pub low_pass_hz: f64,
    pub gain_v_pa: f64,
    pub negative: bool,
    pub saturation_v: f64,
    pub wet_gain: f64,
    pub noise_v: f64,
}

/// The tube between the neck and the sensor.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct LineSpec {
    pub length_m: f64,
    pub bore_m: f64,
    pub end_volume_m3: f64,
    pub coolant_share: f64,
    pub rise_m: f64,
    pub coolant_viscosity_pa_s: f64,
}

/// A coil trigger.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CoilSpec {
    pub cylinder: u32,
    pub height_v: f64,
    pub width_s: f64,
    pub noise_v: f64,
}

/// An in-cylinder transducer.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CylinderSensorSpec {
    pub cylinder: u32,
    pub dead_volume_m3: f64,
    pub transducer: TransducerSpec,
}

/// A current clamp.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ClampSpec {
    pub gain_v_a: f64,
    pub zero_v: f64,
    pub bandwidth_hz: f64,
    pub noise_v: f64,
}

/// A pair of leads on the battery.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct BatterySpec {
    pub divider: f64,
    pub noise_v: f64,
}

/// A truth probe.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ProbeSpec {
    pub of: ProbeOf,
    pub cylinder: u32,
}

/// What a truth probe shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum ProbeOf {
    CrankAngle,
    CrankSpeed,
    CylinderPressure,
    JacketPressure,
    NeckPressure,
    ColumnFlow,
    LeakFlow,
}

/// The converter's input.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct InputSpec {
    pub range_v: f64,
    pub ac_corner_hz: Option<f64>,
    pub inverted: bool,
}

/// What disturbs a channel.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct DisturbanceSpec {
    pub vibration_v: f64,
    pub ignition_v: f64,
    pub ground_v: f64,
    pub hum_v: f64,
}

impl ChannelSpec {
    pub(super) fn read(s: &mut Section) -> Option<Self> {
        let sensor = s.variant(
            "sensor",
            "what the channel measures, and by what",
            &[
                (
                    "neck_pressure",
                    "pressure transducer at the radiator neck",
                    |s| {
                        SensorSpec::NeckPressure(
                            TransducerSpec::read(s, "200 kPa", "1 kHz"),
                            LineSpec::read_in(s),
                        )
                    },
                ),
                (
                    "neck_pulse",
                    "piezo pulse sensor at the radiator neck",
                    |s| SensorSpec::NeckPulse(PulseSpec::read(s), LineSpec::read_in(s)),
                ),
                ("coil_trigger", "trigger of one cylinder's coil", |s| {
                    SensorSpec::CoilTrigger(CoilSpec::read(s))
                }),
                (
                    "cylinder_pressure",
                    "pressure transducer in a cylinder, in place of its plug",
                    |s| {
                        SensorSpec::CylinderPressure(CylinderSensorSpec {
                            cylinder: cylinder(s),
                            dead_volume_m3: s.quantity(
                                "dead_volume",
                                Volume,
                                "3 mL",
                                ["0 mL", "20 mL"],
                                "volume that its hose adds to the cylinder",
                            ),
                            transducer: TransducerSpec::read(s, "2500 kPa", "5 kHz"),
                        })
                    },
                ),
                (
                    "starter_current",
                    "current clamp on the starter cable",
                    |s| SensorSpec::StarterCurrent(ClampSpec::read(s)),
                ),
                ("battery_voltage", "leads on the battery terminals", |s| {
                    SensorSpec::BatteryVoltage(BatterySpec {
                        divider: s.quantity(
                            "divider",
                            Ratio,
                            "1",
                            ["0.01", "1"],
                            "output over input of the lead",
                        ),
                        noise_v: noise(s, "3 mV"),
                    })
                }),
                (
                    "probe",
                    "truth probe: for instructors and developers, never for a student",
                    |s| SensorSpec::Probe(ProbeSpec::read(s)),
                ),
            ],
        );
        let range = sensor.as_ref().map_or("5 V", SensorSpec::usual_range);
        let ac_coupled = s.choice(
            "coupling",
            &[
                ("dc", false, "the held value passes"),
                ("ac", true, "the held value is blocked"),
            ],
            "input coupling",
        );
        let corner_hz = s.quantity(
            "ac_corner",
            Frequency,
            "1 Hz",
            ["0.01 Hz", "100 Hz"],
            "corner of the AC coupling",
        );
        let input = InputSpec {
            range_v: s.derived(
                "range",
                Voltage,
                range,
                ["1 mV", "1000 V"],
                "the converter spans plus and minus this (default: 5 V; battery 20 V, clamp 1 V)",
            ),
            ac_corner_hz: ac_coupled.then_some(corner_hz),
            inverted: s.flag("inverted", false, "turned upside down"),
        };
        let disturbances = s.section("disturbances", "what else gets into the channel, referred to its input", |s| DisturbanceSpec {
            vibration_v: s.quantity("vibration", Voltage, "0 V", ["0 V", "100 V"], "amplitude at the firing frequency of a sensor resting on the engine, at 780 rpm"),
            ignition_v: s.quantity("ignition_noise", Voltage, "0 V", ["0 V", "100 V"], "spikes at every spark"),
            ground_v: s.quantity("ground_offset", Voltage, "0 V", ["-10 V", "10 V"], "offset between the grounds"),
            hum_v: s.quantity("hum", Voltage, "0 V", ["0 V", "100 V"], "amplitude of the mains hum"),
        });
        Some(ChannelSpec {
            sensor: sensor?,
            input,
            disturbances,
        })
    }
}

fn cylinder(s: &mut Section) -> u32 {
    s.integer("cylinder", None, [1, 12], "the cylinder's number") as u32
}

fn noise(s: &mut Section, default: &str) -> f64 {
    s.quantity(
        "noise",
        Voltage,
        default,
        ["0 V", "10 V"],
        "random noise, root mean square",
    )
}

impl TransducerSpec {
    fn read(s: &mut Section, full: &str, bandwidth: &str) -> Self {
        TransducerSpec {
            absolute: s.choice(
                "reference",
                &[
                    ("gauge", false, "above ambient"),
                    ("absolute", true, "above vacuum"),
                ],
                "what its zero is",
            ),
            span_pa: s.span(
                "span",
                Pressure,
                ["0 kPa", full],
                ["-100 kPa", "100 bar"],
                "pressures at both ends of its output",
            ),
            output_v: s.span(
                "output",
                Voltage,
                ["0.5 V", "4.5 V"],
                ["-100 V", "100 V"],
                "voltages at those pressures; it saturates a tenth of the span beyond",
            ),
            bandwidth_hz: s.quantity(
                "bandwidth",
                Frequency,
                bandwidth,
                ["1 Hz", "100 kHz"],
                "natural frequency of its second-order response",
            ),
            damping: s.quantity(
                "damping",
                Ratio,
                "0.7",
                ["0.05", "5"],
                "damping ratio of that response",
            ),
            offset_v: s.quantity("offset", Voltage, "0 V", ["-10 V", "10 V"], "zero error"),
            drift_v_s: s.quantity(
                "drift",
                VoltageRate,
                "0 V/s",
                ["-1 V/s", "1 V/s"],
                "drift of the zero",
            ),
            noise_v: noise(s, "2 mV"),
        }
    }
}

impl PulseSpec {
    fn read(s: &mut Section) -> Self {
        PulseSpec {
            decay_s: s.quantity(
                "decay",
                Time,
                "40 ms",
                ["1 ms", "2 s"],
                "time in which a held pressure fades",
            ),
            low_pass_hz: s.quantity(
                "low_pass",
                Frequency,
                "500 Hz",
                ["1 Hz", "50 kHz"],
                "upper corner",
            ),
            gain_v_pa: s.quantity(
                "gain",
                SensitivityPressure,
                "0.5 V/kPa",
                ["1 mV/kPa", "100 V/kPa"],
                "volts for a sudden pressure",
            ),
            negative: s.choice(
                "polarity",
                &[
                    ("positive", false, "a rise drives it up"),
                    ("negative", true, "a rise drives it down"),
                ],
                "direction of its output",
            ),
            saturation_v: s.quantity(
                "saturation",
                Voltage,
                "5 V",
                ["10 mV", "500 V"],
                "its output stays within plus and minus this",
            ),
            wet_gain: s.quantity(
                "wet_gain",
                Ratio,
                "0.35",
                ["0", "1"],
                "share of its gain left when its line is full of coolant",
            ),
            noise_v: noise(s, "5 mV"),
        }
    }
}

impl LineSpec {
    fn read_in(s: &mut Section) -> Self {
        s.section("line", "the tube between the neck and the sensor", |s| {
            LineSpec {
                length_m: s.quantity(
                    "length",
                    Length,
                    "0.3 m",
                    ["0 m", "5 m"],
                    "length; below 5 cm the sensor sits on the neck",
                ),
                bore_m: s.quantity("bore", Length, "4 mm", ["2 mm", "20 mm"], "bore"),
                end_volume_m3: s.quantity(
                    "end_volume",
                    Volume,
                    "0.5 mL",
                    ["0 mL", "50 mL"],
                    "volume in front of the sensor",
                ),
                coolant_share: s.quantity(
                    "coolant_share",
                    Ratio,
                    "0",
                    ["0", "1"],
                    "share of the line filled with coolant, from the neck",
                ),
                rise_m: s.quantity(
                    "rise",
                    Length,
                    "0 m",
                    ["-2 m", "2 m"],
                    "how far the sensor lies above the neck",
                ),
                coolant_viscosity_pa_s: s.quantity(
                    "coolant_viscosity",
                    Viscosity,
                    "3.4 mPa s",
                    ["0.2 mPa s", "100 mPa s"],
                    "of the coolant in the line",
                ),
            }
        })
    }
}

impl CoilSpec {
    fn read(s: &mut Section) -> Self {
        CoilSpec {
            cylinder: cylinder(s),
            height_v: s.quantity(
                "height",
                Voltage,
                "4 V",
                ["0.1 V", "400 V"],
                "height of the trigger",
            ),
            width_s: s.quantity(
                "width",
                Time,
                "2.5 ms",
                ["0.1 ms", "20 ms"],
                "length of the trigger",
            ),
            noise_v: noise(s, "10 mV"),
        }
    }
}

impl ClampSpec {
    fn read(s: &mut Section) -> Self {
        ClampSpec {
            gain_v_a: s.quantity(
                "gain",
                SensitivityCurrent,
                "1 mV/A",
                ["0.1 mV/A", "100 mV/A"],
                "volts per current",
            ),
            zero_v: s.quantity("zero", Voltage, "0 V", ["-1 V", "1 V"], "zero error"),
            bandwidth_hz: s.quantity(
                "bandwidth",
                Frequency,
                "2 kHz",
                ["10 Hz", "100 kHz"],
                "upper corner",
            ),
            noise_v: noise(s, "0.5 mV"),
        }
    }
}

impl ProbeSpec {
    fn read(s: &mut Section) -> Self {
        use ProbeOf::*;
        ProbeSpec {
            of: s.choice(
                "of",
                &[
                    ("crank_angle", CrankAngle, "crank angle of the 720 deg cycle, from compression TDC of the first cylinder of the firing order"),
                    ("crank_speed", CrankSpeed, "crank speed"),
                    ("cylinder_pressure", CylinderPressure, "absolute pressure in a cylinder"),
                    ("jacket_pressure", JacketPressure, "gauge pressure in the jacket"),
                    ("neck_pressure", NeckPressure, "gauge pressure at the neck, before any line or delay"),
                    ("column_flow", ColumnFlow, "flow from jacket to neck"),
                    ("leak_flow", LeakFlow, "mass flow through a cylinder's leak"),
                ],
                "what it shows",
            ),
            cylinder: s.integer("cylinder", Some(1), [1, 12], "the cylinder it belongs to, if any") as u32,
        }
    }
}

impl SensorSpec {
    fn usual_range(&self) -> &'static str {
        match self {
            SensorSpec::BatteryVoltage(_) => "20 V",
            SensorSpec::StarterCurrent(_) => "1 V",
            _ => "5 V",
        }
    }
}
