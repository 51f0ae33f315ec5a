//! Promise: after a wrong call, the picture shows why: the called cylinder crossed, the leaking one
//! beside it, and the lag; after a right one, nobody is crossed.

mod common;

use common::Bench;
use std::path::PathBuf;

const LEGEND: &str = "called, but does not leak";

/// A lesson's picture after a call, as the text of its SVG.
fn picture(lesson: &str, call: &str) -> String {
    let bench = Bench::new();
    let scenarios = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let scenario = scenarios.join(format!("{lesson}.yaml"));
    bench.done(&["render", scenario.to_str().unwrap(), "--out", "out"]);
    let capture = format!("out/{lesson}");
    bench.done(&["explain", &capture, "--call", call, "--format", "svg"]);
    String::from_utf8(bench.read(&format!("{capture}.debrief.svg"))).unwrap()
}

/// How many lines of the picture's words are just this.
fn times(picture: &str, words: &str) -> usize {
    picture.lines().filter(|line| line.trim() == words).count()
}

#[test]
fn a_wrong_cylinder_is_crossed_beside_the_leaking_one_and_its_lag() {
    // The neighbour after, the one before the sync, and one on the far side of the cycle.
    for call in ["4", "2", "6"] {
        let svg = picture("06-long-lag", call);
        assert!(times(&svg, &format!("{call} ✗")) >= 1, "{call}");
        assert!(times(&svg, "8") >= 1 && times(&svg, LEGEND) == 1, "{call}");
        assert!(times(&svg, "lag from TDC to the steepest rise at the neck") == 1);
        assert!(svg.contains(" ms · 6"), "{call}: the lag is written");
        assert!(svg.contains(&format!("Called {call}: ")), "{call}");
    }
}

#[test]
fn a_healthy_engine_shows_several_cycles_of_the_called_cylinder() {
    let svg = picture("17-healthy-and-suspicious", "4");
    assert!(
        (3..=5).contains(&times(&svg, "4 ✗")),
        "{}",
        times(&svg, "4 ✗")
    );
    assert_eq!(times(&svg, "leaking cylinder"), 0);
    assert!(svg.contains("Called 4: leak where none is."));
}

#[test]
fn two_leaks_keep_both_their_lags_whichever_is_called() {
    let svg = picture("12-two-leaks", "5");
    assert!(svg.contains("cyl. 5: ") && svg.contains("cyl. 6: "));
    assert_eq!(times(&svg, LEGEND), 0, "5 does leak");
    let svg = picture("12-two-leaks", "5+4");
    assert!(times(&svg, "4 ✗") >= 1 && times(&svg, "5 ✗") == 0);
}

#[test]
fn of_a_pair_the_companion_is_crossed_only_if_it_was_called_alone() {
    assert!(times(&picture("03-wasted-spark", "3"), "3 ✗") >= 1);
    let right = picture("03-wasted-spark", "3|4");
    assert_eq!(times(&right, LEGEND), 0);
    assert!(!right.contains("Called "));
}
