//! Promise: slips of the pen get the words that mend them, with the line of the file and a caret under the
//! slip, in every file that a person writes.

mod common;

use common::{Bench, SCENARIO, scenario};
use serde_json::Value;

/// What `check` says of a file.
#[track_caller]
fn told(text: &str) -> String {
    let bench = Bench::new();
    bench.write("a.yaml", text);
    let run = bench.run(&["check", "a.yaml"]);
    assert_eq!(run.code, Some(1), "{run:?}");
    run.says(&["a.yaml: "]);
    run.err
}

/// The scenario with one part replaced is refused with these very words.
#[track_caller]
fn slip(part: &str, by: &str, words: &str) {
    let told = told(&scenario(part, by));
    assert!(told.contains(words), "no {words:?} in\n{told}");
}

#[test]
fn yaml_that_is_nearly_right() {
    for (part, by, words) in [
        (
            "  duration",
            "\tduration",
            "a.yaml: line 12, column 1: a tab indents the line; indent with spaces; YAML takes no tabs there\n\
             \x20 12 |  duration: 1 s\n     | ^\n",
        ),
        (
            "sample_rate: 2 kHz",
            "bits: 12\n  sample_rate 2 kHz",
            "a.yaml: line 15, column 3: no colon behind the key `sample_rate`; write `sample_rate: 2 kHz`\n\
             \x20 15 |   sample_rate 2 kHz\n     |   ^\n",
        ),
        (
            "sample_rate: 2 kHz",
            "bits: 12\n  sample_rate:2 kHz",
            "line 15, column 3: no space behind the colon of `sample_rate`; write `sample_rate: 2 kHz`",
        ),
        (
            "sample_rate: 2 kHz",
            "sample_rate 2 kHz\n  bits: 12",
            "line 14, column 3: no colon behind the key `sample_rate`; write `sample_rate: 2 kHz`",
        ),
        (
            "duration: 1 s",
            "duration 1 s",
            "line 12, column 3: test: `duration 1 s` where a section belongs; write `duration: 1 s`",
        ),
        (
            "cylinder: 3",
            "cylinder 3",
            "faults.leaks[0].cylinder 3: unknown key `cylinder 3`; write `cylinder: 3`",
        ),
        (
            "4, 2]}",
            "4, 2}",
            "line 7, column 40: the `[` that opens here is not closed before line 7, column 51; close it with `]`",
        ),
        (
            "4, 2]}",
            "4, 2]",
            "line 7, column 11: the `{` that opens here is not closed before line 8, column 1; close it with `}`",
        ),
        (
            "title: A short lesson",
            "title: \"A short lesson",
            "line 1, column 8: the quotation mark that opens here is not closed",
        ),
        (
            "brief: It boils",
            "brief: he says: it boils: often",
            "line 3, column 15: a second colon in one line; put the text in quotation marks",
        ),
    ] {
        slip(part, by, words);
    }
}

#[test]
fn numbers_as_others_write_them() {
    for (part, by, words) in [
        (
            "duration: 1 s",
            "duration: 1,5 s",
            "a.yaml: line 12, column 13: test.duration: `1,5 s` has a decimal comma; write a decimal point: `1.5 s`\n\
             \x20 12 |   duration: 1,5 s\n     |             ^\n",
        ),
        (
            "area: 0.2 mm2",
            "area: 0,2 mm2",
            "line 10, column 27: faults.leaks[0].area: a decimal comma begins another key in braces; \
             write a decimal point: `0.2 mm2`",
        ),
        (
            "sample_rate: 2 kHz",
            "sample_rate: 2,000 Hz",
            "`2,000 Hz` has a decimal comma; write a decimal point: `2.000 Hz`, and nothing between thousands: `2000 Hz`",
        ),
        (
            "cylinders: 4,",
            "cylinders: 4, compression_ratio: 18:1,",
            "line 7, column 45: vehicle.engine.compression_ratio: `18:1` has a colon; write the ratio to one, `18`",
        ),
    ] {
        slip(part, by, words);
    }
}

#[test]
fn units_as_others_write_them() {
    let air = |by: &str| format!("vehicle:\n  cooling: {{air_pocket: {by}}}\n");
    for (by, words) in [
        (
            "5 gal",
            "`5 gal` is out of range; use 10 mL to 5 L (0.00265 gal to 1.32 gal)",
        ),
        (
            "2 gallons",
            "unknown unit `gallons` in `2 gallons`; did you mean `2 gal`?",
        ),
        ("180 cc", "did you mean `180 mL`?"),
        ("180 ml", "did you mean `180 mL`?"),
        ("1 Liter", "did you mean `1 L`?"),
        ("180 cm³", "did you mean `180 cm3`?"),
    ] {
        slip("vehicle:\n", &air(by), words);
    }
    slip("1 s", "1 sec", "did you mean `1 s`?");
    slip("1 s", "2 seconds", "did you mean `2 s`?");
    slip("2 bar", "30 PSI", "did you mean `30 psi`?");
    let test = |by: &str| format!("1 s\n  {by}\n");
    slip(
        "1 s\n",
        &test("coolant_temperature: 20 °C"),
        "did you mean `20 C`?",
    );
    slip("1 s\n", &test("rest_angle: 20°"), "did you mean `20 deg`?");
}

