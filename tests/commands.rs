//! Promise: the commands say exactly this. A wording or a number that changes shows here.
//!
//! `INSTA_UPDATE=always cargo test --test commands` takes over what was
//! changed on purpose.

mod common;

use common::{Bench, SCENARIO};
use insta::assert_snapshot;

const COMMANDS: [&str; 14] = [
    "check",
    "render",
    "plot",
    "sweep",
    "export",
    "explain",
    "attribute",
    "grade",
    "compare",
    "quiz",
    "practice",
    "page",
    "corpus",
    "schema",
];

#[test]
fn help_of_the_program() {
    let text = Bench::new().done(&["--help"]);
    for command in COMMANDS {
        assert!(
            text.contains(&format!("\n  {command} ")),
            "{command} in {text}"
        );
    }
    let listed = text.lines().skip_while(|l| *l != "Commands:").skip(1);
    let listed = listed
        .take_while(|l| !l.is_empty())
        .filter(|l| !l.starts_with("   "));
    assert_eq!(
        listed.count(),
        COMMANDS.len() + 1,
        "one of them is `help`: {text}"
    );
    assert_snapshot!("help", text);
}

#[test]
fn help_of_every_command_has_an_example() {
    let bench = Bench::new();
    for command in COMMANDS {
        let text = bench.done(&[command, "--help"]);
        let example = format!("\n  waterjacket {command} ");
        let place = text
            .find("Example")
            .unwrap_or_else(|| panic!("no example in {text}"));
        assert!(text[place..].contains(&example), "{text}");
        assert_snapshot!(format!("help_{command}"), text);
    }
}

#[test]
fn version() {
    let expected = format!("waterjacket {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!(Bench::new().done(&["--version"]), expected);
}

#[test]
fn check() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    assert_snapshot!(bench.done(&["check", "lesson.yaml"]));
    bench.write(
        "other.yaml",
        SCENARIO.replace("duration: 1 s", "durration: 1 s"),
    );
    let run = bench.run(&["check", "lesson.yaml", "other.yaml", "--json"]);
    assert_eq!((run.code, run.err.as_str()), (Some(1), ""));
    assert_snapshot!(run.out);
}

#[test]
fn render() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    let render = ["render", "lesson.yaml", "--count", "2", "--out", "out"];
    assert_snapshot!(bench.done(&render));
    assert_eq!(
        bench.files("out"),
        [
            "lesson-00.card.json",
            "lesson-00.truth.json",
            "lesson-00.wav",
            "lesson-01.card.json",
            "lesson-01.truth.json",
            "lesson-01.wav",
        ]
    );
}

#[test]
fn render_as_json() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    let text = bench.done(&["render", "lesson.yaml", "--out", "out", "--plot", "--json"]);
    let digest = waterjacket::digest::sha256_hex(&bench.read("out/lesson.wav")[..]).unwrap();
    assert_snapshot!(text.replace(&digest, "[SHA-256 of the WAV]"));
    assert!(bench.read("out/lesson.png").starts_with(b"\x89PNG\r\n"));
}

#[test]
fn plot() {
    let bench = Bench::rendered();
    let plot = ["plot", "out", "--out", "pictures", "--format", "svg"];
    assert_snapshot!(bench.done(&plot));
    let picture = String::from_utf8(bench.read("pictures/lesson.svg")).unwrap();
    assert!(picture.starts_with("<svg ") && picture.contains("Neck pressure"));
    assert!(
        !picture.contains("A short lesson"),
        "the title belongs to the truth"
    );
}

#[test]
fn sweep() {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    let sweep = [
        "sweep",
        "lesson.yaml",
        "vehicle.cooling.air_pocket",
        "50 mL..1500 mL",
        "--steps",
        "4",
        "--out",
        "air.png",
    ];
    assert_snapshot!(bench.done(&sweep));
    assert!(bench.read("air.png").starts_with(b"\x89PNG\r\n"));
    assert_eq!(bench.files(""), ["air.png", "lesson.yaml"]);
}

