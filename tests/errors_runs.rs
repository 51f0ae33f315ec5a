//! Promise: folders, file names and options that are wrong are refused before anything is written,
//! and an interrupt leaves whole captures only.

mod common;

use common::{Bench, SCENARIO, scenario};
use std::fs;

#[test]
fn the_faults_of_all_files_are_told_at_once() {
    let bench = Bench::new();
    bench.write("a.yaml", scenario("1 s", "1"));
    bench.write("b.yaml", SCENARIO);
    bench.write("c.yaml", "");
    let parts = [
        "a.yaml: line 12, column 13: test.duration",
        "c.yaml: the file holds no scenario",
    ];
    let check = bench.run(&["check", "."]);
    assert_eq!(
        (check.code, check.out.as_str()),
        (Some(1), "./b.yaml: in order\n")
    );
    check.says(&parts);
    bench
        .run(&["render", ".", "--out", "out"])
        .refused(2, &parts);
    assert!(!bench.path("out").exists());
}

#[test]
fn folders_without_what_is_asked_for() {
    let bench = Bench::new();
    fs::create_dir(bench.path("bare")).unwrap();
    let parts = [
        "bare: the folder holds no scenarios",
        "; name another folder",
    ];
    bench.run(&["check", "bare"]).refused(2, &parts);
    bench
        .run(&["render", "bare", "--out", "out"])
        .refused(2, &parts);
    bench
        .run(&["plot", "bare"])
        .refused(2, &["bare: the folder holds no captures; render some"]);
    bench
        .run(&["check", "none.yaml"])
        .refused(2, &["none.yaml: cannot read it: ", "check the name"]);
    assert_eq!(bench.files(""), [""; 0]);
}

#[test]
fn an_out_folder_that_cannot_be() {
    let bench = Bench::rendered();
    bench.write("file", "");
    let before = bench.files("");
    for arguments in [
        &["render", "lesson.yaml", "--out", "file/below"][..],
        &["render", "lesson.yaml", "--out", "file"],
        &["plot", "out/lesson", "--out", "file/below"],
        &["explain", "out/lesson", "--out", "file/below"],
        &["export", "out/lesson", "--out", "file/table.csv"],
    ] {
        bench
            .run(arguments)
            .refused(2, &["file", ": cannot ", "; choose another path"]);
    }
    assert_eq!(bench.files(""), before);
    assert_eq!(bench.read("file"), b"");
}

#[test]
fn what_stands_in_the_way_of_one_file_stops_its_whole_capture() {
    for ending in ["wav", "card.json", "truth.json"] {
        let bench = Bench::new();
        bench.write("lesson.yaml", SCENARIO);
        let name = format!("out/lesson.{ending}");
        fs::create_dir_all(bench.path(&name)).unwrap();
        let problem = format!("{name}: cannot write it: a folder of this name is there; choose");
        bench
            .run(&["render", "lesson.yaml", "--out", "out"])
            .refused(2, &[&problem]);
        assert_eq!(bench.files("out"), [""; 0], "{ending}");
    }
}

#[test]
fn two_scenarios_of_one_capture_name() {
    let bench = Bench::new();
    bench.write("a/lesson.yaml", SCENARIO);
    bench.write("b/lesson.yaml", SCENARIO);
    bench.write("b/LESSON.yml", SCENARIO);
    let problem = "b/lesson.yaml: it would make a capture `lesson-00`, and so would a/lesson.yaml; rename one";
    let both = [
        "render",
        "a/lesson.yaml",
        "b/lesson.yaml",
        "--count",
        "5",
        "--out",
        "out",
    ];
    let run = bench.run(&both);
    run.refused(2, &[problem]);
    assert_eq!(run.err.lines().count(), 1, "{}", run.err);
    bench
        .run(&["render", "a/lesson.yaml", "b/LESSON.yml", "--out", "out"])
        .refused(2, &["b/LESSON.yml: it would make a capture `LESSON`"]);
    assert!(!bench.path("out").exists());
}

#[test]
fn a_file_name_that_no_capture_can_have() {
    let bench = Bench::rendered();
    bench.write("a lesson.yaml", SCENARIO);
    fs::copy(
        bench.path("out/lesson.truth.json"),
        bench.path("a lesson.truth.json"),
    )
    .unwrap();
    for file in ["a lesson.yaml", "a lesson.truth.json"] {
        let run = bench.run(&["render", "lesson.yaml", file, "--out", "again"]);
        run.refused(
            2,
            &[
                file,
                "capture name \"a lesson\": it contains ' '; use ASCII letters",
            ],
        );
    }
    assert!(!bench.path("again").exists());
}

#[test]
fn unknown_commands_and_options() {
    let bench = Bench::rendered();
    let before = bench.files("");
    for (arguments, parts) in [
        (&["rendr"][..], &["'rendr'", "'render'", "--help"][..]),
        (
            &["render", "lesson.yaml", "--cuont", "3"],
            &["'--cuont'", "'--count'", "--help"],
        ),
        (
            &["render", "lesson.yaml", "--count", "0"],
            &["'0'", "--count", "1..=10000", "--help"],
        ),
        (
            &["render", "lesson.yaml", "--seed", "-1"],
            &["'-1'", "--seed", "--help"],
        ),
        (&["render"], &["<SCENARIO>", "--help"]),
        (
            &["plot", "out/lesson", "--theme", "drak"],
            &["'drak'", "--theme", "'dark'"],
        ),
        (&[], &["Usage: waterjacket <COMMAND>"]),
        (
            &["export", "out/lesson", "--every", "0"],
            &["lesson: every 0th sample", "ask for every 1st"],
        ),
    ] {
        bench.run(arguments).refused(2, parts);
    }
    assert_eq!(bench.files(""), before);
}

