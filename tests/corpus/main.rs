//! Promise: a capture of a corpus depends on plan, seed and index alone, whatever the split, the threads
//! and the interrupts; a corpus knows its files again; and nothing an analyzer may read gives the key
//! away.

#[path = "../common/mod.rs"]
mod common;
mod content;
mod refusals;
mod runs;
mod splits;

use common::Bench;
use serde_json::Value;
use std::collections::BTreeMap;

/// A quick vehicle with most of it left to chance. All of it is invented.
const CAR: &str = "\
title: The giveaway title
teaches: The giveaway lesson.
brief: It boils over on the hill.
vehicle:
  name: Pellworth Four (invented)
  engine:
    cylinders: 4
    firing_order: [1, 3, 4, 2]
    compression_ratio: {uniform: [9.5, 10.5]}
  cooling: {air_pocket: {log_uniform: [100 mL, 500 mL]}}
faults:
  leaks:
    - {cylinder: {choose: [1, 2, 3, 4]}, area: {uniform: [0.05 mm2, 0.2 mm2]}, opens_at: {choose: [1 bar, 20 bar]}}
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa]}
  - {sensor: coil_trigger, cylinder: 1}
";

const PLAN: &str = "\
title: A quick corpus
seed: 7
healthy: 20 %
recording: {duration: 1 s, sample_rate: 2 kHz}
scenarios:
  - {scenario: cars/four.yaml, weight: 2}
  - {scenario: \"cars/*-three.yaml\"}
";

/// A bench with a plan of two cars.
fn bench() -> Bench {
    let bench = Bench::new();
    let three = CAR
        .replace("cylinders: 4", "cylinders: 3")
        .replace("[1, 3, 4, 2]", "[1, 2, 3]")
        .replace("[1, 2, 3, 4]", "[1, 2, 3]")
        + "  - {sensor: starter_current}\n";
    bench.write("cars/four.yaml", CAR);
    bench.write("cars/inline-three.yaml", three);
    bench.write("plan.yaml", PLAN);
    bench
}

/// `corpus plan.yaml` with more arguments, divided by blanks.
fn arguments(more: &str) -> Vec<&str> {
    let mut all = vec!["corpus", "plan.yaml"];
    all.extend(more.split_whitespace());
    all
}

fn done(bench: &Bench, more: &str) -> String {
    bench.done(&arguments(more))
}

/// All files of a corpus that do not depend on the split, by name.
fn captures(bench: &Bench, out: &str) -> BTreeMap<String, Vec<u8>> {
    let files = bench.files(out).into_iter();
    files
        .filter(|f| {
            let by_shard = f.contains("shard-") || f.starts_with("manifest");
            !by_shard && f != "corpus.json"
        })
        .map(|f| (f.clone(), bench.read(&format!("{out}/{f}"))))
        .collect()
}

/// The keys of all shards, one behind the other.
fn key(bench: &Bench, out: &str) -> String {
    let files = bench.files(out).into_iter();
    let keys = files.filter(|f| f.ends_with(".key.jsonl"));
    keys.map(|f| String::from_utf8(bench.read(&format!("{out}/{f}"))).unwrap())
        .collect()
}

fn merged(bench: &Bench, out: &str) -> Value {
    let text = bench.done(&["corpus", "--merge", "--json", "--out", out]);
    serde_json::from_str(&text).unwrap()
}

/// The captures that the second line of a run tells of: all, rendered now, there before.
fn told(printed: &str) -> [u64; 3] {
    let line = printed.lines().nth(1).unwrap();
    let words = line.split([' ', ',']).filter_map(|w| w.parse().ok());
    words.collect::<Vec<u64>>().try_into().expect(line)
}
