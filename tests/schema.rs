//! Promise: the printed JSON Schemas accept every file that `check` accepts, and refuse the commonest
//! slips, so that an editor shows them while they are typed.

mod common;

use common::{Bench, SCENARIO, scenario};
use serde_json::Value;
use std::fs;

fn schema() -> Value {
    serde_json::from_str(&Bench::new().done(&["schema"])).unwrap()
}

fn tree(yaml: &str) -> Value {
    serde_yaml::from_str(yaml).unwrap()
}

/// What the schema finds wrong with a scenario.
fn faults(validator: &jsonschema::Validator, tree: &Value) -> Vec<String> {
    let told = |e: jsonschema::ValidationError| format!("{}: {e}", e.instance_path());
    validator.iter_errors(tree).map(told).collect()
}

#[test]
fn the_schema_is_a_schema_that_explains_itself() {
    let schema = schema();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert!(jsonschema::meta::is_valid(&schema));
    let order: Vec<&String> = schema["properties"].as_object().unwrap().keys().collect();
    let keys = [
        "title",
        "teaches",
        "brief",
        "seed",
        "vehicle",
        "faults",
        "test",
        "channels",
        "acquisition",
    ];
    assert_eq!(order, keys);
    let duration = &schema["properties"]["test"]["properties"]["duration"];
    assert_eq!(
        duration["description"],
        "length of the capture. From 0.2 s to 120 s. Default: 4 s"
    );
    assert_eq!(duration["anyOf"][0]["examples"][0], "1 s");
}

#[test]
fn every_shipped_scenario_is_accepted() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let mut seen = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "yaml") {
            let faults = faults(&validator, &tree(&fs::read_to_string(&path).unwrap()));
            assert_eq!(faults, [""; 0], "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen > 0);
    let bench = Bench::new();
    bench.done(&["check", folder]);
}

#[test]
fn what_a_truth_renders_again_is_accepted() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let truth = Bench::rendered().json("out/lesson.truth.json");
    assert_eq!(faults(&validator, &truth["scenario"]), [""; 0]);
}

/// Schema and program agree on a scenario: the first part is what the second says.
#[track_caller]
fn both(text: &str, accept: bool) {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let faults = faults(&validator, &tree(text));
    assert_eq!(faults.is_empty(), accept, "{faults:?}\n{text}");
    let bench = Bench::new();
    bench.write("a.yaml", text);
    let run = bench.run(&["check", "a.yaml"]);
    assert_eq!(run.code, Some(i32::from(!accept)), "{run:?}\n{text}");
}

#[test]
fn distributions_are_accepted_where_a_number_stands() {
    both(SCENARIO, true);
    for words in [
        "{uniform: [1 s, 2 s]}",
        "{log_uniform: [1 s, 2 s]}",
        "{normal: {mean: 1 s, sd: 100 ms}}",
        "{choose: [1 s, 2000 ms]}",
        "0.02 min",
        "1e0s",
    ] {
        both(&scenario("1 s", words), true);
    }
    both(
        &scenario("cylinder: 3", "cylinder: {uniform: [1, 4]}"),
        true,
    );
    both(&scenario("cylinder: 3", "cylinder: {choose: [2, 4]}"), true);
    both(
        &scenario("cylinders: 4,", "cylinders: 4, compression_ratio: 10.5,"),
        true,
    );
    both(
        &scenario("[1, 3, 4, 2]", "{choose: [[1, 3, 4, 2], [1, 2, 4, 3]]}"),
        true,
    );
}

#[test]
fn slips_are_refused() {
    for (part, by) in [
        // Misspelt keys, at every depth.
        ("brief", "breif"),
        ("duration", "durration"),
        ("opens_at", "open_at"),
        ("span", "spam"),
        // A unit missing, unknown or of another quantity.
        ("1 s", "1"),
        ("0.2 mm2", "0.2"),
        ("2 bar", "2 barr"),
        ("2 kHz", "2 m"),
        // A sensor that is unknown, missing, or has another one's field.
        ("coil_trigger", "coil_triger"),
        ("sensor: coil_trigger, ", ""),
        ("cylinder: 1}", "cylinder: 1, span: [0 kPa, 1 kPa]}"),
        // What must be given, and is not.
        ("cylinders: 4, ", ""),
        (", area: 0.2 mm2", ""),
        (", cylinder: 1}", "}"),
        // What is none of the words or numbers there are.
        ("1 s\n", "1 s\n  mode: crankin\n"),
        ("seed: 5", "seed: five"),
        ("cylinder: 3", "cylinder: 0"),
        ("cylinder: 3", "cylinder: {log_uniform: [1, 4]}"),
        ("1 s", "{unifrom: [1 s, 2 s]}"),
        ("1 s", "{uniform: [1 s]}"),
        ("1 s", "{normal: {mean: 1 s, dev: 1 s}}"),
    ] {
        both(&scenario(part, by), false);
    }
}

