//! Promise: no command writes over what it reads, over a capture or over a key; no truth goes where a student or an
//! analyzer looks; and commands that run at once neither mix nor lose their work.

mod common;

use common::{Bench, SCENARIO, scenario};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use waterjacket::digest::sha256_hex;

/// The bytes of all files of a bench, by name.
fn all(bench: &Bench) -> Vec<(String, Vec<u8>)> {
    let names = bench.files(".").into_iter();
    names
        .map(|name| (name.clone(), bench.read(&name)))
        .collect()
}

const TRUTH: &str = "out/lesson.truth.json";
const CARD: &str = "out/lesson.card.json";
const WAV: &str = "out/lesson.wav";

#[test]
fn no_output_is_an_input_a_capture_or_a_key() {
    let bench = Bench::rendered();
    bench.write("calls.csv", "capture,cylinders\nlesson,2\n");
    bench.write(
        "calls.jsonl",
        "{\"capture\":\"lesson\",\"cylinders\":\"2\"}\n",
    );
    bench.write("sheets/ann.csv", "capture,cylinders\nlesson,2\n");
    bench.write(
        "only.key.jsonl",
        serde_json::to_string(&bench.json(TRUTH)).unwrap() + "\n",
    );
    fs::hard_link(bench.path(TRUTH), bench.path("hard.csv")).unwrap();
    fs::hard_link(bench.path(WAV), bench.path("hard.html")).unwrap();
    let mut links = vec!["hard.csv"];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(bench.path(TRUTH), bench.path("soft.csv")).unwrap();
        std::os::unix::fs::symlink(bench.path(CARD), bench.path("soft.html")).unwrap();
        links.push("soft.csv");
    }
    let before = all(&bench);
    let refused = |arguments: &[&str]| {
        let run = bench.run(arguments);
        run.refused(2, &["cannot write it: ", "choose another path"]);
        assert!(all(&bench) == before, "{arguments:?}");
    };
    for out in [
        TRUTH,
        CARD,
        WAV,
        "calls.csv",
        "./calls.csv",
        "out/../calls.csv",
    ]
    .iter()
    .chain(&links)
    {
        refused(&["grade", "calls.csv", "--key", "out", "--csv", out]);
        refused(&["grade", "calls.csv", "--key", "out", "--report", out]);
        refused(&[
            "grade",
            "--analyzer",
            "calls.csv",
            "--key",
            "out",
            "--csv",
            out,
        ]);
        refused(&[
            "grade",
            "--analyzer",
            "calls.csv",
            "--key",
            "out",
            "--report",
            out,
        ]);
    }
    refused(&[
        "grade",
        "calls.csv",
        "--key",
        "out",
        "--csv",
        "a",
        "--report",
        "./a",
    ]);
    refused(&["grade", "sheets", "--key", "out", "--csv", "sheets/ann.csv"]);
    refused(&[
        "grade",
        "calls.jsonl",
        "--key",
        "out",
        "--csv",
        "calls.jsonl",
    ]);
    refused(&[
        "grade",
        "calls.csv",
        "--key",
        "only.key.jsonl",
        "--csv",
        "only.key.jsonl",
    ]);
    for out in [TRUTH, CARD, WAV].iter().chain(&links) {
        refused(&["attribute", "out", "--out", out]);
        refused(&["attribute", "out/lesson", "--out", out]);
        refused(&["export", "out/lesson", "--out", out]);
        refused(&[
            "sweep",
            "lesson.yaml",
            "faults.leaks[0].area",
            "0.1 mm2..0.2 mm2",
            "--steps",
            "2",
            "--out",
            if links.contains(out) {
                "lesson.yaml"
            } else {
                out
            },
        ]);
    }
    refused(&["page", "out", "--out", "hard.html"]);
    #[cfg(unix)]
    refused(&["page", "out/lesson", "--out", "soft.html"]);
    // A picture or a page whose place is a link to what it shows.
    #[cfg(unix)]
    for (name, command) in [("lesson.png", "plot"), ("lesson.debrief.png", "explain")] {
        let link = bench.path(&format!("out/{name}"));
        std::os::unix::fs::symlink(bench.path(WAV), &link).unwrap();
        bench
            .run(&[command, "out/lesson"])
            .refused(2, &["cannot write it: "]);
        fs::remove_file(link).unwrap();
        assert!(all(&bench) == before, "{command}");
    }
    // A truth renders its capture elsewhere, not over itself.
    refused(&["render", TRUTH, "--out", "out"]);
}

#[test]
fn what_a_command_wrote_before_is_written_anew() {
    let bench = Bench::rendered();
    bench.write("calls.csv", "capture,cylinders\nlesson,2\n");
    for arguments in [
        &["plot", "out"][..],
        &["explain", "out/lesson"],
        &["page", "out", "--out", "out/page.html"],
        &["attribute", "out", "--out", "out/calls.csv"],
        &["export", "out/lesson", "--out", "out/lesson.csv"],
        &[
            "grade",
            "calls.csv",
            "--key",
            "out",
            "--csv",
            "out/results.csv",
            "--report",
            "out/class.html",
        ],
        &["render", "lesson.yaml", "--out", "out", "--plot"],
    ] {
        for _ in 0..2 {
            bench.done(arguments);
        }
    }
}

