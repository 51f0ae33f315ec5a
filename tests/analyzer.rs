//! Promise: an analyzer's calls are graded row by row, and two of its versions are held against each other, with exit
//! codes that a pipeline can trust.

mod common;

use common::{Bench, SCENARIO, scenario};
use serde_json::Value;
use waterjacket::domain::Truth;
use waterjacket::formats::key;

/// Twelve captures of a vehicle whose leak is drawn, and a key of them in lines.
fn corpus() -> Bench {
    let bench = Bench::new();
    let drawn = scenario(
        "cylinder: 3, area",
        "cylinder: {choose: [1, 2, 3, 4]}, area",
    );
    bench.write(
        "lesson.yaml",
        drawn.replace("duration: 1 s", "duration: 3 s"),
    );
    bench.done(&["render", "lesson.yaml", "--count", "12", "--out", "corpus"]);
    let truths = bench
        .files("corpus")
        .into_iter()
        .filter(|name| name.ends_with(".truth.json"));
    let lines = truths.map(|name| {
        key::line(
            &waterjacket::storage::document::read::<Truth>(&bench.path("corpus").join(name))
                .unwrap(),
        )
    });
    let lines: Vec<String> = lines.collect();
    bench.write("key/one.key.jsonl", lines[..5].concat());
    bench.write("key/two.key.jsonl", lines[5..].concat());
    bench
}

/// Calls of what each capture supports, but for the first `wrong` of them, as CSV.
fn calls(bench: &Bench, wrong: usize) -> String {
    let mut text = "capture,cylinders,confidence\n".to_string();
    for i in 0..12 {
        let name = format!("lesson-{i:02}");
        let truth = bench.json(&format!("corpus/{name}.truth.json"));
        let supported = truth["evidence"]["supported"][0].as_str().unwrap();
        let call = if i < wrong { "unsure" } else { supported };
        text += &format!("{name},{call},0.9\n");
    }
    text
}

#[test]
fn both_kinds_of_key_and_both_kinds_of_calls_give_the_same_scores() {
    let bench = corpus();
    bench.write("calls.csv", calls(&bench, 3));
    let rows = calls(&bench, 3);
    let lines = rows.lines().skip(1).map(|row| {
        let cells: Vec<&str> = row.split(',').collect();
        let [name, call] = [cells[0], cells[1]];
        format!("{{\"capture\":\"{name}\",\"cylinders\":\"{call}\",\"confidence\":0.9}}\n")
    });
    bench.write("calls.jsonl", lines.collect::<String>());
    let mut all = Vec::new();
    for key in ["corpus", "key"] {
        for calls in ["calls.csv", "calls.jsonl"] {
            let csv = format!("{key}.csv");
            let grade = [
                "grade",
                "--analyzer",
                calls,
                "--key",
                key,
                "--csv",
                &csv,
                "--json",
            ];
            let mut scores: Value = serde_json::from_str(&bench.done(&grade)).unwrap();
            scores["calls"] = Value::Null;
            all.push((scores, bench.read(&csv)));
        }
    }
    assert!(all.iter().all(|one| *one == all[0]));
    assert_eq!(all[0].0["summary"]["right"], 9);
    assert_eq!(all[0].0["format"], "waterjacket scores 1");
    // The key of a class may be lines too.
    let class = bench.done(&["grade", "calls.csv", "--key", "key", "--json"]);
    let class: Value = serde_json::from_str(&class).unwrap();
    assert_eq!(class["summary"]["right"], 9);
}

#[test]
fn too_few_right_fail() {
    let bench = corpus();
    bench.write("calls.csv", calls(&bench, 3));
    let grade = |least: &str| {
        let run = bench.run(&[
            "grade",
            "--analyzer",
            "calls.csv",
            "--key",
            "key",
            "--fail-under",
            least,
        ]);
        (run.code, run.err)
    };
    assert_eq!(grade("75%"), (Some(0), String::new()));
    let told =
        "--fail-under: 75.00 % of the calls are right, and 76.00 % should be; see which were not\n";
    assert_eq!(grade("0.76"), (Some(1), told.into()));
    // A class and a single call are held to it as well.
    let class = ["grade", "calls.csv", "--key", "key", "--fail-under", "0.76"];
    assert_eq!(bench.run(&class).code, Some(1));
    let run = bench.run(&[
        "grade",
        "--analyzer",
        "calls.csv",
        "--key",
        "key",
        "--fail-under",
        "76",
    ]);
    run.refused(2, &["--fail-under", "write 76% or 0.76"]);
}

