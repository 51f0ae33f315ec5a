//! The channels of a capture: a sensor, its disturbances and the converter behind it.

use super::field::{common, from, tried};
use super::forms::Flag;
use super::section::{Variant, section};
use super::units::Dimension::*;

section! {
    /// One channel, in SI units.
    pub struct ChannelSpec {
        /// what the channel measures, and by what
        sensor: SensorSpec = variant("sensor", SENSORS);
        /// the converter's input
        input: InputSpec = beside("*", |s, own| InputSpec::visit(s, own, sensor.usual_range()));
        /// what else gets into the channel, referred to its input
        disturbances: DisturbanceSpec = section("disturbances", DisturbanceSpec::visit);
    }
}

/// Declares the sensors once: the variant with what it holds, its word, and its meaning in the documentation.
macro_rules! sensors {
    ($($(#[doc = $doc:literal])+ $variant:ident($spec:ident) = $word:literal;)*) => {
        /// A sensor and what it sits on.
        #[derive(Clone, Debug, PartialEq)]
        pub enum SensorSpec {
            $($(#[doc = $doc])+ $variant($spec),)*
        }

        const SENSORS: &[Variant<SensorSpec>] = &[$(Variant {
            word: $word,
            doc: concat!($($doc),+).trim_ascii(),
            is: |sensor| matches!(sensor, SensorSpec::$variant(_)),
            visit: |s, own| SensorSpec::$variant($spec::visit(s, match own {
                Some(SensorSpec::$variant(own)) => Some(own),
                _ => None,
            })),
        },)*];
    };
}

sensors! {
    /// pressure transducer at the radiator neck
    NeckPressure(NeckPressureSpec) = "neck_pressure";
    /// piezo pulse sensor at the radiator neck
    NeckPulse(NeckPulseSpec) = "neck_pulse";
    /// trigger of one cylinder's coil
    CoilTrigger(CoilSpec) = "coil_trigger";
    /// pressure transducer in a cylinder, in place of its plug
    CylinderPressure(CylinderSensorSpec) = "cylinder_pressure";
    /// current clamp on the starter cable
    StarterCurrent(ClampSpec) = "starter_current";
    /// leads on the battery terminals
    BatteryVoltage(BatterySpec) = "battery_voltage";
    /// truth probe: for instructors and developers, never for a student
    Probe(ProbeSpec) = "probe";
}

section! {
    /// A pressure transducer at the neck.
    pub struct NeckPressureSpec {
        /// the transducer itself
        transducer: TransducerSpec = beside("*", |s, own| TransducerSpec::visit(s, own, "200 kPa", "1 kHz"));
        /// the tube between the neck and the sensor
        line: LineSpec = section("line", LineSpec::visit);
    }
}

section! {
    /// A pulse sensor at the neck.
    pub struct NeckPulseSpec {
        /// the sensor itself
        pulse: PulseSpec = beside("*", PulseSpec::visit);
        /// the tube between the neck and the sensor
        line: LineSpec = section("line", LineSpec::visit);
    }
}

section! {
    /// A pressure transducer.
    pub struct TransducerSpec(full: &'static str, bandwidth: &'static str) {
        /// what its zero is
        absolute: bool = choice("reference", &[
            ("gauge", false, "above ambient"),
            ("absolute", true, "above vacuum"),
        ]);
        /// pressures at both ends of its output
        span_pa: [f64; 2] = span("span", Pressure, ["0 kPa", full], ["-100 kPa", "100 bar"]);
        /// voltages at those pressures; it saturates a tenth of the span beyond
        output_v: [f64; 2] = span("output", Voltage, common(["0.5 V", "4.5 V"]), ["-100 V", "100 V"]);
        /// natural frequency of its second-order response
        bandwidth_hz: f64 = quantity("bandwidth", Frequency, bandwidth, ["1 Hz", "100 kHz"]);
        /// damping ratio of that response
        damping: f64 = quantity("damping", Ratio, "0.7", ["0.05", "5"]);
        /// zero error
        offset_v: f64 = quantity("offset", Voltage, "0 V", ["-10 V", "10 V"]);
        /// drift of the zero
        drift_v_s: f64 = quantity("drift", VoltageRate, "0 V/s", ["-1 V/s", "1 V/s"]);
        /// random noise, root mean square
        noise_v: f64 = quantity("noise", Voltage, "2 mV", NOISE);
    }
}

/// Range of random noise.
const NOISE: [&str; 2] = ["0 V", "10 V"];

section! {
    /// A piezo pulse sensor.
    pub struct PulseSpec {
        /// time in which a held pressure fades
        decay_s: f64 = quantity("decay", Time, "40 ms", ["1 ms", "2 s"]);
        /// upper corner
        low_pass_hz: f64 = quantity("low_pass", Frequency, "500 Hz", ["1 Hz", "50 kHz"]);
        /// volts for a sudden pressure
        gain_v_pa: f64 = quantity("gain", SensitivityPressure, "0.5 V/kPa", ["1 mV/kPa", "100 V/kPa"]);
        /// direction of its output
        negative: bool = choice("polarity", &[
            ("positive", false, "a rise drives it up"),
            ("negative", true, "a rise drives it down"),
        ]);
        /// its output stays within plus and minus this
        saturation_v: f64 = quantity("saturation", Voltage, "5 V", ["10 mV", "500 V"]);
        /// share of its gain left when its line is full of coolant
        wet_gain: f64 = quantity("wet_gain", Ratio, "0.35", ["0", "1"]);
        /// random noise, root mean square
        noise_v: f64 = quantity("noise", Voltage, "5 mV", NOISE);
    }
}

section! {
    /// The tube between the neck and the sensor.
    pub struct LineSpec {
        /// length; below 5 cm the sensor sits on the neck
        length_m: f64 = quantity("length", Length, "0.3 m", ["0 m", "5 m"]);
        /// bore
        bore_m: f64 = quantity("bore", Length, "4 mm", ["2 mm", "20 mm"]);
        /// volume in front of the sensor
        end_volume_m3: f64 = quantity("end_volume", Volume, "0.5 mL", ["0 mL", "50 mL"]);
        /// share of the line filled with coolant, from the neck
        coolant_share: f64 = quantity("coolant_share", Ratio, "0", ["0", "1"]);
        /// how far the sensor lies above the neck
        rise_m: f64 = quantity("rise", Length, "0 m", ["-2 m", "2 m"]);
        /// of the coolant in the line
        coolant_viscosity_pa_s: f64 = quantity(
            "coolant_viscosity", Viscosity, from("3.4 mPa s", "from memory: half glycol at 25 C"),
            ["0.2 mPa s", "100 mPa s"],
        );
    }
}

section! {
    /// A coil trigger.
    pub struct CoilSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// height of the trigger
        height_v: f64 = quantity("height", Voltage, "4 V", ["0.1 V", "400 V"]);
        /// length of the trigger
        width_s: f64 = quantity("width", Time, "2.5 ms", ["0.1 ms", "20 ms"]);
        /// random noise, root mean square
        noise_v: f64 = quantity("noise", Voltage, "10 mV", NOISE);
    }
}

section! {
    /// An in-cylinder transducer.
    pub struct CylinderSensorSpec {
        /// the cylinder's number
        cylinder: u32 = cylinder("cylinder");
        /// volume that its hose adds to the cylinder
        dead_volume_m3: f64 = quantity("dead_volume", Volume, tried("3 mL"), ["0 mL", "20 mL"]);
        /// the transducer itself
        transducer: TransducerSpec = beside("*", |s, own| TransducerSpec::visit(s, own, "2500 kPa", "5 kHz"));
    }
}

section! {
    /// A current clamp.
    pub struct ClampSpec {
        /// volts per current
        gain_v_a: f64 = quantity("gain", SensitivityCurrent, common("1 mV/A"), ["0.1 mV/A", "100 mV/A"]);
        /// zero error
        zero_v: f64 = quantity("zero", Voltage, "0 V", ["-1 V", "1 V"]);
        /// upper corner
        bandwidth_hz: f64 = quantity("bandwidth", Frequency, "2 kHz", ["10 Hz", "100 kHz"]);
        /// random noise, root mean square
        noise_v: f64 = quantity("noise", Voltage, "0.5 mV", NOISE);
    }
}

section! {
    /// A pair of leads on the battery.
    pub struct BatterySpec {
        /// output over input of the lead
        divider: f64 = quantity("divider", Ratio, "1", ["0.01", "1"]);
        /// random noise, root mean square
        noise_v: f64 = quantity("noise", Voltage, "3 mV", NOISE);
    }
}

section! {
    /// A truth probe.
    #[derive(Copy)]
    pub struct ProbeSpec {
        /// what it shows
        of: ProbeOf = choice("of", &[
            (
                "crank_angle", ProbeOf::CrankAngle,
                "crank angle of the 720 deg cycle, from compression TDC of the first cylinder of the firing order",
            ),
            ("crank_speed", ProbeOf::CrankSpeed, "crank speed"),
            ("cylinder_pressure", ProbeOf::CylinderPressure, "absolute pressure in a cylinder"),
            ("jacket_pressure", ProbeOf::JacketPressure, "gauge pressure in the jacket"),
            ("neck_pressure", ProbeOf::NeckPressure, "gauge pressure at the neck, before any line or delay"),
            ("column_flow", ProbeOf::ColumnFlow, "flow from jacket to neck"),
            ("leak_flow", ProbeOf::LeakFlow, "mass flow through a cylinder's leak"),
        ]);
        /// the cylinder it belongs to, if any
        cylinder: u32 = integer("cylinder", 1, [1, 12]);
    }
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

section! {
    /// The converter's input.
    pub struct InputSpec(usual_range: &'static str) {
        /// input coupling
        ac_coupled: bool = choice("coupling", &[
            ("dc", false, "the held value passes"),
            ("ac", true, "the held value is blocked"),
        ]);
        /// corner of the AC coupling
        corner_hz: f64 = quantity("ac_corner", Frequency, "1 Hz", ["0.01 Hz", "100 Hz"]);
        /// the converter spans plus and minus this (default: 5 V; battery 20 V, clamp 1 V)
        range_v: f64 = derived("range", Voltage, usual_range, ["1 mV", "1000 V"]);
        /// turned upside down
        inverted: bool = value("inverted", &Flag, false.into());
    }
}

impl InputSpec {
    /// Corner of the coupling; `None` where the held value passes.
    pub fn ac_corner_hz(&self) -> Option<f64> {
        self.ac_coupled.then_some(self.corner_hz)
    }
}

section! {
    /// What disturbs a channel.
    pub struct DisturbanceSpec {
        /// amplitude at the firing frequency of a sensor resting on the engine, at 780 rpm
        vibration_v: f64 = quantity("vibration", Voltage, "0 V", ["0 V", "100 V"]);
        /// spikes at every spark
        ignition_v: f64 = quantity("ignition_noise", Voltage, "0 V", ["0 V", "100 V"]);
        /// offset between the grounds
        ground_v: f64 = quantity("ground_offset", Voltage, "0 V", ["-10 V", "10 V"]);
        /// amplitude of the mains hum
        hum_v: f64 = quantity("hum", Voltage, "0 V", ["0 V", "100 V"]);
    }
}

impl ChannelSpec {
    /// A channel of a sensor, all else with its defaults.
    pub fn of(sensor: SensorSpec) -> Self {
        ChannelSpec {
            input: InputSpec::defaults(sensor.usual_range()),
            disturbances: DisturbanceSpec::defaults(),
            sensor,
        }
    }
}

impl SensorSpec {
    /// The line of a neck sensor; `None` for any other.
    pub fn neck_line(&self) -> Option<&LineSpec> {
        match self {
            SensorSpec::NeckPressure(neck) => Some(&neck.line),
            SensorSpec::NeckPulse(neck) => Some(&neck.line),
            _ => None,
        }
    }

    /// The cylinder a sensor sits on, if it sits on one.
    pub fn cylinder(&self) -> Option<u32> {
        match self {
            SensorSpec::CoilTrigger(coil) => Some(coil.cylinder),
            SensorSpec::CylinderPressure(sensor) => Some(sensor.cylinder),
            SensorSpec::Probe(ProbeSpec {
                of: ProbeOf::CylinderPressure | ProbeOf::LeakFlow,
                cylinder,
            }) => Some(*cylinder),
            _ => None,
        }
    }

    fn usual_range(&self) -> &'static str {
        match self {
            SensorSpec::BatteryVoltage(_) => "20 V",
            SensorSpec::StarterCurrent(_) => "1 V",
            _ => "5 V",
        }
    }
}