/// An end of a range that is told in another unit can be used as it is told.
#[test]
fn ranges_in_other_units_hold() {
    let air = |by: &str| {
        let by = format!("vehicle:\n  cooling: {{air_pocket: {by}}}\n");
        scenario("vehicle:\n", &by)
    };
    for unit in ["gal", "fl oz", "in3", "qt", "cm3"] {
        let told = told(&air(&format!("1000000 {unit}")));
        let (_, ends) = told.split_once(" (").unwrap();
        let (low, high) = ends.split_once(')').unwrap().0.split_once(" to ").unwrap();
        let bench = Bench::new();
        for end in [low, high] {
            bench.write("a.yaml", air(end));
            bench.done(&["check", "a.yaml"]);
        }
    }
}

#[test]
fn words_as_others_say_them() {
    let engine = |by: &str| format!("cylinders: 4, {by},");
    for (by, words) in [
        (
            "layout: boxer",
            "unknown word `boxer`; did you mean `flat`?",
        ),
        ("layout: V", "did you mean `vee`?"),
        ("layout: straight", "did you mean `inline`?"),
        ("coils: wasted spark", "did you mean `shared_pairs`?"),
    ] {
        slip("cylinders: 4,", &engine(by), words);
    }
    slip("1 s\n", "1 s\n  mode: running\n", "did you mean `idle`?");
    slip(
        "1 s\n",
        "1 s\n  ignition: off\n",
        "did you mean `disabled`?",
    );
}

#[test]
fn every_file_of_a_person_is_shown() {
    let quiz = "title: A\nscenarios:\n  - {scenario: lesson.yaml, captures: 0}\n";
    assert_eq!(
        told(quiz).lines().take(3).collect::<Vec<_>>(),
        [
            "a.yaml: line 3, column 39: scenarios[0].captures: `0` where a whole number belongs; \
             write a whole number from 1 to 200",
            "  3 |   - {scenario: lesson.yaml, captures: 0}",
            "    |                                       ^",
        ]
    );
    let plan = "healthy: 120 %\nscenarios:\n  - {scenario: lesson.yaml, weight: 1}\n";
    assert!(told(plan).contains("a.yaml: line 1, column 10: healthy: `120 %` is out of range"));
    let job = format!("{SCENARIO}job:\n  level: 6\n");
    let told = told(&job);
    for words in [
        "a.yaml: line 19, column 10: job.level: `6` where a whole number belongs",
        "  19 |   level: 6\n     |          ^\n",
    ] {
        assert!(told.contains(words), "no {words:?} in\n{told}");
    }
}

/// A line that is long, or has what a terminal obeys, is cut and cleaned.
#[test]
fn a_line_is_shown_as_far_as_it_helps() {
    let long = format!("brief: {}\n", "x".repeat(3000));
    let told = told(&SCENARIO.replace(
        "brief: It boils over on the hill.\n",
        &long.replace("x\n", "x: \u{85}\n"),
    ));
    let line = told.lines().nth(1).unwrap();
    assert!(line.chars().count() < 120, "{line}");
    assert!(
        !told.chars().any(|c| c.is_control() && c != '\n'),
        "{told:?}"
    );
    let caret = told.lines().nth(2).unwrap().chars().count();
    assert!(caret < 80, "{caret}");
}

#[test]
fn faults_are_data() {
    let bench = Bench::new();
    bench.write("a.yaml", scenario("1 s", "1"));
    let run = bench.run(&["check", "a.yaml", "--json"]);
    let json: Value = serde_json::from_str(&run.out).unwrap();
    let fault = serde_json::json!({
        "kind": "value",
        "place": "a.yaml",
        "line": 12,
        "column": 13,
        "path": "test.duration",
        "value": "1",
        "problem": "the bare number 1 needs a unit",
        "remedy": "units that fit: s, ms, us or min",
    });
    assert_eq!(json[0]["faults"][0], fault);
    let kind = |text: String| {
        bench.write("a.yaml", text);
        let run = bench.run(&["check", "a.yaml", "--json"]);
        let json: Value = serde_json::from_str(&run.out).unwrap();
        json[0]["faults"][0]["kind"].as_str().unwrap().to_string()
    };
    assert_eq!(kind(scenario("duration", "durration")), "key");
    assert_eq!(kind(scenario("area: 0.2 mm2, ", "")), "missing");
    assert_eq!(kind(scenario("1 s", "1000 s")), "range");
    assert_eq!(kind(scenario("cylinder: 3", "cylinder: 9")), "conflict");
    assert_eq!(kind(scenario("4, 2]", "4, 2")), "syntax");
}
