//! Promise: `practice` says exactly this, and refuses bad input with its place and a remedy.

mod common;

use common::Bench;
use insta::assert_snapshot;

const CALL: [&str; 5] = ["practice", "call", "--in", "job", "3"];

fn started() -> Bench {
    let bench = Bench::new();
    bench.done(&["practice", "start", "hill-road", "--in", "job"]);
    bench
}

fn ordered() -> Bench {
    let bench = started();
    bench.done(&["practice", "order", "--in", "job", "--sync", "coil:1"]);
    bench
}

#[test]
fn a_job_from_start_to_debrief() {
    let bench = Bench::new();
    let mut text = bench.done(&["practice", "list"]);
    for line in [
        "start hill-road --in job",
        "order --in job --sync coil:1 --duration=2s",
        "order --in job --plugs-out 3",
        "show --in job",
        "call --in job 3 --confidence 90%",
        "debrief --in job --units us",
    ] {
        let words = std::iter::once("practice").chain(line.split(' '));
        text += &format!("\n$ practice {line}\n");
        text += &bench.done(&words.collect::<Vec<_>>());
    }
    assert_snapshot!(text);
}

#[test]
fn help_of_every_part_of_practice() {
    let bench = Bench::new();
    let mut text = String::new();
    for part in ["list", "start", "order", "show", "call", "debrief", "play"] {
        text += &bench.done(&["practice", part, "--help"]);
        text += "\n----\n";
    }
    assert_snapshot!(text);
}

#[test]
fn json_can_be_read_by_a_program() {
    let bench = ordered();
    let list: serde_json::Value =
        serde_json::from_str(&bench.done(&["practice", "list", "--json"])).unwrap();
    assert_eq!(list[0]["job"], "hill-road");
    let show: serde_json::Value =
        serde_json::from_str(&bench.done(&["practice", "show", "--in", "job", "--json"])).unwrap();
    assert_eq!(show["minutes"], 15);
    bench.done(&CALL);
    let told: serde_json::Value =
        serde_json::from_str(&bench.done(&["practice", "debrief", "--in", "job", "--json"]))
            .unwrap();
    assert_eq!(told["verdict"]["kind"], "right");
    assert_eq!(told["score"]["certainty"], 10);
}

#[test]
fn a_conversation() {
    let bench = Bench::new();
    let lines = "hil-road\nhill-road\nhelp\nfly\n\
        test\n\n\ncoil:8x\ncoil:1\n\n35\n\n\n\n\n2 s\n\n\
        call\n\ntest\nidle\nstop\n\
        test\n\n\n\n\n\n\n\non\n\n\n\
        quit\n";
    let first = bench.typed(&["practice", "play", "--in", "job"], lines);
    // The input may end anywhere; the job waits.
    let second = bench.typed(
        &["practice", "play", "--in", "job"],
        "test\n\n3\n\n\n\n\n\n\n\n\ncall\n3\n",
    );
    let third = bench.typed(
        &["practice", "play", "--in", "job"],
        "call\n3\n95\ncall\ntest\ndebrief\nquit\n",
    );
    assert_snapshot!(format!("{first}\n====\n{second}\n====\n{third}"));
}

#[test]
fn a_refusal_ends_with_code_1() {
    let bench = ordered();
    let run = bench.run(&["practice", "order", "--in", "job", "--fuel", "on"]);
    assert_eq!(run.code, Some(1), "{run:?}");
    assert!(
        run.out.contains("(--fuel off)") && run.err.is_empty(),
        "{run:?}"
    );
}

/// Runs a command that must be refused with these words, code 2, and nothing on standard output.
#[track_caller]
fn refused(bench: &Bench, line: &str, words: &[&str]) {
    let arguments: Vec<&str> = line.split(' ').collect();
    bench.run(&arguments).refused(2, words);
}

#[test]
fn bad_starts() {
    let bench = started();
    refused(
        &bench,
        "practice start hil-road --in other",
        &["there is no job \"hil-road\"", "did you mean `hill-road`?"],
    );
    assert!(!bench.path("other").exists());
    refused(
        &bench,
        "practice start hill-road --in job",
        &["a job is under way in this folder", "choose another folder"],
    );
    bench.write("full/notes.txt", "mine");
    refused(
        &bench,
        "practice start hill-road --in full",
        &["the folder is in use", "an empty one"],
    );
    refused(
        &bench,
        "practice show --in nowhere",
        &["there is no job in this folder", "practice start"],
    );
    let run = bench.run_typed(&["practice", "play", "--in", "full"], "hill-road\n");
    assert_eq!(run.code, Some(2), "{run:?}");
    assert!(run.err.contains("the folder is in use"), "{run:?}");
}