#[test]
fn sweeps_of_what_cannot_be_swept() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    bench.write("file", "");
    let pocket = "vehicle.cooling.air_pocket";
    for (field, range, part) in [
        (
            "vehicle.cooling.air_poket",
            "50 mL..90 mL",
            "did you mean `air_pocket`?",
        ),
        (
            "faults.leaks[7].area",
            "0.1..0.2 mm2",
            "lesson.yaml: no field `faults.leaks[7].area`; write it like",
        ),
        (
            pocket,
            "50..90",
            "lesson.yaml: vehicle.cooling.air_pocket: the bare number 50 needs a unit",
        ),
        (
            pocket,
            "1..90 mL",
            "lesson.yaml: vehicle.cooling.air_pocket: `1 mL` is out of range; use 10 mL to 5 L",
        ),
        (
            pocket,
            "90..50 mL",
            "range `90..50 mL`: it runs from 90 to 50; write `50 mL..1500 mL`",
        ),
        (
            pocket,
            "nan..50 mL",
            "range `nan..50 mL`: an end is not a number; write",
        ),
        (pocket, "50 mL", "range `50 mL`: it has no `..`; write"),
    ] {
        let sweep = ["sweep", "lesson.yaml", field, range, "--out", "air.png"];
        bench.run(&sweep).refused(2, &[part]);
    }
    let sweep = [
        "sweep",
        "lesson.yaml",
        pocket,
        "50..90 mL",
        "--steps",
        "2",
        "--out",
        "file/air.png",
    ];
    bench.run(&sweep).refused(
        2,
        &["file/air.png: cannot write it: ", "choose another path"],
    );
    let leak = "    - {cylinder: 3, area: 0.2 mm2, opens_at: 2 bar}\n";
    bench.write("sound.yaml", scenario(leak, ""));
    let sweep = [
        "sweep",
        "sound.yaml",
        pocket,
        "50..90 mL",
        "--out",
        "air.png",
    ];
    bench.run(&sweep).refused(
        2,
        &["sound.yaml: the vehicle has no leak to follow; sweep a scenario with a leak"],
    );
    assert_eq!(bench.files(""), ["file", "lesson.yaml", "sound.yaml"]);
}

#[cfg(target_os = "linux")]
#[test]
fn nobody_to_tell() {
    let bench = Bench::new();
    bench.write("bad.yaml", scenario("1 s", "1"));
    for (command, code) in [("check", 1), ("render", 2)] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let status = std::process::Command::new(assert_cmd::cargo::cargo_bin("waterjacket"))
            .current_dir(bench.path(""))
            .args([command, "bad.yaml"])
            .stderr(full)
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(code), "{command}");
    }
}

/// A pipe would block for ever, and a device might never end.
#[cfg(target_os = "linux")]
#[test]
fn pipes_and_devices() {
    let bench = Bench::rendered();
    let parts = ["/dev/zero: it is a pipe or device; give the path of a file"];
    bench.run(&["check", "/dev/zero"]).refused(1, &parts);
    bench
        .run(&["grade", "/dev/zero", "--key", "out"])
        .refused(2, &parts);
}

#[cfg(unix)]
#[test]
fn an_interrupt_leaves_whole_captures_only() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    let child = Command::new(assert_cmd::cargo::cargo_bin("waterjacket"))
        .current_dir(bench.path(""))
        .args(["render", "lesson.yaml", "--count", "5000", "--out", "out"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    while bench.files("out").len() < 12 {
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "nothing is rendered"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    let pid = child.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-INT", &pid])
            .status()
            .unwrap()
            .success()
    );
    let output = child.wait_with_output().unwrap();
    let run = common::Run {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    };
    run.refused(
        2,
        &[
            "interrupted: ",
            "of 5000 captures are whole; run the command again",
        ],
    );
    let files = bench.files("out");
    let names: Vec<&str> = files
        .iter()
        .filter_map(|f| f.strip_suffix(".wav"))
        .collect();
    assert!(names.len() >= 4 && names.len() < 5000, "{}", names.len());
    assert!(
        run.err.contains(&format!(": {} of 5000", names.len())),
        "{}",
        run.err
    );
    assert_eq!(files.len(), 3 * names.len(), "{files:?}");
    for name in names {
        let path = bench.path("out").join(name);
        waterjacket::storage::open(&path).unwrap();
        let truth = path.with_file_name(format!("{name}.truth.json"));
        let truth: waterjacket::domain::Truth =
            waterjacket::storage::document::read(&truth).unwrap();
        let digest = waterjacket::digest::sha256_hex(&bench.read(&format!("out/{name}.wav"))[..]);
        assert_eq!(truth.wav_sha256, digest.unwrap(), "{name}");
    }
}
