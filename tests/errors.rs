//! Promise: a faulty scenario is refused with its place, the value and a remedy, and leaves nothing
//! behind.

mod common;

use common::{Bench, SCENARIO, scenario};

/// Checks and renders a faulty scenario; both must tell `parts`, and nothing may be written.
#[track_caller]
fn refused(text: impl AsRef<[u8]>, parts: &[&str]) {
    let bench = Bench::new();
    bench.write("bad.yaml", text);
    bench.run(&["check", "bad.yaml"]).refused(1, parts);
    let render = bench.run(&["render", "bad.yaml", "--out", "out", "--plot"]);
    render.refused(2, parts);
    assert_eq!(bench.files(""), ["bad.yaml"]);
    assert!(!bench.path("out").exists(), "an empty folder was made");
}

#[test]
fn the_scenario_itself_is_in_order() {
    let bench = Bench::new();
    bench.write("good.yaml", SCENARIO);
    assert_eq!(bench.done(&["check", "good.yaml"]), "good.yaml: in order\n");
}

#[test]
fn malformed_yaml() {
    refused(
        scenario("firing_order: [1, 3, 4, 2]}", "firing_order: [1, 3}"),
        &[
            "bad.yaml: line 7, column 40: the `[` that opens here is not closed before line 7, column 45",
            "close it with `]`",
        ],
    );
}

#[test]
fn a_tab_for_indentation() {
    refused(
        scenario("  duration", "\tduration"),
        &[
            "bad.yaml: line 12, column 1: a tab indents the line",
            "indent with spaces",
        ],
    );
}

#[test]
fn a_key_that_stands_twice() {
    refused(
        scenario("seed: 5\n", "seed: 5\nbrief: Again.\n"),
        &[
            "bad.yaml: line 5, column 1: ",
            "the key `brief` stands here twice",
        ],
    );
}

#[test]
fn a_tag() {
    refused(
        scenario("1 s", "!seconds 1"),
        &["bad.yaml: line 12, column 13: test.duration: a tag"],
    );
}

#[test]
fn an_unknown_unit() {
    refused(
        scenario("0.2 mm2", "0.2 mm3"),
        &[
            "bad.yaml: line 10, column 27: faults.leaks[0].area: unknown unit `mm3` in `0.2 mm3`",
            "did you mean `0.2 mm2`? Units that fit: m2, cm2, mm2 or in2",
        ],
    );
}

#[test]
fn a_bare_number() {
    refused(
        scenario("1 s", "1"),
        &[
            "bad.yaml: line 12, column 13: test.duration: the bare number 1 needs a unit; units that fit: s, ms, us or min",
        ],
    );
}

#[test]
fn a_misspelt_key() {
    refused(
        scenario("duration", "durration"),
        &[
            "bad.yaml: line 12, column 3: test.durration: unknown key `durration`; did you mean `duration`?",
        ],
    );
}

#[test]
fn a_misspelt_word() {
    refused(
        scenario("coil_trigger", "coil_triger"),
        &[
            "bad.yaml: line 17, column 14: channels[1].sensor: unknown word `coil_triger`; did you mean `coil_trigger`?",
        ],
    );
}

#[test]
fn several_faults_are_told_at_once() {
    let text = SCENARIO
        .replace("seed: 5", "seed: .nan")
        .replace("  name", "  nam")
        .replace("0.2 mm2", "0.2")
        .replace("2 bar", "2 barr")
        .replace("duration: 1 s", "duration: soon")
        .replace("2 kHz", ".inf")
        .replace("cylinder: 1}", "cylinder: 7}");
    refused(
        text,
        &[
            "bad.yaml: line 4, column 7: seed: `.nan`",
            "bad.yaml: line 6, column 3: vehicle.nam: ",
            "bad.yaml: line 10, column 27: faults.leaks[0].area: ",
            "bad.yaml: line 10, column 42: faults.leaks[0].opens_at: ",
            "bad.yaml: line 12, column 13: test.duration: `soon` does not start with a number",
            "bad.yaml: line 14, column 16: acquisition.sample_rate: `.inf` is not a finite number",
            "bad.yaml: line 17, column 38: channels[1].cylinder: there is no cylinder 7",
        ],
    );
}

#[test]
fn a_firing_order_that_misses_a_cylinder() {
    refused(
        scenario("[1, 3, 4, 2]", "[1, 3, 4]"),
        &[
            "bad.yaml: line 7, column 40: vehicle.engine.firing_order: [1, 3, 4] misses cylinder 2; name each cylinder once",
        ],
    );
}

