//! What else gets into a channel: engine vibration, ignition noise, ground offset, mains hum.

use crate::math::{self, TAU};
use crate::random::Stream;
use crate::scenario::{AcquisitionSpec, DisturbanceSpec};
use crate::sensors::{Scene, spark_times};
use crate::simulation::Traces;

/// Speed at which the vibration has its stated amplitude; it grows with the square of the speed, as
/// inertia forces do.
const REFERENCE_RAD_S: f64 = 780.0 * TAU / 60.0;
/// Amplitudes of the firing frequency and its harmonics (chosen by us).
const HARMONICS: [f64; 3] = [1.0, 0.5, 0.25];
/// A spark's burst: ringing frequency, decay and length (chosen by us).
const BURST_HZ: f64 = 8e3;
const BURST_DECAY_S: f64 = 80e-6;
const BURST_S: f64 = 8.0 * BURST_DECAY_S;

/// The disturbances of one channel, referred to its input.
pub struct Disturbances<'a> {
    spec: DisturbanceSpec,
    mains_hz: f64,
    rate_hz: f64,
    hum_phase: f64,
    firing_order: f64,
    phases: [f64; 3],
    traces: &'a Traces,
    /// Time and relative strength of every spark.
    sparks: Vec<(f64, f64)>,
    next_spark: usize,
}

