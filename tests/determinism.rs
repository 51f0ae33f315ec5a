//! Promise: the same scenario and seed give the same bytes, whatever is rendered beside them, and a
//! truth renders its capture again.

mod common;

use common::{Bench, SCENARIO};
use waterjacket::domain::Truth;
use waterjacket::render::{Renderer, render};
use waterjacket::scenario::{Drawn, Source};
use waterjacket::storage::open;

/// [`SCENARIO`] with something of every kind left to chance.
fn drill() -> String {
    let mut text = SCENARIO.to_string();
    for (part, by) in [
        ("cylinder: 3", "cylinder: {uniform: [1, 4]}"),
        ("0.2 mm2", "{log_uniform: [0.05 mm2, 0.4 mm2]}"),
        ("2 bar", "{normal: {mean: 3 bar, sd: 1 bar}}"),
        (
            "vehicle:\n",
            "vehicle:\n  cooling:\n    air_pocket: {uniform: [6 fl oz, 400 mL]}\n",
        ),
        ("[1, 3, 4, 2]", "{choose: [[1, 3, 4, 2], [1, 2, 4, 3]]}"),
        (
            "  duration: 1 s",
            "  duration: 1 s\n  cap: {state: {choose: [sealed, relief]}}",
        ),
        ("[0 kPa, 100 kPa]", "[0 kPa, {choose: [100 kPa, 15 psi]}]"),
    ] {
        assert_eq!(text.matches(part).count(), 1, "{part}");
        text = text.replace(part, by);
    }
    text
}

/// Idling with misfires, where the noise of the combustion is drawn as well.
fn idle() -> String {
    SCENARIO
        .replace(
            "duration: 1 s",
            "duration: 1 s\n  mode: idle\n  coolant_temperature: {uniform: [80 C, 195 F]}",
        )
        .replace(
            "faults:\n",
            "faults:\n  misfires: [{cylinder: 2, share: 30 %}]\n",
        )
}

fn bench() -> Bench {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    bench.write("drill.yaml", drill());
    bench.write("idle.yaml", idle());
    bench
}

/// WAV, card and truth of a capture.
fn bytes(bench: &Bench, folder: &str, name: &str) -> [Vec<u8>; 3] {
    ["wav", "card.json", "truth.json"].map(|e| bench.read(&format!("{folder}/{name}.{e}")))
}

#[track_caller]
fn same(bench: &Bench, a: (&str, &str), b: (&str, &str)) {
    let (one, other) = (bytes(bench, a.0, a.1), bytes(bench, b.0, b.1));
    for (i, file) in ["WAV", "card", "truth"].iter().enumerate() {
        assert!(one[i] == other[i], "the {file} of {a:?} and {b:?} differ");
    }
}

#[test]
fn the_same_scenario_and_seed_give_the_same_bytes() {
    let bench = bench();
    for file in ["lesson", "drill", "idle"] {
        let yaml = format!("{file}.yaml");
        for out in ["a", "b"] {
            bench.done(&["render", &yaml, "--out", out]);
            let plot = [
                "render", &yaml, "--count", "3", "--seed", "77", "--plot", "--out", out,
            ];
            bench.done(&plot);
        }
        same(&bench, ("a", file), ("b", file));
        for number in 0..3 {
            let name = format!("{file}-{number:02}");
            same(&bench, ("a", &name), ("b", &name));
            let picture = |out| bench.read(&format!("{out}/{name}.png"));
            assert!(
                picture("a") == picture("b"),
                "the pictures of {name} differ"
            );
        }
    }
}

#[test]
fn a_truth_renders_its_capture_again() {
    let bench = bench();
    for yaml in ["lesson.yaml", "drill.yaml", "idle.yaml"] {
        bench.done(&[
            "render", yaml, "--count", "8", "--seed", "9", "--out", "first",
        ]);
    }
    bench.done(&["render", "first", "--out", "second"]);
    let names: Vec<String> = bench.files("first");
    let names: Vec<&str> = names
        .iter()
        .filter_map(|f| f.strip_suffix(".wav"))
        .collect();
    assert_eq!(names.len(), 24);
    for name in names {
        same(&bench, ("first", name), ("second", name));
    }
}

#[test]
fn draws_differ_from_capture_to_capture() {
    let bench = bench();
    bench.done(&["render", "drill.yaml", "--count", "12", "--out", "out"]);
    let truth = |i| {
        waterjacket::storage::document::read::<Truth>(
            &bench.path(&format!("out/drill-{i:02}.truth.json")),
        )
        .unwrap()
    };
    let truths: Vec<Truth> = (0..12).map(truth).collect();
    for field in [
        "/vehicle/engine/firing_order",
        "/vehicle/cooling/air_pocket",
        "/faults/leaks/0/cylinder",
        "/faults/leaks/0/area",
        "/faults/leaks/0/opens_at",
        "/test/cap/state",
        "/channels/0/span/1",
    ] {
        let mut values: Vec<String> = Vec::new();
        for truth in &truths {
            values.push(truth.scenario.pointer(field).unwrap().to_string());
        }
        values.sort();
        values.dedup();
        assert!(values.len() > 1, "{field} is always {values:?}");
    }
}

#[test]
fn another_seed_gives_other_bytes() {
    let bench = bench();
    bench.done(&["render", "lesson.yaml", "--out", "own"]);
    bench.done(&["render", "lesson.yaml", "--seed", "5", "--out", "five"]);
    bench.done(&["render", "lesson.yaml", "--seed", "6", "--out", "six"]);
    same(&bench, ("own", "lesson"), ("five", "lesson"));
    let wav = |out| bench.read(&format!("{out}/lesson.wav"));
    assert!(wav("own") != wav("six"), "the seed changes nothing");
}