#[test]
fn a_firing_order_that_names_a_cylinder_twice() {
    refused(
        scenario("[1, 3, 4, 2]", "[1, 3, 4, 2, 3]"),
        &[
            "bad.yaml: line 7, column 40: vehicle.engine.firing_order: [1, 3, 4, 2, 3] names cylinder 3 twice",
        ],
    );
}

#[test]
fn a_firing_order_that_is_too_long() {
    refused(
        scenario("[1, 3, 4, 2]", "[1, 3, 4, 2, 5]"),
        &[
            "bad.yaml: line 7, column 40: vehicle.engine.firing_order: [1, 3, 4, 2, 5] names cylinder 5 of an engine of 4",
        ],
    );
}

#[test]
fn a_negative_volume() {
    refused(
        scenario("vehicle:\n", "vehicle:\n  cooling: {air_pocket: -5 mL}\n"),
        &[
            "bad.yaml: line 6, column 25: vehicle.cooling.air_pocket: `-5 mL` is out of range; use 10 mL to 5 L",
        ],
    );
}

#[test]
fn numbers_that_are_not_finite() {
    for word in [".nan", ".inf", "-.inf", "nan s", "1e999 s"] {
        let problem =
            format!("bad.yaml: line 12, column 13: test.duration: `{word}` is not a finite number");
        refused(
            scenario("1 s", word),
            &[&problem, "write a number and a unit: s, ms, us or min"],
        );
    }
    refused(
        scenario("cylinders: 4,", "cylinders: 4, compression_ratio: .nan,"),
        &["vehicle.engine.compression_ratio: `.nan` is not a finite number; write a number"],
    );
}

#[test]
fn an_absurd_duration() {
    refused(
        scenario("1 s", "1e9 s"),
        &[
            "bad.yaml: line 12, column 13: test.duration: `1000000000 s` is out of range; use 0.2 s to 120 s",
        ],
    );
}

#[test]
fn an_absurd_sample_rate() {
    refused(
        scenario("2 kHz", "10 MHz"),
        &[
            "bad.yaml: line 14, column 16: acquisition.sample_rate: `10 MHz` is out of range; use 200 Hz to 1 MHz",
        ],
    );
    refused(
        scenario("2 kHz", "10 GB"),
        &[
            "bad.yaml: line 14, column 16: acquisition.sample_rate: unknown unit `GB` in `10 GB`",
            "Hz, kHz or MHz",
        ],
    );
    refused(
        scenario("2 kHz", "2000.5 Hz"),
        &[
            "bad.yaml: line 14, column 16: acquisition.sample_rate: 2000.5 Hz",
            "whole numbers of hertz",
        ],
    );
}

#[test]
fn a_capture_past_2_gib() {
    let text = SCENARIO.replace("1 s", "120 s").replace("2 kHz", "1 MHz")
        + &"  - {sensor: starter_current}\n".repeat(7);
    refused(
        text,
        &[
            "bad.yaml: line 14, column 16: acquisition.sample_rate: 120 s at 1000000 Hz in 9 channels make 2.01 GiB",
            "stay below 2 GiB",
        ],
    );
}

#[test]
fn deep_yaml() {
    refused(
        "[".repeat(5_000),
        &[
            "bad.yaml: line 1, column 129: recursion limit",
            "mend the YAML",
        ],
    );
    refused(
        "{a: ".repeat(500),
        &["bad.yaml: line 1, column 513: recursion limit"],
    );
    refused(
        "[{a: ".repeat(50_000),
        &["bad.yaml: the file opens 100000 brackets; a scenario has at most 10000; split it"],
    );
}

#[test]
fn an_alias_bomb() {
    let mut many = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for i in 1..30 {
        let of = format!("*a{}", i - 1);
        many += &format!("a{i}: &a{i} [{}]\n", vec![of; 10].join(", "));
    }
    let long = format!(
        "a: &a {}\nb: [{}]\n",
        "x".repeat(500_000),
        "*a, ".repeat(20_000)
    );
    let nothing = format!(
        "a: &a [{}]\nb: [{}]\n",
        "~,".repeat(100_000),
        "*a,".repeat(100_000)
    );
    for text in [many, long, nothing] {
        refused(
            text,
            &[
                "bad.yaml: ",
                "the aliases (`*name`) unfold to too much",
                "write the values out, without aliases",
            ],
        );
    }
}

