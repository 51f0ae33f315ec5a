//! Acquisition: sample clock, disturbances, coupling, range and converter.

mod converter;
mod disturbance;

pub use converter::Converter;
pub use disturbance::Disturbances;

use crate::domain::ChannelCard;
use crate::math::TAU;
use crate::random::Stream;
use crate::scenario::{AcquisitionSpec, ChannelSpec, InputSpec};
use crate::sensors::{Filter, Scene, Sensor, arrivals};
use crate::simulation::STEP_S;

/// A recorded channel.
pub struct Recorded {
    /// Its samples as they stand in the WAV.
    pub samples: Vec<i16>,
    /// Its public description.
    pub card: ChannelCard,
    /// Samples that ran out of the range.
    pub clipped_samples: u64,
    /// For a neck sensor, the absolute pressure where it sits, a value a step of the traces, Pa.
    pub arrived_pa: Vec<f64>,
    /// Noise, hum, vibration and quantisation together, root mean square, in the channel's unit.
    pub noise_rms: f64,
}

/// Coupling and inversion.
struct Input {
    blocking: Option<Filter>,
    sign: f64,
}

impl Input {
    fn new(spec: &InputSpec, rate_hz: f64) -> Input {
        Input {
            blocking: spec
                .ac_corner_hz()
                .map(|corner| Filter::high_pass(1.0 / (TAU * corner), rate_hz)),
            sign: if spec.inverted { -1.0 } else { 1.0 },
        }
    }

    fn run(&mut self, block: &mut [f64]) {
        if let Some(filter) = &mut self.blocking {
            filter.run(block);
        }
        if self.sign < 0.0 {
            block.iter_mut().for_each(|v| *v = -*v);
        }
    }
}

/// Samples that go from stage to stage at a time: few enough to stay in the processor's nearest cache.
const BLOCK: usize = 1024;

/// Samples in a capture of `duration_s`.
pub fn frames(spec: &AcquisitionSpec, duration_s: f64) -> u64 {
    (duration_s * spec.sample_rate_hz).round().max(1.0) as u64
}

/// Records one channel; `streams` gives the channel's own random streams by purpose.
pub fn record(
    channel: &ChannelSpec,
    acquisition: &AcquisitionSpec,
    scene: Scene,
    frames: u64,
    streams: impl Fn(&str) -> Stream,
) -> Recorded {
    let rate_hz = acquisition.sample_rate_hz;
    let arrived_pa = channel
        .sensor
        .neck_line()
        .map_or(Vec::new(), |line| arrivals(line, scene));
    let mut sensor = Sensor::with_arrivals(
        &channel.sensor,
        scene,
        rate_hz,
        arrived_pa.as_slice().into(),
    );
    let mut converter = match sensor.own_range_v {
        Some(range_v) => Converter::new(range_v, 16),
        None => Converter::new(channel.input.range_v, acquisition.bits),
    };
    let mut disturbances = Disturbances::new(&channel.disturbances, acquisition, scene, &streams);
    let mut input = Input::new(&channel.input, rate_hz);
    let mut noise = streams("noise");
    let noise_v = sensor.noise_v;
    let mut samples = vec![0; frames as usize];
    let mut block = [0.0; BLOCK];
    for (first, samples) in (0..).step_by(BLOCK).zip(samples.chunks_mut(BLOCK)) {
        let block = &mut block[..samples.len()];
        sensor.volts(first, block);
        disturbances.add(first, block);
        if noise_v > 0.0 {
            noise.add_noise(noise_v, block);
        }
        input.run(block);
        converter.convert(block, samples);
    }
    let per_volt = sensor.scale.per_volt;
    let steady = if channel.input.ac_corner_hz().is_some() {
        0.0
    } else {
        sensor.scale.at_zero_volts
    };
    let noise_rms_v = (noise_v * noise_v
        + disturbances.mean_square()
        + converter.step_v() * converter.step_v() / 12.0)
        .sqrt();
    let card = ChannelCard {
        name: sensor.name.clone(),
        measures: sensor.measures,
        unit: sensor.scale.unit.into(),
        scale_per_count: converter.volts_per_count() * per_volt,
        offset: input.sign * steady,
        bits: converter.bits,
        range_v: converter.range(),
        ac_coupled: channel.input.ac_corner_hz().is_some(),
        inverted: channel.input.inverted,
        cylinder: sensor.cylinder,
    };
    // It looks at what arrived, which is passed on.
    drop(sensor);
    Recorded {
        samples,
        clipped_samples: converter.clipped,
        noise_rms: noise_rms_v * per_volt.abs(),
        arrived_pa,
        card,
    }
}