#[test]
fn faults_of_rows_are_told_by_line_and_the_rest_is_graded() {
    let bench = corpus();
    let mut text = calls(&bench, 0);
    for i in 0..30 {
        text += &format!("strange-{i},3,\n");
    }
    text += "lesson-00,9\n";
    bench.write("calls.csv", text);
    let run = bench.run(&[
        "grade",
        "calls.csv",
        "--analyzer",
        "--key",
        "key",
        "--fail-under",
        "1",
    ]);
    assert_eq!(run.code, Some(2), "{run:?}");
    assert!(
        run.out.contains("right        12, accuracy 100.0 %"),
        "{}",
        run.out
    );
    run.says(&[
        "calls.csv: line 44, capture: \"lesson-00\" already stands on line 2",
        "calls.csv: line 14, capture: there is no capture \"strange-0\" in the key",
        "calls.csv: there are 11 more faults like these",
    ]);
    assert_eq!(run.err.lines().count(), 21);
}

#[test]
fn what_cannot_be_graded_is_refused_and_nothing_is_written() {
    let bench = corpus();
    bench.write("calls.csv", calls(&bench, 0));
    bench.write("bad.csv", "name,cylinders\nlesson-00,3\n");
    bench.write("broken/a.key.jsonl", "{\n");
    bench.write("empty/x.txt", "");
    for (arguments, parts) in [
        (
            &["bad.csv", "--key", "key"][..],
            &["bad.csv: line 1", "column capture is missing"][..],
        ),
        (
            &["none.csv", "--key", "key"],
            &["none.csv", "cannot read it"],
        ),
        (&["calls.csv", "--key", "broken"], &["a.key.jsonl:1"]),
        (
            &["calls.csv", "--key", "empty"],
            &["the folder holds no truths"],
        ),
        (
            &["calls.csv", "calls.csv", "--key", "key"],
            &["grade one analyzer at a time"],
        ),
    ] {
        let options = [
            "grade",
            "--analyzer",
            "--csv",
            "results.csv",
            "--report",
            "report.html",
        ];
        bench
            .run(&[&options[..], arguments].concat())
            .refused(2, parts);
        assert!(!bench.path("results.csv").exists() && !bench.path("report.html").exists());
        assert!(!bench.path(".results.csv.part").exists());
    }
}