#[test]
fn files_that_hold_no_scenario() {
    for text in ["", "# only a comment\n", "- 1\n", "42\n"] {
        refused(
            text,
            &["bad.yaml: the file holds no scenario; start from one in scenarios/"],
        );
    }
}

#[test]
fn files_of_other_kinds_are_checked_as_what_they_are() {
    let shipped = |folder: &str| format!("{}/scenarios{folder}", env!("CARGO_MANIFEST_DIR"));
    let folders = ["", "/quizzes", "/jobs", "/corpora", "/corpora/cars"].map(shipped);
    let bench = Bench::new();
    let mut arguments = vec!["check"];
    arguments.extend(folders.iter().map(String::as_str));
    let checked = bench.done(&arguments);
    assert!(checked.lines().all(|line| line.ends_with(": in order")));
    for inside in ["quizzes/first-quiz", "jobs/hill-road", "corpora/mixed"] {
        assert!(checked.contains(inside), "{inside} in {checked}");
    }

    bench.write("lesson.yaml", SCENARIO);
    let kinds = [
        (
            "scenarios: [{scenario: lesson.yaml, captures: 0}]",
            "captures",
            "a quiz file",
        ),
        (
            "scenarios: [{scenario: missing.yaml}]",
            "missing.yaml",
            "the plan of a corpus",
        ),
        (
            "job: {minuets: {}}",
            "unknown key `minuets`",
            "a job to practise on",
        ),
    ];
    for (text, fault, kind) in kinds {
        bench.write("other.yaml", text);
        bench.run(&["check", "other.yaml"]).refused(1, &[fault]);
        let render = bench.run(&["render", "other.yaml", "--out", "out"]);
        render.refused(
            2,
            &["other.yaml: it is ", kind, ", no scenario; name a scenario"],
        );
    }
}

#[test]
fn a_binary_file() {
    let bytes: Vec<u8> = (0..=255).collect();
    refused(
        bytes,
        &["bad.yaml: byte 128: the file is not UTF-8 text; save it as UTF-8"],
    );
    refused(
        b"a: \0\n",
        &["bad.yaml: line 1, column 1: control characters are not allowed"],
    );
}

#[test]
fn a_huge_file() {
    let text = format!("# {}\n{SCENARIO}", "x".repeat(1 << 20));
    let problem = format!("bad.yaml: it has {} bytes", text.len());
    refused(
        text,
        &[&problem, "a file of this kind has at most 1048576 bytes"],
    );
}

#[test]
fn a_leak_in_a_cylinder_that_does_not_exist() {
    refused(
        scenario("cylinder: 3", "cylinder: 9"),
        &[
            "bad.yaml: line 10, column 18: faults.leaks[0].cylinder: there is no cylinder 9; this engine has cylinders 1 to 4",
        ],
    );
}

#[test]
fn shared_coils_on_an_engine_of_three() {
    refused(
        scenario(
            "cylinders: 4, firing_order: [1, 3, 4, 2]",
            "cylinders: 3, firing_order: [1, 2, 3], coils: shared_pairs",
        ),
        &[
            "bad.yaml: line 7, column 58: vehicle.engine.coils: cylinder 1 has no companion",
            "use `one_per_cylinder`",
        ],
    );
}

#[test]
fn an_open_cap_on_a_hot_system() {
    refused(
        scenario(
            "1 s\n",
            "1 s\n  cap: {state: open}\n  coolant_temperature: 95 C\n",
        ),
        &[
            "bad.yaml: line 13, column 16: test.cap.state: the neck is open with coolant at 95 C",
            "let it cool below 50 C",
        ],
    );
}

#[test]
fn a_plug_out_at_idle() {
    refused(
        scenario("1 s\n", "1 s\n  mode: idle\n  plugs_out: [2]\n"),
        &[
            "bad.yaml: line 14, column 14: test.plugs_out: a plug hole stands open on a running engine",
            "`mode: cranking`",
        ],
    );
}

