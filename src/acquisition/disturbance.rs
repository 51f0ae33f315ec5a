//! What else gets into a channel: engine vibration, ignition noise, ground offset, mains hum.

use crate::math::{self, TAU};
use crate::random::Stream;
use crate::scenario::DisturbanceSpec;
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
        mains_hz: f64,
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
            mains_hz,
            hum_phase: draw(),
            firing_order: cylinders.len() as f64 / 2.0,
            phases: [draw(), draw(), draw()],
            traces: scene.traces,
            sparks,
            next_spark: 0,
        }
    }

    /// Their sum at time `t`, V; call with growing times.
    pub fn volts(&mut self, t: f64) -> f64 {
        let mut sum = self.spec.ground_v;
        if self.spec.hum_v > 0.0 {
            sum += self.spec.hum_v * math::sin(TAU * self.mains_hz * t + self.hum_phase);
        }
        if self.spec.vibration_v > 0.0 {
            let relative = Traces::at(&self.traces.speed_rad_s, t) / REFERENCE_RAD_S;
            let angle = self.firing_order * Traces::at(&self.traces.crank_rad, t);
            let shape: f64 = (0..HARMONICS.len())
                .map(|k| HARMONICS[k] * math::sin((k + 1) as f64 * angle + self.phases[k]))
                .sum();
            sum += self.spec.vibration_v * relative * relative * shape;
        }
        while self
            .sparks
            .get(self.next_spark)
            .is_some_and(|(start, _)| t >= start + BURST_S)
        {
            self.next_spark += 1;
        }
        if let Some((start, strength)) = self.sparks.get(self.next_spark)
            && t >= *start
        {
            let since = t - start;
            sum += self.spec.ignition_v
                * strength
                * math::exp(-since / BURST_DECAY_S)
                * math::cos(TAU * BURST_HZ * since);
        }
        sum
    }

    /// Mean square of hum and vibration, V2; sparks are too short to hide a pulse.
    pub fn mean_square(&self) -> f64 {
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
        self.spec.hum_v * self.spec.hum_v / 2.0
            + self.spec.vibration_v * self.spec.vibration_v * harmonics * mean_fourth
    }
}
