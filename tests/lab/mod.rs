//! A bench for tests: one invented vehicle, changed field by field, rendered in memory.

#![allow(dead_code)]

pub mod mutation;
pub mod random;

use serde_yaml::Value;
use waterjacket::domain::LeakTruth;
use waterjacket::render::{Rendered, render};
use waterjacket::scenario::Source;

const CRANKING: &str = "
title: The tests' own bench
vehicle:
  name: The tests' own six (invented)
  engine:
    cylinders: 6
    firing_order: [1, 5, 3, 6, 2, 4]
    bore: 92 mm
    stroke: 82.8 mm
    rod: 145 mm
    compression_ratio: 9.6
faults:
  leaks: [{cylinder: 3, area: 0.05 mm2, opens_at: 3 bar}]
test: {mode: cranking, duration: 4 s, plugs_out: [4]}
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa], line: {length: 0 m}}
  - {sensor: neck_pulse, line: {length: 0 m}}
  - {sensor: coil_trigger, cylinder: 1}
  - {sensor: starter_current}
  - {sensor: battery_voltage}
  - {sensor: probe, of: cylinder_pressure, cylinder: 1}
acquisition: {sample_rate: 10 kHz, bits: 16}
";

/// One rendered capture.
pub struct Lab {
    pub rendered: Rendered,
}

impl Lab {
    /// Renders the bench with changes such as `test.duration=2 s;channels[5]=-`: a path, and YAML to
    /// put there; `-` takes the item out. The truth probe is left out of the judgement of evidence.
    pub fn cranking(changes: &str) -> Lab {
        Lab::of(&source(CRANKING, changes))
    }

    /// The same vehicle at idle, with all its plugs.
    pub fn idle(changes: &str) -> Lab {
        Lab::of(&source(
            CRANKING,
            &format!("test={{mode: idle, duration: 6 s}};{changes}"),
        ))
    }

    pub fn of(source: &Source) -> Lab {
        let drawn = source
            .draw(None, 0)
            .unwrap_or_else(|faults| panic!("{faults}"));
        Lab {
            rendered: render(&drawn, "bench"),
        }
    }

    pub fn seconds(&self) -> f64 {
        self.rendered.capture.card.frames as f64 / self.rendered.capture.card.sample_rate_hz
    }

    /// A channel's values in its unit.
    pub fn values(&self, channel: usize) -> Vec<f64> {
        let card = &self.rendered.capture.card.channels[channel];
        self.rendered.capture.samples[channel]
            .iter()
            .map(|s| card.value(*s))
            .collect()
    }

    /// Its values between two times.
    pub fn between(&self, channel: usize, from_s: f64, to_s: f64) -> Vec<f64> {
        let rate = self.rendered.capture.card.sample_rate_hz;
        let values = self.values(channel);
        let at = |t: f64| ((t.max(0.0) * rate) as usize).min(values.len());
        values[at(from_s)..at(to_s)].to_vec()
    }

    pub fn leak(&self, index: usize) -> &LeakTruth {
        &self.rendered.truth.leaks[index]
    }
}

/// The bench's scenario with changes.
pub fn bench(changes: &str) -> Source {
    source(CRANKING, changes)
}

/// A scenario text with changes.
pub fn source(text: &str, changes: &str) -> Source {
    let mut tree: Value = serde_yaml::from_str(text).unwrap();
    for change in changes.split(';').filter(|c| !c.is_empty()) {
        let (path, value) = change.split_once('=').unwrap();
        set(&mut tree, path, value);
    }
    Source::parse(
        "bench.yaml",
        serde_yaml::to_string(&tree).unwrap().as_bytes(),
    )
    .unwrap_or_else(|f| panic!("{f}"))
}

fn set(tree: &mut Value, path: &str, value: &str) {
    let mut at = tree;
    let words = path.replace('[', ".[");
    let mut words = words.split('.').peekable();
    while let Some(word) = words.next() {
        let last = words.peek().is_none();
        if let Some(index) = word.strip_prefix('[') {
            let index: usize = index.trim_end_matches(']').parse().unwrap();
            let list = at.as_sequence_mut().unwrap();
            if last && value == "-" {
                list.remove(index);
                return;
            }
            if index == list.len() {
                list.push(Value::Null);
            }
            at = &mut list[index];
        } else {
            if at.is_null() {
                *at = Value::Mapping(Default::default());
            }
            at = at
                .as_mapping_mut()
                .unwrap()
                .entry(Value::String(word.into()))
                .or_insert(Value::Null);
        }
    }
    *at = serde_yaml::from_str(value).unwrap();
}

pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Highest less lowest, after a running mean that takes the noise out.
pub fn spread(values: &[f64]) -> f64 {
    let means: Vec<f64> = values.chunks(50).map(mean).collect();
    means.iter().copied().fold(f64::MIN, f64::max) - means.iter().copied().fold(f64::MAX, f64::min)
}

pub fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let (ma, mb) = (mean(a), mean(b));
    let sum = |f: fn(f64, f64) -> f64| a.iter().zip(b).map(|(x, y)| f(x - ma, y - mb)).sum::<f64>();
    sum(|x, y| x * y) / (sum(|x, _| x * x) * sum(|_, y| y * y)).sqrt()
}