/// A pack with one capture, as `quiz` builds it.
fn pack(bench: &Bench) {
    bench.write(
        "quiz.yaml",
        "title: One\nseed: 3\nscenarios: [{scenario: lesson.yaml, captures: 1}]\n",
    );
    bench.write("lesson.yaml", SCENARIO);
    bench.done(&["quiz", "quiz.yaml", "--out", "pack"]);
}

#[test]
fn no_truth_goes_where_students_and_analyzers_look() {
    let bench = Bench::new();
    pack(&bench);
    bench.write(
        "plan.yaml",
        "title: One\nscenarios: [{scenario: lesson.yaml}]\n",
    );
    bench.done(&["corpus", "plan.yaml", "--count", "2", "--out", "corpus"]);
    bench.done(&["practice", "start", "hill-road", "--in", "job"]);
    // A student's folder alone, as a class gets it.
    for file in bench.files("pack/student") {
        bench.write(
            &format!("handed-out/{file}"),
            bench.read(&format!("pack/student/{file}")),
        );
    }
    let before = all(&bench);
    for folder in [
        "pack/student",
        "pack/student/deeper",
        "handed-out",
        "corpus/captures",
        "corpus/captures/0000",
        "job",
    ] {
        for arguments in [
            &["render", "lesson.yaml", "--out", folder][..],
            &["render", "lesson.yaml", "--out", "new", "--truths", folder],
            &["corpus", "plan.yaml", "--index", "1", "--out", folder],
        ] {
            bench.run(arguments).refused(
                2,
                &[
                    folder,
                    "no truth goes there",
                    "name another folder for the truths",
                ],
            );
        }
    }
    assert!(all(&bench) == before);
    // A truth on its own side, and the mixed folder of a lesson.
    bench.done(&[
        "render",
        "lesson.yaml",
        "--out",
        "handed-out",
        "--truths",
        "pack/key",
    ]);
    assert!(
        bench.path("handed-out/lesson.card.json").exists()
            && bench.path("pack/key/lesson.truth.json").exists()
    );
    assert!(!bench.path("handed-out/lesson.truth.json").exists());
    bench.write("lessons/calls.csv", "capture,cylinders\nlesson,2\n");
    bench.done(&["render", "lesson.yaml", "--out", "lessons"]);
    let listed = bench.done(&[
        "render",
        "lesson.yaml",
        "--out",
        "a",
        "--truths",
        "b",
        "--json",
    ]);
    let listed: serde_json::Value = serde_json::from_str(&listed).unwrap();
    assert_eq!(
        listed[0]["truth"],
        Path::new("b").join("lesson.truth.json").to_str().unwrap()
    );
}

/// Runs commands of the program at the same time; tells which were done.
fn at_once(bench: &Bench, commands: &[Vec<&str>]) -> Vec<bool> {
    let start = |arguments: &Vec<&str>| {
        Command::new(assert_cmd::cargo::cargo_bin("waterjacket"))
            .current_dir(bench.path(""))
            .args(arguments)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    };
    let running: Vec<_> = commands.iter().map(start).collect();
    running
        .into_iter()
        .map(|mut child| child.wait().unwrap().success())
        .collect()
}

#[test]
fn of_orders_given_at_once_none_is_lost() {
    let bench = Bench::new();
    bench.done(&["practice", "start", "hill-road", "--in", "job"]);
    let mut done = 0;
    for _ in 0..3 {
        let order = vec![
            "practice",
            "order",
            "--in",
            "job",
            "--duration",
            "1 s",
            "--sync",
            "coil:1",
        ];
        let ends = at_once(&bench, &[order.clone(), order.clone(), order]);
        done += ends.iter().filter(|done| **done).count();
        assert_eq!(
            bench.json("job/job.json")["orders"]
                .as_array()
                .unwrap()
                .len(),
            done
        );
    }
    assert!(done >= 3, "at least one of three is done each time");
    assert!(!bench.files("job").iter().any(|f| f.starts_with('.')));
}

#[test]
fn of_renders_into_one_folder_each_capture_is_whole() {
    let bench = Bench::new();
    for (folder, seed) in [("a", "5"), ("b", "6"), ("c", "7")] {
        bench.write(
            &format!("{folder}/lesson.yaml"),
            scenario("seed: 5", &format!("seed: {seed}")),
        );
    }
    let render = |scenarios| vec!["render", scenarios, "--count", "20", "--out", "out"];
    let ends = at_once(&bench, &["a", "b", "c"].map(render));
    assert_eq!(ends, [true; 3]);
    for i in 0..20 {
        let truth = bench.json(&format!("out/lesson-{i:02}.truth.json"));
        let wav = bench.read(&format!("out/lesson-{i:02}.wav"));
        assert_eq!(truth["wav_sha256"], sha256_hex(&wav[..]).unwrap(), "{i}");
    }
    assert_eq!(bench.files("out").len(), 60);
}

#[cfg(unix)]
#[test]
fn what_a_killed_render_left_goes_with_the_next() {
    let bench = Bench::rendered();
    bench.write("out/.lesson.wav.x7Yz01.part", "half");
    bench.done(&["render", "lesson.yaml", "--out", "out"]);
    assert_eq!(bench.files("out").len(), 3);
}
