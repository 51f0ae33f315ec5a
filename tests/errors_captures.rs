//! Promise: captures that are damaged, incomplete or mixed up are refused with the file, the value
//! and a remedy, and nothing is made from them.

mod common;

use common::Bench;
use std::fs;

/// Every command that reads a capture must refuse `out/lesson` and tell `parts`.
#[track_caller]
fn unreadable(bench: &Bench, parts: &[&str]) {
    let before = bench.files("");
    for command in ["export", "plot", "explain"] {
        bench.run(&[command, "out/lesson"]).refused(2, parts);
    }
    bench
        .run(&["export", "out/lesson", "--out", "table.csv"])
        .refused(2, parts);
    assert_eq!(bench.files(""), before);
}

#[test]
fn a_truncated_wav() {
    let bench = Bench::rendered();
    let wav = bench.read("out/lesson.wav");
    bench.write("out/lesson.wav", &wav[..3000]);
    unreadable(
        &bench,
        &[
            "out/lesson.wav: the data are cut short: the header promises 2000 frames, 739 are there; copy or render",
        ],
    );
    bench.write("out/lesson.wav", &wav[..20]);
    unreadable(
        &bench,
        &[
            "out/lesson.wav: the header is cut short: 20 bytes",
            "; copy or render",
        ],
    );
    bench.write("out/lesson.wav", "");
    unreadable(
        &bench,
        &["out/lesson.wav: the file is empty; copy or render"],
    );
}

#[test]
fn a_card_without_its_wav() {
    let bench = Bench::rendered();
    fs::remove_file(bench.path("out/lesson.wav")).unwrap();
    unreadable(
        &bench,
        &[
            "out/lesson.wav: it is missing, and its card out/lesson.card.json is there",
            "bring them together",
        ],
    );
}

#[test]
fn a_wav_without_its_card() {
    let bench = Bench::rendered();
    fs::remove_file(bench.path("out/lesson.card.json")).unwrap();
    unreadable(
        &bench,
        &[
            "out/lesson.card.json: it is missing, and its WAV out/lesson.wav is there",
            "bring them together",
        ],
    );
}

#[test]
fn no_capture_at_all() {
    let bench = Bench::new();
    unreadable(
        &bench,
        &[
            "out/lesson: there is no capture here",
            "bring them together",
        ],
    );
}

#[test]
fn a_card_of_another_version() {
    let bench = Bench::rendered();
    bench.change(
        "out/lesson.card.json",
        "waterjacket card 1",
        "waterjacket card 9",
    );
    unreadable(
        &bench,
        &[
            "out/lesson.card.json: format: it says \"waterjacket card 9\"",
            "this program reads \"waterjacket card 1\"",
        ],
    );
}

#[test]
fn a_card_that_is_no_json() {
    let bench = Bench::rendered();
    bench.change("out/lesson.card.json", "\"brief\"", "brief");
    unreadable(
        &bench,
        &[
            "out/lesson.card.json: line 4, column 3: ",
            "mend the JSON here",
        ],
    );
}

#[test]
fn a_card_of_another_capture() {
    let bench = Bench::rendered();
    bench.change(
        "out/lesson.card.json",
        "\"frames\": 2000",
        "\"frames\": 1999",
    );
    unreadable(
        &bench,
        &[
            "out/lesson.card.json: frames: the card says 1999, and the WAV has 2000",
            "bring the card and the WAV of the same capture together",
        ],
    );
}

#[test]
fn the_truth_is_missing() {
    let bench = Bench::rendered();
    fs::remove_file(bench.path("out/lesson.truth.json")).unwrap();
    bench.run(&["explain", "out/lesson"]).refused(
        2,
        &[
            "lesson: the truth of this capture is not here",
            "NAME.truth.json beside the card",
        ],
    );
    assert_eq!(bench.files("out"), ["lesson.card.json", "lesson.wav"]);
}

#[test]
fn the_truth_of_another_capture() {
    let bench = Bench::rendered();
    bench.done(&["render", "lesson.yaml", "--seed", "6", "--out", "other"]);
    fs::copy(
        bench.path("other/lesson.truth.json"),
        bench.path("out/lesson.truth.json"),
    )
    .unwrap();
    bench.run(&["explain", "out/lesson"]).refused(
        2,
        &["out/lesson.truth.json: it is not the truth of out/lesson.wav; bring the truth and the WAV"],
    );
}

#[test]
fn a_truth_whose_scenario_was_tampered_with() {
    let bench = Bench::rendered();
    bench.change("out/lesson.truth.json", "\"0.2 mm2\"", "\"200 mm2\"");
    bench
        .run(&["render", "out/lesson.truth.json", "--out", "again"])
        .refused(
            2,
            &["out/lesson.truth.json: scenario: faults.leaks[0].area: `200 mm2` is out of range"],
        );
    assert!(!bench.path("again").exists());
}

#[test]
fn a_span_outside_of_the_capture() {
    let bench = Bench::rendered();
    let before = bench.files("");
    for span in [["3", "4"], ["-2", "-1"], ["0.5", "0.2"], ["nan", "1"]] {
        for command in ["export", "plot", "explain"] {
            let run = bench.run(&[
                command,
                "out/lesson",
                "--from",
                span[0],
                "--to",
                span[1],
                "--out",
                "made",
            ]);
            let shown = span[0].replace("nan", "NaN");
            run.refused(2, &["lesson: ", &shown, span[1], "choose a span within 0"]);
        }
    }
    assert_eq!(bench.files(""), before);
    assert!(!bench.path("made").exists(), "an empty folder was made");
}