impl<'a> Disturbances<'a> {
    /// The disturbances of one channel; `streams` gives its random streams by purpose.
    pub fn new(
        spec: &DisturbanceSpec,
        acquisition: &AcquisitionSpec,
        scene: Scene<'a>,
        streams: &impl Fn(&str) -> Stream,
    ) -> Disturbances<'a> {
        let cylinders = &scene.vehicle.engine.cylinders;
        let mut sparks = Vec::new();
        if spec.ignition_v > 0.0 {
            let mut strength = streams("ignition noise");
            let mut times: Vec<f64> = cylinders
                .iter()
                .flat_map(|c| spark_times(scene.vehicle, scene.traces, scene.ignition, c.number))
                .collect();
            times.sort_by(f64::total_cmp);
            sparks = times
                .into_iter()
                .map(|t| (t, 0.7 + 0.6 * strength.uniform()))
                .collect();
        }
        let mut phase = streams("phases");
        let mut draw = || TAU * phase.uniform();
        Disturbances {
            spec: spec.clone(),
            mains_hz: acquisition.mains_hz,
            rate_hz: acquisition.sample_rate_hz,
            hum_phase: draw(),
            firing_order: cylinders.len() as f64 / 2.0,
            phases: [draw(), draw(), draw()],
            traces: scene.traces,
            sparks,
            next_spark: 0,
        }
    }

    /// Adds their sum to a block of samples from number `first` on, V; call with block after block.
    pub fn add(&mut self, first: u64, block: &mut [f64]) {
        if self.spec.ground_v != 0.0 {
            block.iter_mut().for_each(|v| *v += self.spec.ground_v);
        }
        if self.spec.hum_v > 0.0 {
            self.hum(first, block);
        }
        if self.spec.vibration_v > 0.0 {
            self.vibration(first, block);
        }
        self.ignition(first, block);
    }

    /// A sine over time, each sample turned on from the last.
    fn hum(&self, first: u64, block: &mut [f64]) {
        let a_sample = TAU * self.mains_hz / self.rate_hz;
        let start = a_sample * first as f64 + self.hum_phase;
        let (mut sin, mut cos) = (math::sin(start), math::cos(start));
        let (turn_sin, turn_cos) = (math::sin(a_sample), math::cos(a_sample));
        for v in block {
            *v += self.spec.hum_v * sin;
            (sin, cos) = (
                sin * turn_cos + cos * turn_sin,
                cos * turn_cos - sin * turn_sin,
            );
        }
    }

    /// Harmonics of the firing frequency, growing with the square of the speed.
    fn vibration(&self, first: u64, block: &mut [f64]) {
        let [mut speeds, mut cranks] = [0, 1].map(|_| vec![0.0; block.len()]);
        Traces::sample(&self.traces.speed_rad_s, self.rate_hz, first, &mut speeds);
        Traces::sample(&self.traces.crank_rad, self.rate_hz, first, &mut cranks);
        let phases = self
            .phases
            .map(|phase| (math::sin(phase), math::cos(phase)));
        for (v, (speed, crank)) in block.iter_mut().zip(speeds.iter().zip(&cranks)) {
            let relative = speed / REFERENCE_RAD_S;
            let angle = self.firing_order * crank;
            let (sin, cos) = (math::sin(angle), math::cos(angle));
            // Each harmonic turns the last one on by the angle.
            let (mut own_sin, mut own_cos) = (sin, cos);
            let mut shape = 0.0;
            for (height, (phase_sin, phase_cos)) in HARMONICS.iter().zip(&phases) {
                shape += height * (own_sin * phase_cos + own_cos * phase_sin);
                (own_sin, own_cos) = (own_sin * cos + own_cos * sin, own_cos * cos - own_sin * sin);
            }
            *v += self.spec.vibration_v * relative * relative * shape;
        }
    }

    /// A burst for each spark; a later spark ends the burst before it no sooner than it would have ended.
    fn ignition(&mut self, first: u64, block: &mut [f64]) {
        let end = first + block.len() as u64;
        let sample = |t: f64| (t * self.rate_hz).ceil() as u64;
        let mut free = first;
        while let Some((start_s, strength)) = self.sparks.get(self.next_spark) {
            let (from, to) = (sample(*start_s), sample(start_s + BURST_S));
            for i in from.max(free)..to.min(end) {
                let since = i as f64 / self.rate_hz - start_s;
                block[(i - first) as usize] += self.spec.ignition_v
                    * strength
                    * math::exp(-since / BURST_DECAY_S)
                    * math::cos(TAU * BURST_HZ * since);
            }
            if to > end {
                break;
            }
            free = free.max(to);
            self.next_spark += 1;
        }
    }

    /// Mean square of hum and vibration, V2; sparks are too short to hide a pulse.
    pub fn mean_square(&self) -> f64 {
        let hum = self.spec.hum_v * self.spec.hum_v / 2.0;
        if self.spec.vibration_v == 0.0 {
            return hum;
        }
        let harmonics: f64 = HARMONICS.iter().map(|h| h * h / 2.0).sum();
        let speeds = &self.traces.speed_rad_s;
        let mean_fourth = speeds
            .iter()
            .map(|w| {
                let square = (w / REFERENCE_RAD_S) * (w / REFERENCE_RAD_S);
                square * square
            })
            .sum::<f64>()
            / speeds.len() as f64;
        hum + self.spec.vibration_v * self.spec.vibration_v * harmonics * mean_fourth
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Source;
    use crate::sensors::Ignition;
    use crate::vehicle::Vehicle;

    /// Turned on from one another, the harmonics are the sines that they stand for.
    #[test]
    fn vibration_is_a_sum_of_sines() {
        let text = b"vehicle: {engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}}\nchannels: [{sensor: neck_pressure, disturbances: {vibration: 1 V}}]";
        let drawn = Source::parse("test", text).unwrap().draw(None, 0).unwrap();
        let s = &drawn.scenario;
        let vehicle = Vehicle::resolve(s);
        let traces = Traces {
            crank_rad: (0..2000).map(|i| 0.01 * f64::from(i)).collect(),
            speed_rad_s: vec![REFERENCE_RAD_S; 2000],
            ..Traces::default()
        };
        let scene = Scene {
            vehicle: &vehicle,
            traces: &traces,
            acoustic_delay_s: 0.0,
            ignition: Ignition {
                enabled: false,
                shared_coils: false,
                spark_rad: 0.0,
            },
        };
        let spec = &s.channels[0].disturbances;
        let streams = |purpose: &str| Stream::new(1, 0, purpose);
        let mut own = Disturbances::new(spec, &s.acquisition, scene, &streams);
        let mut block = vec![0.0; 2000];
        own.add(0, &mut block);
        for (i, v) in block.iter().enumerate() {
            let angle = 2.0 * Traces::at(&traces.crank_rad, i as f64 / own.rate_hz);
            let sines = [1.0, 2.0, 3.0].iter().zip(HARMONICS.iter().zip(own.phases));
            let sum: f64 = sines
                .map(|(times, (height, phase))| height * math::sin(times * angle + phase))
                .sum();
            assert!((v - sum).abs() < 1e-12, "{i}: {v} {sum}");
        }
    }
}