#[test]
fn the_report_is_one_quiet_page() {
    let bench = corpus();
    bench.write("calls.csv", calls(&bench, 3) + "<b>&,3,\n");
    let run = bench.run(&[
        "grade",
        "--analyzer",
        "calls.csv",
        "--key",
        "key",
        "--report",
        "report.html",
    ]);
    assert_eq!(run.code, Some(2));
    let page = String::from_utf8(bench.read("report.html")).unwrap();
    for part in [
        "9, accuracy 75.0\u{a0}%",
        "lag, firing intervals",
        "expected calibration error",
        "Engines of 4 cylinders",
        "<svg ",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(page.contains("&lt;b&gt;&amp;") && !page.contains("<b>&"));
    assert!(!page.contains("<script") && !page.contains("http://") && !page.contains("https://"));
}

#[test]
fn a_worse_version_fails_the_comparison() {
    let bench = corpus();
    for (name, wrong) in [("old", 0), ("worse", 8), ("little", 1)] {
        bench.write(&format!("{name}.csv"), calls(&bench, wrong));
        let (calls, results) = (format!("{name}.csv"), format!("{name}-results.csv"));
        bench.done(&[
            "grade",
            "--analyzer",
            &calls,
            "--key",
            "key",
            "--csv",
            &results,
        ]);
    }
    let compare = |old: &str, new: &str, more: &[&str]| {
        let [old, new] = [old, new].map(|name| format!("{name}-results.csv"));
        bench.run(&[&["compare", &old, &new][..], more].concat())
    };
    let same = compare("old", "old", &[]);
    assert_eq!((same.code, same.err.as_str()), (Some(0), ""));
    assert!(same.out.contains("No regression."), "{}", same.out);
    let worse = compare("old", "worse", &["--json"]);
    assert_eq!((worse.code, worse.err.as_str()), (Some(1), ""));
    let told: Value = serde_json::from_str(&worse.out).unwrap();
    assert_eq!(
        (&told["all"]["only_old_right"], &told["all"]["n"]),
        (&8.into(), &12.into())
    );
    // Binomial by hand: 2 / 2^8.
    assert_eq!(told["all"]["p_value"], 2.0 / 256.0);
    assert_eq!(told["newly_wrong"][0], "lesson-00");
    assert_eq!(compare("worse", "old", &[]).code, Some(0));
    assert_eq!(compare("old", "little", &[]).code, Some(0));
    assert_eq!(
        compare("old", "little", &["--max-drop", "5%"]).code,
        Some(1)
    );
    assert_eq!(
        compare("old", "little", &["--significance", "1"]).code,
        Some(0)
    );
    bench
        .run(&["compare", "old.csv", "old-results.csv"])
        .refused(2, &["old.csv: line 1", "grade --analyzer"]);
}

#[test]
fn reference_calls_come_in_one_order_on_any_number_of_threads() {
    let bench = corpus();
    let mut all = Vec::new();
    for threads in ["1", "3"] {
        let mut command = assert_cmd::Command::cargo_bin("waterjacket").unwrap();
        command
            .env("RAYON_NUM_THREADS", threads)
            .current_dir(bench.path(""));
        let output = command.args(["attribute", "corpus"]).output().unwrap();
        assert!(output.status.success() && output.stderr.is_empty());
        all.push(String::from_utf8(output.stdout).unwrap());
    }
    assert_eq!(all[0], all[1]);
    let names: Vec<&str> = all[0]
        .lines()
        .skip(1)
        .map(|line| line.split(',').next().unwrap())
        .collect();
    let due: Vec<String> = (0..12).map(|i| format!("lesson-{i:02}")).collect();
    assert_eq!(names, due);
    // What is printed is what is written.
    assert_eq!(
        bench.done(&["attribute", "corpus", "--out", "calls.csv"]),
        ""
    );
    assert_eq!(bench.read("calls.csv"), all[0].as_bytes());
    let lines = bench.done(&["attribute", "corpus", "--json"]);
    bench.done(&["attribute", "corpus", "--out", "calls.jsonl"]);
    assert_eq!(bench.read("calls.jsonl"), lines.as_bytes());
    bench.done(&["grade", "calls.jsonl", "--key", "key"]);
    // Folders in a folder are read as well, as a corpus has them.
    for name in bench.files("corpus") {
        let part = if name.contains("-0") { "a" } else { "b" };
        bench.write(
            &format!("parts/{part}/{name}"),
            bench.read(&format!("corpus/{name}")),
        );
    }
    assert_eq!(bench.done(&["attribute", "parts"]), all[0]);
}

#[test]
fn a_capture_that_cannot_be_read_is_told_and_the_rest_is_called() {
    let bench = corpus();
    bench.write("corpus/lesson-05.wav", "no");
    std::fs::remove_file(bench.path("corpus/lesson-07.wav")).unwrap();
    let run = bench.run(&["attribute", "corpus", "--out", "calls.csv"]);
    run.refused(2, &["lesson-05.wav", "lesson-07.wav: it is missing"]);
    assert_eq!(
        String::from_utf8(bench.read("calls.csv"))
            .unwrap()
            .lines()
            .count(),
        11
    );
    bench.write("none/x", "");
    let run = bench.run(&["attribute", "none", "--out", "other.csv"]);
    run.refused(2, &["the folder holds no captures"]);
    assert!(!bench.path("other.csv").exists());
}

#[test]
fn the_reference_methods_look_at_no_truth() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    bench.done(&["render", "lesson.yaml", "--out", "out"]);
    let with = bench.done(&["attribute", "out"]);
    bench.write("out/lesson.truth.json", "nonsense");
    assert_eq!(bench.done(&["attribute", "out"]), with);
    std::fs::remove_file(bench.path("out/lesson.truth.json")).unwrap();
    assert_eq!(bench.done(&["attribute", "out"]), with);
}