#[test]
fn card() {
    let bench = Bench::rendered();
    let card = String::from_utf8(bench.read("out/lesson.card.json")).unwrap();
    assert_snapshot!(card);
}

#[test]
fn export() {
    let bench = Bench::rendered();
    let export = ["export", "out/lesson", "--from", "0.5", "--to", "0.502"];
    assert_snapshot!(bench.done(&export));
    let file = bench.done(&[&export[..], &["--out", "part.csv"]].concat());
    assert_eq!(file, "part.csv\n");
    assert_eq!(bench.read("part.csv"), bench.done(&export).into_bytes());
    let all = bench.done(&["export", "out/lesson", "--every", "10"]);
    assert_eq!(all.lines().count(), 1 + 200);
}

#[test]
fn explain() {
    let bench = Bench::rendered();
    assert_snapshot!(bench.done(&["explain", "out/lesson"]));
    assert!(
        bench
            .read("out/lesson.debrief.png")
            .starts_with(b"\x89PNG\r\n")
    );
}

#[test]
fn explain_a_call_in_us_units() {
    let bench = Bench::rendered();
    let explain = [
        "explain",
        "out/lesson",
        "--call",
        "4",
        "--units",
        "us",
        "--format",
        "svg",
        "--out",
        "pictures",
    ];
    assert_snapshot!(bench.done(&explain));
    assert_eq!(bench.files("pictures"), ["lesson.debrief.svg"]);
}

/// Two captures of one vehicle and a third without a leak, with a call sheet.
fn class() -> Bench {
    let bench = Bench::new();
    bench.write("lesson.yaml", SCENARIO);
    bench.write(
        "sound.yaml",
        SCENARIO.replace("    - {cylinder: 3, area: 0.2 mm2, opens_at: 2 bar}\n", ""),
    );
    bench.done(&["render", "lesson.yaml", "--count", "2", "--out", "key"]);
    bench.done(&["render", "sound.yaml", "--out", "key"]);
    bench.write(
        "calls.csv",
        "capture,cylinders,confidence,note\n\
         lesson-00,3,90%,steep\n\
         lesson-01,4,0.6,\n",
    );
    bench
}

#[test]
fn grade() {
    let bench = class();
    assert_snapshot!(bench.done(&["grade", "calls.csv", "--key", "key", "--uncalled"]));
}

#[test]
fn grade_as_json() {
    let bench = class();
    assert_snapshot!(bench.done(&["grade", "calls.csv", "--key", "key", "--json"]));
}

#[test]
fn grade_one_call() {
    let bench = class();
    let grade = [
        "grade",
        "--capture",
        "sound",
        "--call",
        "none",
        "--key",
        "key",
    ];
    assert_snapshot!(bench.done(&grade));
}

#[test]
fn attribute() {
    let bench = Bench::new();
    bench.write(
        "lesson.yaml",
        SCENARIO.replace("duration: 1 s", "duration: 3 s"),
    );
    bench.done(&["render", "lesson.yaml", "--out", "out"]);
    assert_snapshot!(bench.done(&["attribute", "out"]));
    assert_snapshot!(bench.done(&["attribute", "out", "--method", "count", "--json"]));
}

#[test]
fn grade_an_analyzer_and_compare() {
    let bench = class();
    bench.write(
        "better.csv",
        "capture,cylinders,confidence,lag_ms\nlesson-00,3,0.9,20\nlesson-01,3,0.8,\n",
    );
    let grade = |calls: &str, results: &str| {
        bench.done(&[
            "grade",
            "--analyzer",
            calls,
            "--key",
            "key",
            "--csv",
            results,
        ])
    };
    grade("calls.csv", "old.csv");
    assert_snapshot!(grade("better.csv", "new.csv"));
    assert_snapshot!(String::from_utf8(bench.read("new.csv")).unwrap());
    assert_snapshot!(bench.done(&["compare", "old.csv", "new.csv"]));
    assert_snapshot!(bench.done(&["compare", "old.csv", "new.csv", "--json"]));
}