#[test]
fn faulty_distributions() {
    for (words, problem) in [
        (
            "{uniform: [3 s, 1 s]}",
            "`uniform` runs from 3 s to 1 s; put the smaller value first",
        ),
        (
            "{unifrom: [1 s, 3 s]}",
            "unknown distribution `unifrom`; did you mean `uniform`?",
        ),
        (
            "{normal: {mean: 500 s, sd: 1 s}}",
            "`500 s` is out of range; use 0.2 s to 120 s",
        ),
        (
            "{normal: {mean: 5 s, dev: 1 s}}",
            "`normal` knows no `dev`; write ",
        ),
        (
            "{normal: {mean: 5 s, sd: -1 s}}",
            "a standard deviation of -1 s; use one above zero",
        ),
        (
            "{choose: []}",
            "`choose` needs a list with at least one value",
        ),
        ("{choose: [1 s, 1 h]}", "unknown unit `h` in `1 h`"),
    ] {
        let problem = format!("bad.yaml: line 12, column 13: test.duration: {problem}");
        refused(scenario("1 s", words), &[&problem]);
    }
    refused(
        scenario("[0 kPa, 100 kPa]", "[0 kPa, {choose: [100 kPa, 15 pse]}]"),
        &["channels[0].span: unknown unit `pse` in `15 pse`; did you mean `15 psi`?"],
    );
    refused(
        scenario("cylinder: 3", "cylinder: {uniform: [4, 1]}"),
        &["faults.leaks[0].cylinder: `uniform` runs from 4 to 1; put the smaller value first"],
    );
    refused(
        scenario("cylinder: 3", "cylinder: {unifrom: [1, 4]}"),
        &["whole numbers have no distribution `unifrom`; did you mean `uniform`?"],
    );
}

#[test]
fn a_fault_that_only_some_draws_have_is_found() {
    let text = scenario("cylinder: 3", "cylinder: {choose: [1, 2, 3, 4, 5]}");
    let bench = Bench::new();
    bench.write("bad.yaml", &text);
    let part = ["bad.yaml: line 10, column 18: faults.leaks[0].cylinder: there is no cylinder 5"];
    bench.run(&["check", "bad.yaml"]).refused(1, &part);
    let render = ["render", "bad.yaml", "--out", "out", "--count", "40"];
    bench.run(&render).refused(2, &part);
    assert_eq!(bench.files(""), ["bad.yaml"]);
}

#[test]
fn more_leaks_than_the_model_has() {
    let leaks: String = (1..=4)
        .map(|c| format!("    - {{cylinder: {c}, area: 0.2 mm2}}\n"))
        .collect();
    let text = scenario(
        "    - {cylinder: 3, area: 0.2 mm2, opens_at: 2 bar}\n",
        &leaks,
    );
    let four = text.replace(
        "cylinders: 4, firing_order: [1, 3, 4, 2]",
        "cylinders: 5, firing_order: [1, 2, 4, 5, 3]",
    );
    let bench = Bench::new();
    bench.write("four.yaml", &four);
    bench.done(&["check", "four.yaml"]);
    refused(
        four.replace("test:", "    - {cylinder: 5, area: 0.2 mm2}\ntest:"),
        &["bad.yaml: line 10, column 5: faults.leaks: 5 leaks; use at most 4"],
    );
}

#[test]
fn more_heat_than_a_cylinder_holds() {
    let idle = scenario("  duration: 1 s", "  duration: 1 s\n  mode: idle");
    let engine = "firing_order: [1, 3, 4, 2]";
    refused(
        idle.replace(
            engine,
            "firing_order: [1, 3, 4, 2], combustion: {heat: 3 kJ}",
        ),
        &[
            "bad.yaml: line 7, column 73: vehicle.engine.combustion.heat: 3000 J would drive a cylinder of 0.50 L to 205 bar; use at most 1",
            "760 J a litre are usual at idle",
        ],
    );
}

#[test]
fn a_crank_without_inertia() {
    let engine = "firing_order: [1, 3, 4, 2]";
    refused(
        scenario(
            engine,
            "firing_order: [1, 3, 4, 2], bore: 120 mm, inertia: 0.05 kg m2",
        ),
        &[
            "bad.yaml: line 7, column 77: vehicle.engine.inertia: 0.05 kg m2 cannot carry 3.9 L past their compression; use at least 0.08 kg m2",
        ],
    );
}

#[test]
fn a_starter_too_strong_for_its_crank() {
    let light = scenario(
        "firing_order: [1, 3, 4, 2]",
        "firing_order: [1, 3, 4, 2], inertia: 0.1 kg m2",
    );
    let strong = "  starter: {motor_constant: 3 V s/rad, battery_resistance: 1 mohm, starter_resistance: 2 mohm}\nfaults:";
    refused(
        light.replace("faults:", strong),
        &[
            "bad.yaml: line 8, column 29: vehicle.starter.motor_constant: the starter would bring the crank to speed in 0.042 ms",
            "at least 0.1 ms; 50 ms are usual",
        ],
    );
}