#[test]
fn every_capture_of_a_run_has_noise_of_its_own() {
    let bench = bench();
    bench.done(&["render", "lesson.yaml", "--count", "4", "--out", "out"]);
    let mut wavs: Vec<Vec<u8>> = (0..4)
        .map(|i| bench.read(&format!("out/lesson-{i:02}.wav")))
        .collect();
    wavs.sort();
    wavs.dedup();
    assert_eq!(wavs.len(), 4);
}

#[test]
fn a_channel_added_at_the_end_leaves_the_others_alone() {
    let bench = bench();
    for scenario in [SCENARIO.to_string(), drill(), idle()] {
        bench.write("lesson.yaml", &scenario);
        let more = "  - {sensor: neck_pulse}\n  - {sensor: battery_voltage}\n";
        bench.write("more.yaml", scenario + more);
        bench.done(&["render", "lesson.yaml", "more.yaml", "--out", "out"]);
        let open = |name| open(&bench.path("out").join(name)).unwrap();
        let (own, more) = (open("lesson"), open("more"));
        assert_eq!((own.samples.len(), more.samples.len()), (2, 4));
        assert_eq!(own.samples, more.samples[..2]);
        assert_eq!(own.card.channels, more.card.channels[..2]);
    }
}

#[test]
fn neighbours_and_order_do_not_matter() {
    let bench = bench();
    let count = ["--count", "4"];
    let render = |files: &[&str], rest: &[&str]| {
        bench.done(&[&["render"], files, rest].concat());
    };
    for file in ["idle.yaml", "drill.yaml", "lesson.yaml"] {
        render(&[file], &[&count[..], &["--out", "alone"]].concat());
    }
    render(
        &["lesson.yaml", "drill.yaml", "idle.yaml"],
        &["--count", "4", "--out", "together"],
    );
    render(&["."], &["--count", "9", "--out", "more"]);
    for file in ["lesson", "drill", "idle"] {
        for number in 0..4 {
            let name = format!("{file}-{number:02}");
            same(&bench, ("alone", &name), ("together", &name));
            same(&bench, ("alone", &name), ("more", &name));
        }
    }
}

/// What does not reach the capture must not reach its bytes: the file's name in the tree, comments,
/// the order of the keys and the units in which a value is written.
#[test]
fn the_same_scenario_written_otherwise_gives_the_same_samples() {
    let bench = bench();
    let text = SCENARIO
        .replace("seed: 5\n", "")
        .replace("duration: 1 s", "duration: 1000 ms # a second")
        .replace("2 kHz", "2000 Hz")
        + "seed: 5\n";
    bench.write("other/lesson.yaml", text);
    bench.done(&["render", "lesson.yaml", "--out", "a"]);
    bench.done(&["render", "other/lesson.yaml", "--out", "b"]);
    assert!(bench.read("a/lesson.wav") == bench.read("b/lesson.wav"));
    assert!(bench.read("a/lesson.card.json") == bench.read("b/lesson.card.json"));
}

/// Every lesson and an engine of one cylinder and of twelve with four leaks, the ends of the list in turn:
/// the room that one capture leaves, longer or shorter, is the next one's.
#[test]
fn a_room_used_before_leaves_no_mark() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let mut texts: Vec<(String, Vec<u8>)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .map(|path| (path.display().to_string(), std::fs::read(path).unwrap()))
        .collect();
    texts.sort();
    assert!(texts.len() >= 22);
    texts.insert(0, ("one".into(), ONE.into()));
    texts.push(("twelve".into(), TWELVE.into()));
    let drawn = |(i, (file, text)): (usize, &(String, Vec<u8>))| -> Drawn {
        let duration_s = if i % 3 == 0 { 0.6 } else { 1.3 };
        Source::parse(file, text)
            .and_then(|s| s.draw(None, 0))
            .and_then(|drawn| drawn.edit(|s, _| s.test.duration_s = duration_s))
            .unwrap_or_else(|f| panic!("{f}"))
    };
    let drawn: Vec<Drawn> = texts.iter().enumerate().map(drawn).collect();
    let mut room = Renderer::default();
    for i in 0..drawn.len() {
        for i in [i, drawn.len() - 1 - i] {
            let (used, fresh) = (room.render(&drawn[i], "next"), render(&drawn[i], "next"));
            let file = &texts[i].0;
            assert!(
                used.capture.samples == fresh.capture.samples,
                "the samples of {file}"
            );
            assert!(
                used.capture.card == fresh.capture.card,
                "the card of {file}"
            );
            assert!(used.truth == fresh.truth, "the truth of {file}");
        }
    }
}

const ONE: &str = "
vehicle: {engine: {cylinders: 1, firing_order: [1]}}
channels: [{sensor: neck_pressure}, {sensor: cylinder_pressure, cylinder: 1}]
";

const TWELVE: &str = "
vehicle: {engine: {cylinders: 12, firing_order: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]}}
faults:
  leaks:
    - {cylinder: 1, area: 0.1 mm2, opens_at: 1 bar}
    - {cylinder: 4, area: 0.1 mm2, opens_at: 1 bar}
    - {cylinder: 9, area: 0.1 mm2, opens_at: 1 bar}
    - {cylinder: 12, area: 0.1 mm2, opens_at: 1 bar}
channels:
  - {sensor: neck_pressure}
  - {sensor: probe, of: leak_flow, cylinder: 12}
  - {sensor: probe, of: cylinder_pressure, cylinder: 12}
";