#[test]
fn bad_orders_and_calls() {
    let bench = started();
    refused(
        &bench,
        "practice call --in job 3",
        &["no test was made yet", "practice order"],
    );
    refused(
        &bench,
        "practice debrief --in job",
        &["the call is still to come"],
    );
    refused(
        &bench,
        "practice order --in job --sync coil:9 --plugs-out 0,7 --coolant as-found",
        &[
            "--plugs-out: there is no cylinder 7",
            "--plugs-out: there is no cylinder 0",
            "--sync: there is no cylinder 9",
            "cylinders 1 to 4",
        ],
    );
    refused(
        &bench,
        "practice order --in job --test cranck --sensor puls",
        &["did you mean `crank`?", "did you mean `pulse`?"],
    );
    refused(
        &bench,
        "practice order --in job --range 35kpa --rate 3 --duration 1h",
        &["--range: ", "--rate: ", "--duration: "],
    );
    refused(
        &bench,
        "practice order --in job --duration 50s",
        &["--duration: 50 s on the starter overheat it"],
    );
    refused(
        &bench,
        "practice order --in job --test idle --sync starter",
        &["--sync: the starter rests"],
    );
    refused(
        &bench,
        "practice order --in job --test idle --fuel off",
        &["--fuel: an engine without fuel"],
    );
    refused(
        &bench,
        "practice order --in job --cut 2",
        &["--cut: no injector works"],
    );
    refused(
        &bench,
        "practice order --in job --test idle --cut 1,2,3",
        &["the engine would stall"],
    );
    refused(
        &bench,
        "practice order --in job --sync cylinder:1 --plugs-out 1",
        &["cannot be open and hold a transducer"],
    );
    refused(
        &bench,
        "practice order --in job --sync cylinder:1,cylinder:2",
        &["one in-cylinder transducer"],
    );
    bench.done(&["practice", "order", "--in", "job", "--coolant", "topped-up"]);
    refused(
        &bench,
        "practice order --in job --coolant as-found",
        &["the air of this morning is gone"],
    );
    refused(
        &bench,
        "practice call --in job 3+9 --confidence 130%",
        &["there is no cylinder 9", "--confidence: "],
    );
    refused(
        &bench,
        "practice call --in job unshure",
        &["write unsure if that is meant"],
    );
    bench.done(&CALL);
    refused(
        &bench,
        "practice order --in job",
        &["order: the call stands at 3", "start another job"],
    );
    refused(
        &bench,
        "practice call --in job 2",
        &["call: the call stands at 3"],
    );
    bench.done(&["practice", "start", "uneven-six", "--in", "six"]);
    refused(
        &bench,
        "practice order --in six --sync coil:1",
        &[
            "no lead reaches the coil of cylinder 1",
            "no coil of this engine is in reach",
        ],
    );
}

#[test]
fn a_changed_folder() {
    let bench = ordered();
    let log = String::from_utf8(bench.read("job/job.json")).unwrap();
    let with = |part: &str, by: &str| {
        assert!(log.contains(part), "{part}");
        bench.write("job/job.json", log.replacen(part, by, 1));
    };
    let show = "practice show --in job";
    bench.write("job/job.json", &log[..log.len() / 2]);
    refused(
        &bench,
        show,
        &["job.json: line ", "the log cannot be read", "start again"],
    );
    bench.write("job/job.json", "");
    refused(&bench, show, &["the log cannot be read"]);
    with("practice 1", "practice 9");
    refused(
        &bench,
        show,
        &["job.json: format", "`waterjacket practice 1` is read here"],
    );
    with("\"hill-road\"", "\"hil-road\"");
    refused(
        &bench,
        show,
        &["job.json: job", "did you mean `hill-road`?"],
    );
    with("\"hill-road\"", "\"shy-coupe\"");
    refused(&bench, show, &["sealed.bin: it belongs to another job"]);
    with("coil:1", "coil:7");
    refused(&bench, show, &["orders[0]: --sync: there is no cylinder 7"]);
    with("\"minutes\": 15", "\"minutes\": 1");
    refused(
        &bench,
        show,
        &["the orders add up to 15 minutes, and it says 1"],
    );
    with("capture-01", "../capture-01");
    refused(&bench, show, &["orders[0]: it made \"../capture-01\""]);
    with(
        "\"call\": null",
        "\"call\": {\"cylinders\": \"3/4\", \"confidence\": null}",
    );
    refused(&bench, show, &["\"3/4\" is not a call"]);
    bench.write("job/job.json", &log);
    bench.done(&["practice", "show", "--in", "job"]);
    let sealed = bench.path("job/sealed.bin");
    let whole = std::fs::read(&sealed).unwrap();
    let mut flipped = whole.clone();
    flipped[40] ^= 4;
    std::fs::write(&sealed, flipped).unwrap();
    refused(
        &bench,
        show,
        &[
            "sealed.bin: the sealed file was changed",
            "in another folder",
        ],
    );
    std::fs::write(&sealed, &whole[..7]).unwrap();
    refused(&bench, show, &["sealed.bin: the sealed file is cut short"]);
    std::fs::remove_file(&sealed).unwrap();
    refused(&bench, show, &["sealed.bin"]);
}
