//! Acquisition: sample clock, disturbances, coupling, range and converter.

mod converter;
mod disturbance;

pub use converter::Converter;
pub use disturbance::Disturbances;

use crate::capture::ChannelCard;
use crate::math::TAU;
use crate::random::Stream;
use crate::scenario::{AcquisitionSpec, ChannelSpec, InputSpec};
use crate::sensors::{Filter, Scene, Sensor};

/// A recorded channel.
pub struct Recorded {
    /// Its samples as they stand in the WAV.
    pub samples: Vec<i16>,
    /// Its public description.
    pub card: ChannelCard,
    /// Samples that ran out of the range.
    pub clipped_samples: u64,
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
                .ac_corner_hz
                .map(|corner| Filter::high_pass(1.0 / (TAU * corner), rate_hz)),
            sign: if spec.inverted { -1.0 } else { 1.0 },
        }
    }

    fn next(&mut self, v: f64) -> f64 {
        self.sign * self.blocking.as_mut().map_or(v, |filter| filter.next(v))
    }
}

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
    let mut sensor = Sensor::new(&channel.sensor, scene, rate_hz);
    let mut converter = match sensor.own_range_v {
        Some(range_v) => Converter::new(range_v, 16),
        None => Converter::new(channel.input.range_v, acquisition.bits),
    };
    let mut disturbances =
        Disturbances::new(&channel.disturbances, acquisition.mains_hz, scene, &streams);
    let mut input = Input::new(&channel.input, rate_hz);
    let mut noise = streams("noise");
    let noise_v = sensor.noise_v;
    let samples = (0..frames)
        .map(|i| {
            let t = i as f64 / rate_hz;
            let random_v = if noise_v > 0.0 {
                noise_v * noise.normal()
            } else {
                0.0
            };
            converter.sample(input.next(sensor.volts(t) + disturbances.volts(t) + random_v))
        })
        .collect();
    let per_volt = sensor.scale.per_volt;
    let steady = if channel.input.ac_corner_hz.is_some() {
        0.0
    } else {
        sensor.scale.at_zero_volts
    };
    let noise_rms_v = (noise_v * noise_v
        + disturbances.mean_square()
        + converter.step_v() * converter.step_v() / 12.0)
        .sqrt();
    Recorded {
        samples,
        clipped_samples: converter.clipped,
        noise_rms: noise_rms_v * per_volt.abs(),
        card: ChannelCard {
            name: sensor.name,
            measures: sensor.measures,
            unit: sensor.scale.unit.into(),
            scale_per_count: converter.volts_per_count() * per_volt,
            offset: input.sign * steady,
            bits: converter.bits,
            range_v: converter.range(),
            ac_coupled: channel.input.ac_corner_hz.is_some(),
            inverted: channel.input.inverted,
            cylinder: sensor.cylinder,
        },
    }
}

/// The channel without noise or disturbance, in its unit, at `rate_hz`: what the truth measures.
pub fn ideal(channel: &ChannelSpec, scene: Scene, frames: u64, rate_hz: f64) -> Vec<f64> {
    let mut sensor = Sensor::new(&channel.sensor, scene, rate_hz);
    let mut input = Input::new(&channel.input, rate_hz);
    let range_v = sensor.own_range_v.unwrap_or(channel.input.range_v);
    let per_volt = sensor.scale.per_volt;
    (0..frames)
        .map(|i| {
            per_volt
                * input
                    .next(sensor.volts(i as f64 / rate_hz))
                    .clamp(-range_v, range_v)
        })
        .collect()
}