/// The channel without noise or disturbance, in its unit, a value a step of the traces: what the truth
/// measures. `arrived_pa` is what its recording has found to arrive.
pub fn ideal(channel: &ChannelSpec, scene: Scene, arrived_pa: &[f64]) -> Vec<f64> {
    let rate_hz = 1.0 / STEP_S;
    let mut sensor = Sensor::with_arrivals(&channel.sensor, scene, rate_hz, arrived_pa.into());
    let mut input = Input::new(&channel.input, rate_hz);
    let range_v = sensor.own_range_v.unwrap_or(channel.input.range_v);
    let per_volt = sensor.scale.per_volt;
    let mut values = vec![0.0; arrived_pa.len()];
    sensor.volts(0, &mut values);
    input.run(&mut values);
    for v in &mut values {
        *v = per_volt * v.clamp(-range_v, range_v);
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Source;
    use crate::sensors::Ignition;
    use crate::simulation::run;
    use crate::vehicle::Vehicle;

    /// One channel of every kind, with every disturbance.
    const BENCH: &str = "
vehicle: {engine: {cylinders: 3, firing_order: [1, 3, 2]}}
faults: {leaks: [{cylinder: 2, area: 0.1 mm2, opens_at: 1 bar}]}
test: {duration: 1.2 s}
channels:
  - sensor: neck_pressure
    drift: 1 V/s
    disturbances: {vibration: 1 V, ignition_noise: 1 V, ground_offset: 1 V, hum: 1 V}
    coupling: ac
    range: 20 V
  - {sensor: neck_pulse}
  - {sensor: coil_trigger, cylinder: 1}
  - {sensor: cylinder_pressure, cylinder: 3}
  - {sensor: starter_current}
  - {sensor: battery_voltage}
  - {sensor: probe, of: crank_angle}
acquisition: {sample_rate: 20 kHz}
";

    /// Sensors, disturbances and input go on from one block to the next as if there were no blocks. The
    /// hum turns on from sample to sample, which costs it some 1e-12 of itself in a block.
    #[test]
    fn blocks_leave_no_seam() {
        let drawn = Source::parse("bench", BENCH.as_bytes()).and_then(|s| s.draw(None, 0));
        let s = drawn.unwrap_or_else(|f| panic!("{f}")).scenario;
        let vehicle = Vehicle::resolve(&s);
        let traces = run(&vehicle, &s.test, &Vec::new());
        let scene = Scene {
            vehicle: &vehicle,
            traces: &traces,
            acoustic_delay_s: 0.01,
            ignition: Ignition {
                enabled: true,
                shared_coils: false,
                spark_rad: -0.2,
            },
        };
        let rate_hz = s.acquisition.sample_rate_hz;
        let frames = frames(&s.acquisition, s.test.duration_s) as usize;
        for channel in &s.channels {
            let in_blocks_of = |size: usize| {
                let streams = |purpose: &str| Stream::new(1, 0, purpose);
                let mut sensor = Sensor::new(&channel.sensor, scene, rate_hz);
                let mut disturbances =
                    Disturbances::new(&channel.disturbances, &s.acquisition, scene, &streams);
                let mut input = Input::new(&channel.input, rate_hz);
                let mut volts = vec![0.0; frames];
                for (first, block) in (0..).step_by(size).zip(volts.chunks_mut(size)) {
                    sensor.volts(first, block);
                    disturbances.add(first, block);
                    input.run(block);
                }
                volts
            };
            let whole = in_blocks_of(frames);
            for size in [1, 7, BLOCK] {
                for (i, (a, b)) in in_blocks_of(size).iter().zip(&whole).enumerate() {
                    assert!((a - b).abs() < 1e-8, "{:?}: {i}: {a} {b}", channel.sensor);
                }
            }
        }
    }
}