/// The schema of a kind of file.
fn schema_of(kind: &str) -> jsonschema::Validator {
    let schema: Value = serde_json::from_str(&Bench::new().done(&["schema", kind])).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    jsonschema::validator_for(&schema).unwrap()
}

/// Texts of all shipped files below a folder of `scenarios`, by name.
fn shipped(folder: &str) -> Vec<(String, String)> {
    let folder = format!("{}/scenarios/{folder}", env!("CARGO_MANIFEST_DIR"));
    let paths = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    let files = paths.filter(|p| p.extension().is_some_and(|e| e == "yaml"));
    files
        .map(|p| (p.display().to_string(), fs::read_to_string(&p).unwrap()))
        .collect()
}

#[test]
fn every_shipped_file_is_accepted_as_what_it_is() {
    let [scenario, quiz, plan, job] = ["scenario", "quiz", "plan", "job"].map(schema_of);
    let folders = [
        ("quizzes", &quiz),
        ("corpora", &plan),
        ("corpora/cars", &scenario),
        ("jobs", &job),
    ];
    for (folder, of_folder) in folders {
        let mut seen = 0;
        for (name, text) in shipped(folder) {
            let tree = tree(&text);
            // Scenarios of quizzes lie beside them.
            let is_scenario = tree.get("channels").is_some();
            let validator = if is_scenario { &scenario } else { of_folder };
            assert_eq!(faults(validator, &tree), [""; 0], "{name}");
            seen += usize::from(!is_scenario || folder.ends_with("cars"));
        }
        assert!(seen > 0, "{folder}");
    }
}

/// Schema and program agree on a file that names `lesson.yaml`, or is a job.
#[track_caller]
fn both_of(kind: &str, text: &str, accept: bool) {
    let faults = faults(&schema_of(kind), &tree(text));
    assert_eq!(faults.is_empty(), accept, "{faults:?}\n{text}");
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    bench.write("a.yaml", text);
    let run = bench.run(&["check", "a.yaml"]);
    assert_eq!(run.code, Some(i32::from(!accept)), "{run:?}\n{text}");
}

#[test]
fn slips_in_quizzes_plans_and_jobs_are_refused() {
    let quiz =
        "difficulty: hard\nhealthy: 10 %\nscenarios: [{scenario: lesson.yaml, captures: 3}]\n";
    let plan = "healthy: 10 %\nscenarios: [{scenario: lesson.yaml, weight: 3}]\n";
    let job = shipped("jobs").remove(0).1;
    let words = ["easy", "[0.2, 60 %]", "{choose: [easy, hard]}"];
    for words in words {
        both_of("quiz", &quiz.replace("hard", words), true);
    }
    both_of("plan", plan, true);
    both_of("job", &job, true);
    for (part, by) in [
        ("hard", "esay"),
        ("hard", "[0.2, 3 bar]"),
        ("healthy", "healty"),
        ("10 %", "10 percent"),
        ("captures: 3", "captures: none"),
        (", captures: 3", ""),
        ("scenario: lesson.yaml, ", ""),
        ("scenarios", "recording: {duration: 4}\nscenarios"),
    ] {
        assert!(quiz.contains(part), "{part}");
        both_of("quiz", &quiz.replacen(part, by, 1), false);
    }
    for (part, by) in [
        ("weight", "wieght"),
        ("weight: 3", "weight: 3 kg"),
        ("scenario: lesson.yaml, ", ""),
    ] {
        assert!(plan.contains(part), "{part}");
        both_of("plan", &plan.replacen(part, by, 1), false);
    }
    for (part, by) in [
        ("level:", "levle:"),
        ("level: ", "level: 1"),
        ("places:", "places: 4\n  spots:"),
    ] {
        assert!(job.contains(part), "{part}");
        both_of("job", &job.replacen(part, by, 1), false);
    }
}
